package drawing

import (
	"math"
	"testing"

	"flexwright/models"
)

// trapezoid is a stage above a base, on two blades that lean towards each other.
type trapezoid struct {
	angle, fillet float64
	shift         float64 // of the root of the first blade, off its face
}

const (
	tzLength, tzThick, tzWidth, tzBar, tzHalf = 40e-3, 0.5e-3, 10e-3, 10e-3, 30e-3
)

func (trapezoid) Name() string                   { return "trapezoid" }
func (trapezoid) Meaning() string                { return "a stage on two blades that lean" }
func (trapezoid) Parameters() []models.Parameter { return nil }
func (trapezoid) Topology() *models.Topology {
	return &models.Topology{
		Bodies: []models.BodySpec{{Name: "ground", Held: models.HeldAll}, {Name: "stage"}},
		Blades: []models.BladeSpec{{From: 0, To: 1}, {From: 1, To: 0}},
		Stage:  1, Actuators: []models.ActuatorSpec{{Body: 1}}, Driven: []int{1},
	}
}

func (l trapezoid) depth() float64 {
	if l.fillet == 0 {
		return 0
	}
	return models.FilletStiffening(l.fillet/tzThick) * l.fillet
}

// height of the stage's lower face; the base's upper face is at 0.
func (l trapezoid) height() float64 { return (tzLength + 2*l.depth()) * math.Cos(l.angle) }

func (l trapezoid) Build(d *models.Design, s *models.Stage) models.Verdict {
	sin, cos := math.Sincos(l.angle)
	depth := l.depth()
	s.X[0], s.Y[0], s.X[1], s.Y[1] = 0, -tzBar/2, 0, l.height()+tzBar/2
	// 20 mm from the middle on the base's face; the second one from the stage down
	x0, y0 := -20e-3+depth*sin, depth*cos
	s.RootX[0], s.RootY[0] = x0+l.shift, y0+l.shift
	s.TipX[0], s.TipY[0] = x0+tzLength*sin, y0+tzLength*cos
	s.RootX[1], s.RootY[1] = -x0-tzLength*sin, y0+tzLength*cos
	s.TipX[1], s.TipY[1] = -x0, y0
	for e := range s.Width {
		s.Thickness[e], s.Width[e], s.Fillet[e], s.Young[e], s.Density[e], s.Poisson[e] = tzThick, tzWidth, l.fillet, d.Material.Young, d.Material.Density, d.Material.Poisson
	}
	s.Travel, s.UpTo = 0.1e-3, 0.1e-3
	return models.Verdict{}
}

func (l trapezoid) Outline(*models.Design) ([]models.Outline, models.Verdict) {
	bar := func(body int, y float64) models.Outline {
		return models.Outline{Body: body, Rectangles: []models.Rectangle{{X0: -tzHalf, X1: tzHalf, Y0: y, Y1: y + tzBar}}}
	}
	return []models.Outline{bar(0, -tzBar), bar(1, l.height())}, models.Verdict{}
}

func (trapezoid) NominalMotion(_ *models.Stage, x, _ float64, motions []models.Motion) {
	motions[0], motions[1] = models.Motion{}, models.Motion{X: x}
}

// A fillet of radius r in a corner that opens by α adds r² (1/tan(α/2) - (π - α)/2): the
// two tangents' kite less the circle's sector. Between parallel faces a blade that leans by
// β has two corners of 90° + β and two of 90° - β.
func TestObliqueBlades(t *testing.T) {
	for _, degrees := range []float64{5, 15, 25} {
		for _, fillet := range []float64{0, 0.4e-3} {
			l := trapezoid{angle: degrees * math.Pi / 180, fillet: fillet}
			p, err := New(l, &models.Design{Material: &models.Materials()[0]}, Options{})
			if err != nil {
				t.Fatalf("%g°: %v", degrees, err)
			}
			// the outer contour and the trapezoid between the blades
			if len(p.Contours) != 2 || p.Contours[0].Area() < 0 || p.Contours[1].Area() > 0 {
				t.Fatalf("%g°: %d contours", degrees, len(p.Contours))
			}
			corner := func(opens float64) float64 {
				return fillet * fillet * (1/math.Tan(opens/2) - (math.Pi-opens)/2)
			}
			fillets := 4 * (corner(math.Pi/2+l.angle) + corner(math.Pi/2-l.angle))
			want := 2*2*tzHalf*tzBar + 2*tzThick*(tzLength+2*l.depth()) + fillets
			if got := p.Area(); math.Abs(got/want-1) > 1e-9 {
				t.Errorf("%g°, fillets of %g mm: area %.9g mm², closed form %.9g mm²", degrees, fillet*1e3, got*1e6, want*1e6)
			}
			// Each body has its bar, its fillets and the strips by which the faces stand back.
			for i := range p.Metal {
				if want := 2*tzHalf*tzBar + fillets/2 + 2*tzThick*l.depth(); math.Abs(p.Metal[i]/want-1) > 1e-9 {
					t.Errorf("%g°: body %d has %.9g mm², closed form %.9g mm²", degrees, i, p.Metal[i]*1e6, want*1e6)
				}
			}
		}
	}
	l := trapezoid{angle: 0.3, fillet: 0.4e-3, shift: 0.1e-3}
	if _, err := New(l, &models.Design{Material: &models.Materials()[0]}, Options{}); err == nil {
		t.Error("a blade that begins beside its face is drawn")
	}
	l = trapezoid{angle: 0.7} // they cross
	if _, err := New(l, &models.Design{Material: &models.Materials()[0]}, Options{}); err == nil {
		t.Error("blades that cross in one plane are drawn")
	}
}
