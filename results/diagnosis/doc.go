// Package diagnosis says why designs do not fit, and what ends a front.
//
// A [Tally] counts which limits reject how many designs, alone and in pairs, how far
// each is from letting one in, and where the designs that come nearest stand. It is a
// function of rows, gathered in one pass and a memory that does not grow with their
// number. [Reached] and [AtEnd] say what one design, or most of a front, has run into.
//
//	t := diagnosis.New(spec, space, diagnosis.Reevaluate(spec))
//	for row := range rows { t.Add(row) }
//	s := t.Summary()
package diagnosis
