package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// eightLanes writes what makes the operations of models/dense/straight.go, the kinds in the order of program.go: eight numbers in one
// register, or in two of four.
func eightLanes() {
	straight("run8by8", 1, 64, func() reg.VecVirtual { return ZMM() })
	straight("run8by4", 2, 32, func() reg.VecVirtual { return YMM() })
}

func straight(name string, registers, size int, vector func() reg.VecVirtual) {
	function(name, "func(x *float64, code *int32)", name+` makes the operations of a program on numbers of eight lanes: code has, for each run of operations of a kind, the
kind, their number and three offsets in bytes for each; a negative kind at the end.`)
	x, code := pointer("x"), pointer("code")
	kind, count, to, a, b := GP64(), GP64(), GP64(), GP64(), GP64()
	broadcast := func(m Mem) reg.VecVirtual {
		v := vector()
		VBROADCASTSD(m, v)
		return v
	}
	ones, sign, size1 := broadcast(one()), broadcast(signBit()), broadcast(magnitude())
	Label(name + "Next")
	MOVLQSX(at(code, 0), kind)
	MOVLQSX(at(code, 4), count)
	ADDQ(U8(8), code)
	TESTQ(kind, kind)
	JL(LabelRef(name + "Done"))
	number := func(offset reg.GPVirtual, r int) Mem { return in(x, offset, size*r) }
	read := func(m Mem) reg.VecVirtual {
		v := vector()
		VMOVUPD(m, v)
		return v
	}
	times := func(r int) reg.VecVirtual {
		v := read(number(a, r))
		VMULPD(number(b, r), v, v)
		return v
	}
	kinds := []struct {
		name string
		two  bool
		make func(r int) reg.VecVirtual // of a, b and what stands there
	}{
		{"LessProduct", true, func(r int) reg.VecVirtual {
			y, v := times(r), read(number(to, r))
			VSUBPD(y, v, v)
			return v
		}},
		{"PlusProduct", true, func(r int) reg.VecVirtual {
			v := times(r)
			VADDPD(number(to, r), v, v)
			return v
		}},
		{"Product", true, times},
		{"MinusProduct", true, func(r int) reg.VecVirtual {
			v := times(r)
			VXORPD(sign, v, v)
			return v
		}},
		{"Inverse", false, func(r int) reg.VecVirtual {
			v := vector()
			VDIVPD(number(a, r), ones, v)
			return v
		}},
		{"Root", false, nil},
		{"Same", false, func(r int) reg.VecVirtual { return read(number(a, r)) }},
		{"Negative", false, func(r int) reg.VecVirtual {
			v := read(number(a, r))
			VXORPD(sign, v, v)
			return v
		}},
		{"Plus", false, func(r int) reg.VecVirtual {
			v := read(number(a, r))
			VADDPD(number(to, r), v, v)
			return v
		}},
		{"Minus", false, func(r int) reg.VecVirtual {
			v := read(number(to, r))
			VSUBPD(number(a, r), v, v)
			return v
		}},
		{"Largest", false, func(r int) reg.VecVirtual {
			y, v := read(number(a, r)), read(number(to, r))
			VANDPD(size1, y, y)
			VMAXPD(y, v, v)
			return v
		}},
	}
	for i, k := range kinds[1:] {
		if k.make != nil {
			CMPQ(kind, U8(i+1))
			JE(LabelRef(name + k.name))
		}
	}
	for _, k := range kinds {
		if k.make == nil {
			continue
		}
		Label(name + k.name)
		MOVLQSX(at(code, 0), to)
		MOVLQSX(at(code, 4), a)
		if k.two {
			MOVLQSX(at(code, 8), b)
		}
		for r := range registers {
			VMOVUPD(k.make(r), number(to, r))
		}
		ADDQ(U8(12), code)
		DECQ(count)
		JNZ(LabelRef(name + k.name))
		JMP(LabelRef(name + "Next"))
	}
	Label(name + "Done")
	end()
}
