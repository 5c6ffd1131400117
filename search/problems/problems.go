// Package problems holds test problems with known fronts, to measure a search.
//
// All objectives are minimised, all constraints hold at or below 0, and the
// violation of a point is the sum of its positive constraints as scaled here.
// Variables, objectives and constraints have no unit except in WELD.
package problems

import (
	"fmt"
	"math"

	"flexwright/search"
)

// Problem is a test problem with what is known of its front.
type Problem struct {
	Name        string
	Space       search.Space
	Objectives  int
	Constraints int
	// Evaluate writes the objectives f and the constraints g of x. It keeps
	// nothing and may be called from several goroutines.
	Evaluate func(x, f, g []float64)
	// Ideal and Nadir are the best and worst values of each objective over the
	// front. A score takes z = (f - Ideal) / (Nadir - Ideal).
	Ideal, Nadir []float64
	// Hypervolume of the front in z, to the reference point 1.1 in each.
	Hypervolume float64
}

// All returns the problems in the order of their difficulty's fame: two without
// limits, one with three objectives, three with limits.
func All() []Problem {
	return []Problem{ZDT1(), ZDT3(), DTLZ2(), OSY(), TNK(), WELD()}
}

// Named returns the problem of that name.
func Named(name string) (Problem, error) {
	var names []string
	for _, p := range All() {
		if p.Name == name {
			return p, nil
		}
		names = append(names, p.Name)
	}
	return Problem{}, fmt.Errorf("no problem %q: there are %v", name, names)
}

// box returns continuous variables x1, x2, ... with the given ends.
func box(ends ...[2]float64) search.Space {
	s := make(search.Space, len(ends))
	for d, e := range ends {
		s[d] = search.Variable{Name: fmt.Sprint("x", d+1), From: e[0], To: e[1]}
	}
	return s
}

func unitBox(n int) search.Space {
	ends := make([][2]float64, n)
	for d := range ends {
		ends[d] = [2]float64{0, 1}
	}
	return box(ends...)
}

// zdtG is g = 1 + 9 mean(x2, ..., xn), 1 on the front.
func zdtG(x []float64) float64 {
	var sum float64
	for _, v := range x[1:] {
		sum += v
	}
	return 1 + 9*sum/float64(len(x)-1)
}

// ZDT1 has a convex front, f2 = 1 - sqrt(f1), at the end of 29 ranges (Zitzler,
// Deb and Thiele, Evol. Comput. 8, 2000). Its hypervolume is 263/300.
func ZDT1() Problem {
	return Problem{
		Name: "ZDT1", Space: unitBox(30), Objectives: 2,
		Evaluate: func(x, f, _ []float64) {
			g := zdtG(x)
			f[0] = x[0]
			f[1] = g * (1 - math.Sqrt(x[0]/g))
		},
		Ideal: []float64{0, 0}, Nadir: []float64{1, 1}, Hypervolume: 263.0 / 300,
	}
}

// ZDT3 has a front of five pieces, the non-dominated part of g = 1 (Zitzler,
// Deb and Thiele 2000). Numbers of the front: numerical.
func ZDT3() Problem {
	return Problem{
		Name: "ZDT3", Space: unitBox(30), Objectives: 2,
		Evaluate: func(x, f, _ []float64) {
			g := zdtG(x)
			f[0] = x[0]
			f[1] = g * (1 - math.Sqrt(x[0]/g) - x[0]/g*math.Sin(10*math.Pi*x[0]))
		},
		Ideal: []float64{0, -0.7733690123}, Nadir: []float64{0.8518328655, 1}, Hypervolume: 0.727453,
	}
}

// DTLZ2 has the positive octant of the unit sphere for its front (Deb, Thiele,
// Laumanns and Zitzler, CEC 2002). Its hypervolume is 1.1^3 - pi/6.
func DTLZ2() Problem {
	return Problem{
		Name: "DTLZ2", Space: unitBox(12), Objectives: 3,
		Evaluate: func(x, f, _ []float64) {
			var g float64
			for _, v := range x[2:] {
				g += (v - 0.5) * (v - 0.5)
			}
			sa, ca := math.Sincos(math.Pi * x[0] / 2)
			sb, cb := math.Sincos(math.Pi * x[1] / 2)
			f[0] = (1 + g) * ca * cb
			f[1] = (1 + g) * ca * sb
			f[2] = (1 + g) * sa
		},
		Ideal: []float64{0, 0, 0}, Nadir: []float64{1, 1, 1}, Hypervolume: 1.331 - math.Pi/6,
	}
}

// OSY has five pieces of front, each along other limits (Osyczka and Kundu,
// Structural Optimization 10, 1995). Numbers of the front: numerical.
func OSY() Problem {
	return Problem{
		Name:       "OSY",
		Space:      box([2]float64{0, 10}, [2]float64{0, 10}, [2]float64{1, 5}, [2]float64{0, 6}, [2]float64{1, 5}, [2]float64{0, 10}),
		Objectives: 2, Constraints: 6,
		Evaluate: func(x, f, g []float64) {
			sq := func(v float64) float64 { return v * v }
			f[0] = -(25*sq(x[0]-2) + sq(x[1]-2) + sq(x[2]-1) + sq(x[3]-4) + sq(x[4]-1))
			f[1] = sq(x[0]) + sq(x[1]) + sq(x[2]) + sq(x[3]) + sq(x[4]) + sq(x[5])
			g[0] = (2 - x[0] - x[1]) / 2
			g[1] = (x[0] + x[1] - 6) / 6
			g[2] = (x[1] - x[0] - 2) / 2
			g[3] = (x[0] - 3*x[1] - 2) / 2
			g[4] = (sq(x[2]-3) + x[3] - 4) / 4
			g[5] = (4 - sq(x[4]-3) - x[5]) / 4
		},
		Ideal: []float64{-274, 4}, Nadir: []float64{-42, 76}, Hypervolume: 0.968863,
	}
}

// TNK has the edge of its feasible region for a front, with gaps (Tanaka,
// Watanabe, Furukawa and Tanino, IEEE SMC 1995). Numbers of the front:
// numerical, the last digit of the hypervolume uncertain by 1.
func TNK() Problem {
	return Problem{
		Name: "TNK", Space: box([2]float64{0, math.Pi}, [2]float64{1e-30, math.Pi}),
		Objectives: 2, Constraints: 2,
		Evaluate: func(x, f, g []float64) {
			f[0], f[1] = x[0], x[1]
			g[0] = 1 + 0.1*math.Cos(16*math.Atan(x[0]/x[1])) - x[0]*x[0] - x[1]*x[1]
			g[1] = 2*((x[0]-0.5)*(x[0]-0.5)+(x[1]-0.5)*(x[1]-0.5)) - 1
		},
		Ideal: []float64{0.0416666509, 0.0416666509}, Nadir: []float64{1.038448595, 1.038448595},
		Hypervolume: 0.518884,
	}
}

// WELD is the welded beam: cost against deflection, in inches and pounds, with
// limits on shear, bending stress, geometry and buckling (Deb's form with two
// objectives). The front is known from polished long runs, not proven; the last
// digit of its hypervolume is uncertain by 1.
func WELD() Problem {
	s := box([2]float64{0.125, 5}, [2]float64{0.1, 10}, [2]float64{0.1, 10}, [2]float64{0.125, 5})
	for d, name := range []string{"h", "l", "t", "b"} {
		s[d].Name = name
	}
	return Problem{
		Name: "WELD", Space: s, Objectives: 2, Constraints: 4,
		Evaluate: func(x, f, g []float64) {
			h, l, t, b := x[0], x[1], x[2], x[3]
			f[0] = 1.10471*h*h*l + 0.04811*t*b*(14+l)
			f[1] = 2.1952 / (b * t * t * t)
			r := math.Sqrt(0.25 * (l*l + (h+t)*(h+t)))
			m := 6000 * (14 + l/2)
			j := math.Sqrt2 * h * l * (l*l/12 + 0.25*(h+t)*(h+t))
			t1 := 6000 / (math.Sqrt2 * h * l)
			t2 := m * r / j
			tau := math.Sqrt(t1*t1 + t2*t2 + t1*t2*l/r)
			g[0] = tau/13600 - 1
			g[1] = 504000/(b*t*t)/30000 - 1
			g[2] = (h - b) / 4.875
			g[3] = 1 - 64746.022*(1-0.0282346*t)*t*b*b*b/6000
		},
		Ideal: []float64{2.38096, 4.3904e-4}, Nadir: []float64{36.4209, 0.0157592}, Hypervolume: 1.1434,
	}
}
