package configs

import (
	"math"
	"math/rand/v2"
	"slices"
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

// No parameter makes a plate of these layouts smaller by growing: what check says
// of the least footprint rests on it.
func TestFootprintGrowsWithEveryParameter(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	material := &models.Materials()[0]
	for _, name := range growingLayouts {
		layout, ok := LayoutByName(name)
		if !ok {
			t.Fatal(name)
		}
		stage := models.NewStage(layout.Topology())
		size := func(x []float64) (float64, bool) {
			d := models.Design{Parameters: slices.Clone(x), Material: material}
			v := layout.Build(&d, stage)
			return stage.Frame, v.OK()
		}
		pairs := 0
		for range 20000 {
			low, high := []float64{}, []float64{}
			for _, p := range layout.Parameters() {
				a, b := math.NaN(), math.NaN()
				if p.Required || random.IntN(3) == 0 {
					scale := p.Default
					if s, ok := map[string]float64{"travel": 3, "blade_length": 60, "blade_thickness": 0.6, "blade_width": 20}[p.Name]; ok {
						scale = s
					}
					if math.IsNaN(scale) || scale == 0 {
						scale = 8
					}
					a = max(p.Min, min(p.Max, scale*(0.5+random.Float64())))
					b = max(a, min(p.Max, a*(1+random.Float64()*float64(random.IntN(2)))))
				}
				low, high = append(low, p.Unit.ToSI(a)), append(high, p.Unit.ToSI(b))
			}
			if small, ok := size(low); ok {
				if large, ok := size(high); ok {
					if pairs++; large < small-1e-12 {
						t.Fatalf("%s: %.6g mm with %v, %.6g mm with %v", layout.Name(), small*1e3, low, large*1e3, high)
					}
				}
			}
		}
		if pairs < 200 {
			t.Errorf("%s: %d pairs were built", layout.Name(), pairs)
		}
	}
}
