package panel

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
)

// Overtyped is a field whose text is selected when the focus comes to it, so that typing
// replaces it.
type Overtyped struct{ widget.Entry }

// NewOvertyped makes a field.
func NewOvertyped() *Overtyped {
	e := &Overtyped{}
	e.ExtendBaseWidget(e)
	return e
}

// FocusGained is part of fyne.Focusable.
func (e *Overtyped) FocusGained() {
	e.Entry.FocusGained()
	e.TypedShortcut(&fyne.ShortcutSelectAll{})
}
