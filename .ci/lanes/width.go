package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// width is how many numbers the registers of what is being written hold: 2, 4 or 8.
var width = 4

// size is that of a register, bytes.
func size() int { return 8 * width }

// with writes something for registers of w numbers.
func with(w int, write func()) {
	before := width
	width = w
	write()
	width = before
}

func vector() reg.VecVirtual {
	switch width {
	case 2:
		return XMM()
	case 4:
		return YMM()
	}
	return ZMM()
}

// narrowed is the part of a register that is being worked with.
func narrowed(v reg.VecVirtual) reg.VecVirtual {
	switch width {
	case 2:
		return v.AsX().(reg.VecVirtual)
	case 4:
		return v.AsY().(reg.VecVirtual)
	}
	return v
}

// mask says in which lanes something holds: a register of its own kind but with registers of four numbers.
type mask struct {
	v reg.VecVirtual
	k reg.OpmaskVirtual
}

// compare returns the lanes in which a is to b as predicate says.
func compare(a reg.VecVirtual, predicate int, b Op) (m mask) {
	if width != 4 {
		m.k = K()
		VCMPPD(U8(predicate), b, a, m.k)
		return m
	}
	m.v = vector()
	VCMPPD(U8(predicate), b, a, m.v)
	return m
}

func (m mask) and(other mask) (both mask) {
	if width != 4 {
		both.k = K()
		KANDB(m.k, other.k, both.k)
		return both
	}
	both.v = vector()
	VANDPD(m.v, other.v, both.v)
	return both
}

// without returns the lanes of m that are not in other.
func (m mask) without(other mask) (rest mask) {
	if width != 4 {
		rest.k = K()
		KANDNB(m.k, other.k, rest.k)
		return rest
	}
	rest.v = vector()
	VANDNPD(m.v, other.v, rest.v)
	return rest
}

// leave takes the lanes of other from m.
func (m mask) leave(other mask) {
	if width != 4 {
		KANDNB(m.k, other.k, m.k)
		return
	}
	VANDNPD(m.v, other.v, m.v)
}

// put makes to what from is, in the lanes of m.
func (m mask) put(from Op, to reg.VecVirtual) {
	if width != 4 {
		VMOVUPD(from, m.k, to)
		return
	}
	VBLENDVPD(m.v, from, to, to)
}

// clear makes v nothing in the lanes of m.
func (m mask) clear(v reg.VecVirtual) {
	if width != 4 {
		VXORPD(v, v, m.k, v)
		return
	}
	VANDNPD(v, m.v, v)
}

// negate changes the sign of v in the lanes of m.
func (m mask) negate(v reg.VecVirtual) {
	if width != 4 {
		VXORPD(all(signBit()), v, m.k, v)
		return
	}
	sign := vector()
	VANDPD(all(signBit()), m.v, sign)
	VXORPD(sign, v, v)
}

// jumpWithout jumps where m has no lane.
func (m mask) jumpWithout(label string) {
	if width != 4 {
		KTESTB(m.k, m.k)
	} else {
		VPTEST(m.v, m.v)
	}
	JZ(LabelRef(label))
}

// first returns all lanes where the first of m holds, of a mask of its own kind.
func (m mask) first() (every mask) {
	bit := GP32()
	KMOVB(m.k, bit)
	ANDL(U8(1), bit)
	NEGL(bit)
	every.k = K()
	KMOVB(bit, every.k)
	return every
}

// store and loadMask keep a mask in memory; one of its own kind is a byte.
func (m mask) store(to Mem) {
	if width != 4 {
		KMOVB(m.k, to)
		return
	}
	VMOVUPD(m.v, to)
}

func loadMask(from Mem) (m mask) {
	if width != 4 {
		m.k = K()
		KMOVB(from, m.k)
		return m
	}
	m.v = load(from)
	return m
}

// grouping is how problems side by side share the registers; its name is the number of lanes.
type grouping struct {
	name   string
	widths []int
}

// alone says that there is one problem after those in the widest registers.
func (s grouping) alone() bool { return s.widths[1] < s.widths[0] }

var groupings = []grouping{{"12", []int{4, 4, 4}}, {"10", []int{8, 2}}}

// A number of all problems takes this many bytes, whatever the grouping.
const stride = 96

// each writes something for each group; from is where its lanes are among the bytes of a number.
func (s grouping) each(write func(g, from int)) {
	from := 0
	for g, w := range s.widths {
		with(w, func() { write(g, from) })
		from += 8 * w
	}
}

// widest writes something for registers of the widest group.
func (s grouping) widest(write func()) { with(s.widths[0], write) }
