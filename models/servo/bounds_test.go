package servo

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// What columns say of an interval holds at points between: no |1 + L| of an axis alone is less than it says, no return difference turns otherwise than from
// end to end the short way, and where it says so, none crosses the real axis left of the origin. With rigid bodies, strong modes, much damping, long
// delays and scales far apart.
func TestColumnsBoundTurns(t *testing.T) {
	rng := rand.New(rand.NewPCG(81, 2))
	settled := 0
	for n := range 40 {
		modes := 2 + rng.IntN(9)
		p := randomPlant(rng, 1, modes)
		switch n % 4 {
		case 1:
			p.Omega[0], p.Omega[1] = 0, 0
		case 2:
			for i := 4; i < len(p.Stage); i++ {
				p.Stage[i] *= 10 + 20*rng.Float64()
				p.Force[i] *= 3
			}
		}
		s := Default()
		s.Damping = []float64{0.002, 0.0003, 0.05, 0.2, 0.01}[n%5]
		s.Delay = []float64{0, 1e-4, 3e-3, 0.05}[n%4]
		s.Scales = [][]float64{{1, 0.97, 1.03}, {1.2, 0.8}, {0.5, 2, 1}, {1, 1.01}}[rng.IntN(4)]
		s.LeadRatio = []float64{3, 0, 10}[rng.IntN(3)]
		if rng.IntN(3) == 0 {
			s.LowPassRatio = math.Inf(1)
		}
		l := mustLoop(t, s, 1, modes, 1)
		l.Prepare(p)
		for k := range 6 {
			tr, ok := l.trial(2 * math.Pi * math.Exp(rng.Float64()*math.Log(300)))
			if !ok {
				continue
			}
			together := k%2 == 0
			number := l.middle(&l.cases[0])
			if !together {
				number = rng.IntN(len(s.Scales))
			}
			c := &l.cases[number]
			l.begin(c, &tr, []float64{4, half, 2, 100}[rng.IntN(4)])
			l.judgePoints(1, c.r.n-1, together)
			for i := 1; i < c.r.n; i++ {
				verdict, least := l.columns.verdict[i], [2]float64{l.columns.least[0][i], l.columns.least[1][i]}
				if verdict == 2 {
					continue
				}
				settled++
				for at := range l.cases[:len(s.Scales)] {
					if own := &l.cases[at]; together || at == number {
						turnsAsChord(t, l, own, &tr, i, least, verdict == 0 && at == number)
					}
				}
			}
		}
	}
	if settled < 3000 {
		t.Errorf("%d intervals settled at once", settled)
	}
}

func turnsAsChord(t *testing.T, l *Loop, c *loopCase, tr *trial, i int, least [2]float64, apart bool) {
	t.Helper()
	const parts = 9
	of := func(n *node) [3]complex128 { return [3]complex128{n.x, n.y, n.det} }
	var first, last [3]complex128
	var turned [3]float64
	for q := range parts + 1 {
		var m node
		l.nodeAt(c, c.r.w[i-1]+float64(q)/parts*(c.r.w[i]-c.r.w[i-1]), tr, &m)
		is := of(&m)
		for axis, least := range least {
			if d := cmplx.Abs(is[axis]); d < least*(1-1e-9) {
				t.Fatalf("interval %d, scale %g: |1 + L| is %g, bound %g", i, c.scale, d, least)
			}
		}
		if q == 0 {
			first = is
		} else {
			for k := range is {
				turned[k] += cmplx.Phase(is[k] / last[k])
			}
		}
		last = is
	}
	for k := range turned {
		if off := math.Abs(turned[k] - cmplx.Phase(last[k]/first[k])); off > 1e-6 {
			t.Fatalf("interval %d, scale %g: return difference %d turns by %g rad", i, c.scale, k, turned[k])
		}
		if apart && math.Signbit(imag(first[k])) != math.Signbit(imag(last[k])) && real(first[k]) < 0 && real(last[k]) < 0 {
			t.Fatalf("interval %d, scale %g: return difference %d crosses the real axis", i, c.scale, k)
		}
	}
}

// A search that goes on below an end that was judged completely says of the next that it is not.
func TestSearchForgetsJudgement(t *testing.T) {
	p := frontPlants(t, 1)[0]
	l := mustLoop(t, Default(), p.Poses, p.Modes, 1)
	l.Prepare(p)
	var s search
	s.begin(&l.fine, l.fine.wc[0])
	if top, _ := l.trial(s.above); l.holds(&top) {
		t.Fatal("the ceiling holds")
	}
	s.judged = true
	if !l.descend(&s, 0) || s.judged {
		t.Errorf("%+v is taken as judged", s.good)
	}
}
