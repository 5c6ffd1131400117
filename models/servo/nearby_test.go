package servo

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A loop whose damping of the actuators is set anew is one that was made with it, and a loop of more poses
// that is used for fewer is one of these alone.
func TestLoopMadeOver(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	for range 20 {
		s := single(Default())
		p := pair(rng, s.Damping, 0.2*math.Pow(25, rng.Float64()))
		s.ActuatorDamping = 40
		over := mustLoop(t, s, 3, 4, 1)
		over.UsePoses(1)
		over.SetActuatorDamping(55)
		s.ActuatorDamping = 55
		if got, want := over.Crossover(p), mustLoop(t, s, 1, 4, 1).Crossover(p); got != want {
			t.Errorf("%+v, made with it %+v", got, want)
		}
	}
}

// Looked for between bounds a crossover is that of the whole range.
func TestCrossoverBetween(t *testing.T) {
	for _, p := range frontPlants(t, 20) {
		l := mustLoop(t, Default(), p.Poses, p.Modes, 1)
		whole := l.Crossover(p)
		if whole.Hz == 0 || whole.Hz >= Default().Ceiling {
			continue
		}
		var peaks [9]float64
		place, ok := l.Peaks(whole.Hz, peaks[:])
		if !ok {
			t.Fatal("no place")
		}
		if most := peaks[place.Pose]; most > Default().SensitivityLimit*(1+1e-6) || most < 0.5*Default().SensitivityLimit {
			t.Errorf("|S| is %g at %g Hz", most, whole.Hz)
		}
		relaxed := l.Relaxed(whole.Hz, 1.5*Default().SensitivityLimit)
		if relaxed < whole.Hz {
			t.Errorf("with a larger |S| %g Hz, %g without", relaxed, whole.Hz)
		}
		found := l.CrossoverBetween(0, 1.02*relaxed, []Place{place}, p)
		if math.Abs(found/whole.Hz-1) > 2e-5 { // it is located to 1e-5
			t.Errorf("%g Hz between bounds, %g altogether", found, whole.Hz)
		}
		if l.CrossoverBetween(1.001*whole.Hz, 1.02*relaxed, nil, p) != 0 {
			t.Errorf("a crossover above %g Hz", whole.Hz)
		}
	}
}
