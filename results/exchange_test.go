package results

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"flexwright/search"
)

// island runs island i of two once, for so many rows at most (0: all).
func island(t *testing.T, dir, shared string, i int, most int64, patience time.Duration) (notes []string) {
	t.Helper()
	d := toyDescription()
	d.Shard = Shard(fmt.Sprintf("%d/2", i))
	run, err := start(quick, dir, d, time.Millisecond)
	if err != nil {
		t.Error(err)
		return nil
	}
	defer run.Close()
	x, err := run.Exchange(shared, patience, func(text string) { notes = append(notes, text) })
	if err != nil {
		t.Error(err)
		return nil
	}
	study := toyStudy(1, nil)
	study.MaxDesigns = most
	recorder := run.Recorder(study)
	by, err := recorder.Finish(islandPlan(t, i, x).Run(context.Background(), recorder.Batch))
	if by != "" {
		err = errors.Join(err, run.End(context.Background(), by, nil))
	}
	if err != nil {
		t.Error(err)
	}
	return notes
}

func islandPlan(t *testing.T, i int, x search.Exchange) search.Plan {
	plan, err := search.NewEvolve(toySpace, 7, search.EvolveOptions{Population: 16, Generations: 8, Shard: search.Shard{I: i, N: 2}, Exchange: x})
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

// both runs two islands at the same time.
func both(t *testing.T, root string, most int64) {
	var wg sync.WaitGroup
	for i := 1; i <= 2; i++ {
		wg.Go(func() {
			island(t, filepath.Join(root, fmt.Sprint(i)), filepath.Join(root, "shared"), i, most, time.Minute)
		})
	}
	wg.Wait()
}

// replayed compares an island's rows with its plan, from its own folder alone.
func replayed(t *testing.T, dir string, i int) error {
	t.Helper()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	recorder := f.Replay(toyStudy(1, nil))
	_, err = recorder.Finish(islandPlan(t, i, f.Received()).Run(context.Background(), recorder.Batch))
	return err
}

func TestIslandsExchange(t *testing.T) {
	whole, parts := t.TempDir(), t.TempDir()
	both(t, whole, 0)
	// Both stop in their fourth generation and go on.
	both(t, parts, 30)
	both(t, parts, 0)
	alone := filepath.Join(t.TempDir(), "alone")
	notes := island(t, alone, filepath.Join(t.TempDir(), "nobody"), 1, 0, time.Millisecond)
	if len(notes) != 1 || !strings.Contains(notes[0], "goes on alone") {
		t.Errorf("notes %q", notes)
	}
	for i := 1; i <= 2; i++ {
		a, b := filepath.Join(whole, fmt.Sprint(i)), filepath.Join(parts, fmt.Sprint(i))
		rows := allRows(t, a)
		equalRows(t, fmt.Sprintf("island %d, interrupted", i), allRows(t, b), rows)
		if err := os.RemoveAll(filepath.Join(whole, "shared")); err != nil {
			t.Fatal(err)
		}
		if err := replayed(t, a, i); err != nil {
			t.Errorf("island %d: %v", i, err)
		}
		if i == 1 && bytes.Equal(rowBytes(rows[63]), rowBytes(allRows(t, alone)[63])) {
			t.Error("what an island receives has no effect")
		}
	}
	if err := replayed(t, alone, 1); err != nil {
		t.Error(err)
	}
	f, err := Open(alone)
	if err != nil {
		t.Fatal(err)
	}
	if got := fmt.Sprint(f.Manifest().Alone); got != "[2 3 4 5 6 7]" {
		t.Errorf("alone at %s", got)
	}
	v, err := Verify(alone)
	if err != nil || len(v.Problems) > 0 || len(v.Notes) > 0 {
		t.Errorf("%+v %v", v, err)
	}
	// A bit of what was received
	path := filepath.Join(whole, "2", exchangeName, "5.json")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	data[len(data)/2] ^= 1
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
	var damage *DamageError
	if err := replayed(t, filepath.Join(whole, "2"), 2); !errors.As(err, &damage) {
		t.Errorf("damaged: %v", err)
	}
	if v, err := Verify(filepath.Join(whole, "2")); err != nil || len(v.Problems) != 1 {
		t.Errorf("damaged: %+v %v", v, err)
	}
}

// Numbers read back bit for bit, those too that JSON has no words for.
func TestLetterNumbers(t *testing.T) {
	want := []float64{0.1, -0x1p-1074, math.MaxFloat64, math.Inf(1), math.Inf(-1), math.NaN(), math.Copysign(0, -1)}
	l := letter{Island: 3, Generation: 4, Members: []member{{Point: numbers(want)}}}
	path := filepath.Join(t.TempDir(), "x")
	if err := os.WriteFile(path, l.encode(), 0o666); err != nil {
		t.Fatal(err)
	}
	back, err := readLetter(osDisk{}, path, 4)
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range back.migrants()[0].Point {
		if math.Float64bits(v) != math.Float64bits(want[i]) && !(math.IsNaN(v) && math.IsNaN(want[i])) {
			t.Errorf("%v came back as %v", want[i], v)
		}
	}
	if _, err := readLetter(osDisk{}, path, 5); err == nil {
		t.Error("a letter of another generation passes")
	}
}
