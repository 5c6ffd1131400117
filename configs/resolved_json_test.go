package configs

import (
	"encoding/json"
	"reflect"
	"testing"

	"flexwright/models"
)

// The JSON says what the resolved brief says, and what the named actuator is.
func TestResolvedJSON(t *testing.T) {
	for _, path := range append(files(t, "examples/*.yaml", 3), files(t, "../testdata/briefs/*.good.yaml", 5)...) {
		brief, problems := loadFile(t, path)
		if len(problems) > 0 {
			t.Fatal(problems)
		}
		var have map[string]any
		if err := json.Unmarshal(brief.ResolvedJSON(), &have); err != nil {
			t.Errorf("%s: %v", path, err)
			continue
		}
		r := newReader(path, brief.Resolved())
		want := plain(r.parseYAML(brief.Resolved())).(map[string]any)
		for _, d := range brief.ActuatorData() {
			want["actuator"].(map[string]any)[d[0]] = d[1]
		}
		if !reflect.DeepEqual(any(have), any(want)) {
			t.Errorf("%s: the JSON differs from the brief", path)
		}
	}
	brief, problems := Load("x", []byte("layout: four-arm\nmaterial: aluminium 7075-T6\nfix: {travel: 2 mm, blade_length: 50 mm, blade_thickness: 0.5 mm, blade_width: 20 mm}\n"+
		"goals: {first_frequency: most}\nactuator: {class: vc-75}\n"), Layouts(), models.Materials())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	var have struct {
		Actuator map[string]any `json:"actuator"`
	}
	if err := json.Unmarshal(brief.ResolvedJSON(), &have); err != nil || have.Actuator["class"] != "vc-75" || have.Actuator["moving_mass"] != "0.22 kg" {
		t.Errorf("actuator %v, %v", have.Actuator, err)
	}
}
