//go:build outside

package report

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// liveRun makes the evaluator, the program and a run with designs of every kind and
// hostile names, and opens its live report. It returns how to run the program there.
func liveRun(t *testing.T, b *browser) func(args ...string) string {
	t.Helper()
	dir := t.TempDir()
	call := func(in, name string, args ...string) string {
		c := exec.Command(name, args...)
		c.Dir = in
		out, err := c.Output()
		if _, ok := err.(*exec.ExitError); err != nil && (!ok || name == "go") {
			t.Fatalf("%s %v: %v", name, args, err)
		}
		return string(out)
	}
	call("live", "go", "generate", ".")
	binary := filepath.Join(dir, "flexwright")
	call(".", "go", "build", "-o", binary, "../../cmd/flexwright")
	brief := `
title: "<script>document.title = 'broken'</script> '\" \u0026"
layout: four-arm
material: {one_of: [aluminium 7075-T6, "<img src=x onerror=alert(1)>"]}
materials:
  "<img src=x onerror=alert(1)>": {youngs_modulus: 110 GPa, poisson_ratio: 0.33, density: 4400 kg/m³, yield_strength: 800 MPa}
fix: {stage_added_mass: 0.4 kg, guide_body_depth: 7 mm}
vary:
  travel:          {from: 1 mm, to: 4 mm}
  blade_length:    {from: 35 mm, to: 80 mm}
  blade_thickness: {from: 0.3 mm, to: 0.95 mm, step: 0.05 mm}
goals: {travel: most, bandwidth: most}
limits: {peak_stress: {at_most: 250 MPa}}
search: {method: sobol, designs: 200, seed: 7}
`
	brief = strings.Replace(brief, "fix: {", "fix: {blade_width: 20 mm, ", 1)
	if err := os.WriteFile(filepath.Join(dir, "live.yaml"), []byte(brief), 0o666); err != nil {
		t.Fatal(err)
	}
	run := func(args ...string) string { return call(dir, binary, args...) }
	run("run", "live.yaml")
	plain := filepath.Join(dir, strings.TrimSpace(run("report", "live.run", "--out", "plain.html")))
	file := filepath.Join(dir, strings.TrimSpace(run("report", "live.run", "--live", "--out", "live.html")))
	for _, name := range []string{plain, file} {
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %.2f MB", filepath.Base(name), float64(info.Size())/1e6)
	}
	b.size(1200, 900)
	b.open(file)
	return run
}

// quiet fails when the page complained or asked for something but itself and its worker.
func (b *browser) quiet() {
	b.t.Helper()
	for _, f := range b.faults {
		b.t.Errorf("the page complains: %s", f)
	}
	for _, u := range b.fetched {
		if !strings.HasPrefix(u, "file://") && !strings.HasPrefix(u, "blob:") {
			b.t.Errorf("the page asked for %s", u)
		}
	}
}

type liveAnswer struct {
	Status, Reason string
	Feasible       bool
	Measures       map[string]any
}

// sameNumbers compares an answer of the page with what show prints.
func sameNumbers(t *testing.T, what string, got *liveAnswer, shown string) (worst float64) {
	t.Helper()
	var want liveAnswer
	if err := json.Unmarshal([]byte(shown), &want); err != nil {
		t.Fatalf("%s: %v in %.200s", what, err, shown)
	}
	if got.Status != want.Status || got.Reason != want.Reason || got.Feasible != want.Feasible || len(got.Measures) != len(want.Measures) {
		t.Errorf("%s: %s %q %v, show says %s %q %v", what, got.Status, got.Reason, got.Feasible, want.Status, want.Reason, want.Feasible)
	}
	for column, w := range want.Measures {
		g, number := got.Measures[column], false
		if v, ok := w.(float64); ok {
			var u float64
			if u, number = g.(float64); number {
				far := math.Abs(u-v) / math.Max(math.Abs(v), 1e-300)
				if u == v {
					far = 0
				}
				if worst = max(worst, far); far > 1e-9 {
					t.Errorf("%s: %s is %v, show says %v", what, column, u, v)
				}
				continue
			}
		}
		if g != w {
			t.Errorf("%s: %s is %v, show says %v", what, column, g, w)
		}
	}
	return worst
}

func TestBrowserLive(t *testing.T) {
	b := openBrowser(t)
	run := liveRun(t, b)
	t.Run("numbers", func(t *testing.T) { liveNumbers(t, b, run) })
	b.call("Page.reload", nil, nil)
	b.wait("document.readyState === 'complete' && !!window.flexwrightLive && flexwrightLive.state().answer === null")
	t.Run("controls", func(t *testing.T) { liveControls(t, b, run) })
	b.call("Page.reload", nil, nil)
	b.wait("document.readyState === 'complete' && !!window.flexwrightLive && flexwrightLive.state().answer === null")
	t.Run("failure", func(t *testing.T) { liveFailure(t, b) })
	t.Run("layout file", func(t *testing.T) { liveLayoutFile(t, b, run) })
}

// A layout that is a user's file comes along in the page.
func liveLayoutFile(t *testing.T, b *browser, run func(...string) string) {
	dir := filepath.Dir(b.text("decodeURI(location.pathname)"))
	brief := `
layout: mine.layout.yaml
material: aluminium 7075-T6
fix: {travel: 1 mm}
vary:
  blade_length:    {from: 30 mm, to: 80 mm}
  blade_thickness: {from: 0.2 mm, to: 0.6 mm}
  blade_width:     {from: 10 mm, to: 30 mm}
goals: {first_frequency: most, footprint: least}
search: {method: sobol, designs: 20, seed: 7}
`
	layout := strings.Replace(run("layouts", "single-guide"), "layout: single-guide", "layout: mine", 1)
	for name, text := range map[string]string{"file.yaml": brief, "mine.layout.yaml": layout} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	run("run", "file.yaml")
	b.open(filepath.Join(dir, strings.TrimSpace(run("report", "file.run", "--live", "--out", "file.html"))))
	b.wait("!!window.flexwrightLive")
	b.eval("flexwrightLive.start()", nil)
	for i := range 10 {
		var a struct {
			ID int64
			liveAnswer
		}
		b.eval(fmt.Sprintf("flexwrightLive.evaluate(flexwrightLive.ofRow(%d)).then((a) => Object.assign({ id: +window.flexwrightReport.nameOf(%d) }, a))", i, i), &a)
		sameNumbers(t, fmt.Sprintf("design %d", a.ID), &a.liveAnswer, run("show", "file.run", "--design", fmt.Sprint(a.ID), "--json"))
		if len(a.Measures) < 20 {
			t.Errorf("%d measures: %s", len(a.Measures), a.Reason)
		}
	}
	b.quiet()
}

// The page's evaluator says of fifty designs of the run what show says of them, to 1e-9.
func liveNumbers(t *testing.T, b *browser, run func(...string) string) {
	var started float64
	b.eval("(async () => { const t = performance.now(); await flexwrightLive.start(); return performance.now() - t; })()", &started)
	var answers []struct {
		ID int64
		liveAnswer
		Milliseconds float64
	}
	b.eval(`(async () => {
		const out = [], R = window.flexwrightReport, L = window.flexwrightLive;
		for (let i = 0; i < 50; i++) {
			const t = performance.now(), a = await L.evaluate(L.ofRow(Math.floor(i * R.N / 50)));
			out.push(Object.assign({ id: +R.nameOf(Math.floor(i * R.N / 50)), milliseconds: performance.now() - t }, a));
		}
		return out;
	})()`, &answers)
	memory := b.number("flexwrightLive.state().memory / 1e6")
	if len(answers) != 50 {
		t.Fatalf("%d answers", len(answers))
	}
	statuses, worst := map[string]int{}, 0.0
	var times []float64
	for i := range answers {
		a := &answers[i]
		statuses[a.Status]++
		times = append(times, a.Milliseconds)
		worst = max(worst, sameNumbers(t, fmt.Sprintf("design %d", a.ID), &a.liveAnswer, run("show", "live.run", "--design", fmt.Sprint(a.ID), "--json")))
	}
	slices.Sort(times)
	t.Logf("%v; largest difference %.2g; started in %.0f ms, memory %.0f MB, an evaluation takes %.1f ms (median)", statuses, worst, started, memory, times[25])
	if statuses["solved"] < 10 || statuses["cannot_build"] < 5 {
		t.Errorf("too one-sided: %v", statuses)
	}
	if memory > 150 {
		t.Errorf("the evaluator takes %.0f MB", memory)
	}
	if s := b.text("document.title + document.querySelectorAll('img').length"); !strings.HasPrefix(s, "<script>") || !strings.HasSuffix(s, "0") {
		t.Errorf("a hostile title or name did something: %s", s)
	}
	b.quiet()
}

// Controls, undo, link, copies, kept designs and the search around a design.
func liveControls(t *testing.T, b *browser, run func(...string) string) {
	b.eval("flexwrightLive.start()", nil)
	b.wait("flexwrightLive.state().answer !== null && flexwrightLive.state().answer.status === 'solved'")
	state := func(of string) string { return b.text("JSON.stringify(flexwrightLive.state()." + of + ")") }
	index := func(name string) int {
		return int(b.number("flexwrightLive.state().about.parameters.findIndex((p) => p.name === '" + name + "')"))
	}
	set := func(name, value string) {
		b.eval(fmt.Sprintf("(() => { const e = document.getElementById('live-number-%d'); e.value = '%s'; e.onchange(); })()", index(name), value), nil)
	}
	answered := func() {
		b.wait("JSON.stringify(flexwrightLive.state().answer.design) === JSON.stringify(flexwrightLive.state().design)")
	}
	answered()
	before := state("design")

	set("blade_length", "61.5")
	set("stage_added_mass", "0.6")
	answered()
	changed := state("design")
	if changed == before || !strings.Contains(changed, "61.5") || !strings.Contains(changed, "0.6") {
		t.Errorf("from %s to %s", before, changed)
	}
	measures := state("answer.measures")

	// The link restores it, and so does a step back and forth.
	address := b.text("location.hash")
	if !strings.HasPrefix(address, "#try:") || !strings.Contains(address, "stage_added_mass=0.6") {
		t.Errorf("the link is %s", address)
	}
	b.eval("document.getElementById('live-undo').click(); document.getElementById('live-undo').click()", nil)
	answered()
	if now := state("design"); now != before {
		t.Errorf("undone: %s, before %s", now, before)
	}
	b.eval("location.hash = "+fmt.Sprintf("%q", address), nil)
	b.wait("JSON.stringify(flexwrightLive.state().design) === " + fmt.Sprintf("%q", changed))
	answered()
	if now := state("answer.measures"); now != measures {
		t.Error("the link gives other numbers")
	}

	// As a brief it is good and has the same numbers; as a command too.
	var got liveAnswer
	b.eval("flexwrightLive.state().answer", &got)
	var copied struct{ Text string }
	b.eval("flexwrightLive.brief(flexwrightLive.state().design)", &copied)
	dir := filepath.Dir(strings.TrimPrefix(b.text("decodeURI(location.pathname)"), "file://"))
	if err := os.WriteFile(filepath.Join(dir, "copied.yaml"), []byte(copied.Text), 0o666); err != nil {
		t.Fatal(err)
	}
	if out := run("check", "copied.yaml", "--json"); strings.TrimSpace(out) != "[]" && strings.TrimSpace(out) != "" {
		t.Errorf("the copied brief: %s", out)
	}
	sameNumbers(t, "the copied brief", &got, run("show", "copied.yaml", "--json"))
	c := exec.Command("sh", "-c", b.text("flexwrightLive.command()")+" --json")
	c.Dir, c.Env = dir, append(os.Environ(), "PATH="+dir+":"+os.Getenv("PATH"))
	shown, _ := c.Output()
	sameNumbers(t, "the copied command", &got, string(shown))

	// What cannot be built says why beside the control that did it.
	set("blade_thickness", "0.95")
	answered()
	if note := b.text(fmt.Sprintf("document.getElementById('live-note-%d').textContent", index("blade_thickness"))); !strings.Contains(note, "guide_body_depth h1 = 7 mm is less than") {
		t.Errorf("beside the control: %q", note)
	}
	b.eval("document.getElementById('live-undo').click()", nil)
	answered()

	// What is beyond a range, or between two steps, says what is taken for it, until it is moved again.
	for _, c := range []struct{ typed, value, note string }{
		{"200", "80", "200 is beyond the range: 80 mm is taken"}, {"70", "70", ""}} {
		set("blade_length", c.typed)
		answered()
		note := b.text(fmt.Sprintf("document.getElementById('live-note-%d').textContent", index("blade_length")))
		if got := state(fmt.Sprintf("design.values[%d]", index("blade_length"))); got != c.value || !strings.HasPrefix(note, c.note) || c.note == "" && strings.Contains(note, "taken") {
			t.Errorf("%s typed: %s, %q", c.typed, got, note)
		}
	}
	set("blade_thickness", "0.52")
	answered()
	if note := b.text(fmt.Sprintf("document.getElementById('live-note-%d').textContent", index("blade_thickness"))); !strings.HasPrefix(note, "0.52 is between two steps: 0.5 mm is taken") {
		t.Errorf("between two steps: %q", note)
	}
	b.eval("location.hash = '#try:blade_length=10;material=wood;blade_thickness=0.5'", nil)
	b.wait(fmt.Sprintf("flexwrightLive.state().design.values[%d] === 35", index("blade_length")))
	answered()
	if note := b.text(fmt.Sprintf("document.getElementById('live-note-%d').textContent + document.getElementById('live-copied').textContent", index("blade_length"))); !strings.Contains(note, "10 is beyond the range: 35 mm is taken") || !strings.Contains(note, "Not taken from the link: material=wood") {
		t.Errorf("of the link: %q", note)
	}

	// Nearest of the front; kept, up to five.
	b.eval("document.getElementById('live-snap').click()", nil)
	answered()
	if !strings.Contains(b.text("document.getElementById('live-copied').textContent"), "design ") {
		t.Error("no nearest design")
	}
	for range 6 {
		b.eval("document.getElementById('live-keep').click()", nil)
	}
	if n := b.number("document.querySelectorAll('#live-kept thead input').length"); n != 5 {
		t.Errorf("%g designs are kept", n)
	}

	// A push finds something better along its goal, and can be stopped.
	b.eval("document.getElementById('live-goal').value = 1; document.getElementById('live-designs').value = 96; document.getElementById('live-push').click()", nil)
	b.wait("document.getElementById('live-push-note').textContent.startsWith('Done')")
	if note := b.text("document.getElementById('live-push-note').textContent"); !strings.Contains(note, "96 of 96 designs") {
		t.Errorf("%q", note)
	}
	b.eval("document.getElementById('live-designs').value = 2000; document.getElementById('live-push').click()", nil)
	b.wait("document.getElementById('live-push-note').textContent.startsWith('Searching')")
	b.eval("document.getElementById('live-push').click()", nil)
	b.wait("document.getElementById('live-push-note').textContent.startsWith('Stopped')")
	answered()

	// A design that is marked in a plot or the table can be tried.
	b.eval("document.querySelectorAll('#designs tbody tr:not(.picked)')[0].click()", nil)
	if hidden := b.text("document.getElementById('live-take').hidden"); hidden != "false" {
		t.Error("a marked design is not offered")
	}
	b.eval("document.getElementById('live-take').click()", nil)
	b.settle()
	answered()

	// Folded parts, and a phone.
	b.eval("document.querySelectorAll('details').forEach((d) => { d.open = true; })", nil)
	b.wait("document.querySelectorAll('#live-map-list svg').length === 3 && document.querySelectorAll('#live-loop-list svg').length === 2 && document.querySelectorAll('#live-picture .moved path').length > 32")
	b.eval("document.getElementById('try').scrollIntoView({behavior: 'instant'})", nil)
	b.settle()
	b.shot("live")
	b.size(360, 800)
	if w := b.number("document.documentElement.scrollWidth"); w > 360 {
		t.Errorf("360 pixels wide, the page needs %g: %s", w, b.text(`[...document.querySelectorAll('#try *')].filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest('.scroll')).slice(0, 5).map((e) => e.tagName + '#' + e.id)`))
	}
	b.shot("live-phone")
	b.media("dark", "reduce", "")
	b.shot("live-dark")
	b.quiet()
}

// A worker that fails outside a request leaves none waiting.
func liveFailure(t *testing.T, b *browser) {
	b.eval("flexwrightLive.start()", nil)
	b.wait("flexwrightLive.state().answer !== null")
	var answers []struct{ Error string }
	b.eval(`(async () => {
		const L = window.flexwrightLive, d = L.middle(), one = L.evaluate(d), other = L.brief(d);
		L.worker().onerror({ message: 'out of memory' });
		return Promise.all([one, other, L.evaluate(d)]);
	})()`, &answers)
	if len(answers) != 3 {
		t.Fatalf("%d answers", len(answers))
	}
	for i, a := range answers {
		if a.Error != "out of memory" {
			t.Errorf("request %d is answered %q", i, a.Error)
		}
	}
}
