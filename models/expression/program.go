package expression

import (
	"math"

	"flexwright/models"
)

type opcode uint8

const (
	opAdd opcode = iota
	opSub
	opMul
	opDiv
	opNeg
	opMin
	opMax
	opAbs
	opSqrt
	opSin
	opCos
	opAtan2
	opStiffening
	opLess
	opLessEqual
	opEqual
	opNotEqual
	opAnd
	opOr
	opNot
	opSelect // a is true: b, else c
	opGiven  // a unless it is NaN: b
)

// instruction writes one register; it reads up to three lower ones.
type instruction struct {
	op      opcode
	a, b, c uint16
}

// Program computes every value of a [Builder] in one pass. Registers hold inputs
// first, then constants, then one result per instruction. It is read-only.
type Program struct {
	inputs    int
	constants []float64
	code      []instruction
	origin    []origin // of each instruction
}

// origin is where an instruction was written.
type origin struct {
	text   *Text
	offset int
}

// Registers is the length of what Run works on.
func (p *Program) Registers() int { return p.inputs + len(p.constants) + len(p.code) }

// Run computes all registers from the inputs, the first of them, in SI. Truth is 1
// or 0. A division by zero or the root of a negative number gives Inf or NaN.
func (p *Program) Run(r []float64) {
	copy(r[p.inputs:], p.constants)
	at := p.inputs + len(p.constants)
	r = r[:at+len(p.code)]
	for i := range p.code {
		n := &p.code[i]
		r[at+i] = n.apply(r[n.a], r[n.b], r[n.c])
	}
}

func (n *instruction) apply(a, b, c float64) float64 {
	switch n.op {
	case opAdd:
		return a + b
	case opSub:
		return a - b
	case opMul:
		return a * b
	case opDiv:
		return a / b
	case opNeg:
		return -a
	case opMin:
		return min(a, b)
	case opMax:
		return max(a, b)
	case opAbs:
		return math.Abs(a)
	case opSqrt:
		return math.Sqrt(a)
	case opSin:
		return math.Sin(a)
	case opCos:
		return math.Cos(a)
	case opAtan2:
		return math.Atan2(a, b)
	case opStiffening:
		if !(a > 0) {
			return math.NaN()
		}
		return models.FilletStiffening(a)
	case opLess:
		return truth(a < b)
	case opLessEqual:
		return truth(a <= b)
	case opEqual:
		return truth(a == b)
	case opNotEqual:
		return truth(a != b)
	case opAnd:
		return truth(a != 0 && b != 0)
	case opOr:
		return truth(a != 0 || b != 0)
	case opNot:
		return truth(a == 0)
	case opSelect:
		if a != 0 {
			return b
		}
		return c
	case opGiven:
		if a != a {
			return b
		}
		return a
	}
	panic("expression: unknown operation")
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// Undefined returns the first instruction that made something undefined or
// infinite from finite numbers in registers that Run filled: the formula, the
// place in it, and what happened. A value that an if does not take may be
// undefined.
func (p *Program) Undefined(r []float64) (text *Text, offset int, what string) {
	finite := func(v float64) bool { return v-v == 0 }
	at := p.inputs + len(p.constants)
	wanted := p.taken(r)
	for i := range p.code {
		n := &p.code[i]
		if !wanted[at+i] || finite(r[at+i]) {
			continue
		}
		o := p.origin[i]
		switch {
		case n.op == opDiv && finite(r[n.a]) && r[n.b] == 0:
			return o.text, o.offset, "division by zero"
		case n.op == opSqrt && r[n.a] < 0:
			return o.text, o.offset, "the root of a negative number"
		case n.op == opSelect || n.op == opGiven:
		case finite(r[n.a]) && finite(r[n.b]):
			return o.text, o.offset, "a number beyond what a double holds"
		}
	}
	return nil, 0, ""
}

// taken marks the registers that matter: all but those that only the other side
// of an if reads.
func (p *Program) taken(r []float64) []bool {
	at := p.inputs + len(p.constants)
	wanted, read := make([]bool, at+len(p.code)), make([]bool, at+len(p.code))
	for _, n := range p.code {
		for k, from := range [3]uint16{n.a, n.b, n.c} {
			if k < arity[n.op] {
				read[from] = true
			}
		}
	}
	for i := len(p.code) - 1; i >= 0; i-- {
		n := &p.code[i]
		if wanted[at+i] = wanted[at+i] || !read[at+i]; !wanted[at+i] {
			continue
		}
		switch {
		case n.op == opSelect && r[n.a] != 0:
			wanted[n.a], wanted[n.b] = true, true
		case n.op == opSelect:
			wanted[n.a], wanted[n.c] = true, true
		case n.op == opGiven:
			wanted[n.a] = true
			wanted[n.b] = wanted[n.b] || r[n.a] != r[n.a]
		default:
			for k, from := range [3]uint16{n.a, n.b, n.c} {
				if k < arity[n.op] {
					wanted[from] = true
				}
			}
		}
	}
	return wanted
}

var arity = [...]int{
	opAdd: 2, opSub: 2, opMul: 2, opDiv: 2, opNeg: 1, opMin: 2, opMax: 2, opAbs: 1, opSqrt: 1, opSin: 1, opCos: 1,
	opAtan2: 2, opStiffening: 1, opLess: 2, opLessEqual: 2, opEqual: 2, opNotEqual: 2, opAnd: 2, opOr: 2, opNot: 1, opSelect: 3, opGiven: 2,
}
