package picture

import (
	"encoding/binary"
	"image"
	"math"
	"sync"

	"github.com/paulmach/orb"
)

// A Frame says what ground an image shows: the upper left corner of its upper
// left pixel lies at Corner (metres on the site grid), and a pixel measures
// MetresPerPixel, above 0. North is up.
type Frame struct {
	Corner         orb.Point
	MetresPerPixel float64
}

// Quality is how carefully the picture is drawn.
type Quality int

const (
	Fast   Quality = iota // the nearest pixel: while the view moves
	Smooth                // between pixels: when it rests, and on paper
)

// Draw paints the part of the picture that falls into dst over what is there.
// Pixels of dst whose centre lies outside the picture keep their colour.
func (p *Picture) Draw(dst *image.RGBA, f Frame, q Quality) {
	if !(f.MetresPerPixel > 0) || dst.Rect.Empty() {
		return
	}
	level := int(math.Floor(math.Log2(f.MetresPerPixel/p.pixel) + 0.5))
	level = min(max(level, 0), len(p.levels)-1)
	src := p.levels[level]
	size := math.Ldexp(p.pixel, level)
	base := p.levels[0].Rect
	// Position in src of the centre of pixel i of dst: start + i·step.
	step := f.MetresPerPixel / size
	xs := axis{(f.Corner[0]-p.origin[0])/size + step/2, step, math.Ldexp(float64(base.Dx()), -level), src.Rect.Dx()}
	ys := axis{(p.origin[1]-f.Corner[1])/size + step/2, step, math.Ldexp(float64(base.Dy()), -level), src.Rect.Dy()}
	x0, x1 := xs.span(dst.Rect.Dx())
	y0, y1 := ys.span(dst.Rect.Dy())
	if x0 >= x1 || y0 >= y1 {
		return
	}
	cols := make([]tap, x1-x0)
	for i := range cols {
		if q == Smooth {
			cols[i] = xs.between(x0 + i)
		} else {
			cols[i] = xs.nearest(x0 + i)
		}
	}
	rows := func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			to := dst.Pix[y*dst.Stride+4*x0:][: 4*len(cols) : 4*len(cols)]
			if q == Smooth {
				t := ys.between(y)
				smoothRow(to, src.Pix[int(t.a)*src.Stride:], src.Pix[int(t.b)*src.Stride:], cols, t.part)
			} else {
				fastRow(to, src.Pix[int(ys.nearest(y).a)*src.Stride:], cols)
			}
		}
	}
	if q != Smooth || (y1-y0)*len(cols) < 1<<16 {
		rows(y0, y1)
		return
	}
	var wg sync.WaitGroup
	mid := (y0 + y1) / 2
	wg.Go(func() { rows(y0, mid) })
	rows(mid, y1)
	wg.Wait()
}

// axis maps one axis of the destination to pixels of a level, whole numbers at
// pixel edges. The picture ends at extent, which may lie inside the last pixel.
type axis struct {
	start, step, extent float64
	n                   int
}

// span is the range of destination pixels whose centres lie in the picture.
func (a axis) span(n int) (from, to int) {
	clamp := func(v float64) int { return int(math.Ceil(min(max(v, 0), float64(n)))) }
	return clamp(-a.start / a.step), clamp((a.extent - a.start) / a.step)
}

// A tap is one or two neighbouring pixels of a level, and the share of the
// second in 256ths.
type tap struct {
	a, b int32
	part uint32
}

func (a axis) nearest(i int) tap {
	k := min(max(int(a.start+float64(i)*a.step), 0), a.n-1)
	return tap{int32(k), int32(k), 0}
}

func (a axis) between(i int) tap {
	v := min(max(a.start+float64(i)*a.step-0.5, 0), float64(a.n-1))
	k := int(v)
	return tap{int32(k), int32(min(k+1, a.n-1)), uint32((v - float64(k)) * 256)}
}

func fastRow(to, from []uint8, cols []tap) {
	for i, c := range cols {
		if v := binary.LittleEndian.Uint32(from[4*c.a:]); v >= opaque {
			binary.LittleEndian.PutUint32(to[4*i:], v)
		} else if v != 0 {
			over(to[4*i:4*i+4:4*i+4], v)
		}
	}
}

// smoothRow mixes four pixels, two colour channels at a time in the halves of
// a word.
func smoothRow(to, upper, lower []uint8, cols []tap, down uint32) {
	const halves, round = 0x00ff00ff, 0x00800080
	mix := func(p, q, part uint32) uint32 {
		even := ((p&halves)*(256-part) + (q&halves)*part + round) >> 8 & halves
		odd := ((p>>8&halves)*(256-part) + (q>>8&halves)*part + round) >> 8 & halves
		return even | odd<<8
	}
	for i, c := range cols {
		a := mix(binary.LittleEndian.Uint32(upper[4*c.a:]), binary.LittleEndian.Uint32(upper[4*c.b:]), c.part)
		b := mix(binary.LittleEndian.Uint32(lower[4*c.a:]), binary.LittleEndian.Uint32(lower[4*c.b:]), c.part)
		if v := mix(a, b, down); v >= opaque {
			binary.LittleEndian.PutUint32(to[4*i:], v)
		} else if v != 0 {
			over(to[4*i:4*i+4:4*i+4], v)
		}
	}
}

// opaque is the least word of a pixel with alpha 255: alpha is its highest byte.
const opaque = 255 << 24

// over paints a premultiplied translucent colour over the pixel to.
func over(to []uint8, c uint32) {
	rest := 255 - c>>24
	for k := range 4 {
		to[k] = uint8(min(255, c>>(8*k)&0xff+(uint32(to[k])*rest+127)/255))
	}
}
