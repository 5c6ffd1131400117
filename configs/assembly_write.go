package configs

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"flexwright/models"
)

// WriteAssembly writes a design as an assembly file. Reading it back gives the
// same stage bit for bit, except Travel, UpTo and Frame, and the same topology,
// except which bodies are driven or idle: an assembly file has no place for these. The mass
// and inertia of a fixed body are left out where they are not known (NaN).
func WriteAssembly(t *models.Topology, s *models.Stage) []byte {
	var w bytes.Buffer
	w.WriteString("{\n \"units\": \"SI\",\n")
	if s.RootStiffness != 0 && s.RootStiffness != 1 { // of a built stage
		fmt.Fprintf(&w, " \"root_stiffness\": %s,\n", strconv.FormatFloat(s.RootStiffness, 'g', -1, 64))
	}
	w.WriteString(" \"bodies\": [")
	for i, b := range t.Bodies {
		o := newObject(&w, i)
		o.text("name", b.Name)
		if s.Z[i] != 0 {
			o.numbers("position_m", s.X[i], s.Y[i], s.Z[i])
		} else {
			o.numbers("position_m", s.X[i], s.Y[i])
		}
		if b.Part > 0 {
			o.text("part_of", t.Bodies[b.Part-1].Name)
		}
		if b.Follows != 0 {
			var follows []string
			for k, name := range motionNames {
				if b.Follows>>k&1 == 1 {
					follows = append(follows, strconv.Quote(name))
				}
			}
			o.raw("follows", "["+strings.Join(follows, ", ")+"]")
		}
		fixed := b.Held == models.HeldAll
		if !fixed || isKnown(s.Mass[i]) {
			o.number("mass_kg", s.Mass[i])
		}
		if !fixed || isKnown(s.Ix[i]) && isKnown(s.Iy[i]) && isKnown(s.Iz[i]) {
			o.numbers("inertia_kg_m2", s.Ix[i], s.Iy[i], s.Iz[i])
		}
		if s.Ixy[i] != 0 {
			o.number("product_kg_m2", s.Ixy[i])
		}
		switch {
		case fixed:
			o.raw("fixed", "true")
			if b.Mounted {
				o.numbers("springs", s.Springs[t.MountedBefore(i)][:]...)
			}
		case b.Held != 0:
			var held []string
			for axis := models.AxisX; axis <= models.AxisYaw; axis++ {
				if b.Held.Has(axis) {
					held = append(held, strconv.Quote(axis.String()))
				}
			}
			o.raw("held", "["+strings.Join(held, ", ")+"]")
		}
		o.end()
	}
	w.WriteString("\n ],\n \"blades\": [")
	for i, b := range t.Blades {
		o := newObject(&w, i)
		o.text("from", t.Bodies[b.From].Name)
		o.text("to", t.Bodies[b.To].Name)
		o.numbers("root_m", s.RootX[i], s.RootY[i])
		o.numbers("tip_m", s.TipX[i], s.TipY[i])
		o.number("thickness_m", s.Thickness[i])
		o.number("width_m", s.Width[i])
		o.number("youngs_modulus_pa", s.Young[i])
		o.number("poisson_ratio", s.Poisson[i])
		o.number("density_kg_m3", s.Density[i])
		if s.BendingFactor[i] != 0 {
			o.number("bending_factor", s.BendingFactor[i])
		}
		if s.Fillet[i] != 0 {
			o.number("fillet_radius_m", s.Fillet[i])
		}
		if s.Yields[i] {
			o.raw("roots_yield", "true")
		}
		writeBar(o, "root_bar", &s.RootBar[i])
		writeBar(o, "tip_bar", &s.TipBar[i])
		o.end()
	}
	if len(t.Links) > 0 {
		w.WriteString("\n ],\n \"beams\": [")
		written := 0
		for i, l := range t.Links {
			for k := range s.Links[i].N {
				writeBeam(newObject(&w, written), t, l, &s.Links[i].Beams[k], k > 0)
				written++
			}
		}
	}
	fmt.Fprintf(&w, "\n ],\n \"stage\": %s,\n \"actuators\": [", quote(t.Bodies[t.Stage].Name))
	for i, act := range t.Actuators {
		o := newObject(&w, i)
		o.text("body", t.Bodies[act.Body].Name)
		o.text("axis", act.Axis.String())
		if act.From > 0 {
			o.text("from", t.Bodies[act.From-1].Name)
		}
		switch {
		case s.ActZ[i] != 0:
			o.numbers("point_m", s.ActX[i], s.ActY[i], s.ActZ[i])
		case s.ActX[i] != s.X[act.Body] || s.ActY[i] != s.Y[act.Body]:
			o.numbers("point_m", s.ActX[i], s.ActY[i])
		}
		if s.ActAlong[i] != 0 {
			o.number("stiffness_along_n_per_m", s.ActAlong[i])
		}
		if s.ActAcross[i] != 0 {
			o.number("stiffness_across_n_per_m", s.ActAcross[i])
		}
		o.end()
	}
	w.WriteString("\n ]")
	if len(s.Loads) > 0 {
		w.WriteString(",\n \"loads\": [")
		for i, l := range s.Loads {
			o := newObject(&w, i)
			o.text("body", t.Bodies[l.Body].Name)
			o.text("axis", l.Axis.String())
			o.number("value", l.Value)
			o.end()
		}
		w.WriteString("\n ]")
	}
	w.WriteString("\n}\n")
	return w.Bytes()
}

// isKnown reports whether a value was filled in.
func isKnown(v float64) bool { return !math.IsNaN(v) }

// object writes one entry of a list on a line of its own.
type object struct {
	w     *bytes.Buffer
	first bool
}

func newObject(w *bytes.Buffer, i int) *object {
	if i > 0 {
		w.WriteByte(',')
	}
	w.WriteString("\n  {")
	return &object{w, true}
}

func (o *object) raw(key, value string) {
	if !o.first {
		o.w.WriteString(", ")
	}
	o.first = false
	fmt.Fprintf(o.w, "%q: %s", key, value)
}

func (o *object) text(key, value string) { o.raw(key, quote(value)) }

func (o *object) number(key string, v float64) { o.raw(key, number(v)) }

func (o *object) numbers(key string, values ...float64) { o.raw(key, list(values, number)) }

func (o *object) end() { o.w.WriteByte('}') }

// number writes the shortest decimal that reads back as v.
func number(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		panic("configs: a number of an assembly is not finite")
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// quote writes a text as JSON, and as double-quoted YAML.
func quote(text string) string {
	var quoted bytes.Buffer
	encoder := json.NewEncoder(&quoted)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(text); err != nil {
		panic("configs: text that cannot be quoted")
	}
	return strings.TrimSpace(quoted.String())
}
