package report

import (
	"fmt"
	"math"
	"slices"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/results/diagnosis"
	"flexwright/search"
)

// Sizes of what the page holds beside the front and the picks, and of the history.
const (
	sampleFeasible = 3000
	sampleOthers   = 3000
	checkpoints    = 60
)

// gathered is what one pass over the rows of a run leaves.
type gathered struct {
	goals []goalColumn

	rows, feasible int64
	status         [models.Failed + 1]int64
	solveUS        float64
	rejected       *diagnosis.Tally // by the brief's limits; nil without a brief

	archive   *search.Archive[objective.Row]
	front     []objective.Row // of the archive, once all rows are in
	frontObjs []float64       // least is best

	feasibleSample, otherSample sample
	asked                       map[Design]objective.Row // picked by the caller; found so far
	nearest                     *objective.Row           // least violation

	history []checkpoint
	lost    lost
}

// goalColumn is a goal with its column and the sign that makes least best.
type goalColumn struct {
	column *objective.Column
	most   bool
	sign   float64
}

// checkpoint is the state of the search after a number of rows.
type checkpoint struct {
	rows, feasible int64
	front          []float64 // objectives
	thinned        bool
}

// lost holds, of every row that is not feasible, its goals and why: 9 to 41
// bytes each.
type lost struct {
	goals []float64 // NaN where unknown
	why   []uint8   // number of the limit that fails most, or lostStatus + the status
}

const lostStatus = 200

// Why, and how often.
type cause struct {
	text  string
	count int64
}

func gather(in *Input, brief *Brief) (*gathered, error) {
	spec := brief.Spec
	f := in.Folder
	g := &gathered{feasibleSample: sample{size: sampleFeasible}, otherSample: sample{size: sampleOthers}, asked: map[Design]objective.Row{}}
	columns := f.Columns()
	for _, goal := range f.Manifest().Goals {
		c := results.ColumnNamed(columns, goal.Column)
		if c == nil {
			return nil, fmt.Errorf("report: goal %s is not stored", goal.Column)
		}
		g.goals = append(g.goals, goalColumn{c, goal.Sense == objective.Most.String(), map[bool]float64{true: -1, false: 1}[goal.Sense == objective.Most.String()]})
	}
	limitOf := map[string]uint8{} // by column
	if spec != nil {
		full := diagnosis.Reevaluate(spec)
		if len(f.Manifest().Runs) > 0 {
			full = nil // of several briefs, not of this one
		}
		g.rejected = diagnosis.New(spec, brief.Space, full)
		for i := range spec.Limits {
			column := spec.Column(spec.Limits[i].Ref)
			if _, twice := limitOf[column]; i < lostStatus && !twice {
				limitOf[column] = uint8(i)
			}
		}
	}
	g.archive = search.NewArchive[objective.Row](len(g.goals))
	every := max(1, (f.Manifest().Rows+checkpoints-1)/checkpoints)
	objectives := make([]float64, len(g.goals))
	for row, err := range f.Rows() {
		if err != nil {
			return nil, err
		}
		g.add(&row, in.Designs, limitOf, objectives)
		if g.rows%every == 0 {
			g.check()
		}
	}
	if g.rejected != nil {
		g.nearest = g.rejected.Nearest()
	}
	g.front, g.frontObjs = g.archive.Items(), g.archive.Objectives()
	if n := len(g.history); n == 0 || g.history[n-1].rows != g.rows {
		g.check()
	}
	for _, d := range in.Designs {
		if _, ok := g.asked[d]; !ok {
			return nil, &MissingError{f.Dir(), d}
		}
	}
	return g, nil
}

func (g *gathered) add(row *objective.Row, asked []Design, limitOf map[string]uint8, objectives []float64) {
	g.rows++
	g.status[row.Status]++
	g.solveUS += row.SolveUS
	d := Design{row.Run, row.ID}
	if slices.Contains(asked, d) {
		g.asked[d] = *row
	}
	if g.rejected != nil {
		g.rejected.Add(row)
	}
	known := true
	for i, c := range g.goals {
		cell := c.column.Get(row)
		objectives[i] = c.sign * cell.Float
		if cell.Null {
			known, objectives[i] = false, math.NaN()
		}
	}
	if row.Feasible {
		g.feasible++
		g.feasibleSample.offer(row)
		if known {
			g.archive.Add(objectives, *row)
		}
		return
	}
	g.otherSample.offer(row)
	if !math.IsNaN(row.Violation) && (g.nearest == nil || row.Violation < g.nearest.Violation) {
		r := *row
		g.nearest = &r
	}
	why := lostStatus + uint8(row.Status)
	if k, ok := limitOf[row.FirstLimit]; ok && row.FirstLimit != "" {
		why = k
	}
	g.lost.goals = append(g.lost.goals, objectives...)
	g.lost.why = append(g.lost.why, why)
}

// check stores a checkpoint: at most so many points, every k-th, that their
// hypervolume is soon computed. Dominated ones among them do not change it.
func (g *gathered) check() {
	m := len(g.goals)
	bound := wholeFront
	points := g.archive.Held()
	if m > 3 {
		bound = wholeFrontMany
	} else {
		points = g.archive.Objectives()
	}
	n := len(points) / m
	c := checkpoint{rows: g.rows, feasible: g.feasible}
	step := max(1, (n+bound-1)/bound)
	c.thinned = step > 1
	for i := 0; i < n; i += step {
		c.front = append(c.front, points[i*m:(i+1)*m]...)
	}
	g.history = append(g.history, c)
}

// before is the last checkpoint of at most so many rows, nil where there is none.
func (g *gathered) before(rows int64) *checkpoint {
	var last *checkpoint
	for i := range g.history {
		if g.history[i].rows <= rows {
			last = &g.history[i]
		}
	}
	return last
}

// ends returns the number of the front's best row in each goal.
func (g *gathered) ends() []int {
	m := len(g.goals)
	best := make([]int, m)
	for k := range best {
		for i := range g.front {
			if g.frontObjs[i*m+k] < g.frontObjs[best[k]*m+k] {
				best[k] = i
			}
		}
	}
	return best
}

// beyond counts, among the designs that are not feasible, those better than
// value in a goal, by cause, most frequent first.
func (g *gathered) beyond(goal int, value float64, spec *objective.Spec) (total int64, causes []cause) {
	var count [256]int64
	m := len(g.goals)
	for i, why := range g.lost.why {
		if g.lost.goals[i*m+goal] < value {
			count[why]++
			total++
		}
	}
	for why, n := range count {
		if n == 0 {
			continue
		}
		text := ""
		if why >= lostStatus {
			text = "status " + label(models.Status(why-lostStatus).String())
		} else {
			text = label(spec.Name(spec.Limits[why].Ref))
		}
		causes = append(causes, cause{text, n})
	}
	slices.SortStableFunc(causes, func(a, b cause) int { return int(b.count - a.count) })
	return total, causes
}
