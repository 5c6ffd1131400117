package main

import (
	"os"
	"path/filepath"
	"testing"
)

// The starter of every layout passes check without a word, and a short run of it
// finds feasible designs.
func TestStarter(t *testing.T) {
	for _, name := range layoutNames() {
		code, text, messages := command(t, "starter", "--layout", name)
		if code != exitDone {
			t.Fatal(name, code, messages)
		}
		brief := filepath.Join(t.TempDir(), "stage.yaml")
		if err := os.WriteFile(brief, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		if code, out, messages := command(t, "check", brief); code != exitDone || out+messages != "" {
			t.Errorf("%s: check: %d %s%s", name, code, out, messages)
		}
		if code, _, messages := command(t, "run", brief, "--max-designs", "100", "--out", filepath.Join(filepath.Dir(brief), "stage.run")); code != exitDone {
			t.Errorf("%s: run: %d %s", name, code, messages)
		}
	}
}
