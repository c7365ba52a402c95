package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"
)

// walk calls f for every visible object below o.
func walk(o fyne.CanvasObject, f func(fyne.CanvasObject)) {
	if o == nil || !o.Visible() {
		return
	}
	f(o)
	switch o := o.(type) {
	case *fyne.Container:
		for _, c := range o.Objects {
			walk(c, f)
		}
	case fyne.Widget:
		for _, c := range test.WidgetRenderer(o).Objects() {
			walk(c, f)
		}
	}
}

// textOf gathers the text that is visible below o.
func textOf(o fyne.CanvasObject) string {
	var b strings.Builder
	walk(o, func(o fyne.CanvasObject) {
		if t, ok := o.(*canvas.Text); ok {
			b.WriteString(t.Text + " ")
		}
	})
	return b.String()
}

// tapButton taps a button of the dialog on top.
func tapButton(t *testing.T, w *window, label string) {
	t.Helper()
	var found *widget.Button
	walk(w.win.Canvas().Overlays().Top(), func(o fyne.CanvasObject) {
		if b, ok := o.(*widget.Button); ok && b.Text == label {
			found = b
		}
	})
	if found == nil {
		t.Fatalf("there is no button %q: %q", label, dialogText(w))
	}
	test.Tap(found)
}
