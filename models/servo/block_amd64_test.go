package servo

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// Side by side a plant, its bounds and what is found with them have the bits that one after the other have. Where the processor has no lanes there is
// nothing to compare.
func TestSideBySide(t *testing.T) {
	most := judgeLanes
	defer func() { judgeLanes = most }()
	rng := rand.New(rand.NewPCG(4, 4))
	plants := frontPlants(t, 3)
	for range 60 {
		plants = append(plants, randomPlant(rng, 2, 1+rng.IntN(12)))
	}
	compared := 0
	for n, p := range plants {
		s := Default()
		s.Damping = []float64{0.002, 0.0005, 0.05, 0.2}[n%4]
		if n%2 == 1 {
			s.Sensor = SensorArm
		}
		if n%5 == 4 {
			for pose := range p.Poses {
				p.Omega[pose*p.Modes] = 0 // no suspension
			}
		}
		type outcome struct {
			result                Result
			bandwidth, closedLoop float64
			columns               [][]float64
		}
		var plain outcome
		for _, lanes := range []int{1, 4, 8} {
			if lanes > most {
				continue
			}
			judgeLanes = lanes
			l := mustLoop(t, s, p.Poses, p.Modes, 1)
			var o outcome
			if l.Prepare(p); p.Omega[0] > 0 && p.Modes > 2 {
				o.result = l.Crossover(p)
				o.bandwidth, o.closedLoop, _ = l.Frequencies(max(o.result.Hz, s.From))
			}
			for _, r := range l.responses {
				r.points(0, r.n-1)
				r.boundPoints(1, r.n-1)
				for _, column := range append(append([][]float64{r.rows}, r.parts[:]...), r.plantColumns.bends[:]...) {
					o.columns = append(o.columns, column[1:r.n])
				}
			}
			if lanes == 1 {
				plain = o
				continue
			}
			if o.result != plain.result || o.bandwidth != plain.bandwidth || o.closedLoop != plain.closedLoop {
				t.Errorf("plant %d, %d side by side: %v, one after the other %v", n, lanes, o, plain)
			}
			for k := range o.columns {
				if !slices.Equal(o.columns[k], plain.columns[k]) {
					t.Errorf("plant %d, %d side by side: column %d: %v, one after the other %v", n, lanes, k, o.columns[k], plain.columns[k])
				}
			}
			compared++
		}
	}
	if most > 1 && compared < 50 {
		t.Errorf("%d loops compared", compared)
	}
}
