package fit

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"

	"flexwright/models"
	"flexwright/objective"
)

// Two thousand stages drawn from the priors, measured with noise (forces, a stiffness, masses,
// a microscope: the fast case, without modes): intervals of 95 % cover 93.5 to 96.5 % of
// what is true (three standard deviations of the count), no estimate is biased, chi-square's
// probability is uniform by Kolmogorov and Smirnov at 1 % (1.63/√N; N. V. Smirnov, Ann. Math.
// Statist. 19, 1948). On every tenth stage the intervals of three measures, which nothing
// has measured, hold what is true: 181 of 200 at least, three standard deviations below 190.
func TestCoverageOfStages(t *testing.T) {
	t.Parallel()
	const stages = 2000
	s := design(t, rigid())
	s.Measures = []objective.Measure{objective.FirstFrequency, objective.Sag, objective.DriveForce}
	stage := body(t, s, "stage")
	var unknowns []Unknown
	for _, kind := range []objective.Correcting{objective.CorrectThicknessCommon, objective.CorrectModulus, objective.CorrectDensity} {
		unknowns = append(unknowns, NewUnknown(s, kind, ""))
	}
	unknowns = append(unknowns, NewUnknown(s, objective.CorrectMountedMass, "stage"), NewUnknown(s, objective.CorrectThickness, "guide-2"))
	list := []Measurement{
		{Quantity: Quantity{Kind: Force, At: [2]float64{4e-3, 4e-3}}, Sigma: 0.05},
		{Quantity: Quantity{Kind: Force, Axis: models.AxisY, At: [2]float64{4e-3, 4e-3}}, Sigma: 0.05},
		{Quantity: Quantity{Kind: Stiffness, At: [2]float64{4e-3, 4e-3}}, Sigma: 20},
		{Quantity: Quantity{Kind: Yaw, Body: stage, At: [2]float64{4e-3, 4e-3}}, Sigma: 0.5e-6},
		{Quantity: Quantity{Kind: Mass, Body: Plate}, Sigma: 0.004},
		{Quantity: Quantity{Kind: Mass, Body: stage}, Sigma: 0.003},
		{Quantity: Quantity{Kind: Thickness, Blade: 0}, Sigma: 2e-6},
		{Quantity: Quantity{Kind: Thickness, Blade: 5}, Sigma: 2e-6},
	}
	n := len(unknowns)
	errors, probability := make([]float64, stages*n), make([]float64, stages)
	workers := runtime.GOMAXPROCS(0)
	held := make([][3]bool, stages)
	var wait sync.WaitGroup
	for w := range workers {
		wait.Go(func() {
			for i := w; i < stages; i += workers {
				rng := rand.New(rand.NewPCG(11, uint64(i)))
				truth := make([]float64, n)
				for k := range truth {
					truth[k] = unknowns[k].Prior * rng.NormFloat64()
				}
				o, err := Solve(&Problem{Spec: s, Unknowns: unknowns, Measured: measure(t, s, unknowns, truth, list, rng), Starts: 1})
				if err != nil {
					t.Error(err)
					return
				}
				for k := range truth {
					errors[i*n+k] = (o.X[k] - truth[k]) / o.Sigma(k)
				}
				probability[i] = o.Probability
				if i%10 == 0 {
					o.Predict()
					own, list := *s, slices.Clone(o.Corrections)
					for k := range truth {
						list[k].By = truth[k]
					}
					own.Correct(list)
					e := objective.NewEvaluation(&own)
					e.Evaluate(nil)
					for k, p := range o.Prediction {
						held[i][k] = math.Abs(get(e, p.Measure)-p.Value) <= Interval*p.Sigma
					}
				}
			}
		})
	}
	wait.Wait()
	for k, u := range unknowns {
		covered, mean := 0, 0.0
		for i := range stages {
			mean += errors[i*n+k] / stages
			if math.Abs(errors[i*n+k]) <= Interval {
				covered++
			}
		}
		share := float64(covered) / stages
		t.Logf("%s: %.2f %% covered, mean error %+.4f standard deviations", u.Name(), 100*share, mean)
		if share < 0.935 || share > 0.965 {
			t.Errorf("%s: the interval of 95 %% covers %.2f %%", u.Name(), 100*share)
		}
		if most := 3 / math.Sqrt(stages); math.Abs(mean) > most {
			t.Errorf("%s: mean error of %.3f standard deviations, sampling allows %.3f", u.Name(), mean, most)
		}
	}
	for k, m := range s.Measures {
		n := 0
		for i := 0; i < stages; i += 10 {
			if held[i][k] {
				n++
			}
		}
		t.Logf("%s: %d of 200 intervals hold it", objective.Table[m].Name, n)
		if n < 181 {
			t.Errorf("%s: %d of 200 intervals hold it", objective.Table[m].Name, n)
		}
	}
	slices.Sort(probability)
	distance := 0.0
	for i, q := range probability {
		distance = max(distance, math.Abs(q-float64(i)/stages), math.Abs(q-float64(i+1)/stages))
	}
	t.Logf("chi-square's probability: %.4f from uniform", distance)
	if most := 1.63 / math.Sqrt(stages); distance > most {
		t.Errorf("chi-square's probability is %.4f from uniform, more than %.4f", distance, most)
	}
}
