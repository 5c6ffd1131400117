//go:build unix

package main

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"flexwright/configs"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/search"
)

// exampleBrief is an example with another search.
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
// what it prints. With answer, rows come from there, one every so often, and nothing is evaluated.
func record(tb testing.TB, dir string, brief *configs.Brief, text []byte, workers int, answer []objective.Row, every time.Duration) []objective.Row {
	tb.Helper()
	spec, plan := brief.Spec(), brief.Plan()
	run, err := results.Start(dir, describeRun(brief, text, spec, plan, search.Shard{}))
	if err != nil {
		tb.Fatal(err)
	}
	defer run.Close()
	progress := newProgress(io.Discard, spec, progressOptions{})
	var rows []objective.Row
	s := study(spec, runOptions{workers: workers}, func(fresh []objective.Row, replayed bool) {
		progress.observe(fresh, replayed)
		for i := 0; answer == nil && i < len(fresh); i++ {
			rows = append(rows, fresh[i])
			rows[len(rows)-1].Parameters = slices.Clone(fresh[i].Parameters)
		}
	})
	if answer != nil {
		var owed time.Duration // in few long pieces: sleeping costs, too
		s.Evaluate = func(_ int, _ []float64, row *objective.Row) {
			parameters := row.Parameters
			*row = answer[row.ID-1]
			row.Parameters = append(parameters[:0], row.Parameters...)
			if owed += every; owed > 50*time.Millisecond {
				time.Sleep(owed)
				owed = 0
			}
		}
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
	return rows
}

// BenchmarkRun takes the CPU time of a run of the example, without surrogate, with all that it computes and with
// answers from memory, as fast as they were computed: what a run costs beside the evaluation.
func BenchmarkRun(b *testing.B) {
	brief, text := exampleBrief(b, "{method: evolve, population: 100, generations: 20, seed: 5, surrogate: off}")
	began := processorTime(b)
	rows := record(b, filepath.Join(b.TempDir(), "a.run"), brief, text, 1, nil, 0)
	every := (processorTime(b) - began) / time.Duration(len(rows))
	for _, bench := range []struct {
		name   string
		answer []objective.Row
	}{{"whole", nil}, {"outside", rows}} {
		b.Run(bench.name, func(b *testing.B) {
			b.ReportAllocs()
			before := processorTime(b)
			for b.Loop() {
				record(b, filepath.Join(b.TempDir(), "b.run"), brief, text, 1, bench.answer, every)
			}
			b.ReportMetric(float64((processorTime(b)-before).Nanoseconds())/1e3/float64(b.N*len(rows)), "cpu-µs/design")
		})
	}
}

// processorTime is what the process has used so far, its own and the system's on its behalf.
func processorTime(tb testing.TB) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		tb.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
