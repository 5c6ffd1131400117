package main

import (
	"fmt"
	"math"
	"slices"
)

// A Kernel is a straight line of operations that is made at every index of a range, on columns of numbers: once for
// each of several registers' lanes, or one after the other in plain Go, with the same bits. A product is rounded before it
// is added to: nothing is fused.
//
// Operations stand in the order in which they are written; what no output needs is left out, and what is written twice is
// made once.
type Kernel struct {
	name, doc        string
	columns, scalars []string
	ops              []op
	known            map[op]int
}

// op is one operation; a, b and c are numbers of operations before it, or of a column, a scalar.
type op struct {
	kind    kind
	a, b, c int
	x       float64 // of a constant
}

type kind uint8

const (
	opIn     kind = iota // column a at the index + b
	opScalar             // a
	opConst
	opOut // value a to column b
	opAdd
	opSub
	opMul
	opDiv
	opMax // a > b ? a : b
	opMin // a < b ? a : b
	opSqrt
	opAbs
	opNeg
	opLess
	opLessEqual
	opAnd
	opOr
	opNot
	opSelect // a ? b : c
)

// isMask reports whether the result is one of truths.
func (k kind) isMask() bool { return k >= opLess && k <= opNot }

// again reports whether the result can be read anew instead of being kept.
func (k kind) again() bool { return k <= opConst }

// operands are the numbers of the operations that one needs.
func (o *op) operands() []int {
	switch {
	case o.kind.again():
		return nil
	case o.kind == opOut, o.kind >= opSqrt && o.kind <= opNeg, o.kind == opNot:
		return []int{o.a}
	case o.kind == opSelect:
		return []int{o.a, o.b, o.c}
	}
	return []int{o.a, o.b}
}

// Value is a number at each index, Mask a truth.
type Value struct {
	k *Kernel
	n int
}

type Mask Value

// kernels are those of the package that is written.
var kernels []*Kernel

// NewKernel begins a function of that name.
func NewKernel(name, doc string) *Kernel {
	k := &Kernel{name: name, doc: doc, known: map[op]int{}}
	kernels = append(kernels, k)
	return k
}

func (k *Kernel) op(o op) Value {
	if n, ok := k.known[o]; ok {
		return Value{k, n}
	}
	k.ops = append(k.ops, o)
	k.known[o] = len(k.ops) - 1
	return Value{k, len(k.ops) - 1}
}

// number of a name in a list that grows.
func number(list *[]string, name string) int {
	if n := slices.Index(*list, name); n >= 0 {
		return n
	}
	*list = append(*list, name)
	return len(*list) - 1
}

// In is a column at the index, InAt at the index + shift.
func (k *Kernel) In(column string) Value { return k.InAt(column, 0) }

func (k *Kernel) InAt(column string, shift int) Value {
	return k.op(op{kind: opIn, a: number(&k.columns, column), b: shift})
}

// Scalar is the same at all indices.
func (k *Kernel) Scalar(name string) Value {
	return k.op(op{kind: opScalar, a: number(&k.scalars, name)})
}

func (k *Kernel) Const(x float64) Value {
	if x == 0 && math.Signbit(x) || math.IsNaN(x) {
		panic("lanes: constant")
	}
	return k.op(op{kind: opConst, x: x})
}

// Out writes a column at the index. A column that is read, too, must be written after its last reading.
func (k *Kernel) Out(column string, v Value) {
	k.ops = append(k.ops, op{kind: opOut, a: v.n, b: number(&k.columns, column)})
}

func (v Value) two(kind kind, b Value) Value {
	if v.k == nil || v.k != b.k {
		panic("lanes: values of two kernels")
	}
	return v.k.op(op{kind: kind, a: v.n, b: b.n})
}

func (v Value) Add(b Value) Value { return v.two(opAdd, b) }
func (v Value) Sub(b Value) Value { return v.two(opSub, b) }
func (v Value) Mul(b Value) Value { return v.two(opMul, b) }
func (v Value) Div(b Value) Value { return v.two(opDiv, b) }
func (v Value) Square() Value     { return v.Mul(v) }

// Max is v where v > b, else b; Min is v where v < b, else b. So b where one of them is no number.
func (v Value) Max(b Value) Value { return v.two(opMax, b) }
func (v Value) Min(b Value) Value { return v.two(opMin, b) }

func (v Value) Sqrt() Value { return v.k.op(op{kind: opSqrt, a: v.n}) }
func (v Value) Abs() Value  { return v.k.op(op{kind: opAbs, a: v.n}) }
func (v Value) Neg() Value  { return v.k.op(op{kind: opNeg, a: v.n}) }

// Times, Plus and Minus take a constant.
func (v Value) Times(x float64) Value { return v.Mul(v.k.Const(x)) }
func (v Value) Plus(x float64) Value  { return v.Add(v.k.Const(x)) }
func (v Value) Minus(x float64) Value { return v.Sub(v.k.Const(x)) }

// Less and LessEqual are false where one of them is no number.
func (v Value) Less(b Value) Mask      { return Mask(v.two(opLess, b)) }
func (v Value) LessEqual(b Value) Mask { return Mask(v.two(opLessEqual, b)) }

func (m Mask) And(b Mask) Mask { return Mask(Value(m).two(opAnd, Value(b))) }
func (m Mask) Or(b Mask) Mask  { return Mask(Value(m).two(opOr, Value(b))) }
func (m Mask) Not() Mask       { return Mask(m.k.op(op{kind: opNot, a: m.n})) }

// Select is a where m is true, else b.
func Select(m Mask, a, b Value) Value {
	return m.k.op(op{kind: opSelect, a: m.n, b: a.n, c: b.n})
}

// Complex is a complex number at each index.
type Complex struct{ Re, Im Value }

func (a Complex) Add(b Complex) Complex { return Complex{a.Re.Add(b.Re), a.Im.Add(b.Im)} }
func (a Complex) Sub(b Complex) Complex { return Complex{a.Re.Sub(b.Re), a.Im.Sub(b.Im)} }
func (a Complex) Mul(b Complex) Complex {
	return Complex{a.Re.Mul(b.Re).Sub(a.Im.Mul(b.Im)), a.Re.Mul(b.Im).Add(a.Im.Mul(b.Re))}
}
func (a Complex) Scale(x Value) Complex { return Complex{a.Re.Mul(x), a.Im.Mul(x)} }

// Square is |a|².
func (a Complex) Square() Value { return a.Re.Square().Add(a.Im.Square()) }

// Out writes two columns, the names with Re and Im behind.
func (k *Kernel) OutComplex(column string, a Complex) {
	k.Out(column+"Re", a.Re)
	k.Out(column+"Im", a.Im)
}

func (k *Kernel) InComplex(column string) Complex {
	return Complex{k.In(column + "Re"), k.In(column + "Im")}
}

// needed reports for each operation whether an output needs it.
func (k *Kernel) needed() []bool {
	need := make([]bool, len(k.ops))
	for n := len(k.ops) - 1; n >= 0; n-- {
		o := &k.ops[n]
		need[n] = need[n] || o.kind == opOut
		if need[n] {
			for _, a := range o.operands() {
				need[a] = true
			}
		}
	}
	return need
}

// check panics where a kernel reads what it has written.
func (k *Kernel) check() {
	written := map[int]bool{}
	need := k.needed()
	last := map[int]int{} // use of an operation
	for n := range k.ops {
		if need[n] {
			for _, a := range k.ops[n].operands() {
				last[a] = n
			}
		}
	}
	for n := range k.ops {
		o := &k.ops[n]
		if o.kind == opOut {
			if written[o.b] {
				panic(fmt.Sprintf("lanes: %s writes %s twice", k.name, k.columns[o.b]))
			}
			written[o.b] = true
			for m := range k.ops {
				if p := &k.ops[m]; p.kind == opIn && p.a == o.b && (last[m] > n || p.b != 0) {
					panic(fmt.Sprintf("lanes: %s reads %s after it is written", k.name, k.columns[o.b]))
				}
			}
		}
	}
}

// shifts are how far columns are read before and beyond the index.
func (k *Kernel) shifts() (before, beyond int) {
	for i := range k.ops {
		if o := &k.ops[i]; o.kind == opIn {
			before, beyond = max(before, -o.b), max(beyond, o.b)
		}
	}
	return before, beyond
}
