package fit

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"flexwright/models"
	"flexwright/models/estimate"
	"flexwright/objective"
)

// Unknown is what is to be found, about 0.
type Unknown struct {
	objective.Correction         // its By is not used
	Prior                float64 // standard deviation, SI
	Source               string  // of the prior
}

// Problem is a design and what was measured on its stage.
type Problem struct {
	Spec      *objective.Spec // pinned
	Unknowns  []Unknown
	Measured  []Measurement
	Proposals []Measurement // what may be measured next: no values
	Starts    int           // 0 is 3
}

// Outcome is what the measurements say.
type Outcome struct {
	*Problem
	*estimate.Result
	Topology *models.Topology
	// Undetermined says in words what the measurements do not tell.
	Undetermined []string
	// Confused are the unknowns that cannot be told apart, by groups; Unseen those that
	// no measurement is moved by.
	Confused [][]int
	Unseen   []int
	Next     []Proposal // what each proposal would tell, the one that tells most first
	// Corrections of the spec with the estimate.
	Corrections []objective.Correction
	Prediction  []Prediction

	thickness float64 // of the design's blades, their mean, m
	travel    float64 // half the side of the design's workspace, m
	close     []bool  // of the measured: another mode lies close
}

// Proposal is a further measurement.
type Proposal struct {
	Measurement
	// Ratio is each unknown's standard deviation after it over that before.
	Ratio []float64
	// Gain is by what factor it shrinks the volume that all unknowns may lie in.
	Gain float64
	row  []float64 // scaled derivatives
}

// Default are the unknowns of a fit that names none, and their priors: those of the whole
// stage, what is mounted on each body, and of loop and drive where one of the measurements
// sees them.
func Default(spec *objective.Spec, measured []Measurement) []Unknown {
	t, stage, _ := objective.Built(spec)
	loop, current := false, false
	for i := range measured {
		loop = loop || measured[i].Kind == Damping || Table[measured[i].Kind].Loop
		current = current || measured[i].Current || Table[measured[i].Kind].Loop
	}
	bends := slices.Contains(stage.Yields, true)
	var list []Unknown
	for k := range objective.CorrectionTable {
		kind := objective.Correcting(k)
		switch {
		case kind == objective.CorrectDamping && !loop, kind == objective.CorrectActuatorConstant && !current,
			kind == objective.CorrectProngStiffness && !bends, kind == objective.CorrectThickness:
		case kind == objective.CorrectMountedMass:
			for i, b := range t.Bodies {
				if b.Part == 0 && b.Held != models.HeldAll && stage.Mounted[i] > 0 {
					list = append(list, NewUnknown(spec, kind, b.Name))
				}
			}
		default:
			list = append(list, NewUnknown(spec, kind, ""))
		}
	}
	return list
}

// mountedPrior is that of what is mounted on a body, of its mass, but no less than the
// table's.
const mountedPrior = 0.01

// NewUnknown returns an unknown with the prior of the trade.
func NewUnknown(spec *objective.Spec, kind objective.Correcting, of string) Unknown {
	info := &objective.CorrectionTable[kind]
	u := Unknown{objective.Correction{Kind: kind, Of: of}, info.Unit.ToSI(info.Prior), info.Source}
	if kind == objective.CorrectMountedMass {
		t, stage, _ := objective.Built(spec)
		i := slices.IndexFunc(t.Bodies, func(b models.BodySpec) bool { return b.Name == of })
		u.Prior = max(u.Prior, mountedPrior*stage.Mounted[i])
	}
	return u
}

// Solve estimates the unknowns. It does not predict: see [Outcome.Predict].
func Solve(p *Problem) (*Outcome, error) {
	corrections := make([]objective.Correction, len(p.Unknowns))
	e := &estimate.Problem{Starts: p.Starts}
	if e.Starts == 0 {
		e.Starts = 3
	}
	for k, u := range p.Unknowns {
		corrections[k] = u.Correction
		e.Prior = append(e.Prior, u.Prior)
	}
	list := make([]Quantity, len(p.Measured))
	for i, m := range p.Measured {
		list[i] = m.Quantity
		e.Value, e.Sigma = append(e.Value, m.Value), append(e.Sigma, m.Sigma)
	}
	model, err := NewModel(p.Spec, corrections, list)
	if err != nil {
		return nil, err
	}
	zero, out := make([]float64, len(corrections)), make([]float64, len(list))
	if !model.Predict(zero, out) {
		i := model.lacking(zero)[0]
		return nil, fmt.Errorf("line %d: the design has no %s", p.Measured[i].Line, list[i].Text(model.t))
	}
	e.Predict = func(x, out []float64) bool {
		if !model.Predict(x, out) {
			return false
		}
		for i := range out {
			if Table[list[i].Kind].Unit.Dimension == models.Angle && list[i].Kind != Yaw {
				out[i] = e.Value[i] + math.Remainder(out[i]-e.Value[i], 2*math.Pi)
			}
		}
		return true
	}
	result, err := estimate.Solve(e)
	if err != nil {
		return nil, err
	}
	o := &Outcome{Problem: p, Result: result, Topology: model.t}
	for _, t := range model.nominal.Thickness {
		o.thickness += t / float64(len(model.nominal.Thickness))
	}
	o.close = model.closeModes(o.X)
	o.travel = model.nominal.Travel
	o.propose(corrections)
	o.weak()
	found := slices.Clone(corrections)
	for k := range found {
		found[k].By = o.X[k]
	}
	o.Corrections = objective.Combine(p.Spec.Corrections, found)
	return o, nil
}

// Lacking returns the numbers of the measurements that the design has no value of, a
// place that it does not reach or a mode that it does not have.
func Lacking(spec *objective.Spec, measured []Measurement) ([]int, error) {
	list := make([]Quantity, len(measured))
	for i, m := range measured {
		list[i] = m.Quantity
	}
	model, err := NewModel(spec, nil, list)
	if err != nil || model.Predict(nil, make([]float64, len(list))) {
		return nil, err
	}
	return model.lacking(nil), nil
}

// lacking are the numbers of the quantities that the nominal design has no value of.
func (m *Model) lacking(zero []float64) []int {
	var lacking []int
	for i, q := range m.list {
		own := *m
		own.list, own.places = []Quantity{q}, nil
		for _, p := range m.places {
			if p.at == q.At && Table[q.Kind].Placed {
				p.items = []int{0}
				own.places = []place{p}
			}
		}
		if !own.Predict(zero, make([]float64, 1)) {
			lacking = append(lacking, i)
		}
	}
	return lacking
}

// propose ranks the proposals by what they would tell, made linear at the estimate. Of
// what is proposed and has no value there, nothing is said.
func (o *Outcome) propose(corrections []objective.Correction) {
	for _, m := range o.Proposals {
		model, err := NewModel(o.Spec, corrections, []Quantity{m.Quantity})
		if err != nil {
			continue
		}
		row, ok := model.gradient(o.X, o.Problem.Unknowns)
		if !ok {
			continue
		}
		for k := range row {
			row[k] /= m.Sigma
		}
		open, ratio := o.Shrink(row)
		o.Next = append(o.Next, Proposal{m, ratio, math.Sqrt(1 + open), row})
	}
	slices.SortStableFunc(o.Next, func(a, b Proposal) int { return cmp.Compare(b.Gain, a.Gain) })
}

// gradient of the model's only quantity to each unknown, times its prior.
func (m *Model) gradient(x []float64, unknowns []Unknown) ([]float64, bool) {
	row, at := make([]float64, len(x)), slices.Clone(x)
	var up, down [1]float64
	for k := range x {
		h := 0.01 * unknowns[k].Prior
		at[k] = x[k] + h
		ok := m.Predict(at, up[:])
		at[k] = x[k] - h
		ok = m.Predict(at, down[:]) && ok
		at[k] = x[k]
		if !ok {
			return nil, false
		}
		d := up[0] - down[0]
		if q := m.list[0].Kind; Table[q].Unit.Dimension == models.Angle && q != Yaw {
			d = math.Remainder(d, 2*math.Pi)
		}
		row[k] = d / 0.02
	}
	return row, true
}
