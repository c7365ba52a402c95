package model

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// position is a GeoJSON position with whatever follows the second number.
type position struct {
	at   orb.Point
	rest []json.RawMessage
}

// maxPositions bounds the positions of one geometry.
const maxPositions = 1 << 20

// decodeGeometry reads a GeoJSON geometry in longitude and latitude. A Multi
// geometry of one part is read as that part.
func decodeGeometry(raw json.RawMessage) (orb.Geometry, error) {
	o, err := ParseObject(raw)
	if err != nil {
		return nil, fmt.Errorf("%s is not a geometry", brief(raw))
	}
	var typ string
	if t, ok := o.Get("type"); ok && json.Unmarshal(t, &typ) != nil {
		return nil, fmt.Errorf("type %s is not text", brief(t))
	}
	coordinates, ok := o.Get("coordinates")
	if !ok && typ != "" && typ != "GeometryCollection" {
		return nil, fmt.Errorf("is a %s without coordinates", typ)
	}
	switch typ {
	case "Point":
		return decodePoint(coordinates)
	case "LineString":
		l, err := decodeLine(coordinates)
		if err != nil {
			return nil, err
		}
		if n := distinct(l); n < 2 {
			return nil, fmt.Errorf("has a line of %d distinct points: a line needs at least 2", n)
		}
		return l, nil
	case "Polygon":
		return decodePolygon(coordinates)
	case "MultiPoint", "MultiLineString", "MultiPolygon":
		var parts []json.RawMessage
		if err := json.Unmarshal(coordinates, &parts); err != nil {
			return nil, fmt.Errorf("%s is not a list of parts", brief(coordinates))
		}
		if len(parts) != 1 {
			return nil, fmt.Errorf("is a %s of %d parts: make each part a feature of its own", typ, len(parts))
		}
		part := Object{{"type", encode(strings.TrimPrefix(typ, "Multi"))}, {"coordinates", parts[0]}}
		return decodeGeometry(part.raw())
	case "":
		return nil, fmt.Errorf("%s has no type", brief(raw))
	}
	return nil, fmt.Errorf("is a %s: use a Point, a LineString or a Polygon", typ)
}

func decodePosition(raw json.RawMessage) (p position, err error) {
	var vs []json.RawMessage
	if json.Unmarshal(raw, &vs) != nil || len(vs) < 2 {
		return p, fmt.Errorf("%s is not a position: it must be [longitude, latitude]", brief(raw))
	}
	lon, err1 := parseNumber(vs[0])
	lat, err2 := parseNumber(vs[1])
	switch {
	case err1 != nil || err2 != nil:
		return p, fmt.Errorf("%s is not a position: it must be [longitude, latitude]", brief(raw))
	case !(lon >= -180 && lon <= 180):
		return p, fmt.Errorf("longitude %s is not between -180 and 180", brief(vs[0]))
	case !(lat >= -84 && lat <= 84):
		return p, fmt.Errorf("latitude %s is not between -84 and 84", brief(vs[1]))
	}
	return position{orb.Point{lon, lat}, vs[2:]}, nil
}

func decodePoint(raw json.RawMessage) (orb.Geometry, error) {
	p, err := decodePosition(raw)
	if err != nil {
		return nil, err
	}
	return p.at, nil
}

func decodeLine(raw json.RawMessage) (orb.LineString, error) {
	var ps []json.RawMessage
	if err := json.Unmarshal(raw, &ps); err != nil {
		return nil, fmt.Errorf("%s is not a list of positions", brief(raw))
	}
	if len(ps) > maxPositions {
		return nil, fmt.Errorf("has %d positions: at most %d", len(ps), maxPositions)
	}
	l := make(orb.LineString, 0, len(ps))
	for _, r := range ps {
		p, err := decodePosition(r)
		if err != nil {
			return nil, err
		}
		l = append(l, p.at)
	}
	return l, nil
}

func decodePolygon(raw json.RawMessage) (orb.Geometry, error) {
	var rs []json.RawMessage
	if err := json.Unmarshal(raw, &rs); err != nil {
		return nil, fmt.Errorf("%s is not a list of rings", brief(raw))
	}
	if len(rs) == 0 {
		return nil, fmt.Errorf("is a polygon without a ring")
	}
	var poly orb.Polygon
	for i, r := range rs {
		l, err := decodeLine(r)
		if err != nil {
			return nil, err
		}
		name := "a ring"
		if i > 0 {
			name = fmt.Sprintf("inner ring %d", i)
		}
		if n := distinct(l); n < 3 {
			return nil, fmt.Errorf("has %s of %d distinct points: a ring needs at least 3", name, n)
		}
		if l[0] != l[len(l)-1] {
			return nil, fmt.Errorf("has %s that is not closed: its last position must repeat its first", name)
		}
		poly = append(poly, orb.Ring(l))
	}
	return poly, nil
}

// distinct counts the different positions of a line.
func distinct(l orb.LineString) int {
	seen := map[orb.Point]bool{}
	for _, p := range l {
		seen[p] = true
		if len(seen) > 3 {
			break
		}
	}
	return len(seen)
}

// shapeOf returns the shape of a geometry.
func shapeOf(g orb.Geometry) Shapes {
	switch g.(type) {
	case orb.Point:
		return Point
	case orb.LineString:
		return Line
	case orb.Polygon:
		return Area
	}
	return None
}

// maxBoundarySpan is how many degrees a boundary may span. Chosen: many times
// the largest site; what is larger is a slip, and not to be measured by the metre.
const maxBoundarySpan = 1.0

// checkShape reports a geometry that the kind may not have, a boundary or
// premises outline that crosses itself, and a boundary no site can have.
func checkShape(g orb.Geometry, info KindInfo) error {
	s := shapeOf(g)
	if info.Shapes&s == 0 {
		var want []string
		for _, w := range []struct {
			s Shapes
			n string
		}{{Point, "a Point"}, {Line, "a LineString"}, {Area, "a Polygon"}} {
			if info.Shapes&w.s != 0 {
				want = append(want, w.n)
			}
		}
		have := "missing"
		if g != nil {
			have = "a " + g.GeoJSONType()
		}
		return fmt.Errorf("is %s: it must be %s", have, strings.Join(want, " or "))
	}
	if info.Kind != KindBoundary && info.Kind != KindPremises {
		return nil
	}
	if b := g.Bound(); info.Kind == KindBoundary && math.Max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) > maxBoundarySpan {
		return fmt.Errorf("spans %.6g degrees of longitude and %.6g of latitude: a site spans at most %v, and does not lie across longitude 180",
			b.Max[0]-b.Min[0], b.Max[1]-b.Min[1], maxBoundarySpan)
	}
	var l orb.LineString
	switch g := g.(type) {
	case orb.Polygon:
		l = orb.LineString(g[0])
	case orb.LineString:
		l = g
	}
	if at, ok := SelfCrossing(l); ok {
		return fmt.Errorf("crosses itself near longitude %.6f, latitude %.6f: move a vertex so that it does not", at[0], at[1])
	}
	return nil
}

// SelfCrossing returns a place where the line crosses or runs back over itself.
// A ring's shared first and last point is no crossing.
func SelfCrossing(l orb.LineString) (at orb.Point, ok bool) {
	pts := make(orb.LineString, 0, len(l))
	for i, p := range l {
		if i == 0 || p != l[i-1] {
			pts = append(pts, p)
		}
	}
	n := len(pts) - 1
	if n < 1 {
		return orb.Point{}, false
	}
	ring := n > 2 && pts[0] == pts[n]
	// A sweep over the longer axis keeps this near linear for real outlines.
	type seg struct {
		lo, hi float64
		i      int
	}
	b := pts.Bound()
	axis := 0
	if b.Max[1]-b.Min[1] > b.Max[0]-b.Min[0] {
		axis = 1
	}
	segs := make([]seg, n)
	for i := range segs {
		a, c := pts[i][axis], pts[i+1][axis]
		segs[i] = seg{math.Min(a, c), math.Max(a, c), i}
	}
	sortBy(segs, func(a, b seg) bool { return a.lo < b.lo })
	var live []seg
	for _, s := range segs {
		kept := live[:0]
		for _, o := range live {
			if o.hi >= s.lo {
				kept = append(kept, o)
			}
		}
		live = kept
		for _, o := range live {
			i, j := min(s.i, o.i), max(s.i, o.i)
			p, q, r, t := pts[i], pts[i+1], pts[j], pts[j+1]
			switch {
			case j == i+1: // neighbours share q: they cross only by running back
				if d := cross(p, q, t); d == 0 && (t[0]-q[0])*(p[0]-q[0])+(t[1]-q[1])*(p[1]-q[1]) > 0 {
					return q, true
				}
			case ring && i == 0 && j == n-1:
				if d := cross(r, p, q); d == 0 && (r[0]-p[0])*(q[0]-p[0])+(r[1]-p[1])*(q[1]-p[1]) > 0 {
					return p, true
				}
			default:
				if x, hit := meet(p, q, r, t); hit {
					return x, true
				}
			}
		}
		live = append(live, s)
	}
	return orb.Point{}, false
}

// cross is twice the signed area of the triangle a, b, c.
func cross(a, b, c orb.Point) float64 {
	return (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])
}

// meet reports whether the closed segments ab and cd share a point.
func meet(a, b, c, d orb.Point) (orb.Point, bool) {
	d1, d2, d3, d4 := cross(c, d, a), cross(c, d, b), cross(a, b, c), cross(a, b, d)
	if (d1 > 0) != (d2 > 0) && (d3 > 0) != (d4 > 0) && d1 != d2 {
		t := d1 / (d1 - d2)
		return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}, true
	}
	on := func(p, a, b orb.Point) bool {
		return math.Min(a[0], b[0]) <= p[0] && p[0] <= math.Max(a[0], b[0]) && math.Min(a[1], b[1]) <= p[1] && p[1] <= math.Max(a[1], b[1])
	}
	switch {
	case d1 == 0 && on(a, c, d):
		return a, true
	case d2 == 0 && on(b, c, d):
		return b, true
	case d3 == 0 && on(c, a, b):
		return c, true
	case d4 == 0 && on(d, a, b):
		return d, true
	}
	return orb.Point{}, false
}

// coordinateDigits is the number of decimals of a degree written for a new
// position: 1e-9 degrees is 0.1 mm on the ground.
const coordinateDigits = 9

// encodeGeometry writes g as GeoJSON. Numbers beyond the second of a position
// are taken from old: by place where the number of positions is the same, else
// from the position that stands where it stood. A position that did not move
// keeps its spelling.
func encodeGeometry(g orb.Geometry, old json.RawMessage) json.RawMessage {
	if g == nil {
		return json.RawMessage("null")
	}
	var before []json.RawMessage
	if old != nil {
		collectPositions(old, &before)
	}
	w := geometryWriter{before: before, at: map[orb.Point]json.RawMessage{}}
	for _, raw := range before {
		if p, err := decodePosition(raw); err == nil {
			w.at[p.at] = raw
		}
	}
	count := 0
	switch g := g.(type) {
	case orb.Point:
		count = 1
	case orb.LineString:
		count = len(g)
	case orb.Polygon:
		for _, r := range g {
			count += len(r)
		}
	}
	w.byPlace = count == len(before)
	w.b = append(w.b, `{"type": "`...)
	w.b = append(w.b, g.GeoJSONType()...)
	w.b = append(w.b, `", "coordinates": `...)
	switch g := g.(type) {
	case orb.Point:
		w.position(g)
	case orb.LineString:
		w.line(g)
	case orb.Polygon:
		w.b = append(w.b, '[')
		for i, r := range g {
			if i > 0 {
				w.b = append(w.b, ", "...)
			}
			w.line(orb.LineString(r))
		}
		w.b = append(w.b, ']')
	default:
		panic("no such geometry in a plan: " + g.GeoJSONType())
	}
	w.b = append(w.b, '}')
	return w.b
}

type geometryWriter struct {
	b       []byte
	before  []json.RawMessage
	at      map[orb.Point]json.RawMessage
	byPlace bool
	n       int
}

func (w *geometryWriter) line(l orb.LineString) {
	w.b = append(w.b, '[')
	for i, p := range l {
		if i > 0 {
			w.b = append(w.b, ", "...)
		}
		w.position(p)
	}
	w.b = append(w.b, ']')
}

func (w *geometryWriter) position(p orb.Point) {
	defer func() { w.n++ }()
	if raw, ok := w.at[p]; ok {
		w.b = append(w.b, raw...)
		return
	}
	w.b = append(w.b, '[')
	w.b = appendDegrees(w.b, p[0])
	w.b = append(w.b, ", "...)
	w.b = appendDegrees(w.b, p[1])
	if w.byPlace {
		if old, err := decodePosition(w.before[w.n]); err == nil {
			for _, r := range old.rest {
				w.b = append(w.b, ", "...)
				w.b = append(w.b, r...)
			}
		}
	}
	w.b = append(w.b, ']')
}

func appendDegrees(b []byte, v float64) []byte {
	s := strconv.FormatFloat(v, 'f', coordinateDigits, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		s = "0"
	}
	return append(b, s...)
}

// collectPositions lists the raw positions of a geometry in file order.
func collectPositions(raw json.RawMessage, out *[]json.RawMessage) {
	o, err := ParseObject(raw)
	if err != nil {
		return
	}
	coordinates, _ := o.Get("coordinates")
	collect(coordinates, 4, out) // a MultiPolygon's positions lie in three lists
}

func collect(raw json.RawMessage, depth int, out *[]json.RawMessage) {
	var items []json.RawMessage
	if depth == 0 || json.Unmarshal(raw, &items) != nil || len(items) == 0 {
		return
	}
	if len(items[0]) > 0 && items[0][0] != '[' {
		*out = append(*out, raw)
		return
	}
	for _, i := range items {
		collect(i, depth-1, out)
	}
}
