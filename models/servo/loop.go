package servo

import (
	"math"
	"slices"
)

// Loop is the scratch memory of one worker, sized for a number of poses, modes and plants.
type Loop struct {
	s      Settings // with the ratios of the shape in use
	given  int      // of its notches, those that were in the settings
	poses  int
	most   int     // poses that it was made for
	modes  int     // most that a plant may have
	axes   int     // that are driven: 2, or x alone
	limit2 float64 // square of the sensitivity limit
	shapeBounds
	corners     corners
	atCrossover float64 // |C/k|² at the crossover, without delay and notches
	shapes      []tried // the settings' own, then Settings.Shapes

	responses []*response // set by set, pose by pose
	cases     []loopCase  // those of the first plant come first, scale by scale
	fine      ladder      // in Settings.Step
	coarse    ladder      // in four times that
	hot       [4]witness  // cases that failed last
	hots      int
	added     int     // witnesses so far
	inUse     int     // cases of the plants given
	judged    int     // crossovers judged completely by Crossover
	slowest   int     // the case whose sensitivity last rose first
	laggard   laggard // whose closed loop last fell first
	noise     noiseSums
	spread    spread
	columns   columns
}

// NewLoop returns scratch for plants of that many poses and at most that many modes,
// and for at most sets plants at once. It returns the errors of [Settings.Validate].
func NewLoop(s Settings, poses, modes, sets int) (*Loop, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	if sets < 1 || modes < 1 {
		panic("servo: a loop needs a plant and a mode")
	}
	s.Scales = append([]float64(nil), s.Scales...)
	given := len(s.Notches)
	s.Notches = append(make([]Notch, 0, given+s.AutoNotches), s.Notches...)
	l := &Loop{
		s: s, given: given, poses: poses, most: poses, modes: modes, axes: 2, limit2: s.SensitivityLimit * s.SensitivityLimit, spread: newSpread(s.Scales),
	}
	if s.OneAxis {
		l.axes = 1
	}
	for _, shape := range append([]Shape{s.Shape()}, s.Shapes...) {
		if !slices.ContainsFunc(l.shapes, func(t tried) bool { return t.shape == shape }) {
			l.shapes = append(l.shapes, tried{shape: shape, bounds: shape.bounds()})
		}
	}
	l.fine, l.coarse = newLadder(&l.s, l.s.Step), newLadder(&l.s, 4*l.s.Step)
	l.coarse.places = make([]place, len(l.coarse.wc))
	l.Use(l.shapes[0].shape)
	for range sets * poses {
		l.responses = append(l.responses, newResponse(modes, &l.s))
	}
	for set := range sets {
		for _, scale := range s.Scales {
			for pose := range poses {
				l.cases = append(l.cases, loopCase{set: set, pose: pose, scale: scale, r: l.responses[set*poses+pose]})
			}
		}
	}
	return l, nil
}

// SetDamping makes ζ of every mode of the plants that are prepared next another than that of the
// settings; it is kept inside the range of [Settings.Validate].
func (l *Loop) SetDamping(zeta float64) {
	l.s.Damping = min(zeta, MaxDamping)
	for _, r := range l.responses {
		r.zeta, r.bends.root = l.s.Damping, math.Sqrt(1-l.s.Damping*l.s.Damping)
	}
}

// Settings returns the settings the loop was made with.
func (l *Loop) Settings() Settings { return l.s }

// Prepare takes the plants, the first and the others (the payload's least and largest mass) alike with
// every scale of their mode frequencies. The arrays must stay unchanged
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
	l.inUse = l.poses * len(l.s.Scales) * len(plants)
	for i := range l.cases[:l.inUse] {
		c := &l.cases[i]
		if n := len(c.r.w); len(c.through) < n {
			c.through = append(c.through, make([]through, n-len(c.through))...)
			c.done = append(c.done, make([]bool, n-len(c.done))...)
			c.halves = append(c.halves, make([]through, kept*n-len(c.halves))...)
			c.halved = append(c.halved, make([]bool, kept*n-len(c.halved))...)
		}
		clear(c.done[:c.r.n])
		clear(c.halved[:kept*c.r.n])
		clear(c.delayed)
		c.countPoles(l.s.Sensor, l.s.ActuatorDamping > 0, l.axes)
	}
	clear(l.fine.known)
	clear(l.coarse.known)
	clear(l.coarse.places)
	l.hots, l.judged, l.slowest, l.laggard = 0, 0, l.spread.least*l.poses, laggard{} // with the smallest scale |S| usually rises first
}

// countPoles counts the poles at the origin: one integrator for each loop and two for
// each independent rigid-body motion that force moves and sensor sees, one where the
// actuators brake it.
func (c *loopCase) countPoles(sensor Sensor, braked bool, axes int) {
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
	most := max(max(math.Abs(p[0]), math.Abs(p[3])), max(math.Abs(p[1]), math.Abs(p[2])))
	c.poles = [3]int{1, axes - 1, axes}
	if most == 0 {
		return
	}
	tiny := 1e-9 * most
	rigid := 2
	if braked {
		rigid = 1
	}
	if math.Abs(p[0]) > tiny {
		c.poles[0] += rigid
	}
	if math.Abs(p[3]) > tiny {
		c.poles[1] += rigid
	}
	c.poles[2] += rigid
	if math.Abs(p[0]*p[3]-p[1]*p[2]) > tiny*most {
		c.poles[2] += rigid
	}
}
