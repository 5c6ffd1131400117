package main

import (
	"fmt"
	"math"
	"strings"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"
)

// storedDesign is what a run folder has of a design.
type storedDesign struct {
	folder *results.Folder
	row    objective.Row
}

// compare says on the messages' stream where a row evaluated now is not the stored
// one: then the numbers shown are not those that the run was judged by.
func (d *storedDesign) compare(s streams, now *objective.Row) {
	var differ []string
	// show has parts solved where the run had them told by derivatives
	sampled := d.row.Text(objective.PartsBy) == objective.ByDerivatives && now.Text(objective.PartsBy) == objective.BySamples
	judged := map[string]bool{"feasible": true, "violation": true, "first_limit": true}
	for m := range objective.NumMeasures {
		judged[objective.Table[m].Column()] = m.OfParts()
	}
	for _, c := range d.folder.Columns() {
		if sampled && judged[c.Name] {
			continue
		}
		have, got := c.Get(&d.row), c.Get(now)
		switch {
		case c.Name == "run" || c.Name == "island" || c.Name == "id" || c.Name == "generation" || c.Name == "solve_us":
			continue
		case have.Null: // not computed then: named later, or screened
			continue
		case d.row.Status == models.Screened && (c.Name == "status" || c.Name == "reason" || c.Name == "violation" || c.Name == "first_limit"):
			continue
		case got.Null || !sameCell(have, got, c.Kind):
			differ = append(differ, fmt.Sprintf("%s was %s, is %s", c.Name, exact(have, c.Kind), exactOrNothing(got, c.Kind)))
		}
	}
	if len(differ) == 0 {
		return
	}
	m := d.folder.Manifest()
	more := ""
	if n := len(differ) - 5; n > 0 {
		differ, more = differ[:5], fmt.Sprintf(" and %d more", n)
	}
	say(s.err, "what follows is not what is stored (by version %s on %s; this is %s on %s): %s%s",
		plain(m.Version), plain(m.Platform), version, results.Platform(), plain(strings.Join(differ, "; ")), more)
}

func sameCell(a, b objective.Cell, kind objective.Kind) bool {
	if kind == objective.Float {
		return math.Float64bits(a.Float) == math.Float64bits(b.Float)
	}
	return a.Int == b.Int && a.Bool == b.Bool && a.Text == b.Text
}

func exactOrNothing(c objective.Cell, kind objective.Kind) string {
	if c.Null {
		return "nothing"
	}
	return exact(c, kind)
}
