//go:build !race

package results

const raceDetector = false
