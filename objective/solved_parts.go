package objective

import "math"

// partsOff is [SampledPart] Off of two values of a measure, NaN where there is none; nominal is that of the design itself.
func partsOff(m Measure, estimated, sampled, nominal float64) float64 {
	const rounding = 1e-9 // of a measure that no error moves
	switch {
	case math.IsNaN(estimated) != math.IsNaN(sampled):
		return math.Inf(1)
	case math.IsNaN(estimated) || estimated == sampled:
		return 0
	case m == ConformingParts:
		return math.Abs(estimated - sampled)
	}
	return math.Abs(estimated-sampled) / (math.Abs(sampled-nominal) + rounding*math.Abs(nominal))
}

// SolvedColumns are the columns of measures of parts among those of a front with its fine check, by name: what parts
// that were solved say, and whether that stands in the place of the row's value, which derivatives told and were off
// by more than [PartsBound].
func SolvedColumns(columns []Column) map[string]func(*Row) (v Cell, instead bool) {
	at := map[string]*Column{}
	for i := range columns {
		at[columns[i].Name] = &columns[i]
	}
	list := map[string]func(*Row) (Cell, bool){}
	for m := range NumMeasures {
		column := Table[m].Column()
		told, solved, checked := at[column], at["fine_"+column], at["fine_flagged"]
		if !m.OfParts() || told == nil || solved == nil || checked == nil || Table[m].IsText() {
			continue
		}
		list[column] = func(r *Row) (Cell, bool) {
			v := solved.Get(r)
			if checked.Get(r).Null || r.Text(PartsBy) != ByDerivatives {
				return v, false
			}
			return v, partsOff(m, numberOf(told, r), numberOf(solved, r), numberOf(at[Table[m.Plain()].Column()], r)) > PartsBound
		}
	}
	return list
}

// numberOf is a number of a row, NaN where there is none.
func numberOf(c *Column, r *Row) float64 {
	if c == nil {
		return math.NaN()
	}
	if v := c.Get(r); !v.Null {
		return v.Float
	}
	return math.NaN()
}
