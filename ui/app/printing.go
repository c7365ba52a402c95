package app

import (
	"bytes"
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"
	"github.com/paulmach/orb"

	"pleach/gis/elevation"
	"pleach/gis/gdal"
	"pleach/gis/imagery"
	"pleach/gis/planfile"
	"pleach/model/analysis"
	"pleach/model/order"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/ui/panel"
	"pleach/ui/paper"
)

// usualScales are offered; 0 is the largest that fits.
var usualScales = []int{0, 200, 250, 500, 1000, 1250, 2000, 2500, 5000, 10000}

// print asks how the drawing is to be printed and writes it as PDF.
func (w *window) print() {
	w.ed.Settle()
	var opt paper.Options
	var d *dialog.CustomDialog
	size := panel.NewPick(panel.Option{Value: "", Label: "the one that suits"}, panel.Option{Value: "A4", Label: "A4"}, panel.Option{Value: "A3", Label: "A3"})
	size.Set("", "", false)
	size.Commit = func(v any) (err error) {
		size.Set(v, "", false)
		opt.Paper, err = paper.ParseFormat(v.(string))
		return err
	}
	var scales []panel.Option
	for _, s := range usualScales {
		label := fmt.Sprintf("1:%d", s)
		if s == 0 {
			label = "the largest that fits"
		}
		scales = append(scales, panel.Option{Value: s, Label: label})
	}
	scale := panel.NewPick(scales...)
	scale.Set(0, "", false)
	scale.Commit = func(v any) error { scale.Set(v, "", false); opt.Scale = v.(int); return nil }
	tile := panel.NewPick(panel.Option{Value: false, Label: "one sheet"}, panel.Option{Value: true, Label: "as many sheets as needed"})
	tile.Set(false, "", false)
	tile.Commit = func(v any) error { tile.Set(v, "", false); opt.Tile = v.(bool); return nil }
	mono := panel.NewPick(panel.Option{Value: false, Label: "yes"}, panel.Option{Value: true, Label: "no"})
	mono.Set(false, "", false)
	mono.Commit = func(v any) error { mono.Set(v, "", false); opt.Mono = v.(bool); return nil }
	which := newSheetChoice()
	var with extras
	since := w.pickFile("none: no clouds", "an earlier plan…", "Clouds round what changed since", jsonFiles, func(path string) { with.before = path })
	prices := w.pickFile("none", "a table of prices…", "What items cost: a table with the headings code and price", []string{".csv"}, func(path string) { with.prices = path })
	help := panel.NewPara("The drawing is true to scale when the PDF is printed at 100 per cent.", panel.ColorSoft, panel.SizeNameSmall)
	how := panel.VBox(0, panel.FormRow("Paper", size), panel.FormRow("Scale", scale), panel.FormRow("The layout on", tile), panel.FormRow("In colour", mono), panel.FormRow("Changes since", since), panel.FormRow("Prices on the bill", prices))
	body := panel.VBox(12, panel.VBox(0, panel.FormRow("Sheets", which.preset), which.ticks), how, help)
	ok := widget.NewButton("Write the PDF…", func() {
		opt.Sheets = which.names()
		if len(opt.Sheets) == 0 {
			w.showError("Nothing is chosen to be printed", errors.New("tick at least one sheet"))
			return
		}
		if with.prices != "" && !slices.Contains(opt.Sheets, "bill") {
			w.showError("Prices without a bill", errors.New("prices go on the bill of materials alone: tick it too, or choose no prices"))
			return
		}
		d.Hide()
		w.choosePDF(func(path string) { w.printTo(path, opt, with) })
	})
	ok.Importance = widget.HighImportance
	d = dialog.NewCustomWithoutButtons("Print", panel.Inset(body, 8, 4, 8, 8), w.win)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton("Cancel", func() { d.Hide() }), ok})
	d.Resize(fyne.NewSize(480, 320))
	d.Show()
}

// sheetChoice is which sheets of the set are printed: one by one, or by whom they
// are for.
type sheetChoice struct {
	preset *panel.Pick
	ticks  *fyne.Container
	checks map[string]*widget.Check
}

// presets are the sheets for a purpose; the first is what is printed unless
// something else is chosen.
func presets() []panel.Option {
	return []panel.Option{
		{Value: "layout", Label: "the layout"},
		{Value: "customer", Label: "for the customer"},
		{Value: "van layout detail posts signals radio addresses walk notes", Label: "for the van"},
		{Value: strings.Join(paper.Sheets(), " "), Label: "the whole set"},
	}
}

const asTicked = "as ticked"

func newSheetChoice() *sheetChoice {
	c := &sheetChoice{checks: map[string]*widget.Check{}, ticks: container.NewGridWithColumns(2)}
	c.preset = panel.NewPick(presets()...)
	tick := func() { // says what the ticks come to
		now := strings.Join(c.names(), " ")
		if slices.ContainsFunc(presets(), func(o panel.Option) bool { return o.Value == now }) {
			c.preset.Set(now, "", false)
		} else {
			c.preset.Set(now, asTicked, false)
		}
	}
	// Down the columns, in the order of the set.
	names := paper.Sheets()
	half := (len(names) + 1) / 2
	for i := range 2 * half {
		at := i/2 + i%2*half
		if at >= len(names) {
			break
		}
		check := widget.NewCheck(paper.SheetTitle(names[at]), func(bool) { tick() })
		c.checks[names[at]] = check
		c.ticks.Add(check)
	}
	c.preset.Commit = func(v any) error {
		chosen := strings.Fields(v.(string))
		for name, check := range c.checks {
			check.Checked = slices.Contains(chosen, name)
			check.Refresh()
		}
		tick()
		return nil
	}
	c.preset.Commit(presets()[0].Value)
	return c
}

// names are the sheets chosen, in the order of the set.
func (c *sheetChoice) names() (out []string) {
	for _, name := range paper.Sheets() {
		if c.checks[name].Checked {
			out = append(out, name)
		}
	}
	return out
}

// extras are files that a drawing is printed with, "" for none.
type extras struct {
	before string // the plan since which changes are clouded
	prices string // what the items of the bill cost
}

// pickFile picks a file or none.
func (w *window) pickFile(none, some, title string, ext []string, then func(path string)) *panel.Pick {
	pick := panel.NewPick(panel.Option{Value: "", Label: none}, panel.Option{Value: "choose", Label: some})
	pick.Set("", "", false)
	pick.Commit = func(v any) error {
		if v == "" {
			pick.Set("", "", false)
			then("")
			return nil
		}
		w.chooseFile(title, ext, func(path string) {
			pick.Set("choose", filepath.Base(path), false)
			then(path)
		})
		return nil
	}
	return pick
}

// earlier reads and analyses the plan at path, "" for none.
func earlier(path string) (*analysis.Result, error) {
	if path == "" {
		return nil, nil
	}
	p, err := planfile.Read(path)
	if err != nil {
		return nil, err
	}
	if flaws := p.AllFlaws(); len(flaws) > 0 {
		return nil, fmt.Errorf("%s: %w", path, flaws[0])
	}
	lon, lat := scene.Origin(p)
	sc, _ := new(grounds).lay(filepath.Dir(path), p, sitegrid.New(lon, lat), nil)
	return analysis.Whole(ctx, sc)
}

func (w *window) choosePDF(then func(path string)) {
	name := w.name()
	name = strings.TrimSuffix(name, filepath.Ext(name)) + ".pdf"
	w.choosePath("Write the drawing", "The drawing was not written", name, []string{".pdf"}, func(path string) {
		if path != "" {
			then(path)
		}
	})
}

// printTo prints in the background: all it works on is its own or never changes.
func (w *window) printTo(path string, opt paper.Options, with extras) {
	p, folder := w.ed.Settled(), w.folder()
	w.say("Printing…")
	var said string
	var err error
	w.an.behind(func() {
		lon, lat := scene.Origin(p)
		sc, _ := new(grounds).lay(folder, p, sitegrid.New(lon, lat), nil)
		said, err = printPlan(path, folder, sc, with, opt)
	}, func() {
		if err != nil {
			w.hint()
			w.showError("The drawing was not written", err)
			return
		}
		if err := fyne.CurrentApp().OpenURL(fileURL(path)); err != nil {
			said += "; no program on this computer shows it: " + err.Error()
		}
		w.say(said)
	})
}

// fileURL is the address of a file on this computer.
func fileURL(path string) *url.URL {
	if abs, err := filepath.Abs(path); err == nil {
		path = abs
	}
	return &url.URL{Scheme: "file", Path: filepath.ToSlash(path)}
}

func printPlan(path, folder string, sc *scene.Scene, with extras, opt paper.Options) (said string, err error) {
	in := paper.Input{Plan: sc.Plan, Scene: sc, PricesFrom: filepath.Base(with.prices)}
	if in.Before, err = earlier(with.before); err != nil {
		return "", err
	}
	if with.prices != "" {
		p, err := planfile.ReadTable(with.prices, "table of prices", order.MaxBytes, order.ReadPrices)
		if err != nil {
			return "", err
		}
		in.Prices = &p
	}
	if in.Result, err = analysis.Whole(ctx, sc); err != nil {
		return "", err
	}
	without := ""
	if bm := sc.Plan.Settings.BaseMap; bm != nil {
		if l, err := imagery.Load(ctx, folder, *bm, sc.Grid, 0); err == nil {
			in.Picture, in.Original = l.Picture, l.Original()
		} else {
			without = ", without its picture: " + err.Error()
		}
	}
	if tf := sc.Plan.Settings.Terrain; tf != nil {
		in.HeightsUnit = elevation.UnitWords(folder, *tf)
	}
	stated := sc.Plan.Settings.NationalGrid
	if g, err := gdal.OpenNationalGrid(stated, orb.Point{sc.Grid.Lon0, sc.Grid.Lat0}); err == nil {
		in.National = g
	} else if stated != "" {
		return "", fmt.Errorf("national_grid.crs: %w", err)
	}
	var pdf bytes.Buffer
	info, err := paper.Print(&pdf, in, opt)
	if err != nil {
		return "", err
	}
	if err := planfile.Replace(path, pdf.Bytes()); err != nil {
		return "", fmt.Errorf("%s: not written: %w", path, err)
	}
	return fmt.Sprintf("Printed %s: %s%s", path, info.Words(), without), nil
}
