package servo

import (
	"math/rand/v2"
	"testing"
)

// A shape that is looked at after others goes down farther at once, by the places at which those failed; what it passes over does not hold.
func TestPassOver(t *testing.T) {
	s := Default()
	s.Shapes = ShapeList
	farther := 0
	plants := frontPlants(t, 3)
	rng := rand.New(rand.NewPCG(5, 26))
	for range 40 {
		plants = append(plants, randomPlant(rng, 3, 6))
	}
	for i, p := range plants {
		l, without := mustLoop(t, s, p.Poses, p.Modes, 1), mustLoop(t, s, p.Poses, p.Modes, 1)
		down := func(l *Loop, c Shape) float64 {
			l.Use(c)
			var one search
			one.begin(&l.coarse, l.coarse.wc[0])
			one.alike = c == s.Shape()
			if !l.descend(&one, 0) {
				return 0
			}
			return one.good
		}
		l.Prepare(p)
		without.Prepare(p)
		for _, c := range ShapeList {
			clear(without.coarse.places)
			from, to := down(without, c), down(l, c)
			for _, wc := range l.coarse.wc {
				if wc > to*(1+1e-4) && wc < from*(1-1e-4) {
					farther++
					if at, ok := l.trial(wc); ok && l.holds(&at) {
						t.Errorf("plant %d, %v: %g rad/s holds, passed over", i, c, wc)
					}
				}
			}
		}
	}
	if farther < 20 {
		t.Errorf("%d crossovers passed over", farther)
	}
}
