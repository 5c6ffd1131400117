package dense

import (
	"math"
	"math/rand/v2"
	"testing"
)

// All operations of a straight program come to the same bits in registers of eight and four numbers and in plain Go.
func TestStraightSideBySide(t *testing.T) {
	was := straightLanes
	defer func() { straightLanes = was }()
	rng := rand.New(rand.NewPCG(8, 4))
	const count = 40
	s := new(Straight)
	for range 600 {
		to, a, b := rng.IntN(count), rng.IntN(count), rng.IntN(count)
		switch rng.IntN(10) {
		case 0:
			s.Copy(to, a)
		case 1:
			s.Negative(to, a)
		case 2:
			s.Plus(to, a)
		case 3:
			s.Minus(to, a)
		case 4:
			s.Product(to, a, b)
		case 5:
			s.PlusProduct(to, a, b)
		case 6:
			s.LessProduct(to, a, b)
		case 7:
			s.MinusProduct(to, a, b)
		case 8:
			s.Inverse(to, a)
		case 9:
			s.Largest(to, a)
		}
	}
	ops := append([]operation(nil), s.ops...)
	s.Done()
	for range 20 {
		x := make([]float64, Lanes*count)
		for i := range x {
			switch x[i] = rng.NormFloat64(); rng.IntN(20) {
			case 0:
				x[i] = 0
			case 1:
				x[i] = math.Copysign(0, -1)
			case 2:
				x[i] = math.Inf(1)
			}
		}
		// in the order in which they were added, one lane after the other
		want := append([]float64(nil), x...)
		unsorted := Straight{program: program{ops: ops}}
		for _, o := range ops {
			unsorted.runs = append(unsorted.runs, run{o.kind, []operation{o}})
		}
		unsorted.plain(want)
		for _, lanes := range []int{1, 4, 8} {
			if straightLanes = lanes; lanes > was {
				break
			}
			got := append([]float64(nil), x...)
			s.Run(got)
			for i, v := range want {
				if math.Float64bits(got[i]) != math.Float64bits(v) && !(math.IsNaN(got[i]) && math.IsNaN(v)) {
					t.Fatalf("%d lanes: number %d: %g, want %g", lanes, i, got[i], v)
				}
			}
		}
	}
}
