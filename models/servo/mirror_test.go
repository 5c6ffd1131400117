package servo

import "testing"

// Of poses that are alike but for rounding the first is named, whichever rounding makes worse.
func TestFirstOfMirroredPoses(t *testing.T) {
	tried := 0
	for _, p := range frontPlants(t, 1) {
		s := Default()
		l := mustLoop(t, s, p.Poses, p.Modes, 1)
		r := l.Crossover(p)
		if r.Pose == 0 {
			continue
		}
		tried++
		for _, worse := range []int{1, 2, 3} {
			q := NewPlant(4, p.Modes)
			for pose, of := range []int{0, r.Pose, r.Pose, r.Pose} {
				copy(q.Omega[pose*p.Modes:], p.Omega[of*p.Modes:(of+1)*p.Modes])
				copy(q.Force[2*pose*p.Modes:], p.Force[2*of*p.Modes:2*(of+1)*p.Modes])
				copy(q.Arm[2*pose*p.Modes:], p.Arm[2*of*p.Modes:2*(of+1)*p.Modes])
				copy(q.Stage[2*pose*p.Modes:], p.Stage[2*of*p.Modes:2*(of+1)*p.Modes])
			}
			for k := range 2 * p.Modes {
				q.Stage[2*worse*p.Modes+k] *= 1 + 1e-12
				q.Arm[2*worse*p.Modes+k] *= 1 + 1e-12
			}
			m := mustLoop(t, s, q.Poses, q.Modes, 1)
			if got := m.Crossover(q); got.Pose != 1 || got.Axis != r.Axis || got.Reason != r.Reason {
				t.Errorf("pose %d is worse by rounding: %v of axis %d at pose %d; alone %v of axis %d", worse, got.Reason, got.Axis, got.Pose, r.Reason, r.Axis)
			}
		}
	}
	if tried < 3 {
		t.Errorf("%d plants tried", tried)
	}
}
