package evaluator

import (
	"math"

	"flexwright/objective"
	"flexwright/search"
)

// description is what the page makes its controls and tables from.
type description struct {
	Layouts    []string    `json:"layouts"`
	Materials  []string    `json:"materials"`
	Parameters []parameter `json:"parameters"`
	Measures   []measure   `json:"measures"`
	Limits     []limit     `json:"limits"`
	Goals      []goal      `json:"goals"`
	Variables  []string    `json:"variables"` // names of the brief's own, in the order of its space: layout, material or a parameter
	Free       [2]bool     `json:"free"`      // layout and material may be chosen
	Columns    []string    `json:"columns"`   // of the parameters
}

type parameter struct {
	Name    string   `json:"name"`
	Unit    string   `json:"unit"`
	Meaning string   `json:"meaning"`
	Rule    string   `json:"rule,omitempty"` // what decides it where it is null
	Varied  bool     `json:"varied"`
	From    Number   `json:"from"` // of its range, else of what makes sense
	To      Number   `json:"to"`
	Step    float64  `json:"step,omitempty"`
	Log     bool     `json:"log,omitempty"`
	Choices []Number `json:"choices,omitempty"`
	Fixed   Number   `json:"fixed"` // as the brief has it; null where it varies or a rule decides
}

type measure struct {
	Column  string `json:"column"`
	Name    string `json:"name"`
	Unit    string `json:"unit"`
	Sense   string `json:"sense,omitempty"`
	Meaning string `json:"meaning"`
}

type limit struct {
	Column  string   `json:"column"`
	AtLeast Number   `json:"at_least"`
	AtMost  Number   `json:"at_most"`
	Layouts []string `json:"layouts"` // that it holds for; null: all
}

type goal struct {
	Column    string `json:"column"`
	Name      string `json:"name"`
	Unit      string `json:"unit"`
	Sense     string `json:"sense"`
	Parameter bool   `json:"parameter,omitempty"`
}

func (s *Evaluator) describe() description {
	d := description{Layouts: []string{}, Materials: []string{}, Variables: []string{}}
	for _, l := range s.spec.Layouts {
		d.Layouts = append(d.Layouts, l.Name())
	}
	for _, m := range s.spec.Materials {
		d.Materials = append(d.Materials, m.Name)
	}
	for i, p := range s.spec.Parameters() {
		d.Columns = append(d.Columns, p.Unit.Column(p.Name))
		d.Parameters = append(d.Parameters, parameter{Name: p.Name, Unit: p.Unit.Symbol, Meaning: p.Meaning, Rule: p.DefaultText,
			From: Number(p.Min), To: Number(p.Max), Fixed: Number(s.spec.Fixed[i])})
	}
	for k, v := range s.own {
		d.Variables = append(d.Variables, s.space[k].Name)
		switch v.Target {
		case objective.TargetLayout:
			d.Free[0] = true
		case objective.TargetMaterial:
			d.Free[1] = true
		default:
			p := &d.Parameters[v.Index]
			p.Varied, p.Fixed = true, Number(math.NaN())
			if v.Choices != nil {
				for _, c := range v.Choices {
					p.Choices = append(p.Choices, Number(c))
				}
				continue
			}
			q := &s.space[k]
			p.From, p.To, p.Log = Number(q.From), Number(q.To), q.Log
			if q.Kind == search.Stepped {
				p.Step = q.Step
			}
		}
	}
	for _, m := range s.spec.Measures {
		info := &objective.Table[m]
		row := measure{Column: info.Column(), Name: info.Name, Unit: info.Unit.Symbol, Meaning: info.Meaning}
		if !info.Explains() {
			row.Sense = info.Sense.String()
		}
		d.Measures = append(d.Measures, row)
	}
	for i := range s.spec.Limits {
		l := &s.spec.Limits[i]
		d.Limits = append(d.Limits, limit{s.spec.Column(l.Ref), Number(l.AtLeast), Number(l.AtMost), l.Layouts})
	}
	for _, g := range s.spec.Goals {
		d.Goals = append(d.Goals, goal{s.spec.Column(g.Ref), s.spec.Name(g.Ref), s.spec.Unit(g.Ref).Symbol, g.Sense.String(), g.Ref.Parameter})
	}
	return d
}

// evaluation is what is known of one design.
type evaluation struct {
	Status     string         `json:"status"`
	Reason     string         `json:"reason,omitempty"`
	Feasible   bool           `json:"feasible"`
	FirstLimit string         `json:"first_limit,omitempty"`
	Parameters []Number       `json:"parameters"` // resolved
	Measures   map[string]any `json:"measures"`   // by column, as show --json has them
	Met        []bool         `json:"met"`        // of each limit; true of one that does not hold for the layout
	Margin     []Number       `json:"margin"`     // the distance within it over the bound; null: not known or without end
	Goals      []Number       `json:"goals"`
}

func (s *Evaluator) evaluate(d *Design) evaluation {
	s.eval.Evaluate(s.point(d))
	s.row = objective.Row{Parameters: s.row.Parameters}
	s.eval.Fill(&s.row)
	r := &s.row
	e := evaluation{Status: r.Status.String(), Reason: r.Reason.Sentence(), Feasible: r.Feasible, FirstLimit: r.FirstLimit,
		Measures: map[string]any{}, Met: []bool{}, Margin: []Number{}, Goals: []Number{}}
	for _, v := range r.Parameters {
		e.Parameters = append(e.Parameters, Number(v))
	}
	for _, m := range s.spec.Measures {
		info := &objective.Table[m]
		switch v, ok := r.Measures.Get(m); {
		case info.IsText() && r.Text(m) != "":
			e.Measures[info.Column()] = r.Text(m)
		case ok:
			e.Measures[info.Column()] = v
		default:
			e.Measures[info.Column()] = nil
		}
	}
	for i := range s.spec.Limits {
		l := &s.spec.Limits[i]
		met, margin := false, math.NaN()
		if v, ok := r.Judged(l); ok {
			met, margin = l.Met(v), l.Margin(v)
		}
		e.Met, e.Margin = append(e.Met, met), append(e.Margin, Number(margin))
	}
	for _, g := range s.spec.Goals {
		v, ok := r.Value(g.Ref)
		if !ok {
			v = math.NaN()
		}
		e.Goals = append(e.Goals, Number(v))
	}
	return e
}
