package paint

import (
	"image"
	"math"

	"github.com/paulmach/orb"

	"pleach/ui/drawing"
)

// maxStamps is the number of marks and labels kept as images: chosen, more
// than the devices of a large site with their names.
const maxStamps = 4096

type stampKey struct {
	theme *drawing.Theme
	scale float64
	drawing.StampKey
}

// Stamp is part of drawing.Stamper. Stamps stand on whole pixels.
func (p *Painter) Stamp(theme *drawing.Theme, key drawing.StampKey, at, half orb.Point, draw func(drawing.Canvas, orb.Point)) {
	k := stampKey{theme, p.scale, key}
	img, ok := p.stamps[k]
	if !ok {
		// The middle of a stamp is the corner between its four middle pixels.
		w, h := int(math.Ceil(half[0]*p.scale))+1, int(math.Ceil(half[1]*p.scale))+1
		img = image.NewRGBA(image.Rect(0, 0, 2*w, 2*h))
		dst, ras := p.dst, p.ras
		p.dst = img
		p.ras = p.small
		p.ras.resize(2*w, 2*h)
		draw(p, orb.Point{float64(w) / p.scale, float64(h) / p.scale})
		p.small = p.ras
		p.dst, p.ras = dst, ras
		if len(p.stamps) >= maxStamps {
			clear(p.stamps)
		}
		p.stamps[k] = img
	}
	at = p.pixel(at)
	over(p.dst, img, int(math.Round(at[0]))-img.Rect.Dx()/2, int(math.Round(at[1]))-img.Rect.Dy()/2)
}
