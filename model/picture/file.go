package picture

import (
	"bytes"
	"fmt"
	"image/color"
	"image/jpeg"

	"github.com/paulmach/orb"
)

// A File is a JPEG file as it stands, and how it lies on the site grid.
type File struct {
	JPEG          []byte
	Width, Height int // pixels
	At            Affine
}

// NewFile takes a JPEG file that lies by at. It must be grey or in colours as
// luminance and two differences, in 8 bits, the sorts that any reader of JPEG
// shows alike; another is an error.
func NewFile(data []byte, at Affine) (*File, error) {
	c, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("not a JPEG of the usual sort: %w", err)
	}
	if c.ColorModel != color.YCbCrModel && c.ColorModel != color.GrayModel {
		return nil, fmt.Errorf("a JPEG in colours other than luminance and two differences")
	}
	return &File{JPEG: data, Width: c.Width, Height: c.Height, At: at}, nil
}

// Outline is the ground the file covers: its corners on the site grid, from the
// upper left, with the first repeated.
func (f *File) Outline() orb.Ring {
	w, h := float64(f.Width), float64(f.Height)
	out := orb.Ring{f.At.At(orb.Point{0, 0}), f.At.At(orb.Point{w, 0}), f.At.At(orb.Point{w, h}), f.At.At(orb.Point{0, h})}
	return append(out, out[0])
}

// Shown is the share of the file that falls into crop, 0 to 1, and how many
// pixels those are.
func (f *File) Shown(crop orb.Bound) (share, pixels float64) {
	total := float64(f.Width) * float64(f.Height)
	det := f.At[1]*f.At[5] - f.At[2]*f.At[4]
	if det < 0 {
		det = -det
	}
	share = areaWithin(f.Outline(), crop) / (total * det)
	return share, share * total
}

// areaWithin is the area of the part of a convex ring inside a box: the ring is
// cut by each side in turn (Sutherland and Hodgman, 1974).
func areaWithin(r orb.Ring, b orb.Bound) float64 {
	cut := func(r orb.Ring, axis int, at, sign float64) orb.Ring {
		var out orb.Ring
		for i := range r {
			p, q := r[i], r[(i+1)%len(r)]
			dp, dq := (p[axis]-at)*sign, (q[axis]-at)*sign
			if dp >= 0 {
				out = append(out, p)
			}
			if dp*dq < 0 {
				t := dp / (dp - dq)
				out = append(out, orb.Point{p[0] + t*(q[0]-p[0]), p[1] + t*(q[1]-p[1])})
			}
		}
		return out
	}
	r = r[:len(r)-1]
	for axis := range 2 {
		r = cut(r, axis, b.Min[axis], 1)
		r = cut(r, axis, b.Max[axis], -1)
	}
	area := 0.0
	for i := range r {
		p, q := r[i], r[(i+1)%len(r)]
		area += p[0]*q[1] - p[1]*q[0]
	}
	if area < 0 {
		area = -area
	}
	return area / 2
}
