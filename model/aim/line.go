package aim

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/pattern"
	"pleach/model/scene"
	"pleach/model/terrain"
)

// Line is the ground along one azimuth and what stands on it.
type Line struct {
	Start   orb.Point // site grid, metres
	Azimuth float64   // radians clockwise from north
	Length  float64   // metres, horizontal
	Ground  []terrain.Knot
	Unknown float64 // the distance from which the ground is not known, infinite where it is known all along
	Things  []Thing // in order of distance
}

// Thing is what the line crosses of one feature: a building, an obstacle,
// foliage, a boundary or a way.
type Thing struct {
	ID       string
	Kind     model.Kind
	From, To float64 // horizontal distances in metres, equal for a line without thickness
	Height   float64 // above the ground, of a top that follows it; 0 for a way
	Top      float64 // of a level top, in the height system of the ground
	Level    bool    // a building's
	Mesh     bool    // an obstacle that hides nothing
}

// Hides reports whether a sensor does not see through it.
func (t *Thing) Hides() bool {
	return t.Kind == model.KindBuilding || t.Kind == model.KindObstacle && !t.Mesh
}

// Along lays the line of a length in metres from a place along an azimuth in
// radians clockwise from north.
func Along(sc *scene.Scene, start orb.Point, azimuth, length float64) *Line {
	l := &Line{Start: start, Azimuth: azimuth, Length: length}
	sin, cos := math.Sincos(azimuth)
	var ray terrain.Ray
	sc.Terrain.Profile(start, sin, cos, length, &ray)
	l.Ground, l.Unknown = ray.Knots, ray.Unknown
	ends := orb.MultiPoint{start, l.At(length)}.Bound()
	polygon := func(t Thing, p orb.Polygon) {
		var rings []orb.LineString
		for _, r := range p {
			rings = append(rings, orb.LineString(r))
		}
		at := crossings(start, sin, cos, length, rings...)
		if pattern.Inside(p, start) {
			at = append([]float64{0}, at...)
		}
		if len(at)%2 == 1 {
			at = append(at, length)
		}
		for i := 0; i+1 < len(at); i += 2 {
			t.From, t.To = at[i], at[i+1]
			l.Things = append(l.Things, t)
		}
	}
	line := func(t Thing, s orb.LineString) {
		for _, d := range crossings(start, sin, cos, length, s) {
			t.From, t.To = d, d
			l.Things = append(l.Things, t)
		}
	}
	for i := range sc.Buildings {
		if b := &sc.Buildings[i]; b.Bound.Intersects(ends) {
			polygon(Thing{ID: b.Feature.ID, Kind: model.KindBuilding, Top: b.Top, Level: true}, b.Shape)
		}
	}
	for i := range sc.Obstacles {
		o := &sc.Obstacles[i]
		if !o.Bound.Intersects(ends) {
			continue
		}
		t := Thing{ID: o.Feature.ID, Kind: model.KindObstacle, Height: o.Height, Mesh: o.SeeThrough}
		if o.Shape != nil {
			polygon(t, o.Shape)
		} else {
			line(t, o.Line)
		}
	}
	for i := range sc.Foliage {
		if f := &sc.Foliage[i]; f.Bound.Intersects(ends) {
			polygon(Thing{ID: f.Feature.ID, Kind: model.KindFoliage, Height: f.Height}, f.Shape)
		}
	}
	for i := range sc.Boundaries {
		b := &sc.Boundaries[i]
		height, _ := b.Feature.Number("height_m")
		line(Thing{ID: b.Feature.ID, Kind: model.KindBoundary, Height: height}, b.Line)
	}
	for i := range sc.Ways {
		w := &sc.Ways[i]
		for k, p := range w.Shape {
			if w.Bounds[k].Intersects(ends) {
				polygon(Thing{ID: w.Feature.ID, Kind: w.Class}, p)
			}
		}
	}
	slices.SortStableFunc(l.Things, func(a, b Thing) int { return cmp.Compare(a.From, b.From) })
	return l
}

// crossings returns the distances at which a ray crosses lines, in order.
func crossings(from orb.Point, sin, cos, length float64, lines ...orb.LineString) (out []float64) {
	for _, l := range lines {
		for i := 0; i+1 < len(l); i++ {
			ax, ay, bx, by := l[i][0]-from[0], l[i][1]-from[1], l[i+1][0]-from[0], l[i+1][1]-from[1]
			left, right := sin*ay-cos*ax, sin*by-cos*bx
			if (left > 0) == (right > 0) {
				continue
			}
			t := left / (left - right)
			if d := (ax+t*(bx-ax))*sin + (ay+t*(by-ay))*cos; d > 0 && d <= length {
				out = append(out, d)
			}
		}
	}
	slices.Sort(out)
	return out
}

// At returns the place at distance d along the line.
func (l *Line) At(d float64) orb.Point {
	sin, cos := math.Sincos(l.Azimuth)
	return orb.Point{l.Start[0] + d*sin, l.Start[1] + d*cos}
}

// Height returns the height of the ground at distance d, held at the line's
// ends.
func (l *Line) Height(d float64) float64 {
	k := l.Ground
	if d <= k[0].D || len(k) == 1 {
		return k[0].H
	}
	i, _ := slices.BinarySearchFunc(k, d, func(k terrain.Knot, d float64) int { return cmp.Compare(k.D, d) })
	if i >= len(k) {
		return k[len(k)-1].H
	}
	p, q := k[i-1], k[i]
	return p.H + (d-p.D)/(q.D-p.D)*(q.H-p.H)
}

// TopAt returns the height of a thing's top at distance d.
func (l *Line) TopAt(t *Thing, d float64) float64 {
	if t.Level {
		return t.Top
	}
	return l.Height(d) + t.Height
}

// meets returns the distance at which a straight line from height z, falling by
// fall metres a metre, first comes down to raise above the ground between
// distances from and to; ok is false where it does not. One that begins below is
// there at from.
func (l *Line) meets(z, fall, raise, from, to float64) (d float64, ok bool) {
	over := func(d float64) float64 { return z - d*fall - l.Height(d) - raise }
	if from > to {
		return 0, false
	}
	a, fa := from, over(from)
	if fa <= 0 {
		return from, true
	}
	step := func(b float64) bool {
		fb := over(b)
		if fb <= 0 {
			d = a + (b-a)*fa/(fa-fb)
			return true
		}
		a, fa = b, fb
		return false
	}
	for _, k := range l.Ground {
		if k.D > from && k.D < to && step(k.D) {
			return d, true
		}
	}
	return d, to > from && step(to)
}

// Meets says what a straight line from height z above the line's start, falling
// by fall metres a metre, comes to first: the ground raised by raise metres, or
// the side or the top of a building or an obstacle (Thing on, index of Things).
// through are the see-through obstacles on the way. For Nothing the distance is
// the line's length.
func (l *Line) Meets(z, fall, raise float64) (what Met, on int, distance float64, through []int) {
	axis := func(d float64) float64 { return z - d*fall }
	on, distance = -1, l.Length
	if d, ok := l.meets(z, fall, raise, 0, l.Length); ok {
		what, distance = Ground, d
	}
	var meshes []int
	var at []float64
	for i := range l.Things {
		t := &l.Things[i]
		if t.From > distance || t.Kind != model.KindBuilding && t.Kind != model.KindObstacle {
			continue
		}
		d, side := t.From, Wall
		if axis(d) > l.TopAt(t, d) {
			side = Roof
			if t.Level {
				d = (z - t.Top) / fall
				if !(fall > 0) || d > t.To {
					continue
				}
			} else {
				var ok bool
				if d, ok = l.meets(z, fall, t.Height, t.From, t.To); !ok {
					continue
				}
			}
		}
		switch {
		case d > distance:
		case t.Mesh:
			meshes, at = append(meshes, i), append(at, d)
		default:
			what, on, distance = side, i, d
		}
	}
	for k, i := range meshes {
		if at[k] <= distance {
			through = append(through, i)
		}
	}
	return what, on, distance, through
}
