package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// command runs the program and returns its exit status and what it printed.
func command(t *testing.T, args ...string) (code int, out, messages string) {
	t.Helper()
	var o, e bytes.Buffer
	code = start(context.Background(), args, streams{strings.NewReader(""), &o, &e})
	return code, o.String(), e.String()
}

const smallSweep = `layout: four-arm
material: aluminium 7075-T6
fix:
  travel: 2 mm
  blade_width: 15 mm
vary:
  blade_length:    {from: 30 mm, to: 80 mm}
  blade_thickness: {from: 0.3 mm, to: 0.8 mm}
goals:
  footprint: least
  first_frequency: most
search: {method: sobol, designs: 30, seed: 3}
`

func writeBrief(t *testing.T, dir string) string {
	t.Helper()
	path := filepath.Join(dir, "small.yaml")
	if err := os.WriteFile(path, []byte(smallSweep), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestVerifyAndJoin(t *testing.T) {
	dir := t.TempDir()
	brief := writeBrief(t, dir)
	whole := filepath.Join(dir, "whole.run")
	if code, _, messages := command(t, "run", brief, "--out", whole); code != exitDone {
		t.Fatal(code, messages)
	}
	code, out, messages := command(t, "verify", whole, "--replay")
	if code != exitDone || !strings.Contains(out, "30 rows: 0 problems") {
		t.Fatal(code, out, messages)
	}

	var parts []string
	for i := 1; i <= 2; i++ {
		part := filepath.Join(dir, fmt.Sprintf("part%d.run", i))
		parts = append(parts, part)
		if code, _, messages := command(t, "run", brief, "--out", part, "--shard", fmt.Sprintf("%d/2", i)); code != exitDone {
			t.Fatal(code, messages)
		}
	}
	joined := filepath.Join(dir, "joined.run")
	if code, _, messages := command(t, "join", parts[0], "--out", joined); code != exitRefused || !strings.Contains(messages, "2/2") {
		t.Error("a shard is missing:", code, messages)
	}
	if code, _, messages := command(t, "join", parts[0], parts[1], "--out", joined); code != exitDone {
		t.Fatal(code, messages)
	}
	_, want, _ := command(t, "front", whole, "--csv")
	if _, have, _ := command(t, "front", joined, "--csv"); storedColumns(have) != storedColumns(want) {
		t.Errorf("the front of the joined shards is\n%s, not\n%s", have, want)
	}

	path := filepath.Join(whole, "candidates.parquet")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	data[150] ^= 16
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"verify", whole}, {"front", whole}, {"show", whole, "--design", "1"}} {
		if code, _, messages := command(t, args...); code != exitDamaged {
			t.Errorf("%v of a damaged folder: %d %s", args, code, messages)
		}
	}
	saved := filepath.Join(dir, "saved.run")
	code, out, _ = command(t, "verify", whole, "--salvage", saved, "--json")
	if code != exitDamaged || !strings.Contains(out, `"page": 0`) {
		t.Error(code, out)
	}
	if code, _, messages := command(t, "run", brief, "--out", saved); code != exitDone {
		t.Fatal(code, messages)
	}
	if _, have, _ := command(t, "front", saved, "--csv"); storedColumns(have) != storedColumns(want) {
		t.Errorf("the front of the saved run is\n%s, not\n%s", have, want)
	}
}

// storedColumns keeps what is stored of each design: not solve_us, which differs
// from run to run, and not the fine check behind it, which join does not make.
func storedColumns(csv string) string {
	var b strings.Builder
	columns := 0
	for line := range strings.Lines(csv) {
		fields := strings.Split(strings.TrimSpace(line), ",")
		if columns == 0 {
			columns = slices.Index(fields, "solve_us")
		}
		b.WriteString(strings.Join(fields[:columns], ",") + "\n")
	}
	return b.String()
}
