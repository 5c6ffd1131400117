package configs

import (
	"fmt"
	"slices"
	"strings"

	"flexwright/objective"
)

// Where the defaults of a brief's keys come from, as the reference prints it.
const (
	ofProgram = "a choice of this program" // nothing physical: a format, a count, a switch
	typical   = "typical, no source"
	practice  = "common practice"
	mechatron = "R. Munnig Schmidt, G. Schitter, A. Rankers, The Design of High Performance Mechatronics, ch. 4: rules of thumb for a PID loop, loosely"
	makers    = "of the order that makers' application notes show; no one maker's"
)

// sources of the defaults, by the path of the key. A section's own entry holds for
// its keys that have none.
var sources = map[string]string{
	"workspace":                 ofProgram,
	"bodies":                    ofProgram,
	"orientation":               ofProgram,
	"ground_mount":              ofProgram,
	"point_of_interest":         ofProgram,
	"tolerances":                ofProgram,
	"drawing":                   practice,
	"drawing.kerf":              practice + ": wire of 0.25 mm and its spark gap",
	"drawing.wire_path":         ofProgram,
	"drawing.mounting_holes":    ofProgram,
	"drawing.mounting_diameter": "ISO 273, medium: clearance of an M6 screw",
	"drawing.payload_holes":     ofProgram,
	"drawing.payload_pitch":     practice + ": pitch of metric breadboards",
	"drawing.payload_diameter":  practice + ": tapping drill of an M5 thread",
	"drawing.stops":             ofProgram,
	"search":                    ofProgram,
	"loop":                      ofProgram,
	"loop.damping":              typical + ": monolithic metal has 0.0005 to 0.005",
	"loop.delay":                practice + ": one sample of computing and half of one of holding",
	"loop.split_frequency":      typical,
	"loop.integrator_ratio":     mechatron,
	"loop.lead_ratio":           mechatron,
	"loop.taming_ratio":         mechatron,
	"loop.low_pass_ratio":       mechatron,
	"loop.notches.width":        typical,
	"loop.notches.depth":        typical,
	"loop.sensitivity_limit":    practice + ": 6 dB",
	"loop.frequency_spread":     typical + ": what thickness errors of 1 % and the payload's mass leave open",
	"loop.rule_divisor":         practice,

	"loop.feedforward_stiffness_error": typical,
	"loop.feedforward_mass_error":      typical,
	"actuator":                         makers,
	"actuator.class":                   ofProgram,
	"actuator.moving_mass":             typical,
	"actuator.stiffness_along":         ofProgram,
	"actuator.stiffness_across":        ofProgram,
	"actuator.amplifier":               practice,
	"actuator.frame_resistance":        typical,
	"actuator.arm_heating":             typical,
	"motion":                           ofProgram,
	"motion.life":                      typical,
	"noise":                            ofProgram,
	"noise.amplifier":                  typical,
	"noise.encoder":                    typical,
	"noise.gap_sensor":                 typical,
	"noise.floor":                      "C. G. Gordon, Generic vibration criteria, Proc. SPIE 1619, 1991; IEST-RP-CC012: VC-E",
	"noise.converter_bits":             practice,
	"noise.lowest":                     practice,
	"noise.sample_rate":                practice,
}

// Key is one key of a brief as its reference tells it.
type Key struct {
	Path    string `json:"key"`     // section.key
	Takes   string `json:"takes"`   // what it accepts: unit and range, choices
	Default string `json:"default"` // empty: it may be absent, or has to be given
	Given   string `json:"given"`   // "required", or the choices with which the key exists
	Meaning string `json:"meaning"`
	Source  string `json:"source"` // of the default
}

// Reference lists every key of the [Sections], groups before their keys.
func Reference() []Key {
	var list []Key
	var walk func(path []string, fields []Field)
	walk = func(path []string, fields []Field) {
		for i := range fields {
			f := &fields[i]
			at := append(slices.Clone(path), f.Name)
			k := Key{Path: strings.Join(at, "."), Takes: f.accepted(), Default: f.Default, Meaning: f.Meaning}
			if f.Kind == KindGroup || f.Kind == KindGroups {
				k.Takes = map[Kind]string{KindGroup: "a mapping", KindGroups: "a list of mappings"}[f.Kind]
			}
			if f.Required {
				k.Given = "required"
			}
			if f.When != "" {
				k.Given = strings.TrimSpace(k.Given + fmt.Sprintf(" with %s: %s", f.When, strings.Join(f.Is, ", ")))
			}
			if f.Default != "" && f.Kind != KindGroups {
				k.Source = sourceOf(at)
			}
			list = append(list, k)
			walk(at, f.Fields)
		}
	}
	walk(nil, Sections)
	return list
}

// sourceOf returns the source of a key's default: its own or that of the nearest
// section around it.
func sourceOf(path []string) string {
	if path[0] == tolerancesSection.Name {
		for i := range objective.Tolerances {
			if objective.Tolerances[i].Name == path[len(path)-1] {
				return objective.Tolerances[i].Source
			}
		}
	}
	for n := len(path); n > 0; n-- {
		if s, ok := sources[strings.Join(path[:n], ".")]; ok {
			return s
		}
	}
	return ""
}
