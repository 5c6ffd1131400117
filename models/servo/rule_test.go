package servo

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// Where nothing contests what the rule takes on bounds, and that is judged completely, it is what the rule takes whatever the others come down to.
func TestNothingContests(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 4))
	certain, other := 0, 0
	for n := range 60_000 {
		l := &Loop{shapes: make([]tried, 4)}
		l.s.BandwidthFirst = n%4 == 3
		text := ""
		for i := range l.shapes {
			s := &l.shapes[i]
			s.shape.Integrator = float64(i)
			s.held = rng.IntN(2) == 0
			if rng.IntN(10) > 0 {
				s.bandwidth, s.closed = 40+float64(rng.IntN(20))/5, 38+float64(rng.IntN(50))/5
			}
			if rng.IntN(3) == 0 {
				s.closed *= 0.1
			}
			text += fmt.Sprintf("%g %g %v, ", s.bandwidth, s.closed, s.held)
		}
		best := l.choose()
		if best == nil {
			for i := range l.shapes {
				if l.shapes[i].bandwidth > 0 {
					t.Fatalf("none of %s", text)
				}
			}
			continue
		}
		if !best.held || l.rival(best) != nil {
			continue
		}
		certain++
		for range 20 {
			list := make([]Tuned, len(l.shapes))
			for i := range l.shapes {
				s, to := &l.shapes[i], &list[i]
				to.Shape, to.Bandwidth, to.ClosedLoop = s.shape, s.bandwidth, s.closed
				if !s.held && rng.IntN(3) > 0 {
					less := []float64{0, 0.9, 0.99}[rng.IntN(3)]
					to.Bandwidth *= less + (1-less)*rng.Float64()
					to.ClosedLoop *= rng.Float64()
					if rng.IntN(5) == 0 {
						to.Bandwidth = 0
					}
				}
				to.Hz = to.Bandwidth
			}
			got := byWords(list, l.s.BandwidthFirst)
			if got != int(best.shape.Integrator) {
				t.Fatalf("%d: %sbecome %+v, %d by the words", int(best.shape.Integrator), text, list, got)
			}
			if got > 0 {
				other++
			}
		}
	}
	if certain < 1000 || other < 1000 {
		t.Errorf("%d certain, %d times another shape than the first", certain, other)
	}
}
