package main

import (
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"
)

// textTable prints columns for reading, two spaces between them. Its last
// column is wrapped to the width of the terminal; where that does not suffice, the
// widest of the others are too.
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
	page, least := t.width, 10
	if page == 0 {
		page, least = terminalWidth(w), 24
	}
	width := t.widths(page, least)
	var b strings.Builder
	for _, r := range t.rows {
		cells, lines := make([][]string, len(r)), 1
		for i, c := range r {
			cells[i] = []string{c} // as it is, spaces included
			if utf8.RuneCountInString(c) > width[i] {
				cells[i] = wrap(c, width[i])
			}
			lines = max(lines, len(cells[i]))
		}
		for k := range lines {
			for i := range r {
				text := ""
				if k < len(cells[i]) {
					text = cells[i][k]
				}
				b.WriteString(text)
				b.WriteString(strings.Repeat(" ", max(width[i]-utf8.RuneCountInString(text), 0)+2))
			}
			b.WriteByte('\n')
		}
	}
	_, err := io.WriteString(w, trimLines(b.String()))
	return err
}

// widths of the columns on a page: as wide as their cells, the last no wider than what is
// left, but at least so wide, for which others make room down to their longest words:
// heads that are wider than what stands below them first, then the widest.
func (t *textTable) widths(page, least int) []int {
	last := len(t.rows[0]) - 1
	width, word, body := make([]int, last+1), make([]int, last+1), make([]int, last+1)
	for k, r := range t.rows {
		for i, c := range r {
			n := utf8.RuneCountInString(c)
			width[i] = max(width[i], n)
			if k > 0 {
				body[i] = max(body[i], n)
			}
			for _, w := range strings.Fields(c) {
				word[i] = max(word[i], utf8.RuneCountInString(w))
			}
		}
	}
	left := page - min(width[last], max(least, word[last]))
	for _, n := range width[:last] {
		left -= n + 2
	}
	for ; left < 0; left++ {
		widest, head := -1, false
		for i := range last {
			h := width[i] > body[i]
			if width[i] > word[i] && (widest < 0 || h && !head || h == head && width[i] > width[widest]) {
				widest, head = i, h
			}
		}
		if widest < 0 {
			break
		}
		width[widest]--
	}
	room := page
	for _, n := range width[:last] {
		room -= n + 2
	}
	width[last] = min(width[last], max(room, word[last]))
	return width
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
