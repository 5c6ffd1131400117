package results

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/search"
)

// shadowed is whether the race detector is on, whose own memory is several times the program's.
var shadowed bool

// TestScale records, ends, verifies and replays a run with all columns of a real
// one and nothing to compute, and looks at the memory the process took at most. A
// short form here; SCALE_ROWS=10000000 is the long one.
func TestScale(t *testing.T) {
	rows := int64(20000)
	if text := os.Getenv("SCALE_ROWS"); text != "" {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		rows = n
	}
	d, study := wideStudy()
	plan, err := search.NewSobol(toySpace, 1, search.SampleOptions{Designs: rows})
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "a.run")
	step := func(name string, do func() error) {
		began := time.Now()
		if err := do(); err != nil {
			t.Fatal(name, err)
		}
		took := time.Since(began)
		peak := peakMemory()
		t.Logf("%-8s %8.1f s, %5.1f µs a row, peak memory so far %d MB", name, took.Seconds(), took.Seconds()*1e6/float64(rows), peak>>20)
		if peak > 400e6 && !shadowed { // what this package promises for 10 million rows
			t.Errorf("%s: %d bytes of memory", name, peak)
		}
	}
	run, err := start(quick, dir, d, 0)
	if err != nil {
		t.Fatal(err)
	}
	step("record", func() error {
		recorder := run.Recorder(study)
		_, err := recorder.Finish(plan.Run(context.Background(), recorder.Batch))
		return err
	})
	t.Log(folderSize(t, dir))
	step("end", func() error { return run.End(context.Background(), ByPlan, nil) })
	t.Log(folderSize(t, dir))
	run.Close()
	step("verify", func() error {
		v, err := Verify(dir)
		if err == nil && (len(v.Problems) > 0 || v.Rows != rows) {
			t.Errorf("%d rows, %v", v.Rows, v.Problems)
		}
		return err
	})
	step("one row", func() error {
		f, err := Open(dir)
		if err != nil {
			return err
		}
		row, ok, err := f.Row(0, rows*3/5)
		if err == nil && (!ok || row.ID != rows*3/5) {
			t.Errorf("design %d, %v", row.ID, ok)
		}
		return err
	})
	step("front", func() error {
		f, err := Open(dir)
		if err != nil {
			return err
		}
		_, err = f.Front(nil)
		return err
	})
	step("tighter", func() error { // as front --limit
		f, err := Open(dir)
		if err != nil {
			return err
		}
		front, err := f.Front(func(r *objective.Row) bool { return r.Parameters[1] < 70 }, "blade_length_mm")
		t.Log(len(front), "on the front")
		return err
	})
	step("done", func() error {
		run, err := start(quick, dir, d, 0)
		if err != nil {
			return err
		}
		defer run.Close()
		if !run.Done() {
			t.Error("not done")
		}
		return run.End(context.Background(), ByPlan, nil)
	})
	step("replay", func() error {
		run, err := start(quick, dir, d, 0)
		if err != nil {
			return err
		}
		defer run.Close()
		recorder := run.Recorder(study)
		_, err = recorder.Finish(plan.Run(context.Background(), recorder.Batch))
		return err
	})
}

// wideStudy has all columns of a real run and nothing to compute.
func wideStudy() (Description, Study) {
	layout := models.Layouts()[0]
	var measures []objective.Measure
	for m := range objective.NumMeasures {
		if !m.OfParts() { // tails are stored where a brief names them
			measures = append(measures, m)
		}
	}
	d := toyDescription()
	d.Columns = objective.Columns(layout.Parameters(), measures)
	return d, Study{Goals: 2,
		Propose: func(x []float64, row *objective.Row) {
			row.Layout, row.Material = layout.Name(), toyMaterials[int(x[2])]
			row.Parameters[0], row.Parameters[1] = x[0], x[1]
		},
		Evaluate: func(_ int, x []float64, row *objective.Row) {
			for i := range row.Parameters[2:] {
				row.Parameters[2+i] = x[1] * float64(i)
			}
			v := x[0]*1000 + x[1]
			for _, m := range measures {
				v = math.Sqrt(v*v + 17) // digits like those of a real number
				if !objective.Table[m].IsText() {
					row.Measures.Set(m, v)
				}
			}
			// Scattered, so that the front is short.
			row.Measures.Set(objective.FirstFrequency, 1e5/(x[1]*x[1])*(1+math.Sin(1e6*x[0])))
			row.SolveUS = x[0]
			row.SetText(objective.TravelEnd, "peak_stress")
			if row.Feasible = x[0] > 2; !row.Feasible {
				row.Violation, row.FirstLimit = 2-x[0], "travel_mm"
			}
		},
		Outcome: func(row *objective.Row, out *search.Outcome) {
			out.Objectives[0], out.Violation = -row.Parameters[0], row.Violation
		}}
}

// peakMemory of this process in bytes, as the system counts it; 0 where it does not tell.
func peakMemory() int64 {
	data, _ := os.ReadFile("/proc/self/status")
	for line := range strings.Lines(string(data)) {
		if text, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kB, err := strconv.ParseInt(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "kB")), 10, 64)
			if err == nil {
				return kB << 10
			}
		}
	}
	return 0
}

func folderSize(t *testing.T, dir string) string {
	n, bytes := 0, int64(0)
	for _, path := range files(t, dir) {
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		n++
		bytes += info.Size()
	}
	return strconv.Itoa(n) + " files, " + strconv.FormatInt(bytes>>20, 10) + " MB"
}
