//go:build outside && linux

package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"flexwright/results"
)

// slurm is a cluster on this machine's loopback address.
type slurm struct {
	t    *testing.T
	work string
	env  []string
}

func startSlurm(t *testing.T) *slurm {
	t.Helper()
	dir := t.TempDir()
	script, err := filepath.Abs("../../.ci/slurm")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { exec.Command("bash", script, "stop", dir).Run() })
	if out, err := exec.Command("bash", script, "start", dir).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	s := &slurm{t, t.TempDir(), append(os.Environ(), "SLURM_CONF="+filepath.Join(dir, "slurm.conf"), "FLEXWRIGHT="+buildBinary(t))}
	return s
}

func (s *slurm) write(name, text string) {
	s.t.Helper()
	if err := os.WriteFile(filepath.Join(s.work, name), []byte(text), 0o666); err != nil {
		s.t.Fatal(err)
	}
}

// do runs a line of shell in the folder of the jobs.
func (s *slurm) do(line string) string {
	s.t.Helper()
	cmd := exec.Command("bash", "-c", line)
	cmd.Dir, cmd.Env = s.work, s.env
	out, err := cmd.CombinedOutput()
	if err != nil {
		logs := exec.Command("bash", "-c", "squeue; tail -n 5 *.shards/*.log")
		logs.Dir, logs.Env = s.work, s.env
		more, _ := logs.CombinedOutput()
		s.t.Fatalf("%s: %v\n%s\n%s", line, err, out, more)
	}
	return strings.TrimSpace(string(out))
}

func (s *slurm) path(name string) string { return filepath.Join(s.work, name) }

// until waits for a line of shell to succeed.
func (s *slurm) until(line string) {
	s.do("for i in $(seq 900); do " + line + " && exit 0; sleep 0.1; done; exit 1")
}

// The script of cluster on a Slurm: of an array of eight one task is cancelled, one
// is queued anew and one is submitted again alone; the joined sweep is the run of one machine. Of four islands two
// are interrupted; they are joined, and each is replayed.
func TestSlurm(t *testing.T) {
	began := time.Now()
	s := startSlurm(t)
	s.write("sweep.yaml", soakBrief+"{method: latin, designs: 5000, seed: 5}\n")
	s.write("islands.yaml", soakBrief+"{method: evolve, population: 40, generations: 40, seed: 5, surrogate: off}\n")
	s.do(`$FLEXWRIGHT run sweep.yaml --out single.run`)
	want, front := soakRows(t, s.path("single.run"))

	s.do(`$FLEXWRIGHT cluster sweep.yaml --tasks 8 --time 1h > sweep.sh && bash sweep.sh > jobs.txt`)
	job := s.do(`sed 's/.*shards: job \([0-9]*\),.*/\1/' jobs.txt`)
	// Queued anew comes first: the system makes it wait for half a minute.
	s.until(`grep -qs running sweep.shards/2.run/manifest.json`)
	s.do("scontrol requeue " + job + "_2")
	s.until(`grep -qs running sweep.shards/5.run/manifest.json`)
	s.do("scancel " + job + "_5")

	s.do(`$FLEXWRIGHT cluster islands.yaml --tasks 4 > islands.sh && sed -i '/^join=/d; s/, join.*;/;/' islands.sh && bash islands.sh > island-jobs.txt`)
	islands := s.do(`sed 's/.*shards: job \([0-9]*\).*/\1/' island-jobs.txt`)
	for _, i := range []int{2, 3} {
		s.until(fmt.Sprintf(`[ -e islands.shards/%d.run/received/5.json ]`, i))
		s.do(fmt.Sprintf("scancel %s_%d", islands, i))
	}
	for _, i := range []int{2, 3} {
		s.until(fmt.Sprintf(`! squeue -h -r -j %s -o %%K | grep -qx %d`, islands, i))
	}
	s.do("sbatch --array=2,3 islands.task.sh")

	// The cancelled task alone; the join that waited for the array was dropped with it.
	s.until(`! squeue -h -r -j ` + job + ` -o %K | grep -qx 5`)
	s.do("sbatch --array=5 sweep.task.sh")
	s.do("for i in $(seq 1200); do [ -z \"$(squeue -h)\" ] && exit 0; sleep 0.1; done; exit 1")
	if _, err := os.Stat(s.path("sweep.run")); err == nil {
		t.Error("joined although a shard had been cancelled")
	}
	s.do("$FLEXWRIGHT join sweep.shards/*.run --out sweep.run")
	have, haveFront := soakRows(t, s.path("sweep.run"))
	if len(have) != len(want) {
		t.Fatalf("%d rows, want %d", len(have), len(want))
	}
	for i := range have {
		if !bytes.Equal(have[i], want[i]) {
			t.Fatalf("row %d is not the same", i)
		}
	}
	if !bytes.Equal(haveFront, front) {
		t.Error("the front is not the same")
	}
	s.do("cmp sweep.run/manifest.json single.run/manifest.json && $FLEXWRIGHT verify sweep.run --replay")
	if log := s.do("cat sweep.shards/2.log"); !strings.Contains(log, "stopped with") {
		t.Errorf("the task that was queued anew was not stopped in good order:\n%s", log)
	}

	s.do("$FLEXWRIGHT join islands.shards/*.run --out islands.run && $FLEXWRIGHT verify islands.run && for i in 1 2 3 4; do $FLEXWRIGHT verify islands.shards/$i.run --replay || exit 1; done")
	folder, err := results.Open(s.path("islands.run"))
	if err != nil || folder.Manifest().Rows != 1600 {
		t.Fatalf("%v, %d rows", err, folder.Manifest().Rows)
	}
	t.Logf("%v", time.Since(began).Round(time.Second))
}
