package models

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// TestPocketRow compares members with pockets with elastic solids of them (a script
// beside the table made it). The tolerances are what the function promises; shear is
// seen in the end of a cantilever under a force, L³/3EI + L/GA.
func TestPocketRow(t *testing.T) {
	file, err := os.Open("../testdata/reference/elastic/members.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		v := make([]float64, len(row))
		for i, text := range row {
			if v[i], err = strconv.ParseFloat(text, 64); err != nil {
				t.Fatal(err)
			}
		}
		W, b, w, l, P, n := v[0], v[1], v[2], v[3], v[4], v[5]
		const nu = 0.33
		f := pocketRow(W, b, w, l, P, min(1, w/2), nu)
		L := n * P
		bend, shear := L*L*L/3/(W*W*W/12), L/(5.0/6*W/(2*(1+nu)))
		shift := (bend*(1+f.Bend) + shear*(1+f.Shear)) / (bend + shear)
		for _, c := range []struct {
			what             string
			got, want, limit float64
		}{
			{"axial", 1 + f.Axial, v[6], 0.04}, {"bend", 1 + f.Bend, v[7], 0.013}, {"shift", shift, v[8], 0.06},
			{"lift", 1 + f.Lift, v[9], 0.04}, {"twist", 1 + f.Twist, v[10], 0.21},
		} {
			if math.Abs(c.got/c.want-1) > c.limit {
				t.Errorf("%g x %g, pockets of %g x %g: %s %.4g, solid %.4g", W, b, w, l, c.what, c.got, c.want)
			}
		}
	}
	if len(rows) < 6 {
		t.Error("no table")
	}
	if (&pocketGrid{}).flexing(true, 8e-3, 25e-3, 0.1, 1, 3e-3, 0.33) != (Flexing{}) {
		t.Error("a member without pockets gives more than a solid one")
	}
}
