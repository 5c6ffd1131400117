package main

import (
	"fmt"
	"io"
	"strings"
)

// say prints a message in lines that fit the terminal, or a page. For programs it is one
// line.
func say(w io.Writer, format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if _, programs := w.(*jsonLines); !programs {
		width := pageWidth
		if isTerminal(w) {
			width = terminalWidth(w)
		}
		text = strings.Join(wrap(text, width), "\n")
	}
	fmt.Fprintln(w, text)
}
