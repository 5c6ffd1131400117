package main

import (
	"fmt"
	"math"
	"strings"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/models/conformance"
	"flexwright/results/drawing"

	"github.com/spf13/cobra"
)

func newLayouts(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "layouts [NAME...]",
		Short: "List the layouts and their parameters, or print the file of one",
		Long: `List the layouts that a brief may name, and the parameters of each: what fix and
vary may name. With names, print their layout files: what a layout of your own may
start from.`,
		Example: `  flexwright layouts
  flexwright layouts four-arm > mine.layout.yaml
  flexwright layouts check mine.layout.yaml`,
		Args: known("layout", layoutNames),
		RunE: func(_ *cobra.Command, args []string) error {
			if !asJSON && len(args) > 0 {
				for _, name := range args {
					source, _ := configs.LayoutSource(name)
					if _, err := s.out.Write(source); err != nil {
						return err
					}
				}
				return nil
			}
			list := layoutTable(args)
			if asJSON {
				return writeJSON(s.out, list)
			}
			for i, l := range list {
				if i > 0 {
					fmt.Fprintln(s.out)
				}
				fmt.Fprintf(s.out, "%s\n\n", strings.Join(wrap(l.Name+": "+l.Meaning, terminalWidth(s.out)), "\n"))
				t := newTextTable("parameter", "unit", "default", "range", "meaning")
				for _, p := range l.Parameters {
					def := p.Rule
					if p.Default != nil {
						def = number(*p.Default)
					}
					t.row(p.Name, p.Unit, def, number(p.Least)+" to "+number(p.Most), p.Meaning)
				}
				if err := t.write(s.out); err != nil {
					return err
				}
			}
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print names, meanings and parameters as JSON")
	c.AddCommand(newLayoutsCheck(s))
	return c
}

// layoutEntry is a layout as `layouts --json` prints it.
type layoutEntry struct {
	Name       string           `json:"name"`
	Meaning    string           `json:"meaning"`
	Parameters []parameterEntry `json:"parameters"`
}

type parameterEntry struct {
	Name    string   `json:"name"`
	Column  string   `json:"column"`
	Unit    string   `json:"unit"`
	Meaning string   `json:"meaning"`
	Default *float64 `json:"default"`
	Rule    string   `json:"rule"`
	Least   float64  `json:"least"`
	Most    float64  `json:"most"`
}

func layoutTable(names []string) (list []layoutEntry) {
	for _, l := range configs.Layouts() {
		if !named(names, l.Name()) {
			continue
		}
		entry := layoutEntry{Name: l.Name(), Meaning: l.Meaning()}
		for _, p := range l.Parameters() {
			e := parameterEntry{Name: p.Name, Column: p.Unit.Column(p.Name), Unit: p.Unit.Symbol, Meaning: p.Meaning, Rule: p.DefaultText, Least: p.Min, Most: p.Max}
			if !math.IsNaN(p.Default) {
				e.Default = &p.Default
			}
			entry.Parameters = append(entry.Parameters, e)
		}
		list = append(list, entry)
	}
	return list
}

// triedDesigns is how many designs `layouts check` builds.
const triedDesigns = 200

// tryLayout puts a layout through the conformance checks and draws the first designs
// that it builds: their outline is closed, nothing of it touches, and nothing hangs on
// nothing. Walls and gaps are left to the brief's drawing.
func tryLayout(l models.Layout) (conformance.Report, []conformance.Fault) {
	r := conformance.Check(l, &models.Materials()[0], triedDesigns)
	faults := r.Faults
	for _, d := range r.Designs {
		_, err := drawing.New(l, d, drawing.Options{})
		if err != nil && len(r.Faults) == 0 {
			return r, append(faults, conformance.Fault{Text: err.Error()})
		}
	}
	return r, faults
}

func newLayoutsCheck(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "check FILE",
		Short: "Print every problem in a layout file, and try it",
		Long: `Read a layout file and print every problem in it, with its position, the line it
stands in and what would be accepted. A file without problems is tried on random
designs: bodies are one piece each and do not overlap, blades end on faces that are
wide enough, nothing comes closer than the gap over the whole travel, every position
is in equilibrium and stable, also with members that bend; a symmetry that is claimed is
there, in the outline and in how the stage gives way; masses are those of the outline;
nothing jumps when a parameter moves a little, and what is computed has a slope by each
parameter; the outline is closed and can be cut. FILE may be - for standard input.`,
		Example: `  flexwright layouts check mine.layout.yaml`,
		Args:    exactly("FILE"),
		RunE: func(_ *cobra.Command, args []string) error {
			name, data, err := readInput(s, args[0])
			if err != nil {
				return err
			}
			l, problems := configs.LoadLayout(name, data)
			if asJSON {
				if problems == nil {
					problems = configs.Problems{}
				}
				if l != nil {
					_, faults := tryLayout(l)
					for _, fault := range faults {
						problems = append(problems, configs.Problem{File: name, Line: fault.Line, Column: fault.Column, Message: fault.Text, Accepted: "a layout without this in any design that it builds"})
					}
				}
				if err := writeJSON(s.out, problems); err != nil {
					return err
				}
				if len(problems) > 0 {
					return &exitError{status: exitRefused}
				}
				return nil
			}
			for _, p := range problems {
				fmt.Fprintln(s.out, p.String())
			}
			if l == nil {
				return &exitError{status: exitRefused}
			}
			r, faults := tryLayout(l)
			for _, fault := range faults {
				place := name + ":"
				if fault.Line == 0 {
					place += " "
				}
				fmt.Fprintf(s.out, "%s%s\n", place, fault)
			}
			t := l.Topology()
			fmt.Fprintf(s.out, "%s: %d bodies, %d blades, %d parameters; %d of %d random designs can be built\n",
				l.Name(), len(t.Bodies), len(t.Blades), len(l.Parameters()), r.Built, r.Tried)
			if len(faults) > 0 {
				return &exitError{status: exitRefused}
			}
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the problems as JSON")
	return c
}
