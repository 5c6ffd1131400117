package objective

import (
	"math"
	"math/rand/v2"
	"testing"

	"flexwright/models"
)

// testSpec varies length, thickness, width and travel of the four-arm plate
// over a broad box: 20 to 90 mm, 0.2 to 1.2 mm, 5 to 40 mm, 1 to 8 mm.
func testSpec(t testing.TB) *Spec {
	layout := models.FourArm()
	material, ok := models.MaterialByName("aluminium 7075-T6")
	if !ok {
		t.Fatal("no aluminium 7075-T6")
	}
	s := &Spec{Layouts: []models.Layout{layout}, Materials: []*models.Material{material}}
	for range layout.Parameters() {
		s.Fixed = append(s.Fixed, math.NaN())
	}
	for _, name := range []string{"blade_length", "blade_thickness", "blade_width", "travel"} {
		s.Variables = append(s.Variables, Variable{Index: parameter(t, s, name)})
	}
	for m := range Table {
		if !Table[m].OnName {
			s.Measures = append(s.Measures, Measure(m))
		}
	}
	s.Goals = []Goal{{Ref{true, parameter(t, s, "travel")}, Most}, {Ref{Index: int(FirstFrequency)}, Most}}
	return s
}

func parameter(t testing.TB, s *Spec, name string) int {
	for i, p := range s.Parameters() {
		if p.Name == name {
			return i
		}
	}
	t.Fatalf("no parameter %s", name)
	return -1
}

var boxFrom, boxTo = [4]float64{20, 0.2, 5, 1}, [4]float64{90, 1.2, 40, 8}

func randomPoint(rng *rand.Rand, x []float64) {
	for i := range x {
		x[i] = boxFrom[i] + (boxTo[i]-boxFrom[i])*rng.Float64()
	}
}

// Ten thousand geometries of a broad box, many far beyond what blades can do:
// every one has an answer, and none is "no convergence". Nine of ten end behind
// the statics, at a limit that no design meets.
func TestEveryGeometryHasAnAnswer(t *testing.T) {
	s := testSpec(t)
	s.Limits = append(s.Limits, Limit{Ref: Ref{Index: int(DriveForce)}, AtLeast: math.Inf(-1), AtMost: -1})
	e := NewEvaluation(s)
	rng := rand.New(rand.NewPCG(11, 12))
	x := make([]float64, 4)
	count := map[models.Status]int{}
	steps, answers := 0, 0
	for i := range 10000 {
		randomPoint(rng, x)
		s.NoScreening = i%10 == 0
		e.Evaluate(x)
		count[e.Verdict.Status]++
		if e.Verdict.Status == models.NoConvergence || e.Verdict.Status == models.Failed {
			t.Errorf("%v: %s", x, e.Verdict.Reason())
		}
		if e.Verdict.Status <= models.Screened {
			answers++
			for i := range e.Bench().scratch.Poses {
				steps += e.Bench().scratch.Poses[i].Steps
			}
		}
	}
	for status, n := range count {
		t.Logf("%-15s %d", status, n)
	}
	t.Logf("%.2f Newton steps for the nine poses of a solved design", float64(steps)/float64(answers))
}

func TestEvaluateDoesNotAllocate(t *testing.T) {
	s := testSpec(t)
	s.Measures = append(s.Measures, UsableTravel, TravelEnd)
	e := NewEvaluation(s)
	x := []float64{60, 0.5, 20, 4}
	e.Evaluate(x)
	if !e.Verdict.OK() {
		t.Fatal(e.Verdict.Reason())
	}
	if n := testing.AllocsPerRun(10, func() { e.Evaluate(x) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

// Nothing is carried from one candidate to the next: A, B, A give A twice, and
// equal a fresh evaluation bit for bit, whatever the memory held.
func TestEvaluationForgets(t *testing.T) {
	s := testSpec(t)
	s.Measures = append(s.Measures, UsableTravel, TravelEnd)
	// limits on a parameter and on every stage, so that each can stop it early
	inf := math.Inf(1)
	s.Limits = []Limit{
		{Ref: Ref{true, parameter(t, s, "blade_width")}, AtLeast: 12, AtMost: inf},
		{Ref: Ref{Index: int(Footprint)}, AtLeast: -inf, AtMost: 400},
		{Ref: Ref{Index: int(PeakStress)}, AtLeast: -inf, AtMost: 200},
		{Ref: Ref{Index: int(FirstFrequency)}, AtLeast: 10, AtMost: inf},
	}
	e := NewEvaluation(s)
	rng := rand.New(rand.NewPCG(13, 14))
	a, b := make([]float64, 4), make([]float64, 4)
	for range 40 {
		randomPoint(rng, a)
		randomPoint(rng, b)
		e.Evaluate(a)
		e.Evaluate(b)
		poison(e)
		e.Evaluate(a)
		fresh := NewEvaluation(s)
		fresh.Evaluate(a)
		if e.Verdict != fresh.Verdict && !(math.IsNaN(e.Verdict.Value) && math.IsNaN(fresh.Verdict.Value)) {
			t.Fatalf("verdict %v, fresh %v", e.Verdict, fresh.Verdict)
		}
		for i, v := range e.Parameters {
			if v != fresh.Parameters[i] {
				t.Fatalf("parameter %d: %v, fresh %v", i, v, fresh.Parameters[i])
			}
		}
		for m := range NumMeasures {
			v, ok := e.Measures.Get(m)
			w, okw := fresh.Measures.Get(m)
			if ok != okw || v != w {
				t.Fatalf("%s: %v %v, fresh %v %v", Table[m].Name, v, ok, w, okw)
			}
		}
	}
}

// BenchmarkEvaluate times one candidate: nine poses, stress, measures, and the
// first frequency.
func BenchmarkEvaluate(b *testing.B) {
	e := NewEvaluation(testSpec(b))
	x := []float64{60, 0.5, 20, 4}
	e.Evaluate(x)
	if !e.Verdict.OK() {
		b.Fatal(e.Verdict.Reason())
	}
	b.ReportAllocs()
	for b.Loop() {
		e.Evaluate(x)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "candidates/s")
}

// BenchmarkStatics times the part of a candidate up to the measures of statics.
func BenchmarkStatics(b *testing.B) {
	s := testSpec(b)
	e := NewEvaluation(s)
	x := []float64{60, 0.5, 20, 4}
	var list []Measure
	for _, m := range s.Measures {
		if Table[m].Step <= StepStatics {
			list = append(list, m)
		}
	}
	statics := NewWant(list, nil, false)
	b.ReportAllocs()
	for b.Loop() {
		e.build(x)
		e.Bench().Measure(e.Stage(), statics)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "candidates/s")
}

// BenchmarkStages times the parts of one candidate, each alone.
func BenchmarkStages(b *testing.B) {
	e := NewEvaluation(testSpec(b))
	x := []float64{60, 0.5, 20, 4}
	e.Evaluate(x)
	if !e.Verdict.OK() {
		b.Fatal(e.Verdict.Reason())
	}
	for _, c := range []struct {
		name string
		run  func()
	}{
		{"build", func() { e.build(x) }},
		{"prepare", func() { e.Bench().mount(e.Stage()); e.Bench().dynamics.Prepare() }},
		{"statics", func() { e.Bench().solveStatics(e.Stage().Travel) }},
		{"modes", func() { e.Bench().dynamics.Frequencies() }},
		{"out of plane", func() { e.Bench().dynamics.Supports() }},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				c.run()
			}
		})
	}
}
