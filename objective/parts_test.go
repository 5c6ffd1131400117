package objective

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"flexwright/models"
	"flexwright/models/drive"
	"flexwright/models/servo"
)

// partsOf returns a bench's parts of the pinned design, and its stage.
func partsOf(t testing.TB, tolerances *ToleranceSpec) (*partsMemory, *models.Stage) {
	s := pinned(t)
	s.Tolerances, s.Measures = tolerances, append(s.Measures, ParasiticYaw.Tail())
	e := NewEvaluation(s)
	e.Evaluate(nil)
	return e.Bench().parts, e.Stage()
}

// The tail is the order statistic ceil(share n), the worst last by the measure's sense,
// parts without a value behind all others; the other tail the same the other way round.
func TestTailIsAnOrderStatistic(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name    string
		value   []float64
		share   float64
		m       Measure
		worst   float64 // NaN: null
		another float64
	}{
		{"least", []float64{3, 1, 2, 5, 4}, 0.6, ParasiticYaw, 3, 3},
		{"most", []float64{3, 1, 2, 5, 4}, 0.8, FirstFrequency, 2, 4},
		{"one unsolved", []float64{3, nan, 2, 5, 4}, 0.8, ParasiticYaw, 5, 2},
		{"on the unsolved", []float64{3, nan, nan, 5, 4}, 0.8, ParasiticYaw, nan, nan},
		{"unbounded is best", []float64{3, inf, inf, 5, 4}, 0.8, BucklingMargin, 4, nan},
		{"all unbounded", []float64{inf, inf, inf, inf, nan}, 0.6, BucklingMargin, nan, nan},
	} {
		spec := &ToleranceSpec{Share: c.share, Samples: len(c.value)}
		p := &partsMemory{spec: spec, value: [][]float64{c.value}, sorted: make([]float64, len(c.value))}
		sign := worse(c.m)
		p.sort(0, sign)
		worst := p.order(spec.Rank(), sign)
		p.sort(0, -sign)
		another := p.order(spec.Rank(), -sign)
		if fmt.Sprint(worst, another) != fmt.Sprint(c.worst, c.another) {
			t.Errorf("%s: %g and %g, want %g and %g", c.name, worst, another, c.worst, c.another)
		}
	}
	for _, c := range []struct {
		share   float64
		samples int
		rank    int
		answer  bool
	}{{0.95, 100, 95, true}, {0.95, 20, 19, true}, {0.99, 20, 20, false}, {0.07, 100, 7, true}, {0.95, 21, 20, true}, {0.96, 20, 20, false}} {
		s := ToleranceSpec{Share: c.share, Samples: c.samples}
		if s.Rank() != c.rank || s.Answerable() != c.answer {
			t.Errorf("%g of %d: rank %d, answerable %v", c.share, c.samples, s.Rank(), s.Answerable())
		}
	}
}

// Every tail stands behind its measure and shares unit, sense and needs.
func TestTailsOfTheTable(t *testing.T) {
	tails := 0
	for m := range NumMeasures {
		info := &Table[m]
		if got, ok := ByName(info.Name); !ok || got != m {
			t.Fatalf("%q is the name of %d and of %d", info.Name, got, m)
		}
		if !m.HasTail() {
			continue
		}
		tails++
		for k, tail := range []Measure{m.Tail(), m.OtherTail()} {
			of := &Table[tail]
			if of.Name != info.Name+[]string{"_tail", "_other_tail"}[k] || of.Unit != info.Unit || of.Sense != info.Sense || of.Needs != info.Needs ||
				tail.Plain() != m || !tail.OfParts() || tail.HasTail() || tail.IsOtherTail() != (k == 1) {
				t.Errorf("%s: tail %s", info.Name, of.Name)
			}
		}
	}
	if tails != int(numTails) {
		t.Errorf("%d tails", tails)
	}
}

// Common random numbers: another number of samples, or another tolerance beside it,
// changes no draw; blades differ from one another, parts too.
func TestDrawsBelongToTheirKeys(t *testing.T) {
	few, st := partsOf(t, thicknessOnly(3e-6, 20, 1))
	many, _ := partsOf(t, thicknessOnly(3e-6, 50, 1))
	both := thicknessOnly(3e-6, 20, 1)
	both.Sigma[ToleranceLength], both.Sigma[ToleranceModulus] = 1e-5, 0.01
	mixed, _ := partsOf(t, both)
	seen := map[float64]bool{}
	for k := range 20 {
		few.make(k, st)
		many.make(k, st)
		mixed.make(k, st)
		for i, h := range few.stage.Thickness {
			if many.stage.Thickness[i] != h || mixed.stage.Thickness[i] != h {
				t.Fatalf("part %d, blade %d: %g, %g, %g", k, i, h, many.stage.Thickness[i], mixed.stage.Thickness[i])
			}
			if seen[h] {
				t.Fatalf("part %d, blade %d is drawn twice", k, i)
			}
			seen[h] = true
		}
		if mixed.stage.Young[0] == st.Young[0] || mixed.stage.TipX[0] == st.TipX[0] {
			t.Fatal("a tolerance does nothing")
		}
	}
}

// Blades err alike whether bodies bend or not.
func TestBladesErrAlikeOnBodiesThatBend(t *testing.T) {
	rigid := models.FourArm()
	a, b := newPartKeys(rigid.Topology()), newPartKeys(rigid.(models.Elastic).Elastic().Topology())
	if !slices.Equal(a.blade, b.blade) {
		t.Error("the blades have other names")
	}
}

// The standard deviation of what errs is what was asked for, within five of its own
// standard errors; the plate errs as one, ends of blades apart.
func TestSizeOfErrors(t *testing.T) {
	spec := &ToleranceSpec{Share: 0.95, Samples: 20, Seed: 9, Always: true}
	for k := range spec.Sigma {
		spec.Sigma[k] = Tolerances[k].Unit.ToSI(Tolerances[k].Default)
	}
	spec.Sigma[ToleranceThicknessTaper], spec.Sigma[ToleranceRootAngle] = 0, 0 // beside length and position
	p, st := partsOf(t, spec)
	const n = 400
	var thickness, width, young, length, across, mass float64
	for k := range n {
		p.make(k, st)
		q := p.stage
		thickness += math.Pow(q.Thickness[3]-st.Thickness[3], 2) / n
		width += math.Pow(q.Width[3]-st.Width[3], 2) / n
		young += math.Pow(q.Young[3]/st.Young[3]-1, 2) / n
		// blade 0 of the first arm lies along x
		length += math.Pow(q.TipX[0]-q.RootX[0]-(st.TipX[0]-st.RootX[0]), 2) / n
		across += math.Pow(q.TipY[0]-st.TipY[0], 2) / n
		mass += math.Pow(q.Mounted[p.bench.topology.Stage]/st.Mounted[p.bench.topology.Stage]-1, 2) / n
		if q.Width[0] != q.Width[31] || q.Young[0] != q.Young[31] {
			t.Fatal("the plate does not err as one")
		}
	}
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"thickness", thickness, math.Hypot(3e-6, 2e-6)}, {"width", width, 20e-6}, {"modulus", young, 0.01},
		{"length", length, 10e-6}, {"root_position", across, 5e-6}, {"mounted_mass", mass, 0.01},
	} {
		if got := math.Sqrt(c.got); math.Abs(got/c.want-1) > 5/math.Sqrt(2*n) {
			t.Errorf("%s: %g, want %g", c.name, got, c.want)
		}
	}
}

// A blade that tapers bends, to first order, as the even one that part.make puts in its
// place: the tip's flexibility of the tapered beam by quadrature of M N / EI against
// that of the shifted one, for a taper of 1 % of the thickness. What is left is of
// second order, 3 (δ/t)²/10.
func TestTaperIsAShift(t *testing.T) {
	const L, h, taper = 0.06, 0.5e-3, 5e-6
	shift := L * taper / (4 * h)
	var got, want [3]float64 // ∫ 1/EI, ∫ (L−s)/EI, ∫ (L−s)²/EI with EI = 1 in the middle
	const n = 2000
	for i := range n {
		s := L * (float64(i) + 0.5) / n
		ei := math.Pow(1+taper/h*(0.5-s/L), 3)
		for k := range got {
			got[k] += math.Pow(L-s, float64(k)) / ei * L / n
			want[k] += math.Pow(L-s-shift, float64(k)) * L / n
		}
	}
	for k := range got {
		if rest := math.Abs(got[k]/want[k] - 1); rest > 1e-4 {
			t.Errorf("moment %d: %g of it is left", k, rest)
		}
	}
	spec := &ToleranceSpec{Share: 0.95, Samples: 20, Seed: 1, Always: true}
	spec.Sigma[ToleranceThicknessTaper] = 1e-6
	p, st := partsOf(t, spec)
	p.make(4, st)
	d := p.draw(4, ToleranceThicknessTaper, p.keys.blade[0], 0)
	length := st.TipX[0] - st.RootX[0]
	for _, moved := range []float64{p.stage.RootX[0] - st.RootX[0], p.stage.TipX[0] - st.TipX[0]} {
		if want := length * d / (4 * st.Thickness[0]); math.Abs(moved-want) > 1e-9*math.Abs(length) {
			t.Errorf("blade 0 moved by %g, want %g", moved, want)
		}
	}
}

// A blade cut as an arc of slopes ±α is stiff along the line at its mean height, L α/6: the
// line of thrust of a flat two-hinged arch (S. P. Timoshenko, D. H. Young, Theory of
// Structures), here of one that is clamped, ∫ y ds = 0 about it.
func TestBentBladeIsAcross(t *testing.T) {
	spec := &ToleranceSpec{Share: 0.95, Samples: 20, Seed: 1, Always: true}
	spec.Sigma[ToleranceRootAngle] = 1e-4
	p, st := partsOf(t, spec)
	p.make(0, st)
	a, b := p.draw(0, ToleranceRootAngle, p.keys.blade[0], 1), p.draw(0, ToleranceRootAngle, p.keys.blade[0], 2)
	length := st.TipX[0] - st.RootX[0]
	// y of a cubic with end slopes a and b, and the straight line that fits it best in
	// the sense of ∫ (y − line) = ∫ (y − line) s = 0: where axial force makes no moment on average
	y := func(x float64) float64 { return length * (a*x*(1-x)*(1-x) - b*x*x*(1-x)) }
	var m0, m1 float64
	const n = 1000
	for i := range n {
		x := (float64(i) + 0.5) / n
		m0 += y(x) / n
		m1 += y(x) * (x - 0.5) / n
	}
	root, tip := m0-6*m1, m0+6*m1
	if r := p.stage.RootY[0] - st.RootY[0]; math.Abs(r-root) > 1e-5*math.Abs(root) {
		t.Errorf("root moved across by %g, want %g", r, root)
	}
	if r := p.stage.TipY[0] - st.TipY[0]; math.Abs(r-tip) > 1e-5*math.Abs(tip) {
		t.Errorf("tip moved across by %g, want %g", r, tip)
	}
}

// robustSpec has limits on plain measures, tails and the share of parts that conform.
func robustSpec(t testing.TB) *Spec {
	s := testSpec(t)
	s.Limits = []Limit{
		{Ref: Ref{true, parameter(t, s, "blade_width")}, AtLeast: 8, AtMost: math.Inf(1)},
		atMost(Footprint, 420), atMost(PeakStress, 200), atLeast(FirstFrequency, 12), atMost(LostMotion, 60), atMost(ParasiticYaw, 15),
		atMost(ParasiticYaw.Tail(), 12), atLeast(ConformingParts, 0.8),
	}
	s.Measures = append(s.Measures, ConformingParts, FirstFrequency.Tail(), ParasiticYaw.Tail(), ParasiticYaw.OtherTail())
	s.Tolerances = DefaultTolerances()
	s.Tolerances.Samples = 20
	return s
}

// Parts are measured of exactly those designs that are solved and meet their limits on
// plain measures; with screening or without, the same to the bit, and the search is told the same.
func TestPartsWhereTheyMatter(t *testing.T) {
	screening := robustSpec(t)
	full := *screening
	full.NoScreening = true
	a, b := NewEvaluation(screening), NewEvaluation(&full)
	rng := rand.New(rand.NewPCG(23, 24))
	x := make([]float64, 4)
	var ra, rb Row
	made, feasible, between := 0, 0, 0
	for range 60 {
		randomPoint(rng, x)
		x[3] = 0.5 * x[3] // mm: some that hold
		a.Evaluate(x)
		b.Evaluate(x)
		a.Fill(&ra)
		b.Fill(&rb)
		plain := rb.Status == models.Solved
		for i := range full.Limits {
			l := &full.Limits[i]
			if v, ok := rb.Judged(l); l.Ref.Parameter || !Measure(l.Ref.Index).OfParts() {
				plain = plain && ok && l.Met(v)
			}
		}
		for _, m := range []Measure{ConformingParts, FirstFrequency.Tail(), ParasiticYaw.Tail(), ParasiticYaw.OtherTail()} {
			va, oka := ra.Measures.Get(m)
			vb, okb := rb.Measures.Get(m)
			if va != vb || oka != okb || m == ConformingParts && okb != plain {
				t.Fatalf("%v: %s is %g (%v) with screening, %g (%v) without; worth it: %v", x, Table[m].Name, va, oka, vb, okb, plain)
			}
		}
		if ra.Feasible != rb.Feasible || ra.Status == models.Solved && ra.FirstLimit != rb.FirstLimit {
			t.Fatalf("%v: %v %s with screening, %v %s without", x, ra.Feasible, ra.FirstLimit, rb.Feasible, rb.FirstLimit)
		}
		if rb.Status == models.Solved && !plain && Table[ParasiticYaw.Tail()].Column() == rb.FirstLimit {
			t.Fatalf("%v: fails at a tail that was not computed", x)
		}
		if plain {
			made++
			tail, ok := ra.Measures.Get(ParasiticYaw.Tail())
			other, _ := ra.Measures.Get(ParasiticYaw.OtherTail())
			if ok && !(other < tail) {
				t.Fatalf("yaw from %g to %g", other, tail)
			}
			if share, _ := ra.Measures.Get(ConformingParts); share > 0 && share < 1 {
				between++
			}
		}
		if ra.Feasible {
			feasible++
		}
	}
	t.Logf("parts of %d designs, %d between, %d feasible", made, between, feasible)
	if made < 5 || between == 0 || feasible == 0 || feasible == made {
		t.Error("the limits test nothing")
	}
}

// Nothing of one design's parts reaches the next, and nothing is allocated.
func TestPartsLeaveNothing(t *testing.T) {
	for _, sampled := range []bool{false, true} {
		leavesNothing(t, sampled)
	}
}

func leavesNothing(t *testing.T, sampled bool) {
	s := robustSpec(t)
	s.Tolerances.Always, s.Tolerances.Sampled = true, sampled
	e := NewEvaluation(s)
	x, y := []float64{60, 0.5, 20, 2}, []float64{45, 0.4, 15, 1.5}
	e.Evaluate(x)
	first := e.Measures.Clone()
	if _, ok := first.Get(ParasiticYaw.Tail()); !ok {
		t.Fatal(e.Verdict.Reason())
	}
	e.Evaluate(y)
	poison(e)
	e.Evaluate(x)
	for m := range NumMeasures {
		v, ok := e.Measures.Get(m)
		if w, okw := first.Get(m); ok != okw || v != w {
			t.Errorf("%s is %g (%v), %g (%v) before", Table[m].Name, v, ok, w, okw)
		}
	}
	if n := testing.AllocsPerRun(3, func() { e.Evaluate(x) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

// only are parts with one error.
func only(kind Tolerance, sigma float64) *ToleranceSpec {
	s := &ToleranceSpec{Share: 0.95, Samples: 20, Seed: 3, Always: true, Sampled: true}
	s.Sigma[kind] = sigma
	return s
}

// A part with another damping has the loop of the design with that damping; one whose actuators
// have other constants the forces of the design, the margin of the weaker actuator, and the
// power that each takes by the square of its constant; one cut by a bowed wire blades that are two thirds of
// the bow thicker.
func TestErrorsBesideTheStage(t *testing.T) {
	s := loopSpec(t)
	s.Loop = DefaultLoop()
	s.Loop.Settings.Shapes = nil
	s.Measures = append(s.Measures, Crossover.Tail(), ForceMargin.Tail(), RMSForce.Tail(), DrivePower.Tail())
	s.Pin([]float64{60, 0.5, 20, 4})
	s.Tolerances = only(ToleranceDamping, 0.3)
	e := NewEvaluation(s)
	e.Evaluate(nil)
	p := e.Bench().parts
	value := func(p *partsMemory, m Measure, k int) float64 { return p.value[slices.Index(p.tailed, m)][k] }
	differ := 0
	nominal, _ := e.Measures.Get(Crossover)
	for k := range 6 {
		p.make(k, e.Stage())
		loop := *s.Loop
		loop.Settings.Damping *= p.bench.damping
		own := *s
		own.Loop, own.Measures = &loop, []Measure{Crossover}
		other := NewEvaluation(&own)
		other.Evaluate(nil)
		want, ok := other.Measures.Get(Crossover)
		if got := value(p, Crossover, k); !ok || got != want {
			t.Errorf("damping × %g: crossover %g, want %g", p.bench.damping, got, want)
		}
		if want != nominal {
			differ++
		}
	}
	if differ == 0 {
		t.Error("damping changes nothing")
	}

	s.Tolerances = only(ToleranceActuatorConstant, 0.05)
	e = NewEvaluation(s)
	e.Evaluate(nil)
	p = e.Bench().parts
	at := func(m Measure) float64 { v, _ := e.Measures.Get(m); return Table[m].Unit.ToSI(v) }
	duty := e.Bench().duty.numbers
	for k := range 6 {
		p.make(k, e.Stage())
		c := p.bench.constant
		if c[0] == c[1] || c[0] == 1 {
			t.Fatal("both actuators err alike")
		}
		if got := value(p, RMSForce, k); got != at(RMSForce) {
			t.Errorf("rms force %g, want %g", got, at(RMSForce))
		}
		want := at(ForceMargin) * min(c[0], c[1]) // both axes of the stage are alike
		if got := value(p, ForceMargin, k); math.Abs(got/want-1) > 1e-3 {
			t.Errorf("force margin %g, want %g", got, want)
		}
		var power [2]float64 // without the fall-off of the constant: of the nominal constants, of these
		for axis := range c {
			a := *s.Drive.Actuator
			for k, c := range [2]float64{1, c[axis]} {
				p0 := duty.RMSForce[axis] / (a.MotorConstant * c)
				rise, _ := a.Rise(p0 * p0)
				power[k] += p0 * p0 * (1 + drive.CopperCoefficient*(a.Ambient-drive.Reference+rise))
			}
		}
		want = at(DrivePower) * power[1] / power[0]
		if got := value(p, DrivePower, k); math.Abs(got/want-1) > 1e-3 {
			t.Errorf("power %g, want %g", got, want)
		}
	}

	s.Tolerances = only(ToleranceThicknessBow, 3e-6)
	e = NewEvaluation(s)
	e.Evaluate(nil)
	p = e.Bench().parts
	p.make(2, e.Stage())
	bow := p.draw(2, ToleranceThicknessBow, 0, 0)
	for i, h := range p.stage.Thickness {
		if want := e.Stage().Thickness[i] + bow*2/3; bow == 0 || math.Abs(h-want) > 1e-15 {
			t.Errorf("blade %d: %g, want %g", i, h, want)
		}
	}
}

// Parts have the notches that were found for their design: without an error they are the design.
func TestPartsKeepNotches(t *testing.T) {
	s := testSpec(t)
	s.Pin([]float64{80, 0.5, 20, 4})
	loop := DefaultLoop()
	loop.Settings.AutoNotches = 2
	s.Loop, s.Tolerances = loop, thicknessOnly(0, 2, 1)
	s.Measures = append(s.Measures, Bandwidth, Bandwidth.Tail(), Crossover, Crossover.Tail())
	e := NewEvaluation(s)
	e.Evaluate(nil)
	if len(e.Bench().loop.loop.Found()) == 0 {
		t.Fatal("no notch was found: the test says nothing")
	}
	for _, m := range []Measure{Bandwidth, Crossover} {
		if nominal, tail := get(t, e, m), get(t, e, m.Tail()); math.Abs(tail/nominal-1) > 1e-5 {
			t.Errorf("%s: %g Hz, of parts without an error %g Hz", Table[m].Name, nominal, tail)
		}
	}
}

// Parts that are solved as far as their tails need have the same values as parts that are solved altogether.
func TestPartsSolvedAsFarAsNeeded(t *testing.T) {
	tails := []Measure{ParasiticYaw, FirstFrequency, WorstFrequency}
	var values [3][]float64
	for k, more := range [][]Measure{{FirstFrequency}, {WorstFrequency}, {Sag}} {
		s := testSpec(t)
		s.Pin([]float64{60, 0.5, 20, 3})
		s.Tolerances = DefaultTolerances()
		s.Tolerances.Samples, s.Tolerances.Sampled, s.Tolerances.Always = 20, true, true
		for _, m := range append(more, ParasiticYaw, FirstFrequency) {
			s.Measures = append(s.Measures, m.Tail())
		}
		if k > 0 {
			s.Measures = append(s.Measures, WorstFrequency.Tail())
		}
		e := NewEvaluation(s)
		e.Evaluate(nil)
		if want := [3]modesWanted{modesAtCentre, modesInPlane, modesAll}[k]; e.Bench().parts.want.modes != want {
			t.Errorf("case %d asks for modes %d", k, e.Bench().parts.want.modes)
		}
		for _, m := range tails {
			if v, ok := e.Measures.Get(m.Tail()); ok {
				values[k] = append(values[k], v)
			}
		}
	}
	if len(values[0]) != 2 || !slices.Equal(values[0], values[1][:2]) || !slices.Equal(values[1], values[2]) {
		t.Errorf("%v", values)
	}
}

// Of the actuators' constants alone, a part's force noise goes with the worse: the loop is the same.
func TestNoiseOfParts(t *testing.T) {
	s := loopSpec(t)
	s.Pin([]float64{60, 0.5, 20, 1})
	s.NoScreening = true
	s.Loop = DefaultLoop()
	s.Loop.Noise.Encoder, s.Loop.Noise.Gap, s.Loop.Noise.Floor = servo.Density{}, servo.Density{}, servo.Density{}
	s.Tolerances = DefaultTolerances()
	s.Tolerances.Sigma = [NumTolerances]float64{ToleranceActuatorConstant: 0.05}
	s.Tolerances.Samples, s.Tolerances.Always = 12, true
	s.Measures = append(s.Measures, PositionNoise.Tail())
	e := NewEvaluation(s)
	e.Evaluate(nil)
	nominal, p := get(t, e, PositionNoise), e.Bench().parts
	for k, v := range p.value[0] {
		x, y := 1+p.draw(k, ToleranceActuatorConstant, 1, 0), 1+p.draw(k, ToleranceActuatorConstant, 2, 0)
		if got, want := Table[PositionNoise].Unit.FromSI(v)/nominal, max(x, y); math.Abs(got-want) > 0.002 { // the other axis reaches it a little
			t.Errorf("part %d: noise %g of the nominal, constants %g and %g", k, got, x, y)
		}
	}
}
