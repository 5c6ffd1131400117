package objective

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"flexwright/models"
)

// A search is told the same of a candidate whether screening stops it early or
// not: equal violation, bit for bit, and equal objectives where it is feasible.
// A plan is a pure function of what it is told, so that it proposes the same
// points either way.
func TestScreeningTellsTheSearchTheSame(t *testing.T) {
	screening := testSpec(t)
	inf := math.Inf(1)
	screening.Limits = []Limit{
		{Ref: Ref{true, parameter(t, screening, "blade_width")}, AtLeast: 8, AtMost: inf},
		{Ref: Ref{Index: int(Footprint)}, AtLeast: -inf, AtMost: 420},
		{Ref: Ref{Index: int(PeakStress)}, AtLeast: -inf, AtMost: 200},
		{Ref: Ref{Index: int(FirstFrequency)}, AtLeast: 12, AtMost: inf},
		{Ref: Ref{Index: int(LostMotion)}, AtLeast: -inf, AtMost: 60},
	}
	full := *screening
	full.NoScreening = true
	a, b := NewEvaluation(screening), NewEvaluation(&full)
	rng := rand.New(rand.NewPCG(17, 18))
	x := make([]float64, 4)
	var ra, rb Row
	objA, objB := make([]float64, 2), make([]float64, 2)
	screened, feasible := 0, 0
	for range 600 {
		randomPoint(rng, x)
		a.Evaluate(x)
		b.Evaluate(x)
		a.Fill(&ra)
		b.Fill(&rb)
		if rb.Status == models.Screened {
			t.Fatal("screened although screening is off")
		}
		if ra.Status == models.Screened {
			screened++
		}
		if va, vb := screening.Violation(&ra), full.Violation(&rb); va != vb {
			t.Fatalf("%v: violation %v with screening (%s), %v without (%s)", x, va, ra.Status, vb, rb.Status)
		}
		if ra.Feasible != rb.Feasible {
			t.Fatalf("%v: feasible %v with screening, %v without", x, ra.Feasible, rb.Feasible)
		}
		goalsA, limitsA := screening.Told(&ra)
		goalsB, limitsB := full.Told(&rb)
		if goalsA != goalsB || limitsA != limitsB {
			t.Fatalf("%v: told %v %v with screening (%s), %v %v without (%s)", x, goalsA, limitsA, ra.Status, goalsB, limitsB, rb.Status)
		}
		if goalsA {
			screening.Objectives(&ra, objA)
			full.Objectives(&rb, objB)
			if objA[0] != objB[0] || objA[1] != objB[1] {
				t.Fatalf("%v: objectives %v with screening, %v without", x, objA, objB)
			}
		}
		if limitsA {
			signed := screening.Signed(&ra, nil)
			if !slices.Equal(signed, full.Signed(&rb, nil)) {
				t.Fatalf("%v: signed limits differ", x)
			}
			sum := 0.0
			for _, g := range signed {
				sum += max(g, 0)
			}
			// 1e-12: the same few terms are added in another order.
			if v := screening.Violation(&ra); math.Abs(sum-v) > 1e-12*(1+v) {
				t.Fatalf("%v: signed limits add up to %v, the violation is %v", x, sum, v)
			}
		}
		if ra.Feasible {
			feasible++
			if !goalsA || !limitsA {
				t.Fatalf("%v: a feasible row is not told in full", x)
			}
		}
	}
	t.Logf("%d screened, %d feasible", screened, feasible)
	if screened < 50 || feasible < 5 {
		t.Errorf("%d screened, %d feasible: the limits test nothing", screened, feasible)
	}
}
