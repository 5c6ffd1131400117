package objective

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"flexwright/models"
	"flexwright/search"
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
	oa, ob := search.Outcome{Objectives: make([]float64, 2)}, search.Outcome{Objectives: make([]float64, 2)}
	stages := map[int]int{}
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
		if ra.Feasible != rb.Feasible {
			t.Fatalf("%v: feasible %v with screening, %v without", x, ra.Feasible, rb.Feasible)
		}
		screening.Outcome(&ra, &oa)
		full.Outcome(&rb, &ob)
		// in text, where one NaN is like another
		if a, b := fmt.Sprint(oa), fmt.Sprint(ob); a != b {
			t.Fatalf("%v: told %s with screening (%s), %s without (%s)", x, a, ra.Status, b, rb.Status)
		}
		if oa.Feasible() != ra.Feasible {
			t.Fatalf("%v: told %+v of a row with feasible = %v", x, oa, ra.Feasible)
		}
		stages[oa.Stage]++
		// 1 a limit, and 1 where a step could not be computed.
		if oa.Violation > float64(len(screening.Limits))+1 {
			t.Fatalf("%v: violation %v of %d limits", x, oa.Violation, len(screening.Limits))
		}
		if ra.Feasible {
			feasible++
			for _, v := range append(oa.Limits, oa.Objectives...) {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%v: a feasible row is not told in full: %+v", x, oa)
				}
			}
		}
	}
	t.Logf("%d screened, %d feasible, by stage %v", screened, feasible, stages)
	if stages[1] == 0 || stages[2] == 0 || stages[3] == 0 {
		t.Errorf("not every stage fails: %v", stages)
	}
	if screened < 50 || feasible < 5 {
		t.Errorf("%d screened, %d feasible: the limits test nothing", screened, feasible)
	}
}
