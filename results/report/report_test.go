package report

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"math"
	"math/rand/v2"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"flexwright/objective"
	"flexwright/results"
	"flexwright/search"
)

// syntheticInput is a report's input over a synthetic run.
func syntheticInput(t testing.TB, rows int) Input {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "night.run")
	spec := syntheticRun(t, dir, rows)
	return openInput(t, dir, spec)
}

func openInput(t testing.TB, dir string, spec *objective.Spec) Input {
	t.Helper()
	folder, err := results.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return Input{Folder: folder, Brief: func(int64) *Brief { return syntheticBrief(spec) }}
}

func syntheticBrief(spec *objective.Spec) *Brief {
	spec.Tolerances = objective.DefaultTolerances()
	spec.Tolerances.Samples = 20
	return &Brief{Title: "a synthetic night", Text: "title: a synthetic night\n", Plan: "made up", Spec: spec, Space: search.Space{
		{Name: "travel", From: 1, To: 6}, {Name: "blade_length", From: 30, To: 80},
		{Name: "blade_thickness", From: 0.3, To: 1}, {Name: "blade_width", From: 8, To: 30}}}
}

func write(t testing.TB, in Input) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, in); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestPageIsWhole(t *testing.T) {
	in := syntheticInput(t, 6000) // the dominated ones go at each of sixty checkpoints
	page := write(t, in)
	checkTags(t, page)
	checkNoReferences(t, page)
	for _, want := range []string{"a synthetic night", "3\u202f000", "peak stress", "at most 160 MPa", "What ends the front", "Knee", "Nominal", "licensed engineer", "common practice", "Of 20 parts", "Budgets", "Modes at the centre", "Over the workspace"} {
		if !strings.Contains(strings.ToLower(page), strings.ToLower(want)) {
			t.Errorf("the page lacks %q", want)
		}
	}
	front, err := in.Folder.Front(nil)
	if err != nil {
		t.Fatal(err)
	}
	d := decodeData(t, page)
	if n := bytes.Count(decode64(t, d.Class), []byte{classFront}); n != len(front) {
		t.Errorf("%d designs of the front, want %d", n, len(front))
	}
	class := decode64(t, d.Class)
	for k, id := range ids(t, &d) {
		onFront := slices.ContainsFunc(front, func(r objective.Row) bool { return float64(r.ID) == id })
		if onFront != (class[k] == classFront) {
			t.Errorf("design %g: on the front %v, and its class is %d", id, onFront, class[k])
		}
	}
	if write(t, in) != page {
		t.Error("the same folder gives another page")
	}
}

// ids of the rows of the data.
func ids(t testing.TB, d *data) []float64 {
	b := decode64(t, d.ID)
	list := make([]float64, d.N)
	for k := range list {
		list[k] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*k:]))
	}
	return list
}

func decode64(t testing.TB, s string) []byte {
	b, err := base64.StdEncoding.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func decodeData(t testing.TB, page string) data {
	t.Helper()
	_, rest, ok := strings.Cut(page, `<script type="application/json" id="data">`)
	text, _, end := strings.Cut(rest, "</script>")
	var d data
	if !ok || !end {
		t.Fatal("no data in the page")
	}
	if err := json.Unmarshal([]byte(text), &d); err != nil {
		t.Fatal(err)
	}
	return d
}

var (
	tag      = regexp.MustCompile(`(?s)<(/?)([a-zA-Z][a-zA-Z0-9]*)((?:\s+[^<>"']*(?:"[^"]*"|'[^']*')?)*)\s*(/?)>`)
	rawBlock = regexp.MustCompile(`(?s)(<(script|style|textarea)\b[^>]*>)(.*?)(</(script|style|textarea)>)`)
	void     = []string{"meta", "input", "br", "link", "img", "hr"}
)

// checkTags holds that every element is closed, in order: stricter than what a
// browser asks for.
func checkTags(t *testing.T, page string) {
	t.Helper()
	plain := rawBlock.ReplaceAllString(page, "$1$4")
	var open []string
	for _, m := range tag.FindAllStringSubmatch(plain, -1) {
		name := strings.ToLower(m[2])
		switch {
		case slices.Contains(void, name) || m[4] == "/":
		case m[1] == "":
			open = append(open, name)
		case len(open) == 0 || open[len(open)-1] != name:
			t.Fatalf("</%s> closes %v", name, open)
		default:
			open = open[:len(open)-1]
		}
	}
	if len(open) > 0 {
		t.Errorf("left open: %v", open)
	}
	if n := strings.Count(plain, "<h1"); n != 1 {
		t.Errorf("%d main headings", n)
	}
	ids := map[string]bool{}
	for _, m := range regexp.MustCompile(`\bid="([^"]*)"`).FindAllStringSubmatch(plain, -1) {
		if ids[m[1]] {
			t.Errorf("id %s twice", m[1])
		}
		ids[m[1]] = true
	}
	for _, m := range regexp.MustCompile(`href="#([^"]*)"`).FindAllStringSubmatch(plain, -1) {
		if !ids[m[1]] {
			t.Errorf("a link to #%s, which is not there", m[1])
		}
	}
}

// checkNoReferences holds that nothing of the page is fetched: no attribute or
// style that a browser would follow, but links within the page.
func checkNoReferences(t *testing.T, page string) {
	t.Helper()
	for _, m := range regexp.MustCompile(`(?i)\b(?:src|href|action|poster|data|srcset)\s*=\s*["']?([^"'\s>]*)|url\(([^)]*)\)|@import[^;]*|<(?:link|iframe|object|embed|base)\b`).FindAllStringSubmatch(rawBlock.ReplaceAllStringFunc(page, func(s string) string {
		if strings.HasPrefix(s, "<style") {
			return s
		}
		return ""
	}), -1) {
		if !strings.HasPrefix(m[1], "#") {
			t.Errorf("the page refers to %s", m[0])
		}
	}
	if strings.Contains(reportJS, "http") || strings.Contains(reportJS, "fetch(") {
		t.Error("the script reaches out")
	}
	if !strings.Contains(page, "default-src &#39;none&#39;") && !strings.Contains(page, "default-src 'none'") {
		t.Error("the page does not forbid itself to fetch")
	}
}

// Whatever a user writes into a brief stays text.
func TestForeignTextIsEscaped(t *testing.T) {
	const bad = `</script><img src=x onerror=alert(1)>"'&`
	dir := filepath.Join(t.TempDir(), "night.run")
	spec := syntheticRun(t, dir, 400)
	material := *spec.Materials[0]
	material.Name, material.Source = bad, bad
	in := openInput(t, dir, spec)
	in.Brief = func(int64) *Brief {
		b := syntheticBrief(spec)
		b.Title, b.Text, b.Plan, b.Problem = bad, bad, bad, bad
		return b
	}
	page := write(t, in)
	if strings.Contains(page, "<img") || strings.Contains(page, bad) {
		t.Error("the title of the brief is not escaped")
	}
	checkTags(t, page)
	// texts of rows, in the data and in a panel
	spec2 := syntheticSpec()
	spec2.Materials[0] = &material
	rows := []objective.Row{syntheticRow(spec2, 1, rand.New(rand.NewPCG(1, 1)))}
	rows[0].Material, rows[0].FirstLimit = bad, bad
	columns := objective.Columns(spec2.Parameters(), spec2.Measures)
	text := string(asJSON(texts(results.ColumnNamed(columns, "material"), rows)))
	if strings.ContainsAny(text, "<>&") {
		t.Errorf("data not escaped: %s", text)
	}
}

// The front whole, the rest by an even choice that does not depend on the order
// in which it is offered.
func TestThinning(t *testing.T) {
	const rows = 18000
	in := syntheticInput(t, rows)
	in.Designs = []Design{{ID: 11}, {ID: 17}}
	page := write(t, in)
	d := decodeData(t, page)
	class := decode64(t, d.Class)
	front, _ := in.Folder.Front(nil)
	n := [3]int{}
	for _, c := range class {
		n[c]++
	}
	m := in.Folder.Manifest()
	if n[classFront] != len(front) || n[classFeasible] < sampleFeasible-len(front) || n[classFeasible] > sampleFeasible+3 || n[classOther] < sampleOthers || n[classOther] > sampleOthers+3 {
		t.Errorf("held: %v of %d feasible, %d on the front, %d rows", n, m.Feasible, len(front), m.Rows)
	}
	if !strings.Contains(page, "Thinned by a fixed rule") {
		t.Error("the rule is not stated")
	}
	list := ids(t, &d)
	for _, want := range in.Designs {
		if !slices.ContainsFunc(d.Picks, func(k int) bool { return list[k] == float64(want.ID) }) {
			t.Errorf("design %v is not among the picks %v", want, d.Picks)
		}
	}

	var forward, backward sample
	forward.size, backward.size = 500, 500
	for i := range 4000 {
		forward.offer(&objective.Row{ID: int64(i + 1)})
		backward.offer(&objective.Row{ID: int64(4000 - i)})
	}
	a, b := forward.list(), backward.list()
	below := 0
	for i := range a {
		if a[i].ID != b[i].ID {
			t.Fatal("the order of the rows matters")
		}
		if a[i].ID <= 2000 {
			below++
		}
	}
	// hypergeometric: 250 expected in the lower half, standard deviation 10.5; four of them
	if below < 250-42 || below > 250+42 {
		t.Errorf("%d of 500 from the lower half", below)
	}
}

func TestMissingDesign(t *testing.T) {
	in := syntheticInput(t, 100)
	in.Designs = []Design{{ID: 101}}
	err := Write(&bytes.Buffer{}, in)
	if missing, ok := err.(*MissingError); !ok || missing.Design.ID != 101 {
		t.Errorf("error %v", err)
	}
}

// A run that has just begun, without a row; one without a feasible row; one
// whose brief cannot be read.
func TestReportOfLittle(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "night.run")
	spec := syntheticSpec()
	run, err := results.Start(dir, syntheticDescription(spec))
	if err != nil {
		t.Fatal(err)
	}
	defer run.Close()
	row := syntheticRow(spec, 1, rand.New(rand.NewPCG(1, 1)))
	for _, step := range []struct {
		rows []objective.Row
		want string
	}{
		{nil, "No design is stored yet"},
		{[]objective.Row{infeasible(row)}, "No design meets every limit"},
	} {
		if err := run.Append(step.rows); err != nil {
			t.Fatal(err)
		}
		folder, err := results.Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, brief := range []*Brief{syntheticBrief(spec), {Text: "?", Problem: "it is of another version"}} {
			page := write(t, Input{Folder: folder, Brief: func(int64) *Brief { return brief }})
			checkTags(t, page)
			if !strings.Contains(page, step.want) || !strings.Contains(page, "is running") {
				t.Errorf("the page lacks %q or that the run is running", step.want)
			}
			if brief.Spec == nil && !strings.Contains(page, brief.Problem) {
				t.Error("the page does not say why the brief cannot be read")
			}
		}
	}
}

func infeasible(r objective.Row) objective.Row {
	r.Measures.Set(objective.PeakStress, 1000)
	syntheticSpec().Score(&r)
	return r
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{{0, "0"}, {12.345678, "12.35"}, {0.05, "0.05"}, {-0.00001234, "−1.234e-5"}, {123456, "123456"}, {1e6, "1e6"}, {99999.6, "100000"}, {-3, "−3"}, {0.30000000000000004, "0.3"}} {
		if got := number(c.v); got != c.want {
			t.Errorf("number(%g) = %q, want %q", c.v, got, c.want)
		}
	}
	if got := count(1234567); got != "1\u202f234\u202f567" {
		t.Errorf("count: %q", got)
	}
	if got := list([]string{"a", "b", "c"}); got != "a, b and c" {
		t.Errorf("list: %q", got)
	}
}

// The sentence on an end names a limit that is used up, a range that is used up,
// and what rejects the designs beyond; nothing else.
func TestEnds(t *testing.T) {
	spec := syntheticSpec()
	brief := syntheticBrief(spec)
	row := func(id int64, travel, length, stress float64) objective.Row {
		r := objective.Row{ID: id, Parameters: make([]float64, len(spec.Fixed))}
		copy(r.Parameters, spec.Fixed)
		for i, v := range []float64{travel, length, 0.5, 15} {
			r.Parameters[spec.Variables[i].Index] = v
		}
		r.Measures.Set(objective.FirstFrequency, 1e3/length)
		r.Measures.Set(objective.PeakStress, stress)
		r.Measures.Set(objective.LostMotion, 10)
		for _, m := range []objective.Measure{objective.ThinnestBlade, objective.BladeAspect, objective.BladeSlenderness, objective.YieldMargin, objective.BodyYieldMargin, objective.BucklingMargin} {
			r.Measures.Set(m, 3)
		}
		spec.Score(&r)
		return r
	}
	g := &gathered{archive: search.NewArchive[objective.Row](2), asked: map[Design]objective.Row{}}
	for _, goal := range []string{"travel_mm", "first_frequency_hz"} {
		columns := spec.Columns()
		g.goals = append(g.goals, goalColumn{results.ColumnNamed(columns, goal), true, -1})
	}
	limits := map[string]uint8{}
	for i := range spec.Limits {
		limits[spec.Column(spec.Limits[i].Ref)] = uint8(i)
	}
	out := make([]float64, 2)
	for _, r := range []objective.Row{
		row(1, 4, 60, 159), // used up: 160 is the limit
		row(2, 2, 30, 80),  // at the lower end of the range of the length
		row(3, 3, 45, 100),
		row(4, 5, 60, 200), row(5, 5.5, 60, 300), // beyond in travel
	} {
		g.add(&r, nil, limits, out)
	}
	g.front, g.frontObjs = g.archive.Items(), g.archive.Objectives()
	if len(g.front) != 3 {
		t.Fatalf("%d designs on the front", len(g.front))
	}
	e := ends(g, brief)
	for i, c := range []struct {
		design, value string
		why, beyond   []string
		not           []string
	}{
		{"1", "4 mm", []string{"peak stress (159 MPa, at most 160 MPa) is at its limit"}, []string{"2 designs beyond", "peak stress (2)"}, []string{"lost motion", "range"}},
		{"2", "33.33 Hz", []string{"blade length is at the lower end of its range, 30 mm", "no limit is reached"}, []string{"No design beyond"}, []string{"peak stress", "travel is at"}},
	} {
		if e[i].Design != c.design || e[i].Value != c.value {
			t.Errorf("end %d: design %s, %s", i, e[i].Design, e[i].Value)
		}
		for _, want := range c.why {
			if !strings.Contains(e[i].Why, want) {
				t.Errorf("end %d: %q lacks %q", i, e[i].Why, want)
			}
		}
		for _, want := range c.beyond {
			if !strings.Contains(e[i].Beyond, want) {
				t.Errorf("end %d: %q lacks %q", i, e[i].Beyond, want)
			}
		}
		for _, bad := range c.not {
			if strings.Contains(e[i].Why, bad) {
				t.Errorf("end %d: %q says %q", i, e[i].Why, bad)
			}
		}
	}
}

// The hypervolume of an archive that only gains never falls, and that of the
// last front is what it is by hand.
func TestHistory(t *testing.T) {
	g := &gathered{goals: make([]goalColumn, 2)}
	g.front = make([]objective.Row, 3)
	g.frontObjs = []float64{0, 2, 1, 1, 2, 0}
	g.history = []checkpoint{{front: []float64{1, 1}}, {front: []float64{0, 2, 1, 1}}, {front: g.frontObjs}}
	share, thinned := hypervolumes(g)
	// shares of the ranges: (0, 1), (½, ½), (1, 0), reference (1.1, 1.1), box 1.21:
	// 0.6², then 0.6² + 0.5 x 0.1, then 0.6² + 2 x 0.5 x 0.1
	for i, want := range []float64{0.36 / 1.21, 0.41 / 1.21, 0.46 / 1.21} {
		if math.Abs(share[i]-want) > 1e-12 || thinned {
			t.Errorf("checkpoint %d: %g, want %g", i, share[i], want)
		}
	}
}
