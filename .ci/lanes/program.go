package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// The first kinds are products; by fours they have numbers from byFours on.
const products, byFours, condensing = 4, 16, 32

// runProgram makes the operations of models/dense/program.go, the kinds in its order.
func runProgram(s grouping) {
	function("run"+s.name, "func(x *float64, code *int32)", "run"+s.name+` makes the operations of a program on the numbers of all lanes: code has, for each run of operations of a kind, the
kind, their number and three offsets in bytes for each; a negative kind at the end. Products with a factor in common go by fours, their kind that much larger:
the offset of the factor, then two for each. An unknown that is condensed is a run of its own: its count is that of the unknowns that it is coupled to, then come where t, w and,
as a distance from the first, the second matrix are, the diagonal, the entries of its row, and those of the pairs.`)
	x, code := pointer("x"), pointer("code")
	kind, count, to, a, b := GP64(), GP64(), GP64(), GP64(), GP64()
	Label("runNext")
	MOVLQSX(at(code, 0), kind)
	MOVLQSX(at(code, 4), count)
	ADDQ(U8(8), code)
	TESTQ(kind, kind)
	JL(LabelRef("runDone"))
	operation := func(name string, two bool, make func(from int)) {
		Label("run" + name)
		MOVLQSX(at(code, 0), to)
		MOVLQSX(at(code, 4), a)
		if two {
			MOVLQSX(at(code, 8), b)
		}
		s.each(func(_, from int) { make(from) })
		ADDQ(U8(12), code)
		DECQ(count)
		JNZ(LabelRef("run" + name))
		JMP(LabelRef("runNext"))
	}
	number := func(offset reg.GPVirtual, disp int) Mem { return in(x, offset, disp) }
	times := func(disp int) reg.VecVirtual { return mul(number(b, disp), load(number(a, disp))) }
	kinds := []struct {
		name string
		two  bool
		make func(disp int)
	}{
		{"LessProduct", true, func(disp int) {
			VMOVUPD(sub(times(disp), load(number(to, disp))), number(to, disp))
		}},
		{"PlusProduct", true, func(disp int) {
			VMOVUPD(add(number(to, disp), times(disp)), number(to, disp))
		}},
		{"Product", true, func(disp int) { VMOVUPD(times(disp), number(to, disp)) }},
		{"MinusProduct", true, func(disp int) {
			y := times(disp)
			VXORPD(all(signBit()), y, y)
			VMOVUPD(y, number(to, disp))
		}},
		{"Inverse", false, func(disp int) { VMOVUPD(over(number(a, disp), all(one())), number(to, disp)) }},
		{"Root", false, func(disp int) {
			y := vector()
			VSQRTPD(number(a, disp), y)
			VMOVUPD(y, number(to, disp))
		}},
		{"Same", false, func(disp int) { VMOVUPD(load(number(a, disp)), number(to, disp)) }},
	}
	CMPQ(kind, U8(condensing))
	JE(LabelRef("runCondense"))
	for i, k := range kinds[:products] {
		CMPQ(kind, U8(i+byFours))
		JE(LabelRef("runFour" + k.name))
	}
	for i, k := range kinds[1:] {
		CMPQ(kind, U8(i+1))
		JE(LabelRef("run" + k.name))
	}
	for _, k := range kinds {
		operation(k.name, k.two, k.make)
	}
	for i, k := range kinds[:products] {
		Label("runFour" + k.name)
		MOVLQSX(at(code, 0), a)
		factors := make([]reg.VecVirtual, len(s.widths))
		s.each(func(g, lane int) { factors[g] = load(number(a, lane)) })
		for n := range 4 {
			MOVLQSX(at(code, 4+8*n), to)
			MOVLQSX(at(code, 8+8*n), b)
			s.each(func(g, lane int) {
				y := mul(number(b, lane), factors[g])
				switch i {
				case 0:
					y = sub(y, load(number(to, lane)))
				case 1:
					y = add(number(to, lane), y)
				case 3:
					VXORPD(all(signBit()), y, y)
				}
				VMOVUPD(y, number(to, lane))
			})
		}
		ADDQ(U8(36), code)
		DECQ(count)
		JNZ(LabelRef("runFour" + k.name))
		JMP(LabelRef("runNext"))
	}
	condense(s, x, code, count)
	Label("runDone")
	end()
}

// condense takes an unknown out of two matrices: t = -k/d, w = m + μ t; K += k tᵀ, M += t wᵀ, M += m tᵀ.
func condense(s grouping, x, code, count reg.GPVirtual) {
	Label("runCondense")
	second, t, w, diagonal := GP64(), GP64(), GP64(), GP64()
	for i, to := range []reg.Register{t, w, second, diagonal} {
		MOVLQSX(at(code, 4*i), to)
	}
	for _, to := range []reg.Register{t, w, second} {
		ADDQ(x, to)
	}
	ADDQ(U8(16), code)
	row, list, nextT, nextW, left, entry := GP64(), GP64(), GP64(), GP64(), GP64(), GP64()
	MOVQ(code, row)
	MOVQ(t, nextT)
	MOVQ(w, nextW)
	MOVQ(count, left)
	r, mu := make([]reg.VecVirtual, len(s.widths)), make([]reg.VecVirtual, len(s.widths))
	s.each(func(g, lane int) {
		r[g] = over(in(x, diagonal, lane), all(one()))
		mu[g] = load(in(second, diagonal, lane))
	})
	Label("runCondenseRow")
	MOVLQSX(at(code, 0), entry)
	ADDQ(U8(4), code)
	s.each(func(g, lane int) {
		y := mul(in(x, entry, lane), r[g])
		VXORPD(all(signBit()), y, y)
		VMOVUPD(y, at(nextT, lane))
		VMULPD(mu[g], y, y)
		VADDPD(in(second, entry, lane), y, y)
		VMOVUPD(y, at(nextW, lane))
	})
	ADDQ(U8(stride), nextT)
	ADDQ(U8(stride), nextW)
	DECQ(left)
	JNZ(LabelRef("runCondenseRow"))
	MOVQ(code, list)
	Label("runCondensePairs")
	MOVLQSX(at(row, 0), entry)
	ADDQ(U8(4), row)
	var k, m, own [3]reg.VecVirtual
	s.each(func(g, lane int) {
		k[g], m[g], own[g] = load(in(x, entry, lane)), load(in(second, entry, lane)), load(at(t, lane))
	})
	MOVQ(t, nextT)
	MOVQ(w, nextW)
	MOVQ(count, left)
	Label("runCondensePair")
	MOVLQSX(at(list, 0), entry)
	ADDQ(U8(4), list)
	s.each(func(g, lane int) {
		with := load(at(nextT, lane))
		VMOVUPD(add(in(x, entry, lane), mul(with, k[g])), in(x, entry, lane))
		y := add(in(second, entry, lane), mul(at(nextW, lane), own[g]))
		VMOVUPD(add(mul(with, m[g]), y), in(second, entry, lane))
	})
	ADDQ(U8(stride), nextT)
	ADDQ(U8(stride), nextW)
	DECQ(left)
	JNZ(LabelRef("runCondensePair"))
	ADDQ(U8(stride), t)
	ADDQ(U8(stride), w)
	DECQ(count)
	JNZ(LabelRef("runCondensePairs"))
	MOVQ(list, code)
	JMP(LabelRef("runNext"))
}

// addColumns adds numbers of columns to those of all lanes.
func addColumns(s grouping) {
	function("add"+s.name, "func(x, columns *float64, code *int32, n int)", "add"+s.name+` adds n numbers of columns, those of the lanes one after the other, to numbers of all lanes: code has for each where it goes and where it
comes from, in bytes.`)
	x, columns, code, n := pointer("x"), pointer("columns"), pointer("code"), pointer("n")
	to, from := GP64(), GP64()
	done := each("add", n)
	MOVLQSX(at(code, 0), to)
	MOVLQSX(at(code, 4), from)
	ADDQ(U8(8), code)
	s.each(func(_, lane int) {
		VMOVUPD(add(in(x, to, lane), load(in(columns, from, lane))), in(x, to, lane))
	})
	done()
	end()
}
