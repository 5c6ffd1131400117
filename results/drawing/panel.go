package drawing

import (
	"fmt"
	"math"
	"strings"
)

// panel writes the column at the right: title block, dimensions, notes, cautions.
func (p *Plate) panel(s *svg, sheet Sheet, x, y, width, height float64) {
	k := s.k
	s.print("<path class=\"rule\" d=\"M%.2f %.2fv%.2f\"/>\n", x, y, height)
	left, at := x+6*k, y+10*k
	const size, step = 3.1, 4.6
	head := func(text string) {
		at += 2.5 * k
		s.text(left, at, 3.7, "start", "head", text)
		at += 5.2 * k
	}
	row := func(name, value string) {
		s.text(left, at, size, "start", "quiet", name)
		for i, line := range wrap(value, 56) {
			if i > 0 {
				at += step * k
			}
			s.text(left+42*k, at, size, "start", "", line)
		}
		at += step * k
	}
	note := func(text string) {
		for i, line := range wrap(text, 76) {
			bullet := left + 3.5*k
			if i == 0 {
				s.text(left, at, size, "start", "", "–")
			}
			s.text(bullet, at, size, "start", "", line)
			at += step * k
		}
	}

	title := sheet.Title
	if title == "" {
		title = "Flexure stage"
	}
	for _, line := range wrap(title, 46) {
		s.text(left, at, 4.8, "start", "head", line)
		at += 6.4 * k
	}
	row("design", sheet.Design)
	row("layout", sheet.Layout)
	row("material", sheet.Material)
	row("plate", fmt.Sprintf("%s x %s x %s mm", trim(p.Stage.Frame*1e3, 3), trim(p.Stage.Frame*1e3, 3), trim(p.Stage.Width[0]*1e3, 3)))
	row("travel", fmt.Sprintf("±%s mm in x and y (±%s mm cleared)", trim(p.Stage.Travel*1e3, 3), trim(p.Stage.UpTo*1e3, 3)))
	row("scale, units", "1:1, mm")
	for _, f := range sheet.Facts {
		name, value, ok := strings.Cut(f, ": ")
		if !ok {
			name, value = "", f
		}
		row(name, value)
	}

	head("Dimensions (mm)")
	for _, q := range p.pairs() {
		b := &p.Blades[q.a]
		row(p.Topology.Bodies[b.From].Name+" to "+p.Topology.Bodies[b.To].Name,
			fmt.Sprintf("t %s, length %s (bends %s), spacing %s",
				trim(b.Thickness*1e3, 4), trim(b.Drawn*1e3, 3), trim(b.Bending*1e3, 3), trim(p.spacing(q)*1e3, 3)))
	}
	row("fillets at blades", "R "+trim(p.Stage.Fillet[0]*1e3, 4))
	row("other inside corners", "R "+trim(p.Options.CornerRadius*1e3, 4))
	row("thinnest wall", place(p.Wall))
	row("narrowest gap, at rest", place(p.Gap))
	row("at full travel", fmt.Sprintf("%s, %s to %s", trim(p.FullGap.Distance*1e3, 3), p.FullGap.A, p.FullGap.B))
	row("cuts", fmt.Sprintf("%d inside, 1 outside; %s m in all", len(p.Contours)-1, trim(p.CutLength(), 2)))

	row("area", fmt.Sprintf("%s cm²: %+.3f %% of the evaluated one", trim(p.Area()*1e4, 2), p.Excess()*100))

	head("Tolerances")
	for _, n := range p.tolerances() {
		note(n)
	}
	head("Cautions")
	for _, n := range cautions {
		note(n)
	}
}

func place(q Place) string {
	return fmt.Sprintf("%s at (%s, %s)", trim(q.Size*1e3, 4), trim(q.X*1e3, 1), trim(q.Y*1e3, 1))
}

// CutLength returns the length of all contours, m.
func (p *Plate) CutLength() float64 {
	sum := 0.0
	for _, c := range p.Contours {
		sum += c.Length()
	}
	return sum
}

// tolerances returns the notes for the shop. Values are common practice; what fine
// wire holds (3 to 5 µm) is from suppliers' pages.
func (p *Plate) tolerances() []string {
	t := math.Inf(1)
	for _, b := range p.Blades {
		t = min(t, b.Thickness)
	}
	notes := []string{
		fmt.Sprintf("Blade thickness is the critical dimension: stiffness goes with its cube. 3\u00a0µm on %s\u00a0mm is %.1f\u00a0%% of stiffness. "+
			"Hold ±0.005 over the whole length and width; alike in all blades matters more than the mean. Measure and record.", trim(t*1e3, 3), 3*3e-6/t*100),
		"Blade spacing and parallelism ±0.01; everything else ±0.1 (common practice).",
		"Trim cuts on all blades, the last after the slugs are out; no burrs or recast layer at fillets.",
		"Clamp stage and arms to the frame until the last cut is done and the plate is off the machine.",
		"Start holes are placed by room alone: check them against the wire guides and against the slug that drops.",
	}
	if p.Options.StartHole == 0 {
		notes = notes[:4]
	}
	if len(p.MountingHoles)+len(p.PayloadHoles) > 0 {
		area := 0.0
		for _, h := range p.PayloadHoles {
			area += math.Pi * h.Radius * h.Radius
		}
		notes = append(notes, fmt.Sprintf("Holes are not part of the evaluated masses: those of the payload take %s\u00a0cm³ out of the stage.", trim(area*p.Stage.Width[0]*1e6, 2)))
	}
	return notes
}

var cautions = []string{
	"A flexure that breaks or is released lets go of stored energy: guard it, wear eye protection, never hold fingers in gaps.",
	"A coil can be hot enough to burn, and moving magnets pinch, pull tools and disturb medical implants.",
	"All values are computed and nominal. Prove stress, fatigue and travel stops by test before anyone relies on them.",
	"Machine and electrical safety follow local codes; where the law asks for a licensed engineer, have one sign.",
}

// wrap breaks text into lines of at most n characters at spaces.
func wrap(text string, n int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Split(text, " ") { // not at no-break spaces
		switch {
		case line == "":
			line = word
		case len([]rune(line))+1+len([]rune(word)) <= n:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
	}
	return append(lines, line)
}
