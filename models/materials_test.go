package models

import "testing"

// TestMaterials: values in SI, in the ranges that producers' data sheets and
// textbooks give for these alloys (published check values of the reference data,
// section 5; where it says that there is no source, so does the material's own source).
func TestMaterials(t *testing.T) {
	type span [2]float64
	want := map[string]struct{ young, density, yield, ultimate, fatigue, expansion, conductivity span }{
		"aluminium 7075-T6":       {span{71.0e9, 72e9}, span{2800, 2810}, span{503e6, 503e6}, span{572e6, 572e6}, span{158e6, 159e6}, span{23.4e-6, 23.6e-6}, span{130, 130}},
		"aluminium 6061-T6":       {span{68.9e9, 68.9e9}, span{2700, 2700}, span{276e6, 276e6}, span{310e6, 310e6}, span{96.5e6, 96.5e6}, span{23.6e-6, 23.6e-6}, span{167, 167}},
		"titanium Ti-6Al-4V":      {span{113.8e9, 114e9}, span{4430, 4430}, span{830e6, 830e6}, span{900e6, 900e6}, span{510e6, 510e6}, span{8.6e-6, 8.6e-6}, span{6.6, 7.2}},
		"maraging steel 18Ni-300": {span{190e9, 190e9}, span{8000, 8000}, span{1900e6, 2000e6}, span{2000e6, 2000e6}, span{700e6, 860e6}, span{10e-6, 11e-6}, span{20, 25}},
		"spring steel C75S":       {span{206e9, 206e9}, span{7850, 7850}, span{1000e6, 1500e6}, span{1200e6, 1900e6}, span{400e6, 700e6}, span{11.5e-6, 11.5e-6}, span{48, 48}},
		"spring stainless 1.4310": {span{186e9, 186e9}, span{7900, 7900}, span{1000e6, 1500e6}, span{1000e6, 1600e6}, span{0.35 * 1300e6, 0.45 * 1300e6}, span{16e-6, 17e-6}, span{15, 16}},
	}
	if len(Materials()) != len(want) {
		t.Fatalf("%d materials", len(Materials()))
	}
	for _, m := range Materials() {
		w, ok := want[m.Name]
		if !ok {
			t.Errorf("no range for %s", m.Name)
			continue
		}
		for _, c := range []struct {
			what  string
			value float64
			span  span
		}{
			{"Young's modulus", m.Young, w.young}, {"density", m.Density, w.density}, {"yield", m.Yield, w.yield},
			{"ultimate", m.Ultimate, w.ultimate}, {"fatigue", m.Fatigue, w.fatigue},
			{"expansion", m.Expansion, w.expansion}, {"conductivity", m.Conductivity, w.conductivity},
			{"Poisson's ratio", m.Poisson, span{0.3, 0.34}}, {"cycles", m.FatigueCycle, span{1e7, 5e8}},
		} {
			// The last bits of products like 0.35 x 1300e6.
			if c.value < c.span[0]*(1-1e-12) || c.value > c.span[1]*(1+1e-12) {
				t.Errorf("%s: %s %g, want %g to %g", m.Name, c.what, c.value, c.span[0], c.span[1])
			}
		}
		if m.Source == "" || !(m.Yield < m.Ultimate) || !(m.Fatigue < m.Yield) {
			t.Errorf("%s: %+v", m.Name, m)
		}
		if got, ok := MaterialByName(m.Name); !ok || got.Density != m.Density {
			t.Errorf("%s is not found by its name", m.Name)
		}
	}
	if _, ok := MaterialByName("cheese"); ok {
		t.Error("found cheese")
	}
}
