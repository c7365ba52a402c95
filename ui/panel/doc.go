// Package panel holds what stands round the map: the tool list, the details of
// what is selected, the lists of features and findings, the plan's settings, the
// straight-line diagram; and the look they share with the drawing.
//
// A panel shows an editor's plan and turns what is typed into edits. It opens no
// file and runs no analysis: the window hands it results.
package panel
