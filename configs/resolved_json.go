package configs

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"flexwright/models/drive"
)

// ResolvedJSON returns [Brief.Resolved] as JSON: the same keys in the same order,
// quantities as text with their unit. The data of an actuator of the catalogue
// stand beside its class, which a brief would refuse.
func (b *Brief) ResolvedJSON() []byte {
	text := b.Resolved()
	r := newReader("resolved", text)
	root := r.parseYAML(text)
	if root == nil {
		panic("configs: the resolved brief is not read back")
	}
	if a := root.get("actuator"); a != nil {
		for _, d := range b.ActuatorData() {
			a.pairs = append(a.pairs, pair{node{kind: kindText, text: d[0]}, node{kind: kindText, text: d[1]}})
		}
	}
	var w bytes.Buffer
	writeNode(&w, root, 0)
	w.WriteByte('\n')
	return w.Bytes()
}

// ActuatorData returns what an actuator named from the catalogue stands for, keys
// of the section actuator and their values; nothing for another.
func (b *Brief) ActuatorData() [][2]string {
	a, ok := drive.ByName(b.Section("actuator").Text("class"))
	if !ok {
		return nil
	}
	values := map[string]float64{"motor_constant": a.MotorConstant, "force_constant": a.ForceConstant, "peak_force": a.PeakForce,
		"stroke": a.Stroke, "thermal_resistance": a.ThermalResistance, "inductance": a.Inductance, "max_voltage": a.MaxVoltage,
		"moving_mass": a.MovingMass, "stiffness_along": a.StiffnessAlong, "stiffness_across": a.StiffnessAcross,
		"force_fall_off": a.FallOff, "clearance": a.Clearance}
	var list [][2]string
	for _, f := range sectionNamed("actuator").Fields {
		if v, ok := values[f.Name]; ok {
			list = append(list, [2]string{f.Name, f.write(f.unit().FromSI(v))})
		}
	}
	return list
}

func sectionNamed(name string) *Field {
	for i := range Sections {
		if Sections[i].Name == name {
			return &Sections[i]
		}
	}
	panic("configs: no section " + name)
}

// writeNode writes a node as JSON: mappings a key a line, lists on one.
func writeNode(w *bytes.Buffer, n *node, level int) {
	switch n.kind {
	case kindNull:
		w.WriteString("null")
	case kindText:
		if _, err := strconv.ParseFloat(n.text, 64); err == nil && !n.quote {
			w.WriteString(n.text)
			return
		}
		text, err := json.Marshal(n.text)
		if err != nil {
			panic("configs: a text that JSON cannot hold")
		}
		w.Write(text)
	case kindSequence:
		w.WriteByte('[')
		for i := range n.items {
			if i > 0 {
				w.WriteString(", ")
			}
			writeNode(w, &n.items[i], level+1)
		}
		w.WriteByte(']')
	case kindMapping:
		w.WriteByte('{')
		for i := range n.pairs {
			if i > 0 {
				w.WriteByte(',')
			}
			fmt.Fprintf(w, "\n%s%q: ", strings.Repeat(" ", level+1), n.pairs[i].key.text)
			writeNode(w, &n.pairs[i].value, level+1)
		}
		w.WriteString("\n" + strings.Repeat(" ", level) + "}")
	}
}
