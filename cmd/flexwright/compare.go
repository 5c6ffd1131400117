package main

import (
	"cmp"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"

	"flexwright/configs"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/results/report"
	"flexwright/search"

	"github.com/spf13/cobra"
)

// compareOptions are how a comparison is written.
type compareOptions struct {
	json bool
	html string // file of the page
}

func newCompare(s streams) *cobra.Command {
	var o compareOptions
	c := &cobra.Command{
		Use:   "compare A B",
		Short: "Compare two designs, or two runs, side by side",
		Long: `Compare two designs, or two runs. A design is DIR:ID (DIR:RUN:ID in a joined
folder) or a brief, of which the middle of its ranges is taken: parameters,
measures and margins to the limits of A's brief, the largest relative difference
first. Two run folders: their fronts by a common reference point, what only one of
them reaches, and the keys in which their briefs differ. --html writes it as a page,
with the two fronts over each other.`,
		Example: `  flexwright compare night.run:1234 night.run:1301
  flexwright compare monday.run tuesday.run --html fronts.html`,
		Args: exactly("A", "B"),
		RunE: func(_ *cobra.Command, args []string) error {
			a, b := isRun(args[0]), isRun(args[1])
			switch {
			case a && b:
				return compareRuns(s, args[0], args[1], o)
			case a || b:
				return refuse("%s and %s: two designs (DIR:ID or a brief), or two run folders", args[0], args[1])
			}
			return compareDesigns(s, args[0], args[1], o)
		},
	}
	c.Flags().BoolVar(&o.json, "json", false, "print JSON")
	c.Flags().StringVar(&o.html, "html", "", "also write a page as a `file`")
	return c
}

func isRun(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// comparedSide is one of two designs.
type comparedSide struct {
	spec *objective.Spec
	row  objective.Row
}

// pickSide evaluates what an argument names: DIR:ID, DIR:RUN:ID or a brief.
func pickSide(s streams, text string) (*comparedSide, error) {
	path, design := text, ""
	for i := len(text) - 1; i > 0; i-- {
		if text[i] == ':' && isRun(text[:i]) {
			path, design = text[:i], text[i+1:]
		}
	}
	spec, _, err := pickDesign(s, path, design)
	if err != nil {
		return nil, err
	}
	return &comparedSide{spec, objective.NewDetail(spec).Row}, nil
}

// compared is one number of two designs.
type compared struct {
	Name       string   `json:"name"`
	Kind       string   `json:"kind"` // parameter, measure or margin
	Unit       string   `json:"unit"`
	A          *float64 `json:"a"` // null: undefined, or not computed
	B          *float64 `json:"b"`
	Difference *float64 `json:"difference"` // relative, of the larger magnitude
}

func newCompared(kind, name, unit string, a float64, okA bool, b float64, okB bool) compared {
	c := compared{Name: name, Kind: kind, Unit: unit}
	if okA && !math.IsInf(a, 0) {
		c.A = &a
	}
	if okB && !math.IsInf(b, 0) {
		c.B = &b
	}
	if c.A != nil && c.B != nil {
		d := 0.0
		if most := max(math.Abs(a), math.Abs(b)); most > 0 {
			d = (b - a) / most
		}
		c.Difference = &d
	}
	return c
}

func compareDesigns(s streams, pathA, pathB string, o compareOptions) error {
	a, err := pickSide(s, pathA)
	if err != nil {
		return err
	}
	b, err := pickSide(s, pathB)
	if err != nil {
		return err
	}
	var list []compared
	other := map[string]int{}
	for i, p := range b.spec.Parameters() {
		other[p.Unit.Column(p.Name)] = i
	}
	for i, p := range a.spec.Parameters() {
		k, there := other[p.Unit.Column(p.Name)]
		y := math.NaN()
		if there {
			y = b.row.Parameters[k]
		}
		x := a.row.Parameters[i]
		list = append(list, newCompared("parameter", p.Name, p.Unit.Symbol, x, !math.IsNaN(x), y, !math.IsNaN(y)))
	}
	for m := range objective.NumMeasures {
		x, okA := a.row.Measures.Get(m)
		y, okB := b.row.Measures.Get(m)
		if okA || okB {
			list = append(list, newCompared("measure", objective.Table[m].Name, objective.Table[m].Unit.Symbol, x, okA, y, okB))
		}
	}
	for i := range a.spec.Limits {
		l := &a.spec.Limits[i]
		if l.Ref.Parameter {
			continue
		}
		margin := func(r *objective.Row) (float64, bool) {
			v, ok := r.Judged(l)
			return l.Margin(v), ok && l.HoldsFor(r.Layout)
		}
		x, okA := margin(&a.row)
		y, okB := margin(&b.row)
		list = append(list, newCompared("margin", a.spec.LimitName(l), "", x, okA, y, okB))
	}
	slices.SortStableFunc(list, func(x, y compared) int {
		return cmp.Or(cmp.Compare(kindOrder(x.Kind), kindOrder(y.Kind)), cmp.Compare(differing(y), differing(x)))
	})
	if err := writeComparison(o.html, designsPage(pathA, pathB, a, b, list)); err != nil {
		return err
	}
	if o.json {
		return writeJSON(s.out, map[string]any{"a": pathA, "b": pathB, "status_a": a.row.Status.String(), "status_b": b.row.Status.String(), "numbers": list})
	}
	fmt.Fprintf(s.out, "A: %s, %s, %s; B: %s, %s, %s\n", a.row.Layout, a.row.Material, a.row.Status, b.row.Layout, b.row.Material, b.row.Status)
	for _, kind := range []string{"parameter", "measure", "margin"} {
		t := newPageTable(kind, "A", "B", "unit", "B less A, of the larger")
		same := 0
		for _, c := range list {
			switch {
			case c.Kind != kind:
			case c.Difference != nil && *c.Difference == 0:
				same++
			default:
				t.row(c.Name, orDash(c.A), orDash(c.B), c.Unit, relative(c.Difference))
			}
		}
		fmt.Fprintln(s.out)
		if err := t.write(s.out); err != nil {
			return err
		}
		if same > 0 {
			fmt.Fprintf(s.out, "%s equal\n", counted(same, kind))
		}
	}
	return nil
}

func kindOrder(kind string) int {
	return slices.Index([]string{"parameter", "measure", "margin"}, kind)
}

// differing is the size of a difference to sort by; what cannot be compared comes first.
func differing(c compared) float64 {
	if c.Difference == nil {
		return math.Inf(1)
	}
	return math.Abs(*c.Difference)
}

func orDash(v *float64) string {
	if v == nil {
		return "-"
	}
	return number(*v)
}

func relative(v *float64) string {
	if v == nil {
		return "not to be compared"
	}
	return fmt.Sprintf("%+.2g %%", 100**v)
}

// runsCompared is what two runs have of one another. Hypervolumes are shares of the
// box of both fronts, widened by a tenth.
type runsCompared struct {
	Goals       []string             `json:"goals"` // columns
	A           runCompared          `json:"a"`
	B           runCompared          `json:"b"`
	Both        float64              `json:"hypervolume_of_both"`
	Differences []configs.Difference `json:"brief_differences"`
}

type runCompared struct {
	Folder      string    `json:"folder"`
	Designs     int64     `json:"designs"`
	Feasible    int64     `json:"feasible"`
	Front       int       `json:"front"`
	Common      int       `json:"on_the_common_front"`
	Hypervolume float64   `json:"hypervolume"`
	Best        []float64 `json:"best"` // of each goal
}

func compareRuns(s streams, pathA, pathB string, o compareOptions) error {
	var folders [2]*results.Folder
	var fronts [2][]float64
	var lists [2][]objective.Row
	out := runsCompared{Differences: []configs.Difference{}}
	sides := [2]*runCompared{&out.A, &out.B}
	for i, path := range []string{pathA, pathB} {
		folder, err := results.Open(path)
		if err != nil {
			return err
		}
		folders[i] = folder
		if i == 1 && !slices.Equal(folder.Manifest().Goals, folders[0].Manifest().Goals) {
			return refuse("%s and %s have other goals: there is no front to compare", pathA, pathB)
		}
		rows, err := folder.Front(nil)
		if err != nil {
			return err
		}
		m := folder.Manifest()
		fronts[i] = objectives(rows, folder.Columns(), m.Goals)
		lists[i] = rows
		*sides[i] = runCompared{Folder: path, Designs: m.Rows, Feasible: m.Feasible, Front: len(rows)}
	}
	goals := folders[0].Manifest().Goals
	m := len(goals)
	box := search.RangesOf(m, fronts[0], fronts[1])
	archive := search.NewArchive[[2]int](m) // run, design of its front
	for i := range fronts {
		ends := search.RangesOf(m, fronts[i])
		for k, g := range goals {
			best := ends.Low[k]
			if g.Sense == objective.Most.String() {
				best = -best
			}
			if !math.IsInf(best, 0) {
				sides[i].Best = append(sides[i].Best, best)
			}
		}
		if len(fronts[i]) > 0 {
			sides[i].Hypervolume = box.Hypervolume(fronts[i])
		}
		for k := 0; k < len(fronts[i]); k += m {
			archive.Add(fronts[i][k:k+m], [2]int{i, k / m})
		}
	}
	if both := archive.Objectives(); len(both) > 0 {
		out.Both = box.Hypervolume(both)
	}
	var common [2]map[int]bool
	common[0], common[1] = map[int]bool{}, map[int]bool{}
	for _, at := range archive.Items() {
		sides[at[0]].Common++
		common[at[0]][at[1]] = true
	}
	for _, g := range goals {
		out.Goals = append(out.Goals, g.Column)
	}
	briefA, errA := runBrief(folders[0])
	briefB, errB := runBrief(folders[1])
	if errA == nil && errB == nil && briefA != nil && briefB != nil {
		out.Differences = append(out.Differences, configs.Differences(briefA, briefB)...)
	}
	if o.html != "" {
		page := runsPage(&out, goals, folders[0].Columns())
		for i := range lists {
			for k := range lists[i] {
				values := make([]float64, m)
				for g := range values {
					if values[g] = fronts[i][k*m+g]; goals[g].Sense == objective.Most.String() {
						values[g] = -values[g]
					}
				}
				page.Points[i] = append(page.Points[i], report.ComparedPoint{Design: designName(&lists[i][k]), Values: values, Common: common[i][k]})
			}
		}
		if err := writeComparison(o.html, page); err != nil {
			return err
		}
	}
	if o.json {
		return writeJSON(s.out, out)
	}
	return printRuns(s, &out, goals)
}

// numbersOfRuns are the rows of the table that has two runs side by side.
func numbersOfRuns(out *runsCompared, goals []results.Goal) (rows [][]string) {
	row := func(name string, value func(*runCompared) string) {
		rows = append(rows, []string{name, value(&out.A), value(&out.B)})
	}
	row("folder", func(r *runCompared) string { return r.Folder })
	row("designs", func(r *runCompared) string { return fmt.Sprint(r.Designs) })
	row("feasible", func(r *runCompared) string { return fmt.Sprint(r.Feasible) })
	row("on the front", func(r *runCompared) string { return fmt.Sprint(r.Front) })
	row("of them on the common front", func(r *runCompared) string { return fmt.Sprint(r.Common) })
	row("hypervolume", func(r *runCompared) string { return number(r.Hypervolume) })
	for k, g := range goals {
		row("best "+g.Column, func(r *runCompared) string {
			if k >= len(r.Best) {
				return "-"
			}
			return number(r.Best[k])
		})
	}
	return rows
}

// reachOfRuns says what each run has of both.
func reachOfRuns(out *runsCompared) string {
	text := fmt.Sprintf("Hypervolumes are shares of the box of both fronts, widened by a tenth; both fronts together have %s.", number(out.Both))
	if out.Both > 0 {
		text += fmt.Sprintf(" Only A reaches %s of that, only B %s.", percent((out.Both-out.B.Hypervolume)/out.Both), percent((out.Both-out.A.Hypervolume)/out.Both))
	}
	return text
}

func printRuns(s streams, out *runsCompared, goals []results.Goal) error {
	t := newPageTable("", "A", "B")
	for _, row := range numbersOfRuns(out, goals) {
		t.row(row...)
	}
	if err := t.write(s.out); err != nil {
		return err
	}
	for _, l := range wrap(reachOfRuns(out), pageWidth) {
		fmt.Fprintln(s.out, l)
	}
	if len(out.Differences) > 0 {
		fmt.Fprintln(s.out)
		d := newPageTable("key of the brief", "A", "B")
		for _, x := range out.Differences {
			d.row(x.Key, strings.TrimSpace(orNothing(x.A)), orNothing(x.B))
		}
		return d.write(s.out)
	}
	return nil
}
