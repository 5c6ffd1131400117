package main

import (
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"flexwright/objective"
)

// robustFront are 20 designs spread over the front of configs/examples/robust_range.yaml (seed 5,
// version 0.3.0): travel, blade length, thickness and width in mm, pocketing, added mass of
// an arm in kg.
var robustFront = [][6]float64{
	{5.414207612955623, 100.0, 0.833715674491571, 38.77339370593426, 0.23509885815207981, 0.06147293191505559},
	{5.113017094007216, 98.64525720254541, 0.875685717718425, 39.77139517976761, 0.33713605962734355, 0.052518617463352534},
	{4.827141372586246, 98.4654233725416, 0.91912230257797, 39.275872906582336, 0.34598078730862863, 0.05},
	{4.429234338498668, 94.62285796296251, 0.9344841080625388, 40.0, 0.35, 0.051356160080962505},
	{3.9557259660053252, 96.49869708732304, 1.0208006804287084, 39.107078420048495, 0.35, 0.05362610679298485},
	{3.75508944735659, 87.15040061860022, 0.9603192852467195, 38.4430169126647, 0.34660963685077234, 0.05717470735710646},
	{3.514257773224759, 84.80637429344576, 0.968138421179962, 39.448254044747245, 0.3471872997776724, 0.056980840323065},
	{3.1531017654644677, 80.3295096300157, 0.9729476657949632, 37.398161741486604, 0.3430926362980403, 0.05996811810910236},
	{2.7615091951656376, 74.9760320950393, 0.9523467487060135, 37.946375816159, 0.3471953583464788, 0.05721455726572108},
	{2.4213220118871623, 70.61746753468805, 0.9361403918527711, 37.44953112117849, 0.34523903423782365, 0.07097295787668587},
	{2.1434792326612966, 61.56008018168863, 0.8294040884551099, 40.0, 0.34617035583628236, 0.05},
	{1.928170173640338, 58.118141192654996, 0.8130608061574855, 39.72304990151426, 0.3492561538288469, 0.05001744113823866},
	{1.7152407628750823, 54.62487505573827, 0.7945296854270667, 39.80656892119649, 0.34588115307914424, 0.05739500415105632},
	{1.5345664576345484, 50.23812316924305, 0.7503158251576606, 39.836291047455035, 0.34999007723520303, 0.05},
	{1.3528402064220053, 47.08266742074376, 0.7435549764222122, 39.718001246299124, 0.32967211640282296, 0.056188806094494295},
	{1.1361044003547809, 43.22718621219718, 0.7235051986086227, 38.27570010609228, 0.30288834812928184, 0.08566191956611197},
	{0.9864762898148233, 36.720437697293, 0.6452319326855607, 38.35281815815839, 0.35, 0.0527159035445193},
	{0.7989293140910964, 31.397113023357207, 0.595758442728638, 38.06465217626972, 0.3422159625031108, 0.05431341219251033},
	{0.6765495747011429, 29.21110348828079, 0.5844226653881607, 38.177818305911096, 0.34990494033007047, 0.05708104550802126},
	{0.5161449503761797, 26.134094144498704, 0.5739499184735961, 38.088117564921724, 0.35, 0.060202237198435815},
}

// TestRobustFrontHolds has parts of designs of the robust front made with other random numbers, and solved: the
// share that conforms is, within its interval, what the brief promises, in at least nine of ten designs.
// ROBUST_PARTS=1000 does so for all of them with as many parts each; here two designs have sixty.
func TestRobustFrontHolds(t *testing.T) {
	parts, designs := 60, robustFront[:2]
	if text := os.Getenv("ROBUST_PARTS"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil {
			t.Fatal(err)
		}
		parts, designs = n, robustFront
	}
	path := filepath.Join("..", "..", "configs", "examples", "robust_range.yaml")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	brief, problems := loadBrief(path, data)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	spec := brief.Spec()
	spec.Measures = append(spec.Measures, objective.LoopMeasures...)
	tolerances := *spec.Tolerances
	tolerances.Samples, tolerances.Seed, tolerances.Sampled = parts, 4711, true
	spec.Tolerances = &tolerances
	evaluation := objective.NewEvaluation(spec)
	names := []string{"travel", "blade_length", "blade_thickness", "blade_width", "pocketing", "arm_added_mass"}
	holds := 0
	for _, design := range designs {
		x := make([]float64, len(spec.Variables))
		for i, v := range spec.Variables {
			for k, name := range names {
				if spec.Parameters()[v.Index].Name == name {
					x[i] = design[k]
				}
			}
		}
		evaluation.Evaluate(x)
		share, ok := evaluation.Measures.Get(objective.ConformingParts)
		if !ok {
			t.Errorf("%v: no parts: %s", design, evaluation.Verdict.Reason())
			continue
		}
		low, high := objective.ShareInterval(int(share*float64(parts)+0.5), parts)
		t.Logf("%v: %.1f %% conform, %.1f to %.1f", design, 100*share, 100*low, 100*high)
		if high >= tolerances.Share {
			holds++
		}
	}
	t.Logf("%d of %d designs hold", holds, len(designs))
	if 10*holds < 9*len(designs) {
		t.Errorf("only %d of %d designs hold", holds, len(designs))
	}
}
