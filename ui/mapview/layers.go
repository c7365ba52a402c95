package mapview

import (
	"encoding/binary"
	"image"
	"math"

	"github.com/paulmach/orb"

	"pleach/model/picture"
	"pleach/model/sitegrid"
	"pleach/ui/drawing"
	"pleach/ui/paint"
)

// Layers paints the map into one image. The zero value shows bare paper: see
// NewLayers.
type Layers struct {
	Theme *drawing.Theme
	Veil  float64 // 0 the full picture, 1 bare paper
	View  drawing.View
	Grid  sitegrid.Grid // of View
	Under *drawing.List // what the pointer is over: under marks and labels, in each frame
	Over  *drawing.List // handles, drafts: above all, in each frame
	Wants drawing.LayerSet

	list     *drawing.List
	listGrid sitegrid.Grid
	listHash uint64 // of what rests
	placed   *drawing.Placement
	picture  *picture.Picture
	picGrid  sitegrid.Grid

	painter *paint.Painter
	ground  layer // picture and veil
	rest    layer // with what rests
	whole   layer // with everything but Over
	out     *image.RGBA
	strip   *image.RGBA
	serial  uint64                                             // of the picture
	Painted struct{ Ground, Rest, Whole, Shifted, Scaled int } // how often, for tests and figures
}

// layer is an image and what it shows.
type layer struct {
	img *image.RGBA
	key layerKey
}

// layerKey is all that a layer depends on; two equal keys are two equal images.
type layerKey struct {
	view    drawing.View
	grid    sitegrid.Grid
	theme   *drawing.Theme
	veil    float64
	serial  uint64
	smooth  bool
	resting uint64
	list    *drawing.List
	wants   drawing.LayerSet
}

// NewLayers makes layers that show bare paper.
func NewLayers(theme *drawing.Theme) *Layers {
	return &Layers{Theme: theme, Wants: drawing.AllLayers, painter: paint.New(), View: drawing.View{MetresPerUnit: 0.5, Width: 1, Height: 1, Scale: 1}}
}

// SetList shows another list, which lies on the given grid.
func (l *Layers) SetList(list *drawing.List, grid sitegrid.Grid) {
	l.list, l.listGrid = list, grid
	l.placed = nil
	l.listHash = restingHash(list)
}

// List returns the list that is shown, nil for none.
func (l *Layers) List() *drawing.List { return l.list }

// SetPicture shows another aerial picture, which lies on the given grid; nil for
// none.
func (l *Layers) SetPicture(p *picture.Picture, grid sitegrid.Grid) {
	l.picture, l.picGrid = p, grid
	l.serial++
}

// on returns the view in another grid: the same ground under its middle. Site
// grids of one site differ by a shift and a turn far below a pixel.
func (l *Layers) on(v drawing.View, grid sitegrid.Grid) drawing.View {
	if grid != l.Grid {
		v.Centre = grid.ToSite(l.Grid.ToLonLat(v.Centre))
	}
	return v
}

// Frame paints the view into an image of w by h pixels and returns it; it is
// good until the next call. moving says that the view has not come to rest: then
// what was painted before is shifted or scaled.
func (l *Layers) Frame(w, h int, moving bool) *image.RGBA {
	l.out = sized(l.out, w, h)
	key := l.key(true)
	if moving && l.whole.img != nil && l.whole.img.Rect == l.out.Rect && key != l.whole.key && sameButView(key, l.whole.key) {
		if l.shift(key) {
			copy(l.out.Pix, l.whole.img.Pix)
		} else {
			l.scale()
		}
	} else {
		l.paintWhole(key, w, h)
		copy(l.out.Pix, l.whole.img.Pix)
	}
	if l.Under != nil && len(l.Under.Items) > 0 && !moving {
		l.painter.Paint(l.out, l.Under, l.View, l.Theme, &drawing.Placement{}, drawing.AllLayers)
		if l.list != nil && l.placed != nil {
			l.painter.Paint(l.out, l.list, l.on(l.View, l.listGrid), l.Theme, l.placed, drawing.Layers(drawing.DeviceLayer, drawing.LabelLayer)&l.Wants)
		}
	}
	if l.Over != nil && len(l.Over.Items) > 0 {
		l.painter.Paint(l.out, l.Over, l.View, l.Theme, nil, drawing.AllLayers)
	}
	return l.out
}

// Canvas returns a canvas on the image of the last Frame, in units of the view.
func (l *Layers) Canvas() drawing.Canvas { return l.painter.On(l.out, l.View.PixelsPerUnit()) }

func (l *Layers) key(smooth bool) layerKey {
	return layerKey{view: l.View, grid: l.Grid, theme: l.Theme, veil: l.Veil, serial: l.serial, smooth: smooth, resting: l.listHash, list: l.list, wants: l.Wants}
}

// sameButView reports whether two layers differ in their view alone, and in how
// carefully they are painted.
func sameButView(a, b layerKey) bool {
	a.view, b.view = drawing.View{}, drawing.View{}
	a.smooth, b.smooth = false, false
	return a == b
}

func (l *Layers) paintWhole(key layerKey, w, h int) {
	if l.whole.img != nil && l.whole.img.Rect.Dx() == w && l.whole.img.Rect.Dy() == h && l.whole.key == key {
		return
	}
	restKey := key
	restKey.list = nil
	if l.rest.img == nil || l.rest.img.Rect.Dx() != w || l.rest.img.Rect.Dy() != h || l.rest.key != restKey {
		groundKey := restKey
		groundKey.resting, groundKey.wants = 0, 0
		if l.ground.img == nil || l.ground.img.Rect.Dx() != w || l.ground.img.Rect.Dy() != h || l.ground.key != groundKey {
			l.ground.img = sized(l.ground.img, w, h)
			l.paintGround(l.ground.img, l.View, picture.Smooth)
			l.ground.key = groundKey
			l.Painted.Ground++
		}
		l.rest.img = sized(l.rest.img, w, h)
		copy(l.rest.img.Pix, l.ground.img.Pix)
		if l.list != nil {
			l.painter.Paint(l.rest.img, l.list, l.on(l.View, l.listGrid), l.Theme, &drawing.Placement{}, drawing.Resting&l.Wants)
		}
		l.rest.key = restKey
		l.Painted.Rest++
	}
	l.whole.img = sized(l.whole.img, w, h)
	copy(l.whole.img.Pix, l.rest.img.Pix)
	if l.list != nil {
		v := l.on(l.View, l.listGrid)
		l.placed = drawing.PlaceLabels(l.list, v, l.Theme)
		l.painter.Paint(l.whole.img, l.list, v, l.Theme, l.placed, drawing.Moving&l.Wants)
	}
	l.whole.key = key
	l.Painted.Whole++
}

// paintGround paints paper, picture and veil.
func (l *Layers) paintGround(dst *image.RGBA, view drawing.View, q picture.Quality) {
	paint.Fill(dst, l.Theme.Paper)
	if l.picture == nil || l.Veil >= 1 {
		return
	}
	v := view
	if l.picGrid != l.Grid {
		v.Centre = l.picGrid.ToSite(l.Grid.ToLonLat(v.Centre))
	}
	mpp := v.MetresPerUnit / v.PixelsPerUnit()
	corner := orb.Point{v.Centre[0] - v.Width/2*v.MetresPerUnit, v.Centre[1] + v.Height/2*v.MetresPerUnit}
	l.picture.Draw(dst, picture.Frame{Corner: corner, MetresPerPixel: mpp}, q)
	veil(dst, l.Theme, l.Veil)
}

// veil mixes the paper into an opaque image.
func veil(dst *image.RGBA, theme *drawing.Theme, share float64) {
	a := uint32(math.Round(256 * math.Min(math.Max(share, 0), 1)))
	if a == 0 {
		return
	}
	// Two channels at a time in the halves of a word.
	const halves = 0x00ff00ff
	p := theme.Paper
	even := (uint32(p.R) | uint32(p.B)<<16) * a
	odd := (uint32(p.G) | 255<<16) * a
	keep := 256 - a
	pix := dst.Pix
	for i := 0; i+4 <= len(pix); i += 4 {
		q := pix[i : i+4 : i+4]
		c := uint32(q[0]) | uint32(q[1])<<8 | uint32(q[2])<<16 | uint32(q[3])<<24
		e := ((c&halves)*keep + even) >> 8 & halves
		o := ((c>>8&halves)*keep + odd) >> 8 & halves
		c = e | o<<8
		q[0], q[1], q[2], q[3] = uint8(c), uint8(c>>8), uint8(c>>16), 255
	}
}

// shift moves the finished layers when the view has only been panned by whole
// pixels, and paints the strips that come into view, without new labels. It
// reports false where that cannot be done.
func (l *Layers) shift(key layerKey) bool {
	old := l.whole.key.view
	if old.MetresPerUnit != key.view.MetresPerUnit || l.whole.key.grid != key.grid {
		return false
	}
	mpp := key.view.MetresPerUnit / key.view.PixelsPerUnit()
	fx, fy := (old.Centre[0]-key.view.Centre[0])/mpp, (key.view.Centre[1]-old.Centre[1])/mpp
	dx, dy := int(math.Round(fx)), int(math.Round(fy))
	if math.Abs(fx-float64(dx)) > 0.02 || math.Abs(fy-float64(dy)) > 0.02 {
		return false
	}
	img := l.whole.img
	w, h := img.Rect.Dx(), img.Rect.Dy()
	if max(dx, -dx) >= w || max(dy, -dy) >= h {
		return false
	}
	move(img, dx, dy)
	if dx > 0 {
		l.paintStrip(image.Rect(0, 0, dx, h))
	} else if dx < 0 {
		l.paintStrip(image.Rect(w+dx, 0, w, h))
	}
	if dy > 0 {
		l.paintStrip(image.Rect(0, 0, w, dy))
	} else if dy < 0 {
		l.paintStrip(image.Rect(0, h+dy, w, h))
	}
	l.whole.key = key
	l.whole.key.smooth = false // to be painted afresh at rest
	l.Painted.Shifted++
	return true
}

// move shifts an image by dx to the right and dy down; what comes in is left as
// it was.
func move(img *image.RGBA, dx, dy int) {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	row := func(y int) {
		from := y - dy
		if from < 0 || from >= h {
			return
		}
		a, b := max(dx, 0), min(w, w+dx)
		copy(img.Pix[y*img.Stride+4*a:y*img.Stride+4*b], img.Pix[from*img.Stride+4*(a-dx):from*img.Stride+4*(b-dx)])
	}
	if dy > 0 {
		for y := h - 1; y >= 0; y-- {
			row(y)
		}
		return
	}
	for y := range h {
		row(y)
	}
}

// paintStrip paints a part of the view into the whole layer.
func (l *Layers) paintStrip(r image.Rectangle) {
	if r.Empty() {
		return
	}
	l.strip = sized(l.strip, r.Dx(), r.Dy())
	v := l.part(r)
	l.paintGround(l.strip, v, picture.Fast)
	if l.list != nil {
		l.painter.Paint(l.strip, l.list, l.on(v, l.listGrid), l.Theme, &drawing.Placement{}, l.Wants&^drawing.Layers(drawing.LabelLayer))
	}
	paste(l.whole.img, l.strip, r)
}

// part is the view of a part of the image, in device pixels.
func (l *Layers) part(r image.Rectangle) drawing.View {
	v, k := l.View, l.View.PixelsPerUnit()
	v.Width, v.Height = float64(r.Dx())/k, float64(r.Dy())/k
	v.Centre = l.View.ToGrid(orb.Point{float64(r.Min.X+r.Max.X) / 2 / k, float64(r.Min.Y+r.Max.Y) / 2 / k})
	return v
}

// paste copies an image into the place r of another.
func paste(dst, src *image.RGBA, r image.Rectangle) {
	for y := range r.Dy() {
		copy(dst.Pix[(r.Min.Y+y)*dst.Stride+4*r.Min.X:], src.Pix[y*src.Stride:y*src.Stride+4*r.Dx()])
	}
}

// scale shows the finished layers as they lie in the view now, each pixel the
// nearest one, on a fresh ground.
func (l *Layers) scale() {
	w, h := l.out.Rect.Dx(), l.out.Rect.Dy()
	k := l.View.PixelsPerUnit()
	old := l.whole.key.view
	if g := l.whole.key.grid; g != l.Grid {
		old.Centre = l.Grid.ToSite(g.ToLonLat(old.Centre))
	}
	a := l.View.ToUnit(old.ToGrid(orb.Point{}))
	b := l.View.ToUnit(old.ToGrid(orb.Point{old.Width, old.Height}))
	x0, y0, x1, y1 := a[0]*k, a[1]*k, b[0]*k, b[1]*k
	// Round what was painted before there is bare ground.
	left, right := min(max(int(math.Ceil(x0)), 0), w), min(max(int(math.Floor(x1)), 0), w)
	top, bottom := min(max(int(math.Ceil(y0)), 0), h), min(max(int(math.Floor(y1)), 0), h)
	for _, r := range []image.Rectangle{image.Rect(0, 0, w, top), image.Rect(0, bottom, w, h), image.Rect(0, top, left, bottom), image.Rect(right, top, w, bottom)} {
		if !r.Empty() {
			l.strip = sized(l.strip, r.Dx(), r.Dy())
			l.paintGround(l.strip, l.part(r), picture.Fast)
			paste(l.out, l.strip, r)
		}
	}
	src := l.whole.img
	sw, sh := src.Rect.Dx(), src.Rect.Dy()
	fx, fy := float64(sw)/(x1-x0), float64(sh)/(y1-y0)
	if left >= right {
		return
	}
	cols := make([]int, right-left)
	for i := range cols {
		cols[i] = 4 * min(max(int((float64(left+i)+0.5-x0)*fx), 0), sw-1)
	}
	for y := top; y < bottom; y++ {
		sy := min(max(int((float64(y)+0.5-y0)*fy), 0), sh-1)
		line := src.Pix[sy*src.Stride:][:src.Stride]
		dst := l.out.Pix[y*l.out.Stride+4*left:][:4*len(cols)]
		for i, c := range cols {
			binary.LittleEndian.PutUint32(dst[4*i:], binary.LittleEndian.Uint32(line[c:]))
		}
	}
	l.Painted.Scaled++
}

// sized returns an image of w by h pixels whose rows follow one another without
// a gap: a raster that is uploaded must be so.
func sized(img *image.RGBA, w, h int) *image.RGBA {
	if img != nil && img.Rect.Dx() == w && img.Rect.Dy() == h {
		return img
	}
	if img != nil && cap(img.Pix) >= 4*w*h {
		return &image.RGBA{Pix: img.Pix[:4*w*h], Stride: 4 * w, Rect: image.Rect(0, 0, w, h)}
	}
	return image.NewRGBA(image.Rect(0, 0, w, h))
}

// restingHash tells lists apart by what of them rests during a drag.
func restingHash(list *drawing.List) uint64 {
	if list == nil {
		return 0
	}
	h := uint64(14695981039346656037) // FNV-1a, 64 bits, a word at a time
	word := func(v uint64) { h = (h ^ v) * 1099511628211; h ^= h >> 29 }
	point := func(p orb.Point) { word(math.Float64bits(p[0])); word(math.Float64bits(p[1])) }
	for i := range list.Items {
		it := &list.Items[i]
		if !drawing.Resting.Has(it.Layer) {
			continue
		}
		word(uint64(it.Layer) | uint64(it.Kind)<<8 | uint64(it.Meaning)<<16 | uint64(it.State)<<24)
		point(it.At)
		word(math.Float64bits(it.Bearing))
		word(math.Float64bits(it.Length))
		for _, p := range it.Line {
			point(p)
		}
		for _, poly := range it.Area {
			for _, r := range poly {
				word(uint64(len(r)))
				for _, p := range r {
					point(p)
				}
			}
		}
	}
	return h
}
