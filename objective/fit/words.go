package fit

import (
	"fmt"
	"math"
	"strings"

	"flexwright/objective"
)

// weak says in words what the measurements do not tell.
func (o *Outcome) weak() {
	w := o.Weak()
	o.Confused, o.Unseen = w.Groups, w.Unseen
	for _, k := range w.Unseen {
		direction := make([]float64, len(o.X))
		direction[k] = o.Unknowns[k].Prior
		o.Undetermined = append(o.Undetermined, fmt.Sprintf("%s: no measurement sees it; its prior stays%s", o.Unknowns[k].Name(), o.remedy(direction)))
	}
	for _, x := range w.Mixed {
		var parts []string
		for k, v := range x {
			if v != 0 {
				parts = append(parts, o.Unknowns[k].Name()+" "+signed(o.Unknowns[k].Kind.Write(v)))
			}
		}
		moves, so := o.Moves(x), "they cannot be told apart"
		if moves > 1 {
			so = "the priors tell them apart more than the measurements do"
		}
		text := fmt.Sprintf("%s together move no measurement by more than %.2g of its uncertainty: %s%s", joined(parts), moves, so, o.seenOf(x))
		o.Undetermined = append(o.Undetermined, text+o.remedy(x))
	}
}

// seenOf names what alone is seen of a change, where it is one of the products that the
// stiffness of blades (E t³) and frequencies (E/ρ, t³/ρ) are made of, to a seventh.
func (o *Outcome) seenOf(x []float64) string {
	t, e, density, others := 0.0, 0.0, 0.0, false
	for k, v := range x {
		switch o.Unknowns[k].Kind {
		case objective.CorrectThicknessCommon:
			t = v / o.thickness
		case objective.CorrectModulus:
			e = v
		case objective.CorrectDensity:
			density = v
		default:
			others = others || v != 0
		}
	}
	alike := func(a, b float64) bool { return a != 0 && math.Abs(a-b) < math.Abs(a)/7 }
	switch {
	case others:
	case density == 0 && alike(e, -3*t):
		return ", only E t³ is seen"
	case t == 0 && alike(e, density):
		return ", only E/ρ is seen"
	case e == 0 && alike(density, 3*t):
		return ", only t³/ρ is seen"
	}
	return ""
}

func signed(text string) string {
	if strings.HasPrefix(text, "-") {
		return text
	}
	return "+" + text
}

func joined(parts []string) string {
	if len(parts) < 2 {
		return strings.Join(parts, "")
	}
	return strings.Join(parts[:len(parts)-1], ", ") + " and " + parts[len(parts)-1]
}

// remedy names the proposal that would tell most of a change of the unknowns: whose
// reading it moves most, beside what else moves it.
func (o *Outcome) remedy(x []float64) string {
	best, told := -1, 1.0 // less than its own uncertainty is not worth it
	for i := range o.Next {
		if t := o.tells(&o.Next[i], x); t > told {
			best, told = i, t
		}
	}
	if best < 0 {
		return ""
	}
	return "; " + o.Next[best].Text(o.Topology) + " would tell"
}

// tells is by how many of its standard deviations, before it is measured, a change of
// the unknowns moves a proposal.
func (o *Outcome) tells(p *Proposal, x []float64) float64 {
	moved := 0.0
	for k, v := range x {
		moved += p.row[k] * v / o.Unknowns[k].Prior
	}
	// what else is open, less this direction's own part
	open := p.Gain*p.Gain - 1
	return math.Abs(moved) / math.Sqrt(1+max(open-moved*moved, 0))
}

// Contradicts reports whether the measurements contradict the model.
func (o *Outcome) Contradicts() bool { return o.Probability < Contradiction }

// Contradiction is the probability of chi-square below which measurements and model do
// not belong together.
const Contradiction = 1e-4

// asGood is the difference of chi-square below which two answers fit alike: two standard
// deviations.
const asGood = 4

// doubled is the relative distance of two natural frequencies below which their ranks may
// change places within the priors: 3 µm of half a millimetre.
const doubled = 0.006

// Cautions name readings outside the workspace, where the design's limits were not looked
// at; and those by rank of modes that lie close together, as the two guided ones
// at the centre: the smaller and the larger of two is not smooth in the unknowns, and the
// intervals of what tells them apart are too narrow.
func (o *Outcome) Cautions() []string {
	var list []string
	for i := range o.Measured {
		m := &o.Measured[i]
		// to the last digit that a file would have
		if far := max(math.Abs(m.At[0]), math.Abs(m.At[1])); Table[m.Kind].Placed && far > o.travel*(1+1e-6) {
			list = append(list, fmt.Sprintf("Line %d, %s: outside the workspace, which ends at %.4g mm; blades may bend further there than the model was tested for",
				m.Line, m.Text(o.Topology), 1e3*o.travel))
		}
		if m.Kind != Frequency && m.Kind != OutOfPlaneFrequency || m.Rank == 0 || !o.close[i] {
			continue
		}
		list = append(list, fmt.Sprintf("Line %d, %s: another mode lies within %.2g %%, and by rank the two may change places; name the axis that it is guided along (frequency: x) or the body that moves, or take the intervals with care",
			m.Line, m.Text(o.Topology), 100*doubled))
	}
	return list
}

// Quality says how well the measurements fit, in a sentence.
func (o *Outcome) Quality() string {
	text := fmt.Sprintf("Chi-square %.4g of %d measurements, priors included; by chance as large or larger with probability %.2g", o.ChiSquare, o.Freedom, o.Probability)
	switch {
	case o.Contradicts() && len(o.Measured) == 1:
		text += ": the measurement contradicts the model. Another stage, a wrong uncertainty, or a cause that no unknown stands for."
	case o.Contradicts():
		text += ": the measurements contradict the model or each other. A file of another stage, a wrong uncertainty, or a cause that no unknown stands for."
	case o.Probability > 1-1e-3:
		text += ": better than chance allows. The uncertainties or priors are too wide."
	default:
		text += "."
	}
	if !o.Settled {
		text += " The search has not settled: what follows is not to be relied on."
	}
	switch {
	case len(o.Others) > 0 && o.Others[0] < asGood:
		text += fmt.Sprintf(" Another answer fits as well (chi-square larger by %.2g): what follows is of this one alone.", o.Others[0])
	case len(o.Others) > 0:
		text += fmt.Sprintf(" The starts led to %d minima; this is the lowest.", len(o.Others)+1)
	}
	return text
}

// Against is what an outlier contradicts.
func (o *Outcome) Against() string {
	if len(o.Measured) == 1 {
		return "the design and the priors"
	}
	return "the others"
}

// Outliers are the measurements that contradict the others, by number; one that stands
// alone contradicts design and priors.
func (o *Outcome) Outliers() []int {
	var list []int
	for i := range o.Measured {
		if o.Outlier(i) {
			list = append(list, i)
		}
	}
	return list
}

// Best is the proposal after which unknown k is known best, and how well; false where none
// shrinks it by a tenth.
func (o *Outcome) Best(k int) (*Proposal, float64, bool) {
	var best *Proposal
	least := 0.9
	for i := range o.Next {
		if r := o.Next[i].Ratio[k]; r < least {
			best, least = &o.Next[i], r
		}
	}
	return best, least, best != nil
}
