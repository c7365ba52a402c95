package panel

import (
	"image"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
	"github.com/paulmach/orb"

	"pleach/model/analysis"
	"pleach/model/scene"
	"pleach/ui/drawing"
	"pleach/ui/paint"
)

// Diagram is the straight-line diagram of one boundary: the line unrolled by
// chainage. The wheel stretches it about the pointer, dragging moves it along.
type Diagram struct {
	widget.BaseWidget
	Look *Look
	// Over is told of the chainage under the pointer and its place on the site
	// grid, and when the pointer leaves. Go is told of a click: on a sensor's bar
	// with its id.
	Over   func(at orb.Point, chainage float64, on bool)
	Go     func(at orb.Point, id string)
	Height func() // its height has changed

	in       drawing.StraightInput
	boundary string
	straight *drawing.Straight
	width    float64 // of straight
	theme    *drawing.Theme
	raster   *canvas.Raster
	painter  *paint.Painter
	img      *image.RGBA
	cursor   float64 // chainage, below 0 for none
	hovered  string
	from, to float64
	tall     float32
}

// NewDiagram makes the diagram.
func NewDiagram(look *Look) *Diagram {
	d := &Diagram{Look: look, painter: paint.New(), cursor: -1}
	d.raster = canvas.NewRaster(d.paint)
	d.ExtendBaseWidget(d)
	return d
}

// Set shows a result; r nil shows nothing. posture is as in drawing.Input.
func (d *Diagram) Set(sc *scene.Scene, r *analysis.Result, selected []string, posture int) {
	d.in.Scene, d.in.Result, d.in.Selected, d.in.Posture = sc, r, selected, posture
	d.lay()
}

// Boundaries are the ids of the boundaries there are.
func (d *Diagram) Boundaries() []string {
	var ids []string
	if d.in.Result != nil {
		for _, b := range d.in.Result.Boundaries {
			ids = append(ids, b.ID)
		}
	}
	return ids
}

// Boundary is the id of the boundary that is shown, "" for none.
func (d *Diagram) Boundary() string {
	if d.straight == nil {
		return ""
	}
	return d.straight.ID
}

// ShowBoundary shows another boundary.
func (d *Diagram) ShowBoundary(id string) {
	if id != d.boundary {
		d.boundary, d.from, d.to = id, 0, 0
		d.lay()
	}
}

// Mark puts the cursor at a chainage, below 0 nowhere.
func (d *Diagram) Mark(chainage float64) {
	if chainage != d.cursor {
		d.cursor = chainage
		d.raster.Refresh()
	}
}

// lay draws the list anew.
func (d *Diagram) lay() {
	d.in.Boundary = 0
	for i, id := range d.Boundaries() {
		if id == d.boundary {
			d.in.Boundary = i
		}
	}
	d.theme = d.Look.Theme(fyne.CurrentApp().Settings().ThemeVariant())
	d.width = math.Max(float64(d.Size().Width), 40)
	d.in.Width, d.in.From, d.in.To, d.in.Hovered = d.width, d.from, d.to, d.hovered
	s, ok := drawing.Unroll(d.in, d.theme)
	d.straight = nil
	tall := float32(0)
	if ok {
		d.straight, tall = s, float32(s.View.Height)
	}
	if tall != d.tall {
		d.tall = tall
		if d.Height != nil {
			d.Height()
		}
	}
	d.raster.Refresh()
}

// MinSize is part of fyne.CanvasObject.
func (d *Diagram) MinSize() fyne.Size { return fyne.NewSize(100, d.tall) }

// Resize is part of fyne.CanvasObject.
func (d *Diagram) Resize(s fyne.Size) {
	d.BaseWidget.Resize(s)
	if float64(s.Width) != d.width {
		d.lay()
	}
}

// Refresh is part of fyne.CanvasObject: the theme may be another.
func (d *Diagram) Refresh() {
	d.lay()
	d.BaseWidget.Refresh()
}

// CreateRenderer is part of fyne.Widget.
func (d *Diagram) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(d.raster) }

func (d *Diagram) paint(w, h int) image.Image {
	w, h = max(w, 1), max(h, 1)
	if d.img == nil || d.img.Rect.Dx() != w || d.img.Rect.Dy() != h {
		d.img = image.NewRGBA(image.Rect(0, 0, w, h))
	}
	if d.theme == nil {
		return d.img
	}
	paint.Fill(d.img, d.theme.Paper)
	if d.straight == nil {
		return d.img
	}
	view := d.straight.View
	view.Scale = float64(w) / view.Width
	list := d.straight.List
	if d.cursor >= 0 {
		list = list.With(d.straight.Cursor(d.cursor))
	}
	d.painter.Paint(d.img, list, view, d.theme, nil, drawing.AllLayers)
	return d.img
}

func (d *Diagram) scene() *scene.Boundary {
	if d.straight == nil {
		return nil
	}
	for i := range d.in.Scene.Boundaries {
		if d.in.Scene.Boundaries[i].Feature.ID == d.straight.ID {
			return &d.in.Scene.Boundaries[i]
		}
	}
	return nil
}

// MouseIn is part of desktop.Hoverable.
func (d *Diagram) MouseIn(ev *desktop.MouseEvent) { d.MouseMoved(ev) }

// MouseMoved is part of desktop.Hoverable.
func (d *Diagram) MouseMoved(ev *desktop.MouseEvent) {
	b := d.scene()
	if b == nil {
		return
	}
	u := orb.Point{float64(ev.Position.X), float64(ev.Position.Y)}
	s, ok := d.straight.Chainage(u)
	hovered := ""
	for _, h := range d.straight.Hit(u, 2) {
		if h.Part == "covered" && h.ID != d.straight.ID {
			hovered = h.ID
			break
		}
	}
	if hovered != d.hovered {
		d.hovered = hovered
		d.lay()
	}
	if !ok {
		s = -1
	}
	d.Mark(s)
	if d.Over != nil {
		if ok {
			d.Over(b.Point(s), s, true)
		} else {
			d.Over(orb.Point{}, 0, false)
		}
	}
}

// MouseOut is part of desktop.Hoverable.
func (d *Diagram) MouseOut() {
	d.Mark(-1)
	if d.hovered != "" {
		d.hovered = ""
		d.lay()
	}
	if d.Over != nil {
		d.Over(orb.Point{}, 0, false)
	}
}

// Tapped is part of fyne.Tappable.
func (d *Diagram) Tapped(ev *fyne.PointEvent) {
	b := d.scene()
	if b == nil || d.Go == nil {
		return
	}
	u := orb.Point{float64(ev.Position.X), float64(ev.Position.Y)}
	if s, ok := d.straight.Chainage(u); ok {
		d.Go(b.Point(s), d.hovered)
	}
}

// Scrolled is part of fyne.Scrollable.
func (d *Diagram) Scrolled(ev *fyne.ScrollEvent) {
	b := d.scene()
	if b == nil {
		return
	}
	const least = 10 // metres in view
	length := b.Length()
	from, to := d.from, d.to
	if to <= from {
		from, to = 0, length
	}
	s := d.straight.View.ToGrid(orb.Point{float64(ev.Position.X), 0})[0]
	k := math.Exp(-0.009 * float64(ev.Scrolled.DY))
	if (to-from)*k < least {
		k = least / (to - from)
	}
	d.span(s-(s-from)*k, s+(to-s)*k, length)
}

// span shows the chainage from a to b, held within the boundary.
func (d *Diagram) span(a, b, length float64) {
	if b-a >= length {
		d.from, d.to = 0, 0
	} else {
		if a < 0 {
			a, b = 0, b-a
		}
		if b > length {
			a, b = a-(b-length), length
		}
		d.from, d.to = a, b
	}
	d.lay()
}

// Dragged is part of fyne.Draggable.
func (d *Diagram) Dragged(ev *fyne.DragEvent) {
	b := d.scene()
	if b == nil || d.to <= d.from {
		return
	}
	m := -float64(ev.Dragged.DX) * d.straight.View.MetresPerUnit
	d.span(d.from+m, d.to+m, b.Length())
}

// DragEnd is part of fyne.Draggable.
func (d *Diagram) DragEnd() {}

// Cursor is part of desktop.Cursorable.
func (d *Diagram) Cursor() desktop.Cursor { return desktop.CrosshairCursor }
