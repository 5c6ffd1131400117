package servo

import "math"

// A pose is judged column by column: what belongs to the points of its grid, and to points between them, stands in columns, on which the kernels of
// judge.go work, eight numbers side by side where the processor has registers for that. The columns of a point are those of a node; points
// between two of the grid come after the grid.

const (
	numNodes = differShift - differSlope + 1
	numEnd   = settleBW // columns of one end of an interval
	numBends = settleRow - settleValueX + 1
)

// plantColumns are what of a pose does not change with the loop.
type plantColumns struct {
	parts    [8][]float64        // of the plant at the sensor: real parts of xx, xy, yx, yy, then the imaginary parts
	rows     []float64           // larger row sum of magnitudes
	bends    [numBends][]float64 // of the interval that ends at a point: [bend] and its row
	hasBends []bool              // of eight intervals, whether that is known
	place    []int               // of a point between two of the grid, see nodeBetween; 0: nowhere
	first    int                 // where such points begin
	used     int                 // and end
}

func (p *plantColumns) grow(n int) {
	for k := range p.parts {
		p.parts[k] = append(p.parts[k], make([]float64, n)...)
	}
	for k := range p.bends {
		p.bends[k] = append(p.bends[k], make([]float64, n)...)
	}
	p.rows = append(p.rows, make([]float64, n)...)
	p.hasBends = append(p.hasBends, make([]bool, n/lanes)...)
	p.place = append(p.place, make([]int, kept*n)...)
}

// clear forgets all for a grid of n points.
func (p *plantColumns) clear(n int) {
	clear(p.hasBends[:(n+lanes-1)/lanes])
	clear(p.place[:kept*n])
	p.first = (n + lanes - 1) / lanes * lanes
	p.used = p.first
}

// points evaluates points of the grid from one to another, by eights, unless that is done.
func (r *response) points(from, to int) {
	for i := from - from%lanes; i <= to; i += lanes {
		if r.done[i] {
			continue
		}
		first := i
		for ; i <= to && !r.done[i]; i += lanes {
			r.done[i] = true
			r.sumPoints(i, min(i+lanes, r.n))
		}
		cols := [rowSumsColumns][]float64{rowSumsRow: r.rows}
		copy(cols[:], r.parts[:])
		rowSums(&cols, &[rowSumsScalars]float64{}, first, i-first)
	}
}

// read is the plant at a point that is evaluated.
func (p *plantColumns) read(i int) (v plantValue) {
	for k := range v {
		v[k] = complex(p.parts[k][i], p.parts[4+k][i])
	}
	return v
}

// boundPoints bounds the intervals that end at points from one to another, unless that is done.
func (r *response) boundPoints(from, to int) {
	for i := from - from%lanes; i <= to; i += lanes {
		if !r.hasBends[i/lanes] {
			r.boundBlock(i)
		}
	}
}

// boundBlock bounds the eight intervals that the one ending at point i is among.
func (r *response) boundBlock(i int) {
	i -= i % lanes
	r.hasBends[i/lanes] = true
	last := r.n - 1
	r.points(max(i-1, 0), min(i+lanes-1, last))
	m := &r.bends
	var x intervalsAt
	for l := range lanes {
		k := min(max(i+l, 1), last)
		x[l], x[lanes+l], x[2*lanes+l], x[3*lanes+l], x[4*lanes+l] = r.w[k-1], r.w[k], m.root, r.zeta, r.rows[k-1]
	}
	r.boundEight(&x, r.rows[i:], &r.plantColumns.bends, i)
	most := 0.0
	for _, x := range r.plantColumns.bends[numBends-1][i : i+lanes] {
		most = max(most, x)
	}
	r.rowsOf[i/lanes] = most
}

// boundEight bounds eight intervals, ascending, with the row sums at their upper ends, in columns from i on.
func (r *response) boundEight(x *intervalsAt, rows []float64, to *[numBends][]float64, i int) {
	m := &r.bends
	low, high := r.nearby(x[0], x[2*lanes-1])
	var sums intervalSums
	sumIntervals(r.omega[low:high], m.strength[weights*low:weights*high], x, m.poles, &sums, lanes)
	var cols [boundColumns][]float64
	row := func(of []float64, k int) []float64 { return of[lanes*k : lanes*k+2*lanes-1] }
	cols[boundA], cols[boundB], cols[boundARow], cols[boundBRow] = row(x[:], 0), row(x[:], 1), row(x[:], 4), rows
	for k := range numSums {
		cols[boundSumValueX+k] = row(sums[:], k)
	}
	for k := range numBends {
		cols[boundValueX+k] = to[k][i:]
	}
	far := m.far(x[0], x[2*lanes-1], low, high, r.omega)
	copy(far[boundByBeforeX:], m.before[weights*low:weights*(low+1)])
	copy(far[boundByOverX:], m.over[weights*high:weights*(high+1)])
	bound(&cols, &far, 0, lanes)
}

// far is what the sums of strengths of the modes before low, and of strengths over ω² of those from high up, are multiplied by for their values, slopes
// and bends from a to b, those before with powers of 1/a besides: |t| ≤ 1/(x² (1 − ρ²)) with x = a or the mode's frequency, its poles no nearer
// than x (1 − ρ) and x, ρ the ratio of the nearest mode and the interval.
func (m *modeBends) far(a, b float64, low, high int, omega []float64) (by [boundScalars]float64) {
	factors := func(to []float64, ratio, q float64) {
		value, near := 1/(1-ratio*ratio), 1/(1-ratio)
		to[0], to[1], to[2] = value, value*(near+1)*q, value*(near*near+near+1)*q*q
	}
	if low > 0 {
		factors(by[boundByBelowValue:], omega[low-1]/a, 1)
	}
	if high < len(omega) {
		factors(by[boundByAboveValue:], b/omega[high], 1/omega[high])
	}
	return by
}

// between is where the place k between points is among the points, see [Loop.nodeBetween]; a new one comes last.
func (r *response) between(k int, w float64) int {
	if r.place[k] == 0 {
		if r.used+2*lanes > len(r.w) {
			r.grow()
		}
		r.place[k] = r.used
		r.w[r.used] = w
		r.used++
	}
	return r.place[k]
}

// columns are the scratch memory of a judgement of one case.
type columns struct {
	of       *loopCase
	loop     [differScalars]float64
	limits   [settleScalars]float64
	nodes    [numNodes][]float64
	ends     [numEnd][]float64 // of a point: frequency, P_xy, P_yx, node
	s        []float64         // |S|² of the axis where it is larger
	least    [2][]float64      // |1 + L_x| and |1 + L_y| at least, of the interval that ends at a point
	verdict  []float64         // 0 settled, and nothing crosses the real axis; 1 settled; 2 not
	pieces   []piece
	quarters quartered
	cut      [settleColumns][]float64 // columns of pieces
}

// inColumns reports whether a loop can be judged in columns: one of two axes, with a sensor whose signal is not split, without notches or
// actuators that brake.
func (l *Loop) inColumns() bool {
	return l.axes == 2 && !l.s.OtherAxisOpen && l.s.Sensor != SensorSplit && l.s.ActuatorDamping == 0 && len(l.s.Notches) == 0
}

// begin makes the columns those of a case.
func (l *Loop) begin(c *loopCase, t *trial, limit2 float64) {
	k, q, r := &l.columns, &l.corners, c.r
	f, most := 1/(c.scale*c.scale), negligible(limit2)
	wide := l.spread.wide
	k.of = c
	k.loop = [differScalars]float64{c.scale, q.a, q.b, q.real, q.cd, q.sum, t.per, q.c, q.d, wide, l.s.Delay * wide, f, t.kx, t.ky, l.s.Delay, l.spread.far}
	k.limits = [settleScalars]float64{f, l.spread.far, t.kx, t.ky, math.Sqrt(limit2), limit2, most, 1 - most}
	k.reach(r)
}

// reach makes the columns as long as those of a pose.
func (k *columns) reach(r *response) {
	if n := len(r.w) - len(k.verdict); n > 0 {
		for i := range k.nodes {
			k.nodes[i] = append(k.nodes[i], make([]float64, n)...)
		}
		for i := range k.least {
			k.least[i] = append(k.least[i], make([]float64, n)...)
		}
		k.s = append(k.s, make([]float64, n)...)
		k.verdict = append(k.verdict, make([]float64, n)...)
	}
	p := &r.parts
	k.ends = [numEnd][]float64{r.w, p[1], p[2], p[5], p[6]}
	copy(k.ends[numEnd-numNodes:], k.nodes[:])
}

// delay writes the delay's columns of a case at points from one to another, unless that is done.
func (l *Loop) delay(c *loopCase, from, to int) {
	r := c.r
	if n := len(r.w) - len(c.cos); n > 0 {
		c.cos, c.sin = append(c.cos, make([]float64, n)...), append(c.sin, make([]float64, n)...)
		c.delayed = append(c.delayed, make([]bool, n/lanes)...)
	}
	cols := [delaysColumns][]float64{r.w, c.cos, c.sin}
	time := [delaysScalars]float64{c.scale * l.s.Delay}
	for i := from - from%lanes; i <= to; i += lanes {
		if !c.delayed[i/lanes] {
			c.delayed[i/lanes] = i+lanes <= max(r.first, r.used) // points between may still come
			delays(&cols, &time, i, lanes)
		}
	}
}

// differ writes the nodes of points that are evaluated, from one to another.
func (l *Loop) differ(from, to int) {
	k := &l.columns
	c := k.of
	l.delay(c, from, to)
	cols := [differColumns][]float64{c.r.w, c.cos, c.sin}
	copy(cols[differXxRe:], c.r.parts[:])
	copy(cols[differSlope:], k.nodes[:])
	differ(&cols, &k.loop, from, to+1-from)
}

// judgePoints judges the intervals that end at points of the grid from one to another.
func (l *Loop) judgePoints(from, to int, together bool) {
	l.columns.of.r.points(from-1, to)
	l.differ(from-1, to)
	l.settlePoints(from, to, together)
}

// settlePoints is judgePoints where the nodes are there.
func (l *Loop) settlePoints(from, to int, together bool) {
	k := &l.columns
	r := k.of.r
	r.boundPoints(from, to)
	k.reach(r)
	var cols [settleColumns][]float64
	for i, column := range k.ends {
		cols[i], cols[numEnd+i] = column, column[1:]
	}
	for i, column := range r.plantColumns.bends {
		cols[settleValueX+i] = column[1:]
	}
	cols[settleLeastX], cols[settleLeastY], cols[settleVerdict] = k.least[0][1:], k.least[1][1:], k.verdict[1:]
	if !together {
		settle(&cols, &k.limits, from-1, to+1-from)
		return
	}
	if from <= coarsePoints { // below that only the integrator acts
		settleBelow(&cols, &k.limits, from-1, min(to, coarsePoints)+1-from)
		from = coarsePoints + 1
	}
	settleScales(&cols, &k.limits, from-1, to+1-from)
}

// node is one of the columns.
func (k *columns) node(l *Loop, i int, n *node) {
	n.w = k.of.r.w[i]
	k.read(l, &k.nodes, &k.of.r.parts, i, n)
}

// read is a node in columns.
func (k *columns) read(l *Loop, v *[numNodes][]float64, p *[8][]float64, i int, n *node) {
	at := func(k int) float64 { return v[k-differSlope][i] }
	n.x = complex(at(differXRe), at(differXIm))
	n.y = complex(at(differYRe), at(differYIm))
	n.det = complex(at(differDetRe), at(differDetIm))
	n.shape, n.free = at(differSize)*at(differSize), 1
	f := k.loop[differByF]
	n.across = [2]float64{f * (math.Abs(p[1][i]) + math.Abs(p[5][i])), f * (math.Abs(p[2][i]) + math.Abs(p[6][i]))}
	n.s[0], n.s[1] = l.sensitivity(&n.difference)
}

// sensitivity is |S|² of both axes at a point.
func (k *columns) sensitivity(i int) (x, y float64) {
	size := func(re, im int) float64 {
		return k.nodes[re-differSlope][i]*k.nodes[re-differSlope][i] + k.nodes[im-differSlope][i]*k.nodes[im-differSlope][i]
	}
	q := 1 / size(differDetRe, differDetIm)
	return size(differYRe, differYIm) * q, size(differXRe, differXIm) * q
}

// peaks returns |S|² of the axis where it is larger at points of a case's grid, those from one to another, each at its place.
func (l *Loop) peaks(c *loopCase, t *trial, from, to int) []float64 {
	k := &l.columns
	k.reach(c.r)
	if l.inColumns() {
		c.r.points(from, to)
		l.delay(c, from, to)
		q := &l.corners
		cols := [peaksColumns][]float64{peaksW: c.r.w, peaksCos: c.cos, peaksSin: c.sin, peaksS: k.s}
		copy(cols[peaksXxRe:], c.r.parts[:])
		of := [peaksScalars]float64{
			peaksByA: q.a, peaksByB: q.b, peaksByFirst: q.real, peaksByCd: q.cd, peaksBySum: q.sum,
			peaksByScale: c.scale, peaksByPer: t.per, peaksByF: 1 / (c.scale * c.scale), peaksByKx: t.kx, peaksByKy: t.ky,
		}
		peaks(&cols, &of, from, to+1-from)
		return k.s
	}
	var n node
	for i := from; i <= to; i++ {
		l.node(c, i, t, &n)
		k.s[i] = max(n.s[0], n.s[1])
	}
	return k.s
}
