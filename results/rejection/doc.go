// Package rejection says why designs do not fit: which limits reject how many,
// alone and in pairs, how far each is from letting one in, and where the designs
// that come nearest stand. It is a function of rows, gathered in one pass and a
// memory that does not grow with their number.
//
//	t := rejection.New(spec, space, rejection.Reevaluate(spec))
//	for row := range rows { t.Add(row) }
//	s := t.Summary()
package rejection
