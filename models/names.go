package models

import "fmt"

// BladeName returns what messages, tables and drawings call blade e: after the body
// that it ends on, with its place among that body's blades, "guide-6, blade 2 of 4". A
// blade that ends on a fixed body is named after the one that it begins on. A segment of a
// subdivided blade has the name of the whole.
func (t *Topology) BladeName(e int) string {
	place, count := t.BladePlace(e)
	return fmt.Sprintf("%s, blade %d of %d", t.Bodies[t.bladeOwner(e)].Name, place, count)
}

// BladePlace returns the place of blade e among those named after the same body,
// counted from 1, and how many those are.
func (t *Topology) BladePlace(e int) (place, count int) {
	n := max(t.Segments, 1)
	for i := 0; i < len(t.Blades); i += n {
		if t.bladeOwner(i) == t.bladeOwner(e) {
			count++
			if i <= e {
				place++
			}
		}
	}
	return place, count
}

// bladeOwner returns the body that a blade is named after.
func (t *Topology) bladeOwner(e int) int {
	n := max(t.Segments, 1)
	first, last := t.Blades[e/n*n], t.Blades[e/n*n+n-1]
	if t.Bodies[last.To].Held == HeldAll {
		return first.From
	}
	return last.To
}
