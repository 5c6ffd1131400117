package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestBenchSearchVerb(t *testing.T) {
	dir := t.TempDir()
	run := func(args ...string) (int, string, string) {
		var out, messages bytes.Buffer
		code := start(context.Background(), append([]string{"bench-search"}, args...), streams{strings.NewReader(""), &out, &messages})
		return code, out.String(), messages.String()
	}
	table := filepath.Join(dir, "runs.csv")
	code, out, messages := run("--problem", "TNK", "--problem", "WELD", "--evaluations", "200,300", "--seeds", "2", "--csv", table, "--points", dir)
	if code != exitDone || strings.Count(out, "\n") != 5 || messages != "" {
		t.Fatal(code, out, messages)
	}
	text, err := os.ReadFile(table)
	if err != nil || strings.Count(string(text), "\n") != 9 || !strings.HasPrefix(string(text), "problem,evaluations,seed,ratio,cpu_us_outside\nTNK,200,1,") {
		t.Errorf("%v: %s", err, text)
	}
	if points, err := filepath.Glob(filepath.Join(dir, "WELD-300-*.csv")); err != nil || len(points) != 2 {
		t.Error(points, err)
	}
	for _, c := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"--problem", "ZDT9"}, exitRefused, `no problem "ZDT9"`},
		{[]string{"--evaluations", "10,x"}, exitRefused, "expected whole numbers"},
		{[]string{"--seeds", "0"}, exitRefused, "--seeds 0"},
		{[]string{"more"}, exitRefused, "takes no arguments"},
		{[]string{"--csv", filepath.Join(dir, "no", "such.csv")}, exitNoWrite, "cannot write"},
	} {
		if code, _, messages := run(c.args...); code != c.code || !strings.Contains(messages, c.want) {
			t.Errorf("%v: exit %d, %s", c.args, code, messages)
		}
	}
}
