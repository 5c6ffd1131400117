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

// chase makes a sweep, in a function of its own for rows: those of the problems in the widest registers, and of the one after them.
func chase(s grouping, rows bool) {
	if rows {
		function("chaseRows"+s.name, "func(d, e, r, alone *float64, x *float64, from, to int)", "chaseRows"+s.name+` is chase`+s.name+` and turns rows of eight numbers: r those of the problems in the widest registers,
"alone" of the one after them.`)
	} else {
		function("chase"+s.name, "func(d, e, cs *float64, x *float64, from, to int)", "chase"+s.name+` makes the rotations from-1 down to "to" of all lanes whose sweep goes over them, and writes cosine, sine and
what lanes are in it to cs. A lane in which a rotation has no size leaves its sweep there.`)
	}
	d, e, x := pointer("d"), pointer("e"), pointer("x")
	from, to := pointer("from"), pointer("to")
	var k reg.VecVirtual
	s.widest(func() { k = count(from) })
	type state struct{ s, c, s2, p, q reg.VecVirtual }
	states := make([]state, len(s.widths))
	s.each(func(g, lane int) { states[g].q = load(at(x, sweepQ+lane)) })
	many := s.widths[0] == 8 // registers: little of the state needs to be in memory
	if many {
		s.each(func(g, lane int) {
			of := func(offset int) reg.VecVirtual { return load(at(x, offset+lane)) }
			y := &states[g]
			y.s, y.c, y.s2, y.p = of(sweepS), of(sweepC), of(sweepSquare), of(sweepP)
		})
	}
	var cs, r, alone reg.GPVirtual
	var turning [rowsOfShapes]reg.VecVirtual
	var turningAlone reg.VecVirtual
	if rows {
		r, alone = pointer("r"), pointer("alone")
		s.widest(func() {
			for _, base := range []reg.Register{r, alone} {
				offset := GP64()
				by := size()
				if base == r {
					by *= rowsOfShapes
				}
				IMUL3Q(I32(by), from, offset)
				ADDQ(offset, base)
			}
			for i := range turning {
				turning[i] = load(at(r, size()*i))
			}
			turningAlone = load(at(alone, 0))
		})
	} else {
		cs = pointer("cs")
	}
	offset := GP64()
	IMUL3Q(U8(stride), from, offset)
	ADDQ(offset, d)
	ADDQ(offset, e)
	if !rows {
		LEAQ(Mem{Base: offset, Index: offset, Scale: 2}, offset)
		ADDQ(offset, cs)
	}
	JMP(LabelRef("chaseTest"))
	Label("chase")
	DECQ(from)
	SUBQ(U8(stride), d)
	SUBQ(U8(stride), e)
	if rows {
		s.widest(func() {
			SUBQ(I32(size()*rowsOfShapes), r)
			SUBQ(U8(size()), alone)
		})
	} else {
		SUBQ(I32(3*stride), cs)
	}
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
		on := compare(narrowed(k), less, of(sweepM)).and(compare(narrowed(k), greaterOrEqual, of(sweepL)))
		ei := load(at(e, lane))
		f := mul(read(y.s, sweepS), ei)
		b := mul(read(y.c, sweepC), ei)
		f2 := mul(read(y.s2, sweepSquare), mul(ei, ei))
		square := add(mul(y.q, y.q), f2)
		h := vector()
		VSQRTPD(square, h)
		nothing := compare(square, less, all(normal())).and(on)
		whole := "chaseWhole" + string(rune('0'+g))
		nothing.jumpWithout(whole)
		// seldom: the matrix falls apart here
		split := load(of(sweepSplit))
		nothing.put(narrowed(k), split)
		VMOVUPD(split, of(sweepSplit))
		l := load(of(sweepL))
		nothing.put(all(infinity()), l)
		VMOVUPD(l, of(sweepL))
		on.leave(nothing)
		Label(whole)
		old := load(at(e, lane+stride))
		on.put(h, old)
		VMOVUPD(old, at(e, lane+stride))
		// what comes next waits for the division, not for the root
		r1 := over(square, all(one()))
		next := load(at(d, lane+stride))
		u := sub(read(y.p, sweepP), next)
		turned := add(mul(b, add(y.q, y.q)), mul(f, sub(u, load(at(d, lane)))))
		p := mul(r1, mul(f, turned))
		VADDPD(p, u, u)
		on.put(u, next)
		VMOVUPD(next, at(d, lane+stride))
		ih := mul(h, r1)
		sine, cosine := mul(ih, f), mul(ih, y.q)
		if !rows {
			VMOVUPD(cosine, at(cs, 3*lane))
			VMOVUPD(sine, at(cs, 3*lane+size()))
			on.store(at(cs, 3*lane+2*size()))
		}
		VMULPD(r1, f2, f2)
		on.put(sub(b, mul(r1, mul(y.q, turned))), y.q)
		for _, z := range []struct {
			next, kept reg.VecVirtual
			offset     int
		}{{sine, y.s, sweepS}, {cosine, y.c, sweepC}, {f2, y.s2, sweepSquare}, {p, y.p, sweepP}} {
			before := read(z.kept, z.offset)
			on.put(z.next, before)
			if !many {
				VMOVUPD(before, of(z.offset))
			}
		}
		switch {
		case !rows:
		case g == 0:
			for i := range turning {
				turnRow(on, cosine, sine, turning[i], at(r, size()*i), at(r, size()*(i+rowsOfShapes)))
			}
		default:
			s.widest(func() {
				turnRow(on.first(), firstOf(cosine), firstOf(sine), turningAlone, at(alone, 0), at(alone, size()))
			})
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
	if rows {
		s.widest(func() {
			for i := range turning {
				VMOVUPD(turning[i], at(r, size()*i))
			}
			VMOVUPD(turningAlone, at(alone, 0))
		})
	}
	end()
}

// firstOf returns the first number of v in all lanes.
func firstOf(v reg.VecVirtual) reg.VecVirtual {
	to := vector()
	VBROADCASTSD(v.AsX(), to)
	return to
}

// turnRow turns y and the row at x, in the lanes of on: what comes of y goes to "to", of the other into y. On processors with masks of their own kind.
func turnRow(on mask, c, s, y reg.VecVirtual, from, to Mem) {
	x := load(from)
	own, other := mul(c, y), mul(s, x)
	back, rest := mul(s, y), mul(c, x)
	VADDPD(other, own, on.k, y) // into what stays as it is elsewhere
	VSUBPD(back, rest, on.k, x)
	VMOVUPD(y, to)
	VMOVAPD(x, y)
}

// turnAlone applies the rotations of a sweep to the rows of the problem after those in the widest registers.
func turnAlone(s grouping) {
	function("turnAlone"+s.name, "func(r, cs *float64, from, to int)", "turnAlone"+s.name+` applies the rotations from-1 down to "to" of cs to rows of eight numbers of one problem, where it is in them.`)
	r, cs := pointer("r"), pointer("cs")
	from, to := pointer("from"), pointer("to")
	s.widest(func() {
		offset := GP64()
		IMUL3Q(I32(size()), from, offset)
		ADDQ(offset, r)
		IMUL3Q(I32(3*stride), from, offset)
		ADDQ(offset, cs)
		y := load(at(r, 0))
		JMP(LabelRef("turnAloneTest"))
		Label("turnAlone")
		DECQ(from)
		SUBQ(I32(3*stride), cs)
		SUBQ(U8(size()), r)
		var on mask
		small := 8 * s.widths[1]
		with(s.widths[1], func() { on = loadMask(at(cs, 2*small)) })
		turnRow(on.first(), all(at(cs, 0)), all(at(cs, small)), y, at(r, 0), at(r, size()))
		Label("turnAloneTest")
		CMPQ(from, to)
		JG(LabelRef("turnAlone"))
		VMOVUPD(y, at(r, 0))
	})
	end()
}

// reflectAlone applies a reflection to the rows of the problem after those in the widest registers.
func reflectAlone(s grouping) {
	function("reflectAlone"+s.name, "func(r, v *float64, i int, ih *float64)", "reflectAlone"+s.name+` applies the reflection to the first i rows, of eight numbers, of one problem.`)
	r, v, n := pointer("r"), pointer("v"), pointer("i")
	ih := pointer("ih")
	s.widest(func() {
		one := 8 * s.widths[1] // what a number of v takes
		t, from, to, k := zero(), GP64(), GP64(), GP64()
		MOVQ(v, from)
		MOVQ(r, to)
		MOVQ(n, k)
		Label("reflectAloneSum")
		VADDPD(mul(at(to, 0), all(at(from, 0))), t, t)
		ADDQ(U8(size()), to)
		ADDQ(U8(one), from)
		DECQ(k)
		JNZ(LabelRef("reflectAloneSum"))
		VMULPD(all(at(ih, 0)), t, t)
		Label("reflectAloneSubtract")
		x := load(at(r, 0))
		VSUBPD(mul(t, all(at(v, 0))), x, x)
		VMOVUPD(x, at(r, 0))
		ADDQ(U8(size()), r)
		ADDQ(U8(one), v)
		DECQ(n)
		JNZ(LabelRef("reflectAloneSubtract"))
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
			if width != 4 && masked {
				turnRow(on, c, s, y[k], at(r, size()*k), at(r, size()*(k+rowsOfShapes)))
				continue
			}
			x := load(at(r, size()*k))
			own, other := mul(c, y[k]), mul(s, x)
			back, rest := mul(s, y[k]), mul(c, x)
			var next, turned reg.VecVirtual
			switch {
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
