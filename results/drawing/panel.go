package drawing

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// column writes lines one below the other.
type column struct {
	*svg
	left, at, width float64
}

const textSize, lineStep = 3.1, 4.5

func (c *column) head(text string) {
	c.at += 2.2 * c.k
	c.text(c.left, c.at, 3.7, "start", "head", text)
	c.at += 5 * c.k
}

// row writes a name and its value beside it; without a value nothing.
func (c *column) row(name, value string) {
	if value == "" {
		return
	}
	const indent = 42
	c.text(c.left, c.at, textSize, "start", "quiet", name)
	for i, line := range wrap(value, c.characters(indent)) {
		if i > 0 {
			c.at += lineStep * c.k
		}
		c.text(c.left+indent*c.k, c.at, textSize, "start", "", line)
	}
	c.at += lineStep * c.k
}

func (c *column) note(text string) {
	for i, line := range wrap(text, c.characters(3.5)) {
		if i == 0 {
			c.text(c.left, c.at, textSize, "start", "", "–")
		}
		c.text(c.left+3.5*c.k, c.at, textSize, "start", "", line)
		c.at += lineStep * c.k
	}
}

// characters returns how many fit beside an indent: a letter of the font is 0.58
// of its size wide on average.
func (c *column) characters(indent float64) int {
	return int((c.width/c.k - indent) / (0.58 * textSize))
}

// panel writes the column at the right: title block, masses, dimensions.
func (p *Plate) panel(s *svg, sheet Sheet, x, y, height float64) {
	k := s.k
	s.print("<path class=\"rule\" d=\"M%.2f %.2fv%.2f\"/>\n", x, y, height)
	c := &column{s, x + 6*k, y + 10*k, 174 * k}
	title := sheet.Title
	if title == "" {
		title = "Flexure stage"
	}
	for _, line := range wrap(title, 58) {
		c.text(c.left, c.at, 4.8, "start", "head", line)
		c.at += 6.4 * k
	}
	c.row("design", sheet.Design)
	c.row("layout", sheet.Layout)
	c.row("material", sheet.Material)
	c.row("plate", fmt.Sprintf("%s x %s x %s mm, %s kg as cut", trim((p.X1-p.X0)*1e3, 3), trim((p.Y1-p.Y0)*1e3, 3), trim(p.Depth*1e3, 3), trim(p.Mass(), 3)))
	c.row("travel", fmt.Sprintf("±%s mm in %s (±%s mm cleared)", trim(p.Stage.Travel*1e3, 3), p.axes(), trim(p.Stage.UpTo*1e3, 3)))
	if p.Topology.Sensors != nil {
		for _, q := range p.Topology.Stations(p.Stage) {
			if q.What != "actuator" {
				c.row(q.What+" of "+q.Axis.String(), fmt.Sprintf("reads %s at (%s, %s)", q.Body, trim(q.X*1e3, 2), trim(q.Y*1e3, 2)))
			}
		}
	}
	c.row("units, scale", "mm; 1:1 at the size of this sheet")
	c.row("general tolerances", "ISO 2768-m; blades by the notes below")
	if sheet.ThicknessTolerance > 0 {
		c.row("blade thickness", "±"+trim(sheet.ThicknessTolerance*1e3, 4)+" mm")
	}
	for _, f := range sheet.Facts {
		name, value, ok := strings.Cut(f, ": ")
		if !ok {
			name, value = "", f
		}
		c.row(name, value)
	}

	c.head("Cutting")
	c.row("cuts", fmt.Sprintf("%d inside, 1 outside; %s m in all", len(p.Contours)-1, trim(p.CutLength(), 2)))
	if t := p.CutTime(); t > 0 {
		c.row("time, one pass", fmt.Sprintf("%s h at %s mm/min", trim(t/3600, 1), trim(p.Options.CutSpeed*60e3, 3)))
	}
	if n := len(p.StartHoles); n > 0 {
		c.row("start holes", fmt.Sprintf("%d of %s mm", n, trim(p.Options.StartHole*1e3, 3)))
	}
	if n := len(p.MountingHoles); n > 0 {
		a, b := p.MountingHoles[0], p.MountingHoles[2]
		c.row("mounting holes", fmt.Sprintf("%d of %s mm through, corners %s x %s", n, trim(2e3*a.Radius, 3), trim((b.X-a.X)*1e3, 3), trim((b.Y-a.Y)*1e3, 3)))
	}
	if h := &p.Options.Payload; len(p.PayloadHoles) > 0 {
		c.row("payload holes", fmt.Sprintf("%d x %d of %s mm through, pitch %s", h.Rows, h.Columns, trim(h.Diameter*1e3, 3), trim(h.Pitch*1e3, 3)))
	}
	c.row("inside corners", "at blades R "+p.fillets()+", others R "+trim(p.Options.CornerRadius*1e3, 4)+p.pocketCorners())
	c.row("thinnest wall", place(p.Wall))
	if !math.IsInf(p.Gap.Size, 1) {
		c.row("narrowest gap, at rest", place(p.Gap))
	}
	if !math.IsInf(p.FullGap.Distance, 1) {
		c.row("at full travel", fmt.Sprintf("%s, %s to %s", trim(p.FullGap.Distance*1e3, 3), p.FullGap.A, p.FullGap.B))
	}
	c.row("gaps at rest", strings.Join(p.gaps(p.size()/10), "; "))

	c.head("Bodies: mass as cut, rectangles (mm)")
	for _, k := range p.kinds() {
		c.row(k.name(), k.text(p))
	}

	c.head("Blades (mm)")
	for _, q := range p.pairs() {
		b := &p.Blades[q.a]
		c.row(p.Topology.Bodies[b.From].Name+" to "+p.Topology.Bodies[b.To].Name,
			fmt.Sprintf("t %s, length %s (bends %s), spacing %s",
				trim(b.Thickness*1e3, 4), trim(b.Drawn*1e3, 3), trim(b.Bending*1e3, 3), trim(p.spacing(q)*1e3, 3)))
	}
	c.row("numbers on blades", "as in "+p.Topology.BladeName(0))
}

// notes writes the strip at the bottom.
func (p *Plate) notes(s *svg, sheet Sheet, x, y, width, height float64) {
	k := s.k
	s.print("<path class=\"rule\" d=\"M%.2f %.2fh%.2f\"/>\n", x, y, width)
	c := &column{s, x + 6*k, y + 6*k, width/2 - 12*k}
	c.head("Tolerances")
	for _, n := range p.tolerances(sheet) {
		c.note(n)
	}
	c = &column{s, x + width/2 + 6*k, y + 6*k, width/2 - 12*k}
	c.head("Cautions")
	for _, n := range cautions {
		c.note(n)
	}
}

// text describes one body of a kind.
func (k *kind) text(p *Plate) string {
	var sizes []string
	for _, q := range k.parts {
		size := trim(q.short*1e3, 3) + " x " + trim(q.long*1e3, 3)
		if q.count > 1 {
			size += fmt.Sprintf(" (%d)", q.count)
		}
		sizes = append(sizes, size)
	}
	text := trim(p.BodyMass(k.body)*1e3, 2) + " g"
	if len(k.names) > 1 {
		text += " each"
	}
	text += "; " + strings.Join(sizes, ", ")
	count := map[string]int{}
	var pockets []string
	for _, q := range p.outlines[k.body].Pockets {
		w, h := q.X1-q.X0, q.Y1-q.Y0
		size := trim(min(w, h)*1e3, 2) + " x " + trim(max(w, h)*1e3, 2)
		if count[size]++; count[size] == 1 {
			pockets = append(pockets, size)
		}
	}
	for i, size := range pockets {
		pockets[i] = fmt.Sprintf("%d of %s", count[size], size)
	}
	if len(pockets) > 0 {
		text += "; pockets " + strings.Join(pockets, ", ")
	}
	return text
}

// fillets lists the radii at blades.
func (p *Plate) fillets() string {
	var out []string
	for _, r := range p.Stage.Fillet {
		if text := trim(r*1e3, 4); !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return strings.Join(out, ", ")
}

// pocketCorners tells the range of the pockets' radii.
func (p *Plate) pocketCorners() string {
	least, most := math.Inf(1), 0.0
	for _, o := range p.outlines {
		for _, q := range o.Pockets {
			least, most = min(least, q.Radius), max(most, q.Radius)
		}
	}
	switch {
	case most == 0:
		return ""
	case most-least < same:
		return ", pockets R " + trim(most*1e3, 3)
	}
	return ", pockets R " + trim(least*1e3, 3) + " to " + trim(most*1e3, 3)
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

// axes names those that are driven.
func (p *Plate) axes() string {
	var names []string
	for _, a := range p.Topology.Actuators {
		names = append(names, a.Axis.String())
	}
	return strings.Join(names, " and ")
}

// CutTime returns the time that one pass along all contours takes at the cut speed
// of the options, s; 0 when that is unknown.
func (p *Plate) CutTime() float64 {
	if p.Options.CutSpeed == 0 {
		return 0
	}
	return p.CutLength() / p.Options.CutSpeed
}

// tolerances returns the notes for the shop. Values are common practice.
func (p *Plate) tolerances(sheet Sheet) []string {
	t := math.Inf(1)
	for _, b := range p.Blades {
		t = min(t, b.Thickness)
	}
	notes := []string{
		fmt.Sprintf("Blade thickness is the critical dimension: stiffness goes with its cube. 3\u00a0µm on %s\u00a0mm is %.1f\u00a0%% of stiffness. "+
			"Hold it over the whole length and width; alike in all blades matters more than the mean. Measure and record.", trim(t*1e3, 3), 3*3e-6/t*100),
		"Blade spacing and parallelism ±0.01 (common practice).",
		"Trim cuts on all blades, the last after the slugs are out; no burrs or recast layer at fillets.",
		"Clamp everything that moves to the frame until the last cut is done and the plate is off the machine.",
		"Start holes are placed by room alone: check them against the wire guides and against the slug that drops.",
	}
	if p.Options.StartHole == 0 {
		notes = notes[:4]
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
