package mechanics

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"flexwright/models"
)

// unsigned takes the sign from differences that are nothing: it hangs on the last
// bit, which differs between machines.
var unsigned = strings.NewReplacer("-0.0000 %", "0.0000 %", "+0.0000 %", "0.0000 %", "-0.00 %", "0.00 %", "+0.00 %", "0.00 %")

// TestDynamicsTable holds DYNAMICS.md to what is computed; the other tests hold
// what is computed to the tolerances.
func TestDynamicsTable(t *testing.T) {
	var w bytes.Buffer
	line := func(format string, a ...any) { fmt.Fprintln(&w, unsigned.Replace(fmt.Sprintf(format, a...))) }
	line("# How accurate the natural frequencies are")
	line("")
	line("Written by `go test ./models/mechanics -run TestDynamicsTable -update`; the test fails when a table differs from what is computed.")
	line("")
	line("## Beams")
	line("")
	line("Ten blades in series with held ends, βL of ω = (βL)² √(EI/(m L⁴)) against R. D. Blevins, Formulas for Natural Frequency and Mode Shape, 1979.")
	line("")
	line("| ends | mode | published | ours | diff |")
	line("| --- | --- | --- | --- | --- |")
	for _, c := range beams {
		for k, got := range beamModes(t, c.held) {
			line("| %s | %d | %.6f | %.6f | %+.4f %% |", c.name, k+1, c.betaL[k], got, 100*(got/c.betaL[k]-1))
		}
	}
	line("")
	line("Eight blades with a tip mass of μ times theirs, ω √(m L⁴/EI) of the first mode against the root of the characteristic equation.")
	line("")
	line("| ends | μ | exact | ours | diff |")
	line("| --- | --- | --- | --- | --- |")
	for k, name := range []string{"fixed-guided", "cantilever"} {
		held := [][]models.Axis{{models.AxisYaw}, nil}[k]
		for _, c := range tipMasses {
			if want := c[1+k]; want != 0 {
				got := tipMassMode(t, c[0], held)
				line("| %s | %g | %.6f | %.6f | %+.4f %% |", name, c[0], want, got, 100*(got/want-1))
			}
		}
	}
	line("")
	line("## The reference stage")
	line("")
	line("Thirteen moving bodies, 32 blades, one element per blade, against `testdata/reference/four_arm_expected.json`: in plane eight nonlinear segments per")
	line("blade, out of plane rigid bodies on the tangents of solid leaves, no axial force. Hz, and ours / reference - 1.")
	line("")
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	d := NewDynamics(s)
	d.Prepare()
	pose, modes := NewPose(s.Model), d.NewModes()
	var inWorst, inLast, outWorst float64
	head, rule := "| position, mm |", "| --- |"
	for k := range 12 {
		head += fmt.Sprintf(" in plane %d |", k+1)
		rule += " --- |"
	}
	for k := range 6 {
		head += fmt.Sprintf(" out %d |", k+1)
		rule += " --- |"
	}
	line("%s", head)
	line("%s", rule)
	for _, want := range readExpectedModes(t) {
		s.At(pose, want.X, want.Y)
		if v := d.InPlane(pose, modes); !v.OK() {
			t.Fatal(v.Reason())
		}
		out, v := d.OutOfPlane(pose, nil)
		if !v.OK() {
			t.Fatal(v.Reason())
		}
		cells := fmt.Sprintf("| (%g, %g) |", 1e3*want.X, 1e3*want.Y)
		cell := func(omega, hz float64, worst *float64) {
			f := omega / (2 * math.Pi)
			*worst = max(*worst, math.Abs(f/hz-1))
			cells += fmt.Sprintf(" %.2f %+.2f %% |", f, 100*(f/hz-1))
		}
		for k, hz := range want.InHz {
			worst := &inWorst
			if k >= 10 {
				worst = &inLast
			}
			cell(modes.Omega[k], hz, worst)
		}
		for k, hz := range want.OutHz {
			cell(out[k], hz, &outWorst)
		}
		line("%s", cells)
	}
	line("")
	line("| quantity | accepted | goal | largest difference |")
	line("| --- | --- | --- | --- |")
	line("| in plane 1 to 10 | 0.6 %% | 0.2 %% | %.3f %% |", 100*inWorst)
	line("| in plane 11 and 12 | 1.3 %% | 0.7 %% | %.3f %% |", 100*inLast)
	line("| out of plane 1 to 6 | 1.6 %% | 0.6 %% | %.2f %% |", 100*outWorst)
	line("")
	line("The goal out of plane is missed by 0.2 %% at the corners. Of that, 0.02 to 0.2 %% is the blades' mass, of which the reference puts halves at the ends")
	line("where ours is consistent. At the centre mode 4 is 0.4 %% high with the reference's halves although the blade's tangent is within 0.3 %% of the solid leaf's there;")
	line("with the solid's own tangents in place of ours the six positions are 0.0 to 0.5 %% high alike. The rest is the blade's, see `models/blade/ACCURACY.md`.")
	const name = "DYNAMICS.md"
	if *update {
		if err := os.WriteFile(name, w.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	stored, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(stored, w.Bytes()) {
		t.Errorf("%s differs from what is computed; run with -update and read the difference\n%s", name, w.Bytes())
	}
}
