package main

import (
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"
)

// textTable prints columns for reading, two spaces between them. Its last
// column is wrapped to the width of the terminal.
type textTable struct {
	rows  [][]string
	width int // to wrap to, in characters; 0: that of the terminal
}

func newTextTable(head ...string) *textTable { return &textTable{rows: [][]string{head}} }

func (t *textTable) row(cells ...string) {
	for i := range cells {
		cells[i] = plain(cells[i])
	}
	t.rows = append(t.rows, cells)
}

func (t *textTable) write(w io.Writer) error {
	width := make([]int, len(t.rows[0]))
	for _, r := range t.rows {
		for i, c := range r {
			width[i] = max(width[i], utf8.RuneCountInString(c))
		}
	}
	indent := 0
	for _, n := range width[:len(width)-1] {
		indent += n + 2
	}
	page, least := t.width, 10
	if page == 0 {
		page, least = terminalWidth(w), 24
	}
	room := max(page-indent, least)
	var b strings.Builder
	for _, r := range t.rows {
		for i, c := range r[:len(r)-1] {
			b.WriteString(c)
			b.WriteString(strings.Repeat(" ", width[i]-utf8.RuneCountInString(c)+2))
		}
		for i, line := range wrap(r[len(r)-1], room) {
			if i > 0 {
				b.WriteString(strings.Repeat(" ", indent))
			}
			b.WriteString(line)
			b.WriteByte('\n')
		}
	}
	_, err := io.WriteString(w, trimLines(b.String()))
	return err
}

func trimLines(s string) string {
	lines := strings.Split(s, "\n")
	for i, l := range lines {
		lines[i] = strings.TrimRight(l, " ")
	}
	return strings.Join(lines, "\n")
}

// wrap breaks text at spaces into lines of at most room characters.
func wrap(text string, room int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > room {
			lines = append(lines, line)
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	return append(lines, line)
}

// isTerminal reports whether w is a terminal.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// terminalWidth of w in characters: effectively unlimited when w is no terminal.
func terminalWidth(w io.Writer) int {
	if f, ok := w.(*os.File); ok {
		if n, _, err := term.GetSize(int(f.Fd())); err == nil && n > 0 {
			return n
		}
	}
	return 1 << 20
}
