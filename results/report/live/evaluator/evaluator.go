// Package evaluator answers what a live report asks about designs of a brief: requests
// and answers are JSON, so that the page's script and a test speak alike.
//
// A design is a layout and a material by number, and the value of every parameter in
// its unit, null where the layout's rule decides. The numbers are those of show: the same
// evaluation without screening.
package evaluator

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"path"
	"strings"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/objective"
	"flexwright/search"
)

// Evaluator is one brief that is being tried. It belongs to one goroutine.
type Evaluator struct {
	brief *configs.Brief
	spec  *objective.Spec // with every number a variable, so that fixed ones can be tried too
	space search.Space    // of the brief's own variables
	own   []objective.Variable
	eval  *objective.Evaluation
	x     []float64
	row   objective.Row

	// Progress is told how far a push is; nil: nobody.
	Progress func(answer []byte)

	detail *objective.Detail // of the design asked for last
	of     string
	looped bool // with the loop
}

// Open reads a brief with the layout files that its run folder keeps, by name.
func Open(text string, layouts map[string]string) (*Evaluator, error) {
	b, problems := configs.LoadWith("brief.yaml", []byte(text), configs.Layouts(), models.Materials(), func(name string) (string, []byte, error) {
		name = strings.TrimSuffix(path.Base(name), configs.LayoutEnding)
		text, ok := layouts[name]
		if !ok {
			return name, nil, errors.New("it is not in the page")
		}
		return name, []byte(text), nil
	})
	if len(problems) > 0 {
		return nil, problems
	}
	s := &Evaluator{brief: b, spec: b.Spec(), space: b.Space()}
	s.own = s.spec.Variables
	tolerances := objective.DefaultTolerances() // as show: parts too, where the brief asks for them
	if s.spec.Tolerances != nil {
		*tolerances = *s.spec.Tolerances
	}
	tolerances.Always = true
	s.spec.NoScreening, s.spec.Tolerances = true, tolerances
	s.spec.Variables = []objective.Variable{{Target: objective.TargetLayout}, {Target: objective.TargetMaterial}}
	for i := range s.spec.Parameters() {
		s.spec.Variables = append(s.spec.Variables, objective.Variable{Index: i})
	}
	s.eval = objective.NewEvaluation(s.spec)
	s.x = make([]float64, len(s.spec.Variables))
	return s, nil
}

// Number is one that JSON may not have: null stands for NaN.
type Number float64

// MarshalJSON writes null for what is not finite.
func (n Number) MarshalJSON() ([]byte, error) {
	if v := float64(n); v-v != 0 {
		return []byte("null"), nil
	}
	return json.Marshal(float64(n))
}

// UnmarshalJSON reads null as NaN.
func (n *Number) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*n = Number(math.NaN())
		return nil
	}
	return json.Unmarshal(b, (*float64)(n))
}

// Design is one that is tried.
type Design struct {
	Layout   int      `json:"layout"`
	Material int      `json:"material"`
	Values   []Number `json:"values"` // of every parameter
}

// check refuses a design that is none of the brief's.
func (s *Evaluator) check(d *Design) error {
	parameters := s.spec.Parameters()
	if d.Layout < 0 || d.Layout >= len(s.spec.Layouts) || d.Material < 0 || d.Material >= len(s.spec.Materials) || len(d.Values) != len(parameters) {
		return errors.New("this is no design of the brief")
	}
	for i, p := range parameters {
		v := float64(d.Values[i])
		switch {
		case math.IsNaN(v) && p.Required && s.lacks(d.Layout, i):
		case math.IsNaN(v) && p.Required:
			return fmt.Errorf("%s must be given", p.Name)
		case v < p.Min || v > p.Max:
			return fmt.Errorf("%s goes from %s to %s", p.Name, configs.FormatQuantity(p.Min, p.Unit), configs.FormatQuantity(p.Max, p.Unit))
		}
	}
	return nil
}

// lacks reports whether a layout has no such parameter.
func (s *Evaluator) lacks(layout, parameter int) bool {
	name := s.spec.Parameters()[parameter].Name
	for _, p := range s.spec.Layouts[layout].Parameters() {
		if p.Name == name {
			return false
		}
	}
	return true
}

// point is the design as a vector of the spec.
func (s *Evaluator) point(d *Design) []float64 {
	s.x[0], s.x[1] = float64(d.Layout), float64(d.Material)
	for i, v := range d.Values {
		s.x[2+i] = float64(v)
	}
	return s.x
}

// Handle answers a request. An error is an answer too: {"error": text}.
func (s *Evaluator) Handle(request []byte) []byte {
	var r struct {
		Op     string  `json:"op"`
		Design Design  `json:"design"`
		X, Y   float64 // of the stage, in shares of the travel
		push
	}
	var answer any
	err := json.Unmarshal(request, &r)
	if err == nil && r.Op != "describe" {
		err = s.check(&r.Design)
	}
	if err == nil {
		switch r.Op {
		case "describe":
			answer = s.describe()
		case "evaluate":
			answer = s.evaluate(&r.Design)
		case "picture":
			answer = s.picture(&r.Design, r.X, r.Y)
		case "maps":
			answer = s.maps(&r.Design)
		case "loop":
			answer = s.loop(&r.Design)
		case "push":
			answer, err = s.push(&r.Design, r.push)
		case "brief":
			answer = map[string]string{"text": s.pinned(&r.Design)}
		default:
			err = fmt.Errorf("there is no request %q", r.Op)
		}
	}
	if err != nil {
		answer = map[string]string{"error": err.Error()}
	}
	out, err := json.Marshal(answer)
	if err != nil {
		panic("evaluator: an answer that JSON cannot hold: " + err.Error())
	}
	return out
}

// pinned is the brief of one design.
func (s *Evaluator) pinned(d *Design) string {
	values := make([]float64, len(d.Values))
	for i, v := range d.Values {
		values[i] = float64(v)
	}
	return string(s.brief.Pinned(d.Layout, d.Material, values))
}
