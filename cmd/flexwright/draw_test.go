package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"flexwright/models"
	"flexwright/results/drawing"
)

func TestDraw(t *testing.T) {
	dir := t.TempDir()
	brief, run := writeBrief(t, dir), filepath.Join(dir, "small.run")
	if code, _, messages := command(t, "run", brief, "--out", run); code != exitDone {
		t.Fatal(code, messages)
	}
	_, out, _ := command(t, "front", run, "--top", "1", "--json")
	var front []struct {
		ID        int64   `json:"id"`
		Footprint float64 `json:"footprint_mm"`
		Thickness float64 `json:"blade_thickness_mm"`
	}
	if err := json.Unmarshal([]byte(out), &front); err != nil || len(front) != 1 {
		t.Fatal(err, out)
	}
	id := jsonNumber(front[0].ID)

	dxf, svg := filepath.Join(dir, "plate.dxf"), filepath.Join(dir, "plate.svg")
	code, out, messages := command(t, "draw", run, "--design", id, "--dxf", dxf, "--svg", svg, "--json")
	if code != exitDone {
		t.Fatal(code, messages)
	}
	var plate struct {
		Footprint float64   `json:"footprint_m"`
		Contours  int       `json:"contours"`
		Areas     []float64 `json:"contour_areas_m2"`
		Area      float64   `json:"area_m2"`
		Wall      struct {
			Size float64 `json:"size_m"`
		} `json:"thinnest_wall"`
	}
	if err := json.Unmarshal([]byte(out), &plate); err != nil {
		t.Fatal(err, out)
	}
	// The row's numbers are in mm: rounding of the conversion.
	if math.Abs(plate.Footprint*1e3-front[0].Footprint) > 1e-9 || math.Abs(plate.Wall.Size*1e3-front[0].Thickness) > 1e-9 {
		t.Errorf("%+v is not the design of the row, %+v", plate, front[0])
	}
	if plate.Contours != 21 || len(plate.Areas) != 21 {
		t.Errorf("%d contours, %d areas", plate.Contours, len(plate.Areas))
	}
	for path, want := range map[string]string{dxf: "LWPOLYLINE", svg: "design " + id} {
		if text, err := os.ReadFile(path); err != nil || !strings.Contains(string(text), want) {
			t.Errorf("%s: %v, no %q", path, err, want)
		}
	}

	// On standard output the file stands alone; the same design draws the same bytes.
	want, err := os.ReadFile(dxf)
	if err != nil {
		t.Fatal(err)
	}
	if code, out, messages := command(t, "draw", run, "--design", id, "--dxf", "-"); code != exitDone || out != string(want) || !strings.Contains(messages, "thinnest wall") {
		t.Errorf("status %d, %d bytes, %d in the file; %s", code, len(out), len(want), messages)
	}
	if code, out, messages := command(t, "draw", run, "--design", id, "--svg", "-", "--at=0.002,-0.001"); code != exitDone || !strings.Contains(out, "Displaced to (2, -1) mm") {
		t.Error(code, messages)
	}

	if code, out, messages := command(t, "draw", run, "--design", id, "--step", "-", "--set", "blade_width=17 mm"); code != exitDone ||
		!strings.HasPrefix(out, "ISO-10303-21;") || !strings.Contains(out, "blade_width=17 mm") || !strings.Contains(messages, "x 17 mm") {
		t.Error(code, messages)
	}

	// Options come from the brief, or from another one.
	with := filepath.Join(dir, "with.yaml")
	if err := os.WriteFile(with, []byte(smallSweep+"drawing: {mounting_holes: 4, minimum_wall: 0.2 mm, stops: on}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if code, out, messages := command(t, "draw", run, "--design", id, "--brief", with, "--json"); code != exitDone || !strings.Contains(out, `"mounting_holes": 4`) {
		t.Error(code, out, messages)
	}
	thick := filepath.Join(dir, "thick.yaml")
	if err := os.WriteFile(thick, []byte(smallSweep+"drawing: {minimum_wall: 2 mm}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	none := filepath.Join(dir, "none.dxf")
	code, _, messages = command(t, "draw", run, "--design", id, "--brief", thick, "--dxf", none)
	if code != exitNo || !strings.Contains(messages, "is thinner than minimum_wall, 2 mm, at (") {
		t.Error(code, messages)
	}
	if _, err := os.Stat(none); err == nil {
		t.Error("a refused drawing was written")
	}

	for _, c := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"draw", run}, exitRefused, "--design ID"},
		{[]string{"draw", run, "--design", "100000"}, exitRefused, "no such design"},
		{[]string{"draw", run, "--design", id, "--at=2 N,0"}, exitRefused, "in metres"},
		{[]string{"draw", run, "--design", id, "--at=1,0"}, exitNo, "--at=1,0"},
		{[]string{"draw", run, "--design", id, "--dxf", "-", "--svg", "-"}, exitRefused, "standard output"},
		{[]string{"draw", run, "--design", id, "--step", "-", "--svg", "-"}, exitRefused, "standard output"},
		{[]string{"draw", run, "--design", id, "--set", "blade_lenght=50 mm"}, exitRefused, "blade_length"},
		{[]string{"draw", run, "--design", id, "--dxf", filepath.Join(dir, "no", "such.dxf")}, exitNoWrite, "no such file"},
		{[]string{"draw", filepath.Join(dir, "nothing.run"), "--design", "1"}, exitRefused, "nothing.run"},
	} {
		if code, out, messages := command(t, c.args...); code != c.code || !strings.Contains(messages, c.want) || out != "" {
			t.Errorf("%v: status %d, want %d: %s%s", c.args[1:], code, c.code, out, messages)
		}
	}
}

func jsonNumber(v int64) string {
	text, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(text)
}

// TestDrawingDefaults: what a brief that says nothing about the drawing means.
func TestDrawingDefaults(t *testing.T) {
	brief, problems := loadBrief("small.yaml", []byte(smallSweep))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	mm := models.Millimetre.ToSI
	want := drawing.Options{Kerf: mm(0.3), MinimumWall: mm(0.3), CornerRadius: mm(0.2), StartHole: mm(1),
		MountingDiameter: mm(6.6), Payload: models.HolePattern{Pitch: mm(25), Diameter: mm(4.2)}, StopPlay: mm(0.2)}
	if have := drawingOptions(brief); !reflect.DeepEqual(have, want) {
		t.Errorf("%+v\nwant %+v", have, want)
	}
}
