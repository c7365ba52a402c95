// Package picture is the aerial picture as map and paper use it: an image that
// lies north up on the site grid, with smaller copies of itself so that it is
// drawn fast at any scale, and the arithmetic that places a bare photograph by
// matched points.
package picture

import (
	"fmt"
	"image"
	"math"

	"github.com/paulmach/orb"
)

// A Picture is an image on the site grid, north up, its pixels square. It is
// never changed once made and may be used by several goroutines.
type Picture struct {
	levels []*image.RGBA // each half the one before, until one fits in smallest
	origin orb.Point
	pixel  float64
}

// smallest is the longer side at which no smaller copy is made, in pixels.
// Chosen: nobody looks at a picture smaller than that.
const smallest = 32

// New returns the picture whose upper left corner is at origin (x of the left
// edge, y of the upper edge, metres on the site grid) and whose pixels measure
// pixelSize metres. Colours are premultiplied. The image is kept, not copied,
// and must not change afterwards; a third of its size more is used for smaller
// copies. New panics if the image is empty or pixelSize is not above 0.
func New(img *image.RGBA, origin orb.Point, pixelSize float64) *Picture {
	if img.Rect.Empty() || !(pixelSize > 0) || math.IsInf(pixelSize, 0) {
		panic(fmt.Sprintf("picture.New: image %v, pixel size %v", img.Rect, pixelSize))
	}
	p := &Picture{levels: []*image.RGBA{img}, origin: origin, pixel: pixelSize}
	for max(img.Rect.Dx(), img.Rect.Dy()) > smallest {
		img = halve(img)
		p.levels = append(p.levels, img)
	}
	return p
}

// Bound is the ground the picture covers, on the site grid.
func (p *Picture) Bound() orb.Bound {
	r := p.levels[0].Rect
	return orb.Bound{
		Min: orb.Point{p.origin[0], p.origin[1] - float64(r.Dy())*p.pixel},
		Max: orb.Point{p.origin[0] + float64(r.Dx())*p.pixel, p.origin[1]},
	}
}

// PixelSize is the side of a pixel in metres.
func (p *Picture) PixelSize() float64 { return p.pixel }

// Image is the picture itself, upper left corner at the upper left of Bound.
// It must not be changed.
func (p *Picture) Image() *image.RGBA { return p.levels[0] }

// halve returns src at half its size, rounded up, each pixel the mean of two by
// two. Beyond an odd edge there is nothing: the mean is then partly transparent.
func halve(src *image.RGBA) *image.RGBA {
	w, h := src.Rect.Dx(), src.Rect.Dy()
	dst := image.NewRGBA(image.Rect(0, 0, (w+1)/2, (h+1)/2))
	for y := range dst.Rect.Dy() {
		a := src.Pix[2*y*src.Stride:][: 4*w : 4*w]
		to := dst.Pix[y*dst.Stride:][:dst.Stride:dst.Stride]
		if 2*y+1 >= h {
			for x := range dst.Rect.Dx() {
				for c := range 4 {
					s := uint32(a[8*x+c])
					if 2*x+1 < w {
						s += uint32(a[8*x+4+c])
					}
					to[4*x+c] = uint8((s + 2) / 4)
				}
			}
			continue
		}
		b := src.Pix[(2*y+1)*src.Stride:][: 4*w : 4*w]
		for x := range w / 2 {
			p, q, o := a[8*x:8*x+8:8*x+8], b[8*x:8*x+8:8*x+8], to[4*x:4*x+4:4*x+4]
			o[0] = uint8((uint32(p[0]) + uint32(p[4]) + uint32(q[0]) + uint32(q[4]) + 2) / 4)
			o[1] = uint8((uint32(p[1]) + uint32(p[5]) + uint32(q[1]) + uint32(q[5]) + 2) / 4)
			o[2] = uint8((uint32(p[2]) + uint32(p[6]) + uint32(q[2]) + uint32(q[6]) + 2) / 4)
			o[3] = uint8((uint32(p[3]) + uint32(p[7]) + uint32(q[3]) + uint32(q[7]) + 2) / 4)
		}
		if w%2 == 1 {
			for c := range 4 {
				to[len(to)-4+c] = uint8((uint32(a[len(a)-4+c]) + uint32(b[len(b)-4+c]) + 2) / 4)
			}
		}
	}
	return dst
}
