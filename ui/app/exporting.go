package app

import (
	"fmt"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"pleach/gis/gdal"
	"pleach/gis/imagery"
	"pleach/gis/planfile"
	"pleach/model/analysis"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/ui/export"
	"pleach/ui/panel"
)

// export asks for a format and writes the plan and its result in it.
func (w *window) export() {
	w.ed.Settle()
	format := export.Formats[0]
	var options []panel.Option
	for _, f := range export.Formats {
		options = append(options, panel.Option{Value: f, Label: export.Title(f)})
	}
	width := export.UsualWidth
	var wide []panel.Option
	for _, n := range []int{export.UsualWidth / 2, export.UsualWidth, 2 * export.UsualWidth} {
		wide = append(wide, panel.Option{Value: n, Label: fmt.Sprintf("%d pixels wide", n)})
	}
	size := panel.NewPick(wide...)
	size.Set(width, "", false)
	size.Commit = func(v any) error { size.Set(v, "", false); width = v.(int); return nil }
	sizeRow := panel.FormRow("Picture", size)
	sizeRow.Hide()
	pick := panel.NewPick(options...)
	pick.Set(format, "", false)
	pick.Commit = func(v any) error {
		pick.Set(v, "", false)
		if format = v.(string); format == ".png" {
			sizeRow.Show()
		} else {
			sizeRow.Hide()
		}
		return nil
	}
	help := panel.NewPara("The plan is left as it is. What is written can be made again at any time.", panel.ColorSoft, panel.SizeNameSmall)
	var d *dialog.CustomDialog
	ok := widget.NewButton("Write the file…", func() {
		d.Hide()
		name := w.name()
		name = strings.TrimSuffix(name, filepath.Ext(name)) + format
		if format == ".geojson" {
			name = strings.TrimSuffix(name, format) + "-results" + format
		}
		w.choosePath("Export", exportFailed, name, []string{format}, func(path string) {
			if path != "" {
				w.exportTo(path, format, width)
			}
		})
	})
	ok.Importance = widget.HighImportance
	d = dialog.NewCustomWithoutButtons("Export", panel.Inset(panel.VBox(12, panel.VBox(0, panel.FormRow("Format", pick), sizeRow), help), 8, 4, 8, 8), w.win)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton("Cancel", func() { d.Hide() }), ok})
	d.Resize(fyne.NewSize(440, 200))
	d.Show()
}

const exportFailed = "The file was not written"

// exportTo exports in the background: all it works on is its own or never changes.
func (w *window) exportTo(path, format string, width int) {
	p, folder, own := w.ed.Settled(), w.folder(), w.path
	w.say("Exporting…")
	var said string
	var err error
	w.an.behind(func() {
		lon, lat := scene.Origin(p)
		sc, _ := new(grounds).lay(folder, p, sitegrid.New(lon, lat), nil)
		if err = planfile.NotItsOwn(path, own, p); err == nil {
			said, err = exportPlan(path, folder, format, width, sc)
		}
	}, func() {
		if err != nil {
			w.hint()
			w.showError(exportFailed, err)
			return
		}
		w.say(said)
	})
}

func exportPlan(path, folder, format string, width int, sc *scene.Scene) (said string, err error) {
	r, err := analysis.Whole(ctx, sc)
	if err != nil {
		return "", err
	}
	in := export.Input{Result: r, GeoPackage: gdal.GeoPackage, Width: width}
	without := ""
	if bm := sc.Plan.Settings.BaseMap; bm != nil && export.WithPicture(format) {
		if l, err := imagery.Load(ctx, folder, *bm, sc.Grid, 0); err == nil {
			in.Picture = l.Picture
		} else {
			without = ", without its picture: " + err.Error()
		}
	}
	data, err := export.Encode(format, in)
	if err != nil {
		return "", err
	}
	if err := planfile.Replace(path, data); err != nil {
		return "", fmt.Errorf("%s: not written: %w", path, err)
	}
	return "Exported " + path + without, nil
}
