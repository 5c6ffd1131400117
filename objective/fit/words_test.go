package fit

import (
	"math/rand/v2"
	"strings"
	"testing"

	"flexwright/models"
	"flexwright/models/estimate"
	"flexwright/objective"
)

// Two readings, one of which sees hardly more than the uncertainty of a change of two
// unknowns at once: within it they are not told apart, beyond it the priors merely tell more.
func TestHardlyToldApart(t *testing.T) {
	for _, c := range []struct {
		seen float64 // by how many uncertainties one prior of both together moves it
		want string
	}{{0.6, "no measurement by more than 0.6 of its uncertainty: they cannot be told apart"},
		{1.3, "no measurement by more than 1.3 of its uncertainty: the priors tell them apart more than the measurements do"}} {
		unknowns := []Unknown{
			{Correction: objective.Correction{Kind: objective.CorrectModulus}, Prior: 0.01},
			{Correction: objective.Correction{Kind: objective.CorrectDensity}, Prior: 0.005}}
		r, err := estimate.Solve(&estimate.Problem{Prior: []float64{0.01, 0.005}, Value: []float64{0, 0}, Sigma: []float64{1, 1}, Starts: 1,
			Predict: func(x, out []float64) bool {
				a, b := x[0]/0.01, x[1]/0.005
				out[0], out[1] = 10*(a-b), c.seen/2*(a+b)
				return true
			}})
		if err != nil {
			t.Fatal(err)
		}
		o := &Outcome{Problem: &Problem{Unknowns: unknowns}, Result: r, thickness: 0.4e-3}
		o.weak()
		if len(o.Undetermined) != 1 || !strings.Contains(o.Undetermined[0], c.want) {
			t.Errorf("moved by %g: %q", c.seen, o.Undetermined)
		}
	}
}

// A reading that stands alone has no others to contradict, and one beyond the workspace is
// named.
func TestOneReadingAlone(t *testing.T) {
	s := design(t, rigid())
	unknowns := Default(s, nil)
	at := Quantity{Kind: Force, Axis: models.AxisX, At: [2]float64{4.5e-3, 0}}
	measured := measure(t, s, unknowns, make([]float64, len(unknowns)), []Measurement{{Quantity: at, Sigma: 0.02}}, rand.New(rand.NewPCG(1, 2)))
	measured[0].Value *= 2
	o, err := Solve(&Problem{Spec: s, Unknowns: unknowns, Measured: measured, Starts: 1})
	if err != nil {
		t.Fatal(err)
	}
	if len(o.Outliers()) != 1 || o.Against() != "the design and the priors" || strings.Contains(o.Quality(), "each other") {
		t.Errorf("%v against %s: %s", o.Outliers(), o.Against(), o.Quality())
	}
	if got := strings.Join(o.Cautions(), "\n"); !strings.Contains(got, "force x at (4.5, 0) mm: outside the workspace, which ends at 4 mm") {
		t.Errorf("cautions: %q", got)
	}
	o.Measured[0].At[0] = 4e-3
	if got := o.Cautions(); len(got) > 0 {
		t.Errorf("at the edge of the workspace: %q", got)
	}
}
