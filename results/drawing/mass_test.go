package drawing

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"flexwright/models"
)

// moments of an area: itself, first and second moments about the origin.
type moments struct{ area, x, y, xx, yy float64 }

// add integrates over a contour by Green's theorem, arcs in chords of 0.02 rad: off
// by 7e-5 of what an arc encloses.
func (m *moments) add(c Contour, sign float64) {
	line := c.flatten(0.02)
	for i, p := range line {
		q := line[(i+1)%len(line)]
		cross := sign * (p.x*q.y - q.x*p.y)
		m.area += cross / 2
		m.x += cross * (p.x + q.x) / 6
		m.y += cross * (p.y + q.y) / 6
		m.xx += cross * (p.x*p.x + p.x*q.x + q.x*q.x) / 12
		m.yy += cross * (p.y*p.y + p.y*q.y + q.y*q.y) / 12
	}
}

// TestDrawnMass: the mass of each body that was evaluated is that of its drawn
// outline within 0.1 %, its centre of mass within 0.1 % of its size, its moment of
// inertia within 0.5 %, for 200 random designs with pockets, half of them with
// holes in the stage. The drawn outline is integrated along its contours; a blade
// counts up to where the length begins that bends.
func TestDrawnMass(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 3))
	var mass, centre, inertia float64 // largest deviations
	pocketed := 0
	for n := 0; n < 200; {
		values := randomValues(rng)
		o := defaults()
		pocketValues(rng, values)
		if rng.IntN(2) == 0 {
			o.Payload.Rows, o.Payload.Columns, o.Payload.Pitch = 1+rng.IntN(4), 1+rng.IntN(4), 8e-3+12e-3*rng.Float64()
		}
		p, refusal, err := draft(models.FourArm(), design(values), o)
		if err != nil && (strings.HasPrefix(err.Error(), "cannot build") || strings.Contains(err.Error(), "stage too small")) {
			continue
		}
		if n++; err != nil || len(refusal.Faults) > 0 {
			t.Errorf("%v: %v, %v", values, err, refusal)
			continue
		}
		s := p.Stage
		for i, b := range p.Topology.Bodies {
			var m moments
			m.add(p.Bodies[i], 1)
			if b.Held == models.HeldAll {
				for _, c := range p.Rings {
					m.add(c, 1)
				}
			}
			for _, c := range p.Pockets[i] {
				m.add(c, 1)
			}
			if len(p.Pockets[i]) > 0 {
				pocketed++
			}
			if i == p.Topology.Stage {
				for _, h := range p.PayloadHoles {
					m.add(Contour{{h.X - h.Radius, h.Y, 1}, {h.X + h.Radius, h.Y, 1}}, -1)
				}
			}
			for e, spec := range p.Topology.Blades {
				if spec.From != i && spec.To != i {
					continue
				}
				x, y, ex, ey := s.RootX[e], s.RootY[e], p.Blades[e].X, p.Blades[e].Y
				if spec.To == i {
					x, y, ex, ey = s.TipX[e], s.TipY[e], p.Blades[e].EndX, p.Blades[e].EndY
				}
				l := math.Hypot(ex-x, ey-y)
				if l == 0 {
					continue
				}
				hx, hy := (ey-y)/l*s.Thickness[e]/2, -(ex-x)/l*s.Thickness[e]/2
				m.add(Contour{{x + hx, y + hy, 0}, {ex + hx, ey + hy, 0}, {ex - hx, ey - hy, 0}, {x - hx, y - hy, 0}}, -1)
			}
			areal := p.Depth * s.Density[0]
			mass = max(mass, math.Abs(s.Mass[i]/(areal*m.area)-1))
			if drawn := p.BodyMass(i); math.Abs(drawn/(areal*m.area)-1) > 1e-4 { // chords
				t.Errorf("%v: %s: the sheet says %g kg, its contours %g", values, b.Name, drawn, areal*m.area)
			}
			cx, cy := m.x/m.area, m.y/m.area
			radius := math.Sqrt((m.xx+m.yy)/m.area - cx*cx - cy*cy)
			iz := areal * m.area * radius * radius
			inertia = max(inertia, math.Abs(s.Iz[i]/iz-1))
			ix := areal*(m.yy-m.area*cy*cy) + areal*m.area*p.Depth*p.Depth/12
			iy := areal*(m.xx-m.area*cx*cx) + areal*m.area*p.Depth*p.Depth/12
			inertia = max(inertia, math.Abs(s.Ix[i]/ix-1), math.Abs(s.Iy[i]/iy-1))
			centre = max(centre, math.Hypot(s.X[i]-cx, s.Y[i]-cy)/radius)
		}
	}
	t.Logf("largest deviations of a body: mass %.3f %%, centre of mass %.3f %% of its radius of gyration, inertia %.3f %%; %d bodies with pockets", mass*100, centre*100, inertia*100, pocketed)
	if mass > 1e-3 || centre > 1e-3 || inertia > 5e-3 {
		t.Error("what was evaluated is not what is drawn")
	}
	if pocketed < 1000 {
		t.Errorf("only %d bodies have pockets", pocketed)
	}
}

// pocketValues adds pockets to random dimensions.
func pocketValues(rng *rand.Rand, values map[string]float64) {
	values["pocket_wall"] = 1 + 2.5*rng.Float64()
	values["pocketing"] = 0.05 + 0.4*rng.Float64()
	values["guide_body_depth"] = 12 + 6*rng.Float64()
}
