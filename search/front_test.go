package search

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// dominates is the definition.
func dominates(a, b []float64) bool {
	better := false
	for k := range a {
		if a[k] > b[k] {
			return false
		}
		better = better || a[k] < b[k]
	}
	return better
}

// cloud returns n points; with a coarse grid many coordinates and points coincide.
func cloud(r *rand.Rand, n, m int, coarse bool) []float64 {
	objs := make([]float64, n*m)
	for i := range objs {
		objs[i] = r.Float64()
		if coarse {
			objs[i] = math.Floor(objs[i] * 5)
		}
	}
	return objs
}

func TestRankAgainstDefinition(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for m := 1; m <= 5; m++ {
		for trial := range 60 {
			n := 1 + r.IntN(70)
			objs := cloud(r, n, m, trial%2 == 0)
			violation := make([]float64, n)
			for i := range violation {
				switch r.IntN(6) {
				case 0:
					violation[i] = float64(1 + r.IntN(3))
				case 1:
					violation[i] = math.Inf(1)
				}
			}
			beats := func(i, j int) bool {
				if violation[i] != violation[j] {
					return violation[i] < violation[j]
				}
				return violation[i] == 0 && dominates(objs[i*m:i*m+m], objs[j*m:j*m+m])
			}
			// Peel fronts off one after the other.
			want := make([]int, n)
			for i := range want {
				want[i] = -1
			}
			left, fronts := n, 0
			for left > 0 {
				var front []int
				for i := range n {
					if want[i] >= 0 {
						continue
					}
					free := true
					for j := range n {
						if want[j] < 0 && beats(j, i) {
							free = false
						}
					}
					if free {
						front = append(front, i)
					}
				}
				for _, i := range front {
					want[i] = fronts
				}
				left -= len(front)
				fronts++
			}
			got := make([]int, n)
			if f := new(Ranker).Rank(objs, m, violation, got); f != fronts || !slices.Equal(got, want) {
				t.Fatalf("m = %d: %d fronts %v, want %d %v", m, f, got, fronts, want)
			}
			var front []int
			for i := range n {
				if violation[i] != 0 {
					continue
				}
				keep := true
				for j := range n {
					if violation[j] == 0 && (dominates(objs[j*m:j*m+m], objs[i*m:i*m+m]) ||
						j < i && slices.Equal(objs[j*m:j*m+m], objs[i*m:i*m+m])) {
						keep = false
					}
				}
				if keep {
					front = append(front, i)
				}
			}
			if got := Front(objs, m, violation); !slices.Equal(got, front) {
				t.Fatalf("m = %d: front %v, want %v", m, got, front)
			}
		}
	}
}

func TestHypervolumeByHand(t *testing.T) {
	for _, c := range []struct {
		objs []float64
		m    int
		ref  []float64
		want float64
	}{
		{nil, 2, []float64{1, 1}, 0},
		{[]float64{2, 5}, 1, []float64{7}, 5},
		{[]float64{1, 3, 2, 2, 3, 1}, 2, []float64{4, 4}, 3 + 2 + 1},
		{[]float64{1, 3, 5, 0}, 2, []float64{4, 4}, 3}, // the second lies outside
		{[]float64{0, 0, 0, 1, 1, 1}, 3, []float64{2, 2, 2}, 8},
		{[]float64{0, 1, 1, 1, 0, 1, 1, 1, 0}, 3, []float64{2, 2, 2}, 4}, // three boxes of 2 that share 1
		{[]float64{0, 0, 0, 0, 0}, 5, []float64{1, 2, 3, 1, 1}, 6},
	} {
		if got := Hypervolume(c.objs, c.m, c.ref); math.Abs(got-c.want) > 1e-14 {
			t.Errorf("%v: %v, want %v", c.objs, got, c.want)
		}
	}
}

// Against inclusion and exclusion over all subsets of up to nine points.
func TestHypervolumeAgainstInclusionExclusion(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for m := 2; m <= 6; m++ {
		for trial := range 60 {
			n := 1 + r.IntN(9)
			objs := cloud(r, n, m, trial%2 == 0)
			ref := make([]float64, m)
			for k := range ref {
				ref[k] = 0.9
				if trial%2 == 0 {
					ref[k] = 4
				}
			}
			var want, scale float64
			for set := 1; set < 1<<n; set++ {
				v, sign := 1.0, -1.0
				for k := range m {
					worst := math.Inf(-1)
					for i := range n {
						if set>>i&1 == 1 {
							worst = max(worst, objs[i*m+k])
						}
					}
					v *= max(ref[k]-worst, 0)
				}
				for i := range n {
					if set>>i&1 == 1 {
						sign = -sign
					}
				}
				want += sign * v
				scale += v
			}
			// Terms of alternating sign: rounding is relative to their sum.
			if got := Hypervolume(objs, m, ref); math.Abs(got-want) > 1e-13*(1+scale) {
				t.Fatalf("m = %d, n = %d: %v, want %v", m, n, got, want)
			}
		}
	}
}

// Points on the unit sphere, many: the slicing for four objectives against the
// sum of slices of the staircase for three.
func TestHypervolumeSlices(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	const n, m = 60, 4
	objs := sphere(r, n, m)
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return compare(objs[a*m+3], objs[b*m+3]) })
	var want float64
	var slab []float64
	for k, i := range order {
		slab = append(slab, objs[i*m:i*m+3]...)
		top := 1.1
		if k+1 < n {
			top = objs[order[k+1]*m+3]
		}
		want += (top - objs[i*m+3]) * Hypervolume(slab, 3, []float64{1.1, 1.1, 1.1})
	}
	if got := Hypervolume(objs, m, []float64{1.1, 1.1, 1.1, 1.1}); math.Abs(got-want) > 1e-12 {
		t.Errorf("%v, want %v", got, want)
	}
}

func sphere(r *rand.Rand, n, m int) []float64 {
	objs := make([]float64, n*m)
	for i := range n {
		var sum float64
		for k := range m {
			x := math.Abs(r.NormFloat64())
			objs[i*m+k] = x
			sum += x * x
		}
		for k := range m {
			objs[i*m+k] /= math.Sqrt(sum)
		}
	}
	return objs
}

func TestKneeByHand(t *testing.T) {
	// Shares of the range: (0, 1), (0.2, 0.3), (0.5, 0.4), (1, 0). The scale of an objective is no matter.
	objs := []float64{0, 1000, 2, 300, 5, 400, 10, 0}
	if k := Knee(objs, 2); k != 1 {
		t.Errorf("knee %d", k)
	}
	// A front that bulges: the sum of the middle's shares is above that of the ends.
	if k := Knee([]float64{0, 10, 6, 6, 10, 0}, 2); k != 1 {
		t.Errorf("knee of a bulging front: %d", k)
	}
	if k := Knee(nil, 3); k != -1 {
		t.Errorf("knee of nothing: %d", k)
	}
}

func TestThinTwoObjectivesByHand(t *testing.T) {
	// (1,9) costs 1x1 and goes first. Then (2,8) costs 2x3, (5,5) 1x3 and (6,4)
	// 4x1: (5,5) goes.
	objs := []float64{0, 10, 1, 9, 2, 8, 5, 5, 6, 4, 10, 0}
	if got, want := Thin(objs, 2, 4), []int{0, 2, 4, 5}; !slices.Equal(got, want) {
		t.Errorf("kept %v, want %v", got, want)
	}
}

// Against the best of all choices of 6 of 9 points that keep the ends, for 2 to
// 5 objectives.
func TestThinAgainstAllChoices(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	for m := 2; m <= 5; m++ {
		for range 20 {
			const n, keep = 9, 6
			objs := sphere(r, n, m)
			z := normalised(objs, m)
			volume := func(set int) float64 {
				ref := slices.Repeat([]float64{1.1}, m)
				var p []float64
				for i := range n {
					if set>>i&1 == 1 {
						p = append(p, z[i*m:i*m+m]...)
					}
				}
				return Hypervolume(p, m, ref)
			}
			set := 0
			for _, i := range Thin(objs, m, keep) {
				set |= 1 << i
			}
			ends := 0
			for k := range m {
				end := 0
				for i := range n {
					if z[i*m+k] < z[end*m+k] {
						end = i
					}
				}
				ends |= 1 << end
			}
			best := 0.0
			for s := range 1 << n {
				if s&ends != ends {
					continue
				}
				count := 0
				for i := range n {
					count += s >> i & 1
				}
				if count == keep {
					best = max(best, volume(s))
				}
			}
			// The greedy choice is bound to reach 1-1/e; with one to four points
			// left to choose it loses a few per cent at most.
			if v := volume(set); v < 0.95*best {
				t.Errorf("m = %d: %v of %v", m, v, best)
			}
		}
	}
}

// The definition: every point is within epsilon of a kept one in each objective.
func TestEpsilonFrontCovers(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	for m := 2; m <= 4; m++ {
		objs := sphere(r, 500, m)
		eps := slices.Repeat([]float64{0.1}, m)
		kept := EpsilonFront(objs, m, eps)
		if len(kept) == 0 || len(kept) > 400 {
			t.Errorf("m = %d: %d kept", m, len(kept))
		}
		for i := range 500 {
			covered := false
			for _, j := range kept {
				all := true
				for k := range m {
					all = all && objs[j*m+k] <= objs[i*m+k]+eps[k]+1e-12
				}
				covered = covered || all
			}
			if !covered {
				t.Fatalf("m = %d: point %d is not covered", m, i)
			}
		}
	}
}
