package diagnosis

import (
	"math"
	"strings"
	"testing"

	"flexwright/models"
	"flexwright/objective"
)

// A fillet of less than a tenth of the blade's thickness is out of the layout's
// range: what moves it is the fillet (more) or the thickness (less), whichever spans more.
func TestWhyUnbuilt(t *testing.T) {
	layout := models.Layouts()[0]
	spec := &objective.Spec{Layouts: []models.Layout{layout}, Fixed: make([]float64, len(layout.Parameters()))}
	material := models.Materials()[0]
	spec.Materials = []*models.Material{&material}
	for i, p := range layout.Parameters() {
		spec.Fixed[i] = p.Default
		switch p.Name {
		case "travel":
			spec.Fixed[i] = 2
		case "blade_length":
			spec.Fixed[i] = 50
		case "blade_width":
			spec.Fixed[i] = 20
		case "blade_thickness":
			spec.Fixed[i] = 2
		case "fillet_radius", "arm_back_width":
			spec.Fixed[i] = math.NaN()
			spec.Variables = append(spec.Variables, objective.Variable{Target: objective.TargetParameter, Index: i})
		}
	}
	var points [][]float64
	for i := range 20 {
		points = append(points, []float64{0.05 + 0.005*float64(i), 8 + float64(i%3)})
	}
	u, ok := WhyUnbuilt(spec, points)
	if !ok || u.Designs != 20 || u.Fails != 20 || u.Variable != "fillet_radius" || !u.More || !strings.Contains(u.Reason, "fillet_radius") {
		t.Errorf("%+v, %v", u, ok)
	}
	points[7][0] = 0.5 // this one can be built
	if _, ok := WhyUnbuilt(spec, points); ok {
		t.Error("a design can be built")
	}
}
