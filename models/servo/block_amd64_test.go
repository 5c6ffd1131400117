package servo

import (
	"math/rand/v2"
	"testing"
)

// Side by side the sums have the bits that one after the other have. Where the processor has no lanes there is nothing to compare.
func TestSideBySide(t *testing.T) {
	if !sideBySide {
		t.Log("this processor takes one after the other")
		return
	}
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
		l := mustLoop(t, s, p.Poses, p.Modes, 1)
		l.Prepare(p)
		for _, r := range l.responses {
			for i := 1; i < r.n; i += lanes {
				r.pointBlock(i)
				z := r.block(i)
				var x pointsAt
				var y intervalsAt
				first := i - i%lanes
				for k := range lanes {
					w := r.w[min(first+k, r.n-1)]
					x[0][k], x[1][k] = w*w, 2*r.zeta*w
					end := min(max(first+k, 1), r.n-1)
					y[0][k], y[1][k], y[2][k], y[3][k] = r.w[end-1], r.w[end], r.bends.root, r.zeta
				}
				sum := r.stageSum
				if r.sensor == SensorArm {
					sum = r.armSum
				}
				var points pointSums
				plainPoints(r.omega, r.strength, sum.residue, &x, &points)
				for k := range min(lanes, r.n-first) {
					for c, v := range r.p[first+k] {
						if v != complex(points[c][k], points[4+c][k]) {
							t.Fatalf("plant %d, point %d: %v, one after the other %g, %g", n, first+k, v, points[c][k], points[4+c][k])
						}
					}
					if r.most[first+k] != points[8][k] {
						t.Fatalf("plant %d, point %d: sum %g, one after the other %g", n, first+k, r.most[first+k], points[8][k])
					}
				}
				var sums intervalSums
				plainIntervals(r.omega[z.low:z.high], r.bends.strength[weights*z.low:weights*z.high], &y, &sums)
				if sums != z.sums {
					t.Fatalf("plant %d, interval %d: %v, one after the other %v", n, i, z.sums, sums)
				}
				compared++
			}
		}
	}
	if compared < 1000 {
		t.Errorf("%d blocks compared", compared)
	}
}
