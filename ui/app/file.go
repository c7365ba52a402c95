package app

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/widget"

	"pleach/assets"
	"pleach/gis/imagery"
	"pleach/gis/planfile"
	"pleach/model"
	"pleach/ui/panel"
)

// ctx is the life of the program.
var ctx = context.Background()

// start opens the plan the program was called with, and offers unsaved work.
func (w *window) start(path string) {
	w.starting = true
	if path == "" {
		path = w.prefs.String(prefLast)
		if _, err := os.Stat(path); err != nil {
			path = ""
		}
	}
	if path == "" {
		w.openDemo()
	} else {
		w.open(path)
	}
	if w.starting { // it could not be opened
		w.offerUnsaved()
	}
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
	p, stamp, err := readPlan(path)
	if err != nil {
		w.showError("The plan cannot be opened", err)
		return
	}
	if abs, err := filepath.Abs(path); err == nil {
		path = abs
	}
	w.prefs.SetString(prefLast, path)
	w.adopt(p, path)
	w.onDisk = stamp
	w.offerUnsaved()
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
func (w *window) close() { w.ifSaved(w.quit) }

// save writes the plan to its file, asking for one where there is none.
func (w *window) save(then func(ok bool)) {
	w.ed.Settle()
	if w.path == "" {
		w.saveAs(then)
		return
	}
	w.saveTo(w.path, then)
}

// saveTo writes the plan to a file. Where that is the plan's own and holds what
// another program wrote, it asks first.
func (w *window) saveTo(path string, then func(ok bool)) {
	if path == w.path && w.onDisk.Differs(path, w.ed.Settled().JSON()) {
		w.askOther(then)
		return
	}
	w.writeTo(path, then)
}

func (w *window) writeTo(path string, then func(ok bool)) {
	p := w.ed.Settled()
	// Files are named from the new folder in what is written first, and in what is
	// shown only once that folder is the plan's: in between they would not be found.
	var renamed model.Edit
	var err error
	if filepath.Dir(path) != w.folder() || w.path == "" {
		if steps := imagery.Rebase(p, w.folder(), filepath.Dir(path)); len(steps) > 0 {
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
		w.onDisk, w.other = planfile.StampOf(path, p.JSON()), false
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
	name := "plan.geojson"
	if w.path != "" {
		name = filepath.Base(w.path)
	} else if t := fileName(w.ed.Settled()); t != "" {
		name = t + ".geojson"
	}
	w.choosePath("Save the plan", "The plan was not saved", name, jsonFiles, func(path string) {
		if path != "" {
			w.saveTo(path, then)
		} else if then != nil {
			then(false)
		}
	})
}

// choosePath asks for a file to be written, with the first of the extensions
// unless it has one of them; then is told its path, "" where none is chosen. What
// is there already is left as it is. failed heads what is said where it cannot be.
func (w *window) choosePath(title, failed, name string, ext []string, then func(path string)) {
	// The toolkit's dialog empties the file that is chosen. So it only asks, and
	// its button is ours.
	d := dialog.NewFileSave(func(u fyne.URIWriteCloser, err error) {
		if u != nil {
			u.Close()
		}
		if err != nil {
			w.showError(failed, err)
		}
		then("")
	}, w.win)
	d.SetTitleText(title)
	d.SetFileName(name)
	folder := w.home()
	if folder == "" {
		folder, _ = os.UserHomeDir()
	}
	w.inFolder(d, folder)
	content := w.showFiles(d)
	entry, save := nameAndSave(content)
	if entry == nil || save == nil {
		return
	}
	save.OnTapped = func() {
		path := chosenPath(entry.Text, w.app.Preferences().String(dialogFolder), ext)
		if path == "" {
			return
		}
		done := func() { d.Hide(); then(path) }
		switch info, err := os.Stat(path); {
		case err == nil && info.IsDir():
			w.showError(failed, fmt.Errorf("%s: is a folder: name a file in it", path))
		case err == nil && path != w.path:
			dialog.ShowConfirm("Save in its place?", path+" is there already.", func(yes bool) {
				if yes {
					done()
				}
			}, w.win)
		default:
			done()
		}
	}
	// The files are shown anew: a double click on one takes the button as it is now.
	d.SetFilter(storage.NewExtensionFileFilter(ext))
}

// dialogFolder is the preference in which the toolkit keeps the folder that its
// file dialog shows.
const dialogFolder = "fyne:fileDialogLastFolder"

// chosenPath is the file that is meant by a name typed while a folder (a file
// URI) is shown: a full path is taken as it stands, ~ is the home folder. It is
// "" for no name.
func chosenPath(name, folder string, ext []string) string {
	name = strings.TrimSpace(name)
	if name == "" {
		return ""
	}
	if rest, ok := strings.CutPrefix(name, "~"+string(filepath.Separator)); ok {
		if home, err := os.UserHomeDir(); err == nil {
			name = filepath.Join(home, rest)
		}
	}
	if !filepath.IsAbs(name) {
		u, err := storage.ParseURI(folder)
		if err != nil {
			return ""
		}
		name = filepath.Join(u.Path(), name)
	}
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return name
	}
	for _, e := range ext {
		if strings.EqualFold(filepath.Ext(name), e) {
			return filepath.Clean(name)
		}
	}
	return filepath.Clean(name) + ext[0]
}

// nameAndSave finds the field for the name and the button that saves in the
// toolkit's file dialog: the entry, and the button that stands out.
func nameAndSave(o fyne.CanvasObject) (entry *widget.Entry, save *widget.Button) {
	switch o := o.(type) {
	case *widget.Entry:
		return o, nil
	case *widget.Button:
		if o.Importance == widget.HighImportance {
			return nil, o
		}
	case *container.Scroll:
		return nameAndSave(o.Content)
	case *fyne.Container:
		for _, c := range o.Objects {
			e, b := nameAndSave(c)
			if e != nil {
				entry = e
			}
			if b != nil {
				save = b
			}
		}
	}
	return entry, save
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
	w.inFolder(d, w.home())
	w.showFiles(d)
}

// showFiles shows a file dialog and returns what is in it, nil for nothing of
// ours to touch. Between places and files it has a hairline: the handle of the
// toolkit's is a bar that says nothing.
func (w *window) showFiles(d *dialog.FileDialog) fyne.CanvasObject {
	d.Show()
	top, ok := w.win.Canvas().Overlays().Top().(*widget.PopUp)
	if !ok {
		return nil
	}
	if box, ok := top.Content.(*fyne.Container); ok {
		for i, o := range box.Objects {
			if s, ok := o.(*container.Split); ok {
				places := container.NewBorder(nil, nil, nil, panel.Rule(), s.Leading)
				box.Objects[i] = container.NewBorder(nil, nil, places, nil, s.Trailing)
			}
		}
		box.Refresh()
	}
	return top.Content
}

// inFolder has a file dialog begin in a folder; "" is where the dialog was last.
func (w *window) inFolder(d *dialog.FileDialog, folder string) {
	if l, err := storage.ListerForURI(storage.NewFileURI(folder)); folder != "" && err == nil {
		d.SetLocation(l)
	}
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(900, size.Width-40), min(640, size.Height-40)))
}

// home is the folder where the plan is kept; of one that is in no file yet,
// where what it is made of lies. "" is for none, and for the folder in which the
// program keeps the demo: that is no place for the user's own files.
func (w *window) home() string {
	folder := w.origin
	if bm := w.ed.Settled().Settings.BaseMap; bm != nil && filepath.IsAbs(filepath.FromSlash(bm.File)) {
		folder = filepath.Dir(filepath.FromSlash(bm.File))
	}
	if w.path != "" {
		folder = filepath.Dir(w.path)
	}
	if data, err := assets.DataFolder(); err == nil && strings.HasPrefix(folder, data+string(filepath.Separator)) {
		return ""
	}
	return folder
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
