package main

import (
	"bytes"
	"encoding/json"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/search"
)

// progressSpec has the goals footprint, least, and first frequency, most.
func progressSpec(t testing.TB) *objective.Spec {
	t.Helper()
	brief, problems := loadBrief("small.yaml", []byte(smallSweep))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	return brief.Spec()
}

func feasibleRow(footprint, frequency float64) objective.Row {
	r := objective.Row{Status: models.Solved, Feasible: true}
	r.Measures.Set(objective.Footprint, footprint)
	r.Measures.Set(objective.FirstFrequency, frequency)
	return r
}

func TestProgressTellsRateTrendAndTimeLeft(t *testing.T) {
	var out bytes.Buffer
	clock := time.Date(2026, 11, 25, 22, 0, 0, 0, time.UTC)
	p := &progress{w: &out, spec: progressSpec(t), json: true, total: 1000, now: func() time.Time { return clock },
		best: []float64{math.Inf(1), math.Inf(1)}, front: search.NewArchive[struct{}](2), began: clock}
	p.observe([]objective.Row{feasibleRow(300, 20), feasibleRow(200, 10), feasibleRow(310, 19), {}}, true)
	p.mark()
	clock = clock.Add(30 * time.Second)
	p.observe([]objective.Row{feasibleRow(200, 20), {}, {}, {}, {}, {}}, false)
	var s snapshot
	if err := json.Unmarshal([]byte(p.line("running")), &s); err != nil {
		t.Fatal(err)
	}
	if s.Designs != 10 || s.Replayed != 4 || s.Feasible != 4 || s.Front != 1 {
		t.Errorf("%+v", s)
	}
	// Six rows in half a minute; 990 are left.
	if s.Rate != 0.2 || math.Abs(*s.SecondsLeft-990/0.2) > 1e-9 {
		t.Errorf("rate %v, %v s left", s.Rate, *s.SecondsLeft)
	}
	if s.Best["footprint_mm"] != 200 || s.Best["first_frequency_hz"] != 20 {
		t.Error(s.Best)
	}
	// By hand: corner (310, -9). Before: (310-300)(20-9) + (310-200)(10-9) -
	// (310-300)(10-9) = 210. After: (310-200)(20-9) = 1210.
	if s.Growth == nil || math.Abs(*s.Growth-(1210./210-1)) > 1e-12 {
		t.Errorf("growth %v", *s.Growth)
	}
	p.json = false
	line := p.line("running")
	for _, want := range []string{"10 of 1000 designs", "40 % feasible", "front of 1 (+4.8e+02 % in a minute)", "best footprint 200 mm, first_frequency 20 Hz", "1h22m30s left"} {
		if !strings.Contains(line, want) {
			t.Errorf("%q is not in %q", want, line)
		}
	}
	// --for ends it sooner.
	p.deadline = clock.Add(time.Minute)
	if s := p.take("running"); *s.SecondsLeft != 60 {
		t.Errorf("%v s left", *s.SecondsLeft)
	}
}

func TestProgressOfNothing(t *testing.T) {
	var out bytes.Buffer
	p := newProgress(&out, progressSpec(t), progressOptions{planned: 30})
	p.close()
	if s := out.String(); !strings.HasPrefix(s, "0 of 30 designs") || strings.Count(s, "\n") != 1 {
		t.Errorf("%q", s)
	}
}

// What progress costs a run, per row of which every one is feasible.
func BenchmarkProgress(b *testing.B) {
	p := newProgress(io.Discard, progressSpec(b), progressOptions{planned: 1 << 30})
	defer p.close()
	rows := make([]objective.Row, 1000)
	for i := range rows {
		u := float64(i*617%1000) / 1000
		rows[i] = feasibleRow(200+100*u, 10+10*u*u+float64(i%7))
	}
	for n := 0; n < b.N; n += len(rows) {
		p.observe(rows, false)
	}
}
