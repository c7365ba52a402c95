package panel

import (
	"math"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// tuner is what the drawings share in which a figure of a feature is dragged by a
// handle, or moved with the keys: a drag, and keys that follow one another within
// a moment, are one step of undo; Escape forgets them.
type tuner struct {
	// OnKey and OnRune get the keys that the drawing does not want; OnKey reports
	// whether it used one.
	OnKey  func(*fyne.KeyEvent) bool
	OnRune func(rune) bool

	ed   func() *editor.Editor
	self interface { // the drawing
		fyne.CanvasObject
		fyne.Focusable
		Update()
	}

	held    drawing.Handle
	fine    bool // Shift is down
	focused bool
	nudge   *time.Timer
}

// tidy takes the crumbs off a figure that was rounded to a step.
func tidy(v float64) float64 { return math.Round(v*1000) / 1000 }

// MouseUp is part of desktop.Mouseable.
func (t *tuner) MouseUp(ev *desktop.MouseEvent) {
	if ev.Button == desktop.MouseButtonPrimary {
		t.drop()
	}
}

// DragEnd is part of fyne.Draggable.
func (t *tuner) DragEnd() { t.drop() }

// drop makes a step of what was dragged.
func (t *tuner) drop() {
	if t.held == drawing.NoHandle {
		return
	}
	t.held = drawing.NoHandle
	t.ed().Settle()
	t.self.Update()
}

// cancel forgets what is dragged or nudged; it reports false where nothing is.
func (t *tuner) cancel() bool {
	if t.held == drawing.NoHandle && !t.ed().Tuning() {
		return false
	}
	t.held = drawing.NoHandle
	t.stopTimer()
	if t.ed().Tuning() {
		t.ed().Cancel()
	}
	t.self.Update()
	return true
}

// escape forgets what is dragged or nudged, or gives the keys back.
func (t *tuner) escape() {
	if t.cancel() {
		return
	}
	if c := fyne.CurrentApp().Driver().CanvasForObject(t.self); c != nil {
		c.Unfocus()
	}
}

func (t *tuner) takeKeys() {
	if c := fyne.CurrentApp().Driver().CanvasForObject(t.self); c != nil && !t.focused {
		c.Focus(t.self)
	}
}

// FocusGained is part of fyne.Focusable.
func (t *tuner) FocusGained() { t.focused = true; t.self.Refresh() }

// FocusLost is part of fyne.Focusable.
func (t *tuner) FocusLost() {
	t.focused, t.fine, t.held = false, false, drawing.NoHandle
	t.rest()
	t.self.Refresh()
}

// KeyDown is part of desktop.Keyable.
func (t *tuner) KeyDown(ev *fyne.KeyEvent) { t.shift(ev, true) }

// KeyUp is part of desktop.Keyable.
func (t *tuner) KeyUp(ev *fyne.KeyEvent) { t.shift(ev, false) }

func (t *tuner) shift(ev *fyne.KeyEvent, down bool) {
	if ev.Name == desktop.KeyShiftLeft || ev.Name == desktop.KeyShiftRight {
		t.fine = down
	}
}

// TypedRune is part of fyne.Focusable.
func (t *tuner) TypedRune(r rune) {
	if t.OnRune != nil {
		t.OnRune(r)
	}
}

// restSoon makes a step of what the keys tuned, once no more follow.
func (t *tuner) restSoon() {
	t.stopTimer()
	t.nudge = time.AfterFunc(nudgeRest, func() { fyne.Do(t.rest) })
}

func (t *tuner) stopTimer() {
	if t.nudge != nil {
		t.nudge.Stop()
		t.nudge = nil
	}
}

// rest makes a step of what was tuned.
func (t *tuner) rest() {
	t.stopTimer()
	if t.ed().Tuning() {
		t.ed().Settle()
		t.self.Update()
	}
}
