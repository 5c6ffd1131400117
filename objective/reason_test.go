package objective

import (
	"math"
	"strings"
	"testing"

	"flexwright/models"
)

// Designs that fail alike have one phrase; what was found and what it had to respect
// stand beside it, and the sentence is that of the verdict.
func TestReasonIsAPhrase(t *testing.T) {
	const format = "fillet of %.4[2]g mm is less than %.4[3]g mm on %[1]d, at 5 %%"
	const phrase = "fillet of {value} mm is less than {bound} mm on {at}, at 5 %"
	for _, v := range []models.Verdict{
		{Status: models.CannotBuild, Format: format, Index: 3, Value: 0.25, Bound: 0.5},
		{Status: models.CannotBuild, Format: format, Index: 4, Value: 0.125, Bound: 1e-7},
	} {
		r := NewReason(v)
		if r.Phrase != phrase || r.Value != v.Value || r.Bound != v.Bound || r.Sentence() != v.Reason() {
			t.Errorf("%+v: %q, the verdict says %q", r, r.Sentence(), v.Reason())
		}
	}
	r := NewReason(models.Verdict{Status: models.Screened, Format: reasonScreened})
	if r.Phrase != reasonScreened || r.At != "" || !math.IsNaN(r.Value) || !math.IsNaN(r.Bound) || r.Sentence() != reasonScreened {
		t.Errorf("%+v", r)
	}
	old := Fault("fillet of 0.25 mm is less than 0.5 mm") // as folders before 0.3.0 have it
	if old.Sentence() != old.Phrase {
		t.Errorf("%q", old.Sentence())
	}
}

// What ends the crossover is one of the listed phrases, and the sentence holds the numbers
// of the columns beside it.
func TestCrossoverEndInColumns(t *testing.T) {
	s := loopSpec(t)
	e := NewEvaluation(s)
	e.Evaluate([]float64{60, 0.5, 20, 4})
	var r Row
	e.Fill(&r)
	text := r.Text(CrossoverEnd)
	if !strings.Contains(Table[CrossoverEnd].Meaning, text) || strings.ContainsAny(text, "0123456789") {
		t.Errorf("%q is no phrase", text)
	}
	x, placed := r.Measures.Get(CrossoverEndX)
	hz, _ := r.Measures.Get(CrossoverEndFrequency)
	if axis := r.Text(CrossoverEndAxis); !placed || math.Abs(x) > 1 || axis != "x" && axis != "y" || !(hz > 0) {
		t.Errorf("axis %q, x = %g, %g Hz", axis, x, hz)
	}
	if _, ok := r.Measures.Get(CrossoverEndPayload); ok {
		t.Error("a payload's extreme, and there is none")
	}
	if why := r.Explanation(CrossoverEnd); !strings.HasPrefix(why, text+" of "+r.Text(CrossoverEndAxis)+" at (") {
		t.Errorf("%q", why)
	}
}
