package pattern

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/terrain"
)

// Target is what is to be seen: a body standing on the ground.
type Target struct {
	Height      float64 // metres
	MinVisible  float64 // the fraction of Height that must be in the pattern and in sight
	RangeFactor float64 // every reach is multiplied by it; 0 counts as 1
}

func (t Target) factor() float64 {
	if t.RangeFactor == 0 {
		return 1
	}
	return t.RangeFactor
}

// barrier is something that hides, as an owner in an around.
type barrier struct {
	id     string
	top    float64 // of a level top, and of any on level ground
	height float64 // above the ground, of a top that follows it
	level  bool    // a building's
	mesh   bool
	line   bool
}

// leaf is a stand of foliage as an owner in an around.
type leaf struct {
	id     string
	height float64 // above the ground
	class  int     // 0 light, 1 medium, 2 dense, after the leaf state
}

// Screening: the horizontal run through foliage, in metres, beyond which the
// sight line counts as screened (contract, section 3; chosen).
const (
	screenDense  = 1.0
	screenMedium = 5.0
)

// Looker looks from one eye after another over a scene. It holds the memory
// that looking needs; use one a goroutine.
type Looker struct {
	sc *scene.Scene
	e  *Eye

	walls    around
	barriers []barrier
	leaves   around
	stands   []leaf
	radius   float64 // of what has been gathered

	hits    []hit
	blocks  []block
	open    []block
	shades  []shade
	breaks  []float64
	sw      sweeper
	events  []float64
	cuts    []cut
	split   splitter
	seenBuf []interval
	limit   float64 // metres: nobody asks what is seen beyond
	// The nearest ground on a sight line to a target seen that is not known, metres
	// from the eye and azimuth; infinite where there is none.
	unknown, unknownAz float64
	ray                terrain.Ray
	sights             sights
	runs               []lobeRun

	roofs        []*block
	roofA, roofB float64 // heights of the roof under foliage at the ends of a piece
}

// NewLooker returns a Looker over a scene.
func NewLooker(sc *scene.Scene) *Looker {
	return &Looker{sc: sc, limit: math.Inf(1), unknown: math.Inf(1)}
}

// From turns the looker to an eye; rangeFactor is the greatest factor of any
// target it will be asked for.
func (lk *Looker) From(e *Eye, rangeFactor float64) {
	lk.e = e
	reach := 0.0
	for _, l := range e.lobes {
		reach = math.Max(reach, l.reach)
	}
	lk.radius = reach * math.Max(1, rangeFactor)
	lk.sights.reset()
	lk.gather()
	lk.sw.axis = func(az float64) float64 { return math.Atan(lk.e.Fall(az)) }
	lk.sw.accuracy = level
	if g := lk.sc.Terrain; g != nil {
		lk.sw.accuracy = accuracy{chord: terrainChord, jump: terrainJump, place: terrainPlace,
			step: maxStep, side: terrainCells * math.Max(leastCell, g.Cell()), rough: true}
		lk.sw.reach = func(az float64) float64 { return lk.e.reachAt(az) }
	}
}

// Aim turns the looker to an eye at the same place that reaches no farther, such
// as one tilted or turned: what stands about is kept. It must not see azimuths
// that the eye before did not come near.
func (lk *Looker) Aim(e *Eye) { lk.e, lk.walls.e, lk.leaves.e = e, e, e }

// gather collects what stands within the radius.
func (lk *Looker) gather() {
	e := lk.e
	lk.walls.reset(e, lk.radius)
	lk.leaves.reset(e, lk.radius)
	lk.barriers, lk.stands = lk.barriers[:0], lk.stands[:0]
	for i := range lk.sc.Buildings {
		b := &lk.sc.Buildings[i]
		if lk.walls.within(b.Bound) {
			lk.barriers = append(lk.barriers, barrier{id: b.Feature.ID, top: b.Top, level: true})
			lk.walls.polygon(lk.walls.owner(), b.Shape)
		}
	}
	for i := range lk.sc.Obstacles {
		o := &lk.sc.Obstacles[i]
		br := barrier{id: o.Feature.ID, top: e.Ground + o.Height, height: o.Height, mesh: o.SeeThrough, line: o.Shape == nil}
		if br.line {
			if lk.walls.within(o.Bound) {
				lk.barriers = append(lk.barriers, br)
				lk.walls.line(lk.walls.owner(), o.Line)
			}
		} else if lk.walls.within(o.Bound) {
			lk.barriers = append(lk.barriers, br)
			lk.walls.polygon(lk.walls.owner(), o.Shape)
		}
	}
	lk.walls.done()
	for i := range lk.sc.Foliage {
		f := &lk.sc.Foliage[i]
		if !lk.leaves.within(f.Bound) {
			continue
		}
		class := map[string]int{model.Light: 0, model.Medium: 1, model.Dense: 2}[f.Density]
		if !f.InLeaf && class > 0 {
			class--
		}
		lk.stands = append(lk.stands, leaf{f.Feature.ID, f.Height, class})
		lk.leaves.polygon(lk.leaves.owner(), f.Shape)
	}
	lk.leaves.done()
}

// block is a barrier's part of a ray: the ray is inside it from d0 to d1.
type block struct {
	d0, d1 float64
	slope  float64 // of the horizon behind it, (top - z0)/distance
	owner  int32
	e0, e1 uint32 // tags of the edges at d0 and d1
	by     uint32 // tag of the shadow's edge
}

// Tags tell what bounds an interval, so that neighbouring rays know whether
// they are bounded by the same thing. Straight bounds are exact between rays.
const (
	tagEdge   = 1 << 28 // an outline's edge
	tagShadow = 2 << 28 // the shadow of an edge, straight on level ground
	tagRegion = 3 << 28 // an edge of a region that cuts the pattern
	tagCurve  = 4 << 28 // a limit or the reach of a lobe
	tagScreen = 5 << 28 // the beginning or end of screened ground
	tagMask   = 15 << 28
)

func straight(tag uint32) bool {
	k := tag & tagMask
	return k == tagEdge || k == tagShadow || k == tagRegion
}

// Ways of looking.
type ignore uint8

const (
	ignoreNothing  ignore = iota
	ignoreBarriers        // as if there were no buildings, obstacles
	stopAtMesh            // mesh hides like a wall
)

// castWalls lists the barriers along a ray, nearest first.
func (lk *Looker) castWalls(az, sin, cos float64, ig ignore) []block {
	lk.blocks, lk.open = lk.blocks[:0], lk.open[:0]
	if ig == ignoreBarriers || len(lk.barriers) == 0 {
		return lk.blocks
	}
	for o, in := range lk.walls.inside {
		if in && lk.opaque(int32(o), ig) {
			lk.open = append(lk.open, block{owner: int32(o)})
		}
	}
	lk.hits = lk.walls.cast(az, sin, cos, lk.hits[:0])
next:
	for _, h := range lk.hits {
		if !lk.opaque(h.owner, ig) {
			continue
		}
		b := &lk.barriers[h.owner]
		tag := tagEdge | uint32(h.edge)
		if b.line {
			lk.addBlock(block{d0: h.d, d1: h.d, owner: h.owner, e0: tag, e1: tag})
			continue
		}
		for i := range lk.open {
			if lk.open[i].owner == h.owner {
				k := lk.open[i]
				k.d1, k.e1 = h.d, tag
				lk.addBlock(k)
				lk.open = append(lk.open[:i], lk.open[i+1:]...)
				continue next
			}
		}
		lk.open = append(lk.open, block{d0: h.d, e0: tag, owner: h.owner})
	}
	for _, k := range lk.open {
		k.d1 = math.Inf(1)
		lk.addBlock(k)
	}
	return lk.blocks
}

func (lk *Looker) opaque(owner int32, ig ignore) bool {
	return !lk.barriers[owner].mesh || ig == stopAtMesh && lk.barriers[owner].mesh
}

// addBlock files a block in order of d0.
func (lk *Looker) addBlock(k block) {
	h := lk.barriers[k.owner].top - lk.e.Z
	if h >= 0 {
		k.slope, k.by = h/math.Max(k.d0, 1e-9), tagShadow|k.e0&^tagMask
	} else {
		k.slope, k.by = h/k.d1, tagShadow|k.e1&^tagMask
	}
	lk.blocks = append(lk.blocks, k)
	for j := len(lk.blocks) - 1; j > 0 && lk.blocks[j-1].d0 > k.d0; j-- {
		lk.blocks[j-1], lk.blocks[j] = lk.blocks[j], lk.blocks[j-1]
	}
}

// interval is a part of a ray, with the tags of its ends.
type interval struct {
	lo, hi   float64
	bulge    float64 // square metres between the chords and the arcs of the strip to the next ray
	lt, ht   uint32
	label    int32
	lookDown bool
}

// limits are the depression limits of a lobe along one azimuth, as tangents.
type limits struct{ up, down float64 }

// tan89 is the tangent at which limits are held (contract, section 3).
var tan89 = math.Tan(rad(89.9))

// tanSum returns tan(atan(a)+atan(b)), the angle held within ±89.9 degrees.
func tanSum(a, b float64) float64 {
	den := 1 - a*b
	if den <= 0 { // the sum is beyond ±90 degrees
		return math.Copysign(tan89, a+b)
	}
	return math.Max(-tan89, math.Min(tan89, (a+b)/den))
}

// limitsAt returns the limits of lobe l at azimuth az: the axis plane's
// depression there is atan(tan(tilt) cos α).
func (e *Eye) limitsAt(l *lobe, az float64) limits {
	return l.limits(e.Fall(az))
}

// limits returns the lobe's limits where the axis plane falls by axis, metres a
// metre.
func (l *lobe) limits(axis float64) limits {
	return limits{tanSum(axis, l.tanUp), tanSum(axis, l.tanDown)}
}

// masked reports whether the azimuth is taken out of every lobe.
func (e *Eye) masked(az float64) bool {
	for _, m := range e.masks {
		if m.holds(az) {
			return true
		}
	}
	return false
}

// base returns the interval along azimuth az in which lobe l sees the target on
// open level ground; touch is the rule for foliage: any part of the height in
// the pattern, within reach on the ground. ok is false for none.
func (lk *Looker) base(l *lobe, az float64, t Target, touch bool) (iv interval, tl limits, ok bool) {
	e := lk.e
	z := e.Z - e.Ground
	lim := e.limitsAt(l, az)
	need := t.MinVisible * t.Height
	tag := tagCurve | l.index<<8
	iv = interval{lo: 0, hi: math.Inf(1), lt: tag, ht: tag, lookDown: l.lookDown}
	reach := l.reach * t.factor()
	if touch {
		iv.hi = reach
	} else {
		dz := z - t.Height/2
		r2 := reach*reach - dz*dz
		if r2 < 0 {
			return iv, lim, false
		}
		iv.hi = math.Sqrt(r2)
	}
	iv.ht = tag | 1
	// The bottom limit must be low enough: d·tan(down) >= z - (height - need).
	if c := z - (t.Height - need); lim.down > 0 {
		if c > 0 {
			iv.lo, iv.lt = c/lim.down, tag|2
		}
	} else if c > 0 {
		return iv, lim, false
	} else if lim.down < 0 && c/lim.down < iv.hi {
		iv.hi, iv.ht = c/lim.down, tag|3
	}
	// The lobe must be thick enough: d·(tan(down) - tan(up)) >= need.
	if thick := lim.down - lim.up; need > 0 {
		if thick <= 0 {
			return iv, lim, false
		}
		if d := need / thick; d > iv.lo {
			iv.lo, iv.lt = d, tag|4
		}
	}
	// The top limit must be high enough: d·tan(up) <= z - need.
	if c := z - need; lim.up > 0 {
		if c < 0 {
			return iv, lim, false
		}
		if d := c / lim.up; d < iv.hi {
			iv.hi, iv.ht = d, tag|5
		}
	} else if c < 0 {
		if lim.up == 0 {
			return iv, lim, false
		}
		if d := c / lim.up; d > iv.lo {
			iv.lo, iv.lt = d, tag|6
		}
	}
	return iv, lim, iv.lo <= iv.hi
}

// cut applies the barriers of a ray to a base interval and appends what is left.
func (lk *Looker) cutBy(blocks []block, iv interval, lim limits, t Target, out []interval) []interval {
	z := lk.e.Z - lk.e.Ground
	need := t.MinVisible * t.Height
	pos, posTag := 0.0, uint32(0)
	slope, slopeTag := math.Inf(-1), uint32(0)
	emit := func(end float64, endTag uint32) {
		p := iv
		if pos > p.lo {
			p.lo, p.lt = pos, posTag
		}
		if end < p.hi {
			p.hi, p.ht = end, endTag
		}
		if !math.IsInf(slope, -1) {
			// The horizon must be low enough: d·slope <= (height - need) - z.
			c := t.Height - need - z
			switch {
			case slope < 0:
				if d := c / slope; c < 0 && d > p.lo {
					p.lo, p.lt = d, slopeTag
				}
			case slope > 0:
				if c < 0 {
					return
				}
				if d := c / slope; d < p.hi {
					p.hi, p.ht = d, slopeTag
				}
			case c < 0:
				return
			}
			// What is between horizon and top limit must be thick enough.
			if s := -lim.up - slope; need > 0 {
				if s <= 0 {
					return
				}
				if d := need / s; d > p.lo {
					p.lo, p.lt = d, tagCurve|slopeTag&0xffff|1<<20
				}
			} else if s < 0 {
				return
			}
		}
		if p.lo+touching < p.hi {
			out = append(out, p)
		}
	}
	for i := range blocks {
		b := &blocks[i]
		if b.d0 > iv.hi {
			break
		}
		if b.d0 > pos {
			emit(b.d0, b.e0)
		}
		if b.d1 > pos {
			pos, posTag = b.d1, b.e1
		}
		if b.slope > slope {
			slope, slopeTag = b.slope, b.by
		}
		if math.IsInf(pos, 1) {
			return out
		}
	}
	if pos < iv.hi {
		emit(math.Inf(1), 0)
	}
	return out
}

// cutThrough applies the barriers of a ray to a base interval as seen by foliage,
// which may stand above a roof, and appends what is left: above a barrier lower
// than the eye the horizon is its top, above a higher one the line over its near
// edge.
func (lk *Looker) cutThrough(blocks []block, iv interval, lim limits, t Target, out []interval) []interval {
	z := lk.e.Z - lk.e.Ground
	lk.breaks = append(lk.breaks[:0], iv.lo, iv.hi)
	for _, b := range blocks {
		for _, d := range [2]float64{b.d0, b.d1} {
			if iv.lo < d && d < iv.hi {
				lk.breaks = append(lk.breaks, d)
			}
		}
	}
	slices.Sort(lk.breaks)
	for i := 0; i+1 < len(lk.breaks); i++ {
		p := iv
		p.lo, p.hi = lk.breaks[i], lk.breaks[i+1]
		mid := (p.lo + p.hi) / 2
		slope, slopeTag := math.Inf(-1), uint32(0)
		roof := math.Inf(-1) // height of the highest roof below the foliage, from the eye
		for j := range blocks {
			b := &blocks[j]
			if b.d0 > mid {
				break
			}
			if p.lo == b.d1 {
				p.lt = b.e1
			} else if p.lo == b.d0 {
				p.lt = b.e0
			}
			if h := lk.barriers[b.owner].top - lk.e.Z; b.d1 > mid && h < 0 {
				roof = math.Max(roof, h)
			} else if b.slope > slope {
				slope, slopeTag = b.slope, b.by
			}
		}
		for j := range blocks {
			if b := &blocks[j]; p.hi == b.d0 {
				p.ht = b.e0
			} else if p.hi == b.d1 {
				p.ht = b.e1
			}
		}
		c := t.Height - z
		if roof > c || -lim.up < slope {
			continue
		}
		if !math.IsInf(roof, -1) { // the top limit must be above the roof: d·tan(up) <= -roof
			if d := -roof / lim.up; lim.up > 0 && d < p.hi {
				p.hi, p.ht = d, iv.ht&^0xff|5
			}
		}
		// The foliage must be above the horizon: d·slope <= height - z.
		switch {
		case math.IsInf(slope, -1):
		case slope < 0:
			if d := c / slope; c < 0 && d > p.lo {
				p.lo, p.lt = d, slopeTag
			}
		case c < 0:
			continue
		case slope > 0:
			if d := c / slope; d < p.hi {
				p.hi, p.ht = d, slopeTag
			}
		}
		if p.lo+touching < p.hi {
			out = append(out, p)
		}
	}
	return out
}

// mergeIntervals sorts intervals and joins those that touch.
func mergeIntervals(ivs []interval) []interval {
	if len(ivs) < 2 {
		return ivs
	}
	for i := 1; i < len(ivs); i++ {
		for j := i; j > 0 && ivs[j-1].lo > ivs[j].lo; j-- {
			ivs[j-1], ivs[j] = ivs[j], ivs[j-1]
		}
	}
	out := ivs[:1]
	for _, v := range ivs[1:] {
		last := &out[len(out)-1]
		if v.lo <= last.hi+touching {
			if v.hi > last.hi {
				last.hi, last.ht = v.hi, v.ht
			}
			continue
		}
		out = append(out, v)
	}
	return out
}

// touching is the distance in metres within which intervals are one: lobes that
// are made to meet do so but for rounding.
const touching = 1e-9

// seen appends the intervals along a ray in which the target is seen.
func (lk *Looker) seen(az float64, t Target, ig ignore, which func(*lobe) bool, out []interval) []interval {
	e := lk.e
	if e.masked(az) {
		return out
	}
	if lk.sc.Terrain != nil {
		return lk.seenOnTerrain(az, t, ig, which, out)
	}
	start := len(out)
	cast := false
	var blocks []block
	for i := range e.lobes {
		l := &e.lobes[i]
		if !l.holds(az) || which != nil && !which(l) {
			continue
		}
		iv, lim, ok := lk.base(l, az, t, false)
		if !ok {
			continue
		}
		if !cast {
			sin, cos := math.Sincos(az)
			blocks, cast = lk.castWalls(az, sin, cos, ig), true
		}
		out = lk.cutBy(blocks, iv, lim, t, out)
	}
	merged := mergeIntervals(out[start:])
	return out[:start+len(merged)]
}

// Hider returns the id of what hides a target at p from the eye, "" where
// nothing does: the barrier p stands in, or the one that makes the horizon.
func (lk *Looker) Hider(p orb.Point) string {
	dx, dy := p[0]-lk.e.At[0], p[1]-lk.e.At[1]
	d := math.Hypot(dx, dy)
	if d == 0 {
		return ""
	}
	slope, id := math.Inf(-1), ""
	if g := lk.sc.Terrain; g != nil {
		g.Profile(lk.e.At, dx/d, dy/d, d, &lk.ray)
		for _, k := range lk.ray.Knots {
			if k.D > 0 && k.D < d {
				slope = math.Max(slope, (k.H-lk.e.Z)/k.D)
			}
		}
	}
	for _, b := range lk.castWalls(turn(math.Atan2(dx, dy)), dx/d, dy/d, ignoreNothing) {
		if b.d0 <= d && d <= b.d1 {
			return lk.barriers[b.owner].id
		}
		if b.d1 < d {
			if s := lk.slopeOf(&b); s > slope {
				slope, id = s, lk.barriers[b.owner].id
			}
		}
	}
	return id
}

// AboveTarget reports, for a point within a lobe's width and reach where less of
// the target than asked for stands above the bottom limit, whether that limit
// comes down to the ground farther out within reach (under) or never does
// (over). Buildings and obstacles are left out of account.
func (lk *Looker) AboveTarget(p orb.Point, t Target) (under, over bool) {
	e := lk.e
	dx, dy := p[0]-e.At[0], p[1]-e.At[1]
	d := math.Hypot(dx, dy)
	az := turn(math.Atan2(dx, dy))
	if e.Buried != "" || e.masked(az) {
		return false, false
	}
	if d > e.reachAt(az)*t.factor() {
		return false, false
	}
	g := lk.sc.Ground(p)
	dz := e.Z - g - t.Height/2
	axis := e.Fall(az)
	for i := range e.lobes {
		l := &e.lobes[i]
		reach := l.reach * t.factor()
		if d*d+dz*dz > reach*reach || !l.holds(az) {
			continue
		}
		down := l.limits(axis).down
		if e.Z-d*down <= g+t.Height*(1-t.MinVisible) {
			continue
		}
		if lk.sc.Terrain == nil {
			z := e.Z - e.Ground
			if down > 0 && math.Hypot(z/down, dz) <= reach {
				under = true
			} else {
				over = true
			}
			continue
		}
		// The ground farther out is that on an azimuth that places near share.
		if lk.sightTo(turn(math.Round(az/sharedAzimuth)*sharedAzimuth), e.Reach()*t.factor(), ignoreNothing).lands(d, down, reach, t.Height/2) {
			under = true
		} else {
			over = true
		}
	}
	return under, over
}

// reachAt returns the greatest slant reach of the lobes that hold azimuth az, in
// metres.
func (e *Eye) reachAt(az float64) (r float64) {
	az = turn(az)
	for i := range e.lobes {
		if l := &e.lobes[i]; l.reach > r && l.holds(az) {
			r = l.reach
		}
	}
	return r
}

// Reach returns the greatest horizontal distance at which any lobe could see.
func (e *Eye) Reach() float64 {
	r := 0.0
	for _, l := range e.lobes {
		r = math.Max(r, l.reach)
	}
	return r
}

// HasMesh reports whether a see-through obstacle stands within reach.
func (lk *Looker) HasMesh() bool {
	for _, b := range lk.barriers {
		if b.mesh {
			return true
		}
	}
	return false
}

// HasBarrier reports whether anything that hides stands within reach.
func (lk *Looker) HasBarrier() bool {
	for _, b := range lk.barriers {
		if !b.mesh {
			return true
		}
	}
	return false
}
