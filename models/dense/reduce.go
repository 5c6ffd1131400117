package dense

import "math"

// Reduction condenses a symmetric problem K, M over a [Pattern] to a part of its
// unknowns: the others follow them as they do at rest and carry their mass along
// (R. J. Guyan, Reduction of stiffness and mass matrices, AIAA J. 3, 1965, 380). That is
// exact for K; M loses what the followers do on their own. It is made once and shared.
//
// Unknowns are eliminated one by one, those of least degree first (D. J. Rose, 1972), over
// the entries that the graph couples: followers first, and then, for the
// factorisation of the reduced problem, the kept ones in the same way.
type Reduction struct {
	n       int    // unknowns of the pattern
	follows []step // in the order of elimination
	keeps   []step // the others, likewise: the order of the reduced problem
	place   []int  // per unknown: its number in the reduced problem, -1 for others
	entries int
	from    [][2]int // entry and its offset over the pattern
	coupled int      // coefficients of all followers
}

// step is the elimination of one unknown.
type step struct {
	unknown  int
	near     []int // unknowns that it is coupled to, all eliminated later
	diagonal int   // entries: its own,
	row      []int // beside near,
	update   []int // and those of each pair a <= b of near
}

// NewReduction prepares the reduction of problems over p, made from the edges;
// fate says what becomes of each unknown.
func NewReduction(p *Pattern, edges [][2]int, fate []Fate) *Reduction {
	n := 3 * p.n
	r := &Reduction{n: n, place: make([]int, n)}
	near := make([]map[int]bool, n)
	for i := range n {
		near[i] = map[int]bool{}
		r.place[i] = -1
	}
	join := func(i, j int) {
		for a := range 3 {
			for b := range 3 {
				if u, v := 3*i+a, 3*j+b; u != v && fate[u] != Drop && fate[v] != Drop {
					near[u][v], near[v][u] = true, true
				}
			}
		}
	}
	for i := range p.n {
		join(i, i)
	}
	for _, e := range edges {
		join(e[0], e[1])
	}
	at := map[[2]int]int{}
	entry := func(u, v int) int {
		key := [2]int{min(u, v), max(u, v)}
		k, ok := at[key]
		if !ok {
			k = r.entries
			at[key] = k
			r.entries++
		}
		return k
	}
	for u := range n { // what the pattern holds
		if fate[u] == Drop {
			continue
		}
		for v := range u + 1 {
			if v != u && !near[u][v] {
				continue
			}
			i, a, j, b := u/3, u%3, v/3, v%3
			offset := 9*i + 3*a + b // of a diagonal block the lower triangle counts
			if i != j {
				block, flipped := p.Block(i, j)
				offset = block + 3*a + b
				if flipped {
					offset = block + 3*b + a
				}
			}
			r.from = append(r.from, [2]int{entry(u, v), offset})
		}
	}
	done := make([]bool, n)
	eliminate := func(which Fate) (steps []step) {
		for {
			next := -1
			for u := range n {
				if !done[u] && fate[u] == which && (next < 0 || len(near[u]) < len(near[next])) {
					next = u
				}
			}
			if next < 0 {
				return steps
			}
			done[next] = true
			s := step{unknown: next, diagonal: entry(next, next)}
			for v := range n {
				if near[next][v] {
					s.near, s.row = append(s.near, v), append(s.row, entry(next, v))
					delete(near[v], next)
				}
			}
			for x, u := range s.near {
				for _, v := range s.near[x:] {
					s.update = append(s.update, entry(u, v))
					if u != v {
						near[u][v], near[v][u] = true, true
					}
				}
			}
			steps = append(steps, s)
		}
	}
	r.follows = eliminate(Follow)
	r.keeps = eliminate(Keep)
	for i, s := range r.keeps {
		r.place[s.unknown] = i
	}
	for _, s := range r.follows {
		r.coupled += len(s.near)
	}
	return r
}

// Fate is what a [Reduction] makes of an unknown.
type Fate uint8

const (
	Keep   Fate = iota
	Follow      // the kept ones, as at rest
	Drop        // it is held
)

// Order is the number of unknowns that are kept.
func (r *Reduction) Order() int { return len(r.keeps) }

// Place returns the number of an unknown of the pattern in the reduced problem, -1
// where it is not kept.
func (r *Reduction) Place(unknown int) int { return r.place[unknown] }

// Reduced is the memory of one reduced problem.
type Reduced struct {
	*Reduction
	K, M   []float64 // entries; the reduced problem once Reduce is done
	factor []float64 // entries
	t      []float64 // how each follower follows, in the order of elimination
	u      []float64 // of one follower
}

// NewReduced returns memory for problems of r.
func NewReduced(r *Reduction) *Reduced {
	f := func(n int) []float64 { return make([]float64, n) }
	return &Reduced{r, f(r.entries), f(r.entries), f(r.entries), f(r.coupled), f(r.n)}
}

// Reduce condenses stiffness and mass over the pattern, and rows (one of width
// numbers per unknown: linear forms of the motion) in place, of which those of the kept
// unknowns then stand first, in the order of the reduced problem. It returns false where
// a follower has no stiffness.
func (x *Reduced) Reduce(stiff, mass, rows []float64, width int) bool {
	clear(x.K)
	clear(x.M)
	for _, e := range x.from {
		x.K[e[0]], x.M[e[0]] = stiff[e[1]], mass[e[1]]
	}
	at := 0
	k, m := x.K, x.M
	for i := range x.follows {
		s := &x.follows[i]
		d := k[s.diagonal]
		if !(d > 0) {
			return false
		}
		id, half := 1/d, 0.5*m[s.diagonal]
		t := x.t[at : at+len(s.near)]
		at += len(s.near)
		w := x.u[:len(t)]
		for a, e := range s.row {
			t[a] = -k[e] * id
			w[a] = m[e] + half*t[a]
		}
		next := 0
		for a, ta := range t {
			ka, wa := k[s.row[a]], w[a]
			for b := a; b < len(t); b++ {
				e := s.update[next]
				next++
				k[e] += ka * t[b]
				m[e] += ta*w[b] + wa*t[b]
			}
			if width > 0 {
				from, to := rows[s.unknown*width:(s.unknown+1)*width], rows[s.near[a]*width:(s.near[a]+1)*width]
				for c, v := range from {
					to[c] += ta * v
				}
			}
		}
	}
	x.gather(rows, width)
	return true
}

// gather brings the rows of the kept unknowns to the front, in the order of the reduced
// problem. Followers' rows are free; cycles among the kept ones are turned.
func (x *Reduced) gather(rows []float64, width int) {
	if width == 0 {
		return
	}
	for i := range x.keeps {
		// where the row of the i-th kept unknown is by now: rows swapped out of the front
		from := x.keeps[i].unknown
		for from < i {
			from = x.keeps[from].unknown
		}
		if from == i {
			continue
		}
		a, b := rows[i*width:(i+1)*width], rows[from*width:(from+1)*width]
		for c := range a {
			a[c], b[c] = b[c], a[c]
		}
	}
}

// Follow writes the motion of all unknowns of the pattern, dropped ones 0, that follows
// from that of the kept ones, z, with what the last Reduce has found.
func (x *Reduced) Follow(z, motion []float64) {
	clear(motion)
	for i := range x.keeps {
		motion[x.keeps[i].unknown] = z[i]
	}
	at := x.coupled
	for i := len(x.follows) - 1; i >= 0; i-- {
		s := &x.follows[i]
		at -= len(s.near)
		for a, v := range s.near {
			motion[s.unknown] += x.t[at+a] * motion[v]
		}
	}
}

// Expand writes a (K or M) as a full matrix of the reduced problem, row-major.
func (x *Reduced) Expand(a, full []float64) {
	n := len(x.keeps)
	clear(full[:n*n])
	for i := range x.keeps {
		s := &x.keeps[i]
		full[i*n+i] = a[s.diagonal]
		for k, v := range s.near {
			j := x.place[v]
			full[i*n+j], full[j*n+i] = a[s.row[k]], a[s.row[k]]
		}
	}
}

// Factor factors K - shift M of the reduced problem, M - shift K if swapped, as [Pattern.Factor]
// does, and returns the number of negative pivots. A pivot that is no more than rounding of its own
// diagonal counts as not definite: ok is false, as where it is zero or not finite.
func (x *Reduced) Factor(shift float64, swapped bool) (negative int, ok bool) {
	a, b := x.K, x.M
	if swapped {
		a, b = b, a
	}
	const rounding = 1e-11
	f := x.factor
	for i, v := range a {
		f[i] = v
		if shift != 0 {
			f[i] -= shift * b[i]
		}
	}
	ok = true
	for i := range x.keeps {
		s := &x.keeps[i]
		d := f[s.diagonal]
		if d == 0 || d-d != 0 {
			return negative, false
		}
		if d < 0 {
			negative++
		} else if d < rounding*a[s.diagonal] {
			ok = false
		}
		id := 1 / d
		next := 0
		for p, e := range s.row {
			l := f[e] * id
			for _, g := range s.row[p:] {
				f[s.update[next]] -= l * f[g]
				next++
			}
		}
		for _, e := range s.row {
			f[e] *= id
		}
		f[s.diagonal] = id
	}
	return negative, ok
}

// Solve overwrites z, of as many numbers as there are kept unknowns, with the solution of the problem that Factor
// has factored.
func (x *Reduced) Solve(z []float64) {
	f := x.factor
	for i := range x.keeps {
		s, from := &x.keeps[i], z[i]
		for k, v := range s.near {
			z[x.place[v]] -= f[s.row[k]] * from
		}
	}
	for i := len(x.keeps) - 1; i >= 0; i-- {
		s := &x.keeps[i]
		sum := z[i] * f[s.diagonal]
		for k, v := range s.near {
			sum -= f[s.row[k]] * z[x.place[v]]
		}
		z[i] = sum
	}
}

// Multiply writes a z into y, a (K or M) symmetric over the reduced problem; y and z differ.
func (x *Reduced) Multiply(a, z, y []float64) {
	for i := range x.keeps {
		y[i] = a[x.keeps[i].diagonal] * z[i]
	}
	for i := range x.keeps {
		s, from, sum := &x.keeps[i], z[i], 0.0
		for k, v := range s.near {
			j, b := x.place[v], a[s.row[k]]
			y[j] += b * from
			sum += b * z[j]
		}
		y[i] += sum
	}
}

// Half overwrites z, one row of width numbers per kept unknown, with S⁻¹ z, where S Sᵀ
// is the positive definite matrix that Factor has factored.
func (x *Reduced) Half(z []float64, width int) {
	f := x.factor
	for i := range x.keeps {
		s := &x.keeps[i]
		from := z[i*width : (i+1)*width]
		for k, v := range s.near {
			l := f[s.row[k]]
			to := z[x.place[v]*width:][:len(from)]
			for c, w := range from {
				to[c] -= l * w
			}
		}
		root := math.Sqrt(f[s.diagonal])
		for c := range from {
			from[c] *= root
		}
	}
}

// Whiten overwrites the full symmetric matrix a of the reduced problem with S⁻¹ A S⁻ᵀ,
// see [Reduced.Half].
func (x *Reduced) Whiten(a []float64) {
	n := len(x.keeps)
	x.Half(a, n)
	for r := range n {
		for c := range r {
			a[c*n+r], a[r*n+c] = a[r*n+c], a[c*n+r]
		}
	}
	x.Half(a, n)
}
