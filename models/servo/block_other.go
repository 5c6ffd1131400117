//go:build !amd64

package servo

func sumPoints(omega, residue []float64, x *pointsAt, to *pointSums) {
	plainPoints(omega, residue, x, to)
}

func sumIntervals(omega, strength []float64, x *intervalsAt, poles []float64, to *intervalSums, n int) {
	plainIntervals(omega, strength, x, to, n)
}
