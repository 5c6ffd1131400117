package servo

import "math"

// What halves do not settle for all scales at once is divided into quarters with bounds of their own, and judged scale by scale, in columns of their own: for
// most of them a bound of what all scales do is too much, what each of them does is not.

// quartered are the columns of the points of such intervals, ascending. Those of a part are those of the point where it begins.
type quartered struct {
	spots    []spot
	places   []int // among the points
	w        []float64
	parts    [8][]float64
	cos, sin []float64
	nodes    [numNodes][]float64
	bends    [numBends][]float64
	least    [2][]float64
	verdict  []float64
	s        []float64
}

// spot is a point of the interval that ends at point i of the grid, where a part of it begins (see [Loop.nodeBetween]); 0 at its end.
type spot struct{ i, part int }

func (q *quartered) grow(n int) {
	if n -= len(q.w); n <= 0 {
		return
	}
	more := make([]float64, n)
	for _, column := range [...]*[]float64{&q.w, &q.cos, &q.sin, &q.least[0], &q.least[1], &q.verdict, &q.s} {
		*column = append(*column, more...)
	}
	for _, columns := range [...][][]float64{q.parts[:], q.nodes[:], q.bends[:]} {
		for i := range columns {
			columns[i] = append(columns[i], more...)
		}
	}
}

// quarter divides the halves that are not known of the pieces up to one, and bounds the quarters; halves that are known it follows.
func (l *Loop) quarter(whole int, turn *turns, f *finding) {
	k := &l.columns
	q, r := &k.quarters, k.of.r
	q.spots, q.places = q.spots[:0], q.places[:0]
	add := func(place, i, part int) {
		q.places, q.spots = append(q.places, place), append(q.spots, spot{i, part})
	}
	used := r.used
	for n := range whole {
		p := &k.pieces[n]
		if k.known(p) || p.i <= coarsePoints {
			continue
		}
		k.verdict[p.i] = 3
		first, second := &k.pieces[p.halves], &k.pieces[p.halves+1]
		for _, h := range [...]*piece{first, second} {
			if h.verdict < 2 {
				l.turnIn(h, turn, f)
				continue
			}
			add(h.a, h.i, 2*h.part)
			add(r.between(kept*h.i+h.part-1, math.Sqrt(r.w[h.a]*r.w[h.b])), h.i, 2*h.part+1)
			if h == second || second.verdict < 2 {
				add(h.b, h.i, 0)
			}
		}
	}
	n := len(q.spots)
	if n == 0 {
		return
	}
	for i := used; i < r.used; i += lanes {
		r.sumPoints(i, min(i+lanes, r.used))
	}
	k.reach(r)
	q.grow(n + 2*lanes)
	for j, place := range q.places {
		q.w[j] = r.w[place]
		for i := range q.parts {
			q.parts[i][j] = r.parts[i][place]
		}
	}
	for j := 0; j < n; j += lanes {
		var x intervalsAt
		for lane := range lanes {
			at := min(j+lane, n-2)
			if q.spots[at].part == 0 { // between two intervals
				at--
			}
			x[lane], x[lanes+lane], x[2*lanes+lane], x[3*lanes+lane], x[4*lanes+lane] = q.w[at], q.w[at+1], r.bends.root, r.zeta, math.Inf(1) // of row sums nothing is known
		}
		r.boundEight(&x, x[4*lanes:], &q.bends, j)
	}
}

// alone follows one scale through the intervals that are quartered, from where all scales go together to where they do so again.
func (l *Loop) alone(c *loopCase, t *trial, turn *turns, f *finding) (end bool) {
	k := &l.columns
	q, r := &k.quarters, c.r
	n := len(q.spots)
	l.begin(c, t, f.limit2)
	delays(&[delaysColumns][]float64{q.w, q.cos, q.sin}, &[delaysScalars]float64{c.scale * l.s.Delay}, 0, n)
	var points [differColumns][]float64
	points[0], points[1], points[2] = q.w, q.cos, q.sin
	copy(points[differXxRe:], q.parts[:])
	copy(points[differSlope:], q.nodes[:])
	differ(&points, &k.loop, 0, n)
	peaks := [sensitivitiesColumns][]float64{sensitivitiesS: q.s}
	copy(peaks[:], q.nodes[:])
	sensitivities(&peaks, &[sensitivitiesScalars]float64{}, 0, n)
	var a, b node
	for j := range n {
		if !(q.s[j] <= f.limit2) {
			q.node(l, j, &a)
			end = f.noteNode(&a, c.scale, q.spots[j].i) || end
		}
	}
	if end {
		return true
	}
	var cols [settleColumns][]float64
	ends := [numEnd][]float64{q.w, q.parts[1], q.parts[2], q.parts[5], q.parts[6]}
	copy(ends[numEnd-numNodes:], q.nodes[:])
	for i, column := range ends {
		cols[i], cols[numEnd+i] = column, column[1:]
	}
	copy(cols[settleValueX:], q.bends[:])
	cols[settleLeastX], cols[settleLeastY], cols[settleVerdict] = q.least[0], q.least[1], q.verdict
	settle(&cols, &k.limits, 0, n)
	begins := true
	for j, s := range q.spots {
		q.node(l, j, &a)
		if begins {
			k.node(l, q.places[j], &b)
			turn.rest(&b.difference)
		}
		turn.step(&a.difference)
		switch begins = s.part == 0; {
		case begins:
			k.node(l, q.places[j], &b)
			turn.step(&b.difference)
		case q.verdict[j] < 2:
			f.least[0], f.least[1] = min(f.least[0], q.least[0][j]), min(f.least[1], q.least[1][j])
		default:
			q.node(l, j+1, &b)
			if l.within(c, t, &a, &b, s.i, s.part, &r.quarters(s.i)[s.part-4], turn, f, deepest-2) {
				return true
			}
		}
	}
	return false
}

// node is one of the columns.
func (q *quartered) node(l *Loop, j int, n *node) {
	n.w = q.w[j]
	l.columns.read(l, &q.nodes, &q.parts, j, n)
}
