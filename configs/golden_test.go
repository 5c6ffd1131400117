package configs

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"flexwright/models"
)

var update = flag.Bool("update", false, "write the golden files and the schema again")

func loadFile(t *testing.T, path string) (*Brief, Problems) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return Load(filepath.Base(path), data, Layouts(), models.Materials())
}

func globbed(t testing.TB, pattern string) []string {
	t.Helper()
	paths, err := filepath.Glob(pattern)
	if err != nil {
		t.Fatal(err)
	}
	return paths
}

// files that match a pattern, of which there must be some.
func files(t *testing.T, pattern string, least int) []string {
	t.Helper()
	paths := globbed(t, pattern)
	if len(paths) < least {
		t.Fatalf("%s: %d files, at least %d wanted", pattern, len(paths), least)
	}
	return paths
}

// golden compares problems with the file beside the input, as they are printed.
func golden(t *testing.T, path string, problems Problems) {
	t.Helper()
	if len(problems) == 0 {
		t.Error("accepted")
		return
	}
	complete(t, problems)
	text := problems.Error() + "\n"
	name := strings.TrimSuffix(path, filepath.Ext(path)) + ".golden"
	if *update {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if text != string(want) {
		t.Errorf("printed:\n%s\nwanted:\n%s", text, want)
	}
}

func TestGoodBriefs(t *testing.T) {
	for _, path := range append(files(t, "../testdata/briefs/*.good.yaml", 5), files(t, "examples/*.yaml", 3)...) {
		t.Run(filepath.Base(path), func(t *testing.T) {
			b, problems := loadFile(t, path)
			if problems != nil {
				t.Fatalf("refused:\n%v", problems)
			}
			if err := b.Space().Validate(); err != nil {
				t.Error(err)
			}
			resolved := b.Resolved()
			again, problems := Load("resolved", resolved, Layouts(), models.Materials())
			if problems != nil {
				t.Fatalf("its resolved form is refused:\n%v\n%s", problems, resolved)
			}
			if string(again.Resolved()) != string(resolved) {
				t.Errorf("resolved twice:\n%s\n%s", resolved, again.Resolved())
			}
			sameSpec(t, b.Spec(), again.Spec())
		})
	}
}

func TestBadBriefs(t *testing.T) {
	for _, path := range files(t, "../testdata/briefs/*.bad.yaml", 30) {
		t.Run(filepath.Base(path), func(t *testing.T) {
			_, problems := loadFile(t, path)
			golden(t, path, problems)
		})
	}
}

func TestBadAssemblies(t *testing.T) {
	for _, path := range files(t, "../testdata/assemblies/*.bad.json", 20) {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			_, _, problems := LoadAssembly(filepath.Base(path), data)
			golden(t, path, problems)
		})
	}
}
