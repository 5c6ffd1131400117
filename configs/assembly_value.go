package configs

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"flexwright/models"
)

// movable finds the body that an actuator or a load acts on.
func (a *assembly) movable(n *node, what string) (int, bool) {
	i, ok := a.named(n, "body", what)
	if ok && a.topology.Bodies[i].Held == models.HeldAll {
		a.refuse(n.get("body").place, "a body that moves", "%s acts on %s, which is fixed", what, show(a.topology.Bodies[i].Name))
		return i, false
	}
	return i, ok
}

// named finds the body that a key names.
func (a *assembly) named(n *node, key, what string) (int, bool) {
	name := n.get(key)
	if name == nil || !a.text(name, what+": "+key) {
		return 0, false
	}
	i, ok := a.byName[name.text]
	if !ok {
		var names []string
		for _, b := range a.topology.Bodies {
			if b.Name != "" {
				names = append(names, b.Name)
			}
		}
		if len(names) == 0 {
			names = []string{"the name of a body"}
		}
		a.refuse(name.place, strings.Join(names, ", "), "%s: there is no body %s%s", what, show(name.text), DidYouMean(name.text, names))
	}
	return i, ok
}

// axis reads an axis up to last.
func (a *assembly) axis(n *node, what string, last models.Axis) (models.Axis, bool) {
	var names []string
	for axis := models.AxisX; axis <= last; axis++ {
		if n.kind == kindText && n.quote && n.text == axis.String() {
			return axis, true
		}
		names = append(names, strconv.Quote(axis.String()))
	}
	a.refuse(n.place, strings.Join(names, ", "), "%s: there is no axis %s", what, show(n.text))
	return 0, false
}

// text demands a text that is not empty.
func (a *assembly) text(n *node, what string) bool {
	if n.kind == kindText && n.quote && n.text != "" {
		return true
	}
	a.refuse(n.place, "one name, as a text", "%s is not a name", what)
	return false
}

// flag reads true or false; absent is false.
func (a *assembly) flag(n *node, key string) bool {
	v := n.get(key)
	if v == nil || v.kind == kindText && !v.quote && v.text == "false" {
		return false
	}
	if v.kind != kindText || v.quote || v.text != "true" {
		a.refuse(v.place, "true, false", "%s is neither true nor false", key)
	}
	return true
}

// number reads a finite number; false when it is absent or refused.
func (a *assembly) number(n *node, key, what string) (float64, bool) {
	v := n.get(key)
	if v == nil {
		return 0, false
	}
	return a.finite(v, what+": "+key)
}

func (a *assembly) finite(v *node, what string) (float64, bool) {
	if v.kind != kindText || v.quote || v.text == "true" || v.text == "false" {
		a.refuse(v.place, "a number", "%s is not a number", what)
		return 0, false
	}
	x, err := strconv.ParseFloat(v.text, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		a.refuse(v.place, "a finite number", "%s is beyond what a double holds", what)
		return 0, false
	}
	return x, true
}

// numbers reads a list of least to most numbers; nil when it is absent or refused.
func (a *assembly) numbers(n *node, key, what string, least, most int) []float64 {
	v := n.get(key)
	if v == nil {
		return nil
	}
	what += ": " + key
	if v.kind != kindSequence || len(v.items) < least || len(v.items) > most {
		accepted := fmt.Sprintf("a list of %d numbers", least)
		if most > least {
			accepted = fmt.Sprintf("a list of %d or %d numbers", least, most)
		}
		found := kindNames[v.kind]
		if v.kind == kindSequence {
			found = fmt.Sprintf("a list of %d", len(v.items))
		}
		a.refuse(v.place, accepted, "%s is %s", what, found)
		return nil
	}
	out := make([]float64, len(v.items))
	whole := true
	for i := range v.items {
		var ok bool
		out[i], ok = a.finite(&v.items[i], what)
		whole = whole && ok
	}
	if !whole {
		return nil
	}
	return out
}
