package main

import (
	"fmt"
	"math"

	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// writer writes one kernel for registers of four or eight numbers. Registers are given out here: when none is free, the number that is
// needed last goes to the stack, or is forgotten where it can be read again.
type writer struct {
	*Kernel
	lanes          int
	uses           [][]int // of each operation: where, ascending
	now            int
	vectors, masks file
	cols, scalars  reg.GPVirtual
	index          reg.GPVirtual
}

// file is the registers of a kind.
type file struct {
	regs   []reg.Register
	holds  []int // operation whose result is in it, −1 none
	locked []bool
	slot   map[int]Mem // results on the stack
}

func newFile(regs []reg.Register) file {
	f := file{regs: regs, holds: make([]int, len(regs)), locked: make([]bool, len(regs)), slot: map[int]Mem{}}
	for i := range f.holds {
		f.holds[i] = -1
	}
	return f
}

func vectors(lanes int) (list []reg.Register) {
	if lanes == 4 {
		for _, r := range []reg.VecPhysical{reg.Y0, reg.Y1, reg.Y2, reg.Y3, reg.Y4, reg.Y5, reg.Y6, reg.Y7, reg.Y8, reg.Y9, reg.Y10, reg.Y11, reg.Y12, reg.Y13, reg.Y14, reg.Y15} {
			list = append(list, r)
		}
		return list
	}
	for _, r := range []reg.VecPhysical{
		reg.Z0, reg.Z1, reg.Z2, reg.Z3, reg.Z4, reg.Z5, reg.Z6, reg.Z7, reg.Z8, reg.Z9, reg.Z10, reg.Z11, reg.Z12, reg.Z13, reg.Z14, reg.Z15,
		reg.Z16, reg.Z17, reg.Z18, reg.Z19, reg.Z20, reg.Z21, reg.Z22, reg.Z23, reg.Z24, reg.Z25, reg.Z26, reg.Z27, reg.Z28, reg.Z29, reg.Z30, reg.Z31,
	} {
		list = append(list, r)
	}
	return list
}

// assemble writes all kernels for both widths.
func assemble() {
	for _, k := range kernels {
		for _, lanes := range [2]int{4, 8} {
			k.assemble(lanes)
		}
	}
}

func (k *Kernel) assemble(lanes int) {
	name := fmt.Sprintf("%s%d", k.name, lanes)
	TEXT(name, 0, "func(cols *[]float64, scalars *float64, first, n int)") // its stack may be large
	Pragma("noescape")
	Doc(fmt.Sprintf("%s is %s, %d numbers side by side.", name, k.name, lanes))
	w := &writer{Kernel: k, lanes: lanes, vectors: newFile(vectors(lanes)), uses: make([][]int, len(k.ops))}
	if lanes == 8 {
		w.masks = newFile([]reg.Register{reg.K1, reg.K2, reg.K3, reg.K4, reg.K5, reg.K6, reg.K7})
	}
	need := k.needed()
	for n := range k.ops {
		if need[n] {
			for _, a := range k.ops[n].operands() {
				w.uses[a] = append(w.uses[a], n)
			}
		}
	}
	w.cols, w.scalars, w.index = pointer("cols"), pointer("scalars"), pointer("first")
	last := pointer("n")
	ADDQ(w.index, last)
	Label("next")
	for n := range k.ops {
		if need[n] && !k.ops[n].kind.again() {
			w.now = n
			w.write(n)
		}
	}
	ADDQ(U8(lanes), w.index)
	CMPQ(w.index, last)
	JL(LabelRef("next"))
	end()
}

// of is the file of an operation's result.
func (w *writer) of(n int) *file {
	if w.lanes == 8 && w.ops[n].kind.isMask() {
		return &w.masks
	}
	return &w.vectors
}

// next is where a result is needed next; beyond all where it is not.
func (w *writer) next(n int) int {
	for _, u := range w.uses[n] {
		if u >= w.now {
			return u
		}
	}
	return math.MaxInt
}

// take returns a register for the result of operation n.
func (w *writer) take(n int) reg.Register {
	f := w.of(n)
	best, far := -1, -1
	for i, h := range f.holds {
		if f.locked[i] {
			continue
		}
		if h < 0 {
			best, far = i, math.MaxInt
			break
		}
		if u := w.next(h); u > far {
			best, far = i, u
		}
	}
	if best < 0 {
		panic("lanes: no register left")
	}
	if h := f.holds[best]; h >= 0 && w.next(h) < math.MaxInt && !w.ops[h].kind.again() {
		if f == &w.masks {
			panic(fmt.Sprintf("lanes: %s: more than seven masks at once", w.name))
		}
		if _, ok := f.slot[h]; !ok {
			f.slot[h] = AllocLocal(8 * w.lanes)
			VMOVUPD(f.regs[best], f.slot[h])
		}
	}
	f.holds[best], f.locked[best] = n, true
	return f.regs[best]
}

// in returns the register with the result of operation n, which is read if it is nowhere.
func (w *writer) in(n int) reg.Register {
	f := w.of(n)
	for i, h := range f.holds {
		if h == n {
			f.locked[i] = true
			return f.regs[i]
		}
	}
	r := w.take(n)
	o := &w.ops[n]
	switch o.kind {
	case opIn:
		VMOVUPD(w.column(o), r)
	case opScalar:
		VBROADCASTSD(Mem{Base: w.scalars, Disp: 8 * o.a}, r)
	case opConst:
		VBROADCASTSD(w.constant(o.x), r)
	default:
		m, ok := f.slot[n]
		if !ok {
			panic("lanes: a result is lost")
		}
		VMOVUPD(m, r)
	}
	return r
}

// either returns the register with the result of operation n, or the place in memory where it is to be read once.
func (w *writer) either(n int) Op {
	o := &w.ops[n]
	f := w.of(n)
	for _, h := range f.holds {
		if h == n {
			return w.in(n)
		}
	}
	if u := w.uses[n]; o.kind == opIn && u[len(u)-1] == w.now {
		return w.column(o)
	}
	if m, ok := f.slot[n]; ok {
		if u := w.uses[n]; u[len(u)-1] == w.now {
			return m
		}
	}
	return w.in(n)
}

func (w *writer) column(o *op) Mem {
	p := GP64()
	MOVQ(Mem{Base: w.cols, Disp: 24 * o.a}, p) // the data of a slice
	return Mem{Base: p, Index: w.index, Scale: 8, Disp: 8 * o.b}
}

func (w *writer) constant(x float64) Mem {
	return data(fmt.Sprintf("number%x", math.Float64bits(x)), U64(math.Float64bits(x)))
}

// release forgets what is not needed after now, and unlocks.
func (f *file) release(w *writer) {
	w.now++
	for i, h := range f.holds {
		if h >= 0 && w.next(h) == math.MaxInt {
			f.holds[i] = -1
		}
		f.locked[i] = false
	}
	w.now--
}

// result returns the register for the result of operation n, one of an operand's that is not needed any more if there is such.
func (w *writer) result(n int) reg.Register {
	w.vectors.release(w)
	w.masks.release(w)
	r := w.take(n)
	return r
}

func (w *writer) write(n int) {
	o := &w.ops[n]
	switch o.kind {
	case opOut:
		v := w.in(o.a)
		p := GP64()
		MOVQ(Mem{Base: w.cols, Disp: 24 * o.b}, p)
		VMOVUPD(v, Mem{Base: p, Index: w.index, Scale: 8})
	case opAdd, opMul:
		a, b := o.a, o.b
		if x := w.ops[a].kind; x == opIn { // which may be read from memory
			a, b = b, a
		}
		x := w.in(a)
		y := w.either(b)
		if o.kind == opAdd {
			VADDPD(y, x, w.result(n))
		} else {
			VMULPD(y, x, w.result(n))
		}
	case opSub, opDiv, opMax, opMin:
		x := w.in(o.a)
		y := w.either(o.b)
		z := w.result(n)
		switch o.kind {
		case opSub:
			VSUBPD(y, x, z)
		case opDiv:
			VDIVPD(y, x, z)
		case opMax:
			VMAXPD(y, x, z)
		default:
			VMINPD(y, x, z)
		}
	case opSqrt:
		x := w.either(o.a)
		VSQRTPD(x, w.result(n))
	case opAbs, opNeg:
		x := w.in(o.a)
		z := w.result(n)
		m, make := magnitude(), VANDPD
		if o.kind == opNeg {
			m, make = signBit(), VXORPD
		}
		if w.lanes == 8 {
			if o.kind == opNeg {
				VXORPD_BCST(m, x, z)
			} else {
				VANDPD_BCST(m, x, z)
			}
			break
		}
		if z != x {
			VBROADCASTSD(m, z)
			make(x, z, z)
			break
		}
		t := w.spareVector()
		VBROADCASTSD(m, t)
		make(x, t, z)
	case opLess, opLessEqual:
		x := w.in(o.a)
		y := w.either(o.b)
		predicate := U8(less)
		if o.kind == opLessEqual {
			predicate = U8(lessOrEqual)
		}
		VCMPPD(predicate, y, x, w.result(n))
	case opAnd, opOr:
		x, y := w.in(o.a), w.in(o.b)
		z := w.result(n)
		switch {
		case w.lanes == 8 && o.kind == opAnd:
			KANDB(y, x, z)
		case w.lanes == 8:
			KORB(y, x, z)
		case o.kind == opAnd:
			VANDPD(y, x, z)
		default:
			VORPD(y, x, z)
		}
	case opNot:
		x := w.in(o.a)
		if w.lanes == 8 {
			KNOTB(x, w.result(n))
			break
		}
		t := w.spareVector()
		VBROADCASTSD(data("all", U64(math.MaxUint64)), t)
		VXORPD(x, t, w.result(n))
	case opSelect:
		m, x, y := w.in(o.a), w.in(o.b), w.in(o.c)
		z := w.result(n)
		if w.lanes == 8 {
			VBLENDMPD(x, y, m, z)
		} else {
			VBLENDVPD(m, x, y, z)
		}
	}
	w.now = n
	w.vectors.release(w)
	w.masks.release(w)
}

// spareVector returns a register for one instruction.
func (w *writer) spareVector() reg.Register {
	const nobody = -1
	f := &w.vectors
	best, far := -1, -1
	for i, h := range f.holds {
		if f.locked[i] {
			continue
		}
		u := math.MaxInt
		if h >= 0 {
			u = w.next(h)
		}
		if u > far {
			best, far = i, u
		}
	}
	if h := f.holds[best]; h >= 0 && w.next(h) < math.MaxInt && !w.ops[h].kind.again() {
		if _, ok := f.slot[h]; !ok {
			f.slot[h] = AllocLocal(8 * w.lanes)
			VMOVUPD(f.regs[best], f.slot[h])
		}
	}
	f.holds[best], f.locked[best] = nobody, true
	return f.regs[best]
}
