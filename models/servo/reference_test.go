package servo

import (
	"bufio"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"
)

// referencePlant reads testdata/four_arm_modes.csv.
func referencePlant(t testing.TB) *Plant {
	t.Helper()
	f, err := os.Open("testdata/four_arm_modes.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	p := NewPlant(9, 39)
	for in := bufio.NewScanner(f); in.Scan(); {
		if strings.HasPrefix(in.Text(), "#") {
			continue
		}
		var v [9]float64
		for i, text := range strings.Split(in.Text(), ",") {
			if v[i], err = strconv.ParseFloat(text, 64); err != nil {
				t.Fatal(err)
			}
		}
		pose := int(v[0])
		switch { // the file has the centre fifth
		case pose == 4:
			pose = 0
		case pose < 4:
			pose++
		}
		n := pose*39 + int(v[1])
		p.Omega[n] = v[2]
		copy(p.Force[2*n:], v[3:5])
		copy(p.Arm[2*n:], v[3:5])
		copy(p.Stage[2*n:], v[5:7])
		copy(p.Floor[2*n:], v[7:9])
	}
	return p
}

func mustLoop(t testing.TB, s Settings, poses, modes, sets int) *Loop {
	t.Helper()
	l, err := NewLoop(s, poses, modes, sets)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// The reference assembly at ±5 mm, ζ 0.002, τ 150 µs. The figures come from a scan in
// NumPy over 400 crossovers with the responses of all modes at nine poses and three
// scales (planar.py, xy3d.py, and the loop template in loop.py): the scan's steps are
// 1.2 %.
func TestReferenceAssembly(t *testing.T) {
	p := referencePlant(t)
	for _, c := range []struct {
		sensor Sensor
		hz     float64
	}{{SensorStage, 14.8}, {SensorSplit, 33.6}, {SensorArm, 12.4}} {
		s := Default()
		s.Sensor = c.sensor
		l := mustLoop(t, s, 9, 39, 1)
		r := l.Crossover(p)
		t.Logf("%v: %+v", c.sensor, r)
		if math.Abs(r.Hz/c.hz-1) > 0.012 {
			t.Errorf("sensor %v: %.3f Hz, want %.3f", c.sensor, r.Hz, c.hz)
		}
		// The definition asks for 0.1 %; above, the plain implementation must find
		// nothing either.
		slow := newPlain(s, p)
		if !slow.holds(2 * math.Pi * r.Hz * 0.999) {
			t.Errorf("sensor %v: plain implementation refuses %.4f Hz", c.sensor, r.Hz*0.999)
		}
		for f := r.Hz * 1.001; f < s.Ceiling; f *= 1.06 {
			if slow.holds(2 * math.Pi * f) {
				t.Errorf("sensor %v: plain implementation accepts %.4f Hz", c.sensor, f)
			}
		}
	}
}

// Looking near a place and sweeping the whole case must give the same values to the
// bit: otherwise a crossover at the limit is refused by one and not by the other, and
// the search creeps.
func TestLookAgreesWithSweep(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 7))
	compared := 0
	for n := range 60 {
		s := Default()
		s.Sensor = Sensor(n % int(numSensor))
		l := mustLoop(t, s, 2, 10, 1)
		r := l.Crossover(randomPlant(rng, 2, 10))
		for _, hz := range []float64{r.Hz, r.Above, 1.02 * r.Above, 1.3 * r.Above} {
			tr, ok := l.trial(2 * math.Pi * hz)
			if hz == 0 || !ok {
				continue
			}
			for number := range l.inUse {
				c := &l.cases[number]
				whole := finding{limit2: l.limit2, whole: true}
				if l.sweep(c, &tr, &whole); whole.index < 0 {
					continue
				}
				compared++
				near := finding{limit2: l.limit2, whole: true}
				if l.look(c, &tr, whole.index, &near); near.peak != whole.peak {
					t.Errorf("plant %d, %g Hz, case %d: |S|² %.9g in a sweep, %.9g near the place", n, hz, number, whole.peak, near.peak)
				}
			}
		}
	}
	if compared < 100 {
		t.Errorf("only %d places compared", compared)
	}
}

// After the first candidate nothing is allocated, and the answer does not depend on
// what was evaluated before.
func TestNoAllocation(t *testing.T) {
	p := referencePlant(t)
	other := NewPlant(9, 39)
	*other = *p
	other.Omega = append([]float64(nil), p.Omega...)
	for i := range other.Omega {
		other.Omega[i] *= 1.3
	}
	l := mustLoop(t, Default(), 9, 39, 1)
	first := l.Crossover(p)
	l.Crossover(other)
	if again := l.Crossover(p); again != first {
		t.Errorf("%+v, then %+v", first, again)
	}
	if n := testing.AllocsPerRun(3, func() { l.Crossover(p); l.Margins(first.Hz) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

// The rule "lowest unwanted mode divided by three", taken at the centre as usual,
// gives 22 Hz for the reference assembly. At the centre such a loop holds with |S|
// below 1.7; at each of the eight other poses it is unstable, because the guide
// bodies' modes, hidden at the centre by symmetry, couple in there.
func TestModeRuleOverlooksPoses(t *testing.T) {
	p := referencePlant(t)
	unwanted := p.Omega[2] / (2 * math.Pi) // the first two modes are the wanted ones
	hz := ModeRule(unwanted, 3)
	l := mustLoop(t, Default(), 9, 39, 1)
	l.Prepare(p)
	tr, _ := l.trial(2 * math.Pi * hz)
	reason := func(pose int) Reason {
		f := finding{limit2: l.limit2, whole: true}
		l.sweep(&l.cases[pose], &tr, &f)
		return f.reason
	}
	if hz < 22 || reason(0) != Ceiling {
		t.Errorf("centre at %.1f Hz: %v", hz, reason(0))
	}
	unstable := 0
	for pose := range 9 {
		if r := reason(pose); r == UnstableAlone || r == UnstableCoupled {
			unstable++
		}
	}
	if unstable != 8 {
		t.Errorf("%d poses unstable at %.1f Hz", unstable, hz)
	}
	if r := l.Crossover(p); r.Hz > hz || r.Pose == 0 {
		t.Errorf("bandwidth %+v, rule %.1f Hz", r, hz)
	}
}

func BenchmarkBandwidthReference(b *testing.B) {
	p := referencePlant(b)
	for _, sensor := range []Sensor{SensorStage, SensorSplit, SensorArm} {
		b.Run(sensor.String(), func(b *testing.B) {
			s := Default()
			s.Sensor = sensor
			l := mustLoop(b, s, 9, 39, 1)
			b.ReportAllocs()
			for b.Loop() {
				l.Crossover(p)
			}
		})
	}
}
