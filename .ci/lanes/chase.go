package main

import (
	"math"

	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// Offsets into the state of a sweep, [sweep] of the Go code.
const (
	sweepS = stride * iota
	sweepC
	sweepP
	sweepQ
	sweepL
	sweepM
	sweepSplit
	sweepTiny
	sweepTurn
	sweepSquare // of s
)

// count returns a whole number in all lanes.
func count(n reg.Register) reg.VecVirtual {
	k, number := vector(), XMM()
	VXORPD(number, number, number)
	VCVTSI2SDQ(n, number, number)
	VBROADCASTSD(number, k)
	return k
}

// begin prepares the next sweep of all problems.
func begin(s grouping) {
	function("begin"+s.name, "func(d, e *float64, x *float64, last, least int)", "begin"+s.name+` begins the next sweep of every problem that is not done: l becomes the first number from the old l on, none of
them before least, that is not split from the next one, m the first split after it, "last" if no other; without one +Inf and 0.`)
	d, e, x := pointer("d"), pointer("e"), pointer("x")
	last, least := pointer("last"), pointer("least")
	var k, abs, tiniest, unit reg.VecVirtual
	s.widest(func() { k, abs, tiniest, unit = count(last), all(magnitude()), all(eps()), all(one()) })
	split, l, m := make([]reg.VecVirtual, len(s.widths)), make([]reg.VecVirtual, len(s.widths)), make([]reg.VecVirtual, len(s.widths))
	s.each(func(g, from int) {
		split[g], l[g], m[g] = vector(), all(infinity()), zero()
		VMOVAPD(narrowed(k), split[g])
	})
	for _, n := range []reg.Register{last, least} {
		IMUL3Q(U8(stride), n, n)
	}
	JMP(LabelRef("beginTest"))
	Label("begin")
	SUBQ(U8(stride), last)
	s.widest(func() { VSUBPD(unit, k, k) })
	s.each(func(g, from int) {
		y, z, w := vector(), vector(), vector()
		VANDPD(in(d, last, from), narrowed(abs), y)
		VANDPD(in(d, last, from+stride), narrowed(abs), z)
		VADDPD(z, y, y)
		VMULPD(narrowed(tiniest), y, y)
		VMAXPD(at(x, sweepTiny+from), y, y)
		VANDPD(in(e, last, from), narrowed(abs), w)
		apart := compare(w, lessOrEqual, y)
		left := compare(load(at(x, sweepL+from)), lessOrEqual, narrowed(k)).without(apart)
		left.put(narrowed(k), l[g])
		left.put(split[g], m[g])
		apart.put(narrowed(k), split[g])
	})
	Label("beginTest")
	CMPQ(last, least)
	JG(LabelRef("begin"))
	s.each(func(g, from int) {
		state := func(offset int) Mem { return at(x, offset+from) }
		turn := load(state(sweepTurn))
		compare(l[g], unequal, state(sweepL)).clear(turn)
		compare(l[g], less, all(infinity())).put(add(narrowed(unit), turn), turn)
		VMOVUPD(turn, state(sweepTurn))
		late := compare(turn, greater, all(fifty()))
		late.put(all(infinity()), l[g])
		late.clear(m[g])
		VMOVUPD(l[g], state(sweepL))
		VMOVUPD(m[g], state(sweepM))
		VMOVUPD(narrowed(unit), state(sweepS))
		VMOVUPD(narrowed(unit), state(sweepC))
		VMOVUPD(narrowed(unit), state(sweepSquare))
		VMOVUPD(zero(), state(sweepP))
		VMOVUPD(sub(narrowed(unit), zero()), state(sweepSplit))
		// Wilkinson's shift
		compare(l[g], equal, all(infinity())).clear(l[g])
		pick := func(base reg.Register, number reg.VecVirtual, disp int) reg.VecVirtual {
			place := add(load(lanes()), mul(all(data("stride", U64(math.Float64bits(stride/8)))), number))
			return gather(base, place, from+disp)
		}
		dl, el := pick(d, l[g], 0), pick(e, l[g], 0)
		q := over(add(el, el), sub(dl, pick(d, l[g], stride)))
		root := add(narrowed(unit), mul(q, q))
		VSQRTPD(root, root)
		compare(q, less, zero()).negate(root)
		VADDPD(q, root, root)
		VDIVPD(root, el, el)
		VMOVUPD(add(el, sub(dl, pick(d, m[g], 0))), state(sweepQ))
	})
	end()
}

// lanes is where the numbers of the lanes are: 0 to 7.
func lanes() Mem {
	m, ok := constants["lanes"]
	if !ok {
		m = GLOBL("lanes", RODATA|NOPTR)
		for i := range 8 {
			DATA(8*i, U64(math.Float64bits(float64(i))))
		}
		constants["lanes"] = m
	}
	return m
}

// gather returns the numbers at places from base on.
func gather(base reg.Register, place reg.VecVirtual, disp int) reg.VecVirtual {
	to := zero()
	every := compare(to, equal, to)
	number := func(index reg.Register) Mem { return Mem{Base: base, Index: index, Scale: 8, Disp: disp} }
	switch width {
	case 8:
		index := YMM()
		VCVTTPD2DQ(place, index)
		VGATHERDPD(number(index), every.k, to)
	case 4:
		index := XMM()
		VCVTTPD2DQY(place, index)
		VGATHERDPD(every.v, number(index), to)
	default:
		index := XMM()
		VCVTTPD2DQX(place, index)
		VGATHERDPD(number(index), every.k, to)
	}
	return to
}

func chase(s grouping) {
	function("chase"+s.name, "func(d, e, cs *float64, x *float64, from, to int)", "chase"+s.name+` makes the rotations from-1 down to "to" of all lanes whose sweep goes over them, and writes cosine, sine and
what lanes are in it to cs. A lane in which a rotation has no size leaves its sweep there.`)
	d, e, cs, x := pointer("d"), pointer("e"), pointer("cs"), pointer("x")
	from, to := pointer("from"), pointer("to")
	var k reg.VecVirtual
	s.widest(func() { k = count(from) })
	type state struct{ s, c, s2, p, q, l, m reg.VecVirtual }
	states := make([]state, len(s.widths))
	s.each(func(g, lane int) { states[g].q = load(at(x, sweepQ+lane)) })
	many := s.widths[0] == 8 // registers: nothing of the state needs to be in memory
	if many {
		s.each(func(g, lane int) {
			of := func(offset int) reg.VecVirtual { return load(at(x, offset+lane)) }
			y := &states[g]
			y.s, y.c, y.s2, y.p, y.l, y.m = of(sweepS), of(sweepC), of(sweepSquare), of(sweepP), of(sweepL), of(sweepM)
		})
	}
	offset := GP64()
	IMUL3Q(U8(stride), from, offset)
	ADDQ(offset, d)
	ADDQ(offset, e)
	LEAQ(Mem{Base: offset, Index: offset, Scale: 2}, offset)
	ADDQ(offset, cs)
	least := k
	if many {
		s.widest(func() { least = all(normal()) })
	}
	JMP(LabelRef("chaseTest"))
	Label("chase")
	DECQ(from)
	SUBQ(U8(stride), d)
	SUBQ(U8(stride), e)
	SUBQ(I32(3*stride), cs)
	s.widest(func() { VSUBPD(all(one()), k, k) })
	s.each(func(g, lane int) {
		y := states[g]
		of := func(offset int) Mem { return at(x, offset+lane) }
		read := func(kept reg.VecVirtual, offset int) reg.VecVirtual {
			if many {
				return kept
			}
			return load(of(offset))
		}
		on := compare(narrowed(k), less, read(y.m, sweepM)).and(compare(read(y.l, sweepL), lessOrEqual, narrowed(k)))
		ei := load(at(e, lane))
		f := mul(read(y.s, sweepS), ei)
		b := mul(read(y.c, sweepC), ei)
		f2 := mul(read(y.s2, sweepSquare), mul(ei, ei))
		square := add(mul(y.q, y.q), f2)
		h := vector()
		VSQRTPD(square, h)
		smallest := narrowed(least)
		if !many {
			smallest = all(normal())
		}
		nothing := compare(square, less, smallest).and(on)
		whole := "chaseWhole" + string(rune('0'+g))
		nothing.jumpWithout(whole)
		// seldom: the matrix falls apart here
		split := load(of(sweepSplit))
		nothing.put(narrowed(k), split)
		VMOVUPD(split, of(sweepSplit))
		l := read(y.l, sweepL)
		nothing.put(all(infinity()), l)
		VMOVUPD(l, of(sweepL))
		on.leave(nothing)
		Label(whole)
		old := load(at(e, lane+stride))
		on.put(h, old)
		VMOVUPD(old, at(e, lane+stride))
		// what comes next waits for the division, not for the root
		r := over(square, all(one()))
		next := load(at(d, lane+stride))
		u := sub(read(y.p, sweepP), next)
		turned := add(mul(b, add(y.q, y.q)), mul(f, sub(u, load(at(d, lane)))))
		p := mul(r, mul(f, turned))
		VADDPD(p, u, u)
		on.put(u, next)
		VMOVUPD(next, at(d, lane+stride))
		ih := mul(h, r)
		s, c := mul(ih, f), mul(ih, y.q)
		VMOVUPD(c, at(cs, 3*lane))
		VMOVUPD(s, at(cs, 3*lane+size()))
		on.store(at(cs, 3*lane+2*size()))
		VMULPD(r, f2, f2)
		on.put(sub(b, mul(r, mul(y.q, turned))), y.q)
		for _, z := range []struct {
			next, kept reg.VecVirtual
			offset     int
		}{{s, y.s, sweepS}, {c, y.c, sweepC}, {f2, y.s2, sweepSquare}, {p, y.p, sweepP}} {
			before := read(z.kept, z.offset)
			on.put(z.next, before)
			if !many {
				VMOVUPD(before, of(z.offset))
			}
		}
	})
	Label("chaseTest")
	CMPQ(from, to)
	JG(LabelRef("chase"))
	s.each(func(g, lane int) {
		VMOVUPD(states[g].q, at(x, sweepQ+lane))
		if many {
			VMOVUPD(states[g].p, at(x, sweepP+lane))
		}
	})
	end()
}

// turnRows applies the rotations of a sweep.
func turnRows() {
	for _, masked := range []bool{false, true} {
		if width == 8 && !masked {
			continue // masks cost nothing
		}
		name, doc := named("turnRows"), ` applies the rotations from-1 down to "to" of cs to rows of eight numbers.`
		if masked {
			name, doc = named("turnSomeRows"), ` applies the rotations from-1 down to "to" of cs to rows of eight numbers, in the lanes that are in the rotation.`
		}
		function(name, "func(r, cs *float64, from, to int)", name+doc)
		r, cs := pointer("r"), pointer("cs")
		from, to := pointer("from"), pointer("to")
		offset := GP64()
		IMUL3Q(I32(size()*rowsOfShapes), from, offset)
		ADDQ(offset, r)
		IMUL3Q(I32(3*stride), from, offset)
		ADDQ(offset, cs)
		var y [rowsOfShapes]reg.VecVirtual
		for k := range y {
			y[k] = load(at(r, size()*k))
		}
		JMP(LabelRef("turnTest"))
		Label("turn")
		DECQ(from)
		SUBQ(I32(3*stride), cs)
		SUBQ(I32(size()*rowsOfShapes), r)
		c, s := load(at(cs, 0)), load(at(cs, size()))
		var on mask
		if masked {
			on = loadMask(at(cs, 2*size()))
		}
		for k := range y {
			x := load(at(r, size()*k))
			own, other := mul(c, y[k]), mul(s, x)
			back, rest := mul(s, y[k]), mul(c, x)
			var next, turned reg.VecVirtual
			switch {
			case width != 4 && masked: // into what stays as it is elsewhere
				VADDPD(other, own, on.k, y[k])
				VSUBPD(back, rest, on.k, x)
				next, turned = y[k], x
			case masked:
				VADDPD(other, own, own)
				VSUBPD(back, rest, rest)
				on.put(own, y[k])
				on.put(rest, x)
				next, turned = y[k], x
			default:
				next, turned = add(other, own), sub(back, rest)
			}
			VMOVUPD(next, at(r, size()*(k+rowsOfShapes)))
			VMOVAPD(turned, y[k])
		}
		Label("turnTest")
		CMPQ(from, to)
		JG(LabelRef("turn"))
		for k := range y {
			VMOVUPD(y[k], at(r, size()*k))
		}
		end()
	}
}
