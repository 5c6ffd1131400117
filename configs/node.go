package configs

import (
	"fmt"
	"strings"

	"flexwright/objective"
)

// kind of a node.
type kind uint8

const (
	kindNull kind = iota
	kindText      // any scalar, as it is written
	kindMapping
	kindSequence
)

var kindNames = [...]string{kindNull: "nothing", kindText: "a single value", kindMapping: "a mapping", kindSequence: "a list"}

// node is a value of a YAML or JSON file with its position. Both file types are
// read into it, so that one set of checks serves both.
type node struct {
	place
	kind  kind
	text  string // of a scalar, as written, without quotes
	quote bool   // the scalar is quoted or a block: text even if it looks like a number
	pairs []pair // of a mapping, in the file's order
	items []node // of a sequence
}

// pair is a key of a mapping with its value.
type pair struct {
	key   node
	value node
}

// get returns the value of a key, nil when it is absent.
func (n *node) get(name string) *node {
	for i := range n.pairs {
		if n.pairs[i].key.text == name {
			return &n.pairs[i].value
		}
	}
	return nil
}

// mapping reports whether n is a mapping, and refuses it otherwise. Nothing at
// all (a key whose entries are all commented out) counts as an empty one.
func (r *reader) mapping(n *node, what, accepted string) bool {
	if n.kind == kindMapping || n.kind == kindNull {
		return true
	}
	hint := ""
	if n.kind == kindText && strings.Contains(n.text, ":") {
		hint = "; a space may be missing after a colon"
	}
	r.refuse(n.place, accepted, "%s is %s, not a mapping%s", what, kindNames[n.kind], hint)
	return false
}

// find returns a key with its value, nil when it is absent.
func (n *node) find(name string) *pair {
	for i := range n.pairs {
		if n.pairs[i].key.text == name {
			return &n.pairs[i]
		}
	}
	return nil
}

// meant reports whether a key that is not accepted was probably meant as name:
// it is refused with that hint, and name is not missed as well.
func (n *node) meant(name string, accepted []string) bool {
	for i := range n.pairs {
		if key := n.pairs[i].key.text; !contains(accepted, key) && nearest(key, accepted) == name {
			return true
		}
	}
	return false
}

// keys refuses keys that are not accepted, and keys given twice. denial is how
// the sentence begins that ends in the key, as "fix has no key"; elsewhere may
// explain a key that means something in another place. A long list of accepted
// keys is described by where to find it.
func (r *reader) keys(n *node, denial string, accepted []string, elsewhere func(name string) string) {
	seen := map[string]int{}
	for i := range n.pairs {
		key := &n.pairs[i].key
		if line, twice := seen[key.text]; twice {
			r.refuse(key.place, "each key once", "%s stands twice (first in line %d)", key.text, line)
			continue
		}
		seen[key.text] = key.line
		if contains(accepted, key.text) {
			continue
		}
		hint := ""
		if elsewhere != nil {
			hint = elsewhere(key.text)
		}
		if hint == "" {
			hint = DidYouMean(key.text, accepted)
		}
		r.refuse(key.place, listed(accepted), "%s %s%s", denial, show(key.text), hint)
	}
}

// longestList of names that a message spells out.
const longestList = 20

// listed names what is accepted.
func listed(names []string) string {
	if len(names) <= longestList {
		return strings.Join(names, ", ")
	}
	if _, ok := objective.ByName(names[0]); ok {
		return "a name that `flexwright measures` or `flexwright layouts` lists"
	}
	return "a name that `flexwright layouts` lists"
}

func contains(list []string, name string) bool {
	for _, s := range list {
		if s == name {
			return true
		}
	}
	return false
}

// show quotes a text of the file in a message when it is empty, long or odd.
func show(text string) string {
	if len(text) > 60 {
		text = strings.ToValidUTF8(text[:60], "") + "…"
	}
	if text == "" || strings.ContainsAny(text, "\n\r\t\"") || strings.TrimSpace(text) != text {
		return fmt.Sprintf("%q", text)
	}
	return text
}

// DidYouMean returns ": did you mean NAME?" when one of the names is near, else
// an empty text.
func DidYouMean(text string, names []string) string {
	if name := nearest(text, names); name != "" {
		return ": did you mean " + name + "?"
	}
	return ""
}

// nearest returns the name with the fewest edits from text, at most a third of
// its length; else the first one that contains it or begins it. Empty when there is
// none or text is long.
func nearest(text string, names []string) string {
	if len(text) > 60 {
		return ""
	}
	best, name := len(text)/3+1, ""
	if len(text) < 3 {
		best = 2
	}
	for _, candidate := range names {
		d := edits(strings.ToLower(text), strings.ToLower(candidate))
		if d < best {
			best, name = d, candidate
		}
	}
	for _, candidate := range names {
		if name == "" && len(text) > 3 && len(candidate) >= 3 && (strings.Contains(candidate, text) || strings.HasPrefix(text, candidate)) {
			return candidate
		}
	}
	return name
}

// edits is the optimal string alignment distance: insertions, deletions,
// replacements and swaps of neighbours (V. I. Levenshtein 1966, F. J. Damerau 1964).
func edits(a, b string) int {
	s, t := []rune(a), []rune(b)
	before, last, row := make([]int, len(t)+1), make([]int, len(t)+1), make([]int, len(t)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(s); i++ {
		row[0] = i
		for j := 1; j <= len(t); j++ {
			cost := 1
			if s[i-1] == t[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && s[i-1] == t[j-2] && s[i-2] == t[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(t)]
}
