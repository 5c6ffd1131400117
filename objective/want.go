package objective

// Want says what is to be measured of a stage, and when it is no longer worth it.
// It is read-only and may be shared by benches of one spec.
type Want struct {
	measures [NumSteps][]Measure // in the table's order
	limits   [NumSteps][]Limit   // on measures
	runs     [NumSteps]bool      // the work of the step is needed
	last     Step                // that runs
	needs    Needs               // of all measures together
	modes    modesWanted
	screen   bool
	// Not before this step, so that what is wanted up to it is always measured.
	screenFrom Step
}

// NewWant asks for measures. Where screen is set, a stage that fails one of limits is
// not measured further than the step at which it does.
func NewWant(measures []Measure, limits []Limit, screen bool) *Want {
	w := &Want{screen: screen}
	for m := range NumMeasures {
		for _, k := range measures {
			if k == m {
				info := &Table[m]
				w.measures[info.Step] = append(w.measures[info.Step], m)
				w.runs[info.Step] = true
				w.needs |= info.Needs
				break
			}
		}
	}
	w.runs[StepLoop] = w.runs[StepLoop] || w.needs&NeedsLoop != 0
	w.runs[StepModes] = w.runs[StepModes] || w.runs[StepLoop] || w.runs[StepDrive]
	w.runs[StepStatics] = w.runs[StepStatics] || w.runs[StepModes]
	w.runs[StepBuild] = true
	w.modes = w.modesWanted()
	for step := StepBuild; step < NumSteps; step++ {
		if w.runs[step] {
			w.last = step
		}
	}
	for _, l := range limits {
		if !l.Ref.Parameter {
			step := Table[l.Ref.Index].Step
			w.limits[step] = append(w.limits[step], l)
		}
	}
	return w
}

// modesWanted is how much of modes, and of what happens out of the plane, has to be solved.
type modesWanted uint8

const (
	modesAtCentre modesWanted = iota // in the plane
	modesInPlane                     // at all poses
	modesAll
)

// modesWanted is what the measures need of modes.
func (w *Want) modesWanted() modesWanted {
	level := modesAtCentre
	if w.runs[StepLoop] || w.runs[StepDrive] {
		level = modesInPlane
	}
	for _, m := range w.measures[StepModes] {
		switch m {
		case FirstFrequency:
		case WorstFrequency, FrequencySpread:
			level = max(level, modesInPlane)
		default:
			return modesAll
		}
	}
	for _, m := range w.measures[StepLoop] {
		switch m {
		case OutOfPlaneRatio, ModeRule, BladeModeRatio, BodyModeRatio:
			return modesAll
		}
	}
	return level
}

// fails reports whether one of the limits on the measures of a step, or of one that was
// passed without screening, fails.
func (w *Want) fails(step Step, m *Measures) bool {
	from := step
	if step == w.screenFrom {
		from = StepBuild
	}
	return w.firstFailed(from, step, m) != nil
}

// firstFailed returns the first limit on the measures of some steps that is not met.
func (w *Want) firstFailed(from, to Step, m *Measures) *Limit {
	for step := from; step <= to; step++ {
		for i := range w.limits[step] {
			l := &w.limits[step][i]
			if l.violation(measured(m, Measure(l.Ref.Index))) > 0 {
				return l
			}
		}
	}
	return nil
}
