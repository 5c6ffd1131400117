package servo

import "math"

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

// Result is the outcome of [Loop.Bandwidth].
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
}

// Loop is the scratch memory of one worker, sized for a number of poses, modes and plants.
type Loop struct {
	s          Settings
	poses      int
	modes      int     // most that a plant may have
	limit2     float64 // square of the sensitivity limit
	shapeMost  float64 // largest |C|/k at and above the crossover
	shapeSlope float64 // largest |d ln C/d ln ωc| of the same k

	responses []*response // set by set, pose by pose
	cases     []loopCase  // those of the first plant come first, scale by scale
	hot       [4]witness  // cases that failed last
	hots      int
	inUse     int // cases of the plants given
	noise     noiseSums
}

// witness is a place where a crossover failed: a point of a case, or a case as a whole.
type witness struct {
	number, index int // index −1: unstable without a point of large sensitivity

	// of an axis unstable alone: which, and how far the controller may move before it can become stable
	alone bool
	axis  int
	at    trial
	room  float64 // largest |C'/C − 1| at which 1 + L cannot have passed through zero
}

// still reports whether an axis that was unstable alone must be so at t, too: as long as |C' − C| |P| < |1 + C P|
// at all frequencies the encirclements stay (Rouché). With |C P| ≤ 1 + |1 + C P| it is enough that
// |C'/C − 1| < m/(1 + m), m the least |1 + C P|; half of that is used, because m is known at the grid's points only.
func (l *Loop) still(w *witness, t *trial) bool {
	if !w.alone {
		return false
	}
	ratio := t.kx / w.at.kx
	if w.axis == 1 {
		ratio = t.ky / w.at.ky
	}
	move := math.Abs(math.Log(ratio)) + l.shapeSlope*math.Abs(math.Log(t.wc/w.at.wc))
	return math.Expm1(move) < w.room
}

// NewLoop returns scratch for plants of that many poses and at most that many modes, and for at most sets
// plants at once. It returns the errors of [Settings.Validate].
func NewLoop(s Settings, poses, modes, sets int) (*Loop, error) {
	if err := s.Validate(poses); err != nil {
		return nil, err
	}
	if sets < 1 || modes < 1 {
		panic("servo: a loop needs a plant and a mode")
	}
	s.Scales = append([]float64(nil), s.Scales...)
	s.Notches = append([]Notch(nil), s.Notches...)
	l := &Loop{s: s, poses: poses, modes: modes, limit2: s.SensitivityLimit * s.SensitivityLimit}
	for x := 1e-4; x < 1e4; x *= 1.02 {
		q := s.shape(x, 1)
		if x >= 1 {
			l.shapeMost = math.Max(l.shapeMost, 1.01*math.Sqrt(square(q)))
		}
		const h = 1e-4
		l.shapeSlope = math.Max(l.shapeSlope, 1.01*math.Sqrt(square(s.shape(x, 1+h)/q-1))/h)
	}
	for range sets * poses {
		l.responses = append(l.responses, newResponse(modes, &l.s))
	}
	for set := range sets {
		scales := s.Scales
		if set > 0 {
			scales = []float64{1}
		}
		for _, scale := range scales {
			for pose := range poses {
				l.cases = append(l.cases, loopCase{set: set, pose: pose, scale: scale, r: l.responses[set*poses+pose]})
			}
		}
	}
	return l, nil
}

// Settings returns the settings the loop was made with.
func (l *Loop) Settings() Settings { return l.s }

// Prepare takes the plants: the first as it is and with its mode frequencies scaled, the
// others (the payload's least and largest mass) as they are. The arrays must stay unchanged
// while results are asked for. It panics when sizes differ from the loop's.
func (l *Loop) Prepare(plants ...*Plant) {
	if len(plants) == 0 || len(plants)*l.poses > len(l.responses) {
		panic("servo: number of plants")
	}
	for set, p := range plants {
		p.check(l.poses, l.modes)
		for pose := range l.poses {
			l.responses[set*l.poses+pose].prepare(p, pose)
		}
	}
	l.inUse = l.poses * (len(l.s.Scales) + len(plants) - 1)
	for i := range l.cases[:l.inUse] {
		c := &l.cases[i]
		if n := len(c.r.w); len(c.lag) < n {
			c.lag = append(c.lag, make([]complex128, n-len(c.lag))...)
			c.lagDone = append(c.lagDone, make([]bool, n-len(c.lagDone))...)
		}
		clear(c.lagDone[:c.r.n])
		c.countPoles(l.s.Sensor)
	}
	l.hots = 0
}

// countPoles counts the poles at the origin: one integrator for each loop and two for each
// independent rigid-body motion that force moves and sensor sees.
func (c *loopCase) countPoles(sensor Sensor) {
	r := c.r
	var p [4]float64
	for k, w := range r.omega {
		if w > 0 {
			break
		}
		out := r.stage // what any sensor but the arm's sees at low frequency
		if sensor == SensorArm {
			out = r.arm
		}
		for i := range 2 {
			for j := range 2 {
				p[2*i+j] += out[2*k+i] * r.force[2*k+j]
			}
		}
	}
	most := math.Max(math.Max(math.Abs(p[0]), math.Abs(p[3])), math.Max(math.Abs(p[1]), math.Abs(p[2])))
	c.poles = [3]int{1, 1, 2}
	if most == 0 {
		return
	}
	tiny := 1e-9 * most
	if math.Abs(p[0]) > tiny {
		c.poles[0] += 2
	}
	if math.Abs(p[3]) > tiny {
		c.poles[1] += 2
	}
	c.poles[2] += 2
	if math.Abs(p[0]*p[3]-p[1]*p[2]) > tiny*most {
		c.poles[2] += 2
	}
}

// trial returns the crossover wc with its gains: |C P| = 1 at wc at the centre pose of the first plant.
func (l *Loop) trial(wc float64) (t trial, ok bool) {
	r := l.responses[l.s.Centre]
	var p, a plantValue
	r.value(wc, &p, &a)
	if l.s.Sensor == SensorSplit {
		low := l.lowPart(wc)
		for i := range p {
			p[i] = a[i] + low*(p[i]-a[i])
		}
	}
	q := square(l.s.shape(wc, wc) * l.s.lag(wc))
	t.wc = wc
	t.kx = 1 / math.Sqrt(q*square(p[0]))
	t.ky = 1 / math.Sqrt(q*square(p[3]))
	return t, !math.IsInf(t.kx, 0) && !math.IsInf(t.ky, 0)
}

// Bandwidth returns the highest crossover at which, for every plant, pose and scale, each
// axis alone is stable, and with the other axis's loop closed it is stable with |S| at
// most the limit.
//
// The set of good crossovers may have gaps, so it is searched downward from the ceiling in
// steps of Settings.Step; the end of the range found is then located to 1e-5. Most
// crossovers fail where the last one failed: that place is looked at first, and all
// of them are judged only at a crossover that passes there.
func (l *Loop) Bandwidth(plants ...*Plant) Result {
	l.Prepare(plants...)
	low, high := 2*math.Pi*l.s.From, 2*math.Pi*l.s.Ceiling
	if l.holds(high) {
		return Result{Hz: l.s.Ceiling, Above: l.s.Ceiling, Scale: 1, Mode: -1}
	}
	steps := int(math.Ceil(math.Log(high/low) / math.Log1p(l.s.Step)))
	ratio := math.Pow(low/high, 1/float64(steps))
	above := high
	for i := 1; i <= steps; i++ {
		wc := above * ratio
		if i == steps {
			wc = low
		}
		for !l.failsKnown(wc) {
			// Between wc and above, by the places known to fail, lies an end of a good range: halve by
			// the place that failed last, then ask the others. Then judge it completely, which may add a place.
			l.failsKnown(above)
			best, bad := wc, above
			for bad/best > 1+2e-6 {
				if middle := math.Sqrt(best * bad); l.failsAtFirst(middle) {
					bad = middle
				} else {
					best = middle
				}
				if bad/best <= 1+2e-6 && l.failsKnown(best) {
					best, bad = wc, best
				}
			}
			if l.holds(best) {
				return l.explain(best, bad)
			}
			above = best
			if above/wc < 1+1e-5 {
				break
			}
		}
		above = wc
	}
	return l.explain(0, low)
}

// failsKnown looks only near the places where crossovers failed before.
func (l *Loop) failsKnown(wc float64) bool {
	t, ok := l.trial(wc)
	return !ok || l.failsAtWitness(&t, l.hots, false)
}

// failsAtFirst looks only near the place that failed last.
func (l *Loop) failsAtFirst(wc float64) bool {
	t, ok := l.trial(wc)
	return !ok || l.failsAtWitness(&t, min(l.hots, 1), false)
}

func (l *Loop) failsAtWitness(t *trial, first int, far bool) bool {
	for h := range first {
		w := &l.hot[h]
		c := &l.cases[w.number]
		if w.index < 0 {
			if l.still(w, t) {
				l.promote(h)
				return true
			}
			f := finding{limit2: l.limit2}
			if l.sweep(c, t, &f); f.reason != Ceiling {
				*w = newWitness(w.number, &f, t)
				l.promote(h)
				return true
			}
			continue
		}
		f := finding{limit2: l.limit2}
		if l.look(c, t, w.index, far && h == 0, &f); f.reason != Ceiling {
			w.index = f.index
			l.promote(h)
			return true
		}
	}
	return false
}

func (l *Loop) promote(h int) {
	w := l.hot[h]
	copy(l.hot[1:h+1], l.hot[:h])
	l.hot[0] = w
}

func newWitness(number int, f *finding, t *trial) witness {
	w := witness{number: number, index: f.index, alone: f.reason == UnstableAlone, axis: f.axis, at: *t}
	if w.alone {
		m := math.Sqrt(f.least[f.axis])
		w.room = 0.5 * m / (1 + m)
	}
	return w
}

func (l *Loop) addWitness(w witness) {
	if l.hots < len(l.hot) {
		l.hots++
	}
	copy(l.hot[1:l.hots], l.hot[:l.hots-1])
	l.hot[0] = w
}

// holds judges a crossover completely.
func (l *Loop) holds(wc float64) bool {
	t, ok := l.trial(wc)
	if !ok || l.failsAtWitness(&t, l.hots, true) {
		return false
	}
	first := 0
	if l.hots > 0 {
		first = l.hot[0].number
	}
	for i := range l.inUse {
		number := i
		switch { // the case that failed last goes first
		case i == 0:
			number = first
		case i <= first:
			number = i - 1
		}
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
	res := Result{Hz: good / (2 * math.Pi), Above: above / (2 * math.Pi), Scale: 1, Mode: -1, Reason: Unseen}
	t, ok := l.trial(above)
	if !ok {
		return res
	}
	var worst finding
	number := -1
	if good > 0 && l.failsAtWitness(&t, l.hots, false) {
		number = l.hot[0].number
		worst = finding{limit2: l.limit2, whole: true}
		if l.sweep(&l.cases[number], &t, &worst); worst.reason == Ceiling {
			number = -1
		}
	} else if good == 0 {
		for i := range l.inUse {
			f := finding{limit2: l.limit2, whole: true}
			l.sweep(&l.cases[i], &t, &f)
			if f.reason != Ceiling && (number < 0 || rank(&f) > rank(&worst) || rank(&f) == rank(&worst) && f.peak > worst.peak) {
				worst, number = f, i
			}
		}
	}
	if number < 0 { // at the limit to within rounding: the last place that failed
		number = l.hot[0].number
		c := &l.cases[number]
		worst = finding{reason: Sensitivity, index: l.hot[0].index}
		if worst.index >= 0 {
			worst.w = c.r.w[worst.index] * c.scale
		}
	}
	c := &l.cases[number]
	res.Reason, res.Set, res.Pose, res.Scale, res.Axis = worst.reason, c.set, c.pose, c.scale, worst.axis
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
