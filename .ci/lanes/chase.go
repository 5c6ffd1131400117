package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// Of three fours side by side, 96 bytes a number.
const fours = 3

func splits() {
	function("splits12", "func(d, e *float64, from, to int, l, m, tiny *float64)", `splits12 makes m, in every lane, the first k after l, and from "to" on in all, whose e is nothing beside its
neighbours on the diagonal; "from" where there is none before it.`)
	d, e := pointer("d"), pointer("e")
	from, to := pointer("from"), pointer("to")
	l, m, tiny := pointer("l"), pointer("m"), pointer("tiny")
	abs, tiniest, unit := all(magnitude()), all(eps()), all(one())
	k, number := YMM(), XMM()
	VXORPD(number, number, number)
	VCVTSI2SDQ(from, number, number)
	VBROADCASTSD(number, k)
	var first [fours]reg.VecVirtual
	for g := range fours {
		first[g] = YMM()
		VMOVAPD(k, first[g])
	}
	for _, x := range []reg.Register{from, to} {
		IMUL3Q(U8(32*fours), x, x)
	}
	JMP(LabelRef("splitsTest"))
	Label("splits")
	SUBQ(U8(32*fours), from)
	VSUBPD(unit, k, k)
	for g := range fours {
		x, y, z := YMM(), YMM(), YMM()
		VANDPD(in(d, from, 32*g), abs, x)
		VANDPD(in(d, from, 32*(g+fours)), abs, y)
		VADDPD(y, x, x)
		VMULPD(tiniest, x, x)
		VMAXPD(at(tiny, 32*g), x, x)
		VANDPD(in(e, from, 32*g), abs, z)
		VCMPPD(U8(lessOrEqual), x, z, z)
		VCMPPD(U8(less), k, load(at(l, 32*g)), y)
		VANDPD(y, z, z)
		VBLENDVPD(z, k, first[g], first[g])
	}
	Label("splitsTest")
	CMPQ(from, to)
	JG(LabelRef("splits"))
	for g := range fours {
		VMOVUPD(first[g], at(m, 32*g))
	}
	end()
}

// Offsets into the state of a sweep, [sweep] of the Go code.
const (
	sweepS = 32 * fours * iota
	sweepC
	sweepP
	sweepQ
	sweepL
	sweepM
	sweepSplit
)

func chase() {
	function("chase12", "func(d, e, cs *float64, x *float64, from, to int)", `chase12 makes the rotations from-1 down to "to" of all lanes whose sweep goes over them, and writes cosine, sine and
what lanes are in it to cs. A lane in which a rotation has no size leaves its sweep there.`)
	d, e, cs, x := pointer("d"), pointer("e"), pointer("cs"), pointer("x")
	from, to := pointer("from"), pointer("to")
	k, number := YMM(), XMM()
	VXORPD(number, number, number)
	VCVTSI2SDQ(from, number, number)
	VBROADCASTSD(number, k)
	var q [fours]reg.VecVirtual
	for g := range fours {
		q[g] = load(at(x, sweepQ+32*g))
	}
	offset := GP64()
	IMUL3Q(U8(32*fours), from, offset)
	ADDQ(offset, d)
	ADDQ(offset, e)
	LEAQ(Mem{Base: offset, Index: offset, Scale: 2}, offset)
	ADDQ(offset, cs)
	JMP(LabelRef("chaseTest"))
	Label("chase")
	DECQ(from)
	SUBQ(U8(32*fours), d)
	SUBQ(U8(32*fours), e)
	SUBQ(I32(3*32*fours), cs)
	VSUBPD(all(one()), k, k)
	for g := range fours {
		state := func(offset int) Mem { return at(x, offset+32*g) }
		on, before := YMM(), YMM()
		VMOVAPD(k, before)
		VCMPPD(U8(less), state(sweepM), before, before)
		VMOVUPD(state(sweepL), on)
		VCMPPD(U8(lessOrEqual), k, on, on)
		VANDPD(before, on, on)
		ei := load(at(e, 32*g))
		f := mul(state(sweepS), ei)
		b := mul(state(sweepC), ei)
		h := add(mul(q[g], q[g]), mul(f, f))
		VSQRTPD(h, h)
		nothing := YMM()
		VXORPD(nothing, nothing, nothing)
		VCMPPD(U8(equal), h, nothing, nothing)
		VANDPD(on, nothing, nothing)
		VPTEST(nothing, nothing)
		whole := "chaseWhole" + string(rune('0'+g))
		JZ(LabelRef(whole))
		// seldom: the matrix falls apart here
		split := load(state(sweepSplit))
		VBLENDVPD(nothing, k, split, split)
		VMOVUPD(split, state(sweepSplit))
		VMOVUPD(state(sweepL), split)
		VBLENDVPD(nothing, all(infinity()), split, split)
		VMOVUPD(split, state(sweepL))
		VANDNPD(on, nothing, on)
		Label(whole)
		old := load(at(e, 32*(g+fours)))
		VBLENDVPD(on, h, old, old)
		VMOVUPD(old, at(e, 32*(g+fours)))
		ih := over(h, all(one()))
		s, c := mul(ih, f), mul(ih, q[g])
		VMOVUPD(c, at(cs, 96*g))
		VMOVUPD(s, at(cs, 96*g+32))
		VMOVUPD(on, at(cs, 96*g+64))
		next := load(at(d, 32*(g+fours)))
		u := sub(state(sweepP), next)
		t := mul(s, sub(u, load(at(d, 32*g))))
		VADDPD(mul(b, add(c, c)), t, t)
		p := mul(t, s)
		VADDPD(p, u, u)
		VBLENDVPD(on, u, next, next)
		VMOVUPD(next, at(d, 32*(g+fours)))
		VMULPD(c, t, t)
		VSUBPD(b, t, t)
		VBLENDVPD(on, t, q[g], q[g])
		for _, y := range []struct {
			offset int
			v      reg.VecVirtual
		}{{sweepS, s}, {sweepC, c}, {sweepP, p}} {
			old := load(state(y.offset))
			VBLENDVPD(on, y.v, old, old)
			VMOVUPD(old, state(y.offset))
		}
	}
	Label("chaseTest")
	CMPQ(from, to)
	JG(LabelRef("chase"))
	for g := range fours {
		VMOVUPD(q[g], at(x, sweepQ+32*g))
	}
	end()
}

// turnRows applies the rotations of a sweep.
func turnRows() {
	for _, masked := range []bool{false, true} {
		name, doc := "turnRows4", `turnRows4 applies the rotations from-1 down to "to" of cs to rows of eight numbers.`
		if masked {
			name, doc = "turnSomeRows4", `turnSomeRows4 is turnRows4 of the lanes that are in the rotation.`
		}
		function(name, "func(r, cs *float64, from, to int)", doc)
		r, cs := pointer("r"), pointer("cs")
		from, to := pointer("from"), pointer("to")
		offset := GP64()
		MOVQ(from, offset)
		SHLQ(U8(8), offset)
		ADDQ(offset, r)
		IMUL3Q(I32(3*32*fours), from, offset)
		ADDQ(offset, cs)
		var y [rowsOfShapes]reg.VecVirtual
		for k := range y {
			y[k] = load(at(r, 32*k))
		}
		JMP(LabelRef(name + "Test"))
		Label(name)
		DECQ(from)
		SUBQ(I32(3*32*fours), cs)
		SUBQ(I32(32*rowsOfShapes), r)
		c, s := load(at(cs, 0)), load(at(cs, 32))
		for k := range y {
			x := load(at(r, 32*k))
			next := add(mul(c, y[k]), mul(s, x))
			turned := sub(mul(s, y[k]), mul(c, x))
			if masked {
				VBLENDVPD(load(at(cs, 64)), next, y[k], next)
				VBLENDVPD(load(at(cs, 64)), turned, x, turned)
			}
			VMOVUPD(next, at(r, 32*(k+rowsOfShapes)))
			VMOVAPD(turned, y[k])
		}
		Label(name + "Test")
		CMPQ(from, to)
		JG(LabelRef(name))
		for k := range y {
			VMOVUPD(y[k], at(r, 32*k))
		}
		end()
	}
}
