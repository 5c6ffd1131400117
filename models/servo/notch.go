package servo

import (
	"math"
	"slices"
)

// Width and depth of the notches that [Loop.Tune] adds (common practice).
const (
	foundWidth = 0.3
	foundDepth = 0.1
)

// Found returns the notches that [Loop.Tune] added last, read-only.
func (l *Loop) Found() []Notch { return l.s.Notches[l.given:] }

// propose returns a notch at the mode that ends a crossover. A notch stays where it is, so the mode has to: at every pose and with every payload its frequency
// lies within the spread of Settings.Scales about the notch's. ok is false where it does not, where no mode is to blame, and where there is a notch already.
func (l *Loop) propose(r *Result) (n Notch, ok bool) {
	if r.Mode < 0 || r.At == 0 || r.Reason == Ceiling || r.Reason == Unseen {
		return n, false
	}
	low, high := math.Inf(1), 0.0
	for i := range l.inUse / len(l.s.Scales) {
		w := l.responses[i].omega[r.Mode] / (2 * math.Pi)
		low, high = min(low, w), max(high, w)
	}
	spread := 0.0
	for _, s := range l.s.Scales {
		spread = max(spread, math.Abs(s-1))
	}
	middle := math.Round(50*(low+high)) / 100 // to 0.01 Hz, so that it can be written down
	if !(low > 0 && low >= middle*(1-spread) && high <= middle*(1+spread)) {
		return n, false
	}
	for _, other := range l.s.Notches {
		if math.Abs(other.Frequency-middle) < 0.5*other.Width*middle {
			return n, false
		}
	}
	return Notch{Frequency: middle, Width: foundWidth, Depth: foundDepth}, true
}

// UseNotches makes found the notches besides those given, no more than Settings.AutoNotches, as a part
// with errors keeps those found for its design. It forgets what was computed with others.
func (l *Loop) UseNotches(found []Notch) {
	if slices.Equal(l.Found(), found) {
		return
	}
	l.s.Notches = append(l.s.Notches[:l.given], found...)
	for _, r := range l.responses {
		r.bends.notches = len(l.s.Notches) > 0
		clear(r.bends.done)
		clear(r.bends.quarter)
		r.bends.quarters = r.bends.quarters[:0]
	}
	for i := range l.cases {
		clear(l.cases[i].done)
		clear(l.cases[i].halved)
	}
	l.hots, l.slowest, l.laggard = 0, 0, laggard{}
}

// better reports whether a result is worth another notch: no less bandwidth, and more of it or set points that are followed only now.
func (l *Loop) better(with, without *Tuned) bool {
	if with.Hz == 0 || with.Bandwidth < without.Bandwidth {
		return false
	}
	follows := with.ClosedLoop >= with.Bandwidth || l.s.BandwidthFirst
	followed := without.Hz > 0 && without.ClosedLoop >= without.Bandwidth || l.s.BandwidthFirst
	if follows != followed {
		return follows
	}
	return with.Bandwidth > without.Bandwidth*(1+worthwhile)
}

// worthwhile is the share of bandwidth that is worth a notch.
const worthwhile = 0.005
