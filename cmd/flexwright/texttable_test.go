package main

import (
	"strings"
	"testing"
)

// A table that is wider than the page breaks the heads that are wider than their columns, then
// the widest columns, and no word; one that fits stays as it is.
func TestTableFitsThePage(t *testing.T) {
	make := func(width int) string {
		var b strings.Builder
		table := newTextTable("what is moved", "one hundredth", "meaning")
		table.width = width
		table.row("blade length of all", "12", "how long they are")
		if err := table.write(&b); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	for width, want := range map[int]string{
		80: "what is moved        one hundredth  meaning\n" +
			"blade length of all  12             how long they are\n",
		// by hand: 44 less 10 for the last, 22 for the first leaves 12 for the head and its gap
		44: "what is moved        one          meaning\n" +
			"                     hundredth\n" +
			"blade length of all  12           how long\n" +
			"                                  they are\n",
		// 33 less 10, less 11 for the longest word of the head, leaves 12 for the first and its gap
		33: "what is     one        meaning\n" +
			"moved       hundredth\n" +
			"blade       12         how long\n" +
			"length of              they are\n" +
			"all\n",
	} {
		if got := make(width); got != want {
			t.Errorf("%d characters:\n%swant\n%s", width, got, want)
		}
	}
}
