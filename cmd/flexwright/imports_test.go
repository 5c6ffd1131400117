package main

import (
	"go/parser"
	"go/token"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// arrows says which packages of the module each package may import: arrows
// point down only. A package that is not here may import none of ours until a
// line is added.
var arrows = map[string]struct {
	may    []string
	reason string
}{
	"cmd/flexwright":     {[]string{"*"}, "the command joins everything; nothing imports it"},
	"configs":            {[]string{"objective", "objective/fit", "search", "models", "models/drive", "models/mechanics", "models/servo", "models/expression", "models/layoutfile", "models/conformance"}, "the brief produces a search and a spec: an error position needs both ends, the line and the names that exist"},
	"results/report":     {[]string{"results", "results/drawing", "results/diagnosis", "search", "objective", "models"}, "a report shows what a run folder and an evaluated design hold; it reads no brief"},
	"results/diagnosis":  {[]string{"objective", "search", "models"}, "why designs fail, and what ends a front, are functions of rows"},
	"results/drawing":    {[]string{"models"}, "a drawing needs the outlines of a stage and nothing else"},
	"results":            {[]string{"objective", "search", "models"}, "a run folder keeps rows; how they come about is not its business"},
	"objective":          {[]string{"search", "models", "models/*"}, "measures are made from what the physics computed"},
	"objective/fit":      {[]string{"objective", "models", "models/mechanics", "models/servo", "models/estimate"}, "what a built stage is needs the physics and the measures; the file of measurements stays in configs"},
	"search":             {[]string{"models/elementary"}, "it searches anything that answers objectives and a violation: stages and test problems alike"},
	"search/*":           {[]string{"search", "search/problems"}, "it searches anything that answers objectives and a violation: stages and test problems alike"},
	"models/servo":       {[]string{"models", "models/elementary", "models/mechanics", "models/dense"}, "physics must be usable, and testable, without a brief, a search or a disk"},
	"models/drive":       {[]string{"models", "models/elementary", "models/mechanics", "models/dense"}, "physics must be usable, and testable, without a brief, a search or a disk"},
	"models/mechanics":   {[]string{"models", "models/elementary", "models/blade", "models/dense"}, "physics must be usable, and testable, without a brief, a search or a disk"},
	"models/layoutfile":  {[]string{"models", "models/expression"}, "a layout from a file is a layout: dimensions in, a stage out; who reads the file is not its business"},
	"models/conformance": {[]string{"models", "models/mechanics"}, "what every layout must show, which takes the mechanics"},
	"models/expression":  {[]string{"models"}, "formulas know dimensions and numbers; what they are about is the layout's business"},
	"models/blade":       {[]string{"models/dense", "models/elementary"}, "physics must be usable, and testable, without a brief, a search or a disk"},
	"models/dense":       {[]string{"models/elementary"}, "kernels know numbers only"},
	"models/estimate":    {[]string{"models/elementary"}, "least squares know numbers only; what they are of is the caller's business"},
	"models/elementary":  {nil, "functions of a number know numbers only"},
	"models":             {[]string{"models/elementary"}, "what a stage is comes before what it does"},

	// what evaluates in a page
	"results/report/live":           {nil, "it holds a module that was compiled before, and knows nothing of what is in it"},
	"results/report/live/build":     {nil, "it calls the compiler"},
	"results/report/live/evaluator": {[]string{"configs", "objective", "search", "models", "models/mechanics"}, "a live page has the brief as text and asks what show computes"},
	"results/report/live/wasm":      {[]string{"results/report/live/evaluator"}, "the same, for a worker of the page"},
}

// fences say where alone something from outside may be imported.
var fences = []struct {
	imports string   // path, or path/... for everything below it too
	only    []string // packages or files
	reason  string
}{
	{"github.com/goccy/go-yaml/...", []string{"configs"}, "text and positions stop in configs; below it there are numbers in one unit system"},
	{"github.com/MaxHalford/eaopt", []string{"search/evolve.go", "search/design.go"}, "single-objective, last released 2020; it must be replaceable: its loop in one file, its individuals in another"},
	{"github.com/parquet-go/...", []string{"results"}, "the storage format is one folder's business"},
	{"github.com/spf13/...", []string{"cmd/flexwright"}, "libraries return values; they do not read flags"},
	{"golang.org/x/term", []string{"cmd/flexwright"}, "libraries return values; they do not print"},
	{"golang.org/x/sys/...", []string{"models/elementary"}, "what the processor can do is asked in one place"},
	{"log", []string{"cmd/flexwright"}, "libraries return values; they do not log"},
	{"log/slog", []string{"cmd/flexwright"}, "libraries return values; they do not log"},
	{"html/template", []string{"results/report"}, "the page is made in one place"},
	{"embed", []string{"results/report", "results/report/live", "cmd/flexwright/cluster.go", "configs"}, "the plot script is embedded where the page is made, the live evaluator in a package of its own, job scripts where they are printed, layout files where they are read"},
	{"math/rand", []string{"search/evolve.go", "search/design.go", "search/stream.go"}, "one seeding rule: math/rand/v2; the evolution library asks for v1"},
	{"gonum.org/v1/gonum/mat", nil, "allocates in every call: kernels take our own memory"},
	{"gonum.org/v1/gonum/...", []string{"models/mechanics", "models/servo", "models/dense", "models/blade", "models/estimate", "search"}, "numerical work is done in models and search"},
}

// outside are the only imports from outside the standard library that packages
// of models may use.
var outsideOfModels = []string{"gonum.org/v1/gonum/blas", "gonum.org/v1/gonum/blas/blas64", "gonum.org/v1/gonum/blas/gonum",
	"gonum.org/v1/gonum/lapack", "gonum.org/v1/gonum/lapack/gonum", "gonum.org/v1/gonum/mathext", "golang.org/x/sys/cpu"}

// within reports whether name matches pattern: the same, or below pattern/... or
// directly below pattern/*.
func within(name, pattern string) bool {
	if root, deep := strings.CutSuffix(pattern, "/..."); deep {
		return name == root || strings.HasPrefix(name, root+"/")
	}
	ok, _ := path.Match(pattern, name)
	return ok || pattern == "*"
}

// Every import of every Go file, those with build tags too. In test files the
// arrows between our own packages hold as well; what comes from outside is free
// there, but for the old random numbers.
func TestImports(t *testing.T) {
	const module = "flexwright/"
	files := treeFiles(t, ".go")
	if len(files) < 50 {
		t.Fatalf("%d Go files found: not the whole tree", len(files))
	}
	seen := map[string]bool{}
	for _, f := range files {
		file, err := parser.ParseFile(token.NewFileSet(), f.path, f.text, parser.ImportsOnly)
		if err != nil {
			t.Error(err)
			continue
		}
		dir, test := path.Dir(f.name), strings.HasSuffix(f.name, "_test.go")
		arrow, ok := arrows[dir]
		for pattern, a := range arrows {
			if !ok && strings.Contains(pattern, "*") && within(dir, pattern) {
				arrow, ok = a, true
			}
		}
		if !ok && !strings.HasPrefix(dir, ".") {
			t.Errorf("%s: package %s has no arrows: add it to the table with a reason", f.name, dir)
		}
		for _, spec := range file.Imports {
			imported, _ := strconv.Unquote(spec.Path.Value)
			if ours, is := strings.CutPrefix(imported, module); is {
				seen[dir+" "+ours] = true
				if ours != dir && !slices.ContainsFunc(arrow.may, func(p string) bool { return within(ours, p) }) {
					t.Errorf("%s imports %s: %s", f.name, ours, arrow.reason)
				}
				continue
			}
			if test && imported != "math/rand" {
				continue
			}
			for _, fence := range fences {
				if within(imported, fence.imports) && !slices.Contains(fence.only, dir) && !slices.Contains(fence.only, f.name) {
					t.Errorf("%s imports %s, allowed only in %v: %s", f.name, imported, fence.only, fence.reason)
				}
			}
			foreign := strings.Contains(strings.Split(imported, "/")[0], ".")
			if foreign && strings.HasPrefix(dir, "models") && !slices.Contains(outsideOfModels, imported) {
				t.Errorf("%s imports %s: models use the standard library and the BLAS and LAPACK kernels only", f.name, imported)
			}
		}
	}
	for _, arrow := range []string{"cmd/flexwright configs", "configs objective", "objective models/mechanics", "models/mechanics models/blade"} {
		if !seen[arrow] {
			t.Errorf("the arrow %s is not in the tree: is this test still looking at it?", arrow)
		}
	}
}
