package gdal_test

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/model"
	"pleach/model/pattern"
	"pleach/model/scene"
)

// The oracle draws what a sensor sees as polygons and leaves the rest to GEOS:
// every lobe on open ground as a polygon in polar steps, what every barrier
// hides as its outline drawn out away from the eye, and union, difference and
// intersection by the library. No ray is cast, nothing is shared with the
// engine but the place of the optical centre.

// polarStep is the greatest step in degrees between the corners of an arc. The
// area between an arc and its chords is then 5e-7 of the sector.
const polarStep = 0.1

// eye is what the oracle knows of a sensor.
type eye struct {
	at            orb.Point
	z             float64 // over level ground
	bearing, tilt float64 // degrees
	masked        []model.Sector
	lobes         []model.Lobe
}

// body is what is to be seen.
type body struct {
	height, part, factor float64
	touch                bool // any part of it counts, and reach is measured on the ground
}

func (b body) need() float64 { return b.part * b.height }

// geos holds the test to the library's answers.
type geos struct{ t *testing.T }

func (g geos) union(parts ...orb.MultiPolygon) orb.MultiPolygon {
	g.t.Helper()
	out, err := gdal.Union(parts...)
	if err != nil {
		g.t.Fatal(err)
	}
	return out
}

func (g geos) less(a, b orb.MultiPolygon) orb.MultiPolygon {
	g.t.Helper()
	out, err := gdal.Difference(a, b)
	if err != nil {
		g.t.Fatal(err)
	}
	return out
}

func (g geos) both(a, b orb.MultiPolygon) orb.MultiPolygon {
	g.t.Helper()
	out, err := gdal.Intersection(a, b)
	if err != nil {
		g.t.Fatal(err)
	}
	return out
}

func (g geos) area(a orb.MultiPolygon) float64 {
	g.t.Helper()
	v, err := gdal.Area(a)
	if err != nil {
		g.t.Fatal(err)
	}
	return v
}

// apart is the area that lies in one of the two but not in both.
func (g geos) apart(a, b orb.MultiPolygon) float64 {
	g.t.Helper()
	out, err := gdal.SymmetricDifference(a, b)
	if err != nil {
		g.t.Fatal(err)
	}
	return g.area(out)
}

const degree = math.Pi / 180

// polar draws what lies between lo and hi metres from at, for azimuths in
// degrees from a to b.
func (g geos) polar(at orb.Point, a, b float64, f func(az float64) (lo, hi float64)) orb.MultiPolygon {
	open := func(az float64) bool { lo, hi := f(az); return hi-lo > 1e-5 }
	// The azimuth between an open and a shut one where it changes, on the open side.
	edge := func(in, out float64) float64 {
		for range 40 {
			if m := (in + out) / 2; open(m) {
				in = m
			} else {
				out = m
			}
		}
		return in
	}
	n := max(8, int(math.Ceil((b-a)/polarStep)))
	var parts []orb.MultiPolygon
	var run []float64
	flush := func() {
		if len(run) < 2 {
			run = run[:0]
			return
		}
		var outer, inner orb.Ring
		for _, az := range run {
			sin, cos := math.Sincos(az * degree)
			lo, hi := f(az)
			outer = append(outer, orb.Point{at[0] + hi*sin, at[1] + hi*cos})
			if lo > 1e-9 || len(inner) == 0 {
				inner = append(inner, orb.Point{at[0] + lo*sin, at[1] + lo*cos})
			}
		}
		slices.Reverse(inner)
		ring := append(outer, inner...)
		ring = append(ring, ring[0])
		parts = append(parts, orb.MultiPolygon{{ring}})
		run = run[:0]
	}
	for i := 0; i <= n; i++ {
		az := a + (b-a)*float64(i)/float64(n)
		if i > 0 {
			prev := a + (b-a)*float64(i-1)/float64(n)
			switch was, is := open(prev), open(az); {
			case was && !is:
				run = append(run, edge(prev, az))
				flush()
			case is && !was:
				run = append(run, edge(az, prev))
			}
		}
		if open(az) {
			run = append(run, az)
			if len(run) > int(60/polarStep) { // keep a ring from closing on itself
				flush()
				run = append(run, az)
			}
		}
	}
	flush()
	return g.union(parts...)
}

// limits returns the tangents of a lobe's depression limits at an azimuth
// (contract, section 3).
func (e eye) limits(l model.Lobe, az float64) (up, low float64) {
	axis := math.Atan(math.Tan(e.tilt*degree)*math.Cos((az-e.bearing)*degree)) / degree
	hold := func(v float64) float64 { return math.Max(-89.9, math.Min(89.9, v)) }
	return math.Tan(hold(axis-l.Up) * degree), math.Tan(hold(axis+l.Down) * degree)
}

// open returns where along an azimuth a lobe sees the body on open ground: the
// body's top, the lobe's limits and the ground, each pair at least the needed
// height apart, and all within reach.
func (e eye) open(l model.Lobe, b body, az float64) (lo, hi float64) {
	up, low := e.limits(l, az)
	reach := l.Range
	if b.factor > 0 {
		reach *= b.factor
	}
	hi = reach
	if !b.touch {
		dz := e.z - b.height/2
		if reach < math.Abs(dz) {
			return 0, 0
		}
		hi = math.Sqrt(reach*reach - dz*dz)
	}
	keep := func(c, k float64) { // c + k·d >= 0
		switch {
		case k > 0:
			lo = math.Max(lo, -c/k)
		case k < 0:
			hi = math.Min(hi, -c/k)
		case c < 0:
			hi = -1
		}
	}
	keep(b.height-e.z-b.need(), low) // top of the body over the bottom limit
	keep(e.z-b.need(), -up)          // the top limit over the ground
	keep(-b.need(), low-up)          // the top limit over the bottom limit
	return lo, hi
}

// sectors returns the azimuths of a lobe that are not masked.
func (e eye) sectors(l model.Lobe) (out [][2]float64) {
	from := e.bearing + l.Azimuth - l.Width/2
	out = [][2]float64{{from, from + l.Width}}
	for _, m := range e.masked {
		w := math.Mod(math.Mod(m.To-m.From, 360)+360, 360)
		for turn := -3.0; turn <= 3; turn++ {
			a := e.bearing + m.From + 360*turn
			var next [][2]float64
			for _, s := range out {
				if a >= s[1] || a+w <= s[0] {
					next = append(next, s)
					continue
				}
				if a > s[0] {
					next = append(next, [2]float64{s[0], a})
				}
				if a+w < s[1] {
					next = append(next, [2]float64{a + w, s[1]})
				}
			}
			out = next
		}
	}
	return out
}

// wall is what may hide.
type wall struct {
	rings []orb.LineString
	area  orb.MultiPolygon // nil for a line
	top   float64
}

func walls(sc *scene.Scene) (out []wall) {
	polygon := func(p orb.Polygon, top float64) {
		w := wall{area: orb.MultiPolygon{p}, top: top}
		for _, r := range p {
			w.rings = append(w.rings, orb.LineString(r))
		}
		out = append(out, w)
	}
	for _, b := range sc.Buildings {
		polygon(b.Shape, b.Top)
	}
	for _, o := range sc.Obstacles {
		switch {
		case o.SeeThrough:
		case o.Shape != nil:
			polygon(o.Shape, o.Height)
		default:
			out = append(out, wall{rings: []orb.LineString{o.Line}, top: o.Height})
		}
	}
	return out
}

func (e eye) reach(b body) float64 {
	r := 0.0
	for _, l := range e.lobes {
		r = math.Max(r, l.Range*math.Max(1, b.factor))
	}
	return r
}

// drawnOut is the outline swept away from the eye between from and to times its
// distance.
func (g geos) drawnOut(e eye, w wall, from, to, reach float64) orb.MultiPolygon {
	out := func(p orb.Point, k float64) orb.Point {
		return orb.Point{e.at[0] + k*(p[0]-e.at[0]), e.at[1] + k*(p[1]-e.at[1])}
	}
	var parts []orb.MultiPolygon
	for _, r := range w.rings {
		for i := 0; i+1 < len(r); i++ {
			a, b := r[i], r[i+1]
			d := segmentDistance(a, b, e.at)
			if d*from > reach {
				continue
			}
			k := math.Min(to, 1.1*reach/math.Max(d, 1e-6)+from)
			q := orb.Ring{out(a, from), out(b, from), out(b, k), out(a, k), out(a, from)}
			if math.Abs(scene.SignedArea(q)) > 1e-9 {
				parts = append(parts, orb.MultiPolygon{{q}})
			}
		}
	}
	for _, k := range []float64{from, to} {
		if w.area == nil || math.IsInf(k, 1) {
			continue
		}
		var p orb.Polygon
		for _, r := range w.area[0] {
			var s orb.Ring
			for _, q := range r {
				s = append(s, out(q, k))
			}
			p = append(p, s)
		}
		parts = append(parts, orb.MultiPolygon{p})
	}
	return g.union(parts...)
}

func segmentDistance(a, b, p orb.Point) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = math.Max(0, math.Min(1, ((p[0]-a[0])*dx+(p[1]-a[1])*dy)/l))
	}
	return math.Hypot(a[0]+t*dx-p[0], a[1]+t*dy-p[1])
}

// shadow is where too little of the body stands above the horizon for any lobe:
// at q metres the wall lifts the horizon at d metres to z + d·(top-z)/q.
func (g geos) shadow(e eye, ws []wall, b body) orb.MultiPolygon {
	reach := e.reach(b)
	c := b.height - b.need() // the horizon may come as high as this
	var parts []orb.MultiPolygon
	for _, w := range ws {
		if w.area != nil {
			parts = append(parts, w.area)
		}
		switch {
		case w.top > e.z:
			parts = append(parts, g.drawnOut(e, w, math.Max(1, (c-e.z)/(w.top-e.z)), math.Inf(1), reach))
		case w.top == e.z && c < e.z:
			parts = append(parts, g.drawnOut(e, w, 1, math.Inf(1), reach))
		case w.top < e.z && c < e.z:
			if k := (e.z - c) / (e.z - w.top); k > 1 {
				parts = append(parts, g.drawnOut(e, w, 1, k, reach))
			}
		}
	}
	return g.union(parts...)
}

// squeezed is where too little is left between the horizon and the top limit of
// a lobe.
func (g geos) squeezed(e eye, ws []wall, l model.Lobe, b body) orb.MultiPolygon {
	reach := e.reach(b)
	var parts []orb.MultiPolygon
	for _, w := range ws {
		for _, r := range w.rings {
			for i := 0; i+1 < len(r); i++ {
				p, q := r[i], r[i+1]
				if segmentDistance(p, q, e.at) > reach {
					continue
				}
				a := math.Atan2(p[0]-e.at[0], p[1]-e.at[1]) / degree
				span := math.Remainder(math.Atan2(q[0]-e.at[0], q[1]-e.at[1])/degree-a, 360)
				if math.Abs(span) < 1e-9 {
					continue
				}
				if span < 0 {
					a, span = a+span, -span
				}
				between := func(az float64) (lo, hi float64) {
					sin, cos := math.Sincos(az * degree)
					dx, dy := q[0]-p[0], q[1]-p[1]
					d := ((p[0]-e.at[0])*dy - (p[1]-e.at[1])*dx) / (sin*dy - cos*dx)
					up, _ := e.limits(l, az)
					hi = 1.1 * reach
					if k := -up - (w.top-e.z)/d; k > 0 {
						hi = math.Min(hi, b.need()/k)
					}
					return d, hi
				}
				for _, s := range e.sectors(l) {
					for turn := -720.0; turn <= 720; turn += 360 {
						from, to := math.Max(s[0], a+turn), math.Min(s[1], a+turn+span)
						if to-from > 1e-9 {
							parts = append(parts, g.polar(e.at, from, to, between))
						}
					}
				}
			}
		}
	}
	return g.union(parts...)
}

// footprint is where the body is seen.
func (g geos) footprint(e eye, ws []wall, b body) orb.MultiPolygon {
	var lobes []orb.MultiPolygon
	for _, l := range e.lobes {
		var open []orb.MultiPolygon
		for _, s := range e.sectors(l) {
			open = append(open, g.polar(e.at, s[0], s[1], func(az float64) (float64, float64) { return e.open(l, b, az) }))
		}
		lobes = append(lobes, g.less(g.union(open...), g.squeezed(e, ws, l, b)))
	}
	return g.less(g.union(lobes...), g.shadow(e, ws, b))
}

// band is a way's ground: a rectangle an edge and a disc at each join.
func (g geos) band(l orb.LineString, width float64) orb.MultiPolygon {
	var parts []orb.MultiPolygon
	for i := 0; i+1 < len(l); i++ {
		a, b := l[i], l[i+1]
		d := math.Hypot(b[0]-a[0], b[1]-a[1])
		nx, ny := -(b[1]-a[1])/d*width/2, (b[0]-a[0])/d*width/2
		parts = append(parts, orb.MultiPolygon{{{{a[0] + nx, a[1] + ny}, {a[0] - nx, a[1] - ny}, {b[0] - nx, b[1] - ny}, {b[0] + nx, b[1] + ny}, {a[0] + nx, a[1] + ny}}}})
		if i > 0 {
			parts = append(parts, g.polar(a, 0, 360, func(float64) (float64, float64) { return 0, width / 2 }))
		}
	}
	return g.union(parts...)
}

// The crossing lines, one at a time.

// fence is a boundary with what stands about it.
type fence struct {
	scene.Boundary
	sc    *scene.Scene
	depth float64
}

// edgeOf returns the edge on which chainage s lies.
func (f fence) edgeOf(s float64) int {
	for i := len(f.At) - 2; i > 0; i-- {
		if f.At[i] <= s {
			return i
		}
	}
	return 0
}

// crossings lists where the line p + w·n, w above 0, crosses a line.
func crossings(p, n orb.Point, l orb.LineString, skip int) (out []float64) {
	for i := 0; i+1 < len(l); i++ {
		if i == skip {
			continue
		}
		a, b := l[i], l[i+1]
		sa := (a[0]-p[0])*n[1] - (a[1]-p[1])*n[0]
		sb := (b[0]-p[0])*n[1] - (b[1]-p[1])*n[0]
		if (sa > 0) == (sb > 0) {
			continue
		}
		t := sa / (sa - sb)
		q := orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
		if w := (q[0]-p[0])*n[0] + (q[1]-p[1])*n[1]; w > 1e-9 {
			out = append(out, w)
		}
	}
	slices.Sort(out)
	return out
}

// line returns the beginning and end of the crossing line at chainage s, and
// the line itself.
func (f fence) line(s float64) (p, n orb.Point, w0, w1 float64) {
	i := f.edgeOf(s)
	n = f.EdgeNormal(i)
	p = f.Point(s)
	w1 = f.depth
	meet := func(l orb.LineString, skip int, beyond float64) {
		for _, w := range crossings(p, n, l, skip) {
			if w > beyond {
				w1 = math.Min(w1, w)
			}
		}
	}
	meet(f.Line, i, 0)
	for _, b := range f.sc.Buildings {
		for _, r := range b.Shape {
			meet(orb.LineString(r), -1, 0)
		}
	}
	// Out of the obstacles it starts in, then on to the next.
	for moved := true; moved; {
		moved = false
		for _, o := range f.sc.Obstacles {
			if !o.Impassable || o.Shape == nil {
				continue
			}
			q := orb.Point{p[0] + (w0+1e-9)*n[0], p[1] + (w0+1e-9)*n[1]}
			if !pattern.Inside(o.Shape, q) {
				continue
			}
			exit := math.Inf(1)
			for _, r := range o.Shape {
				for _, w := range crossings(p, n, orb.LineString(r), -1) {
					if w > w0+2e-9 {
						exit = math.Min(exit, w)
					}
				}
			}
			if !math.IsInf(exit, 1) {
				w0, moved = exit, true
			}
		}
	}
	for _, o := range f.sc.Obstacles {
		if !o.Impassable {
			continue
		}
		lines := []orb.LineString{o.Line}
		if o.Shape != nil {
			lines = lines[:0]
			for _, r := range o.Shape {
				lines = append(lines, orb.LineString(r))
			}
		}
		for _, l := range lines {
			meet(l, -1, w0+0.1)
		}
	}
	return p, n, math.Min(w0, w1), w1
}

// covered reports whether the crossing line at s runs inside a shape for long
// enough; known is false for a line too short to say.
func (f fence) covered(s float64, shape orb.MultiPolygon, path float64) (yes, known bool) {
	p, n, w0, w1 := f.line(s)
	if w1-w0 < 0.05 {
		return false, false
	}
	var cuts []float64
	for _, poly := range shape {
		for _, r := range poly {
			cuts = append(cuts, crossings(p, n, orb.LineString(r), -1)...)
		}
	}
	crossed := slices.Clone(cuts)
	slices.Sort(crossed)
	cuts = append(cuts, w0, w1)
	slices.Sort(cuts)
	start, last := math.NaN(), math.Inf(-1)
	best := 0.0
	for i := 0; i+1 < len(cuts); i++ {
		a, b := cuts[i], cuts[i+1]
		if a < w0 || b > w1 || b-a < 1e-9 {
			continue
		}
		// Inside, if the rest of the line leaves the shape once more than it enters.
		if k, _ := slices.BinarySearch(crossed, (a+b)/2); (len(crossed)-k)%2 == 0 {
			continue
		}
		if a-last > 0.1 {
			start = a
		}
		last = b
		best = math.Max(best, last-start)
	}
	if w1-w0 < path {
		return best >= w1-w0-0.05, true
	}
	return best >= path, true
}

// closed reports whether nothing need be detected at s.
func (f fence) closed(s float64) bool {
	p := f.Point(s)
	for _, b := range f.sc.Buildings {
		if pattern.Inside(b.Shape, p) {
			return true
		}
		for _, r := range b.Shape {
			for i := 0; i+1 < len(r); i++ {
				if segmentDistance(r[i], r[i+1], p) <= 0.05 {
					return true
				}
			}
		}
	}
	for _, x := range f.sc.Excluded {
		// The nearest point on the line, and whether it is beyond an end.
		best, beyond := math.Inf(1), false
		for i := 0; i+1 < len(x.Line); i++ {
			a, b := x.Line[i], x.Line[i+1]
			d := segmentDistance(a, b, p)
			if d >= best {
				continue
			}
			t := (p[0]-a[0])*(b[0]-a[0]) + (p[1]-a[1])*(b[1]-a[1])
			best, beyond = d, i == 0 && t < 0 || i+2 == len(x.Line) && t > (b[0]-a[0])*(b[0]-a[0])+(b[1]-a[1])*(b[1]-a[1])
		}
		if best <= 0.5 && !beyond {
			return true
		}
	}
	return false
}

// stretch is a span of chainage with a state.
type stretch struct {
	from, to float64
	state    int
}

// walk divides the boundary by a state: sampled every step metres, each change
// then placed to a hundredth of a millimetre. unknown is a state that takes its
// neighbour's: the greater of the two below most.
func (f fence) walk(step float64, unknown, most int, state func(s float64) int) []stretch {
	length := f.Length()
	// Away from the corners, where a crossing line jumps.
	var at []float64
	for i := 0; i+1 < len(f.At); i++ {
		a, b := f.At[i]+1e-6, f.At[i+1]-1e-6
		n := max(1, int(math.Ceil((b-a)/step)))
		for k := 0; k <= n; k++ {
			at = append(at, a+(b-a)*float64(k)/float64(n))
		}
	}
	var ss []stretch
	add := func(to float64, st int) {
		from := 0.0
		if n := len(ss); n > 0 {
			from = ss[n-1].to
		}
		ss = append(ss, stretch{from, to, st})
	}
	prev := state(at[0])
	for i := 1; i < len(at); i++ {
		next := state(at[i])
		if next != prev {
			lo, hi := at[i-1], at[i]
			for hi-lo > 1e-5 {
				if m := (lo + hi) / 2; state(m) == prev {
					lo = m
				} else {
					hi = m
				}
			}
			add(hi, prev)
			prev = next
		}
	}
	add(length, prev)
	n := len(ss)
	for i := range ss {
		if ss[i].state == unknown {
			ss[i].state = 0
			for _, k := range []int{i + n - 1, i + 1} {
				if st := ss[k%n].state; st < most {
					ss[i].state = max(ss[i].state, st)
				}
			}
		}
	}
	return ss
}

// merged gives stretches other states and merges those under 0.1 m, shortest
// first, into the longer neighbour, round a ring.
func (f fence) merged(ss []stretch, state func(int) int) []stretch {
	out := slices.Clone(ss)
	for i := range out {
		out[i].state = state(out[i].state)
	}
	return mergeShort(out, f.Length(), f.Closed)
}

func mergeShort(ss []stretch, length float64, ring bool) []stretch {
	for {
		var out []stretch
		for _, s := range ss {
			if n := len(out); n > 0 && out[n-1].state == s.state {
				out[n-1].to = s.to
			} else {
				out = append(out, s)
			}
		}
		if n := len(out); ring && n > 1 && out[0].state == out[n-1].state {
			out[n-1].to = out[0].to + length
			out = out[1:]
		}
		ss = out
		n := len(ss)
		k := -1
		for i, s := range ss {
			if d := s.to - s.from; d < 0.1 && (k < 0 || d < ss[k].to-ss[k].from) {
				k = i
			}
		}
		if n < 2 || k < 0 {
			return ss
		}
		before, after := k-1, k+1
		if ring {
			before, after = (k-1+n)%n, (k+1)%n
		} else if before < 0 {
			before = after
		} else if after == n {
			after = before
		}
		if ss[after].to-ss[after].from > ss[before].to-ss[before].from {
			before = after
		}
		ss[k].state = ss[before].state
	}
}

// stateAt returns the state of a walked boundary at s.
func stateAt(ss []stretch, s, length float64) int {
	for _, v := range ss {
		if v.from <= s && s <= v.to || v.from <= s+length && s+length <= v.to {
			return v.state
		}
	}
	return -1
}

// differing returns the lengths of the spans over which two divisions of a
// boundary differ, and of each whether it is a whole stretch of either.
func differing(a, b []stretch, length float64) (out []float64, whole []bool) {
	var cuts []float64
	for _, s := range append(slices.Clone(a), b...) {
		cuts = append(cuts, math.Mod(s.from, length), math.Mod(s.to, length))
	}
	cuts = append(cuts, 0, length)
	slices.Sort(cuts)
	end := func(ss []stretch, v, w float64) bool {
		for _, s := range ss {
			if math.Abs(math.Mod(s.from, length)-v) < 1e-6 && math.Abs(math.Mod(s.to, length)-math.Mod(w, length)) < 1e-6 {
				return true
			}
		}
		return false
	}
	var from float64
	open := false
	for i := 0; i+1 < len(cuts); i++ {
		m := (cuts[i] + cuts[i+1]) / 2
		differ := cuts[i+1]-cuts[i] > 1e-9 && stateAt(a, m, length) != stateAt(b, m, length)
		switch {
		case differ && !open:
			from, open = cuts[i], true
		case !differ && open && cuts[i+1]-cuts[i] > 1e-9:
			out, whole = append(out, cuts[i]-from), append(whole, end(a, from, cuts[i]) || end(b, from, cuts[i]))
			open = false
		}
	}
	if open {
		out, whole = append(out, length-from), append(whole, end(a, from, length) || end(b, from, length))
	}
	return out, whole
}
