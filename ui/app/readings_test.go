package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"pleach/model"
	"pleach/ui/panel"
)

// typeBeside types into the field of the dialog on top whose label begins so.
func typeBeside(t *testing.T, w *window, label, text string) {
	t.Helper()
	field := fieldBeside(t, w, label)
	w.win.Canvas().Focus(field)
	test.Type(field, text)
	field.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	w.win.Canvas().Unfocus()
}

// fieldBeside is the field of the dialog on top whose label begins so.
func fieldBeside(t *testing.T, w *window, label string) fyne.Focusable {
	t.Helper()
	var found *panel.Value
	walk(w.win.Canvas().Overlays().Top(), func(o fyne.CanvasObject) {
		c, ok := o.(*fyne.Container)
		if !ok || len(c.Objects) != 2 {
			return
		}
		if l, ok := c.Objects[0].(*panel.Line); ok && strings.HasPrefix(l.Text(), label) {
			if v, ok := c.Objects[1].(*panel.Value); ok {
				found = v
			}
		}
	})
	if found == nil {
		t.Fatalf("there is no field %q: %q", label, dialogText(w))
	}
	return test.WidgetRenderer(found).Objects()[0].(*fyne.Container).Objects[0].(fyne.Focusable)
}

// A level is written down from the menu; it appears among the levels read on site,
// and a click there chooses its link. It is corrected, removed and undone.
func TestALevelReadOnSiteIsWrittenDownAndShown(t *testing.T) {
	w := open(t, demoCopy(t))
	w.sections["levels"].SetOpen(true, true)
	if !strings.Contains(textOf(w.levels.Object), "no signal reading") {
		t.Errorf("without a reading: %q", textOf(w.levels.Object))
	}
	before := w.ed.Plan()
	w.ed.Select("S1")
	if w.readingWords() != "Add a reading…" || !w.hasDevices() {
		t.Errorf("the menu says %q", w.readingWords())
	}
	w.readings()
	text := dialogText(w)
	for _, want := range []string{"A new reading", "signal level", "S1 Main gate, west", "RX Receiver", "dBm is predicted at RX"} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
			t.Errorf("the form does not say %q: %s", want, text)
		}
	}
	tapButton(t, w, "Add it")
	if s := dialogText(w); !strings.Contains(s, "level is needed") || w.ed.Plan() != before {
		t.Errorf("an empty form is taken: %s", s)
	}
	typeBeside(t, w, "Level read", "-60")
	tapButton(t, w, "Add it")
	if s := dialogText(w); !strings.Contains(s, "The time is needed") {
		t.Errorf("a reading without its time is taken: %s", s)
	}
	typeBeside(t, w, "Time", "14:30")
	typeBeside(t, w, "By", "A. Reader")
	tapButton(t, w, "Add it")
	if s := dialogText(w); !strings.Contains(s, "M1 is added") {
		t.Fatal(s)
	}
	tapButton(t, w, "Close")
	m := w.ed.Plan().Feature("M1")
	if r := m.Value.(*model.Reading); r.What != "signal" || strings.Join(r.Of, " ") != "S1 RX" || r.By != "A. Reader" || !strings.Contains(r.At, "T14:30:00") || m.Geometry != nil {
		t.Errorf("written down: %+v", r)
	}
	if w.levels.Words() != "1" || strings.Contains(textOf(w.levels.Object), "no signal reading") {
		t.Errorf("the panel counts %q", w.levels.Words())
	}
	w.levels.Choose("M1")
	if from, to, ok := w.ed.Link(); !ok || from != "S1" || to != "RX" {
		t.Errorf("chosen is the link %s to %s", from, to)
	}

	w.ed.Select("M1")
	if w.readingWords() != "Correct reading M1…" {
		t.Errorf("with the reading selected the menu says %q", w.readingWords())
	}
	w.readings()
	typeBeside(t, w, "Level read", "-64")
	tapButton(t, w, "Correct it")
	if raw, _ := w.ed.Plan().Feature("M1").Property("value"); string(raw) != "-64" || w.ed.UndoLabel() != "correct reading M1" {
		t.Errorf("corrected to %s by %q", raw, w.ed.UndoLabel())
	}
	tapButton(t, w, "Close")
	w.ed.Select("M1")
	w.readings()
	tapButton(t, w, "Remove it")
	if w.ed.Plan().Feature("M1") != nil || !strings.Contains(dialogText(w), "M1 is removed") {
		t.Errorf("it is not removed: %s", dialogText(w))
	}
	tapButton(t, w, "Close")
	if w.levels.Words() != "" {
		t.Errorf("without a reading the panel counts %q", w.levels.Words())
	}
	for range 3 {
		w.ed.Undo()
	}
	if w.ed.Plan() != before {
		t.Error("three steps back are not the plan before")
	}
}

// Where the window is low the whole form can be reached.
func TestTheFormForReadingsFitsALowWindow(t *testing.T) {
	w := open(t, demoCopy(t))
	w.win.Resize(fyne.NewSize(900, 480))
	w.readings()
	var scroll *container.Scroll
	walk(w.win.Canvas().Overlays().Top(), func(o fyne.CanvasObject) {
		if s, ok := o.(*container.Scroll); ok {
			scroll = s
		}
	})
	if scroll == nil {
		t.Fatal("the form does not scroll")
	}
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(scroll)
	if s := w.win.Canvas().Size(); at.Y < 0 || at.Y+scroll.Size().Height > s.Height-30 {
		t.Errorf("the form goes from %v for %v in a window of %v", at, scroll.Size(), s)
	}
}

// Escape closes a dialog also while one of its fields has the focus; what is being
// typed in a form is put back first.
func TestEscapeClosesADialogFromWithinAField(t *testing.T) {
	escape := &fyne.KeyEvent{Name: fyne.KeyEscape}
	w := open(t, demoCopy(t))
	cv := w.win.Canvas()
	w.askAccept(w.an.last.Findings[0])
	if cv.Focused() == nil || !w.modal() {
		t.Fatal("the dialog is not open, its first field has no focus")
	}
	test.Type(cv.Focused(), "it is meant")
	cv.Focused().TypedKey(escape)
	if w.modal() || cv.Focused() != nil {
		t.Error("the question is still open")
	}
	w.ed.Select("S1")
	w.readings()
	field := fieldBeside(t, w, "Level read")
	cv.Focus(field)
	test.Type(field, "-6")
	field.TypedKey(escape)
	if !w.modal() {
		t.Fatal("the first Escape closed the form beside a value half typed")
	}
	cv.Focus(field)
	field.TypedKey(escape)
	if w.modal() {
		t.Error("the form is still open")
	}
}
