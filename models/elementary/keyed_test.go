package elementary

import (
	"math"
	"testing"
)

// The first numbers of SplitMix64 from state 1234567, as the reference implementation
// in C (S. Vigna, splitmix64.c, public domain) prints them.
func TestMix(t *testing.T) {
	state := uint64(1234567)
	for i, want := range []uint64{6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431, 16408922859458223821} {
		state += 0x9e3779b97f4a7c15
		if got := Mix(state); got != want {
			t.Errorf("number %d: %d, want %d", i, got, want)
		}
	}
}

// Draws of neighbouring keys are normal and independent: mean, variance, third and
// fourth moment, correlation, share beyond two standard deviations (0.0455), each within
// five of its own standard errors.
func TestNormalOf(t *testing.T) {
	const n = 200000
	var m1, m2, m3, m4, lag, beyond, last float64
	for k := range n {
		x := NormalOf(Mix(uint64(k)))
		m1 += x
		m2 += x * x
		m3 += x * x * x
		m4 += x * x * x * x
		lag += x * last
		if math.Abs(x) > 2 {
			beyond++
		}
		last = x
	}
	for _, c := range []struct {
		name            string
		got, want, sdev float64
	}{
		{"mean", m1 / n, 0, 1}, {"variance", m2 / n, 1, math.Sqrt(2)}, {"third", m3 / n, 0, math.Sqrt(15)}, {"fourth", m4 / n, 3, math.Sqrt(96)},
		{"lag", lag / n, 0, 1}, {"beyond", beyond / n, 0.0455, math.Sqrt(0.0455 * 0.9545)},
	} {
		if math.Abs(c.got-c.want) > 5*c.sdev/math.Sqrt(n) {
			t.Errorf("%s: %g, want %g", c.name, c.got, c.want)
		}
	}
	if NormalOf(7) != NormalOf(7) || NormalOf(7) == NormalOf(8) {
		t.Error("a draw does not belong to its key alone")
	}
}
