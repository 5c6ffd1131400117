package main

import (
	"fmt"

	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// named is the name of a function for registers of that many numbers.
func named(name string) string { return fmt.Sprint(name, width) }

// reflector makes the reflector of a row in place.
func reflector() {
	function(named("reflector"), "func(v *float64, i int, e, ih *float64)", named("reflector")+` makes the reflector of v, i numbers, in place; e becomes the off-diagonal, ih the reciprocal of
its h: both 0 in lanes with nothing to reflect, as v is.`)
	v, n := pointer("v"), bytes("i")
	e, ih := pointer("e"), pointer("ih")
	abs := all(magnitude())
	last := GP64()
	LEAQ(Mem{Base: n, Disp: -size()}, last)

	scale, k := zero(), GP64()
	XORQ(k, k)
	JMP(LabelRef("reflectorScaleTest"))
	Label("reflectorScale")
	x := vector()
	VANDPD(in(v, k, 0), abs, x)
	VADDPD(x, scale, scale)
	ADDQ(U8(size()), k)
	Label("reflectorScaleTest")
	CMPQ(k, last)
	JL(LabelRef("reflectorScale"))
	nothing := compare(scale, equal, zero())
	original := load(in(v, last, 0))
	largest := vector()
	VANDPD(original, abs, largest)
	VADDPD(largest, scale, scale)
	unit := all(one())
	is := over(scale, unit)

	h := zero()
	XORQ(k, k)
	Label("reflectorScaled")
	y := mul(in(v, k, 0), is)
	nothing.clear(y)
	VMOVUPD(y, in(v, k, 0))
	VADDPD(mul(y, y), h, h)
	ADDQ(U8(size()), k)
	CMPQ(k, n)
	JL(LabelRef("reflectorScaled"))

	f := load(in(v, last, 0))
	root := vector()
	VSQRTPD(h, root)
	compare(f, greater, zero()).negate(root)
	off := mul(root, scale)
	nothing.put(original, off)
	VMOVUPD(off, at(e, 0))
	VSUBPD(mul(root, f), h, h)
	VMOVUPD(sub(root, f), in(v, last, 0))
	reciprocal := over(h, unit)
	nothing.clear(reciprocal)
	VMOVUPD(reciprocal, at(ih, 0))
	end()
}

// image multiplies by the leading part of a symmetric matrix.
func image() {
	function(named("apply"), "func(a *float64, n, i int, v, q *float64)", named("apply")+` makes q the product of v, i numbers, and a symmetric matrix, of which the lower triangle is read; n is the
stride of its rows.`)
	a, n, i := pointer("a"), bytes("n"), bytes("i")
	v, q := pointer("v"), pointer("q")
	k, z := GP64(), zero()
	XORQ(k, k)
	Label("imageClear")
	VMOVUPD(z, in(q, k, 0))
	ADDQ(U8(size()), k)
	CMPQ(k, i)
	JL(LabelRef("imageClear"))

	// j: first of four rows, at a, a+n, below and below+n
	j, left, below := GP64(), GP64(), GP64()
	XORQ(j, j)
	JMP(LabelRef("imageRowsTest"))
	Label("imageRows")
	LEAQ(Mem{Base: a, Index: n, Scale: 2}, below)
	rows := [4]func(reg.Register, int) Mem{
		func(k reg.Register, d int) Mem { return in(a, k, d) },
		nil,
		func(k reg.Register, d int) Mem { return in(below, k, d) },
		nil,
	}
	second, fourth := GP64(), GP64()
	LEAQ(Mem{Base: a, Index: n, Scale: 1}, second)
	LEAQ(Mem{Base: below, Index: n, Scale: 1}, fourth)
	rows[1] = func(k reg.Register, d int) Mem { return in(second, k, d) }
	rows[3] = func(k reg.Register, d int) Mem { return in(fourth, k, d) }
	var vs, s [4]reg.VecVirtual
	for r := range 4 {
		vs[r] = load(in(v, j, size()*r))
		s[r] = zero()
	}
	XORQ(k, k)
	JMP(LabelRef("imageColumnsTest"))
	Label("imageColumns")
	f := load(in(v, k, 0))
	var t [4]reg.VecVirtual
	for r := range 4 {
		x := load(rows[r](k, 0))
		VADDPD(mul(x, f), s[r], s[r])
		VMULPD(x, vs[r], x)
		t[r] = x
		if r%2 == 1 {
			VADDPD(t[r], t[r-1], t[r-1])
		}
	}
	VADDPD(t[2], t[0], t[0])
	VADDPD(in(q, k, 0), t[0], t[0])
	VMOVUPD(t[0], in(q, k, 0))
	ADDQ(U8(size()), k)
	Label("imageColumnsTest")
	CMPQ(k, j)
	JL(LabelRef("imageColumns"))
	// the block on the diagonal: row r takes ((s + a0 v0) + a1 v1) + (a2 v2 + a3 v3)
	for r := range 4 {
		element := func(c int) Mem {
			if c > r {
				return rows[c](j, size()*r)
			}
			return rows[r](j, size()*c)
		}
		VADDPD(mul(element(0), vs[0]), s[r], s[r])
		VADDPD(mul(element(1), vs[1]), s[r], s[r])
		VADDPD(add(mul(element(2), vs[2]), mul(element(3), vs[3])), s[r], s[r])
		VADDPD(in(q, j, size()*r), s[r], s[r])
		VMOVUPD(s[r], in(q, j, size()*r))
	}
	LEAQ(Mem{Base: a, Index: n, Scale: 4}, a)
	ADDQ(I32(4*size()), j)
	Label("imageRowsTest")
	LEAQ(Mem{Base: j, Disp: 3 * size()}, left)
	CMPQ(left, i)
	JL(LabelRef("imageRows"))

	// up to three rows are left
	JMP(LabelRef("imageLastTest"))
	Label("imageLast")
	vj, sum := load(in(v, j, 0)), zero()
	XORQ(k, k)
	JMP(LabelRef("imageLastColumnsTest"))
	Label("imageLastColumns")
	x := load(in(a, k, 0))
	VADDPD(mul(in(v, k, 0), x), sum, sum)
	VMULPD(x, vj, x)
	VADDPD(in(q, k, 0), x, x)
	VMOVUPD(x, in(q, k, 0))
	ADDQ(U8(size()), k)
	Label("imageLastColumnsTest")
	CMPQ(k, j)
	JL(LabelRef("imageLastColumns"))
	VADDPD(mul(in(a, j, 0), vj), sum, sum)
	VADDPD(in(q, j, 0), sum, sum)
	VMOVUPD(sum, in(q, j, 0))
	ADDQ(n, a)
	ADDQ(U8(size()), j)
	Label("imageLastTest")
	CMPQ(j, i)
	JL(LabelRef("imageLast"))
	end()
}

func settle() {
	function(named("settle"), "func(v, q *float64, i int, ih *float64)", named("settle")+` makes q, the product of v and the matrix, what the matrix is updated with.`)
	v, q, n := pointer("v"), pointer("q"), bytes("i")
	ih := load(at(pointer("ih"), 0))
	dot, k := zero(), GP64()
	XORQ(k, k)
	Label("settleDot")
	x := mul(in(q, k, 0), ih)
	VMOVUPD(x, in(q, k, 0))
	VADDPD(mul(in(v, k, 0), x), dot, dot)
	ADDQ(U8(size()), k)
	CMPQ(k, n)
	JL(LabelRef("settleDot"))
	VMULPD(mul(ih, all(half())), dot, dot)
	XORQ(k, k)
	Label("settleSubtract")
	y := load(in(q, k, 0))
	VSUBPD(mul(in(v, k, 0), dot), y, y)
	VMOVUPD(y, in(q, k, 0))
	ADDQ(U8(size()), k)
	CMPQ(k, n)
	JL(LabelRef("settleSubtract"))
	end()
}

func update() {
	function(named("update"), "func(a *float64, n, i int, v, q *float64)", named("update")+` subtracts v qᵀ + q vᵀ from the lower triangle of the leading i rows of a matrix; n is the stride of its rows.`)
	a, n, i := pointer("a"), bytes("n"), bytes("i")
	v, q := pointer("v"), pointer("q")
	j, k, left, second := GP64(), GP64(), GP64(), GP64()
	element := func(row, k reg.Register, vj, qj, f, g reg.VecVirtual) {
		x := load(in(row, k, 0))
		VSUBPD(add(mul(f, qj), mul(g, vj)), x, x)
		VMOVUPD(x, in(row, k, 0))
	}
	XORQ(j, j)
	JMP(LabelRef("updateRowsTest"))
	Label("updateRows")
	LEAQ(Mem{Base: a, Index: n, Scale: 1}, second)
	vj, qj, vk, qk := load(in(v, j, 0)), load(in(q, j, 0)), load(in(v, j, size())), load(in(q, j, size()))
	XORQ(k, k)
	Label("updateColumns")
	f, g := load(in(v, k, 0)), load(in(q, k, 0))
	element(a, k, vj, qj, f, g)
	element(second, k, vk, qk, f, g)
	ADDQ(U8(size()), k)
	CMPQ(k, j)
	JLE(LabelRef("updateColumns"))
	element(second, k, vk, qk, vk, qk)
	LEAQ(Mem{Base: a, Index: n, Scale: 2}, a)
	ADDQ(I32(2*size()), j)
	Label("updateRowsTest")
	LEAQ(Mem{Base: j, Disp: size()}, left)
	CMPQ(left, i)
	JL(LabelRef("updateRows"))

	CMPQ(j, i)
	JGE(LabelRef("updateDone"))
	vj, qj = load(in(v, j, 0)), load(in(q, j, 0))
	XORQ(k, k)
	Label("updateLast")
	element(a, k, vj, qj, load(in(v, k, 0)), load(in(q, k, 0)))
	ADDQ(U8(size()), k)
	CMPQ(k, j)
	JLE(LabelRef("updateLast"))
	Label("updateDone")
	end()
}

func reflectRows() {
	function(named("reflectRows"), "func(r, v *float64, i int, ih *float64)", named("reflectRows")+` applies the reflection to the first i rows, of eight numbers.`)
	r, v, n := pointer("r"), pointer("v"), bytes("i")
	ih := pointer("ih")
	var t [rowsOfShapes]reg.VecVirtual
	for c := range t {
		t[c] = zero()
	}
	to, k := GP64(), GP64()
	MOVQ(r, to)
	XORQ(k, k)
	Label("reflectSum")
	vk := load(in(v, k, 0))
	for c := range t {
		VADDPD(mul(at(to, size()*c), vk), t[c], t[c])
	}
	ADDQ(I32(size()*rowsOfShapes), to)
	ADDQ(U8(size()), k)
	CMPQ(k, n)
	JL(LabelRef("reflectSum"))
	h := load(at(ih, 0))
	for c := range t {
		VMULPD(h, t[c], t[c])
	}
	XORQ(k, k)
	Label("reflectSubtract")
	vk = load(in(v, k, 0))
	for c := range t {
		x := load(at(r, size()*c))
		VSUBPD(mul(t[c], vk), x, x)
		VMOVUPD(x, at(r, size()*c))
	}
	ADDQ(I32(size()*rowsOfShapes), r)
	ADDQ(U8(size()), k)
	CMPQ(k, n)
	JL(LabelRef("reflectSubtract"))
	end()
}
