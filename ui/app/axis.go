package app

import (
	"fyne.io/fyne/v2"
	"github.com/paulmach/orb"

	"pleach/model"
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
	w.axisPart = panel.NewAxisSection(w.axis, w.prefs.BoolWithFallback(prefAxis, false))
	w.axisPart.Toggle = func(open bool) {
		w.prefs.SetBool(prefAxis, open)
		w.commands.update()
		w.win.Content().Refresh()
		w.axis.Update()
		if open {
			w.seeSensor()
		}
	}
	w.axis.Moved = func() { w.axisPart.SetCount(w.axis.Words()) }
	w.axis.OnKey = w.typed
	w.axis.OnRune = w.letter
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

// tellAxis brings the section into line with plan, selection and result; its
// heading shows where there is a sensor.
func (w *window) tellAxis() {
	shown := len(w.ed.Plan().Of(model.KindSensor)) > 0 && w.docked.Visible()
	if shown == w.axisPart.Hidden {
		w.axisPart.Hidden = !shown
		w.win.Content().Refresh()
	}
	if !shown {
		return
	}
	if w.axisPart.Open() {
		w.axis.Update()
	} else {
		w.axisPart.SetCount("")
	}
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

// seeSensor brings the sensor whose section is shown into view, where the section
// has covered it.
func (w *window) seeSensor() {
	f := w.ed.Plan().Feature(w.axis.Sensor())
	if f == nil || !w.ed.IsSelected(f.ID) {
		return
	}
	if at, ok := f.Geometry.(orb.Point); ok && !w.chart.View().Bound().Contains(w.ed.Grid().ToSite(at)) {
		w.chart.GoTo(w.ed.Grid().ToSite(at), 0)
	}
}

// toggleAxis opens or closes the section.
func (w *window) toggleAxis() { w.axisPart.SetOpen(!w.axisPart.Open(), true) }
