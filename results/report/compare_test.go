package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
)

// Every design of both fronts is drawn once in each plot, up to the bound; those of the
// common front are filled. What comes from folders and briefs is text, whatever it holds.
func TestComparison(t *testing.T) {
	c := &Comparison{Title: "Two runs", Names: [2]string{"<a>.run", "b.run"}, Sentences: []string{"5 < 6"},
		Tables: []ComparedTable{{Caption: "Numbers", Head: []string{"", "A", "B"}, Rows: [][]string{{"designs", "1", "2"}}, Numbers: true}},
		Goals:  []ComparedGoal{{"travel", "mm", true}, {"first_frequency", "Hz", true}, {"footprint", "mm", false}}}
	for i := range 3 {
		c.Points[0] = append(c.Points[0], ComparedPoint{fmt.Sprint(i), []float64{1 + float64(i), 50, 200}, i == 0})
	}
	for i := range mostCompared + 50 {
		c.Points[1] = append(c.Points[1], ComparedPoint{fmt.Sprint(i), []float64{float64(i), float64(500 - i), 100}, true})
	}
	var b bytes.Buffer
	if err := WriteComparison(&b, c); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	for want, n := range map[string]int{`<circle class="fronta"`: 2, `<circle class="fronta hollow"`: 4, `<path class="frontb"`: 2 * mostCompared, "<svg": 2, "&lt;a&gt;.run": 1, "5 &lt; 6": 1, "<script": 0} {
		if got := strings.Count(page, want); got != n {
			t.Errorf("%s: %d times, not %d", want, got, n)
		}
	}
	for _, drawing := range strings.Split(page, "<svg")[1:] {
		drawing, _, _ = strings.Cut(drawing, "</svg>")
		d := xml.NewDecoder(strings.NewReader("<svg" + drawing + "</svg>"))
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatal(err)
			}
		}
	}
}
