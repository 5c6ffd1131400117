package servo

import (
	"math"

	"flexwright/models/elementary"
)

// Reason says what ends the range of good crossovers.
type Reason uint8

const (
	Ceiling         Reason = iota // nothing up to the highest crossover tried
	Sensitivity                   // |S| of a stable or unstable loop exceeds the limit at a frequency
	UnstableAlone                 // an axis is unstable by itself
	UnstableCoupled               // the axes are unstable together
	Unseen                        // the sensor does not see its own axis at the crossover
	numReason
)

var reasonText = [numReason]string{
	"ceiling of the scan", "sensitivity", "unstable alone", "unstable with the other axis closed", "axis not seen by its sensor",
}

// String returns the words used in tables.
func (r Reason) String() string {
	if r >= numReason {
		panic("servo: unknown reason")
	}
	return reasonText[r]
}

// Reasons lists the words of all.
func Reasons() []string { return reasonText[:] }

// Result is the outcome of [Loop.Crossover].
type Result struct {
	Hz     float64 // highest crossover that holds, ωc/2π; 0 when none does
	Above  float64 // Hz, crossover at which the following was found: just above Hz, or the ceiling
	Reason Reason
	Set    int     // number of the plant
	Pose   int     // and pose
	Scale  float64 // and factor on the mode frequencies at which it fails first
	Axis   int     // 0 x, 1 y
	At     float64 // Hz, frequency of the largest sensitivity found; 0 when instability belongs to none
	Mode   int     // number of the mode nearest to At in that pose, −1 without At
	ModeHz float64 // its frequency, scaled
	Judged int     // number of crossovers judged completely, the measure of the effort
}

// Crossover returns the highest crossover at which, for every plant, pose and scale, each
// axis alone is stable, and with the other axis's loop closed it is stable with |S| at
// most the limit.
//
// The set of good crossovers may have gaps, so it is searched downward from the ceiling in
// steps of Settings.Step; the end of the range found is then located to 1e-5. Most
// crossovers fail where the last one failed: that place is looked at first, and all
// of them are judged only at a crossover that passes there. Where that gets on too slowly,
// because many places fail in turn, the step's lower end is judged completely instead: a good
// range that lies between two steps is then passed over, as anywhere in a scan.
func (l *Loop) Crossover(plants ...*Plant) Result {
	l.Prepare(plants...)
	good, above := l.scan(l.s.Step, 0)
	return l.explain(good, above)
}

// scan returns the highest crossover that holds and one just above that does not, both rad/s; 0 where none does,
// and both the ceiling where that holds. It gives up, with 0, at crossovers below floor (rad/s).
func (l *Loop) scan(step, floor float64) (good, bad float64) {
	low, high := 2*math.Pi*l.s.From, 2*math.Pi*l.s.Ceiling
	if floor > high {
		return 0, high
	}
	if l.holds(high) {
		return high, high
	}
	steps := int(math.Ceil(math.Log(high/low) / math.Log1p(step)))
	ratio := elementary.Pow(low/high, 1/float64(steps))
	above := high
	for i := 1; i <= steps; i++ {
		wc := above * ratio
		if i == steps {
			wc = low
		}
		if above < floor {
			return 0, above
		}
		for n := 0; !l.failsNear(wc); n++ {
			if n == crawl {
				if l.holds(wc) {
					return l.halve(wc, above)
				}
				break
			}
			// Between wc and above, by the places known to fail, lies an end of a good range.
			// Locate it, then judge it completely, which may add a place.
			l.failsKnown(above)
			best, bad := l.end(wc, above)
			for n := 0; n < 20 && best > wc && l.failsKnown(best); n++ {
				best, bad = l.end(wc, best)
			}
			if best < floor {
				return 0, best
			}
			if l.holds(best) {
				return best, bad
			}
			above = best
			if above/wc < 1+1e-5 {
				break
			}
		}
		above = wc
	}
	return 0, low
}

// crawl is how often an end of a good range by the known places may turn out to fail
// elsewhere within one step; one or two is usual.
const crawl = 16

// halve narrows good (holds) and bad (does not), both judged completely, to 1e-5.
func (l *Loop) halve(good, bad float64) (float64, float64) {
	for bad/good > 1+1e-5 {
		if x := math.Sqrt(good * bad); l.holds(x) {
			good = x
		} else {
			bad = x
		}
	}
	return good, bad
}

// holds judges a crossover completely.
func (l *Loop) holds(wc float64) bool {
	l.judged++
	t, ok := l.trial(wc)
	if !ok || l.failsAtWitness(&t, true) || l.failsAlike(&t) {
		return false
	}
	if l.together() {
		for i := range l.inUse / len(l.s.Scales) {
			f := finding{limit2: l.limit2}
			if number := l.sweepScales(i/l.poses, l.poses-1-i%l.poses, &t, &f); f.reason != Ceiling {
				l.addWitness(newWitness(number, &f, &t))
				return false
			}
		}
		return true
	}
	// Nominal frequencies come last: they seldom fail where both scaled ones hold. So
	// does the first pose, the centre in the usual order.
	for i := range l.inUse {
		block, pose := i/l.poses+1, l.poses-1-i%l.poses
		number := block*l.poses%l.inUse + pose
		f := finding{limit2: l.limit2}
		if l.sweep(&l.cases[number], &t, &f); f.reason != Ceiling {
			l.addWitness(newWitness(number, &f, &t))
			return false
		}
	}
	return true
}

// explain says what fails at the crossover above.
func (l *Loop) explain(good, above float64) Result {
	if good == above {
		return Result{Hz: l.s.Ceiling, Above: l.s.Ceiling, Scale: 1, Mode: -1, Judged: l.judged}
	}
	res := Result{Hz: good / (2 * math.Pi), Above: above / (2 * math.Pi), Scale: 1, Mode: -1, Reason: Unseen, Judged: l.judged}
	t, ok := l.trial(above)
	if !ok {
		return res
	}
	// The case that is known to fail there; else the worst of all, and where nothing fails, because above is at the
	// limit to within rounding, the largest |S|.
	var worst finding
	number := -1
	if good > 0 && l.failsAtWitness(&t, false) {
		number = l.hot[0].number
		worst = finding{limit2: l.limit2, whole: true}
		if l.sweep(&l.cases[number], &t, &worst); worst.reason == Ceiling {
			number = -1
		}
	}
	known := number >= 0
	for i := range l.inUse {
		if known {
			break
		}
		f := finding{limit2: l.limit2, whole: true}
		l.sweep(&l.cases[i], &t, &f)
		if number < 0 || rank(&f) > rank(&worst) || rank(&f) == rank(&worst) && f.peak > worst.peak {
			worst, number = f, i
		}
	}
	number = l.firstAlike(number, &t, &worst)
	c := &l.cases[number]
	res.Reason, res.Set, res.Pose, res.Scale, res.Axis = worst.reason, c.set, c.pose, c.scale, l.firstAxis(c, &t, &worst)
	if worst.w > 0 {
		res.At = worst.w / (2 * math.Pi)
		nearest := math.Inf(1)
		for k, w := range c.r.omega {
			if far := math.Abs(math.Log(w * c.scale / worst.w)); far < nearest {
				nearest, res.Mode, res.ModeHz = far, k, w*c.scale/(2*math.Pi)
			}
		}
	}
	return res
}

// rank orders findings by how much is wrong.
func rank(f *finding) int {
	switch f.reason {
	case UnstableAlone:
		return 3
	case UnstableCoupled:
		return 2
	case Sensitivity:
		return 1
	}
	return 0
}
