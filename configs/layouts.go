package configs

import (
	"embed"
	"slices"
	"sync"

	"flexwright/models"
	"flexwright/models/layoutfile"
)

// The layouts that come with the program as files.
//
//go:embed layouts/*.layout.yaml
var layoutFiles embed.FS

// shipped are the layouts of layoutFiles, in the order of their names.
var shipped = sync.OnceValue(func() []*layoutfile.Layout {
	entries, err := layoutFiles.ReadDir("layouts")
	if err != nil {
		panic("configs: no layouts: " + err.Error())
	}
	var list []*layoutfile.Layout
	for _, e := range entries {
		data, err := layoutFiles.ReadFile("layouts/" + e.Name())
		if err != nil {
			panic("configs: " + err.Error())
		}
		l, problems := LoadLayout(e.Name(), data)
		if problems != nil {
			panic("configs: a layout of the program is refused: " + problems.Error())
		}
		list = append(list, l)
	}
	return list
})

// Layouts are the layouts that a brief may name: those in Go, then those that come
// as files.
func Layouts() []models.Layout {
	list := models.Layouts()
	for _, l := range shipped() {
		if !slices.ContainsFunc(list, func(other models.Layout) bool { return other.Name() == l.Name() }) {
			list = append(list, l)
		}
	}
	return list
}

// LayoutSource returns the file of a layout that comes with the program.
func LayoutSource(name string) ([]byte, bool) {
	for _, l := range shipped() {
		if l.Name() == name {
			return l.Source(), true
		}
	}
	return nil, false
}

// LayoutByName finds one of [Layouts].
func LayoutByName(name string) (models.Layout, bool) {
	for _, l := range Layouts() {
		if l.Name() == name {
			return l, true
		}
	}
	return nil, false
}
