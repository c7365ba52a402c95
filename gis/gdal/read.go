package gdal

import (
	"context"
	"fmt"
	"image"
	"math"
	"strings"

	raw "github.com/lukeroth/gdal"
)

// A source is an open image at one of its levels of detail, ready to be read
// as colours.
type source struct {
	name   string
	plan   bandPlan
	colour []raw.RasterBand
	masks  []raw.RasterBand // 0 where nothing is known; none where all is
	table  [][4]uint8       // of a palette
	tone   stretch          // of wide numbers
	w, h   int              // of this level
	fx, fy float64          // pixels of this level in one of the whole image
}

// fullReadPixels is how many pixels are read in full although overviews
// exist: those a file carries may have been made by dropping pixels. Chosen:
// half a second of reading.
const fullReadPixels = 1 << 26

// newSource opens the level of detail that is enough for steps of sx, sy
// pixels of the whole image.
func newSource(ds raw.Dataset, info *ImageInfo, window image.Rectangle, sx, sy float64) (*source, error) {
	plan, err := chooseBands(ds)
	if err != nil {
		return nil, err
	}
	s := &source{name: shown(info.Path), plan: plan, w: info.Width, h: info.Height, fx: 1, fy: 1}
	level := -1
	first := ds.RasterBand(plan.colour[0])
	if window.Dx()*window.Dy() > fullReadPixels {
		for i := range first.OverviewCount() {
			o := first.Overview(i)
			if o.XSize() < 1 || o.YSize() < 1 {
				continue
			}
			fx, fy := float64(o.XSize())/float64(info.Width), float64(o.YSize())/float64(info.Height)
			if fx*sx >= 1 && fy*sy >= 1 && fx < s.fx {
				level, s.w, s.h, s.fx, s.fy = i, o.XSize(), o.YSize(), fx, fy
			}
		}
	}
	at := func(i int) (raw.RasterBand, error) {
		b := ds.RasterBand(i)
		if level >= 0 {
			if level >= b.OverviewCount() {
				return b, fmt.Errorf("band %d has fewer overviews than band %d", i, plan.colour[0])
			}
			b = b.Overview(level)
		}
		if b.XSize() != s.w || b.YSize() != s.h {
			return b, fmt.Errorf("overviews of band %d and band %d differ in size", i, plan.colour[0])
		}
		return b, nil
	}
	for _, i := range plan.colour {
		b, err := at(i)
		if err != nil {
			return nil, err
		}
		s.colour = append(s.colour, b)
	}
	switch flags := s.colour[0].GetMaskFlags(); {
	case plan.alpha > 0:
		b, err := at(plan.alpha)
		if err != nil {
			return nil, err
		}
		s.masks = append(s.masks, b)
	case flags&raw.GMF_ALL_VALID != 0:
	case flags&raw.GMF_NODATA != 0:
		// A pixel is empty where every band says so: one that is merely black
		// in red is not.
		for _, b := range s.colour {
			if b.GetMaskFlags()&raw.GMF_ALL_VALID != 0 {
				s.masks = nil
				break
			}
			s.masks = append(s.masks, b.GetMaskBand())
		}
	default:
		s.masks = append(s.masks, s.colour[0].GetMaskBand())
	}
	if plan.kind == palette {
		s.table = colourTable(ds.RasterBand(plan.colour[0]))
	}
	return s, nil
}

// rows holds one strip as read.
type rows struct {
	bytes  [][]uint8
	floats [][]float32
	masks  [][]uint8
}

// read fills r with the strip of w x n pixels at x, y. It is the only place
// where the library writes into our memory: the buffers are as long as asked.
func (s *source) read(r *rows, x, y, w, n int) error {
	if w < 1 || n < 1 || x < 0 || y < 0 || x+w > s.w || y+n > s.h {
		panic(fmt.Sprintf("read %dx%d at %d,%d of %dx%d", w, n, x, y, s.w, s.h))
	}
	size := w * n
	grow := func(list [][]uint8, k int) [][]uint8 {
		for len(list) < k {
			list = append(list, nil)
		}
		for i := range list {
			if len(list[i]) < size {
				list[i] = make([]uint8, size)
			}
		}
		return list
	}
	fail := func(err error) error {
		if msg := lastFailure(); strings.Contains(msg, "libjpeg to allocate") || strings.Contains(msg, "Backing store") {
			return fmt.Errorf("%s: a progressive JPEG of this size takes too much memory to read: save it as an ordinary (baseline) one", s.name)
		}
		what := fmt.Sprintf("%s: damaged or cut short: rows %d to %d of %d cannot be read", s.name, y+1, y+n, s.h)
		if err != nil && lastFailure() == "" {
			return fmt.Errorf("%s: %v", what, err)
		}
		return failure(what)
	}
	floats := s.plan.wide || s.plan.kind == palette && s.colour[0].RasterDataType() != raw.Byte
	if floats {
		for len(r.floats) < len(s.colour) {
			r.floats = append(r.floats, nil)
		}
		for i, b := range s.colour {
			if len(r.floats[i]) < size {
				r.floats[i] = make([]float32, size)
			}
			if err := b.IO(raw.Read, x, y, w, n, r.floats[i], w, n, 0, 0); err != nil {
				return fail(err)
			}
		}
	} else {
		r.bytes = grow(r.bytes, len(s.colour))
		for i, b := range s.colour {
			if err := b.IO(raw.Read, x, y, w, n, r.bytes[i], w, n, 0, 0); err != nil {
				return fail(err)
			}
		}
	}
	r.masks = grow(r.masks, len(s.masks))
	for i, b := range s.masks {
		if err := b.IO(raw.Read, x, y, w, n, r.masks[i], w, n, 0, 0); err != nil {
			return fail(err)
		}
	}
	return nil
}

// colours turns a strip of size pixels into premultiplied red, green, blue,
// alpha, four bytes a pixel.
func (s *source) colours(r *rows, size int, out []uint8) {
	for i := range size {
		o := out[4*i : 4*i+4 : 4*i+4]
		a := uint8(255)
		if len(r.masks) > 0 {
			a = 0
			for _, m := range r.masks[:len(s.masks)] {
				a = max(a, m[i])
			}
			if a == 0 {
				o[0], o[1], o[2], o[3] = 0, 0, 0, 0
				continue
			}
		}
		var c [3]uint8
		switch {
		case s.plan.kind == palette:
			var v int
			if len(r.floats) > 0 {
				v = int(r.floats[0][i])
			} else {
				v = int(r.bytes[0][i])
			}
			var e [4]uint8
			if v >= 0 && v < len(s.table) {
				e = s.table[v]
			}
			o[0], o[1], o[2], o[3] = mul255(e[0], a), mul255(e[1], a), mul255(e[2], a), mul255(e[3], a)
			continue
		case s.plan.wide:
			for j := range s.colour {
				v := r.floats[j][i]
				if v != v || math.IsInf(float64(v), 0) {
					a = 0
				}
				c[j] = s.tone.byte(v)
			}
		default:
			for j := range s.colour {
				c[j] = r.bytes[j][i]
				if s.plan.bits < 8 {
					c[j] = uint8(min(255, int(c[j])*255/(1<<s.plan.bits-1)))
				}
			}
		}
		if s.plan.kind == gray {
			c[1], c[2] = c[0], c[0]
		}
		if a != 255 {
			c[0], c[1], c[2] = mul255(c[0], a), mul255(c[1], a), mul255(c[2], a)
		}
		o[0], o[1], o[2], o[3] = c[0], c[1], c[2], a
	}
}

// findTone samples the window and sets the stretch of wide numbers.
func (s *source) findTone(ctx context.Context, win image.Rectangle) error {
	if !s.plan.wide {
		return nil
	}
	// Short pieces of lines all over the window: few blocks need unpacking.
	const lines, perLine, longest = 200, 1000, 4096
	var r rows
	var sample []float32
	n, w := min(lines, win.Dy()), min(win.Dx(), longest)
	for k := range n {
		if err := ctx.Err(); err != nil {
			return err
		}
		x := win.Min.X + (win.Dx()-w)*(k*7%n)/n
		if err := s.read(&r, x, win.Min.Y+k*win.Dy()/n, w, 1); err != nil {
			return err
		}
		step := max(1, w/perLine)
	pixels:
		for i := 0; i < w; i += step {
			for _, m := range r.masks[:len(s.masks)] {
				if m[i] == 0 {
					continue pixels
				}
			}
			for j := range s.colour {
				if v := r.floats[j][i]; v == v && !math.IsInf(float64(v), 0) {
					sample = append(sample, v)
				}
			}
		}
	}
	s.tone = stretchOf(sample)
	return nil
}

// reduced is a part of an image, each of its pixels the mean of kx x ky of the
// level it was read from.
type reduced struct {
	img    *image.RGBA
	origin image.Point // upper left corner, in pixels of the level
	kx, ky int
}

const (
	// stripBytes is about how much is read at a time, unpacked to colours.
	stripBytes = 8 << 20
	// pillarBytes is about how much one row of tiles may hold, unpacked, before
	// the image is read in pillars: well under cacheBytes, or each strip would
	// unpack the same tiles again.
	pillarBytes = 64 << 20
)

// reduce reads the window of the level and averages kx x ky pixels into one,
// weighted by their alpha.
func (s *source) reduce(ctx context.Context, win image.Rectangle, kx, ky int) (*reduced, error) {
	if err := s.findTone(ctx, win); err != nil {
		return nil, err
	}
	w, h := (win.Dx()+kx-1)/kx, (win.Dy()+ky-1)/ky
	out := &reduced{img: image.NewRGBA(image.Rect(0, 0, w, h)), origin: win.Min, kx: kx, ky: ky}
	pillar := win.Dx()
	if bw, bh := s.colour[0].BlockSize(); bw < s.w {
		perColumn := bh * (len(s.colour) + len(s.masks)) * max(1, s.colour[0].RasterDataType().Size()/8)
		pillar = max(pillarBytes/perColumn/kx, 1) * kx
	}
	for x := win.Min.X; x < win.Max.X; x += pillar {
		if err := s.reducePillar(ctx, image.Rect(x, win.Min.Y, min(x+pillar, win.Max.X), win.Max.Y), out); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// reducePillar is reduce for a part of full height that begins at a whole pixel
// of out.
func (s *source) reducePillar(ctx context.Context, win image.Rectangle, out *reduced) error {
	kx, ky := out.kx, out.ky
	w := (win.Dx() + kx - 1) / kx
	strip := max(1, stripBytes/(4*win.Dx()))
	if _, bh := s.colour[0].BlockSize(); strip > bh {
		strip -= strip % bh
	}
	var r rows
	line := make([]uint8, 4*win.Dx()*min(strip, win.Dy()))
	sums := make([]uint64, 4*w)
	inSums := 0 // rows summed
	for y := win.Min.Y; y < win.Max.Y; y += strip {
		if err := ctx.Err(); err != nil {
			return err
		}
		n := min(strip, win.Max.Y-y)
		if err := s.read(&r, win.Min.X, y, win.Dx(), n); err != nil {
			return err
		}
		s.colours(&r, win.Dx()*n, line)
		for j := range n {
			row := line[4*win.Dx()*j : 4*win.Dx()*(j+1)]
			down := y + j - win.Min.Y
			to := out.img.Pix[(down/ky)*out.img.Stride+4*((win.Min.X-out.origin.X)/kx):]
			if kx == 1 && ky == 1 {
				copy(to, row)
				continue
			}
			for cell := range w {
				var c0, c1, c2, c3 uint64
				part := row[4*cell*kx : min(4*(cell+1)*kx, len(row))]
				for i := 0; i+3 < len(part); i += 4 {
					c0 += uint64(part[i])
					c1 += uint64(part[i+1])
					c2 += uint64(part[i+2])
					c3 += uint64(part[i+3])
				}
				sums[4*cell] += c0
				sums[4*cell+1] += c1
				sums[4*cell+2] += c2
				sums[4*cell+3] += c3
			}
			inSums++
			if inSums < ky && down != win.Dy()-1 {
				continue
			}
			for cell := range w {
				count := uint64(inSums * min(kx, win.Dx()-cell*kx))
				for c := range 4 {
					to[4*cell+c] = uint8((sums[4*cell+c] + count/2) / count)
				}
			}
			clear(sums)
			inSums = 0
		}
	}
	return nil
}
