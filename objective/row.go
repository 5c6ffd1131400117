package objective

import (
	"math"

	"flexwright/models"
)

// Row is everything that is stored of one proposed design.
type Row struct {
	ID         int64 // from 1, order of proposal
	Run        int64 // from 1 in a folder joined from separate runs, 0 otherwise
	Island     int64 // from 1 in a folder joined from islands, 0 otherwise
	Generation int64 // 0 in sweeps
	Layout     string
	Material   string
	Parameters []float64 // in the units of their columns, layout's order; NaN where not settled
	Measures   Measures
	texts      []string // of the measures that are texts, by textAt; nil: none
	Status     models.Status
	Reason     Reason
	Feasible   bool
	Violation  float64 // NaN unless solved or screened
	FirstLimit string  // the limit that fails most; empty if none
	SolveUS    float64 // time of the evaluation, µs: the only value that may differ between two equal runs
}

// Text of a measure that is one; empty where it was not computed.
func (r *Row) Text(m Measure) string {
	if r.texts == nil {
		return ""
	}
	return r.texts[textAt[m]]
}

// SetText sets the text of a measure that is one.
func (r *Row) SetText(m Measure, text string) {
	if !Table[m].IsText() {
		panic("objective: a measure that is no text")
	}
	if r.texts == nil {
		if text == "" {
			return
		}
		r.texts = make([]string, len(texts))
	}
	r.texts[textAt[m]] = text
}

// Kind is the type of a column.
type Kind uint8

const (
	Int Kind = iota
	Float
	Text
	Bool
)

// Cell is one value of a row.
type Cell struct {
	Null  bool
	Int   int64
	Float float64
	Text  string
	Bool  bool
}

// Column is one column of the rows: how it is called and how to reach it.
type Column struct {
	Name     string // ends in its unit
	Unit     string // as printed, empty for a plain number
	Meaning  string
	Kind     Kind
	Nullable bool
	Get      func(*Row) Cell
	Set      func(*Row, Cell)
	// Number, where it is not nil, is Get of a column of kind Float, several times as fast;
	// false: null.
	Number func(*Row) (float64, bool)
}

// Columns returns the columns of rows over the given parameters and measures,
// in the order in which they are stored.
func Columns(parameters []models.Parameter, measures []Measure) []Column {
	texts := func(name, meaning string, nullable bool, get func(*Row) string, set func(*Row, string)) Column {
		return Column{Name: name, Meaning: meaning, Kind: Text, Nullable: nullable,
			Get: func(r *Row) Cell { s := get(r); return Cell{Text: s, Null: nullable && s == ""} },
			Set: func(r *Row, c Cell) { set(r, c.Text) }}
	}
	text := func(name, meaning string, nullable bool, at func(*Row) *string) Column {
		return texts(name, meaning, nullable, func(r *Row) string { return *at(r) }, func(r *Row, s string) { *at(r) = s })
	}
	integer := func(name, meaning string, at func(*Row) *int64) Column {
		return Column{Name: name, Meaning: meaning, Kind: Int,
			Get: func(r *Row) Cell { return Cell{Int: *at(r)} },
			Set: func(r *Row, c Cell) { *at(r) = c.Int }}
	}
	number := func(name, unit, meaning string, nullable bool, at func(*Row) *float64) Column {
		return Column{Name: name, Unit: unit, Meaning: meaning, Kind: Float, Nullable: nullable,
			Number: func(r *Row) (float64, bool) { v := *at(r); return v, !math.IsNaN(v) },
			Get:    func(r *Row) Cell { v := *at(r); return Cell{Float: v, Null: math.IsNaN(v)} },
			Set: func(r *Row, c Cell) {
				*at(r) = c.Float
				if c.Null {
					*at(r) = math.NaN()
				}
			}}
	}
	columns := []Column{
		integer("id", "number of the design, in order of proposal", func(r *Row) *int64 { return &r.ID }),
		integer("generation", "generation that proposed it, 0 in sweeps", func(r *Row) *int64 { return &r.Generation }),
		text("layout", "layout of the stage", false, func(r *Row) *string { return &r.Layout }),
		text("material", "material of the plate", false, func(r *Row) *string { return &r.Material }),
	}
	for i := range parameters {
		p := &parameters[i]
		columns = append(columns, number(p.Unit.Column(p.Name), p.Unit.Symbol, p.Meaning, true,
			func(r *Row) *float64 { return &r.Parameters[i] }))
	}
	for _, m := range measures {
		info := &Table[m]
		if info.IsText() {
			columns = append(columns, texts(info.Column(), info.Meaning, true,
				func(r *Row) string { return r.Text(m) }, func(r *Row, s string) { r.SetText(m, s) }))
			continue
		}
		columns = append(columns, Column{Name: info.Column(), Unit: info.Unit.Symbol, Meaning: info.Meaning, Kind: Float, Nullable: true,
			Number: func(r *Row) (float64, bool) { return r.Measures.Get(m) },
			Get:    func(r *Row) Cell { v, ok := r.Measures.Get(m); return Cell{Float: v, Null: !ok} },
			Set: func(r *Row, c Cell) {
				if !c.Null {
					r.Measures.Set(m, c.Float)
				}
			}})
	}
	return append(columns,
		Column{Name: "status", Meaning: "solved, or why not", Kind: Text,
			Get: func(r *Row) Cell { return Cell{Text: r.Status.String()} },
			Set: func(r *Row, c Cell) {
				s, ok := models.ParseStatus(c.Text)
				if !ok {
					s = models.Failed
				}
				r.Status = s
			}},
		text("reason", "why the status is not solved: a phrase that is the same for all that fail alike; {at}, {value}, {bound}: see the next three", true, func(r *Row) *string { return &r.Reason.Phrase }),
		text("reason_at", "of the reason: name of the blade, number of the body or pose", true, func(r *Row) *string { return &r.Reason.At }),
		number("reason_value", "", "of the reason: what was found, in the unit that the phrase has behind {value}", true, func(r *Row) *float64 { return &r.Reason.Value }),
		number("reason_bound", "", "of the reason: what it had to respect, in the unit behind {bound}", true, func(r *Row) *float64 { return &r.Reason.Bound }),
		Column{Name: "feasible", Meaning: "solved and every limit met", Kind: Bool,
			Get: func(r *Row) Cell { return Cell{Bool: r.Feasible} },
			Set: func(r *Row, c Cell) { r.Feasible = c.Bool }},
		number("violation", "", "sum over failed limits of distance / |bound|, each at most 1; what was not computed adds 1", true, func(r *Row) *float64 { return &r.Violation }),
		text("first_limit", "the limit that fails most", true, func(r *Row) *string { return &r.FirstLimit }),
		number("solve_us", "µs", "time of the evaluation; the only column that differs between equal runs", false, func(r *Row) *float64 { return &r.SolveUS }),
	)
}
