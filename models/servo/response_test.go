package servo

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// The far modes' polynomials and the bound of the tail, against the plain sum over all
// modes. The cut series and the neglected (ζ/2)² promise 2e-6 of the magnitudes added
// at ζ 0.002; at ζ 0.02 nothing is cut. Where they cancel, as beyond all modes, that
// is more of the result.
func TestResponse(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 2))
	reference := referencePlant(t)
	for n := range 40 {
		s := Default()
		s.Sensor = Sensor(n % 2)
		s.Damping = []float64{0.0005, 0.002, 0.02}[n%3]
		plant := randomPlant(rng, 1, 12)
		if n%4 == 0 {
			plant = reference
		}
		r := newResponse(plant.Modes, &s)
		pose := n % plant.Poses
		r.prepare(plant, pose)
		p := newPlain(s, plant)
		largest := 0.0 // row sum, from the top down
		cluster := r.clusters - 1
		for i := r.n - 1; i >= 0; i-- {
			r.at(i)
			got := r.p[i]
			if r.inEights() {
				got = r.plantColumns.read(i)
			}
			want := p.response(0, pose, 1, r.w[i])
			added := 0.0
			for k, wk := range r.omega {
				added += r.strength[k] / math.Hypot((wk-r.w[i])*(wk+r.w[i]), 2*s.Damping*wk*r.w[i])
			}
			for row := range 2 {
				sum := cmplx.Abs(want[row][0]) + cmplx.Abs(want[row][1])
				largest = math.Max(largest, sum)
				for column := range 2 {
					if off := cmplx.Abs(got[2*row+column] - want[row][column]); off > 2e-6*added {
						t.Fatalf("plant %d at %g rad/s: off by %g of %g", n, r.w[i], off, added)
					}
				}
			}
			if cluster >= 0 && i == r.ends[cluster] {
				if bound := r.onward(cluster); largest > bound {
					t.Fatalf("plant %d from %g rad/s: %g, bound %g", n, r.w[i], largest, bound)
				}
				cluster--
			}
			if i > 0 && !(r.w[i] > r.w[i-1]) {
				t.Fatalf("plant %d: points %g, %g rad/s", n, r.w[i-1], r.w[i])
			}
		}
	}
}

// No row sum of a plant is more than what is said of it between two frequencies by the modes alone, nor, once they are bounded, in the intervals of a block.
func TestRowSums(t *testing.T) {
	rng := rand.New(rand.NewPCG(32, 6))
	plants := frontPlants(t, 2)
	for n := range 30 {
		p := randomPlant(rng, 1, 3+rng.IntN(12))
		if n%3 == 0 {
			p.Omega[0], p.Omega[1] = 0, 0
		}
		plants = append(plants, p)
	}
	tight := 0
	for n, p := range plants {
		s := Default()
		s.Damping = []float64{0.002, 0.0003, 0.05, 0.2}[n%4]
		if n%2 == 1 {
			s.Sensor = SensorArm
		}
		r := newResponse(p.Modes, &s)
		r.prepare(p, n%p.Poses)
		holds := func(what string, bound, a, b float64) {
			t.Helper()
			largest := 0.0
			for q := range 41 {
				var v, arm plantValue
				r.value(a*math.Pow(b/a, float64(q)/40), &v, &arm)
				largest = max(largest, cmplx.Abs(v[0])+cmplx.Abs(v[1]), cmplx.Abs(v[2])+cmplx.Abs(v[3]))
			}
			if largest > bound*(1+1e-6) { // of the far modes' polynomials
				t.Fatalf("plant %d from %g to %g rad/s: row sum %g, bound %g %s", n, a, b, largest, bound, what)
			}
			if bound < 3*largest {
				tight++
			}
		}
		for _, what := range []string{"by modes", "by intervals"} {
			for i := lanes; i+lanes <= r.n; i += lanes {
				holds(what, r.rowsIn(i/lanes), r.w[i-1], r.w[i+lanes-1])
			}
			r.boundPoints(1, r.n-1)
		}
		for range 200 {
			a := r.w[1+rng.IntN(r.n-1)] * (1 + 0.01*rng.Float64()*rng.Float64())
			b := a * (1 + 3*rng.Float64()*rng.Float64()*rng.Float64())
			holds("by modes", r.rowsBetween(a, b), a, b)
			holds("from there on", r.rowsBetween(a, math.Inf(1)), a, b)
		}
	}
	if tight < 4000 {
		t.Errorf("%d bounds are within a factor of three", tight)
	}
}
