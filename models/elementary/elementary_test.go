package elementary

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// bigExp is e^x to 200 bits: the Taylor series of x/2^20, squared twenty times.
func bigExp(x float64) *big.Float {
	const bits = 400
	r := new(big.Float).SetPrec(bits).SetFloat64(x)
	r.SetMantExp(r, -20)
	sum, term := big.NewFloat(1).SetPrec(bits), big.NewFloat(1).SetPrec(bits)
	for n := 1; n < 60; n++ {
		term.Mul(term, r)
		term.Quo(term, big.NewFloat(float64(n)))
		sum.Add(sum, term)
	}
	for range 20 {
		sum.Mul(sum, sum)
	}
	return sum
}

// lastPlaces is by how many units in the last place v differs from the exact value.
func lastPlaces(v float64, exact *big.Float) float64 {
	near, _ := exact.Float64()
	unit := math.Nextafter(near, math.Inf(1)) - near
	d := new(big.Float).SetPrec(400).SetFloat64(v)
	d.Sub(d, exact)
	d.Quo(d, big.NewFloat(unit))
	f, _ := d.Float64()
	return math.Abs(f)
}

func TestExp(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	worst := 0.0
	for i := range 20000 {
		x := (2*r.Float64() - 1) * 700
		switch i % 3 {
		case 1:
			x /= 700
		case 2:
			x = math.Ldexp(x, -r.IntN(60))
		}
		worst = max(worst, lastPlaces(Exp(x), bigExp(x)))
	}
	if t.Logf("at most %.3f units in the last place", worst); worst > 1 {
		t.Errorf("off by %.3f units in the last place", worst)
	}
	for x, want := range map[float64]float64{
		0: 1, math.Copysign(0, -1): 1, math.Inf(1): math.Inf(1), math.Inf(-1): 0, 710: math.Inf(1), -746: 0, 1e308: math.Inf(1),
		1: math.E,
	} {
		if got := Exp(x); got != want {
			t.Errorf("Exp(%g) = %g, want %g", x, got, want)
		}
	}
	if !math.IsNaN(Exp(math.NaN())) {
		t.Error("NaN")
	}
	// Near both ends, subnormal results among them, to one unit of the smallest number.
	for _, x := range []float64{709.7827128933, -708.5, -720, -740, -745.1} {
		near, _ := bigExp(x).Float64()
		if got := Exp(x); math.Abs(got-near) > 1.0001*(math.Nextafter(near, math.Inf(1))-near) {
			t.Errorf("Exp(%g) = %g, want %g", x, got, near)
		}
	}
}

// The two parts are ln 2 to more than a hundred bits.
func TestLn2(t *testing.T) {
	// ln 2 to 60 digits: OEIS A002162.
	exact, _, err := big.ParseFloat("0.693147180559945309417232121458176568075500134360255254120680", 10, 200, big.ToNearestEven)
	if err != nil {
		t.Fatal(err)
	}
	sum := new(big.Float).SetPrec(200).Add(big.NewFloat(ln2High), big.NewFloat(ln2Low))
	d, _ := new(big.Float).Sub(sum, exact).Float64()
	if math.Abs(d) > 1.3e-26 { // half the last place of ln2Low, 2^-86
		t.Errorf("off by %g", d)
	}
	if float64(perLn2) != float64(1/math.Ln2) {
		t.Error("1/ln 2")
	}
}

func TestPow(t *testing.T) {
	for _, c := range [][2]float64{{10, 3}, {0.9, -40}, {2, 0.5}, {1.7, 1.0 / 3}, {3e-4, 0.37}, {5, 0}, {1e5, -0.5}, {1.01, 1000}} {
		// math.Pow is another algorithm, good to a unit in the last place.
		if got, want := Pow(c[0], c[1]), math.Pow(c[0], c[1]); math.Abs(got/want-1) > 4e-16*(1+math.Abs(c[1]*math.Log(c[0]))) {
			t.Errorf("Pow(%g, %g) = %v, want %v", c[0], c[1], got, want)
		}
	}
	for _, x := range []float64{0, -1, math.Inf(1), math.NaN()} {
		if !math.IsNaN(Pow(x, 2)) {
			t.Errorf("Pow(%g, 2)", x)
		}
	}
}

// Moments of the normal distribution: 0, 1, 0, 3; and 95.45 % within two.
func TestNormal(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	const n = 400000
	var m [5]float64
	within := 0.0
	for range n {
		x := Normal(r)
		p := 1.0
		for k := range m {
			m[k] += p / n
			p *= x
		}
		if math.Abs(x) < 2 {
			within += 1.0 / n
		}
	}
	// Five standard errors: sqrt(Var(x^k)/n), of x^3 15, of x^4 96.
	for k, want := range map[int]float64{1: 0, 2: 1, 3: 0, 4: 3} {
		if se := math.Sqrt(map[int]float64{1: 1, 2: 2, 3: 15, 4: 96}[k] / n); math.Abs(m[k]-want) > 5*se {
			t.Errorf("moment %d: %g, want %g", k, m[k], want)
		}
	}
	if math.Abs(within-0.9544997) > 5*math.Sqrt(0.9545*0.0455/n) {
		t.Errorf("%g within two", within)
	}
}

func BenchmarkExp(b *testing.B) {
	x, sum := -3.0, 0.0
	for b.Loop() {
		sum += Exp(x)
		x += 1e-9
	}
	if sum < 0 {
		b.Fatal(sum)
	}
}

func BenchmarkStandardExp(b *testing.B) {
	x, sum := -3.0, 0.0
	for b.Loop() {
		sum += math.Exp(x)
		x += 1e-9
	}
	if sum < 0 {
		b.Fatal(sum)
	}
}
