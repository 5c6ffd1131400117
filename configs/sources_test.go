package configs

import (
	"strings"
	"testing"
)

// Every default says where it comes from, every source belongs to a key, and
// nothing rests on memory.
func TestReference(t *testing.T) {
	paths := map[string]bool{}
	for _, k := range Reference() {
		paths[k.Path] = true
		if k.Default != "" && k.Default != "[]" && k.Source == "" {
			t.Errorf("%s: default %s without a source", k.Path, k.Default)
		}
		if k.Meaning == "" || k.Takes == "" {
			t.Errorf("%s: no meaning or no form", k.Path)
		}
		if k.Default != "" && strings.Contains(k.Given, "required") {
			t.Errorf("%s is required and has a default", k.Path)
		}
	}
	for path, source := range sources {
		if !paths[path] {
			t.Errorf("source of %s, which is no key", path)
		}
		if strings.Contains(source, "memory") {
			t.Errorf("%s: %s", path, source)
		}
	}
}
