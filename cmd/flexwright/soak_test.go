//go:build outside

package main

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"

	"flexwright/results"
)

// soakBriefs are runs of a few seconds by every method.
var soakBriefs = map[string]string{
	"evolve":    "{method: evolve, population: 60, generations: 100, seed: 5}",
	"surrogate": "{method: evolve, population: 60, generations: 25, seed: 5, surrogate: on}",
	"latin":     "{method: latin, designs: 8000, seed: 5}",
	"sobol":     "{method: sobol, designs: 8000, seed: 5}",
	"grid":      "{method: grid, per_variable: 18}",
}

const soakBrief = `layout: four-arm
material: {one_of: [aluminium 7075-T6, titanium Ti-6Al-4V]}
fix: {blade_width: 15 mm}
vary:
  travel:          {from: 1 mm, to: 5 mm}
  blade_length:    {from: 30 mm, to: 80 mm}
  blade_thickness: {from: 0.3 mm, to: 0.8 mm, step: 0.05 mm}
goals:
  travel: most
  first_frequency: most
search: `

// TestSoak kills runs by every method at random moments, takes them up again,
// and compares them at the end with runs that nobody disturbed: no row lost, none
// doubled, none different but in solve_us. SOAK_KILLS is how many, SOAK_SEED which moments.
func TestSoak(t *testing.T) {
	kills, seed := soakNumber(t, "SOAK_KILLS", 20), soakNumber(t, "SOAK_SEED", int(time.Now().UnixNano()))
	t.Logf("SOAK_KILLS=%d SOAK_SEED=%d", kills, seed)
	rng := rand.New(rand.NewPCG(uint64(seed), 0))
	root := t.TempDir()
	binary := filepath.Join(root, "flexwright")
	if out, err := exec.Command("go", "build", "-o", binary, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for method, search := range soakBriefs {
		s := soak{t: t, binary: binary, rng: rng, method: method,
			brief: filepath.Join(root, method+".yaml"), dir: filepath.Join(root, method+".run"), counts: map[string]int{}}
		if err := os.WriteFile(s.brief, []byte(soakBrief+search+"\n"), 0o666); err != nil {
			t.Fatal(err)
		}
		calm := filepath.Join(root, method+"-calm.run")
		began := time.Now()
		if out, err := exec.Command(binary, "run", s.brief, "--out", calm).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", method, err, out)
		}
		took := time.Since(began)
		want, front := soakRows(t, calm)
		per := (kills + len(soakBriefs) - 1) / len(soakBriefs)
		folders := 0
		for s.kills < per {
			// A folder is killed until its run is done; then comes the next.
			for s.kills < per && !s.done() {
				s.sitting(took)
			}
			if code, out := s.wait(s.start("--workers", "2")); code != exitDone {
				t.Fatalf("%s: the last sitting: %d\n%s", method, code, out)
			}
			have, haveFront := soakRows(t, s.dir)
			for i := range max(len(have), len(want)) {
				if i >= len(have) || i >= len(want) || !bytes.Equal(have[i], want[i]) {
					t.Fatalf("%s: %d rows, want %d; row %d is not the same", method, len(have), len(want), i)
				}
			}
			if !bytes.Equal(haveFront, front) {
				t.Fatalf("%s: the front is not the same", method)
			}
			s.verify()
			if err := os.RemoveAll(s.dir); err != nil {
				t.Fatal(err)
			}
			folders++
		}
		t.Logf("%-6s %5d rows, %v undisturbed: %d kills, %d folders equal to it, %v", method, len(want), took.Round(time.Millisecond), s.kills, folders, s.counts)
	}
}

func soakNumber(t *testing.T, name string, otherwise int) int {
	text := os.Getenv(name)
	if text == "" {
		return otherwise
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

type soak struct {
	t                          *testing.T
	binary, method, brief, dir string
	rng                        *rand.Rand
	counts                     map[string]int
	kills                      int // that came before the end
}

// done reports whether the run of the folder has come to the end of its plan.
func (s *soak) done() bool {
	folder, err := results.Open(s.dir)
	return err == nil && folder.Manifest().EndedBy == results.ByPlan
}

// stored is how many rows the manifest counts.
func (s *soak) stored() int {
	folder, err := results.Open(s.dir)
	if err != nil {
		return 0
	}
	return int(folder.Manifest().Rows)
}

type sitting struct {
	cmd *exec.Cmd
	out bytes.Buffer
}

func (s *soak) start(args ...string) *sitting {
	p := &sitting{cmd: exec.Command(s.binary, append([]string{"run", s.brief, "--out", s.dir}, args...)...)}
	p.cmd.Stdout, p.cmd.Stderr = &p.out, &p.out
	if err := p.cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	return p
}

// wait returns the exit status, -1 if a signal ended it.
func (s *soak) wait(p *sitting) (int, string) {
	err := p.cmd.Wait()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		s.t.Fatal(err)
	}
	return p.cmd.ProcessState.ExitCode(), p.out.String()
}

// sitting runs for a while and is disturbed.
func (s *soak) sitting(took time.Duration) {
	args := []string{"--workers", strconv.Itoa(1 + s.rng.IntN(3))}
	if s.rng.IntN(2) == 0 { // so that ends, too, are interrupted
		args = append(args, "--max-designs", strconv.Itoa(s.stored()+1+s.rng.IntN(1000)))
	}
	p := s.start(args...)
	time.Sleep(time.Duration(s.rng.Float64() * float64(min(took, 1500*time.Millisecond))))
	disturbed := ""
	switch k := s.rng.IntN(10); {
	case k < 6:
		disturbed = "KILL"
		p.cmd.Process.Kill()
	case k < 8:
		disturbed = "TERM"
		p.cmd.Process.Signal(syscall.SIGTERM)
	case k < 9:
		disturbed = "TERM twice"
		p.cmd.Process.Signal(syscall.SIGTERM)
		time.Sleep(time.Duration(s.rng.IntN(20)) * time.Millisecond)
		p.cmd.Process.Signal(syscall.SIGTERM)
	default:
		disturbed = "STOP, CONT, KILL"
		p.cmd.Process.Signal(syscall.SIGSTOP)
		time.Sleep(200 * time.Millisecond)
		if _, err := os.Stat(filepath.Join(s.dir, "manifest.json")); err == nil {
			// A process that is stopped holds its folder, unless it had ended.
			second := s.start()
			time.Sleep(100 * time.Millisecond)
			second.cmd.Process.Signal(syscall.SIGTERM)
			if code, _ := s.wait(second); code == exitInUse {
				s.counts["second writer refused"]++
			}
		}
		p.cmd.Process.Signal(syscall.SIGCONT)
		time.Sleep(time.Duration(s.rng.IntN(300)) * time.Millisecond)
		p.cmd.Process.Kill()
	}
	switch code, out := s.wait(p); code {
	case -1, exitTerm:
		s.counts[disturbed]++
		s.kills++
	case exitDone, exitNo:
		s.counts["ended before"]++
	default:
		s.t.Fatalf("%s: exit status %d\n%s", s.method, code, out)
	}
	if s.rng.IntN(4) == 0 {
		s.verify()
	}
}

// verify checks the folder as it is.
func (s *soak) verify() {
	if _, err := os.Stat(filepath.Join(s.dir, "manifest.json")); err != nil {
		return // killed before there was one
	}
	if out, err := exec.Command(s.binary, "verify", s.dir, "--replay").CombinedOutput(); err != nil {
		s.t.Fatalf("%s: verify: %v\n%s", s.method, err, out)
	}
}

// soakRows are the rows and the front of a run without solve_us.
func soakRows(t *testing.T, dir string) (rows [][]byte, front []byte) {
	folder, err := results.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	for row, err := range folder.Rows() {
		if err != nil {
			t.Fatal(err)
		}
		row.SolveUS = 0
		rows = append(rows, rowJSON(folder.Columns(), &row))
	}
	table, err := folder.FrontTable()
	if err != nil {
		t.Fatal(err)
	}
	for _, cells := range table.Rows {
		for i, c := range table.Columns {
			if c.Name != "solve_us" {
				front = fmt.Append(front, exact(cells[i], table.Kinds[i]), cells[i].Null, ",")
			}
		}
	}
	return rows, front
}
