package servo

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// frequencies is the long way to [Loop.Frequencies]: |S| and |T| at every point of a dense grid, the first that passes 1/√2.
func (p *plain) frequencies(wc float64) (rises, falls float64) {
	centre := p.response(0, 0, 1, wc)
	c0 := cmplx.Abs(p.controller(wc, wc))
	k := [2]complex128{complex(1/(c0*cmplx.Abs(centre[0][0])), 0), complex(1/(c0*cmplx.Abs(centre[1][1])), 0)}
	rises, falls = math.Inf(1), math.Inf(1)
	for set := range p.plants {
		for n, scale := range p.s.Scales {
			for pose := range p.plants[set].Poses {
				g, resp := p.grid(set, pose, n, scale)
				for i := range 2 {
					j := 1 - i
					risen, fallen := false, false
					for m, w := range g {
						r, c := &resp[m], p.controller(w, wc)
						open := c * k[i] * (r[i][i] - c*k[j]*r[i][j]*r[j][i]/(1+c*k[j]*r[j][j]))
						if !risen && 2 >= square(1+open) {
							risen = true
							rises = math.Min(rises, w)
						}
						if set == 0 && n == 0 && !fallen && 2*square(open) < square(1+open) {
							fallen = true
							falls = math.Min(falls, w)
						}
					}
				}
			}
		}
	}
	return rises / (2 * math.Pi), falls / (2 * math.Pi)
}

func TestFrequencies(t *testing.T) {
	for i, p := range frontPlants(t, 4) {
		s := Default()
		s.Scales = []float64{1, 0.97}
		l := mustLoop(t, s, p.Poses, p.Modes, 1)
		r := l.Crossover(p)
		bandwidth, closed, ok := l.Frequencies(r.Hz)
		if !ok {
			t.Fatal("not seen")
		}
		// the plain grid goes up in steps of 2 %
		rises, falls := newPlain(s, p).frequencies(2 * math.Pi * r.Hz)
		if rises < bandwidth*(1-1e-9) || rises > 1.02*bandwidth {
			t.Errorf("design %d: |S| rises at %.4f Hz, plain %.4f", i, bandwidth, rises)
		}
		if falls < closed*(1-1e-9) || falls > 1.02*closed {
			t.Errorf("design %d: |T| falls at %.4f Hz, plain %.4f", i, closed, falls)
		}
		if m, _ := l.Margins(r.Hz); math.Abs(m.MinusHz-closed) > 1e-12*closed { // from the same points, to the frequency last found
			t.Errorf("design %d: |T| falls at %g Hz, by the margins at %g", i, closed, m.MinusHz)
		}
	}
}

// The shape found has no less bandwidth than the fixed one. It follows set points up to its bandwidth where one of the list does that has no
// less bandwidth than the fixed one, each judged by itself; of its kind none has a bandwidth that is more than a hundredth
// larger, and the closed loop of none that is no slower falls later. Responses and places that fail are shared, so that this is not
// the same computation.
func TestTune(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 15))
	plants := frontPlants(t, 1)
	designs := len(plants)
	for range 8 { // nothing like a stage: the guarantee only
		plants = append(plants, randomPlant(rng, 9, 6))
	}
	better, follow, fixedFollow := 0, 0, 0
	for i, p := range plants {
		s := Default()
		s.Sensor = Sensor(i % int(numSensor))
		alone := mustLoop(t, s, p.Poses, p.Modes, 1)
		s.Shapes = ShapeList
		var bandwidth, closed []float64
		for k, c := range ShapeList {
			alone.Use(c)
			r := alone.Crossover(p)
			b, f := 0.0, 0.0
			if r.Hz > 0 {
				b, f, _ = alone.Frequencies(r.Hz)
			}
			bandwidth, closed = append(bandwidth, b), append(closed, f)
			if k == 0 && f >= b && i < designs {
				fixedFollow++
			}
		}
		for _, s.BandwidthFirst = range []bool{false, true} {
			got := mustLoop(t, s, p.Poses, p.Modes, 1).Tune(p)
			if got.Bandwidth < bandwidth[0]*(1-2*sharp) {
				t.Errorf("plant %d: %g Hz tuned, %g Hz with the fixed shape", i, got.Bandwidth, bandwidth[0])
			}
			if i >= designs {
				continue
			}
			following := got.ClosedLoop >= got.Bandwidth && !s.BandwidthFirst
			if s.BandwidthFirst && got.Bandwidth > bandwidth[0]*1.01 {
				better++
			}
			if following {
				follow++
			}
			for k, c := range ShapeList {
				b, f := bandwidth[k], closed[k]
				if c == got.Shape && math.Abs(b-got.Bandwidth) > 1e-4*b {
					t.Errorf("plant %d: %v alone has a bandwidth of %g Hz, among others %g", i, c, b, got.Bandwidth)
				}
				if !s.BandwidthFirst && !following && f >= b && b > bandwidth[0]*(1+1e-4) {
					t.Errorf("plant %d: %v does not follow, %v with %g Hz does", i, got.Shape, c, b)
				}
				if following && f < b {
					continue
				}
				if b*alike*(1-1e-4) > got.Bandwidth {
					t.Errorf("plant %d: %g Hz with %v, %v has %g Hz", i, got.Bandwidth, got.Shape, c, b)
				}
				if b >= got.Bandwidth && f > got.ClosedLoop*(1+1e-3) {
					t.Errorf("plant %d: closed loop %g Hz with %v, %v has %g Hz at no less bandwidth", i, got.ClosedLoop, got.Shape, c, f)
				}
			}
		}
	}
	if better < 5 || follow <= fixedFollow {
		t.Errorf("of %d plants %d gain a hundredth; %d follow, %d with the fixed shape", designs, better, follow, fixedFollow)
	}
}

func TestTuneForgets(t *testing.T) {
	plants := frontPlants(t, 5)
	s := Default()
	s.Shapes = ShapeList
	l := mustLoop(t, s, 9, plants[0].Modes, 2)
	a := l.Tune(plants[0])
	l.Tune(plants[1], plants[0])
	if again := l.Tune(plants[0]); again != a {
		t.Errorf("%+v, then %+v", a, again)
	}
	if n := testing.AllocsPerRun(2, func() { l.Tune(plants[0]) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

// Where no shape has a crossover, the settings' own is told of.
func TestTuneWithoutCrossover(t *testing.T) {
	rng := rand.New(rand.NewPCG(26, 5))
	none := 0
	for range 12 {
		p := randomPlant(rng, 3, 6)
		for i := range p.Stage {
			if i%12 >= 4 {
				p.Stage[i] *= 6
			}
		}
		s := Default()
		alone := mustLoop(t, s, p.Poses, p.Modes, 1).Crossover(p)
		s.Shapes = ShapeList
		got := mustLoop(t, s, p.Poses, p.Modes, 1).Tune(p)
		if got.Hz > 0 {
			continue
		}
		none++
		if got.Shape != s.Shape() || got.Above != alone.Above || got.Reason != alone.Reason {
			t.Errorf("%+v, alone %+v", got, alone)
		}
	}
	if none < 4 {
		t.Errorf("%d without a crossover", none)
	}
}

// Ratios fixed or narrowed by a range leave what lies in it, and one shape at least.
func TestShapes(t *testing.T) {
	all := Shapes(Range{1, 10}, Range{2, 5}, Range{5, 20})
	if len(all) != len(ShapeList) || all[0] != (Shape{10, 3, 3, 10}) {
		t.Errorf("%v", all)
	}
	one := Shapes(Range{8, 8}, Range{3.3, 3.3}, Range{12, 12})
	if len(one) != 1 || one[0] != (Shape{8, 3.3, 3.3, 12}) {
		t.Errorf("%v", one)
	}
	for _, c := range Shapes(Range{1, 4}, Range{2, 5}, Range{5, 8}) {
		if c.Integrator > 4 || c.LowPass > 8 {
			t.Errorf("%v", c)
		}
	}
}
