package blade

import (
	"bytes"
	"encoding/csv"
	"flag"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite ACCURACY.md from what is computed")

// solidLeaf is one row of testdata/reference/solid_leaf.csv: a leaf as a 3-D
// solid (Saint Venant-Kirchhoff hexahedra), tip held at a lateral displacement
// without rotation and without axial force; origin and signs in the README there.
type solidLeaf map[string]float64

func solidLeaves(t *testing.T) []solidLeaf {
	f, err := os.Open("../../testdata/reference/solid_leaf.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var leaves []solidLeaf
	for _, row := range rows[1:] {
		leaf := solidLeaf{}
		for i, name := range rows[0] {
			if leaf[name], err = strconv.ParseFloat(row[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		leaves = append(leaves, leaf)
	}
	if len(leaves) != 40 {
		t.Fatalf("%d rows, want eight leaves at five deflections", len(leaves))
	}
	return leaves
}

func (s solidLeaf) size() (length, t, b, young, nu float64) {
	return s["length_m"], s["thickness_m"], s["width_m"], s["youngs_modulus_pa"], s["poisson"]
}

// tangent returns our out-of-plane stiffness (z, roll, pitch) in the leaf's
// unloaded axes: the chord makes an angle γ with them.
func (s solidLeaf) tangent(t *testing.T) (k [3][3]float64) {
	length, th, b, e, nu := s.size()
	o := NewOutOfPlane(length, th, b, e, nu)
	gamma := math.Atan2(s["lateral_m"], length+s["axial_m"])
	var c [9]float64
	if !o.Tangent(-gamma, -gamma, 0, &c) {
		t.Fatal("not definite")
	}
	sin, cos := math.Sincos(gamma)
	r := [3][3]float64{{1, 0, 0}, {0, cos, -sin}, {0, sin, cos}}
	for i := range 3 {
		for j := range 3 {
			for m := range 3 {
				for n := range 3 {
					k[i][j] += r[i][m] * c[3*m+n] * r[j][n]
				}
			}
		}
	}
	return k
}

var outOfPlaneEntries = []struct {
	name string
	i, j int
	goal float64 // largest difference, of the value
}{
	// Acceptance of the reference data is 4 % for z and 3 % for roll and pitch,
	// its goal 2 % for both. What the closed form reaches is 1.3 %: the goal holds.
	{"k_uz_uz", 0, 0, 0.02}, {"k_uz_ry", 0, 2, 0.02}, {"k_rx_rx", 1, 1, 0.02}, {"k_ry_ry", 2, 2, 0.02},
	// Not named by the acceptance rule; held to the same.
	{"k_uz_rx", 0, 1, 0.02}, {"k_rx_ry", 1, 2, 0.02},
}

// The error table of the blade: computed here, kept in ACCURACY.md (go test
// ./models/blade -run TestAccuracy -update), with the acceptance beside it.
func TestAccuracy(t *testing.T) {
	leaves := solidLeaves(t)
	var doc bytes.Buffer
	// the sign of a difference that is nothing hangs on the last bit, which differs between machines
	unsigned := strings.NewReplacer("-0.000 %", "0.000 %", "+0.000 %", "0.000 %", "-0.00 %", "0.00 %", "+0.00 %", "0.00 %")
	line := func(format string, a ...any) { fmt.Fprintln(&doc, unsigned.Replace(fmt.Sprintf(format, a...))) }
	line("# How accurate one blade is")
	line("")
	line("Written by `go test ./models/blade -run TestAccuracy -update`; the test fails when a table differs from what is computed.")
	line("Solid: one leaf as a three-dimensional solid, `testdata/reference/solid_leaf.csv` (its README says how it was made; its")
	line("two finer meshes lie 0.05 %% lower in bending and 0.1 %% lower in z and roll). ours / solid - 1 everywhere.")
	line("")
	line("## Bending and stretching of the straight blade")
	line("")
	line("Factor on E I: lateral force / displacement of the guided leaf at w/L = 0.001, over E b t³/L³. Thin: `StripFactor` (Kirchhoff plate);")
	line("`BendingFactor` adds the first corrections in t/L and t/b. Limit 0.5 %%, goal 0.2 %% (the goal is tested for `BendingFactor`).")
	line("Stretch: k_ux_ux over E b t/L, corrected for its softening by the deflection (3/175 (w/t)²), against `ClampStretchFactor`.")
	line("")
	line("| L × b × t, mm | ν | b/L | solid f | StripFactor | diff | BendingFactor | diff | solid stretch | ours | diff |")
	line("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
	for i := 0; i < len(leaves); i += 5 {
		s := leaves[i]
		l, th, b, e, nu := s.size()
		solid := s["lateral_force_n"] / s["lateral_m"] / (e * b * math.Pow(th/l, 3))
		thin, thick := StripFactor(b/l, nu), BendingFactor(l, th, b, nu)
		bent := s["lateral_m"] / th
		stretch, ours := s["k_ux_ux"]/(e*b*th/l)*(1+3.0/175*bent*bent), ClampStretchFactor(b/l, nu)
		line("| %g × %g × %g | %g | %.3f | %.4f | %.4f | %+.2f %% | %.4f | %+.2f %% | %.4f | %.4f | %+.2f %% |", 1e3*l, 1e3*b, 1e3*th, nu, b/l,
			solid, thin, 100*(thin/solid-1), thick, 100*(thick/solid-1), stretch, ours, 100*(ours/stretch-1))
		if math.Abs(thin/solid-1) > 0.005 {
			t.Errorf("leaf %d: StripFactor %.4f, solid %.4f", i/5, thin, solid)
		}
		if math.Abs(thick/solid-1) > 0.002 {
			t.Errorf("leaf %d: BendingFactor %.4f, solid %.4f", i/5, thick, solid)
		}
		// The solid's clamps hold the thickness too, which the plate leaves free
		// to change: a relative excess of order ν² over about t of the length.
		if math.Abs(ours/stretch-1) > nu*nu*th/l {
			t.Errorf("leaf %d: stretch %.4f, solid %.4f", i/5, ours, stretch)
		}
	}
	line("")
	line("## Shortening of the guided blade")
	line("")
	line("-(axial displacement) L/w² of the guided leaf without axial force at w/L = 0.001; 0.6 (1 + `ClampShortening`). A beam has 0.6. Goal, tested here: 0.1 %% of it.")
	line("")
	line("| L × b × t, mm | ν | b/L | solid | ours | diff |")
	line("| --- | --- | --- | --- | --- | --- |")
	for i := 0; i < len(leaves); i += 5 {
		s := leaves[i]
		l, th, b, _, nu := s.size()
		solid := -s["axial_m"] * l / (s["lateral_m"] * s["lateral_m"])
		section := NewSection(l, th, b, 1, nu, 0, 0)
		ours := 6 * section.ShortS
		line("| %g × %g × %g | %g | %.3f | %.4f | %.4f | %+.2f %% |", 1e3*l, 1e3*b, 1e3*th, nu, b/l, solid, ours, 100*(ours/solid-1))
		if math.Abs(ours/solid-1) > 0.001 {
			t.Errorf("leaf %d: shortening %.4f, solid %.4f", i/5, ours, solid)
		}
	}
	line("")
	line("## Out of plane, bent")
	line("")
	line("Tangent of the tip (z, roll about x, pitch about y) with the root clamped, tip held at w without rotation, no axial force. Limits:")
	line("4 %% for k_uz_uz and k_uz_ry, 3 %% for k_rx_rx and k_ry_ry; goal, tested here, 2 %% for all.")
	line("")
	line("| L × b × t, mm | w/L | k_uz_uz N/mm: solid | ours | diff | k_uz_ry | k_rx_rx | k_ry_ry | k_uz_rx | k_rx_ry |")
	line("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
	worst := make([]float64, len(outOfPlaneEntries))
	for _, s := range leaves {
		l, th, b, _, _ := s.size()
		k := s.tangent(t)
		var d [6]float64
		for n, c := range outOfPlaneEntries {
			d[n] = k[c.i][c.j]/s[c.name] - 1
			worst[n] = math.Max(worst[n], math.Abs(d[n]))
			if math.Abs(d[n]) > c.goal {
				t.Errorf("%g × %g × %g mm at w/L %.3f: %s %+.2f %%", 1e3*l, 1e3*b, 1e3*th, s["lateral_m"]/l, c.name, 100*d[n])
			}
		}
		line("| %g × %g × %g | %.3f | %.1f | %.1f | %+.2f %% | %+.2f %% | %+.2f %% | %+.2f %% | %+.2f %% | %+.2f %% |", 1e3*l, 1e3*b, 1e3*th, s["lateral_m"]/l,
			s["k_uz_uz"]/1e3, k[0][0]/1e3, 100*d[0], 100*d[1], 100*d[2], 100*d[3], 100*d[4], 100*d[5])
	}
	line("| largest | | | | %.2f %% | %.2f %% | %.2f %% | %.2f %% | %.2f %% | %.2f %% |", 100*worst[0], 100*worst[1], 100*worst[2], 100*worst[3], 100*worst[4], 100*worst[5])
	line("")
	line("## Published values")
	line("")
	line("| quantity | source | value | ours | diff |")
	line("| --- | --- | --- | --- | --- |")
	for _, c := range [][2]float64{{1, 0.14058}, {2, 0.22868}, {5, 0.29132}, {10, 0.31233}, {20, 0.32283}, {40, 0.32808}} {
		got := torsion(c[0], 1) / c[0]
		line("| J/(b t³), b/t = %g | Saint-Venant's series (Timoshenko & Goodier) | %.5f | %.5f | %+.3f %% |", c[0], c[1], got, 100*(got/c[1]-1))
	}
	for _, c := range [][2]float64{{0.1, 1.0488}, {0.3, 1.1623}, {0.5, 1.3032}, {1.0, 1.8281}} {
		lambda := math.Sqrt(24/1.3) / c[0]
		var r twist
		r.solve(1, 1/(lambda*lambda), 1)
		line("| torsion, warping restrained at both ends, factor at b/L = %g (ν 0.3, with E) | Vlasov; Timoshenko | %.4f | %.4f | %+.3f %% |", c[0], c[1], 1/r.r00, 100*(1/r.r00/c[1]-1))
	}
	for _, nu := range []float64{0.30, 0.33} {
		want := 1 / (1 - nu*nu)
		got := StripFactor(1e6, nu)
		line("| f of a wide blade, ν = %g | plate, 1/(1-ν²) | %.4f | %.4f | %+.3f %% |", nu, want, got, 100*(got/want-1))
	}
	line("")
	line("## Where the rest sits")
	line("")
	line("- StripFactor: the free edges let go of the twisting moment over one thickness and shear adds flexibility (both lower f, most for")
	line("  t/b = 0.125), the clamps hold the thickness too (raises it). `BendingFactor` carries the three.")
	line("- f is one constant: as the blade bends its section flattens and f grows (0.3 %% at w/L = 0.05 for 48 × 25 × 0.5 mm), and a blade bent to a constant")
	line("  curvature has less than a guided one.")
	line("- Straight, k_rx_rx is up to 0.7 %% high where b/L is 0.8: Vlasov's warping is the first term of the plate's torsion (0.6 %% by the Kirchhoff plate).")
	line("- Bent, the clamps keep the section from curling, so that the blade's slope at half length is 0.4 to 1 %% larger than the cubic's; without that (from the")
	line("  Kirchhoff plate) all entries would be up to 1.5 %% high. What is left grows with (w/L)²: 0.6 %% at w/L = 0.06, 1.4 %% at 0.08.")
	line("- The flexibility is that of a stress-free curved rod. The moment that bends the blade turns with the section: a prestressed rod (exact elastica, linearised) has")
	line("  k_uz_rx 1.6 %% lower and k_rx_ry 0.9 %% higher for 8 × 1 mm, in proportion to (t/b)², and 0.4 %% more in z at w/L = 0.08.")
	name := "ACCURACY.md"
	if *update {
		if err := os.WriteFile(name, doc.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("\n%s", doc.String())
	stored, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(stored, doc.Bytes()) {
		t.Errorf("%s differs from what is computed: see the log, or -update", name)
	}
}
