package configs

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"flexwright/models"
)

// motionNames are those of the bits of [models.Motions].
var motionNames = []string{"x", "y", "yaw", "z", "roll", "pitch"}

// barNumbers is how many numbers describe a [models.Bar] without pockets, and
// flexingNumbers how many more say what they let it give.
const barNumbers, flexingNumbers = 8, 5

func bar(b *models.Bar) []*float64 {
	return append([]*float64{&b.Length, &b.Span, &b.Toward, &b.Offset, &b.Height, &b.Depth, &b.Young, &b.Poisson}, flexing(&b.Flexing)...)
}

func flexing(f *models.Flexing) []*float64 {
	return []*float64{&f.Axial, &f.Bend, &f.Shear, &f.Lift, &f.Twist}
}

func writeBar(o *object, key string, b *models.Bar) {
	if b.Length == 0 {
		return
	}
	var values []float64
	for _, v := range bar(b) {
		values = append(values, *v)
	}
	if b.Flexing == (models.Flexing{}) {
		values = values[:barNumbers]
	}
	o.numbers(key, values...)
}

func writeBeam(o *object, t *models.Topology, l models.LinkSpec, b *models.Beam, continues bool) {
	o.text("from", t.Bodies[l.From].Name)
	o.text("to", t.Bodies[l.To].Name)
	if continues {
		o.raw("continues", "true")
	}
	o.numbers("begin_m", b.X0, b.Y0)
	o.numbers("end_m", b.X1, b.Y1)
	o.numbers("metal_m", b.Begin, b.End)
	o.number("height_m", b.Height)
	o.number("depth_m", b.Depth)
	o.number("youngs_modulus_pa", b.Young)
	o.number("poisson_ratio", b.Poisson)
	o.number("density_kg_m3", b.Density)
	if b.Flexing != (models.Flexing{}) {
		f := &b.Flexing
		o.numbers("flexing", f.Axial, f.Bend, f.Shear, f.Lift, f.Twist)
	}
	if b.Held {
		o.raw("warping_held", "true")
	}
	if b.Back {
		o.raw("back", "true")
	}
	o.end()
}

// parts reads what bodies are parts of, once all have names.
func (a *assembly) parts(bodies []node) {
	for i := range bodies {
		n := &bodies[i]
		if n.kind == kindMapping && n.get("part_of") != nil {
			if whole, ok := a.named(n, "part_of", "body "+show(a.topology.Bodies[i].Name)); ok {
				a.topology.Bodies[i].Part = whole + 1
				if whole == i || a.topology.Bodies[whole].Part != 0 && whole > i {
					a.refuse(n.get("part_of").place, "the name of a whole body", "body %s is a part of a part", show(a.topology.Bodies[i].Name))
				}
			}
		}
	}
}

// follows reads the motions of a body that follow.
func (a *assembly) follows(n *node, what string, spec *models.BodySpec) {
	var quoted []string
	for _, name := range motionNames {
		quoted = append(quoted, strconv.Quote(name))
	}
	accepted := "a list of " + strings.Join(quoted, ", ")
	if n.kind != kindSequence {
		a.refuse(n.place, accepted, "%s: follows is %s", what, kindNames[n.kind])
		return
	}
	for i := range n.items {
		found := false
		for k, name := range motionNames {
			if n.items[i].kind == kindText && n.items[i].quote && n.items[i].text == name {
				spec.Follows |= 1 << k
				found = true
			}
		}
		if !found {
			a.refuse(n.items[i].place, accepted, "%s: follows: there is no motion %s", what, show(n.items[i].text))
		}
	}
}

// bar reads one of a blade; false where it is absent or refused.
func (a *assembly) bar(n *node, key, what string, into *models.Bar) {
	v := a.numbers(n, key, what, barNumbers, barNumbers+flexingNumbers)
	if v == nil {
		return
	}
	to := bar(into)
	for i := range v {
		*to[i] = v[i]
	}
	more := len(v) == barNumbers || len(v) == barNumbers+flexingNumbers && slices.Min(v[barNumbers:]) >= 0
	if b := into; !more || !(b.Length > 0 && b.Span >= 0 && (b.Toward == 1 || b.Toward == -1) && b.Height > 0 && b.Depth > 0 && b.Young > 0 && b.Poisson >= 0 && b.Poisson < 0.5) {
		a.refuse(n.get(key).place, "length above 0, span, side 1 or -1, offset, height, depth and E above 0, ν below 0.5; and five numbers of what pockets let it give, or none", "%s: %s is no bar", what, key)
	}
}

// beams reads the links: beams that continue one another are one.
func (a *assembly) beams(list []node) {
	for i := range list {
		n := &list[i]
		what := fmt.Sprintf("beam %d", i+1)
		required := []string{"from", "to", "begin_m", "end_m", "metal_m", "height_m", "depth_m", "youngs_modulus_pa", "poisson_ratio", "density_kg_m3"}
		if !a.object(n, what, required, []string{"continues", "flexing", "warping_held", "back"}) {
			continue
		}
		from, fromOK := a.named(n, "from", what)
		to, toOK := a.named(n, "to", what)
		spec := models.LinkSpec{From: from, To: to}
		t, s := &a.topology, a.stage
		last := len(t.Links) - 1
		switch {
		case a.flag(n, "continues"):
			if last < 0 || t.Links[last] != spec || s.Links[last].N == models.MaxBeams {
				a.refuse(n.get("continues").place, fmt.Sprintf("a beam between the same bodies before it, at most %d in a chain", models.MaxBeams), "%s continues nothing", what)
				continue
			}
		default:
			t.Links, s.Links = append(t.Links, spec), append(s.Links, models.Link{})
			last++
		}
		switch {
		case !fromOK || !toOK:
		case from == to:
			a.refuse(n.get("to").place, "two bodies", "%s joins %s to itself", what, show(t.Bodies[from].Name))
		case t.Bodies[to].Held == models.HeldAll:
			a.refuse(n.get("to").place, "a body that moves: a beam grows from the fixed one", "%s leads to %s, which is fixed", what, show(t.Bodies[to].Name))
		}
		l := &s.Links[last]
		a.beam(n, what, &l.Beams[l.N])
		l.N++
	}
}

// beam reads one.
func (a *assembly) beam(n *node, what string, b *models.Beam) {
	b.Held, b.Back = a.flag(n, "warping_held"), a.flag(n, "back")
	if f := a.numbers(n, "flexing", what, flexingNumbers, flexingNumbers); f != nil {
		for i, to := range flexing(&b.Flexing) {
			*to = f[i]
		}
		if slices.Min(f) < 0 {
			a.refuse(n.get("flexing").place, "numbers of at least 0", "%s: flexing is negative", what)
		}
	}
	if begin, end := a.numbers(n, "begin_m", what, 2, 2), a.numbers(n, "end_m", what, 2, 2); begin != nil && end != nil {
		b.X0, b.Y0, b.X1, b.Y1 = begin[0], begin[1], end[0], end[1]
		if length := math.Hypot(b.X1-b.X0, b.Y1-b.Y0); !(length > 0) || math.IsInf(length, 0) {
			a.refuse(n.get("end_m").place, "two different points", "%s has no length", what)
		}
	}
	if metal := a.numbers(n, "metal_m", what, 2, 2); metal != nil {
		b.Begin, b.End = metal[0], metal[1]
	}
	for _, k := range []struct {
		name string
		into *float64
		zero bool
		most float64
	}{{"height_m", &b.Height, false, math.Inf(1)}, {"depth_m", &b.Depth, false, math.Inf(1)}, {"youngs_modulus_pa", &b.Young, false, math.Inf(1)},
		{"poisson_ratio", &b.Poisson, true, 0.5}, {"density_kg_m3", &b.Density, true, math.Inf(1)}} {
		v, ok := a.number(n, k.name, what)
		if !ok {
			continue
		}
		*k.into = v
		if v < 0 || v == 0 && !k.zero || v >= k.most {
			a.refuse(n.get(k.name).place, "a number above 0 (0 for a density or Poisson's ratio, which is below 0.5)", "%s: %s is out of range", what, k.name)
		}
	}
}
