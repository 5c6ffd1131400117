package report

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"math"

	"flexwright/objective"
	"flexwright/results"
	"flexwright/search"
)

// Brief is what a run was asked, as plain data.
type Brief struct {
	Title string
	Text  string          // as it was given
	Spec  *objective.Spec // nil when this version cannot read the brief
	// Space has one variable for each of Spec.Variables.
	Space   search.Space
	Plan    string // how it searches, in words
	Problem string // why Spec is nil
}

// Design names a design of a folder.
type Design struct {
	Run int64 // from 1 in a folder joined from separate runs, 0 otherwise
	ID  int64
}

// String is the name by which the command line calls it.
func (d Design) String() string {
	if d.Run == 0 {
		return fmt.Sprint(d.ID)
	}
	return fmt.Sprintf("%d:%d", d.Run, d.ID)
}

// MissingError says that a design that was asked for is not in the folder.
type MissingError struct {
	Dir    string
	Design Design
}

func (e *MissingError) Error() string {
	return fmt.Sprintf("%s has no design %v", e.Dir, e.Design)
}

// Input is what a report is made from.
type Input struct {
	Folder *results.Folder
	// Brief returns the brief of a run: 0, or from 1 in a joined folder.
	Brief   func(run int64) *Brief
	Designs []Design // shown in full, beside the knee and the ends of the front
	Live    *Live    // nil: the page evaluates nothing
}

// Live is what makes a page that evaluates designs itself: the program's evaluation as
// a WebAssembly module, which a worker of the page starts from bytes.
type Live struct {
	Module  []byte            // compressed by gzip
	Digest  string            // its SHA-256, hexadecimal
	Version string            // of the program
	Layouts map[string]string // texts of the user's layout files that the brief names, by the names in them
}

//go:embed assets/page.html
var pageTemplate string

//go:embed assets/report.css
var reportCSS string

//go:embed assets/report.js
var reportJS string

//go:embed assets/figures.js
var figuresJS string

// uPlot 1.6.32, Leon Sorokin, MIT licence (assets/uPlot.LICENSE): axes, grid,
// zoom and selection of the scatter plots.
//
//go:embed assets/uPlot.iife.min.js
var uplotJS string

//go:embed assets/uPlot.min.css
var uplotCSS string

//go:embed assets/uPlot.LICENSE
var uplotLicence string

//go:embed assets/live.js
var liveJS string

//go:embed assets/worker.js
var workerJS string

var parsed = template.Must(template.New("page").Funcs(template.FuncMap{
	"number": number, "quantity": quantity, "count": count, "share": share, "label": label,
	"barwidth":   func(v float64) string { return short(100 * math.Min(1, math.Abs(v))) },
	"css":        func() template.CSS { return template.CSS(uplotCSS + reportCSS) },
	"uplot":      func() template.JS { return template.JS(uplotJS) },
	"script":     func() template.JS { return template.JS(reportJS + figuresJS) },
	"licence":    func() string { return uplotLicence },
	"livescript": func() template.JS { return template.JS(liveJS) },
}).Parse(pageTemplate))

// Write writes the report of a folder: of a run that has ended, was stopped or
// is running. It reads every row once. The error is one of reading
// ([results.DamageError], [results.FolderError]), of writing, or a MissingError.
func Write(w io.Writer, in Input) error {
	p, err := newPage(&in)
	if err != nil {
		return err
	}
	return parsed.Execute(w, p)
}

// asJSON is v as text that may stand in a script element.
func asJSON(v any) template.JS {
	b, err := json.Marshal(v) // escapes <, > and &
	if err != nil {
		panic("report: not to be marshalled: " + err.Error())
	}
	return template.JS(b)
}
