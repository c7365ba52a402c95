package app

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"pleach/gis/elevation"
	"pleach/gis/exchange"
	"pleach/gis/gdal"
	"pleach/gis/imagery"
	"pleach/model"
	"pleach/ui/panel"
)

// Extensions of files that are asked for.
var (
	imageFiles   = []string{".tif", ".tiff", ".jpg", ".jpeg", ".png", ".jp2"}
	terrainFiles = []string{".tif", ".tiff", ".asc", ".bil", ".flt", ".img", ".dt0", ".dt1", ".dt2", ".hgt", ".dem", ".grd", ".xyz", ".png", ".jp2"}
	jsonFiles    = []string{".geojson", ".json"}
)

// newPlan asks for what a plan is made of and makes it.
func (w *window) newPlan() { w.ifSaved(func() { w.newForm(sources{}) }) }

// sources is what the form for a new plan is filled in with.
type sources struct {
	exchange.Input
	title, image, crs, terrain, terrainCRS, terrainUnit string
}

// newForm asks for the sources of a new plan, src to begin with.
func (w *window) newForm(src sources) {
	var d *dialog.CustomDialog
	f := w.newSourceForm("Every file is optional. Without a picture the drawing stands on bare paper; what no file brings is drawn on the map.")
	f.text("Title", &src.title)
	f.file("Aerial picture", imageFiles, &src.image)
	f.system("Its coordinate system, EPSG:n", &src.crs)
	f.file("Ground heights", terrainFiles, &src.terrain)
	f.system("Their coordinate system, EPSG:n", &src.terrainCRS)
	f.unit("Their unit", &src.terrainUnit)
	f.file("Boundary", jsonFiles, &src.Boundary)
	f.file("Buildings", jsonFiles, &src.Buildings)
	f.file("Roads and footpaths", jsonFiles, &src.Roads)
	f.file("Woods and hedges", jsonFiles, &src.Foliage)
	cancel := widget.NewButton("Cancel", func() { d.Hide() })
	var ok *widget.Button
	ok = widget.NewButton("Make the plan", func() {
		w.win.Canvas().Unfocus()
		ok.Disable()
		w.makePlan(src, func(err error) {
			ok.Enable()
			if err != nil {
				f.fail(err)
				return
			}
			d.Hide()
		})
	})
	ok.Importance = widget.HighImportance
	body := panel.VBox(12, f.rows, f.help)
	d = dialog.NewCustomWithoutButtons("A new plan", panel.Inset(body, 8, 4, 8, 8), w.win)
	d.SetButtons([]fyne.CanvasObject{cancel, ok})
	d.Resize(fyne.NewSize(560, 330))
	d.Show()
}

// systemName reads what is typed for a coordinate reference system: a bare number
// is a code of the EPSG register, "" is none.
func systemName(s string) (string, error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return "", nil
	}
	if strings.Trim(s, "0123456789") == "" {
		s = "EPSG:" + s
	}
	c, err := gdal.ParseCRS(s)
	if err != nil {
		return "", err
	}
	return c.String(), nil
}

// made is what the files of a new plan came to.
type made struct {
	plan    *model.Plan
	leftOut []string
	notes   []string // on its terrain
	bare    bool     // its picture has no position on the ground
	err     error
}

// makePlan makes the plan behind the window and shows it; then is told what is
// wrong, nil for nothing. A picture without a position is placed by hand next.
func (w *window) makePlan(src sources, then func(error)) {
	var m made
	serial := w.an.serial
	w.say("Reading the files…")
	w.an.behind(func() { m = src.make() }, func() {
		w.hint()
		if serial != w.an.serial {
			return
		}
		// The form goes first: it would take what is shown above it along.
		then(m.err)
		if m.err != nil {
			return
		}
		w.adopt(m.plan, "")
		for _, file := range []string{src.image, src.Boundary, src.terrain, src.Buildings, src.Roads, src.Foliage} {
			if file != "" && w.origin == "" {
				w.origin = filepath.Dir(file)
			}
		}
		if src != (sources{}) {
			w.ed.Made()
		}
		if m.bare {
			w.placePicture(src.image)
		}
		if len(m.notes) > 0 {
			w.showError("On the ground heights", errors.New(strings.Join(m.notes, "\n")))
		}
		if len(m.leftOut) > 0 {
			w.showError(fmt.Sprintf("%d features were left out", len(m.leftOut)), errors.New(strings.Join(m.leftOut, "\n")))
		}
	})
}

// make reads the files.
func (src sources) make() (m made) {
	features, leftOut, err := exchange.Features(src.Input)
	if err != nil {
		return made{err: err}
	}
	m.leftOut = leftOut
	var settings []model.Member
	if src.title != "" {
		settings = append(settings, model.Prop("title", src.title))
	}
	if src.image != "" {
		abs, err := filepath.Abs(src.image)
		if err != nil {
			return made{err: err}
		}
		crs, err := systemName(src.crs)
		if err != nil {
			return made{err: err}
		}
		bm := model.BaseMap{File: filepath.ToSlash(abs), CRS: crs}
		switch err := looksRight(bm); {
		case errors.Is(err, gdal.ErrNoPosition):
			m.bare = true
			if _, _, err := imagery.Bare(ctx, abs, imagery.CheckPixels); err != nil {
				return made{err: err}
			}
		case err != nil:
			return made{err: err}
		default:
			settings = append(settings, model.Prop("base_map", bm.Value()))
		}
	}
	if src.terrain != "" {
		tf, notes, err := src.heights()
		if err != nil {
			return made{err: err}
		}
		settings = append(settings, model.Prop("terrain", tf.Value()))
		m.notes = notes
	}
	m.plan, m.err = model.Add{Features: features}.Apply(model.NewPlan(settings...))
	return m
}

// heights looks at the raster of ground heights and returns the setting that names
// it, and what is to be said of it.
func (src sources) heights() (tf model.TerrainFile, notes []string, err error) {
	abs, err := filepath.Abs(src.terrain)
	if err != nil {
		return tf, nil, err
	}
	crs, err := systemName(src.terrainCRS)
	if err != nil {
		return tf, nil, err
	}
	tf = model.TerrainFile{File: filepath.ToSlash(abs), CRS: crs, Unit: src.terrainUnit}
	info, err := elevation.Look("", tf)
	return tf, info.Notes, err
}

// looksRight reports what is wrong with an aerial picture.
func looksRight(bm model.BaseMap) error {
	_, err := imagery.Check(ctx, "", bm)
	return err
}

// choosePicture asks for an aerial picture to lay under the plan.
func (w *window) choosePicture() {
	w.chooseFile("The aerial picture", imageFiles, w.tryPicture)
}

// tryPicture lays a picture under the plan; what it does not say is asked for.
func (w *window) tryPicture(path string) {
	abs, err := filepath.Abs(path)
	if err != nil {
		w.showError("The picture cannot be used", err)
		return
	}
	bm := model.BaseMap{File: filepath.ToSlash(abs)}
	w.say("Reading the picture…")
	serial := w.an.serial
	w.an.behind(func() { err = looksRight(bm) }, func() {
		w.hint()
		switch {
		case serial != w.an.serial: // another plan is open
		case errors.Is(err, gdal.ErrNoPosition):
			w.placePicture(path)
		case errors.Is(err, gdal.ErrNoCRS):
			w.askCRS(bm)
		case err != nil:
			w.showError("The picture cannot be used", err)
		default:
			w.usePicture(bm, "lay a picture under the plan")
		}
	})
}

// askCRS asks in which coordinate system a picture lies.
func (w *window) askCRS(bm model.BaseMap) {
	var d *dialog.CustomDialog
	help := panel.NewPara(filepath.Base(bm.File)+" says where it lies but not in which coordinate reference system. Its supplier can tell; it looks like EPSG:2994.", panel.ColorSoft, "")
	entry := panel.NewOvertyped()
	entry.SetPlaceHolder("EPSG:")
	use := func() {
		name, err := systemName(entry.Text)
		if err == nil && name == "" {
			err = errors.New("a coordinate reference system is needed: its number in the EPSG register, such as 2994")
		}
		if err != nil {
			help.SetText(panel.Sentence(err.Error()))
			return
		}
		bm.CRS = name
		if err := looksRight(bm); err != nil {
			help.SetText(err.Error())
			return
		}
		d.Hide()
		w.usePicture(bm, "lay a picture under the plan")
	}
	entry.OnSubmitted = func(string) { use() }
	ok := widget.NewButton("Use it", use)
	ok.Importance = widget.HighImportance
	d = dialog.NewCustomWithoutButtons("In which coordinate system?", panel.Inset(panel.VBox(10, help, entry), 8, 4, 8, 8), w.win)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton("Cancel", func() { d.Hide() }), ok})
	d.Resize(fyne.NewSize(480, 220))
	d.Show()
	w.win.Canvas().Focus(entry)
}

// usePicture makes a picture the plan's, as one step.
func (w *window) usePicture(bm model.BaseMap, step string) {
	if w.path != "" {
		bm.File = imagery.Relative(w.folder(), filepath.FromSlash(bm.File))
	}
	w.try(func() error {
		return w.ed.Do(model.Change{Path: "base_map", Value: bm.Value(), Name: step})
	})
	if !hasPlaces(w.ed.Settled()) {
		w.fitted = false
		w.chart.Unfit()
	}
}
