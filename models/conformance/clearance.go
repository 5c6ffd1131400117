package conformance

import (
	"math"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// clearance moves everything to the nine positions by the nominal motions: no two
// bodies, no blade and body, come closer than the layout's free_gap, or touch where
// it has none.
func (c *checker) clearance(d *models.Design, s *models.Stage, outlines []models.Outline) {
	topo := c.layout.Topology()
	gap := value(c.layout, d, "free_gap")
	n := len(topo.Bodies)
	alongX, alongY, motions := make([]models.Motion, n), make([]models.Motion, n), make([]models.Motion, n)
	c.layout.NominalMotion(s, s.UpTo, 0, alongX)
	c.layout.NominalMotion(s, 0, s.UpTo, alongY)
	least := gap - slack - share*s.UpTo
	for _, sign := range mechanics.PoseSigns {
		for i := range motions {
			a, b := &alongX[i], &alongY[i]
			motions[i] = models.Motion{X: sign[0]*a.X + sign[1]*b.X, Y: sign[0]*a.Y + sign[1]*b.Y, Yaw: sign[0]*a.Yaw + sign[1]*b.Yaw}
		}
		if g := models.Clearance(outlines, motions); g.Distance < least {
			c.fault("clearance", "with the stage at (%.4g, %.4g) mm %s and %s come within %.4g mm at (%.4g, %.4g) mm, the free gap is %.4g mm", sign[0]*s.UpTo*1e3, sign[1]*s.UpTo*1e3,
				topo.Bodies[g.A].Name, topo.Bodies[g.B].Name, g.Distance*1e3, g.X*1e3, g.Y*1e3, gap*1e3)
		}
		for e := range topo.Blades {
			c.blade(s, outlines, motions, e, gap, least)
		}
	}
}

const (
	slack = 1e-9 // rounding of sums of a few dimensions, m
	share = 2e-5 // to which layouts from files know the shares of motion, twice
)

// blade follows the centre line of a clamped blade, a cubic between its displaced ends
// in their directions. It keeps the gap to every body, its own two excepted within the
// fillets.
func (c *checker) blade(s *models.Stage, outlines []models.Outline, motions []models.Motion, e int, gap, least float64) {
	spec := c.layout.Topology().Blades[e]
	from, to := motions[spec.From], motions[spec.To]
	dx, dy := s.TipX[e]-s.RootX[e], s.TipY[e]-s.RootY[e]
	length := math.Hypot(dx, dy)
	near := s.Fillet[e] + s.Thickness[e]/2 + gap
	hx, hy := s.Thickness[e]/2*math.Abs(dy)/length, s.Thickness[e]/2*math.Abs(dx)/length
	x0, y0 := from.At(s.RootX[e], s.RootY[e])
	x1, y1 := to.At(s.TipX[e], s.TipY[e])
	ax, ay, bx, by := x0-s.RootX[e], y0-s.RootY[e], x1-s.TipX[e], y1-s.TipY[e]
	const n = 20
	var line [n + 1]models.Rectangle
	box := models.Rectangle{X0: math.Inf(1), X1: math.Inf(-1), Y0: math.Inf(1), Y1: math.Inf(-1)} // around them
	for k := range line {
		xi := float64(k) / n
		h := xi * xi * (3 - 2*xi)
		turn := xi*(1-xi)*(1-xi)*from.Yaw - xi*xi*(1-xi)*to.Yaw
		x, y := s.RootX[e]+xi*dx+ax+h*(bx-ax)-turn*dy, s.RootY[e]+xi*dy+ay+h*(by-ay)+turn*dx
		line[k] = models.Rectangle{X0: x - hx, X1: x + hx, Y0: y - hy, Y1: y + hy}
		box.X0, box.X1 = min(box.X0, x-hx), max(box.X1, x+hx)
		box.Y0, box.Y1 = min(box.Y0, y-hy), max(box.Y1, y+hy)
	}
	for _, o := range outlines {
		motion := motions[o.Body]
		for _, r := range o.Rectangles {
			if r.Bounds(motion).Distance(box) >= least {
				continue
			}
			for k, q := range line {
				xi := float64(k) / n
				if o.Body == spec.From && xi*length < near || o.Body == spec.To && (1-xi)*length < near {
					continue
				}
				if at := models.Distance(r, motion, q, models.Motion{}); at < least {
					c.fault("blade clearance", "blade %d comes within %.4g mm of %s at (%.4g, %.4g) mm, the free gap is %.4g mm", e+1, at*1e3,
						c.layout.Topology().Bodies[o.Body].Name, (q.X0+q.X1)/2*1e3, (q.Y0+q.Y1)/2*1e3, gap*1e3)
				}
			}
		}
	}
}
