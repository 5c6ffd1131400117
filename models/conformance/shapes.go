package conformance

import (
	"math"

	"flexwright/models"
)

// shapes compares a stage with the outlines it was drawn from.
func (c *checker) shapes(d *models.Design, s *models.Stage, outlines []models.Outline) {
	topo := c.layout.Topology()
	thickness := make([]float64, len(topo.Bodies))
	if t, ok := c.layout.(models.Thick); ok {
		t.Thicknesses(d, thickness)
	} else {
		for e, spec := range topo.Blades {
			thickness[spec.From], thickness[spec.To] = s.Width[e], s.Width[e]
		}
	}
	var x0, x1, y0, y1 = math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for i := range outlines {
		o := &outlines[i]
		name := topo.Bodies[i].Name
		if o.Body != i || len(o.Rectangles) == 0 {
			c.fault("outline", "outline %d is of body %d with %d rectangles", i, o.Body, len(o.Rectangles))
			return
		}
		area := 0.0
		for k, r := range o.Rectangles {
			area += r.Area()
			x0, x1, y0, y1 = min(x0, r.X0), max(x1, r.X1), min(y0, r.Y0), max(y1, r.Y1)
			for _, q := range o.Rectangles[:k] {
				// 1 nm: rounding of sums of a few dimensions
				if dx, dy := min(r.X1, q.X1)-max(r.X0, q.X0), min(r.Y1, q.Y1)-max(r.Y0, q.Y0); min(dx, dy) > 1e-9 {
					c.faultOf(i, "overlap", "rectangles of %s overlap by %.4g × %.4g mm at (%.4g, %.4g) mm", name, dx*1e3, dy*1e3, (max(r.X0, q.X0)+dx/2)*1e3, (max(r.Y0, q.Y0)+dy/2)*1e3)
				}
			}
		}
		if !connected(o.Rectangles) {
			c.faultOf(i, "pieces", "%s is in pieces", name)
		}
		for _, p := range o.Pockets {
			area -= p.Area()
		}
		for e, spec := range topo.Blades {
			for end, body := range [2]int{spec.From, spec.To} {
				if body != i {
					continue
				}
				sine, ok := foot(o, s, e, end)
				if !ok {
					sine = 1 // told of elsewhere
				}
				// Two fillets, in corners that open by α and 180° - α, and the strip beyond the
				// length that bends.
				area += s.Fillet[e]*s.Fillet[e]*(2/sine-math.Pi/2) + back(s, e)*s.Thickness[e]
			}
		}
		if want := area*thickness[i]*d.Material.Density + s.Mounted[i]; math.Abs(s.Mass[i]-want) > 1e-9*want {
			c.faultOf(i, "mass", "%s has %.9g kg, by its outline and what is mounted on it %.9g kg", name, s.Mass[i], want)
		}
		ix, iy, iz := s.Ix[i], s.Iy[i], s.Iz[i]
		if big := max(ix, iy, iz); !(min(ix, iy, iz) > 0) || 2*big > (ix+iy+iz)*(1+1e-9) {
			c.faultOf(i, "inertia", "no body has the inertia of %s: %.4g, %.4g, %.4g kg m²", name, ix, iy, iz)
		}
	}
	if side := max(x1-x0, y1-y0); math.Abs(side-s.Frame) > 1e-9 {
		c.fault("footprint", "the footprint is %.6g mm, the outlines reach over %.6g mm", s.Frame*1e3, side*1e3)
	}
}

// connected reports whether the rectangles form one piece, by more than a corner.
func connected(rs []models.Rectangle) bool {
	reached := make([]bool, len(rs))
	reached[0] = true
	for range rs {
		for i, a := range rs {
			for j, b := range rs {
				dx, dy := min(a.X1, b.X1)-max(a.X0, b.X0), min(a.Y1, b.Y1)-max(a.Y0, b.Y0)
				if reached[i] && max(dx, dy) > 1e-6 && min(dx, dy) > -1e-9 {
					reached[j] = true
				}
			}
		}
	}
	for _, ok := range reached {
		if !ok {
			return false
		}
	}
	return true
}

// back is by how much the face that blade e grows from stands behind where the blade
// begins to bend.
func back(s *models.Stage, e int) float64 {
	if s.Fillet[e] == 0 {
		return 0
	}
	return s.Fillet[e] * models.FilletStiffening(s.Fillet[e]/s.Thickness[e])
}

// ends: each end of a blade sits on a face of its body that is wide enough for both
// fillets, with metal behind it and none before it.
func (c *checker) ends(s *models.Stage, outlines []models.Outline) {
	topo := c.layout.Topology()
	for e, spec := range topo.Blades {
		length := math.Hypot(s.TipX[e]-s.RootX[e], s.TipY[e]-s.RootY[e])
		if !(length > 0 && s.Thickness[e] > 0 && s.Width[e] > 0 && s.Young[e] > 0) {
			c.faultOfBlade(e, "blade", "blade %d: length %.4g mm, thickness %.4g mm, width %.4g mm", e+1, length*1e3, s.Thickness[e]*1e3, s.Width[e]*1e3)
			continue
		}
		for end, body := range [2]int{spec.From, spec.To} {
			if _, ok := foot(&outlines[body], s, e, end); !ok {
				x, y, _, _ := ending(s, e, end)
				c.faultOfBlade(e, "ends", "the %s of blade %d, with its fillets and set back by them, is not on a face of %s at (%.4g, %.4g) mm", [2]string{"root", "tip"}[end], e+1, topo.Bodies[body].Name, x*1e3, y*1e3)
			}
		}
	}
}

// ending is where the end of a blade stands on its face, and its direction away from it.
func ending(s *models.Stage, e, end int) (x, y, ux, uy float64) {
	dx, dy := s.TipX[e]-s.RootX[e], s.TipY[e]-s.RootY[e]
	length := math.Hypot(dx, dy)
	ux, uy = dx/length, dy/length
	set := back(s, e)
	if end == 0 {
		return s.RootX[e] - set*ux, s.RootY[e] - set*uy, ux, uy
	}
	return s.TipX[e] + set*ux, s.TipY[e] + set*uy, -ux, -uy
}

// foot finds the face that the end of a blade (0: the root) stands on with both of its
// fillets, and returns the sine of the angle between the two.
func foot(o *models.Outline, s *models.Stage, e, end int) (sine float64, ok bool) {
	x, y, ux, uy := ending(s, e, end)
	for _, n := range [4][2]float64{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} { // out of the metal
		sine := ux*n[0] + uy*n[1]
		if sine < 1e-3 { // it lies on the face, as for a file's fillets
			continue
		}
		tx, ty := -n[1], n[0]
		cosine := ux*tx + uy*ty
		// The corner towards t opens by the angle between t and u; its tangent's length is
		// that of half of it.
		on := true
		for _, side := range [2]float64{-1, 1} {
			reach := side * (s.Thickness[e]/2/sine + s.Fillet[e]*math.Sqrt((1+side*cosine)/(1-side*cosine))) * (1 - 1e-6)
			on = on && onFace(o, x+reach*tx, y+reach*ty, n[0], n[1])
		}
		if on {
			return sine, true
		}
	}
	return 0, false
}

// onFace reports whether (x, y) is on the boundary of o, with metal against the
// direction (ux, uy) and none along it.
func onFace(o *models.Outline, x, y, ux, uy float64) bool {
	inside := func(x, y float64) bool {
		for _, r := range o.Rectangles {
			if x >= r.X0 && x <= r.X1 && y >= r.Y0 && y <= r.Y1 {
				return true
			}
		}
		return false
	}
	const step = 2e-9
	return inside(x-step*ux, y-step*uy) && !inside(x+step*ux, y+step*uy)
}
