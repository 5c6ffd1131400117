package main

import (
	"bytes"
	"fmt"
	"strings"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/models/drive"
)

// tableCell is a text inside a table of Markdown.
func tableCell(text string) string { return strings.ReplaceAll(text, "|", `\|`) }

// briefPage is the page on every key of a brief's sections.
func briefPage() []byte {
	var b bytes.Buffer
	b.WriteString(`<!-- Made by go generate from the tables that briefs are read by; do not edit. -->

# Every key of a brief

` + "`layout`, `material`, `materials`, `fix`, `vary`, `goals` and `limits`" + ` name what ` + "`flexwright layouts`, `materials` and `measures`" + ` list: see the [parameters and
measures](columns.md). All other keys follow, with what stands where you write nothing. ` + "`flexwright check BRIEF --resolved`" + ` prints the values of one brief, ` + "`flexwright starter`" + ` a brief to begin with.

Quantities carry their unit: m, mm, µm (or um), kg, g, N, MPa, Hz, rad, °, s, K and their like, and also in, lb, lbf, lbf/in, psi, ksi, arcsec, lb/in³ and g (an acceleration
where one is wanted). Ranges are in the unit of the column.

A material of the brief's own is a mapping under ` + "`materials`" + `: ` + "`youngs_modulus`, `poisson_ratio`, `density`, `yield_strength`" + `, and where they are known ` + "`ultimate_strength`,\n`fatigue_strength` with `fatigue_cycles`, `expansion`, `conductivity`, `source`." + `
`)
	section := ""
	for _, k := range configs.Reference() {
		top, _, nested := strings.Cut(k.Path, ".")
		if top != section {
			section = top
			fmt.Fprintf(&b, "\n## %s\n\n", top)
			if k.Takes == "a mapping" {
				fmt.Fprintf(&b, "%s%s.\n\n", strings.ToUpper(k.Meaning[:1]), k.Meaning[1:])
			}
			b.WriteString("| key | takes | default | meaning | source of the default |\n| --- | --- | --- | --- | --- |\n")
			if k.Takes == "a mapping" {
				continue
			}
		}
		name := k.Path
		if nested {
			name = strings.TrimPrefix(k.Path, top+".")
		}
		otherwise := k.Default
		if k.Default != "" {
			otherwise = "`" + k.Default + "`"
		}
		if k.Given != "" {
			otherwise = strings.TrimSpace(otherwise + " " + k.Given)
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s |\n", name, tableCell(k.Takes), tableCell(otherwise), tableCell(k.Meaning), tableCell(k.Source))
	}
	b.WriteString("\n## Actuators of the catalogue\n\nGeneric, by size; " + strings.TrimPrefix(catalogueSource, "generic: ") + ". Strokes are total, end to end.\n\n")
	b.WriteString("| class | peak, N | continuous, N | stroke, mm | moving mass, kg | motor constant, N/√W | force constant, N/A | inductance, mH | largest voltage, V | coil to ambient, K/W | clearance across, mm |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n")
	for i := range drive.Catalogue {
		a := &drive.Catalogue[i]
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s | %s | %s | %s | %s | %s | %s |\n", a.Name, number(a.PeakForce), number(a.ContinuousForce()), number(1e3*a.Stroke),
			number(a.MovingMass), number(a.MotorConstant), number(a.ForceConstant), number(1e3*a.Inductance), number(a.MaxVoltage), number(a.ThermalResistance), number(1e3*a.Clearance))
	}
	b.WriteString("\n## Materials\n\n| material | source of its values |\n| --- | --- |\n")
	for _, m := range models.Materials() {
		fmt.Fprintf(&b, "| %s | %s |\n", tableCell(m.Name), tableCell(m.Source))
	}
	return b.Bytes()
}

// assemblyPage is the page on the assembly file.
func assemblyPage() []byte {
	var b bytes.Buffer
	b.WriteString(`<!-- Made by go generate from the table of the assembly's keys; do not edit. -->

# Assembly files

A free assembly of rigid bodies and blades as JSON, for ` + "`flexwright solve`" + ` and for outside programs; ` + "`show --assembly`" + ` writes a design as one. All numbers are in SI units (m, kg, N, Pa, rad).
x and y lie in the plane, z points out of it towards the viewer, yaw is counter-clockwise. ` + "`flexwright schema --assembly`" + ` prints the JSON Schema, which is also stored as
` + "`configs/assembly.schema.json`" + `; what joins entries (names, ground) only the reader checks. A key that is not listed is refused.
`)
	section := "-"
	for pass := 0; pass < 2; pass++ { // the file's own keys first
		for _, k := range configs.AssemblyKeys {
			if (k.Of == "") != (pass == 0) {
				continue
			}
			if k.Of != section {
				section = k.Of
				title := "The file"
				if k.Of != "" {
					title = "Each of `" + k.Of + "`"
				}
				fmt.Fprintf(&b, "\n## %s\n\n| key | form | required | meaning |\n| --- | --- | --- | --- |\n", title)
			}
			required := ""
			if k.Required {
				required = "yes"
			}
			form := k.Form
			switch {
			case form == "number" && k.Of == "loads":
			case form == "number" && k.Strict:
				form = "number above " + number(k.Least)
			case form == "number":
				form = "number of at least " + number(k.Least)
			case form == "plane point":
				form = "[x, y]"
			case form == "point":
				form = "[x, y] or [x, y, z]"
			case form == "springs":
				form = "six numbers above 0"
			case form == "moments":
				form = "[x, y, z]"
			case form == "flag":
				form = "true or false"
			}
			fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", k.Name, form, required, tableCell(k.Meaning))
		}
	}
	b.WriteString(`
## Answers

` + "`solve --json`" + ` answers ` + "`{\"positions\": [...]}`" + `, an entry per ` + "`--at`" + ` in their order: ` + "`x_m`, `y_m`, `status`" + `, and where that is ` + "`solved`" + ` the actuators' ` + "`force_n`, `bodies`" + ` with the
displacement [x, y, yaw] of each, and with ` + "`--modes`" + ` the natural frequencies ` + "`in_plane_hz`" + ` and ` + "`out_of_plane_hz`" + `. Elsewhere a ` + "`reason`" + `.
`)
	return b.Bytes()
}

// statusTable lists the statuses of a row.
func statusTable() string {
	var b strings.Builder
	b.WriteString("| status | meaning |\n| --- | --- |\n")
	for _, s := range models.Statuses() {
		fmt.Fprintf(&b, "| `%s` | %s |\n", s, s.Meaning())
	}
	return b.String()
}
