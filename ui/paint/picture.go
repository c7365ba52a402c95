package paint

import (
	"image"
	"image/draw"
	"math"

	"github.com/paulmach/orb"

	"pleach/ui/drawing"
)

// Picture is an aerial image on the site grid, rows running east, the first
// row in the north, with halved copies for small scales.
type Picture struct {
	levels []*image.RGBA
	bound  orb.Bound
}

// NewPicture takes an image and the ground it covers, outer edge to outer
// edge. It keeps img where that is an *image.RGBA that begins at 0, 0.
func NewPicture(img image.Image, ground orb.Bound) *Picture {
	first, ok := img.(*image.RGBA)
	if !ok || first.Rect.Min != (image.Point{}) {
		first = image.NewRGBA(image.Rect(0, 0, img.Bounds().Dx(), img.Bounds().Dy()))
		draw.Draw(first, first.Rect, img, img.Bounds().Min, draw.Src)
	}
	p := &Picture{levels: []*image.RGBA{first}, bound: ground}
	for l := first; l.Rect.Dx() > 256 && l.Rect.Dy() > 256; {
		l = halve(l)
		p.levels = append(p.levels, l)
	}
	return p
}

// Bound is the ground the picture covers.
func (p *Picture) Bound() orb.Bound { return p.bound }

// MetresPerPixel is the size of one of its pixels on the ground, along x.
func (p *Picture) MetresPerPixel() float64 {
	return (p.bound.Max[0] - p.bound.Min[0]) / float64(p.levels[0].Rect.Dx())
}

// halve averages two by two pixels; an odd last row or column is left out.
func halve(src *image.RGBA) *image.RGBA {
	w, h := src.Rect.Dx()/2, src.Rect.Dy()/2
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := 0; y < h; y++ {
		a := src.Pix[2*y*src.Stride:]
		b := src.Pix[(2*y+1)*src.Stride:]
		d := dst.Pix[y*dst.Stride:]
		for x := 0; x < 4*w; x++ {
			k := x&^3*2 + x&3
			d[x] = uint8((int(a[k]) + int(a[k+4]) + int(b[k]) + int(b[k+4]) + 2) / 4)
		}
	}
	return dst
}

// Draw fills dst with what of the picture is in view, paper elsewhere, and
// the veil over both: 0 leaves the full picture, 1 bare paper. smooth
// interpolates between pixels, for a view at rest; without it the nearest
// pixel is taken. A nil picture is bare paper.
func (p *Picture) Draw(dst *image.RGBA, view drawing.View, theme *drawing.Theme, veil float64, smooth bool) {
	if p == nil || veil >= 1 {
		Fill(dst, theme.Paper)
		return
	}
	w, h := dst.Rect.Dx(), dst.Rect.Dy()
	k := view.PixelsPerUnit()
	mpp := view.MetresPerUnit / k
	level := 0
	for level+1 < len(p.levels) && p.MetresPerPixel()*float64(int(2)<<level) <= mpp*1.01 {
		level++
	}
	src := p.levels[level]
	shrink := 1 / float64(int(1)<<level)
	// Column of dst -> column of src, at the middle of the pixel.
	sx := float64(p.levels[0].Rect.Dx()) / (p.bound.Max[0] - p.bound.Min[0]) * shrink
	sy := float64(p.levels[0].Rect.Dy()) / (p.bound.Max[1] - p.bound.Min[1]) * shrink
	left := view.Centre[0] - view.Width/2*view.MetresPerUnit
	top := view.Centre[1] + view.Height/2*view.MetresPerUnit
	// Fixed point with 8 bits: the picture's place to a 256th of its pixel.
	xs := make([]int, w)
	for x := range xs {
		xs[x] = place((left + (float64(x)+0.5)*mpp - p.bound.Min[0]) * sx)
	}
	v := theme.Veil(veil)
	a := uint32(v.A)
	keep := 256 - (a + a>>7)
	add := [3]uint32{uint32(v.R) * a / 255, uint32(v.G) * a / 255, uint32(v.B) * a / 255}
	bare := [3]uint32{uint32(theme.Paper.R), uint32(theme.Paper.G), uint32(theme.Paper.B)}
	sw, sh := src.Rect.Dx(), src.Rect.Dy()
	for y := 0; y < h; y++ {
		row := dst.Pix[y*dst.Stride : y*dst.Stride+4*w]
		ys := place((p.bound.Max[1] - (top - (float64(y)+0.5)*mpp)) * sy)
		if ys < 0 || ys>>8 >= sh {
			for x := 0; x < w; x++ {
				row[4*x], row[4*x+1], row[4*x+2], row[4*x+3] = uint8(bare[0]), uint8(bare[1]), uint8(bare[2]), 255
			}
			continue
		}
		if smooth {
			p.smoothRow(row, src, xs, ys, keep, add, bare)
			continue
		}
		line := src.Pix[ys>>8*src.Stride:]
		for x, s := range xs {
			d := row[4*x : 4*x+4]
			if s < 0 || s>>8 >= sw {
				d[0], d[1], d[2], d[3] = uint8(bare[0]), uint8(bare[1]), uint8(bare[2]), 255
				continue
			}
			q := line[s>>8*4 : s>>8*4+4]
			if q[3] == 255 {
				d[0] = uint8((uint32(q[0])*keep+128)>>8 + add[0])
				d[1] = uint8((uint32(q[1])*keep+128)>>8 + add[1])
				d[2] = uint8((uint32(q[2])*keep+128)>>8 + add[2])
			} else {
				see := uint32(255 - q[3])
				for c := 0; c < 3; c++ {
					d[c] = uint8(((uint32(q[c])+bare[c]*see/255)*keep+128)>>8 + add[c])
				}
			}
			d[3] = 255
		}
	}
}

// place is v in 256ths, held within what an int takes.
func place(v float64) int { return int(math.Floor(math.Min(math.Max(v, -1e6), 1e6) * 256)) }

// smoothRow interpolates one row between the four pixels round each place.
func (p *Picture) smoothRow(row []uint8, src *image.RGBA, xs []int, ys int, keep uint32, add, bare [3]uint32) {
	sw, sh := src.Rect.Dx(), src.Rect.Dy()
	yy := ys - 128 // pixel values stand for their middles
	y0 := min(max(yy>>8, 0), sh-1)
	y1 := min(y0+1, sh-1)
	fy := uint32(yy & 255)
	if yy < 0 {
		fy = 0
	}
	a, b := src.Pix[y0*src.Stride:], src.Pix[y1*src.Stride:]
	for x, s := range xs {
		d := row[4*x : 4*x+4]
		if s < 0 || s>>8 >= sw {
			d[0], d[1], d[2], d[3] = uint8(bare[0]), uint8(bare[1]), uint8(bare[2]), 255
			continue
		}
		xx := s - 128
		x0 := min(max(xx>>8, 0), sw-1)
		x1 := min(x0+1, sw-1)
		fx := uint32(xx & 255)
		if xx < 0 {
			fx = 0
		}
		w11 := fx * fy >> 8
		w10, w01 := fx-w11, fy-w11
		w00 := 256 - fx - fy + w11
		q00, q10 := a[4*x0:4*x0+4], a[4*x1:4*x1+4]
		q01, q11 := b[4*x0:4*x0+4], b[4*x1:4*x1+4]
		see := 255 - (uint32(q00[3])*w00+uint32(q10[3])*w10+uint32(q01[3])*w01+uint32(q11[3])*w11)>>8
		for c := 0; c < 3; c++ {
			v := (uint32(q00[c])*w00 + uint32(q10[c])*w10 + uint32(q01[c])*w01 + uint32(q11[c])*w11) >> 8
			if see > 0 {
				v = min(v+bare[c]*see/255, 255)
			}
			d[c] = uint8((v*keep+128)>>8 + add[c])
		}
		d[3] = 255
	}
}
