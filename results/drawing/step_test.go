package drawing

import (
	"bytes"
	"regexp"
	"strings"
	"testing"
)

// TestSTEP: whatever the file refers to is there, and the shell is closed: its
// faces are as many as the plate's, and every edge is used once in each direction.
func TestSTEP(t *testing.T) {
	p := draw(t, example(nil), fullOptions())
	var a, b bytes.Buffer
	if err := p.WriteSTEP(&a, `d'Été \ 𝛼`); err != nil {
		t.Fatal(err)
	}
	if err := p.WriteSTEP(&b, `d'Été \ 𝛼`); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("two files of one plate differ", err)
	}
	if want := `'d''\X2\00C9\X0\t\X2\00E9\X0\ \\ \X4\0001D6FC\X0\'`; !strings.Contains(a.String(), "PRODUCT("+want) {
		t.Errorf("the name is not written as %s", want)
	}
	entity := regexp.MustCompile(`(?m)^#(\d+)=(.*);$`)
	reference := regexp.MustCompile(`#(\d+)`)
	is := map[string]string{}
	for _, m := range entity.FindAllStringSubmatch(a.String(), -1) {
		is[m[1]] = m[2]
	}
	faces, solids := 0, 0
	uses := map[string]map[string]int{} // by edge: sense
	oriented := regexp.MustCompile(`^ORIENTED_EDGE\('',\*,\*,#(\d+),\.([TF])\.\)$`)
	for id, text := range is {
		for _, r := range reference.FindAllStringSubmatch(text, -1) {
			if is[r[1]] == "" {
				t.Fatalf("#%s refers to #%s, which is not there", id, r[1])
			}
		}
		switch {
		case strings.HasPrefix(text, "ADVANCED_FACE("):
			faces++
		case strings.HasPrefix(text, "MANIFOLD_SOLID_BREP("):
			solids++
		case strings.HasPrefix(text, "ORIENTED_EDGE("):
			m := oriented.FindStringSubmatch(text)
			if uses[m[1]] == nil {
				uses[m[1]] = map[string]int{}
			}
			uses[m[1]][m[2]]++
		}
	}
	// Two lids, a face for each vertex of each contour, one for each of 8 + 9 holes.
	want := 2 + 8 + 9
	edges := 8*3 + 9*3
	for _, c := range p.Contours {
		want += len(c)
		edges += 3 * len(c)
	}
	if faces != want || p.Faces() != want || solids != 1 || len(uses) != edges {
		t.Errorf("%d faces and %d edges in %d solids; want %d (the plate has %d) and %d", faces, len(uses), solids, want, p.Faces(), edges)
	}
	for edge, n := range uses {
		if n["T"] != 1 || n["F"] != 1 || !strings.HasPrefix(is[edge], "EDGE_CURVE(") {
			t.Errorf("edge #%s is used %d times forwards, %d times backwards: %s", edge, n["T"], n["F"], is[edge])
		}
	}
}
