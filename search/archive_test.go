package search

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// By the definition: a point stays unless another dominates it, equal ones all
// stay, in the order in which they came.
func TestArchiveAgainstDefinition(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for m := 1; m <= 5; m++ {
		for _, coarse := range []bool{true, false} {
			const n = 3000
			objs := cloud(r, n, m, coarse)
			a := NewArchive[int](m)
			for i := range n {
				a.Add(objs[i*m:(i+1)*m], i)
				if i%700 == 0 {
					a.Len() // dropped in between
				}
			}
			var want []int
			for i := range n {
				p, is := objs[i*m:(i+1)*m], true
				for j := 0; is && j < n; j++ {
					is = !dominates(objs[j*m:(j+1)*m], p)
				}
				if is {
					want = append(want, i)
				}
			}
			if !slices.Equal(a.Items(), want) {
				t.Errorf("%d objectives, coarse %v: %d points, want %d", m, coarse, a.Len(), len(want))
			}
			if !slices.Equal(a.Objectives(), gather(objs, m, want)) {
				t.Errorf("%d objectives, coarse %v: other objectives", m, coarse)
			}
			distinct := slices.DeleteFunc(slices.Clone(want), func(i int) bool {
				return slices.ContainsFunc(want, func(j int) bool { return j < i && equalPoints(objs, m, i, j) })
			})
			if !slices.Equal(Front(objs, m, nil), distinct) {
				t.Errorf("%d objectives, coarse %v: Front is not the distinct points of the archive", m, coarse)
			}
		}
	}
}

// Memory is bounded by twice the front: of points on a line that each dominate all
// before, one is left.
func TestArchiveForgets(t *testing.T) {
	a := NewArchive[[64]byte](2)
	for i := range 200_000 {
		a.Add([]float64{-float64(i), -float64(i)}, [64]byte{})
		if len(a.items) > 2*archiveBatch {
			t.Fatalf("%d points are held", len(a.items))
		}
	}
	if a.Len() != 1 {
		t.Errorf("%d points, want the last alone", a.Len())
	}
}

// A front of many points, none of which dominates another.
func BenchmarkArchive(b *testing.B) {
	for _, m := range []int{2, 3, 4, 5} {
		b.Run([]string{2: "two", 3: "three", 4: "four", 5: "five"}[m], func(b *testing.B) {
			const n = 300_000
			objs := sphere(rand.New(rand.NewPCG(1, 2)), n, m)
			for b.Loop() {
				a := NewArchive[int](m)
				for i := range n {
					a.Add(objs[i*m:(i+1)*m], i)
				}
				b.ReportMetric(float64(a.Len()), "front")
			}
		})
	}
}
