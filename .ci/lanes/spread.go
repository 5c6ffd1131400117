package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// spread writes numbers of eight lanes into eight columns, four numbers of four lanes at a time.
func spread() {
	function("spread8", "func(from *float64, between int, step int, count int, to *[8]*float64, onward int)",
		`spread8 writes four numbers of eight lanes, which stand so many bytes apart, behind each other to each of eight places, count times, going on by
so many bytes.`)
	from, between, step, count, list, onward := pointer("from"), pointer("between"), pointer("step"), pointer("count"), pointer("to"), pointer("onward")
	far := GP64()
	LEAQ(Mem{Base: between, Index: between, Scale: 2}, far)
	done := GP64()
	XORQ(done, done)
	Label("spreadNext")
	for half := 0; half < 64; half += 32 {
		a := load(at(from, half))
		b := load(Mem{Base: from, Index: between, Scale: 1, Disp: half})
		c := load(Mem{Base: from, Index: between, Scale: 2, Disp: half})
		d := load(Mem{Base: from, Index: far, Scale: 1, Disp: half})
		ab0, ab1, cd0, cd1 := YMM(), YMM(), YMM(), YMM()
		VUNPCKLPD(b, a, ab0) // lanes 0 and 2
		VUNPCKHPD(b, a, ab1) // 1 and 3
		VUNPCKLPD(d, c, cd0)
		VUNPCKHPD(d, c, cd1)
		for l, pair := range [4][2]reg.VecVirtual{{ab0, cd0}, {ab1, cd1}, {ab0, cd0}, {ab1, cd1}} {
			v := YMM()
			VPERM2F128(U8(0x20+0x11*(l/2)), pair[1], pair[0], v)
			p := GP64()
			MOVQ(at(list, half+8*l), p)
			VMOVUPD(v, Mem{Base: p, Index: done, Scale: 1})
		}
	}
	ADDQ(step, from)
	ADDQ(onward, done)
	DECQ(count)
	JNZ(LabelRef("spreadNext"))
	end()
}

// repeat writes each of some numbers eight times, or nine.
func repeat() {
	function("repeat8", "func(to, from *float64, count, size int)", `repeat8 writes count numbers, each over size bytes: 64 or 72.`)
	to, from, count, onward := pointer("to"), pointer("from"), pointer("count"), pointer("size")
	Label("repeatNext")
	v := YMM()
	VBROADCASTSD(at(from, 0), v)
	VMOVUPD(v, at(to, 0))
	VMOVUPD(v, at(to, 32))
	VMOVSD(v.AsX(), Mem{Base: to, Index: onward, Scale: 1, Disp: -8})
	ADDQ(U8(8), from)
	ADDQ(onward, to)
	DECQ(count)
	JNZ(LabelRef("repeatNext"))
	end()
}
