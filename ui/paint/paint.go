package paint

import (
	"image"
	"image/color"
	"math"

	"github.com/paulmach/orb"

	"pleach/ui/drawing"
)

// Painter paints lists into images. The zero value is not ready: see New.
type Painter struct {
	ras    raster
	small  raster // of stamps
	str    stroker
	tiles  map[tileKey]*tile
	texts  texts
	stamps map[stampKey]*image.RGBA

	dst   *image.RGBA
	ink   ink
	scale float64
	path  []orb.Point
	dash  []float64
}

// New makes a painter.
func New() *Painter {
	p := &Painter{tiles: map[tileKey]*tile{}, stamps: map[stampKey]*image.RGBA{}, texts: texts{masks: map[textKey]*textMask{}, faces: map[faceKey]*face{}}}
	p.str.r = &p.ras
	return p
}

// Paint draws the wanted layers of list on dst, which holds what lies below,
// as drawing.Render does. dst begins at 0, 0; it is view.Width by view.Height
// times view.Scale pixels, or less. placed may be nil.
func (p *Painter) Paint(dst *image.RGBA, list *drawing.List, view drawing.View, theme *drawing.Theme,
	placed *drawing.Placement, wanted drawing.LayerSet) {
	drawing.Render(p.On(dst, view.PixelsPerUnit()), list, view, theme, placed, wanted)
}

// On returns the canvas that paints on dst, scale pixels to a unit. It is good
// until the next call of On or Paint.
func (p *Painter) On(dst *image.RGBA, scale float64) drawing.Canvas {
	p.dst, p.scale = dst, scale
	p.ras.resize(dst.Rect.Dx(), dst.Rect.Dy())
	return p
}

// Image paints list on paper of the theme in a new image.
func Image(list *drawing.List, view drawing.View, theme *drawing.Theme) *image.RGBA {
	k := view.PixelsPerUnit()
	img := image.NewRGBA(image.Rect(0, 0, int(math.Round(view.Width*k)), int(math.Round(view.Height*k))))
	Fill(img, theme.Paper)
	New().Paint(img, list, view, theme, nil, drawing.AllLayers)
	return img
}

// Fill sets every pixel of img to c.
func Fill(img *image.RGBA, c color.NRGBA) {
	k := newInk(img, c)
	k.keep = 0
	for y := 0; y < img.Rect.Dy(); y++ {
		k.solid(y, 0, img.Rect.Dx(), 255)
	}
}

// ring enters a ring into the raster.
func (p *Painter) ring(ring []orb.Point) {
	n := len(ring)
	if n < 3 {
		return
	}
	last := p.pixel(ring[n-1])
	for _, q := range ring {
		q = p.pixel(q)
		p.ras.edge(last[0], last[1], q[0], q[1])
		last = q
	}
}

// pixel carries units to pixels, held within what is far beyond any view: an
// outline with a point out of all reason is drawn wrong there, and no more.
func (p *Painter) pixel(q orb.Point) orb.Point {
	return orb.Point{within(q[0] * p.scale), within(q[1] * p.scale)}
}

func within(v float64) float64 {
	const far = 1e7
	switch {
	case !(v > -far): // NaN too
		return -far
	case v > far:
		return far
	}
	return v
}

// Fill is part of drawing.Canvas.
func (p *Painter) Fill(rings []orb.Ring, c color.NRGBA) {
	if c.A == 0 {
		return
	}
	for _, r := range rings {
		p.ring(r)
	}
	p.ink = newInk(p.dst, c)
	p.ras.sweep(&p.ink)
}

// Hatch is part of drawing.Canvas.
func (p *Painter) Hatch(rings []orb.Ring, h drawing.Hatch, origin orb.Point) {
	p.tiled(rings, h.Colour, p.hatch(h), origin)
}

// Dots is part of drawing.Canvas.
func (p *Painter) Dots(rings []orb.Ring, d drawing.Dots, origin orb.Point) {
	p.tiled(rings, d.Colour, p.dots(d), origin)
}

func (p *Painter) tiled(rings []orb.Ring, c color.NRGBA, t *tile, origin orb.Point) {
	if c.A == 0 {
		return
	}
	for _, r := range rings {
		p.ring(r)
	}
	p.ink = newInk(p.dst, c)
	p.ink.tile = t
	// Whole pixels, so that the pattern moves with the ground without
	// shimmering.
	wrap := func(v float64) int {
		m := math.Mod(-math.Round(v*p.scale), float64(t.size))
		if m < 0 {
			m += float64(t.size)
		}
		return int(m)
	}
	p.ink.ox, p.ink.oy = wrap(origin[0]), wrap(origin[1])
	p.ras.sweep(&p.ink)
}

// Stroke is part of drawing.Canvas.
func (p *Painter) Stroke(path []orb.Point, pen drawing.Pen) {
	if len(path) < 2 || !p.pen(pen) {
		return
	}
	p.path = p.path[:0]
	for _, q := range path {
		p.path = append(p.path, p.pixel(q))
	}
	p.dash = p.dash[:0]
	for _, d := range pen.Dash {
		p.dash = append(p.dash, d*p.scale)
	}
	p.str.stroke(p.path, p.dash)
	p.ras.sweep(&p.ink)
}

// Segments is part of drawing.Segmenter.
func (p *Painter) Segments(ends []orb.Point, pen drawing.Pen) {
	if !p.pen(pen) {
		return
	}
	for i := 0; i+1 < len(ends); i += 2 {
		p.str.segment(p.pixel(ends[i]), p.pixel(ends[i+1]))
		p.str.end()
	}
	p.ras.sweep(&p.ink)
}

// pen makes stroker and ink ready for a pen, and reports whether it draws at
// all. A line under a pixel wide is drawn a pixel wide and paler.
func (p *Painter) pen(pen drawing.Pen) bool {
	if pen.Colour.A == 0 || !(pen.Width > 0) {
		return false
	}
	w, c := pen.Width*p.scale, pen.Colour
	if w < 1 {
		c.A = uint8(math.Round(float64(c.A) * math.Max(w, 0.3)))
		w = 1
	}
	p.str.width(w)
	p.str.cap, p.str.open = pen.Cap, false
	p.ink = newInk(p.dst, c)
	return true
}

// tileKey names a tile by its figures in thousandths of a pixel.
type tileKey struct {
	kind       uint8
	size, line int
	falling    bool
}

// hatch returns a tile of lines at 45 degrees. Its size is a whole number of
// pixels, so lines stand up to half a pixel nearer or farther than asked.
func (p *Painter) hatch(h drawing.Hatch) *tile {
	size := max(int(math.Round(h.Spacing*p.scale*math.Sqrt2)), 3)
	key := tileKey{1, size, int(h.Width * p.scale * 1000), h.Falling}
	if t, ok := p.tiles[key]; ok {
		return t
	}
	t := &tile{size: size, cover: make([]uint8, size*size)}
	half := h.Width * p.scale / 2
	for y := 0; y < size; y++ {
		for x := 0; x < size; x++ {
			// Rising to the right on the screen is x + y constant.
			u := x + y
			if h.Falling {
				u = x - y + size
			}
			d := float64(u%size) - float64(size)/2 + 0.5 // along a row, from the line's middle
			t.cover[y*size+x] = edgeCover(half - math.Abs(d)/math.Sqrt2)
		}
	}
	p.tiles[key] = t
	return t
}

// dots returns a tile of two dots, one in the middle, one on the corners.
func (p *Painter) dots(d drawing.Dots) *tile {
	size := max(int(math.Round(d.Spacing*p.scale)), 3)
	key := tileKey{2, size, int(d.Diameter * p.scale * 1000), false}
	if t, ok := p.tiles[key]; ok {
		return t
	}
	t := &tile{size: size, cover: make([]uint8, size*size)}
	half := d.Diameter * p.scale / 2
	s := float64(size)
	near := func(v float64) float64 { return math.Min(v, s-v) }
	for y := 0; y < size; y++ {
		for x := 0; x < size; x++ {
			fx, fy := float64(x)+0.5, float64(y)+0.5
			r := math.Min(math.Hypot(fx-s/2, fy-s/2), math.Hypot(near(fx), near(fy)))
			t.cover[y*size+x] = edgeCover(half - r)
		}
	}
	p.tiles[key] = t
	return t
}

// edgeCover is the coverage of a pixel whose middle lies d pixels within an
// edge.
func edgeCover(d float64) uint8 {
	return uint8(math.Round(255 * math.Min(math.Max(d+0.5, 0), 1)))
}
