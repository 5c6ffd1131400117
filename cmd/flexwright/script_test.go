package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"flexwright/objective"
	"flexwright/results"

	"flexwright/configs"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write the command reference, the man pages and the tables again")

// The test binary also is the program, so that scripts run it as a process.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"flexwright": main})
}

// Scripts in testdata/script: what the command promises, verb by verb.
func TestScripts(t *testing.T) {
	// Who started the tests may have ignored SIGHUP, as nohup does; programs started
	// from here find it as usual once it is caught.
	signal.Notify(make(chan os.Signal, 1), syscall.SIGHUP)
	testscript.Run(t, testscript.Params{
		Dir:   "testdata/script",
		Setup: setUpScript,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits": exits, "rows": rowsOf, "keys": keysOf, "value": valueOf, "lines": linesOf, "same": same,
		},
	})
}

// setUpScript puts the examples and the reference assembly into the script's folder.
func setUpScript(e *testscript.Env) error {
	for _, dir := range []string{"configs/examples", "testdata/reference"} {
		if err := os.CopyFS(filepath.Join(e.WorkDir, filepath.FromSlash(dir)), os.DirFS(filepath.Join("..", "..", dir))); err != nil {
			return err
		}
	}
	return nil
}

// exits STATUS COMMAND... runs a command and demands its exit status.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits STATUS COMMAND...")
	}
	err := ts.Exec(args[1], args[2:]...)
	status := 0
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		status = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if strconv.Itoa(status) != args[0] {
		ts.Fatalf("exit status %d, not %s", status, args[0])
	}
}

// rows DIR FILE writes all rows of a run folder as CSV, without solve_us, which
// alone may differ between equal runs.
func rowsOf(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: rows DIR FILE")
	}
	folder, err := results.Open(ts.MkAbs(args[0]))
	ts.Check(err)
	var rows []objective.Row
	for row, err := range folder.Rows() {
		ts.Check(err)
		rows = append(rows, row)
	}
	columns := slices.DeleteFunc(slices.Clone(folder.Columns()), func(c objective.Column) bool { return c.Name == "solve_us" })
	var b bytes.Buffer
	ts.Check(writeCSV(streams{out: &b}, columns, listed(rows)))
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), b.Bytes(), 0o666))
}

// lookUp finds a place in the JSON of a file (or stdout): keys and numbers
// separated by dots, "." for the whole.
func lookUp(ts *testscript.TestScript, file, at string) any {
	var v any
	if err := json.Unmarshal([]byte(ts.ReadFile(file)), &v); err != nil {
		ts.Fatalf("%s: no JSON: %v", file, err)
	}
	if at == "." {
		return v
	}
	for _, key := range strings.Split(at, ".") {
		switch w := v.(type) {
		case map[string]any:
			if _, ok := w[key]; !ok {
				ts.Fatalf("%s: no %s at %s", file, key, at)
			}
			v = w[key]
		case []any:
			i, err := strconv.Atoi(key)
			if err != nil || i >= len(w) {
				ts.Fatalf("%s: no element %s of %d at %s", file, key, len(w), at)
			}
			v = w[i]
		}
	}
	return v
}

// keys FILE AT KEY... demands exactly these keys of the object at a place.
func keysOf(ts *testscript.TestScript, _ bool, args []string) {
	object, ok := lookUp(ts, args[0], args[1]).(map[string]any)
	if !ok {
		ts.Fatalf("%s: no object at %s", args[0], args[1])
	}
	var have []string
	for k := range object {
		have = append(have, k)
	}
	want := slices.Sorted(slices.Values(args[2:]))
	slices.Sort(have)
	if !slices.Equal(have, want) {
		ts.Fatalf("%s: keys at %s are\n%v, not\n%v", args[0], args[1], have, want)
	}
}

// value FILE AT LEAST MOST demands a number within bounds; value FILE AT TEXT
// demands that text, number or truth value.
func valueOf(ts *testscript.TestScript, neg bool, args []string) {
	v := lookUp(ts, args[0], args[1])
	good := false
	if len(args) == 4 {
		least, errLeast := strconv.ParseFloat(args[2], 64)
		most, errMost := strconv.ParseFloat(args[3], 64)
		number, isNumber := v.(float64)
		good = errLeast == nil && errMost == nil && isNumber && number >= least && number <= most
	} else {
		text, _ := json.Marshal(v)
		good = string(text) == args[2] || v == args[2]
	}
	if good == neg {
		ts.Fatalf("%s: %v at %s", args[0], v, args[1])
	}
}

// same FILE FILE demands equal files and shows the first line that differs.
func same(ts *testscript.TestScript, neg bool, args []string) {
	a, b := strings.Split(ts.ReadFile(args[0]), "\n"), strings.Split(ts.ReadFile(args[1]), "\n")
	if slices.Equal(a, b) != neg {
		return
	}
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			ts.Fatalf("%s and %s differ in line %d:\n%s\n%s", args[0], args[1], i+1, a[i], b[i])
		}
	}
	ts.Fatalf("%s has %d lines, %s %d", args[0], len(a), args[1], len(b))
}

// lines FILE N demands the number of lines.
func linesOf(ts *testscript.TestScript, _ bool, args []string) {
	if n := strings.Count(ts.ReadFile(args[0]), "\n"); strconv.Itoa(n) != args[1] {
		ts.Fatalf("%s has %d lines, not %s", args[0], n, args[1])
	}
}

// block is a fenced block of a document.
type block struct {
	language string
	line     int
	lines    []string
}

func blocksOf(t *testing.T, path string) []block {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var blocks []block
	inside := false
	for i, line := range strings.Split(string(text), "\n") {
		language, fence := strings.CutPrefix(line, "```")
		switch {
		case fence && inside:
			inside = false
		case fence:
			inside = true
			blocks = append(blocks, block{language: language, line: i + 1})
		case inside:
			b := &blocks[len(blocks)-1]
			b.lines = append(b.lines, line)
		}
	}
	return blocks
}

// Every block of the README and the tutorial: commands run in order in a folder with the examples, briefs are checked. A block
// "yaml NAME" is the file NAME from there on.
func TestDocumentsRun(t *testing.T) {
	for _, document := range []string{"../../README.md", "docs/tutorial.md", "docs/own_layout.md", "docs/built.md"} {
		t.Run(filepath.Base(document), func(t *testing.T) {
			t.Parallel()
			var script strings.Builder
			files := ""
			for i, b := range blocksOf(t, document) {
				language, name, _ := strings.Cut(b.language, " ")
				switch language {
				case "sh":
					for _, line := range b.lines {
						line = strings.Replace(line, "go run ./cmd/flexwright", "flexwright", 1)
						switch {
						case line == "go test ./...", line == "go install ./cmd/flexwright": // this very run; the program is in the path
						case !strings.HasPrefix(line, "flexwright "):
							t.Errorf("%s:%d: %q is run by no test", document, b.line, line)
						default:
							script.WriteString("# line " + strconv.Itoa(b.line) + "\nexec sh -c '" + strings.ReplaceAll(line, "'", "''") + "'\n")
						}
					}
				case "yaml":
					if name == "" {
						name = "block" + strconv.Itoa(i) + ".yaml"
					}
					files += "-- " + name + " --\n" + strings.Join(b.lines, "\n") + "\n"
					if strings.HasSuffix(name, configs.LayoutEnding) {
						script.WriteString("exec flexwright layouts check " + name + "\n")
					} else if !strings.HasSuffix(name, "measured.yaml") { // what fit reads
						script.WriteString("exec flexwright check " + name + "\n! stdout .\n")
					}
				case "text": // what a command prints
				default:
					t.Errorf("%s:%d: a block of %q is run by no test", document, b.line, b.language)
				}
			}
			dir := t.TempDir()
			path := filepath.Join(dir, "document.txtar")
			if err := os.WriteFile(path, []byte(script.String()+files), 0o666); err != nil {
				t.Fatal(err)
			}
			testscript.Run(t, testscript.Params{Files: []string{path}, Setup: setUpScript})
		})
	}
}
