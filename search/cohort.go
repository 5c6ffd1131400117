package search

import "slices"

// cohort is a set of points with their outcomes, in flat slices, one row a
// point.
type cohort struct {
	dim, m, limits int // variables, objectives, limits; the last two 0 until told
	n              int

	u         []float64 // n x dim, in the unit cube; finite variables at the middle of their part
	objs      []float64 // n x m; 0 where not known
	known     []bool    // n; objectives are known
	stage     []int     // n; that failed
	violation []float64 // n; of that stage
	limit     []float64 // n x limits; 0 where not known
	measured  []bool    // n; limits are known
	id        []int64   // n; number of the proposal
	beyond    []float64 // n x dim; the last point with a violation that was bred from this one
	failed    []bool    // n; beyond is set
	parent    []int     // n; row of the parent when bred, -1 else
	operator  []int     // n; what bred it
}

func (c *cohort) point(i int) []float64      { return c.u[i*c.dim : (i+1)*c.dim : (i+1)*c.dim] }
func (c *cohort) objectives(i int) []float64 { return c.objs[i*c.m : (i+1)*c.m] }

// add appends a row of zeros and returns its point.
func (c *cohort) add() []float64 {
	c.n++
	c.fit()
	c.parent[c.n-1], c.operator[c.n-1] = -1, 0
	return c.point(c.n - 1)
}

// fit sets the lengths of all slices to n rows; new rows are zero.
func (c *cohort) fit() {
	c.u = lengthen(c.u, c.n*c.dim)
	c.objs = lengthen(c.objs, c.n*c.m)
	c.known = lengthen(c.known, c.n)
	c.stage = lengthen(c.stage, c.n)
	c.violation = lengthen(c.violation, c.n)
	c.limit = lengthen(c.limit, c.n*c.limits)
	c.measured = lengthen(c.measured, c.n)
	c.id = lengthen(c.id, c.n)
	c.beyond = lengthen(c.beyond, c.n*c.dim)
	c.failed = lengthen(c.failed, c.n)
	c.parent = lengthen(c.parent, c.n)
	c.operator = lengthen(c.operator, c.n)
}

func lengthen[T any](s []T, n int) []T {
	if n <= len(s) {
		return s[:n]
	}
	from := len(s)
	s = slices.Grow(s, n-from)[:n]
	clear(s[from:])
	return s
}

// truncate keeps the first n rows.
func (c *cohort) truncate(n int) {
	c.n = n
	c.fit()
}

// adopt takes on the shape of another cohort. Rows that are there keep their
// values; they have none of numbers not known until now.
func (c *cohort) adopt(o *cohort) {
	if c.m != o.m {
		c.objs = c.objs[:0]
	}
	if c.limits != o.limits {
		c.limit = c.limit[:0]
	}
	c.dim, c.m, c.limits = o.dim, o.m, o.limits
	c.fit()
}

// take appends row i of another cohort of the same shape.
func (c *cohort) take(o *cohort, i int) {
	j := c.n
	c.n++
	c.fit()
	copy(c.point(j), o.point(i))
	copy(c.objs[j*c.m:], o.objs[i*c.m:(i+1)*c.m])
	copy(c.limit[j*c.limits:], o.limit[i*c.limits:(i+1)*c.limits])
	copy(c.beyond[j*c.dim:], o.beyond[i*c.dim:(i+1)*c.dim])
	c.known[j], c.measured[j], c.violation[j] = o.known[i], o.measured[i], o.violation[i]
	c.id[j], c.failed[j], c.stage[j] = o.id[i], o.failed[i], o.stage[i]
	c.parent[j], c.operator[j] = o.parent[i], o.operator[i]
}

// check reports whether outcomes can be told to a plan that expects m
// objectives (0: not known yet), and the number of objectives they have.
func check(out []Outcome, n, m int) (objectives int, ok bool) {
	if len(out) != n {
		return m, false
	}
	for i := range out {
		o := &out[i]
		if !(o.Violation >= 0) || o.Feasible() && len(o.Objectives) == 0 {
			return m, false
		}
		if len(o.Objectives) == 0 {
			continue
		}
		if m == 0 {
			m = len(o.Objectives)
		}
		if len(o.Objectives) != m {
			return m, false
		}
		if o.Feasible() && !allFinite(o.Objectives) {
			return m, false
		}
	}
	return m, true
}

func allFinite(x []float64) bool {
	for _, v := range x {
		if !finite(v) {
			return false
		}
	}
	return true
}

// tell stores outcomes in the rows from number from on.
func (c *cohort) tell(out []Outcome, from int) error {
	m, ok := check(out, c.n-from, c.m)
	if !ok {
		return ErrOutcomes
	}
	limits := c.limits
	for i := range out {
		if limits == 0 {
			limits = len(out[i].Limits)
		}
	}
	// Until a number is known all rows are without values: lengthen adds zeros.
	c.m, c.limits = m, limits
	c.fit()
	for i := range out {
		o, j := &out[i], from+i
		c.stage[j], c.violation[j] = o.Stage, o.Violation
		c.known[j] = len(o.Objectives) == m && m > 0 && allFinite(o.Objectives)
		if c.known[j] {
			copy(c.objectives(j), o.Objectives)
		} else {
			clear(c.objectives(j))
		}
		c.measured[j] = len(o.Limits) == limits && limits > 0 && allFinite(o.Limits)
		if c.measured[j] {
			copy(c.limit[j*limits:], o.Limits)
		} else {
			clear(c.limit[j*limits : (j+1)*limits])
		}
	}
	return nil
}
