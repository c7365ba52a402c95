package paint

import (
	"encoding/binary"
	"image"
	"image/color"
)

// ink blends one colour onto an image, whole or through a tile.
type ink struct {
	pix    []uint8
	stride int

	rb, ga uint32 // the colour, premultiplied, red and blue, green and alpha, 16 bits each
	keep   uint32 // of what lies below at full coverage, of 256
	alpha  uint32

	tile   *tile
	ox, oy int // where the tile begins, from 0 to its size
}

// tile is a square pattern of coverage.
type tile struct {
	size  int
	cover []uint8
}

func newInk(dst *image.RGBA, c color.NRGBA) ink {
	a := uint32(c.A)
	mul := func(v uint8) uint32 { return (uint32(v)*a + 127) / 255 }
	return ink{pix: dst.Pix, stride: dst.Stride,
		rb: mul(c.R) | mul(c.B)<<16, ga: mul(c.G) | a<<16, keep: 256 - (a + a>>7), alpha: a}
}

func (k *ink) solid(y, x0, x1 int, cover uint8) {
	if k.tile != nil {
		for x := x0; x < x1; x++ {
			k.through(y, x, cover)
		}
		return
	}
	row := k.pix[y*k.stride+4*x0 : y*k.stride+4*x1]
	rb, ga, keep := k.rb, k.ga, k.keep
	if cover != 255 {
		rb, ga, keep = k.scaled(cover)
	}
	if keep == 0 {
		v := rb | ga<<8
		for i := 0; i+4 <= len(row); i += 4 {
			binary.LittleEndian.PutUint32(row[i:], v)
		}
		return
	}
	for i := 0; i+4 <= len(row); i += 4 {
		d := binary.LittleEndian.Uint32(row[i:])
		drb := ((d&0x00ff00ff)*keep + 0x00800080) >> 8 & 0x00ff00ff
		dga := ((d>>8&0x00ff00ff)*keep + 0x00800080) >> 8 & 0x00ff00ff
		binary.LittleEndian.PutUint32(row[i:], drb+rb|(dga+ga)<<8)
	}
}

// scaled returns the colour at a coverage below full.
func (k *ink) scaled(cover uint8) (rb, ga, keep uint32) {
	m := uint32(cover) + uint32(cover)>>7
	rb = (k.rb*m + 0x00800080) >> 8 & 0x00ff00ff
	ga = (k.ga*m + 0x00800080) >> 8 & 0x00ff00ff
	a := ga >> 16
	return rb, ga, 256 - (a + a>>7)
}

func (k *ink) mask(y, x0 int, cover []uint8) {
	if k.tile != nil {
		for i, c := range cover {
			if c > 0 {
				k.through(y, x0+i, c)
			}
		}
		return
	}
	row := k.pix[y*k.stride+4*x0 : y*k.stride+4*(x0+len(cover))]
	for i, c := range cover {
		if c == 0 {
			continue
		}
		rb, ga, keep := k.rb, k.ga, k.keep
		if c != 255 {
			rb, ga, keep = k.scaled(c)
		}
		p := row[4*i : 4*i+4]
		d := binary.LittleEndian.Uint32(p)
		drb := ((d&0x00ff00ff)*keep + 0x00800080) >> 8 & 0x00ff00ff
		dga := ((d>>8&0x00ff00ff)*keep + 0x00800080) >> 8 & 0x00ff00ff
		binary.LittleEndian.PutUint32(p, drb+rb|(dga+ga)<<8)
	}
}

// through blends one pixel through the tile.
func (k *ink) through(y, x int, cover uint8) {
	t := k.tile
	c := uint32(t.cover[(y+k.oy)%t.size*t.size+(x+k.ox)%t.size])
	if c == 0 {
		return
	}
	rb, ga, keep := k.scaled(uint8((c*uint32(cover) + 127) / 255))
	p := k.pix[y*k.stride+4*x : y*k.stride+4*x+4]
	d := binary.LittleEndian.Uint32(p)
	drb := ((d&0x00ff00ff)*keep + 0x00800080) >> 8 & 0x00ff00ff
	dga := ((d>>8&0x00ff00ff)*keep + 0x00800080) >> 8 & 0x00ff00ff
	binary.LittleEndian.PutUint32(p, drb+rb|(dga+ga)<<8)
}

// over lays src on dst with its upper left corner at x0, y0.
func over(dst, src *image.RGBA, x0, y0 int) {
	b := src.Rect.Add(image.Pt(x0, y0)).Intersect(image.Rect(0, 0, dst.Rect.Dx(), dst.Rect.Dy()))
	for y := b.Min.Y; y < b.Max.Y; y++ {
		d := dst.Pix[y*dst.Stride+4*b.Min.X : y*dst.Stride+4*b.Max.X]
		s := src.Pix[(y-y0)*src.Stride+4*(b.Min.X-x0):]
		s = s[:len(d)]
		for i := 0; i+4 <= len(d); i += 4 {
			v := binary.LittleEndian.Uint32(s[i:])
			a := v >> 24
			switch a {
			case 0:
				continue
			case 255:
				binary.LittleEndian.PutUint32(d[i:], v)
				continue
			}
			keep := 256 - (a + a>>7)
			q := binary.LittleEndian.Uint32(d[i:])
			rb := ((q&0x00ff00ff)*keep + 0x00800080) >> 8 & 0x00ff00ff
			ga := ((q>>8&0x00ff00ff)*keep + 0x00800080) >> 8 & 0x00ff00ff
			binary.LittleEndian.PutUint32(d[i:], rb+v&0x00ff00ff|(ga+v>>8&0x00ff00ff)<<8)
		}
	}
}
