package objective

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"flexwright/models"
)

// The fast model against the fine check over the box of the tests: how far each
// measure is off. Bounds, from what one chord-frame element is asked for (0.4 % of
// force and lost motion, 0.6 % in frequency): 0.5 % each; the buckling margin, which is the
// largest compression of a segment along it, 3 %.
func TestFineCheck(t *testing.T) {
	s := testSpec(t)
	s.Measures = append(s.Measures, UsableTravel, TravelEnd)
	f := NewFine(s)
	rng := rand.New(rand.NewPCG(31, 32))
	x := make([]float64, 4)
	var worst [NumMeasures]float64
	solved := 0
	for range 30 {
		randomPoint(rng, x)
		r := f.Check(x)
		if r.Worst < 0 {
			if !r.Flagged() {
				t.Errorf("%v: not solved and not flagged", x)
			}
			continue
		}
		solved++
		for m := range NumMeasures {
			if d, ok := r.DifferenceOf(m); ok {
				worst[m] = max(worst[m], d)
			}
		}
	}
	if solved < 20 {
		t.Fatalf("%d of 30 solved", solved)
	}
	for m := range NumMeasures {
		bound := 0.005
		if m == BucklingMargin {
			bound = 0.03
		}
		if m.Compared() {
			t.Logf("%-24s %.4f %%", Table[m].Name, 100*worst[m])
			if worst[m] > bound {
				t.Errorf("%s is off by %.3g %%", Table[m].Name, 100*worst[m])
			}
		}
	}
}

// Six segments are converged: twelve change a measure by no more than a fifth
// of what six change the fast model by, or by 1e-4. Not the buckling margin: the
// compression of a segment is along it, and the largest of more segments is larger.
func TestFineIsConverged(t *testing.T) {
	s := testSpec(t)
	s.NoScreening = true
	x := []float64{40, 0.4, 20, 3.5}
	var m [3]Measures
	for i, n := range []int{1, 6, 12} {
		e := newEvaluation(s, n)
		e.Evaluate(x)
		if !e.Verdict.OK() {
			t.Fatal(e.Verdict.Reason())
		}
		m[i] = e.Measures.Clone()
	}
	fast, finer := FineResult{Fast: m[0], Fine: m[1]}, FineResult{Fast: m[1], Fine: m[2]}
	for k := range NumMeasures {
		a, ok := fast.DifferenceOf(k)
		b, _ := finer.DifferenceOf(k)
		if ok && k != BucklingMargin && b > max(0.2*a, 1e-4) {
			t.Errorf("%s: fast model off by %g, six segments by %g", Table[k].Name, a, b)
		}
	}
}

// Differences are over the magnitude, or over the floor where there is nothing;
// the largest one flags.
func TestFineDifference(t *testing.T) {
	var r FineResult
	r.Fast.Set(DriveForce, 51)
	r.Fine.Set(DriveForce, 50)
	r.Fast.Set(ParasiticYaw, 0.3)
	r.Fine.Set(ParasiticYaw, 0.1)
	r.Fast.Set(Footprint, 3)
	r.Fine.Set(Footprint, 4)
	if d, ok := r.DifferenceOf(DriveForce); !ok || math.Abs(d-0.02) > 1e-12 {
		t.Errorf("force: %g", d)
	}
	if d, ok := r.DifferenceOf(ParasiticYaw); !ok || math.Abs(d-0.01) > 1e-12 { // of 20 µrad
		t.Errorf("yaw: %g", d)
	}
	if _, ok := r.DifferenceOf(Footprint); ok {
		t.Error("a dimension is compared")
	}
	if _, ok := r.DifferenceOf(LostMotion); ok {
		t.Error("what was not computed is compared")
	}
	for _, c := range []struct{ fast, fine, want float64 }{{4000, 1800, 0}, {22, 10, 1}, {9, 10, 0.1}} { // of at most 20
		r.Fast.Set(BucklingMargin, c.fast)
		r.Fine.Set(BucklingMargin, c.fine)
		if d, ok := r.DifferenceOf(BucklingMargin); !ok || math.Abs(d-c.want) > 1e-12 {
			t.Errorf("margins %g and %g: %g", c.fast, c.fine, d)
		}
	}
	r.Difference = FineBound
	if r.Flagged() {
		t.Error("flagged at the bound")
	}
	r.Difference = math.NaN()
	if !r.Flagged() {
		t.Error("not flagged without a result")
	}
}

// Ends, knee and spread of a front of two goals by hand: goals (x most, y least)
// along a bent line of 21 designs; nearest to the best of both is number 12, where
// the scaled distances are 0.4 and 0.2.
func TestFineChoice(t *testing.T) {
	s := testSpec(t)
	front := make([]Row, 21)
	for i := range front {
		x := float64(i)
		y := 0.0
		if i > 10 {
			y = 10 * (x - 10)
		}
		front[i].Parameters = make([]float64, len(s.Parameters()))
		front[i].Parameters[s.Goals[0].Ref.Index] = x
		front[i].Status = models.Solved
		front[i].Measures.Set(FirstFrequency, -y-0.01*x)
	}
	for _, c := range []struct {
		designs int64
		want    []int
	}{{100, []int{0, 12, 20}}, {1e6, []int{0, 1, 4, 7, 10, 12, 13, 16, 19, 20}}} {
		if got := s.FineChoice(front, c.designs); !slices.Equal(got, c.want) {
			t.Errorf("%d designs: %v, want %v", c.designs, got, c.want)
		}
	}
	if got := s.FineChoice(nil, 10); got != nil {
		t.Errorf("of no front: %v", got)
	}
	if got := s.FineChoice(front[:1], 1e6); len(got) != 1 {
		t.Errorf("of one design: %v", got)
	}
}

func BenchmarkFineCheck(b *testing.B) {
	f := NewFine(testSpec(b))
	x := []float64{60, 0.5, 20, 4}
	for b.Loop() {
		f.Check(x)
	}
}

// A row whose parts were told by derivatives has them solved by the fine check: what these say
// stands beside, and how far the others were off.
func TestFineSolvesParts(t *testing.T) {
	s := robustSpec(t)
	s.Measures = append(s.Measures, PartsBy)
	e := NewEvaluation(s)
	x := []float64{60, 0.5, 20, 1}
	e.Evaluate(x)
	var row Row
	e.Fill(&row)
	if row.Text(PartsBy) != ByDerivatives {
		t.Fatalf("parts by %q, %s", row.Text(PartsBy), row.FirstLimit)
	}
	r, ok := NewFine(s).CheckRow(&row)
	if !ok {
		t.Fatal("no row of the spec")
	}
	solved, tolerances := *s, *s.Tolerances
	tolerances.Sampled = true
	solved.Tolerances = &tolerances
	other := NewEvaluation(&solved)
	other.Evaluate(x)
	seen := map[Measure]bool{}
	columns := s.FineColumns(map[int64]FineResult{row.ID: r})
	for _, p := range r.Parts {
		seen[p.Measure] = true
		got, _ := row.Measures.Get(p.Measure)
		want, _ := other.Measures.Get(p.Measure)
		if p.Estimated != got || p.Sampled != want {
			t.Errorf("%s: %+v, want %g and %g", Table[p.Measure].Name, p, got, want)
		}
		nominal, _ := row.Measures.Get(p.Measure.Plain())
		off := math.Abs(got - want)
		if p.Measure != ConformingParts {
			off /= math.Abs(want-nominal) + 1e-9*math.Abs(nominal)
		}
		if math.Abs(p.Off-off) > 1e-12 || off > PartsBound {
			t.Errorf("%s is off by %g, said %g", Table[p.Measure].Name, off, p.Off)
		}
		k := slices.IndexFunc(columns, func(c Column) bool { return c.Name == "fine_"+Table[p.Measure].Column() })
		if k < 0 || columns[k].Get(&row).Float != want {
			t.Errorf("%s: no column with %g", Table[p.Measure].Name, want)
		}
	}
	for _, m := range s.Measures {
		if m.OfParts() && !Table[m].IsText() && !seen[m] {
			t.Errorf("%s was not solved", Table[m].Name)
		}
	}
	// What solved parts say stands in the place of the row's only where that is off.
	all := append(s.Columns(), columns...)
	solvedColumns := SolvedColumns(all)
	m := s.Measures[slices.IndexFunc(s.Measures, func(m Measure) bool { return m.OfParts() && m != ConformingParts && !Table[m].IsText() })]
	column := Table[m].Column()
	want, _ := other.Measures.Get(m)
	nominal, _ := row.Measures.Get(m.Plain())
	if v, instead := solvedColumns[column](&row); instead || v.Float != want {
		t.Errorf("%s: %+v in the place of the row's", column, v)
	}
	row.Measures.Set(m, want+1.1*PartsBound*math.Abs(want-nominal))
	if v, instead := solvedColumns[column](&row); !instead || v.Float != want {
		t.Errorf("%s: %+v not in the place of the row's", column, v)
	}
	row.ID++ // not checked
	if _, instead := solvedColumns[column](&row); instead {
		t.Error("a design that was not checked")
	}
}
