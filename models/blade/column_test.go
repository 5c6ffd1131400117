package blade

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Blades in columns are what they are one by one, to 1e-10 of the stiffness (closed forms of the twist lose digits in short blades): of all kinds, bent as in use and beyond it, pulled and pressed as
// far as to buckling in torsion, where both say so; the same bits for one pose as for many.
func TestTangentsInColumns(t *testing.T) {
	rng := rand.New(rand.NewPCG(23, 24))
	const blades, poses = 11, 9
	many, one := NewTangents(blades, poses), NewTangents(blades, 1)
	buckled, plain := 0, 0
	for range 300 {
		var o [blades]OutOfPlane
		for i := range o {
			l := 0.02 + 0.08*rng.Float64()
			o[i] = NewOutOfPlane(l, l*(0.004+0.02*rng.Float64()), l*(0.1+rng.Float64()), 70e9, 0.33)
			if i%2 == 0 {
				var root, tip [6]float64
				for _, end := range [2]*[6]float64{&root, &tip} {
					end[0], end[3], end[5] = 1e-9*rng.Float64(), 1e-4*rng.Float64(), 1e-5*rng.Float64()
					end[2] = 1e-8 * rng.NormFloat64()
				}
				o[i].Yield(&root, &tip)
			}
			many.Set(i, &o[i])
			one.Set(i, &o[i])
		}
		var bent [blades][poses][3]float64
		for i := range bent {
			for k := range bent[i] {
				p := rng.NormFloat64() / o[i].column
				if k%4 == 3 { // as far as what its torsion bears, and beyond
					p = -o[i].gj / o[i].polar * (0.9 + 0.4*rng.Float64())
				}
				bent[i][k] = [3]float64{0.1 * rng.NormFloat64(), 0.1 * rng.NormFloat64(), p}
				many.Bend(i, k, bent[i][k][0], bent[i][k][1], p)
			}
		}
		whole := true
		for k := range poses {
			first := -1
			for i := range bent {
				b := &bent[i][k]
				one.Bend(i, 0, b[0], b[1], b[2])
				var want [9]float64
				if !o[i].Tangent(b[0], b[1], b[2], &want) && first < 0 {
					first = i
				}
			}
			i, ok := one.Solve()
			if ok != (first < 0) || !ok && i != first {
				t.Fatalf("blade %d, %t; one by one %d", i, ok, first)
			}
			if !ok {
				whole = false
				buckled++
				continue
			}
			for i := range bent {
				b := &bent[i][k]
				var want [9]float64
				o[i].Tangent(b[0], b[1], b[2], &want)
				if one.columns[tangentsPlain][i] != 0 {
					plain++
				}
				for e, column := range one.Stiffness() {
					r, c := [6]int{0, 0, 0, 1, 1, 2}[e], [6]int{0, 1, 2, 1, 2, 2}[e]
					// the axial force's part may take away most of the blade's own
					size := [3]float64{math.Abs(want[0]) + math.Abs(1.2*b[2]/o[i].Length), want[4], math.Abs(want[8]) + math.Abs(b[2]*o[i].Length)}
					if math.Abs(column[i]-want[3*r+c]) > 1e-10*math.Sqrt(size[r]*size[c]) {
						t.Fatalf("stiffness %d,%d is %.15g, one by one %.15g", r, c, column[i], want[3*r+c])
					}
				}
			}
		}
		if _, ok := many.Solve(); ok != whole {
			t.Fatalf("all poses %t, one after the other %t", ok, whole)
		}
		if !whole {
			continue
		}
		for k := range poses {
			for i := range bent {
				one.Bend(i, 0, bent[i][k][0], bent[i][k][1], bent[i][k][2])
			}
			one.Solve()
			for i := range bent {
				for e, column := range one.Stiffness() {
					if y := many.Stiffness()[e][i*poses+k]; math.Float64bits(y) != math.Float64bits(column[i]) {
						t.Fatalf("blade %d at pose %d: %x of many, %x of one", i, k, y, column[i])
					}
				}
			}
		}
	}
	if buckled == 0 || plain == 0 {
		t.Errorf("%d have buckled, %d by the plain code", buckled, plain)
	}
}

func BenchmarkTangents(b *testing.B) {
	const blades, poses = 32, 9
	t := NewTangents(blades, poses)
	o := NewOutOfPlane(0.06, 0.0008, 0.03, 70e9, 0.33)
	for i := range blades {
		t.Set(i, &o)
		for k := range poses {
			t.Bend(i, k, 0.02, 0.03+0.001*float64(k), 10*float64(i-16))
		}
	}
	for b.Loop() {
		t.Solve()
	}
}
