package pattern

import (
	"math"

	"github.com/paulmach/orb"
)

// Zone is a class of ground. It counts wherever it lies where Everywhere is
// set, else only outside.
type Zone struct {
	Shape      orb.MultiPolygon
	Bounds     []orb.Bound // of each part
	Everywhere bool

	runs [][]edgeRun // of each part; nil where they were not laid
}

// Partition tells ground apart. A point belongs to the first zone that counts
// there; a point outside that no zone takes is open ground.
type Partition struct {
	Zones  []Zone
	Inside []Zone // a point in any of them is inside
	Open   bool   // open ground outside counts, too
}

// Part is what a pattern has of a zone.
type Part struct {
	Zone  int // index into Partition.Zones; their number for open ground
	Area  float64
	Shape orb.MultiPolygon
	Near  float64   // metres from the eye
	At    orb.Point // a place in it, as near to the eye as the part begins
}

// NewZone returns a zone of a shape.
func NewZone(m orb.MultiPolygon, everywhere bool) Zone {
	z := Zone{Shape: m, Everywhere: everywhere}
	for _, p := range m {
		z.Bounds = append(z.Bounds, p.Bound())
		z.runs = append(z.runs, runsOf(p))
	}
	return z
}

// zone is a Zone within reach, as owners in lk.part.
type zone struct {
	label      int32
	everywhere bool
	inside     bool // not a zone but the land that is inside
}

// splitter holds what splitting needs.
type splitter struct {
	part      around
	zones     []zone
	zoneOf    []int32 // of each owner
	in        []bool  // by owner, along the current ray
	count     []int32 // by zone, of owners the ray is inside
	hits      []hit
	stretches []stretch // of the current ray
}

// Split returns what the pattern for target t has of each zone, in the order of
// the zones; nothing for zones it does not touch.
func (lk *Looker) Split(t Target, p Partition) []Part {
	e := lk.e
	if e.Buried != "" {
		return nil
	}
	reach := 0.0
	for _, l := range e.lobes {
		reach = math.Max(reach, l.reach*t.factor())
	}
	sp := &lk.split
	sp.part.reset(e, reach)
	sp.zones, sp.zoneOf = sp.zones[:0], sp.zoneOf[:0]
	add := func(z zone, m Zone) {
		n := int32(len(sp.zones))
		used := false
		for i, poly := range m.Shape {
			if sp.part.within(m.Bounds[i]) {
				used = true
				sp.zoneOf = append(sp.zoneOf, n)
				if m.runs != nil {
					sp.part.long(sp.part.owner(), m.runs[i])
				} else {
					sp.part.polygon(sp.part.owner(), poly)
				}
			}
		}
		if used {
			sp.zones = append(sp.zones, z)
		}
	}
	for i, z := range p.Zones {
		add(zone{label: int32(i), everywhere: z.Everywhere}, z)
	}
	for _, m := range p.Inside {
		add(zone{inside: true}, m)
	}
	sp.part.done()
	openLabel := int32(-1)
	if p.Open {
		openLabel = int32(len(p.Zones))
	}
	// Nothing to find: no outline within reach, and where the eye stands does not
	// count.
	if len(sp.part.edges) == 0 && lk.labelAt(openLabel, true) < 0 {
		return nil
	}
	events := e.sides(lk.events[:0])
	events = e.corners(&lk.walls, events)
	events = e.corners(&sp.part, events)
	lk.events = events
	seen := lk.seenBuf
	lk.sw.cast = func(az float64, out []interval) []interval {
		sin, cos := math.Sincos(az)
		lk.limit = lk.stretches(az, sin, cos, openLabel)
		if lk.limit == 0 {
			return out
		}
		seen = lk.seen(az, t, ignoreNothing, nil, seen[:0])
		return lk.label(seen, out)
	}
	stations := lk.sw.run(events, e.active)
	lk.limit = math.Inf(1)
	lk.seenBuf = seen
	var parts []Part
	var tr tracer
	for label := int32(0); label <= int32(len(p.Zones)); label++ {
		part := measureLabel(stations, label)
		if part.Area <= sliver {
			continue
		}
		part.Zone = int(label)
		part.Shape = shift(tr.outline(stations, label), e.At)
		part.At[0] += e.At[0]
		part.At[1] += e.At[1]
		parts = append(parts, part)
	}
	return parts
}

// labelAt returns the label of the ground for the state of the ray, -1 for
// ground that does not count; start takes the state at the eye.
func (lk *Looker) labelAt(openLabel int32, start bool) int32 {
	sp := &lk.split
	if start {
		sp.in = append(sp.in[:0], sp.part.inside...)
		sp.count = sp.count[:0]
		for range sp.zones {
			sp.count = append(sp.count, 0)
		}
		for o, in := range sp.in {
			if in {
				sp.count[sp.zoneOf[o]]++
			}
		}
	}
	inside := false
	for i, z := range sp.zones {
		if z.inside && sp.count[i] > 0 {
			inside = true
		}
	}
	for i, z := range sp.zones {
		if !z.inside && sp.count[i] > 0 && (z.everywhere || !inside) {
			return z.label
		}
	}
	if inside {
		return -1
	}
	return openLabel
}

// stretch is a part of a ray on ground of one label.
type stretch struct {
	lo, hi float64
	lt, ht uint32
	label  int32
}

// stretches divides a ray at the zones' outlines. It returns the distance to
// which any of it counts, 0 where nothing does.
func (lk *Looker) stretches(az, sin, cos float64, openLabel int32) (counts float64) {
	sp := &lk.split
	sp.hits = sp.part.cast(az, sin, cos, sp.hits[:0])
	sp.stretches = sp.stretches[:0]
	now := stretch{label: lk.labelAt(openLabel, true)}
	end := func(d float64, tag uint32) {
		now.hi, now.ht = d, tag
		sp.stretches = append(sp.stretches, now)
		if now.label >= 0 {
			counts = d
		}
	}
	for _, h := range sp.hits {
		z := sp.zoneOf[h.owner]
		sp.in[h.owner] = !sp.in[h.owner]
		if sp.in[h.owner] {
			sp.count[z]++
		} else {
			sp.count[z]--
		}
		next := lk.labelAt(openLabel, false)
		if next == now.label {
			continue
		}
		t := tagRegion | uint32(h.edge)
		end(h.d, t)
		now = stretch{lo: h.d, lt: t, label: next}
	}
	end(math.Inf(1), 0)
	return counts
}

// label cuts the seen intervals of a ray into its stretches. Ground that does
// not count is kept too: the rays follow its bounds, and so find what counts
// between them.
func (lk *Looker) label(seen []interval, out []interval) []interval {
	i := 0
	for _, st := range lk.split.stretches {
		for i < len(seen) && seen[i].hi <= st.lo {
			i++
		}
		for j := i; j < len(seen) && seen[j].lo < st.hi; j++ {
			v := seen[j]
			v.label = st.label
			if st.lo > v.lo {
				v.lo, v.lt = st.lo, st.lt
			}
			if st.hi < v.hi {
				v.hi, v.ht = st.hi, st.ht
			}
			if v.lo+touching >= v.hi {
				continue
			}
			if n := len(out); n > 0 && out[n-1].label == st.label && v.lo-out[n-1].hi < touching {
				out[n-1].hi, out[n-1].ht = v.hi, v.ht
				continue
			}
			out = append(out, v)
		}
	}
	return out
}

// measureLabel returns area, nearest bound and a place of a label's strips,
// relative to the eye.
func measureLabel(stations []station, label int32) Part {
	p := Part{Near: math.Inf(1)}
	widest := 0.0
	for k := 0; k+1 < len(stations); k++ {
		l, r := stations[k].right, stations[k+1].left
		if len(l) == 0 || len(l) != len(r) {
			continue
		}
		w := stations[k+1].az - stations[k].az
		s := math.Sin(w) / 2
		for i := range l {
			if l[i].label != label {
				continue
			}
			a := s*(l[i].hi*r[i].hi-l[i].lo*r[i].lo) + l[i].bulge
			p.Area += a
			p.Near = math.Min(p.Near, math.Min(l[i].lo, r[i].lo))
			if a > widest {
				widest = a
				d := (l[i].lo + l[i].hi + r[i].lo + r[i].hi) / 4
				sin, cos := math.Sincos(stations[k].az + w/2)
				p.At = orb.Point{d * sin, d * cos}
			}
		}
	}
	return p
}

// leafStep is the angle in radians between rays at most where nothing but foliage
// is followed: what lies between two of them at 40 m is under 0.02 m2 (chosen).
const leafStep = 0.01

// Foliage returns the area of foliage of which some part stands in the pattern,
// in square metres, foliage that overlaps counted once; the area in square metres
// that would count as much if all of it stood 25 m away, where near foliage counts
// more, by the inverse square of its horizontal distance (method, detection 7) and
// under 1 m as at 1 m; and the ids of that foliage in the order of the plan.
func (lk *Looker) Foliage() (area, weighted float64, ids []string) {
	stations, touched := lk.inLeaf()
	area, _, _ = measure(stations)
	if area <= sliver {
		return 0, 0, nil
	}
	weighted = leafAt * leafAt * weigh(stations)
	for i, s := range lk.stands {
		if touched[i] {
			ids = append(ids, s.id)
		}
	}
	return area, weighted, ids
}

// FoliageShape returns where foliage of which some part stands in the pattern is.
func (lk *Looker) FoliageShape() orb.MultiPolygon {
	stations, _ := lk.inLeaf()
	if len(stations) == 0 {
		return nil
	}
	return shift(new(tracer).outline(stations, 0), lk.e.At)
}

// inLeaf sweeps the foliage that stands in the pattern, and tells which stands
// that is.
func (lk *Looker) inLeaf() (stations []station, touched []bool) {
	e := lk.e
	if e.Buried != "" || len(lk.stands) == 0 || len(lk.leaves.edges) == 0 && !some(lk.leaves.inside) {
		return nil, nil
	}
	events := e.sides(lk.events[:0])
	events = e.corners(&lk.walls, events)
	events = e.corners(&lk.leaves, events)
	lk.events = events
	touched = make([]bool, len(lk.stands))
	var ivs []interval
	var stretches []block
	lk.sw.cast = func(az float64, out []interval) []interval {
		if e.masked(az) {
			return out
		}
		start := len(out)
		sin, cos := math.Sincos(az)
		stretches = stretches[:0]
		lk.eachLeaf(az, sin, cos, func(d0, d1 float64, owner int32) {
			stretches = append(stretches, block{d0: d0, d1: d1, owner: owner})
		})
		if len(stretches) == 0 {
			return out
		}
		var blocks []block
		if lk.sc.Terrain == nil {
			blocks = lk.castWalls(az, sin, cos, ignoreNothing)
		}
		for _, st := range stretches {
			d0, d1, owner := st.d0, st.d1, st.owner
			t := Target{Height: lk.stands[owner].height}
			ivs = ivs[:0]
			if lk.sc.Terrain != nil {
				ivs = lk.march(az, t.Height, ivs)
			} else {
				for i := range e.lobes {
					l := &e.lobes[i]
					if !l.holds(az) {
						continue
					}
					if iv, lim, ok := lk.base(l, az, t, true); ok {
						ivs = lk.cutThrough(blocks, iv, lim, t, ivs)
					}
				}
			}
			tag := tagScreen | uint32(owner)<<4
			for _, v := range ivs {
				if d0 > v.lo {
					v.lo, v.lt = d0, tag|2
				}
				if d1 < v.hi {
					v.hi, v.ht = d1, tag|3
				}
				if v.lo+touching < v.hi {
					touched[owner] = true
					v.label = 0
					out = append(out, v)
				}
			}
		}
		merged := mergeIntervals(out[start:])
		return out[:start+len(merged)]
	}
	usual := lk.sw.step
	lk.sw.step = math.Min(usual, leafStep)
	stations = lk.sw.run(events, e.active)
	lk.sw.step = usual
	return stations, touched
}

func some(bs []bool) bool {
	for _, b := range bs {
		if b {
			return true
		}
	}
	return false
}
