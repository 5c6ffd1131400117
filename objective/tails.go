package objective

// Every numeric measure M but conforming_parts has two measures of parts behind it in
// [Table]: M_tail, the value that a share of the parts are no worse than, and
// M_other_tail, the value that the same share are no better than, which a limit against
// the sense of M is on.

// numTexts is the number of measures in the table that are texts.
const numTexts = 4

const numTails = numPlain - numTexts - numDetails - 1

// NumMeasures counts the tails too.
const NumMeasures = numPlain + 2*numTails

// tailAt is the place of each plain measure among the tails; plainOf the inverse.
var (
	tailAt  [numPlain]Measure
	plainOf [numTails]Measure
)

// withTails completes the table.
func withTails(plain [numPlain]Info) (table [NumMeasures]Info) {
	copy(table[:], plain[:])
	n := Measure(0)
	for m := range numPlain {
		info := &plain[m]
		if info.Explains() || m == ConformingParts {
			continue
		}
		if n == numTails {
			panic("objective: numTexts is too large")
		}
		tailAt[m], plainOf[n] = n, m
		for k, suffix := range [2]string{"_tail", "_other_tail"} {
			slot := n + Measure(k)*numTails
			table[numPlain+slot] = Info{
				Name: info.Name + suffix, Unit: info.Unit, Sense: info.Sense, Step: StepParts, Needs: info.Needs, OnName: true,
				Meaning: [2]string{"value that the share of the parts are no worse than", "value that the share of the parts are no better than"}[k] + ": " + info.Meaning,
				Formula: "order statistic ceil(share n) of n parts, the " + [2]string{"worst", "best"}[k] + " last; parts that are not solved behind it; null where it is one of them",
				Source:  "definition", ExplainedBy: PartsBy,
				Value: func(b *Bench) float64 { return b.parts.tail[slot] },
			}
		}
		n++
	}
	if n != numTails {
		panic("objective: numTexts is too small")
	}
	return table
}

// HasTail reports whether there is a tail of a measure.
func (m Measure) HasTail() bool {
	return m < numPlain && m != ConformingParts && !Table[m].Explains()
}

// Tail is the measure M_tail of M.
func (m Measure) Tail() Measure {
	if !m.HasTail() {
		panic("objective: a measure without a tail")
	}
	return numPlain + tailAt[m]
}

// OtherTail is the measure M_other_tail of M.
func (m Measure) OtherTail() Measure { return m.Tail() + numTails }

// IsOtherTail reports whether a measure is one that no brief names: limits make it.
func (m Measure) IsOtherTail() bool { return m >= numPlain+numTails }

// Plain is the measure that a tail is of; any other measure itself.
func (m Measure) Plain() Measure {
	if m < numPlain {
		return m
	}
	return plainOf[(m-numPlain)%numTails]
}

// OfParts reports whether a measure is of parts with errors, not of the design as drawn.
func (m Measure) OfParts() bool { return Table[m].Step == StepParts }
