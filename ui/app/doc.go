// Package app is the window: menus, files, the panels round the map, and the
// analysis that follows each edit.
//
// Everything here runs on the window's goroutine but the analysis, the reading
// of pictures and the imports, which come back through fyne.Do and are dropped
// when what they were for is no longer shown.
package app
