package app

import (
	"context"
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/widget"

	"pleach/assets"
	"pleach/gis/planfile"
	"pleach/model"
	"pleach/ui/panel"
)

// ctx is the life of the program.
var ctx = context.Background()

// start opens the plan the program was called with.
func (w *window) start(path string) {
	if path == "" {
		path = w.prefs.String(prefLast)
		if _, err := os.Stat(path); path == "" || err != nil {
			w.openDemo()
			return
		}
	}
	w.open(path)
}

// openDemo unpacks the demo into the user's data folder and opens it there.
func (w *window) openDemo() {
	path, err := assets.UnpackDemo()
	if err != nil {
		w.showError("The demo cannot be opened", err)
		return
	}
	w.open(path)
}

// open reads a plan and shows it; what is wrong is said in a dialog.
func (w *window) open(path string) {
	p, err := planfile.Read(path)
	if err != nil {
		w.showError("The plan cannot be opened", err)
		return
	}
	if abs, err := filepath.Abs(path); err == nil {
		path = abs
	}
	w.prefs.SetString(prefLast, path)
	w.adopt(p, path)
}

// dropped opens a file that was dropped on the window: a plan, or a picture for
// the plan that is open.
func (w *window) dropped(path string) {
	for _, ext := range jsonFiles {
		if strings.EqualFold(filepath.Ext(path), ext) {
			w.ifSaved(func() { w.open(path) })
			return
		}
	}
	w.tryPicture(path)
}

// ifSaved goes on with next once the plan is saved or given up.
func (w *window) ifSaved(next func()) {
	w.ed.Settle()
	if !w.ed.Unsaved() {
		next()
		return
	}
	var d dialog.Dialog
	save := widget.NewButton("Save", func() {
		d.Hide()
		w.save(func(ok bool) {
			if ok {
				next()
			}
		})
	})
	save.Importance = widget.HighImportance
	leave := widget.NewButton("Do not save", func() { d.Hide(); next() })
	stay := widget.NewButton("Keep working", func() { d.Hide() })
	body := panel.NewPara(w.name()+" has changes that are in no file yet.", "", "")
	d = dialog.NewCustomWithoutButtons("Save the changes?", panel.Inset(body, 8, 4, 8, 8), w.win)
	d.(*dialog.CustomDialog).SetButtons([]fyne.CanvasObject{stay, leave, save})
	d.Resize(fyne.NewSize(440, 160))
	d.Show()
}

// close is asked when the window is to be closed.
func (w *window) close() { w.ifSaved(w.app.Quit) }

// save writes the plan to its file, asking for one where there is none.
func (w *window) save(then func(ok bool)) {
	w.ed.Settle()
	if w.path == "" {
		w.saveAs(then)
		return
	}
	w.saveTo(w.path, then)
}

func (w *window) saveTo(path string, then func(ok bool)) {
	p := w.ed.Settled()
	// Files are named from the new folder in what is written first, and in what is
	// shown only once that folder is the plan's: in between they would not be found.
	var renamed model.Edit
	var err error
	if filepath.Dir(path) != w.folder() || w.path == "" {
		if steps := rebase(p, w.folder(), filepath.Dir(path)); len(steps) > 0 {
			renamed = model.Together{Name: "name files relative to the plan", Edits: steps}
			p, err = renamed.Apply(p)
		}
	}
	if err == nil {
		err = planfile.Write(path, p)
	}
	if err != nil {
		w.showError("The plan was not saved", err)
	} else {
		w.path = path
		w.prefs.SetString(prefLast, path)
		if renamed != nil {
			w.try(func() error { return w.ed.Do(renamed) })
		}
		w.ed.Saved()
		w.follow()
		w.say("Saved " + path)
	}
	if then != nil {
		then(err == nil)
	}
}

func (w *window) saveAs(then func(ok bool)) {
	w.ed.Settle()
	d := dialog.NewFileSave(func(u fyne.URIWriteCloser, err error) {
		if err != nil || u == nil {
			if err != nil {
				w.showError("The plan was not saved", err)
			}
			if then != nil {
				then(false)
			}
			return
		}
		path := u.URI().Path()
		u.Close()
		dropEmpty(path)
		if filepath.Ext(path) == "" {
			path += ".geojson"
		}
		w.saveTo(path, then)
	}, w.win)
	name := "plan.geojson"
	if w.path != "" {
		name = filepath.Base(w.path)
	} else if t := fileName(w.ed.Settled()); t != "" {
		name = t + ".geojson"
	}
	d.SetFileName(name)
	w.inFolder(d)
	d.Show()
}

// fileName makes a file's name of a plan's title.
func fileName(p *model.Plan) string {
	return strings.Trim(strings.Map(func(r rune) rune {
		switch {
		case r == ' ', r == '-', r == '_':
			return '-'
		case r < ' ', strings.ContainsRune(`/\:*?"<>|.`, r):
			return -1
		}
		return r
	}, strings.ToLower(p.Settings.Title)), "-")
}

// chooseFile asks for a file with one of the extensions.
func (w *window) chooseFile(title string, ext []string, then func(path string)) {
	d := dialog.NewFileOpen(func(u fyne.URIReadCloser, err error) {
		if err != nil {
			w.showError(title, err)
			return
		}
		if u == nil {
			return
		}
		path := u.URI().Path()
		u.Close()
		then(path)
	}, w.win)
	d.SetTitleText(title)
	if len(ext) > 0 {
		d.SetFilter(storage.NewExtensionFileFilter(ext))
	}
	w.inFolder(d)
	d.Show()
}

// inFolder has a file dialog begin where the plan is kept.
func (w *window) inFolder(d *dialog.FileDialog) {
	folder := w.folder()
	if w.path == "" {
		if last := w.prefs.String(prefLast); last != "" {
			folder = filepath.Dir(last)
		}
	}
	if l, err := storage.ListerForURI(storage.NewFileURI(folder)); err == nil {
		d.SetLocation(l)
	}
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(900, size.Width-40), min(640, size.Height-40)))
}

// showError says in a dialog what went wrong, a line for each thing.
func (w *window) showError(title string, err error) {
	lines := strings.Split(err.Error(), "\n")
	const most = 12
	if len(lines) > most {
		lines = append(lines[:most], "and more of the kind")
	}
	body := panel.VBox(6)
	for _, l := range lines {
		body.Add(panel.NewPara(l, "", ""))
	}
	d := dialog.NewCustomWithoutButtons(title, panel.Inset(container.NewVScroll(body), 8, 4, 8, 8), w.win)
	ok := widget.NewButton("Close", func() { d.Hide() })
	ok.Importance = widget.HighImportance
	d.SetButtons([]fyne.CanvasObject{ok})
	d.Resize(fyne.NewSize(560, float32(150+30*len(lines))))
	d.Show()
}

// dropEmpty takes away the empty file that the dialog has made: ours is written
// whole or not at all.
func dropEmpty(path string) {
	if info, err := os.Stat(path); err == nil && info.Mode().IsRegular() && info.Size() == 0 {
		os.Remove(path)
	}
}
