package configs

import (
	"crypto/sha256"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"flexwright/models"
	"flexwright/objective"
)

// LayoutEnding is how the name of a layout file ends; what precedes it is the
// layout's name.
const LayoutEnding = ".layout.yaml"

// Open reads a file that a brief names: path as the brief has it, and what the file
// is called in messages.
type Open func(path string) (name string, data []byte, err error)

// LayoutFile is a layout that a brief brings along.
type LayoutFile struct {
	Name string // of the layout
	Path string // as the brief has it
	Text []byte
}

// readLayoutFiles opens the layout files that the brief names, and puts the names
// of their layouts in the place of their paths. A file whose layout is refused adds
// its own problems.
func (l *load) readLayoutFiles(n *node, layouts []models.Layout, open Open) []models.Layout {
	items := []*node{n}
	if list := n.get("one_of"); n.kind == kindMapping && list != nil {
		items = nil
		for i := range list.items {
			items = append(items, &list.items[i])
		}
	}
	out := append([]models.Layout{}, layouts...)
	for _, item := range items {
		name, is := strings.CutSuffix(filepath.Base(filepath.FromSlash(item.text)), LayoutEnding)
		if item.kind != kindText || !is {
			continue
		}
		path := item.text
		if open == nil {
			l.refuse(item.place, "the name of a layout", "layout files are not read here")
			item.text = unreadable
			continue
		}
		called, data, err := open(path)
		if err != nil {
			l.refuse(item.place, "a layout file, its path relative to the brief", "cannot read %s: %v", show(path), err)
			item.text = unreadable
			continue
		}
		layout, problems := LoadLayout(called, data)
		l.others = append(l.others, problems...)
		if layout == nil {
			item.text = unreadable
			continue
		}
		if layout.Name() != name {
			l.refuse(item.place, layout.Name()+LayoutEnding, "the file %s holds the layout %s", show(filepath.Base(path)), layout.Name())
		}
		item.text = layout.Name()
		out = slices.DeleteFunc(out, func(other models.Layout) bool { return other.Name() == layout.Name() })
		out = append(out, layout)
		l.layoutFiles = append(l.layoutFiles, LayoutFile{layout.Name(), path, data})
	}
	return out
}

// unreadable stands for a layout that was refused already.
const unreadable = "\x00"

// LayoutFiles are the layouts that the brief brings along.
func (b *Brief) LayoutFiles() []LayoutFile { return b.layoutFiles }

// layoutReferences are the layouts as the resolved brief names them: one from a file
// by the file's name, with its digest as a comment.
func (b *Brief) layoutReferences() (names []string, digests string) {
	for _, l := range b.layouts {
		name := l.Name()
		for _, f := range b.layoutFiles {
			if f.Name == name {
				name += LayoutEnding
				digests += fmt.Sprintf("  # %s sha256 %x", name, sha256.Sum256(f.Text))
			}
		}
		names = append(names, name)
	}
	return names, digests
}

func (b *Brief) layoutNames() []string {
	var names []string
	for _, l := range b.layouts {
		names = append(names, l.Name())
	}
	return names
}

// checkCommon refuses a goal or a limit on a parameter that not all of its layouts have.
func (l *load) checkCommon(ref objective.Ref, at place, layouts []models.Layout) {
	if !ref.Parameter || l.union == nil {
		return
	}
	var having []string
	for _, layout := range l.layouts {
		if slices.Contains(l.union.Own(layout), ref.Index) {
			having = append(having, layout.Name())
		}
	}
	for _, layout := range layouts {
		if !slices.Contains(having, layout.Name()) {
			l.refuse(at, "what all layouts have; or a limit with layouts: ["+strings.Join(having, ", ")+"]", "%s: %s has no such parameter", l.name(ref), layout.Name())
		}
	}
}

// warnOfProngs tells where prongs may be so narrow that they, and not the blades, carry the
// largest stress, and body_yield_margin does not say so, as bodies are rigid: at a prong as long as its blade the blade's
// end moment bends both, by (t/w)² of the blade's stress, to which an inside corner adds its concentration.
func (l *load) warnOfProngs() {
	k, t := l.parameter("prong_width"), l.parameter("blade_thickness")
	if k < 0 || t < 0 || l.settings.Text("bodies") != "rigid" {
		return
	}
	narrow, _, known := l.values(k)
	_, thick, both := l.values(t)
	at := l.layoutPlace
	if l.varied[k] != nil {
		at = l.varied[k].place
	}
	if known && both && narrow < 2*thick {
		l.warn(at, "prongs may be %s wide, less than twice the thickness of a blade, %s: they carry the blades' end moments, and peak_stress looks at blades alone",
			FormatQuantity(narrow, models.Millimetre), FormatQuantity(thick, models.Millimetre))
	}
}

// warnOfRigid tells that layouts whose bodies bend and layouts whose bodies do not
// stand in one search, and that the frame's ring, which is rigid, is searched on.
func (l *load) warnOfRigid() {
	if k := l.parameter("frame_width"); k >= 0 && l.varied[k] != nil {
		l.warn(l.varied[k].place, "the frame's ring is rigid in the model: frame_width costs footprint and buys nothing, so that a search makes it as narrow as it may")
	}
	var bend, rigid []string
	for _, layout := range l.layouts {
		if _, ok := models.Bending(layout); ok {
			bend = append(bend, layout.Name())
		} else {
			rigid = append(rigid, layout.Name())
		}
	}
	if l.settings.Text("bodies") == "elastic" && len(bend) > 0 && len(rigid) > 0 {
		l.warn(l.layoutPlace, "bodies of %s bend, those of %s are rigid: bodies: rigid compares them on equal terms",
			strings.Join(bend, ", "), strings.Join(rigid, ", "))
	}
}
