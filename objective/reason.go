package objective

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"

	"flexwright/models"
)

// Reason is why a row is not solved: a phrase that is the same for all rows that fail
// alike, and what belongs in its places. A folder of a version before 0.3.0 has the whole
// sentence as the phrase.
type Reason struct {
	Phrase       string  // empty when solved
	At           string  // name of a blade, number of a body or pose; empty: none
	Value, Bound float64 // NaN: none
}

// NewReason returns the reason of a verdict.
func NewReason(v models.Verdict) Reason {
	at, value, bound := v.Details()
	return Reason{v.Phrase(), at, value, bound}
}

// Fault is the reason of a row that a fault of the program ended.
func Fault(text string) Reason { return Reason{text, "", math.NaN(), math.NaN()} }

// IsZero reports whether there is none.
func (r Reason) IsZero() bool { return r.Phrase == "" }

// MarshalJSON writes the sentence.
func (r Reason) MarshalJSON() ([]byte, error) { return json.Marshal(r.Sentence()) }

// Sentence is the phrase with all places filled.
func (r Reason) Sentence() string {
	if !strings.Contains(r.Phrase, "{") {
		return r.Phrase
	}
	pairs := []string{models.PlaceAt, r.At}
	for _, p := range []struct {
		place string
		v     float64
	}{{models.PlaceValue, r.Value}, {models.PlaceBound, r.Bound}} {
		if !math.IsNaN(p.v) {
			pairs = append(pairs, p.place, strconv.FormatFloat(p.v, 'g', 4, 64))
		}
	}
	return strings.NewReplacer(pairs...).Replace(r.Phrase)
}
