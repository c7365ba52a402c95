package app

import (
	"errors"
	"fmt"
	"math"
	"path/filepath"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"
	"github.com/paulmach/orb"

	"pleach/gis/imagery"
	"pleach/model"
	"pleach/model/picture"
	"pleach/model/sitegrid"
	"pleach/ui/drawing"
	"pleach/ui/editor"
	"pleach/ui/mapview"
	"pleach/ui/panel"
)

// placing is a bare picture being given its place on the ground: two points
// clicked on it, the first with coordinates, the second with coordinates or with
// its distance and bearing from the first.
type placing struct {
	w      *window
	path   string
	toSite picture.Affine // where its pixels are shown meanwhile
	chart  *mapview.Map
	known  [2]bool
	pixel  [2]orb.Point
	next   int

	lon, lat      [2]*panel.Value
	at            [2]orb.Point // longitude, latitude
	given         [2][2]bool
	distance      *panel.Value
	bearing       *panel.Value
	metres, angle float64
	angleTyped    bool
	byDistance    bool
	clicked       [2]*panel.Line
	help          *panel.Para
	second        [2]*fyne.Container // coordinates, or distance and bearing
}

// placePicture shows a picture by itself and asks for two points of it.
func (w *window) placePicture(path string) {
	abs, err := filepath.Abs(path)
	if err != nil {
		w.showError("The picture cannot be used", err)
		return
	}
	pic, toSite, err := imagery.Bare(ctx, abs, 0)
	if err != nil {
		w.showError("The picture cannot be used", err)
		return
	}
	p := &placing{w: w, path: abs, toSite: toSite, byDistance: true}
	w.place = p
	p.chart = mapview.New(editor.New(model.NewPlan()), w.theme())
	p.chart.SetPicture(pic, sitegrid.Grid{})
	p.chart.Layers.Grid = sitegrid.Grid{}
	p.chart.Plain = true
	p.chart.Pressed = p.pressed
	p.chart.Overlay = p.draw
	p.chart.OnKey = w.typed
	p.chart.Fit(pic.Bound())
	w.side.Objects = []fyne.CanvasObject{container.NewBorder(nil, nil, nil, p.form(), p.chart)}
	w.side.Show()
	w.docked.Hide()
	w.strip.Hide()
	w.tellAxis()
	p.step()
	w.win.Content().Refresh()
}

// endPlacing goes back to the plan.
func (w *window) endPlacing() {
	w.side.Objects, w.place = nil, nil
	w.side.Hide()
	w.docked.Show()
	w.showStrip()
	w.tellAxis()
	w.hint()
	w.win.Content().Refresh()
}

func (p *placing) form() fyne.CanvasObject {
	value := func(label, unit string, limit float64, set func(float64)) (*panel.Value, fyne.CanvasObject) {
		v := panel.NewValue(unit)
		prop := model.Property{Label: label, Type: model.Number, Unit: unit, Min: -limit, Max: limit, Bounded: true}
		v.Commit = func(s string) error {
			x, err := panel.Typed(prop, s)
			if err != nil {
				return err
			}
			if x == nil {
				return fmt.Errorf("%s is needed", label)
			}
			set(x.(float64))
			v.Set(s, false)
			p.step()
			return nil
		}
		v.Failed, v.Left = p.fail, p.step
		return v, panel.FormRow(label, v)
	}
	p.help = panel.NewPara("", "", panel.SizeNameSmall)
	box := panel.VBox(0)
	rows := [2][]fyne.CanvasObject{}
	for i := range 2 {
		for axis, name := range []string{"Longitude", "Latitude"} {
			limit := 180.0
			if axis == 1 {
				limit = 84
			}
			v, row := value(name, "°", limit, func(x float64) { p.at[i][axis], p.given[i][axis] = x, true })
			rows[i] = append(rows[i], row)
			if axis == 0 {
				p.lon[i] = v
			} else {
				p.lat[i] = v
			}
		}
		p.clicked[i] = panel.NewLine("click it on the picture", panel.ColorSoft, panel.SizeNameSmall).Right().Cut()
	}
	head := func(s string, l *panel.Line) fyne.CanvasObject {
		return panel.Inset(container.NewBorder(nil, nil, panel.NewLine(s, "", "").Strong(), nil, panel.Inset(l, 8, 1, 6, 0)), 0, 14, 0, 4)
	}
	box.Add(panel.NewLine("Place the picture", "", fyne.ThemeSizeName("subHeadingText")).Strong())
	box.Add(panel.Inset(panel.NewPara(filepath.Base(p.path)+" does not say where it lies. Two points of it tell.", panel.ColorSoft, panel.SizeNameSmall), 0, 6, 0, 0))
	box.Add(head("First point", p.clicked[0]))
	for _, r := range rows[0] {
		box.Add(r)
	}
	box.Add(head("Second point", p.clicked[1]))
	how := panel.NewPick(panel.Option{Value: true, Label: "distance and bearing"}, panel.Option{Value: false, Label: "coordinates"})
	how.Set(true, "", false)
	how.Commit = func(v any) error {
		p.byDistance = v.(bool)
		how.Set(v, "", false)
		p.second[0].Hidden, p.second[1].Hidden = p.byDistance, !p.byDistance
		p.step()
		box.Refresh()
		return nil
	}
	box.Add(panel.FormRow("Known by its", how))
	p.second[0] = panel.VBox(0, rows[1]...)
	var dist, bear fyne.CanvasObject
	p.distance, dist = value("Distance", "m", 1e5, func(x float64) { p.metres = x })
	p.bearing, bear = value("Bearing", "°", 720, func(x float64) { p.angle, p.angleTyped = x, true })
	p.second[1] = panel.VBox(0, dist, bear)
	p.second[0].Hide()
	box.Add(p.second[0])
	box.Add(p.second[1])
	box.Add(panel.Inset(panel.NewPara("The distance is from the first point to the second. The bearing is taken as if the top of the picture were north until you state it.", panel.ColorSoft, panel.SizeNameSmall), 0, 10, 0, 0))
	use := widget.NewButton("Place it", p.finish)
	use.Importance = widget.HighImportance
	box.Add(panel.Inset(container.NewGridWithColumns(2, widget.NewButton("Cancel", p.w.endPlacing), use), 0, 16, 0, 8))
	box.Add(p.help)
	wide := panel.NewLine("", "", "")
	wide.Least = 300
	return container.NewBorder(nil, nil, panel.Rule(), nil, container.NewVScroll(panel.Inset(panel.VBox(0, wide, box), 14, 0, 14, 12)))
}

// fail says what is wrong with what was typed or left out.
func (p *placing) fail(err error) {
	p.help.Bold = true
	p.help.SetText(panel.Sentence(err.Error()))
}

// step says what comes next; what was wrong before is no more.
func (p *placing) step() {
	p.help.SetText("")
	next := [2]string{"first", "second"}[p.next]
	switch {
	case !p.known[0] && !p.known[1]:
		p.w.say("Click two points on the picture, as far apart as you can.")
	case !p.known[0] || !p.known[1]:
		p.w.say("Now click the " + next + " point, far from the one you have.")
	default:
		if _, err := p.control(); err != nil {
			p.w.say("At the right: " + err.Error() + ". A further click moves the " + next + " point.")
			return
		}
		p.w.say("Place it, at the right, lays the picture under the plan. A further click moves the " + next + " point.")
	}
}

// pressed takes a click on the picture.
func (p *placing) pressed(at orb.Point, _ mapview.Btn) bool {
	i := p.next
	p.pixel[i] = orb.Point{at[0] / p.toSite[1], at[1] / p.toSite[5]}
	p.known[i] = true
	p.next = 1 - i
	p.clicked[i].SetText(fmt.Sprintf("column %.1f, row %.1f", p.pixel[i][0], p.pixel[i][1]))
	if p.known[0] && p.known[1] && !p.angleTyped {
		p.angle = bearingUp(p.pixel[0], p.pixel[1])
		p.bearing.Set(fmt.Sprintf("%.1f", p.angle), true)
	}
	p.chart.Repaint()
	p.step()
	return true
}

// bearingUp is the bearing from one pixel to another where the top of the
// picture is north.
func bearingUp(a, b orb.Point) float64 {
	return math.Mod(math.Atan2(b[0]-a[0], a[1]-b[1])*180/math.Pi+360, 360)
}

func (p *placing) draw(l *drawing.List, m *mapview.Map) {
	for i := range 2 {
		if !p.known[i] {
			continue
		}
		at := p.toSite.At(p.pixel[i])
		l.Add(drawing.Item{Layer: drawing.HandleLayer, Kind: drawing.MarkKind, Meaning: drawing.ControlPoint, At: at})
		l.Add(drawing.Item{Layer: drawing.LabelLayer, Kind: drawing.LabelKind, Meaning: drawing.DeviceName, Text: []string{"First", "Second"}[i],
			At: orb.Point{at[0] + 12*m.Unit(), at[1]}, Must: true, Priority: 100})
	}
}

// finish places the picture.
func (p *placing) finish() {
	p.w.win.Canvas().Unfocus() // commits what is being typed
	control, err := p.control()
	if err != nil {
		p.fail(err)
		return
	}
	bm := model.BaseMap{File: filepath.ToSlash(p.path), Control: control}
	if _, err := imagery.Extent("", bm); err != nil {
		p.fail(err)
		return
	}
	p.w.endPlacing()
	p.w.usePicture(bm, "place the picture")
}

// control is the two points as the plan keeps them.
func (p *placing) control() ([]model.Control, error) {
	for i, name := range []string{"first", "second"} {
		if !p.known[i] {
			return nil, fmt.Errorf("click the %s point on the picture", name)
		}
	}
	if !p.given[0][0] || !p.given[0][1] {
		return nil, errors.New("say where the first point lies, in longitude and latitude: where it does not matter, 0 and 50 will do")
	}
	second := p.at[1]
	if p.byDistance {
		if !(p.metres > 0) {
			return nil, errors.New("say how far the second point is from the first, in metres")
		}
		second = away(p.at[0], p.angle, p.metres)
	} else if !p.given[1][0] || !p.given[1][1] {
		return nil, errors.New("say where the second point lies, in longitude and latitude")
	}
	out := []model.Control{{Pixel: p.pixel[0], At: p.at[0]}, {Pixel: p.pixel[1], At: second}}
	grid := sitegrid.New(p.at[0][0], p.at[0][1])
	if _, _, err := picture.FitControl([]orb.Point{out[0].Pixel, out[1].Pixel}, []orb.Point{grid.ToSite(out[0].At), grid.ToSite(out[1].At)}); err != nil {
		return nil, err
	}
	return out, nil
}

// away is the place at a distance in metres along a true bearing from a place,
// both in longitude and latitude.
func away(from orb.Point, bearing, metres float64) orb.Point {
	sin, cos := math.Sincos(bearing * math.Pi / 180)
	at := sitegrid.New(from[0], from[1]).ToLonLat(orb.Point{metres * sin, metres * cos})
	const nine = 1e9
	return orb.Point{math.Round(at[0]*nine) / nine, math.Round(at[1]*nine) / nine}
}
