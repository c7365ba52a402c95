package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"pleach/ui/panel"
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

// typeInto types into the first field of the dialog on top that shows a text, and
// presses Enter.
func typeInto(t *testing.T, w *window, shown, text string) {
	t.Helper()
	var found *panel.Value
	walk(w.win.Canvas().Overlays().Top(), func(o fyne.CanvasObject) {
		if v, ok := o.(*panel.Value); ok && found == nil && strings.Contains(textOf(v), shown) {
			found = v
		}
	})
	if found == nil {
		t.Fatalf("there is no field that shows %q: %q", shown, dialogText(w))
	}
	field := test.WidgetRenderer(found).Objects()[0].(*fyne.Container).Objects[0].(fyne.Focusable)
	w.win.Canvas().Focus(field)
	test.Type(field, text)
	field.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	w.win.Canvas().Unfocus()
}
