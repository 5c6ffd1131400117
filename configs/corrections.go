package configs

import (
	"slices"
	"strconv"
	"strings"

	"flexwright/models"
	"flexwright/objective"
)

// correctionsSection is what a brief says of a built stage, as fit found it.
var correctionsSection = func() Field {
	section := Field{Name: "corrections", Kind: KindGroup,
		Meaning: "how built stages were found to differ, as fit --out writes it: every design is computed with it, and drawn without"}
	for i := range objective.CorrectionTable {
		c := &objective.CorrectionTable[i]
		f := Field{Name: c.Name, Kind: KindQuantity, Unit: c.Unit, Min: -c.Most, Max: c.Most, Meaning: c.Meaning}
		if c.Unit.Dimension == models.Number {
			f.Written = "%"
		}
		if c.Of != objective.OfStage {
			by := f
			by.Name, by.Required = "by", true
			f = Field{Name: c.Name, Kind: KindGroups, Meaning: c.Meaning, Fields: []Field{
				{Name: "of", Kind: KindText, Required: true, Meaning: map[objective.CorrectionOf]string{
					objective.OfBlades: "a blade or a body, as show names them", objective.OfBody: "a body"}[c.Of]},
				by,
			}}
		}
		section.Fields = append(section.Fields, f)
	}
	return section
}()

// corrections of the brief, in the order of the table.
func (b *Brief) corrections() []objective.Correction {
	s := b.Section(correctionsSection.Name)
	var list []objective.Correction
	for i := range objective.CorrectionTable {
		c := &objective.CorrectionTable[i]
		kind := objective.Correcting(i)
		switch {
		case c.Of == objective.OfStage && s.Has(c.Name):
			list = append(list, objective.Correction{Kind: kind, By: s.SI(c.Name)})
		case c.Of != objective.OfStage:
			for _, g := range s.Groups(c.Name) {
				list = append(list, objective.Correction{Kind: kind, Of: g.Text("of"), By: g.SI("by")})
			}
		}
	}
	return list
}

// checkCorrections refuses corrections of what a layout has not.
func (l *load) checkCorrections() {
	s := l.Section(correctionsSection.Name)
	for i := range objective.CorrectionTable {
		c := &objective.CorrectionTable[i]
		if c.Of == objective.OfStage {
			continue
		}
		var seen []string
		for _, g := range s.Groups(c.Name) {
			of := g.value("of", KindText)
			if !of.there {
				continue
			}
			if slices.Contains(seen, of.text) {
				l.refuse(of.place, "each name once", "%s of %s stands twice", c.Name, show(of.text))
			}
			seen = append(seen, of.text)
			for _, layout := range l.layouts {
				if names := objective.CorrectionNames(layout.Topology(), c.Of); !slices.Contains(names, of.text) {
					l.refuse(of.place, strings.Join(names[:min(len(names), longestList)], ", "), "%s has no %s%s", layout.Name(), show(of.text), DidYouMean(of.text, names))
					break
				}
			}
		}
	}
}

// WriteCorrections writes corrections as a fragment of a brief.
func WriteCorrections(list []objective.Correction, comments []string) []byte {
	w := &writer{}
	for _, c := range comments {
		w.line(0, "# %s", c)
	}
	w.line(0, "%s:", correctionsSection.Name)
	for i := range objective.CorrectionTable {
		f := &correctionsSection.Fields[i]
		first := true
		for _, c := range list {
			switch info := &objective.CorrectionTable[i]; {
			case c.Kind != objective.Correcting(i):
			case info.Of == objective.OfStage:
				w.line(1, "%s: %s", f.Name, f.write(sixDigits(info.Unit.FromSI(c.By))))
			default:
				if first {
					w.line(1, "%s:", f.Name)
					first = false
				}
				w.line(2, "- {of: %s, by: %s}", quote(c.Of), f.Fields[1].write(sixDigits(info.Unit.FromSI(c.By))))
			}
		}
	}
	return w.Bytes()
}

// sixDigits is what a correction is written with: more than any is known to.
func sixDigits(v float64) float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	return r
}

const correctionsOutline = "a file with the key corrections alone, as fit --out writes it"

// Corrected returns the brief, written out, with the corrections of a fragment in the
// place of its own. What the names in it mean is checked when it is read again.
func (b *Brief) Corrected(name string, fragment []byte) ([]byte, Problems) {
	r := newReader(name, fragment)
	r.noun, r.outline = "file of corrections", correctionsOutline
	root := r.parseYAML(fragment)
	if root == nil {
		return nil, r.all()
	}
	if !r.mapping(root, "the file", correctionsOutline) {
		return nil, r.all()
	}
	s := r.readSection(root, root.place, "the file", []Field{correctionsSection})
	if !s.Given(correctionsSection.Name) {
		r.refuse(root.place, correctionsOutline, "the file lacks corrections")
	}
	if problems := r.all(); len(problems) > 0 {
		return nil, problems
	}
	c := *b
	settings := *b.settings
	settings.values = slices.Clone(settings.values)
	for i := range settings.fields {
		if settings.fields[i].Name == correctionsSection.Name {
			settings.values[i] = s.values[0]
		}
	}
	c.settings = &settings
	return c.Resolved(), nil
}
