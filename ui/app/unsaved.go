package app

import (
	"path/filepath"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"pleach/assets"
	"pleach/gis/planfile"
	"pleach/model"
	"pleach/ui/panel"
)

// keepAfter is how long after a change unsaved work is kept safe. Chosen: little
// work to lose, and a burst of changes is written once.
const keepAfter = 3 * time.Second

// safe keeps the window's unsaved work on the disk. It is used on the window's
// goroutine; the zero safe keeps nothing.
type safe struct {
	folder string
	keeper *planfile.Keeper
	later  func(f func()) // does f on the window's goroutine, after keepAfter

	kept  *model.Plan         // written last, nil for none
	taken []planfile.Leftover // shown, and on the disk until that is kept or saved
	armed bool                // later has been asked
	busy  bool                // writing
	again bool                // something changed meanwhile
	said  bool                // that it fails
}

// keepUnsaved has the window keep its unsaved work in the user's data folder.
func (w *window) keepUnsaved() {
	data, err := assets.DataFolder()
	if err != nil {
		w.say("Unsaved work is not kept safe: " + err.Error())
		return
	}
	folder := filepath.Join(data, "unsaved")
	w.safe = safe{folder: folder, keeper: planfile.NewKeeper(folder), later: func(f func()) {
		time.AfterFunc(keepAfter, func() { fyne.Do(f) })
	}}
}

// wantSafe has the plan kept, or what was kept taken away, after a change.
func (w *window) wantSafe() {
	s := &w.safe
	switch {
	case s.keeper == nil:
	case !w.ed.Unsaved():
		if s.kept != nil || s.busy || len(s.taken) > 0 {
			w.makeSafe()
		}
	case !s.armed && s.kept != w.ed.Settled():
		s.armed = true
		s.later(func() {
			s.armed = false
			if w.ed.Busy() {
				w.wantSafe() // once it is let go
				return
			}
			w.makeSafe()
			w.lookAtFile()
		})
	}
}

// work is the plan as it is now.
func (w *window) work() planfile.Work {
	return planfile.Work{Path: w.path, Origin: w.origin, At: time.Now(), Plan: w.ed.Settled()}
}

// makeSafe brings the disk into line with the plan, behind the window.
func (w *window) makeSafe() {
	s := &w.safe
	if s.busy {
		s.again = true
		return
	}
	work, unsaved, taken := w.work(), w.ed.Unsaved(), s.taken
	s.busy, s.taken = true, nil
	var err error
	w.an.behind(func() {
		if !unsaved {
			s.keeper.Drop()
		} else if err = s.keeper.Keep(work); err != nil {
			return
		}
		for _, l := range taken {
			l.Discard()
		}
	}, func() {
		s.busy, s.kept = false, nil
		if unsaved {
			s.kept = work.Plan
		}
		if err != nil && !s.said {
			s.said = true
			w.say("Unsaved work is not kept safe: " + err.Error())
		}
		if s.again {
			s.again = false
			w.wantSafe()
		}
	})
}

// quit ends the program; what is not saved now has been given up.
func (w *window) quit() {
	if w.safe.keeper != nil {
		w.safe.keeper.Close()
	}
	for _, l := range w.safe.taken {
		l.Discard()
	}
	w.app.Quit()
}

// offerUnsaved looks for work on the plan that is shown which was lost when a
// program ended unsaved, and offers it. At the start so is work on plans that are
// in no file or in one that cannot be read.
func (w *window) offerUnsaved() {
	all := w.starting
	w.starting = false
	if w.safe.keeper == nil {
		return
	}
	folder, path, serial := w.safe.folder, w.path, w.an.serial
	var found []planfile.Leftover
	w.an.behind(func() {
		for _, l := range planfile.Leftovers(folder) {
			if l.Path != "" && l.Path == path || all && inNoFile(l.Path) {
				found = append(found, l)
			}
		}
	}, func() {
		if serial == w.an.serial {
			w.offer(found)
		}
	})
}

// inNoFile reports whether no plan can be read from a path.
func inNoFile(path string) bool {
	if path == "" {
		return true
	}
	_, err := planfile.Read(path)
	return err != nil
}

// offer asks what is to become of unsaved work, one after the other until one is
// opened.
func (w *window) offer(found []planfile.Leftover) {
	if len(found) == 0 {
		return
	}
	l := found[0]
	var d *dialog.CustomDialog
	discard := widget.NewButton("Discard it", func() {
		d.Hide()
		l.Discard()
		w.offer(found[1:])
	})
	later := widget.NewButton("Not now", func() { d.Hide(); w.offer(found[1:]) })
	open := widget.NewButton("Open it", func() {
		d.Hide()
		w.openLeftover(l)
	})
	open.Importance = widget.HighImportance
	of := "a plan that is in no file yet"
	if l.Path != "" {
		of = filepath.Base(l.Path)
	} else if t := l.Plan.Settings.Title; t != "" {
		of = t + ", which is in no file yet"
	}
	next := "Nothing is written to a file before you save."
	if l.Path != "" && l.Path == w.path {
		next = "Opened, it takes the place of what the file holds; Undo brings that back. " + next
	}
	body := panel.VBox(8,
		panel.NewPara("Unsaved work of "+clock(l.At, time.Now())+" was found: "+of+".", "", ""),
		panel.NewPara("The program ended before it was saved. "+next, panel.ColorSoft, panel.SizeNameSmall))
	d = dialog.NewCustomWithoutButtons("Unsaved work was found", panel.Inset(body, 8, 4, 8, 8), w.win)
	d.SetButtons([]fyne.CanvasObject{discard, later, open})
	d.Resize(fyne.NewSize(560, 210))
	d.Show()
	w.win.Canvas().Focus(open)
}

// clock writes a time of the same day by its hour, any other with its date.
func clock(at, now time.Time) string {
	at = at.Local()
	if y, d := now.Local().Year(), now.Local().YearDay(); at.Year() == y && at.YearDay() == d {
		return at.Format("15:04")
	}
	return at.Format("2 January 2006, 15:04")
}

// openLeftover shows unsaved work, not saved still. What was found is taken away
// once it is kept anew.
func (w *window) openLeftover(l planfile.Leftover) {
	if l.Path != "" && l.Path == w.path {
		w.try(func() error { return w.ed.Do(become{l.Plan, "open the unsaved work"}) })
		w.takeOver(l)
		return
	}
	w.ifSaved(func() {
		w.adopt(l.Plan, l.Path)
		w.origin = l.Origin
		w.ed.Made()
		w.takeOver(l)
	})
}

func (w *window) takeOver(l planfile.Leftover) {
	w.safe.taken = append(w.safe.taken, l)
	w.makeSafe()
}
