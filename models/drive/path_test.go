package drive

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Range returns the least and the largest value along the program of a quantity that is given at the nine poses.
func (p *Program) Range(v *[9]float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, w := range p.path {
		x := 0.0
		for n := range w {
			x += w[n] * v[n]
		}
		low, high = min(low, x), max(high, x)
	}
	return low, high
}

// Stresses of many blades at a time are those of one quantity after the other.
func TestStressesAreRanges(t *testing.T) {
	const n = 13
	rng := rand.New(rand.NewPCG(2, 7))
	column := func() []float64 {
		x := make([]float64, n+Spare)
		for i := range x {
			x[i] = rng.NormFloat64()
		}
		return x
	}
	for kind := range numKind {
		m := DefaultMotion(kind)
		m.Amplitude = 0.7
		p := program(t, m)
		s := NewStresses(n)
		s.Bending, s.PerArea = column(), column()
		for i := range 9 {
			s.Root[i], s.Tip[i], s.Axial[i] = column(), column(), column()
		}
		var got [][2]float64
		p.Stresses(s, func(amplitude, mean float64) { got = append(got, [2]float64{amplitude, mean}) })
		for e := range n {
			for end, moment := range [2]*[9][]float64{&s.Root, &s.Tip} {
				for face, sign := range [2]float64{1, -1} {
					var v [9]float64
					for i := range v {
						v[i] = sign*s.Bending[e]*moment[i][e] + s.PerArea[e]*s.Axial[i][e]
					}
					low, high := p.Range(&v)
					want := [2]float64{0.5 * (high - low), 0.5 * (high + low)}
					if kind == Hold {
						want = [2]float64{0, max(-low, high)}
					}
					for i, w := range want {
						if g := got[4*e+2*end+face][i]; math.Abs(g-w) > 1e-13 {
							t.Errorf("%v, blade %d: %g, want %g", kind, e, g, w)
						}
					}
				}
			}
		}
	}
}

// By hand: x + y is √2 of the amplitude at most on a circle, twice the amplitude on the square of a raster or of steps; x y of a circle is half
// its square; x² is the square's everywhere.
func TestRange(t *testing.T) {
	var sum, product, square [9]float64
	for n := range 9 {
		x, y := float64(n%3-1), float64(n/3-1)
		sum[n], product[n], square[n] = x+y, x*y, x*x
	}
	for _, c := range []struct {
		kind               Kind
		sum, product, high float64
	}{
		{Circle, math.Sqrt2 * 0.8, 0.32, 0.64}, {Raster, 1.6, 0.64, 0.64}, {Steps, 1.6, 0.64, 0.64}, {Hold, 1.6, 0.64, 0.64},
	} {
		m := DefaultMotion(c.kind)
		m.Amplitude = 0.8
		p := program(t, m)
		low, high := p.Range(&sum)
		near(t, c.kind.String()+": highest sum", high, c.sum, 1e-12)
		near(t, c.kind.String()+": lowest sum", low, -c.sum, 1e-12)
		low, high = p.Range(&product)
		near(t, c.kind.String()+": highest product", high, c.product, 1e-12)
		near(t, c.kind.String()+": lowest product", low, -c.product, 1e-12)
		if low, high = p.Range(&square); math.Abs(low) > 1e-12 || math.Abs(high-c.high) > 1e-12 {
			t.Errorf("%v: square from %g to %g", c.kind, low, high)
		}
	}
}

// 12 cm of aluminium (23.6e-6 per K) grow by 2.8 µm per kelvin.
func TestWarmBody(t *testing.T) {
	near(t, "growth", WarmBody(23.6e-6, 0.12, 0.05, 20), 2.832e-6, 1e-12)
}
