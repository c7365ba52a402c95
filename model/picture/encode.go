package picture

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"

	"github.com/paulmach/orb"
)

// JPEGOptions say how a part of a picture is written.
type JPEGOptions struct {
	MaxPixels int         // 0: 4 million
	Quality   int         // 1 to 100; 0: 85
	Paper     color.Color // under transparent parts and the veil; nil: white
	Veil      float64     // how far the picture recedes towards Paper, 0 to 1
	Grey      bool        // without colour
}

// ErrOutside is returned where no part of the picture lies in the crop.
var ErrOutside = errors.New("the picture does not reach into this part of the ground")

// JPEG returns the part of the picture inside crop as a JPEG file, and the
// ground it shows: all of crop that the picture covers, and at most one pixel
// more on the right and below. Pixels are as fine as the picture's own or, where
// that would be more than MaxPixels, coarser.
func (p *Picture) JPEG(crop orb.Bound, opt JPEGOptions) ([]byte, orb.Bound, error) {
	if opt.MaxPixels <= 0 {
		opt.MaxPixels = 4_000_000
	}
	if opt.Quality == 0 {
		opt.Quality = 85
	}
	if opt.Paper == nil {
		opt.Paper = color.White
	}
	if opt.Quality < 1 || opt.Quality > 100 || !(opt.Veil >= 0 && opt.Veil <= 1) {
		return nil, orb.Bound{}, fmt.Errorf("JPEG quality %d is not between 1 and 100, or veil %v not between 0 and 1", opt.Quality, opt.Veil)
	}
	whole := p.Bound()
	area := orb.Bound{
		Min: orb.Point{max(crop.Min[0], whole.Min[0]), max(crop.Min[1], whole.Min[1])},
		Max: orb.Point{min(crop.Max[0], whole.Max[0]), min(crop.Max[1], whole.Max[1])},
	}
	dx, dy := area.Max[0]-area.Min[0], area.Max[1]-area.Min[1]
	if !(dx > 0 && dy > 0) {
		return nil, orb.Bound{}, ErrOutside
	}
	const most = 65535 // pixels on a side of a JPEG file (ITU-T T.81, B.2.2)
	size := max(p.pixel, math.Sqrt(dx*dy/float64(opt.MaxPixels)), dx/most, dy/most)
	w, h := max(1, int(math.Ceil(dx/size-1e-6))), max(1, int(math.Ceil(dy/size-1e-6)))
	area.Max[0] = area.Min[0] + float64(w)*size
	area.Min[1] = area.Max[1] - float64(h)*size

	img := image.NewRGBA(image.Rect(0, 0, w, h))
	paper := color.RGBAModel.Convert(opt.Paper).(color.RGBA)
	paper.A = 255
	for i := 0; i < len(img.Pix); i += 4 {
		img.Pix[i], img.Pix[i+1], img.Pix[i+2], img.Pix[i+3] = paper.R, paper.G, paper.B, 255
	}
	p.Draw(img, Frame{orb.Point{area.Min[0], area.Max[1]}, size}, Smooth)
	if veil := uint32(opt.Veil*256 + 0.5); veil > 0 {
		under := [3]uint32{uint32(paper.R), uint32(paper.G), uint32(paper.B)}
		for i := 0; i < len(img.Pix); i += 4 {
			for k := range 3 {
				img.Pix[i+k] = uint8((uint32(img.Pix[i+k])*(256-veil) + under[k]*veil + 128) >> 8)
			}
		}
	}
	var out image.Image = img
	if opt.Grey {
		grey := image.NewGray(img.Rect)
		for i := range grey.Pix {
			c := color.RGBA{img.Pix[4*i], img.Pix[4*i+1], img.Pix[4*i+2], 255}
			grey.Pix[i] = color.GrayModel.Convert(c).(color.Gray).Y
		}
		out = grey
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, out, &jpeg.Options{Quality: opt.Quality}); err != nil {
		return nil, orb.Bound{}, fmt.Errorf("write the picture as JPEG: %w", err)
	}
	return b.Bytes(), area, nil
}
