package objective

import (
	"math"
	"slices"

	"flexwright/models"
	"flexwright/models/elementary"
)

// partsMemory is what parts with errors of one bench need. A part is a stage like the
// design, measured on a bench of its own.
type partsMemory struct {
	spec  *ToleranceSpec
	bench *Bench
	stage *models.Stage
	want  *Want      // what is measured of a part; its limits are those that it conforms by
	near  *estimates // nil: every part is solved
	keys  partKeys

	tailed []Measure   // plain measures whose tails are wanted
	value  [][]float64 // of each of these, of every part, SI; NaN: none, +Inf: unbounded
	sorted []float64

	// of the last stage
	estimated  bool      // by derivatives of the design, not solved
	ended      []partEnd // of every part
	conforming float64
	tail       [2 * numTails]float64 // SI; NaN: none
}

// partEnd is what became of a part.
type partEnd struct {
	status models.Status
	fails  Measure // solved: the first measure that breaks its limit; -1: it conforms
}

func newPartsMemory(spec *Spec, nominal *Bench, segments int) *partsMemory {
	t := nominal.topology
	p := &partsMemory{spec: spec.tolerances(), keys: newPartKeys(t)}
	var limits []Limit
	var list []Measure
	add := func(m Measure) {
		if !slices.Contains(list, m) {
			list = append(list, m)
		}
	}
	from, wanted := StepBuild, false
	for _, m := range spec.Measures {
		if !m.OfParts() || !m.Suits(t) {
			continue
		}
		wanted = true
		if plain := m.Plain(); plain != m && !slices.Contains(p.tailed, plain) {
			p.tailed = append(p.tailed, plain)
			add(plain)
			from = max(from, Table[plain].Step)
		}
	}
	if !wanted {
		return nil
	}
	for _, l := range spec.Limits {
		if m := Measure(l.Ref.Index); !l.Ref.Parameter && !m.OfParts() && spec.wants(ConformingParts) {
			limits = append(limits, l)
			if m.Suits(t) {
				add(m)
			}
			if Table[m].Unbounded {
				add(knownBy(m))
			}
		}
	}
	own := *spec
	own.Measures, own.Limits = list, spec.Limits
	p.bench, p.stage = NewBench(&own, t, segments), models.NewStage(t)
	p.bench.isPart = true
	p.want = NewWant(list, limits, true)
	p.want.screenFrom = from
	if !p.spec.Sampled {
		p.near = newEstimates(p, nominal, limits, segments)
	}
	p.ended = make([]partEnd, p.spec.Samples)
	p.sorted = make([]float64, p.spec.Samples)
	for range p.tailed {
		p.value = append(p.value, make([]float64, p.spec.Samples))
	}
	return p
}

// plainOnly returns the measures that are not of parts.
func plainOnly(list []Measure) []Measure {
	return slices.DeleteFunc(slices.Clone(list), Measure.OfParts)
}

// worthParts reports whether parts of a stage that is solved so far are measured: always,
// or where every limit on a plain measure is met.
func (b *Bench) worthParts(want *Want) bool {
	return b.parts.spec.Always || want.firstFailed(StepBuild, StepParts-1, &b.answer) == nil
}

// solveParts measures the parts of a design that was measured as far as asked, and takes their tails.
func (b *Bench) solveParts(asked *Want) {
	p := b.parts
	if l := p.bench.loop; l != nil && b.loop != nil {
		l.shape = b.loop.shape // found for the design, as its notches; each part's crossover is found anew
		l.loop.UseNotches(b.loop.loop.Found())
		p.bench.KeepShape(true)
	}
	want := p.want
	p.bench.estimateBy(nil)
	p.estimated = false
	if p.near != nil {
		if w := p.near.serve(b, asked); w != nil {
			p.estimated, want = true, w
			p.bench.estimateBy(p.near)
		}
	}
	conform := 0
	for k := range p.ended {
		p.make(k, b.stage)
		m, v := p.bench.Measure(p.stage, want)
		end := partEnd{v.Status, -1}
		if l := want.firstFailed(StepBuild, NumSteps-1, m); l != nil {
			end.fails = Measure(l.Ref.Index)
		}
		if v.OK() && end.fails < 0 {
			conform++
		}
		p.ended[k] = end
		measured := v.OK() || v.Status == models.Screened // not before the last tail
		for i, tailed := range p.tailed {
			x := math.NaN()
			if measured {
				if x = Table[tailed].Value(p.bench); !(math.Abs(x) < math.MaxFloat64) {
					x = math.NaN()
					if Table[tailed].Unbounded {
						x = math.Inf(1)
					}
				}
			}
			p.value[i][k] = x
		}
	}
	p.conforming = float64(conform) / float64(len(p.ended))
	for i, m := range p.tailed {
		rank, sign := p.spec.Rank(), worse(m)
		p.sort(i, -sign)
		p.tail[numTails+tailAt[m]] = p.order(rank, -sign)
		p.sort(i, sign)
		p.tail[tailAt[m]] = p.order(rank, sign)
	}
}

// partsBy is the text of parts_by.
func (b *Bench) partsBy() string {
	switch {
	case b.parts == nil || !b.reached(StepParts):
		return ""
	case b.parts.estimated:
		return ByDerivatives
	}
	return BySamples
}

// Texts of parts_by.
const (
	ByDerivatives = "derivatives"
	BySamples     = "samples"
)

// sort puts the values of a measure, times sign, in order, parts without a value last.
func (p *partsMemory) sort(i int, sign float64) {
	for k, v := range p.value[i] {
		if v *= sign; v != v {
			v = math.MaxFloat64
		}
		p.sorted[k] = v
	}
	slices.Sort(p.sorted)
}

// order is the order statistic of a rank, from 1, of what was sorted; NaN where that is
// a part without a value, or one that nothing bounds.
func (p *partsMemory) order(rank int, sign float64) float64 {
	v := p.sorted[rank-1]
	if math.Abs(v) >= math.MaxFloat64 {
		return math.NaN()
	}
	return v * sign
}

// worse is the direction in which a measure gets worse.
func worse(m Measure) float64 {
	if Table[m].Sense == Most {
		return -1
	}
	return 1
}

// partKeys are the names of what errs, mixed: a draw belongs to seed, part, tolerance,
// name of blade or body and end, and to nothing else, so that neither the layout, nor
// the number of blades, nor the number of samples changes another draw.
type partKeys struct {
	tolerance [NumTolerances]uint64
	blade     []uint64
	body      []uint64
}

func newPartKeys(t *models.Topology) (keys partKeys) {
	for k := range Tolerances {
		keys.tolerance[k] = hash(Tolerances[k].Name)
	}
	for i := range t.Bodies {
		keys.body = append(keys.body, hash(t.Bodies[i].Name))
	}
	// A blade is named by whole bodies, so that it errs alike whether they bend or not.
	ends := func(b models.BladeSpec) string {
		return t.Bodies[t.Whole(b.From)].Name + "/" + t.Bodies[t.Whole(b.To)].Name
	}
	for i, b := range t.Blades {
		nth := uint64(0) // of the blades between the same bodies
		for _, other := range t.Blades[:i] {
			if ends(other) == ends(b) {
				nth++
			}
		}
		keys.blade = append(keys.blade, hash(ends(b))+nth)
	}
	return keys
}

// hash of a text: FNV-1a, 64 bits (G. Fowler, L. C. Noll, K.-P. Vo; RFC 9923).
func hash(text string) uint64 {
	h := uint64(0xcbf29ce484222325)
	for i := range len(text) {
		h = (h ^ uint64(text[i])) * 0x100000001b3
	}
	return h
}

// draw is the error of one thing of a part, SI.
func (p *partsMemory) draw(part int, kind Tolerance, thing, end uint64) float64 {
	key := elementary.Mix(p.spec.Seed) ^ uint64(part+1)
	key = elementary.Mix(key) ^ p.keys.tolerance[kind]
	key = elementary.Mix(key) ^ thing
	key = elementary.Mix(key) ^ end
	return p.spec.Sigma[kind] * elementary.NormalOf(elementary.Mix(key))
}

// make fills p.stage with part number k of a design. A tolerance of 0 changes no bit.
//
// A blade whose thickness is a parabola over its depth, δ off in the middle, bends and stretches, to
// first order, as the even one of its mean thickness, 2δ/3 off.
//
// Three more errors of a blade's shape act through the straight blade of even thickness that
// is equal to it to first order in the error: a taper δ (root less tip) moves the centre
// about which its bending stiffness is diagonal, and with it the blade, by L δ/4t towards
// the thinner end, for ∫ (s − L/2)/EI(s) ds = L² δ/(4t EI); slopes α, β of the
// centreline against its chord at root and tip move the line along which the blade is
// stiff across by L (2α/15 − β/30) at the root and −L (2β/15 − α/30) at the tip, the
// matrix of the kinematic shortening times the slopes.
func (p *partsMemory) make(k int, nominal *models.Stage) {
	st, sigma := p.stage, &p.spec.Sigma
	st.CopyFrom(nominal)
	const root, tip = 1, 2
	common := p.draw(k, ToleranceThicknessCommon, 0, 0) + 2*p.draw(k, ToleranceThicknessBow, 0, 0)/3
	const least = 0.05 // of damping and constants: less is beyond any real error
	p.bench.damping = max(1+p.draw(k, ToleranceDamping, 0, 0), least)
	for axis := range p.bench.constant {
		p.bench.constant[axis] = max(1+p.draw(k, ToleranceActuatorConstant, uint64(axis)+1, 0), least)
	}
	width := p.draw(k, ToleranceWidth, 0, 0)
	young := 1 + p.draw(k, ToleranceModulus, 0, 0)
	density := 1 + p.draw(k, ToleranceDensity, 0, 0)
	shape := sigma[ToleranceThicknessTaper] != 0 || sigma[ToleranceLength] != 0 || sigma[ToleranceRootPosition] != 0 || sigma[ToleranceRootAngle] != 0
	plate := density
	for i, key := range p.keys.blade {
		t := st.Thickness[i]
		// Metal is left: 0.1 of it is beyond any real error.
		st.Thickness[i] = max(t+p.draw(k, ToleranceThickness, key, 0)+common, 0.1*t)
		if i == 0 {
			plate *= 1 + width/st.Width[i]
		}
		st.Width[i] += width
		st.Young[i] *= young
		st.Density[i] *= density
		for _, bar := range [2]*models.Bar{&st.RootBar[i], &st.TipBar[i]} {
			if bar.Depth > 0 {
				bar.Depth += width
				bar.Young *= young
			}
		}
		if !shape {
			continue
		}
		dx, dy := st.TipX[i]-st.RootX[i], st.TipY[i]-st.RootY[i]
		length := math.Sqrt(dx*dx + dy*dy)
		dx, dy = dx/length, dy/length
		along := length * p.draw(k, ToleranceThicknessTaper, key, 0) / (4 * t)
		stretch := 0.5 * p.draw(k, ToleranceLength, key, 0)
		alpha, beta := p.draw(k, ToleranceRootAngle, key, root), p.draw(k, ToleranceRootAngle, key, tip)
		atRoot := p.draw(k, ToleranceRootPosition, key, root) + length*(2*alpha/15-beta/30)
		atTip := p.draw(k, ToleranceRootPosition, key, tip) - length*(2*beta/15-alpha/30)
		st.RootX[i] += (along-stretch)*dx - atRoot*dy
		st.RootY[i] += (along-stretch)*dy + atRoot*dx
		st.TipX[i] += (along+stretch)*dx - atTip*dy
		st.TipY[i] += (along+stretch)*dy + atTip*dx
	}
	for i := range st.Links {
		for k := range st.Links[i].N {
			beam := &st.Links[i].Beams[k]
			beam.Depth += width
			beam.Young *= young
			beam.Density *= density
		}
	}
	if plate == 1 && sigma[ToleranceMountedMass] == 0 && sigma[ToleranceMountedOffset] == 0 {
		return
	}
	t := p.bench.topology
	for i, key := range p.keys.body {
		if t.Bodies[i].Held == models.HeldAll {
			continue
		}
		m, x, y, z := st.Mounted[i], st.MountedX[i], st.MountedY[i], st.MountedZ[i]
		st.AddMass(i, -m, x, y, z)
		st.AddSpread(i, -m*st.MountedSpread[i])
		st.ScaleMass(i, plate)
		// nothing weighs less than nothing
		m *= max(1+p.draw(k, ToleranceMountedMass, key, 0), 0)
		x += p.draw(k, ToleranceMountedOffset, key, uint64(models.AxisX)+1)
		y += p.draw(k, ToleranceMountedOffset, key, uint64(models.AxisY)+1)
		st.AddMass(i, m, x, y, z)
		st.AddSpread(i, m*st.MountedSpread[i])
		if i == t.Stage {
			st.Payload *= m / max(st.Mounted[i], math.SmallestNonzeroFloat64)
		}
		st.Mounted[i], st.MountedX[i], st.MountedY[i] = m, x, y
	}
}
