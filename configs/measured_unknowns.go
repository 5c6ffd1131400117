package configs

import (
	"fmt"
	"slices"
	"strings"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/objective/fit"
)

// The unknowns of a file of measurements, and their priors.

// Words that stand for one unknown each.
const (
	eachGuide = "each guide"
	eachBlade = "each blade"
)

// owners are the bodies that blades are named after, the guides, or the blades.
func (r *measuredReader) owners(each string) []string {
	var names []string
	for e := range r.topology.Blades {
		name := r.topology.BladeName(e)
		if each == eachGuide {
			name, _, _ = strings.Cut(name, ", blade ")
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// readUnknowns reads a mapping of names, "modulus" or "thickness of guide-1", to priors.
func (r *measuredReader) readUnknowns(n *node) {
	var kinds []string
	for i := range objective.CorrectionTable {
		kinds = append(kinds, objective.CorrectionTable[i].Name)
	}
	accepted := strings.Join(kinds, ", ") + "; thickness of a blade, of a body, of each guide or of each blade, mounted_mass of a body"
	if !r.mapping(n, "unknowns", "a mapping of "+accepted) {
		return
	}
	for _, p := range n.pairs {
		name, of, named := strings.Cut(p.key.text, " of ")
		k := slices.Index(kinds, name)
		if k < 0 {
			r.refuse(p.key.place, accepted, "there is no unknown %s%s", show(p.key.text), DidYouMean(name, kinds))
			continue
		}
		info := &objective.CorrectionTable[k]
		list := []string{of}
		switch names := objective.CorrectionNames(r.topology, info.Of); {
		case info.Of == objective.OfStage && named:
			r.refuse(p.key.place, name, "%s is of the whole stage", name)
			continue
		case info.Of == objective.OfStage:
		case !named:
			r.refuse(p.key.place, fmt.Sprintf("%s of %s, …", name, names[0]), "%s needs a name", name)
			continue
		case info.Of == objective.OfBlades && (of == eachGuide || of == eachBlade):
			list = r.owners(of)
		case !slices.Contains(names, of):
			r.refuse(p.key.place, strings.Join(names[:min(len(names), longestList)], ", "), "there is no %s%s", show(of), DidYouMean(of, names))
			continue
		}
		for _, of := range list {
			u := fit.NewUnknown(r.spec, objective.Correcting(k), of)
			if slices.ContainsFunc(r.out.Unknowns, func(o fit.Unknown) bool { return o.Kind == u.Kind && o.Of == of }) {
				r.refuse(p.key.place, "each unknown once", "%s stands twice", u.Name())
				break
			}
			r.out.Unknowns = append(r.out.Unknowns, u)
		}
		r.readPrior(&p.value, info, len(list))
	}
	if len(n.pairs) == 0 {
		r.refuse(n.place, "a mapping of "+accepted, "unknowns is empty")
	}
}

// readPrior reads {prior: quantity}; nothing stands for the trade's. It is that of the
// last unknowns.
func (r *measuredReader) readPrior(n *node, info *objective.CorrectionInfo, last int) {
	f := Field{Name: "prior", Kind: KindQuantity, Unit: info.Unit, Min: info.Prior / 1000, Max: info.Most,
		Meaning: "standard deviation about no difference"}
	if info.Unit.Dimension == models.Number {
		f.Written = "%"
	}
	if n.kind == kindNull {
		return
	}
	s := r.readSection(n, n.place, info.Name, []Field{f})
	if !s.Has("prior") {
		return
	}
	for k := max(len(r.out.Unknowns)-last, 0); k < len(r.out.Unknowns); k++ {
		r.out.Unknowns[k].Prior, r.out.Unknowns[k].Source = s.SI("prior"), "the file"
	}
}
