package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"os/signal"
	"slices"
	"strings"
	"sync"
	"time"

	"flexwright/objective"
	"flexwright/search"

	"golang.org/x/term"
)

// How often progress is shown: on a terminal one line that is written over,
// elsewhere a line a minute.
const (
	terminalTick = 200 * time.Millisecond
	plainTick    = time.Minute
	// trendTime is over how long the rate and the trend of the front are taken.
	trendTime = time.Minute
)

// progress counts rows as they come, and prints how far the run is. Counting
// costs well under a microsecond a row; everything else is done when it prints.
type progress struct {
	w        io.Writer
	spec     *objective.Spec
	terminal bool
	json     bool
	total    int64     // rows the run is to have
	deadline time.Time // zero: none
	now      func() time.Time
	stop     chan struct{}
	done     chan struct{}

	mu                       sync.Mutex
	rows, replayed, feasible int64
	began                    time.Time
	best                     []float64 // of each goal, least is best
	front                    *search.Archive[struct{}]
	marks                    []mark // over the last trendTime, oldest first
}

// mark is what was at a time, to compare with later.
type mark struct {
	at    time.Time
	fresh int64     // rows evaluated
	front []float64 // objectives
}

// progressOptions says what a run is going to be.
type progressOptions struct {
	planned, bound int64         // rows of the plan and of --max-designs, 0: none
	forTime        time.Duration // 0: no bound
	json           bool
}

func newProgress(w io.Writer, spec *objective.Spec, o progressOptions) *progress {
	p := &progress{w: w, spec: spec, json: o.json, total: o.planned, now: time.Now, stop: make(chan struct{}), done: make(chan struct{})}
	if o.bound > 0 && o.bound < p.total {
		p.total = o.bound
	}
	p.began = p.now()
	if o.forTime > 0 {
		p.deadline = p.began.Add(o.forTime)
	}
	f, ok := w.(*os.File)
	p.terminal = ok && !o.json && term.IsTerminal(int(f.Fd()))
	p.best = make([]float64, len(spec.Goals))
	p.front = search.NewArchive[struct{}](len(spec.Goals))
	for i := range p.best {
		p.best[i] = math.Inf(1)
	}
	go p.show()
	return p
}

// show prints until the run ends, and whenever SIGUSR1 asks for it.
func (p *progress) show() {
	defer close(p.done)
	every := plainTick
	if p.terminal {
		every = terminalTick
	}
	tick, marks := time.NewTicker(every), time.NewTicker(trendTime/30)
	defer tick.Stop()
	defer marks.Stop()
	asked := make(chan os.Signal, 1)
	notifyState(asked)
	defer signal.Stop(asked)
	p.mark()
	for {
		select {
		case <-tick.C:
			tick.Reset(rarely(every, func() { p.print(false) }))
		case <-marks.C:
			marks.Reset(rarely(trendTime/30, p.mark))
		case <-asked:
			if p.terminal {
				fmt.Fprint(p.w, "\r\033[K")
			}
			say(p.w, "%s", p.line("running"))
		case <-p.stop:
			p.print(true)
			return
		}
	}
}

// rarely does something and returns when to do it again: so that what grows with the front takes
// at most one per cent of the time, in which no rows are counted.
func rarely(every time.Duration, do func()) time.Duration {
	began := time.Now()
	do()
	return max(every, 100*time.Since(began))
}

func (p *progress) print(last bool) {
	switch {
	case last:
		if p.terminal {
			fmt.Fprint(p.w, "\r\033[K")
		}
		say(p.w, "%s", p.line("ended"))
	case p.terminal:
		width, _, err := term.GetSize(int(p.w.(*os.File).Fd()))
		line := []rune(p.line("running"))
		if err == nil && width > 1 && len(line) >= width {
			line = append(line[:width-2], '…')
		}
		fmt.Fprintf(p.w, "\r\033[K%s", string(line))
	default:
		say(p.w, "%s", p.line("running"))
	}
}

// observe counts rows. It is a results.Study's Observe.
func (p *progress) observe(rows []objective.Row, replayed bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.rows += int64(len(rows))
	if replayed {
		p.replayed += int64(len(rows))
	}
	o := make([]float64, len(p.best))
	for i := range rows {
		if !rows[i].Feasible {
			continue
		}
		p.feasible++
		p.spec.Objectives(&rows[i], o)
		if slices.ContainsFunc(o, func(v float64) bool { return math.IsInf(v, 0) || math.IsNaN(v) }) {
			continue // no point of a front
		}
		p.front.Add(o, struct{}{})
		for k, v := range o {
			p.best[k] = min(p.best[k], v)
		}
	}
}

// mark remembers the state, to tell a trend from.
func (p *progress) mark() {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.now()
	p.marks = append(p.marks, mark{now, p.rows - p.replayed, slices.Clone(p.thinned())})
	for len(p.marks) > 2 && now.Sub(p.marks[1].at) >= trendTime {
		p.marks = p.marks[1:]
	}
}

// thinned are the objectives of the front, or of as many well-spread points of it as
// a hypervolume is quickly had of.
func (p *progress) thinned() []float64 {
	m, objs := len(p.best), p.front.Objectives()
	most := 200
	if m > 3 {
		most = 40
	}
	if p.front.Len() <= most {
		return objs
	}
	var out []float64
	for _, i := range search.Thin(objs, m, most) {
		out = append(out, objs[i*m:(i+1)*m]...)
	}
	return out
}

// snapshot is how far a run is.
type snapshot struct {
	Time     string `json:"time"`
	State    string `json:"state"`
	Designs  int64  `json:"designs"`
	Planned  int64  `json:"planned"`
	Replayed int64  `json:"replayed"`
	Feasible int64  `json:"feasible"`
	// Rate is of evaluations over the last minute; replayed rows do not count.
	Rate        float64            `json:"designs_per_second"`
	Front       int                `json:"front"`
	Growth      *float64           `json:"hypervolume_change"` // relative, against a minute ago; null where nothing can be compared
	Best        map[string]float64 `json:"best"`
	SecondsLeft *float64           `json:"seconds_left"`
}

func (p *progress) take(state string) snapshot {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.now()
	s := snapshot{Time: now.UTC().Format(time.RFC3339), State: state, Designs: p.rows, Planned: p.total, Replayed: p.replayed,
		Feasible: p.feasible, Front: p.front.Len(), Best: map[string]float64{}}
	since, fresh := p.began, int64(0)
	if len(p.marks) > 0 && state == "running" {
		since, fresh = p.marks[0].at, p.marks[0].fresh
		if g, ok := search.Growth(len(p.best), p.marks[0].front, p.thinned()); ok {
			s.Growth = &g
		}
	}
	if d := now.Sub(since).Seconds(); d > 0 {
		s.Rate = float64(p.rows-p.replayed-fresh) / d
	}
	for i, g := range p.spec.Goals {
		if v := p.best[i]; !math.IsInf(v, 0) {
			if g.Sense == objective.Most {
				v = -v
			}
			s.Best[p.spec.Column(g.Ref)] = v
		}
	}
	left := math.Inf(1)
	if s.Rate > 0 && p.total > 0 {
		left = float64(max(0, p.total-p.rows)) / s.Rate
	}
	if !p.deadline.IsZero() {
		left = min(left, max(0, p.deadline.Sub(now).Seconds()))
	}
	if !math.IsInf(left, 0) && state == "running" {
		s.SecondsLeft = &left
	}
	return s
}

// line is the state in one line.
func (p *progress) line(state string) string {
	s := p.take(state)
	if p.json {
		text, err := json.Marshal(s)
		if err != nil {
			panic("progress: a state that JSON cannot hold: " + err.Error())
		}
		return string(text)
	}
	var b strings.Builder
	if s.SecondsLeft != nil { // first, so that a narrow terminal never cuts it
		fmt.Fprintf(&b, "%s left, ", time.Duration(*s.SecondsLeft*float64(time.Second)).Round(time.Second))
	}
	fmt.Fprintf(&b, "%d of %s", s.Designs, counted(s.Planned, "design"))
	if s.Replayed == s.Designs && s.Replayed > 0 && state == "running" {
		b.WriteString(" read back")
	}
	if s.Rate > 0 {
		fmt.Fprintf(&b, ", %.0f/s", s.Rate)
	}
	if s.Designs > 0 {
		fmt.Fprintf(&b, ", %.3g %% feasible", 100*float64(s.Feasible)/float64(s.Designs))
	}
	if s.Front > 0 {
		fmt.Fprintf(&b, ", front of %d", s.Front)
		if s.Growth != nil {
			fmt.Fprintf(&b, " (%+.2g %% in a minute)", 100**s.Growth)
		}
		b.WriteString(", best")
		for i, g := range p.spec.Goals {
			if v, ok := s.Best[p.spec.Column(g.Ref)]; ok {
				if i > 0 {
					b.WriteString(",")
				}
				fmt.Fprintf(&b, " %s %s", p.spec.Name(g.Ref), number(v))
				if u := p.spec.Unit(g.Ref).Symbol; u != "" {
					b.WriteString(" " + u)
				}
			}
		}
	}
	return b.String()
}

// close prints the last line.
func (p *progress) close() {
	close(p.stop)
	<-p.done
}
