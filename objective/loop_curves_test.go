package objective

import (
	"math"
	"math/cmplx"
	"testing"
)

// At the bandwidth some pose uses up what the sensitivity may be, and none more;
// the modes that the curves and the shapes show are those of the poses.
func TestLoopCurvesAndShapes(t *testing.T) {
	s := loopSpec(t)
	s.Pin([]float64{60, 0.5, 20, 4})
	d := NewDetail(s)
	c, ok := d.LoopCurves(1, 1000, 200)
	if !ok {
		t.Fatalf("no curves of a design with status %v, %s", d.Row.Status, d.Row.Reason.Sentence())
	}
	if hz, _ := d.Row.Measures.Get(Crossover); hz != c.Crossover || len(c.Poses) != 9 {
		t.Errorf("crossover %g of %d curves, measure %g", c.Crossover, len(c.Poses), hz)
	}
	peak := 0.0
	for _, p := range c.Poses {
		for _, s := range p.Sensitivity {
			peak = max(peak, cmplx.Abs(s))
		}
	}
	// 1 % for what lies between the points; the frequencies x 0.97 and x 1.03, which are not drawn, may be worse
	if peak > 1.01*c.Limit || peak < 1 {
		t.Errorf("largest |S| %g of at most %g", peak, c.Limit)
	}
	shapes, ok := d.Shapes()
	if !ok || len(shapes) == 0 {
		t.Fatal("no shapes")
	}
	// the same eigenproblem by two ways: to the accuracy of the low eigenvalues in
	// the presence of the high, whose squares are 1e6 times larger
	if got, want := shapes[0].Omega/(2*math.Pi), min(d.Poses[0].InPlane[0], d.Poses[0].OutOfPlane[0]); math.Abs(got-want) > 1e-6*want {
		t.Errorf("first shape at %g Hz, first mode at %g Hz", got, want)
	}
}
