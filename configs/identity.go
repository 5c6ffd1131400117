package configs

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"flexwright/search"
)

// growing are the keys that say how far a run goes, and how what it grows by is found, not
// which run it is.
var growing = []string{"search.designs", "search.generations", "search.surrogate"}

// Identity is the resolved brief without its title and without what a run may
// be extended by: designs of a sweep, generations of an evolution, with a surrogate or without. Two briefs with the same identity
// ask for the same designs, in the same order, as far as both go.
func (b *Brief) Identity() []byte {
	var out bytes.Buffer
	for _, l := range b.lines() {
		if l.key != "title" && !contains(growing, l.key) {
			out.WriteString(l.text + "\n")
		}
	}
	return out.Bytes()
}

// Difference is a key that two briefs resolve to other values; empty where one does
// not have it.
type Difference struct {
	Key string `json:"key"`
	A   string `json:"a"`
	B   string `json:"b"`
}

// Differences lists the keys in which two briefs are not the same run.
func Differences(a, b *Brief) []Difference {
	var keys []string
	values := [2]map[string]string{{}, {}}
	for i, brief := range []*Brief{a, b} {
		for _, l := range brief.lines() {
			if l.value == "" || l.key == "title" || contains(growing, l.key) || strings.HasPrefix(l.key, "start") {
				continue
			}
			if !contains(keys, l.key) {
				keys = append(keys, l.key)
			}
			if old := values[i][l.key]; old != "" { // items of a list
				l.value = old + ", " + l.value
			}
			values[i][l.key] = l.value
		}
	}
	var list []Difference
	for _, key := range keys {
		if x, y := values[0][key], values[1][key]; x != y {
			list = append(list, Difference{key, x, y})
		}
	}
	if !slices.EqualFunc(a.start, b.start, search.SamePoint) {
		list = append(list, Difference{"start", startText(a), startText(b)})
	}
	// Equal keys in another order: the order of goals means something.
	if len(list) == 0 && !bytes.Equal(a.Identity(), b.Identity()) {
		list = append(list, Difference{"goals", "in another order", ""})
	}
	return list
}

// resolvedLine is a line of a resolved brief.
type resolvedLine struct {
	text  string
	key   string // with those it is indented under: goals.travel
	value string // without the note that it is a default; empty for a mapping
}

// lines are those of the resolved brief, whose writer puts each key on a line of its own.
func (b *Brief) lines() []resolvedLine {
	var list []resolvedLine
	var path []string
	for text := range strings.Lines(string(b.Resolved())) {
		text = strings.TrimSuffix(text, "\n")
		body := strings.TrimLeft(text, " -")
		level := (len(text) - len(body)) / 2
		if level > 0 { // what a layout's rule decides, or common practice beside the brief's own
			body = strings.TrimPrefix(body, "# ")
		}
		name, value, _ := strings.Cut(body, ": ")
		if strings.HasPrefix(body, `"`) { // a quoted name may hold a colon
			if end := strings.Index(body[1:], `":`); end >= 0 {
				name, value = body[:end+2], strings.TrimPrefix(body[end+3:], " ")
			}
		}
		name = strings.TrimSuffix(name, ":")
		for _, note := range []string{"  # default", "  # common practice", "  common practice"} {
			value = strings.TrimSuffix(value, note)
		}
		path = append(path[:min(level, len(path))], name)
		list = append(list, resolvedLine{text, strings.Join(path, "."), value})
	}
	return list
}

// startText counts the designs that a search starts from; others may have as many.
func startText(b *Brief) string {
	if len(b.start) == 0 {
		return ""
	}
	return fmt.Sprintf("%d designs, the first with %s %g", len(b.start), b.variableName(b.variables()[0]), b.start[0][0])
}
