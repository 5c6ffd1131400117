package configs

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Problem is one thing that is wrong with a file, where it stands, and what
// would be accepted there.
type Problem struct {
	File       string `json:"file"`
	Line       int    `json:"line"`   // from 1; 0 when the whole file is meant
	Column     int    `json:"column"` // from 1, in characters
	Message    string `json:"message"`
	Accepted   string `json:"accepted"`
	SourceLine string `json:"-"` // the line that it stands in, or what surrounds the column in a long one
	caret      int    // characters before the column in SourceLine
}

// String returns the problem as it is printed: position and message, the source
// line with a caret under the column, and what would be accepted.
func (p Problem) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s:%d:%d: %s\n", p.File, p.Line, p.Column, p.Message)
	if p.SourceLine != "" {
		fmt.Fprintf(&b, "  %s\n  %s^\n", p.SourceLine, strings.Repeat(" ", p.caret))
	}
	fmt.Fprintf(&b, "accepted: %s", p.Accepted)
	return b.String()
}

// widest is the number of characters of a source line that is shown.
const widest = 100

// excerpt returns the part of a line around a column (from 1), fit for a
// terminal, and how many characters precede the column in it.
func excerpt(line string, column int) (string, int) {
	shown := []rune(strings.TrimRight(line, "\r\n\t "))
	if len(shown) == 0 {
		return "", 0
	}
	for i, c := range shown {
		switch {
		case c == '\t':
			shown[i] = ' '
		case !unicode.IsPrint(c):
			shown[i] = utf8.RuneError
		}
	}
	at := min(max(column-1, 0), len(shown))
	from := 0
	if len(shown) > widest {
		from = min(max(at-widest/2, 0), len(shown)-widest)
		shown = shown[from : from+widest]
	}
	return string(shown), at - from
}

// Problems are all problems of a file, in the order of the file. They are an
// error when there is at least one.
type Problems []Problem

// Error returns all problems as they are printed.
func (p Problems) Error() string {
	texts := make([]string, len(p))
	for i := range p {
		texts[i] = p[i].String()
	}
	return strings.Join(texts, "\n")
}

// reader collects the problems of one file.
type reader struct {
	file     string
	noun     string // what the file is: "brief"
	outline  string // what an empty or misshapen one should have been
	lines    []string
	problems Problems
}

func newReader(name string, data []byte) *reader {
	return &reader{file: name, noun: "brief", outline: briefOutline, lines: strings.Split(string(data), "\n")}
}

// place is a position in the file.
type place struct{ line, column int }

// mostProblems of a file that are kept: more than anyone reads.
const mostProblems = 200

// refuse notes a problem.
func (r *reader) refuse(at place, accepted, format string, args ...any) {
	if len(r.problems) >= mostProblems {
		return
	}
	p := Problem{File: r.file, Line: at.line, Column: at.column, Message: fmt.Sprintf(format, args...), Accepted: accepted}
	if at.line >= 1 && at.line <= len(r.lines) {
		p.SourceLine, p.caret = excerpt(r.lines[at.line-1], at.column)
	}
	r.problems = append(r.problems, p)
}

// all returns the problems in the order of the file, nil when there are none.
func (r *reader) all() Problems {
	slices.SortStableFunc(r.problems, func(a, b Problem) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	return r.problems
}
