package results

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"flexwright/search"
)

func TestJoinShards(t *testing.T) {
	want, front := undisturbed(t, toyPlans(t)["sobol"]())
	root := t.TempDir()
	var dirs []string
	for i := 1; i <= 3; i++ {
		dir := filepath.Join(root, fmt.Sprint(i))
		dirs = append(dirs, dir)
		plan, err := search.NewSobol(toySpace, 7, search.SampleOptions{Designs: 300, Shard: search.Shard{I: i, N: 3}})
		if err != nil {
			t.Fatal(err)
		}
		d := toyDescription()
		d.Shard = Shard(fmt.Sprintf("%d/3", i))
		for _, most := range []int64{40, 0} { // in two sittings
			run, err := Start(dir, d)
			if err != nil {
				t.Fatal(err)
			}
			study := toyStudy(1, nil)
			study.MaxDesigns = most
			recorder := run.Recorder(study)
			by, err := recorder.Finish(plan.Run(context.Background(), recorder.Batch))
			if err == nil {
				err = run.End(context.Background(), by, nil)
			}
			if err != nil {
				t.Fatal(err)
			}
			run.Close()
		}
		if i < 3 {
			out := filepath.Join(root, "early")
			err := Join(dirs, out, JoinOptions{Version: "1.0"})
			if !errors.As(err, new(*UnfinishedError)) || !strings.Contains(err.Error(), "3/3") {
				t.Errorf("shards missing: %v", err)
			}
			if _, err := os.Stat(out); !os.IsNotExist(err) {
				t.Error("something was written")
			}
		}
	}
	out := filepath.Join(root, "joined")
	if err := Join([]string{dirs[2], dirs[0], dirs[1]}, out, JoinOptions{Version: "1.0"}); err != nil {
		t.Fatal(err)
	}
	equalRows(t, "joined", allRows(t, out), want)
	wholeFolder(t, out, len(want))
	f, err := Open(out)
	if err != nil {
		t.Fatal(err)
	}
	have, err := f.Front(nil)
	if err != nil {
		t.Fatal(err)
	}
	equalRows(t, "front", have, front)
	// It is the run itself, with nothing left to do.
	if by, err := sitting(t, quick, out, toyPlans(t)["sobol"](), toyStudy(1, nil), context.Background()); by != ByPlan || err != nil {
		t.Error(by, err)
	}
}

func TestJoinSeparateRuns(t *testing.T) {
	root := t.TempDir()
	a, b, c := filepath.Join(root, "a"), filepath.Join(root, "b"), filepath.Join(root, "c")
	if _, err := sitting(t, quick, a, toyPlans(t)["sobol"](), toyStudy(1, nil), context.Background()); err != nil {
		t.Fatal(err)
	}
	if err := Join([]string{a, a}, c, JoinOptions{Version: "1.0"}); !errors.As(err, new(*MismatchError)) {
		t.Errorf("the same run twice: %v", err)
	}
	// The other run has a measure less, another brief, and goes on.
	d := toyDescription()
	d.Seed, d.Brief, d.Columns = 8, []byte("title: other\n"), withoutColumn("peak_stress_mpa")
	run, err := Start(b, d)
	if err != nil {
		t.Fatal(err)
	}
	study := toyStudy(1, nil)
	study.MaxDesigns = 120
	recorder := run.Recorder(study)
	if _, err := recorder.Finish(toyPlans(t)["latin"]().Run(context.Background(), recorder.Batch)); err != nil {
		t.Fatal(err)
	}
	if err := run.End(context.Background(), BySignal, nil); err != nil {
		t.Fatal(err)
	}
	run.Close()
	if err := Join([]string{b, a}, c, JoinOptions{Version: "1.0"}); err != nil {
		t.Fatal(err)
	}
	wholeFolder(t, c, 420)
	rows, first := allRows(t, c), allRows(t, b)
	want := append(first, allRows(t, a)...)
	for i := range rows {
		run := int64(1)
		if i >= len(first) {
			run = 2
		}
		if rows[i].Run != run || rows[i].ID != want[i].ID {
			t.Fatalf("row %d is %d:%d", i, rows[i].Run, rows[i].ID)
		}
		rows[i].Run = 0
	}
	equalRows(t, "joined", rows, want)
	f, err := Open(c)
	if err != nil {
		t.Fatal(err)
	}
	for run, text := range map[int64]string{1: "title: other\n", 2: "title: toy\n"} {
		if brief, _, err := f.Brief(run); err != nil || string(brief) != text {
			t.Errorf("brief of run %d: %q %v", run, brief, err)
		}
	}
	if row, ok, err := f.Row(2, 5); !ok || err != nil || row.Run != 2 || row.ID != 5 {
		t.Errorf("design 2:5: %v %v %v", row, ok, err)
	}
	if _, err := Start(c, toyDescription()); !errors.As(err, new(*MismatchError)) {
		t.Errorf("a joined folder was taken up: %v", err)
	}
	if err := Join([]string{a, b}, c, JoinOptions{Version: "1.0"}); !errors.As(err, new(*FolderError)) {
		t.Errorf("joined into a folder that is not empty: %v", err)
	}
}

// wholeFolder verifies a folder of so many rows.
func wholeFolder(t *testing.T, dir string, rows int) {
	t.Helper()
	v, err := Verify(dir)
	if err != nil || len(v.Problems) > 0 || v.Rows != int64(rows) {
		t.Fatalf("%v, %v, %d rows, want %d", err, v.Problems, v.Rows, rows)
	}
}
