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
	Moved func(dx float32)
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
	r.e.line.Move(fyne.NewPos(s.Width/2, 0))
	r.e.line.Resize(fyne.NewSize(1, s.Height))
	if r.e.over {
		r.e.line.Move(fyne.NewPos(s.Width/2-1, 0))
		r.e.line.Resize(fyne.NewSize(3, s.Height))
	}
}
func (r *edgeRenderer) MinSize() fyne.Size { return fyne.NewSize(5, 10) }
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
func (e *Edge) Cursor() desktop.Cursor { return desktop.HResizeCursor }

// Dragged is part of fyne.Draggable.
func (e *Edge) Dragged(ev *fyne.DragEvent) {
	if e.Moved != nil {
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
