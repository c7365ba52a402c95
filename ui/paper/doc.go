// Package paper makes the sheet: a plan drawn true to scale on A4 or A3, as
// PDF.
//
// Print chooses paper, orientation, arrangement and scale together. Each
// arrangement (see layout.go) keeps a panel beside or below the map; its blocks
// say how much room they want, what is left is the map, and the arrangement
// that takes the largest usual scale wins. What finds no room in the panel, such
// as the schedule of two hundred devices, goes on further sheets of the same
// document.
//
// A layout that is spread over several sheets has this as its key plan; tiles.go
// lays the grid of the sheets, tilesheet.go draws them. What crowds on the layout is
// drawn larger on the sheet of details.
//
// The map is a drawing.List, rendered by package drawing on a Canvas that
// writes PDF. Map and legend take their looks from one drawing.Theme.
//
// Lengths are millimetres on the sheet, from its upper left corner, y down. The
// same plan gives the same bytes: no clock is read.
package paper
