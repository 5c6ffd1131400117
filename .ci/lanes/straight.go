package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// eightLanes writes what does the deeds of models/dense/straight.go, the kinds in its order: eight numbers in one
// register, or in two of four.
func eightLanes() {
	(&straight{name: "run8by8", size: 64, vector: func() reg.VecVirtual { return ZMM() }}).write()
	(&straight{name: "run8by4", size: 32, vector: func() reg.VecVirtual { return YMM() }}).write()
	spread()
	repeat()
}

// straight writes the program for registers of so many bytes.
type straight struct {
	name    string
	size    int
	vector  func() reg.VecVirtual
	half    int // bytes from the first lane
	x, code reg.GPVirtual
}

// number is one of those at a place.
func (s *straight) number(place reg.GPVirtual, k int) Mem { return in(s.x, place, 64*k+s.half) }

func (s *straight) read(place reg.GPVirtual, k int) reg.VecVirtual {
	v := s.vector()
	VMOVUPD(s.number(place, k), v)
	return v
}

func (s *straight) store(v reg.VecVirtual, place reg.GPVirtual, k int) {
	VMOVUPD(v, s.number(place, k))
}

func (s *straight) times(a Op, b reg.VecVirtual) reg.VecVirtual {
	v := s.vector()
	VMULPD(a, b, v)
	return v
}

// less subtracts a b from v.
func (s *straight) less(v reg.VecVirtual, a Op, b reg.VecVirtual) { VSUBPD(s.times(a, b), v, v) }

func (s *straight) broadcast(m Mem) reg.VecVirtual {
	v := s.vector()
	VBROADCASTSD(m, v)
	return v
}

func (s *straight) write() {
	function(s.name, "func(x *float64, code *int32)", s.name+` does the deeds of a program on numbers of eight lanes: code has, for each run of deeds of a kind and size,
the kind, how many, and how many numbers are added and subtracted, then of each the places in bytes; a negative kind at the end.`)
	x, code := pointer("x"), pointer("code")
	s.x, s.code = x, code
	kind, count, plus, minus := GP64(), GP64(), GP64(), GP64()
	ones, size := s.broadcast(one()), s.broadcast(magnitude())
	label := func(name string) string { return s.name + name }
	Label(label("Next"))
	MOVLQSX(at(code, 0), kind)
	MOVLQSX(at(code, 4), count)
	MOVLQSX(at(code, 8), plus)
	MOVLQSX(at(code, 12), minus)
	ADDQ(U8(16), code)
	TESTQ(kind, kind)
	JL(LabelRef(label("Done")))
	to, a, b := GP64(), GP64(), GP64()
	kinds := []struct {
		name   string
		places int // 0: a list
		make   func()
	}{
		{"Copy", 2, func() { s.store(s.read(a, 0), to, 0) }},
		{"Add", 0, nil},
		{"Enlarge", 0, nil},
		{"Multiply", 3, func() { s.store(s.times(s.number(b, 0), s.read(a, 0)), to, 0) }},
		{"PlusMultiply", 3, func() {
			v := s.times(s.number(b, 0), s.read(a, 0))
			VADDPD(s.number(to, 0), v, v)
			s.store(v, to, 0)
		}},
		{"LessMultiply", 3, func() {
			v := s.read(to, 0)
			s.less(v, s.number(b, 0), s.read(a, 0))
			s.store(v, to, 0)
		}},
		{"Invert", 2, func() {
			v := s.vector()
			VDIVPD(s.number(a, 0), ones, v)
			s.store(v, to, 0)
		}},
		{"Pivot", 1, func() {
			d0, d4, d8 := s.vector(), s.read(to, 4), s.read(to, 8)
			VDIVPD(s.number(to, 0), ones, d0)
			s.store(d0, to, 0)
			d3, d6, d7 := s.read(to, 3), s.read(to, 6), s.read(to, 7)
			l1, l2 := s.times(d3, d0), s.times(d6, d0)
			s.store(l1, to, 3)
			s.store(l2, to, 6)
			s.less(d4, d3, l1)
			VDIVPD(d4, ones, d4)
			s.store(d4, to, 4)
			s.less(d7, d3, l2)
			l3 := s.times(d7, d4)
			s.store(l3, to, 7)
			s.less(d8, d6, l2)
			s.less(d8, d7, l3)
			VDIVPD(d8, ones, d8)
			s.store(d8, to, 8)
		}},
		{"SolveRows", 3, func() {
			for r := range 3 {
				for c := range 3 {
					s.store(s.read(a, 3*r+c), b, 3*r+c)
				}
				s.solve(to, a, 3*r)
			}
		}},
		{"Solve", 2, func() { s.solve(to, a, 0) }},
		{"LessTranspose", 3, func() { s.lessTransposed(to, a, b, false) }},
		{"LessTransposeLower", 3, func() { s.lessTransposed(to, a, b, true) }},
		{"LessTimes", 3, func() {
			y := []reg.VecVirtual{s.read(b, 0), s.read(b, 1), s.read(b, 2)}
			for r := range 3 {
				v := s.read(to, r)
				for c := range 3 {
					s.less(v, s.number(a, 3*r+c), y[c])
				}
				s.store(v, to, r)
			}
		}},
		{"LessTransposedTimes", 3, func() {
			y := []reg.VecVirtual{s.read(b, 0), s.read(b, 1), s.read(b, 2)}
			for r := range 3 {
				v := s.read(to, r)
				for c := range 3 {
					s.less(v, s.number(a, 3*c+r), y[c])
				}
				s.store(v, to, r)
			}
		}},
	}
	for i, k := range kinds[1:] {
		CMPQ(kind, U8(i+1))
		JE(LabelRef(label(k.name)))
	}
	for _, k := range kinds {
		Label(label(k.name))
		if k.places > 0 {
			for i, place := range []reg.GPVirtual{to, a, b}[:k.places] {
				MOVLQSX(at(code, 4*i), place)
			}
			for s.half = 0; s.half < 64; s.half += s.size {
				k.make()
			}
			ADDQ(U8(4*k.places), code)
		} else {
			s.list(label(k.name), to, plus, minus, k.name == "Enlarge", size)
		}
		DECQ(count)
		JNZ(LabelRef(label(k.name)))
		JMP(LabelRef(label("Next")))
	}
	Label(label("Done"))
	end()
}

// solve solves with the factored block at d, of the three numbers at x + k.
func (s *straight) solve(d, x reg.GPVirtual, k int) {
	x0, x1, x2 := s.read(x, k), s.read(x, k+1), s.read(x, k+2)
	s.less(x1, s.number(d, 3), x0)
	s.less(x2, s.number(d, 6), x0)
	s.less(x2, s.number(d, 7), x1)
	VMULPD(s.number(d, 8), x2, x2)
	VMULPD(s.number(d, 4), x1, x1)
	s.less(x1, s.number(d, 7), x2)
	VMULPD(s.number(d, 0), x0, x0)
	s.less(x0, s.number(d, 3), x1)
	s.less(x0, s.number(d, 6), x2)
	s.store(x0, x, k)
	s.store(x1, x, k+1)
	s.store(x2, x, k+2)
}

func (s *straight) lessTransposed(to, x, y reg.GPVirtual, lower bool) {
	for r := range 3 {
		row := []reg.VecVirtual{s.read(x, 3*r), s.read(x, 3*r+1), s.read(x, 3*r+2)}
		for c := range 3 {
			if c > r && lower {
				continue
			}
			v := s.read(to, 3*r+c)
			for k := range 3 {
				s.less(v, s.number(y, 3*c+k), row[k])
			}
			s.store(v, to, 3*r+c)
		}
	}
}

// list makes a sum, or finds the largest magnitude.
func (s *straight) list(label string, to, plus, minus reg.GPVirtual, largest bool, size reg.VecVirtual) {
	n, a := GP64(), GP64()
	var sums []reg.VecVirtual
	for s.half = 0; s.half < 64; s.half += s.size {
		v := s.vector()
		VXORPD(v, v, v)
		sums = append(sums, v)
	}
	MOVLQSX(at(s.code, 0), to)
	ADDQ(U8(4), s.code)
	each := func(name string, count reg.GPVirtual, make func(v reg.VecVirtual)) {
		MOVQ(count, n)
		TESTQ(n, n)
		JZ(LabelRef(label + name + "Done"))
		Label(label + name)
		MOVLQSX(at(s.code, 0), a)
		for i, v := range sums {
			s.half = i * s.size
			make(v)
		}
		ADDQ(U8(4), s.code)
		DECQ(n)
		JNZ(LabelRef(label + name))
		Label(label + name + "Done")
	}
	if largest {
		each("Each", plus, func(v reg.VecVirtual) {
			y := s.vector()
			VANDPD(s.number(a, 0), size, y)
			VMAXPD(y, v, v)
		})
	} else {
		each("Plus", plus, func(v reg.VecVirtual) { VADDPD(s.number(a, 0), v, v) })
		each("Minus", minus, func(v reg.VecVirtual) { VSUBPD(s.number(a, 0), v, v) })
	}
	for i, v := range sums {
		s.half = i * s.size
		s.store(v, to, 0)
	}
}
