package drive

import (
	"math"
	"testing"
)

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
