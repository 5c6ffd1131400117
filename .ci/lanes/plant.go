package main

import (
	"math"

	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// cleared returns n registers of zeros.
func cleared(n int) []reg.VecVirtual {
	list := make([]reg.VecVirtual, n)
	for i := range list {
		list[i] = zero()
	}
	return list
}

// each begins a loop over n things, of which there may be none, and returns what ends it.
func each(name string, n reg.GPVirtual) (end func()) {
	TESTQ(n, n)
	JZ(LabelRef(name + "Done"))
	Label(name)
	return func() {
		DECQ(n)
		JNZ(LabelRef(name))
		Label(name + "Done")
	}
}

func store(list []reg.VecVirtual, to reg.Register, disp int) {
	for i, v := range list {
		VMOVUPD(v, at(to, disp+32*i))
	}
}

func points() {
	function("points4", "func(omega, strength, residue *float64, n int, x, to *float64)", `points4 sums the modes at four frequencies w; x holds w² and 2 ζ w, to takes the real parts of xx, xy, yx, yy, the imaginary
parts, and the sum of strengths.`)
	omega, strength, residue := pointer("omega"), pointer("strength"), pointer("residue")
	n, x, to := pointer("n"), pointer("x"), pointer("to")
	sums := cleared(9)
	done := each("points", n)
	w := all(at(omega, 0))
	im := mul(at(x, 32), w)
	VMULPD(w, w, w)
	re := sub(at(x, 0), w)
	size := mul(re, re)
	VADDPD(mul(im, im), size, size)
	q := all(one())
	VDIVPD(size, q, q)
	VMULPD(q, re, re)
	VMULPD(q, im, im)
	for i := range 4 {
		r := all(at(residue, 8*i))
		t := mul(re, r)
		VADDPD(t, sums[i], sums[i])
		VMULPD(im, r, r)
		VSUBPD(r, sums[4+i], sums[4+i])
	}
	abs := all(magnitude())
	VANDPD(re, abs, abs)
	VADDPD(im, abs, abs)
	VMULPD(all(at(strength, 0)), abs, abs)
	VADDPD(abs, sums[8], sums[8])
	ADDQ(U8(8), omega)
	ADDQ(U8(8), strength)
	ADDQ(U8(32), residue)
	done()
	store(sums, to, 0)
	end()
}

func poles() {
	function("poles4", "func(omega *float64, n int, x, to *float64)", `poles4 bounds the modes in four intervals; x holds their ends a, b, √(1 − ζ²) and ζ, to takes value, slope and bend of each mode.`)
	omega, n, x, to := pointer("omega"), pointer("n"), pointer("x"), pointer("to")
	done := each("poles", n)
	w := all(at(omega, 0))
	peak, width := mul(at(x, 64), w), mul(at(x, 96), w)
	a, b := load(at(x, 0)), load(at(x, 32))
	near, far := sub(peak, a), sub(peak, b)
	limit := all(data("remote", U64(math.Float64bits(4))))
	VMULPD(width, limit, limit)
	remote, other := YMM(), YMM()
	VCMPPD(U8(greater), limit, near, remote)
	VXORPD(all(signBit()), limit, limit)
	VCMPPD(U8(less), limit, far, other)
	VORPD(other, remote, remote)
	mask := GP32()
	VMOVMSKPD(remote, mask)
	abs := all(magnitude())
	VANDPD(abs, near, near)
	VANDPD(abs, far, far)
	CMPL(mask, U8(15))
	JE(LabelRef("polesRemote"))
	square := mul(width, width)
	for _, y := range []reg.VecVirtual{near, far} {
		root := mul(y, y)
		VADDPD(square, root, root)
		VSQRTPD(root, root)
		VBLENDVPD(remote, y, root, y)
	}
	Label("polesRemote")
	sum, both := add(peak, a), mul(near, far)
	once := all(one())
	VDIVPD(mul(both, sum), once, once)
	g := mul(both, once)
	fa, fb := mul(far, once), mul(near, once)
	VMULPD(sum, fa, fa)
	VMULPD(sum, fb, fb)
	f := YMM()
	VMAXPD(fb, fa, f)
	inside := YMM()
	VCMPPD(U8(less), peak, a, inside)
	VCMPPD(U8(less), b, peak, other)
	VANDPD(other, inside, inside)
	VMOVMSKPD(inside, mask)
	TESTL(mask, mask)
	JZ(LabelRef("polesOutside"))
	top := all(one())
	VDIVPD(width, top, top)
	VBLENDVPD(inside, top, f, f)
	Label("polesOutside")
	v := mul(f, g)
	VADDPD(f, g, f)
	d := mul(v, f)
	bend := mul(g, g)
	VADDPD(v, bend, bend)
	VMULPD(fa, fb, fa)
	VMULPD(fa, bend, bend)
	last := mul(v, g)
	VMULPD(g, last, last)
	VADDPD(last, bend, bend)
	store([]reg.VecVirtual{v, d, bend}, to, 0)
	ADDQ(U8(8), omega)
	ADDQ(U8(96), to)
	done()
	end()
}

func weigh() {
	function("weigh4", "func(strength *float64, n int, poles, to *float64)", `weigh4 sums value, slope and bend of the modes times their four strengths, and the pairs of a mode with itself.`)
	strength, n, poles, to := pointer("strength"), pointer("n"), pointer("poles"), pointer("to")
	again, place, from := GP64(), GP64(), GP64()
	MOVQ(n, again)
	MOVQ(strength, place)
	MOVQ(poles, from)
	for pass := range 2 {
		count, name := n, "weighAlong"
		if pass == 1 {
			count, strength, poles, name = again, place, from, "weighAcross"
		}
		sums := cleared(6 + 3*(1-pass)) // of the first strength and the second in turn, then the pairs
		done := each(name, count)
		v := [3]reg.VecVirtual{load(at(poles, 0)), load(at(poles, 32)), load(at(poles, 64))}
		var c [2]reg.VecVirtual
		for i := range c {
			c[i] = all(at(strength, 8*(2*pass+i)))
			for k, x := range v {
				t := mul(x, c[i])
				VADDPD(t, sums[2*k+i], sums[2*k+i])
			}
		}
		if pass == 0 {
			xy := c[0]
			VMULPD(c[1], xy, xy)
			t := mul(v[0], xy)
			u := mul(v[0], t)
			VADDPD(u, sums[6], sums[6])
			VMULPD(v[1], t, t)
			VADDPD(t, sums[7], sums[7])
			VMULPD(v[0], v[2], u)
			VADDPD(u, u, u)
			VMULPD(v[1], v[1], t)
			VADDPD(t, u, u)
			VMULPD(xy, u, u)
			VADDPD(u, sums[8], sums[8])
		}
		ADDQ(U8(32), strength)
		ADDQ(U8(96), poles)
		done()
		for k := range 3 {
			store(sums[2*k:2*k+2], to, 32*(4*k+2*pass))
		}
		if pass == 0 {
			store(sums[6:], to, 32*12)
		}
	}
	end()
}
