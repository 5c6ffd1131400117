package dense

import "flexwright/models/elementary"

//go:generate go run -C ../../.ci/lanes . -what straight -out ../../models/dense/straight_amd64.s -stubs ../../models/dense/straight_stubs_amd64.go -pkg dense

// straightLanes is how many numbers [Straight.Run] makes in a register: 8, 4 or 1.
var straightLanes = elementary.Lanes()

// run8 makes the program; false where the processor has no vector registers of four numbers.
func run8(x []float64, code []int32) bool {
	switch straightLanes {
	case 8:
		run8by8(&x[0], &code[0])
	case 4:
		run8by4(&x[0], &code[0])
	default:
		return false
	}
	return true
}

// Spread writes four numbers of all lanes, from, from + between and so on, to four places of each lane from to on, count times, step
// numbers and onward places further each time. It reports false, and does nothing, where the processor has no registers of four numbers. The places must be there.
func Spread(x []float64, from, between, step, count int, to *[Lanes]*float64, onward int) bool {
	if straightLanes == 1 || count <= 0 || len(x) < Lanes*(from+3*between+step*(count-1)+1) {
		return false
	}
	spread8(&x[Lanes*from], 8*Lanes*between, 8*Lanes*step, count, to, 8*onward)
	return true
}

// Repeat writes each number of from so many times, one after the other.
func Repeat(to, from []float64, times int) {
	to = to[:times*len(from)]
	if straightLanes == 1 || len(from) == 0 || times != 8 && times != 9 {
		repeat(to, from, times)
		return
	}
	repeat8(&to[0], &from[0], len(from), 8*times)
}
