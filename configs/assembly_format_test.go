package configs

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
)

func TestAssemblySchemaFile(t *testing.T) {
	const name = "assembly.schema.json"
	schema := AssemblySchema()
	if *update {
		if err := os.WriteFile(name, schema, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if stored, err := os.ReadFile(name); err != nil || string(stored) != string(schema) {
		t.Errorf("%s does not match the table: run go generate ./configs (%v)", name, err)
	}
}

// The schema accepts every assembly that the reader accepts, and refuses those in
// which a key, a form or a number is wrong by itself.
func TestAssemblySchemaAgainstReader(t *testing.T) {
	var schema map[string]any
	if err := json.Unmarshal(AssemblySchema(), &schema); err != nil {
		t.Fatal(err)
	}
	check := func(path string) error {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var value any
		if err := json.Unmarshal(data, &value); err != nil {
			t.Fatal(path, err)
		}
		return validator{}.check(schema, value, "")
	}
	for _, path := range append(files(t, "../testdata/assemblies/*.good.json", 3), "../testdata/reference/four_arm.json") {
		if err := check(path); err != nil {
			t.Errorf("%s: %v", path, err)
		}
	}
	for _, name := range []string{"missing_keys", "missing_lists", "empty_lists", "negative_mass", "not_positive", "three_actuators",
		"unknown_axis", "unknown_keys", "units", "list", "stage_list"} {
		if err := check(filepath.Join("../testdata/assemblies", name+".bad.json")); err == nil {
			t.Errorf("the schema accepts %s", name)
		}
	}
}

// A key is required by the table if and only if the reader misses it.
func TestAssemblyKeysAgainstReader(t *testing.T) {
	const whole = `{"units": "SI", "root_stiffness": 0.9,
"bodies": [{"name": "ground", "position_m": [0, 0], "fixed": true},
 {"name": "stage", "position_m": [0.1, 0], "mass_kg": 1, "inertia_kg_m2": [1, 1, 1], "held": ["yaw"]},
 {"name": "foot", "position_m": [0.1, 0.1], "mass_kg": 1, "inertia_kg_m2": [1, 1, 1], "product_kg_m2": 0.5, "part_of": "stage", "follows": ["z"], "held": ["yaw"]}],
"blades": [{"from": "stage", "to": "foot", "root_m": [0.1, 0], "tip_m": [0.1, 0.1], "thickness_m": 0.001, "width_m": 0.01,
 "youngs_modulus_pa": 7e10, "poisson_ratio": 0.3, "density_kg_m3": 2700},
 {"from": "ground", "to": "stage", "root_m": [0, 0], "tip_m": [0.1, 0], "thickness_m": 0.001, "width_m": 0.01,
 "youngs_modulus_pa": 7e10, "poisson_ratio": 0.3, "density_kg_m3": 2700, "bending_factor": 1, "fillet_radius_m": 0.001,
 "roots_yield": true, "root_bar": [0.01, 0, 1, 0.003, 0.006, 0.01, 7e10, 0.3], "tip_bar": [0.01, 0.02, -1, 0, 0.006, 0.01, 7e10, 0.3]}],
"beams": [{"from": "stage", "to": "foot", "begin_m": [0.1, 0], "end_m": [0.1, 0.05], "metal_m": [0, 0.05], "height_m": 0.006, "depth_m": 0.01,
 "youngs_modulus_pa": 7e10, "poisson_ratio": 0.3, "density_kg_m3": 2700},
 {"from": "stage", "to": "foot", "continues": true, "back": true, "begin_m": [0.1, 0.05], "end_m": [0.1, 0.1], "metal_m": [0, 0.05], "height_m": 0.006, "depth_m": 0.01,
 "youngs_modulus_pa": 7e10, "poisson_ratio": 0.3, "density_kg_m3": 2700, "flexing": [0.1, 0, 2, 0.3, 1], "warping_held": true}],
"stage": "stage", "actuators": [{"body": "stage", "axis": "y", "from": "ground", "point_m": [0.1, 0]}], "loads": [{"body": "stage", "axis": "y", "value": 1}]}`
	without := func(of, name string) []byte {
		var file map[string]any
		if err := json.Unmarshal([]byte(whole), &file); err != nil {
			t.Fatal(err)
		}
		from := file
		if of != "" {
			list := file[of].([]any)
			from = list[len(list)-1].(map[string]any)
		}
		if _, ok := from[name]; !ok && name != "fixed" && name != "springs" { // of the first body
			t.Fatalf("%s of %s is not in the file", name, of)
		}
		delete(from, name)
		out, err := json.Marshal(file)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	if _, _, problems := LoadAssembly("whole", []byte(whole)); len(problems) > 0 {
		t.Fatal(problems)
	}
	for _, k := range AssemblyKeys {
		required := k.Required || k.Name == "mass_kg" || k.Name == "inertia_kg_m2" // of a body that moves
		_, _, problems := LoadAssembly("without", without(k.Of, k.Name))
		if refused := len(problems) > 0; refused != required {
			t.Errorf("without %s of %q: refused %v, required %v: %v", k.Name, k.Of, refused, required, problems)
		}
	}
}
