package problems

import (
	"context"
	"math"
	"slices"
	"testing"

	"flexwright/search"
)

// volume is the hypervolume of a problem's feasible points in z, over the
// declared one.
func volume(t *testing.T, p Problem, points [][]float64) float64 {
	t.Helper()
	if err := p.Space.Validate(); err != nil {
		t.Fatal(err)
	}
	var objs []float64
	f, g := make([]float64, p.Objectives), make([]float64, p.Constraints)
	for _, x := range points {
		p.Evaluate(x, f, g)
		// Points on a limit may violate it by rounding.
		if len(g) > 0 && slices.Max(g) > 1e-12 {
			continue
		}
		for k := range f {
			objs = append(objs, (f[k]-p.Ideal[k])/(p.Nadir[k]-p.Ideal[k]))
		}
	}
	m := p.Objectives
	var front []float64
	for _, i := range search.Front(objs, m, nil) {
		front = append(front, objs[i*m:i*m+m]...)
	}
	for i, z := range front {
		// The declared numbers have nine to ten digits, WELD's five.
		if z < -1e-4 || z > 1+1e-4 {
			t.Fatalf("%s: objective %d of the front is %v in z", p.Name, i%m+1, z)
		}
	}
	return search.Hypervolume(front, m, slices.Repeat([]float64{1.1}, m)) / p.Hypervolume
}

const fine = 20000 // points of a curve: its hypervolume is short by about 1/fine

// The analytic front of each problem, sampled, has the declared hypervolume:
// short by less than the sampling misses, and never above by more than the
// declared digits.
func TestDeclaredHypervolumes(t *testing.T) {
	line := func(n int, at func(t float64) []float64) (points [][]float64) {
		for i := range n + 1 {
			points = append(points, at(float64(i)/float64(n)))
		}
		return points
	}
	zdt := line(fine, func(t float64) []float64 {
		x := make([]float64, 30)
		x[0] = t
		return x
	})
	var sphere [][]float64
	for i := range 301 {
		sphere = append(sphere, line(300, func(t float64) []float64 {
			x := slices.Repeat([]float64{0.5}, 12)
			x[0], x[1] = float64(i)/300, t
			return x
		})...)
	}
	// OSY: x4 = x6 = 0 and five pieces along limits.
	osy := slices.Concat(
		line(fine, func(t float64) []float64 { return []float64{5, 1, 1 + 4*t, 0, 5, 0} }),
		line(fine, func(t float64) []float64 { return []float64{5, 1, 1 + 4*t, 0, 1, 0} }),
		line(fine, func(t float64) []float64 { return []float64{2 + 3*t, t, 1, 0, 1, 0} }),
		line(fine, func(t float64) []float64 { return []float64{0, 2, 1 + 4*t, 0, 1, 0} }),
		line(fine, func(t float64) []float64 { return []float64{2 * t, 2 - 2*t, 1, 0, 1, 0} }),
	)
	// TNK: the curve g1 = 0 in polar coordinates.
	tnk := line(fine, func(t float64) []float64 {
		sin, cos := math.Sincos(math.Pi / 2 * t)
		r := math.Sqrt(1 + 0.1*math.Cos(16*math.Pi/2*t))
		return []float64{r * sin, max(r*cos, 1e-30)}
	})
	for _, c := range []struct {
		p       Problem
		points  [][]float64
		missing float64 // by the sampling
		above   float64 // half of the last digit declared
	}{
		{ZDT1(), zdt, 1e-4, 1e-12},
		{ZDT3(), zdt, 1e-4, 1e-6},
		{DTLZ2(), sphere, 0.01, 1e-12}, // 301 x 301 points
		{OSY(), osy, 1e-4, 1e-6},
		{TNK(), tnk, 3e-4, 3e-6},
	} {
		if v := volume(t, c.p, c.points); v < 1-c.missing || v > 1+c.above {
			t.Errorf("%s: the sampled front has %v of the declared hypervolume", c.p.Name, v)
		}
	}
}

// The front of WELD has no formula: the rows of a search must come near its
// declared hypervolume and cannot exceed it.
func TestWELDFromBelow(t *testing.T) {
	p := WELD()
	plan, err := search.NewEvolve(p.Space, 1, search.EvolveOptions{Generations: 300})
	if err != nil {
		t.Fatal(err)
	}
	var points [][]float64
	g := make([]float64, p.Constraints)
	if _, err := plan.Run(context.Background(), func(_ context.Context, b *search.Proposals) ([]search.Outcome, error) {
		out := make([]search.Outcome, len(b.Points))
		for i, x := range b.Points {
			points = append(points, slices.Clone(x))
			out[i].Objectives = make([]float64, 2)
			p.Evaluate(x, out[i].Objectives, g)
			for _, v := range g {
				out[i].Violation += max(v, 0)
			}
		}
		return out, nil
	}); err != nil {
		t.Fatal(err)
	}
	// 1e-4: the declared digits. 0.99: below every median this search reached.
	if v := volume(t, p, points); v < 0.99 || v > 1+1e-4 {
		t.Errorf("30,000 points have %v of the declared hypervolume", v)
	}
}

func TestNamed(t *testing.T) {
	for _, p := range All() {
		if q, err := Named(p.Name); err != nil || q.Name != p.Name {
			t.Error(p.Name, err)
		}
	}
	if _, err := Named("ZDT9"); err == nil {
		t.Error("ZDT9 is no problem here")
	}
}
