package servo

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Where |S| ends the range of crossovers, the frequency that is named is that of its peak.
func TestEndIsPeak(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 4))
	plants := frontPlants(t, 1)
	for range 60 {
		plants = append(plants, randomPlant(rng, 3, 8))
	}
	seen := 0
	for n, p := range plants {
		s := Default()
		l := mustLoop(t, s, p.Poses, p.Modes, 1)
		r := l.Crossover(p)
		if r.Hz == 0 || r.Reason != Sensitivity {
			continue
		}
		seen++
		tr, _ := l.trial(2 * math.Pi * r.Above)
		number := r.Pose
		for l.cases[number].scale != r.Scale {
			number += l.poses
		}
		c := &l.cases[number]
		high := func(hz float64) float64 {
			var m node
			l.nodeAt(c, 2*math.Pi*hz/c.scale, &tr, &m)
			return max(m.s[0], m.s[1])
		}
		here := high(r.At)
		if here <= l.limit2*(1-2*sure) {
			t.Errorf("plant %d: |S|² is %g at %g Hz, where the range ends", n, here, r.At)
		}
		for k := -1000; k <= 1000; k++ {
			if hz := r.At * (1 + 1e-5*float64(k)); high(hz) > here*(1+located) {
				t.Errorf("plant %d: |S|² is %.9g at %g Hz, %.9g at %g Hz", n, here, r.At, high(hz), hz)
				break
			}
		}
	}
	t.Logf("%d peaks", seen)
	if seen < 30 {
		t.Errorf("%d peaks: too few", seen)
	}
}
