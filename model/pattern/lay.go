package pattern

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Footprint is where a sensor sees a target, on the site grid.
type Footprint struct {
	Shape     orb.MultiPolygon
	Area      float64          // square metres
	Near, Far float64          // metres from the eye, horizontal; both 0 for an empty footprint
	Clear     orb.MultiPolygon // what foliage does not screen; Shape itself where nothing is screened
	Screened  orb.MultiPolygon // what it does
	Unknown   *orb.Point       // the nearest place in it, or before it, whose ground the terrain model does not know; nil where it knows all
}

// Empty reports whether the target is seen nowhere.
func (f Footprint) Empty() bool { return len(f.Shape) == 0 }

// active reports whether an azimuth lies in a lobe and is not masked.
func (e *Eye) active(az float64) bool {
	az = turn(az)
	if e.masked(az) {
		return false
	}
	for i := range e.lobes {
		if e.lobes[i].holds(az) {
			return true
		}
	}
	return false
}

// sides appends the azimuths of lobes' and masks' sides, and those at which a
// lobe's limit is level.
func (e *Eye) sides(out []float64) []float64 {
	for _, l := range e.lobes {
		if l.width < 2*math.Pi {
			out = append(out, l.start, turn(l.start+l.width))
		}
		// Where a tilt brings a limit to the horizontal, a pattern may reach far for
		// a degree or two.
		for _, level := range []float64{l.tanUp, l.tanDown} {
			c := -level / e.tanTilt // tan(axis) = -level at this cosine
			if !(math.Abs(c) <= 1) {
				continue
			}
			for _, az := range []float64{e.Bearing + math.Acos(c), e.Bearing - math.Acos(c)} {
				if az = turn(az); l.holds(az) {
					out = append(out, az)
				}
			}
		}
	}
	for _, m := range e.masks {
		out = append(out, m.start, turn(m.start+m.width))
	}
	return out
}

// corners appends the azimuths of corners that can be seen.
func (e *Eye) corners(a *around, out []float64) []float64 {
	for _, c := range a.corners {
		if e.active(c) || e.active(c+1e-6) || e.active(c-1e-6) {
			out = append(out, c)
		}
	}
	return out
}

// Way of laying a pattern.
type Way uint8

// Ways of laying a pattern.
const (
	AsItIs      Way = iota
	Unhidden        // as if no building or obstacle stood there
	MeshAsWalls     // as if see-through obstacles were opaque
)

func (w Way) ignore() ignore { return [...]ignore{ignoreNothing, ignoreBarriers, stopAtMesh}[w] }

// Lay returns where the sensor sees the target. Its sides, shadow edges and
// walls are exact, its arcs right to 5 mm.
func (lk *Looker) Lay(t Target, way Way) Footprint {
	return lk.lay(t, way, nil)
}

// LayLookDown returns where look-down lobes see the target, for drawings.
func (lk *Looker) LayLookDown(t Target) orb.MultiPolygon {
	some := false
	for _, l := range lk.e.lobes {
		some = some || l.lookDown
	}
	if !some {
		return nil
	}
	return lk.lay(t, AsItIs, func(l *lobe) bool { return l.lookDown }).Shape
}

func (lk *Looker) lay(t Target, way Way, which func(*lobe) bool) (f Footprint) {
	e := lk.e
	if e.Buried != "" {
		return f
	}
	events := e.sides(lk.events[:0])
	if way != Unhidden {
		events = e.corners(&lk.walls, events)
	}
	lk.events = events
	lk.sw.cast = func(az float64, out []interval) []interval { return lk.seen(az, t, way.ignore(), which, out) }
	lk.unknown = math.Inf(1)
	stations := lk.sw.run(events, e.active)
	if d := lk.unknown; !math.IsInf(d, 1) {
		sin, cos := math.Sincos(lk.unknownAz)
		f.Unknown = &orb.Point{e.At[0] + d*sin, e.At[1] + d*cos}
	}
	f.Area, f.Near, f.Far = measure(stations)
	var tr tracer
	f.Shape = shift(tr.outline(stations, 0), e.At)
	f.Clear = f.Shape
	if which != nil || len(lk.stands) == 0 || !lk.mayScreen() {
		return f
	}
	events = e.corners(&lk.leaves, lk.events)
	lk.events = events
	lk.sw.cast = func(az float64, out []interval) []interval {
		start := len(out)
		out = lk.seen(az, t, way.ignore(), nil, out)
		seen := append(lk.seenBuf[:0], out[start:]...)
		lk.seenBuf = seen
		out = lk.clear(az, t, out, start)
		n := len(out)
		for _, v := range seen { // what is left of it is screened
			p := v
			p.label = screened
			for _, c := range out[start:n] {
				if c.lo < v.lo || c.hi > v.hi {
					continue
				}
				if p.lo < c.lo {
					p.hi, p.ht = c.lo, c.lt
					out = append(out, p)
				}
				p.lo, p.lt, p.hi, p.ht = c.hi, c.ht, v.hi, v.ht
			}
			if p.lo < p.hi {
				out = append(out, p)
			}
		}
		slices.SortFunc(out[start:], func(a, b interval) int { return cmp.Compare(a.lo, b.lo) })
		return out
	}
	stations = lk.sw.run(events, e.active)
	if measureLabel(stations, screened).Area <= sliver {
		return f
	}
	f.Clear = shift(tr.outline(stations, 0), e.At)
	f.Screened = shift(tr.outline(stations, screened), e.At)
	return f
}

// screened labels screened ground; what is clear has label 0.
const screened = 1

// mayScreen reports whether any foliage within reach is dense enough to screen.
func (lk *Looker) mayScreen() bool {
	for _, s := range lk.stands {
		if s.class > 0 {
			return true
		}
	}
	return false
}

// measure returns the area of the strips, arcs taken for what they are and not for
// the outline's chords, and the nearest and farthest bound.
func measure(stations []station) (area, near, far float64) {
	near = math.Inf(1)
	for k := 0; k+1 < len(stations); k++ {
		l, r := stations[k].right, stations[k+1].left
		if len(l) == 0 || len(r) != len(l) {
			continue
		}
		s := math.Sin(stations[k+1].az-stations[k].az) / 2
		for i := range l {
			area += s*(l[i].hi*r[i].hi-l[i].lo*r[i].lo) + l[i].bulge
			near = math.Min(near, math.Min(l[i].lo, r[i].lo))
			far = math.Max(far, math.Max(l[i].hi, r[i].hi))
		}
	}
	if far == 0 {
		near = 0
	}
	return area, near, far
}
