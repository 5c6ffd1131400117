//go:build outside

package report

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// openReport writes a report of a run with enough of everything and opens it.
func openReport(t *testing.T, b *browser) {
	t.Helper()
	in := syntheticInput(t, 4000)
	in.Designs = []Design{{ID: 1234}}
	file := filepath.Join(t.TempDir(), "a report.html")
	if err := os.WriteFile(file, []byte(write(t, in)), 0o666); err != nil {
		t.Fatal(err)
	}
	b.size(1200, 900)
	b.open(file)
}

func (b *browser) clean() {
	b.t.Helper()
	for _, f := range b.faults {
		b.t.Errorf("the page complains: %s", f)
	}
	for _, u := range b.fetched {
		if !strings.HasPrefix(u, "file://") || strings.HasSuffix(u, "favicon.ico") {
			b.t.Errorf("the page asked for %s", u)
		}
	}
	if len(b.fetched) != 1 {
		b.t.Errorf("the page asked for %d things, itself included: %v", len(b.fetched), b.fetched)
	}
}

// toggle clicks on a box.
func (b *browser) toggle(id string) {
	b.t.Helper()
	b.eval("document.getElementById('"+id+"').click()", nil)
	b.settle()
}

// From a file's path, without a network: marks in all plots, no complaint.
func TestBrowserDraws(t *testing.T) {
	b := openBrowser(t)
	openReport(t, b)
	rows := b.number("JSON.parse(document.getElementById('data').textContent).n")
	for i := range 2 {
		if marks := b.number("document.querySelectorAll('.plot')[" + string(rune('0'+i)) + "].dataset.marks"); marks < 0.5*rows {
			t.Errorf("scatter plot %d has %g marks of %g designs", i, marks, rows)
		}
		// Pixels on the canvas itself that are bluish or greenish, as only designs are:
		// crosses and discs, then discs alone, then none.
		ink := func() float64 {
			return b.number(`(() => { const c = document.querySelectorAll('.plot canvas')[` + string(rune('0'+i)) + `];
				const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data; let n = 0;
				for (let i = 0; i < d.length; i += 4) if (d[i + 3] > 100 && Math.max(d[i + 1], d[i + 2]) > d[i] + 30) n++; return n; })()`)
		}
		all := ink()
		b.toggle("show-other")
		feasible := ink()
		b.toggle("show-feasible")
		b.toggle("show-front")
		none := ink()
		for _, box := range []string{"show-front", "show-feasible", "show-other"} {
			b.toggle(box)
		}
		// 700 discs of 20 pixels and more, some over each other; the axes close in on what is shown
		if !(all > 2000 && feasible > 2000 && none == 0) {
			t.Errorf("scatter plot %d: %g pixels of all designs, %g of feasible ones, %g of none", i, all, feasible, none)
		}
	}
	if lines := b.number("document.getElementById('parallel').dataset.lines"); lines != rows {
		t.Errorf("%g lines over the parallel axes, %g designs", lines, rows)
	}
	if n := b.number("document.querySelectorAll('#designs tbody tr').length"); n != 25 {
		t.Errorf("%g rows in the table", n)
	}
	for what, selector := range map[string]string{"history": ".chart .curve", "stage": ".stage .moved path", "map": ".map rect", "mode": ".mode path"} {
		if n := b.number("[...document.querySelectorAll('" + selector + "')].filter((e) => { const r = e.getBoundingClientRect(); return r.width + r.height > 0; }).length"); n == 0 {
			t.Errorf("nothing of the %s is visible", what)
		}
	}
	if s := b.text(`(() => { const m = document.querySelector('svg.map'), r = m.getBoundingClientRect();
		m.dispatchEvent(new PointerEvent('pointermove', { clientX: r.left + 1, clientY: r.top + 1 })); return m.closest('figure').querySelector('.foot').textContent; })()`); !strings.HasPrefix(s, "at (") {
		t.Errorf("under the pointer in a map stands %q", s)
	}
	// a bar for each picked design whose parts are known, along the axes that have tails; its legend
	// goes with the last of them
	for _, c := range []struct {
		axis string
		bars bool
	}{{"first_frequency_hz", true}, {"travel_mm", false}} {
		b.eval(`document.querySelectorAll('.plot').forEach((f) => { const s = f.querySelectorAll('select'); s[0].value = 'blade_length_mm'; s[0].onchange(); s[1].value = '`+c.axis+`'; s[1].onchange(); })`, nil)
		b.settle()
		bars := b.number("document.querySelector('.plot').dataset.bars")
		if hidden := b.text("String(document.getElementById('key-tail').hidden)") == "true"; (bars > 0) != c.bars || hidden == c.bars {
			t.Errorf("up is %s: %g bars, legend hidden: %v", c.axis, bars, hidden)
		}
	}
	b.shot("light-top")
	b.clean()
}

// Ranges along the parallel axes and over the scatter plots hold for all of them
// and the table; they are dropped again.
func TestBrowserBrushes(t *testing.T) {
	b := openBrowser(t)
	openReport(t, b)
	all := b.number("flexwrightReport.count()")
	at := func(axis int, share float64) (x, y float64) {
		var p [2]float64
		b.eval(`(() => { const c = document.getElementById('parallel'); c.scrollIntoView({block: 'center', behavior: 'instant'}); const r = c.getBoundingClientRect(), p = flexwrightReport.parallel.where(`+string(rune('0'+axis))+`, `+text64(share)+`); return [r.left + p[0], r.top + p[1]]; })()`, &p)
		return p[0], p[1]
	}
	x, y0 := at(0, 0.4)
	_, y1 := at(0, 0.7)
	b.drag(x, y0, x, y1)
	kept := b.number("flexwrightReport.count()")
	if !(kept > 0 && kept < 0.6*all) {
		t.Errorf("a third of the travel keeps %g of %g designs", kept, all)
	}
	var span [2]float64
	b.eval("flexwrightReport.ranges['travel_mm']", &span)
	// the axis spans about 1 to 6 mm: 0.4 and 0.7 of it, to a pixel of 250
	if math.Abs(span[0]-3) > 0.05 || math.Abs(span[1]-4.5) > 0.05 {
		t.Errorf("the range is %v, want 3 to 4.5 mm", span)
	}
	if s := b.text("document.getElementById('matches').textContent"); !strings.HasPrefix(strings.ReplaceAll(s, ",", ""), text64(kept)+" of") {
		t.Errorf("%g designs are kept, and the page says %q", kept, s)
	}
	if lines := b.number("document.getElementById('parallel').dataset.lines"); lines != kept {
		t.Errorf("%g lines for %g designs", lines, kept)
	}
	if s := b.text("document.getElementById('page').textContent"); !strings.HasSuffix(s, " of "+text64(kept)) {
		t.Errorf("the table says %q for %g designs", s, kept)
	}
	b.shot("brushed")
	// over the first scatter plot, beside it
	var r [4]float64
	b.eval("(() => { const e = document.querySelector('.plot .u-over'); e.scrollIntoView({block: 'center', behavior: 'instant'}); const r = e.getBoundingClientRect(); return [r.left, r.top, r.width, r.height]; })()", &r)
	b.drag(r[0]+0.45*r[2], r[1]+0.2*r[3], r[0]+0.62*r[2], r[1]+0.95*r[3])
	if n := b.number("flexwrightReport.count()"); !(n > 0 && n < kept) {
		t.Errorf("the rectangle keeps %g of %g designs", n, kept)
	}
	if n := b.number("document.querySelectorAll('.chip').length"); n != 2 {
		t.Errorf("%g ranges are shown, want travel and frequency", n)
	}
	b.eval("document.getElementById('clear').click()", nil)
	b.settle()
	if n := b.number("flexwrightReport.count()"); n != all {
		t.Errorf("%g of %g designs after all ranges are dropped", n, all)
	}
	// ids of what is kept can be taken along, with a clipboard or without
	b.eval("(() => { const s = document.getElementById('range-column'); s.value = 'travel_mm'; document.getElementById('range-low').value = '2.4'; document.getElementById('range-high').value = '2.45'; document.querySelector('#range button').click(); document.getElementById('copy').click(); })()", nil)
	b.wait("document.getElementById('copied').textContent !== ''")
	few := b.number("flexwrightReport.count()")
	if s := b.text("document.getElementById('copied').textContent"); !strings.Contains(s, text64(few)+" ") || few < 1 || few > 0.1*all {
		t.Errorf("%g designs are kept, and copying says %q", few, s)
	}
	if ids := b.text("document.getElementById('ids').value"); ids != "" && len(strings.Fields(ids)) != int(few) {
		t.Errorf("%d ids for %g designs", len(strings.Fields(ids)), few)
	}
	b.eval("document.getElementById('clear').click()", nil)
	b.settle()
	// a click marks the nearest design in all views
	marked := b.number("document.querySelectorAll('#designs tr.picked').length")
	b.eval("[...document.querySelectorAll('#designs tbody tr')].find((r) => !r.classList.contains('picked')).click()", nil)
	b.settle()
	if n := b.number("document.querySelectorAll('#designs tr.picked').length"); n != marked+1 {
		t.Errorf("%g marked rows, before %g", n, marked)
	}
	b.clean()
}

func text64(v float64) string { b, _ := json.Marshal(v); return string(b) }

// All that a mouse does a keyboard does too, and everything has a name.
func TestBrowserByKeyboard(t *testing.T) {
	b := openBrowser(t)
	openReport(t, b)
	all := b.number("flexwrightReport.count()")
	b.key("Tab", 9, "")
	if s := b.text("document.activeElement.className"); s != "skip" {
		t.Errorf("the first stop is %q, not the way past the head", s)
	}
	b.eval("(() => { const s = document.getElementById('range-column'); s.value = 'travel_mm'; s.onchange(); document.getElementById('range-low').value = '3'; document.getElementById('range-low').focus(); })()", nil)
	b.key("Enter", 13, "\r")
	if n := b.number("flexwrightReport.count()"); !(n > 0 && n < all) {
		t.Errorf("a range by its numbers keeps %g of %g", n, all)
	}
	b.eval("[...document.querySelectorAll('#designs thead button')].find((e) => e.textContent.startsWith('first frequency')).focus()", nil)
	b.key("Enter", 13, "\r")
	var first, second float64
	b.eval("(() => { const k = [...document.querySelectorAll('#designs thead th')].findIndex((e) => e.getAttribute('aria-sort')); const r = document.querySelectorAll('#designs tbody tr'); return +r[0].cells[k].textContent - +r[1].cells[k].textContent; })()", &first)
	if first < 0 {
		t.Error("most first frequency is not first")
	}
	b.key("Enter", 13, "\r") // the button keeps the focus
	b.eval("(() => { const k = [...document.querySelectorAll('#designs thead th')].findIndex((e) => e.getAttribute('aria-sort') === 'ascending'); const r = document.querySelectorAll('#designs tbody tr'); return +r[0].cells[k].textContent - +r[1].cells[k].textContent; })()", &second)
	if second > 0 {
		t.Error("the other way round is not ascending")
	}
	b.call("Accessibility.enable", nil, nil)
	var tree struct {
		Nodes []struct {
			Ignored bool
			Role    struct{ Value string }
			Name    struct{ Value string }
		}
	}
	b.call("Accessibility.getFullAXTree", nil, &tree)
	seen := map[string]int{}
	for _, n := range tree.Nodes {
		switch role := n.Role.Value; role {
		case "button", "combobox", "checkbox", "textbox", "searchbox", "slider", "img", "image", "link", "figure", "group", "table":
			if seen[role]++; n.Name.Value == "" && !n.Ignored && role != "figure" && role != "group" {
				t.Errorf("a %s has no name", role)
			}
		}
	}
	for _, role := range []string{"button", "combobox", "checkbox", "link", "table"} {
		if seen[role] == 0 {
			t.Errorf("no %s is seen by a screen reader: %v", role, seen)
		}
	}
	b.clean()
}

// Both colour schemes, with the text on the ground at a contrast of at least
// 4.5 to 1 (WCAG 2.2, success criterion 1.4.3), plots included.
func TestBrowserColours(t *testing.T) {
	b := openBrowser(t)
	openReport(t, b)
	ground := map[string]string{}
	for _, scheme := range []string{"light", "dark"} {
		b.media(scheme, "no-preference", "")
		ground[scheme] = b.text("getComputedStyle(document.body).backgroundColor")
		for _, colour := range []string{"--ink", "--soft", "--accent", "--bad", "--pick"} {
			c := b.number(`(() => {
				const p = document.createElement('p'); document.body.append(p);
				const light = (v) => { p.style.color = v; const k = getComputedStyle(p).color.match(/[\d.]+/g).slice(0, 3).map((x) => { x /= 255; return x <= 0.04045 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4; }); return 0.2126 * k[0] + 0.7152 * k[1] + 0.0722 * k[2]; };
				const a = light('var(` + colour + `)'), g = light('var(--paper)'); p.remove();
				return (Math.max(a, g) + 0.05) / (Math.min(a, g) + 0.05); })()`)
			if c < 4.5 {
				t.Errorf("%s on the ground, %s: contrast %.2f", colour, scheme, c)
			}
		}
		b.eval("document.getElementById('front').scrollIntoView({behavior: 'instant'})", nil)
		b.settle()
		b.shot(scheme + "-front")
		b.eval("document.querySelector('.design').scrollIntoView({behavior: 'instant'})", nil)
		b.settle()
		b.shot(scheme + "-design")
	}
	if ground["light"] == ground["dark"] {
		t.Errorf("both schemes have the ground %s", ground["light"])
	}
	b.media("light", "no-preference", "print")
	// a print has what is folded, and folds it again; the choice of axes is a control
	folded := func() float64 { return b.number("document.querySelectorAll('details:not([open])').length") }
	before := folded()
	b.eval("dispatchEvent(new Event('beforeprint'))", nil)
	if controls := b.number("document.querySelectorAll('.parallel details').length"); folded() != controls || before == controls {
		t.Errorf("%g of %g parts stay folded in a print, %g are controls", folded(), before, controls)
	}
	b.eval("dispatchEvent(new Event('afterprint'))", nil)
	if folded() != before {
		t.Error("what was folded stays open after a print")
	}
	if s := b.text("getComputedStyle(document.querySelector('nav')).display"); s != "none" {
		t.Errorf("on paper the links are %s", s)
	}
	b.clean()
}

// No scrolling sideways on a phone, nor at the widths between.
func TestBrowserWidths(t *testing.T) {
	b := openBrowser(t)
	openReport(t, b)
	b.eval("document.querySelectorAll('details').forEach((d) => { d.open = true; })", nil)
	for _, width := range []int{390, 320, 640, 768, 1200, 1800} {
		b.size(width, 844)
		b.wait("document.querySelector('.uplot').clientWidth <= document.documentElement.clientWidth")
		if w := b.number("document.documentElement.scrollWidth"); w > float64(width) {
			t.Errorf("%d pixels wide, the page needs %g: %s", width, w, b.text(`[...document.querySelectorAll('body *')].filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest('.scroll') && !e.closest('pre')).slice(0, 5).map((e) => e.tagName + '.' + e.className.baseVal + e.className + '#' + e.id)`))
		}
		if width == 390 {
			b.shot("phone")
			b.eval("document.getElementById('front').scrollIntoView({behavior: 'instant'})", nil)
			b.settle()
			b.shot("phone-front")
		}
	}
	b.clean()
}

// The stage runs its circle while it is in view, but not for those who asked for
// less motion; for them it moves by the slider.
func TestBrowserMotion(t *testing.T) {
	b := openBrowser(t)
	for _, c := range []struct{ motion, label string }{{"no-preference", "Pause"}, {"reduce", "Play"}} {
		b.media("light", c.motion, "")
		openReport(t, b)
		b.eval("document.querySelector('.stage').scrollIntoView({block: 'center', behavior: 'instant'})", nil)
		if s := b.text("document.querySelector('.play').textContent"); s != c.label {
			t.Errorf("motion %s: the button says %q", c.motion, s)
		}
		const where = "document.querySelector('.moved [data-body]').getAttribute('transform')"
		before := b.text(where)
		moves := false
		for range 60 {
			b.settle()
			moves = moves || b.text(where) != before
		}
		if moves != (c.motion == "no-preference") {
			t.Errorf("motion %s: moves is %v", c.motion, moves)
		}
		b.eval("(() => { const s = document.querySelector('.motioncontrols input'); s.value = 200; s.oninput(); })()", nil)
		if b.text(where) == before {
			t.Error("the slider moves nothing")
		}
		b.fetched = nil
	}
	if len(b.faults) > 0 {
		t.Error(b.faults)
	}
}

// Without a brief that can be read, what is stored still shows.
func TestBrowserWithoutBrief(t *testing.T) {
	in := syntheticInput(t, 300)
	in.Brief = func(int64) *Brief { return &Brief{Problem: "of another version"} }
	file := filepath.Join(t.TempDir(), "little.html")
	if err := os.WriteFile(file, []byte(write(t, in)), 0o666); err != nil {
		t.Fatal(err)
	}
	b := openBrowser(t)
	b.open(file)
	if b.number("document.querySelector('.plot').dataset.marks") == 0 {
		t.Error("no marks without a brief")
	}
	b.clean()
}
