package app

import (
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/ui/editor"
	"pleach/ui/panel"
)

// prefReadBy is who read on site last.
const prefReadBy = "read-by"

// readingOf is the one reading that is selected, nil for none.
func (w *window) readingOf() *model.Feature {
	if s := w.ed.Selected(); len(s) == 1 {
		if f := w.ed.Settled().Feature(s[0]); f != nil && f.Kind == model.KindReading {
			return f
		}
	}
	return nil
}

// readingWords names the step: a reading that is selected is corrected.
func (w *window) readingWords() string {
	if f := w.readingOf(); f != nil {
		return "Correct reading " + f.ID + "…"
	}
	return "Add a reading…"
}

// hasDevices reports whether there is anything a reading can be of.
func (w *window) hasDevices() bool {
	return len(w.ed.Settled().Of(model.KindSensor, model.KindRepeater, model.KindReceiver)) > 0 || w.readingOf() != nil
}

// readings opens the form in which what was read on site is written down: of the link
// or the device that is chosen; a reading that is selected is corrected.
func (w *window) readings() {
	w.ed.Settle()
	clock, zone := w.readingClock()
	f := panel.NewReadingForm(func() *editor.Editor { return w.ed }, func() *analysis.Result { return w.an.last }, clock, zone)
	var d *dialog.CustomDialog
	ok := widget.NewButton("", nil)
	ok.Importance = widget.HighImportance
	another := widget.NewButton("Another one", nil)
	remove := widget.NewButton("Remove it", f.Remove)
	f.Changed = func() {
		ok.SetText("Add it")
		another.Hidden, remove.Hidden = true, true
		if f.Correcting() != "" {
			ok.SetText("Correct it")
			another.Hidden, remove.Hidden = false, false
		}
		another.Refresh()
		remove.Refresh()
	}
	fresh := func(what string, of []string) {
		f.Fresh(what, of, time.Now().In(zone).Format(time.DateOnly), w.prefs.String(prefReadBy))
	}
	ok.OnTapped = func() {
		w.win.Canvas().Unfocus() // what is being typed counts
		if f.Write() {
			w.prefs.SetString(prefReadBy, f.By())
		}
	}
	another.OnTapped = func() { fresh("signal", w.chosenDevices()) }
	d = dialog.NewCustomWithoutButtons("Readings on site", panel.Inset(f.Object, 8, 4, 8, 8), w.win)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton("Close", func() { d.Hide() }), remove, another, ok})
	if r := w.readingOf(); r != nil {
		f.Load(r.ID)
	} else {
		fresh("signal", w.chosenDevices())
	}
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(600*w.look.Scale(), size.Width-40), min(620*w.look.Scale(), size.Height-60)))
	d.Show()
}

// chosenDevices are the ends of the link that is chosen, else the device that is.
func (w *window) chosenDevices() []string {
	if from, to, ok := w.ed.Link(); ok {
		return []string{from, to}
	}
	for _, id := range w.ed.Selected() {
		if f := w.ed.Settled().Feature(id); f != nil && (f.Kind == model.KindSensor || f.Kind == model.KindRepeater || f.Kind == model.KindReceiver) {
			return []string{id}
		}
	}
	return nil
}

// readingClock is by which clock a reading is told: the plan's, else that of this
// computer.
func (w *window) readingClock() (name string, zone *time.Location) {
	if s := w.ed.Settled().Settings; s.Clock != nil {
		return s.TimeZone, s.Clock
	}
	return "the time of this computer, UTC" + time.Now().Format("-07:00"), time.Local
}
