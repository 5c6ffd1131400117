package blade

import "flexwright/models/dense"

//go:generate go run -C ../../.ci/lanes . -what tangents -pkg blade -columns ../../models/blade/tangents -out ../../models/blade/tangents_amd64.s -stubs ../../models/blade/tangents_stubs_amd64.go

// Tangents solves blades at poses at a time, as [OutOfPlane.Tangent] does: columns have a number for each pose of a blade,
// blade after blade. The bits are the same for one pose and for many.
type Tangents struct {
	poses   int
	blades  []*OutOfPlane
	columns [tangentsColumns][]float64
	own     [len(constants)][]float64 // of each blade
	known   bool                      // the constants are in the columns
	scalars [tangentsScalars]float64
}

// spare is how many numbers columns have beyond those that are used.
const spare = 7

// NewTangents returns memory for some blades at some poses.
func NewTangents(blades, poses int) *Tangents {
	t := &Tangents{poses: poses, blades: make([]*OutOfPlane, blades)}
	for i := range t.columns {
		t.columns[i] = make([]float64, blades*poses+spare)
	}
	for i := range t.own {
		t.own[i] = make([]float64, blades)
	}
	return t
}

// Set takes over blade i, which must stay as it is.
func (t *Tangents) Set(i int, o *OutOfPlane) {
	t.blades[i], t.known = o, false
	quarter := o.Length * o.Length / (4 * o.warp)
	il := 1 / (o.Length * o.Length)
	for c, v := range [len(constants)]float64{o.Length, o.column, o.steep, o.bend, o.shear, o.gj, o.polar, quarter, o.Length * quarter,
		0.25 * o.loseBending, il * o.loseShear, o.ends[0], o.ends[1], o.ends[2], o.ends[3], o.ends[4], o.ends[5]} {
		t.own[c][i] = v
	}
}

// constants are the columns that [Tangents.Set] knows.
var constants = [17]int{tangentsLength, tangentsColumn, tangentsSteep, tangentsBend, tangentsShear, tangentsGj, tangentsPolar, tangentsPerWarp, tangentsTwist,
	tangentsLoseBending, tangentsLoseShear, tangentsEnd0, tangentsEnd1, tangentsEnd2, tangentsEnd3, tangentsEnd4, tangentsEnd5}

// Bend says how blade i is bent at a pose: the angles of its ends to the chord, rad, and the axial force, N.
func (t *Tangents) Bend(i, pose int, a, b, axial float64) {
	at := i*t.poses + pose
	t.columns[tangentsA][at], t.columns[tangentsB][at], t.columns[tangentsAxial][at] = a, b, axial
}

// Solve fills the columns of [Tangents.Stiffness]; false with the first blade that has buckled in torsion.
func (t *Tangents) Solve() (blade int, ok bool) {
	if !t.known {
		for i, c := range constants {
			dense.Repeat(t.columns[c], t.own[i], t.poses)
		}
		t.known = true
	}
	n := len(t.blades) * t.poses
	tangents(&t.columns, &t.scalars, 0, n)
	for at, plain := range t.columns[tangentsPlain][:n] {
		if plain == 0 {
			continue
		}
		var k [9]float64
		i := at / t.poses
		if !t.blades[i].Tangent(t.columns[tangentsA][at], t.columns[tangentsB][at], t.columns[tangentsAxial][at], &k) {
			return i, false
		}
		t.put(at, &k)
	}
	return 0, true
}

// Put sets the stiffness of blade i at a pose.
func (t *Tangents) Put(i, pose int, k *[9]float64) { t.put(i*t.poses+pose, k) }

func (t *Tangents) put(at int, k *[9]float64) {
	for i, column := range t.Stiffness() {
		column[at] = k[[6]int{0, 1, 2, 4, 5, 8}[i]]
	}
}

// Stiffness returns the columns of the upper triangles of [OutOfPlane.Tangent], row by row.
func (t *Tangents) Stiffness() [6][]float64 {
	c := &t.columns
	return [6][]float64{c[tangentsK00], c[tangentsK01], c[tangentsK02], c[tangentsK11], c[tangentsK12], c[tangentsK22]}
}
