package models

import (
	"fmt"
	"math"
)

// The parameters of the four-arm stage, in the order of [Layout.Parameters].
const (
	pTravel = iota
	pLength
	pThickness
	pInner
	pGroundLength
	pGroundThickness
	pGroundInner
	pWidth
	pFillet
	pGap
	pProng
	pFoot
	pDepth
	pBack
	pFrame
	pHalf
	pPocketing
	pPocketWall
	pStageAdded
	pStageAddedSize
	pStageAddedHeight
	pStageAddedX
	pStageAddedY
	pArmAdded
	pArmAddedHeight
	pIdleAdded
	pIdleAddedHeight
	pGuideAdded
	pGuideAddedHeight
	pActuatorRadial
	pActuatorTangential
	numFourArm
)

var fourArmParameters = func() []Parameter {
	nan := math.NaN()
	ps := make([]Parameter, numFourArm)
	set := func(i int, p Parameter) { ps[i] = p }
	length := func(i int, name, meaning string, min, max, value float64) {
		set(i, Parameter{Name: name, Unit: Millimetre, Meaning: meaning, Min: min, Max: max, Default: value})
	}
	required := func(i int, name, meaning string, min, max float64) {
		set(i, Parameter{Name: name, Unit: Millimetre, Meaning: meaning, Min: min, Max: max,
			Default: nan, DefaultText: "must be given", Required: true})
	}
	follows := func(i int, name, meaning string, min, max float64, rule string) {
		set(i, Parameter{Name: name, Unit: Millimetre, Meaning: meaning, Min: min, Max: max, Default: nan, DefaultText: rule})
	}
	mass := func(i int, name, meaning string) {
		set(i, Parameter{Name: name, Unit: Kilogram, Meaning: meaning, Min: 0, Max: 100, Default: 0})
	}

	required(pTravel, "travel", "T: half-range; every limit holds over the square of ±T", 0.05, 25)
	required(pLength, "blade_length", "L1: length that bends of the blades between stage, guide body and arm", 5, 300)
	required(pThickness, "blade_thickness", "t1: their thickness", 0.05, 5)
	length(pInner, "inner_half_spacing", "wi1: from an arm's axis to the inner blades of its stage guide", 1, 100, 10)
	follows(pGroundLength, "ground_blade_length", "L2: length that bends of the blades between arm, guide body and ground", 5, 300, "as blade_length")
	follows(pGroundThickness, "ground_blade_thickness", "t2: their thickness", 0.05, 5, "as blade_thickness")
	follows(pGroundInner, "ground_inner_half_spacing", "wi2: from the middle of a ground guide to its inner blades", 1, 100, "as inner_half_spacing")
	required(pWidth, "blade_width", "b: thickness of the plate, hence width of every blade", 1, 200)
	follows(pFillet, "fillet_radius", "rho: radius where a blade runs into a body, at all blades", 0.01, 20, "as blade_thickness")
	length(pGap, "free_gap", "g: left between bodies at full travel; at least the kerf and what a gap sensor needs", 0.05, 5, 0.5)
	length(pProng, "prong_width", "w: width of the prongs of arms and frame", 1, 100, 8)
	length(pFoot, "foot_length", "f: length of the feet that carry the outer blades", 1, 100, 6)
	follows(pDepth, "guide_body_depth", "h1, h2: depth of all guide bodies along their blades; at least 6 mm and 10 blade thicknesses, to count as rigid", 1, 200,
		"the largest of 8 mm, 10 blade_thickness and 10 ground_blade_thickness")
	length(pBack, "arm_back_width", "wb: radial width of an arm's back", 1, 200, 8)
	length(pFrame, "frame_width", "F: width of the frame around everything", 1, 200, 15)
	follows(pHalf, "stage_half_size", "h_s: half the side of the square stage", 1, 1000, "the least possible, s_q + T")
	set(pPocketing, Parameter{Name: "pocketing", Unit: One, Meaning: "part of the moving bodies' volume that pockets through the plate remove, the same share of what each body can give", Min: 0, Max: 0.6, Default: 0})
	length(pPocketWall, "pocket_wall", "least metal between a pocket and an edge, a blade's root, a hole or the next pocket", 0.5, 50, 3)
	mass(pStageAdded, "stage_added_mass", "mounted on the stage: payload, mirror, gap-sensor target")
	follows(pStageAddedSize, "stage_added_mass_size", "diameter of the even disc, parallel to the plate, that stage_added_mass counts as; 0 mm: a point", 0, 1000,
		"the side of the stage, 2 h_s")
	length(pStageAddedHeight, "stage_added_mass_height", "its height above the plate's mid-plane", -500, 500, 0)
	length(pStageAddedX, "stage_added_mass_offset_x", "its offset from the stage's centre along x", -500, 500, 0)
	length(pStageAddedY, "stage_added_mass_offset_y", "its offset from the stage's centre along y", -500, 500, 0)
	mass(pArmAdded, "arm_added_mass", "mounted on each driven arm, at its actuator point, beside the moving part of a named actuator: scale, probe, bracket")
	length(pArmAddedHeight, "arm_added_mass_height", "its height above the plate's mid-plane", -500, 500, 0)
	mass(pIdleAdded, "idle_arm_added_mass", "mounted on each idle arm, on its axis in the middle of its back")
	length(pIdleAddedHeight, "idle_arm_added_mass_height", "its height above the plate's mid-plane", -500, 500, 0)
	mass(pGuideAdded, "guide_added_mass", "mounted on each guide body, at its centroid")
	length(pGuideAddedHeight, "guide_added_mass_height", "its height above the plate's mid-plane", -500, 500, 0)
	length(pActuatorRadial, "actuator_radial_offset", "of the point where actuator and encoder meet the driven arm, outward from the middle of its back", -200, 200, 0)
	length(pActuatorTangential, "actuator_tangential_offset", "of that point from the arm's axis, positive counter-clockwise about the stage", -200, 200, 0)
	return ps
}()

// Bodies of the four-arm stage, by number.
const (
	faGround = 0
	faArm    = 1 // arm-1 ... arm-4
	faStage  = 5
	faGuide  = 6 // per arm: the guide between stage and arm, the guide between arm and ground
	faBodies = 14
	faBlades = 32
)

// The arms point outward at 180°, 270°, 0° and 90°: cosine and sine. The first two are driven.
var armDirection = [4]struct{ cos, sin float64 }{{-1, 0}, {0, -1}, {1, 0}, {0, 1}}

// fourArm is the plate of four equal arms around a square stage.
type fourArm struct{ topology *Topology }

var theFourArm = &fourArm{topology: fourArmTopology()}

// FourArm returns the layout `four-arm`: one plate, wire-cut, in which four
// equal arms at 0°, 90°, 180° and 270° hold a square stage. Between the stage and
// each arm, and between each arm and the ground, is a double parallelogram guide:
// two inner blades, a guide body that floats, two outer blades. The arms at 180°
// (arm-1) and 270° (arm-2) are driven, along x and along y; the other two are
// idle. 13 bodies move, on 32 blades.
//
// With r outward from the stage's centre along an arm and s 90° counter-clockwise
// from it, q = t/2 + rho (1: stage guide, 2: ground guide) and T the larger of
// travel and Design.UpTo, every spacing is the least that leaves the gap g at full
// travel, when a guide body follows half of its arm's or the stage's motion:
//
//	wo1 = wi1 + 2 q1 + T + g      wo2 = wi2 + 2 q2 + T + g      outer blades
//	p1  = wo1 + q1 + 0.6 T + g    s_q = p1 + w                  prong of an arm, inner and outer face
//	p2  = wo2 + q2 + 0.6 T + g                                  prong of the frame, inner face
//	h_s >= s_q + T                a   = h_s + g + f             stage; where the stage guide's blades begin
//	r_b = a + L1 + h1 + g         c   = s_q + g + f             back of the arm; where the ground guide's blades begin
//	R   = max(p2 + w + s_q + g, r_b + wb - wi2 - q2), but h_s + T + g + p2 + w
//	      if max(R - p2 - w, c - f) < h_s + T + g               middle of the ground guide
//	H   = max(R + p2, r_b + wb + T + g, R + wi2 + q2 + T + g, c + L2 + h2 + g) + F
//
// The faces that carry blades are set back by κ rho, and a blade of the length L is
// drawn 2 κ rho longer, so that it bends like L ([FilletStiffening]).
//
// The plate is the square of side 2 H. Blades of the stage guide run along r from
// a to a + L1 at s = ±wi1 (stage to guide body) and ±wo1 (arm to guide body),
// those of the ground guide along s from c to c + L2 at r = R ± wi2 (arm to guide
// body) and R ± wo2 (ground to guide body).
//
// Mass, centre of mass and inertia are those of the drawn outline: with set-back
// faces, fillets, pockets and the payload's holes; the corners that carry no blade
// count as sharp.
//
// Build refuses a stage_half_size, guide_body_depth, foot_length, fillet_radius,
// free_gap or inner spacing below its least value, more pocketing than the bodies
// have room for, and a tongue (which carries the ground guide) that would not meet
// its arm's prong.
func FourArm() Layout { return theFourArm }

func (*fourArm) Name() string            { return "four-arm" }
func (*fourArm) Parameters() []Parameter { return fourArmParameters }
func (l *fourArm) Topology() *Topology   { return l.topology }
func (*fourArm) Meaning() string {
	return "one plate: a square stage held by four arms, two of them driven, on double parallelogram guides"
}

func fourArmTopology() *Topology {
	t := &Topology{
		Bodies:    make([]BodySpec, faBodies),
		Actuators: []ActuatorSpec{{Body: faArm, Axis: AxisX}, {Body: faArm + 1, Axis: AxisY}},
		Stage:     faStage,
		Driven:    []int{faArm, faArm + 1},
		Idle:      []int{faArm + 2, faArm + 3},
	}
	t.Bodies[faGround] = BodySpec{Name: "ground", Held: HeldAll}
	t.Bodies[faStage].Name = "stage"
	for i := range 4 {
		t.Bodies[faArm+i].Name = fmt.Sprintf("arm-%d", i+1)
	}
	for i := range 8 {
		t.Bodies[faGuide+i].Name = fmt.Sprintf("guide-%d", i+1)
	}
	for i := range 4 {
		arm, guide, ground := faArm+i, faGuide+2*i, faGuide+2*i+1
		t.Blades = append(t.Blades,
			BladeSpec{faStage, guide}, BladeSpec{arm, guide}, BladeSpec{faStage, guide}, BladeSpec{arm, guide},
			BladeSpec{arm, ground}, BladeSpec{faGround, ground}, BladeSpec{arm, ground}, BladeSpec{faGround, ground})
	}
	return t
}

// NominalMotion moves the arms with the stage along their axes, the bodies of the
// stage guides with their arm and half of the stage's motion across, and those of
// the ground guides with half of their arm's.
func (*fourArm) NominalMotion(_ *Stage, x, y float64, motions []Motion) {
	motions[faGround] = Motion{}
	motions[faStage] = Motion{X: x, Y: y}
	for i, d := range armDirection {
		along, across := Motion{X: x}, Motion{Y: y}
		if d.cos == 0 {
			along, across = Motion{Y: y}, Motion{X: x}
		}
		motions[faArm+i] = along
		motions[faGuide+2*i] = Motion{X: along.X + across.X/2, Y: along.Y + across.Y/2}
		motions[faGuide+2*i+1] = Motion{X: along.X / 2, Y: along.Y / 2}
	}
}

// fourArmPlate holds the dimensions of one plate, given and derived, m.
type fourArmPlate struct {
	T                 float64 // half-range that the clearances are drawn for
	l1, t1, wi1       float64 // stage guide
	l2, t2, wi2       float64 // ground guide
	b, rho, g, w, f   float64
	h, wb, frame, hs  float64
	q1, q2, wo1, wo2  float64
	p1, sq, p2        float64
	d1, d2            float64 // by which faces that carry blades are set back
	a, rb, c, R, half float64 // half: H
	holes             float64 // half the side that the payload's holes ask for
}

// NoRoomForHoles is the format of the verdict on a stage that is too small for its
// holes. Value and bound are half of its side, mm.
const NoRoomForHoles = "stage_half_size h_s = %.4[2]g mm is less than the %.4[3]g mm that the payload's holes and pocket_wall ask for"

// kerf is the least free gap: what a wire of 0.25 mm cuts (common practice).
const kerf = 0.3e-3

// resolve fills p from the parameters x, in SI, and puts the value used in the
// place of each NaN.
func (p *fourArmPlate) resolve(d *Design) Verdict {
	x := d.Parameters
	if len(x) != numFourArm {
		panic("models: four-arm: wrong number of parameters")
	}
	for i := range fourArmParameters {
		if !math.IsNaN(x[i]) {
			continue
		}
		q := &fourArmParameters[i]
		switch {
		case q.Required:
			panic("models: four-arm: a required parameter is NaN")
		case !math.IsNaN(q.Default):
			x[i] = q.Unit.ToSI(q.Default)
		case i == pGroundLength:
			x[i] = x[pLength]
		case i == pGroundThickness || i == pFillet:
			x[i] = x[pThickness]
		case i == pGroundInner:
			x[i] = x[pInner]
		case i == pStageAddedSize: // below, from the stage
		case i == pDepth:
			x[i] = max(8e-3, 10*x[pThickness], 10*x[pGroundThickness])
		}
	}
	p.T = max(x[pTravel], d.UpTo)
	p.l1, p.t1, p.wi1 = x[pLength], x[pThickness], x[pInner]
	p.l2, p.t2, p.wi2 = x[pGroundLength], x[pGroundThickness], x[pGroundInner]
	p.b, p.rho, p.g, p.w, p.f = x[pWidth], x[pFillet], x[pGap], x[pProng], x[pFoot]
	p.h, p.wb, p.frame = x[pDepth], x[pBack], x[pFrame]

	p.q1, p.q2 = p.t1/2+p.rho, p.t2/2+p.rho
	p.wo1 = p.wi1 + 2*p.q1 + p.T + p.g
	p.wo2 = p.wi2 + 2*p.q2 + p.T + p.g
	p.p1 = p.wo1 + p.q1 + 0.6*p.T + p.g
	p.sq = p.p1 + p.w
	p.p2 = p.wo2 + p.q2 + 0.6*p.T + p.g
	p.d1 = FilletStiffening(p.rho/p.t1) * p.rho
	p.d2 = FilletStiffening(p.rho/p.t2) * p.rho
	if math.IsNaN(x[pHalf]) {
		x[pHalf] = p.sq + p.T
	}
	p.hs = x[pHalf]
	if math.IsNaN(x[pStageAddedSize]) {
		x[pStageAddedSize] = 2 * p.hs
	}
	p.a = p.hs + p.g + p.f
	p.rb = p.a + p.l1 + p.h + p.g
	p.c = p.sq + p.g + p.f
	p.R = max(p.p2+p.w+p.sq+p.g, p.rb+p.wb-p.wi2-p.q2)
	if max(p.R-p.p2-p.w, p.c-p.f) < p.hs+p.T+p.g {
		p.R = p.hs + p.T + p.g + p.p2 + p.w
	}
	if holes := &d.Holes; holes.Columns > 0 && holes.Rows > 0 {
		p.holes = (float64(max(holes.Columns, holes.Rows)-1)*holes.Pitch+holes.Diameter)/2 + x[pPocketWall]
	}
	p.half = max(p.R+p.p2, p.rb+p.wb+p.T+p.g, p.R+p.wi2+p.q2+p.T+p.g, p.c+p.l2+p.h+p.g) + p.frame
	return p.check()
}

// check refuses dimensions that contradict each other. Values in the reasons are
// in millimetres.
func (p *fourArmPlate) check() Verdict {
	// A bound that was computed from the value itself must not fail on the last bit.
	const slack = 1e-12
	least := func(value, bound float64, format string) (Verdict, bool) {
		if value >= bound-slack {
			return Verdict{}, true
		}
		return Verdict{Status: CannotBuild, Format: format, Value: value * 1e3, Bound: bound * 1e3}, false
	}
	if v, ok := least(p.rho, LeastFilletRatio*p.t1, "fillet_radius rho = %.4[2]g mm is less than 0.1 blade_thickness = %.4[3]g mm"); !ok {
		return v
	}
	if v, ok := least(p.rho, LeastFilletRatio*p.t2, "fillet_radius rho = %.4[2]g mm is less than 0.1 ground_blade_thickness = %.4[3]g mm"); !ok {
		return v
	}
	if v, ok := least(p.f, max(p.d1, p.d2)+1e-3, "foot_length f = %.4[2]g mm is less than kappa rho + 1 mm = %.4[3]g mm (by kappa rho, fillet_radius times its stiffening, the face of a blade is set back)"); !ok {
		return v
	}
	if v, ok := least(p.h, max(p.d1, p.d2)+3e-3, "guide_body_depth h1, h2 = %.4[2]g mm is less than kappa rho + 3 mm = %.4[3]g mm (by kappa rho, fillet_radius times its stiffening, the face of a blade is set back)"); !ok {
		return v
	}
	if v, ok := least(p.hs, p.holes, NoRoomForHoles); !ok {
		return v
	}
	if v, ok := least(p.g, kerf, "free_gap g = %.4[2]g mm is less than the kerf = %.4[3]g mm"); !ok {
		return v
	}
	if v, ok := least(p.h, max(6e-3, 10*p.t1), "guide_body_depth h1 = %.4[2]g mm is less than max(6 mm, 10 blade_thickness) = %.4[3]g mm"); !ok {
		return v
	}
	if v, ok := least(p.h, max(6e-3, 10*p.t2), "guide_body_depth h2 = %.4[2]g mm is less than max(6 mm, 10 ground_blade_thickness) = %.4[3]g mm"); !ok {
		return v
	}
	if v, ok := least(p.wi1, p.q1+p.g/2, "inner_half_spacing wi1 = %.4[2]g mm is less than q1 + g/2 = %.4[3]g mm (q1 = blade_thickness/2 + fillet_radius, g = free_gap)"); !ok {
		return v
	}
	if v, ok := least(p.wi2, p.q2+p.g/2, "ground_inner_half_spacing wi2 = %.4[2]g mm is less than q2 + g/2 = %.4[3]g mm (q2 = ground_blade_thickness/2 + fillet_radius, g = free_gap)"); !ok {
		return v
	}
	if v, ok := least(p.hs, p.sq+p.T, "stage_half_size h_s = %.4[2]g mm is less than s_q + T = %.4[3]g mm (s_q: outer face of an arm's prong, T: travel)"); !ok {
		return v
	}
	if v, ok := least(p.rb+p.wb-p.f, p.R-p.wi2-p.q2, "the arm ends at r_b + wb - foot_length = %.4[2]g mm, before its tongue begins at R - wi2 - q2 = %.4[3]g mm: blade_length, arm_back_width too small or prong_width too large"); !ok {
		return v
	}
	return Verdict{}
}
