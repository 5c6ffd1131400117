package report

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"
)

// syntheticSpec is a brief without its text: three variables, two goals, two
// limits and those of common practice.
func syntheticSpec() *objective.Spec {
	layout := models.FourArm()
	s := &objective.Spec{Layouts: []models.Layout{layout}}
	m, _ := models.MaterialByName("aluminium 7075-T6")
	s.Materials = []*models.Material{m}
	parameter := map[string]int{}
	for i, p := range layout.Parameters() {
		parameter[p.Name] = i
		s.Fixed = append(s.Fixed, p.Default)
	}
	for _, name := range []string{"travel", "blade_length", "blade_thickness", "blade_width"} {
		s.Variables = append(s.Variables, objective.Variable{Index: parameter[name]})
	}
	s.Goals = []objective.Goal{
		{Ref: objective.Ref{Parameter: true, Index: parameter["travel"]}, Sense: objective.Most},
		{Ref: objective.Ref{Index: int(objective.FirstFrequency)}, Sense: objective.Most},
	}
	s.Limits = append([]objective.Limit{
		{Ref: objective.Ref{Index: int(objective.PeakStress)}, AtLeast: math.Inf(-1), AtMost: 160},
		{Ref: objective.Ref{Index: int(objective.LostMotion)}, AtLeast: math.Inf(-1), AtMost: 100},
	}, objective.DefaultLimits...)
	for m := range objective.NumMeasures {
		if !objective.Table[m].OnName {
			s.Measures = append(s.Measures, m)
		}
	}
	return s
}

// syntheticRun stores n rows made up by simple formulas: quick, and with rows
// of every kind among them.
func syntheticRun(t testing.TB, dir string, n int) *objective.Spec {
	t.Helper()
	spec := syntheticSpec()
	run, err := results.Start(dir, syntheticDescription(spec))
	if err != nil {
		t.Fatal(err)
	}
	defer run.Close()
	random := rand.New(rand.NewPCG(1, 2))
	var rows []objective.Row
	for id := 1; id <= n; id++ {
		rows = append(rows, syntheticRow(spec, int64(id), random))
		if len(rows) == 1<<16 || id == n {
			if err := run.Append(rows); err != nil {
				t.Fatal(err)
			}
			rows = rows[:0]
		}
	}
	if err := run.End(context.Background(), results.ByPlan, nil); err != nil {
		t.Fatal(err)
	}
	return spec
}

func syntheticDescription(spec *objective.Spec) results.Description {
	return results.Description{
		Identity: results.Identity{Version: "test", Platform: "test", Seed: 1},
		Goals:    []results.Goal{{Column: "travel_mm", Sense: "most"}, {Column: "first_frequency_hz", Sense: "most"}},
		Columns:  spec.Columns(), Brief: []byte("title: synthetic\n"),
	}
}

func syntheticRow(spec *objective.Spec, id int64, random *rand.Rand) objective.Row {
	travel, length := 1+5*random.Float64(), 30+50*random.Float64()
	thickness, width := 0.3+0.7*random.Float64(), 8+22*random.Float64()
	r := objective.Row{ID: id, Generation: id / 100, Layout: "four-arm", Material: "aluminium 7075-T6", SolveUS: 100,
		Parameters: make([]float64, len(spec.Fixed)), Violation: math.NaN()}
	copy(r.Parameters, spec.Fixed)
	for i, v := range []float64{travel, length, thickness, width} {
		r.Parameters[spec.Variables[i].Index] = v
	}
	if id%17 == 0 {
		r.Status, r.Reason = models.CannotBuild, objective.Fault(fmt.Sprintf("a gap of %.3g mm is missing", random.Float64()))
		return r
	}
	for _, m := range spec.Measures {
		r.Measures.Set(m, 1+random.Float64())
	}
	r.Measures.Set(objective.ThinnestBlade, thickness)
	r.Measures.Set(objective.FirstFrequency, 60*math.Pow(thickness/0.5, 1.5)*math.Pow(length/50, -1.5))
	r.Measures.Set(objective.PeakStress, 3*70e3*thickness*travel/(length*length)*1.3)
	r.Measures.Set(objective.LostMotion, 1e3*0.6*travel*travel/length*2)
	r.Measures.Set(objective.YieldMargin, 3)
	r.Measures.Set(objective.BodyYieldMargin, 30)
	r.Measures.Set(objective.BucklingMargin, 2+random.Float64())
	spec.Score(&r)
	return r
}

// BenchmarkMillion makes the report of a run of a million rows; the run itself
// is made once, in half a minute.
func BenchmarkMillion(b *testing.B) {
	dir := filepath.Join(b.TempDir(), "million.run")
	in := openInput(b, dir, syntheticRun(b, dir, 1_000_000))
	var n int
	for b.Loop() {
		n = len(write(b, in))
	}
	b.ReportMetric(float64(n)/1e6, "MB/page")
}
