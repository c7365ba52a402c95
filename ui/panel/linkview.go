package panel

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
	"github.com/paulmach/orb"

	"pleach/model/analysis"
	"pleach/model/scene"
	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// LinkView is the profile of the radio link that is chosen. The heights of its
// antennas are dragged there, or moved with the arrow keys; what is drafted is
// the editor's, so that the map follows.
type LinkView struct {
	widget.BaseWidget
	tuner
	Look *Look
	// Moved is told when what Words says has changed.
	Moved func()

	scene func() *scene.Scene // of the plan that is shown; nil while there is none

	drawn linkOf // what the view was drawn from
	cut   *drawing.LinkView
	err   error

	plate

	hovered drawing.Handle
	chosen  drawing.Handle // the antenna that the keys move
	off     float64        // units from the pointer up to the handle
	like    *drawing.LinkView
}

// linkOf is everything a link view depends on.
type linkOf struct {
	scene           *scene.Scene
	from, to        string
	w, h            float32
	theme           *drawing.Theme
	hovered, chosen drawing.Handle
	like            *drawing.LinkView
}

// Steps of the arrow keys, metres: chosen.
const antennaKey, antennaKeyFine = 0.5, 0.1

// NewLinkView makes the view. scene gives the scene of the plan that the editor
// shows.
func NewLinkView(look *Look, ed func() *editor.Editor, scene func() *scene.Scene) *LinkView {
	v := &LinkView{Look: look, scene: scene, chosen: drawing.FromHandle}
	v.ed, v.self = ed, v
	v.plate = newPlate(v.shown)
	v.ExtendBaseWidget(v)
	return v
}

// Profile is what is drawn, nil where nothing can be.
func (v *LinkView) Profile() *drawing.LinkView { return v.cut }

// Update brings the view into line with plan and selection.
func (v *LinkView) Update() {
	if !v.ed().Tuning() && v.held == drawing.NoHandle {
		v.like = nil
	}
	v.lay()
}

// lay draws the view anew where anything it depends on has changed.
func (v *LinkView) lay() {
	from, to, ok := v.ed().Link()
	if !ok {
		v.drawn, v.cut = linkOf{}, nil
		return
	}
	s := v.Size()
	chosen := v.chosen
	if !v.focused {
		chosen = drawing.NoHandle
	}
	now := linkOf{v.scene(), from, to, s.Width, s.Height, v.Look.Theme(fyne.CurrentApp().Settings().ThemeVariant()), v.hovered, chosen, v.like}
	if now == v.drawn {
		return
	}
	before := v.Words()
	v.drawn, v.theme = now, now.theme
	v.cut, v.err = nil, nil
	if now.scene != nil {
		v.cut, v.err = drawing.CutLink(drawing.LinkInput{Scene: now.scene, From: from, To: to, Width: float64(max(s.Width, 1)), Height: float64(max(s.Height, 1)),
			Hovered: now.hovered, Chosen: now.chosen, Like: now.like}, v.theme)
	}
	v.note.SetText("")
	if v.err != nil {
		v.note.SetText(Sentence(v.err.Error()))
	}
	v.raster.Refresh()
	if v.Moved != nil && v.Words() != before {
		v.Moved()
	}
}

// Words says what link is shown and what it comes to.
func (v *LinkView) Words() string {
	if v.cut == nil {
		from, to, ok := v.ed().Link()
		if !ok {
			return ""
		}
		return from + " to " + to
	}
	return strings.Join([]string{v.cut.MarginWords(), Metres(v.cut.Link.Distance), v.cut.WorstWords(v.drawn.scene.Plan)}, "   ·   ")
}

// MinSize is part of fyne.CanvasObject.
func (v *LinkView) MinSize() fyne.Size { return fyne.NewSize(100, leastAxis) }

// Resize is part of fyne.CanvasObject.
func (v *LinkView) Resize(s fyne.Size) {
	v.BaseWidget.Resize(s)
	v.lay()
}

// Refresh is part of fyne.CanvasObject: the theme may be another.
func (v *LinkView) Refresh() {
	v.lay()
	v.outline(v.focused)
	v.BaseWidget.Refresh()
}

func (v *LinkView) shown() (*drawing.List, drawing.View) {
	if v.cut == nil {
		return nil, drawing.View{}
	}
	return v.cut.List, v.cut.View
}

// MouseIn is part of desktop.Hoverable.
func (v *LinkView) MouseIn(ev *desktop.MouseEvent) { v.MouseMoved(ev) }

// MouseMoved is part of desktop.Hoverable.
func (v *LinkView) MouseMoved(ev *desktop.MouseEvent) {
	if v.held != drawing.NoHandle || v.cut == nil {
		return
	}
	if h := v.cut.Hit(unitPoint(ev.Position), handleTouch); h != v.hovered {
		v.hovered = h
		v.lay()
	}
}

// MouseOut is part of desktop.Hoverable.
func (v *LinkView) MouseOut() {
	if v.held == drawing.NoHandle && v.hovered != drawing.NoHandle {
		v.hovered = drawing.NoHandle
		v.lay()
	}
}

// Cursor is part of desktop.Cursorable.
func (v *LinkView) Cursor() desktop.Cursor {
	if v.hovered != drawing.NoHandle {
		return desktop.VResizeCursor
	}
	return desktop.DefaultCursor
}

// MouseDown is part of desktop.Mouseable.
func (v *LinkView) MouseDown(ev *desktop.MouseEvent) {
	v.takeKeys()
	if ev.Button != desktop.MouseButtonPrimary || v.cut == nil {
		return
	}
	v.rest()
	if v.cut == nil {
		return
	}
	u := unitPoint(ev.Position)
	if v.held = v.cut.Hit(u, handleTouch); v.held == drawing.NoHandle {
		return
	}
	at, _ := v.cut.HandleAt(v.held, u)
	v.hovered, v.chosen, v.off, v.like = v.held, v.held, at[1]-u[1], v.cut
	v.lay()
}

// device is the id of the device at an end.
func (v *LinkView) device(h drawing.Handle) string {
	if h == drawing.ToHandle {
		return v.drawn.to
	}
	return v.drawn.from
}

// Dragged is part of fyne.Draggable.
func (v *LinkView) Dragged(ev *fyne.DragEvent) {
	if v.held == drawing.NoHandle || v.cut == nil {
		return
	}
	u := unitPoint(ev.Position)
	v.ed().Tune(v.device(v.held), "antenna_height_m", tidy(v.like.AntennaAt(v.held, orb.Point{u[0], u[1] + v.off})))
}

// TypedKey is part of fyne.Focusable: left and right choose an antenna, up and
// down move it.
func (v *LinkView) TypedKey(ev *fyne.KeyEvent) {
	by := antennaKey
	if v.fine {
		by = antennaKeyFine
	}
	switch ev.Name {
	case fyne.KeyEscape:
		v.escape()
	case fyne.KeyLeft:
		v.choose(drawing.FromHandle)
	case fyne.KeyRight:
		v.choose(drawing.ToHandle)
	case fyne.KeyUp:
		v.step(by)
	case fyne.KeyDown:
		v.step(-by)
	default:
		if v.OnKey != nil {
			v.OnKey(ev)
		}
	}
}

func (v *LinkView) choose(h drawing.Handle) {
	if v.held == drawing.NoHandle {
		v.chosen = h
		v.lay()
	}
}

// step moves the chosen antenna by the keys. Keys that follow one another within
// a moment are one step of undo.
func (v *LinkView) step(by float64) {
	if v.cut == nil || v.held != drawing.NoHandle {
		return
	}
	id := v.device(v.chosen)
	f := v.ed().Plan().Feature(id)
	if f == nil {
		return
	}
	if v.like == nil {
		v.like = v.cut
	}
	v.ed().Tune(id, "antenna_height_m", tidy(analysis.AntennaHeight(f)+by))
	v.restSoon()
}
