package panel

import (
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"pleach/ui/drawing"
	"pleach/ui/paint"
)

// sketch paints a drawing list on a raster of its own.
type sketch struct {
	raster  *canvas.Raster
	painter *paint.Painter
	img     *image.RGBA
	theme   *drawing.Theme
	bare    bool                                 // it stands on what is behind it
	of      func() (*drawing.List, drawing.View) // nil for nothing to draw
}

func newSketch(of func() (*drawing.List, drawing.View)) *sketch {
	k := &sketch{painter: paint.New(), of: of}
	k.raster = canvas.NewRaster(k.paint)
	return k
}

func (k *sketch) paint(w, h int) image.Image {
	w, h = max(w, 1), max(h, 1)
	if k.img == nil || k.img.Rect.Dx() != w || k.img.Rect.Dy() != h {
		k.img = image.NewRGBA(image.Rect(0, 0, w, h))
	}
	if k.theme == nil {
		return k.img
	}
	if k.bare {
		clear(k.img.Pix)
	} else {
		paint.Fill(k.img, k.theme.Paper)
	}
	if list, view := k.of(); list != nil {
		view.Scale = float64(w) / view.Width
		k.painter.Paint(k.img, list, view, k.theme, nil, drawing.AllLayers)
	}
	return k.img
}

// plate is a sketch that takes the keys, with a note where nothing can be drawn.
type plate struct {
	*sketch
	frame *canvas.Rectangle // shown while it has the keys
	note  *Para
}

func newPlate(of func() (*drawing.List, drawing.View)) plate {
	p := plate{newSketch(of), canvas.NewRectangle(nil), NewPara("", ColorSoft, "")}
	p.frame.Hide()
	return p
}

// outline shows whether the plate has the keys.
func (p *plate) outline(focused bool) {
	p.frame.StrokeColor, p.frame.StrokeWidth = theme.Color(theme.ColorNameForeground), 1
	p.frame.Hidden = !focused
}

// CreateRenderer is part of fyne.Widget.
func (p *plate) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.NewStack(p.raster, Inset(p.note, 16, 12, 16, 0), p.frame))
}
