// Package report writes a run as one HTML file that needs nothing else: no
// network, no other file. It shows what was asked, the front, how the search
// went, what ends the front, and of a few picked designs everything that is
// known, for which they are evaluated once more.
//
// # Glossary
//
//   - pick: a design that is shown in full: the knee, the ends of the front, and those asked for.
//   - end of the front: its best design in one goal.
//   - sample: of the designs that are neither on the front nor picked, those that
//     the page holds; see [sample].
//
// All text that comes from outside (titles, names of materials, reasons) passes
// through html/template, or through its escaping functions where a figure is
// put together by hand.
package report
