package mechanics

import (
	"fmt"
	"math"

	"flexwright/models"
	"flexwright/models/blade"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/lapack/gonum"
)

// Subdivision turns a stage into the same stage with several segments per
// blade, for the same mechanics: a check on one element per blade. Between the
// segments stand bodies without mass, numbered behind the stage's own, whose
// numbers stay; the segments of blade i are i·N … i·N+N-1, from root to tip. A
// segment has its share of its blade's clamped-strip factors.
//
// Out of the plane a blade stays one: the clamps of its ends belong to the whole,
// but its centreline is that of the segments.
type Subdivision struct {
	N      int // segments per blade
	Coarse *Model
	Fine   *Model
	stage  *models.Stage
	chains []innerNodes
}

// innerNodes are those of one blade, with the offsets of their blocks over the fine pattern.
type innerNodes struct {
	root, tip int // nodes of the coarse model, -1 when fixed
	inner     []int
	diagonal  []int // per inner node
	next      []int // coupling of an inner node to the next one
	nextFlips []bool
	rootAt    int // coupling of the first to the root, -1 when fixed
	tipAt     int
	rootFlips bool // the block's rows belong to the inner node
	tipFlips  bool
	// of the coarse pattern
	couple      int
	coupleFlips bool // rows belong to the tip
}

// NewSubdivision subdivides the blades of a topology into n segments, n >= 2.
func NewSubdivision(t *models.Topology, n int) *Subdivision {
	if n < 2 {
		panic("mechanics: a subdivision has at least two segments per blade")
	}
	fine := *t
	fine.Bodies = append([]models.BodySpec(nil), t.Bodies...)
	fine.Blades = nil
	fine.Segments = n
	for i, b := range t.Blades {
		from := b.From
		for k := range n {
			to := b.To
			if k < n-1 {
				to = len(fine.Bodies)
				fine.Bodies = append(fine.Bodies, models.BodySpec{Name: fmt.Sprintf("blade-%d/%d", i+1, k+1)})
			}
			fine.Blades = append(fine.Blades, models.BladeSpec{From: from, To: to})
			from = to
		}
	}
	u := &Subdivision{N: n, Coarse: NewModel(t), Fine: NewModel(&fine)}
	u.stage = models.NewStage(&fine)
	for i, b := range t.Blades {
		c := innerNodes{root: u.Coarse.Node[b.From], tip: u.Coarse.Node[b.To], rootAt: -1, tipAt: -1,
			couple: u.Coarse.blades[i].couple, coupleFlips: u.Coarse.blades[i].coupleFlips}
		p := u.Fine.Pattern
		for k := range n - 1 {
			node := u.Fine.Node[fine.Blades[i*n+k].To]
			c.inner = append(c.inner, node)
			offset, _ := p.Block(node, node)
			c.diagonal = append(c.diagonal, offset)
			if k > 0 {
				at, flips := p.Block(c.inner[k-1], node)
				c.next, c.nextFlips = append(c.next, at), append(c.nextFlips, flips)
			}
		}
		if c.root >= 0 {
			c.rootAt, c.rootFlips = p.Block(u.Fine.Node[b.From], c.inner[0])
		}
		if c.tip >= 0 {
			c.tipAt, c.tipFlips = p.Block(u.Fine.Node[b.To], c.inner[n-2])
		}
		u.chains = append(u.chains, c)
	}
	return u
}

// Fill returns the subdivided stage of st, in memory that the next call
// overwrites. Fillets stay at the ends of the blades.
func (u *Subdivision) Fill(st *models.Stage) *models.Stage {
	f, n := u.stage, u.N
	nb := len(u.Coarse.Topology.Bodies)
	for _, c := range [][2][]float64{{f.X, st.X}, {f.Y, st.Y}, {f.Z, st.Z}, {f.Mass, st.Mass}, {f.Ix, st.Ix}, {f.Iy, st.Iy}, {f.Ixy, st.Ixy}, {f.Iz, st.Iz}} {
		copy(c[0], c[1])
		clear(c[0][nb:])
	}
	copy(f.ActX, st.ActX)
	copy(f.ActY, st.ActY)
	copy(f.ActZ, st.ActZ)
	copy(f.ActAlong, st.ActAlong)
	copy(f.ActAcross, st.ActAcross)
	f.EncX, f.EncY, f.EncZ, f.GapX, f.GapY, f.GapZ = st.EncX, st.EncY, st.EncZ, st.GapX, st.GapY, st.GapZ
	f.Material, f.Payload, f.RootStiffness = st.Material, st.Payload, st.RootStiffness
	copy(f.Links, st.Links)
	copy(f.Springs, st.Springs)
	f.Loads, f.Travel, f.UpTo, f.Frame = st.Loads, st.Travel, st.UpTo, st.Frame
	body := nb
	for i := range u.Coarse.Topology.Blades {
		dx, dy := (st.TipX[i]-st.RootX[i])/float64(n), (st.TipY[i]-st.RootY[i])/float64(n)
		length := float64(n) * math.Sqrt(dx*dx+dy*dy)
		factor, stretch := st.BendingFactor[i], st.StretchFactor[i]
		share := func(int) float64 { return factor }
		if factor == 0 {
			s := blade.BendingFactor(length, st.Thickness[i], st.Width[i], st.Poisson[i])
			arc := blade.ArcFactor(length, st.Thickness[i], st.Width[i], st.Poisson[i])
			short, _ := blade.ClampShortening(st.Width[i]/length, s, arc)
			share = segmentFactors(n, s, arc, short)
			stretch = blade.ClampStretchFactor(st.Width[i]/length, st.Poisson[i])
		}
		for k := range n {
			e := i*n + k
			f.RootX[e], f.RootY[e] = st.RootX[i]+float64(k)*dx, st.RootY[i]+float64(k)*dy
			f.TipX[e], f.TipY[e] = st.RootX[i]+float64(k+1)*dx, st.RootY[i]+float64(k+1)*dy
			f.Thickness[e], f.Width[e], f.Young[e], f.Poisson[e] = st.Thickness[i], st.Width[i], st.Young[i], st.Poisson[i]
			f.Density[e], f.BendingFactor[e], f.StretchFactor[e], f.Fillet[e] = st.Density[i], share(k), stretch, 0
			f.Yields[e], f.RootBar[e], f.TipBar[e] = st.Yields[i], models.Bar{}, models.Bar{}
			if k == 0 || k == n-1 {
				f.Fillet[e] = st.Fillet[i]
			}
			if k == 0 {
				f.RootBar[e] = st.RootBar[i]
			}
			if k == n-1 {
				f.TipBar[e] = st.TipBar[i]
			}
			if k < n-1 {
				f.X[body], f.Y[body] = f.TipX[e], f.TipY[e]
				body++
			}
		}
		f.TipX[i*n+n-1], f.TipY[i*n+n-1] = st.TipX[i], st.TipY[i]
	}
	return f
}

// segmentFactors returns the factors on E I of n segments, from an end to the middle: three
// groups of n/6 at least, with which the blade has the factor s when it bends into an S and arc when
// it bends into an arc, and shortens by short more than a beam as it bends into an S
// ([blade.ClampShortening]): clamps stiffen its ends. With x from the middle and lengths
// in that of the blade, over the flexibilities φ of the groups,
//
//	∫ φ = 1/arc,  ∫ 12 x² φ = 1/s,  ∫ (240 x⁴ - 36 x²) φ = -short/s
//
// the last to the first order in what φ differs along the blade. Fewer than five segments
// have the factor s.
func segmentFactors(n int, s, arc, short float64) func(k int) float64 {
	if n < 5 {
		return func(int) float64 { return s }
	}
	outer := max(n/6, 1)
	second := max((n/2-outer)/2, 1)
	edge := [4]float64{0.5, 0.5 - float64(outer)/float64(n), 0.5 - float64(outer+second)/float64(n), 0}
	var m, inverse [9]float64
	for g := range 3 {
		// ∫ 1, ∫ 12 x², ∫ 240 x⁴ - 36 x² over the group, at both ends of the blade
		a, b := edge[g], edge[g+1]
		a3, b3 := cube(a), cube(b)
		m[g], m[3+g], m[6+g] = 2*(a-b), 8*(a3-b3), 96*(a3*a*a-b3*b*b)-24*(a3-b3)
	}
	invert(&m, &inverse)
	var factor [3]float64
	for g := range factor {
		factor[g] = 1 / (inverse[3*g]/arc + inverse[3*g+1]/s - inverse[3*g+2]*short/s)
	}
	return func(k int) float64 {
		switch k = min(k, n-1-k); {
		case k < outer:
			return factor[0]
		case k < outer+second:
			return factor[1]
		}
		return factor[2]
	}
}

// condense reduces stiffness k, mass and rows (width per unknown) over the fine
// model to the coarse one's, kc, mc, rc: the inner nodes of each blade follow its ends as
// they do at rest (R. J. Guyan, Reduction of stiffness and mass matrices, AIAA J. 3, 1965, 380).
// That is exact for the stiffness and leaves out only the blades' own modes.
func (u *Subdivision) condense(k, mass, rows, kc, mc, rc []float64, width int) {
	clear(kc)
	clear(mc)
	clear(rc)
	for node, b := range u.Coarse.Body {
		fine := u.Fine.Node[b]
		copy(kc[9*node:9*node+9], k[9*fine:9*fine+9])
		copy(mc[9*node:9*node+9], mass[9*fine:9*fine+9])
		copy(rc[3*node*width:(3*node+3)*width], rows[3*fine*width:(3*fine+3)*width])
	}
	for i := range u.Coarse.links {
		from, to := &u.Fine.links[i], &u.Coarse.links[i]
		if to.couple < 0 {
			continue
		}
		for r := range 3 {
			for c := range 3 {
				at := 3*r + c
				if from.coupleFlips != to.coupleFlips {
					at = 3*c + r
				}
				kc[to.couple+3*r+c] += k[from.couple+at]
				mc[to.couple+3*r+c] += mass[from.couple+at]
			}
		}
	}
	n := 3 * (u.N - 1)
	ki, mi := make([]float64, n*n), make([]float64, n*n) // inner
	kb, mb := make([]float64, n*6), make([]float64, n*6) // inner to root and tip
	x, y, pivot := make([]float64, n*6), make([]float64, n*6), make([]int, n)
	var lapack gonum.Implementation
	for i := range u.chains {
		c := &u.chains[i]
		clear(ki)
		clear(mi)
		clear(kb)
		clear(mb)
		for a := range c.inner {
			putSymmetric(ki, n, 3*a, k[c.diagonal[a]:])
			putSymmetric(mi, n, 3*a, mass[c.diagonal[a]:])
			if a > 0 {
				// block (a-1, a): rows of a-1 unless flipped
				at, flips := c.next[a-1], c.nextFlips[a-1]
				put(ki, n, 3*a-3, 3*a, k[at:], flips)
				put(ki, n, 3*a, 3*a-3, k[at:], !flips)
				put(mi, n, 3*a-3, 3*a, mass[at:], flips)
				put(mi, n, 3*a, 3*a-3, mass[at:], !flips)
			}
		}
		if c.rootAt >= 0 { // block (root, inner)
			put(kb, 6, 0, 0, k[c.rootAt:], !c.rootFlips)
			put(mb, 6, 0, 0, mass[c.rootAt:], !c.rootFlips)
		}
		if c.tipAt >= 0 {
			put(kb, 6, n-3, 3, k[c.tipAt:], !c.tipFlips)
			put(mb, 6, n-3, 3, mass[c.tipAt:], !c.tipFlips)
		}
		// x = -ki⁻¹ kb
		for j := range x {
			x[j] = -kb[j]
		}
		lapack.Dgetrf(n, n, ki, n, pivot)
		lapack.Dgetrs(blas.NoTrans, n, 6, ki, n, pivot, x, 6)
		// y = mi x
		for r := range n {
			for s := range 6 {
				sum := 0.0
				for q := range n {
					sum += mi[r*n+q] * x[6*q+s]
				}
				y[6*r+s] = sum
			}
		}
		var dk, dm [36]float64
		for r := range 6 {
			for s := range 6 {
				for q := range n {
					dk[6*r+s] += kb[6*q+r] * x[6*q+s]
					dm[6*r+s] += x[6*q+r]*y[6*q+s] + x[6*q+r]*mb[6*q+s] + mb[6*q+r]*x[6*q+s]
				}
			}
		}
		add := func(to []float64, d *[36]float64, r, s int) {
			for a := range 3 {
				for b := range 3 {
					to[3*a+b] += d[6*(r+a)+s+b]
				}
			}
		}
		for end, node := range [2]int{c.root, c.tip} {
			if node < 0 {
				continue
			}
			add(kc[9*node:], &dk, 3*end, 3*end)
			add(mc[9*node:], &dm, 3*end, 3*end)
			for a := range 3 {
				to := rc[(3*node+a)*width : (3*node+a+1)*width]
				for q := range n {
					from := rows[(3*c.inner[q/3]+q%3)*width:]
					for w := range to {
						to[w] += x[6*q+3*end+a] * from[w]
					}
				}
			}
		}
		if c.couple >= 0 {
			r, s := 0, 3
			if c.coupleFlips {
				r, s = 3, 0
			}
			add(kc[c.couple:], &dk, r, s)
			add(mc[c.couple:], &dm, r, s)
		}
	}
}

// put copies a 3 by 3 block, transposed if asked, into a matrix of the given stride.
func put(to []float64, stride, row, column int, b []float64, transposed bool) {
	for r := range 3 {
		for c := range 3 {
			v := b[3*r+c]
			if transposed {
				v = b[3*c+r]
			}
			to[(row+r)*stride+column+c] = v
		}
	}
}

// putSymmetric copies a diagonal block, of which the lower triangle counts.
func putSymmetric(to []float64, stride, at int, b []float64) {
	for r := range 3 {
		for c := range r + 1 {
			to[(at+r)*stride+at+c], to[(at+c)*stride+at+r] = b[3*r+c], b[3*r+c]
		}
	}
}
