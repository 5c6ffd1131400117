package evaluator

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"

	"flexwright/objective"
	"flexwright/search"
)

// push asks for a short search around a design: better in one goal, no worse in the
// others, under the limits.
type push struct {
	Goal    int    `json:"goal"`
	Seed    uint64 `json:"seed"`
	Designs int    `json:"designs"`
}

// Bounds and shape of a push.
const (
	mostPushed     = 2000
	pushPopulation = 24
	pushReach      = 0.15 // of each range, to either side
	noWorse        = 1e-9 // of the other goals: rounding is no loss
)

// pushed is how far it is: the best design so far, null as long as none is better.
type pushed struct {
	Done     int     `json:"done"`
	Of       int     `json:"of"`
	Design   *Design `json:"design"`
	Value    Number  `json:"value"` // of the goal
	Feasible int     `json:"feasible"`
}

// push runs the program's own evolution over a box around the design: its varied numbers
// move, layout, material and choices stay.
func (s *Evaluator) push(d *Design, p push) (pushed, error) {
	if p.Goal < 0 || p.Goal >= len(s.spec.Goals) {
		return pushed{}, errors.New("there is no such goal")
	}
	designs := min(max(p.Designs, pushPopulation), mostPushed)
	space, at := s.around(d)
	if len(space) == 0 {
		return pushed{}, errors.New("no number of the brief varies")
	}
	start := make([]float64, len(space))
	for k, i := range at {
		start[k] = float64(d.Values[i])
	}
	plan, err := search.NewEvolve(space, p.Seed, search.EvolveOptions{Population: pushPopulation,
		Generations: (designs + pushPopulation - 1) / pushPopulation, Start: [][]float64{start}})
	if err != nil {
		return pushed{}, fmt.Errorf("cannot search around this design: %w", err)
	}
	begun := s.evaluate(d)
	goals := append([]Number{}, begun.Goals...)
	out := pushed{Of: int(plan.Designs()), Value: Number(math.Inf(1))}
	best, sign := math.Inf(1), 1.0
	if s.spec.Goals[p.Goal].Sense == objective.Most {
		sign = -1
	}
	if begun.Feasible {
		best = sign * float64(goals[p.Goal])
	}
	trial := Design{d.Layout, d.Material, append([]Number{}, d.Values...)}
	_, err = plan.Run(context.Background(), func(_ context.Context, q *search.Proposals) ([]search.Outcome, error) {
		outcomes := make([]search.Outcome, len(q.Points))
		for n, x := range q.Points {
			for k, i := range at {
				trial.Values[i] = Number(x[k])
			}
			s.judge(&trial, p.Goal, begun.Feasible, goals, &outcomes[n])
			if o := &outcomes[n]; o.Feasible() {
				out.Feasible++
				if o.Objectives[0] < best {
					best = o.Objectives[0]
					out.Design = &Design{trial.Layout, trial.Material, append([]Number{}, trial.Values...)}
					out.Value = Number(sign * best)
				}
			}
		}
		out.Done += len(q.Points)
		s.tell(out)
		return outcomes, nil
	})
	return out, err
}

// judge evaluates a design of a push: one objective, and the other goals as limits.
func (s *Evaluator) judge(d *Design, along int, bound bool, goals []Number, o *search.Outcome) {
	s.eval.Evaluate(s.point(d))
	s.row = objective.Row{Parameters: s.row.Parameters}
	s.eval.Fill(&s.row)
	o.Objectives = make([]float64, len(s.spec.Goals))
	s.spec.Outcome(&s.row, o)
	for k, g := range s.spec.Goals {
		if k == along || !bound || !o.Feasible() {
			continue
		}
		before := float64(goals[k])
		if g.Sense == objective.Most {
			before = -before
		}
		if loss := (o.Objectives[k] - before) / math.Max(math.Abs(before), 1e-300); loss > noWorse {
			o.Violation, o.Stage = loss, int(objective.NumSteps)+1
		}
	}
	o.Limits = nil // without a surrogate nobody reads them
	o.Objectives = o.Objectives[along : along+1]
}

// around is the space of the varied numbers near a design, and which parameters they are.
// One that the user has put outside its range stays.
func (s *Evaluator) around(d *Design) (space search.Space, at []int) {
	for k, v := range s.own {
		if v.Target != objective.TargetParameter || v.Choices != nil || s.lacks(d.Layout, v.Index) {
			continue
		}
		q, x := s.space[k], float64(d.Values[v.Index])
		if !(x >= q.From && x <= q.To) {
			continue
		}
		if q.Kind == search.Stepped {
			n := math.Max(1, math.Round(pushReach*(q.To-q.From)/q.Step))
			x = q.From + math.Round((x-q.From)/q.Step)*q.Step
			low, high := math.Max(q.From, x-n*q.Step), math.Min(q.To, x+n*q.Step)
			q.From, q.To = low, high
		} else {
			reach := pushReach * (q.To - q.From)
			q.From, q.To = math.Max(q.From, x-reach), math.Min(q.To, x+reach)
		}
		space, at = append(space, q), append(at, v.Index)
	}
	return space, at
}

func (s *Evaluator) tell(p pushed) {
	if s.Progress == nil {
		return
	}
	text, err := json.Marshal(p)
	if err != nil {
		panic("evaluator: " + err.Error())
	}
	s.Progress(text)
}
