package results

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"flexwright/objective"
	"flexwright/search"
)

const islands = 3

// island runs one of three islands of a toy evolution once.
func island(on disk, dir string, i int, o ExchangeOptions, most int64) (Cause, error) {
	d := toyDescription()
	d.Shard, d.Method, d.Length = Shard(fmt.Sprintf("%d/%d", i, islands)), "evolve", 6
	run, err := start(on, dir, d, time.Millisecond)
	if err != nil {
		return "", err
	}
	defer run.Close()
	study := toyStudy(1, nil)
	study.MaxDesigns = most
	recorder := run.Recorder(study)
	by, err := recorder.Finish(islandPlan(i, recorder.Exchange(o)).Run(context.Background(), recorder.Batch))
	if by != "" {
		err = errors.Join(err, run.End(context.Background(), by, nil))
	}
	return by, err
}

func islandPlan(i int, x search.Exchange) search.Plan {
	p, err := search.NewEvolve(toySpace, 7, search.EvolveOptions{Population: 36, Generations: 6, Shard: search.Shard{I: i, N: islands}, Exchange: x})
	if err != nil {
		panic(err)
	}
	return p
}

// archipelago runs all islands, each in sittings of so many designs more, and returns their folders.
func archipelago(t *testing.T, sittings []int64, o ExchangeOptions) []string {
	t.Helper()
	root := t.TempDir()
	if o.Dir == "shared" {
		o.Dir = filepath.Join(root, "shared")
	}
	dirs := make([]string, islands)
	var wait sync.WaitGroup
	for i := range dirs {
		dirs[i] = filepath.Join(root, fmt.Sprint(i+1))
		wait.Go(func() {
			for _, most := range append(slices.Clone(sittings), 0) {
				if by, err := island(quick, dirs[i], i+1, o, most); err != nil || most == 0 && by != ByPlan {
					t.Errorf("island %d: %s %v", i+1, by, err)
				}
			}
		})
	}
	wait.Wait()
	return dirs
}

// replays compares what an island has with what its plan proposes, from its folder alone.
func replays(t *testing.T, what, dir string, i int) {
	t.Helper()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	recorder := f.Replay(toyStudy(1, nil))
	if _, err := recorder.Finish(islandPlan(i, recorder.Exchange(ExchangeOptions{})).Run(context.Background(), recorder.Batch)); err != nil {
		t.Errorf("%s: replay: %v", what, err)
	}
}

// Islands that are interrupted have the rows of islands that are not, exchange
// members, and are replayed from their own folders; joined, their rows are in the order of the ids.
func TestIslands(t *testing.T) {
	o := ExchangeOptions{Dir: "shared", Patience: time.Minute}
	calm := archipelago(t, nil, o)
	disturbed := archipelago(t, []int64{7, 30, 31, 55}, o)
	apart := archipelago(t, nil, ExchangeOptions{})
	differ := false
	for i := range calm {
		want := allRows(t, calm[i])
		equalRows(t, "interrupted", allRows(t, disturbed[i]), want)
		replays(t, "calm", calm[i], i+1)
		replays(t, "interrupted", disturbed[i], i+1)
		wholeFolder(t, calm[i], 72)
		for k, row := range allRows(t, apart[i]) {
			differ = differ || string(rowBytes(row)) != string(rowBytes(want[k]))
		}
		f, err := Open(apart[i])
		if err != nil || len(f.Manifest().Alone) == 0 {
			t.Errorf("the manifest does not say that island %d was alone: %v", i+1, err)
		}
		replays(t, "apart", apart[i], i+1)
	}
	if !differ {
		t.Error("what islands exchange changes nothing")
	}
	out := filepath.Join(t.TempDir(), "joined")
	if err := Join([]string{calm[1], calm[2], calm[0]}, out, JoinOptions{}); err != nil {
		t.Fatal(err)
	}
	wholeFolder(t, out, 3*72)
	for n, row := range allRows(t, out) {
		if row.ID != int64(n+1) || row.Island != int64(n%islands+1) {
			t.Fatalf("row %d is design %d of island %d", n, row.ID, row.Island)
		}
		want := allRows(t, calm[row.Island-1])[n/islands]
		row.Island = 0
		if string(rowBytes(row)) != string(rowBytes(want)) {
			t.Fatalf("design %d is not that of its island", row.ID)
		}
	}
	if _, err := Start(out, toyDescription()); !errors.As(err, new(*MismatchError)) {
		t.Errorf("joined islands were taken up: %v", err)
	}
}

// An island whose neighbours do not come goes on without them, says so in its
// manifest, waits for them no more, and repeats it when they are there.
func TestIslandAlone(t *testing.T) {
	root := t.TempDir()
	shared := filepath.Join(root, "shared")
	var said []string
	o := ExchangeOptions{Dir: shared, Patience: 50 * time.Millisecond, Note: func(text string) { said = append(said, text) }}
	began := time.Now()
	if by, err := island(quick, filepath.Join(root, "1"), 1, o, 40); by != ByMaxDesigns || err != nil {
		t.Fatal(by, err)
	}
	if took := time.Since(began); took > 5*time.Second {
		t.Errorf("it waited for %v", took)
	}
	f, err := Open(filepath.Join(root, "1"))
	if err != nil || len(f.Manifest().Alone) != 2 || len(said) != 2 {
		t.Fatalf("%v %v %q", err, f.Manifest().Alone, said)
	}
	before := allRows(t, filepath.Join(root, "1"))
	for i := 2; i <= islands; i++ {
		if by, err := island(quick, filepath.Join(root, fmt.Sprint(i)), i, o, 0); by != ByPlan || err != nil {
			t.Fatal(by, err)
		}
	}
	if by, err := island(quick, filepath.Join(root, "1"), 1, o, 0); by != ByPlan || err != nil {
		t.Fatal(by, err)
	}
	equalRows(t, "gone on", allRows(t, filepath.Join(root, "1"))[:40], before)
	for i := 1; i <= islands; i++ {
		replays(t, "alone", filepath.Join(root, fmt.Sprint(i)), i)
	}
	// What the others have left in the meantime is taken in, without waiting.
	if f, err := Open(filepath.Join(root, "1")); err != nil || len(f.Manifest().Alone) != 2 {
		t.Errorf("%v %v", err, f.Manifest().Alone)
	}
}

// An island that ended before its plan is waited for by nobody.
func TestIslandThatEnded(t *testing.T) {
	root := t.TempDir()
	o := ExchangeOptions{Dir: filepath.Join(root, "shared"), Patience: time.Hour}
	for i := 2; i <= islands; i++ {
		d := toyDescription()
		d.Shard, d.Method, d.Length = Shard(fmt.Sprintf("%d/%d", i, islands)), "evolve", 6
		run, err := start(quick, filepath.Join(root, fmt.Sprint(i)), d, 0)
		if err != nil {
			t.Fatal(err)
		}
		recorder := run.Recorder(toyStudy(1, nil))
		recorder.Exchange(o)
		recorder.replay.close()
		recorder.replay = nil
		if by, err := recorder.Finish(search.ByStagnation, nil); by != ByStagnation || err != nil {
			t.Fatal(by, err)
		}
		run.Close()
	}
	if by, err := island(quick, filepath.Join(root, "1"), 1, o, 0); by != ByPlan || err != nil {
		t.Error(by, err)
	}
}

// A signal ends the waiting.
func TestIslandStopsWaiting(t *testing.T) {
	root := t.TempDir()
	d := toyDescription()
	d.Shard, d.Method, d.Length = "1/3", "evolve", 6
	run, err := start(quick, filepath.Join(root, "1"), d, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer run.Close()
	ctx, cancel := context.WithTimeout(context.Background(), 300*time.Millisecond)
	defer cancel()
	recorder := run.Recorder(toyStudy(1, nil))
	by, err := recorder.Finish(islandPlan(1, recorder.Exchange(ExchangeOptions{Dir: filepath.Join(root, "shared"), Patience: time.Hour})).Run(ctx, recorder.Batch))
	if by != BySignal || err != nil {
		t.Errorf("%s %v", by, err)
	}
	if rows, _ := run.Stored(); rows != 24 {
		t.Errorf("%d rows are stored, want those up to the first exchange", rows)
	}
}

// Damage in what an island took in, or is to take in, is named and never used.
func TestDamagedLetters(t *testing.T) {
	dirs := archipelago(t, nil, ExchangeOptions{Dir: "shared", Patience: time.Minute})
	path := filepath.Join(dirs[0], receivedName, "3.json")
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for at := 0; at < len(whole); at += 101 {
		changed := slices.Clone(whole)
		changed[at] ^= 4
		if err := os.WriteFile(path, changed, 0o666); err != nil {
			t.Fatal(err)
		}
		v, err := Verify(dirs[0])
		if err != nil || len(v.Problems) != 1 || v.Problems[0].Path != path {
			t.Fatalf("byte %d (%q): %v %v", at, whole[at], err, v.Problems)
		}
	}
}

func TestMembersReadBack(t *testing.T) {
	members := []search.Migrant{
		{Point: []float64{1, 2.5}, Outcome: search.Outcome{Objectives: []float64{-3, math.Inf(1)}, Limits: []float64{math.NaN(), 0.1}}},
		{Point: []float64{math.Copysign(0, -1)}, Outcome: search.Outcome{Stage: 4, Violation: math.Inf(1)}},
		{Outcome: search.Outcome{Limits: []float64{}}},
	}
	text := fmt.Sprintf("%#v", members)
	back, err := readMembers(appendMembers(nil, members))
	if have := fmt.Sprintf("%#v", back); err != nil || have != text {
		t.Errorf("%v\n%s\n%s", err, have, text)
	}
	b := appendMembers(nil, members)
	for n := range b {
		if back, err := readMembers(b[:n]); err == nil && len(back) == len(members) {
			t.Errorf("%d bytes of %d are enough", n, len(b))
		}
	}
}

// Whatever step fails on the way of an island, in whatever way: it goes on to
// the rows of one that nothing disturbed.
func TestEveryStepOfAnExchangeFails(t *testing.T) {
	calm := archipelago(t, nil, ExchangeOptions{Dir: "shared", Patience: time.Minute})
	want := allRows(t, calm[0])
	shared := filepath.Join(filepath.Dir(calm[0]), "shared") // with all that the others left
	for m := range numModes {
		steps, hits := 0, map[string]int{}
		for at := 2 + int(m); ; at += 31 {
			dir := filepath.Join(t.TempDir(), "1")
			d := &faultyDisk{disk: quick, at: at, mode: m, unsynced: map[string]int64{}}
			_, err := island(d, dir, 1, ExchangeOptions{Dir: shared, Patience: time.Minute}, 0)
			if d.hit == "" {
				break
			}
			steps++
			hits[strings.Fields(d.hit)[0]]++
			if m == powerCut {
				d.cut()
			}
			what := fmt.Sprintf("step %d (%s) %s, %v", at, d.hit, m, err)
			if by, err := island(quick, dir, 1, ExchangeOptions{Dir: shared, Patience: time.Minute}, 0); by != ByPlan || err != nil {
				t.Fatalf("%s: going on: %s %v", what, by, err)
			}
			equalRows(t, what, allRows(t, dir), want)
			wholeFolder(t, dir, len(want))
			replays(t, what, dir, 1)
		}
		if t.Logf("%s: %d steps %v", m, steps, hits); steps < 3 {
			t.Errorf("%s: %d steps", m, steps)
		}
	}
}

// The same for join: nothing is left that could be taken for the joined run, and
// the next join makes it.
func TestEveryStepOfAJoinFails(t *testing.T) {
	rows, _ := undisturbed(t, toyPlans(t)["latin"]())
	root := t.TempDir()
	var dirs []string
	for i := 1; i <= 2; i++ {
		d := toyDescription()
		d.Shard, d.Method = Shard(fmt.Sprintf("%d/2", i)), "latin"
		dir := filepath.Join(root, fmt.Sprint(i))
		run, err := start(quick, dir, d, 0)
		if err != nil {
			t.Fatal(err)
		}
		var mine []objective.Row
		for k := i - 1; k < 20; k += 2 {
			mine = append(mine, rows[k])
		}
		if err := errors.Join(run.Append(mine), run.End(context.Background(), ByPlan, nil)); err != nil {
			t.Fatal(err)
		}
		run.Close()
		dirs = append(dirs, dir)
	}
	for m := range numModes {
		steps := 0
		for at := 1 + int(m); ; at += 3 {
			out := filepath.Join(t.TempDir(), "joined")
			d := &faultyDisk{disk: quick, at: at, mode: m, unsynced: map[string]int64{}}
			err := join(d, dirs, out, JoinOptions{})
			if d.hit == "" {
				break
			}
			steps++
			if m == powerCut {
				d.cut()
			}
			what := fmt.Sprintf("step %d (%s) %s, %v", at, d.hit, m, err)
			if _, e := os.Stat(out); e == nil {
				wholeFolder(t, out, 20)
				continue
			}
			if err := join(quick, dirs, out, JoinOptions{}); err != nil {
				t.Fatalf("%s: again: %v", what, err)
			}
			equalRows(t, what, allRows(t, out), rows[:20])
			wholeFolder(t, out, 20)
		}
		if t.Logf("%s: %d steps", m, steps); steps < 8 {
			t.Errorf("%s: %d steps", m, steps)
		}
	}
}
