package servo

import (
	"math"

	"flexwright/models/elementary"
)

// offsets, in units of ζ ω_k, at which a resonance is sampled on either side of ω_k.
// On the circle that a resonance draws in the complex plane they lie at most 70° apart.
var offsets = [...]float64{0.7, 2, 6, 16, 40}

const (
	same         = 0.05 // modes nearer than this, in units of ζ ω, share their points
	fine         = 1.2  // largest ratio of neighbouring frequencies between resonances
	coarse       = 8    // 2³, ratio far below the lowest mode and crossover, where all that happens is the integrator
	coarsePoints = 8
)

// response is the plant of one pose on a grid crowded around its modes. Points are
// computed when first asked for, because most crossovers are settled by a few of them.
type response struct {
	sensor Sensor
	zeta   float64
	brake  float64 // actuator damping, N s/m
	from   float64 // rad/s, lowest crossover
	to     float64 // rad/s, highest crossover

	// this pose's part of the plant
	plant                    *Plant
	modes                    int
	omega, force, arm, stage []float64

	strength []float64 // (modes) largest row sum Σ_j |out_i in_j| of each mode, 1/kg
	before   []float64 // (modes+1) sum of the strengths of the modes before k
	over     []float64 // (modes+1) sum of strength/ω² of the modes from k up
	after    []float64 // (modes+1) sum of the resonances' heights, strength/(2ζω²√(1−ζ²)), of the modes from k up
	bends    modeBends
	reach    []float64 // (modes × kinds) size of the shape at the arms and at the sensors along x and y, kg^-1/2, where actuators brake

	peaks []float64 // (2 modes at most) rad/s, ascending: what the grid crowds around

	quiet []bool // of the intervals that end at a point, see [Loop.listen]
	heard int    // intervals from here on are not known

	low  float64      // rad/s, below it only the integrator acts
	n    int          // number of points
	w    []float64    // rad/s, ascending
	done []bool       // evaluated
	p    []plantValue // at the sensor; at the stage for SensorSplit
	a    []plantValue // at the arm, for SensorSplit only
	most []float64    // bound of the row sums |P_i1| + |P_i2| at the point, every mode by its magnitude

	// the same between the points, see nodeBetween
	halved []bool
	halves []plantValue
	armsOf []plantValue

	plantColumns
	suspension suspension

	armSum, stageSum *modalSum
	pushed, apart    *modalSum // at the actuators, which brake: armSum where the encoders read there, else apart

	// Clusters of points, one for each mode that has points of its own.
	clusters int
	ends     []int     // index of the cluster's last point
	tail     []float64 // see onward; −1: not asked for yet

	rowsOf []float64 // by eight intervals, see rowsIn; −1: not known yet
	near   window    // see nearby
}

// plantValue is [xx, xy, yx, yy], output first, m/N.
type plantValue [4]complex128

func newResponse(modes int, s *Settings) *response {
	r := &response{
		sensor: s.Sensor, zeta: s.Damping, brake: s.ActuatorDamping,
		from: 2 * math.Pi * s.From, to: 2 * math.Pi * s.Ceiling,
		strength: make([]float64, modes), before: make([]float64, modes+1), over: make([]float64, modes+1), after: make([]float64, modes+1),
		peaks: make([]float64, 0, 2*modes),
		ends:  make([]int, 2*modes), tail: make([]float64, 2*modes),
		armSum: newModalSum(modes), stageSum: newModalSum(modes), apart: newModalSum(modes),
		bends: newModeBends(modes, s), reach: make([]float64, numKinds*modes),
	}
	return r
}

// prepare takes the modes of a pose and lays out the grid; nothing is evaluated yet.
func (r *response) prepare(plant *Plant, pose int) {
	m := plant.Modes
	r.plant, r.modes = plant, m
	r.omega = plant.Omega[pose*m : (pose+1)*m]
	r.force = plant.Force[2*pose*m : 2*(pose+1)*m]
	r.arm = plant.Arm[2*pose*m : 2*(pose+1)*m]
	r.stage = plant.Stage[2*pose*m : 2*(pose+1)*m]
	for k := range m {
		in := math.Abs(r.force[2*k]) + math.Abs(r.force[2*k+1])
		arm := max(math.Abs(r.arm[2*k]), math.Abs(r.arm[2*k+1]))
		stage := max(math.Abs(r.stage[2*k]), math.Abs(r.stage[2*k+1]))
		switch r.sensor {
		case SensorStage:
			arm = 0
		case SensorArm:
			stage = 0
		}
		r.strength[k] = in * (arm + stage)
	}
	if r.sensor != SensorStage || r.brake > 0 {
		r.armSum.prepare(r.omega, r.force, r.arm, r.zeta <= farDamping)
	}
	if r.pushed = r.armSum; r.brake > 0 && plant.Apart {
		r.pushed = r.apart
		r.apart.prepare(r.omega, r.force, r.force, r.zeta <= farDamping)
	}
	if r.sensor != SensorArm {
		r.stageSum.prepare(r.omega, r.force, r.stage, r.zeta <= farDamping)
	}
	r.before[0] = 0
	for k := range m {
		r.before[k+1] = r.before[k] + r.strength[k]
	}
	r.over[m], r.after[m] = 0, 0
	for k := m - 1; k >= 0; k-- {
		r.over[k], r.after[k] = r.over[k+1], r.after[k+1]
		if r.strength[k] > 0 {
			x := r.strength[k] / (r.omega[k] * r.omega[k])
			r.over[k] += x
			r.after[k] += x / (2 * r.zeta * r.bends.root)
		}
	}
	r.bends.prepare(r)
	r.suspension.prepare(r)
	if r.brake > 0 {
		for k := range m {
			ax, ay := math.Abs(r.arm[2*k]), math.Abs(r.arm[2*k+1])
			reach := r.reach[numKinds*k : numKinds*(k+1)]
			reach[kindArm], reach[kindX], reach[kindY] = max(math.Abs(r.force[2*k]), math.Abs(r.force[2*k+1])), 0, 0
			if r.sensor != SensorStage {
				reach[kindX], reach[kindY] = ax, ay
			}
			if r.sensor != SensorArm {
				reach[kindX] += math.Abs(r.stage[2*k])
				reach[kindY] += math.Abs(r.stage[2*k+1])
			}
		}
	}
	r.peaks = append(r.peaks[:0], r.omega...)
	if r.brake > 0 {
		r.addLocked()
	}
	r.layGrid()
	for block := range (r.n + lanes - 1) / lanes {
		r.rowsOf[block] = -1
	}
	clear(r.done[:r.n])
	clear(r.bends.done[:r.n])
	clear(r.bends.quarter[:r.n])
	r.bends.quarters = r.bends.quarters[:0]
	r.plantColumns.clear(r.n)
	clear(r.halved[:kept*r.n])
}

// layGrid places the points: sparse far below everything, at most 20 % apart elsewhere, and
// around each mode at [offsets], as far as half way to the neighbouring modes, and half way between
// neighbours that are nearer than that.
func (r *response) layGrid() {
	m := len(r.peaks)
	k := 0
	for k < m && r.peaks[k] == 0 { // rigid-body modes have no resonance
		k++
	}
	low := r.from
	if k < m {
		low = min(low, r.peaks[k])
	}
	low *= 0.3
	r.low = low
	r.n, r.clusters = 0, 0
	x := low / (1 << (3 * coarsePoints))
	for range coarsePoints + 1 {
		r.add(x)
		x *= coarse
	}
	previous := math.Inf(-1)
	for k < m {
		w := r.peaks[k]
		next := k + 1
		for next < m && r.peaks[next]-w < same*r.zeta*w {
			next++
		}
		above := math.Inf(1)
		if next < m {
			above = r.peaks[next]
		}
		for i := len(offsets) - 1; i >= 0; i-- {
			if x := w * (1 - r.zeta*offsets[i]); x > 0.5*(previous+w) {
				r.fill(x)
			}
		}
		r.fill(w)
		for _, o := range offsets {
			if x := w * (1 + r.zeta*o); x < 0.5*(w+above) {
				r.fill(x)
			}
		}
		if above < w*(1+2*r.zeta*offsets[0]) {
			r.fill(0.5 * (w + above))
		}
		r.ends[r.clusters] = r.n - 1
		r.tail[r.clusters] = -1
		r.clusters++
		previous = w
		k = next
	}
	r.fill(max(30*r.to, 3*r.peaks[m-1]))
}

// add appends a point.
func (r *response) add(w float64) {
	if r.n+2*lanes > len(r.w) { // grows to the largest grid met, once
		r.grow()
	}
	r.w[r.n] = w
	r.n++
}

// grow makes room for more points.
func (r *response) grow() {
	const n = 256
	r.w = append(r.w, make([]float64, n)...)
	r.done = append(r.done, make([]bool, n)...)
	r.p = append(r.p, make([]plantValue, n)...)
	r.most = append(r.most, make([]float64, n)...)
	r.rowsOf = append(r.rowsOf, make([]float64, n/lanes)...)
	r.quiet = append(r.quiet, make([]bool, n)...)
	r.halved = append(r.halved, make([]bool, kept*n)...)
	r.halves = append(r.halves, make([]plantValue, kept*n)...)
	r.bends.grow(n)
	r.plantColumns.grow(n)
	if r.sensor == SensorSplit {
		r.a = append(r.a, make([]plantValue, n)...)
		r.armsOf = append(r.armsOf, make([]plantValue, kept*n)...)
	}
}

// fill appends w and, before it, as many points as keep the spacing fine.
func (r *response) fill(w float64) {
	last := r.w[r.n-1]
	if w <= last {
		return
	}
	if gap := w / last; gap > fine {
		steps := 1
		for x := fine; x < gap; x *= fine {
			steps++
		}
		ratio := elementary.Pow(gap, 1/float64(steps))
		for range steps - 1 {
			last *= ratio
			r.add(last)
		}
	}
	r.add(w)
}

// rowsBetween is no less than any row sum |P_i1| + |P_i2| of the undamped actuators' plant between two frequencies, of which b may be infinite. A mode's
// |1/(ω² − w² + 2jζωw)| grows with w up to 1/(2ζ√(1 − ζ²)ω²), somewhat below ω, and falls from there on: one below a counts by what it is there, one above b
// likewise, but for its damping, or by its height, which is that of one in between. Those below a/2 and above 2b are summed together, as if the
// nearest were in the place of each.
func (r *response) rowsBetween(a, b float64) float64 {
	low, high := r.nearby(a, b)
	sum := 0.0
	if low > 0 {
		w := r.omega[low-1]
		sum = r.before[low] / ((a - w) * (a + w))
	}
	k := low
	for ; k < high && r.omega[k] < a; k++ {
		w := r.omega[k]
		sum += r.strength[k] / max((a-w)*(a+w), 2*r.zeta*w*a)
	}
	if math.IsInf(b, 1) {
		return sum + r.after[k]
	}
	if high < len(r.omega) {
		x := b / r.omega[high]
		sum += r.over[high] / (1 - x*x)
	}
	for height := 2 * r.zeta * r.bends.root; k < high; k++ {
		w := r.omega[k]
		least := height * w * w
		if w > b {
			least = max(least, (w-b)*(w+b))
		}
		sum += r.strength[k] / least
	}
	return sum
}

// rowsIn bounds every row sum |P_i1| + |P_i2| in the eight intervals that end at the points of a block: by what is known of them, before that by the modes alone.
func (r *response) rowsIn(block int) float64 {
	if r.rowsOf[block] < 0 {
		r.rowsOf[block] = r.rowsBetween(r.w[max(lanes*block-1, 0)], r.w[min(lanes*(block+1), r.n)-1])
	}
	return r.rowsOf[block]
}

// row bounds the row sums |P_i1| + |P_i2| between two points that are evaluated, i the later one: by how the interval bends where points come by eights, else no mode
// lies strictly between them, so that each is largest at one of the two (a hundredth is for those that share a point).
func (r *response) row(i int) float64 {
	if r.inEights() {
		r.boundPoints(i, i)
		return r.plantColumns.bends[numBends-1][i]
	}
	return 1.01 * (r.most[i-1] + r.most[i])
}

// onward is the bound of every row sum from the last point of a cluster on.
func (r *response) onward(cluster int) float64 {
	if r.tail[cluster] < 0 {
		r.tail[cluster] = r.rowsBetween(r.w[r.ends[cluster]], math.Inf(1))
	}
	return r.tail[cluster]
}

// at evaluates point i unless that is done.
func (r *response) at(i int) {
	if r.inEights() {
		r.points(i, i)
		return
	}
	if r.done[i] {
		return
	}
	r.done[i] = true
	var a *plantValue
	if r.sensor == SensorSplit {
		a = &r.a[i]
	}
	w := r.w[i]
	near, low, high := r.evaluate(w, &r.p[i], a, r.strength)
	const far = 1 / (1 - 1.0/(farRatio*farRatio))
	r.most[i] = near + far*(r.before[low]/(w*w)+r.over[high])
}

// inEights reports whether points are evaluated by eights: where actuators do not brake, with one sensor.
func (r *response) inEights() bool { return r.brake == 0 && r.sensor != SensorSplit }

// half evaluates the plant at w, the place k between points, unless that is done.
func (r *response) half(k int, w float64) (p, arm *plantValue) {
	p = &r.halves[k]
	if r.inEights() { // as columns do, whichever comes first
		i := r.place[k]
		if i == 0 {
			i = r.between(k, w)
			r.sumPoints(i, i+1)
		}
		*p = r.plantColumns.read(i)
		return p, nil
	}
	if r.sensor == SensorSplit {
		arm = &r.armsOf[k]
	}
	if !r.halved[k] {
		r.halved[k] = true
		r.evaluate(w, p, arm, nil)
	}
	return p, arm
}

// value evaluates the plant at any frequency. a is used for SensorSplit only.
func (r *response) value(w float64, p, a *plantValue) { r.evaluate(w, p, a, nil) }

// evaluate is value, and with strengths what [modalSum.at] says of them.
func (r *response) evaluate(w float64, p, a *plantValue, strength []float64) (near float64, low, high int) {
	switch r.sensor {
	case SensorArm:
		near, low, high = r.armSum.at(w, r.zeta, r.omega, strength, p)
	case SensorStage:
		near, low, high = r.stageSum.at(w, r.zeta, r.omega, strength, p)
	default:
		near, low, high = r.stageSum.at(w, r.zeta, r.omega, strength, p)
		r.armSum.at(w, r.zeta, r.omega, nil, a)
	}
	if r.brake > 0 {
		var arm plantValue
		r.pushed.at(w, r.zeta, r.omega, nil, &arm)
		m := r.braked(w, &arm)
		*p = p.times(&m)
		if r.sensor == SensorSplit {
			*a = a.times(&m)
		}
	}
	return near, low, high
}

// index returns the first point at or above w, the last point when there is none.
func (r *response) index(w float64) int {
	low, high := 0, r.n-1
	for low < high {
		if m := (low + high) / 2; r.w[m] < w {
			low = m + 1
		} else {
			high = m
		}
	}
	return low
}
