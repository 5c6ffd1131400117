package drawing

import (
	"bytes"
	"math"
	"regexp"
	"strconv"
	"testing"
	"unicode/utf8"
)

var (
	writtenText = regexp.MustCompile(`<text (?:x="([-\d.]+)" y="([-\d.]+)"|transform="translate\(([-\d.]+) ([-\d.]+)\) rotate\(-90\)") font-size="([\d.]+)" text-anchor="middle" class="(halo|name)">([^<]*)</text>`)
	number      = func(s string) float64 { v, _ := strconv.ParseFloat(s, 64); return v }
)

// Texts of dimensions cover no other text of the picture, on plates small and large: digits of the sheet's type are
// 0.64 em wide and 0.73 em high (DejaVu Sans).
func TestDimensionsApart(t *testing.T) {
	type written struct {
		x0, x1, y0, y1 float64
		class, text    string
	}
	for _, values := range []map[string]float64{
		{"travel": 0.5, "blade_length": 20, "blade_thickness": 0.3, "blade_width": 15},
		{"travel": 4.92, "blade_length": 22.2, "blade_thickness": 0.7, "blade_width": 30},
		{"travel": 1.03, "blade_length": 32.6, "blade_thickness": 0.87, "blade_width": 30},
		example(nil),
		{"travel": 6, "blade_length": 100, "blade_thickness": 0.65, "blade_width": 34},
	} {
		var file bytes.Buffer
		if err := draw(t, values, Options{}).WriteSVG(&file, Sheet{}); err != nil {
			t.Fatal(err)
		}
		var all []written
		for _, m := range writtenText.FindAllStringSubmatch(file.String(), -1) {
			size := number(m[5])
			w, h := 0.64*size*float64(utf8.RuneCountInString(m[7])), 0.73*size
			at := written{class: m[6], text: m[7]}
			if m[1] != "" {
				x, y := number(m[1]), number(m[2])
				at.x0, at.x1, at.y0, at.y1 = x-w/2, x+w/2, y-h, y
			} else {
				x, y := number(m[3]), number(m[4])
				at.x0, at.x1, at.y0, at.y1 = x-h, x, y-w/2, y+w/2
			}
			all = append(all, at)
		}
		if len(all) < 50 {
			t.Fatalf("%d texts in the picture", len(all))
		}
		for i, a := range all {
			for _, b := range all[:i] {
				across, down := math.Min(a.x1, b.x1)-math.Max(a.x0, b.x0), math.Min(a.y1, b.y1)-math.Max(a.y0, b.y0)
				if across > 0 && down > 0 && (a.class == "halo" || b.class == "halo") {
					t.Errorf("%v: %s and %s lie on one another, %.2g by %.2g mm", values, a.text, b.text, across, down)
				}
			}
		}
	}
}
