package pattern

import (
	"math"
	"slices"
)

// Accuracy of a sweep, metres and radians.
const (
	chordError = 0.005  // greatest distance of an arc from its chord (contract, section 4)
	aside      = 1e-9   // radians to the left and right of a corner at which rays are cast
	jump       = 0.005  // bounds farther apart than this on neighbouring rays are two bounds
	placeError = 0.0002 // how far from its true place a break between corners may lie
	maxStep    = 0.07   // radians between rays at most, 4 degrees
	maxNod     = 0.006  // radians, a third of a degree, by which the axis plane's depression changes between rays at most
)

// station is an azimuth with what the ray just left of it and just right of it
// found.
type station struct {
	az          float64
	left, right []interval
}

// accuracy is how finely a sweep looks.
type accuracy struct {
	chord float64 // metres, of an arc from its chord
	jump  float64 // metres, between bounds that are two
	place float64 // metres, of a break between corners
	step  float64 // radians between rays, at most
	side  float64 // metres between rays at their far end, at most; 0 for any
	rough bool    // nothing is straight between rays
}

// level is the accuracy on level ground.
var level = accuracy{chord: chordError, jump: jump, place: placeError, step: maxStep}

// sweeper turns rays into stations.
type sweeper struct {
	accuracy
	cast     func(az float64, out []interval) []interval
	axis     func(az float64) float64 // depression of the axis plane, radians; nil where nothing follows it
	reach    func(az float64) float64 // metres, of a ray; nil where side is 0
	now      float64                  // radians between rays, at most, between the events at hand
	stations []station
	arena    []interval
	scratch  []interval
}

// ray casts a ray and keeps what it finds.
func (s *sweeper) ray(az float64) []interval {
	s.scratch = s.cast(turn(az), s.scratch[:0])
	if len(s.scratch) == 0 {
		return nil
	}
	if cap(s.arena)-len(s.arena) < len(s.scratch) {
		s.arena = make([]interval, 0, max(1024, 2*len(s.scratch)))
	}
	n := len(s.arena)
	s.arena = append(s.arena, s.scratch...)
	return s.arena[n:len(s.arena):len(s.arena)]
}

// run sweeps all the way round. events are the azimuths of corners and sides in
// [0, 2π), in any order; active reports whether anything can be seen there. The
// last station stands for the same azimuth as the first, a turn later.
func (s *sweeper) run(events []float64, active func(az float64) bool) []station {
	s.stations = s.stations[:0]
	s.arena = s.arena[:0]
	if len(events) == 0 {
		events = append(events, 0)
	}
	slices.Sort(events)
	// Corners closer together than the rays beside them are one event.
	type group struct{ lo, hi float64 }
	var groups []group
	for _, e := range events {
		if n := len(groups); n > 0 && e-groups[n-1].hi < 4*aside {
			groups[n-1].hi = e
			continue
		}
		groups = append(groups, group{e, e})
	}
	if n := len(groups); n > 1 && groups[0].lo+2*math.Pi-groups[n-1].hi < 4*aside {
		groups[0].lo = groups[n-1].lo - 2*math.Pi
		groups = groups[:n-1]
	}
	mid := func(g group) float64 { return (g.lo + g.hi) / 2 }
	first := groups[0]
	s.stations = append(s.stations, station{az: mid(first)})
	for i, g := range groups {
		next := first
		next.lo, next.hi = next.lo+2*math.Pi, next.hi+2*math.Pi
		if i+1 < len(groups) {
			next = groups[i+1]
		}
		a, b := g.hi+aside, next.lo-aside
		if active((a + b) / 2) {
			s.now = s.step
			if s.side > 0 {
				s.now = math.Min(s.now, s.side/math.Max(1, s.reach((a+b)/2)))
			}
			l, r := s.ray(a), s.ray(b)
			s.stations[len(s.stations)-1].right = l
			s.refine(a, l, b, r)
			s.stations = append(s.stations, station{az: mid(next), left: r})
		} else {
			s.stations = append(s.stations, station{az: mid(next)})
		}
	}
	return s.stations
}

// refine adds the stations needed between two rays.
func (s *sweeper) refine(a float64, l []interval, b float64, r []interval) {
	same, curved := s.match(l, r)
	if b-a > s.now && (len(l) > 0 || len(r) > 0 || b-a > 2*s.now || s.rough) && !(same && !curved && len(l) > 0 && b-a < 1) {
		s.split(a, l, b, r)
		return
	}
	// A steep tilt sweeps the limits up or down within a few degrees of azimuth: a
	// piece of the pattern may come and go between two rays.
	if s.axis != nil && b-a > s.narrow(l, r) && math.Abs(s.axis(a)-s.axis(b)) > maxNod {
		s.split(a, l, b, r)
		return
	}
	if same && !curved {
		if m := (a + b) / 2; s.rough && b-a > s.now/2 {
			if c := s.ray(m); len(c) > 0 {
				s.refine(a, l, m, c)
				s.stations = append(s.stations, station{m, c, c})
				s.refine(m, c, b, r)
			}
		}
		return
	}
	if same && s.rough && b-a <= s.now/2 && alike(l, r, s.chord) {
		return // as dense as where nothing changes, and nothing does
	}
	if same {
		// Bounded by the same curves: one ray in the middle tells the chord error.
		m := (a + b) / 2
		c := s.ray(m)
		if ok, _ := s.match(l, c); ok {
			e := deviation(l, c, r, b-a)
			if e <= s.chord {
				bulge(l, c, r, b-a, 1)
				return
			}
			if e <= 4*s.chord { // each half has a quarter of it
				bulge(l, c, r, b-a, 2)
				s.stations = append(s.stations, station{m, c, c})
				return
			}
		}
		if b-a > s.narrow(l, r) {
			s.refine(a, l, m, c)
			s.stations = append(s.stations, station{m, c, c})
			s.refine(m, c, b, r)
			return
		}
	}
	if b-a > s.narrow(l, r) {
		s.split(a, l, b, r)
		return
	}
	if s.near(l, r) {
		return
	}
	s.stations = append(s.stations, station{(a + b) / 2, l, r})
}

func (s *sweeper) split(a float64, l []interval, b float64, r []interval) {
	m := (a + b) / 2
	if s.rough {
		m = round(a, b)
	}
	c := s.ray(m)
	s.refine(a, l, m, c)
	s.stations = append(s.stations, station{m, c, c})
	s.refine(m, c, b, r)
}

// round returns a round number of the middle half of a to b, so that one sweep
// after another casts the same rays.
func round(a, b float64) float64 {
	_, exp := math.Frexp((b - a) / 2)
	h := math.Ldexp(1, exp-1)
	return math.Round((a+b)/2/h) * h
}

// bulge notes with the left ray's intervals what the area between two rays, width
// radians apart, is more than that under one chord or two: the segment of a
// parabola through the ray in the middle is 4/3 of the triangle in it.
func bulge(l, c, r []interval, width float64, chords int) {
	half, whole := math.Sin(width/2)/2, math.Sin(width)/2
	part := func(tag uint32, l, c, r float64) float64 {
		if straight(tag) {
			return 0
		}
		t := half*(l*c+c*r) - whole*l*r
		if chords == 1 {
			return 4 * t / 3
		}
		return t / 3
	}
	for i := range l {
		l[i].bulge = part(l[i].ht, l[i].hi, c[i].hi, r[i].hi) - part(l[i].lt, l[i].lo, c[i].lo, r[i].lo)
	}
}

// narrow returns the angle below which a break between two rays is placed well
// enough.
func (s *sweeper) narrow(l, r []interval) float64 {
	d := 1.0
	if n := len(l); n > 0 {
		d = math.Max(d, l[n-1].hi)
	}
	if n := len(r); n > 0 {
		d = math.Max(d, r[n-1].hi)
	}
	return s.place / d
}

// match reports whether two rays are bounded by the same things, and whether
// any of those is curved. On rough ground only their number and labels count:
// what bounds them changes from ray to ray.
func (s *sweeper) match(l, r []interval) (same, curved bool) {
	if len(l) != len(r) {
		return false, false
	}
	for i := range l {
		p, q := &l[i], &r[i]
		if s.rough {
			if p.label != q.label {
				return false, false
			}
			curved = true
			continue
		}
		if p.lt != q.lt || p.ht != q.ht || p.label != q.label {
			return false, false
		}
		if !straight(p.lt) && p.lo+q.lo > 0 || !straight(p.ht) {
			curved = true
		}
	}
	return true, curved
}

// near reports whether two rays have the same number of intervals at nearly the
// same places.
func (s *sweeper) near(l, r []interval) bool {
	return len(l) == len(r) && alike(l, r, s.jump)
}

// alike reports whether the intervals of two rays, equal in number, are labelled
// the same and their bounds nowhere farther apart than most.
func alike(l, r []interval, most float64) bool {
	for i := range l {
		if l[i].label != r[i].label || math.Abs(l[i].lo-r[i].lo) > most || math.Abs(l[i].hi-r[i].hi) > most {
			return false
		}
	}
	return true
}

// deviation returns the greatest distance of the middle ray's bounds from the
// chords between the outer rays' bounds, width radians apart.
func deviation(l, c, r []interval, width float64) float64 {
	k := 2 * math.Cos(width/2)
	worst := 0.0
	chord := func(p, q, m float64) {
		if p+q > 0 {
			worst = math.Max(worst, math.Abs(m-k*p*q/(p+q)))
		}
	}
	for i := range l {
		chord(l[i].lo, r[i].lo, c[i].lo)
		chord(l[i].hi, r[i].hi, c[i].hi)
	}
	return worst
}
