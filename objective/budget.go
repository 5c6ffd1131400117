package objective

import (
	"fmt"
	"math"
	"slices"

	"flexwright/models"
	"flexwright/models/drive"
	"flexwright/models/mechanics"
	"flexwright/models/servo"
)

// Budget is a table that shows where a measure of loop or drive comes from.
type Budget struct {
	Title   string
	Columns []string
	Rows    []BudgetRow
}

// BudgetRow is one line of it: a value for each column, NaN where there is none.
type BudgetRow struct {
	Name   string
	Unit   models.Unit
	Values []float64 // in Unit
	Note   string
}

var gainUnit = models.Unit{Symbol: "N/µm", Suffix: "n_per_um", Dimension: models.Stiffness, SI: 1e6}

// row adds a line of values given in SI.
func (b *Budget) row(name string, unit models.Unit, note string, si ...float64) {
	for i := range si {
		si[i] = unit.FromSI(si[i])
	}
	b.Rows = append(b.Rows, BudgetRow{name, unit, si, note})
}

// budgets tells what the loop and the drive of the last candidate are made of: all of
// it, whatever the spec names, as far as one of the two was computed. It allocates.
func (b *Bench) budgets() []Budget {
	var list []Budget
	if b.reached(StepLoop) && b.loop != nil {
		l := b.loop
		list = append(list, b.loopBudget())
		if noise, ok := l.loop.Noise(l.result.Hz, &l.sensed); ok {
			list = append(list, noiseBudget(&noise, b.axes()))
		}
	}
	if b.reached(StepDrive) {
		list = append(list, b.forceBudget(), b.clearanceBudget())
	}
	if b.axes() == 1 {
		for i := range list {
			list[i].drop("y")
		}
	}
	return list
}

// drop leaves a column out.
func (b *Budget) drop(column string) {
	k := slices.Index(b.Columns, column)
	if k < 0 {
		return
	}
	b.Columns = slices.Delete(b.Columns, k, k+1)
	for i := range b.Rows {
		b.Rows[i].Values = slices.Delete(b.Rows[i].Values, k, k+1)
	}
}

func (bench *Bench) loopBudget() Budget {
	l := bench.loop
	b := Budget{Title: "loop at the crossover", Columns: []string{"value", "limit"}}
	none := math.NaN()
	hz := l.result.Hz
	b.row("crossover", models.Hertz, bench.loopEnd(), l.crossover(), none)
	b.row("rule on mode frequencies", models.Hertz, fmt.Sprintf("lowest unwanted mode / %g", l.spec.RuleDivisor), bench.modal.unwanted/l.spec.RuleDivisor, none)
	if hz == 0 {
		return b
	}
	if m, ok := l.loop.Margins(hz); ok {
		b.row("largest |S|, nominal frequencies", models.One, "", m.Peak, l.spec.Settings.SensitivityLimit)
		b.row("phase margin", models.Degree, "", m.Phase, none)
		b.row("gain margin", models.One, "", m.Gain, none)
		b.row("closed loop at -3 dB", models.Hertz, "", m.MinusHz, none)
		b.row("gain on x", gainUnit, "", m.Position[0], none)
		if bench.axes() == 2 {
			b.row("gain on y", gainUnit, "", m.Position[1], none)
		}
	}
	return b
}

func noiseBudget(n *servo.Budget, axes int) Budget {
	b := Budget{Title: "position noise, 1 sigma", Columns: []string{"x", "y"}}
	for s := range servo.NumSources {
		b.row(s.String(), models.Nanometre, "", n.Part[0][s], n.Part[1][s])
	}
	place := func(axis int) string {
		sign := mechanics.PoseSigns[n.Pose[axis]]
		return fmt.Sprintf("(%+g, %+g)", sign[0], sign[1])
	}
	worst := fmt.Sprintf("worst at %+g travel", mechanics.PoseSigns[n.Pose[0]][0])
	if axes == 2 {
		worst = fmt.Sprintf("worst at %s and %s travel", place(0), place(1))
	}
	b.row("root of the sum of squares", models.Nanometre, worst, n.Total[0], n.Total[1])
	return b
}

func (bench *Bench) forceBudget() Budget {
	w := bench.duty
	d, none := &w.numbers, math.NaN()
	motion := &w.spec.Motion.Motion
	title := fmt.Sprintf("force and heat: %s of %g %% of the travel", motion.Kind, 100*motion.Amplitude)
	if w.spec.Motion.Period > 0 {
		title += fmt.Sprintf(" at %g Hz", motion.Frequency)
	}
	title += w.stiffer()
	b := Budget{Title: title, Columns: []string{"x", "y", "allowed"}}
	a := w.spec.Actuator
	allowed := func(f func() float64) float64 {
		if a == nil {
			return none
		}
		return f()
	}
	b.row("moving mass", models.Kilogram, "of the guided mode at the centre", w.load.Mass[0], w.load.Mass[1], none)
	b.row("peak force", models.Newton, "", d.PeakForce[0], d.PeakForce[1], allowed(func() float64 { return a.PeakForce }))
	b.row("rms force", models.Newton, "", d.RMSForce[0], d.RMSForce[1], allowed(func() float64 { return a.ContinuousForce() }))
	if a != nil {
		b.row("power", models.Watt, "", d.Power[0], d.Power[1], none)
		b.row("coil temperature rise", models.Kelvin, "", d.Rise[0], d.Rise[1], a.CoilLimit-a.Ambient)
		b.row("voltage", models.Volt, "", d.Voltage[0], d.Voltage[1], a.MaxVoltage)
	}
	material := bench.stage.Material
	largest, with := 0.0, 0.0
	bench.alongPath(func(amplitude, mean float64) {
		if amplitude > largest || amplitude == largest && mean > with {
			largest, with = amplitude, mean
		}
	})
	b.row("mean stress there", models.Megapascal, "of the blade with the largest amplitude", with, none, none)
	b.row("stress amplitude along the path", models.Megapascal, fmt.Sprintf("allowed for %.3g cycles; this program makes %.3g", material.FatigueCycle, w.cycles()),
		largest, none, drive.FatigueFactor*material.Fatigue)
	return b
}

func (bench *Bench) clearanceBudget() Budget {
	w, none := bench.duty, math.NaN()
	b := Budget{Title: "clearance", Columns: []string{"x", "y", "allowed"}}
	var along, across, low, high, guide [2]float64
	for axis := range bench.axes() {
		low[axis], high[axis], guide[axis] = math.Inf(1), math.Inf(-1), math.Inf(1)
		for i := range bench.scratch.Poses {
			low[axis], high[axis] = min(low[axis], w.gap[axis][i]), max(high[axis], w.gap[axis][i])
			guide[axis] = min(guide[axis], w.guide[axis][i])
		}
	}
	for i := range bench.scratch.Poses {
		r := &bench.poses[i]
		along = [2]float64{max(along[0], math.Abs(r.U[0])), max(along[1], math.Abs(r.V[1]))}
		across = [2]float64{max(across[0], math.Abs(r.V[0])), max(across[1], math.Abs(r.U[1]))}
	}
	stroke, clearance := none, none
	if a := w.spec.Actuator; a != nil {
		stroke, clearance = a.Stroke/2, a.Clearance
	}
	b.row("actuator along its stroke, half", models.Millimetre, "", along[0], along[1], stroke)
	b.row("actuator across its stroke, half", models.Micrometre, "the encoder's run-out, too", across[0], across[1], clearance)
	b.row("gap sensor, static range", models.Micrometre, "encoder minus stage over the poses", high[0]-low[0], high[1]-low[1], none)
	acceleration := func(axis int) float64 { return w.load.Field.Travel * w.spec.Motion.PeakAcceleration[axis] }
	b.row("gap sensor, by acceleration", models.Micrometre, "", w.behind[0]*acceleration(0)/guide[0], w.behind[1]*acceleration(1)/guide[1], none)
	b.row("gap sensor's target", models.Millimetre, "swept by the cross travel, the larger axis", w.gapTarget, w.gapTarget, none)
	return b
}
