package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"flexwright/configs"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/search"
)

// What makes a run the one that a folder holds, and how it goes on.

// describeRun says what makes the run what it is.
func describeRun(brief *configs.Brief, text []byte, spec *objective.Spec, plan configs.Plan, shard search.Shard) results.Description {
	sum := sha256.Sum256(brief.Identity())
	d := results.Description{
		Identity: results.Identity{Version: version, Platform: results.Platform(), Seed: plan.Seed, Resolved: hex.EncodeToString(sum[:])},
		Columns:  spec.Columns(),
		Brief:    text, Method: plan.Method, Surrogate: plan.Surrogate, Auto: plan.Auto,
	}
	d.Length, d.Whole = planLength(plan)
	if shard.N > 1 {
		d.Shard = results.Shard(fmt.Sprintf("%d/%d", shard.I, shard.N))
	}
	for _, f := range brief.LayoutFiles() {
		d.Layouts = append(d.Layouts, results.LayoutFile{Name: f.Name, Text: f.Text})
	}
	for _, g := range spec.Goals {
		d.Goals = append(d.Goals, results.Goal{Column: spec.Column(g.Ref), Sense: g.Sense.String()})
	}
	return d
}

// planLength is how far a plan goes, in the count by which it grows; whole says that
// it does so in whole multiples only.
func planLength(p configs.Plan) (length int64, whole bool) {
	switch p.Method {
	case "evolve":
		return int64(p.Generations), false
	case "latin":
		return p.Designs, true
	case "sobol":
		return p.Designs, false
	}
	return 0, false // a grid
}

// goingOn is the plan of a run that may have grown, with the surrogate of each of its
// lengths. It reports whether the one that is asked for is shorter.
func goingOn(p configs.Plan, plans []results.Plan) (_ configs.Plan, shorter bool) {
	last := plans[len(plans)-1]
	length, _ := planLength(p)
	p.Surrogate, p.Switched = plans[0].Surrogate, nil
	for i := range plans[1:] {
		if plans[i].Surrogate != plans[i+1].Surrogate {
			p.Switched = append(p.Switched, int(plans[i].Length))
		}
	}
	switch p.Method {
	case "evolve":
		p.Generations = int(last.Length)
	case "latin":
		for _, before := range plans[:len(plans)-1] {
			p.Grown = append(p.Grown, before.Length)
		}
		p.Designs = last.Length
	case "sobol":
		p.Designs = last.Length
	}
	return p, length < last.Length
}

// otherRun says in which keys a brief is not the folder's, and where it can go.
func otherRun(err error, brief *configs.Brief, dir string) error {
	var mismatch *results.MismatchError
	if !errors.As(err, &mismatch) {
		return err
	}
	text := mismatch.Error()
	if mismatch.What == results.WhatBrief {
		folder, openErr := results.Open(dir)
		if openErr != nil {
			return err
		}
		if there, openErr := folderBrief(folder, 0); openErr == nil {
			text = dir + " holds a run of another brief:"
			for _, d := range configs.Differences(there, brief) {
				text += fmt.Sprintf("\n  %s: %s there, %s here", d.Key, orNothing(d.A), orNothing(d.B))
			}
		}
	}
	if mismatch.What == results.WhatSurrogate {
		text = fmt.Sprintf("%s holds a run of another brief:\n  search.surrogate: %s there, %s here; more generations of this run can have another", dir, mismatch.Have, mismatch.Want)
	}
	return refuse("%s\na run of its own: --out %s", text, shellQuoted(freeName(dir)))
}

func orNothing(value string) string {
	if value == "" {
		return "nothing"
	}
	return value
}

// freeName is a folder beside dir that is not there yet.
func freeName(dir string) string {
	dir = filepath.Clean(dir)
	stem, ending := strings.TrimSuffix(dir, ".run"), ".run"
	for n := 2; ; n++ {
		name := fmt.Sprintf("%s-%d%s", stem, n, ending)
		if _, err := os.Lstat(name); errors.Is(err, os.ErrNotExist) || n == 1000 {
			return name
		}
	}
}

// goOn is the command that goes on with a run, for a shell: all that makes the
// run what it is. What only this sitting was given (workers, bounds) is not in it.
func goOn(path, dir string, o runOptions, shard search.Shard) string {
	if path == "-" || len(o.limits) > 0 || o.start != "" || o.corrected != "" {
		path = filepath.Join(dir, "brief.yaml")
	} else if strings.HasPrefix(path, "-") {
		path = "./" + path
	}
	words := []string{"flexwright", "run", path, "--out=" + dir}
	if o.seedGiven {
		words = append(words, fmt.Sprintf("--seed=%d", o.seed))
	}
	if shard.N > 0 {
		words = append(words, fmt.Sprintf("--shard=%d/%d", shard.I, shard.N))
	}
	if o.exchange != "" {
		words = append(words, "--exchange="+o.exchange)
	}
	return shellQuoted(words...)
}

// exchangeOptions say where the islands of an evolution meet.
func exchangeOptions(s streams, o runOptions, brief, dir string, plan configs.Plan, shard search.Shard) results.ExchangeOptions {
	e := results.ExchangeOptions{Dir: exchangeFolder(o, brief, dir), Patience: o.patience,
		Note: func(text string) { say(s.err, "%s", plain(text)) }}
	if plan.Method == "evolve" && shard.N > 1 {
		if e.Dir == "" {
			e.Note("islands exchange nothing: each searches for itself")
		} else {
			e.Note(fmt.Sprintf("island %d of %d: members are exchanged through %s", shard.I, shard.N, e.Dir))
		}
	}
	return e
}

// exchangeFolder is where islands meet unless told otherwise: beside their runs.
func exchangeFolder(o runOptions, brief, dir string) string {
	switch {
	case o.exchange == "none":
		return ""
	case o.exchange != "":
		return o.exchange
	case brief == "-":
		brief = "brief"
	}
	base := filepath.Base(brief)
	return filepath.Join(filepath.Dir(filepath.Clean(dir)), strings.TrimSuffix(base, filepath.Ext(base))+".exchange")
}
