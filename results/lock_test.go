package results

import (
	"context"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// leave puts the record of a process on another host into a lock file.
func leave(t *testing.T, dir string, r record) {
	t.Helper()
	data, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, lockName), data, 0o666); err != nil {
		t.Fatal(err)
	}
}

// A lock that another host has left, which this host's lock need not reach: only
// whether the beat goes on counts, whatever any clock says.
func TestLockOfAnotherHost(t *testing.T) {
	for _, at := range []string{"1970-01-01T00:00:00Z", "2026-11-25T10:00:00Z", "2100-01-01T00:00:00Z"} {
		dir := t.TempDir()
		far := record{Host: "far away", PID: 7, Token: "T", Beat: 5, Since: at, Time: at}
		leave(t, dir, far)
		var notes []string
		l, err := takeLock(osDisk{}, dir, time.Millisecond, func(s string) { notes = append(notes, s) })
		if err != nil || len(notes) != 1 || !strings.Contains(notes[0], "far away") {
			t.Fatalf("left behind at %s: %v %q", at, err, notes)
		}
		l.release()

		leave(t, dir, far)
		go func() {
			time.Sleep(20 * time.Millisecond)
			far := far
			far.Beat++
			leave(t, dir, far)
		}()
		_, err = takeLock(osDisk{}, dir, 200*time.Millisecond, func(string) {})
		var use *InUseError
		if !errors.As(err, &use) || use.Host != "far away" || use.PID != 7 {
			t.Fatalf("beating at %s: %v", at, err)
		}

		far.Released = true
		leave(t, dir, far)
		l, err = takeLock(osDisk{}, dir, time.Hour, func(s string) { t.Error("a lock that was released:", s) })
		if err != nil {
			t.Fatal(err)
		}
		l.release()
	}
}

// Another process that writes its record although we hold the lock, as on a file
// system whose locks do not reach it, is noticed before anything is written.
func TestTakenOver(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	rows, _ := undisturbed(t, toyPlans(t)["sobol"]())
	run, err := start(quick, dir, toyDescription(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer run.Close()
	if err := run.Append(rows[:10]); err != nil {
		t.Fatal(err)
	}
	leave(t, dir, record{Host: "far away", PID: 7, Token: "T"})
	if err := run.Append(rows[10:20]); !errors.As(err, new(*InUseError)) {
		t.Error(err)
	}
	if n := len(allRows(t, dir)); n != 10 {
		t.Errorf("%d rows", n)
	}
}

// Many that want to write to one folder at once: one gets it.
func TestManyWriters(t *testing.T) {
	for range 10 {
		dir := filepath.Join(t.TempDir(), "a.run")
		var group sync.WaitGroup
		var mu sync.Mutex
		var got []*Run
		for range 8 {
			group.Go(func() {
				run, err := start(quick, dir, toyDescription(), 0)
				mu.Lock()
				defer mu.Unlock()
				if err == nil {
					got = append(got, run)
				} else if !errors.As(err, new(*InUseError)) {
					t.Errorf("%T %v", err, err)
				}
			})
		}
		group.Wait()
		if len(got) != 1 {
			t.Fatalf("%d writers", len(got))
		}
		got[0].Close()
	}
}

// The folder goes while the run is running.
func TestFolderVanishes(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	rows, _ := undisturbed(t, toyPlans(t)["sobol"]())
	run, err := start(quick, dir, toyDescription(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer run.Close()
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	if err := run.Append(rows[:10]); !errors.As(err, new(*WriteError)) || !strings.Contains(err.Error(), "the folder is not there") {
		t.Error(err)
	}
}

// A clock that jumps by up to a day either way at every look changes no row.
func TestClockThatJumps(t *testing.T) {
	want, _ := undisturbed(t, toyPlans(t)["evolve"]())
	dir := filepath.Join(t.TempDir(), "a.run")
	run, err := start(quick, dir, toyDescription(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer run.Close()
	recorder := run.Recorder(toyStudy(2, nil))
	rng := rand.New(rand.NewPCG(1, 2))
	recorder.now = func() time.Time { return time.Unix(1_800_000_000+rng.Int64N(172800)-86400, 0) }
	by, err := recorder.Finish(toyPlans(t)["evolve"]().Run(context.Background(), recorder.Batch))
	if err != nil {
		t.Fatal(err)
	}
	if err := run.End(context.Background(), by, nil); err != nil {
		t.Fatal(err)
	}
	equalRows(t, "jumping", allRows(t, dir), want)
}
