package servo

import "math"

// piece is a part of the interval that ends at point i (see [Loop.nodeBetween]), between two points.
type piece struct {
	a, b, i, part int
	halves        int // the place of its first half among the pieces, the second comes next; 0 where it has none
	verdict       float64
	least         [2]float64
}

// alikeFrom judges the intervals that end at points of the grid from one to another for all scales at once, by their halves where that needs be, in a look
// at the whole by their quarters, too; else what is not known then is quartered for [Loop.alone], with the verdict 3, or keeps the verdict 2. First it looks at the points, so that a crossover that fails there ends before anything is bounded.
func (l *Loop) alikeFrom(from, to int, turn *turns, f *finding) (end bool) {
	k := &l.columns
	k.of.r.points(from-1, to)
	l.differ(from-1, to)
	cols := [sensitivitiesColumns][]float64{sensitivitiesS: k.s}
	copy(cols[:], k.nodes[:])
	sensitivities(&cols, &[sensitivitiesScalars]float64{}, from-1, to+2-from)
	for i := from - 1; i <= to; i++ {
		if !(k.s[i] <= f.limit2) {
			end = k.note(i, i, f) || end
		}
	}
	if end {
		return true
	}
	l.settlePoints(from, to, true)
	k.pieces = k.pieces[:0]
	for i := from; i <= to; i++ {
		switch v := k.verdict[i]; {
		case v < 2:
			f.least[0], f.least[1] = min(f.least[0], k.least[0][i]), min(f.least[1], k.least[1][i])
			if v > 0 {
				l.turn(i-1, i, turn)
			}
		case max(k.s[i-1], k.s[i]) <= f.limit2:
			k.pieces = append(k.pieces, piece{a: i - 1, b: i, i: i, part: 1, verdict: 2})
		}
	}
	whole := len(k.pieces)
	if l.halvePieces(0, whole, f) || f.whole && l.halvePieces(whole, len(k.pieces), f) {
		return true
	}
	for n := range whole {
		if p := &k.pieces[n]; k.known(p) {
			k.verdict[p.i] = 0
			l.turnIn(p, turn, f)
		}
	}
	if !f.whole {
		l.quarter(whole, turn, f)
	}
	return false
}

// note is noteNode of a point.
func (k *columns) note(i, index int, f *finding) (end bool) {
	n := node{w: k.of.r.w[i]}
	n.s[0], n.s[1] = k.sensitivity(i)
	return f.noteNode(&n, k.of.scale, index)
}

// halvePieces judges the halves of the pieces from one up to another that are not settled, but for those with a middle that exceeds the limit.
func (l *Loop) halvePieces(from, to int, f *finding) (end bool) {
	k := &l.columns
	r := k.of.r
	used := r.used
	least, most := math.MaxInt, 0
	for n := from; n < to; n++ {
		p := &k.pieces[n]
		if p.verdict < 2 || f.whole && k.lost(p, f) {
			continue
		}
		a, b, i, part := p.a, p.b, p.i, p.part
		m := r.between(kept*i+part-1, math.Sqrt(r.w[a]*r.w[b]))
		least, most = min(least, m), max(most, m)
		p.halves = len(k.pieces)
		k.pieces = append(k.pieces, piece{a: a, b: m, i: i, part: 2 * part}, piece{a: m, b: b, i: i, part: 2*part + 1})
	}
	if to == len(k.pieces) {
		return false
	}
	for i := used; i < r.used; i += lanes {
		r.sumPoints(i, min(i+lanes, r.used))
	}
	k.reach(r)
	l.differ(least, most)
	pieces := k.pieces[to:]
	for n := 0; n < len(pieces); n += 2 {
		p := &pieces[n]
		end = k.note(p.b, p.i, f) || end
	}
	if end {
		return true
	}

	size := len(pieces) + lanes - 1
	cut := &k.cut
	for i := range cut {
		if n := size - len(cut[i]); n > 0 {
			cut[i] = append(cut[i], make([]float64, n)...)
		}
	}
	for i, column := range k.ends {
		a, b := cut[i][:len(pieces)], cut[numEnd+i][:len(pieces)]
		for n := range pieces {
			p := &pieces[n]
			a[n], b[n] = column[p.a], column[p.b]
		}
	}
	for i := range r.plantColumns.bends { // the bounds of the whole hold for its parts
		column, to := r.plantColumns.bends[i], cut[settleValueX+i][:len(pieces)]
		for n := range pieces {
			to[n] = column[pieces[n].i]
		}
	}
	below := 0 // of them, the first, where only the integrator acts
	for below < len(pieces) && pieces[below].i <= coarsePoints {
		below++
	}
	settleBelow(cut, &k.limits, 0, below)
	settleScales(cut, &k.limits, below, len(pieces)-below)
	for n := range pieces {
		pieces[n].verdict, pieces[n].least = cut[settleVerdict][n], [2]float64{cut[settleLeastX][n], cut[settleLeastY][n]}
	}
	return false
}

// lost reports whether a half exceeds the limit where it meets the other.
func (k *columns) lost(p *piece, f *finding) bool {
	if p.part == 1 {
		return false
	}
	i := p.b
	if p.part%2 == 1 {
		i = p.a
	}
	x, y := k.sensitivity(i)
	return !(max(x, y) <= f.limit2)
}

// known reports whether a piece is settled, or its halves are.
func (k *columns) known(p *piece) bool {
	return p.verdict < 2 || p.halves > 0 && k.known(&k.pieces[p.halves]) && k.known(&k.pieces[p.halves+1])
}

// turnIn follows the loop through a piece that is known.
func (l *Loop) turnIn(p *piece, turn *turns, f *finding) {
	k := &l.columns
	if p.verdict < 2 {
		f.least[0], f.least[1] = min(f.least[0], p.least[0]), min(f.least[1], p.least[1])
		if p.verdict > 0 {
			l.turn(p.a, p.b, turn)
		}
		return
	}
	l.turnIn(&k.pieces[p.halves], turn, f)
	l.turnIn(&k.pieces[p.halves+1], turn, f)
}

// turn follows the loop from one point to another.
func (l *Loop) turn(a, b int, turn *turns) {
	var n node
	k := &l.columns
	k.node(l, a, &n)
	turn.rest(&n.difference)
	k.node(l, b, &n)
	turn.step(&n.difference)
}
