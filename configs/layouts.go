package configs

import (
	"embed"
	"slices"
	"strings"
	"sync"

	"flexwright/models"
	"flexwright/models/layoutfile"
)

// The layouts that come with the program as files.
//
//go:embed layouts/*.layout.yaml
var layoutFiles embed.FS

// shippedLayout is a layout of layoutFiles, compiled when it is first used for more than its name.
type shippedLayout struct {
	name    string
	compile func() *layoutfile.Layout
}

// shipped are the layouts of layoutFiles, in the order of their names.
var shipped = sync.OnceValue(func() []*shippedLayout {
	entries, err := layoutFiles.ReadDir("layouts")
	if err != nil {
		panic("configs: no layouts: " + err.Error())
	}
	var list []*shippedLayout
	for _, e := range entries {
		name := strings.TrimSuffix(e.Name(), LayoutEnding)
		list = append(list, &shippedLayout{name, sync.OnceValue(func() *layoutfile.Layout {
			data, err := layoutFiles.ReadFile("layouts/" + e.Name())
			if err != nil {
				panic("configs: " + err.Error())
			}
			l, problems := LoadLayout(e.Name(), data)
			if problems != nil {
				panic("configs: a layout of the program is refused: " + problems.Error())
			}
			if l.Name() != name {
				panic("configs: a layout of the program is not called as its file: " + name)
			}
			return l
		})})
	}
	return list
})

func (l *shippedLayout) Name() string                   { return l.name }
func (l *shippedLayout) Meaning() string                { return l.compile().Meaning() }
func (l *shippedLayout) Parameters() []models.Parameter { return l.compile().Parameters() }
func (l *shippedLayout) Topology() *models.Topology     { return l.compile().Topology() }
func (l *shippedLayout) Build(d *models.Design, s *models.Stage) models.Verdict {
	return l.compile().Build(d, s)
}
func (l *shippedLayout) Outline(d *models.Design) ([]models.Outline, models.Verdict) {
	return l.compile().Outline(d)
}
func (l *shippedLayout) NominalMotion(s *models.Stage, x, y float64, motions []models.Motion) {
	l.compile().NominalMotion(s, x, y, motions)
}

// compiled is the layout itself.
func compiled(l models.Layout) models.Layout {
	if s, ok := l.(*shippedLayout); ok {
		return s.compile()
	}
	return l
}

// NamedLayouts are [Layouts] to be named in a brief: those of files are compiled when they are used. A brief
// that was read has the layouts themselves.
func NamedLayouts() []models.Layout {
	list := models.Layouts()
	for _, l := range shipped() {
		if !slices.ContainsFunc(list, func(other models.Layout) bool { return other.Name() == l.name }) {
			list = append(list, l)
		}
	}
	return list
}

// Layouts are the layouts that a brief may name: those in Go, then those that come
// as files.
func Layouts() []models.Layout {
	list := NamedLayouts()
	for i := range list {
		list[i] = compiled(list[i])
	}
	return list
}

// LayoutSource returns the file of a layout that comes with the program.
func LayoutSource(name string) ([]byte, bool) {
	for _, l := range shipped() {
		if l.name == name {
			return l.compile().Source(), true
		}
	}
	return nil, false
}

// LayoutByName finds one of [Layouts].
func LayoutByName(name string) (models.Layout, bool) {
	for _, l := range NamedLayouts() {
		if l.Name() == name {
			return compiled(l), true
		}
	}
	return nil, false
}
