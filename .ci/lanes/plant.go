package main

import (
	"fmt"
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
		VMOVUPD(v, at(to, disp+rowOfEight*i))
	}
}

// rowOfEight is how far apart rows of eight numbers are, bytes.
const rowOfEight = 64

// wide is the name of a function or a label for the registers being written.
func wide(name string) string { return fmt.Sprintf("%s%d", name, width) }

func points() {
	function(wide("points"), "func(omega, residue *float64, n int, x, to *float64)", fmt.Sprintf(`points%d sums the modes at so many frequencies w; x holds w² and 2 ζ w, to takes the real parts of xx, xy, yx, yy and the imaginary
parts, in rows of eight.`, width))
	omega, residue := pointer("omega"), pointer("residue")
	n, x, to := pointer("n"), pointer("x"), pointer("to")
	sums := cleared(8)
	done := each(wide("points"), n)
	w := all(at(omega, 0))
	im := mul(at(x, rowOfEight), w)
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
	ADDQ(U8(8), omega)
	ADDQ(U8(32), residue)
	done()
	store(sums, to, 0)
	end()
}

func poles() {
	function(wide("poles"), "func(omega *float64, n int, x, to *float64)", fmt.Sprintf(`poles%d bounds the modes in so many intervals; x holds their ends a, b, √(1 − ζ²) and ζ, to takes value, slope and bend of each
mode, in rows of eight.`, width))
	omega, n, x, to := pointer("omega"), pointer("n"), pointer("x"), pointer("to")
	done := each(wide("poles"), n)
	w := all(at(omega, 0))
	peak, width := mul(at(x, 2*rowOfEight), w), mul(at(x, 3*rowOfEight), w)
	a, b := load(at(x, 0)), load(at(x, rowOfEight))
	near, far := sub(peak, a), sub(peak, b)
	limit := all(data("remote", U64(math.Float64bits(4))))
	VMULPD(width, limit, limit)
	close := compare(near, lessOrEqual, limit)
	VXORPD(all(signBit()), limit, limit)
	close = compare(limit, lessOrEqual, far).and(close)
	abs := all(magnitude())
	VANDPD(abs, near, near)
	VANDPD(abs, far, far)
	close.jumpWithout(wide("polesRemote"))
	square := mul(width, width)
	for _, y := range []reg.VecVirtual{near, far} {
		root := mul(y, y)
		VADDPD(square, root, root)
		VSQRTPD(root, root)
		close.put(root, y)
	}
	Label(wide("polesRemote"))
	sum, both := add(peak, a), mul(near, far)
	once := all(one())
	VDIVPD(mul(both, sum), once, once)
	g := mul(both, once)
	fa, fb := mul(far, once), mul(near, once)
	VMULPD(sum, fa, fa)
	VMULPD(sum, fb, fb)
	f := vector()
	VMAXPD(fb, fa, f)
	inside := compare(a, less, peak).and(compare(peak, less, b))
	inside.jumpWithout(wide("polesOutside"))
	top := all(one())
	VDIVPD(width, top, top)
	inside.put(top, f)
	Label(wide("polesOutside"))
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
	ADDQ(U32(3*rowOfEight), to)
	done()
	end()
}

func weigh() {
	function(wide("weigh"), "func(strength *float64, n int, poles, to *float64)", fmt.Sprintf(`weigh%d sums value, slope and bend of the modes times their four strengths, and the pairs of a mode with itself, in rows of eight.`, width))
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
		done := each(wide(name), count)
		v := [3]reg.VecVirtual{load(at(poles, 0)), load(at(poles, rowOfEight)), load(at(poles, 2*rowOfEight))}
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
		ADDQ(U32(3*rowOfEight), poles)
		done()
		for k := range 3 {
			store(sums[2*k:2*k+2], to, rowOfEight*(4*k+2*pass))
		}
		if pass == 0 {
			store(sums[6:], to, rowOfEight*12)
		}
	}
	end()
}
