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

// TypedKey is part of fyne.Focusable: Escape closes the dialog the field is in.
func (e *Overtyped) TypedKey(ev *fyne.KeyEvent) {
	if ev.Name != fyne.KeyEscape || !giveUp(e, ev) {
		e.Entry.TypedKey(ev)
	}
}

// giveUp leaves a field of a dialog and hands a key to what takes the keys where no
// field has the focus, which closes the dialog at Escape. It reports whether the field
// is in a dialog.
func giveUp(field fyne.CanvasObject, ev *fyne.KeyEvent) bool {
	c := fyne.CurrentApp().Driver().CanvasForObject(field)
	if c == nil || c.Overlays().Top() == nil || c.OnTypedKey() == nil {
		return false
	}
	c.Unfocus()
	c.OnTypedKey()(ev)
	return true
}
