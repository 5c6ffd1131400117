//go:build outside

package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"syscall"
	"testing"
	"time"

	"flexwright/results"
)

// TestSoakIslands kills islands that exchange members, and joins, at random moments, and
// compares what they come to with what nobody disturbed. SOAK_KILLS and SOAK_SEED as for TestSoak.
func TestSoakIslands(t *testing.T) {
	kills, seed := soakNumber(t, "SOAK_KILLS", 20), soakNumber(t, "SOAK_SEED", int(time.Now().UnixNano()))
	t.Logf("SOAK_KILLS=%d SOAK_SEED=%d", kills, seed)
	const n = 3
	root := t.TempDir()
	binary, brief := buildBinary(t), filepath.Join(root, "islands.yaml")
	if err := os.WriteFile(brief, []byte(soakBrief+"{method: evolve, population: 45, generations: 40, seed: 5, surrogate: off}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	// sail runs all islands; disturb is called with each process, and reports whether it killed it.
	sail := func(name string, disturb func(i int, p *exec.Cmd) bool) (dirs []string, killed int) {
		var wait sync.WaitGroup
		counts := make([]int, n)
		for i := range n {
			dir := filepath.Join(root, fmt.Sprintf("%s-%d.run", name, i+1))
			dirs = append(dirs, dir)
			wait.Go(func() {
				for {
					p := exec.Command(binary, "run", brief, "--shard", fmt.Sprintf("%d/%d", i+1, n), "--out", dir, "--workers", "1", "--exchange", filepath.Join(root, name+".exchange"))
					var out bytes.Buffer
					p.Stderr = &out
					if err := p.Start(); err != nil {
						t.Error(err)
						return
					}
					hit := disturb(i, p)
					err := p.Wait()
					if code := p.ProcessState.ExitCode(); hit && (code == -1 || code == exitTerm) {
						counts[i]++
						continue
					} else if code != exitDone {
						t.Errorf("island %d: %v\n%s", i+1, err, out.String())
					}
					return
				}
			})
		}
		wait.Wait()
		for _, c := range counts {
			killed += c
		}
		return dirs, killed
	}
	began := time.Now()
	calm, _ := sail("calm", func(int, *exec.Cmd) bool { return false })
	took := time.Since(began)
	total, voyages := 0, 0
	for total < kills && !t.Failed() {
		voyages++
		rngs := make([]*rand.Rand, n)
		left := make([]int, n)
		for i := range rngs {
			rngs[i], left[i] = rand.New(rand.NewPCG(uint64(seed), uint64(voyages*n+i))), 3
		}
		dirs, killed := sail(fmt.Sprint("voyage", voyages), func(i int, p *exec.Cmd) bool {
			if left[i] == 0 {
				return false
			}
			left[i]--
			time.Sleep(time.Duration(rngs[i].Float64() * float64(took) / 2))
			if rngs[i].IntN(3) == 0 {
				p.Process.Signal(syscall.SIGTERM)
			} else {
				p.Process.Kill()
			}
			return true
		})
		total += killed
		for i, dir := range dirs {
			want, front := soakRows(t, calm[i])
			have, haveFront := soakRows(t, dir)
			if len(have) != len(want) || !bytes.Equal(bytes.Join(have, nil), bytes.Join(want, nil)) || !bytes.Equal(haveFront, front) {
				t.Fatalf("island %d is not the same: %d rows, want %d", i+1, len(have), len(want))
			}
			if code, out := execute(t, binary, "verify", dir, "--replay"); code != exitDone {
				t.Fatalf("%d\n%s", code, out)
			}
		}
		// A join that is killed is begun anew by the next.
		whole := filepath.Join(root, fmt.Sprint("whole", voyages))
		for range 3 {
			p := exec.Command(binary, append([]string{"join", "--out", whole}, dirs...)...)
			if err := p.Start(); err != nil {
				t.Fatal(err)
			}
			time.Sleep(time.Duration(rngs[0].IntN(60)) * time.Millisecond)
			p.Process.Kill()
			if p.Wait(); p.ProcessState.ExitCode() == -1 {
				total++
			}
		}
		if _, err := os.Stat(whole); err != nil {
			if code, out := execute(t, binary, append([]string{"join", "--out", whole}, dirs...)...); code != exitDone {
				t.Fatalf("%d\n%s", code, out)
			}
		}
		if code, out := execute(t, binary, "verify", whole); code != exitDone {
			t.Fatalf("%d\n%s", code, out)
		}
		folder, err := results.Open(whole)
		if err != nil || folder.Manifest().Rows != 1800 || len(folder.Manifest().Missing) > 0 {
			t.Fatalf("%v: %d rows", err, folder.Manifest().Rows)
		}
	}
	t.Logf("%d kills in %d voyages, %v undisturbed", total, voyages, took.Round(time.Millisecond))
}
