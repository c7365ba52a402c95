package gdal

import (
	"context"
	"fmt"
	"image"
	"math"
	"path/filepath"
	"sync"

	raw "github.com/lukeroth/gdal"
	"github.com/paulmach/orb"
)

// Reach is how far from the origin of the site grid an image is shown, in
// metres east, west, north and south. What lies beyond is cut off. Chosen: ten
// times a large site.
const Reach = 10_000.0

// DefaultPixels is the size of a warped image where the caller names none:
// 4096 x 4096 pixels, 64 MB.
const DefaultPixels = 1 << 24

// A Raster is an image on the site grid, north up.
type Raster struct {
	// Pix is premultiplied, transparent outside the image, its stride exactly
	// four bytes a pixel and its bounds from (0, 0).
	Pix *image.RGBA
	// Origin is the upper left corner: x of the left edge and y of the upper
	// edge, metres on the site grid.
	Origin orb.Point
	// PixelSize is the side of a pixel, which is square, in metres.
	PixelSize float64
	// Clipped is set where the image goes on beyond Reach and was cut off.
	Clipped bool
}

// A Placement says where an image lies on the ground, beyond what its file says.
type Placement struct {
	// CRS is that of the image's coordinates, where the file names none.
	CRS CRS
	// ToSite, if not nil, overrides whatever the file says: x = a0 + a1·col +
	// a2·row, y = a3 + a4·col + a5·row in metres on the site grid, (0,0) the
	// upper left corner of the upper left pixel.
	ToSite *[6]float64
}

// WarpToSite reads an image and resamples it onto the site grid. A pixel of the
// result is about as large as one of the image on the ground, or larger where
// more than maxPixels would be needed (0: DefaultPixels); then several pixels
// of the image are averaged into one. The image's own alpha, mask and
// no-data value become alpha. Each pixel lies where the coordinate reference
// system puts it to within a tenth of a pixel of the result.
//
// It is an error, in one line that names the file, if the image cannot be
// opened (OpenImage), is damaged or cut short, has no position (ErrNoPosition)
// or no coordinate reference system (ErrNoCRS), or lies beyond Reach.
func WarpToSite(ctx context.Context, path string, place Placement, site SiteGrid, maxPixels int) (Raster, error) {
	if maxPixels <= 0 {
		maxPixels = DefaultPixels
	}
	var out Raster
	err := locked(func() error {
		ds, info, err := openImage(path, OpenOptions{CRS: place.CRS})
		if err != nil {
			return err
		}
		defer ds.Close()
		m, err := newMapping(info, place, site)
		if err != nil {
			return fmt.Errorf("%s: %w", shown(path), err)
		}
		defer m.close()
		out, err = warp(ctx, ds, info, m, maxPixels)
		return err
	})
	return out, err
}

// Places returns where pixel positions of an image, column and row as in
// Placement, lie on the site grid, in metres. Errors are those of WarpToSite, and
// a position that has no place.
func Places(path string, place Placement, site SiteGrid, pixels []orb.Point) ([]orb.Point, error) {
	out := append([]orb.Point(nil), pixels...)
	err := locked(func() error {
		ds, info, err := openImage(path, OpenOptions{CRS: place.CRS})
		if err != nil {
			return err
		}
		defer ds.Close()
		m, err := newMapping(info, place, site)
		if err != nil {
			return fmt.Errorf("%s: %w", shown(path), err)
		}
		defer m.close()
		if i := m.site(out); i >= 0 {
			return failure(fmt.Sprintf("%s: pixel %g, %g has no place on the site grid", shown(path), pixels[i][0], pixels[i][1]))
		}
		return nil
	})
	return out, err
}

// A mapping takes pixels of an image to the site grid and back.
type mapping struct {
	pixel  [6]float64 // pixel -> coordinates of the image
	back   [6]float64 // and back
	toSite raw.CoordinateTransform
	toCRS  raw.CoordinateTransform // both null where the image's coordinates are the site grid's
	from   string
}

func newMapping(info *ImageInfo, place Placement, site SiteGrid) (*mapping, error) {
	m := &mapping{}
	if place.ToSite != nil {
		m.pixel, m.from = *place.ToSite, "its control points"
	} else {
		switch {
		case !info.Positioned:
			return nil, ErrNoPosition
		case info.CRS.IsZero():
			return nil, ErrNoCRS
		}
		m.pixel, m.from = info.GeoTransform, describe(info.CRS)
		grid, err := site.CRS()
		if err != nil {
			return nil, err
		}
		if m.toSite, err = newTransform(info.CRS, grid); err != nil {
			return nil, err
		}
		if m.toCRS, err = newTransform(grid, info.CRS); err != nil {
			m.close()
			return nil, err
		}
	}
	var err error
	if m.back, err = invert(m.pixel); err != nil {
		m.close()
		return nil, fmt.Errorf("placed by %v: %w", m.pixel, err)
	}
	return m, nil
}

func (m *mapping) close() {
	if !m.toSite.IsNull() {
		m.toSite.Destroy()
	}
	if !m.toCRS.IsNull() {
		m.toCRS.Destroy()
	}
}

// site replaces pixel positions by places on the site grid; one that has none
// becomes not-a-number. It returns the index of the first such, or -1.
func (m *mapping) site(pts []orb.Point) int {
	for i, p := range pts {
		pts[i] = apply(m.pixel, p)
	}
	if m.toSite.IsNull() {
		return -1
	}
	return transform(m.toSite, pts)
}

// image replaces places on the site grid by pixel positions, likewise.
func (m *mapping) image(pts []orb.Point) {
	if !m.toCRS.IsNull() {
		transform(m.toCRS, pts)
	}
	for i, p := range pts {
		pts[i] = apply(m.back, p)
	}
}

func warp(ctx context.Context, ds raw.Dataset, info *ImageInfo, m *mapping, maxPixels int) (Raster, error) {
	area, clipped, err := m.area(info)
	if err != nil {
		return Raster{}, fmt.Errorf("%s: %w", shown(info.Path), err)
	}
	own, err := m.ground(info, area)
	if err != nil {
		return Raster{}, fmt.Errorf("%s: %w", shown(info.Path), err)
	}
	size, w, h := fit(area, own, maxPixels)
	out := Raster{
		Pix:       image.NewRGBA(image.Rect(0, 0, w, h)),
		Origin:    orb.Point{area.Min[0], area.Max[1]},
		PixelSize: size,
		Clipped:   clipped,
	}
	mesh, err := m.mesh(out)
	if err != nil {
		return Raster{}, fmt.Errorf("%s: %w", shown(info.Path), err)
	}
	win, steps := mesh.window(info)
	if win.Empty() {
		return out, nil
	}
	src, err := newSource(ds, info, win, steps[0], steps[1])
	if err != nil {
		return Raster{}, fmt.Errorf("%s: %w", shown(info.Path), err)
	}
	// The window and steps in pixels of the level that is read.
	level := image.Rect(
		int(math.Floor(float64(win.Min.X)*src.fx)), int(math.Floor(float64(win.Min.Y)*src.fy)),
		int(math.Ceil(float64(win.Max.X)*src.fx)), int(math.Ceil(float64(win.Max.Y)*src.fy)),
	).Intersect(image.Rect(0, 0, src.w, src.h))
	part, err := src.reduce(ctx, level, factor(steps[0]*src.fx), factor(steps[1]*src.fy))
	if err != nil {
		return Raster{}, err
	}
	mesh.resample(out.Pix, part, info, src)
	return out, ctx.Err()
}

// factor is how many pixels are averaged for a step of so many.
func factor(step float64) int { return max(1, int(math.Round(step))) }

// area returns the part of the site grid the image covers within Reach, and
// whether some of the image lies beyond.
func (m *mapping) area(info *ImageInfo) (orb.Bound, bool, error) {
	reach := orb.Bound{Min: orb.Point{-Reach, -Reach}, Max: orb.Point{Reach, Reach}}
	edge := border(info.Width, info.Height)
	if m.site(edge) >= 0 {
		// An image of half the world: its edge has no place on the site grid.
		// Does it hold the site's neighbourhood?
		pts := []orb.Point{{0, 0}, {-Reach, -Reach}, {-Reach, Reach}, {Reach, Reach}, {Reach, -Reach}}
		m.image(pts)
		for _, p := range pts {
			if p[0] >= 0 && p[0] <= float64(info.Width) && p[1] >= 0 && p[1] <= float64(info.Height) {
				return reach, true, nil
			}
		}
		return reach, false, fmt.Errorf("does not lie near the site by %s: check its coordinate reference system and position", m.from)
	}
	all := orb.MultiPoint(edge).Bound()
	part := orb.Bound{
		Min: orb.Point{max(all.Min[0], -Reach), max(all.Min[1], -Reach)},
		Max: orb.Point{min(all.Max[0], Reach), min(all.Max[1], Reach)},
	}
	if part.Min[0] >= part.Max[0] || part.Min[1] >= part.Max[1] {
		c := all.Center()
		return reach, false, fmt.Errorf("its middle lies %.0f km from the middle of the site by %s; up to %.0f km is shown: check its coordinate reference system and position",
			math.Hypot(c[0], c[1])/1000, m.from, Reach/1000)
	}
	return part, part != all, nil
}

// ground returns the side of one pixel of the image on the ground in metres,
// the shorter one, in the middle of area.
func (m *mapping) ground(info *ImageInfo, area orb.Bound) (float64, error) {
	mid := []orb.Point{area.Center()}
	m.image(mid)
	c := mid[0]
	if !finite(c[0]) || !finite(c[1]) {
		return 0, fmt.Errorf("the middle of the part near the site has no place in %s", m.from)
	}
	pts := []orb.Point{{c[0] - 0.5, c[1]}, {c[0] + 0.5, c[1]}, {c[0], c[1] - 0.5}, {c[0], c[1] + 0.5}}
	if m.site(pts) >= 0 {
		return 0, fmt.Errorf("the middle of the part near the site has no place in %s", m.from)
	}
	a := math.Hypot(pts[1][0]-pts[0][0], pts[1][1]-pts[0][1])
	b := math.Hypot(pts[3][0]-pts[2][0], pts[3][1]-pts[2][1])
	size := min(a, b)
	if !(size > 0) {
		return 0, fmt.Errorf("one of its pixels measures %g x %g m on the ground", a, b)
	}
	return size, nil
}

// fit returns the size of a pixel of at least own metres with which area takes
// at most most pixels, and the width and height in pixels.
func fit(area orb.Bound, own float64, most int) (size float64, w, h int) {
	dx, dy := area.Max[0]-area.Min[0], area.Max[1]-area.Min[1]
	size = max(own, math.Sqrt(dx*dy/float64(most)), dx/float64(most), dy/float64(most))
	for {
		// A whole number of pixels within a thousandth of one is not rounded up.
		w, h = int(math.Ceil(dx/size-1e-3)), int(math.Ceil(dy/size-1e-3))
		w, h = max(w, 1), max(h, 1)
		if w*h <= most || w*h == 1 {
			return size, w, h
		}
		size *= 1 + 1/float64(max(w, h))
	}
}

// A mesh holds the pixel position in the image of points of the result spaced
// step pixels apart; between them positions are interpolated.
type mesh struct {
	step       int
	cols, rows int // nodes
	nodes      []orb.Point
	w, h       int
}

// meshTolerance is how far an interpolated position may be off, in pixels of
// the image, or of the result where those are larger. Chosen.
const meshTolerance = 0.1

// mesh makes one fine enough for meshTolerance, measured in the middle of every
// cell, where interpolation is worst. Where a node has no position in the image
// nothing will be drawn.
func (m *mapping) mesh(out Raster) (*mesh, error) {
	w, h := out.Pix.Rect.Dx(), out.Pix.Rect.Dy()
	at := func(col, row float64) orb.Point {
		return orb.Point{out.Origin[0] + col*out.PixelSize, out.Origin[1] - row*out.PixelSize}
	}
	for step := 64; step >= 4; step /= 2 {
		g := &mesh{step: step, cols: (w+step-1)/step + 1, rows: (h+step-1)/step + 1, w: w, h: h}
		g.nodes = make([]orb.Point, 0, g.cols*g.rows)
		for j := range g.rows {
			for i := range g.cols {
				g.nodes = append(g.nodes, at(float64(i*step), float64(j*step)))
			}
		}
		m.image(g.nodes)
		if m.toCRS.IsNull() {
			return g, nil
		}
		mids := make([]orb.Point, 0, g.cols*g.rows)
		for j := range g.rows - 1 {
			for i := range g.cols - 1 {
				mids = append(mids, at((float64(i)+0.5)*float64(step), (float64(j)+0.5)*float64(step)))
			}
		}
		m.image(mids)
		good, k := true, 0
		for j := 0; j < g.rows-1 && good; j++ {
			for i := 0; i < g.cols-1 && good; i++ {
				a, b, c, d := g.corners(i, j)
				off := math.Hypot((a[0]+b[0]+c[0]+d[0])/4-mids[k][0], (a[1]+b[1]+c[1]+d[1])/4-mids[k][1])
				onePixel := max(1, math.Hypot(b[0]-a[0], b[1]-a[1])/float64(step))
				if off > meshTolerance*onePixel {
					good = false
				}
				k++
			}
		}
		if good {
			return g, nil
		}
	}
	return nil, fmt.Errorf("its coordinates by %s are bent too strongly near the site to draw it", m.from)
}

func (g *mesh) corners(i, j int) (a, b, c, d orb.Point) {
	k := j*g.cols + i
	return g.nodes[k], g.nodes[k+1], g.nodes[k+g.cols], g.nodes[k+g.cols+1]
}

// window returns the pixels of the image that are needed, and the step in
// pixels of the image along its columns and rows that one pixel of the result
// makes in the middle.
func (g *mesh) window(info *ImageInfo) (image.Rectangle, [2]float64) {
	inf := math.Inf(1)
	box := orb.Bound{Min: orb.Point{inf, inf}, Max: orb.Point{-inf, -inf}}
	for _, p := range g.nodes {
		if !math.IsNaN(p[0]) {
			box = box.Extend(p)
		}
	}
	const margin = 4 // pixels, for interpolation
	clamp := func(v float64, most int) int { return int(min(max(v, 0), float64(most))) }
	win := image.Rect(
		clamp(math.Floor(box.Min[0])-margin, info.Width), clamp(math.Floor(box.Min[1])-margin, info.Height),
		clamp(math.Ceil(box.Max[0])+margin, info.Width), clamp(math.Ceil(box.Max[1])+margin, info.Height))
	a, b, c, _ := g.corners((g.cols-1)/2, (g.rows-1)/2)
	if math.IsNaN(a[0] + b[0] + c[0]) {
		a, b, c, _ = g.corners(0, 0)
	}
	n := float64(g.step)
	steps := [2]float64{
		math.Hypot(b[0]-a[0], c[0]-a[0]) / n,
		math.Hypot(b[1]-a[1], c[1]-a[1]) / n,
	}
	for i, s := range steps {
		if !(s >= 1) {
			steps[i] = 1
		}
	}
	return win, steps
}

// resample fills dst from the part of the image that was read, between the
// four nearest pixels. The work is shared among two goroutines.
func (g *mesh) resample(dst *image.RGBA, part *reduced, info *ImageInfo, src *source) {
	var wg sync.WaitGroup
	half := (g.rows - 1) / 2
	for _, band := range [][2]int{{0, half}, {half, g.rows - 1}} {
		wg.Go(func() {
			for j := band[0]; j < band[1]; j++ {
				for i := range g.cols - 1 {
					g.cell(dst, part, info, src, i, j)
				}
			}
		})
	}
	wg.Wait()
}

func (g *mesh) cell(dst *image.RGBA, part *reduced, info *ImageInfo, src *source, i, j int) {
	a, b, c, d := g.corners(i, j)
	if math.IsNaN(a[0] + b[0] + c[0] + d[0]) {
		return
	}
	n := float64(g.step)
	w, h := float64(info.Width), float64(info.Height)
	// From pixels of the image to pixel centres of the part.
	mx, my := src.fx/float64(part.kx), src.fy/float64(part.ky)
	ox := float64(part.origin.X)/float64(part.kx) + 0.5
	oy := float64(part.origin.Y)/float64(part.ky) + 0.5
	x0, x1 := i*g.step, min((i+1)*g.step, g.w)
	for y := j * g.step; y < min((j+1)*g.step, g.h); y++ {
		t := (float64(y-j*g.step) + 0.5) / n
		left := orb.Point{a[0] + (c[0]-a[0])*t, a[1] + (c[1]-a[1])*t}
		right := orb.Point{b[0] + (d[0]-b[0])*t, b[1] + (d[1]-b[1])*t}
		du, dv := (right[0]-left[0])/n, (right[1]-left[1])/n
		to := dst.Pix[y*dst.Stride:]
		for x := x0; x < x1; x++ {
			s := float64(x-x0) + 0.5
			u, v := left[0]+du*s, left[1]+dv*s
			if u < 0 || v < 0 || u > w || v > h {
				continue
			}
			bilinear(part.img, u*mx-ox, v*my-oy, to[4*x:4*x+4:4*x+4])
		}
	}
}

// bilinear writes to out the colour of img between pixel centres at x, y,
// which are whole at the centres; beyond the outer centres it is that of the
// nearest pixel.
func bilinear(img *image.RGBA, x, y float64, out []uint8) {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	x, y = min(max(x, 0), float64(w-1)), min(max(y, 0), float64(h-1))
	x0, y0 := int(x), int(y)
	fx, fy := uint32((x-float64(x0))*256), uint32((y-float64(y0))*256)
	p := y0*img.Stride + 4*x0
	right, down := 4, img.Stride
	if x0 == w-1 {
		right = 0
	}
	if y0 == h-1 {
		down = 0
	}
	a, b := img.Pix[p:p+4:p+4], img.Pix[p+right:p+right+4:p+right+4]
	c, d := img.Pix[p+down:p+down+4:p+down+4], img.Pix[p+down+right:p+down+right+4:p+down+right+4]
	wa, wb, wc, wd := (256-fx)*(256-fy), fx*(256-fy), (256-fx)*fy, fx*fy
	for k := range 4 {
		out[k] = uint8((uint32(a[k])*wa + uint32(b[k])*wb + uint32(c[k])*wc + uint32(d[k])*wd + 1<<15) >> 16)
	}
}

func base(path string) string { return filepath.Base(path) }
