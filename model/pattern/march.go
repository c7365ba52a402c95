package pattern

import (
	"math"

	"pleach/model/terrain"
)

// For foliage a ray is marched from knot to knot of the ground beneath it. Between
// two knots the ground is straight, the horizon is what went before, and every
// condition of the rule is linear in the distance: so what is seen of a piece is
// found in closed form.

// Sizes below which terrain makes no difference, metres. Chosen: a shadow of less
// than that is less than what the terrain itself is known to.
const (
	terrainBridge = 0.03 // breaks up to this are closed
	terrainCrumb  = 0.03 // parts up to this are dropped
)

// Accuracy of outlines on terrain, metres (method, detection 1: right to 0.1 m).
const (
	terrainChord = 0.05
	terrainJump  = 0.1
	terrainPlace = 0.05
	terrainCells = 3.2 // cells between rays at the far end, at most, with one more ray between them
	leastCell    = 0.1 // metres; finer cells than an outline is right to do not ask for more rays
)

// lobeRun is a lobe being marched along a ray.
type lobeRun struct {
	lim      limits
	reach    float64
	tag      uint32
	lookDown bool
	open     bool // cur is being extended
	cur      interval
}

// march appends the intervals along a ray over terrain in which some part of
// foliage height metres tall stands in the pattern, within reach on the ground.
func (lk *Looker) march(az, height float64, out []interval) []interval {
	e := lk.e
	runs := lk.runs[:0]
	far := 0.0
	for i := range e.lobes {
		l := &e.lobes[i]
		if !l.holds(az) {
			continue
		}
		r := lobeRun{lim: e.limitsAt(l, az), reach: l.reach, tag: tagCurve | l.index<<8, lookDown: l.lookDown}
		far = math.Max(far, r.reach)
		runs = append(runs, r)
	}
	lk.runs = runs
	if len(runs) == 0 {
		return out
	}
	sin, cos := math.Sincos(az)
	lk.sc.Terrain.Profile(e.At, sin, cos, math.Min(far, lk.limit), &lk.ray)
	blocks := lk.castWalls(az, sin, cos, ignoreNothing)
	start := len(out)

	knots := lk.ray.Knots
	slope := math.Inf(-1) // of the horizon
	roofs := lk.roofs[:0] // that foliage may stand above: the ray is over them
	next := 0             // the block to come
	for i := 0; i+1 < len(knots); i++ {
		p, q := knots[i], knots[i+1]
		pos, g := p.D, p.H
		steep := (q.H - p.H) / (q.D - p.D)
		for pos < q.D {
			for next < len(blocks) && blocks[next].d0 <= pos {
				roofs = append(roofs, &blocks[next])
				next++
			}
			end, endTag := q.D, uint32(0)
			if next < len(blocks) && blocks[next].d0 < end {
				end, endTag = blocks[next].d0, blocks[next].e0
			}
			roofs, slope, end, endTag = lk.over(roofs, pos, end, endTag, slope)
			ge := p.H + steep*(end-p.D)
			lk.roofA, lk.roofB = lk.roofOf(roofs, g), lk.roofOf(roofs, ge)
			out = lk.piece(runs, pos, g, end, ge, slope, height, endTag, out)
			if end > 0 {
				slope = math.Max(slope, (ge-e.Z)/end)
			}
			pos, g = end, ge
		}
	}
	lk.roofs = roofs
	for i := range runs {
		if runs[i].open {
			out = append(out, runs[i].cur)
		}
	}
	merged := mergeIntervals(out[start:])
	return out[:start+len(tidyTerrain(merged))]
}

// over drops the roofs that end at pos, which then make the horizon, and ends the
// piece that begins there where the first of the others does. A roof no lower
// than the eye makes the horizon from its near edge on.
func (lk *Looker) over(roofs []*block, pos, end float64, endTag uint32, slope float64) ([]*block, float64, float64, uint32) {
	kept := roofs[:0]
	for _, b := range roofs {
		if b.d1 <= pos || lk.roofOf([]*block{b}, groundAt(lk.ray.Knots, b.d0)) >= lk.e.Z {
			slope = math.Max(slope, lk.slopeOf(b))
			continue
		}
		kept = append(kept, b)
		if b.d1 < end {
			end, endTag = b.d1, b.e1
		}
	}
	return kept, slope, end, endTag
}

// roofOf returns the height of the highest of some barriers over ground at height
// g, minus infinity for none.
func (lk *Looker) roofOf(roofs []*block, g float64) float64 {
	top := math.Inf(-1)
	for _, b := range roofs {
		if br := &lk.barriers[b.owner]; br.level {
			top = math.Max(top, br.top)
		} else {
			top = math.Max(top, g+br.height)
		}
	}
	return top
}

// tidyTerrain closes breaks and drops crumbs that are smaller than the terrain
// is known to.
func tidyTerrain(ivs []interval) []interval {
	out := ivs[:0]
	for _, v := range ivs {
		if n := len(out); n > 0 && v.lo-out[n-1].hi <= terrainBridge && !straight(v.lt) && !straight(out[n-1].ht) {
			out[n-1].hi, out[n-1].ht = v.hi, v.ht
			continue
		}
		out = append(out, v)
	}
	kept := out[:0]
	for _, v := range out {
		if v.hi-v.lo > terrainCrumb {
			kept = append(kept, v)
		}
	}
	return kept
}

// slopeOf returns the slope of the horizon that a block makes.
func (lk *Looker) slopeOf(b *block) float64 {
	if lk.sc.Terrain == nil {
		return b.slope
	}
	br := &lk.barriers[b.owner]
	z := lk.e.Z
	at := func(h, d float64) float64 { return (h - z) / math.Max(d, 1e-9) }
	if br.level {
		if br.top >= z {
			return at(br.top, b.d0)
		}
		return at(br.top, b.d1)
	}
	// The top follows the ground: steepest at an end or at a knot between.
	knots := lk.ray.Knots
	end := math.Min(b.d1, knots[len(knots)-1].D)
	s := math.Max(at(groundAt(knots, b.d0)+br.height, b.d0), at(groundAt(knots, end)+br.height, end))
	for _, k := range knots {
		if k.D > b.d0 && k.D < end {
			s = math.Max(s, at(k.H+br.height, k.D))
		}
	}
	return s
}

// groundAt returns the height of the ground at distance d along a ray.
func groundAt(knots []terrain.Knot, d float64) float64 {
	lo, hi := 0, len(knots)-1
	if d >= knots[hi].D {
		return knots[hi].H
	}
	for hi-lo > 1 {
		if m := (lo + hi) / 2; knots[m].D <= d {
			lo = m
		} else {
			hi = m
		}
	}
	p, q := knots[lo], knots[hi]
	return p.H + (d-p.D)/(q.D-p.D)*(q.H-p.H)
}

// piece extends each lobe's intervals by what it sees of foliage between distances
// a and b, where the ground rises straight from ga to gb.
func (lk *Looker) piece(runs []lobeRun, a, ga, b, gb, slope, height float64, endTag uint32, out []interval) []interval {
	z := lk.e.Z
	// The horizon must be low enough: ground + height >= z + d·slope.
	ha, hb := 1.0, 1.0
	horizon := !math.IsInf(slope, -1)
	if horizon {
		ha, hb = ga+height-z-a*slope, gb+height-z-b*slope
	}
	if ha < 0 && hb < 0 {
		return out
	}
	for i := range runs {
		r := &runs[i]
		if a >= r.reach {
			continue
		}
		lo, hi, lt, ht := 0.0, 1.0, uint32(0), endTag // fractions of the piece
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
		down, up := r.lim.down, r.lim.up
		if horizon && !clip(ha, hb, r.tag|8) ||
			!clip(ga+height-z+a*down, gb+height-z+b*down, r.tag|2) || // bottom low enough
			!clip(z-a*up-ga, z-b*up-gb, r.tag|5) || // top high enough
			!clip(a*(down-up), b*(down-up), r.tag|4) || // lobe thick enough
			horizon && !clip(a*(-up-slope), b*(-up-slope), r.tag|9) { // and above the horizon
			continue
		}
		if ra, rb := lk.roofA, lk.roofB; !math.IsInf(ra, -1) && // foliage and top limit above the roof
			(!clip(ga+height-ra, gb+height-rb, r.tag|8) || !clip(z-a*up-ra, z-b*up-rb, r.tag|5)) {
			continue
		}
		if b > r.reach {
			if s := (r.reach - a) / (b - a); s < hi {
				hi, ht = s, r.tag|1
			}
		}
		if lo >= hi {
			continue
		}
		v := interval{lo: a + lo*(b-a), hi: a + hi*(b-a), lt: lt, ht: ht, lookDown: r.lookDown}
		switch {
		case !r.open:
			r.cur, r.open = v, true
		case v.lo <= r.cur.hi+touching:
			r.cur.hi, r.cur.ht = v.hi, v.ht
		default:
			out = append(out, r.cur)
			r.cur = v
		}
	}
	return out
}

// withinReach returns the part of a piece, as fractions, whose points lie within
// reach of the eye: it runs from a metres out and wa below the eye to b metres out
// and wb below.
func withinReach(a, wa, b, wb, reach float64) (s, t float64, ok bool) {
	r2 := reach * reach
	if a*a+wa*wa <= r2 && b*b+wb*wb <= r2 {
		return 0, 1, true
	}
	// |P + s·(Q-P)|² = reach², P = (a, wa), Q = (b, wb).
	dx, dy := b-a, wb-wa
	A, B, C := dx*dx+dy*dy, a*dx+wa*dy, a*a+wa*wa-r2
	disc := B*B - A*C
	if disc <= 0 {
		return 0, 0, false
	}
	root := math.Sqrt(disc)
	s, t = math.Max(0, (-B-root)/A), math.Min(1, (-B+root)/A)
	return s, t, s < t
}
