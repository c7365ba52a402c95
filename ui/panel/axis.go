package panel

import (
	"fmt"
	"math"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/aim"
	"pleach/model/scene"
	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// Axis is the section on the axis of one sensor. Its tilt and its mount height
// are dragged there, or moved with the arrow keys; what is drafted is the
// editor's, so that the map follows.
type Axis struct {
	widget.BaseWidget
	tuner
	Look *Look
	// Tall is the height the section would like, units.
	Tall float32
	// Moved is told when what Words says has changed.
	Moved func()

	scene   func() *scene.Scene // of the plan that is shown; nil while there is none
	posture func() int

	sensor string // shown, "" for none
	drawn  axisOf // what section was drawn from
	cut    *drawing.Section
	err    error

	plate

	hovered drawing.Handle
	off     orb.Point // from the pointer to the handle
	like    *drawing.Section
}

// axisOf is everything a section depends on.
type axisOf struct {
	scene   *scene.Scene
	sensor  string
	posture int
	w, h    float32
	theme   *drawing.Theme
	hovered drawing.Handle
	like    *drawing.Section
}

// Steps of the arrow keys; those with Shift are what a bracket and a tape can be
// set to. Chosen.
const (
	tiltKey, tiltKeyFine   = 0.5, 0.1  // degrees
	mountKey, mountKeyFine = 0.1, 0.05 // metres
	nudgeRest              = 700 * time.Millisecond
	handleTouch            = 7.0 // units
	leastAxis              = 120 // units: below it nothing can be read
)

// NewAxis makes the section. scene gives the scene of the plan that the editor
// shows.
func NewAxis(look *Look, ed func() *editor.Editor, scene func() *scene.Scene, posture func() int) *Axis {
	a := &Axis{Look: look, Tall: 240, scene: scene, posture: posture}
	a.ed, a.self = ed, a
	a.plate = newPlate(a.shown)
	a.ExtendBaseWidget(a)
	return a
}

// Sensor is the id of the sensor whose section is shown, "" for none.
func (a *Axis) Sensor() string { return a.sensor }

// Section is what is drawn, nil where nothing can be.
func (a *Axis) Section() *drawing.Section { return a.cut }

// choose takes the sensor that is selected; with none selected the one shown
// before stays, so that the section does not come and go.
func (a *Axis) choose() {
	e := a.ed()
	p := e.Plan()
	is := func(id string) bool { f := p.Feature(id); return f != nil && f.Kind == model.KindSensor }
	for _, id := range e.Selected() {
		if is(id) {
			a.sensor = id
			return
		}
	}
	if is(a.sensor) {
		return
	}
	a.sensor = ""
	if s := p.Of(model.KindSensor); len(s) > 0 {
		a.sensor = s[0].ID
	}
}

// Update brings the section into line with plan and selection.
func (a *Axis) Update() {
	a.choose()
	if !a.ed().Tuning() && a.held == drawing.NoHandle {
		a.like = nil
	}
	a.lay()
}

// lay draws the section anew where anything it depends on has changed.
func (a *Axis) lay() {
	s := a.Size()
	now := axisOf{a.scene(), a.sensor, a.posture(), s.Width, s.Height, a.Look.Theme(fyne.CurrentApp().Settings().ThemeVariant()), a.hovered, a.like}
	if now == a.drawn {
		return
	}
	a.drawn, a.theme = now, now.theme
	before := a.Words()
	a.cut, a.err = nil, nil
	if now.scene != nil && now.sensor != "" {
		in := drawing.SectionInput{Scene: now.scene, Sensor: now.sensor, Posture: now.posture, Width: float64(max(s.Width, 1)), Height: float64(max(s.Height, 1)),
			Hovered: now.hovered, Like: now.like}
		a.cut, a.err = drawing.Cut(in, a.theme)
	}
	switch {
	case a.err != nil:
		a.note.SetText(Sentence(a.err.Error()))
	case now.sensor == "":
		a.note.SetText("Place a sensor: the section on its axis is drawn here.")
	default:
		a.note.SetText("")
	}
	a.raster.Refresh()
	if a.Moved != nil && a.Words() != before {
		a.Moved()
	}
}

// Words says what the section is of and where its axis meets the ground.
func (a *Axis) Words() string {
	if a.cut == nil {
		return a.sensor
	}
	m := a.cut.Aim
	words := []string{m.Sensor.ID}
	if n := m.Sensor.Name; n != "" && n != m.Sensor.ID {
		words[0] += ", " + n
	}
	words = append(words, "tilt "+tiltWords(m.Tilt), "mount "+rounded(m.Mount, 2)+" m", AxisWords(a.drawn.scene.Plan, m))
	if m.Near != nil {
		words[len(words)-1] += ", " + m.Near.Text
	}
	return strings.Join(words, "   ·   ")
}

// AxisWords says what the axis of a sensor meets, and where.
func AxisWords(p *model.Plan, m *aim.Aim) string {
	switch m.Axis.What {
	case aim.Ground:
		return "axis meets the ground at " + Metres(m.Axis.Distance)
	case aim.Wall, aim.Roof:
		return "axis stopped by " + aim.Title(p, m.Axis.On) + " at " + Metres(m.Axis.Distance)
	}
	return fmt.Sprintf("axis not on the ground within %.0f m", aim.Far)
}

func tiltWords(v float64) string {
	switch {
	case v > 0:
		return rounded(v, 2) + "° down"
	case v < 0:
		return rounded(-v, 2) + "° up"
	}
	return "level"
}

// rounded is a number with so many decimals at most.
func rounded(v float64, decimals int) string {
	k := math.Pow10(decimals)
	return number(math.Round(v*k)/k + 0)
}

// MinSize is part of fyne.CanvasObject.
func (a *Axis) MinSize() fyne.Size { return fyne.NewSize(100, leastAxis) }

// Resize is part of fyne.CanvasObject.
func (a *Axis) Resize(s fyne.Size) {
	a.BaseWidget.Resize(s)
	a.lay()
}

// Refresh is part of fyne.CanvasObject: the theme may be another.
func (a *Axis) Refresh() {
	a.lay()
	a.outline(a.focused)
	a.BaseWidget.Refresh()
}

func (a *Axis) shown() (*drawing.List, drawing.View) {
	if a.cut == nil {
		return nil, drawing.View{}
	}
	return a.cut.List, a.cut.View
}

func unitPoint(p fyne.Position) orb.Point { return orb.Point{float64(p.X), float64(p.Y)} }

// MouseIn is part of desktop.Hoverable.
func (a *Axis) MouseIn(ev *desktop.MouseEvent) { a.MouseMoved(ev) }

// MouseMoved is part of desktop.Hoverable.
func (a *Axis) MouseMoved(ev *desktop.MouseEvent) {
	if a.held != drawing.NoHandle || a.cut == nil {
		return
	}
	if h := a.cut.Hit(unitPoint(ev.Position), handleTouch); h != a.hovered {
		a.hovered = h
		a.lay()
	}
}

// MouseOut is part of desktop.Hoverable.
func (a *Axis) MouseOut() {
	if a.held == drawing.NoHandle && a.hovered != drawing.NoHandle {
		a.hovered = drawing.NoHandle
		a.lay()
	}
}

// Cursor is part of desktop.Cursorable.
func (a *Axis) Cursor() desktop.Cursor {
	switch a.hovered {
	case drawing.HeightHandle:
		return desktop.VResizeCursor
	case drawing.TiltHandle:
		return desktop.PointerCursor
	}
	return desktop.DefaultCursor
}

// MouseDown is part of desktop.Mouseable.
func (a *Axis) MouseDown(ev *desktop.MouseEvent) {
	a.takeKeys()
	if ev.Button != desktop.MouseButtonPrimary || a.cut == nil {
		return
	}
	a.rest()
	u := unitPoint(ev.Position)
	a.held = a.cut.Hit(u, handleTouch)
	if a.held == drawing.NoHandle {
		return
	}
	if e := a.ed(); len(e.Selected()) != 1 || e.Selected()[0] != a.sensor {
		e.Select(a.sensor) // its pattern on the map is the one that follows
	}
	at, _ := a.cut.HandleAt(a.held, u)
	a.hovered, a.off, a.like = a.held, orb.Point{at[0] - u[0], at[1] - u[1]}, a.cut
	a.lay()
}

// Dragged is part of fyne.Draggable.
func (a *Axis) Dragged(ev *fyne.DragEvent) {
	if a.held == drawing.NoHandle || a.cut == nil {
		return
	}
	u := unitPoint(ev.Position)
	u[0], u[1] = u[0]+a.off[0], u[1]+a.off[1]
	switch a.held {
	case drawing.HeightHandle:
		a.ed().Tune(a.sensor, "mount_height_m", tidy(a.like.MountAt(u)))
	case drawing.TiltHandle:
		a.ed().Tune(a.sensor, "tilt_deg", tidy(a.cut.TiltAt(u)))
	}
}

// TypedKey is part of fyne.Focusable: right and left move the far edge out and
// in, up and down the mount.
func (a *Axis) TypedKey(ev *fyne.KeyEvent) {
	tilt, mount := tiltKey, mountKey
	if a.fine {
		tilt, mount = tiltKeyFine, mountKeyFine
	}
	switch ev.Name {
	case fyne.KeyEscape:
		a.escape()
	case fyne.KeyRight:
		a.step("tilt_deg", -tilt)
	case fyne.KeyLeft:
		a.step("tilt_deg", tilt)
	case fyne.KeyUp:
		a.step("mount_height_m", mount)
	case fyne.KeyDown:
		a.step("mount_height_m", -mount)
	default:
		if a.OnKey != nil {
			a.OnKey(ev)
		}
	}
}

// step moves a figure by the keys. Keys that follow one another within a moment
// are one step of undo.
func (a *Axis) step(property string, by float64) {
	f := a.ed().Plan().Feature(a.sensor)
	if f == nil || a.cut == nil || a.held != drawing.NoHandle {
		return
	}
	v, ok := f.Number(property)
	if !ok {
		return
	}
	if a.like == nil {
		a.like = a.cut
	}
	a.ed().Tune(a.sensor, property, tidy(v+by))
	a.restSoon()
}

// NewAxisSection puts the section under a heading that opens and closes it and
// says where the axis meets the ground. The body may hold more beside it.
func NewAxisSection(a fyne.CanvasObject, open bool) *Section {
	s := NewSection("Section on the axis", a, open)
	s.count.Cut()
	return s
}
