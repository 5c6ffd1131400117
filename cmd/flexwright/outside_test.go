//go:build unix

package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"flexwright/configs"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/search"
)

// What a run and its folder cost beside the evaluation of designs: .ci/performance runs these.

// exampleBrief is an example with another search, and what is behind it.
func exampleBrief(tb testing.TB, search string) (*configs.Brief, []byte) {
	tb.Helper()
	text, err := os.ReadFile(filepath.FromSlash("../../configs/examples/range_against_bandwidth.yaml"))
	if err != nil {
		tb.Fatal(err)
	}
	head, _, found := strings.Cut(string(text), "\nsearch:")
	if !found {
		tb.Fatal("the example has no search")
	}
	text = []byte(head + "\nsearch: " + search + "\n")
	brief, problems := loadBrief("brief.yaml", text)
	if len(problems) > 0 {
		tb.Fatal(problems)
	}
	return brief, text
}

// record makes a run from its start to its files, as run does but for the fine check and
// what it prints. Evaluate, if not nil, stands for the evaluation; observe, if not nil, sees the rows.
func record(tb testing.TB, dir string, brief *configs.Brief, text []byte, workers int, evaluate func(*objective.Row), observe func([]objective.Row)) {
	tb.Helper()
	spec, plan := brief.Spec(), brief.Plan()
	run, err := results.Start(dir, describeRun(brief, text, spec, plan, search.Shard{}))
	if err != nil {
		tb.Fatal(err)
	}
	defer run.Close()
	progress := newProgress(io.Discard, spec, progressOptions{})
	s := study(spec, runOptions{workers: workers}, func(rows []objective.Row, replayed bool) {
		progress.observe(rows, replayed)
		if observe != nil {
			observe(rows)
		}
	})
	if evaluate != nil {
		s.Evaluate = func(_ int, _ []float64, row *objective.Row) { evaluate(row) }
	}
	plan.Pool = s.Pool
	searchPlan, err := plan.New(brief.Space(), search.Shard{})
	if err != nil {
		tb.Fatal(err)
	}
	recorder := run.Recorder(s)
	cause, err := recorder.Finish(searchPlan.Run(context.Background(), recorder.Batch))
	progress.close()
	if err == nil {
		err = run.End(context.Background(), cause, nil)
	}
	if err != nil {
		tb.Fatal(err)
	}
}

// recorded are the rows of a run on one worker.
func recorded(tb testing.TB, brief *configs.Brief, text []byte) (rows []objective.Row) {
	tb.Helper()
	record(tb, filepath.Join(tb.TempDir(), "a.run"), brief, text, 1, nil, func(fresh []objective.Row) {
		for _, row := range fresh {
			row.Parameters = slices.Clone(row.Parameters)
			rows = append(rows, row)
		}
	})
	return rows
}

// answer makes row what another is, but for its number.
func answer(row, other *objective.Row) {
	id, parameters := row.ID, row.Parameters
	*row = *other
	row.ID, row.Parameters = id, append(parameters[:0], other.Parameters...)
}

// BenchmarkRun takes the CPU time of a run of the example, without surrogate, with all that it computes (also on two
// workers), and with answers from memory at the pace at which they were computed: what a run costs beside the
// evaluation.
func BenchmarkRun(b *testing.B) {
	search := fmt.Sprintf("{method: evolve, population: 100, generations: %d, seed: 5, surrogate: ", fromEnvironment(b, "RUN_GENERATIONS", 4))
	brief, text := exampleBrief(b, search+"off}")
	model, modelText := exampleBrief(b, search+"on}")
	before := processorTime(b)
	rows := recorded(b, brief, text)
	each := (processorTime(b) - before) / time.Duration(len(rows))
	var owed time.Duration // paid in few long pieces: sleeping costs, too
	paced := func(row *objective.Row) {
		answer(row, &rows[row.ID-1])
		if owed += each; owed > 50*time.Millisecond {
			time.Sleep(owed)
			owed = 0
		}
	}
	for _, bench := range []struct {
		name     string
		brief    *configs.Brief
		text     []byte
		workers  int
		evaluate func(*objective.Row)
	}{
		{"one", brief, text, 1, nil}, {"two", brief, text, 2, nil}, {"outside", brief, text, 1, paced},
		{"surrogate-one", model, modelText, 1, nil}, {"surrogate-two", model, modelText, 2, nil},
	} {
		b.Run(bench.name, func(b *testing.B) {
			b.ReportAllocs()
			before := processorTime(b)
			for b.Loop() {
				record(b, filepath.Join(b.TempDir(), "b.run"), bench.brief, bench.text, bench.workers, bench.evaluate, nil)
			}
			designs := float64(b.N * len(rows))
			b.ReportMetric(float64((processorTime(b)-before).Nanoseconds())/1e3/designs, "cpu-µs/design")
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/1e3/designs, "µs/design")
			if bench.name == "two" {
				b.ReportMetric(generationsOnTwo(rows), "limit")
			}
		})
	}
}

// generationsOnTwo is by how much two workers are faster than one where each generation is waited for, by the times
// that designs took, if nothing else costs any.
func generationsOnTwo(rows []objective.Row) float64 {
	one, two := 0.0, 0.0
	var busy [2]float64 // until when, in this generation
	for i := range rows {
		if i > 0 && rows[i].Generation != rows[i-1].Generation {
			two += max(busy[0], busy[1])
			busy = [2]float64{}
		}
		w := 0
		if busy[1] < busy[0] {
			w = 1
		}
		busy[w] += rows[i].SolveUS
		one += rows[i].SolveUS
	}
	return one / (two + max(busy[0], busy[1]))
}

// fromEnvironment is a number out of the environment, as small as a test likes it unless it is set.
func fromEnvironment(tb testing.TB, name string, small int) int {
	text := os.Getenv(name)
	if text == "" {
		return small
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		tb.Fatal(err)
	}
	return n
}

// processorTime is what the process has used so far, its own and the system's on its behalf.
func processorTime(tb testing.TB) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		tb.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkFirst times a process from its start until it has evaluated the first design of the example.
func BenchmarkFirst(b *testing.B) {
	const name = "FIRST_DESIGN"
	if dir := os.Getenv(name); dir != "" { // the process
		brief, text := exampleBrief(b, "{method: evolve, population: 100, generations: 20, seed: 5, surrogate: off}")
		record(b, dir, brief, text, 1, nil, func([]objective.Row) { os.Exit(0) })
	}
	var cpu time.Duration
	for b.Loop() {
		c := exec.Command(os.Args[0], "-test.run", "^$", "-test.bench", "^BenchmarkFirst$", "-test.benchtime", "1x")
		c.Env = append(os.Environ(), name+"="+filepath.Join(b.TempDir(), "a.run"))
		if out, err := c.CombinedOutput(); err != nil {
			b.Fatal(err, string(out))
		}
		cpu += c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	}
	b.ReportMetric(float64(cpu.Nanoseconds())/1e6/float64(b.N), "cpu-ms/op")
}

// BenchmarkFolder times what reads a folder of FOLDER_ROWS rows, and a plain read with SHA-256.
func BenchmarkFolder(b *testing.B) {
	n := fromEnvironment(b, "FOLDER_ROWS", 10_000)
	few, text := exampleBrief(b, "{method: evolve, population: 100, generations: 4, seed: 5, surrogate: off}")
	rows := recorded(b, few, text)
	// The same designs over and over, each time with other digits and a little less bandwidth: the front is that
	// of the first.
	brief, text := exampleBrief(b, fmt.Sprintf("{method: sobol, designs: %d, seed: 5}", n))
	dir := filepath.Join(b.TempDir(), "a.run")
	record(b, dir, brief, text, 1, func(row *objective.Row) {
		again := (row.ID - 1) / int64(len(rows))
		answer(row, &rows[(row.ID-1)%int64(len(rows))])
		for m := range objective.NumMeasures {
			if v, ok := row.Measures.Get(m); ok && again > 0 {
				row.Measures.Set(m, v*(1-1e-9*float64(again)))
			}
		}
	}, nil)
	size := int64(0)
	read := func() {
		size = 0
		for _, name := range []string{"candidates.parquet", "front.parquet"} {
			f, err := os.Open(filepath.Join(dir, name))
			if err != nil {
				b.Fatal(err)
			}
			m, err := io.Copy(sha256.New(), f)
			if f.Close(); err != nil {
				b.Fatal(err)
			}
			size += m
		}
	}
	do := func(args ...string) func() {
		return func() {
			var messages bytes.Buffer
			if code := start(context.Background(), args, streams{strings.NewReader(""), io.Discard, &messages}); code != exitDone {
				b.Fatal(code, messages.String())
			}
		}
	}
	for _, bench := range []struct {
		name string
		do   func()
	}{
		{"read", read}, {"front", do("front", dir)}, {"limit", do("front", dir, "--limit", "peak_stress at_most 100 MPa")},
		{"show", do("show", dir, "--design", strconv.Itoa(min(350, n)))}, {"run", do("run", filepath.Join(dir, "brief.yaml"), "--out", dir)}, {"verify", do("verify", dir)},
	} {
		b.Run(bench.name, func(b *testing.B) {
			before := processorTime(b)
			for b.Loop() {
				bench.do()
			}
			b.ReportMetric(float64((processorTime(b)-before).Nanoseconds())/1e6/float64(b.N), "cpu-ms/op")
			b.ReportMetric(float64(size)/1e6, "MB")
		})
	}
}
