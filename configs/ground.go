package configs

import "flexwright/models"

// checkGround refuses bodies that nothing keeps in place: an assembly without a
// fixed body (unless what is held fixes enough), and bodies that no blades join to
// one.
func (a *assembly) checkGround(root *node) {
	t := &a.topology
	anything := false
	for i := range t.Bodies {
		anything = anything || t.Bodies[i].Held != 0
	}
	if !anything {
		a.refuse(root.get("bodies").place, `"fixed": true for one body, the ground`, "no body is fixed")
		return
	}
	group := components(t)
	kept := map[int]bool{}
	for i := range t.Bodies {
		if group[i] == i {
			kept[i] = a.keepsInPlace(group, i)
		}
	}
	for i := range t.Bodies {
		if !kept[group[i]] {
			a.refuse(a.bodies[i], "blades to a fixed body, or held motions that leave no free one",
				"body %s is joined to nothing that keeps it in place", show(t.Bodies[i].Name))
		}
	}
}

// components numbers the bodies that blades and beams join: the least number among them.
func components(t *models.Topology) []int {
	group := make([]int, len(t.Bodies))
	for i := range group {
		group[i] = i
	}
	find := func(i int) int {
		for group[i] != i {
			group[i] = group[group[i]]
			i = group[i]
		}
		return i
	}
	for _, b := range t.Blades {
		from, to := find(b.From), find(b.To)
		group[max(from, to)] = min(from, to)
	}
	for _, l := range t.Links {
		from, to := find(l.From), find(l.To)
		group[max(from, to)] = min(from, to)
	}
	for i := range group {
		group[i] = find(i)
	}
	return group
}

// keepsInPlace reports whether the held motions of a component leave no rigid
// motion of the whole: x and y are held somewhere, and rotation either directly or
// by two parallel holds that are not in line.
func (a *assembly) keepsInPlace(group []int, component int) bool {
	var xs, ys []float64 // where x is held, its y; where y is held, its x
	yaw := false
	for i, b := range a.topology.Bodies {
		if group[i] != component {
			continue
		}
		if b.Held.Has(models.AxisX) {
			xs = append(xs, a.stage.Y[i])
		}
		if b.Held.Has(models.AxisY) {
			ys = append(ys, a.stage.X[i])
		}
		yaw = yaw || b.Held.Has(models.AxisYaw)
	}
	apart := func(values []float64) bool {
		for _, v := range values {
			if v != values[0] {
				return true
			}
		}
		return false
	}
	return len(xs) > 0 && len(ys) > 0 && (yaw || apart(xs) || apart(ys))
}
