package objective

import (
	"cmp"
	"math"
	"slices"

	"flexwright/models"
	"flexwright/search"
)

// FineSegments is the number of segments per blade of the fine check.
const FineSegments = 6

// FineBound is the largest difference of a measure between the fast model and
// the fine check that is not flagged.
const FineBound = 0.02

// Fine evaluates designs again with [FineSegments] segments per blade and the
// blades' mass along them: a check on the model that searched. It belongs to
// one goroutine and allocates.
type Fine struct {
	fast, fine *Evaluation
	parts      *Evaluation // whose parts are solved; nil: none are asked for, or all are
	x          []float64
}

// FineResult is one design, evaluated both ways.
type FineResult struct {
	Fast, Fine Measures
	Verdict    models.Verdict // of the fine check
	// Largest difference and the measure that has it; NaN and -1 where the fine
	// check is not solved.
	Difference float64
	Worst      Measure

	// Of a row whose parts were told by derivatives: the measures of parts, of parts that are solved.
	Parts []SampledPart
}

// SampledPart is a measure of parts, by derivatives and of parts that are solved, in the unit of its column.
type SampledPart struct {
	Measure            Measure
	Estimated, Sampled float64 // NaN: null
	Off                float64 // their difference, of the distance of the tail from the nominal; of a share itself
}

// PartsBound is the largest [SampledPart] Off that is not told.
const PartsBound = 0.03

// Flagged reports whether the fast model is not to be believed for the design.
func (r *FineResult) Flagged() bool { return !(r.Difference <= FineBound) }

// NewFine returns the check for designs of a spec.
func NewFine(spec *Spec) *Fine {
	all := *spec
	all.NoScreening, all.Measures = true, plainOnly(spec.Measures)
	f := &Fine{fast: newEvaluation(&all, 1), fine: newEvaluation(&all, FineSegments), x: make([]float64, len(spec.Variables))}
	if slices.ContainsFunc(spec.Measures, Measure.OfParts) && !spec.tolerances().Sampled {
		parts, tolerances := *spec, *spec.tolerances()
		tolerances.Sampled = true
		parts.NoScreening, parts.Tolerances = true, &tolerances
		f.parts = newEvaluation(&parts, 1)
	}
	return f
}

// Check evaluates the design vector x both ways.
func (f *Fine) Check(x []float64) FineResult {
	f.fast.Evaluate(x)
	f.fine.Evaluate(x)
	r := FineResult{Fast: f.fast.Measures.Clone(), Fine: f.fine.Measures.Clone(), Verdict: f.fine.Verdict, Difference: math.NaN(), Worst: -1}
	if !f.fast.Verdict.OK() || !f.fine.Verdict.OK() {
		return r
	}
	r.Difference = 0
	for m := range NumMeasures {
		if d, ok := r.DifferenceOf(m); ok && (r.Worst < 0 || d > r.Difference) {
			r.Difference, r.Worst = d, m
		}
	}
	return r
}

// CheckRow is Check for a stored row of the spec; false when it is none.
func (f *Fine) CheckRow(row *Row) (FineResult, bool) {
	if !f.fast.Spec.Point(row, f.x) {
		return FineResult{}, false
	}
	r := f.Check(f.x)
	if f.parts != nil && row.Text(PartsBy) == ByDerivatives {
		f.parts.Evaluate(f.x)
		for _, m := range f.parts.Spec.Measures {
			if m.OfParts() && !Table[m].IsText() {
				r.Parts = append(r.Parts, f.sampled(row, m))
			}
		}
	}
	return r, true
}

// sampled compares a measure of parts of a row with that of parts that were just solved.
func (f *Fine) sampled(row *Row, m Measure) SampledPart {
	s := SampledPart{Measure: m, Estimated: math.NaN(), Sampled: math.NaN()}
	estimated, okE := row.Measures.Get(m)
	sampled, okS := f.parts.Measures.Get(m)
	if okE {
		s.Estimated = estimated
	}
	if okS {
		s.Sampled = sampled
	}
	nominal := math.NaN()
	if m != ConformingParts {
		nominal, _ = row.Measures.Get(m.Plain())
	}
	s.Off = partsOff(m, s.Estimated, s.Sampled, nominal)
	return s
}

// ample is a margin beyond which no more is said of it.
const ample = 20

// Compared reports whether the fine check computes a measure anew: not what
// follows from the dimensions alone, and no parts.
func (m Measure) Compared() bool {
	return !Table[m].Explains() && Table[m].Step != StepBuild && !m.OfParts()
}

// DifferenceOf returns |fast - fine| over the fine value's magnitude, but at
// least over a floor below which a measure is nothing to design by: a symmetric
// stage has no isolation loss or yaw but for rounding. Floors: 10 µm, 20 µrad,
// 1 N, and 1e-3 of a plain number. A margin that may be without bound counts up to 20: blades
// that are hardly compressed buckle at thousands of their load by one model and at twice that by another.
func (r *FineResult) DifferenceOf(m Measure) (float64, bool) {
	fast, ok := r.Fast.Get(m)
	fine, okFine := r.Fine.Get(m)
	if !m.Compared() || !ok || !okFine {
		return 0, false
	}
	floor := 0.0
	switch unit := Table[m].Unit; unit.Dimension {
	case models.Length:
		floor = unit.FromSI(10e-6)
	case models.Angle:
		floor = unit.FromSI(20e-6)
	case models.Force:
		floor = unit.FromSI(1)
	case models.Number:
		floor = 1e-3
	}
	if Table[m].Unbounded && Table[m].Unit.Dimension == models.Number {
		fast, fine = min(fast, ample), min(fine, ample)
	}
	if fast == fine {
		return 0, true
	}
	return math.Abs(fast-fine) / max(math.Abs(fine), floor), true
}

// A fine check costs as much as about fifteen designs of a search, screened ones
// included. Beside the front's ends and knee at most seven are checked, and one
// for every 150 designs of the run, so that the check stays below a tenth of its CPU.
const (
	mostFine    = 7
	rowsForFine = 150
)

// FineChoice returns which rows of the front of a run of so many designs get a
// fine check, ascending: the best in each goal, the knee (nearest to the best of
// all goals, each scaled by its range on the front), and up to seven spread evenly
// along the first goal.
func (s *Spec) FineChoice(front []Row, designs int64) []int {
	n, m := len(front), len(s.Goals)
	if n == 0 {
		return nil
	}
	goals := make([]float64, n*m)
	for i := range front {
		s.Objectives(&front[i], goals[i*m:(i+1)*m])
	}
	chosen := map[int]bool{search.Knee(goals, m): true}
	for g := range m {
		best := 0
		for i := range n {
			if goals[i*m+g] < goals[best*m+g] {
				best = i
			}
		}
		chosen[best] = true
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(goals[a*m], goals[b*m]) })
	spread := int(min(mostFine, designs/rowsForFine))
	for k := range spread {
		// centres of equal parts, so that the ends are not chosen twice
		chosen[order[(2*k+1)*n/(2*spread)]] = true
	}
	var list []int
	for i := range front {
		if chosen[i] {
			list = append(list, i)
		}
	}
	return list
}

// FineColumns are the columns that the fine check adds to a front, by the rows'
// numbers: every measure as the fine model has it, the largest difference, the measure
// that has it, and whether it is flagged. They are null where a design was not checked.
func (s *Spec) FineColumns(results map[int64]FineResult) []Column {
	var columns []Column
	for _, m := range s.Measures {
		if !m.Compared() {
			continue
		}
		info := &Table[m]
		columns = append(columns, Column{Name: "fine_" + info.Column(), Unit: info.Unit.Symbol, Kind: Float, Nullable: true,
			Meaning: info.Meaning + "; by the fine check",
			Get: func(row *Row) Cell {
				r, ok := results[row.ID]
				if !ok {
					return Cell{Null: true}
				}
				v, ok := r.Fine.Get(m)
				return Cell{Float: v, Null: !ok}
			}})
	}
	for _, m := range s.Measures {
		if !m.OfParts() || Table[m].IsText() || s.tolerances().Sampled {
			continue
		}
		info := &Table[m]
		columns = append(columns, Column{Name: "fine_" + info.Column(), Unit: info.Unit.Symbol, Kind: Float, Nullable: true,
			Meaning: info.Meaning + "; of parts that were solved, where derivatives had told of them",
			Get: func(row *Row) Cell {
				parts := results[row.ID].Parts
				i := slices.IndexFunc(parts, func(p SampledPart) bool { return p.Measure == m })
				if i < 0 || math.IsNaN(parts[i].Sampled) {
					return Cell{Null: true}
				}
				return Cell{Float: parts[i].Sampled}
			}})
	}
	cell := func(row *Row, of func(r *FineResult) Cell) Cell {
		if r, ok := results[row.ID]; ok {
			return of(&r)
		}
		return Cell{Null: true}
	}
	return append(columns,
		Column{Name: "fine_difference", Kind: Float, Nullable: true,
			Meaning: "largest difference of a measure between the fast model and the fine check, over its magnitude",
			Get: func(row *Row) Cell {
				return cell(row, func(r *FineResult) Cell { return Cell{Float: r.Difference, Null: math.IsNaN(r.Difference)} })
			}},
		Column{Name: "fine_worst", Kind: Text, Nullable: true,
			Meaning: "the measure that has the largest difference, or the status of the fine check where it is not solved",
			Get: func(row *Row) Cell {
				return cell(row, func(r *FineResult) Cell {
					if r.Worst < 0 {
						return Cell{Text: r.Verdict.Status.String()}
					}
					return Cell{Text: Table[r.Worst].Name}
				})
			}},
		Column{Name: "fine_flagged", Kind: Bool, Nullable: true,
			Meaning: "the difference is beyond what the fast model may be believed with",
			Get: func(row *Row) Cell {
				return cell(row, func(r *FineResult) Cell { return Cell{Bool: r.Flagged()} })
			}},
	)
}
