package results

import (
	"bytes"
	"context"
	"errors"
	"math"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/search"
)

// The toy study has what a real one has, rows of every status among them, and
// costs nothing: two goals of three variables, the third a choice of material.
var (
	toyParameters = []models.Parameter{
		{Name: "travel", Unit: models.Millimetre, Meaning: "half the range"},
		{Name: "blade_length", Unit: models.Millimetre, Meaning: "free length"},
		{Name: "depth", Unit: models.Millimetre, Meaning: "follows from the others"},
	}
	toyMeasures = []objective.Measure{objective.FirstFrequency, objective.PeakStress, objective.TravelEnd}
	toyColumns  = objective.Columns(toyParameters, toyMeasures)
	toyGoals    = []Goal{{"travel_mm", "most"}, {"first_frequency_hz", "most"}}
	toyBrief    = []byte("title: toy\n")
	toySpace    = search.Space{
		{Name: "travel", Kind: search.Continuous, From: 1, To: 6},
		{Name: "blade_length", Kind: search.Stepped, From: 30, To: 80, Step: 5},
		{Name: "material", Kind: search.Choice, Choices: 2},
	}
	toyMaterials = []string{"aluminium 7075-T6", "titanium Ti-6Al-4V"}
)

func toyDescription() Description {
	return Description{Identity: Identity{Version: "1.0", Platform: "test", Seed: 7, Resolved: sha([]byte("resolved"))},
		Goals: toyGoals, Columns: toyColumns, Brief: toyBrief}
}

// toyStudy counts how often each design was evaluated, if counts is not nil.
func toyStudy(workers int, counts map[int64]int) Study {
	s := Study{
		Pool:  search.NewPool(workers),
		Goals: 2,
		Propose: func(x []float64, row *objective.Row) {
			row.Layout, row.Material = "four-arm", toyMaterials[int(x[2])]
			row.Parameters[0], row.Parameters[1] = x[0], x[1]
		},
		Evaluate: func(_ int, x []float64, row *objective.Row) {
			row.SolveUS = float64(time.Now().UnixNano()%100000) / 1000
			row.Violation = math.NaN()
			switch {
			case row.ID%23 == 0:
				var bodies []int
				bodies[row.ID]++ // a fault
			case x[0]/x[1] > 0.15:
				row.Status, row.Reason = models.CannotBuild, objective.Fault("the travel does not fit")
				return
			case row.ID%19 == 0:
				row.Status, row.Reason = models.NoConvergence, objective.Fault("no equilibrium at pose 3")
				row.Parameters[2] = math.Inf(1)
				return
			}
			row.Parameters[2] = x[0] + x[1]/3
			row.Measures.Set(objective.FirstFrequency, 1e5/(x[1]*x[1])*(1+x[2]/10)/(1+0.1*x[0]))
			row.Measures.Set(objective.PeakStress, 4e4*x[0]/(x[1]*x[1]))
			row.SetText(objective.TravelEnd, "peak_stress")
			row.Violation = math.Max(0, 4e4*x[0]/(x[1]*x[1])-60) / 60
			if row.Feasible = row.Violation == 0; !row.Feasible {
				row.FirstLimit = "peak_stress_mpa"
			}
		},
		Outcome: func(row *objective.Row, out *search.Outcome) {
			f, ok := row.Measures.Get(objective.FirstFrequency)
			if !ok {
				out.Violation = math.Inf(1)
				return
			}
			out.Objectives[0], out.Objectives[1] = -row.Parameters[0], -f
			out.Violation = row.Violation
		},
	}
	if counts != nil {
		s.Observe = func(rows []objective.Row, replayed bool) {
			for i := range rows {
				if !replayed {
					counts[rows[i].ID]++
				}
			}
		}
	}
	return s
}

// quick is the operating system's disk without its syncs, which tests of
// everything but syncing need not wait for.
var quick disk = unsynced{}

type unsynced struct{ osDisk }

type unsyncedFile struct{ file }

func (unsyncedFile) Sync() error           { return nil }
func (unsynced) SyncDir(path string) error { return nil }
func (d unsynced) Create(path string) (file, error) {
	f, err := d.osDisk.Create(path)
	return unsyncedFile{f}, err
}
func (d unsynced) OpenWrite(path string) (file, error) {
	f, err := d.osDisk.OpenWrite(path)
	return unsyncedFile{f}, err
}

// toyPlans are small plans of every method.
func toyPlans(t testing.TB) map[string]func() search.Plan {
	must := func(p search.Plan, err error) search.Plan {
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	return map[string]func() search.Plan{
		"evolve": func() search.Plan {
			return must(search.NewEvolve(toySpace, 7, search.EvolveOptions{Population: 20, Generations: 20}))
		},
		"latin": func() search.Plan {
			return must(search.NewLatinHypercube(toySpace, 7, search.SampleOptions{Designs: 300}))
		},
		"sobol": func() search.Plan { return must(search.NewSobol(toySpace, 7, search.SampleOptions{Designs: 300})) },
		"grid":  func() search.Plan { return must(search.NewGrid(toySpace, search.GridOptions{PerVariable: 5})) },
	}
}

// sitting runs a plan on a folder once. It returns what ended it.
func sitting(t testing.TB, on disk, dir string, plan search.Plan, study Study, ctx context.Context) (Cause, error) {
	run, err := start(on, dir, toyDescription(), time.Millisecond)
	if err != nil {
		return "", err
	}
	defer run.Close()
	recorder := run.Recorder(study)
	by, err := recorder.Finish(plan.Run(ctx, recorder.Batch))
	if by != "" {
		err = errors.Join(err, run.End(context.Background(), by, nil))
	}
	return by, err
}

// allRows reads a folder.
func allRows(t testing.TB, dir string) []objective.Row {
	t.Helper()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	var rows []objective.Row
	for row, err := range f.Rows() {
		if err != nil {
			t.Fatal(err)
		}
		rows = append(rows, row)
	}
	return rows
}

// rowBytes are the stored values of a row, but for the time it took.
func rowBytes(row objective.Row) []byte {
	row.SolveUS = 0
	var b valueBytes
	b.set(encodeRow(toyColumns, row))
	return b
}

// equalRows compares rows bit for bit, but for solve_us.
func equalRows(t testing.TB, what string, have, want []objective.Row) {
	t.Helper()
	if len(have) != len(want) {
		t.Fatalf("%s: %d rows, want %d", what, len(have), len(want))
	}
	for i := range want {
		if !bytes.Equal(rowBytes(have[i]), rowBytes(want[i])) {
			t.Fatalf("%s: row %d is %+v, want %+v", what, i, have[i], want[i])
		}
	}
}

// undisturbed returns the rows and the front of a plan that nothing disturbs.
func undisturbed(t testing.TB, plan search.Plan) (rows, front []objective.Row) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "undisturbed")
	if _, err := sitting(t, quick, dir, plan, toyStudy(1, nil), context.Background()); err != nil {
		t.Fatal(err)
	}
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	front, err = f.Front(nil)
	if err != nil {
		t.Fatal(err)
	}
	return allRows(t, dir), slices.Clone(front)
}
