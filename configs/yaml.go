package configs

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// Bounds on what is handed to the YAML parser, which is recursive, and quadratic
// in the number of equal keys: far above any brief, far below what exhausts the
// stack or takes more than a few seconds.
const (
	largestFile    = 1 << 16 // bytes
	longestLine    = 4096    // bytes
	deepestNesting = 64      // brackets, or columns of indentation by fours
)

// parseYAML reads a file into a node. It returns nil when the file is not
// well-formed, with the problem noted.
func (r *reader) parseYAML(data []byte) *node {
	if !r.wellFormedText(data) {
		return nil
	}
	file, err := parse(data)
	if err != nil {
		at, message := place{1, 1}, err.Error()
		var syntax yaml.Error
		if errors.As(err, &syntax) {
			message = syntax.GetMessage()
			if token := syntax.GetToken(); token != nil && token.Position != nil {
				at = place{token.Position.Line, token.Position.Column}
			}
			message += r.yamlHint(at.line)
		}
		r.refuse(at, "YAML: `key: value` lines, indented by spaces; lists as [a, b]", "not well-formed YAML: %s", message)
		return nil
	}
	var bodies []ast.Node
	for _, d := range file.Docs {
		if d.Body != nil {
			bodies = append(bodies, d.Body)
		}
	}
	switch len(bodies) {
	case 0:
		r.refuse(place{1, 1}, r.outline, "the file is empty")
		return nil
	case 1:
		before := len(r.problems)
		n := r.convert(bodies[0], 0)
		if len(r.problems) > before {
			return nil
		}
		return &n
	}
	r.refuse(position(bodies[1]), "one "+r.noun+" a file, without `---` between", "a second document begins here")
	return nil
}

// yamlHint guesses what a syntax error in a line comes from.
func (r *reader) yamlHint(line int) string {
	if line < 1 || line > len(r.lines) {
		return ""
	}
	indent := func(text string) int { return len(text) - len(strings.TrimLeft(text, " ")) }
	text, _, _ := strings.Cut(r.lines[line-1], " #")
	switch {
	case !strings.ContainsAny(text, ":[]{}\"'-"):
		return "; a colon may be missing"
	case strings.Count(text, ": ") > 1 && !strings.ContainsAny(text, "{\"'"):
		return "; there are two colons in the line"
	case line < len(r.lines) && strings.TrimSpace(r.lines[line]) != "" && indent(r.lines[line]) > indent(text):
		return "; the next line is indented deeper, as if it belonged to this one"
	}
	return ""
}

// parse calls the parser, which has been seen to panic on malformed input.
func parse(data []byte) (file *ast.File, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			file, err = nil, fmt.Errorf("the parser gave up: %v", fault)
		}
	}()
	// Duplicate keys are refused later, all at once.
	return parser.ParseBytes(data, 0, parser.AllowDuplicateMapKey())
}

// wellFormedText refuses what is no text, and text that would exhaust the parser.
func (r *reader) wellFormedText(data []byte) bool {
	if len(data) > largestFile {
		r.refuse(place{1, 1}, fmt.Sprintf("at most %d kB", largestFile>>10), "the file has %d kB", len(data)>>10)
		return false
	}
	depth := 0
	for i, line := range bytes.Split(data, []byte("\n")) {
		if len(line) > longestLine {
			r.refuse(place{i + 1, 1}, fmt.Sprintf("lines of at most %d characters", longestLine), "the line has %d characters", len(line))
			return false
		}
		column, leading := 0, true
		for rest := line; len(rest) > 0; {
			c, size := utf8.DecodeRune(rest)
			rest = rest[size:]
			column++
			at := place{i + 1, column}
			switch {
			case c == utf8.RuneError && size == 1:
				r.refuse(at, "text in UTF-8", "a byte that is no UTF-8 text")
				return false
			case c < ' ' && c != '\t' && (c != '\r' || len(rest) > 0) || c == 0x7f:
				r.refuse(at, "text without control characters", "a control character (U+%04X)", c)
				return false
			case c == '\t' && leading:
				r.refuse(at, "spaces", "a tab in the indentation")
				return false
			case strings.ContainsRune("[{", c):
				depth++
			case strings.ContainsRune("]}", c):
				depth = max(depth-1, 0)
			}
			leading = leading && strings.ContainsRune(" -?:!&*", c)
			if depth > deepestNesting || leading && column > 4*deepestNesting {
				r.refuse(at, fmt.Sprintf("at most %d levels", deepestNesting), "too deeply nested")
				return false
			}
		}
	}
	return true
}

// position of a node, that of its first character.
func position(n ast.Node) place {
	if m, ok := n.(*ast.MappingNode); ok && !m.IsFlowStyle && len(m.Values) > 0 {
		return position(m.Values[0].Key)
	}
	token := n.GetToken()
	if token == nil || token.Position == nil {
		return place{1, 1}
	}
	return place{token.Position.Line, token.Position.Column}
}

// convert turns a node of the parser into ours. What a brief has no use for
// (anchors, tags, merge keys) is refused.
func (r *reader) convert(n ast.Node, depth int) node {
	out := node{place: position(n)}
	if depth > 4*deepestNesting {
		r.refuse(out.place, fmt.Sprintf("at most %d levels", deepestNesting), "too deeply nested")
		return out
	}
	switch n := n.(type) {
	case *ast.NullNode:
		out.kind = kindNull
	case *ast.MappingNode:
		out.kind = kindMapping
		for _, v := range n.Values {
			out.pairs = append(out.pairs, r.convertPair(v, depth))
		}
	case *ast.MappingValueNode:
		out.kind, out.place = kindMapping, position(n.Key)
		out.pairs = []pair{r.convertPair(n, depth)}
	case *ast.SequenceNode:
		out.kind = kindSequence
		for _, v := range n.Values {
			out.items = append(out.items, r.convert(v, depth+1))
		}
	case *ast.LiteralNode:
		out.kind, out.quote = kindText, true
		if n.Value != nil {
			out.text = strings.TrimSpace(n.Value.Value)
		}
	case *ast.StringNode:
		out.kind, out.text = kindText, n.Value
		origin := strings.TrimSpace(n.Token.Origin)
		out.quote = strings.HasPrefix(origin, `"`) || strings.HasPrefix(origin, "'")
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		// The text as written: what a number means is decided by our own grammar.
		out.kind, out.text = kindText, n.GetToken().Value
	case *ast.AnchorNode, *ast.AliasNode, *ast.MergeKeyNode:
		r.refuse(out.place, "values written out", "anchors, aliases and merge keys have no place in a %s", r.noun)
	case *ast.TagNode:
		r.refuse(out.place, "values without a tag", "tags have no place in a %s", r.noun)
	default:
		r.refuse(out.place, "`key: value` lines", "%s has no place in a %s", n.Type(), r.noun)
	}
	r.printable(out.place, out.text)
	return out
}

// printable refuses text that would steer a terminal, a drawing or a table when it is
// printed: control characters, written as escapes, and those that turn the direction of writing.
func (r *reader) printable(at place, text string) bool {
	for _, c := range text {
		if c != '\n' && c != '\t' && unicode.IsControl(c) || unicode.Is(unicode.Bidi_Control, c) {
			r.refuse(at, "text without control characters", "a control character (U+%04X)", c)
			return false
		}
	}
	return true
}

func (r *reader) convertPair(v *ast.MappingValueNode, depth int) pair {
	before := len(r.problems)
	key := r.convert(v.Key, depth+1)
	if key.kind != kindText && len(r.problems) == before {
		r.refuse(key.place, "a name", "the key is %s", kindNames[key.kind])
	}
	if v.Value == nil {
		return pair{key, node{place: key.place}}
	}
	return pair{key, r.convert(v.Value, depth+1)}
}
