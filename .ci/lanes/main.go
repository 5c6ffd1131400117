// Command lanes writes assembly of models/dense: eigenproblems of two, four or eight matrices side by
// side, each in a lane of a vector register; with -what plant that of models/servo: a plant at four or eight frequencies. Every lane makes the operations of the
// plain Go code in its order, without fused multiply-add, so that it comes to the same bits.
//
// All matrices are stored with the lane innermost: a number of four takes 32 bytes.
package main

import (
	"flag"
	"math"
	"strings"

	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

func main() {
	what := flag.String("what", "modes", "modes, plant, or a set of kernels")
	columns := flag.String("columns", "", "where a set of kernels is written in Go: a file name without .go")
	flag.Parse()
	if write, ok := sets[*what]; ok {
		write()
		assemble()
		writeKernels(flag.Lookup("pkg").Value.String(), *columns)
		Generate()
		return
	}
	if *what == "straight" {
		eightLanes()
		Generate()
		return
	}
	if *what == "plant" {
		for _, w := range []int{4, 8} {
			with(w, func() {
				points()
				poles()
				weigh()
			})
		}
		Generate()
		return
	}
	for _, w := range []int{4, 8, 2} {
		with(w, func() {
			reflector()
			image()
			settle()
			update()
			if w > 2 {
				reflectRows()
				turnRows()
			}
		})
	}
	for _, s := range groupings {
		begin(s)
		chase(s, false)
		if s.alone() {
			chase(s, true)
			turnAlone(s)
			reflectAlone(s)
		}
		runProgram(s)
		addColumns(s)
	}
	Generate()
}

// sets are kernels of columns that are written together, into one package:
//
//	go run -C ../../.ci/lanes . -what NAME -pkg servo -columns ../../models/servo/NAME -out ../../models/servo/NAME_amd64.s -stubs ../../models/servo/NAME_stubs_amd64.go
var sets = map[string]func(){}

func function(name, signature, doc string) {
	TEXT(name, NOSPLIT, signature)
	Pragma("noescape")
	Doc(strings.Split(doc, "\n")...)
}

// pointer and number load arguments.
func pointer(name string) reg.GPVirtual {
	return Load(Param(name), GP64()).(reg.GPVirtual)
}

// bytes loads a count of numbers of all lanes, as bytes.
func bytes(name string) reg.GPVirtual {
	n := pointer(name)
	SHLQ(U8(math.Ilogb(float64(size()))), n)
	return n
}

func end() {
	VZEROUPPER()
	RET()
}

func zero() reg.VecVirtual {
	z := vector()
	VXORPD(z, z, z)
	return z
}

func load(m Mem) reg.VecVirtual {
	v := vector()
	VMOVUPD(m, v)
	return v
}

func at(base reg.Register, disp int) Mem { return Mem{Base: base, Disp: disp} }

func in(base, index reg.Register, disp int) Mem {
	return Mem{Base: base, Index: index, Scale: 1, Disp: disp}
}

// The three-operand forms, results new.
func mul(a Op, b reg.VecVirtual) reg.VecVirtual { c := vector(); VMULPD(a, b, c); return c }
func add(a Op, b reg.VecVirtual) reg.VecVirtual { c := vector(); VADDPD(a, b, c); return c }

// sub returns b - a.
func sub(a Op, b reg.VecVirtual) reg.VecVirtual { c := vector(); VSUBPD(a, b, c); return c }

// over returns b / a.
func over(a Op, b reg.VecVirtual) reg.VecVirtual { c := vector(); VDIVPD(a, b, c); return c }

// data returns the place of a number in the code, one for each name.
func data(name string, x Constant) Mem {
	m, ok := constants[name]
	if !ok {
		m = ConstData(name, x)
		constants[name] = m
	}
	return m
}

var constants = map[string]Mem{}

// all returns it in all lanes.
func all(m Mem) reg.VecVirtual {
	v := vector()
	if width == 2 {
		VMOVDDUP(m, v)
	} else {
		VBROADCASTSD(m, v)
	}
	return v
}

func one() Mem       { return data("one", U64(math.Float64bits(1))) }
func half() Mem      { return data("half", U64(math.Float64bits(0.5))) }
func eps() Mem       { return data("eps", U64(math.Float64bits(0x1p-52))) }
func signBit() Mem   { return data("sign", U64(1<<63)) }
func magnitude() Mem { return data("magnitude", U64(1<<63-1)) }
func infinity() Mem  { return data("infinity", U64(0x7ff<<52)) }
func normal() Mem    { return data("normal", U64(1<<52)) }
func fifty() Mem     { return data("fifty", U64(math.Float64bits(50))) }

// Predicates of VCMPPD, ordered and quiet.
const (
	equal          = 0x00
	unequal        = 0x04 // or not to be compared
	less           = 0x11
	lessOrEqual    = 0x12
	greaterOrEqual = 0x1d
	greater        = 0x1e
)

const rowsOfShapes = 8
