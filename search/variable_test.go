package search

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"
)

func TestSteppedValuesAreDecimal(t *testing.T) {
	v := Variable{Kind: Stepped, From: 0.3, To: 1, Step: 0.05}
	if n, ok := v.Values(); n != 15 || !ok {
		t.Fatalf("15 values from 0.3 to 1 by 0.05, got %d", n)
	}
	// The decimal numbers as a reader would write them.
	want := []float64{0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95, 1}
	for k, w := range want {
		if got := v.Value(k); got != w {
			t.Errorf("value %d: %v, want %v", k, got, w)
		}
		if got := v.Decode((float64(k) + 0.5) / 15); got != w {
			t.Errorf("decoded value %d: %v, want %v", k, got, w)
		}
		if u := v.Encode(w); v.Decode(u) != w {
			t.Errorf("%v does not come back", w)
		}
	}
	metres := Variable{Kind: Stepped, From: 0.0003, To: 0.001, Step: 0.00005}
	if got := metres.Value(3); got != 0.00045 {
		t.Errorf("0.3 mm + 3 x 0.05 mm in metres: %v", got)
	}
}

func TestRound12IsTextRounding(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 20000 {
		x := (r.Float64() - 0.5) * math.Pow(10, float64(r.IntN(60)-30))
		want, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 11, 64), 64)
		if err != nil {
			t.Fatal(err)
		}
		// At the middle between two 12-digit numbers the product before
		// rounding may fall on either side: one unit in digit 12, else equal.
		if got := round12(x); got != want && math.Abs(got-want) > 1.1e-11*math.Abs(x) {
			t.Fatalf("%v rounds to %v, as text %v", x, got, want)
		} else if frac := math.Abs(x-want) / math.Abs(x); got != want && frac < 1e-13 {
			t.Fatalf("%v rounds to %v, as text %v", x, got, want)
		}
	}
}

func TestDecode(t *testing.T) {
	for _, c := range []struct {
		v       Variable
		u, want float64
	}{
		{Variable{From: -2, To: 6}, 0.25, 0},
		{Variable{From: -2, To: 6}, 0, -2},
		{Variable{From: -2, To: 6}, 1, 6},
		{Variable{From: -2, To: 6}, -1, -2},
		{Variable{From: -2, To: 6}, math.NaN(), -2},
		{Variable{From: 1, To: 10000, Log: true}, 0.5, 100},
		{Variable{From: 0.1, To: 0.7, Log: true}, 1, 0.7},
		{Variable{Kind: Choice, Choices: 3}, 0.4, 1},
		{Variable{Kind: Choice, Choices: 3}, 1, 2},
		{Variable{Kind: Stepped, From: 1, To: 4, Step: 1}, 0.26, 2},
	} {
		// 1e-12: one exponential and one logarithm.
		if got := c.v.Decode(c.u); math.Abs(got-c.want) > 1e-12*math.Abs(c.want) {
			t.Errorf("%+v at %v: %v, want %v", c.v, c.u, got, c.want)
		}
	}
	log := Variable{From: 2, To: 50, Log: true}
	if u := log.Encode(log.Decode(0.3)); math.Abs(u-0.3) > 1e-14 {
		t.Errorf("0.3 comes back as %v", u)
	}
}

func TestValidate(t *testing.T) {
	good := Space{
		{From: 0, To: 1}, {From: 1e-3, To: 1, Log: true},
		{Kind: Stepped, From: 0.1, To: 0.7, Step: 0.1}, {Kind: Choice, Choices: 1},
		{Kind: Stepped, From: 0, To: 1e6, Step: 1},
	}
	if err := good.Validate(); err != nil {
		t.Error(err)
	}
	for _, v := range []Variable{
		{From: 1, To: 1}, {From: 2, To: 1}, {From: math.NaN(), To: 1}, {From: 0, To: math.Inf(1)},
		{From: 0, To: 1, Log: true}, {Kind: Stepped, From: 0, To: 1}, {Kind: Choice},
		{Kind: Stepped, From: 0, To: 1, Step: 0.3}, {Kind: Stepped, From: 0, To: 1, Step: 2},
		{Kind: Stepped, From: 1, To: 2, Step: 1, Log: true}, {Kind: 9, From: 0, To: 1},
	} {
		if v.Validate() == nil {
			t.Errorf("%+v passes", v)
		}
	}
	if (Space{}).Validate() == nil {
		t.Error("an empty space passes")
	}
}

func TestSize(t *testing.T) {
	s := Space{{Kind: Choice, Choices: 3}, {Kind: Stepped, From: 0, To: 1, Step: 0.25}}
	if n, ok := s.Size(); n != 15 || !ok {
		t.Errorf("3 x 5 points, got %d %v", n, ok)
	}
	if _, ok := append(s, Variable{From: 0, To: 1}).Size(); ok {
		t.Error("a continuous variable makes a space infinite")
	}
	var big Space
	for range 10 {
		big = append(big, Variable{Kind: Choice, Choices: 1000})
	}
	if n, ok := big.Size(); n != math.MaxInt64 || !ok {
		t.Errorf("10^30 points: %d %v", n, ok)
	}
}
