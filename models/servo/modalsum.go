package servo

import "math"

// Modes far from a frequency need no division of their own. With q = w/ω_k ≤ 1/4,
//
//	R/(ω_k² − w² + 2jζω_k w) = (R/ω_k²) [Σ q^2n − 2jζ Σ (n+1) q^(2n+1)] + O(ζ²)
//
// and with r = ω_k/w ≤ 1/4
//
//	R/(ω_k² − w² + 2jζω_k w) = −(R/w²) [Σ r^2n + 2jζ Σ (n+1) r^(2n+1)] + O(ζ²)
//
// so that the sums over all modes above, and over all below, are polynomials in w
// whose coefficients are accumulated once. Cut after six and three terms the error of
// a mode is below 1e-7 of its own contribution, and the neglected square of the
// damping below (ζ/2)²: used for ζ ≤ 0.01 only.
const (
	farRatio   = 4
	evenTerms  = 6
	oddTerms   = 3
	farDamping = 0.01
	farStride  = 4 * (evenTerms + oddTerms)
)

// modalSum is the residues of one sensor at one pose with the far-mode coefficients,
// sized for the largest number of modes.
type modalSum struct {
	residue []float64 // (modes × 4) [xx, xy, yx, yy], 1/kg
	above   []float64 // (modes+1 × farStride) sums over the modes from k up
	below   []float64 // (modes+1 × farStride) sums over the modes before k
}

func newModalSum(modes int) *modalSum {
	return &modalSum{
		residue: make([]float64, 4*modes),
		above:   make([]float64, farStride*(modes+1)),
		below:   make([]float64, farStride*(modes+1)),
	}
}

func (m *modalSum) prepare(omega, force, out []float64, far bool) {
	n := len(omega)
	for k := range n {
		m.residue[4*k] = out[2*k] * force[2*k]
		m.residue[4*k+1] = out[2*k] * force[2*k+1]
		m.residue[4*k+2] = out[2*k+1] * force[2*k]
		m.residue[4*k+3] = out[2*k+1] * force[2*k+1]
	}
	if !far {
		return
	}
	clear(m.above[farStride*n : farStride*(n+1)])
	for k := n - 1; k >= 0; k-- {
		if omega[k] == 0 { // never above
			copy(m.above[farStride*k:farStride*(k+1)], m.above[farStride*(k+1):])
			continue
		}
		q := 1 / omega[k]
		accumulate(m.above[farStride*k:farStride*(k+1)], m.above[farStride*(k+1):farStride*(k+2)], m.residue[4*k:4*k+4], q*q, q)
	}
	clear(m.below[:farStride])
	for k := range n {
		accumulate(m.below[farStride*(k+1):farStride*(k+2)], m.below[farStride*k:farStride*(k+1)], m.residue[4*k:4*k+4], 1, omega[k])
	}
}

// accumulate sets to = from + residue × scale × [1, q², q⁴, …; q, q³, …].
func accumulate(to, from, residue []float64, scale, q float64) {
	for i := range 4 {
		even, odd := residue[i]*scale, residue[i]*scale*q
		for n := range evenTerms {
			to[4*n+i] = from[4*n+i] + even
			even *= q * q
		}
		for n := evenTerms; n < evenTerms+oddTerms; n++ {
			to[4*n+i] = from[4*n+i] + odd
			odd *= q * q
		}
	}
}

// at adds all modes at w. With strengths it also returns Σ strength |1/(ω_k² − w² + 2jζω_k w)|
// over the modes from low up to high, those that have a division of their own.
func (m *modalSum) at(w, zeta float64, omega, strength []float64, p *plantValue) (sum float64, low, high int) {
	var re, im [4]float64
	low, high = 0, len(omega)
	w2 := w * w
	if zeta <= farDamping {
		for low < high && omega[low]*farRatio <= w {
			low++
		}
		for high > low && omega[high-1] >= w*farRatio {
			high--
		}
		if low > 0 {
			u := 1 / w
			farPart(m.below[farStride*low:farStride*(low+1)], u, -u*u, 2*zeta, &re, &im)
		}
		if high < len(omega) {
			farPart(m.above[farStride*high:farStride*(high+1)], w, 1, -2*zeta, &re, &im)
		}
	}
	b := 2 * zeta * w
	residue := m.residue[4*low : 4*high]
	for k, wk := range omega[low:high] {
		dr, di := wk*wk-w2, b*wk
		q := 1 / (dr*dr + di*di)
		dr *= q
		di *= -q
		r := residue[4*k : 4*k+4 : 4*k+4]
		re[0] += r[0] * dr
		im[0] += r[0] * di
		re[1] += r[1] * dr
		im[1] += r[1] * di
		re[2] += r[2] * dr
		im[2] += r[2] * di
		re[3] += r[3] * dr
		im[3] += r[3] * di
		if strength != nil {
			sum += strength[low+k] * math.Sqrt(q)
		}
	}
	for i := range p {
		p[i] = complex(re[i], im[i])
	}
	return sum, low, high
}

// farPart adds scale × [Σ c_n x^2n + j imaginary Σ (n+1) d_n x^(2n+1)].
func farPart(c []float64, x, scale, imaginary float64, re, im *[4]float64) {
	x2 := x * x
	odd := scale * imaginary * x
	c = c[:farStride]
	for i := range 4 {
		even := c[20+i]
		even = even*x2 + c[16+i]
		even = even*x2 + c[12+i]
		even = even*x2 + c[8+i]
		even = even*x2 + c[4+i]
		even = even*x2 + c[i]
		re[i] += scale * even
		im[i] += odd * ((3*c[32+i]*x2+2*c[28+i])*x2 + c[24+i])
	}
}
