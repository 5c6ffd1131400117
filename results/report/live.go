package report

import (
	"encoding/base64"
	"html/template"
	"math"
	"path/filepath"

	"flexwright/objective"
)

// livePage is what a page that evaluates designs itself holds beside the others.
type livePage struct{ Data, Module template.JS }

// newLivePage gives the page's script the brief, and the exact numbers of the rows that the
// page holds: plots have them in single precision.
func newLivePage(in *Input, b *Brief, rows []objective.Row) *livePage {
	n := len(b.Spec.Variables)
	points := make([]float64, 0, n*len(rows))
	x := make([]float64, n)
	for i := range rows {
		if !b.Spec.Point(&rows[i], x) { // of another brief, in a joined folder
			for k := range x {
				x[k] = math.NaN()
			}
		}
		points = append(points, x...)
	}
	layouts := in.Live.Layouts
	if layouts == nil {
		layouts = map[string]string{}
	}
	return &livePage{
		Data: asJSON(map[string]any{"brief": b.Text, "layouts": layouts, "points": doubles(points), "worker": workerJS,
			"digest": in.Live.Digest, "version": in.Live.Version, "dir": filepath.Base(filepath.Clean(in.Folder.Dir()))}),
		Module: template.JS(base64.StdEncoding.EncodeToString(in.Live.Module)),
	}
}
