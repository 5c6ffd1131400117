package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/models/mechanics"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/results/drawing"

	"github.com/spf13/cobra"
)

type drawOptions struct {
	design, dxf, svg, step, at, brief string
	set                               []string
	json                              bool
}

func newDraw(s streams) *cobra.Command {
	var o drawOptions
	c := &cobra.Command{
		Use:   "draw DIR|BRIEF",
		Short: "Draw the outline of one design for cutting",
		Long: `Draw the plate of one design: closed contours with true arcs as DXF (millimetres),
a sheet with dimensions, notes and cautions as SVG, a solid for CAD as STEP
(ISO 10303-214). DIR needs --design; BRIEF draws the middle of each range. --set
changes a parameter or the material. Without a file the outline is only checked.

Fillets, faces set back for them, and inside corners are added to the outlines
from which mass and clearance were computed. An outline that intersects itself, a
wall thinner than drawing.minimum_wall, or a gap or inside corner too narrow for
drawing.kerf is refused with its place. The options are the brief's section
drawing; --brief takes that section from another file. --at adds bodies and blades
as solved at a position of the stage (metres).`,
		Example: `  flexwright draw night.run --design 1234 --dxf plate.dxf --svg plate.svg --step plate.step
  flexwright draw night.run --design 1234 --svg corner.svg --at=0.005,0.005
  flexwright draw night.run --design 1234 --brief with_holes.yaml --dxf plate.dxf`,
		Args: exactly("DIR|BRIEF"),
		RunE: func(c *cobra.Command, args []string) error { return runDraw(s, args[0], o) },
	}
	f := c.Flags()
	f.StringVar(&o.design, "design", "", "`ID` of a design of the folder, RUN:ID in a joined one")
	f.StringVar(&o.dxf, "dxf", "", "write the outline as DXF to a `file` (- for standard output)")
	f.StringVar(&o.svg, "svg", "", "write the sheet as SVG to a `file` (- for standard output)")
	f.StringVar(&o.step, "step", "", "write the solid as STEP to a `file` (- for standard output)")
	f.StringArrayVar(&o.set, "set", nil, "`NAME=VALUE`: another value for a parameter or the material; repeat for more")
	f.StringVar(&o.at, "at", "", "`X,Y`: also draw everything with the stage there, with units or in metres")
	f.StringVar(&o.brief, "brief", "", "take the section drawing from this `file`")
	f.BoolVar(&o.json, "json", false, "print JSON")
	return c
}

func runDraw(s streams, path string, o drawOptions) error {
	piped := 0
	for _, path := range []string{o.dxf, o.svg, o.step} {
		if path == "-" {
			piped++
		}
	}
	if piped > 1 {
		return refuse("only one of --dxf, --svg and --step can go to standard output")
	}
	spec, brief, err := pickDesign(s, path, o.design)
	if err != nil {
		return err
	}
	for _, text := range o.set {
		if err := setValue(spec, text); err != nil {
			return err
		}
	}
	var at []string
	if o.at != "" {
		at = []string{o.at}
	}
	positions, err := parsePositions(at)
	if err != nil {
		return err
	}
	from := brief
	if o.brief != "" {
		if from, _, err = openBrief(s, o.brief); err != nil {
			return err
		}
	}
	detail := objective.NewDetail(spec)
	plate, err := drawing.New(spec.Layouts[0], &detail.Design, drawingOptions(from))
	if err != nil {
		return &exitError{exitNo, err}
	}
	sheet := newSheet(spec, brief, detail, o)
	if brief.HasTolerances() || slices.ContainsFunc(spec.Measures, objective.Measure.OfParts) {
		// ± two standard deviations: common practice
		if loosest := 2 * objective.LoosestThickness(spec); loosest > 0 && !math.IsInf(loosest, 1) {
			sheet.ThicknessTolerance = loosest
		}
	}
	for _, p := range positions {
		if sheet.Displaced, err = displaced(detail, p[0], p[1]); err != nil {
			return err
		}
		sheet.Position = fmt.Sprintf("to (%s, %s) mm", round(p[0]*1e3, 4), round(p[1]*1e3, 4))
	}

	// Everything is made before anything is written.
	var dxf, svg, step bytes.Buffer
	if err := errors.Join(plate.WriteDXF(&dxf, sheet), plate.WriteSVG(&svg, sheet),
		plate.WriteSTEP(&step, strings.TrimSpace(sheet.Title+" "+sheet.Design))); err != nil {
		return err
	}
	summary := s.out
	for _, f := range []struct {
		path string
		text []byte
	}{{o.dxf, dxf.Bytes()}, {o.svg, svg.Bytes()}, {o.step, step.Bytes()}} {
		switch f.path {
		case "":
		case "-":
			summary = s.err
			if _, err := s.out.Write(f.text); err != nil {
				return &exitError{exitNoWrite, err}
			}
		default:
			if err := results.WriteFile(f.path, writes(f.text)); err != nil {
				return err
			}
		}
	}
	return printPlate(summary, plate, o.json)
}

// drawingOptions reads the brief's section drawing.
func drawingOptions(b *configs.Brief) drawing.Options {
	d := b.Section("drawing")
	mounting, err := strconv.Atoi(d.Text("mounting_holes"))
	if err != nil {
		panic("flexwright: mounting_holes is not a number")
	}
	speed := 0.0
	if d.Has("cut_speed") {
		speed = d.SI("cut_speed")
	}
	return drawing.Options{
		Kerf: d.SI("kerf"), WirePath: d.On("wire_path"), MinimumWall: d.SI("minimum_wall"),
		CornerRadius: d.SI("corner_radius"), StartHole: d.SI("start_hole"),
		MountingHoles: mounting, MountingDiameter: d.SI("mounting_diameter"),
		Payload: b.HolePattern(), CutSpeed: speed,
		Stops: d.On("stops"), StopPlay: d.SI("stop_play"),
	}
}

// newSheet fills the title block: what the design is, and the numbers that its
// brief asks for.
func newSheet(spec *objective.Spec, brief *configs.Brief, d *objective.Detail, o drawOptions) drawing.Sheet {
	sheet := drawing.Sheet{Title: brief.Title(), Design: o.design, Layout: d.Row.Layout, Material: d.Row.Material}
	switch {
	case o.design != "":
	case !brief.Varies():
		sheet.Design = "as in the brief"
	default:
		sheet.Design = "the middle of the brief's ranges"
	}
	if len(o.set) > 0 {
		sheet.Design += ", with " + strings.Join(o.set, ", ")
	}
	status := d.Row.Status.String()
	if d.Row.Status.OK() && !d.Row.Feasible {
		status += ", but not within the brief's limits"
	}
	sheet.Facts = append(sheet.Facts, "evaluated: "+status)
	var refs []objective.Ref
	for i := range spec.Goals {
		refs = append(refs, spec.Goals[i].Ref)
	}
	for i := range spec.Limits {
		refs = append(refs, spec.Limits[i].Ref)
	}
	seen := map[objective.Ref]bool{}
	for _, r := range refs {
		if v, ok := d.Row.Value(r); ok && !seen[r] {
			seen[r] = true
			sheet.Facts = append(sheet.Facts, fmt.Sprintf("%s: %.4g %s", spec.Name(r), v, spec.Unit(r).Symbol))
		}
	}
	return sheet
}

// displaced solves the design with its stage at (x, y).
func displaced(d *objective.Detail, x, y float64) ([]drawing.Pose, error) {
	scratch := mechanics.NewScratch(mechanics.NewModel(d.Topology))
	scratch.Prepare(d.Stage)
	pose := mechanics.NewPose(scratch.Model)
	scratch.At(pose, x, y)
	if !pose.Verdict.OK() {
		return nil, &exitError{exitNo, fmt.Errorf("--at=%g,%g: %s: %s", x, y, pose.Verdict.Status, pose.Verdict.Reason())}
	}
	poses := make([]drawing.Pose, len(d.Topology.Bodies))
	for i := range poses {
		poses[i] = drawing.Pose{X: pose.Q[3*i], Y: pose.Q[3*i+1], Yaw: pose.Q[3*i+2]}
	}
	return poses, nil
}

// printPlate prints what was drawn, for a reader or as JSON.
func printPlate(w io.Writer, p *drawing.Plate, asJSON bool) error {
	if asJSON {
		type place struct {
			Size float64 `json:"size_m"`
			X    float64 `json:"x_m"`
			Y    float64 `json:"y_m"`
		}
		near := func(size float64, v any) any { // null where there is none
			if math.IsInf(size, 1) {
				return nil
			}
			return v
		}
		areas := []float64{}
		for _, c := range p.Contours {
			areas = append(areas, math.Abs(c.Area()))
		}
		masses := map[string]float64{}
		for i, b := range p.Topology.Bodies {
			masses[b.Name] = p.BodyMass(i)
		}
		return writeJSON(w, map[string]any{
			"footprint_m":      p.Stage.Frame,
			"contours":         len(p.Contours),
			"contour_areas_m2": areas, // the outer one first
			"area_m2":          p.Area(), "cut_length_m": p.CutLength(), "cut_time_s": cutTime(p),
			"mass_kg": p.Mass(), "body_mass_kg": masses,
			"thinnest_wall": place(p.Wall), "narrowest_gap": near(p.Gap.Size, place(p.Gap)),
			"gap_at_full_travel": near(p.FullGap.Distance, map[string]any{"size_m": p.FullGap.Distance, "x_m": p.FullGap.X, "y_m": p.FullGap.Y, "between": []string{p.FullGap.A, p.FullGap.B}}),
			"start_holes":        len(p.StartHoles), "mounting_holes": len(p.MountingHoles), "payload_holes": len(p.PayloadHoles),
		})
	}
	at := func(q drawing.Place) string {
		return fmt.Sprintf("%s mm at (%s, %s) mm", round(q.Size*1e3, 4), round(q.X*1e3, 2), round(q.Y*1e3, 2))
	}
	t := newTextTable("drawing", "")
	moving := 0.0
	for i, b := range p.Topology.Bodies {
		if b.Held != models.HeldAll {
			moving += p.BodyMass(i)
		}
	}
	t.row("plate", fmt.Sprintf("%s x %s x %s mm, %s kg", round((p.X1-p.X0)*1e3, 3), round((p.Y1-p.Y0)*1e3, 3), round(p.Depth*1e3, 3), round(p.Mass(), 3)))
	t.row("moving bodies", fmt.Sprintf("%s kg without what is mounted", round(moving, 3)))
	t.row("contours", fmt.Sprintf("1 outside, %d inside, %s m to cut", len(p.Contours)-1, round(p.CutLength(), 2)))
	if s := p.CutTime(); s > 0 {
		t.row("cutting time, one pass", round(s/3600, 1)+" h")
	}
	t.row("thinnest wall", at(p.Wall))
	if !math.IsInf(p.Gap.Size, 1) {
		t.row("narrowest gap", at(p.Gap))
	}
	if !math.IsInf(p.FullGap.Distance, 1) {
		t.row("gap at full travel", fmt.Sprintf("%s mm between %s and %s", round(p.FullGap.Distance*1e3, 4), p.FullGap.A, p.FullGap.B))
	}
	return t.write(w)
}

// cutTime is null in JSON where the speed is unknown.
func cutTime(p *drawing.Plate) *float64 {
	if t := p.CutTime(); t > 0 {
		return &t
	}
	return nil
}

// round writes a number with at most so many decimals.
func round(v float64, decimals int) string {
	scale := math.Pow(10, float64(decimals))
	return strconv.FormatFloat(math.Round(v*scale)/scale, 'f', -1, 64)
}
