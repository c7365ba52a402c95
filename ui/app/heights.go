package app

import (
	"errors"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"pleach/gis/imagery"
	"pleach/model"
	"pleach/ui/panel"
)

// chooseHeights asks for a raster of ground heights to lay the plan on. The form
// begins with the one it has.
func (w *window) chooseHeights() {
	var src sources
	var had model.TerrainFile
	if tf := w.ed.Settled().Settings.Terrain; tf != nil {
		had = *tf
		src.terrain, src.terrainCRS, src.terrainUnit = tf.File, tf.CRS, tf.Unit
		if path, err := imagery.Path(w.folder(), tf.File); err == nil {
			src.terrain = path
		}
	}
	var d *dialog.CustomDialog
	f := w.newSourceForm("A raster of the heights of the bare ground: a GeoTIFF, a text grid and the like. Patterns, lines of sight and radio links follow it.")
	f.file("Ground heights", terrainFiles, &src.terrain)
	f.system("Their coordinate system, EPSG:n", &src.terrainCRS)
	f.unit("Their unit", &src.terrainUnit)
	var use *widget.Button
	use = widget.NewButton("Use them", func() {
		w.win.Canvas().Unfocus()
		if src.terrain == "" {
			f.fail(errors.New("choose a file of ground heights first"))
			return
		}
		use.Disable()
		serial := w.an.serial
		var tf model.TerrainFile
		var notes []string
		var err error
		w.an.behind(func() { tf, notes, err = src.heights() }, func() {
			use.Enable()
			switch {
			case serial != w.an.serial:
				d.Hide()
			case err != nil:
				f.fail(err)
			default:
				d.Hide()
				w.useHeights(tf, had)
				if len(notes) > 0 {
					w.showError("On the ground heights", errors.New(strings.Join(notes, "\n")))
				}
			}
		})
	})
	use.Importance = widget.HighImportance
	d = dialog.NewCustomWithoutButtons("Ground heights", panel.Inset(panel.VBox(12, f.rows, f.help), 8, 4, 8, 8), w.win)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton("Cancel", func() { d.Hide() }), use})
	d.Resize(fyne.NewSize(560, 250))
	d.Show()
}

// useHeights makes a raster of heights the plan's, as one step, unless it is so
// already.
func (w *window) useHeights(tf, had model.TerrainFile) {
	if w.path != "" {
		tf.File = imagery.Relative(w.folder(), filepath.FromSlash(tf.File))
	}
	if tf == had {
		return
	}
	w.try(func() error {
		return w.ed.Do(model.Change{Path: "terrain", Value: tf.Value(), Name: "lay the plan on ground heights"})
	})
}
