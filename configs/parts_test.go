package configs_test

import (
	"math"
	"os"
	"testing"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/objective"
)

// Sixteen of the designs of a run of robust_range whose parts were looked at, spread over the run: travel, blade length,
// thickness and width, mm; pockets; mass on the arms, kg.
var partsDesigns = [][]float64{
	{0.865136338, 31.90083853, 0.5865562009, 36.64483947, 0.1190464565, 0.1778023601},
	{0.8975708199, 31.22327989, 0.5361592276, 33.81881179, 0.0779249356, 0.2354556856},
	{1.264614825, 42.15894717, 0.6845021613, 38.51745832, 0.172822739, 0.05322926728},
	{1.877934365, 59.15733452, 0.8479039221, 36.43188289, 0.1776751908, 0.05111176421},
	{0.725853824, 28.58968121, 0.5509706799, 38.45678481, 0.1239216486, 0.2358415947},
	{3.287522974, 79.88963213, 0.9625683978, 38.55834721, 0.1548704599, 0.0761891786},
	{0.8658008657, 32.37276258, 0.5989323415, 38.2154445, 0.1471573672, 0.05016180582},
	{2.474294657, 66.37192451, 0.8533065763, 38.0516225, 0.1877949891, 0.07182921375},
	{0.5, 25.10437604, 0.5390513562, 40, 0.3499871482, 0.05813857388},
	{0.6413684926, 25.70201119, 0.519551986, 38.35592621, 0.147022974, 0.05034782793},
	{5.348271223, 99.86638638, 0.8621113285, 39.82749372, 0.04087132331, 0.05},
	{0.5025210126, 22.74226245, 0.4891880635, 39.9345835, 0.3498833996, 0.05641385083},
	{1.048520899, 39.03274739, 0.6759175249, 40, 0.3470669788, 0.06955745976},
	{0.5071544985, 22.57208459, 0.490174957, 39.9345835, 0.3498833996, 0.05},
	{1.047648937, 39.53931441, 0.6782291891, 39.80206603, 0.340652371, 0.06301753526},
	{1.386122609, 48.0451687, 0.757985035, 40, 0.3300484479, 0.05493746947},
}

// TestTailsOfLoops holds tails of what the loop tells, by derivatives of designs of a run, to those of parts that are
// solved: within 3 % of their distance from the nominal value, which the fine check tells.
func TestTailsOfLoops(t *testing.T) {
	text, err := os.ReadFile("examples/robust_range.yaml")
	if err != nil {
		t.Fatal(err)
	}
	brief, problems := configs.Load("brief.yaml", text, models.Layouts(), models.Materials())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	measures := []objective.Measure{objective.Crossover, objective.Bandwidth, objective.ClosedLoopFrequency, objective.OutOfPlaneRatio, objective.BladeModeRatio}
	var e [2]*objective.Evaluation
	for k := range e {
		spec := brief.Spec()
		tolerances := *spec.Tolerances
		tolerances.Samples, tolerances.Sampled = 30, k == 1
		spec.Tolerances = &tolerances
		for _, m := range measures {
			if spec.Measures = append(spec.Measures, m.Tail()); m == objective.ClosedLoopFrequency {
				spec.Measures = append(spec.Measures, m)
			}
		}
		e[k] = objective.NewEvaluation(spec)
	}
	tails, beyond, most := 0, 0, 0.0
	for i := 1; i < len(partsDesigns); i += 3 { // all sixteen, 40 parts each: 73 of 80
		x := partsDesigns[i]
		for k, by := range []string{objective.ByDerivatives, objective.BySamples} {
			if e[k].Evaluate(x); e[k].Bench().Text(objective.PartsBy) != by {
				t.Fatalf("parts by %s", e[k].Bench().Text(objective.PartsBy))
			}
		}
		for _, m := range measures {
			nominal, _ := e[1].Measures.Get(m)
			got, _ := e[0].Measures.Get(m.Tail())
			want, ok := e[1].Measures.Get(m.Tail())
			if !ok {
				t.Fatal("no tail")
			}
			tails++
			off := math.Abs(got-want) / math.Abs(want-nominal)
			if most = max(most, off); off > objective.PartsBound {
				beyond++
				t.Logf("%v: tail of %s %.5g, solved %.5g, as drawn %.5g: %.1f %%", x, objective.Table[m].Name, got, want, nominal, 100*off)
			}
		}
	}
	t.Logf("%d of %d tails within 3 %%, the farthest off by %.1f %%", tails-beyond, tails, 100*most)
	if 10*beyond > tails {
		t.Error("the estimates are not what is said of them")
	}
}

// BenchmarkParts times candidates of robust_range: as drawn, and with a hundred parts each, by derivatives, also with
// a tail of the bandwidth, and solved.
func BenchmarkParts(b *testing.B) {
	text, err := os.ReadFile("examples/robust_range.yaml")
	if err != nil {
		b.Fatal(err)
	}
	for _, kind := range []struct {
		name           string
		parts, sampled bool
		tail           objective.Measure // instead of those of the brief
	}{
		{name: "drawn"},
		{name: "derivatives", parts: true},
		{name: "derivatives of the loop", tail: objective.Bandwidth, parts: true},
		{name: "solved", sampled: true, parts: true},
	} {
		b.Run(kind.name, func(b *testing.B) {
			brief, problems := configs.Load("brief.yaml", text, models.Layouts(), models.Materials())
			if len(problems) > 0 {
				b.Fatal(problems)
			}
			spec := brief.Spec()
			tolerances := *spec.Tolerances
			tolerances.Sampled = kind.sampled
			spec.Tolerances = &tolerances
			if !kind.parts || kind.tail != 0 {
				var plain []objective.Measure
				for _, m := range spec.Measures {
					if !m.OfParts() || kind.parts && m == objective.ConformingParts {
						plain = append(plain, m)
					}
				}
				spec.Measures = plain
			}
			if kind.tail != 0 {
				spec.Measures = append(spec.Measures, kind.tail.Tail())
			}
			e := objective.NewEvaluation(spec)
			b.ReportAllocs()
			n := 0
			for b.Loop() {
				if e.Evaluate(partsDesigns[n%len(partsDesigns)]); !e.Verdict.OK() {
					b.Fatal(e.Verdict.Reason())
				}
				n++
			}
		})
	}
}

// Parts of a stage with one driven axis are told by derivatives, too.
func TestTailsOfOneAxis(t *testing.T) {
	tails := 0
	for _, layout := range []string{"single-guide", "folded-guide", "half-folded-guide"} {
		text := "layout: " + layout + `
material: aluminium 7075-T6
fix: {blade_thickness: 0.5 mm, blade_width: 20 mm, travel: 1.5 mm}
vary: {blade_length: {from: 40 mm, to: 60 mm}}
goals: {first_frequency: most}
also: [first_frequency_tail, peak_stress_tail, drive_force_tail, drive_stiffness_tail, lost_motion_tail, arc_motion_tail, parasitic_yaw_tail, peak_force_tail, crossover_tail, bandwidth_tail]
actuator: {class: vc-75}
motion: {kind: steps, frequency: 2 Hz}
tolerances: {samples: 40, thickness: 3 µm, root_position: 5 µm, modulus: 1 %}
`
		var e [2]*objective.Evaluation
		for k := range e {
			brief, problems := configs.Load("brief.yaml", []byte(text), configs.Layouts(), models.Materials())
			if len(problems) > 0 {
				t.Fatal(problems)
			}
			spec := brief.Spec()
			tolerances := *spec.Tolerances
			tolerances.Sampled, tolerances.Always = k == 1, true
			spec.Tolerances = &tolerances
			e[k] = objective.NewEvaluation(spec)
			if e[k].Evaluate([]float64{50}); !e[k].Verdict.OK() {
				t.Fatal(layout, e[k].Verdict.Reason())
			}
		}
		if by := e[0].Bench().Text(objective.PartsBy); by != objective.ByDerivatives {
			t.Errorf("%s: parts by %s", layout, by)
		}
		for _, m := range e[0].Spec.Measures {
			if !m.OfParts() || objective.Table[m].IsText() {
				continue
			}
			nominal, _ := e[1].Measures.Get(m.Plain())
			got, is := e[0].Measures.Get(m)
			want, ok := e[1].Measures.Get(m)
			if ok {
				tails++
			}
			if off := math.Abs(got-want) / (math.Abs(want-nominal) + 1e-9*math.Abs(nominal)); is != ok || off > objective.PartsBound {
				t.Errorf("%s: %s %.6g, solved %.6g, as drawn %.6g: %.1f %%", layout, objective.Table[m].Name, got, want, nominal, 100*off)
			}
		}
	}
	if tails < 25 {
		t.Errorf("only %d tails", tails)
	}
}
