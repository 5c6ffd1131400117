package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"slices"
	"strings"
	"testing"
)

// unsteady are functions whose last bit depends on the processor at run time: on amd64
// math.Exp asks it for fused multiply-add, and the others call it.
var unsteady = map[string][]string{
	"math":  {"Exp", "Pow", "Sinh", "Cosh", "Tanh", "Gamma", "Erf", "Erfc"},
	"cmplx": {"Exp", "Pow", "Sin", "Cos", "Tan", "Sinh", "Cosh", "Tanh", "Cot"},
	"":      {"NormFloat64", "ExpFloat64"}, // methods of random numbers
}

// What a row is computed from must not call them: models/elementary has what is needed.
func TestFunctionsThatDependOnTheProcessor(t *testing.T) {
	looked := 0
	for _, f := range treeFiles(t, ".go") {
		home := strings.HasPrefix(f.name, "models/") || strings.HasPrefix(f.name, "objective/") || strings.HasPrefix(f.name, "search/")
		if !home || strings.HasSuffix(f.name, "_test.go") || strings.HasPrefix(f.name, "search/problems/") || strings.HasPrefix(f.name, "search/bench/") {
			continue
		}
		looked++
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, f.name, f.text, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			s, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			of := ""
			if x, ok := s.X.(*ast.Ident); ok && (x.Name == "math" || x.Name == "cmplx") {
				of = x.Name
			}
			if slices.Contains(unsteady[of], s.Sel.Name) {
				t.Errorf("%s: %s depends on the processor; models/elementary has what does not", set.Position(s.Pos()), s.Sel.Name)
			}
			return true
		})
	}
	if looked < 60 {
		t.Errorf("%d files looked at: not all", looked)
	}
}
