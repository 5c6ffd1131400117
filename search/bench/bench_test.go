package bench

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"flexwright/search"
	"flexwright/search/problems"
)

// TestMain lets the test binary stand in for an outside program: with
// BENCH_PROGRAM set it answers points of ZDT1 in four variables, or fails.
func TestMain(m *testing.M) {
	mode := os.Getenv("BENCH_PROGRAM")
	if mode == "" {
		os.Exit(m.Run())
	}
	p := problems.ZDT1()
	in := bufio.NewScanner(os.Stdin)
	out := bufio.NewWriter(os.Stdout)
	for n := 0; in.Scan(); n++ {
		var x []float64
		if err := json.Unmarshal(in.Bytes(), &x); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		switch {
		case mode == "dies" && n == 150:
			os.Exit(7)
		case mode == "babbles" && n == 20:
			fmt.Fprintln(out, "hello")
		case mode == "short" && n == 20:
			fmt.Fprintln(out, `{"objectives":[1]}`)
		default:
			f := make([]float64, 2)
			p.Evaluate(x, f, nil)
			answer, _ := json.Marshal(map[string][]float64{"objectives": f, "constraints": {x[1] - 0.5, x[2] - 0.2}})
			out.Write(append(answer, '\n'))
		}
		out.Flush()
	}
	os.Exit(0)
}

func command(t *testing.T, mode string) string {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("BENCH_PROGRAM=%s exec '%s'", mode, self)
}

func write(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "small.json")
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

const bounds = `{"lower":[0,0,0,0],"upper":[1,1,1,1],"step":[0,0,0.1,0],"objectives":2,"constraints":2,
	"ideal":[0,0],"nadir":[1,1],"hypervolume":0.8766666666666667}`

// An outside program gives bit for bit the run of the same problem built in,
// and the files are as promised.
func TestOutsideProgram(t *testing.T) {
	dir := t.TempDir()
	table := filepath.Join(dir, "runs.csv")
	var out bytes.Buffer
	o := Options{Command: command(t, "answers"), Bounds: write(t, bounds), Evaluations: []int{250, 600}, Seeds: 2,
		CSV: table, Points: filepath.Join(dir, "points")}
	if err := Run(context.Background(), o, &out); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(table)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	if len(lines) != 5 || lines[0] != "problem,evaluations,seed,ratio,cpu_us_outside" || !strings.HasPrefix(lines[3], "small,600,1,0.") {
		t.Fatalf("%q", lines)
	}
	p, err := ReadBounds([]byte(bounds))
	if err != nil {
		t.Fatal(err)
	}
	p.Evaluate = func(x, f, g []float64) {
		problems.ZDT1().Evaluate(x, f, nil)
		g[0], g[1] = x[1]-0.5, x[2]-0.2
	}
	want, err := play(context.Background(), &p, builtIn{&p}, 600, 2, search.EvolveOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if want.rows != 600 {
		t.Errorf("%d evaluations, want 600", want.rows)
	}
	if ratio := strings.Split(lines[4], ",")[3]; ratio != strconv.FormatFloat(want.ratio, 'g', -1, 64) {
		t.Errorf("ratio %s, built in %v", ratio, want.ratio)
	}
	points, err := os.ReadFile(filepath.Join(dir, "points", "small-600-2.csv"))
	if err != nil {
		t.Fatal(err)
	}
	var objs []float64
	for _, f := range strings.FieldsFunc(string(points), func(r rune) bool { return r == ',' || r == '\n' }) {
		v, err := strconv.ParseFloat(f, 64)
		if err != nil {
			t.Fatal(err)
		}
		objs = append(objs, v)
	}
	if len(objs) == 0 || len(objs) > 2*maxPoints || len(objs) != len(want.front) {
		t.Fatalf("%d numbers", len(objs))
	}
	for i, v := range objs {
		if v != want.front[i] {
			t.Fatalf("number %d: %v, want %v", i, v, want.front[i])
		}
	}
	if !strings.Contains(out.String(), "small                600     2    0.") {
		t.Errorf("printed:\n%s", out.String())
	}
}

func TestOutsideProgramThatFails(t *testing.T) {
	for mode, want := range map[string]string{
		"dies":    "answer 151 of the problem command: EOF",
		"babbles": "answer 21 of the problem command: invalid character",
		"short":   "1 objectives and 0 constraints, expected 2 and 2",
	} {
		o := Options{Command: command(t, mode), Bounds: write(t, bounds), Evaluations: []int{300}, Seeds: 1}
		if err := Run(context.Background(), o, &bytes.Buffer{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", mode, err)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	o := Options{Command: command(t, "answers"), Bounds: write(t, bounds), Evaluations: []int{300}, Seeds: 1}
	if err := Run(ctx, o, &bytes.Buffer{}); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

func TestUnknownFront(t *testing.T) {
	var out bytes.Buffer
	path := write(t, `{"lower":[0,0,0,0],"upper":[1,1,1,1],"objectives":2,"constraints":2}`)
	o := Options{Problems: []string{"mine"}, Command: command(t, "answers"), Bounds: path, Evaluations: []int{100}, Seeds: 1, JSON: true}
	if err := Run(context.Background(), o, &out); err != nil {
		t.Fatal(err)
	}
	var s []Summary
	if err := json.Unmarshal(out.Bytes(), &s); err != nil || len(s) != 1 || s[0].Median != nil || s[0].Problem != "mine" {
		t.Errorf("%v: %s", err, out.String())
	}
}

func TestRefusals(t *testing.T) {
	for text, want := range map[string]string{
		`{`: "unexpected EOF",
		`{"lower":[0],"upper":[1],"objectives":2,"constraint":1}`:                                      `unknown field "constraint"`,
		`{"lower":[],"upper":[1],"objectives":0,"constraints":-1}`:                                     "constraints: from 0, not -1",
		`{"lower":[0,1],"upper":[1,1],"objectives":2}`:                                                 `variable "x2": the range from 1 to 1 is empty`,
		`{"lower":[0],"upper":[1],"objectives":2,"step":[0.3]}`:                                        "not a whole number of steps",
		`{"lower":[0],"upper":[1],"objectives":2,"ideal":[0,0]}`:                                       "nadir: 0 values for 2 objectives",
		`{"lower":[0],"upper":[1],"objectives":2,"ideal":[0,0],"nadir":[1,0],"hypervolume":1}`:         "nadir: 0 of objective 2 is not above ideal, 0",
		`{"lower":[0],"upper":[1],"objectives":6,"ideal":[0,0],"nadir":[1,1],"hypervolume":0} {"a":1}`: "something follows",
	} {
		o := Options{Command: "true", Bounds: write(t, text)}
		var input *InputError
		if err := Run(context.Background(), o, &bytes.Buffer{}); !errors.As(err, &input) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", text, err, want)
		}
	}
	for _, o := range []Options{
		{Problems: []string{"ZDT9"}}, {Bounds: "b.json"}, {Command: "true"}, {Command: "true", Bounds: "no such file"},
		{Problems: []string{"ZDT1", "ZDT3"}, Command: "true", Bounds: "b"}, {Evaluations: []int{0}}, {Seeds: -1},
	} {
		var input *InputError
		if err := Run(context.Background(), o, &bytes.Buffer{}); !errors.As(err, &input) {
			t.Errorf("%+v: %v", o, err)
		}
	}
	var unwritable *WriteError
	if err := Run(context.Background(), Options{CSV: filepath.Join(t.TempDir(), "no", "such.csv")}, &bytes.Buffer{}); !errors.As(err, &unwritable) {
		t.Error(err)
	}
}

// The default search keeps what it reached; medians stand in the package
// documentation of search.
func TestSearchQuality(t *testing.T) {
	for _, c := range []struct {
		p           problems.Problem
		evaluations int
		ratio       float64 // a little below the least of eleven seeds
	}{
		{problems.TNK(), 5000, 0.98},
		{problems.WELD(), 5000, 0.97},
		{problems.DTLZ2(), 5000, 0.91},
		{problems.ZDT1(), 25000, 0.99},
	} {
		s, err := play(context.Background(), &c.p, builtIn{&c.p}, c.evaluations, 1, search.EvolveOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if !(s.ratio > c.ratio) || s.ratio > 1 || math.IsNaN(s.cpuPerRow) {
			t.Errorf("%s after %d evaluations: %v, want above %v", c.p.Name, c.evaluations, s.ratio, c.ratio)
		}
	}
}
