package servo

//go:generate go run -C ../../.ci/lanes . -what plant -out ../../models/servo/lanes_amd64.s -stubs ../../models/servo/lanes_amd64.go -pkg servo
//go:generate go run -C ../../.ci/lanes . -what judge -pkg servo -columns ../../models/servo/judge -out ../../models/servo/judge_amd64.s -stubs ../../models/servo/judge_stubs_amd64.go

func sumPoints(omega, residue []float64, x *pointsAt, to *pointSums) {
	switch judgeLanes {
	case 8:
		points8(&omega[0], &residue[0], len(omega), &x[0], &to[0])
	case 4:
		points4(&omega[0], &residue[0], len(omega), &x[0], &to[0])
		points4(&omega[0], &residue[0], len(omega), &x[4], &to[4])
	default:
		plainPoints(omega, residue, x, to)
	}
}

// sumIntervals sums the first n, 4 or 8; it needs poles, memory of 3 × lanes numbers for each mode.
func sumIntervals(omega, strength []float64, x *intervalsAt, poles []float64, to *intervalSums, n int) {
	switch {
	case judgeLanes < 4 || len(omega) == 0:
		plainIntervals(omega, strength, x, to, n)
	case n == 8 && judgeLanes == 8:
		poles8(&omega[0], len(omega), &x[0], &poles[0])
		weigh8(&strength[0], len(omega), &poles[0], &to[0])
	default:
		for i := 0; i < n; i += 4 {
			poles4(&omega[0], len(omega), &x[i], &poles[0])
			weigh4(&strength[0], len(omega), &poles[0], &to[i])
		}
	}
}
