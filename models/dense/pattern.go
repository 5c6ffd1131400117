package dense

import "slices"

// Pattern is the symbolic L D Lᵀ factorisation of a symmetric matrix of 3 by 3
// blocks, one block row per node of a graph. It is made once and shared.
//
// Nodes are eliminated in the order of least degree (D. J. Rose, A
// graph-theoretic study of the numerical solution of sparse positive definite
// systems, 1972): on a tree that is from the leaves to the root and creates no
// fill, so that tree and general graph are one path.
//
// A matrix over the pattern is a flat slice of Len() numbers: block k stands at
// 9k, row-major. Blocks 0 … n-1 are diagonal; each other block couples two
// nodes and is stored once, rows of the node eliminated later.
type Pattern struct {
	n      int
	order  []int   // nodes in the order of elimination
	rank   []int   // position of a node in order
	column [][]int // per node: the later nodes that it is coupled to when eliminated
	block  [][]int // per node: the blocks (later, node), beside column
	update [][]int // per node: destination blocks, for each pair r <= s of column: block (column[s], column[r])
	blocks int
}

// NewPattern returns the pattern of n nodes joined by edges. Repeated edges
// are one; an edge from a node to itself is ignored.
func NewPattern(n int, edges [][2]int) *Pattern {
	near := make([]map[int]bool, n)
	for i := range near {
		near[i] = map[int]bool{}
	}
	for _, e := range edges {
		if e[0] != e[1] {
			near[e[0]][e[1]], near[e[1]][e[0]] = true, true
		}
	}
	p := &Pattern{n: n, rank: make([]int, n), column: make([][]int, n), block: make([][]int, n),
		update: make([][]int, n), blocks: n}
	done := make([]bool, n)
	at := map[[2]int]int{}
	for range n {
		next := -1
		for i := range n {
			if !done[i] && (next < 0 || len(near[i]) < len(near[next])) {
				next = i
			}
		}
		done[next] = true
		p.rank[next] = len(p.order)
		p.order = append(p.order, next)
		for j := range near[next] {
			p.column[next] = append(p.column[next], j)
		}
		slices.Sort(p.column[next])
		for _, j := range p.column[next] {
			delete(near[j], next)
			for _, k := range p.column[next] {
				if k != j {
					near[j][k] = true
				}
			}
		}
	}
	for _, i := range p.order {
		slices.SortFunc(p.column[i], func(a, b int) int { return p.rank[a] - p.rank[b] })
		for _, j := range p.column[i] {
			at[[2]int{j, i}] = p.blocks
			p.block[i] = append(p.block[i], p.blocks)
			p.blocks++
		}
	}
	for _, i := range p.order {
		for r, j := range p.column[i] {
			for _, k := range p.column[i][r:] {
				if k == j {
					p.update[i] = append(p.update[i], j)
				} else {
					p.update[i] = append(p.update[i], at[[2]int{k, j}])
				}
			}
		}
	}
	return p
}

// Nodes returns the number of block rows.
func (p *Pattern) Nodes() int { return p.n }

// Len is the length of a matrix over the pattern.
func (p *Pattern) Len() int { return 9 * p.blocks }

// Block returns the offset of the block that couples i and j, and whether its
// rows belong to j rather than i. It panics when they are not coupled.
func (p *Pattern) Block(i, j int) (offset int, flipped bool) {
	if i == j {
		return 9 * i, false
	}
	if p.rank[i] < p.rank[j] {
		i, j, flipped = j, i, true
	}
	for k, row := range p.column[j] {
		if row == i {
			return 9 * p.block[j][k], flipped
		}
	}
	panic("dense: blocks are not coupled")
}

// Expand writes the matrix a over the pattern as a full one, n3 = 3 n,
// row-major. Of diagonal blocks the lower triangle is read.
func (p *Pattern) Expand(a, full []float64) {
	n3 := 3 * p.n
	clear(full[:n3*n3])
	for i := range p.n {
		p.expandBlock(a[9*i:9*i+9], full, i, i)
		for k, j := range p.column[i] {
			p.expandBlock(a[9*p.block[i][k]:], full, j, i)
		}
	}
}

func (p *Pattern) expandBlock(b, full []float64, row, col int) {
	n3 := 3 * p.n
	for r := range 3 {
		for c := range 3 {
			if row == col && c > r {
				continue
			}
			v := b[3*r+c]
			full[(3*row+r)*n3+3*col+c] = v
			full[(3*col+c)*n3+3*row+r] = v
		}
	}
}

// Hold replaces row and column 3 node + axis of the matrix a by those of the
// identity.
func (p *Pattern) Hold(a []float64, node, axis int) {
	p.HoldAt(node, axis, func(at int, one bool) {
		a[at] = 0
		if one {
			a[at] = 1
		}
	})
}

// HoldAt tells what [Pattern.Hold] makes 0, and 1.
func (p *Pattern) HoldAt(node, axis int, tell func(at int, one bool)) {
	for r := range 3 {
		if r != axis {
			tell(9*node+3*axis+r, false)
			tell(9*node+3*r+axis, false)
		}
	}
	tell(9*node+4*axis, true)
	for i := range p.n {
		for k, j := range p.column[i] {
			b := 9 * p.block[i][k]
			for r := range 3 {
				if j == node {
					tell(b+3*axis+r, false)
				} else if i == node {
					tell(b+3*r+axis, false)
				}
			}
		}
	}
}
