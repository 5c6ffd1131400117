package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"

	"github.com/spf13/cobra"
)

type showOptions struct {
	design      string
	corrected   string
	set         []string
	assembly    string
	plant       string
	response    string
	fine        bool
	scatter     bool
	sensitivity bool
	json        bool
}

func newShow(s streams) *cobra.Command {
	var o showOptions
	c := &cobra.Command{
		Use:   "show DIR|BRIEF",
		Short: "Show one design, every number on the way from dimensions to score",
		Long: `Show one design: its parameters, every measure with its limits, and the numbers of
each pose. DIR needs --design; BRIEF starts from the middle of each range and the
first of each choice. --set changes a parameter or the material.`,
		Example: `  flexwright show night.run --design 1234
  flexwright show stage.yaml --set 'blade_length=55 mm' --json
  flexwright show night.run --design 1234 --fine --scatter
  flexwright show stage.yaml --sensitivity
  flexwright show night.run --design 1234 --assembly design.json
  flexwright show night.run --design 1234 --plant plant.json --response response.csv`,
		Args: exactly("DIR|BRIEF"),
		RunE: func(c *cobra.Command, args []string) error { return runShow(c.Context(), s, args[0], o) },
	}
	f := c.Flags()
	f.StringVar(&o.design, "design", "", "`ID` of a design of the folder, RUN:ID in a joined one")
	f.StringArrayVar(&o.set, "set", nil, "`NAME=VALUE`: another value for a parameter or the material; repeat for more")
	f.StringVar(&o.corrected, "corrected", "", correctedHelp)
	f.StringVar(&o.assembly, "assembly", "", "write the design as an assembly `file` (- for standard output), for solve and other programs")
	f.StringVar(&o.plant, "plant", "", "write modes, actuators, sensors and controllers of the loop as a JSON `file`")
	f.StringVar(&o.response, "response", "", "write frequency responses of the plant at all poses as a Parquet or CSV `file`, by its ending")
	f.BoolVar(&o.fine, "fine", false, "evaluate with several segments per blade too, and compare")
	f.BoolVar(&o.scatter, "scatter", false, "measure parts with errors of making too (tolerances of the brief)")
	f.BoolVar(&o.sensitivity, "sensitivity", false, "differentiate every measure to every parameter, and tails to the tolerances")
	f.BoolVar(&o.json, "json", false, "print JSON")
	return c
}

func runShow(_ context.Context, s streams, path string, o showOptions) error {
	if ending := strings.ToLower(filepath.Ext(o.response)); o.response != "" && ending != ".parquet" && ending != ".csv" {
		return refuse("--response %s: the ending says the form: .parquet or .csv", o.response)
	}
	spec, brief, stored, err := pickCorrected(s, path, o.design, o.corrected)
	if err != nil {
		return err
	}
	for _, text := range o.set {
		if err := setValue(spec, text); err != nil {
			return err
		}
	}
	if o.plant != "" || o.response != "" {
		spec.Measures = append(spec.Measures, objective.LoopMeasures...)
	}
	if o.json && brief.HasTolerances() {
		spec.Measures = objective.TailsOf(spec.Measures)
	}
	detail := objective.NewDetail(spec)
	if stored != nil && len(o.set) == 0 && o.corrected == "" {
		stored.compare(s, &detail.Row)
	}
	if o.fine {
		r := objective.NewFine(spec).Check(nil)
		detail.Fine = &r
	}
	if o.scatter {
		detail.Scatter = objective.NewScatter(spec)
	}
	if o.sensitivity {
		parts := brief.HasTolerances() || slices.ContainsFunc(spec.Measures, objective.Measure.OfParts)
		detail.Sensitivity = objective.NewSensitivity(spec, parts)
	}
	if o.assembly != "" {
		if detail.Row.Status == models.CannotBuild {
			return &exitError{exitNo, fmt.Errorf("cannot build: %s", detail.Row.Reason.Sentence())}
		}
		text := configs.WriteAssembly(detail.Topology, detail.Stage)
		if o.assembly == "-" {
			_, err := s.out.Write(text)
			return err
		}
		if err := results.WriteFile(o.assembly, writes(text)); err != nil {
			return err
		}
	}
	if err := writePlant(detail, o.plant, o.response); err != nil {
		return err
	}
	if o.json {
		err = printDetailJSON(s, spec, detail)
	} else {
		err = printDetail(s, showTitle(brief, path, o), spec, detail)
	}
	if err == nil && !detail.Row.Status.OK() {
		err = &exitError{status: exitNo}
	}
	return err
}

// showTitle says which design it is.
func showTitle(brief *configs.Brief, path string, o showOptions) string {
	of := filepath.Base(path)
	if path == "-" {
		of = "the brief"
	}
	title := "the middle of " + of
	switch {
	case o.design != "":
		title = "design " + o.design + " of " + filepath.Base(filepath.Clean(path))
	case !brief.Varies():
		title = "the design of " + of
	}
	if name := brief.Title(); name != "" {
		title = name + ": " + title
	}
	if len(brief.Spec().Corrections) > 0 {
		title += ", corrected"
	}
	if len(o.set) > 0 {
		title += ", with " + strings.Join(o.set, ", ")
	}
	return strings.Join(wrap(plain(title), pageWidth), "\n")
}

// setValue changes a pinned spec by NAME=VALUE.
func setValue(spec *objective.Spec, text string) error {
	name, value, ok := strings.Cut(text, "=")
	name, value = strings.TrimSpace(name), strings.TrimSpace(value)
	if !ok || value == "" {
		return refuse("--set %s: expected NAME=VALUE, such as 'blade_length=55 mm'", text)
	}
	if name == "material" {
		m, ok := models.MaterialByName(value)
		if !ok {
			return refuse("--set %s: no material %s%s\nflexwright materials lists them", text, value, configs.DidYouMean(value, materialNames()))
		}
		spec.Materials = []*models.Material{m}
		return nil
	}
	var known []string
	for i, p := range spec.Parameters() {
		known = append(known, p.Name)
		if p.Name != name {
			continue
		}
		v, err := configs.ParseQuantity(value, p.Unit)
		if err != nil {
			return refuse("--set %s: %w", text, err)
		}
		if v < p.Min || v > p.Max {
			return refuse("--set %s: %s goes from %s to %s", text, name, configs.FormatQuantity(p.Min, p.Unit), configs.FormatQuantity(p.Max, p.Unit))
		}
		spec.Fixed[i] = v
		return nil
	}
	return refuse("--set %s: no parameter %s%s\n%s has %s", text, name, configs.DidYouMean(name, known), spec.Layouts[0].Name(), strings.Join(known, ", "))
}

// limitJSON is one limit as show prints it; an absent bound is absent, and so is a limit
// that does not hold for the design's layout.
type limitJSON struct {
	Value   *float64 `json:"value"`
	AtMost  *float64 `json:"at_most,omitempty"`
	AtLeast *float64 `json:"at_least,omitempty"`
	Met     bool     `json:"met"`
}

func limits(spec *objective.Spec, row *objective.Row) map[string]limitJSON {
	out := map[string]limitJSON{}
	for i := range spec.Limits {
		l := &spec.Limits[i]
		if !l.HoldsFor(row.Layout) {
			continue
		}
		j := limitJSON{}
		if v, ok := row.Judged(l); ok {
			j.Met = l.Met(v)
			if !math.IsInf(v, 0) {
				j.Value = &v
			}
		}
		if !math.IsInf(l.AtMost, 1) {
			j.AtMost = &l.AtMost
		}
		if !math.IsInf(l.AtLeast, -1) {
			j.AtLeast = &l.AtLeast
		}
		out[spec.Column(l.Ref)] = j
	}
	return out
}

// poseJSON is a position with the measures of the pose.
type poseJSON struct {
	position
	Measures map[string]float64     `json:"measures,omitempty"`
	Supports map[string]supportJSON `json:"supports,omitempty"`
}

// supportJSON is what carries a body out of the plane, SI.
type supportJSON struct {
	Z     float64 `json:"z_n_per_m"`
	Roll  float64 `json:"roll_n_m_per_rad"`
	Pitch float64 `json:"pitch_n_m_per_rad"`
	Sag   float64 `json:"sag_m"`
	Rolls float64 `json:"sag_roll_rad"`
	Tilts float64 `json:"sag_pitch_rad"`
}

func printDetailJSON(s streams, spec *objective.Spec, d *objective.Detail) error {
	parameters, measures := map[string]any{}, map[string]any{}
	for i, p := range spec.Parameters() {
		if v := d.Row.Parameters[i]; !math.IsNaN(v) {
			parameters[p.Unit.Column(p.Name)] = v
		} else {
			parameters[p.Unit.Column(p.Name)] = nil
		}
	}
	for _, m := range spec.Measures {
		info := &objective.Table[m]
		switch v, ok := d.Row.Measures.Get(m); {
		case info.IsText() && d.Row.Text(m) != "":
			measures[info.Column()] = d.Row.Text(m)
		case ok:
			measures[info.Column()] = v
		default:
			measures[info.Column()] = nil
		}
	}
	poses := []poseJSON{}
	for i := range d.Poses {
		p := &d.Poses[i]
		j := poseJSON{position: newPosition(d.Topology, p.Pose)}
		if p.Pose.Verdict.OK() {
			j.Measures = map[string]float64{}
			for _, v := range p.Values {
				j.Measures[v.Column()] = v.Value
			}
			j.InPlane, j.OutOfPlane = p.InPlane, p.OutOfPlane
			j.Supports = map[string]supportJSON{}
			for _, u := range p.Supports {
				j.Supports[d.Topology.Bodies[u.Body].Name] = supportJSON{u.Z, u.Roll, u.Pitch, u.Sag, u.RolledBy, u.PitchedBy}
			}
		}
		poses = append(poses, j)
	}
	out := struct {
		Layout     string               `json:"layout"`
		Material   string               `json:"material"`
		Status     string               `json:"status"`
		Reason     objective.Reason     `json:"reason,omitzero"`
		Feasible   bool                 `json:"feasible"`
		Violation  *float64             `json:"violation"`
		Parameters map[string]any       `json:"parameters"`
		Measures   map[string]any       `json:"measures"`
		Limits     map[string]limitJSON `json:"limits"`
		PartsFail  []failJSON           `json:"parts_fail_at,omitempty"`
		Poses      []poseJSON           `json:"poses"`
		Damping    []dampedJSON         `json:"damping,omitempty"`
		Budgets    []budgetJSON         `json:"budgets,omitempty"`
		Fine       *fineJSON            `json:"fine,omitempty"`
		Scatter    *scatterJSON         `json:"scatter,omitempty"`
		*sensitivityJSON
	}{d.Row.Layout, d.Row.Material, d.Row.Status.String(), d.Row.Reason, d.Row.Feasible, nil, parameters, measures, limits(spec, &d.Row), failsJSON(d.PartFails), poses, newDampedJSON(d), budgetsJSON(d.Budgets), nil, nil, nil}
	if d.Fine != nil {
		out.Fine = newFineJSON(d.Fine)
	}
	if d.Scatter != nil {
		out.Scatter = newScatterJSON(d.Scatter)
	}
	if d.Sensitivity != nil {
		out.sensitivityJSON = newSensitivityJSON(spec, d.Sensitivity)
	}
	if !math.IsNaN(d.Row.Violation) {
		out.Violation = &d.Row.Violation
	}
	e := json.NewEncoder(s.out)
	e.SetIndent("", " ")
	return e.Encode(out)
}
