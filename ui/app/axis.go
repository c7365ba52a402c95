package app

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/scene"
	"pleach/ui/editor"
	"pleach/ui/panel"
)

// Height of the section on an axis, units: as it opens, and what an edge that is
// dragged can make of it. Chosen.
const (
	axisTall, axisLeast, axisMost = 250, 190, 900
)

// buildAxis makes the section on the axis, its heading and its upper edge.
func (w *window) buildAxis() {
	w.axis = panel.NewAxis(w.look, func() *editor.Editor { return w.ed }, w.sceneNow, func() int { return w.posture })
	w.axis.Tall = float32(w.prefs.FloatWithFallback(prefAxisTall, axisTall))
	w.link = panel.NewLinkView(w.look, func() *editor.Editor { return w.ed }, w.sceneNow)
	w.link.Hide()
	w.axisPart = panel.NewAxisSection(container.NewStack(w.axis, w.link), w.prefs.BoolWithFallback(prefAxis, false))
	w.axisPart.Toggle = func(open bool) {
		w.linkShut = !open && w.link.Visible()
		w.prefs.SetBool(prefAxis, open)
		w.commands.update()
		w.win.Content().Refresh()
		w.tellAxis()
		if open {
			w.seeSensor()
		}
	}
	w.axis.Moved, w.link.Moved = w.countAxis, w.countAxis
	w.axis.OnKey, w.link.OnKey = w.typed, w.typed
	w.axis.OnRune, w.link.OnRune = w.letter, w.letter
	w.axisEdge = panel.NewEdge()
	w.axisEdge.Level = true
	w.axisEdge.Moved = func(dy float32) {
		w.axis.Tall = min(max(w.axis.Tall-dy, axisLeast), axisMost)
		w.win.Content().Refresh()
	}
	w.axisEdge.Done = func() { w.prefs.SetFloat(prefAxisTall, float64(w.axis.Tall)) }
}

// floor lays the map, the section, the diagram and the bottom line.
func (w *window) floor() fyne.Layout {
	return &panel.Floor{Tall: func() float32 {
		if !w.axisPart.Open() {
			return 0
		}
		return w.axis.Tall
	}}
}

// countAxis says beside the heading what is drawn below it; of a link what is not
// drawn because it is closed.
func (w *window) countAxis() {
	switch {
	case w.link.Visible() && !w.axisPart.Open():
		w.axisPart.SetCount(w.link.Words())
	case w.link.Visible():
		w.axisPart.SetCount("")
	case w.axisPart.Open():
		w.axisPart.SetCount(w.axis.Words())
	default:
		w.axisPart.SetCount("")
	}
}

// tellAxis brings the section into line with plan, selection and result; its
// heading shows where there is a sensor. A link that is chosen takes its place,
// and opens it unless it was closed on a link before.
func (w *window) tellAxis() {
	from, to, linked := w.ed.Link()
	if linked != w.link.Visible() {
		title := "Section on the axis"
		if linked {
			title = "Radio link"
		}
		w.axisPart.SetTitle(title)
		w.link.Hidden, w.axis.Hidden = !linked, linked
		w.axisPart.Refresh()
		// What is hidden gives the keys back.
		if f := w.win.Canvas().Focused(); linked && f == w.axis || !linked && f == w.link {
			w.win.Canvas().Unfocus()
		}
	}
	now := [2]string{from, to}
	fresh := linked && now != w.linkWas
	if w.linkWas = now; fresh && !w.axisPart.Open() && !w.linkShut && w.docked.Visible() {
		w.axisPart.SetOpen(true, true) // comes back here
	}
	shown := (linked || len(w.ed.Plan().Of(model.KindSensor)) > 0) && w.docked.Visible()
	if shown == w.axisPart.Hidden {
		w.axisPart.Hidden = !shown
		w.win.Content().Refresh()
	}
	if !shown {
		return
	}
	w.link.Update()
	if !linked && w.axisPart.Open() {
		w.axis.Update()
	}
	w.countAxis()
}

// sceneNow is the plan that is shown on its ground, nil before the first result:
// the ground is not known until then.
func (w *window) sceneNow() *scene.Scene {
	r, p, grid := w.an.last, w.ed.Plan(), w.ed.Grid()
	switch {
	case r == nil || r.Scene.Grid != grid:
		return nil
	case r.Plan == p:
		w.laid = nil
		return r.Scene
	case w.laid == nil || w.laid.Plan != p || w.laid.Grid != grid || w.laid.Terrain != r.Scene.Terrain:
		w.laid = scene.OnGround(p, grid, r.Scene.Terrain)
	}
	return w.laid
}

// linksHere are the radio links of the one device that is selected, else of the
// first end of the link that is chosen.
func (w *window) linksHere() []analysis.Link {
	id, _, _ := w.ed.Link()
	if s := w.ed.Selected(); len(s) == 1 {
		id = s[0]
	}
	if w.an.last == nil {
		return nil
	}
	return panel.LinksOf(w.an.last, id)
}

// nextLink chooses the link after the one that is chosen, and gives its profile
// the keys.
func (w *window) nextLink() {
	ls := w.linksHere()
	if len(ls) == 0 {
		return
	}
	from, to, _ := w.ed.Link()
	at := slices.IndexFunc(ls, func(l analysis.Link) bool { return l.From == from && l.To == to })
	l := ls[(at+1)%len(ls)]
	w.ed.SelectLink(l.From, l.To)
	if w.link.Visible() {
		w.win.Canvas().Focus(w.link)
	}
}

// sensorRoom is how far inside the map, pixels, the sensor whose section is shown is
// brought. Chosen: its mark and its name.
const sensorRoom = 32

// seeSensor brings the sensor whose section is shown into view, where the section
// has covered it, and moves the map no farther than that.
func (w *window) seeSensor() {
	f := w.ed.Plan().Feature(w.axis.Sensor())
	if f == nil || !w.ed.IsSelected(f.ID) {
		return
	}
	at, ok := f.Geometry.(orb.Point)
	if !ok {
		return
	}
	if p := w.ed.Grid().ToSite(at); !w.chart.View().Bound().Contains(p) {
		w.chart.Reveal(p, sensorRoom)
	}
}

// toggleAxis opens or closes the section.
func (w *window) toggleAxis() { w.axisPart.SetOpen(!w.axisPart.Open(), true) }

// linkOf is the link that a finding is about: of a route its weakest one; nil for
// none.
func linkOf(r *analysis.Result, f model.Finding) (weakest *analysis.Link) {
	if r == nil || len(f.Subject) == 0 {
		return nil
	}
	route := f.Subject
	switch f.Rule {
	case "worst-case", "overload", "terrain-edge": // of two devices, or of one
	case "link":
		i := slices.IndexFunc(r.Sensors, func(s analysis.Sensor) bool { return s.ID == f.Subject[0] })
		if i < 0 {
			return nil
		}
		route = r.Sensors[i].Route
	default:
		return nil
	}
	for k := 1; k < len(route); k++ {
		for i := range r.Links {
			l := &r.Links[i]
			if (l.From == route[k-1] && l.To == route[k] || l.From == route[k] && l.To == route[k-1]) && (weakest == nil || l.Margin-l.Required < weakest.Margin-weakest.Required) {
				weakest = l
			}
		}
	}
	return weakest
}

// goToLink chooses a link and shows all of it.
func (w *window) goToLink(l *analysis.Link) {
	w.ed.SelectLink(l.From, l.To)
	b := orb.MultiPoint{l.A, l.B}.Bound()
	w.chart.Fit(b.Pad(max(10, 0.1*max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]))))
}
