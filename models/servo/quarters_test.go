package servo

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// Where columns say of a quarter that a scale by itself keeps within the limit, |S| does at points between, and 1 + L is no less than they say.
func TestQuarters(t *testing.T) {
	rng := rand.New(rand.NewPCG(25, 4))
	plants := frontPlants(t, 2)
	for range 40 {
		plants = append(plants, randomPlant(rng, 2, 3+rng.IntN(8)))
	}
	settled, all := 0, 0
	for _, p := range plants {
		s := Default()
		l := mustLoop(t, s, p.Poses, p.Modes, 1)
		res := l.Crossover(p)
		tr, ok := l.trial(2 * math.Pi * res.Hz)
		if res.Hz == 0 || !ok {
			continue
		}
		for pose := range p.Poses {
			c := &l.cases[l.middle(&l.cases[pose])]
			var turn turns
			f := finding{limit2: l.limit2}
			l.begin(c, &tr, l.limit2)
			if l.alike(c, &tr, 1, c.r.n-1, &turn, &f) {
				continue
			}
			q := &l.columns.quarters
			for n := range s.Scales {
				own := &l.cases[n*l.poses+pose]
				var turn turns
				if l.alone(own, &tr, &turn, &f) {
					break
				}
				for j, at := range q.spots {
					if at.part == 0 {
						continue
					}
					if all++; q.verdict[j] == 2 {
						continue
					}
					settled++
					for part := range 10 {
						var m node
						l.nodeAt(own, q.w[j]+float64(part)/9*(q.w[j+1]-q.w[j]), &tr, &m)
						if most := max(m.s[0], m.s[1]); most > l.limit2*(1+1e-9) {
							t.Fatalf("interval %d, part %d, scale %g: |S|² is %g, limit %g", at.i, at.part, own.scale, most, l.limit2)
						}
						if cmplx.Abs(m.x) < q.least[0][j]*(1-1e-9) || cmplx.Abs(m.y) < q.least[1][j]*(1-1e-9) {
							t.Fatalf("interval %d, part %d, scale %g: 1 + L is %g and %g, bounds %g and %g", at.i, at.part, own.scale, m.x, m.y, q.least[0][j], q.least[1][j])
						}
					}
				}
			}
		}
	}
	t.Logf("%d of %d quarters settled", settled, all)
	if settled < 500 || 10*settled < 7*all {
		t.Errorf("%d of %d quarters settled", settled, all)
	}
}
