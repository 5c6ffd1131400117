package objective

import "slices"

// Measures holds the measures of one candidate, in the units of their columns. Most runs
// have no tails, and the others a few of the many that there could be: only these take
// room in a row.
type Measures struct {
	value    [numPlain]float64
	computed [(numPlain + 63) / 64]uint64
	tails    []tailValue
}

type tailValue struct {
	measure Measure
	value   float64
}

// Reset forgets everything.
func (m *Measures) Reset() {
	m.computed = [len(m.computed)]uint64{}
	m.tails = m.tails[:0]
}

// Clone returns measures that what is done to m later leaves as they are.
func (m *Measures) Clone() Measures {
	c := *m
	c.tails = slices.Clone(m.tails)
	return c
}

// copyFrom makes m what other is. It allocates where m has held fewer tails so far.
func (m *Measures) copyFrom(other *Measures) {
	tails := append(m.tails[:0], other.tails...)
	*m = *other
	m.tails = tails
}

// Set stores a value, in the unit of the measure's column. NaN is a fault.
func (m *Measures) Set(k Measure, v float64) {
	if v != v {
		panic("objective: NaN measure " + Table[k].Name)
	}
	if k < numPlain {
		m.value[k] = v
		m.computed[k/64] |= 1 << (k % 64)
		return
	}
	for i := range m.tails {
		if m.tails[i].measure == k {
			m.tails[i].value = v
			return
		}
	}
	m.tails = append(m.tails, tailValue{k, v})
}

// SetSI stores a value given in SI.
func (m *Measures) SetSI(k Measure, v float64) { m.Set(k, Table[k].Unit.FromSI(v)) }

// Get returns a value, in the unit of its column, and whether it was computed.
func (m *Measures) Get(k Measure) (float64, bool) {
	if k < numPlain {
		if m.computed[k/64]>>(k%64)&1 == 0 {
			return 0, false
		}
		return m.value[k], true
	}
	for i := range m.tails {
		if m.tails[i].measure == k {
			return m.tails[i].value, true
		}
	}
	return 0, false
}
