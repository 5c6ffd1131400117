package objective

import (
	"math"
	"math/rand/v2"
	"testing"

	"flexwright/models"
	"flexwright/models/drive"
)

// estimateSpec asks for every tail that derivatives tell, but for those of the loop: see TestTailsOfLoops in configs.
func estimateSpec(t testing.TB, elastic bool, samples int) *Spec {
	s := testSpec(t)
	if elastic {
		s.Layouts[0] = s.Layouts[0].(models.Elastic).Elastic()
	}
	a, _ := drive.ByName("vc-75")
	s.Drive = DefaultDrive()
	s.Drive.Actuator = &a
	s.NoScreening = true
	s.Tolerances = DefaultTolerances()
	s.Tolerances.Samples, s.Tolerances.Always = samples, true
	s.Measures = nil
	for m := range numPlain {
		if m.HasTail() && m.byDerivatives() && !m.byPoses() && m.Suits(s.Layouts[0].Topology()) {
			s.Measures = append(s.Measures, m)
		}
	}
	return s
}

// tailsBoth returns the tails of a design by derivatives and by samples.
func tailsBoth(spec *Spec, x []float64) (estimated, sampled *Evaluation) {
	var e [2]*Evaluation
	for k := range e {
		own, tolerances := *spec, *spec.Tolerances
		tolerances.Sampled = k == 1
		own.Tolerances = &tolerances
		e[k] = NewEvaluation(&own)
		e[k].Evaluate(x)
	}
	return e[0], e[1]
}

// Tails by derivatives are those of parts that are solved to within 3 % of their distance
// from the nominal value, which the fine check flags; what is left is of second order.
func TestEstimatesAgainstSamples(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 42))
	worst := map[Measure]float64{}
	pairs, beyond, designs := 0, 0, 0
	for k := 0; designs < 12 && k < 200; k++ {
		s := estimateSpec(t, k%2 == 1, 40)
		s.Measures = TailsOf(s.Measures)
		x := make([]float64, 4)
		randomPoint(rng, x)
		x[3] *= 0.5 // mm: some that hold
		a, b := tailsBoth(s, x)
		if !b.Verdict.OK() {
			continue
		}
		if a.Bench().Text(PartsBy) != ByDerivatives || b.Bench().Text(PartsBy) != BySamples {
			t.Fatalf("parts by %s and %s", a.Bench().Text(PartsBy), b.Bench().Text(PartsBy))
		}
		designs++
		for _, m := range s.Measures {
			if m == ConformingParts || !m.OfParts() {
				continue
			}
			nominal, _ := b.Measures.Get(m.Plain())
			got, ok := a.Measures.Get(m)
			want, okW := b.Measures.Get(m)
			if ok != okW {
				t.Errorf("%s: %v, sampled %v", Table[m].Name, ok, okW)
				continue
			}
			if !ok {
				continue
			}
			pairs++
			off := math.Abs(got-want) / (math.Abs(want-nominal) + 1e-9*math.Abs(nominal))
			worst[m] = max(worst[m], off)
			if off > 0.03 {
				beyond++
				t.Logf("%v: %s %.6g, sampled %.6g, nominal %.6g: %.1f %%", x, Table[m].Name, got, want, nominal, 100*off)
			}
		}
	}
	most, of := 0.0, Measure(0)
	for m, off := range worst {
		if off > most {
			most, of = off, m
		}
	}
	t.Logf("%d designs, %d tails, %d beyond 3 %%, the farthest %s by %.1f %%", designs, pairs, beyond, Table[of].Name, 100*most)
	if designs < 10 || beyond*50 > pairs || most > 0.1 {
		t.Error("the estimates are not what is said of them")
	}
}

// smoothNumbers collects numbers of a bench's stage after its statics and modes: forces,
// stiffnesses, motions, end moments, and the mean of the two lowest ω² at the centre; it returns half
// their difference.
func smoothNumbers(b *Bench, groups *[5][]float64) (split float64) {
	for i := range groups {
		groups[i] = groups[i][:0]
	}
	for i := range b.scratch.Poses {
		p := &b.scratch.Poses[i]
		groups[0] = append(groups[0], p.Force...)
		groups[1] = append(groups[1], p.Drive[0], p.Drive[3])
		groups[2] = append(groups[2], p.Q...)
		groups[3] = append(append(groups[3], p.RootM...), p.TipM...)
	}
	w := b.dynamics.Modes[0].Omega
	groups[4] = append(groups[4], 0.5*(w[0]*w[0]+w[1]*w[1]))
	return 0.5 * (w[1]*w[1] - w[0]*w[0])
}

// Derivatives of statics and of the lowest frequencies in the direction of the errors of a
// part are those of the solved stage, by central differences that are extrapolated (L. F.
// Richardson, 1911), to 1e-6 of the largest of their kind. At the centre the two lowest modes are a
// double one: it is their mean that has a derivative, and what parts them grows with the errors'
// magnitude, as degenerate perturbation has it.
func TestDerivativesAgainstDifferences(t *testing.T) {
	rng := rand.New(rand.NewPCG(43, 44))
	s := estimateSpec(t, true, 20)
	s.Measures = append(s.Measures, FirstFrequency.Tail())
	rigid := estimateSpec(t, false, 20)
	rigid.Measures = s.Measures
	benches := []*Evaluation{NewEvaluation(s), NewEvaluation(rigid)}
	base := s.Tolerances.Sigma
	names := []string{"forces", "stiffnesses", "motions", "end moments", "the pair of modes"}
	designs, doubles, worst := 0, 0, [6]float64{}
	x := make([]float64, 4)
	for k := 0; designs < 50 && k < 400; k++ {
		e := benches[k%2]
		randomPoint(rng, x)
		x[3] *= 0.5
		if e.Evaluate(x); !e.Verdict.OK() {
			continue
		}
		designs++
		b := e.Bench()
		p := b.parts
		near := p.near
		if near.serve(b, e.want[0]) == nil {
			t.Fatal("not estimated")
		}
		// numbers of part 0 with its errors times h
		at := func(h float64, solved bool) (groups [5][]float64, split float64) {
			for i := range base {
				p.spec.Sigma[i] = h * base[i]
			}
			p.make(0, b.stage)
			q := p.bench
			q.estimateBy(near)
			if solved {
				q.estimateBy(nil)
			}
			q.stage = p.stage
			q.mount(p.stage)
			if v := q.solveStatics(p.stage.Travel); !v.OK() {
				t.Fatal(v.Reason())
			}
			if v := q.solveModes(modesAll); !v.OK() {
				t.Fatal(v.Reason())
			}
			split = smoothNumbers(q, &groups)
			return groups, split
		}
		const h = 0.1
		var d [2][5][]float64
		var split [2]float64
		for j, solved := range []bool{false, true} {
			var apart [2]float64
			for r := range apart {
				step := h / float64(1+r)
				low, a := at(-step, solved)
				high, c := at(step, solved)
				apart[r] = (a + c) / (2 * step)
				for g := range low {
					for i := range low[g] {
						v := (high[g][i] - low[g][i]) / (2 * step)
						if r == 0 {
							d[j][g] = append(d[j][g], v)
						} else {
							d[j][g][i] += 4.0 / 3 * (v - d[j][g][i])
						}
					}
				}
			}
			split[j] = apart[1] + (apart[1]-apart[0])/3
		}
		p.spec.Sigma = base
		for g := range d[1] {
			most := 0.0
			for _, v := range d[1][g] {
				most = max(most, math.Abs(v))
			}
			for i, v := range d[1][g] {
				off := math.Abs(d[0][g][i]-v) / most
				if worst[g] = max(worst[g], off); off > 1e-6 {
					t.Errorf("%v: derivative %d of %s is %g, by differences %g", x, i, names[g], d[0][g][i], v)
				}
			}
		}
		modes := b.dynamics.Modes[0].Omega
		if modes[1]/modes[0]-1 < 1e-9 {
			doubles++
			off := math.Abs(split[0]/split[1] - 1)
			if worst[5] = max(worst[5], off); off > 1e-6 {
				t.Errorf("%v: the double mode parts by %g, by differences %g", x, split[0], split[1])
			}
		}
	}
	t.Logf("%d designs, %d with a double mode; largest differences %.1e", designs, doubles, worst)
	if designs < 50 || doubles < 20 {
		t.Error("too few designs")
	}
}

// Parts conform by derivatives as they do solved, but for those on the edge of a limit; a limit
// that bounds the crossover from above is judged without finding it.
func TestConformingPartsByDerivatives(t *testing.T) {
	s := loopSpec(t)
	s.Layouts[0] = s.Layouts[0].(models.Elastic).Elastic()
	s.Pin([]float64{60, 0.5, 20, 4})
	e := NewEvaluation(s)
	e.Evaluate(nil)
	nominal := func(m Measure) float64 {
		v, ok := e.Measures.Get(m)
		if !ok {
			t.Fatal(Table[m].Name, e.Verdict.Reason())
		}
		return v
	}
	s.Tolerances = DefaultTolerances()
	s.Tolerances.Samples = 60
	s.Measures = append(s.Measures, ConformingParts, ParasiticYaw.Tail())
	for _, c := range []struct {
		name   string
		limits []Limit
		by     string
	}{
		{"out of plane", []Limit{atLeast(OutOfPlaneRatio, nominal(OutOfPlaneRatio)*0.995)}, ByDerivatives},
		{"first frequency", []Limit{atLeast(FirstFrequency, nominal(FirstFrequency)*0.995)}, ByDerivatives},
		{"fatigue", []Limit{atLeast(FatigueMargin, nominal(FatigueMargin)*0.99), atMost(GapTravel, nominal(GapTravel)*1.01)}, ByDerivatives},
		{"far from the loop's limits", []Limit{atLeast(OutOfPlaneRatio, nominal(OutOfPlaneRatio)*0.5), atMost(ParasiticYaw, 10)}, ByDerivatives},
		{"bandwidth", []Limit{atLeast(Bandwidth, nominal(Bandwidth)*0.97)}, ByDerivatives},
		{"phase margin", []Limit{atLeast(PhaseMargin, nominal(PhaseMargin))}, BySamples},
	} {
		s.Limits = c.limits
		a, b := tailsBoth(s, nil)
		if by := a.Bench().Text(PartsBy); by != c.by {
			t.Errorf("%s: by %s", c.name, by)
		}
		got, want := a.Bench().parts.conforming, b.Bench().parts.conforming
		t.Logf("%s: %.3f conform by %s, %.3f solved", c.name, got, c.by, want)
		if math.Abs(got-want) > 2.0/60+1e-9 || want == 0 || want == 1 {
			t.Errorf("%s: %g conform, %g of those that are solved", c.name, got, want)
		}
	}
}

// Nothing bounds the bodies' own modes where bodies are rigid: no part breaks a limit on them,
// whether it is solved or estimated, and whichever measures the spec has beside.
func TestUnboundedOfParts(t *testing.T) {
	for _, m := range []Measure{BodyModeRatio, BodyMode} {
		s := loopSpec(t)
		s.Pin([]float64{60, 0.5, 20, 4})
		s.Tolerances = DefaultTolerances()
		s.Tolerances.Samples = 20
		s.Measures = []Measure{Crossover, BodyModeRatio, BodyMode, FirstFrequency, PeakStress, ConformingParts, ParasiticYaw, ParasiticYaw.Tail()}
		s.Limits = []Limit{atLeast(m, 3)}
		a, b := tailsBoth(s, nil)
		for _, e := range []*Evaluation{a, b} {
			if got := e.Bench().parts.conforming; got != 1 {
				t.Errorf("%s by %s: %g conform, fails %v", Table[m].Name, e.Bench().Text(PartsBy), got, e.PartFails())
			}
		}
	}
}

// With the payload's extremes a part's loop is judged with its own modes under each of them.
func TestLoopTailsWithPayload(t *testing.T) {
	s := loopSpec(t)
	s.Layouts[0] = s.Layouts[0].(models.Elastic).Elastic()
	s.Pin([]float64{60, 0.5, 20, 2})
	s.Loop = DefaultLoop()
	s.Loop.Payload = [2]float64{0.2, 0.6}
	s.NoScreening = true
	s.Tolerances = DefaultTolerances()
	s.Tolerances.Samples, s.Tolerances.Always = 30, true
	s.Measures = append(s.Measures, Crossover.Tail(), Bandwidth.Tail())
	a, b := tailsBoth(s, nil)
	if by := a.Bench().Text(PartsBy); by != ByDerivatives {
		t.Errorf("parts by %s", by)
	}
	for _, m := range []Measure{Crossover, Bandwidth} {
		nominal, got, want := get(t, b, m), get(t, a, m.Tail()), get(t, b, m.Tail())
		t.Logf("%s %.5g, solved %.5g, as drawn %.5g", Table[m].Name, got, want, nominal)
		if math.Abs(got-want) > 0.1*math.Abs(want-nominal) { // what it is for tails of loops: 4 % here
			t.Errorf("tail of %s %g, solved %g, as drawn %g", Table[m].Name, got, want, nominal)
		}
	}
}
