package objective

import (
	"math"

	"flexwright/models/elementary"
)

// confidence of the intervals beside tails and shares.
const confidence = 0.95

// exactly is the probability of k of n successes of probability p each, 0 < p < 1.
func exactly(k, n int, p float64) float64 {
	a, _ := math.Lgamma(float64(n + 1))
	b, _ := math.Lgamma(float64(k + 1))
	c, _ := math.Lgamma(float64(n - k + 1))
	return elementary.Exp(a - b - c + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
}

// binomial is the probability of at most k of them.
func binomial(k, n int, p float64) float64 {
	if k >= n {
		return 1
	}
	sum := 0.0
	for i := 0; i <= k; i++ {
		sum += exactly(i, n, p)
	}
	return min(sum, 1)
}

// QuantileRanks returns the ranks, from 1, of the order statistics of n samples between
// which the quantile of a share lies with at least 95 % confidence, whatever the
// distribution: P(low <= B < high) with B binomial (H. A. David, H. N. Nagaraja, Order
// Statistics, 3rd ed., 2003, section 7.1). Of all such pairs it is the one with the
// fewest samples between, of these the one nearest to 95 %. low is 0 and high n+1 where
// no sample bounds it.
func QuantileRanks(share float64, n int) (low, high int) {
	// below[k] is P(B < k), k from 0 to n+1
	below := make([]float64, n+2)
	for k := range n {
		below[k+1] = below[k] + exactly(k, n, share)
	}
	below[n+1] = 1
	low, high = 0, n+1
	best, h := 1.0, 1
	for l := 0; l <= n; l++ {
		for h = max(h, l+1); h <= n+1 && below[h]-below[l] < confidence; h++ {
		}
		if h > n+1 {
			break
		}
		if p := below[h] - below[l]; h-l < high-low || h-l == high-low && p < best {
			low, high, best = l, h, p
		}
	}
	return low, high
}

// ShareInterval returns the interval of C. J. Clopper and E. S. Pearson (The use of
// confidence or fiducial limits illustrated in the case of the binomial, Biometrika 26,
// 1934) of the probability of which k of n trials came true, with 95 % confidence.
func ShareInterval(k, n int) (low, high float64) {
	const beyond = (1 - confidence) / 2
	solve := func(exceeds func(p float64) bool) float64 {
		a, b := 0.0, 1.0
		for range 60 {
			if m := 0.5 * (a + b); exceeds(m) {
				b = m
			} else {
				a = m
			}
		}
		return 0.5 * (a + b)
	}
	high = 1
	if k > 0 {
		low = solve(func(p float64) bool { return 1-binomial(k-1, n, p) > beyond })
	}
	if k < n {
		high = solve(func(p float64) bool { return binomial(k, n, p) < beyond })
	}
	return low, high
}
