package search

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A linear function is reproduced anywhere (the definition of the tail), any
// function at the centres.
func TestRadialReproduces(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	const n, dim = 60, 4
	centre := make([]float64, n*dim)
	value := make([]float64, 2*n)
	linear := func(x []float64) float64 { return 3 - 2*x[0] + x[1] + 0.5*x[3] }
	rough := func(x []float64) float64 { return math.Sin(7*x[0]) * x[2] }
	for i := range centre {
		centre[i] = r.Float64()
	}
	for i := range n {
		x := centre[i*dim : (i+1)*dim]
		value[2*i], value[2*i+1] = linear(x), rough(x)
	}
	var f radial
	y, cubes := make([]float64, 2), make([]float64, n)
	predict := func(x []float64) {
		for i := range cubes {
			cubes[i] = cube3(x, centre[i*dim:(i+1)*dim])
		}
		f.predict(x, cubes, y)
	}
	var all []int
	for i := range n {
		all = append(all, i)
	}
	if !f.fit(dim, dim, 2, centre, all, value) {
		t.Fatal("singular")
	}
	// 1e-5: the ridge on the tail, 1e-6, times coefficients of order 1.
	for range 100 {
		x := []float64{r.Float64(), r.Float64(), r.Float64(), r.Float64()}
		if predict(x); math.Abs(y[0]-linear(x)) > 1e-5 {
			t.Fatalf("linear function %v, want %v", y[0], linear(x))
		}
	}
	for i := range n {
		x := centre[i*dim : (i+1)*dim]
		if predict(x); math.Abs(y[1]-rough(x)) > 1e-5 {
			t.Fatalf("centre %d: %v, want %v", i, y[1], rough(x))
		}
	}
	// Points that are all alike in two directions leave the tail undetermined there.
	for i := range n {
		centre[i*dim+1], centre[i*dim+3] = 0.5, 0
	}
	if !f.fit(dim, dim, 2, centre, all, value) {
		t.Error("equal coordinates make the system singular")
	}
}

func TestSolve(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	const n = 30
	a, x := make([]float64, n*n), make([]float64, n)
	for i := range a {
		a[i] = r.NormFloat64()
	}
	b := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	for i := range n {
		for j := range n {
			b[i] += a[i*n+j] * x[j]
		}
	}
	var f radial
	if !f.solve(a, b, n, 1) {
		t.Fatal("singular")
	}
	for i := range x {
		// 1e-10: rounding times the condition of a random matrix, some 1e3.
		if math.Abs(b[i]-x[i]) > 1e-10 {
			t.Errorf("x[%d] = %v, want %v", i, b[i], x[i])
		}
	}
	if f.solve(make([]float64, 4), make([]float64, 2), 2, 1) {
		t.Error("a zero matrix has an inverse")
	}
}

func BenchmarkRadialFit(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	const n, dim, outputs = maxCentres, 8, 8
	centre, value := make([]float64, n*dim), make([]float64, n*outputs)
	for i := range centre {
		centre[i] = r.Float64()
	}
	for i := range value {
		value[i] = r.NormFloat64()
	}
	var all []int
	for i := range n {
		all = append(all, i)
	}
	var f radial
	b.ReportAllocs()
	for b.Loop() {
		f.fit(dim, dim, outputs, centre, all, value)
	}
}
