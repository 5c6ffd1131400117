package fit

import (
	"math"

	"flexwright/models"
	"flexwright/models/mechanics"
	"flexwright/objective"
)

// Proposals are what may well be measured next on the stage of a pinned spec, each as well
// as a workshop does (typical, no source): forces to 0.3 %, frequencies to 0.1 %, masses to
// 0.1 %, sag to 1 %, lost motion to 0.5 µm, a blade to 1 µm by microscope, damping to 10 %, a
// response far below the first frequency to 1 %.
func Proposals(spec *objective.Spec) []Measurement {
	t, stage, v := objective.Built(spec)
	if !v.OK() {
		return nil
	}
	var list []Measurement
	add := func(q Quantity, absolute, relative float64) {
		m, err := NewModel(spec, nil, []Quantity{q})
		var out [1]float64
		if err != nil || !m.Predict(nil, out[:]) || out[0] != out[0] {
			return
		}
		sigma := max(absolute, relative*math.Abs(out[0]))
		list = append(list, Measurement{Quantity: q, Sigma: sigma})
	}
	end := stage.Travel
	corner := [2]float64{end, 0}
	if len(t.Actuators) == 2 {
		corner[1] = end
	}
	add(Quantity{Kind: Force, At: [2]float64{end, 0}}, 0, 0.003)
	add(Quantity{Kind: Stiffness}, 0, 0.003)
	for _, a := range t.Actuators { // by rank the two guided modes at the centre are one
		add(Quantity{Kind: Frequency, Guided: true, Axis: a.Axis}, 0, 0.001)
	}
	add(Quantity{Kind: OutOfPlaneFrequency, Rank: 1}, 0, 0.001)
	add(Quantity{Kind: LostMotion, At: corner}, 0.5e-6, 0)
	if spec.Orientation == mechanics.Flat {
		add(Quantity{Kind: Sag, Body: t.Stage}, 0.1e-6, 0.01)
	}
	add(Quantity{Kind: Mass, Body: Plate}, 0, 0.001)
	for _, b := range t.Carried() {
		if stage.Mounted[b] > 0 {
			add(Quantity{Kind: Mass, Body: b}, 0, 0.001)
		}
	}
	add(Quantity{Kind: Thickness, Blade: 0}, 1e-6, 0)
	add(Quantity{Kind: Damping, Rank: 1}, 0, 0.1)
	first, _ := NewModel(spec, nil, []Quantity{{Kind: Frequency, Rank: 1}})
	var hz [1]float64
	if first.Predict(nil, hz[:]) {
		add(Quantity{Kind: Response, Axis: models.AxisX, Hz: 0.2 * hz[0]}, 0, 0.01)
	}
	return list
}
