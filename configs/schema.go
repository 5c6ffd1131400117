package configs

import (
	"encoding/json"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"flexwright/models"
	"flexwright/objective"
)

//go:generate go test -run ^Test(Assembly)?SchemaFile$ -update

// schema is one JSON Schema.
type schema map[string]any

// Schema returns the JSON Schema (draft 2020-12) of a brief, from the same
// tables as the reader, so that editors complete and check. What spans several
// keys, such as ranges and contradictions, only the reader knows.
func Schema(layouts []models.Layout, materials []models.Material) []byte {
	properties := schema{}
	for i := range Sections {
		properties[Sections[i].Name] = Sections[i].schema()
	}
	layoutNames := make([]string, len(layouts))
	var parameters []models.Parameter
	for i, layout := range layouts {
		layoutNames[i] = layout.Name()
		for _, p := range layout.Parameters() {
			if !slices.ContainsFunc(parameters, func(q models.Parameter) bool { return q.Name == p.Name }) {
				parameters = append(parameters, p)
			}
		}
	}
	materialNames := make([]string, len(materials))
	for i := range materials {
		materialNames[i] = materials[i].Name
	}
	properties["layout"] = nameOrOneOf("how bodies and blades are arranged: a name, or a layout file",
		schema{"anyOf": []schema{{"enum": layoutNames}, {"type": "string", "pattern": regexp.QuoteMeta(LayoutEnding) + "$"}}})
	// A material may also be one of the brief's own.
	properties["material"] = nameOrOneOf("what the plate is made of", schema{"anyOf": []schema{{"enum": materialNames}, {"type": "string"}}})
	properties["materials"] = mappingSchema("materials of your own", schema{"additionalProperties": groupSchema("a material", materialFields)})

	fix, vary, goals, limits := schema{}, schema{}, schema{}, schema{}
	goal := func(meaning string) schema {
		return schema{"enum": []string{"most", "least"}, "description": meaning}
	}
	for _, p := range parameters {
		meaning := describeParameter(p)
		fix[p.Name] = schema{"$ref": quantityRef(p.Unit), "description": meaning}
		vary[p.Name] = variationSchema(p, meaning)
		goals[p.Name] = goal(meaning)
		limits[p.Name] = limitSchema(p.Unit, meaning)
	}
	for i := range objective.Table {
		if info := &objective.Table[i]; !info.Explains() && !objective.Measure(i).IsOtherTail() {
			goals[info.Name] = goal(info.Meaning)
			limits[info.Name] = limitSchema(info.Unit, info.Meaning)
		}
	}
	properties["fix"] = mappingSchema("parameters with one value; those neither here nor under vary have a default", closed(fix))
	properties["vary"] = mappingSchema("parameters that the search chooses", closed(vary))
	properties["limits"] = mappingSchema("bounds that every design must meet", closed(limits))
	also := []string{}
	for i := range objective.Table {
		if !objective.Measure(i).IsOtherTail() {
			also = append(also, objective.Table[i].Name)
		}
	}
	properties["also"] = schema{"type": []string{"array", "null"}, "items": schema{"enum": also}, "uniqueItems": true,
		"description": "measures that are stored beside those that goals and limits name"}
	properties["start"] = schema{"type": []string{"array", "null"}, "maxItems": mostStart, "items": schema{"type": "object"},
		"description": "designs that an evolution starts from, each with a value for everything that varies in its layout"}
	properties["goals"] = schema{"type": "object", "description": "one to five numbers to make as large or as small as possible",
		"properties": goals, "additionalProperties": false, "minProperties": 1, "maxProperties": mostGoals}

	definitions := schema{}
	for dimension, k := range writable {
		definitions[definition(dimension)] = quantitySchema(k)
	}
	out, err := json.MarshalIndent(schema{
		"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "flexwright design brief", "type": "object",
		"properties": properties, "additionalProperties": false, "required": []string{"layout", "material", "goals"}, "$defs": definitions,
	}, "", " ")
	if err != nil {
		panic("configs: the schema is no JSON")
	}
	return append(out, '\n')
}

func closed(properties schema) schema {
	return schema{"properties": properties, "additionalProperties": false}
}

// mappingSchema is a mapping that may also be left empty.
func mappingSchema(meaning string, content schema) schema {
	out := schema{"type": []string{"object", "null"}, "description": meaning}
	maps.Copy(out, content)
	return out
}

func nameOrOneOf(meaning string, name schema) schema {
	return schema{"description": meaning, "anyOf": []schema{name, {
		"type": "object", "required": []string{"one_of"}, "additionalProperties": false,
		"properties": schema{"one_of": schema{"type": "array", "items": name, "minItems": 1, "uniqueItems": true}},
	}}}
}

func describeParameter(p models.Parameter) string {
	text := fmt.Sprintf("%s (from %s to %s; ", p.Meaning, FormatQuantity(p.Min, p.Unit), FormatQuantity(p.Max, p.Unit))
	switch {
	case p.DefaultText != "":
		return text + p.DefaultText + ")"
	default:
		return text + "default " + FormatQuantity(p.Default, p.Unit) + ")"
	}
}

func variationSchema(p models.Parameter, meaning string) schema {
	quantity := schema{"$ref": quantityRef(p.Unit)}
	return schema{"description": meaning, "anyOf": []schema{
		{"type": "object", "required": []string{"from", "to"}, "additionalProperties": false, "properties": schema{
			"from": quantity, "to": quantity, "step": quantity, "scale": schema{"enum": []string{"log", "linear"}}}},
		{"type": "object", "required": []string{"one_of"}, "additionalProperties": false, "properties": schema{
			"one_of": schema{"type": "array", "items": quantity, "minItems": 2}}},
	}}
}

func limitSchema(u models.Unit, meaning string) schema {
	quantity := schema{"$ref": quantityRef(u)}
	return schema{"type": "object", "description": meaning, "minProperties": 1, "maxProperties": 2, "additionalProperties": false, "properties": schema{
		"at_most": quantity, "at_least": quantity,
		"layouts": schema{"type": "array", "items": schema{"type": "string"}, "minItems": 1, "description": "of the brief, that it holds for; all without"},
		"between": schema{"type": "array", "items": quantity, "minItems": 2, "maxItems": 2}}}
}

// schema of a field, with its meaning and default.
func (f *Field) schema() schema {
	meaning := f.Meaning
	if f.bounded() {
		meaning += "; " + f.accepted()
	}
	if f.Default != "" {
		meaning += "; default " + f.Default
	}
	var s schema
	switch f.Kind {
	case KindGroup:
		return groupSchema(f.Meaning, f.Fields)
	case KindGroups:
		s = schema{"type": "array", "items": groupSchema(f.Meaning, f.Fields)}
	case KindQuantity:
		s = schema{"$ref": quantityRef(f.unit())}
		if len(f.Choices) > 0 {
			s = schema{"anyOf": []schema{s, {"enum": f.Choices}}}
		}
	case KindRange:
		quantity := schema{"$ref": quantityRef(f.unit())}
		s = schema{"anyOf": []schema{quantity, {"type": "object", "required": []string{"from", "to"}, "additionalProperties": false,
			"properties": schema{"from": quantity, "to": quantity}}}}
	case KindQuantities:
		s = schema{"type": "array", "items": schema{"$ref": quantityRef(f.unit())}}
	case KindInteger:
		s = schema{"type": "integer", "minimum": int64(f.Min), "maximum": int64(f.Max)}
	case KindChoice:
		s = schema{"enum": f.Choices}
	case KindSwitch:
		words := []any{"on", "off", true, false}
		for _, c := range f.Choices {
			words = append(words, c)
		}
		s = schema{"enum": words}
	default:
		s = schema{"type": []string{"string", "number"}}
	}
	s["description"] = meaning
	return s
}

// groupSchema is a mapping of fields; those that exist only for some choices are
// refused with the others.
func groupSchema(meaning string, fields []Field) schema {
	properties, required, conditions := schema{}, []string{}, []schema{}
	for i := range fields {
		f := &fields[i]
		properties[f.Name] = f.schema()
		if f.When == "" {
			if f.Required {
				required = append(required, f.Name)
			}
			continue
		}
		when := schema{"properties": schema{f.When: schema{"enum": f.Is}}}
		choice := slices.IndexFunc(fields, func(g Field) bool { return g.Name == f.When })
		if !slices.Contains(f.Is, fields[choice].Default) {
			when["required"] = []string{f.When}
		}
		condition := schema{"if": when, "else": schema{"properties": schema{f.Name: false}}}
		if f.Required {
			condition["then"] = schema{"required": []string{f.Name}}
		}
		conditions = append(conditions, condition)
	}
	s := mappingSchema(meaning, closed(properties))
	if len(required) > 0 {
		s["required"], s["type"] = required, "object"
	}
	if len(conditions) > 0 {
		s["allOf"] = conditions
	}
	return s
}

// quantityRef points to the definition of a dimension's quantities.
func quantityRef(u models.Unit) string { return "#/$defs/" + definition(u.Dimension) }

func definition(d models.Dimension) string {
	noun := writable[d].noun
	_, name, _ := strings.Cut(noun, " ")
	return strings.ReplaceAll(name, " ", "_")
}

// quantitySchema matches a number with one of the dimension's units.
func quantitySchema(k kindOfQuantity) schema {
	var symbols []string
	for _, u := range k.units {
		if u.symbol != "" {
			symbols = append(symbols, anySpelling(u.symbol))
		}
	}
	text := schema{"type": "string", "pattern": `^\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*(` + strings.Join(symbols, "|") + `)\s*$`, "description": k.noun}
	if k.units[0].symbol != "" {
		return text
	}
	return schema{"anyOf": []schema{{"type": "number"}, text}, "description": k.noun}
}

// anySpelling is a pattern of a symbol and its other forms, see [plainForm].
func anySpelling(symbol string) string {
	return strings.NewReplacer("µ", "[\u00b5\u03bcu]", "Ω", "([\u03a9\u2126]|ohm)", "√Hz", `(√Hz|sqrt\(Hz\))`, "²", `(²|\^?2)`, "³", `(³|\^?3)`, " ", `[ ·⋅*]+`).
		Replace(regexp.QuoteMeta(symbol))
}
