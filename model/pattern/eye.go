// Package pattern lays a sensor's detection pattern on the ground.
//
// Seen from the optical centre, everything about a site is a function of the
// azimuth: along one ray the pattern is a list of distance intervals, bounded
// by the lobes' limits, by reach, and by what stands in the way. A sweep casts
// rays just left and just right of every corner and of every lobe's side, and
// between them as densely as the curves ask for; neighbouring rays with the same
// bounds make a strip, and the strips' outer edges are the outline. So sides,
// shadow edges and walls are exact, and arcs are right to a chord error of 5 mm.
package pattern

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
)

// Distances of the mounting rule, metres (contract, section 3).
const (
	wallWithin  = 0.3  // a sensor this near to a wall is taken as fixed to it
	wallSearch  = 1.0  // the farthest wall it is fixed to
	wallStand   = 0.05 // how far outside the wall the optical centre then is
	wallBearing = 100  // degrees between the wall's outward normal and the bearing
)

// Eye is a sensor's optical centre and its lobes, ready to look from.
type Eye struct {
	ID      string
	At      orb.Point // site grid, metres
	Z       float64   // height of the optical centre
	Ground  float64   // height of the ground at the post
	Bearing float64   // radians clockwise from north
	Fixed   string    // id of what it is fixed to, "" for a post
	Buried  string    // id of the building or obstacle it stands too deep inside: it sees nothing

	tanTilt float64
	lobes   []lobe
	masks   []arc
}

type lobe struct {
	arc
	tanUp, tanDown float64 // of minus up_deg and of down_deg
	reach          float64 // slant
	lookDown       bool
	index          uint32
}

// arc is a span of azimuths: from start clockwise over width, radians.
type arc struct{ start, width float64 }

// holds reports whether the arc contains azimuth az, ends included.
func (a arc) holds(az float64) bool { return turn(az-a.start) <= a.width }

// turn brings an angle into [0, 2π).
func turn(a float64) float64 {
	if a >= 0 && a < 2*math.Pi {
		return a
	}
	a = math.Mod(a, 2*math.Pi)
	if a < 0 {
		a += 2 * math.Pi
	}
	if a >= 2*math.Pi {
		a = 0
	}
	return a
}

func rad(deg float64) float64 { return deg * math.Pi / 180 }

// Stand places a sensor's optical centre: on its post, on a roof, or fixed to
// the wall it stands by (contract, section 3, Mounting).
func Stand(sc *scene.Scene, f *model.Feature, m model.SensorModel) Eye {
	s := f.Value.(*model.Sensor)
	at := sc.Shape(f.ID).(orb.Point)
	e := Eye{ID: f.ID, At: at, Bearing: rad(s.Bearing), tanTilt: math.Tan(rad(s.Tilt))}
	e.fix(sc, s.MountHeight)
	e.stepOff(sc)
	e.aim(m, s.Masked)
	return e
}

// aim gives the eye its lobes and masks.
func (e *Eye) aim(m model.SensorModel, masked []model.Sector) {
	for i, l := range m.Lobes {
		width := rad(l.Width)
		e.lobes = append(e.lobes, lobe{
			arc:      arc{turn(e.Bearing + rad(l.Azimuth) - width/2), width},
			tanUp:    math.Tan(rad(-l.Up)),
			tanDown:  math.Tan(rad(l.Down)),
			reach:    l.Range,
			lookDown: l.Up < 0,
			index:    uint32(i),
		})
	}
	for _, k := range masked {
		width := math.Mod(k.To-k.From, 360)
		if width < 0 {
			width += 360
		}
		if width == 0 && k.To != k.From {
			width = 360
		}
		e.masks = append(e.masks, arc{turn(e.Bearing + rad(k.From)), rad(width)})
	}
}

// A place exactly on an outline is neither inside nor outside it. An eye there
// is taken a micrometre aside.
const (
	onOutline = 1e-8 // metres
	aStep     = 1e-6 // metres
)

// stepOff moves the eye off every outline it stands on: along its bearing first,
// so that a lobe whose side runs along an outline stays on its side of it.
func (e *Eye) stepOff(sc *scene.Scene) {
	at := e.At
	for i := range 8 {
		if !onAny(sc, e.At) {
			return
		}
		sin, cos := math.Sincos(e.Bearing + 0.8*float64(i))
		e.At = orb.Point{at[0] + aStep*sin, at[1] + aStep*cos}
	}
}

// onAny reports whether a place stands on an outline of the scene.
func onAny(sc *scene.Scene, p orb.Point) bool {
	on := func(l orb.LineString) bool {
		for i := 0; i+1 < len(l); i++ {
			a, b := l[i], l[i+1]
			if p[0] < min(a[0], b[0])-onOutline || p[0] > max(a[0], b[0])+onOutline || p[1] < min(a[1], b[1])-onOutline || p[1] > max(a[1], b[1])+onOutline {
				continue
			}
			if q := NearestOn(a, b, p); math.Hypot(q[0]-p[0], q[1]-p[1]) < onOutline {
				return true
			}
		}
		return false
	}
	polygon := func(poly orb.Polygon, b orb.Bound) bool {
		if !boundNear(b, p, onOutline) {
			return false
		}
		for _, r := range poly {
			if on(orb.LineString(r)) {
				return true
			}
		}
		return false
	}
	area := func(a scene.Area) bool {
		for i, poly := range a.Shape {
			if polygon(poly, a.Bounds[i]) {
				return true
			}
		}
		return false
	}
	for i := range sc.Buildings {
		if polygon(sc.Buildings[i].Shape, sc.Buildings[i].Bound) {
			return true
		}
	}
	for i := range sc.Obstacles {
		o := &sc.Obstacles[i]
		if o.Shape != nil && polygon(o.Shape, o.Bound) || o.Shape == nil && boundNear(o.Bound, p, onOutline) && on(o.Line) {
			return true
		}
	}
	for i := range sc.Foliage {
		if polygon(sc.Foliage[i].Shape, sc.Foliage[i].Bound) {
			return true
		}
	}
	for i := range sc.Boundaries {
		if on(sc.Boundaries[i].Line) {
			return true
		}
	}
	for _, areas := range [][]scene.Area{sc.Premises, sc.Neighbours, sc.Views} {
		for _, a := range areas {
			if area(a) {
				return true
			}
		}
	}
	for i := range sc.Ways {
		if area(sc.Ways[i].Area) {
			return true
		}
	}
	return false
}

// face is one side of a wall.
type face struct {
	a, b   orb.Point
	normal orb.Point // outward
	owner  string
}

// fix applies the mounting rule.
func (e *Eye) fix(sc *scene.Scene, mount float64) {
	e.Ground = sc.Ground(e.At)
	e.Z = e.Ground + mount
	var faces []face
	inside := ""
	near := false
	consider := func(id string, shape orb.Polygon) {
		d, in := distanceTo(shape, e.At)
		if !in && d > wallWithin {
			return
		}
		near = true
		if in && d > wallSearch && inside == "" {
			inside = id
		}
		faces = append(faces, polygonFaces(id, shape)...)
	}
	for _, b := range sc.Buildings {
		if b.Top >= e.Z && boundNear(b.Bound, e.At, wallWithin) {
			consider(b.Feature.ID, b.Shape)
		}
	}
	for _, o := range sc.Obstacles {
		if o.SeeThrough {
			continue
		}
		if o.Shape != nil {
			if boundNear(o.Bound, e.At, wallWithin) && e.Ground+o.Height >= e.Z {
				consider(o.Feature.ID, o.Shape)
			}
			continue
		}
		if e.Ground+o.Height < e.Z || !boundNear(o.Bound, e.At, wallWithin) {
			continue
		}
		if distanceToLine(o.Line, e.At) <= wallWithin {
			near = true
			faces = append(faces, lineFaces(o.Feature.ID, o.Line, e.At)...)
		}
	}
	if !near {
		return
	}
	if inside != "" {
		e.Buried = inside
		return
	}
	sin, cos := math.Sincos(e.Bearing)
	limit := math.Cos(rad(wallBearing)) - 1e-12
	best, bestAny := -1, -1
	bestD, bestAnyD := math.Inf(1), math.Inf(1)
	for i, f := range faces {
		p := NearestOn(f.a, f.b, e.At)
		d := math.Hypot(p[0]-e.At[0], p[1]-e.At[1])
		if d < bestAnyD {
			bestAny, bestAnyD = i, d
		}
		if f.normal[0]*sin+f.normal[1]*cos >= limit && d < bestD {
			best, bestD = i, d
		}
	}
	if best < 0 || bestD > wallSearch {
		best = bestAny
	}
	f := faces[best]
	p := NearestOn(f.a, f.b, e.At)
	e.At = orb.Point{p[0] + wallStand*f.normal[0], p[1] + wallStand*f.normal[1]}
	e.Fixed = f.owner
	e.Ground = sc.Ground(e.At)
	e.Z = e.Ground + mount
}

// polygonFaces lists the outward faces of a polygon's edges.
func polygonFaces(id string, p orb.Polygon) (out []face) {
	for i, r := range p {
		left := scene.SignedArea(r) > 0
		outwardRight := left == (i == 0) // the inside of an inner ring is outside
		for j := 0; j+1 < len(r); j++ {
			a, b := r[j], r[j+1]
			l := math.Hypot(b[0]-a[0], b[1]-a[1])
			if l == 0 {
				continue
			}
			n := orb.Point{(b[1] - a[1]) / l, -(b[0] - a[0]) / l}
			if !outwardRight {
				n = orb.Point{-n[0], -n[1]}
			}
			out = append(out, face{a, b, n, id})
		}
	}
	return out
}

// lineFaces lists both faces of a line's edges, the one on from's side first.
func lineFaces(id string, l orb.LineString, from orb.Point) (out []face) {
	for j := 0; j+1 < len(l); j++ {
		a, b := l[j], l[j+1]
		d := math.Hypot(b[0]-a[0], b[1]-a[1])
		if d == 0 {
			continue
		}
		n := orb.Point{(b[1] - a[1]) / d, -(b[0] - a[0]) / d}
		if (from[0]-a[0])*n[0]+(from[1]-a[1])*n[1] < 0 {
			n = orb.Point{-n[0], -n[1]}
		}
		out = append(out, face{a, b, n, id}, face{a, b, orb.Point{-n[0], -n[1]}, id})
	}
	return out
}

func boundNear(b orb.Bound, p orb.Point, r float64) bool {
	return p[0] >= b.Min[0]-r && p[0] <= b.Max[0]+r && p[1] >= b.Min[1]-r && p[1] <= b.Max[1]+r
}

// NearestOn returns the point of the segment ab nearest to p.
func NearestOn(a, b, p orb.Point) orb.Point {
	dx, dy := b[0]-a[0], b[1]-a[1]
	l := dx*dx + dy*dy
	if l == 0 {
		return a
	}
	t := math.Max(0, math.Min(1, ((p[0]-a[0])*dx+(p[1]-a[1])*dy)/l))
	return orb.Point{a[0] + t*dx, a[1] + t*dy}
}

func distanceToLine(l orb.LineString, p orb.Point) float64 {
	best := math.Inf(1)
	for i := 0; i+1 < len(l); i++ {
		q := NearestOn(l[i], l[i+1], p)
		best = math.Min(best, math.Hypot(q[0]-p[0], q[1]-p[1]))
	}
	return best
}

// distanceTo returns the distance from p to the polygon's outline, and whether p
// lies inside it.
func distanceTo(poly orb.Polygon, p orb.Point) (d float64, inside bool) {
	d = math.Inf(1)
	for _, r := range poly {
		d = math.Min(d, distanceToLine(orb.LineString(r), p))
	}
	return d, Inside(poly, p)
}

// Inside reports whether p lies inside the polygon by the even-odd rule.
func Inside(poly orb.Polygon, p orb.Point) bool {
	in := false
	for _, r := range poly {
		for i := 0; i+1 < len(r); i++ {
			a, b := r[i], r[i+1]
			if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
				in = !in
			}
		}
	}
	return in
}

// Faces reports whether any lobe looks towards some point of the line from a to
// b, however far away.
func (e *Eye) Faces(a, b orb.Point) bool {
	za := math.Atan2(a[0]-e.At[0], a[1]-e.At[1])
	turned := math.Remainder(math.Atan2(b[0]-e.At[0], b[1]-e.At[1])-za, 2*math.Pi)
	line := arc{turn(za), turned}
	if turned < 0 {
		line = arc{turn(za + turned), -turned}
	}
	if line.width > math.Pi-1e-6 { // the line runs through the eye
		return true
	}
	for i := range e.lobes {
		if l := &e.lobes[i]; l.holds(line.start) || line.holds(l.start) {
			return true
		}
	}
	return false
}

// Tilted returns the eye with its axis delta degrees farther down.
func (e Eye) Tilted(delta float64) Eye {
	e.tanTilt = math.Tan(math.Atan(e.tanTilt) + rad(delta))
	return e
}

// Turned returns the eye turned clockwise by delta degrees, masks and all.
func (e Eye) Turned(delta float64) Eye {
	d := rad(delta)
	e.Bearing = turn(e.Bearing + d)
	e.lobes = slices.Clone(e.lobes)
	for i := range e.lobes {
		e.lobes[i].start = turn(e.lobes[i].start + d)
	}
	e.masks = slices.Clone(e.masks)
	for i := range e.masks {
		e.masks[i].start = turn(e.masks[i].start + d)
	}
	return e
}

// Masked returns the eye with a further mask, in degrees relative to its
// bearing, clockwise from the first to the second.
func (e Eye) Masked(m model.Sector) Eye {
	width := math.Mod(m.To-m.From, 360)
	if width < 0 {
		width += 360
	}
	e.masks = append(slices.Clone(e.masks), arc{turn(e.Bearing + rad(m.From)), rad(width)})
	return e
}

// Azimuths returns the azimuths, in degrees relative to the bearing, at which the
// parts of a shape lie as seen from the eye: spans in order that do not touch. ok is
// false where a part goes round the eye by half a turn or more.
func (e *Eye) Azimuths(m orb.MultiPolygon) (out []model.Sector, ok bool) {
	const atEye = 0.01 // metres: a corner this near lies in no direction
	for _, poly := range m {
		ring := poly[0][:max(0, len(poly[0])-1)]
		near := func(p orb.Point) bool { return math.Hypot(p[0]-e.At[0], p[1]-e.At[1]) < atEye }
		first := max(0, slices.IndexFunc(ring, near)) // a ring by way of the eye is followed from there to there
		lo, hi, now := math.Inf(1), math.Inf(-1), 0.0
		for i := range ring {
			p := ring[(first+i)%len(ring)]
			if near(p) {
				continue
			}
			now += math.Remainder(math.Atan2(p[0]-e.At[0], p[1]-e.At[1])-e.Bearing-now, 2*math.Pi)
			lo, hi = math.Min(lo, now), math.Max(hi, now)
		}
		switch {
		case hi < lo:
		case hi-lo >= math.Pi:
			return nil, false
		default:
			out = append(out, model.Sector{From: lo * 180 / math.Pi, To: hi * 180 / math.Pi})
		}
	}
	slices.SortFunc(out, func(a, b model.Sector) int { return cmp.Compare(a.From, b.From) })
	merged := out[:0]
	for _, s := range out {
		if n := len(merged); n > 0 && s.From <= merged[n-1].To {
			merged[n-1].To = math.Max(merged[n-1].To, s.To)
			continue
		}
		merged = append(merged, s)
	}
	return merged, true
}
