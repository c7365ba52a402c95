package mapview

import (
	"image"
	"math"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
	"github.com/paulmach/orb"

	"pleach/model/picture"
	"pleach/model/sitegrid"
	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// Figures of the view. Chosen.
const (
	restAfter    = 80 * time.Millisecond  // without movement the view is painted afresh
	nudgeAfter   = 700 * time.Millisecond // after the last arrow key a nudge is over
	doubleClick  = 400 * time.Millisecond
	zoomStep     = 1.25    // a key or a menu item
	wheelRate    = 0.009   // of exp(rate · DY): a wheel's click is 25, so 1.25
	finest       = 0.005   // metres a unit
	coarsest     = 200.0   // metres a unit
	fitMargin    = 56.0    // units round what is shown whole
	maxMoving    = 4 << 20 // pixels: above it a moving view is painted at half the pixels
	scaleBarLong = 160.0   // units, at most
)

// Map is the map widget.
type Map struct {
	widget.BaseWidget

	Layers *Layers
	Editor *editor.Editor

	// What the window wants to know; each may be nil.
	OnPointer func(at orb.Point, on bool)    // the pointer moved, or left
	OnMenu    func(absolute fyne.Position)   // the secondary button was clicked on what is selected
	OnView    func(drawing.View)             // the view moved
	OnKey     func(*fyne.KeyEvent) bool      // a key that the map may not want; true if it was used
	OnRune    func(rune) bool                // the same for characters
	Overlay   func(*drawing.List, *Map)      // adds to what is drawn above all
	Pressed   func(at orb.Point, b Btn) bool // takes presses away from the editor; true if used
	Plain     bool                           // without a scale bar: what is shown has no scale yet

	raster  *canvas.Raster
	fitted  bool // the view has been set
	whole   bool // it is as Fit made it and nobody has touched the map since
	wantFit *orb.Bound
	moving  bool
	rest    *time.Timer
	nudge   *time.Timer

	down     desktop.MouseButton // held
	mods     fyne.KeyModifier
	space    bool
	panning  bool
	panFrom  fyne.Position
	panView  drawing.View
	pointer  fyne.Position
	inside   bool
	lastDown time.Time
	lastPos  fyne.Position
	focused  bool
}

// Btn tells the pointer's buttons apart for Pressed.
type Btn = desktop.MouseButton

// New makes a map of an editor's plan.
func New(e *editor.Editor, theme *drawing.Theme) *Map {
	m := &Map{Layers: NewLayers(theme)}
	m.raster = canvas.NewRaster(m.frame)
	m.raster.ScaleMode = canvas.ImageScaleFastest
	m.ExtendBaseWidget(m)
	m.SetEditor(e)
	return m
}

// SetEditor shows another plan.
func (m *Map) SetEditor(e *editor.Editor) {
	m.Editor = e
	m.Layers.Grid = e.Grid()
	m.panning, m.down = false, 0
}

// CreateRenderer is part of fyne.Widget.
func (m *Map) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(m.raster) }

// MinSize is part of fyne.CanvasObject.
func (m *Map) MinSize() fyne.Size { return fyne.NewSize(200, 150) }

// Resize is part of fyne.CanvasObject. What was fitted is fitted anew as long as
// nobody has touched the map: parts of the window take their room one after the
// other. Otherwise the ground stays where it is on the screen when the lower edge
// moves, and the middle of the view stays when the width changes.
func (m *Map) Resize(s fyne.Size) {
	v := &m.Layers.View
	before := *v
	v.Width, v.Height = float64(s.Width), float64(s.Height)
	switch {
	case m.wantFit != nil && (m.whole || !m.fitted) && s.Width > 2 && s.Height > 2:
		if *v != before || !m.fitted {
			m.show(*m.wantFit)
		}
	case v.Width == before.Width && v.Height != before.Height:
		d := (v.Height - before.Height) / 2 * v.MetresPerUnit
		v.Centre[1] -= d
		m.panView.Centre[1] -= d
	}
	m.BaseWidget.Resize(s)
}

// Repaint has the view painted again.
func (m *Map) Repaint() { m.raster.Refresh() }

// SetList shows another drawing on the given grid; the editor picks from it.
func (m *Map) SetList(list *drawing.List, grid sitegrid.Grid) {
	m.Layers.SetList(list, grid)
	if grid == m.Editor.Grid() {
		m.Editor.Show(list)
	}
	m.FollowGrid()
	m.Repaint()
}

// FollowGrid keeps the same ground in view when the editor's grid has moved.
func (m *Map) FollowGrid() {
	if g := m.Editor.Grid(); g != m.Layers.Grid {
		before := m.Layers.View.Centre
		m.Layers.View = m.Layers.on(m.Layers.View, g)
		m.Layers.Grid = g
		if now := m.Layers.View.Centre; m.wantFit != nil {
			dx, dy := now[0]-before[0], now[1]-before[1]
			b := m.wantFit
			m.wantFit = &orb.Bound{Min: orb.Point{b.Min[0] + dx, b.Min[1] + dy}, Max: orb.Point{b.Max[0] + dx, b.Max[1] + dy}}
		}
	}
}

// SetPicture shows an aerial picture on the given grid, nil for none.
func (m *Map) SetPicture(p *picture.Picture, grid sitegrid.Grid) {
	m.Layers.SetPicture(p, grid)
	m.Repaint()
}

// SetVeil lays more or less paper over the picture, 0 to 1.
func (m *Map) SetVeil(v float64) {
	m.Layers.Veil = math.Min(math.Max(v, 0), 1)
	m.Repaint()
}

// SetTheme draws with another table of styles.
func (m *Map) SetTheme(t *drawing.Theme) {
	m.Layers.Theme = t
	m.Repaint()
}

// View returns what is in view, on the editor's grid.
func (m *Map) View() drawing.View { return m.Layers.View }

// Unit returns the metres a device-independent pixel stands for.
func (m *Map) Unit() float64 { return m.Layers.View.MetresPerUnit }

// Fit shows the whole of b.
func (m *Map) Fit(b orb.Bound) {
	m.wantFit = &b
	if s := m.Size(); s.Width > 2 && s.Height > 2 {
		m.show(b)
	}
}

func (m *Map) show(b orb.Bound) {
	m.fitted = true
	m.setView(m.Layers.View.Fit(b, math.Min(fitMargin, math.Min(m.Layers.View.Width, m.Layers.View.Height)/6)))
	m.whole = true
	m.settle()
}

// Unfit has the next Fit or size show what was asked for anew.
func (m *Map) Unfit() { m.fitted = false }

// GoTo brings a place into the middle; where the view is coarser than unit
// metres a pixel it comes nearer.
func (m *Map) GoTo(at orb.Point, unit float64) {
	v := m.Layers.View
	v.Centre = at
	if unit > 0 && v.MetresPerUnit > unit {
		v.MetresPerUnit = unit
	}
	m.setView(v)
	m.settle()
}

// Reveal moves the view by as little as brings a place at least margin pixels inside
// it; not at all where it is there already.
func (m *Map) Reveal(at orb.Point, margin float64) {
	v := m.Layers.View
	moved := false
	for i, size := range [2]float64{v.Width, v.Height} {
		room := math.Max(0, size/2-math.Min(margin, size/4)) * v.MetresPerUnit
		if d := at[i] - v.Centre[i]; math.Abs(d) > room {
			v.Centre[i] = at[i] - math.Copysign(room, d)
			moved = true
		}
	}
	if moved {
		m.setView(v)
		m.settle()
	}
}

// Zoom brings the middle of the view nearer (above 1) or farther.
func (m *Map) Zoom(factor float64) {
	u := orb.Point{m.Layers.View.Width / 2, m.Layers.View.Height / 2}
	if m.inside {
		u = orb.Point{float64(m.pointer.X), float64(m.pointer.Y)}
	}
	m.zoomAt(u, factor)
}

func (m *Map) zoomAt(u orb.Point, factor float64) {
	v := m.Layers.View
	now := v.MetresPerUnit
	next := math.Min(math.Max(now/factor, finest), coarsest)
	if next == now {
		return
	}
	m.setView(v.ZoomAt(u, now/next))
	m.stir()
}

func (m *Map) setView(v drawing.View) {
	m.Layers.View, m.whole = v, false
	if m.OnView != nil {
		m.OnView(v)
	}
	m.Repaint()
}

// stir notes that the view moves; it comes to rest a little later.
func (m *Map) stir() {
	m.moving = true
	if m.rest != nil {
		m.rest.Stop()
	}
	m.rest = time.AfterFunc(restAfter, func() { fyne.Do(m.settle) })
}

func (m *Map) settle() {
	if m.rest != nil {
		m.rest.Stop()
	}
	m.moving = false
	m.Repaint()
}

// frame is the raster's generator: w by h are device pixels.
func (m *Map) frame(w, h int) image.Image {
	if w < 1 || h < 1 {
		return image.NewRGBA(image.Rect(0, 0, 1, 1))
	}
	v := &m.Layers.View
	if v.Width < 1 || v.Height < 1 {
		v.Width, v.Height = float64(w), float64(h)
	}
	if (m.moving || m.Editor.Drafting()) && w*h > maxMoving {
		w, h = w/2, h/2
	}
	v.Scale = float64(w) / v.Width
	m.Layers.Under, m.Layers.Over = m.under(), m.over()
	img := m.Layers.Frame(w, h, m.moving)
	if !m.Plain {
		m.scaleBar(m.Layers.Canvas())
	}
	return img
}

// Scale bar, lower left.
func (m *Map) scaleBar(c drawing.Canvas) {
	v, t := m.Layers.View, m.Layers.Theme
	length := roundLength(scaleBarLong * v.MetresPerUnit)
	w := length / v.MetresPerUnit
	x, y := 16.0, v.Height-16
	text := lengthWords(length)
	tw, th := t.LabelSize(drawing.ChainageFigure, text)
	left, right := math.Min(x, x+w/2-tw/2)-6, math.Max(x+w, x+w/2+tw/2)+6
	plate := orb.Ring{{left, y - 12 - th}, {right, y - 12 - th}, {right, y + 7}, {left, y + 7}, {left, y - 12 - th}}
	c.Fill([]orb.Ring{plate}, t.Veil(0.82))
	c.Stroke([]orb.Point{{x, y - 6}, {x, y}, {x + w, y}, {x + w, y - 6}}, drawing.Pen{Width: 1.6, Colour: t.Ink})
	c.Text(orb.Point{x + w/2 - tw/2 + t.Style(drawing.ChainageFigure).Tag.Pad, y - 12.5}, text, drawing.Font{Size: 11}, t.Ink)
}

// roundLength returns the greatest 1, 2 or 5 times a power of ten up to v.
func roundLength(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{5, 2} {
		if k*p <= v {
			return k * p
		}
	}
	return p
}

// grid returns the place under a widget position.
func (m *Map) grid(p fyne.Position) orb.Point {
	return m.Layers.View.ToGrid(orb.Point{float64(p.X), float64(p.Y)})
}

func (m *Map) at(p fyne.Position) editor.Pointer {
	return editor.Pointer{At: m.grid(p), Unit: m.Layers.View.MetresPerUnit, More: m.mods&fyne.KeyModifierShift != 0}
}

// MouseDown is part of desktop.Mouseable.
func (m *Map) MouseDown(ev *desktop.MouseEvent) {
	m.focus()
	m.whole = false
	m.mods = ev.Modifier
	m.pointer = ev.Position
	if m.down != 0 && ev.Button != m.down {
		return // a second button while one is held
	}
	m.down = ev.Button
	m.panning = false
	if m.Pressed != nil && ev.Button == desktop.MouseButtonPrimary && !m.space && m.Pressed(m.grid(ev.Position), ev.Button) {
		m.down = 0
		return
	}
	switch {
	case ev.Button == desktop.MouseButtonPrimary && !m.space:
		now := time.Now()
		double := now.Sub(m.lastDown) < doubleClick && math.Hypot(float64(ev.Position.X-m.lastPos.X), float64(ev.Position.Y-m.lastPos.Y)) < 5
		m.lastDown, m.lastPos = now, ev.Position
		if double && m.Editor.Tool().Draws() && len(m.Editor.Outline()) > 0 {
			m.lastDown = time.Time{}
			m.Editor.Finish()
			m.down = 0
			return
		}
		if !m.Editor.Press(m.at(ev.Position)) {
			m.startPan(ev.Position)
		}
	default:
		m.startPan(ev.Position)
	}
}

func (m *Map) startPan(p fyne.Position) {
	m.panning, m.panFrom, m.panView = true, p, m.Layers.View
}

// MouseUp is part of desktop.Mouseable.
func (m *Map) MouseUp(ev *desktop.MouseEvent) {
	if ev.Button != m.down {
		return
	}
	m.pointer = ev.Position
	m.release(ev.Position)
	if ev.Button == desktop.MouseButtonSecondary && math.Hypot(float64(ev.Position.X-m.panFrom.X), float64(ev.Position.Y-m.panFrom.Y)) < 4 {
		m.menu(ev)
	}
}

func (m *Map) menu(ev *desktop.MouseEvent) {
	if m.OnMenu == nil {
		return
	}
	m.mods = 0
	p := m.at(ev.Position)
	m.Editor.Move(p)
	if m.Editor.Tool() == editor.SelectTool {
		if h := m.Editor.Hover(); h.ID != "" && (!m.Editor.IsSelected(h.ID) || h.Part == "vertex") {
			m.Editor.Press(p)
			m.Editor.Drop(p)
		}
	}
	m.OnMenu(ev.AbsolutePosition)
}

func (m *Map) release(p fyne.Position) {
	button := m.down
	m.down = 0
	if button == desktop.MouseButtonPrimary && !m.space || m.Editor.Busy() {
		m.Editor.Drop(m.at(p))
	}
	if m.panning {
		m.panning = false
		m.settle()
	}
}

// Dragged is part of fyne.Draggable.
func (m *Map) Dragged(ev *fyne.DragEvent) { m.drag(ev.Position) }

// DragEnd is part of fyne.Draggable; MouseUp has done the work.
func (m *Map) DragEnd() {}

func (m *Map) drag(p fyne.Position) {
	if m.down == 0 {
		return
	}
	m.pointer = p
	if m.OnPointer != nil {
		m.OnPointer(m.grid(p), true)
	}
	if m.panning {
		if m.Editor.Busy() {
			m.Editor.Drag(m.at(p)) // so that a pan is no click
		}
		v := m.panView
		k := v.PixelsPerUnit()
		if m.Layers.View.MetresPerUnit != v.MetresPerUnit { // zoomed on the way
			m.startPan(p)
			return
		}
		// Whole device pixels, so that the layers can be shifted.
		dx := math.Round(float64(p.X-m.panFrom.X)*k) / k
		dy := math.Round(float64(p.Y-m.panFrom.Y)*k) / k
		v.Centre = orb.Point{v.Centre[0] - dx*v.MetresPerUnit, v.Centre[1] + dy*v.MetresPerUnit}
		v.Width, v.Height, v.Scale = m.Layers.View.Width, m.Layers.View.Height, m.Layers.View.Scale
		m.setView(v)
		m.stir()
		return
	}
	m.Editor.Drag(m.at(p))
}

// MouseIn is part of desktop.Hoverable.
func (m *Map) MouseIn(ev *desktop.MouseEvent) { m.MouseMoved(ev) }

// MouseMoved is part of desktop.Hoverable. The secondary button makes no
// Dragged, so panning with it is done here.
func (m *Map) MouseMoved(ev *desktop.MouseEvent) {
	m.inside, m.pointer = true, ev.Position
	if m.down != 0 {
		if m.down == desktop.MouseButtonSecondary {
			m.drag(ev.Position)
		}
		return
	}
	m.Editor.Move(m.at(ev.Position))
	if m.OnPointer != nil {
		m.OnPointer(m.grid(ev.Position), true)
	}
}

// MouseOut is part of desktop.Hoverable.
func (m *Map) MouseOut() {
	m.inside = false
	if m.down == 0 {
		m.Editor.Leave()
	}
	if m.OnPointer != nil {
		m.OnPointer(orb.Point{}, false)
	}
}

// Scrolled is part of fyne.Scrollable: the wheel zooms about the pointer.
func (m *Map) Scrolled(ev *fyne.ScrollEvent) {
	m.pointer = ev.Position
	m.zoomAt(orb.Point{float64(ev.Position.X), float64(ev.Position.Y)}, math.Exp(wheelRate*float64(ev.Scrolled.DY)))
}

// Cursor is part of desktop.Cursorable.
func (m *Map) Cursor() desktop.Cursor {
	if m.panning || m.space {
		return desktop.PointerCursor
	}
	if m.Pressed != nil {
		return desktop.CrosshairCursor
	}
	switch m.Editor.Hand() {
	case editor.Cross:
		return desktop.CrosshairCursor
	case editor.Grab:
		return desktop.PointerCursor
	}
	return desktop.DefaultCursor
}

func (m *Map) focus() {
	if c := fyne.CurrentApp().Driver().CanvasForObject(m); c != nil && !m.focused {
		c.Focus(m)
	}
}

// FocusGained is part of fyne.Focusable.
func (m *Map) FocusGained() { m.focused = true }

// FocusLost is part of fyne.Focusable.
func (m *Map) FocusLost() {
	m.focused, m.space, m.mods = false, false, 0
	m.Editor.Settle()
}

// KeyDown is part of desktop.Keyable.
func (m *Map) KeyDown(ev *fyne.KeyEvent) {
	switch ev.Name {
	case fyne.KeySpace:
		m.space = true
	case desktop.KeyShiftLeft, desktop.KeyShiftRight:
		m.mods |= fyne.KeyModifierShift
	case desktop.KeyControlLeft, desktop.KeyControlRight:
		m.mods |= fyne.KeyModifierControl
	}
}

// KeyUp is part of desktop.Keyable.
func (m *Map) KeyUp(ev *fyne.KeyEvent) {
	switch ev.Name {
	case fyne.KeySpace:
		m.space = false
	case desktop.KeyShiftLeft, desktop.KeyShiftRight:
		m.mods &^= fyne.KeyModifierShift
	case desktop.KeyControlLeft, desktop.KeyControlRight:
		m.mods &^= fyne.KeyModifierControl
	}
}

// TypedRune is part of fyne.Focusable.
func (m *Map) TypedRune(r rune) {
	switch r {
	case '+', '=':
		m.Zoom(zoomStep)
	case '-', '−':
		m.Zoom(1 / zoomStep)
	default:
		if m.OnRune != nil {
			m.OnRune(r)
		}
	}
}

// TypedKey is part of fyne.Focusable.
func (m *Map) TypedKey(ev *fyne.KeyEvent) {
	if m.OnKey != nil && m.OnKey(ev) {
		return
	}
	step := 1.0
	if m.mods&fyne.KeyModifierShift != 0 {
		step = 0.1
	}
	switch ev.Name {
	case fyne.KeyEscape:
		m.Editor.Cancel()
		m.panning = false
	case fyne.KeyReturn, fyne.KeyEnter:
		m.Editor.Finish()
	case fyne.KeyLeft:
		m.arrow(-1, 0, step)
	case fyne.KeyRight:
		m.arrow(1, 0, step)
	case fyne.KeyUp:
		m.arrow(0, 1, step)
	case fyne.KeyDown:
		m.arrow(0, -1, step)
	}
}

// arrow nudges what is selected, or moves the view where nothing is.
func (m *Map) arrow(x, y, step float64) {
	if len(m.Editor.Selected()) > 0 {
		m.Editor.Nudge(x*step, y*step)
		if m.nudge != nil {
			m.nudge.Stop()
		}
		e := m.Editor
		m.nudge = time.AfterFunc(nudgeAfter, func() { fyne.Do(e.Settle) })
		return
	}
	const part = 0.12 // of the view's width
	v := m.Layers.View
	k := v.PixelsPerUnit()
	d := math.Round(part*v.Width*k) / k * v.MetresPerUnit
	v.Centre = orb.Point{v.Centre[0] + x*d, v.Centre[1] + y*d}
	m.setView(v)
	m.stir()
}
