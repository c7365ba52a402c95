package pattern

import (
	"cmp"
	"math"
	"slices"
)

// A sight is the ground along an azimuth as the eye sees it: what does not depend
// on tilt, target or lobe, and so is laid once for all of them.
type sight struct {
	knots []knot
	open  []open // the parts of it in which no barrier stands, in order
	bare  open   // all of it
	to    float64
	// unknown is the distance from which the ground first is not what the terrain
	// model says, infinite where all of it is.
	unknown float64
}

// knot is a point of the ground along an azimuth. Between two of them the ground
// is straight.
type knot struct {
	d    float64 // metres from the eye, horizontal
	fall float64 // metres from the eye's height down to the ground
	// see is the fall of the horizon, metres a metre: from here to the next knot what
	// lies lower than d·see below the eye is hidden. Infinite where nothing hides.
	see float64
}

// open is a part of a sight between barriers: knots from to to, and the tags of
// what it begins and ends at.
type open struct {
	from, to   int32
	start, end uint32
}

// maxSights is the most sights that are kept for one eye: 24 bytes a knot.
const maxSights = 1024

// sights keeps what one eye sees of the ground, by azimuth.
type sights struct {
	at   map[float64]int32 // index into list
	list []sight           // the first n of them are in use
	n    int32
	own  sight // one that is not kept
}

func (s *sights) reset() {
	clear(s.at)
	s.n = 0
}

// sightTo returns the sight along an azimuth as far as length metres or farther, on
// terrain.
func (lk *Looker) sightTo(az, length float64, ig ignore) *sight {
	c := &lk.sights
	if ig == stopAtMesh {
		lk.laySight(&c.own, az, length, ig)
		return &c.own
	}
	i, ok := c.at[az]
	switch {
	case ok:
		if s := &c.list[i]; s.to >= length {
			return s
		}
	case c.n == maxSights:
		lk.laySight(&c.own, az, length, ignoreNothing)
		return &c.own
	default:
		if c.at == nil {
			c.at = map[float64]int32{}
		}
		i = c.n
		c.n++
		if int(i) == len(c.list) {
			c.list = append(c.list, sight{})
		}
		c.at[az] = i
	}
	lk.laySight(&c.list[i], az, length, ignoreNothing)
	return &c.list[i]
}

// laySight lays a sight: the knots of the ground and, where a barrier begins and
// ends, one more each.
func (lk *Looker) laySight(s *sight, az, length float64, ig ignore) {
	e := lk.e
	sin, cos := math.Sincos(az)
	lk.sc.Terrain.Profile(e.At, sin, cos, length, &lk.ray)
	ground := lk.ray.Knots
	s.unknown = lk.ray.Unknown
	z := e.Z
	knots := s.knots[:0]
	s.open, s.to = s.open[:0], length
	see := math.Inf(1)
	blocks := lk.castWalls(az, sin, cos, ig)
	if len(blocks) == 0 {
		knots = slices.Grow(knots, len(ground))[:len(ground)]
		for i, k := range ground {
			fall := z - k.H
			if fall < see*k.D {
				see = fall / k.D
			}
			knots[i] = knot{k.D, fall, see}
		}
		s.knots = knots
		s.bare = open{to: int32(len(knots)) - 1}
		s.open = append(s.open, s.bare)
		return
	}
	add := func(d, h float64) {
		fall := z - h
		if d > 0 && fall < see*d {
			see = fall / d
		}
		knots = append(knots, knot{d, fall, see})
	}
	next := 0 // the block to come
	now := open{}
	blocked, until, exit := false, 0.0, uint32(0)
	// to takes what begins and ends between the last knot and the one at distance d.
	to := func(d float64) {
		for {
			begins := next < len(blocks) && blocks[next].d0 <= d
			if blocked && until <= d && !(begins && blocks[next].d0 <= until) {
				add(until, groundAt(ground, until))
				now = open{from: int32(len(knots)) - 1, start: exit}
				blocked = false
				continue
			}
			if !begins {
				return
			}
			b := &blocks[next]
			next++
			if !blocked {
				add(b.d0, groundAt(ground, b.d0))
				now.to, now.end = int32(len(knots))-1, b.e0
				if now.to > now.from {
					s.open = append(s.open, now)
				}
				blocked, until, exit = true, b.d1, b.e1
			} else if b.d1 > until {
				until, exit = b.d1, b.e1
			}
			see = math.Min(see, -lk.slopeOf(b))
		}
	}
	for _, k := range ground {
		to(k.D)
		add(k.D, k.H)
	}
	s.knots = knots
	last := int32(len(knots)) - 1
	s.bare = open{to: last}
	if !blocked && last > now.from {
		now.to, now.end = last, 0
		s.open = append(s.open, now)
	}
}

// sharedAzimuth is the angle in radians between azimuths on which the ground beyond a
// place is looked at: a tenth of a metre at 100 m at most beside it. Chosen.
const sharedAzimuth = 1.0 / 512

// lands reports whether a limit that falls by down metres a metre is down on the
// ground somewhere beyond distance d, within the slant reach to middle metres above it.
func (s *sight) lands(d, down, reach, middle float64) bool {
	i, _ := slices.BinarySearchFunc(s.knots, d, func(k knot, d float64) int { return cmp.Compare(k.d, d) })
	within := func(d, fall float64) bool { return math.Hypot(d, fall-middle) <= reach }
	for ; i < len(s.knots); i++ {
		k := s.knots[i]
		above := k.fall - k.d*down
		if above > 0 || k.d <= d {
			continue
		}
		if within(k.d, k.fall) {
			return true
		}
		if i == 0 {
			continue
		}
		// Down already between the knots.
		if p := s.knots[i-1]; p.fall > p.d*down {
			high := p.fall - p.d*down
			t := high / (high - above)
			if at := p.d + t*(k.d-p.d); at > d && within(at, p.fall+t*(k.fall-p.fall)) {
				return true
			}
		}
	}
	return false
}

// glance is a lobe along one azimuth, and what is asked of it.
type glance struct {
	limits
	need     float64 // metres of the target to be seen
	rest     float64 // metres of it that need not
	middle   float64 // metres, half its height
	reach    float64 // slant
	tag      uint32
	hidden   bool // the horizon counts
	lookDown bool
}

// scan appends the intervals of an open part of a sight, no farther than far, in
// which the lobe sees the target.
//
// At a knot the target is seen or one of four conditions fails. Each is linear
// between two knots, but for the reach, which is a circle about the eye: a piece
// whose ends are both seen is seen all along, and one at both of whose ends the
// same linear condition fails is seen nowhere. So only where that is not so a
// piece is looked at more closely.
func (g *glance) scan(knots []knot, o open, far float64, out []interval) []interval {
	const (
		seen = iota
		low
		thin
		high
		away
	)
	r2 := g.reach * g.reach
	state := func(k *knot, see float64) int {
		if see > g.down {
			see = g.down
		}
		switch {
		case k.fall-g.rest > k.d*see:
			return low
		case k.d*(see-g.up) < g.need:
			return thin
		case k.fall-g.need < k.d*g.up:
			return high
		}
		if u := k.fall - g.middle; k.d*k.d+u*u > r2 {
			return away
		}
		return seen
	}
	inf := math.Inf(1)
	cur := interval{lookDown: g.lookDown}
	isOpen := false
	emit := func() {
		if cur.hi > far {
			cur.hi, cur.ht = far, 0
		}
		if cur.lo < cur.hi {
			out = append(out, cur)
		}
	}
	p := &knots[o.from]
	see := inf
	if g.hidden {
		see = p.see
	}
	was := state(p, see)
	for i := o.from + 1; i <= o.to && p.d < far && p.d < g.reach; i++ {
		q := &knots[i]
		now := state(q, see)
		switch {
		case was|now == seen:
			if !isOpen {
				cur.lo, cur.lt, isOpen = p.d, 0, true
				if i == o.from+1 {
					cur.lt = o.start
				}
			}
			cur.hi, cur.ht = q.d, 0
			if i == o.to {
				cur.ht = o.end
			}
		case was == now && now != away:
			// hidden all along
		default:
			lt, ht := uint32(0), uint32(0)
			if i == o.from+1 {
				lt = o.start
			}
			if i == o.to {
				ht = o.end
			}
			if v, ok := g.piece(p, q, see, lt, ht); ok {
				switch {
				case !isOpen:
					cur.lo, cur.lt, cur.hi, cur.ht, isOpen = v.lo, v.lt, v.hi, v.ht, true
				case v.lo <= cur.hi+touching:
					cur.hi, cur.ht = v.hi, v.ht
				default:
					emit()
					cur.lo, cur.lt, cur.hi, cur.ht = v.lo, v.lt, v.hi, v.ht
				}
			}
		}
		was, p = now, q
		if g.hidden {
			see = q.see
		}
	}
	if isOpen {
		emit()
	}
	return out
}

// piece returns what the lobe sees between two knots, with the horizon falling by
// see; lt and ht are the tags of the ends.
func (g *glance) piece(p, q *knot, see float64, lt, ht uint32) (v interval, ok bool) {
	lo, hi := 0.0, 1.0 // fractions of the piece
	clip := func(fa, fb float64, tag uint32) bool {
		switch {
		case fa >= 0 && fb >= 0:
			return true
		case fa < 0 && fb < 0:
			return false
		case fa < 0:
			if s := fa / (fa - fb); s > lo {
				lo, lt = s, tag
			}
		default:
			if s := fa / (fa - fb); s < hi {
				hi, ht = s, tag
			}
		}
		return lo < hi
	}
	horizon := !math.IsInf(see, 1)
	pd, qd, pf, qf := p.d, q.d, p.fall, q.fall
	if horizon && !clip(g.rest-pf+pd*see, g.rest-qf+qd*see, g.tag|8) || // the horizon low enough
		!clip(g.rest-pf+pd*g.down, g.rest-qf+qd*g.down, g.tag|2) || // the lower limit low enough
		!clip(pf-g.need-pd*g.up, qf-g.need-qd*g.up, g.tag|5) || // the upper limit high enough
		!clip(pd*(g.down-g.up)-g.need, qd*(g.down-g.up)-g.need, g.tag|4) || // the lobe thick enough
		horizon && !clip(pd*(see-g.up)-g.need, qd*(see-g.up)-g.need, g.tag|9) { // and above the horizon
		return v, false
	}
	s, t, in := withinReach(pd, pf-g.middle, qd, qf-g.middle, g.reach)
	if !in {
		return v, false
	}
	if s > lo {
		lo, lt = s, g.tag|7
	}
	if t < hi {
		hi, ht = t, g.tag|1
	}
	if lo >= hi {
		return v, false
	}
	v.lo, v.lt, v.hi, v.ht = pd+lo*(qd-pd), lt, qd, ht
	if hi < 1 {
		v.hi = pd + hi*(qd-pd)
	}
	return v, true
}

// seenOnTerrain appends the intervals along a ray over terrain in which the target
// is seen.
func (lk *Looker) seenOnTerrain(az float64, t Target, ig ignore, which func(*lobe) bool, out []interval) []interval {
	e := lk.e
	far := 0.0
	for i := range e.lobes {
		if l := &e.lobes[i]; l.holds(az) && (which == nil || which(l)) {
			far = math.Max(far, l.reach*t.factor())
		}
	}
	if far == 0 {
		return out
	}
	far = math.Min(far, lk.limit)
	s := lk.sightTo(az, far, ig)
	start := len(out)
	g := glance{need: t.MinVisible * t.Height, middle: t.Height / 2, hidden: ig != ignoreBarriers}
	g.rest = t.Height - g.need
	axis := e.Fall(az)
	for i := range e.lobes {
		l := &e.lobes[i]
		if !l.holds(az) || which != nil && !which(l) {
			continue
		}
		g.limits = l.limits(axis)
		g.reach, g.tag, g.lookDown = l.reach*t.factor(), tagCurve|l.index<<8, l.lookDown
		if ig == ignoreBarriers {
			out = g.scan(s.knots, s.bare, far, out)
			continue
		}
		for _, o := range s.open {
			if s.knots[o.from].d >= g.reach {
				break
			}
			out = g.scan(s.knots, o, far, out)
		}
	}
	merged := mergeIntervals(out[start:])
	out = out[:start+len(tidyTerrain(merged))]
	if n := len(out); n > start && s.unknown < math.Min(out[n-1].hi, lk.unknown) {
		lk.unknown, lk.unknownAz = s.unknown, az
	}
	return out
}
