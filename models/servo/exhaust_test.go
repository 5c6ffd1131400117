package servo

import (
	"math"
	"math/rand/v2"
	"testing"
)

// exhaust is [Loop.Tune] the long way: every shape is judged completely by a loop of its own, and the rule taken by its words.
func exhaust(t *testing.T, s Settings, p *Plant) (list []Tuned, best int) {
	t.Helper()
	shapes := append([]Shape{s.Shape()}, s.Shapes...)
	s.Shapes = nil
	l := mustLoop(t, s, p.Poses, p.Modes, 1)
	for i, c := range shapes {
		l.Use(c)
		l.Prepare(p)
		var one search
		one.begin([]*ladder{&l.fine, &l.coarse}[min(i, 1)], l.fine.wc[0])
		tuned := Tuned{Shape: c}
		if top, _ := l.trial(one.above); l.holds(&top) {
			tuned.Hz = s.Ceiling
		} else {
			for l.descend(&one, 0) {
				if l.proves(&one) {
					tuned.Hz = one.good / (2 * math.Pi)
					break
				}
			}
		}
		if tuned.Hz > 0 {
			tuned.Bandwidth, tuned.ClosedLoop, _ = l.Frequencies(tuned.Hz)
		}
		list = append(list, tuned)
	}
	return list, byWords(list, s.BandwidthFirst)
}

// byWords is the rule of [Loop.Tune] by its words, the settings' own shape first; −1 where none has a crossover.
func byWords(list []Tuned, bandwidthFirst bool) (best int) {
	follows := func(c *Tuned) bool { return c.ClosedLoop >= c.Bandwidth && !bandwidthFirst }
	following, largest := false, 0.0
	for i := range list {
		following = following || list[i].Hz > 0 && list[i].Bandwidth >= list[0].Bandwidth && follows(&list[i])
	}
	ok := func(c *Tuned) bool {
		return c.Hz > 0 && c.Bandwidth >= list[0].Bandwidth && (!following || follows(c))
	}
	for i := range list {
		if ok(&list[i]) {
			largest = max(largest, list[i].Bandwidth)
		}
	}
	best = -1
	for i := range list {
		c := &list[i]
		if !ok(c) || c.Bandwidth < alike*largest {
			continue
		}
		if best < 0 || c.ClosedLoop > list[best].ClosedLoop || c.ClosedLoop == list[best].ClosedLoop && c.Shape.Integrator < list[best].Shape.Integrator {
			best = i
		}
	}
	return best
}

// Branch and bound finds what the long way does, on designs of a front and on plants that are nothing like a stage. Where both shapes are as good to 1e-5, either will do.
func TestTuneAgainstExhausting(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 5))
	plants := frontPlants(t, 1)
	designs := len(plants)
	for range 60 {
		plants = append(plants, randomPlant(rng, 3, 6))
	}
	chosen, narrow, falling := map[Shape]int{}, 0, 0
	for i, p := range plants {
		s := Default()
		s.Shapes = ShapeList[1:]
		s.BandwidthFirst = i%4 == 3
		l := mustLoop(t, s, p.Poses, p.Modes, 1)
		got := l.Tune(p)
		list, best := exhaust(t, s, p)
		if best < 0 {
			if got.Hz != 0 {
				t.Errorf("plant %d: %+v, none the long way", i, got)
			}
			continue
		}
		want := &list[best]
		chosen[want.Shape]++
		same := func(a, b, to float64) bool { return a == b || math.Abs(a-b) <= to*b }
		if got.Shape == want.Shape && same(got.Hz, want.Hz, 3e-5) && same(got.Bandwidth, want.Bandwidth, 3e-5) && same(got.ClosedLoop, want.ClosedLoop, 1e-4) {
			continue
		}
		// a good range narrower than a step may be found by one and passed over by the other; and of what is nothing like a stage bandwidths may fall
		// where the crossover grows
		falls := false
		for k := range list {
			c := &l.shapes[k]
			falls = falls || !c.held && (list[k].Bandwidth > c.bandwidth/(2*math.Pi)*(1+1e-4) || list[k].ClosedLoop > c.closed/(2*math.Pi)*(1+1e-4))
		}
		switch {
		case falls && i >= designs:
			falling++
		case narrowRange(t, s, p, &got) || narrowRange(t, s, p, want):
			narrow++
		default:
			t.Errorf("plant %d: %+v\nthe long way %+v\n%+v", i, got, *want, list)
		}
	}
	t.Logf("%v; %d otherwise in ranges narrower than a step, %d with bandwidths that fall", chosen, narrow, falling)
	if len(chosen) < 4 || narrow+falling > len(plants)/20 {
		t.Errorf("%v were chosen; %d otherwise in ranges narrower than a step, %d with bandwidths that fall", chosen, narrow, falling)
	}
}

// narrowRange reports whether the crossover of a shape holds, but not a step of the ladder below it.
func narrowRange(t *testing.T, s Settings, p *Plant, c *Tuned) bool {
	step := 4 * s.Step
	if c.Shape == s.Shape() {
		step = s.Step
	}
	s.Shapes = nil
	l := mustLoop(t, s, p.Poses, p.Modes, 1)
	l.Use(c.Shape)
	l.Prepare(p)
	at, _ := l.trial(2 * math.Pi * c.Hz)
	below, _ := l.trial(2 * math.Pi * c.Hz / (1 + step))
	return l.holds(&at) && !l.holds(&below)
}
