package expression

import (
	"errors"
	"go/ast"
	"go/parser"
	"go/scanner"
	"go/token"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Text is a formula as it stands in a file.
type Text struct {
	Value        string
	Line, Column int // of its first character, from 1; 0 where it is no file's
}

// Place returns the line and column of a byte of the text. A text on one line is
// assumed.
func (t *Text) Place(offset int) (line, column int) {
	offset = min(max(offset, 0), len(t.Value))
	return t.Line, t.Column + utf8.RuneCountInString(t.Value[:offset])
}

// Refuse notes a problem of a formula: where, what would be accepted, and what is
// wrong.
type Refuse func(t *Text, offset int, accepted, message string)

// longestText bounds the work of the parser, which is recursive.
const longestText = 2000

const formula = "numbers with units, names, + - * / and parentheses, comparisons, min, max, abs, sqrt, sin, cos, atan2, if"

// conditional stands for `if`, which is no name in Go, in what the parser reads.
const conditional = "Ω"

// tree is a formula that has been parsed.
type tree struct {
	root  ast.Expr
	units map[int]unit // by offset of the literal
}

func offsetOf(e ast.Node) int { return int(e.Pos()) - 1 }

// parse reads a formula with Go's parser. Units behind numbers are taken out
// before, and the one keyword and the one sign that Go does not have are replaced
// by letters of the same length, so that offsets stay.
func parse(t *Text, refuse Refuse) (tree, bool) {
	out := tree{units: map[int]unit{}}
	if len(t.Value) > longestText {
		refuse(t, 0, "at most "+strconv.Itoa(longestText)+" characters", "the formula is too long")
		return out, false
	}
	if strings.TrimSpace(t.Value) == "" {
		refuse(t, 0, formula, "there is no formula")
		return out, false
	}
	source := []byte(strings.NewReplacer("°", degreeLetter, "\u03bc", "µ", "\n", " ", "\r", " ").Replace(t.Value))
	fset := token.NewFileSet()
	file := fset.AddFile("", 1, len(source))
	var s scanner.Scanner
	s.Init(file, source, func(token.Position, string) {}, 0)
	number := -1
	for {
		pos, tok, lit := s.Scan()
		if tok == token.EOF {
			break
		}
		at := file.Offset(pos)
		switch {
		case tok == token.IDENT && number >= 0:
			u, ok := units[lit]
			if !ok {
				refuse(t, at, unitsAccepted, lit+" is no unit")
				return out, false
			}
			out.units[number] = u
			blank(source[at : at+len(lit)])
		case tok == token.IF:
			copy(source[at:], conditional)
		}
		number = -1
		if tok == token.INT || tok == token.FLOAT || tok == token.IMAG {
			number = at
		}
	}
	root, err := parser.ParseExprFrom(token.NewFileSet(), "", source, 0)
	if err != nil {
		at, message := 0, err.Error()
		var list scanner.ErrorList
		if errors.As(err, &list) && len(list) > 0 {
			at, message = list[0].Pos.Offset, list[0].Msg
		}
		if i := strings.IndexByte(t.Value, '='); i >= 0 && strings.Contains(message, "'='") {
			at, message = i, "= assigns; == compares"
		}
		refuse(t, at, formula, "not a formula: "+message)
		return out, false
	}
	out.root = root
	return out, true
}

func blank(b []byte) {
	for i := range b {
		b[i] = ' '
	}
}

// literal reads a plain decimal number with its unit.
func literal(text string, u unit) (float64, bool) {
	for i, c := range text {
		if c >= '0' && c <= '9' || c == '.' || i > 0 && (c == 'e' || c == 'E' || c == '+' || c == '-') {
			continue
		}
		return 0, false
	}
	if len(text) > 1 && text[0] == '0' && text[1] != '.' && text[1] != 'e' {
		return 0, false
	}
	mantissa, exponent := text, 0
	if i := strings.IndexAny(text, "eE"); i >= 0 {
		n, err := strconv.Atoi(text[i+1:])
		if err != nil {
			return 0, false
		}
		mantissa, exponent = text[:i], n
	}
	// The power of ten goes into the decimal, so that it is rounded once.
	v, err := strconv.ParseFloat(mantissa+"e"+strconv.Itoa(exponent+u.exponent), 64)
	if u.factor != 0 {
		v *= u.factor
	}
	return v, err == nil
}
