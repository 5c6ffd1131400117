package main

import (
	"fmt"
	"io"
	"strings"
	"unicode"
)

// writes returns what results.WriteFile fills a file with.
func writes(text []byte) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	}
}

// printPath prints the path of a file that was made: as it is for another program, without
// control characters for a person.
func printPath(s streams, path string) error {
	if isTerminal(s.out) {
		path = plain(path)
	}
	_, err := fmt.Fprintln(s.out, path)
	return err
}

// plain is text with control characters, and those that turn the direction of
// writing, as escapes: a name or a title must not steer a terminal. Line feeds and tabs stay.
func plain(text string) string {
	if !steersAny(text) {
		return text
	}
	var b strings.Builder
	for _, r := range text {
		if steers(r) {
			fmt.Fprintf(&b, "\\u%04x", r)
		} else {
			b.WriteRune(r)
		}
	}
	return b.String()
}

func steersAny(text string) bool { return strings.IndexFunc(text, steers) >= 0 }

func steers(r rune) bool {
	return r != '\n' && r != '\t' && unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)
}

// shellQuoted is a command line that a POSIX shell reads back as these words.
func shellQuoted(words ...string) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = w
		if w == "" || strings.Trim(w, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_./:=@%+,-") != "" {
			out[i] = "'" + strings.ReplaceAll(w, "'", `'\''`) + "'"
		}
	}
	return strings.Join(out, " ")
}
