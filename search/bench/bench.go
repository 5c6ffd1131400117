// Package bench measures the search on test problems: the built-in ones, whose
// fronts are known, and any problem that an outside program answers.
package bench

import (
	"bufio"
	"cmp"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"

	"flexwright/search"
	"flexwright/search/problems"
)

// Options of Run. The zero value measures every built-in problem.
type Options struct {
	// Problems names built-in problems. Defaults to all of them, unless there
	// is a Command, whose problem one name may be given to.
	Problems []string
	// Command answers points in place of a built-in problem, and Bounds is the
	// file that describes its space: see [ReadBounds] and [Start].
	Command, Bounds string
	// Evaluations are the budgets, a run each. Defaults to 5000 and 25000.
	Evaluations []int
	// Seeds is the number of runs of each budget, with seeds from 1. Defaults
	// to 11.
	Seeds int
	// Surrogate switches the surrogate of the search on.
	Surrogate bool
	// Islands that the population is divided among, exchanging members; built-in
	// problems only. Defaults to 1: none.
	Islands int
	// CSV is a file for one line a run, Points a folder for the fronts.
	CSV, Points string
	// JSON prints the summary as JSON.
	JSON bool
}

// Summary is what Run prints of one problem and budget. Ratios are null in JSON
// where the front is not known.
type Summary struct {
	Problem     string   `json:"problem"`
	Evaluations int      `json:"evaluations"`
	Seeds       int      `json:"seeds"`
	Median      *float64 `json:"ratio_median"`
	Least       *float64 `json:"ratio_min"`
	Most        *float64 `json:"ratio_max"`
	CPU         float64  `json:"cpu_us_outside"` // median, µs an evaluation
}

// InputError is a fault of the options or of the bounds file.
type InputError struct{ Err error }

func (e *InputError) Error() string { return e.Err.Error() }
func (e *InputError) Unwrap() error { return e.Err }

// WriteError is a file that could not be written.
type WriteError struct{ Err error }

func (e *WriteError) Error() string { return e.Err.Error() }
func (e *WriteError) Unwrap() error { return e.Err }

func refuse(format string, args ...any) error { return &InputError{fmt.Errorf(format, args...)} }

// Run measures and prints one line a problem and budget: the median, least and
// greatest ratio of hypervolumes over the seeds, and the median of the processor
// time spent outside the evaluation. The ratio is the hypervolume of at most a
// hundred feasible points, thinned from all rows of the run, to the reference
// point 1.1 in objectives scaled to 0 at the front's best and 1 at its worst,
// over that of the front.
func Run(ctx context.Context, o Options, out io.Writer) (err error) {
	list, err := o.problems()
	if err != nil {
		return err
	}
	if len(o.Evaluations) == 0 {
		o.Evaluations = []int{5000, 25000}
	}
	o.Seeds = cmp.Or(o.Seeds, 11)
	if slices.Min(o.Evaluations) < 1 || o.Seeds < 1 {
		return refuse("evaluations and seeds are whole numbers from 1")
	}
	if o.Islands > 1 && o.Command != "" {
		return refuse("islands are for built-in problems")
	}
	if o.Points != "" {
		if err := os.MkdirAll(o.Points, 0o777); err != nil {
			return &WriteError{err}
		}
	}
	var lines *csv.Writer
	if o.CSV != "" {
		f, err := os.Create(o.CSV)
		if err != nil {
			return &WriteError{err}
		}
		defer f.Close()
		lines = csv.NewWriter(f)
		if err := lines.Write([]string{"problem", "evaluations", "seed", "ratio", "cpu_us_outside"}); err != nil {
			return &WriteError{err}
		}
	}
	if !o.JSON {
		fmt.Fprintf(out, "%-12s %11s %5s  %8s %8s %8s  %14s\n", "problem", "evaluations", "seeds", "median", "min", "max", "cpu_us_outside")
	}
	summaries := []Summary{}
	for i := range list {
		p := &list[i]
		for _, evaluations := range o.Evaluations {
			var ratios, cpu []float64
			for seed := 1; seed <= o.Seeds; seed++ {
				s, err := o.one(ctx, p, evaluations, uint64(seed))
				if err != nil {
					return fmt.Errorf("%s, %d evaluations, seed %d: %w", p.Name, evaluations, seed, err)
				}
				ratios, cpu = append(ratios, s.ratio), append(cpu, s.cpuPerRow)
				if err := o.record(lines, p, evaluations, seed, &s); err != nil {
					return &WriteError{err}
				}
			}
			s := summarise(p.Name, evaluations, ratios, cpu)
			summaries = append(summaries, s)
			if !o.JSON {
				fmt.Fprintf(out, "%-12s %11d %5d  %8s %8s %8s  %14.2f\n", s.Problem, s.Evaluations, s.Seeds,
					text(s.Median), text(s.Least), text(s.Most), s.CPU)
			}
		}
	}
	if o.JSON {
		e := json.NewEncoder(out)
		e.SetIndent("", "  ")
		return e.Encode(summaries)
	}
	return nil
}

// problems returns what is to be measured.
func (o *Options) problems() ([]problems.Problem, error) {
	if o.Command == "" {
		if o.Bounds != "" {
			return nil, refuse("bounds belong to a problem command, and there is none")
		}
		if len(o.Problems) == 0 {
			return problems.All(), nil
		}
		var list []problems.Problem
		for _, name := range o.Problems {
			p, err := problems.Named(name)
			if err != nil {
				return nil, &InputError{err}
			}
			list = append(list, p)
		}
		return list, nil
	}
	if o.Bounds == "" {
		return nil, refuse("a problem command needs a file of bounds")
	}
	if len(o.Problems) > 1 {
		return nil, refuse("one name at most for the problem of a command, not %d", len(o.Problems))
	}
	text, err := os.ReadFile(o.Bounds)
	if err != nil {
		return nil, &InputError{err}
	}
	p, err := ReadBounds(text)
	if err != nil {
		return nil, refuse("%s: %w", o.Bounds, err)
	}
	p.Name = filepath.Base(o.Bounds)
	if dot := len(p.Name) - len(filepath.Ext(p.Name)); dot > 0 {
		p.Name = p.Name[:dot]
	}
	if len(o.Problems) == 1 {
		p.Name = o.Problems[0]
	}
	return []problems.Problem{p}, nil
}

// one plays one run.
func (o *Options) one(ctx context.Context, p *problems.Problem, evaluations int, seed uint64) (score, error) {
	options := search.EvolveOptions{Surrogate: o.Surrogate}
	if o.Islands > 1 {
		return playIslands(ctx, p, evaluations, seed, options, o.Islands)
	}
	if o.Command == "" {
		return play(ctx, p, builtIn{p}, evaluations, seed, options)
	}
	program, err := Start(ctx, o.Command, p)
	if err != nil {
		return score{}, err
	}
	s, err := play(ctx, p, program, evaluations, seed, options)
	if end := program.Close(); err == nil {
		err = end
	}
	return s, err
}

// record writes the line and the points of one run.
func (o *Options) record(lines *csv.Writer, p *problems.Problem, evaluations, seed int, s *score) error {
	if lines != nil {
		ratio := ""
		if !math.IsNaN(s.ratio) {
			ratio = strconv.FormatFloat(s.ratio, 'g', -1, 64)
		}
		if err := lines.Write([]string{p.Name, strconv.Itoa(evaluations), strconv.Itoa(seed), ratio,
			strconv.FormatFloat(s.cpuPerRow, 'f', 3, 64)}); err != nil {
			return err
		}
		if lines.Flush(); lines.Error() != nil {
			return lines.Error()
		}
	}
	if o.Points == "" {
		return nil
	}
	f, err := os.Create(filepath.Join(o.Points, fmt.Sprintf("%s-%d-%d.csv", p.Name, evaluations, seed)))
	if err != nil {
		return err
	}
	defer f.Close()
	w := bufio.NewWriter(f)
	for i, v := range s.front {
		end := byte(',')
		if (i+1)%p.Objectives == 0 {
			end = '\n'
		}
		w.Write(append(strconv.AppendFloat(nil, v, 'g', -1, 64), end))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return f.Close()
}

func summarise(name string, evaluations int, ratios, cpu []float64) Summary {
	slices.Sort(ratios)
	slices.Sort(cpu)
	s := Summary{Problem: name, Evaluations: evaluations, Seeds: len(ratios), CPU: median(cpu)}
	if !math.IsNaN(ratios[0]) {
		mid := median(ratios)
		s.Median, s.Least, s.Most = &mid, &ratios[0], &ratios[len(ratios)-1]
	}
	return s
}

// median of sorted values.
func median(x []float64) float64 {
	n := len(x)
	return (x[(n-1)/2] + x[n/2]) / 2
}

func text(v *float64) string {
	if v == nil {
		return "-"
	}
	return strconv.FormatFloat(*v, 'f', 4, 64)
}
