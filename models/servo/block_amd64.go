package servo

import "golang.org/x/sys/cpu"

//go:generate go run -C ../../.ci/lanes . -what plant -out ../../models/servo/lanes_amd64.s -stubs ../../models/servo/lanes_amd64.go -pkg servo

var sideBySide = cpu.X86.HasAVX2

func sumPoints(omega, strength, residue []float64, x *pointsAt, to *pointSums) {
	if !sideBySide {
		plainPoints(omega, strength, residue, x, to)
		return
	}
	points4(&omega[0], &strength[0], &residue[0], len(omega), &x[0][0], &to[0][0])
}

// sumIntervals needs poles, memory of 3 × lanes numbers for each mode.
func sumIntervals(omega, strength []float64, x *intervalsAt, poles []float64, to *intervalSums) {
	if !sideBySide || len(omega) == 0 {
		plainIntervals(omega, strength, x, to)
		return
	}
	poles4(&omega[0], len(omega), &x[0][0], &poles[0])
	weigh4(&strength[0], len(omega), &poles[0], &to[0][0])
}
