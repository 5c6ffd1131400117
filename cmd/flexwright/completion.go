package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"

	"github.com/spf13/cobra"
)

// completions is how a shell completes arguments and flags of a verb.
type completions func(c *cobra.Command, args []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective)

// addCompletions gives each verb of root what its arguments and flags may be.
func addCompletions(root *cobra.Command) {
	files := func(endings ...string) completions {
		return func(*cobra.Command, []string, string) ([]cobra.Completion, cobra.ShellCompDirective) {
			return endings, cobra.ShellCompDirectiveFilterFileExt
		}
	}
	folders := func(*cobra.Command, []string, string) ([]cobra.Completion, cobra.ShellCompDirective) {
		return nil, cobra.ShellCompDirectiveFilterDirs
	}
	either := func(*cobra.Command, []string, string) ([]cobra.Completion, cobra.ShellCompDirective) {
		return nil, cobra.ShellCompDirectiveDefault
	}
	arguments := map[string]completions{
		"check": files("yaml", "yml"), "run": files("yaml", "yml"), "solve": files("json"),
		"front": folders, "verify": folders, "join": folders, "report": folders, "show": either, "draw": either, "compare": either,
		"measures": choices(measureNames), "materials": choices(materialNames), "layouts": choices(layoutNames),
		"actuators": choices(actuatorNames), "version": choices(nil), "bench-search": choices(nil), "schema": choices(nil), "starter": choices(nil),
	}
	flags := map[string]completions{
		"design": completeDesign, "sort": completeStored(""), "limit": completeStored(" at_most "), "set": completeSet,
		"out": folders, "salvage": folders, "brief": files("yaml", "yml"), "layout": choices(layoutNames),
	}
	for _, c := range root.Commands() {
		if c.ValidArgsFunction == nil && arguments[c.Name()] != nil {
			c.ValidArgsFunction = cobra.CompletionFunc(arguments[c.Name()])
		}
		for flag, complete := range flags {
			if c.Flags().Lookup(flag) != nil && (flag != "out" || c.Name() != "report") { // there a file
				if err := c.RegisterFlagCompletionFunc(flag, cobra.CompletionFunc(complete)); err != nil {
					panic("cmd: completion of a flag given twice")
				}
			}
		}
	}
}

// choices completes arguments from a list; nil for none.
func choices(list func() []string) completions {
	return func(_ *cobra.Command, given []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
		if list == nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		left := slices.DeleteFunc(list(), func(name string) bool { return slices.Contains(given, name) })
		return left, cobra.ShellCompDirectiveNoFileComp
	}
}

// names of the entries of a table.
func names[T any](table []T, name func(T) string) []string {
	list := make([]string, len(table))
	for i, entry := range table {
		list[i] = name(entry)
	}
	return list
}

func measureNames() []string {
	list := names(objective.Table[:], func(m objective.Info) string { return m.Name })
	return slices.DeleteFunc(list, func(name string) bool {
		m, _ := objective.ByName(name)
		return m.IsOtherTail()
	})
}

func materialNames() []string {
	return names(models.Materials(), func(m models.Material) string { return m.Name })
}

func layoutNames() []string {
	return names(configs.NamedLayouts(), func(l models.Layout) string { return l.Name() })
}

// completeDesign offers the designs on the front of the folder that is given.
func completeDesign(_ *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	folder, err := results.Open(args[0])
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	rows, err := folder.Front(nil)
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	columns, joined := folder.Columns(), results.ColumnNamed(folder.Columns(), "run")
	var list []cobra.Completion
	for i := range rows {
		id := strconv.FormatInt(rows[i].ID, 10)
		if joined != nil {
			id = exact(joined.Get(&rows[i]), joined.Kind) + ":" + id
		}
		var about []string
		for _, g := range folder.Manifest().Goals {
			if c := results.ColumnNamed(columns, g.Column); c != nil {
				about = append(about, fmt.Sprintf("%s %s", results.NameOf(g.Column), readable(c.Get(&rows[i]), c.Kind)))
			}
		}
		list = append(list, cobra.CompletionWithDesc(id, strings.Join(about, ", ")))
	}
	return list, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveKeepOrder
}

// completeStored offers the measures and parameters that a folder stores; those
// of the program when no folder is given yet.
func completeStored(behind string) completions {
	return func(_ *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
		list := measureNames()
		if len(args) > 0 {
			if folder, err := results.Open(args[0]); err == nil {
				list = nil
				for _, c := range folder.Columns() {
					if found, err := findColumn(folder.Columns(), c.Name); err == nil {
						list = append(list, found.Number.Name)
					}
				}
			}
		}
		directive := cobra.ShellCompDirectiveNoFileComp
		if behind != "" {
			directive |= cobra.ShellCompDirectiveNoSpace
		}
		for i := range list {
			list[i] += behind
		}
		return list, directive
	}
}

// completeSet offers parameters, and materials once material= is typed.
func completeSet(_ *cobra.Command, _ []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
	directive := cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
	list := []string{"material="}
	if strings.HasPrefix(typed, "material=") {
		list = materialNames()
		for i := range list {
			list[i] = "material=" + list[i]
		}
		return list, cobra.ShellCompDirectiveNoFileComp
	}
	for _, l := range configs.Layouts() {
		for _, p := range l.Parameters() {
			list = append(list, p.Name+"=")
		}
	}
	return list, directive
}
