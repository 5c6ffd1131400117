package servo

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A notch at the mode that ends the crossover raises it, and what is found holds and ends where the plain implementation with that
// notch says so. The same mode, moving between poses by more than the spread, gets none.
func TestAutoNotch(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	raised := 0
	for n := range 6 {
		still := NewPlant(2, 4)
		one := pair(rng, 0.002, 30) // both modes under one notch
		for pose := range 2 {
			copy(still.Omega[4*pose:], one.Omega)
			copy(still.Force[8*pose:], one.Force)
			copy(still.Arm[8*pose:], one.Arm)
			copy(still.Stage[8*pose:], one.Stage)
		}
		s := Default()
		s.AutoNotches = 1
		l := mustLoop(t, s, 2, 4, 1)
		got := l.Tune(still)
		s.AutoNotches = 0
		without := mustLoop(t, s, 2, 4, 1).Tune(still)
		if len(l.Found()) == 0 {
			if got.Hz != without.Hz {
				t.Errorf("plant %d: %g Hz without a notch, %g Hz before", n, got.Hz, without.Hz)
			}
			continue
		}
		if got.Bandwidth > 1.1*without.Bandwidth {
			raised++
		}
		s.Notches = []Notch{l.Found()[0]}
		if r := mustLoop(t, s, 2, 4, 1).Crossover(still); math.Abs(r.Hz-got.Hz) > 1e-5*got.Hz {
			t.Errorf("plant %d: %g Hz with the notch found, %g Hz with the same notch given", n, got.Hz, r.Hz)
		}
		slow := newPlain(s, still)
		if !slow.holds(2*math.Pi*got.Hz*0.9995) || got.Hz < s.Ceiling && slow.holds(2*math.Pi*got.Hz*1.0005) {
			t.Errorf("plant %d: %g Hz is not where the plain implementation ends, notch at %g Hz", n, got.Hz, s.Notches[0].Frequency)
		}
		for k := range 2 { // both lightly damped modes, so that their ranks stay
			still.Omega[4+2+k] *= 1.08
		}
		s.Notches, s.AutoNotches = nil, 1
		moving := mustLoop(t, s, 2, 4, 1)
		moving.Tune(still)
		for _, f := range moving.Found() {
			if hz := one.Omega[2] / (2 * math.Pi); f.Frequency > 0.9*hz && f.Frequency < 1.2*hz {
				t.Errorf("plant %d: a notch at %g Hz, where modes move by 8 %%", n, f.Frequency)
			}
		}
	}
	if raised < 2 {
		t.Errorf("a notch raised %d bandwidths of 6", raised)
	}
}

// On designs of a front no bandwidth gets less by notches, none is left behind for the next design, and nothing is allocated.
func TestAutoNotchOfFront(t *testing.T) {
	plants := frontPlants(t, 2)
	s := Default()
	s.Shapes = ShapeList
	plain := mustLoop(t, s, 9, plants[0].Modes, 1)
	s.AutoNotches = 2
	l := mustLoop(t, s, 9, plants[0].Modes, 1)
	notched := 0
	for i, p := range plants {
		without, with := plain.Tune(p), l.Tune(p)
		notched += len(l.Found())
		t.Logf("design %d: bandwidth %.2f Hz, with notches %.2f Hz", i, without.Bandwidth, with.Bandwidth)
		if with.Bandwidth < without.Bandwidth || without.ClosedLoop >= without.Bandwidth && with.ClosedLoop < with.Bandwidth {
			t.Errorf("design %d: %+v with notches %v, %+v without", i, with, l.Found(), without)
		}
		if len(l.Found()) == 0 && with != without {
			t.Errorf("design %d: %+v, without looking for notches %+v", i, with, without)
		}
		if b, c, _ := l.Frequencies(with.Hz); math.Abs(b/with.Bandwidth-1) > 2*sharp || math.Abs(c/with.ClosedLoop-1) > 2*sharp && c < 1e300 {
			t.Errorf("design %d: %g and %g Hz, found %g and %g Hz", i, b, c, with.Bandwidth, with.ClosedLoop)
		}
	}
	first := l.Tune(plants[0])
	l.Tune(plants[1])
	if again := l.Tune(plants[0]); again != first {
		t.Errorf("%+v, then %+v", first, again)
	}
	if n := testing.AllocsPerRun(1, func() { l.Tune(plants[0]) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
	t.Logf("%d notches on %d designs", notched, len(plants))
}
