package drawing

import (
	"image/color"
	"math"

	"github.com/paulmach/orb"
)

// Render draws the items of list that lie in the wanted layers and in the view
// on c, back to front, and the labels as placed says (nil: they are placed
// now). It only reads list, theme and placed.
func Render(c Canvas, list *List, view View, theme *Theme, placed *Placement, wanted LayerSet) {
	r := &renderer{c: c, view: view, theme: theme, window: view.Bound()}
	r.eps = 0.35 / view.PixelsPerUnit()
	if theme.Medium.Paper && view.Scale == 0 {
		r.eps = 0.02
	}
	labelsDone := false
	labels := func() {
		labelsDone = true
		if placed == nil {
			placed = PlaceLabels(list, view, theme)
		}
		r.labels(placed)
	}
	for i := range list.Items {
		it := &list.Items[i]
		if !labelsDone && it.Layer > LabelLayer && wanted.Has(LabelLayer) {
			labels()
		}
		if !wanted.Has(it.Layer) || it.Kind == LabelKind {
			continue
		}
		r.item(it)
	}
	if !labelsDone && wanted.Has(LabelLayer) {
		labels()
	}
}

// marginUnits is how far beyond its geometry an item may show: casings, ticks,
// halos, half a mark.
const marginUnits = 24

type renderer struct {
	c      Canvas
	view   View
	theme  *Theme
	window orb.Bound
	eps    float64 // units: vertices nearer than this to the last are left out

	rings    []orb.Ring
	store    []orb.Point
	path     []orb.Point
	moved    []orb.Point
	segments []orb.Point // ends of ticks, two by two
}

func (r *renderer) unit(screen, paper float64) float64 {
	if r.theme.Medium.Paper {
		return paper
	}
	return screen
}

func (r *renderer) item(it *Item) {
	st := r.theme.Style(it.Meaning)
	if !r.shows(it.bound) {
		return
	}
	switch it.Kind {
	case AreaKind:
		r.area(it, st)
	case LineKind:
		r.line(it, st)
	case MarkKind:
		size := markSize(st, r.view, r.theme)
		u := shownAt(r.view, it.At, it.Aside, size)
		if it.Aside != (orb.Point{}) {
			r.tie(r.view.ToUnit(it.At), u, it.State)
		}
		r.drawMark(st.Symbol, u, size, it.Bearing, st, it.State, gateHalf(it, size, r.view))
	}
}

// markSize is the size of a mark in a view: on a screen marks shrink, down to
// two thirds, where a pixel is more than a metre.
func markSize(st *Style, v View, t *Theme) float64 {
	if t.Medium.Paper {
		return st.Size
	}
	return st.Size * shrink(v.MetresPerUnit)
}

func shrink(metresPerUnit float64) float64 { return clamp(1/metresPerUnit, 0.67, 1) }

// gateHalf is half the width of a gate in sizes of its mark.
func gateHalf(it *Item, size float64, v View) float64 {
	if it.Meaning != Gate || size == 0 {
		return 0.5
	}
	return math.Max(it.Length/2/v.MetresPerUnit/size, 0.28)
}

func (r *renderer) shows(b orb.Bound) bool {
	m := marginUnits * r.view.MetresPerUnit
	return b.Min[0] <= r.window.Max[0]+m && b.Max[0] >= r.window.Min[0]-m &&
		b.Min[1] <= r.window.Max[1]+m && b.Max[1] >= r.window.Min[1]-m
}

// project carries a line of the site grid to units, leaving out vertices that
// would not be told apart.
func (r *renderer) project(dst []orb.Point, line []orb.Point) []orb.Point {
	k := 1 / r.view.MetresPerUnit
	ox, oy := r.view.Width/2-r.view.Centre[0]*k, r.view.Height/2+r.view.Centre[1]*k
	var last orb.Point
	for i, p := range line {
		u := orb.Point{p[0]*k + ox, oy - p[1]*k}
		if i > 0 && i < len(line)-1 && math.Abs(u[0]-last[0]) < r.eps && math.Abs(u[1]-last[1]) < r.eps {
			continue
		}
		dst = append(dst, u)
		last = u
	}
	return dst
}

// signedArea is twice the area of a ring in units, positive for one sense.
func signedArea(p []orb.Point) float64 {
	var a float64
	for i := 1; i < len(p); i++ {
		a += p[i-1][0]*p[i][1] - p[i][0]*p[i-1][1]
	}
	return a
}

// areaRings projects an area, outer rings one way, holes the other.
func (r *renderer) areaRings(area orb.MultiPolygon) []orb.Ring {
	n := 0
	for _, poly := range area {
		for _, ring := range poly {
			n += len(ring) + 1
		}
	}
	if cap(r.store) < n {
		r.store = make([]orb.Point, 0, n)
	}
	r.store, r.rings = r.store[:0], r.rings[:0]
	for _, poly := range area {
		for k, ring := range poly {
			from := len(r.store)
			r.store = r.project(r.store, ring)
			u := r.store[from:]
			if len(u) < 3 {
				continue
			}
			if u[0] != u[len(u)-1] {
				r.store = append(r.store, u[0])
				u = r.store[from:]
			}
			if (signedArea(u) > 0) != (k == 0) {
				for i, j := 0, len(u)-1; i < j; i, j = i+1, j-1 {
					u[i], u[j] = u[j], u[i]
				}
			}
			r.rings = append(r.rings, orb.Ring(u))
		}
	}
	return r.rings
}

func (r *renderer) area(it *Item, st *Style) {
	rings := r.areaRings(it.Area)
	if len(rings) == 0 {
		return
	}
	origin := r.view.ToUnit(orb.Point{})
	muted := func(c color.NRGBA) color.NRGBA {
		if it.State.Has(Muted) {
			return fade(mix(grey(c), r.theme.Paper, 0.3), 0.6)
		}
		return c
	}
	if st.Fill.A > 0 {
		r.c.Fill(rings, muted(st.Fill))
	}
	if st.Hatch.Spacing > 0 {
		h := st.Hatch
		h.Colour = muted(h.Colour)
		r.c.Hatch(rings, h, origin)
	}
	if st.Dots.Spacing > 0 {
		d := st.Dots
		d.Colour = muted(d.Colour)
		r.c.Dots(rings, d, origin)
	}
	for _, ring := range rings {
		r.halo(ring, st, it.State)
	}
	for _, ring := range rings {
		if st.Casing.Width > 0 {
			r.c.Stroke(ring, st.Casing)
		}
		if st.Pen.Width > 0 {
			p := st.Pen
			p.Colour = muted(p.Colour)
			r.c.Stroke(ring, p)
		}
	}
}

// halo draws the ink that tells what is selected or under the pointer.
func (r *renderer) halo(path []orb.Point, st *Style, state State) {
	if state.Has(Selected) {
		r.c.Stroke(path, Pen{Width: st.Pen.Width + r.unit(8, 1.8), Colour: fade(r.theme.Ink, 0.45), Cap: Round})
		r.c.Stroke(path, Pen{Width: st.Pen.Width + r.unit(4, 0.9), Colour: r.theme.Paper, Cap: Round})
	} else if state.Has(Hovered) {
		r.c.Stroke(path, Pen{Width: st.Pen.Width + r.unit(6, 1.4), Colour: fade(r.theme.Ink, 0.3), Cap: Round})
		r.c.Stroke(path, Pen{Width: st.Pen.Width + r.unit(3, 0.7), Colour: fade(r.theme.Paper, 0.9), Cap: Round})
	}
}

func (r *renderer) line(it *Item, st *Style) {
	if len(it.Line) < 2 {
		return
	}
	r.path = r.project(r.path[:0], it.Line)
	path := r.path
	if it.Meaning == Draft && len(path) > 3 && path[0] == path[len(path)-1] {
		r.c.Fill([]orb.Ring{orb.Ring(path)}, st.Fill)
	}
	r.halo(path, st, it.State)
	pen := st.Pen
	switch it.Meaning {
	case LinkHeld, LinkThin, LinkFails:
		pen = r.theme.Link(it.Meaning, it.Margin)
	}
	if it.State.Has(Muted) {
		pen.Colour = mix(pen.Colour, r.theme.Paper, 0.5)
	}
	if st.Casing.Width > 0 {
		c := st.Casing
		c.Width += pen.Width - st.Pen.Width
		c.Cap = pen.Cap
		r.c.Stroke(path, c)
	}
	if pen.Offset != 0 && it.Inside != Neither {
		r.moved = offset(r.moved[:0], path, -pen.Offset*float64(it.Inside))
		r.c.Stroke(r.moved, pen)
	} else if pen.Width > 0 {
		r.c.Stroke(path, pen)
	}
	switch {
	case it.Meaning == ChainageTick:
		r.chainage(it, st)
	case st.Ticks.Spacing > 0:
		r.ticks(path, st.Ticks, it.Inside)
	}
	if st.Arrows > 0 {
		r.arrows(path, st)
	}
	if st.Middle != NoSymbol {
		m, dir := alongUnits(path, 0.5)
		r.drawMark(st.Middle, m, st.Size, dir, st, 0, 0)
	}
}

// offset moves a path sideways by d units, to the right of its direction on
// the screen when d is positive. Corners are mitred up to twice d.
func offset(dst, path []orb.Point, d float64) []orb.Point {
	n := len(path)
	loop := n > 3 && path[0] == path[n-1]
	normal := func(a, b orb.Point) (orb.Point, bool) {
		x, y := b[0]-a[0], b[1]-a[1]
		l := math.Hypot(x, y)
		if l < 1e-9 {
			return orb.Point{}, false
		}
		return orb.Point{-y / l, x / l}, true
	}
	var last orb.Point
	if loop {
		for i := n - 1; i > 0; i-- {
			if v, ok := normal(path[i-1], path[i]); ok {
				last = v
				break
			}
		}
	}
	for i := 0; i < n; i++ {
		in := last
		j := i + 1
		if i == n-1 {
			j = 1
		}
		out := in
		if i < n-1 || loop {
			if v, ok := normal(path[i%n], path[j%n]); ok {
				out = v
			}
		}
		if i == 0 && !loop {
			in = out
		}
		if in == (orb.Point{}) {
			in = out
		}
		mx, my := in[0]+out[0], in[1]+out[1]
		// The mitre is (in+out)/q, and as long as sqrt(2/q).
		q := (mx*mx + my*my) / 2
		k := 1 / q
		if q < 0.5 {
			k = 2 / math.Sqrt(2*q)
		}
		if q < 1e-6 {
			mx, my, k = in[0], in[1], 1
		}
		dst = append(dst, orb.Point{path[i][0] + d*k*mx, path[i][1] + d*k*my})
		last = out
	}
	return dst
}

// alongUnits returns the point at share t of a path's length and the bearing
// of the path there, degrees clockwise from up.
func alongUnits(path []orb.Point, t float64) (orb.Point, float64) {
	var total float64
	for i := 1; i < len(path); i++ {
		total += math.Hypot(path[i][0]-path[i-1][0], path[i][1]-path[i-1][1])
	}
	at, dir := path[0], 0.0
	left := t * total
	for i := 1; i < len(path); i++ {
		dx, dy := path[i][0]-path[i-1][0], path[i][1]-path[i-1][1]
		l := math.Hypot(dx, dy)
		if l == 0 {
			continue
		}
		dir = math.Atan2(dx, -dy) * 180 / math.Pi
		if left <= l {
			return orb.Point{path[i-1][0] + dx*left/l, path[i-1][1] + dy*left/l}, dir
		}
		left -= l
		at = path[i]
	}
	return at, dir
}

// every calls f at each multiple of step along a path, from first on, with the
// direction there, for the places in or near the view. The count goes on
// outside it, so that marks stay where they are while the view moves.
func (r *renderer) every(path []orb.Point, first, step float64, f func(at, dir orb.Point, s float64)) {
	if !(step > 0) {
		return
	}
	m := float64(marginUnits)
	s := 0.0
	next := first
	for i := 1; i < len(path); i++ {
		a, b := path[i-1], path[i]
		dx, dy := b[0]-a[0], b[1]-a[1]
		l := math.Hypot(dx, dy)
		if l == 0 {
			continue
		}
		t0, t1, in := clipSegment(a, b, -m, -m, r.view.Width+m, r.view.Height+m)
		if in {
			if lo := s + t0*l; next < lo {
				next += math.Ceil((lo-next)/step) * step
			}
			hi := s + t1*l
			for next <= hi && next <= s+l {
				t := (next - s) / l
				f(orb.Point{a[0] + dx*t, a[1] + dy*t}, orb.Point{dx / l, dy / l}, next)
				next += step
			}
		}
		s += l
		if next <= s {
			next += math.Ceil((s-next)/step) * step
			if next <= s {
				next += step
			}
		}
	}
}

// clipSegment returns the share of a-b that lies in the box.
func clipSegment(a, b orb.Point, x0, y0, x1, y1 float64) (t0, t1 float64, ok bool) {
	t0, t1 = 0, 1
	cut := func(p, d, lo, hi float64) bool {
		if d == 0 {
			return p >= lo && p <= hi
		}
		u, v := (lo-p)/d, (hi-p)/d
		if u > v {
			u, v = v, u
		}
		t0, t1 = math.Max(t0, u), math.Min(t1, v)
		return t0 <= t1
	}
	ok = cut(a[0], b[0]-a[0], x0, x1) && cut(a[1], b[1]-a[1], y0, y1)
	return t0, t1, ok
}

func (r *renderer) tick(at, dir orb.Point, t Ticks, inside Side, length float64) {
	// Left of the direction of travel on the screen is (dy, -dx).
	nx, ny := dir[1], -dir[0]
	side := float64(t.Side * inside)
	if t.Cross {
		for _, q := range [2]float64{-1, 1} {
			x, y := (nx+q*dir[0])*length*0.35, (ny+q*dir[1])*length*0.35
			r.two(orb.Point{at[0] - x, at[1] - y}, orb.Point{at[0] + x, at[1] + y})
		}
		return
	}
	from, to := -length/2, length/2
	if side != 0 {
		from, to = 0, side*length
	}
	r.two(orb.Point{at[0] + nx*from, at[1] + ny*from}, orb.Point{at[0] + nx*to, at[1] + ny*to})
}

func (r *renderer) two(a, b orb.Point) { r.segments = append(r.segments, a, b) }

// strokeSegments draws the segments gathered by two.
func (r *renderer) strokeSegments(t Ticks) {
	pen := Pen{Width: t.Width, Colour: t.Colour}
	if c, ok := r.c.(Segmenter); ok {
		c.Segments(r.segments, pen)
	} else {
		for i := 0; i < len(r.segments); i += 2 {
			r.c.Stroke(r.segments[i:i+2], pen)
		}
	}
	r.segments = r.segments[:0]
}

func (r *renderer) ticks(path []orb.Point, t Ticks, inside Side) {
	if inside == Neither {
		t.Side = Neither
	}
	r.every(path, t.Spacing/2, t.Spacing, func(at, dir orb.Point, _ float64) {
		r.tick(at, dir, t, inside, t.Length)
	})
	r.strokeSegments(t)
}

func (r *renderer) arrows(path []orb.Point, st *Style) {
	r.every(path, st.Arrows/2, st.Arrows, func(at, dir orb.Point, _ float64) {
		r.drawMark(ArrowMark, at, st.Size, math.Atan2(dir[0], -dir[1])*180/math.Pi, st, 0, 0)
	})
}

// chainageSteps returns the metres between ticks and between numbered ticks
// at a scale: 10 m and 50 or 100 m where there is room, more where not.
func chainageSteps(metresPerUnit float64, m Medium) (small, big float64) {
	minSmall, minBig := 8.0, 62.0
	if m.Paper {
		minSmall, minBig = 2, 16
	}
	big = 100000
	for _, s := range []float64{50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000} {
		if s/metresPerUnit >= minBig {
			big = s
			break
		}
	}
	for _, s := range []float64{10, 50, 100, 500, 1000, 5000, 10000} {
		if s/metresPerUnit >= minSmall && math.Mod(big, s) == 0 {
			return s, big
		}
	}
	return big, big
}

// chainage draws the ticks of a line whose chainage is counted in metres from
// it.Length at its first point.
func (r *renderer) chainage(it *Item, st *Style) {
	small, big := chainageSteps(r.view.MetresPerUnit, r.theme.Medium)
	k := 1 / r.view.MetresPerUnit
	first := math.Ceil(it.Length/small)*small - it.Length
	r.every(r.path, first*k, small*k, func(at, dir orb.Point, s float64) {
		length := st.Ticks.Length
		if c := it.Length + s/k; math.Abs(roundTo(c, big)-c) < small/10 {
			length *= 2
		}
		r.tick(at, dir, st.Ticks, it.Inside, length)
	})
	r.strokeSegments(st.Ticks)
}

func (r *renderer) labels(p *Placement) {
	for i := range p.Labels {
		l := &p.Labels[i]
		st := r.theme.Style(l.Meaning)
		if len(l.Leader) > 1 && st.Tag.Leader.Width > 0 {
			r.c.Stroke(l.Leader, Pen{Width: st.Tag.Leader.Width + r.unit(2, 0.5), Colour: fade(r.theme.Paper, 0.75)})
			pen := st.Tag.Leader
			if l.State.Has(Muted) {
				pen.Colour = mix(grey(pen.Colour), r.theme.Paper, 0.35)
			}
			r.c.Stroke(l.Leader, pen)
		}
	}
	stamper, _ := r.c.(Stamper)
	for i := range p.Labels {
		l := &p.Labels[i]
		t := tag{theme: r.theme, st: r.theme.Style(l.Meaning), label: l}
		half := orb.Point{(l.Box.Max[0] - l.Box.Min[0]) / 2, (l.Box.Max[1] - l.Box.Min[1]) / 2}
		t.half = half
		if stamper != nil {
			half[0], half[1] = half[0]+4, half[1]+4
			stamper.Stamp(r.theme, StampKey{Meaning: l.Meaning, State: l.State, Text: l.Text}, l.Box.Center(), half, t.draw)
		} else {
			t.draw(r.c, l.Box.Center())
		}
	}
}

// tag is a label about to be drawn.
type tag struct {
	theme *Theme
	st    *Style
	label *Placed
	half  orb.Point
}

func (t *tag) draw(c Canvas, at orb.Point) {
	st := t.st
	b := orb.Bound{Min: orb.Point{at[0] - t.half[0], at[1] - t.half[1]}, Max: orb.Point{at[0] + t.half[0], at[1] + t.half[1]}}
	rect := rounded(b, t.half[1]*0.44)
	inkC, fill := st.Ink, st.Tag.Fill
	if t.label.State.Has(Muted) {
		if st.Tag.Flag {
			fill = mix(grey(fill), t.theme.Paper, 0.35)
		} else {
			inkC = mix(inkC, t.theme.Paper, 0.4)
		}
	}
	if t.label.State.Has(Selected) {
		w := 3.0
		if t.theme.Medium.Paper {
			w = 0.7
		}
		c.Stroke(rect, Pen{Width: w, Colour: t.theme.Ink})
	} else if st.Tag.Border.Width > 0 {
		border := st.Tag.Border
		border.Width *= 2
		c.Stroke(rect, border)
	}
	if fill.A > 0 {
		c.Fill([]orb.Ring{orb.Ring(rect)}, fill)
	}
	c.Text(orb.Point{b.Min[0] + st.Tag.Pad, at[1] + st.Font.Size*capHeight/2}, t.label.Text, st.Font, inkC)
}

// rounded is a box with rounded corners.
func rounded(b orb.Bound, radius float64) []orb.Point {
	out := make([]orb.Point, 0, 17)
	for k, c := range [4]orb.Point{{b.Max[0] - radius, b.Min[1] + radius}, {b.Max[0] - radius, b.Max[1] - radius},
		{b.Min[0] + radius, b.Max[1] - radius}, {b.Min[0] + radius, b.Min[1] + radius}} {
		for i := 0; i <= 3; i++ {
			s, co := math.Sincos(float64(k)*math.Pi/2 + float64(i)*math.Pi/6)
			out = append(out, orb.Point{c[0] + radius*s, c[1] - radius*co})
		}
	}
	return append(out, out[0])
}
