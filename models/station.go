package models

// Station is what pushes or reads an axis, and where.
type Station struct {
	Axis    Axis
	What    string  // actuator, encoder or gap sensor
	Body    string  // that it pushes or reads
	Against string  // the body that it pushes from, or reads against; ground's is empty
	X, Y, Z float64 // where, and its height above the mid-plane, m
}

// Stations lists where the axes of a stage are pushed and read.
func (t *Topology) Stations(st *Stage) (list []Station) {
	name := func(from int) string {
		if from == 0 {
			return ""
		}
		return t.Bodies[from-1].Name
	}
	for k, a := range t.Actuators {
		own := Station{a.Axis, "actuator", t.Bodies[a.Body].Name, name(a.From), st.ActX[k], st.ActY[k], st.ActZ[k]}
		list = append(list, own)
		own.What = "encoder"
		if t.Sensors == nil {
			list = append(list, own)
			continue
		}
		s := &t.Sensors[k]
		list = append(list, Station{a.Axis, "encoder", t.Bodies[s.Body].Name, name(s.From), st.EncX[k], st.EncY[k], st.EncZ[k]})
		if s.Gap {
			list = append(list, Station{a.Axis, "gap sensor", t.Bodies[t.Stage].Name, t.Bodies[s.Body].Name, st.GapX[k], st.GapY[k], st.GapZ[k]})
		}
	}
	return list
}
