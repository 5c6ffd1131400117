package objective

// Fill writes the last candidate into a row, all but its number, generation and
// time.
func (e *Evaluation) Fill(r *Row) {
	r.Layout, r.Material = e.Layout().Name(), e.Material().Name
	r.Parameters = append(r.Parameters[:0], e.Parameters...)
	r.Measures = e.Measures
	r.TravelEnd = e.Travel.name(e.Spec)
	r.Status, r.Reason = e.Verdict.Status, e.Verdict.Reason()
	e.Spec.Score(r)
}

// Point recovers the design vector of a stored row, bit for bit. It reports
// false when the row cannot belong to this spec.
func (s *Spec) Point(r *Row, x []float64) bool {
	for i := range s.Variables {
		v := &s.Variables[i]
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
