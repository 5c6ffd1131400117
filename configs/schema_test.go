package configs

import (
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"flexwright/models"
)

func TestSchemaFile(t *testing.T) {
	const name = "brief.schema.json"
	schema := Schema(Layouts(), models.Materials())
	if *update {
		if err := os.WriteFile(name, schema, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if stored, err := os.ReadFile(name); err != nil || string(stored) != string(schema) {
		t.Errorf("%s does not match the tables: run go generate ./configs (%v)", name, err)
	}
}

// Every brief that is accepted satisfies the schema, and the key that makes one
// of these bad ones bad does not.
func TestSchemaAgainstReader(t *testing.T) {
	var schema map[string]any
	if err := json.Unmarshal(Schema(Layouts(), models.Materials()), &schema); err != nil {
		t.Fatal(err)
	}
	v := validator{schema["$defs"].(map[string]any)}
	check := func(path string) error {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		r := newReader(path, data)
		n := r.parseYAML([]byte(strings.TrimPrefix(string(data), "\ufeff")))
		if n == nil {
			t.Fatal(r.problems)
		}
		return v.check(schema, plain(n), "")
	}
	for _, path := range append(files(t, "../testdata/briefs/*.good.yaml", 5), files(t, "examples/*.yaml", 3)...) {
		if err := check(path); err != nil {
			t.Errorf("%s: %v", path, err)
		}
	}
	for _, name := range []string{"unknown_keys", "missing_units", "wrong_dimensions", "unknown_units", "number_traps", "broken_ranges", "goals_missing",
		"goals_six", "goals_wrong", "limits_wrong", "search_of_another_method", "search_method", "names", "materials", "whole_numbers", "scales"} {
		if err := check(filepath.Join("../testdata/briefs", name+".bad.yaml")); err == nil {
			t.Errorf("the schema accepts %s", name)
		}
	}
}

// plain turns a node into what a YAML 1.2 reader makes of it.
func plain(n *node) any {
	switch n.kind {
	case kindNull:
		return nil
	case kindSequence:
		list := []any{}
		for i := range n.items {
			list = append(list, plain(&n.items[i]))
		}
		return list
	case kindMapping:
		m := map[string]any{}
		for i := range n.pairs {
			m[n.pairs[i].key.text] = plain(&n.pairs[i].value)
		}
		return m
	}
	if v, err := strconv.ParseFloat(n.text, 64); err == nil && !n.quote {
		return v
	}
	if n.text == "true" || n.text == "false" {
		return n.text == "true"
	}
	return n.text
}

// validator knows the keywords that our schema uses (JSON Schema 2020-12,
// validation vocabulary); it panics on any other.
type validator struct{ defs map[string]any }

type invalid string

func (i invalid) Error() string { return string(i) }

func (v validator) check(s any, value any, path string) error {
	if allowed, ok := s.(bool); ok {
		if allowed {
			return nil
		}
		return invalid(path + ": not allowed")
	}
	rules := s.(map[string]any)
	object, isObject := value.(map[string]any)
	list, isList := value.([]any)
	number, isNumber := value.(float64)
	fail := func(bad bool, why string) error {
		if bad {
			return invalid(path + ": " + why)
		}
		return nil
	}
	var errs []error
	for keyword, rule := range rules {
		var err error
		switch keyword {
		case "$schema", "$defs", "title", "description", "then", "else":
		case "$ref":
			err = v.check(v.defs[strings.TrimPrefix(rule.(string), "#/$defs/")], value, path)
		case "type":
			names, several := rule.([]any)
			if !several {
				names = []any{rule}
			}
			actual := map[bool]string{true: "object"}[isObject]
			switch {
			case isList:
				actual = "array"
			case isNumber:
				actual = "number"
			case value == nil:
				actual = "null"
			case value == true || value == false:
				actual = "boolean"
			case actual == "":
				actual = reflect.TypeOf(value).String()
			}
			err = fail(!slices.Contains(names, any(actual)) && !(isNumber && number == float64(int64(number)) && slices.Contains(names, any("integer"))), "type")
		case "enum":
			err = fail(!slices.Contains(rule.([]any), value), "enum")
		case "anyOf":
			err = invalid(path + ": none of several")
			for _, one := range rule.([]any) {
				if v.check(one, value, path) == nil {
					err = nil
				}
			}
		case "allOf":
			for _, one := range rule.([]any) {
				if e := v.check(one, value, path); e != nil {
					err = e
				}
			}
		case "if":
			branch := "then"
			if v.check(rule, value, path) != nil {
				branch = "else"
			}
			if b, ok := rules[branch]; ok {
				err = v.check(b, value, path)
			}
		case "pattern":
			text, ok := value.(string)
			err = fail(ok && !regexp.MustCompile(rule.(string)).MatchString(text), "pattern")
		case "properties":
			for name, one := range rule.(map[string]any) {
				if member, ok := object[name]; ok {
					if e := v.check(one, member, path+"/"+name); e != nil {
						err = e
					}
				}
			}
		case "additionalProperties":
			known, _ := rules["properties"].(map[string]any)
			for name, member := range object {
				if _, ok := known[name]; !ok {
					if e := v.check(rule, member, path+"/"+name); e != nil {
						err = e
					}
				}
			}
		case "required":
			for _, name := range rule.([]any) {
				if _, ok := object[name.(string)]; isObject && !ok {
					err = invalid(path + ": lacks " + name.(string))
				}
			}
		case "items":
			for _, item := range list {
				if e := v.check(rule, item, path+"[]"); e != nil {
					err = e
				}
			}
		case "minItems":
			err = fail(isList && float64(len(list)) < rule.(float64), keyword)
		case "maxItems":
			err = fail(isList && float64(len(list)) > rule.(float64), keyword)
		case "minProperties":
			err = fail(isObject && float64(len(object)) < rule.(float64), keyword)
		case "maxProperties":
			err = fail(isObject && float64(len(object)) > rule.(float64), keyword)
		case "minimum":
			err = fail(isNumber && number < rule.(float64), keyword)
		case "exclusiveMinimum":
			err = fail(isNumber && number <= rule.(float64), keyword)
		case "maximum":
			err = fail(isNumber && number > rule.(float64), keyword)
		case "uniqueItems":
			for i := range list {
				err = fail(slices.Contains(list[:i], list[i]), keyword)
			}
		default:
			panic("no such keyword in this test: " + keyword)
		}
		if err != nil {
			errs = append(errs, err)
		}
	}
	if len(errs) > 0 {
		return errs[0]
	}
	return nil
}
