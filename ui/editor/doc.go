// Package editor is one open plan being worked on: the tool in hand, what is
// selected, what the pointer is over, and the draft of a drag.
//
// It knows no window. Places come in as metres on the site grid (Editor.Grid)
// and go out as edits of the plan, so all of it is tested with plain points.
//
// A drag is a draft: at each move its edit is applied afresh to the plan the
// drag began on. Drop does it once, as one step of the history; Cancel forgets
// it. Selection, hover and tool belong to the editor: they are neither saved nor
// undone. The site grid follows the boundaries, but not while something is held:
// the grid of the press stays until the drag is over.
//
// The editor is used from one goroutine.
package editor
