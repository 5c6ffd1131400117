package objective

// Measures holds the measures of one candidate, in the units of their columns.
type Measures struct {
	value    [NumMeasures]float64
	computed [(NumMeasures + 63) / 64]uint64
}

// Reset forgets everything.
func (m *Measures) Reset() { m.computed = [len(m.computed)]uint64{} }

// Set stores a value, in the unit of the measure's column. NaN is a fault.
func (m *Measures) Set(k Measure, v float64) {
	if v != v {
		panic("objective: NaN measure " + Table[k].Name)
	}
	m.value[k] = v
	m.computed[k/64] |= 1 << (k % 64)
}

// SetSI stores a value given in SI.
func (m *Measures) SetSI(k Measure, v float64) { m.Set(k, Table[k].Unit.FromSI(v)) }

// Get returns a value, in the unit of its column, and whether it was computed.
func (m *Measures) Get(k Measure) (float64, bool) {
	if m.computed[k/64]>>(k%64)&1 == 0 {
		return 0, false
	}
	return m.value[k], true
}
