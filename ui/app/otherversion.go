package app

import (
	"path/filepath"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"pleach/gis/planfile"
	"pleach/model"
	"pleach/ui/panel"
)

// readPlan reads a plan and stamps its file.
func readPlan(path string) (*model.Plan, planfile.Stamp, error) {
	data, err := planfile.Load(path)
	if err != nil {
		return nil, planfile.Stamp{}, err
	}
	p, err := planfile.Parse(path, data)
	return p, planfile.StampOf(path, data), err
}

// become is the edit that puts a whole plan in the place of another.
type become struct {
	plan *model.Plan
	name string
}

// Label names the step.
func (b become) Label() string { return b.name }

// Apply returns the plan that was put in.
func (b become) Apply(*model.Plan) (*model.Plan, error) { return b.plan, nil }

// askOther asks what is to become of the version that another program has written
// to the plan's file since it was read.
func (w *window) askOther(then func(ok bool)) {
	if then == nil {
		then = func(bool) {}
	}
	var d *dialog.CustomDialog
	stay := widget.NewButton("Keep working", func() { d.Hide(); then(false) })
	open := widget.NewButton("Open the other version", func() {
		d.Hide()
		w.openOther()
		then(false)
	})
	as := widget.NewButton("Save as…", func() { d.Hide(); w.saveAs(then) })
	as.Importance = widget.HighImportance
	over := widget.NewButton("Save over it", func() { d.Hide(); w.writeTo(w.path, then) })
	name := filepath.Base(w.path)
	body := panel.VBox(8,
		panel.NewPara("The file "+name+" has changed since it was opened: another program has written to it.", "", ""),
		panel.NewPara("Saved over, the other version is kept as "+name+planfile.BackupSuffix+" until the next time you save. "+
			"Opened, it takes the place of what is shown here; Undo brings that back.", panel.ColorSoft, panel.SizeNameSmall))
	d = dialog.NewCustomWithoutButtons("The file has changed", panel.Inset(body, 8, 4, 8, 8), w.win)
	d.SetButtons([]fyne.CanvasObject{stay, open, over, as})
	d.Resize(fyne.NewSize(620, 210))
	d.Show()
}

// openOther shows what stands in the plan's file now; what was shown before comes
// back with Undo.
func (w *window) openOther() {
	p, stamp, err := readPlan(w.path)
	if err != nil {
		w.showError("The other version cannot be opened", err)
		return
	}
	w.onDisk, w.other = stamp, false
	w.try(func() error { return w.ed.Do(become{p, "open the other version"}) })
	w.ed.Saved()
	w.say("Opened " + w.path + " as it is now")
}

// lookAtFile says so where another program has written to the plan's file.
func (w *window) lookAtFile() {
	path, stamp, plan := w.path, w.onDisk, w.ed.Settled()
	if path == "" || w.other {
		return
	}
	differs := false
	w.an.behind(func() { differs = stamp.Touched(path) && stamp.Differs(path, plan.JSON()) }, func() {
		if differs && path == w.path && stamp == w.onDisk {
			w.other = true
			w.say(w.otherWords())
		}
	})
}

func (w *window) otherWords() string {
	return filepath.Base(w.path) + " has been changed by another program since it was opened: Save asks which version is to stand."
}
