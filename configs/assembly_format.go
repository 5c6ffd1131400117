package configs

import "encoding/json"

// AssemblyKey is one key of an assembly file: what the schema and the reference
// say of it. All numbers are in SI.
type AssemblyKey struct {
	Of       string // the list whose entries have it; empty: of the file itself
	Name     string
	Form     string // text, number, flag, signed, axis, axes, motions, point, plane point, bar, flexing, moments, springs, list
	Required bool
	Least    float64 // of numbers; Strict: above it
	Strict   bool
	Meaning  string
}

// AssemblyKeys are all keys of an assembly file, in the order in which one is
// written.
var AssemblyKeys = []AssemblyKey{
	{"", "units", "text", false, 0, false, `"SI", the only system`},
	{"", "bodies", "list", true, 0, false, "rigid bodies, at least one of them fixed"},
	{"bodies", "name", "text", true, 0, false, "its own"},
	{"bodies", "position_m", "point", true, 0, false, "centre of mass, unloaded: x, y and, where it is not 0, z"},
	{"bodies", "mass_kg", "number", false, 0, false, "required of a body that is not fixed; 0: a joint between blades, whose mass then moves"},
	{"bodies", "inertia_kg_m2", "moments", false, 0, false, "about x, y, z through the centre of mass; required of a body that is not fixed"},
	{"bodies", "product_kg_m2", "signed", false, 0, false, "product of inertia ∫ xy dm about the centre of mass; 0 where absent"},
	{"bodies", "springs", "springs", false, 0, false, "of a fixed body: it moves on springs from its position to the base, along x, y, in yaw, along z, in roll and pitch, N/m and N m/rad"},
	{"bodies", "part_of", "text", false, 0, false, "name of the body that this is a part of, joined to it by beams"},
	{"bodies", "follows", "motions", false, 0, false, "motions without a mode of their own: they follow the others as at rest, with their mass"},
	{"bodies", "fixed", "flag", false, 0, false, "true: ground"},
	{"bodies", "held", "axes", false, 0, false, "coordinates that cannot move, of a body that is not fixed"},
	{"", "blades", "list", true, 0, false, "leaf springs, clamped at both ends"},
	{"blades", "from", "text", true, 0, false, "name of the body at the root"},
	{"blades", "to", "text", true, 0, false, "name of the body at the tip"},
	{"blades", "root_m", "plane point", true, 0, false, "root, x and y, unloaded"},
	{"blades", "tip_m", "plane point", true, 0, false, "tip, x and y, unloaded"},
	{"blades", "thickness_m", "number", true, 0, true, "t, in the plane"},
	{"blades", "width_m", "number", true, 0, true, "b, out of the plane"},
	{"blades", "youngs_modulus_pa", "number", true, 0, true, "E"},
	{"blades", "poisson_ratio", "number", true, 0, false, "ν, below 0.5"},
	{"blades", "density_kg_m3", "number", true, 0, false, "0: a blade without mass"},
	{"blades", "bending_factor", "number", false, 0, true, "factor on E I, in place of the clamped strip's between 1 (narrow) and 1/(1 − ν²) (wide)"},
	{"blades", "fillet_radius_m", "number", false, 0, true, "radius at both ends: it stiffens them"},
	{"blades", "roots_yield", "flag", false, 0, false, "true: what it grows from yields along it and out of the plane, as a deep body does"},
	{"blades", "root_bar", "bar", false, 0, false, "a bar across the blade that its root stands on: length m, further span m, side (1 left of the blade, -1 right), offset of its middle line m, height m, depth m, E Pa, ν; with pockets also its flexing"},
	{"blades", "tip_bar", "bar", false, 0, false, "the same at the tip"},
	{"", "root_stiffness", "number", false, 0, true, "of what blades whose roots yield grow from, over the model's; 1 where absent"},
	{"", "beams", "list", false, 0, false, "members that join parts of bodies that bend"},
	{"beams", "from", "text", true, 0, false, "name of the body that it grows from"},
	{"beams", "to", "text", true, 0, false, "name of the body that stands on its end"},
	{"beams", "continues", "flag", false, 0, false, "true: it grows from the end of the beam before it, between the same bodies, at most three in a chain"},
	{"beams", "begin_m", "plane point", true, 0, false, "where it begins to bend, x and y, unloaded"},
	{"beams", "end_m", "plane point", true, 0, false, "where it ends to"},
	{"beams", "metal_m", "plane point", true, 0, false, "where its metal begins and ends along that line, from begin_m"},
	{"beams", "height_m", "number", true, 0, true, "in the plane"},
	{"beams", "depth_m", "number", true, 0, true, "out of the plane"},
	{"beams", "youngs_modulus_pa", "number", true, 0, true, "E"},
	{"beams", "poisson_ratio", "number", true, 0, false, "ν, below 0.5"},
	{"beams", "density_kg_m3", "number", true, 0, false, "0: a member without mass"},
	{"beams", "flexing", "flexing", false, 0, false, "by which part more it gives than without pockets: pulled, bent and sheared in the plane, lifted out of it, twisted"},
	{"beams", "warping_held", "flag", false, 0, false, "true: its section does not warp freely where it begins"},
	{"beams", "back", "flag", false, 0, false, "true: half of a back that carries prongs, not a prong or a foot; of no consequence"},
	{"", "stage", "text", true, 0, false, "name of the body whose position is given and asked for"},
	{"", "actuators", "list", false, 0, false, "at most two; their forces hold the stage where it is asked to be"},
	{"actuators", "body", "text", true, 0, false, "name of the body that it pushes"},
	{"actuators", "axis", "axis", true, 0, false, `"x" or "y"`},
	{"actuators", "from", "text", false, 0, false, "name of the body that it pushes from, and against which its motion is read; without it the ground"},
	{"actuators", "point_m", "point", false, 0, false, "where it pushes and is measured, unloaded, in the same axes as positions; without it the body's position"},
	{"", "loads", "list", false, 0, false, "constant forces and moments"},
	{"loads", "body", "text", true, 0, false, "name of the body"},
	{"loads", "axis", "axis", true, 0, false, `"x", "y" or "yaw"`},
	{"loads", "value", "number", true, 0, false, "N, or N m about yaw"},
}

// AssemblySchema returns the JSON Schema (draft 2020-12) of an assembly file.
// What joins entries, such as names and ground, only the reader knows.
func AssemblySchema() []byte {
	out, err := json.MarshalIndent(schema{
		"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "flexwright assembly", "type": "object",
		"properties": assemblyProperties(""), "required": assemblyRequired(""), "additionalProperties": false,
	}, "", " ")
	if err != nil {
		panic("configs: the schema is no JSON")
	}
	return append(out, '\n')
}

func assemblyRequired(of string) []string {
	names := []string{}
	for _, k := range AssemblyKeys {
		if k.Of == of && k.Required {
			names = append(names, k.Name)
		}
	}
	return names
}

func assemblyProperties(of string) schema {
	numbers := func(least, most int) schema {
		return schema{"type": "array", "items": schema{"type": "number"}, "minItems": least, "maxItems": most}
	}
	properties := schema{}
	for _, k := range AssemblyKeys {
		if k.Of != of {
			continue
		}
		var s schema
		switch k.Form {
		case "text":
			s = schema{"type": "string"}
		case "flag":
			s = schema{"type": "boolean"}
		case "axis":
			s = schema{"enum": []string{"x", "y"}}
			if k.Of == "loads" {
				s = schema{"enum": []string{"x", "y", "yaw"}}
			}
		case "axes":
			s = schema{"type": "array", "items": schema{"enum": []string{"x", "y", "yaw"}}, "uniqueItems": true}
		case "motions":
			s = schema{"type": "array", "items": schema{"enum": motionNames}, "uniqueItems": true}
		case "signed":
			s = schema{"type": "number"}
		case "bar":
			s = numbers(barNumbers, barNumbers+flexingNumbers)
		case "flexing":
			s = numbers(flexingNumbers, flexingNumbers)
		case "point":
			s = numbers(2, 3)
		case "plane point":
			s = numbers(2, 2)
		case "moments":
			s = schema{"type": "array", "items": schema{"type": "number", "minimum": 0}, "minItems": 3, "maxItems": 3}
		case "springs":
			s = schema{"type": "array", "items": schema{"type": "number", "exclusiveMinimum": 0}, "minItems": 6, "maxItems": 6}
		case "list":
			s = schema{"type": "array", "items": schema{"type": "object", "properties": assemblyProperties(k.Name),
				"required": assemblyRequired(k.Name), "additionalProperties": false}}
			if k.Required {
				s["minItems"] = 1
			}
			if k.Name == "actuators" {
				s["maxItems"] = mostActuators
			}
		case "number":
			s = schema{"type": "number"}
			switch {
			case k.Of == "loads":
			case k.Strict:
				s["exclusiveMinimum"] = k.Least
			default:
				s["minimum"] = k.Least
			}
		default:
			panic("configs: unknown form of a key")
		}
		s["description"] = k.Meaning
		properties[k.Name] = s
	}
	if of == "" {
		properties["units"].(schema)["enum"] = []string{"SI"}
	}
	return properties
}
