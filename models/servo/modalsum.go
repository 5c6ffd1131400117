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
	below   []float64 // (modes+1 × farStride) sums over the modes before k, for k up to
	summed  int       // which grows as that is asked for
	near    window    // modes that had a division of their own last
}

// window is the modes from low up to high, where the search for the next begins.
type window struct{ low, high int }

// move returns the modes above one frequency and below another.
func (v *window) move(omega []float64, above, below float64) (low, high int) {
	low, high = min(v.low, len(omega)), min(v.high, len(omega))
	for low > 0 && omega[low-1] > above {
		low--
	}
	for low < len(omega) && omega[low] <= above {
		low++
	}
	for high > low && omega[high-1] >= below {
		high--
	}
	for high < len(omega) && omega[high] < below {
		high++
	}
	v.low, v.high = low, high
	return low, high
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
	m.summed = 0
}

// accumulate sets to = from + residue × scale × [1, q², q⁴, …; q, q³, …].
func accumulate(to, from, residue []float64, scale, q float64) {
	to, from = to[:farStride], from[:farStride]
	a, b, c, d := residue[0], residue[1], residue[2], residue[3]
	x := scale
	for n := 0; n < farStride; n += 4 {
		if n == 4*evenTerms {
			x = scale * q
		}
		t, f := to[n:n+4:n+4], from[n:n+4:n+4]
		t[0], t[1], t[2], t[3] = f[0]+a*x, f[1]+b*x, f[2]+c*x, f[3]+d*x
		x *= q * q
	}
}

// at adds all modes at w. With strengths it also returns no less than Σ strength |1/(ω_k² − w² + 2jζω_k w)|
// over the modes from low up to high, those that have a division of their own.
func (m *modalSum) at(w, zeta float64, omega, strength []float64, p *plantValue) (sum float64, low, high int) {
	var re, im [4]float64
	low, high = 0, len(omega)
	w2 := w * w
	if zeta <= farDamping {
		low, high = m.near.move(omega, w/farRatio, w*farRatio)
		if low > 0 {
			for ; m.summed < low; m.summed++ {
				k := m.summed
				accumulate(m.below[farStride*(k+1):farStride*(k+2)], m.below[farStride*k:farStride*(k+1)], m.residue[4*k:4*k+4], 1, omega[k])
			}
			u := 1 / w
			farPart(m.below[farStride*low:farStride*(low+1)], u, -u*u, 2*zeta, &re, &im)
		}
		if high < len(omega) {
			farPart(m.above[farStride*high:farStride*(high+1)], w, 1, -2*zeta, &re, &im)
		}
	}
	b := 2 * zeta * w
	residue := m.residue[4*low : 4*high]
	re0, re1, re2, re3 := re[0], re[1], re[2], re[3]
	im0, im1, im2, im3 := im[0], im[1], im[2], im[3]
	if strength != nil {
		strength = strength[low:high]
	}
	for k, wk := range omega[low:high] {
		dr, di := wk*wk-w2, b*wk
		q := 1 / (dr*dr + di*di)
		dr *= q
		di *= q
		r := residue[4*k : 4*k+4 : 4*k+4]
		re0 += r[0] * dr
		im0 -= r[0] * di
		re1 += r[1] * dr
		im1 -= r[1] * di
		re2 += r[2] * dr
		im2 -= r[2] * di
		re3 += r[3] * dr
		im3 -= r[3] * di
		if k < len(strength) {
			sum += strength[k] * (math.Abs(dr) + di)
		}
	}
	*p = plantValue{complex(re0, im0), complex(re1, im1), complex(re2, im2), complex(re3, im3)}
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
