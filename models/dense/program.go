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

// Products by fours have kinds from this on, for the assembly.
const fourProducts = 16

// An unknown that is condensed has this kind, for the assembly.
const condensed = 32

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

// codeByFours is code with products that have a factor in common by fours, where that pays; what is missing in the last four goes to
// three numbers from spare on.
func (p *program) codeByFours(size, spare int32) (code []int32) {
	for _, r := range p.runs {
		var fours []int32
		n := 0
		for i, j := 0, 0; i < len(r.ops) && r.kind <= minusProduct; i = j {
			factor := r.ops[i].a
			if i+1 < len(r.ops) && r.ops[i+1].a != factor {
				factor = r.ops[i].b
			}
			for j = i; j < len(r.ops) && (r.ops[j].a == factor || r.ops[j].b == factor); {
				j++
				if r.ops[j-1].to == factor {
					break
				}
			}
			for k := i; k < j; k += 4 {
				n++
				fours = append(fours, factor*size)
				for slot := range int32(4) {
					if at := k + int(slot); at < j {
						o := r.ops[at]
						other := o.b
						if o.a != factor {
							other = o.a
						}
						fours = append(fours, o.to*size, other*size)
					} else {
						fours = append(fours, (spare+slot-1)*size, (spare+slot-1)*size)
					}
				}
			}
		}
		if n > 0 && 5*n < 2*len(r.ops) { // a four costs as much as two and a half single ones
			code = append(append(code, int32(r.kind+fourProducts), int32(n)), fours...)
			continue
		}
		single := program{runs: []run{r}}
		code = append(code, single.code(size)...)
		code = code[:len(code)-2]
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
