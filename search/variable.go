package search

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"flexwright/models/elementary"
)

// Kind of a variable.
type Kind uint8

const (
	// Continuous: any value from From to To.
	Continuous Kind = iota
	// Stepped: From, From+Step, ..., To. A whole number has Step 1.
	Stepped
	// Choice: one of Choices things that have no order, numbered from 0.
	Choice
)

// Variable is one coordinate of a design space.
type Variable struct {
	Name     string
	Kind     Kind
	From, To float64 // Continuous and Stepped; From < To
	Step     float64 // Stepped: the range is a whole number of steps
	Log      bool    // Continuous: even in the logarithm; needs From > 0
	Choices  int     // Choice: how many; values are 0 to Choices-1
	// Apart is for a Choice of things that have little in common: Evolve searches each
	// by itself, and none is given up before its front has settled. Of several that are
	// apart the first is.
	Apart bool
	Of    []int // values of the variable that is Apart of which this is a variable; nil: all
}

// SamePoint reports whether two points have the same values, the same of them open (NaN).
func SamePoint(x, y []float64) bool {
	return slices.EqualFunc(x, y, func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) })
}

// Validate says what is wrong with the variable, or nil.
func (v Variable) Validate() error {
	bad := func(format string, args ...any) error {
		return fmt.Errorf("variable %q: %s", v.Name, fmt.Sprintf(format, args...))
	}
	if v.Apart && v.Kind != Choice {
		return bad("only the values of a choice are searched apart")
	}
	switch v.Kind {
	case Choice:
		if v.Choices < 1 {
			return bad("a choice needs at least one value")
		}
		return nil
	case Continuous, Stepped:
	default:
		return bad("unknown kind %d", v.Kind)
	}
	if !finite(v.From) || !finite(v.To) || !finite(v.To-v.From) {
		return bad("the ends of the range must be finite")
	}
	if v.From >= v.To {
		return bad("the range from %g to %g is empty", v.From, v.To)
	}
	if v.Kind == Continuous {
		if v.Log && v.From <= 0 {
			return bad("a logarithmic range must begin above 0")
		}
		return nil
	}
	if v.Log {
		return bad("steps and a logarithmic range exclude each other")
	}
	if !(v.Step > 0) {
		return bad("the step must be above 0")
	}
	n := (v.To - v.From) / v.Step
	// 1e-6 of a step: quantities arrive with the rounding of one or two unit
	// conversions, some 1e-15 of their size, up to a million steps a range.
	if math.Abs(n-math.Round(n)) > 1e-6*math.Max(1, n*1e-6) || n < 0.5 {
		return bad("the range from %g to %g is not a whole number of steps of %g", v.From, v.To, v.Step)
	}
	if n > 1<<31 {
		return bad("more than 2^31 steps")
	}
	return nil
}

// Values returns how many values the variable has, if it is finite.
func (v Variable) Values() (n int, isFinite bool) {
	switch v.Kind {
	case Stepped:
		return int(math.Round((v.To-v.From)/v.Step)) + 1, true
	case Choice:
		return v.Choices, true
	}
	return 0, false
}

// Value returns value number k of a stepped variable or choice, from 0; k
// outside the range is clamped. Steps are From + k*Step rounded to 12
// significant digits, so that 0.3 + 3*0.05 is 0.45; both ends are exact.
func (v Variable) Value(k int) float64 {
	if v.Kind == Choice {
		return float64(min(max(k, 0), v.Choices-1))
	}
	n, _ := v.Values()
	switch {
	case k <= 0:
		return v.From
	case k >= n-1:
		return v.To
	}
	return round12(v.From + float64(k)*v.Step)
}

// Decode maps u in [0, 1] to a value; u outside is clamped. Finite variables
// cut the unit interval into equal parts, one a value.
func (v Variable) Decode(u float64) float64 {
	if v.Kind != Continuous {
		return v.Value(v.number(u))
	}
	switch {
	case !(u > 0):
		return v.From
	case u >= 1:
		return v.To
	}
	var x float64
	if v.Log {
		x = v.From * elementary.Exp(u*math.Log(v.To/v.From))
	} else {
		x = v.From + u*(v.To-v.From)
	}
	return min(max(x, v.From), v.To)
}

// Encode returns a u that Decode maps to x, or as near to x as the variable
// has a value: the middle of the value's part for finite variables. NaN is a value that
// is open, and stands in the middle.
func (v Variable) Encode(x float64) float64 {
	if math.IsNaN(x) {
		x = v.Decode(0.5)
	}
	if n, ok := v.Values(); ok {
		k := x
		if v.Kind == Stepped {
			k = (x - v.From) / v.Step
		}
		k = min(max(math.Round(k), 0), float64(n-1))
		return (k + 0.5) / float64(n)
	}
	var u float64
	if v.Log {
		u = math.Log(x/v.From) / math.Log(v.To/v.From)
	} else {
		u = (x - v.From) / (v.To - v.From)
	}
	if !(u > 0) {
		return 0
	}
	return min(u, 1)
}

// number is the number of the value that u decodes to; finite variables only.
func (v Variable) number(u float64) int {
	n, _ := v.Values()
	if !(u > 0) {
		return 0
	}
	return min(int(u*float64(n)), n-1)
}

var pow10 = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// round12 rounds to 12 significant digits. The fast path divides a whole
// number below 2^53 by an exact power of ten, which yields the double nearest
// to the decimal number, as parsing its text would.
func round12(x float64) float64 {
	if x == 0 {
		return 0
	}
	digits := 11 - int(math.Floor(math.Log10(math.Abs(x))))
	if digits >= 0 && digits < len(pow10) {
		return math.Round(x*pow10[digits]) / pow10[digits]
	}
	r, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 11, 64), 64)
	return r
}

func finite(x float64) bool { return !math.IsInf(x, 0) && !math.IsNaN(x) }

// Space is a design space: its variables in the order of a point's values.
type Space []Variable

// Validate says what is wrong with the first bad variable, or nil.
func (s Space) Validate() error {
	if len(s) == 0 {
		return fmt.Errorf("search: a design space needs at least one variable")
	}
	for _, v := range s {
		if err := v.Validate(); err != nil {
			return err
		}
	}
	return nil
}

// Decode maps u from the unit cube to values x; both have len(s) entries.
func (s Space) Decode(u, x []float64) {
	if len(u) != len(s) || len(x) != len(s) {
		panic("search: slice length mismatch")
	}
	for i, v := range s {
		x[i] = v.Decode(u[i])
	}
}

// Encode is the inverse of Decode, up to the nearest value of each variable.
func (s Space) Encode(x, u []float64) {
	if len(u) != len(s) || len(x) != len(s) {
		panic("search: slice length mismatch")
	}
	for i, v := range s {
		u[i] = v.Encode(x[i])
	}
}

// Size returns how many points a space of finite variables has. A count that
// does not fit is math.MaxInt64.
func (s Space) Size() (count int64, isFinite bool) {
	count = 1
	for _, v := range s {
		n, ok := v.Values()
		if !ok {
			return 0, false
		}
		if count > math.MaxInt64/int64(n) {
			count = math.MaxInt64
			continue
		}
		count *= int64(n)
	}
	return count, true
}
