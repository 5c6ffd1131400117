package models

// Layouts returns the stage layouts that a brief may name.
func Layouts() []Layout { return []Layout{FourArm()} }

// LayoutByName finds one of [Layouts].
func LayoutByName(name string) (Layout, bool) {
	for _, l := range Layouts() {
		if l.Name() == name {
			return l, true
		}
	}
	return nil, false
}
