package layoutfile

import "flexwright/models"

// Outline implements [models.Layout]. The rectangles of one body do not overlap.
func (l *Layout) Outline(d *models.Design) ([]models.Outline, models.Verdict) {
	var r registers
	if v := l.run(d, 0, &r); !v.OK() {
		return nil, v
	}
	outlines := make([]models.Outline, len(l.topology.Bodies))
	for i := range l.shapes {
		s := &l.shapes[i]
		for k, body := range s.bodies {
			outlines[body].Body = body
			for j := range s.boxes {
				outlines[body].Rectangles = s.boxes[j].append(outlines[body].Rectangles, s.frames[k], &r)
			}
		}
	}
	return outlines, models.Verdict{}
}

// Thicknesses implements [models.Thick].
func (l *Layout) Thicknesses(d *models.Design, into []float64) {
	var r registers
	l.run(d, 0, &r)
	for i := range l.shapes {
		for _, body := range l.shapes[i].bodies {
			into[body] = r[l.shapes[i].thickness]
		}
	}
}

// Stops implements [models.Stopper].
func (l *Layout) Stops(d *models.Design, play float64) []models.Outline {
	var r registers
	if v := l.run(d, play, &r); !v.OK() {
		return nil
	}
	var outlines []models.Outline
	for i := range l.stops {
		s := &l.stops[i]
		outlines = append(outlines, models.Outline{Body: s.body, Rectangles: s.box.append(nil, frame{}, &r)})
	}
	return outlines
}

// append adds the copies of a box of a body that stands in frame f, unless it is
// empty.
func (b *box) append(to []models.Rectangle, f frame, r *registers) []models.Rectangle {
	if r[b.x1]-r[b.x0] < sliver || r[b.y1]-r[b.y0] < sliver {
		return to
	}
	for _, own := range b.frames {
		g := own.in(f)
		x0, y0 := g.apply(r[b.x0], r[b.y0])
		x1, y1 := g.apply(r[b.x1], r[b.y1])
		to = append(to, models.Rectangle{X0: min(x0, x1), X1: max(x0, x1), Y0: min(y0, y1), Y1: max(y0, y1)})
	}
	return to
}
