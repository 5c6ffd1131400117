package diagnosis

import (
	"math"
	"slices"

	"flexwright/objective"
	"flexwright/search"
)

// How near counts as reached: of a limit, as a share of its bound; of a range, as a
// share of its width.
const (
	nearLimit = 0.01
	nearRange = 0.005
)

// Reached lists the limits that a design has used up to a hundredth of the bound, and
// the varied parameters that stand within half a hundredth of an end of their range,
// those that are goals first.
func Reached(s *objective.Spec, space search.Space, row *objective.Row) (limits []*objective.Limit, ends []End) {
	for i := range s.Limits {
		l := &s.Limits[i]
		if v, ok := row.Judged(l); ok && l.HoldsFor(row.Layout) {
			if m := l.Margin(v); m >= 0 && m < nearLimit {
				limits = append(limits, l)
			}
		}
	}
	goals := 0
	for i := range s.Variables {
		low, high, ok := rangeOf(s, space, i)
		if !ok {
			continue
		}
		ref := objective.Ref{Parameter: true, Index: s.Variables[i].Index}
		e := End{Name: s.Name(ref), Unit: s.Unit(ref).Symbol, Number: 1, Of: 1}
		switch x := row.Parameters[ref.Index]; {
		case x-low <= nearRange*(high-low):
			e.Bound = low
		case high-x <= nearRange*(high-low):
			e.Bound, e.Upper = high, true
		default:
			continue
		}
		if slices.ContainsFunc(s.Goals, func(g objective.Goal) bool { return g.Ref == ref }) {
			ends = slices.Insert(ends, goals, e)
			goals++
		} else {
			ends = append(ends, e)
		}
	}
	return limits, ends
}

// rangeOf returns the range of a variable that is a number.
func rangeOf(s *objective.Spec, space search.Space, i int) (low, high float64, ok bool) {
	v := &s.Variables[i]
	switch {
	case v.Target != objective.TargetParameter:
		return 0, 0, false
	case v.Choices != nil:
		low, high = slices.Min(v.Choices), slices.Max(v.Choices)
	case i < len(space):
		low, high = space[i].From, space[i].To
	}
	return low, high, low < high
}

// AtEnd finds the varied parameters that stand at an end of their range in at least
// half of rows, such as those of a front.
func AtEnd(spec *objective.Spec, space search.Space, rows []objective.Row) []End {
	list := []End{}
	for i, v := range spec.Variables {
		low, high, ok := rangeOf(spec, space, i)
		if !ok {
			continue
		}
		ref := objective.Ref{Parameter: true, Index: v.Index}
		for _, upper := range []bool{false, true} {
			bound, n := low, 0
			if upper {
				bound = high
			}
			for k := range rows {
				if math.Abs(rows[k].Parameters[ref.Index]-bound) <= endShare*(high-low) {
					n++
				}
			}
			if n > 0 && float64(n) >= mostAtEnd*float64(len(rows)) {
				list = append(list, End{spec.Name(ref), spec.Unit(ref).Symbol, bound, upper, n, len(rows)})
			}
		}
	}
	return list
}
