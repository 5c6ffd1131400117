package report

import (
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"flexwright/objective"
	"flexwright/results"
)

// data is what the page's script works on.
type data struct {
	N       int          `json:"n"`
	ID      string       `json:"id"`            // base64 of N doubles, little-endian
	Run     string       `json:"run,omitempty"` // the same, of a joined folder
	Class   string       `json:"class"`         // base64 of N bytes: the class constants
	Columns []dataColumn `json:"columns"`
	Texts   []dataText   `json:"texts"`
	Main    []string     `json:"main"`  // names of the columns to begin with: goals, variables, limits
	Picks   []int        `json:"picks"` // row numbers
}

const (
	classOther    = 0
	classFeasible = 1
	classFront    = 2
)

// dataColumn is a column of numbers: base64 of N single-precision floats,
// little-endian, NaN where there is none; or one number when all are equal.
type dataColumn struct {
	Name    string   `json:"name"`
	Label   string   `json:"label"`
	Unit    string   `json:"unit"`
	Role    string   `json:"role"` // goal, variable, limit, parameter, measure, category, other
	Sense   string   `json:"sense,omitempty"`
	AtMost  *float64 `json:"atMost,omitempty"`
	AtLeast *float64 `json:"atLeast,omitempty"`
	Names   []string `json:"names,omitempty"` // of a category: what its numbers stand for
	// Tails are where the bars of the picked designs end, by row number.
	Tails map[int]float64 `json:"tails,omitempty"`
	Data  string          `json:"data"`
}

// dataText is a column of texts by number.
type dataText struct {
	Name   string   `json:"name"`
	Label  string   `json:"label"`
	Values []string `json:"values"`
	Codes  string   `json:"codes"` // base64 of N 16-bit numbers, little-endian
}

// embed chooses the rows that the page holds and encodes them. It also returns
// the rule in words, and the rows.
func embed(in *Input, g *gathered, b *Brief, picks []chosen, bars *tailBars) (_ template.JS, rule string, rows []objective.Row) {
	columns := in.Folder.Columns()
	var class []uint8
	place := map[Design]int{}
	put := func(r *objective.Row, c uint8) {
		d := Design{r.Run, r.ID}
		if _, ok := place[d]; !ok {
			place[d] = len(rows)
			rows, class = append(rows, *r), append(class, c)
		}
	}
	for i := range g.front {
		put(&g.front[i], classFront)
	}
	own := func(r *objective.Row) uint8 {
		if r.Feasible {
			return classFeasible
		}
		return classOther
	}
	for i := range picks {
		put(&picks[i].row, own(&picks[i].row))
	}
	for _, r := range g.feasibleSample.list() {
		put(&r, classFeasible)
	}
	for _, r := range g.otherSample.list() {
		put(&r, classOther)
	}
	d := data{N: len(rows), Class: base64.StdEncoding.EncodeToString(class)}
	ids, runs := make([]float64, len(rows)), make([]float64, len(rows))
	for i := range rows {
		ids[i], runs[i] = float64(rows[i].ID), float64(rows[i].Run)
	}
	d.ID = doubles(ids)
	if len(in.Folder.Manifest().Runs) > 0 {
		d.Run = doubles(runs)
	}
	for _, c := range picks {
		d.Picks = append(d.Picks, place[c.design])
	}
	for _, name := range mainColumns(g, b) {
		if c := results.ColumnNamed(columns, name); c != nil && (c.Kind == objective.Float || isCategory(c)) {
			d.Main = append(d.Main, name)
		}
	}
	for i := range columns {
		c := &columns[i]
		switch {
		case c.Kind == objective.Float, c.Name == "generation":
			if col, ok := numbers(c, rows); ok {
				col = describe(col, c, g, b)
				for design, end := range bars.ends[c.Name] {
					if col.Tails == nil {
						col.Tails = map[int]float64{}
					}
					col.Tails[place[design]] = end
				}
				d.Columns = append(d.Columns, col)
			}
		case isCategory(c):
			if col, ok := categories(c, rows); ok {
				d.Columns = append(d.Columns, col)
			}
		}
		switch {
		case c.Kind == objective.Text && !strings.HasPrefix(c.Name, "reason") && c.Name != "layout":
			d.Texts = append(d.Texts, texts(c, rows))
		}
	}
	return asJSON(&d), held(g, class), rows
}

// held says what the page holds, and the rule of thinning where there was any.
func held(g *gathered, class []uint8) string {
	var n [3]int64
	for _, c := range class {
		n[c]++
	}
	part := func(n, of int64, what string) string {
		if n == of {
			return fmt.Sprintf("all %s %s", count(of), what)
		}
		return fmt.Sprintf("%s of the %s %s", count(n), count(of), what)
	}
	var words []string
	if n[classFront] > 0 {
		words = append(words, part(n[classFront], n[classFront], "designs of the front"))
	}
	if n[classFeasible] > 0 {
		words = append(words, part(n[classFeasible], g.feasible-n[classFront], "other feasible ones"))
	}
	if n[classOther] > 0 {
		words = append(words, part(n[classOther], g.rows-g.feasible, "that are not feasible"))
	}
	text := "The plots and the table hold " + list(words) + "."
	if int64(len(class)) < g.rows {
		text += fmt.Sprintf(" Thinned by a fixed rule: the front and the picked designs whole; of the other feasible ones and of those that are not feasible up to %s each, the first in the order of a fixed mixing function of their numbers, which is an even choice. Counts, limits and histories are of all designs.", count(sampleFeasible))
	}
	return text
}

func describe(col dataColumn, c *objective.Column, g *gathered, b *Brief) dataColumn {
	col.Name, col.Label, col.Unit, col.Role = c.Name, columnLabel(c), c.Unit, "other"
	if n, ok := results.NumberOf(c.Name); ok && n.Measure {
		col.Role, col.Sense = "measure", n.Sense.String()
	}
	if b.Spec != nil {
		for i, p := range b.Spec.Parameters() {
			if p.Unit.Column(p.Name) != c.Name {
				continue
			}
			col.Role = "parameter"
			for _, v := range b.Spec.Variables {
				if v.Target == objective.TargetParameter && v.Index == i {
					col.Role = "variable"
				}
			}
		}
		for i := range b.Spec.Limits {
			l := &b.Spec.Limits[i]
			if b.Spec.Column(l.Ref) != c.Name || l.Default && l.Layouts != nil {
				continue
			}
			if !l.Default {
				col.Role = "limit"
			}
			if !math.IsInf(l.AtMost, 1) {
				col.AtMost = &l.AtMost
			}
			if !math.IsInf(l.AtLeast, -1) {
				col.AtLeast = &l.AtLeast
			}
		}
	}
	for _, goal := range g.goals {
		if goal.column.Name == c.Name {
			col.Role, col.Sense = "goal", map[bool]string{true: "most", false: "least"}[goal.most]
		}
	}
	return col
}

// numbers encodes a column. It reports false when all its values are equal or
// missing: there is nothing to plot.
func numbers(c *objective.Column, rows []objective.Row) (dataColumn, bool) {
	values := make([]float64, len(rows))
	differ := false
	for i := range rows {
		cell := c.Get(&rows[i])
		values[i] = cell.Float
		if c.Kind == objective.Int {
			values[i] = float64(cell.Int)
		}
		if cell.Null {
			values[i] = math.NaN()
		}
		if math.Float64bits(values[i]) != math.Float64bits(values[0]) {
			differ = true
		}
	}
	buffer := make([]byte, 0, 4*len(values))
	for _, v := range values {
		buffer = binary.LittleEndian.AppendUint32(buffer, math.Float32bits(float32(v)))
	}
	return dataColumn{Data: base64.StdEncoding.EncodeToString(buffer)}, differ
}

// mostCategories is how many values a column of names may have to be an axis, a
// colour and a filter.
const mostCategories = 24

// isCategory reports whether a column holds names of kinds of designs.
func isCategory(c *objective.Column) bool {
	switch c.Name {
	case "run", "island":
		return true
	case "reason_at": // names of blades and numbers of poses: an axis of nothing
		return false
	}
	return c.Kind == objective.Text
}

// categories encodes a column of names as their numbers, in the order of the names;
// for a number that is a name, in its own. It reports false when there is one value
// only, or too many.
func categories(c *objective.Column, rows []objective.Row) (dataColumn, bool) {
	name := func(r *objective.Row) (string, bool) {
		cell := c.Get(r)
		switch {
		case cell.Null:
			return "", false
		case c.Kind == objective.Int:
			return fmt.Sprintf("%d", cell.Int), true
		case c.Name == "first_limit":
			return label(results.NameOf(cell.Text)), true
		}
		return label(cell.Text), true
	}
	var names []string
	for i := range rows {
		if s, ok := name(&rows[i]); ok && !slices.Contains(names, s) {
			if names = append(names, s); len(names) > mostCategories {
				return dataColumn{}, false
			}
		}
	}
	slices.Sort(names)
	if c.Kind == objective.Int { // 2 before 10
		slices.SortStableFunc(names, func(a, b string) int { return len(a) - len(b) })
	}
	buffer := make([]byte, 0, 4*len(rows))
	for i := range rows {
		v := math.NaN()
		if s, ok := name(&rows[i]); ok {
			v = float64(slices.Index(names, s))
		}
		buffer = binary.LittleEndian.AppendUint32(buffer, math.Float32bits(float32(v)))
	}
	return dataColumn{Name: c.Name, Label: label(c.Name), Role: "category", Names: names, Data: base64.StdEncoding.EncodeToString(buffer)}, len(names) > 1
}

func doubles(values []float64) string {
	buffer := make([]byte, 0, 8*len(values))
	for _, v := range values {
		buffer = binary.LittleEndian.AppendUint64(buffer, math.Float64bits(v))
	}
	return base64.StdEncoding.EncodeToString(buffer)
}

func texts(c *objective.Column, rows []objective.Row) dataText {
	t := dataText{Name: c.Name, Label: label(c.Name)}
	buffer := make([]byte, 0, 2*len(rows))
	for i := range rows {
		s := c.Get(&rows[i]).Text
		k := slices.Index(t.Values, s)
		if k < 0 {
			k = len(t.Values)
			t.Values = append(t.Values, s)
		}
		buffer = binary.LittleEndian.AppendUint16(buffer, uint16(k))
	}
	t.Codes = base64.StdEncoding.EncodeToString(buffer)
	return t
}
