package objective

import (
	"math"
	"strings"
	"testing"
)

// The parts of a budget add up to its sum, and the sums are the measures.
func TestStaticBudgetsAddUp(t *testing.T) {
	d := NewDetail(pinnedSpec(t))
	measure := map[string]Measure{"moving mass": MovingMass, "peak stress": PeakStress, "static force": DriveForce}
	seen := 0
	for _, b := range d.Budgets {
		value := map[string]float64{}
		parts := 0.0
		for _, r := range b.Rows {
			value[r.Name] = r.Values[0]
			if r.Name != "sum" {
				parts += r.Values[0]
			}
		}
		for name, m := range measure {
			if !strings.HasPrefix(b.Title, name) {
				continue
			}
			seen++
			want, _ := d.Row.Measures.Get(m)
			sum := value["sum"]
			if m == PeakStress {
				// 0.8827 of the principal stress at ν 0.33: (1 - 0.33 + 0.1089)^½ by hand
				sum = value["von Mises, √(1-ν+ν²) of it"]
				parts = math.Sqrt(0.7789) * (value["stress concentration Kt × plate factor"]*value["bending, M t / 2 I"] + value["axial, |P| / A"])
			}
			// sums of a few terms: rounding only
			if math.Abs(sum-parts) > 1e-9*math.Abs(sum) || math.Abs(math.Abs(sum)-want) > 1e-9*want {
				t.Errorf("%s: sum %g, parts %g, measure %g", b.Title, sum, parts, want)
			}
		}
		// the layout leaves the free gap at full travel when guides share the travel
		// evenly; the true motion differs by the lost motion, of hundredths of a millimetre
		if b.Title == "least gap between bodies" {
			seen++
			gap := d.Design.Parameters[parameter(t, testSpec(t), "free_gap")] * 1e3
			if got := b.Rows[1].Values[0]; math.Abs(got-gap) > 0.1 {
				t.Errorf("least gap %g mm, drawn for %g mm", got, gap)
			}
		}
	}
	if seen != 4 {
		t.Errorf("%d budgets were looked at, want 4", seen)
	}
}
