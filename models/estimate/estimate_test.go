package estimate

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// Certified values of the Statistical Reference Datasets for nonlinear regression,
// National Institute of Standards and Technology: Misra1a (Misra, 1978), DanWood (Daniel
// and Wood, 1980), MGH09 (Kowalik and Osborne, 1978), each from its second start. They
// have no priors: ours are a million of the certified standard deviations about the
// start, which moves nothing by more than 1e-12 of it.
var certified = []struct {
	name            string
	x, y            []float64
	model           func(b []float64, x float64) float64
	start, b, sigma []float64
	sumOfSquares    float64
}{
	{"Misra1a",
		[]float64{77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0},
		[]float64{10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78},
		func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
		[]float64{250, 0.0005}, []float64{2.3894212918e+02, 5.5015643181e-04}, []float64{2.7070075241e+00, 7.2668688436e-06}, 1.2455138894e-01},
	{"DanWood",
		[]float64{1.309, 1.471, 1.490, 1.565, 1.611, 1.680},
		[]float64{2.138, 3.421, 3.597, 4.340, 4.882, 5.660},
		func(b []float64, x float64) float64 { return b[0] * math.Pow(x, b[1]) },
		[]float64{0.7, 4}, []float64{7.6886226176e-01, 3.8604055871e+00}, []float64{1.8281973860e-02, 5.1726610913e-02}, 4.3173084083e-03},
	{"MGH09",
		[]float64{4, 2, 1, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625},
		[]float64{0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246},
		func(b []float64, x float64) float64 { return b[0] * (x*x + x*b[1]) / (x*x + x*b[2] + b[3]) },
		[]float64{0.25, 0.39, 0.415, 0.39}, []float64{1.9280693458e-01, 1.9128232873e-01, 1.2305650693e-01, 1.3606233068e-01},
		[]float64{1.1435312227e-02, 1.9633220911e-01, 8.0842031232e-02, 9.0025542308e-02}, 3.0750560385e-04},
}

func TestCertified(t *testing.T) {
	for _, c := range certified {
		n, m := len(c.b), len(c.y)
		deviation := math.Sqrt(c.sumOfSquares / float64(m-n))
		p := &Problem{Value: c.y, Predict: func(x, out []float64) bool {
			b := make([]float64, n)
			for k := range b {
				b[k] = c.start[k] + x[k]
			}
			for i := range out {
				out[i] = c.model(b, c.x[i])
			}
			return true
		}}
		for k := range n {
			p.Prior = append(p.Prior, 1e6*c.sigma[k])
			p.Step = append(p.Step, 1e-4*c.sigma[k])
		}
		for range m {
			p.Sigma = append(p.Sigma, deviation)
		}
		r, err := Solve(p)
		if err != nil {
			t.Fatal(c.name, err)
		}
		if !r.Settled {
			t.Errorf("%s: not settled after %d steps", c.name, r.Steps)
		}
		sum := 0.0
		for i := range m {
			sum += r.Residual[i] * r.Residual[i] * deviation * deviation
		}
		if math.Abs(sum/c.sumOfSquares-1) > 1e-9 {
			t.Errorf("%s: sum of squares %.11g, certified %.11g", c.name, sum, c.sumOfSquares)
		}
		for k := range n {
			// Derivatives by differences: 1e-6 of a standard deviation
			if b := c.start[k] + r.X[k]; math.Abs(b-c.b[k]) > 1e-6*c.sigma[k] {
				t.Errorf("%s: b%d = %.11g, certified %.11g", c.name, k+1, b, c.b[k])
			}
			if math.Abs(r.Sigma(k)/c.sigma[k]-1) > 1e-6 {
				t.Errorf("%s: standard deviation of b%d %.11g, certified %.11g", c.name, k+1, r.Sigma(k), c.sigma[k])
			}
		}
	}
}

// A straight line, where the posterior is known in closed form: information adds.
func TestLinear(t *testing.T) {
	at := []float64{-1, 0.5, 2, 3}
	p := &Problem{Prior: []float64{2, 0.5}, Value: []float64{0.3, 1.1, 1.9, 3.2}, Sigma: []float64{0.1, 0.2, 0.1, 0.4},
		Predict: func(x, out []float64) bool {
			for i := range out {
				out[i] = x[0] + x[1]*at[i]
			}
			return true
		}}
	r, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	// normal equations by hand
	a, b, d := 1/4.0, 0.0, 1/0.25
	var u, v float64
	for i, x := range at {
		w := 1 / (p.Sigma[i] * p.Sigma[i])
		a, b, d, u, v = a+w, b+w*x, d+w*x*x, u+w*p.Value[i], v+w*x*p.Value[i]
	}
	det := a*d - b*b
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"x0", r.X[0], (d*u - b*v) / det}, {"x1", r.X[1], (a*v - b*u) / det},
		{"variance of x0", r.Covariance[0], d / det}, {"variance of x1", r.Covariance[3], a / det}, {"covariance", r.Covariance[1], -b / det},
	} {
		if math.Abs(c.got-c.want) > 1e-9 {
			t.Errorf("%s: %.12g, by hand %.12g", c.what, c.got, c.want)
		}
	}
	// One more measurement of what is there already: y at 10, uncertainty 0.3.
	open, ratio := r.Shrink([]float64{2 / 0.3, 0.5 * 10 / 0.3})
	w := 1 / 0.09
	a2, b2, d2 := a+w, b+10*w, d+100*w
	if want := math.Sqrt(d2 / (a2*d2 - b2*b2) / (d / det)); math.Abs(ratio[0]-want) > 1e-9 {
		t.Errorf("x0 shrinks to %.9g of before, by hand %.9g", ratio[0], want)
	}
	if want := w * (d + 2*10*-b + 100*a) / det; math.Abs(open-want) > 1e-9*want {
		t.Errorf("open part %.9g, by hand %.9g", open, want)
	}
}

// Chi-square beyond a value, against the 5 % points of the table in M. Abramowitz, I. A.
// Stegun, Handbook of Mathematical Functions, table 26.8.
func TestChiSquare(t *testing.T) {
	for _, c := range []struct {
		k int
		x float64
	}{{1, 3.84146}, {2, 5.99147}, {5, 11.0705}, {10, 18.3070}, {30, 43.7729}, {100, 124.342}} {
		if p := ChiSquareBeyond(c.x, c.k); math.Abs(p-0.05) > 1e-6 {
			t.Errorf("%d degrees of freedom, %g: %.7f, table 0.05", c.k, c.x, p)
		}
	}
}

// Two thousand drawn parts of a model that bends a little: intervals cover as they say,
// nothing is biased, chi-square has its distribution. The 95 % interval covers 1,900 of
// 2,000 with a standard deviation of 9.7: 93.5 to 96.5 % are three of them.
func TestCoverage(t *testing.T) {
	const parts, n, m = 2000, 4, 9
	rng := rand.New(rand.NewPCG(3, 4))
	design := make([]float64, m*n)
	for i := range design {
		design[i] = rng.NormFloat64()
	}
	p := &Problem{Prior: []float64{5, 0.01, 0.3, 2}, Value: make([]float64, m), Sigma: make([]float64, m)}
	p.Predict = func(x, out []float64) bool {
		for i := range out {
			sum := 1.0
			for k := range n {
				sum += 0.01 * design[i*n+k] * x[k] / p.Prior[k]
			}
			out[i] = sum * sum * sum // as stiffness over thickness
		}
		return true
	}
	for i := range p.Sigma {
		p.Sigma[i] = 0.01 * (1 + float64(i%3))
	}
	var covered [n]int
	var mean, square [n]float64
	var probability []float64
	truth := make([]float64, n)
	for range parts {
		for k := range truth {
			truth[k] = p.Prior[k] * rng.NormFloat64()
		}
		p.Predict(truth, p.Value)
		for i := range p.Value {
			p.Value[i] += p.Sigma[i] * rng.NormFloat64()
		}
		r, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		for k := range truth {
			e := (r.X[k] - truth[k]) / r.Sigma(k)
			mean[k], square[k] = mean[k]+e/parts, square[k]+e*e/parts
			if math.Abs(e) <= 1.959964 {
				covered[k]++
			}
		}
		probability = append(probability, r.Probability)
	}
	for k := range n {
		if share := float64(covered[k]) / parts; share < 0.935 || share > 0.965 {
			t.Errorf("unknown %d: the interval of 95 %% covers %.1f %%", k, 100*share)
		}
		if math.Abs(mean[k]) > 3/math.Sqrt(parts) {
			t.Errorf("unknown %d: mean error of %.3f standard deviations, sampling allows %.3f", k, mean[k], 3/math.Sqrt(parts))
		}
	}
	// Kolmogorov and Smirnov: the largest distance exceeds 1.63/√N by chance in 1 % (N. V.
	// Smirnov, Ann. Math. Statist. 19, 1948).
	slices.Sort(probability)
	distance := 0.0
	for i, q := range probability {
		distance = max(distance, math.Abs(q-float64(i)/parts), math.Abs(q-float64(i+1)/parts))
	}
	if most := 1.63 / math.Sqrt(parts); distance > most {
		t.Errorf("chi-square's probability is %.4f from uniform, more than %.4f", distance, most)
	}
}

// Only the product of the first two is seen, the third alone, the fourth not at all.
func TestWeak(t *testing.T) {
	p := &Problem{Prior: []float64{4, 0.02, 1, 7}, Value: []float64{0.1, 0.3, 0.5}, Sigma: []float64{0.01, 0.01, 0.05},
		Predict: func(x, out []float64) bool {
			product := (1+0.1*x[0]/4)*(1+0.2*x[1]/0.02) - 1
			out[0], out[1], out[2] = product, 3*product, x[2]
			return true
		}}
	r, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	w := r.Weak()
	if !slices.Equal(w.Unseen, []int{3}) || len(w.Groups) != 1 || !slices.Equal(w.Groups[0], []int{0, 1}) || len(w.Mixed) != 1 {
		t.Fatalf("unseen %v, groups %v, mixed %v", w.Unseen, w.Groups, w.Mixed)
	}
	// Along it the product stays: the second, twice as strong, changes by half as many
	// standard deviations, the other way.
	v := w.Mixed[0]
	if slope := (1 + 0.2*r.X[1]/0.02) / (1 + 0.1*r.X[0]/4); math.Abs(v[0]-4) > 1e-9 || math.Abs(v[1]/(-0.02*0.5*slope)-1) > 0.01 {
		t.Errorf("%v", v)
	}
}

// A measurement far off is the outlier, and no other one.
func TestOutlier(t *testing.T) {
	p := &Problem{Prior: []float64{10}, Predict: func(x, out []float64) bool {
		for i := range out {
			out[i] = x[0]
		}
		return true
	}}
	for i := range 12 {
		p.Value, p.Sigma = append(p.Value, 3+0.1*math.Sin(float64(7*i))), append(p.Sigma, 0.1)
	}
	p.Value[5] += 1
	r, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	var said []string
	for i := range p.Value {
		if r.Outlier(i) {
			said = append(said, string(rune('a'+i)))
		}
	}
	if strings.Join(said, "") != "f" || r.Probability > 1e-4 {
		t.Errorf("outliers %v, probability %g", said, r.Probability)
	}
}

// Two minima: the starts find both, and the lower one is the answer.
func TestStarts(t *testing.T) {
	p := &Problem{Prior: []float64{1}, Starts: 6, Value: []float64{1}, Sigma: []float64{0.05},
		Predict: func(x, out []float64) bool { out[0] = (x[0] - 0.2) * (x[0] - 0.2); return true }}
	r, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	// At -0.8 and 1.2 the measurement is met, and the priors differ by 1.2² - 0.8².
	if len(r.Others) != 1 || math.Abs(r.X[0]+0.8) > 0.05 || math.Abs(r.Others[0]-0.8) > 0.05 {
		t.Errorf("other minima %v, the answer %g", r.Others, r.X[0])
	}
}

func TestNoPrediction(t *testing.T) {
	p := &Problem{Prior: []float64{1}, Value: []float64{1}, Sigma: []float64{1}, Predict: func(x, out []float64) bool { return false }}
	if _, err := Solve(p); err == nil {
		t.Error("no error")
	}
}
