package dense

import (
	"math"
	"math/rand/v2"
	"testing"
)

// All deeds of a straight program come to the same bits in registers of eight and four numbers and in plain Go, where they are done one
// after the other.
func TestStraightSideBySide(t *testing.T) {
	was := straightLanes
	defer func() { straightLanes = was }()
	rng := rand.New(rand.NewPCG(8, 4))
	const single, blocks, count = 40, 12, 40 + 9*12
	s := new(Straight)
	list := func() (list []int) {
		for range rng.IntN(5) {
			list = append(list, rng.IntN(count))
		}
		return list
	}
	for range 1500 {
		to, a, b := rng.IntN(single), rng.IntN(count), rng.IntN(count)
		places := rng.Perm(blocks) // blocks of a deed are not the same
		block := func(i int) int { return single + 9*places[i] }
		switch kind := straightKind(rng.IntN(14)); kind {
		case copying, inverting:
			s.add(kind, to, a)
		case adding:
			s.Sum(to, list(), list())
		case enlarging:
			s.Largest(to, list())
		case multiplying, plusMultiplying, lessMultiplying:
			s.add(kind, to, a, b)
		case pivoting:
			s.add(kind, block(0))
		case solving:
			s.add(kind, block(0), block(1)+rng.IntN(7))
		case lessTimesing, lessTransposedTimesing:
			s.add(kind, block(0)+rng.IntN(7), block(1), block(2)+rng.IntN(7))
		default:
			s.add(kind, block(0), block(1), block(2))
		}
	}
	inOrder := Straight{}
	for _, d := range s.deeds {
		inOrder.runs = append(inOrder.runs, deeds{kind: d.kind, list: []deed{d}, plus: d.plus, minus: len(d.numbers) - 1 - d.plus})
	}
	s.Done()
	if len(s.runs) > len(inOrder.runs)*9/10 {
		t.Errorf("%d runs of %d deeds", len(s.runs), len(inOrder.runs))
	}
	for range 20 {
		x := make([]float64, Lanes*count)
		for i := range x {
			switch x[i] = rng.NormFloat64(); rng.IntN(40) {
			case 0:
				x[i] = 0
			case 1:
				x[i] = math.Copysign(0, -1)
			}
		}
		want := append([]float64(nil), x...)
		inOrder.plain(want)
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

// Numbers of lanes are copied to where each lane has its own.
func TestSpread(t *testing.T) {
	x := make([]float64, Lanes*200)
	for i := range x {
		x[i] = float64(i)
	}
	var own [Lanes][40]float64
	var to [Lanes]*float64
	for l := range to {
		to[l] = &own[l][1]
	}
	if straightLanes == 1 {
		if Spread(x, 5, 9, 2, 4, &to, 7) {
			t.Error("copied")
		}
		return
	}
	if Spread(x, 5, 60, 2, 9, &to, 7) {
		t.Error("copied what is not there")
	}
	if !Spread(x, 5, 9, 2, 4, &to, 7) {
		t.Fatal("not copied")
	}
	for l := range own {
		want := [40]float64{}
		for i := range 4 {
			for k := range 4 {
				want[1+7*i+k] = float64(Lanes*(5+9*k+2*i) + l)
			}
		}
		if own[l] != want {
			t.Errorf("lane %d: %v", l, own[l])
		}
	}
}
