package results

import (
	"testing"

	"flexwright/models"
	"flexwright/objective"
)

// Every column of a measure and of a parameter leads back to it.
func TestNumberOf(t *testing.T) {
	for m := range objective.NumMeasures {
		info := &objective.Table[m]
		if n, ok := NumberOf(info.Column()); ok == info.IsText() || n.Name != info.Name || n.Unit != info.Unit || !n.Measure {
			t.Errorf("%s: %+v, %v", info.Column(), n, ok)
		}
	}
	for _, l := range models.Layouts() {
		for _, p := range l.Parameters() {
			if n, ok := NumberOf(p.Unit.Column(p.Name)); !ok || n.Name != p.Name || n.Unit != p.Unit || n.Measure {
				t.Errorf("%s: %+v, %v", p.Unit.Column(p.Name), n, ok)
			}
		}
	}
	if n, _ := NumberOf("fine_drive_stiffness_n_per_mm"); n.Name != "fine_drive_stiffness" || n.Unit != models.NewtonPerMm {
		t.Errorf("%+v", n)
	}
}
