package panel

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// Edge is a hairline between the map and a panel, to be dragged.
type Edge struct {
	widget.BaseWidget
	Level bool            // lies level between what is above and below
	Moved func(d float32) // across it, to the right or downwards
	Done  func()
	line  *canvas.Rectangle
	over  bool
}

// NewEdge makes an upright edge.
func NewEdge() *Edge {
	e := &Edge{line: canvas.NewRectangle(nil)}
	e.ExtendBaseWidget(e)
	return e
}

// CreateRenderer is part of fyne.Widget.
func (e *Edge) CreateRenderer() fyne.WidgetRenderer { return &edgeRenderer{e} }

type edgeRenderer struct{ e *Edge }

func (r *edgeRenderer) Layout(s fyne.Size) {
	if r.e.Level {
		r.e.line.Move(fyne.NewPos(0, 0))
		r.e.line.Resize(fyne.NewSize(s.Width, 1))
		if r.e.over {
			r.e.line.Resize(fyne.NewSize(s.Width, 3))
		}
		return
	}
	r.e.line.Move(fyne.NewPos(s.Width/2, 0))
	r.e.line.Resize(fyne.NewSize(1, s.Height))
	if r.e.over {
		r.e.line.Move(fyne.NewPos(s.Width/2-1, 0))
		r.e.line.Resize(fyne.NewSize(3, s.Height))
	}
}
func (r *edgeRenderer) MinSize() fyne.Size {
	if r.e.Level {
		return fyne.NewSize(10, 5)
	}
	return fyne.NewSize(5, 10)
}
func (r *edgeRenderer) Refresh() {
	r.e.line.FillColor = theme.Color(ColorRule)
	r.Layout(r.e.Size())
	canvas.Refresh(r.e)
}
func (r *edgeRenderer) Objects() []fyne.CanvasObject {
	r.e.line.FillColor = theme.Color(ColorRule)
	return []fyne.CanvasObject{r.e.line}
}
func (r *edgeRenderer) Destroy() {}

// MouseIn is part of desktop.Hoverable.
func (e *Edge) MouseIn(*desktop.MouseEvent) { e.over = true; e.Refresh() }

// MouseMoved is part of desktop.Hoverable.
func (e *Edge) MouseMoved(*desktop.MouseEvent) {}

// MouseOut is part of desktop.Hoverable.
func (e *Edge) MouseOut() { e.over = false; e.Refresh() }

// Cursor is part of desktop.Cursorable.
func (e *Edge) Cursor() desktop.Cursor {
	if e.Level {
		return desktop.VResizeCursor
	}
	return desktop.HResizeCursor
}

// Dragged is part of fyne.Draggable.
func (e *Edge) Dragged(ev *fyne.DragEvent) {
	switch {
	case e.Moved == nil:
	case e.Level:
		e.Moved(ev.Dragged.DY)
	default:
		e.Moved(ev.Dragged.DX)
	}
}

// DragEnd is part of fyne.Draggable.
func (e *Edge) DragEnd() {
	if e.Done != nil {
		e.Done()
	}
}

// Dock is the layout of the window: tools, map, an edge, the panels; any but the
// map may be hidden. Objects come in that order.
type Dock struct {
	Tools, Panels float32 // widths
}

// Layout is part of fyne.Layout.
func (d *Dock) Layout(os []fyne.CanvasObject, s fyne.Size) {
	tools, centre, edge, panels := os[0], os[1], os[2], os[3]
	left, right := float32(0), s.Width
	if tools.Visible() {
		left = d.Tools
		tools.Move(fyne.NewPos(0, 0))
		tools.Resize(fyne.NewSize(left, s.Height))
	}
	if panels.Visible() {
		w := min(d.Panels, s.Width-left-120)
		right = s.Width - w
		panels.Move(fyne.NewPos(right, 0))
		panels.Resize(fyne.NewSize(w, s.Height))
		edge.Move(fyne.NewPos(right-3, 0))
		edge.Resize(fyne.NewSize(5, s.Height))
		right--
	}
	centre.Move(fyne.NewPos(left, 0))
	centre.Resize(fyne.NewSize(right-left, s.Height))
}

// MinSize is part of fyne.Layout.
func (d *Dock) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(640, 320) }

// Floor is the layout of the window from the map down: the map and what is
// beside it, the section on an axis, its upper edge, the straight-line diagram, the
// bottom line. Objects come in that order. Where the window is too low for all of
// them the diagram gives way, then the section.
type Floor struct {
	Tall func() float32 // the height the section would like, 0 while only its heading shows
}

// What a window that is low keeps for the map and for the section, units: chosen.
const (
	leastMap  = 150
	leastOpen = 190
)

// Layout is part of fyne.Layout.
func (f *Floor) Layout(os []fyne.CanvasObject, s fyne.Size) {
	top, section, edge, strip, bar := os[0], os[1], os[2], os[3], os[4]
	bottom := s.Height - bar.MinSize().Height
	bar.Move(fyne.NewPos(0, bottom))
	bar.Resize(fyne.NewSize(s.Width, s.Height-bottom))
	st, sec := float32(0), float32(0)
	if strip.Visible() {
		st = strip.MinSize().Height
	}
	edge.(*Edge).Hidden = true
	if section.Visible() {
		sec = section.MinSize().Height
		if tall := f.Tall(); tall > 0 {
			edge.(*Edge).Hidden = false
			if st > 0 && bottom-leastMap-st < leastOpen {
				st = 0
			}
			sec = max(min(tall, bottom-leastMap-st), min(sec, bottom))
		}
	}
	// A strip that gives way lies behind the bottom line, out of the window.
	strip.Move(fyne.NewPos(0, bottom-st))
	if st == 0 {
		strip.Move(fyne.NewPos(0, s.Height))
	}
	strip.Resize(fyne.NewSize(s.Width, max(st, strip.MinSize().Height)))
	section.Move(fyne.NewPos(0, bottom-st-sec))
	section.Resize(fyne.NewSize(s.Width, sec))
	edge.Move(fyne.NewPos(0, bottom-st-sec-1))
	edge.Resize(fyne.NewSize(s.Width, 5))
	top.Move(fyne.NewPos(0, 0))
	top.Resize(fyne.NewSize(s.Width, bottom-st-sec))
}

// MinSize is part of fyne.Layout.
func (f *Floor) MinSize(os []fyne.CanvasObject) fyne.Size {
	m := os[0].MinSize()
	return fyne.NewSize(m.Width, m.Height+os[4].MinSize().Height)
}

// Corner is a layout that gives objects a width, at the left.
type Corner struct{ Width float32 }

// Layout is part of fyne.Layout.
func (c *Corner) Layout(os []fyne.CanvasObject, _ fyne.Size) {
	for _, o := range os {
		o.Move(fyne.NewPos(12, 2))
		o.Resize(fyne.NewSize(c.Width, o.MinSize().Height))
	}
}

// MinSize is part of fyne.Layout.
func (c *Corner) MinSize(os []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(c.Width, os[0].MinSize().Height+2)
}
