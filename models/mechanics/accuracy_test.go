package mechanics

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"testing"

	"flexwright/models"
)

var update = flag.Bool("update", false, "rewrite the tables of STATICS.md from what is computed")

// TestStaticsTable holds STATICS.md to what is computed; the tests of this
// package hold what is computed to the tolerances.
func TestStaticsTable(t *testing.T) {
	var w bytes.Buffer
	fmt.Fprint(&w, `# How accurate the statics is

Written by `+"`go test ./models/mechanics -run TestStaticsTable -update`"+`; the test fails when a table differs from what is computed.

## One guided blade

Clamped at the root, guided (no rotation) at the tip, no axial force, against the exact inextensible elastica (closed form in
elliptic integrals, K. Mattiasson, Int. J. Numer. Meth. Eng. 17, 1981, 145-153, for the cantilever of half length). The range of the model ends at |w|/L = 0.1;
what lies beyond is flagged out_of_range.

| w/L | F L²/EI exact | ours | diff | shortening/L exact | ours | diff | |
| --- | --- | --- | --- | --- | --- | --- | --- |
`)
	a := guided(0.02e-3, models.ActuatorSpec{Body: 1, Axis: models.AxisY})
	s, _ := a.scratch()
	pose := NewPose(s.Model)
	for _, row := range elastica {
		s.At(pose, 0, row.delta*testLength)
		force, u := pose.Force[0]*testLength*testLength/a.ei(), -pose.Q[3]/testLength
		fmt.Fprintf(&w, "| %.2f | %.6f | %.6f | %+.4f %% | %.7f | %.7f | %+.3f %% | %s |\n", row.delta, row.force, force,
			100*(force/row.force-1), row.shortening, u, 100*(u/row.shortening-1), pose.Verdict.Status)
	}
	fmt.Fprint(&w, `
With an axial force P along the line of the clamps, small deflection, against the exact beam-column stiffness (S. P. Timoshenko, J. M. Gere, Theory of
Elastic Stability). The range is -8 <= P L²/EI <= 10.

| P L²/EI | k L³/EI exact | ours | diff | |
| --- | --- | --- | --- | --- |
`)
	for _, row := range beamColumn {
		got, v := guidedStiffness(row[0])
		fmt.Fprintf(&w, "| %g | %.6f | %.6f | %+.4f %% | %s |\n", row[0], row[1], got, 100*(got/row[1]-1), v.Status)
	}
	fmt.Fprint(&w, `
## The reference stage

Thirteen moving bodies, 32 blades, one element per blade, at the positions of `+"`testdata/reference/four_arm_expected.json`"+`
(eight geometrically nonlinear segments per blade). Largest difference over the six positions.

| quantity | largest difference |
| --- | --- |
`)
	top, st := readReference(t)
	s = NewScratch(NewModel(top))
	s.Prepare(st)
	pose = NewPose(s.Model)
	var force, idle, lost, cross, yaw, turn, place float64
	for _, want := range readExpected(t) {
		s.At(pose, want.X, want.Y)
		target := [2]float64{want.X, want.Y}
		for k, act := range top.Actuators {
			w, q := want.Bodies[top.Bodies[act.Body].Name], pose.Q[3*act.Body:]
			cross = max(cross, math.Abs(q[1-k]-w[1-k]))
			if target[k] == 0 {
				idle = max(idle, math.Abs(pose.Force[k]-want.Force[k]))
				continue
			}
			force = max(force, math.Abs(pose.Force[k]/want.Force[k]-1))
			lost = max(lost, math.Abs((q[k]-target[k])/(w[k]-target[k])-1))
		}
		for b, body := range top.Bodies {
			w, q := want.Bodies[body.Name], pose.Q[3*b:]
			place = max(place, math.Abs(q[0]-w[0]), math.Abs(q[1]-w[1]))
			turn = max(turn, math.Abs(q[2]-w[2]))
			if b == top.Stage {
				yaw = max(yaw, math.Abs(q[2]-w[2]))
			}
		}
	}
	fmt.Fprintf(&w, `| force on a driven axis | %.4f %% |
| force on an undriven axis | %.1g N |
| lost motion | %.3f %% |
| cross motion of the driven arms | %.4f µm |
| stage yaw | %.4f µrad |
| yaw of any body | %.2f µrad |
| x, y of any body | %.3f µm |
`, 100*force, idle, 100*lost, cross*1e6, yaw*1e6, turn*1e6, place*1e6)
	if *update {
		if err := os.WriteFile("STATICS.md", w.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	stored, err := os.ReadFile("STATICS.md")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(stored, w.Bytes()) {
		t.Errorf("STATICS.md differs from what is computed; run with -update and read the difference\n%s", w.Bytes())
	}
}
