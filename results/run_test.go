package results

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/search"
)

// The values of a toy row, for every status, come back as they were computed:
// compared with the evaluation itself, not with another read.
func TestRowsReadBackBitForBit(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	plan := toyPlans(t)["sobol"]()
	var fresh []objective.Row
	study := toyStudy(2, nil)
	study.Observe = func(rows []objective.Row, replayed bool) {
		for _, row := range rows {
			row.Parameters = slices.Clone(row.Parameters)
			fresh = append(fresh, row)
		}
	}
	by, err := sitting(t, quick, dir, plan, study, context.Background())
	if err != nil || by != ByPlan {
		t.Fatal(by, err)
	}
	rows := allRows(t, dir)
	equalRows(t, "read back", rows, fresh)
	seen := map[models.Status]int{}
	for i := range rows {
		if rows[i].SolveUS != fresh[i].SolveUS || rows[i].ID != int64(i+1) {
			t.Fatalf("row %d: id %d, solve_us %v, want %v", i, rows[i].ID, rows[i].SolveUS, fresh[i].SolveUS)
		}
		seen[rows[i].Status]++
	}
	for _, s := range []models.Status{models.Solved, models.CannotBuild, models.NoConvergence, models.Failed} {
		if seen[s] == 0 {
			t.Errorf("no row of status %v was tried", s)
		}
	}
	for _, name := range []string{briefName, manifestName, candidatesName, frontName, logName} {
		if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
			t.Error(err)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, partsName)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("parts: %v", err)
	}
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	m := f.Manifest()
	if m.State != Ended || m.EndedBy != ByPlan || m.Rows != int64(len(rows)) {
		t.Errorf("manifest: %v by %v, %d rows", m.State, m.EndedBy, m.Rows)
	}
	log, err := os.ReadFile(filepath.Join(dir, logName))
	if err != nil || !strings.Contains(string(log), "design 23,") || !strings.Contains(string(log), "toy_test.go") {
		t.Errorf("the log does not have the stack of design 23: %v\n%s", err, log)
	}
}

// A run that is interrupted anywhere and taken up gives the rows and the front
// of one that is not, and evaluates nothing twice.
func TestDisturbedEqualsUndisturbed(t *testing.T) {
	for name, plan := range toyPlans(t) {
		want, front := undisturbed(t, plan())
		dir := filepath.Join(t.TempDir(), name)
		counts := map[int64]int{}
		steps := []int64{1, 2, 19, 20, 21, 40, 57, 61, 250, 300}
		for i, most := range steps {
			study := toyStudy(1+i%3, counts)
			study.MaxDesigns = most
			by, err := sitting(t, quick, dir, plan(), study, context.Background())
			if err != nil {
				t.Fatalf("%s, at most %d: %v", name, most, err)
			}
			if n := int64(len(allRows(t, dir))); most < int64(len(want)) && (by != ByMaxDesigns || n != most) {
				t.Fatalf("%s: %d rows by %s, want %d", name, n, by, most)
			}
		}
		// Signals: at the first look at ctx after each chunk.
		for range 5 {
			ctx, cancel := context.WithCancel(context.Background())
			study := toyStudy(2, counts)
			observe := study.Observe
			study.Observe = func(rows []objective.Row, replayed bool) {
				observe(rows, replayed)
				if !replayed {
					cancel()
				}
			}
			by, err := sitting(t, quick, dir, plan(), study, ctx)
			cancel()
			if err != nil || by != BySignal && by != ByPlan {
				t.Fatalf("%s: %v %v", name, by, err)
			}
		}
		if by, err := sitting(t, quick, dir, plan(), toyStudy(2, counts), context.Background()); err != nil || by != ByPlan {
			t.Fatalf("%s: %v %v", name, by, err)
		}
		equalRows(t, name, allRows(t, dir), want)
		f, err := Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		have, err := f.Front(nil)
		if err != nil {
			t.Fatal(err)
		}
		equalRows(t, name+" front", have, front)
		table, err := f.FrontTable()
		if err != nil || len(table.Rows) != len(front) {
			t.Fatalf("%s: front.parquet: %d rows, want %d; %v", name, len(table.Rows), len(front), err)
		}
		for i := range front {
			if table.Rows[i][0].Int != front[i].ID {
				t.Fatalf("%s: front.parquet has design %d, want %d", name, table.Rows[i][0].Int, front[i].ID)
			}
		}
		for id, n := range counts {
			if n != 1 {
				t.Errorf("%s: design %d was evaluated %d times", name, id, n)
			}
		}
	}
}

// A plan may notice the signal between two batches, before Batch does.
func TestPlanNoticesTheSignal(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	run, err := start(quick, dir, toyDescription(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer run.Close()
	recorder := run.Recorder(toyStudy(1, nil))
	p := &search.Proposals{IDs: []int64{1, 2}, Points: [][]float64{{1, 30, 0}, {2, 40, 1}}}
	if _, err := recorder.Batch(context.Background(), p); err != nil {
		t.Fatal(err)
	}
	by, err := recorder.Finish(search.NotEnded, context.Canceled)
	if by != BySignal || err != nil {
		t.Fatal(by, err)
	}
	if n, _ := run.Stored(); n != 2 {
		t.Errorf("%d rows stored", n)
	}
}

// The front is compared with the definition: no feasible row is better or equal
// in all goals and better in one.
func TestFrontIsTheDefinition(t *testing.T) {
	rows, front := undisturbed(t, toyPlans(t)["latin"]())
	on := map[int64]bool{}
	for _, r := range front {
		on[r.ID] = true
	}
	goal := func(r *objective.Row) [2]float64 {
		f, _ := r.Measures.Get(objective.FirstFrequency)
		return [2]float64{r.Parameters[0], f}
	}
	for i := range rows {
		if !rows[i].Feasible {
			if on[rows[i].ID] {
				t.Errorf("design %d is on the front and not feasible", rows[i].ID)
			}
			continue
		}
		a, dominated := goal(&rows[i]), false
		for j := range rows {
			if b := goal(&rows[j]); rows[j].Feasible && b[0] >= a[0] && b[1] >= a[1] && b != a {
				dominated = true
			}
		}
		if dominated == on[rows[i].ID] {
			t.Errorf("design %d: dominated %v, on the front %v", rows[i].ID, dominated, on[rows[i].ID])
		}
	}
}

// A run with nothing left to do is not written to, not even its times.
func TestNothingLeftWritesNothing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	plan := toyPlans(t)["grid"]
	if _, err := sitting(t, quick, dir, plan(), toyStudy(1, nil), context.Background()); err != nil {
		t.Fatal(err)
	}
	before := snapshot(t, dir)
	if by, err := sitting(t, quick, dir, plan(), toyStudy(1, nil), context.Background()); err != nil || by != ByPlan {
		t.Fatal(by, err)
	}
	if after := snapshot(t, dir); !slices.Equal(before, after) {
		t.Errorf("the folder changed:\n%v\n%v", before, after)
	}
}

// snapshot lists the files of a folder with their times and content.
func snapshot(t *testing.T, dir string) []string {
	var list []string
	err := filepath.WalkDir(dir, func(path string, e os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := e.Info()
		if err != nil {
			return err
		}
		text := path + " " + info.ModTime().String()
		if !e.IsDir() {
			data, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			text += " " + sha(data)
		}
		list = append(list, text)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func TestAnotherRunIsRefused(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	run, err := Start(dir, toyDescription())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Start(dir, toyDescription()); !errors.As(err, new(*InUseError)) || !strings.Contains(err.Error(), "process") {
		t.Errorf("a second writer: %v", err)
	}
	run.Close()
	for what, change := range map[string]func(*Description){
		"version":         func(d *Description) { d.Version = "1.1" },
		"platform":        func(d *Description) { d.Platform = "amd64 v3" },
		"seed":            func(d *Description) { d.Seed = 8 },
		"shard":           func(d *Description) { d.Shard = "1/2" },
		"brief":           func(d *Description) { d.Resolved = sha(nil) },
		"list of columns": func(d *Description) { d.Columns = objective.Columns(toyParameters, toyMeasures[:1]) },
	} {
		d := toyDescription()
		change(&d)
		before := snapshot(t, dir)
		_, err := Start(dir, d)
		var mismatch *MismatchError
		if !errors.As(err, &mismatch) || mismatch.What != what {
			t.Errorf("%s: %v", what, err)
		}
		if !slices.Equal(before, snapshot(t, dir)) {
			t.Errorf("%s: the folder was written to", what)
		}
	}
	// The same brief in other words is the same run.
	d := toyDescription()
	d.Brief = []byte("title: toy # comment\n")
	run, err = Start(dir, d)
	if err != nil {
		t.Fatal(err)
	}
	run.Close()
}

// A plan that proposes something else than what is stored is found at the
// first row that differs.
func TestAnotherProposalIsRefused(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	study := toyStudy(1, nil)
	study.MaxDesigns = 50
	if _, err := sitting(t, quick, dir, toyPlans(t)["sobol"](), study, context.Background()); err != nil {
		t.Fatal(err)
	}
	other, err := search.NewSobol(toySpace, 8, search.SampleOptions{Designs: 300})
	if err != nil {
		t.Fatal(err)
	}
	_, err = sitting(t, quick, dir, other, toyStudy(1, nil), context.Background())
	if !errors.As(err, new(*MismatchError)) || !strings.Contains(err.Error(), "design 1 ") {
		t.Error(err)
	}
	shorter, err := search.NewSobol(toySpace, 7, search.SampleOptions{Designs: 40})
	if err != nil {
		t.Fatal(err)
	}
	_, err = sitting(t, quick, dir, shorter, toyStudy(1, nil), context.Background())
	if !errors.As(err, new(*MismatchError)) || !strings.Contains(err.Error(), "number of designs") {
		t.Error(err)
	}
}

func TestOtherFoldersAreRefused(t *testing.T) {
	refuse := func(what string, dir string) {
		t.Helper()
		before := snapshot(t, dir)
		if _, err := Start(dir, toyDescription()); !errors.As(err, new(*FolderError)) {
			t.Errorf("%s: %v", what, err)
		}
		if !slices.Equal(before, snapshot(t, dir)) {
			t.Errorf("%s: the folder was written to", what)
		}
		if _, err := Open(dir); !errors.As(err, new(*FolderError)) {
			t.Errorf("%s opened: %v", what, err)
		}
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "thesis.tex"), nil, 0o666); err != nil {
		t.Fatal(err)
	}
	refuse("a file of the user", dir)
	dir = t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, briefName), toyBrief, 0o666); err != nil {
		t.Fatal(err)
	}
	refuse("a brief alone", dir)

	if _, err := Open(filepath.Join(dir, "nothing")); !errors.As(err, new(*FolderError)) {
		t.Errorf("no folder opened: %v", err)
	}
	dir = t.TempDir()
	run, err := Start(dir, toyDescription()) // an empty folder will do
	if err != nil {
		t.Fatal(err)
	}
	run.Close()
	// A start that was interrupted before the manifest is begun again.
	if err := os.Remove(filepath.Join(dir, manifestName)); err != nil {
		t.Fatal(err)
	}
	run, err = Start(dir, toyDescription())
	if err != nil {
		t.Fatal(err)
	}
	run.Close()
	// A manifest that has gone beside rows is damage.
	study := toyStudy(1, nil)
	if _, err := sitting(t, quick, dir, toyPlans(t)["grid"](), study, context.Background()); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(dir, manifestName)); err != nil {
		t.Fatal(err)
	}
	for _, err := range []error{errOf(Open(dir)), errOf(Start(dir, toyDescription()))} {
		if !errors.As(err, new(*DamageError)) {
			t.Error(err)
		}
	}
}

func errOf[T any](_ T, err error) error { return err }

// The fields of the manifest, in order, as readers outside this program see them.
func TestManifestFields(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	if _, err := sitting(t, quick, dir, toyPlans(t)["grid"](), toyStudy(1, nil), context.Background()); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(dir, manifestName))
	if err != nil {
		t.Fatal(err)
	}
	at := 0
	for _, key := range []string{"format", "version", "platform", "seed", "shard", "resolved_sha256", "brief_sha256", "goals", "columns", "plans", "rows", "feasible", "state", "ended_by", "checksum"} {
		i := strings.Index(string(data[at:]), "\n  \""+key+"\": ")
		if i < 0 {
			t.Fatalf("no %s behind byte %d of\n%s", key, at, data)
		}
		at += i
	}
	if !strings.Contains(string(data), "\"shard\": null") {
		t.Error("the shard of a whole run is not null")
	}
}
