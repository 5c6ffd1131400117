package configs

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"flexwright/models"
)

//go:generate go test -run ^TestLayoutSketches$ -update

// sketched are the required dimensions that the layouts are drawn with, mm.
var sketched = map[string]float64{"travel": 3, "blade_length": 40, "blade_thickness": 0.6, "blade_width": 15}

// The sketches in the documentation are those of the layouts as they are.
func TestLayoutSketches(t *testing.T) {
	page, err := os.ReadFile("../cmd/flexwright/docs/layouts.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range Layouts() {
		if !strings.Contains(string(page), "### "+l.Name()+"\n\n!["+l.Name()+"](layouts/"+l.Name()+".svg)") {
			t.Errorf("the page on layouts does not show %s", l.Name())
		}
		want := sketch(t, l)
		name := "../cmd/flexwright/docs/layouts/" + l.Name() + ".svg"
		if *update {
			if err := os.WriteFile(name, []byte(want), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if have, err := os.ReadFile(name); err != nil || string(have) != want {
			t.Errorf("%s is not what the layout draws: run go generate ./configs (%v)", name, err)
		}
	}
}

// sketch draws bodies, blades and actuators of a layout, y up, to a tenth of a
// millimetre.
func sketch(t *testing.T, l models.Layout) string {
	d := &models.Design{Material: &models.Materials()[0]}
	for _, p := range l.Parameters() {
		v, ok := sketched[p.Name]
		if !ok {
			v = math.NaN()
		}
		d.Parameters = append(d.Parameters, p.Unit.ToSI(v))
	}
	s := models.NewStage(l.Topology())
	if v := l.Build(d, s); !v.OK() {
		t.Fatalf("%s: %s", l.Name(), v.Reason())
	}
	outlines, _ := l.Outline(d)
	mm := func(v float64) string { return fmt.Sprintf("%.1f", v*1e3) }
	var b strings.Builder
	put := func(format string, args ...any) { fmt.Fprintf(&b, format, args...) }
	x0, x1, y0, y1 := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, o := range outlines {
		for _, r := range o.Rectangles {
			x0, x1, y0, y1 = min(x0, r.X0), max(x1, r.X1), min(y0, r.Y0), max(y1, r.Y1)
		}
	}
	put("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"%s %s %s %s\" width=\"480\">\n<title>%s</title>\n<g transform=\"scale(1 -1)\">\n",
		mm(x0), mm(-y1), mm(x1-x0), mm(y1-y0), l.Meaning())
	topo := l.Topology()
	for _, o := range outlines {
		colour := "#c9d6e8"
		switch {
		case topo.Bodies[o.Body].Held == models.HeldAll:
			colour = "#8a8a8a"
		case o.Body == topo.Stage:
			colour = "#3b6ea5"
		}
		put("<g fill=\"%s\"><title>%s</title>\n", colour, topo.Bodies[o.Body].Name)
		for _, r := range o.Rectangles {
			put("<rect x=\"%s\" y=\"%s\" width=\"%s\" height=\"%s\"/>\n", mm(r.X0), mm(r.Y0), mm(r.X1-r.X0), mm(r.Y1-r.Y0))
		}
		put("</g>\n")
	}
	put("<g stroke=\"#b3261e\">\n")
	for e := range topo.Blades {
		put("<line x1=\"%s\" y1=\"%s\" x2=\"%s\" y2=\"%s\" stroke-width=\"%s\"/>\n", mm(s.RootX[e]), mm(s.RootY[e]), mm(s.TipX[e]), mm(s.TipY[e]), mm(s.Thickness[e]))
	}
	put("</g>\n")
	for k := range topo.Actuators {
		put("<circle cx=\"%s\" cy=\"%s\" r=\"1.5\" fill=\"#e8a33d\"/>\n", mm(s.ActX[k]), mm(s.ActY[k]))
	}
	put("</g>\n</svg>\n")
	return b.String()
}
