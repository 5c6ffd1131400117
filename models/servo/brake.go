package servo

import "slices"

// addLocked adds to the peaks the frequencies of the modes with both arms locked,
// which the modes turn into, lightly damped again, when the actuators brake far beyond
// critical.
//
// Locking the arms leaves N − n₋ modes below w, N the number of free modes below w and
// n₋ that of negative eigenvalues of the undamped response of the arms, P_aa(w):
// between two free modes n₋ falls by one at each locked one.
func (r *response) addLocked() {
	modes := r.omega
	for k := 0; k+1 < len(modes); k++ {
		a, b := modes[k]*(1+1e-7), modes[k+1]*(1-1e-7)
		if a >= b {
			continue
		}
		from, to := r.negativeArms(a), r.negativeArms(b)
		for n := from - 1; n >= to; n-- { // where n₋ falls to n
			low, high := a, b
			for high-low > 0.1*r.zeta*low {
				if m := 0.5 * (low + high); r.negativeArms(m) <= n {
					high = m
				} else {
					low = m
				}
			}
			r.peaks = append(r.peaks, high)
		}
	}
	slices.Sort(r.peaks)
}

// negativeArms counts the negative eigenvalues of Σ in inᵀ/(ω_k² − w²), in the arms'
// shapes along x and y.
func (r *response) negativeArms(w float64) int {
	var xx, xy, yy float64
	for k, wk := range r.omega {
		q := 1 / ((wk - w) * (wk + w))
		x, y := r.force[2*k], r.force[2*k+1]
		xx += x * x * q
		xy += x * y * q
		yy += y * y * q
	}
	switch {
	case xx*yy < xy*xy:
		return 1
	case xx+yy < 0:
		return 2
	}
	return 0
}

// braked returns (I + jωc P_aa)⁻¹, by which the damping c of the actuators multiplies
// the plant from the right: of the force commanded, what is left for the stage.
func (r *response) braked(w float64, arm *plantValue) plantValue {
	c := complex(0, w*r.brake)
	x, y := 1+c*arm[0], 1+c*arm[3]
	det := x*y - c*c*arm[1]*arm[2]
	q := 1 / square(det)
	inv := complex(real(det)*q, -imag(det)*q)
	return plantValue{y * inv, -c * arm[1] * inv, -c * arm[2] * inv, x * inv}
}

// times is the product of two 2×2 matrices.
func (p *plantValue) times(m *plantValue) plantValue {
	return plantValue{
		p[0]*m[0] + p[1]*m[2], p[0]*m[1] + p[1]*m[3],
		p[2]*m[0] + p[3]*m[2], p[2]*m[1] + p[3]*m[3],
	}
}
