package dense

import "math"

// program is a straight sequence of operations on numbers, made once from the structure of a problem: what a sparse
// elimination does, without the zeros. All problems of one structure go through it, one by one or side by side
// ([Batch]), with the same bits: products are rounded before they are added to.
type program struct {
	ops  []operation
	runs []run // ops of one kind that follow each other
}

// operation is "to kind a, b", numbers by their places.
type operation struct {
	kind     kind
	to, a, b int32
}

type kind int32

// The assembly knows these by their numbers.
const (
	lessProduct  kind = iota // to -= a b
	plusProduct              // to += a b
	product                  // to = a b
	minusProduct             // to = -a b
	inverse                  // to = 1/a
	root                     // to = √a
	same                     // to = a
)

type run struct {
	kind kind
	ops  []operation
}

func (p *program) add(k kind, to, a, b int) {
	p.ops = append(p.ops, operation{k, int32(to), int32(a), int32(b)})
}

// finish leaves out what no number of wanted, nil for all, comes from, and prepares the program to run.
func (p *program) finish(wanted map[int32]bool) {
	if wanted != nil {
		kept := len(p.ops)
		for i := len(p.ops) - 1; i >= 0; i-- {
			o := p.ops[i]
			if !wanted[o.to] {
				continue
			}
			switch o.kind {
			case lessProduct, plusProduct:
				wanted[o.a], wanted[o.b] = true, true
			case inverse, root, same:
				delete(wanted, o.to)
				wanted[o.a] = true
			default:
				delete(wanted, o.to)
				wanted[o.a], wanted[o.b] = true, true
			}
			kept--
			p.ops[kept] = o
		}
		p.ops = append([]operation(nil), p.ops[kept:]...)
	}
	for i, j := 0, 0; i < len(p.ops); i = j {
		for j = i + 1; j < len(p.ops) && p.ops[j].kind == p.ops[i].kind; j++ {
		}
		p.runs = append(p.runs, run{p.ops[i].kind, p.ops[i:j]})
	}
}

// code is the program as the assembly takes it, numbers of size bytes.
func (p *program) code(size int32) (code []int32) {
	for _, r := range p.runs {
		code = append(code, int32(r.kind), int32(len(r.ops)))
		for _, o := range r.ops {
			code = append(code, o.to*size, o.a*size, o.b*size)
		}
	}
	return append(code, -1, 0)
}

func (p *program) run(x []float64) {
	for _, r := range p.runs {
		switch r.kind {
		case lessProduct:
			for _, o := range r.ops {
				x[o.to] -= float64(x[o.a] * x[o.b])
			}
		case plusProduct:
			for _, o := range r.ops {
				x[o.to] += float64(x[o.a] * x[o.b])
			}
		case product:
			for _, o := range r.ops {
				x[o.to] = x[o.a] * x[o.b]
			}
		case minusProduct:
			for _, o := range r.ops {
				x[o.to] = -(x[o.a] * x[o.b])
			}
		case inverse:
			for _, o := range r.ops {
				x[o.to] = 1 / x[o.a]
			}
		case root:
			for _, o := range r.ops {
				x[o.to] = math.Sqrt(x[o.a])
			}
		case same:
			for _, o := range r.ops {
				x[o.to] = x[o.a]
			}
		}
	}
}
