package main

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"flexwright/configs"
	"flexwright/objective"
	"flexwright/results/report/live"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

//go:generate go test . -run ^(TestGeneratedDocuments|TestBuiltExample)$ -update

// docsRoot is the command tree as the documents show it.
func docsRoot() *cobra.Command {
	root := newRoot(streams{strings.NewReader(""), io.Discard, io.Discard})
	root.DisableAutoGenTag = true
	root.InitDefaultHelpCmd()
	root.CompletionOptions.HiddenDefaultCmd = true
	for _, c := range root.Commands() {
		c.DisableAutoGenTag = true
		// Indented by four, so that its lines stay lines
		c.Long = strings.Replace(c.Long, exitMeanings, indentedExits, 1)
	}
	return root
}

// allCommands are the verbs with those below them, root first.
func allCommands(root *cobra.Command) []*cobra.Command {
	list := []*cobra.Command{root}
	for _, c := range root.Commands() {
		if c.Name() != "help" && c.Name() != "completion" {
			list = append(list, allCommands(c)...)
		}
	}
	return list
}

var indentedExits = strings.ReplaceAll("\n"+exitMeanings, "\n", "\n    ")

// The command reference, the man pages and the table of columns are made from
// the commands and the tables of measures and parameters.
func TestGeneratedDocuments(t *testing.T) {
	pages := map[string][]byte{"columns.md": columnsPage(), "brief.md": briefPage(), "assembly.md": assemblyPage()}
	root := docsRoot()
	var reference bytes.Buffer
	reference.WriteString("<!-- Made by go generate from the commands; do not edit. -->\n\n")
	for _, c := range allCommands(root) {
		var page bytes.Buffer
		if err := doc.GenMarkdownCustom(c, &page, func(file string) string {
			return "#" + strings.ReplaceAll(strings.TrimSuffix(file, ".md"), "_", "-")
		}); err != nil {
			t.Fatal(err)
		}
		text, _, _ := strings.Cut(page.String(), "### SEE ALSO")
		reference.WriteString(strings.TrimSpace(strings.Replace(text, indentedExits, "", 1)) + "\n\n")

		var man bytes.Buffer
		date := time.Date(2026, time.November, 1, 0, 0, 0, 0, time.UTC)
		header := &doc.GenManHeader{Title: strings.ToUpper(strings.ReplaceAll(c.CommandPath(), " ", "-")), Section: "1", Date: &date, Source: "flexwright " + version, Manual: "flexwright"}
		if err := doc.GenMan(c, header, &man); err != nil {
			t.Fatal(err)
		}
		pages["man/"+strings.ReplaceAll(c.CommandPath(), " ", "-")+".1"] = man.Bytes()
	}
	reference.WriteString("## Exit statuses of all verbs\n" + indentedExits + "\n")
	pages["flexwright.md"] = reference.Bytes()

	made := map[string]bool{}
	for name, page := range pages {
		path := filepath.Join("docs", filepath.FromSlash(name))
		made[path] = true
		if *update {
			if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, page, 0o666); err != nil {
				t.Fatal(err)
			}
		}
		if have, err := os.ReadFile(path); err != nil || !bytes.Equal(have, page) {
			t.Errorf("%s is not what the commands say: go generate ./cmd/flexwright (%v)", path, err)
		}
	}
	old, _ := filepath.Glob("docs/man/*.1")
	for _, path := range old {
		if !made[path] {
			t.Errorf("%s belongs to no verb", path)
		}
	}
}

// columnsPage is the page on units and columns.
func columnsPage() []byte {
	var b bytes.Buffer
	b.WriteString(`<!-- Made by go generate from the tables of measures and parameters; do not edit. -->

# Units and columns

A brief takes every number with its unit (` + "`48 mm`, `0.35 mm`, `120 MPa`, `5 µm` or `5 um`" + `). Rows, ` + "`--csv`" + ` and ` + "`--json`" + ` have plain numbers in the unit that
ends the column's name: ` + "`_mm`, `_um`, `_nm`, `_mpa`, `_hz`, `_n`, `_n_per_mm`, `_kg`, `_urad`, `_us`" + `. Names without a unit are plain numbers, text or truth values. Assembly
files and ` + "`solve --json`" + ` are in SI units (m, kg, N, Pa, rad). What was not computed is null. Signs: x and y in the plane, z out of it towards the viewer, yaw counter-clockwise.

Numbers are nominal, of a perfect part. Errors of making come on top: how much depends on design and measure (` + "`show --scatter`" + `).

## Of every row

| column | unit | meaning |
| --- | --- | --- |
`)
	for _, c := range objective.Columns(nil, nil) {
		fmt.Fprintf(&b, "| `%s` | %s | %s |\n", c.Name, c.Unit, tableCell(c.Meaning))
	}
	b.WriteString("\n## Statuses\n\n" + statusTable() + `
## What is stored when

Parameters: in every row, null where dimensions contradict each other before the layout's rule has settled them. Measures: those that need no actuator, loop or
program always; the others when goals, limits or ` + "`also`" + ` name them. A measure that comes after a failed cheap limit is null in a row of status ` + "`screened`" + `; one that is not defined for a
design (a ratio to a bandwidth that does not exist) is null, and a limit on it fails. No column holds a placeholder.
`)
	for _, l := range configs.Layouts() {
		fmt.Fprintf(&b, "\n## Parameters of the layout %s\n\n%s\n\n| parameter | column | unit | default | range | meaning |\n| --- | --- | --- | --- | --- | --- |\n", l.Name(), tableCell(l.Meaning()))
		for _, p := range l.Parameters() {
			otherwise := p.DefaultText
			if !math.IsNaN(p.Default) {
				otherwise = number(p.Default)
			}
			fmt.Fprintf(&b, "| `%s` | `%s` | %s | %s | %s to %s | %s |\n", p.Name, p.Unit.Column(p.Name), p.Unit.Symbol, tableCell(otherwise), number(p.Min), number(p.Max), tableCell(p.Meaning))
		}
	}
	b.WriteString("\n## Measures\n\n| measure | column | unit | better | meaning | formula | source |\n| --- | --- | --- | --- | --- | --- | --- |\n")
	for i := range objective.Table {
		m := &objective.Table[i]
		if objective.Measure(i).Plain() != objective.Measure(i) {
			continue
		}
		sense := m.Sense.String()
		switch {
		case m.IsText():
			sense = "text"
		case m.Detail:
			sense = ""
		}
		fmt.Fprintf(&b, "| `%s` | `%s` | %s | %s | %s | %s | %s |\n", m.Name, m.Column(), m.Unit.Symbol, sense, tableCell(m.Meaning), tableCell(m.Formula), tableCell(m.Source))
	}
	b.WriteString(`
## Measures of parts

Every measure M above that is a number, but conforming_parts, has another, M_tail: the value that a share of the parts with errors (95 % unless the brief says otherwise) are
no worse than. Its column is M_tail with the unit's suffix, as in parasitic_yaw_tail_urad; unit and better direction are M's. It is the order statistic ceil(share n) of n parts;
parts that are not solved are the worst, and the tail is null where it is one of them. A limit against the sense of M is on the column M_other_tail: the
value that the share are no better than. Share, number of parts, seed and tolerances stand in the columns' metadata.
`)
	return b.Bytes()
}

// Help fits a terminal of 80 columns, has an example of each verb, and says what
// the exit statuses mean.
func TestHelp(t *testing.T) {
	root := newRoot(streams{strings.NewReader(""), io.Discard, io.Discard})
	for _, c := range root.Commands() {
		if c.Name() == "help" || c.Name() == "completion" {
			continue
		}
		code, out, messages := command(t, c.Name(), "--help")
		if code != exitDone || messages != "" {
			t.Errorf("%s --help: %d %s", c.Name(), code, messages)
		}
		if !strings.Contains(out, exitMeanings) || !strings.Contains(out, "Examples:\n  flexwright "+c.Name()) {
			t.Errorf("%s --help has no exit statuses or no example", c.Name())
		}
		for _, line := range strings.Split(out, "\n") {
			// Examples may be longer: a command is not to be broken
			if utf8.RuneCountInString(line) > 80 && !strings.HasPrefix(line, "  flexwright ") {
				t.Errorf("%s --help: %d columns: %s", c.Name(), utf8.RuneCountInString(line), line)
			}
		}
	}
}

// All examples of all verbs run, in the order of the help, in a folder that has
// the files they name.
func TestHelpExamples(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	write := func(name, text string) {
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	brief := func(search string) string {
		return `layout: four-arm
material: aluminium 7075-T6
fix: {travel: 2 mm, blade_width: 15 mm}
vary:
  blade_length:    {from: 45 mm, to: 60 mm}
  blade_thickness: {from: 0.4 mm, to: 0.5 mm}
goals: {first_frequency: most, footprint: least}
limits: {peak_stress: {at_most: 300 MPa}}
search: ` + search + "\n"
	}
	sweep := brief("{method: sobol, designs: 24}")
	write("stage.yaml", sweep)
	write("with_holes.yaml", sweep+"drawing: {mounting_holes: 4}\n")
	write("night.yaml", brief("{method: sobol, designs: 1301}"))
	write("evolve.yaml", brief("{method: evolve, population: 10, generations: 3}"))
	write("measured.yaml", "measured:\n  - {mass: plate, value: 0.7 kg, sigma: 0.5 kg}\n")
	write("monday.yaml", sweep)
	write("tuesday.yaml", brief("{method: latin, designs: 10}"))
	source, _ := configs.LayoutSource("four-arm")
	write("mine.layout.yaml", string(source))
	write("truss.sh", "while read -r point; do echo '{\"objectives\": [1, 2], \"constraints\": []}'; done\n")
	write("truss.json", `{"lower": [0, 0], "upper": [1, 1], "objectives": 2, "constraints": 0}`)
	// Long enough for the number of a design that the examples name
	prepare := [][]string{
		{"run", "night.yaml"}, {"run", "monday.yaml"}, {"run", "tuesday.yaml"},
		{"run", "stage.yaml", "--shard", "1/2", "--out", "part-1.run"}, {"run", "stage.yaml", "--shard", "2/2", "--out", "part-2.run"},
		{"show", "stage.yaml", "--assembly", "stage.json"},
	}
	for _, args := range prepare {
		if code, _, messages := command(t, args...); code != exitDone {
			t.Fatal(args, code, messages)
		}
	}
	root := newRoot(streams{strings.NewReader(""), io.Discard, io.Discard})
	for _, c := range allCommands(root) {
		for _, line := range strings.Split(c.Example, "\n") {
			line = strings.TrimSpace(line)
			if !strings.HasPrefix(line, "flexwright ") {
				t.Errorf("%s: an example that is no command: %q", c.Name(), line)
				continue
			}
			args := words(line)
			if c.Name() == "run" || c == root && args[1] == "run" {
				args = append(args, "--out", "fresh"+fmt.Sprint(len(line))+".run") // night.run belongs to another brief
			}
			code, _, messages := command(t, args[1:]...)
			if _, _, made := live.Module(); !made && slices.Contains(args, "--live") {
				// Built without the evaluator the program says what makes it
				if code != exitRefused || !strings.Contains(messages, "go generate ./results/report/live") {
					t.Errorf("%s: %s: status %d: %s", c.Name(), line, code, messages)
				}
				continue
			}
			if code != exitDone {
				t.Errorf("%s: %s: status %d: %s", c.Name(), line, code, messages)
			}
		}
	}
}

// words splits a command line at spaces outside single quotes; what > redirects
// is left out.
func words(line string) []string {
	line, _, _ = strings.Cut(line, " > ")
	var list []string
	for i, part := range strings.Split(line, "'") {
		if i%2 == 1 {
			list = append(list, part)
		} else {
			list = append(list, strings.Fields(part)...)
		}
	}
	return list
}
