package report

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"flexwright/objective"
)

// A bar is as wide as its tolerances spend, each named, and what spends nothing is left out.
func TestToleranceBars(t *testing.T) {
	yaw := objective.TailSensitivity{Measure: objective.ParasiticYaw.Tail()}
	yaw.Budget[objective.ToleranceThickness], yaw.Budget[objective.ToleranceLength] = 0.75, 0.25
	lost := objective.TailSensitivity{Measure: objective.LostMotion.Tail()}
	lost.Budget[objective.ToleranceModulus] = 1
	page := string(drawBars([]objective.TailSensitivity{yaw, {Measure: objective.DriveForce.Tail()}, lost}))
	var widths []float64
	for _, m := range regexp.MustCompile(`width="([0-9.]+)" height="14"`).FindAllStringSubmatch(page, -1) {
		w, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		widths = append(widths, w)
	}
	if len(widths) != 3 || math.Abs(widths[0]/widths[1]-3) > 1e-3 || math.Abs(widths[0]+widths[1]-widths[2]) > 0.02 {
		t.Errorf("bars of %v", widths)
	}
	for _, want := range []string{"parasitic yaw", "lost motion", "<title>thickness 75", "<title>modulus 100"} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q", want)
		}
	}
	if strings.Contains(page, "drive force") || strings.Contains(page, "root angle") {
		t.Error("what spends nothing is drawn")
	}
	if drawBars(nil) != "" {
		t.Error("a drawing of nothing")
	}
}

// The page of a design has the bars where the brief asks about its parts, and only there.
func TestPanelOfParts(t *testing.T) {
	in := syntheticInput(t, 300)
	if page := write(t, in); strings.Contains(page, "What each tolerance") {
		t.Error("bars without a question")
	}
	brief := in.Brief
	in.Brief = func(run int64) *Brief {
		b := brief(run)
		spec := *b.Spec
		spec.Measures = append(spec.Measures, objective.PeakStress.Tail())
		b.Spec = &spec
		return b
	}
	page := write(t, in)
	checkTags(t, page)
	if !strings.Contains(page, "What each tolerance") || !strings.Contains(page, "<title>thickness ") {
		t.Error("no bars")
	}
}
