package panel

import (
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// Slider is a thin slider from 0 to 1.
type Slider struct {
	widget.BaseWidget
	value   float64
	changed func(float64)
	rail    *canvas.Line
	knob    *canvas.Circle
	focused bool
}

// NewSlider makes a slider.
func NewSlider(v float64, changed func(float64)) *Slider {
	s := &Slider{value: v, changed: changed, rail: canvas.NewLine(nil), knob: canvas.NewCircle(nil)}
	s.ExtendBaseWidget(s)
	return s
}

// Set moves the knob without telling.
func (s *Slider) Set(v float64) {
	s.value = math.Min(math.Max(v, 0), 1)
	s.Refresh()
}

func (s *Slider) to(x float32) {
	w := s.Size().Width - 12
	s.Set(float64((x - 6) / w))
	s.changed(s.value)
}

// MouseDown is part of desktop.Mouseable.
func (s *Slider) MouseDown(ev *desktop.MouseEvent) { s.to(ev.Position.X) }

// MouseUp is part of desktop.Mouseable.
func (s *Slider) MouseUp(*desktop.MouseEvent) {}

// Dragged is part of fyne.Draggable.
func (s *Slider) Dragged(ev *fyne.DragEvent) { s.to(ev.Position.X) }

// DragEnd is part of fyne.Draggable.
func (s *Slider) DragEnd() {}

// FocusGained is part of fyne.Focusable.
func (s *Slider) FocusGained() { s.focused = true; s.Refresh() }

// FocusLost is part of fyne.Focusable.
func (s *Slider) FocusLost() { s.focused = false; s.Refresh() }

// TypedRune is part of fyne.Focusable.
func (s *Slider) TypedRune(rune) {}

// TypedKey is part of fyne.Focusable.
func (s *Slider) TypedKey(ev *fyne.KeyEvent) {
	step := 0.05
	switch ev.Name {
	case fyne.KeyLeft, fyne.KeyDown:
		step = -step
	case fyne.KeyRight, fyne.KeyUp:
	default:
		return
	}
	s.Set(s.value + step)
	s.changed(s.value)
}

// Cursor is part of desktop.Cursorable.
func (s *Slider) Cursor() desktop.Cursor { return desktop.PointerCursor }

// MinSize is part of fyne.CanvasObject.
func (s *Slider) MinSize() fyne.Size { return fyne.NewSize(110, 14) }

// CreateRenderer is part of fyne.Widget.
func (s *Slider) CreateRenderer() fyne.WidgetRenderer { return &sliderRenderer{s} }

type sliderRenderer struct{ s *Slider }

func (r *sliderRenderer) Layout(size fyne.Size) {
	s := r.s
	y := size.Height / 2
	s.rail.Position1, s.rail.Position2 = fyne.NewPos(6, y), fyne.NewPos(size.Width-6, y)
	s.knob.Resize(fyne.NewSize(11, 11))
	s.knob.Move(fyne.NewPos(0.5+float32(s.value)*(size.Width-12), y-5.5))
}
func (r *sliderRenderer) MinSize() fyne.Size { return r.s.MinSize() }
func (r *sliderRenderer) Refresh() {
	s := r.s
	s.rail.StrokeColor, s.rail.StrokeWidth = theme.Color(ColorSoft), 1
	s.knob.FillColor = theme.Color(ColorSheet)
	s.knob.StrokeColor, s.knob.StrokeWidth = theme.Color(theme.ColorNameForeground), 1.5
	if s.focused {
		s.knob.FillColor = theme.Color(theme.ColorNameForeground)
	}
	r.Layout(s.Size())
	canvas.Refresh(s)
}
func (r *sliderRenderer) Objects() []fyne.CanvasObject {
	s := r.s
	if s.rail.StrokeColor == nil {
		r.Refresh()
	}
	return []fyne.CanvasObject{s.rail, s.knob}
}
func (r *sliderRenderer) Destroy() {}
