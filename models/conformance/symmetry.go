package conformance

import (
	"math"

	"flexwright/models"
)

// symmetry finds what a layout claims: each body's outline is that of a body after the
// motion, and each blade is a blade, its length, thickness, width and fillets included.
func (c *checker) symmetry(s *models.Stage, outlines []models.Outline) {
	claims, ok := c.layout.(models.Symmetric)
	if !ok {
		return
	}
	t := c.layout.Topology()
	for _, claim := range claims.Symmetries() {
		for i := range outlines {
			want := moments(&outlines[i], claim.Apply)
			found := false
			for k := range outlines {
				found = found || alike(want, moments(&outlines[k], identity))
			}
			if !found {
				c.fault("symmetry", "after a %s %s is nowhere on the plate", claim, t.Bodies[i].Name)
			}
		}
		for e := range t.Blades {
			x0, y0 := claim.Apply(s.RootX[e], s.RootY[e])
			x1, y1 := claim.Apply(s.TipX[e], s.TipY[e])
			found := false
			for k := range t.Blades {
				there := math.Hypot(s.RootX[k]-x0, s.RootY[k]-y0)+math.Hypot(s.TipX[k]-x1, s.TipY[k]-y1) < 4*slack ||
					math.Hypot(s.TipX[k]-x0, s.TipY[k]-y0)+math.Hypot(s.RootX[k]-x1, s.RootY[k]-y1) < 4*slack
				found = found || there && s.Thickness[k] == s.Thickness[e] && s.Width[k] == s.Width[e] && s.Fillet[k] == s.Fillet[e]
			}
			if !found {
				c.fault("symmetry", "after a %s %s is nowhere on the plate", claim, t.BladeName(e))
			}
		}
	}
}

func identity(x, y float64) (float64, float64) { return x, y }

// moments of an outline after a motion: area, centroid, second moments, however its
// rectangles are cut. Metres.
func moments(o *models.Outline, to func(x, y float64) (float64, float64)) (m [6]float64) {
	for _, r := range o.Rectangles {
		a := r.Area()
		x, y := to((r.X0+r.X1)/2, (r.Y0+r.Y1)/2)
		wx, wy := to(r.X1-r.X0, r.Y1-r.Y0)
		m[0] += a
		m[1] += a * x
		m[2] += a * y
		m[3] += a * (x*x + wx*wx/12)
		m[4] += a * (y*y + wy*wy/12)
		m[5] += a * x * y
	}
	for i := 1; i < len(m); i++ {
		m[i] /= m[0]
	}
	return m
}

// alike compares to rounding: lengths to 1e-9 m, their squares to that of 1 m.
func alike(a, b [6]float64) bool {
	if math.Abs(a[0]-b[0]) > slack*math.Abs(a[0]) {
		return false
	}
	for i := 1; i < len(a); i++ {
		if math.Abs(a[i]-b[i]) > slack {
			return false
		}
	}
	return true
}
