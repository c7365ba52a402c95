package app

import (
	"errors"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/ui/panel"
)

// prefBy is who accepted a finding last.
const prefBy = "accepted-by"

// seeker looks for remedies behind the window, one search at a time; of what is
// asked meanwhile the last is answered. It is used on the window's goroutine.
type seeker struct {
	busy bool
	next func()
	key  string      // sensor and rule of what was found last
	of   *model.Plan // it was found for
	last analysis.Remedies
}

// hookFindings lets the list of findings act on the plan.
func (w *window) hookFindings() {
	w.findings.Seek = w.seekRemedies
	w.findings.Apply = func(e model.Edit) { w.edit(e) }
	w.findings.Withdraw = func(a model.Accepted) { w.edit(model.Withdraw{Accepted: a}) }
	w.findings.Accept = w.askAccept
	w.findings.Repeater = w.findSites
	w.findings.Resized = func() {
		if w.details.Resized != nil {
			w.details.Resized()
		}
		w.findings.Reveal()
	}
}

func (w *window) edit(e model.Edit) {
	w.ed.Settle()
	if err := w.ed.Do(e); err != nil {
		w.say(panel.Sentence(err.Error()))
	}
}

// seekRemedies looks for what would end a finding.
func (w *window) seekRemedies(f model.Finding, then func(analysis.Remedies)) {
	r, id, serial := w.an.last, f.Subject[0], w.an.serial
	key := f.Rule + " " + id
	if r == nil {
		return
	}
	if w.seeker.of == r.Plan && w.seeker.key == key {
		then(w.seeker.last)
		return
	}
	if w.seeker.busy {
		w.seeker.next = func() { w.seekRemedies(f, then) }
		return
	}
	w.seeker.busy = true
	var found analysis.Remedies
	w.an.behind(func() {
		if f.Rule == "foliage" {
			found = r.FoliageRemedies(id)
		} else {
			found = r.OverspillRemedies(id)
		}
	}, func() {
		w.seeker.busy = false
		if serial == w.an.serial {
			w.seeker.of, w.seeker.key, w.seeker.last = r.Plan, key, found
			if w.an.last != nil && w.an.last.Plan == r.Plan {
				then(found)
			}
		}
		if next := w.seeker.next; next != nil {
			w.seeker.next = nil
			next()
		}
	})
}

// askAccept asks why a finding is accepted and by whom, and writes it into the plan
// as one step.
func (w *window) askAccept(f model.Finding) {
	w.ed.Settle()
	var d *dialog.CustomDialog
	what := panel.NewPara(f.Text, "", "")
	help := panel.NewPara(acceptHelp(f), panel.ColorSoft, panel.SizeNameSmall)
	reason, by := panel.NewOvertyped(), panel.NewOvertyped()
	reason.SetPlaceHolder("why it is right as it is")
	by.SetText(w.prefs.StringWithFallback(prefBy, w.ed.Plan().Settings.Designer))
	accept := func() {
		edit, err := acceptance(f, reason.Text, by.Text, time.Now())
		if err == nil {
			err = w.ed.Do(edit)
		}
		if err != nil {
			help.SetText(panel.Sentence(err.Error()))
			return
		}
		w.prefs.SetString(prefBy, strings.TrimSpace(by.Text))
		d.Hide()
	}
	reason.OnSubmitted = func(string) { w.win.Canvas().Focus(by) }
	by.OnSubmitted = func(string) { accept() }
	ok := widget.NewButton("Accept it", accept)
	ok.Importance = widget.HighImportance
	row := func(label string, e fyne.CanvasObject) fyne.CanvasObject {
		return panel.VBox(2, panel.NewLine(label, panel.ColorSoft, panel.SizeNameSmall), e)
	}
	d = dialog.NewCustomWithoutButtons("Accept this finding?", panel.Inset(panel.VBox(10, what, row("Reason", reason), row("By", by), help), 8, 4, 8, 8), w.win)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton("Cancel", func() { d.Hide() }), ok})
	d.Resize(fyne.NewSize(520, 350))
	d.Show()
	w.win.Canvas().Focus(reason)
}

// acceptHelp says what accepting a finding means.
func acceptHelp(f model.Finding) string {
	s := "It stays in the list, marked as accepted, and no longer counts as a fault."
	if f.From != nil {
		s += " It is accepted only while it lies within this stretch and half a metre at either end."
	}
	if f.Rule == "overspill" {
		s += " What the same sensor shows there of a person and of a vehicle is accepted together."
	}
	return s
}

// acceptance is the edit that accepts a finding. The error says what is missing.
func acceptance(f model.Finding, reason, by string, now time.Time) (model.Edit, error) {
	reason, by = strings.TrimSpace(reason), strings.TrimSpace(by)
	switch {
	case reason == "":
		return nil, errors.New("a reason is needed: whoever reads the plan later must be able to judge it")
	case by == "":
		return nil, errors.New("a name is needed: who accepts it")
	}
	return model.Accept{Finding: f, Reason: reason, By: by, At: now.Format(time.DateOnly)}, nil
}
