package objective

import (
	"math"
	"slices"

	"flexwright/models"
)

// Fill writes the last candidate into a row, all but its number, generation and
// time. It allocates.
func (e *Evaluation) Fill(r *Row) {
	r.Layout, r.Material = e.Layout().Name(), e.Material().Name
	r.Parameters = append(r.Parameters[:0], e.Parameters...)
	r.Measures = e.Measures.Clone()
	for _, m := range e.Spec.Measures {
		if Table[m].IsText() {
			text := ""
			if e.Verdict.Status != models.CannotBuild {
				text = e.Bench().Text(m)
			}
			r.SetText(m, text)
		}
	}
	r.Status, r.Reason = e.Verdict.Status, NewReason(e.Verdict)
	e.Spec.Score(r)
}

// decode turns a design vector into the numbers of a layout and a material and
// the parameters that are given, in their units; NaN where the layout's rule
// decides.
func (s *Spec) decode(x, given []float64) (layout, material int) {
	if len(x) != len(s.Variables) {
		panic("objective: design vector of the wrong length")
	}
	copy(given, s.Fixed)
	for i := range s.Variables {
		v := &s.Variables[i]
		switch v.Target {
		case TargetMaterial:
			material = int(x[i])
		case TargetLayout:
			layout = int(x[i])
		default:
			given[v.Index] = x[i]
			if v.Choices != nil && !math.IsNaN(x[i]) {
				given[v.Index] = v.Choices[int(x[i])]
			}
		}
	}
	if s.Union != nil { // what the layout lacks is open
		own := s.Union.Own(s.Layouts[layout])
		for i := range given {
			if !slices.Contains(own, i) {
				given[i] = math.NaN()
			}
		}
	}
	return layout, material
}

// Propose writes what is known of a design vector before it is evaluated:
// layout, material, and the parameters that are fixed or varied.
func (s *Spec) Propose(x []float64, r *Row) {
	layout, material := s.decode(x, r.Parameters)
	r.Layout, r.Material = s.Layouts[layout].Name(), s.Materials[material].Name
}

// Point recovers the design vector of a stored row, bit for bit; NaN stands for what its
// layout lacks. It reports false when the row cannot belong to this spec.
func (s *Spec) Point(r *Row, x []float64) bool {
	for i := range s.Variables {
		v := &s.Variables[i]
		if v.Target == TargetParameter && s.lacks(r.Layout, v.Index) {
			x[i] = math.NaN()
			continue
		}
		x[i] = -1
		switch v.Target {
		case TargetMaterial:
			for k, m := range s.Materials {
				if m.Name == r.Material {
					x[i] = float64(k)
				}
			}
		case TargetLayout:
			for k, l := range s.Layouts {
				if l.Name() == r.Layout {
					x[i] = float64(k)
				}
			}
		default:
			if v.Choices == nil {
				x[i] = r.Parameters[v.Index]
				continue
			}
			for k, c := range v.Choices {
				if c == r.Parameters[v.Index] {
					x[i] = float64(k)
				}
			}
		}
		if x[i] < 0 && (v.Target != TargetParameter || v.Choices != nil) {
			return false
		}
	}
	return true
}
