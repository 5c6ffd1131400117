package drawing

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
)

// dxfFile is what the tests read back from a DXF file.
type dxfFile struct {
	header  map[string]map[int]string
	layers  map[string]bool
	lines   map[string][]Contour // closed polylines by layer, mm
	circles map[string][]Circle  // by layer, mm
	texts   map[string][]string  // by layer
	other   []string             // entities that are none of these
}

// readDXF reads group codes and values, knowing nothing of how they were written
// but the format (the DXF reference for AC1015: LWPOLYLINE 10, 20, 42, 70 and 90,
// CIRCLE 10, 20, 40, layer 8).
func readDXF(t *testing.T, text []byte) dxfFile {
	t.Helper()
	f := dxfFile{header: map[string]map[int]string{}, layers: map[string]bool{}, lines: map[string][]Contour{}, circles: map[string][]Circle{}, texts: map[string][]string{}}
	lines := strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")
	if len(lines)%2 != 0 {
		t.Fatal("a group code without a value")
	}
	type group struct {
		code  int
		value string
	}
	var groups []group
	for i := 0; i < len(lines); i += 2 {
		code, err := strconv.Atoi(strings.TrimSpace(lines[i]))
		if err != nil {
			t.Fatalf("line %d: %v", i+1, err)
		}
		groups = append(groups, group{code, lines[i+1]})
	}
	if last := groups[len(groups)-1]; last != (group{0, "EOF"}) {
		t.Fatalf("ends with %v", last)
	}
	number := func(g group) float64 {
		v, err := strconv.ParseFloat(g.value, 64)
		if err != nil {
			t.Fatalf("code %d: %v", g.code, err)
		}
		return v
	}
	section, table := "", ""
	handles := map[string]bool{}
	for i := 0; i < len(groups); {
		g := groups[i]
		j := i + 1
		for j < len(groups) && groups[j].code != 0 && groups[j].code != 9 {
			j++
		}
		body := groups[i+1 : j]
		first := func(code int) string {
			for _, b := range body {
				if b.code == code {
					return b.value
				}
			}
			return ""
		}
		for _, b := range body {
			if b.code == 5 && g.code == 0 || b.code == 105 && g.value == "DIMSTYLE" {
				if handles[b.value] {
					t.Errorf("handle %s twice", b.value)
				}
				handles[b.value] = true
			}
		}
		switch {
		case g.code == 9:
			f.header[g.value] = map[int]string{}
			for _, b := range body {
				f.header[g.value][b.code] = b.value
			}
		case g.value == "SECTION":
			section = first(2)
		case g.value == "TABLE":
			table = first(2)
		case g.value == "LAYER" && table == "LAYER":
			f.layers[first(2)] = true
		case section == "ENTITIES" && g.value == "LWPOLYLINE":
			var c Contour
			for _, b := range body {
				switch b.code {
				case 10:
					c = append(c, Vertex{X: number(b)})
				case 20:
					c[len(c)-1].Y = number(b)
				case 42:
					c[len(c)-1].Bulge = number(b)
				}
			}
			if first(70) != "1" || first(90) != strconv.Itoa(len(c)) {
				t.Errorf("polyline with flags %s and %s of %d vertices", first(70), first(90), len(c))
			}
			f.lines[first(8)] = append(f.lines[first(8)], c)
		case section == "ENTITIES" && g.value == "CIRCLE":
			var c Circle
			for _, b := range body {
				switch b.code {
				case 10:
					c.X = number(b)
				case 20:
					c.Y = number(b)
				case 40:
					c.Radius = number(b)
				}
			}
			f.circles[first(8)] = append(f.circles[first(8)], c)
		case section == "ENTITIES" && g.value == "TEXT":
			f.texts[first(8)] = append(f.texts[first(8)], first(1))
		case section == "ENTITIES" && g.value != "ENDSEC":
			f.other = append(f.other, g.value)
		}
		i = j
	}
	return f
}

func fullOptions() Options {
	o := defaults()
	o.WirePath, o.MountingHoles, o.Stops = true, 8, true
	o.Payload.Rows, o.Payload.Columns, o.Payload.Pitch = 3, 3, 20e-3
	return o
}

func TestDXF(t *testing.T) {
	p := draw(t, example(nil), fullOptions())
	var a, b bytes.Buffer
	sheet := Sheet{Title: "Träger", Design: "12", Layout: "four-arm", Material: "steel", Displaced: nominal(p, 4e-3, -2e-3)}
	if err := p.WriteDXF(&a, sheet); err != nil {
		t.Fatal(err)
	}
	if p.WriteDXF(&b, sheet); !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("written twice, the file differs")
	}
	f := readDXF(t, a.Bytes())
	if f.header["$INSUNITS"][70] != "4" || f.header["$ACADVER"][1] != "AC1015" {
		t.Errorf("units %v, version %v", f.header["$INSUNITS"], f.header["$ACADVER"])
	}
	if len(f.other) > 0 {
		t.Errorf("entities %v", f.other)
	}
	// Names of bodies, numbers of blades, and two lines that say what it is.
	if texts := f.texts[LayerText]; len(f.texts) != 1 || len(texts) != len(p.Bodies)+len(p.Blades)+2 || texts[6] != "guide-1" ||
		texts[len(p.Bodies)+1] != "2" || texts[len(texts)-2] != `Tr\U+00E4ger design 12` {
		t.Errorf("texts %v", f.texts)
	}
	for layer := range f.lines {
		if !f.layers[layer] {
			t.Errorf("layer %s is not in the table", layer)
		}
	}
	// Same number of closed contours, same areas, same extents. 12 decimals of a
	// millimetre are written.
	if n := len(f.lines[LayerOuter]); n != 1 {
		t.Fatalf("%d outer contours", n)
	}
	cuts := append(f.lines[LayerOuter], f.lines[LayerInner]...)
	if len(cuts) != len(p.Contours) {
		t.Fatalf("%d contours, the plate has %d", len(cuts), len(p.Contours))
	}
	arcs := 0
	for i, c := range cuts {
		near(t, "area", c.Area(), p.Contours[i].Area()*1e6)
		for _, v := range c {
			if v.Bulge != 0 {
				arcs++
			}
		}
	}
	if arcs < 4*len(p.Blades) {
		t.Errorf("%d arcs for the fillets of %d blades", arcs, len(p.Blades))
	}
	x0, x1, y0, y1 := f.lines[LayerOuter][0].Bounds()
	half := p.Stage.Frame / 2 * 1e3
	near(t, "left", x0, -half)
	near(t, "right", x1, half)
	near(t, "bottom", y0, -half)
	near(t, "top", y1, half)
	for layer, want := range map[string]int{LayerStart: len(p.Contours) - 1, LayerMounting: 8, LayerPayload: 9} {
		if len(f.circles[layer]) != want {
			t.Errorf("%s: %d circles, want %d", layer, len(f.circles[layer]), want)
		}
	}
	if n := len(f.lines[LayerDisplaced]); n != len(p.Bodies)-1+len(p.Blades) {
		t.Errorf("%d displaced parts", n)
	}
	// The wire's path is half a kerf off each cut: length and angle of the cut say
	// how much smaller it is, less than a disc's worth of corners.
	if len(f.lines[LayerWire]) != len(p.Contours) {
		t.Fatalf("%d wire paths", len(f.lines[LayerWire]))
	}
	d := p.Options.Kerf / 2
	for i, c := range p.Contours {
		// Steiner's formula for parallel curves holds for any closed curve that turns
		// once, as long as arcs keep a radius: area grows by ± P d + pi d².
		sign := 1.0
		if i > 0 {
			sign = -1
		}
		want := c.Area() + c.Length()*d + sign*math.Pi*d*d
		if got := f.lines[LayerWire][i].Area() * 1e-6; math.Abs(got-want) > 1e-12 {
			t.Errorf("wire path %d encloses %.6g mm², by the length of the cut %.6g", i, got*1e6, want*1e6)
		}
	}

	errFull := errors.New("full")
	if err := p.WriteDXF(failing{errFull}, Sheet{}); !errors.Is(err, errFull) {
		t.Errorf("write error: %v", err)
	}
	if err := p.WriteSVG(failing{errFull}, Sheet{}); !errors.Is(err, errFull) {
		t.Errorf("write error: %v", err)
	}
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

func TestSVG(t *testing.T) {
	p := draw(t, example(nil), fullOptions())
	var a, b bytes.Buffer
	sheet := Sheet{Title: `scanner <fast> & "small"`, Design: "1234", Layout: "four-arm", Material: "aluminium 7075-T6", Facts: []string{"bandwidth: 25.4 Hz"}}
	if err := p.WriteSVG(&a, sheet); err != nil {
		t.Fatal(err)
	}
	if p.WriteSVG(&b, sheet); !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("written twice, the file differs")
	}
	text, paths := readSVG(t, &a)
	for _, want := range []string{
		sheet.Title, "1234", "four-arm", "aluminium 7075-T6", "25.4 Hz", "261.5", "R 0.5",
		"kg as cut", "mm in x and y", "arm-1 to arm-4", "8 x 62.5 (2)", "start holes", "3 x 3 of 4.2 mm", "pitch 20", "8 of 6.6 mm", "as in guide-1, blade 1 of 4",
		"Blade thickness is the critical dimension", "Cautions", "A flexure that breaks", "A coil can be hot", "moving magnets", "local codes",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the sheet does not say %q", want)
		}
	}
	if paths["metal"] != 1 || paths["blade"] != len(p.Blades) || paths["wire"] != len(p.Contours) {
		t.Errorf("paths: %v", paths)
	}
	if strings.Contains(text, "time, one pass") || strings.Contains(text, "±0.004") {
		t.Error("the sheet invents a speed or a tolerance")
	}
	p.Options.CutSpeed, sheet.ThicknessTolerance = 1e-3/60, 4e-6
	a.Reset()
	if err := p.WriteSVG(&a, sheet); err != nil {
		t.Fatal(err)
	}
	// 1 mm/min: as many minutes as there are millimetres.
	if text, _ := readSVG(t, &a); !strings.Contains(text, trim(p.CutLength()*1e3/60, 1)+" h at 1 mm/min") || !strings.Contains(text, "±0.004 mm") {
		t.Error("the sheet does not say how long a pass takes, or which tolerance blades have")
	}
	sheet.Displaced, sheet.Position = nominal(p, 5e-3, 5e-3), "to (5, 5) mm"
	a.Reset()
	if err := p.WriteSVG(&a, sheet); err != nil {
		t.Fatal(err)
	}
	text, paths = readSVG(t, &a)
	if !strings.Contains(text, "Displaced to (5, 5) mm") || paths["body"] != len(p.Bodies)-1 || paths["bent"] != len(p.Blades) {
		t.Errorf("displaced: %v", paths)
	}
}

// readSVG parses the file and returns its text, lines joined, and the number of
// paths per class.
func readSVG(t *testing.T, r io.Reader) (string, map[string]int) {
	t.Helper()
	var text strings.Builder
	paths := map[string]int{}
	d := xml.NewDecoder(r)
	for {
		token, err := d.Token()
		if err == io.EOF {
			return text.String(), paths
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := token.(type) {
		case xml.CharData:
			text.WriteString(strings.TrimSpace(string(e)) + " ")
		case xml.StartElement:
			for _, a := range e.Attr {
				if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
					t.Errorf("%s %s=%s", e.Name.Local, a.Name.Local, a.Value)
				}
				if e.Name.Local == "path" && a.Name.Local == "class" {
					paths[a.Value]++
				}
			}
		}
	}
}
