package dense

import (
	"math"
	"sync"
)

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
	below   int      // of all kept ones: numbers of L below its diagonal
	kept    []int    // their entries

	// What is done with the numbers of a problem, and where these are: K and M, a matrix to factor (its pivots in
	// the end), how each follower follows, L and the reciprocal pivots, their roots.
	made                     sync.Once // when they are first needed
	condense, factor, whiten program
	numbers                  int
	atFactor, atT, atL, atID int
	atRoot, atW              int
	whitens                  [][2]int // entry of what is whitened, and its number
	lower                    [][3]int // row, column and number of the whitened matrix
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
	// Of equals those of few neighbours from the start go first: what joins branches stays to the end, and branches apart.
	first := make([]int, n)
	for u := range n {
		first[u] = len(near[u])
	}
	eliminate := func(which Fate) (steps []step) {
		for {
			next := -1
			for u := range n {
				if !done[u] && fate[u] == which && (next < 0 || len(near[u]) < len(near[next]) || len(near[u]) == len(near[next]) && first[u] < first[next]) {
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
	for _, s := range r.keeps {
		r.kept = append(append(r.kept, s.diagonal), s.row...)
		r.below += len(s.near)
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

// Sum is a number that is added to another one, of a matrix over the pattern or of rows: From is where that of the first problem is among columns, those
// of the others follow it.
type Sum struct{ To, From int }

// Beyond is how many numbers columns must have beyond those that are used: [Batch.Add] reads them.
const Beyond = 12

// Order is the number of unknowns that are kept.
func (r *Reduction) Order() int { return len(r.keeps) }

// Place returns the number of an unknown of the pattern in the reduced problem, -1
// where it is not kept.
func (r *Reduction) Place(unknown int) int { return r.place[unknown] }

// Reduced is the memory of one reduced problem.
type Reduced struct {
	*Reduction
	K, M    []float64 // entries; the reduced problem once Reduce is done
	numbers []float64 // all, these among them
}

// NewReduced returns memory for problems of r.
func NewReduced(r *Reduction) *Reduced {
	r.made.Do(r.compile)
	x := make([]float64, r.numbers)
	return &Reduced{r, x[:r.entries:r.entries], x[r.entries : 2*r.entries : 2*r.entries], x}
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
	x.condense.run(x.numbers)
	t := x.numbers[x.atT:]
	for i := range x.follows {
		s := &x.follows[i]
		if !(x.K[s.diagonal] > 0) {
			return false
		}
		if width > 0 {
			from := rows[s.unknown*width : (s.unknown+1)*width]
			for a, v := range s.near {
				to := rows[v*width:][:len(from)]
				for c, w := range from {
					to[c] += float64(t[a] * w)
				}
			}
		}
		t = t[len(s.near):]
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
	at := x.atT + x.coupled
	for i := len(x.follows) - 1; i >= 0; i-- {
		s := &x.follows[i]
		at -= len(s.near)
		for a, v := range s.near {
			motion[s.unknown] += x.numbers[at+a] * motion[v]
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
// does, and returns the number of negative pivots, a zero or one that is not finite among them, where it ends. A pivot that is no more than rounding of its own
// diagonal counts as not definite: ok is false, as where it is zero or not finite.
func (x *Reduced) Factor(shift float64, swapped bool) (negative int, ok bool) {
	a, b := x.K, x.M
	if swapped {
		a, b = b, a
	}
	f := x.numbers[x.atFactor:][:x.entries]
	if shift == 0 {
		for _, e := range x.kept {
			f[e] = a[e]
		}
	} else {
		for _, e := range x.kept {
			f[e] = a[e] - float64(shift*b[e])
		}
	}
	x.factor.run(x.numbers)
	ok = true
	for i := range x.keeps {
		at := x.keeps[i].diagonal
		switch d := f[at]; {
		case d == 0 || d-d != 0:
			return negative + 1, false
		case d < 0:
			negative++
		case d < rounding*a[at]:
			ok = false
		}
	}
	return negative, ok
}

// rounding is what the pivot of a rigid motion has of its diagonal, with room.
const rounding = 1e-11

// Regular reports whether no pivot of the last Factor is zero or not finite.
func (x *Reduced) Regular() bool {
	for i := range x.keeps {
		if d := x.numbers[x.atFactor+x.keeps[i].diagonal]; d == 0 || d-d != 0 {
			return false
		}
	}
	return true
}

// Solve overwrites z, of as many numbers as there are kept unknowns, with the solution of the problem that Factor
// has factored.
func (x *Reduced) Solve(z []float64) {
	l, id := x.numbers[x.atL:][:x.below], x.numbers[x.atID:][:len(z)]
	at := 0
	for i := range x.keeps {
		from := z[i]
		for _, v := range x.keeps[i].near {
			z[x.place[v]] -= l[at] * from
			at++
		}
	}
	for i := len(x.keeps) - 1; i >= 0; i-- {
		near := x.keeps[i].near
		at -= len(near)
		sum := z[i] * id[i]
		for k, v := range near {
			sum -= l[at+k] * z[x.place[v]]
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
	l := x.numbers[x.atL:]
	for i := range x.keeps {
		from := z[i*width : (i+1)*width]
		for k, v := range x.keeps[i].near {
			to := z[x.place[v]*width:][:len(from)]
			for c, w := range from {
				to[c] -= float64(l[k] * w)
			}
		}
		l = l[len(x.keeps[i].near):]
		root := math.Sqrt(x.numbers[x.atID+i])
		for c := range from {
			from[c] *= root
		}
	}
}

// Whiten writes S⁻¹ A S⁻ᵀ (see [Reduced.Half]) of a, K or M of the reduced problem, as a full matrix; of which the
// lower triangle.
func (x *Reduced) Whiten(a, full []float64) {
	for _, e := range x.whitens {
		x.numbers[e[1]] = a[e[0]]
	}
	x.whiten.run(x.numbers)
	n := len(x.keeps)
	clear(full[:n*n])
	for _, e := range x.lower {
		full[e[0]*n+e[1]] = x.numbers[e[2]]
	}
}
