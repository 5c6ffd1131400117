package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"
)

// What verbs open: briefs, designs, the specs of run folders.

// readInput reads a file, or standard input for "-": no more of it than the
// largest that is accepted, whatever the file is.
func readInput(s streams, path string) (name string, data []byte, err error) {
	name, in := "standard input", s.in
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return path, nil, refuse("cannot read: %w", err)
		}
		defer f.Close()
		name, in = path, f
	}
	data, err = io.ReadAll(io.LimitReader(in, configs.LargestInput+1))
	switch {
	case err != nil:
		return name, nil, refuse("cannot read: %w", err)
	case len(data) > configs.LargestInput:
		return name, nil, refuse("%s has more than %d MB: neither a brief nor an assembly", name, configs.LargestInput>>20)
	}
	return name, data, nil
}

// loadBrief reads a brief with the layout files that it names, relative to where it
// stands.
func loadBrief(name string, data []byte) (*configs.Brief, configs.Problems) {
	return configs.LoadWith(name, data, configs.NamedLayouts(), models.Materials(), func(path string) (string, []byte, error) {
		path = filepath.FromSlash(path)
		if !filepath.IsAbs(path) {
			path = filepath.Join(filepath.Dir(name), path)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			err = errors.Unwrap(err) // the path stands in the brief
		}
		return path, data, err
	})
}

// loadStored reads a brief of a run folder with the layout files that the folder
// keeps.
func loadStored(folder *results.Folder, name string, data []byte) (*configs.Brief, configs.Problems) {
	return configs.LoadWith(name, data, configs.NamedLayouts(), models.Materials(), func(path string) (string, []byte, error) {
		data, err := folder.Layout(strings.TrimSuffix(filepath.Base(filepath.FromSlash(path)), configs.LayoutEnding))
		return path, data, err
	})
}

// warn prints what in a brief is easily taken for something else.
func warn(s streams, brief *configs.Brief) {
	for _, w := range brief.Warnings() {
		say(s.err, "note: %s", w)
	}
}

// openBrief reads a brief that has to be good.
func openBrief(s streams, path string) (*configs.Brief, []byte, error) {
	name, data, err := readInput(s, path)
	if err != nil {
		return nil, nil, err
	}
	brief, problems := (*configs.Brief)(nil), configs.Problems(nil)
	if folder, err := results.Open(filepath.Dir(path)); err == nil && path != "-" && filepath.Base(path) == "brief.yaml" {
		brief, problems = loadStored(folder, name, data) // goes on with what the run was made with
	} else {
		brief, problems = loadBrief(name, data)
	}
	if len(problems) > 0 {
		return nil, nil, &exitError{exitRefused, problems}
	}
	return brief, data, nil
}

// pickDesign returns a spec without variables: one design of a run folder, or
// the middle of a brief. The brief it belongs to comes with it.
func pickDesign(s streams, path, design string) (*objective.Spec, *configs.Brief, error) {
	spec, brief, _, err := pickStored(s, path, design)
	return spec, brief, err
}

// pickStored is pickDesign, with what a run folder has of the design; nil for a brief.
func pickStored(s streams, path, design string) (*objective.Spec, *configs.Brief, *storedDesign, error) {
	return pickCorrected(s, path, design, "")
}

// pickCorrected is pickStored with the corrections of a file; none where that is empty.
func pickCorrected(s streams, path, design, corrections string) (*objective.Spec, *configs.Brief, *storedDesign, error) {
	info, err := os.Stat(path)
	if path != "-" && errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil, refuse("%s: there is no such brief, and no such run folder", path)
	}
	if path == "-" || err == nil && !info.IsDir() {
		if design != "" {
			return nil, nil, nil, refuse("--design belongs to a run folder; %s is a brief", path)
		}
		brief, _, err := openBrief(s, path)
		if err != nil {
			return nil, nil, nil, err
		}
		if corrections != "" {
			if brief, _, err = correctedBrief(s, brief, corrections, loadBrief); err != nil {
				return nil, nil, nil, err
			}
		}
		spec, space := brief.Spec(), brief.Space()
		u, x := make([]float64, len(space)), make([]float64, len(space))
		for i := range u {
			if spec.Variables[i].Target == objective.TargetParameter && spec.Variables[i].Choices == nil {
				u[i] = 0.5
			}
		}
		space.Decode(u, x)
		spec.Pin(x)
		return spec, brief, nil, nil
	}
	folder, err := results.Open(path)
	if err != nil {
		return nil, nil, nil, err
	}
	if design == "" {
		return nil, nil, nil, refuse("%s is a run folder: give --design ID; flexwright front %s lists the best", path, path)
	}
	number, id, err := parseDesign(design)
	if err != nil {
		return nil, nil, nil, err
	}
	row, ok, err := folder.Row(number, id)
	if err != nil {
		return nil, nil, nil, err
	}
	if !ok {
		return nil, nil, nil, refuse("--design %s: %s has no such design", design, path)
	}
	brief, err := folderBrief(folder, number)
	if err != nil {
		return nil, nil, nil, err
	}
	if corrections != "" {
		brief, _, err = correctedBrief(s, brief, corrections, func(name string, data []byte) (*configs.Brief, configs.Problems) {
			return loadStored(folder, name, data)
		})
		if err != nil {
			return nil, nil, nil, err
		}
	}
	spec := brief.Spec()
	x := make([]float64, len(spec.Variables))
	if !spec.Point(&row, x) {
		return nil, nil, nil, &results.DamageError{Path: path, RowGroup: -1, Page: -1, ID: id, Cause: fmt.Errorf("the row does not belong to the folder's brief")}
	}
	spec.Pin(x)
	return spec, brief, &storedDesign{folder, row}, nil
}

// parseDesign reads ID or RUN:ID.
func parseDesign(text string) (run, id int64, err error) {
	runText, idText, joined := strings.Cut(text, ":")
	if !joined {
		runText, idText = "0", text
	}
	run, errRun := strconv.ParseInt(runText, 10, 64)
	id, errID := strconv.ParseInt(idText, 10, 64)
	if errRun != nil || errID != nil || id < 1 || run < 0 {
		return 0, 0, refuse("--design %s: expected the number of a design, or RUN:ID in a joined folder", text)
	}
	return run, id, nil
}

// runBrief returns a run folder's brief, nil where there is none of one (separate
// runs joined, a brief of another version).
func runBrief(folder *results.Folder) (*configs.Brief, error) {
	if len(folder.Manifest().Runs) > 0 {
		return nil, nil
	}
	data, path, err := folder.Brief(0)
	if err != nil {
		return nil, err
	}
	brief, problems := loadStored(folder, path, data)
	if len(problems) > 0 {
		return nil, nil
	}
	return brief, nil
}

// folderBrief reads the brief of a run of a folder, which has to be good.
func folderBrief(folder *results.Folder, run int64) (*configs.Brief, error) {
	data, path, err := folder.Brief(run)
	if err != nil {
		return nil, err
	}
	brief, problems := loadStored(folder, path, data)
	if len(problems) > 0 {
		return nil, &exitError{exitRefused, problems}
	}
	return brief, nil
}

var metre = models.Unit{Symbol: "m", Suffix: "m", Dimension: models.Length, SI: 1}

// parsePositions reads the values of --at: X,Y with units, or plain numbers in
// metres.
func parsePositions(at []string) ([][2]float64, error) {
	var list [][2]float64
	for _, text := range at {
		parts := strings.Split(text, ",")
		if len(parts) != 2 {
			return nil, refuse("--at=%s: expected two coordinates, such as --at=4mm,-2mm or, in metres, --at=0.004,-0.002", text)
		}
		var p [2]float64
		for i, part := range parts {
			v, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
			if err != nil {
				v, err = configs.ParseQuantity(part, metre)
			}
			if err != nil || v-v != 0 {
				return nil, refuse("--at=%s: %s is no finite length, such as 4mm or, in metres, 0.004", text, strings.TrimSpace(part))
			}
			p[i] = v
		}
		list = append(list, p)
	}
	return list, nil
}
