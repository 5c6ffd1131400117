package report

import (
	"slices"

	"flexwright/objective"
	"flexwright/results"
	"flexwright/search"
)

// chosen is a design that is shown in full.
type chosen struct {
	design Design
	row    objective.Row
	roles  []string
}

// pick chooses the knee and the ends of the front, what was asked for, and, when
// there is no front, the design that comes nearest to one.
func pick(g *gathered, asked []Design, spec *objective.Spec, m *results.Manifest) []chosen {
	var list []chosen
	add := func(row objective.Row, role string) {
		d := Design{row.Run, row.ID}
		for i := range list {
			if list[i].design == d {
				list[i].roles = append(list[i].roles, role)
				return
			}
		}
		list = append(list, chosen{d, row, []string{role}})
	}
	if len(g.front) > 0 {
		if k := search.Knee(g.frontObjs, len(g.goals)); k >= 0 && len(g.goals) > 1 {
			add(g.front[k], "knee of the front")
		}
		for k, i := range g.ends() {
			add(g.front[i], m.Goals[k].Sense+" "+columnLabel(g.goals[k].column))
		}
	} else if g.nearest != nil {
		add(*g.nearest, "closest to feasible")
	}
	for _, d := range asked {
		add(g.asked[d], "asked for")
	}
	return list
}

// side sets the picked designs side by side.
func side(columns []objective.Column, g *gathered, b *Brief, list []chosen) *table {
	if len(list) == 0 {
		return nil
	}
	t := &table{Caption: "Picked designs", Head: head("design")}
	for _, c := range list {
		h := cell{Text: c.design.String(), Number: true}
		if b.Spec != nil { // shown in full
			h.Link = anchor(c.design)
		}
		t.Head = append(t.Head, h)
	}
	roles := []cell{text("picked as")}
	for _, c := range list {
		roles = append(roles, value(joinRoles(c.roles)))
	}
	t.add(roles...)
	for _, name := range mainColumns(g, b) {
		c := results.ColumnNamed(columns, name)
		if c == nil {
			continue
		}
		label := columnLabel(c)
		if c.Unit != "" {
			label += ", " + c.Unit
		}
		cells := []cell{text(label)}
		for i := range list {
			cells = append(cells, value(readable(c, &list[i].row)))
		}
		t.add(cells...)
	}
	return t
}

func joinRoles(roles []string) string {
	if len(roles) == 0 {
		return ""
	}
	s := roles[0]
	for _, r := range roles[1:] {
		s += ", " + r
	}
	return s
}

// readable is the value of a column for people.
func readable(c *objective.Column, row *objective.Row) string {
	v := c.Get(row)
	switch {
	case v.Null:
		return "–"
	case c.Kind == objective.Float:
		return number(v.Float)
	case c.Kind == objective.Int:
		return count(v.Int)
	case c.Kind == objective.Bool && v.Bool:
		return "yes"
	case c.Kind == objective.Bool:
		return "no"
	}
	return v.Text
}

// mainColumns are the goals, what is varied and what is limited by the brief, in
// this order.
func mainColumns(g *gathered, b *Brief) []string {
	var names []string
	add := func(name string) {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	for _, c := range g.goals {
		add(c.column.Name)
	}
	if b.Spec == nil {
		return names
	}
	for _, v := range b.Spec.Variables {
		switch {
		case v.Target == objective.TargetLayout:
			add("layout")
		case v.Target == objective.TargetMaterial && len(b.Spec.Materials) > 1:
			add("material")
		case v.Target == objective.TargetParameter:
			add(b.Spec.Column(objective.Ref{Parameter: true, Index: v.Index}))
		}
	}
	for i := range b.Spec.Limits {
		if l := &b.Spec.Limits[i]; !l.Default {
			add(b.Spec.Column(l.Ref))
		}
	}
	return names
}
