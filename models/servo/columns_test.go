package servo

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// The delay's cosine and sine against the library's.
func TestDelays(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 14))
	const n = 20_000
	w, cos, sin := make([]float64, n+lanes), make([]float64, n+lanes), make([]float64, n+lanes)
	for i := range n {
		w[i] = math.Exp(20*rng.Float64() - 10)
		if i%10 == 0 {
			w[i] = 0.25 * math.Pi * float64(i/10)
		}
	}
	delays(&[delaysColumns][]float64{w, cos, sin}, &[delaysScalars]float64{1}, 0, n)
	for i := range n {
		s, c := math.Sincos(w[i])
		if off := max(math.Abs(s-sin[i]), math.Abs(c-cos[i])); off > 2.5e-16 {
			t.Fatalf("at %g rad: %g, %g, off by %g", w[i], cos[i], sin[i], off)
		}
	}
}

// What columns say of points is what nodes say, and where they say that an interval keeps within a limit, for all scales or one, |S| does at points between.
func TestColumns(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 26))
	plants := frontPlants(t, 3)
	for range 40 {
		plants = append(plants, randomPlant(rng, 2, 3+rng.IntN(8)))
	}
	settled, all := 0, 0
	for n, p := range plants {
		s := Default()
		if n%2 == 1 {
			s.Sensor = SensorArm
		}
		s.Damping = []float64{0.002, 0.0005, 0.01}[n%3]
		l := mustLoop(t, s, p.Poses, p.Modes, 1)
		r := l.Crossover(p)
		tr, ok := l.trial(2 * math.Pi * max(r.Hz, s.From) * []float64{0.7, 1, 1.2}[n%3])
		if !ok {
			continue
		}
		for pose := range p.Poses {
			for which, together := range []bool{true, false} {
				limit2 := []float64{4, half}[(n+which)%2]
				number := l.middle(&l.cases[pose])
				scales := s.Scales
				if !together {
					scales = s.Scales[1:2]
					number = l.poses + pose
				}
				c := &l.cases[number]
				l.begin(c, &tr, limit2)
				l.judgePoints(1, c.r.n-1, together)
				verdict := append([]float64(nil), l.columns.verdict...)
				s := l.peaks(c, &tr, 0, c.r.n-1)
				for i := range c.r.n {
					var a, b node
					l.node(c, i, &tr, &a)
					l.columns.node(l, i, &b)
					for k, pair := range [][2]complex128{{a.x, b.x}, {a.y, b.y}, {a.det, b.det}} {
						if off := cmplx.Abs(pair[0] - pair[1]); off > 1e-12*(1+cmplx.Abs(a.x))*(1+cmplx.Abs(a.y)) {
							t.Fatalf("plant %d, point %d: difference %d: %v, node %v", n, i, k, pair[1], pair[0])
						}
					}
					if off := math.Abs(s[i]/max(a.s[0], a.s[1]) - 1); off > 1e-9 {
						t.Fatalf("plant %d, point %d: |S|² off by %g", n, i, off)
					}
					if i == 0 {
						continue
					}
					all++
					if verdict[i] == 2 {
						continue
					}
					settled++
					for k, scale := range scales {
						own := &l.cases[k*l.poses+pose]
						if !together {
							own = c
						}
						var m node
						for part := 0.05; part < 1; part += 0.15 {
							l.nodeAt(own, c.r.w[i-1]+part*(c.r.w[i]-c.r.w[i-1]), &tr, &m)
							if got := max(m.s[0], m.s[1]); got > limit2*(1+3*sure) {
								t.Fatalf("plant %d, pose %d, interval %d, scale %g: |S|² %g beyond %g", n, pose, i, scale, got, limit2)
							}
						}
					}
				}
			}
		}
	}
	t.Logf("%d of %d intervals settled at once", settled, all)
	if 2*settled < all {
		t.Errorf("%d of %d intervals settled at once", settled, all)
	}
}

// A point between two of the grid has the same bits, whether columns or a node ask for it first.
func TestBetweenFirst(t *testing.T) {
	p := frontPlants(t, 6)[0]
	s := Default()
	l := mustLoop(t, s, p.Poses, p.Modes, 1)
	r := l.Crossover(p)
	tr, _ := l.trial(2 * math.Pi * r.Hz)
	compared := 0
	for pose := range p.Poses {
		c := &l.cases[l.middle(&l.cases[pose])]
		var turn turns
		f := finding{limit2: l.limit2}
		l.Prepare(p)
		l.begin(c, &tr, l.limit2)
		l.alikeFrom(1, c.r.n-1, &turn, &f)
		columns := map[int]plantValue{}
		w := append([]float64(nil), c.r.w...)
		place := append([]int(nil), c.r.place[:kept*c.r.n]...)
		for k, i := range place {
			if i > 0 {
				columns[k] = c.r.plantColumns.read(i)
			}
		}
		l.Prepare(p)
		for k, want := range columns {
			if got, _ := c.r.half(k, w[place[k]]); *got != want {
				t.Errorf("pose %d, place %d: %v, in columns %v", pose, k, *got, want)
			}
		}
		compared += len(columns)
	}
	if compared < 100 {
		t.Errorf("%d points between", compared)
	}
}
