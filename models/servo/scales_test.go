package servo

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// What the scales differ by, against the controller itself.
func TestShifts(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 31))
	for n := range 2000 {
		s := Default()
		s.Delay = 4e-4 * rng.Float64()
		c := ShapeList[n%len(ShapeList)]
		if n%3 == 0 {
			c = Shape{0.5 + 10*rng.Float64(), 10 * rng.Float64(), 0.5 + 10*rng.Float64(), 1 + 20*rng.Float64()}
		}
		s.IntegratorRatio, s.LeadRatio, s.TamingRatio, s.LowPassRatio = c.Integrator, c.Lead, c.Taming, c.LowPass
		spread := 0.1 * rng.Float64()
		s.Scales = []float64{1 - spread, 1, 1 + spread*rng.Float64()}
		l := mustLoop(t, s, 1, 1, 1)
		wc := math.Exp(3 + 5*rng.Float64())
		tr := trial{wc: wc, per: 1 / wc}
		u := wc * math.Exp(8*rng.Float64()-4)
		v := u * (1 + 0.2*rng.Float64()*rng.Float64())
		middle := s.Scales[l.spread.middle]
		a, b := node{w: u}, node{w: v}
		bound := l.deviation(&a, &b, middle*v, l.shifts(middle*u, &tr), l.shifts(middle*v, &tr))
		most := 0.0
		for _, scale := range s.Scales {
			for part := range 11 {
				w := u + 0.1*float64(part)*(v-u)
				from, to := s.shape(middle*w, wc)*s.lag(middle*w), s.shape(scale*w, wc)*s.lag(scale*w)
				most = max(most, cmplx.Abs(to/from*complex(middle*middle/(scale*scale), 0)-1))
			}
		}
		if most > bound {
			t.Errorf("%v from %g to %g Hz: the scales differ by %g, bound %g", c, u/(2*math.Pi), v/(2*math.Pi), most, bound)
		}
		if spread < 0.05 && most < 0.3 && bound > 1.3*most+0.3*spread {
			t.Errorf("%v from %g to %g Hz: the scales differ by %g, bound %g: too much", c, u/(2*math.Pi), v/(2*math.Pi), most, bound)
		}
	}
}

// All scales of a pose at once say what each by itself says, and name a case that fails.
func TestScalesTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 2))
	plants := frontPlants(t, 2)
	for range 60 {
		plants = append(plants, randomPlant(rng, 3, 8))
	}
	good, bad, unstable := 0, 0, 0
	for n, p := range plants {
		s := Default()
		if n%2 == 1 {
			s.Sensor = SensorArm
		}
		if n%5 == 4 {
			s.OtherAxisOpen = true
		}
		if n%7 == 6 {
			s.Scales = []float64{0.9, 1, 1.05, 1.08}
		}
		l := mustLoop(t, s, p.Poses, p.Modes, 1)
		r := l.Crossover(p)
		for _, hz := range []float64{0.5 * r.Hz, r.Hz, r.Above, 1.01 * r.Above, 1.3 * r.Above, 2 * r.Above} {
			tr, ok := l.trial(2 * math.Pi * hz)
			if hz == 0 || !ok {
				continue
			}
			for pose := range l.poses {
				failing := map[int]Reason{}
				for k := range s.Scales {
					f := finding{limit2: l.limit2}
					if l.sweep(&l.cases[k*l.poses+pose], &tr, &f); f.reason != Ceiling {
						failing[k*l.poses+pose] = f.reason
					}
				}
				f := finding{limit2: l.limit2}
				number := l.sweepScales(0, pose, &tr, &f)
				if (f.reason == Ceiling) != (len(failing) == 0) || f.reason != failing[number] {
					t.Errorf("plant %d, %g Hz, pose %d: %v of case %d; one by one %v", n, hz, pose, f.reason, number, failing)
				}
				switch f.reason {
				case Ceiling:
					good++
				case Sensitivity:
					bad++
				default:
					unstable++
				}
				c := &l.cases[pose]
				c.r.heard = 0
				l.listen(c, &tr, math.Inf(1))
				for k := range s.Scales {
					c := &l.cases[k*l.poses+pose]
					if w := l.rise(c, &tr, 0, math.Inf(1)); w != l.rise(c, &tr, c.r.heard, math.Inf(1)) {
						t.Errorf("plant %d, %g Hz, case %d: |S| rises at %g rad/s, without quiet intervals elsewhere", n, hz, k*l.poses+pose, w)
					}
				}
			}
		}
	}
	t.Logf("%d hold, %d too sensitive, %d unstable", good, bad, unstable)
	if min(good, bad) < 500 || unstable < 10 {
		t.Errorf("%d hold, %d too sensitive, %d unstable: too few of a kind", good, bad, unstable)
	}
}

// |S| of any loop and with any change of it, against the bound; and what is known of the distance of 1 + L stays so when it is
// asked for again.
func TestGrows(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 28))
	number := func(size float64) complex128 { return complex(size*rng.NormFloat64(), size*rng.NormFloat64()) }
	bounded := 0
	for n := range 20_000 {
		s := Default()
		s.OtherAxisOpen, s.OneAxis = n%3 == 1, n%3 == 2
		l := mustLoop(t, s, 1, 2, 1)
		size := math.Pow(10, 4*rng.Float64()-2)
		xx, yy, xy, yx := number(size), number(size), number(size), number(size)
		if s.OneAxis {
			yy, xy, yx = 0, 0, 0
		}
		loop := func(factor complex128) (n node) {
			n.x, n.y, n.free = 1+factor*xx, 1+factor*yy, 1
			n.det = n.x*n.y - factor*factor*xy*yx
			n.s[0], n.s[1] = l.sensitivity(&n.difference)
			return n
		}
		e := 0.2 * rng.Float64()
		middle := loop(1)
		grows := l.grows(&middle, e)
		if math.IsInf(grows, 1) {
			continue
		}
		bounded++
		for range 10 {
			other := loop(1 + cmplx.Rect(e, 2*math.Pi*rng.Float64()))
			for axis := range l.axes {
				if was, is := math.Sqrt(middle.s[axis]), math.Sqrt(other.s[axis]); is > was*grows*(1+1e-12) {
					t.Fatalf("|S| grows from %g to %g, bound %g", was, is, grows)
				}
			}
			if dot(middle.x, other.x) < 0 || dot(middle.y, other.y) < 0 || !l.s.OtherAxisOpen && dot(middle.det, other.det) < 0 {
				t.Fatal("a return difference turns by more than 90°")
			}
		}
		f := finding{limit2: math.Inf(1), least: [2]float64{0.5, 0.5}}
		var turn turns
		turn.start(&middle.difference)
		if l.alikeBelow(&middle, &middle, 0.8*e, &turn, &f) {
			was := f.least
			if l.alikeBelow(&middle, &middle, 0.8*e, &turn, &f); f.least != was {
				t.Fatalf("1 + L is %v at least, asked again %v", was, f.least)
			}
		}
	}
	if bounded < 8000 {
		t.Errorf("only %d of the loops are bounded", bounded)
	}
}

// Where a block is silent, no row sum of the loop gain is more than is said, at no scale.
func TestSilent(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 7))
	plants := frontPlants(t, 1)
	for range 20 {
		plants = append(plants, randomPlant(rng, 2, 9))
	}
	silent, loud := 0, 0
	for n, p := range plants {
		s := Default()
		shape := ShapeList[n%len(ShapeList)]
		if n%5 == 4 {
			shape = Shape{3, 0.2, 2, 4} // the lead's zero lies above its pole
		}
		s.IntegratorRatio, s.LeadRatio, s.TamingRatio, s.LowPassRatio = shape.Integrator, shape.Lead, shape.Taming, shape.LowPass
		s.Scales = [][]float64{{1, 0.97, 1.03}, {1.2, 0.8}, {0.9, 1, 1.05, 1.08}}[n%3]
		l := mustLoop(t, s, p.Poses, p.Modes, 1)
		l.Prepare(p)
		for range 10 {
			tr, ok := l.trial(2 * math.Pi * math.Exp(2+4*rng.Float64()))
			if !ok {
				continue
			}
			r := l.responses[rng.IntN(p.Poses)]
			if rng.IntN(2) == 0 {
				r.boundPoints(1, r.n-1)
			}
			most := 0.05 + 0.6*rng.Float64()
			for block := range r.n / lanes {
				if !l.silent(r, block, &tr, most) {
					loud++
					continue
				}
				silent++
				from, to := r.w[lanes*block-1], r.w[lanes*block+lanes-1]
				for q := range 31 {
					w := from * math.Pow(to/from, float64(q)/30)
					var v, arm plantValue
					r.value(w, &v, &arm)
					for _, scale := range s.Scales {
						gain := max(tr.kx, tr.ky) * cmplx.Abs(s.shape(scale*w, tr.wc)) / (scale * scale)
						if row := gain * max(cmplx.Abs(v[0])+cmplx.Abs(v[1]), cmplx.Abs(v[2])+cmplx.Abs(v[3])); row > most*(1+1e-6) {
							t.Fatalf("plant %d at %g rad/s, scale %g: row sum %g of the loop, bound %g", n, w, scale, row, most)
						}
					}
				}
			}
		}
	}
	if silent < 1000 || loud < 1000 {
		t.Errorf("%d blocks silent, %d not", silent, loud)
	}
}
