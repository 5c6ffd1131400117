package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"flexwright/objective"
)

// The page of a design fits a page of paper, names every measure and limit, and
// says why where something fails.
func TestShowPage(t *testing.T) {
	brief := filepath.Join("..", "..", "configs", "examples", "range_against_bandwidth.yaml")
	for _, c := range []struct {
		args   []string
		status int
		wants  []string
	}{
		{[]string{"--fine", "--scatter"}, exitDone, []string{"LIMITS AND MARGINS", "Loop at the crossover", "Position noise", "BLADES WHERE", "FINE CHECK", "SCATTER", "Nominal figures", "licensed engineer"}},
		{[]string{"--set", "travel=6 mm", "--set", "blade_length=40 mm"}, exitNo, []string{"Reason: "}},
		{[]string{"--set", "free_gap=0.1 mm"}, exitNo, []string{"cannot_build", "Reason: free_gap", "not feasible"}},
		{[]string{"--set", "blade_thickness=0.25 mm"}, exitDone, []string{"FAILS", "NOT feasible", "thinnest_blade"}},
	} {
		args := append([]string{"show", brief}, c.args...)
		code, out, messages := command(t, args...)
		if code != c.status {
			t.Fatalf("%v: exit %d, %s\n%s", args, code, messages, out)
		}
		for _, want := range c.wants {
			if !strings.Contains(out, want) {
				t.Errorf("%v: the page lacks %q", args, want)
			}
		}
		for line := range strings.Lines(out) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > pageWidth {
				t.Errorf("%v: %d characters: %s", args, n, line)
			}
		}
		for m := range objective.NumMeasures {
			if info := &objective.Table[m]; !info.OnName && !strings.Contains(out, "\n"+info.Name+" ") {
				t.Errorf("%v: the page lacks %s", args, info.Name)
			}
		}
	}
}

// report writes one file, or nothing; it names what it cannot do.
func TestReportCommand(t *testing.T) {
	dir := t.TempDir()
	run := filepath.Join(dir, "small.run")
	if code, _, messages := command(t, "run", writeBrief(t, dir), "--out", run); code != exitDone {
		t.Fatal(code, messages)
	}
	code, out, messages := command(t, "report", run, "--design", "3")
	if code != exitDone || out != filepath.Join(run, "report.html")+"\n" {
		t.Fatal(code, out, messages)
	}
	page, err := os.ReadFile(filepath.Join(run, "report.html"))
	if err != nil || !strings.Contains(string(page), `id="design-3"`) || !strings.HasSuffix(string(page), "</html>\n") {
		t.Error("design 3 is not in the report", err)
	}
	if code, out, messages = command(t, "report", run, "--design", "3", "--out", "-"); code != exitDone || out != string(page) {
		t.Errorf("on standard output another page: exit %d, %s", code, messages)
	}
	if code, _, messages = command(t, "verify", run); code != exitDone {
		t.Errorf("a folder with its report does not verify: exit %d, %s", code, messages)
	}
	if code, _, messages = command(t, "run", filepath.Join(dir, "small.yaml"), "--out", run); code != exitDone {
		t.Errorf("a folder with its report does not go on: exit %d, %s", code, messages)
	}
	for _, c := range []struct {
		args   []string
		status int
		says   string
	}{
		{[]string{"report", run, "--design", "31"}, exitRefused, "no design 31"},
		{[]string{"report", run, "--design", "knee"}, exitRefused, "--design knee"},
		{[]string{"report", filepath.Join(dir, "none.run")}, exitRefused, "no such folder"},
		{[]string{"report", run, "--out", filepath.Join(dir, "none", "r.html")}, exitNoWrite, "--out names another place"},
		{[]string{"report"}, exitRefused, "DIR"},
	} {
		code, out, messages := command(t, c.args...)
		if code != c.status || !strings.Contains(messages, c.says) || out != "" {
			t.Errorf("%v: exit %d, %q on stdout, %s", c.args, code, out, messages)
		}
	}
	left, err := filepath.Glob(filepath.Join(run, "report.html.*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
}
