package main

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// treeFile is a text file of the source tree.
type treeFile struct {
	name string // slash-separated, from the top of the tree
	path string
	text []byte
}

// treeFiles reads the text files of the tree, those with one of the endings if
// any are given. What is not source is left out: hidden folders but .ci, run
// folders, installed packages, binaries.
func treeFiles(t testing.TB, endings ...string) []treeFile {
	t.Helper()
	const top = "../.."
	var files []treeFile
	err := filepath.WalkDir(top, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(top, p)
		if err != nil {
			return err
		}
		name = filepath.ToSlash(name)
		base := d.Name()
		if d.IsDir() {
			if p != top && (strings.HasPrefix(base, ".") && base != ".ci" || strings.HasSuffix(base, ".run") || base == "node_modules") {
				return filepath.SkipDir
			}
			return nil
		}
		if base == ".git" || len(endings) > 0 && !slices.ContainsFunc(endings, func(e string) bool { return strings.HasSuffix(base, e) }) || !d.Type().IsRegular() {
			return nil
		}
		text, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		if !bytes.ContainsRune(text[:min(len(text), 8000)], 0) {
			files = append(files, treeFile{name, p, text})
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// Paths of one machine and hosts of package registries do not belong in the
// tree: it has to work anywhere.
func TestNoMachinePaths(t *testing.T) {
	bad := []*regexp.Regexp{
		regexp.MustCompile(`(^|[^A-Za-z0-9_.])/(work|tmp|root|farm|home)/`),
		regexp.MustCompile(`proxy\.golang\.` + `org|sum\.golang\.` + `org|registry\.npmjs\.` + `org|deb\.debian\.` + `org|security\.debian\.` + `org`),
	}
	for _, f := range treeFiles(t) {
		if strings.HasSuffix(f.name, ".sum") {
			continue
		}
		for i, line := range bytes.Split(f.text, []byte("\n")) {
			for _, r := range bad {
				if m := r.Find(line); m != nil {
					t.Errorf("%s:%d: %q", f.name, i+1, m)
				}
			}
		}
	}
}

// longFiles may pass 600 lines, each for its reason.
var longFiles = map[string]string{
	"cmd/flexwright/docs/flexwright.md": "made from the commands, one page for all verbs",
	"models/drive/lanes.go":             "made by .ci/lanes, an operation a line",
	"models/mechanics/poses.go":         "made by .ci/lanes, an operation a line",
}

// A file holds one idea: past 600 lines it is looked at.
func TestFileLengths(t *testing.T) {
	for _, f := range treeFiles(t, ".go", ".md", ".py", ".js", ".tmpl", ".css") {
		if n := bytes.Count(f.text, []byte("\n")); n > 600 && longFiles[f.name] == "" {
			t.Errorf("%s has %d lines: split it, or give the reason here", f.name, n)
		}
	}
}
