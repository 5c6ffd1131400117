package configs

import (
	"strings"
	"testing"

	"flexwright/models"
)

// A default limit that no design can meet is a warning, not a refusal: the run says
// that nothing fits. One that the brief replaces is not spoken of.
func TestDefaultLimitOutOfReach(t *testing.T) {
	const brief = "layout: four-arm\nmaterial: aluminium 7075-T6\nfix: {travel: 1 mm, blade_length: 30 mm, blade_width: 10 mm}\n" +
		"vary: {blade_thickness: {from: 0.15 mm, to: 0.25 mm}}\ngoals: {first_frequency: most}\n"
	b, problems := Load("x", []byte(brief), models.Layouts(), models.Materials())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	if w := strings.Join(b.Warnings(), "\n"); !strings.Contains(w, "thinnest_blade, at least 0.3 mm") || !strings.Contains(w, "at most 0.25 mm") {
		t.Errorf("warnings %q", w)
	}
	b, problems = Load("x", []byte(brief+"limits: {thinnest_blade: {at_least: 0.1 mm}}\n"), models.Layouts(), models.Materials())
	if len(problems) > 0 || strings.Contains(strings.Join(b.Warnings(), "\n"), "thinnest_blade") {
		t.Errorf("%v, warnings %q", problems, b.Warnings())
	}
}
