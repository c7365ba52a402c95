package wayin

import (
	"math"
	"math/bits"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// goal is where an asset is reached.
type goal struct {
	id      string
	spots   []spot
	at      *orb.Point  // the place itself, of a Point a person can stand at
	area    orb.Polygon // anywhere within it
	beside  []edge      // an arm's length from these: the outline of what the asset stands in
	standby float64     // metres that is
}

// spot is the part of a cell where a goal is reached.
type spot struct {
	c, r int32
	bits uint64
}

// newGoal returns where an asset is reached: a Point where it is; a Polygon as
// soon as it is entered. An asset inside a building or an impassable obstacle,
// or one that such things fill for more than half, is reached at their outlines.
func newGoal(a asset, k *mask, s *ground, blocks *index, reach float64) goal {
	g := goal{id: a.id}
	switch at := a.at.(type) {
	case orb.Point:
		g.point(at, k, s, blocks, reach)
	case orb.Polygon:
		g.polygon(at, k, s, blocks, reach)
	}
	return g
}

// put makes one bit the goal.
func (g *goal) put(x, y int) {
	g.spots = append(g.spots, spot{int32(x / fine), int32(y / fine), 1 << (y%fine*fine + x%fine)})
}

func (g *goal) point(p orb.Point, k *mask, s *ground, blocks *index, reach float64) {
	var in []edge
	for _, b := range s.solids {
		if planar.PolygonContains(b.shape, p) {
			in = rings(in, b.shape, 0)
		}
	}
	if in != nil {
		g.by(in, k, reach)
		return
	}
	x, y := k.bitAt(p)
	if k.isFree(x, y) && blocks.clear(p, k.middle(x, y), k.gap()) {
		g.at = &p
		g.put(x, y)
		return
	}
	// Hard by a wall: the nearest place to stand on the same side of it.
	n := int(reach/k.bit()) + 3
	best := math.Inf(1)
	var bx, by int
	for v := max(y-n, 0); v <= min(y+n, k.rows*fine-1); v++ {
		for u := max(x-n, 0); u <= min(x+n, k.cols*fine-1); u++ {
			m := k.middle(u, v)
			if l := dist(m, p); l < best && k.isFree(u, v) && blocks.clear(mix(p, m, 1e-6), m, 0) {
				best, bx, by = l, u, v
			}
		}
	}
	if !math.IsInf(best, 1) {
		m := k.middle(bx, by)
		g.at = &m
		g.put(bx, by)
	}
}

// by makes every place beside the edges a goal.
func (g *goal) by(edges []edge, k *mask, reach float64) {
	g.beside, g.standby = edges, reach
	around := newMask(k.frame)
	for _, e := range edges {
		around.line(e, reach+1.5*k.bit())
	}
	around.cut(func(c, r int, free uint64) {
		if b := ^free & k.free(c, r); b != 0 {
			g.spots = append(g.spots, spot{int32(c), int32(r), b})
		}
	})
}

func (g *goal) polygon(p orb.Polygon, k *mask, s *ground, blocks *index, reach float64) {
	var built []solid
	for _, b := range s.solids {
		if overlap(b.shape, p) {
			built = append(built, b)
		}
	}
	if share(p, built) > 0.5 {
		var in []edge
		for _, b := range built {
			in = rings(in, b.shape, 0)
		}
		g.by(in, k, reach)
		return
	}
	g.area = p
	some := false
	edge := newMask(k.frame)
	for _, e := range rings(nil, p, 0) {
		edge.line(e, 1.5*k.bit())
	}
	edge.cut(func(c, r int, free uint64) {
		in := uint64(0)
		for b := ^free; b != 0; b &= b - 1 {
			i := bits.TrailingZeros64(b)
			if planar.PolygonContains(p, k.middle(c*fine+i%fine, r*fine+i/fine)) {
				in |= b & -b
			}
		}
		some = some || in != 0
		if in &= k.free(c, r); in != 0 {
			g.spots = append(g.spots, spot{int32(c), int32(r), in})
		}
	})
	if !some { // smaller than a bit
		g.area = nil
		g.point(p.Bound().Center(), k, s, blocks, reach)
	}
}

// share returns how much of a polygon solids fill, from places in rows and
// columns over it.
func share(p orb.Polygon, solids []solid) float64 {
	const n = 40
	b := p.Bound()
	total, filled := 0, 0
	for i := range n * n {
		q := orb.Point{b.Min[0] + (float64(i%n)+.5)/n*(b.Max[0]-b.Min[0]), b.Min[1] + (float64(i/n)+.5)/n*(b.Max[1]-b.Min[1])}
		if !planar.PolygonContains(p, q) {
			continue
		}
		total++
		if slices.ContainsFunc(solids, func(s solid) bool { return planar.PolygonContains(s.shape, q) }) {
			filled++
		}
	}
	return float64(filled) / float64(max(total, 1))
}

// overlap reports whether two polygons share ground.
func overlap(a, b orb.Polygon) bool {
	if !a.Bound().Intersects(b.Bound()) {
		return false
	}
	for _, p := range a[0] {
		if planar.PolygonContains(b, p) {
			return true
		}
	}
	for _, p := range b[0] {
		if planar.PolygonContains(a, p) {
			return true
		}
	}
	var x, y []edge
	x, y = outline(x, orb.LineString(a[0]), true, 0), outline(y, orb.LineString(b[0]), true, 0)
	for _, e := range x {
		for _, f := range y {
			if crosses(e.a, e.b, f.a, f.b) {
				return true
			}
		}
	}
	return false
}

// hold returns the place of the goal that a person heading for p gets to.
func (g *goal) hold(p orb.Point) orb.Point {
	switch {
	case g.at != nil:
		return *g.at
	case g.area != nil:
		if planar.PolygonContains(g.area, p) {
			return p
		}
		return onto(p, rings(nil, g.area, 0))
	}
	q := onto(p, g.beside)
	if l := dist(p, q); l > 0 {
		return mix(q, p, g.standby/l)
	}
	return p
}

// onto returns the point of the edges nearest to p.
func onto(p orb.Point, edges []edge) orb.Point {
	best, at := math.Inf(1), p
	for _, e := range edges {
		q := foot(p, e.a, e.b)
		if l := dist(p, q); l < best {
			best, at = l, q
		}
	}
	return at
}

// best returns the node of the goal with the least cost and a bit of it.
func (g *goal) best(m *march) (node, x, y int, cost float64) {
	node, cost = noNode, math.Inf(1)
	var free uint64
	var at spot
	for _, s := range g.spots {
		for n := int32(m.cellOf(int(s.c), int(s.r))); n != noNode; n = m.next(n) {
			if hit := m.free(int(n)) & s.bits; hit != 0 && m.t[n] < cost {
				node, cost, free, at = int(n), m.t[n], hit, s
			}
		}
	}
	if node == noNode {
		return
	}
	x, y = nearest(free)
	return node, int(at.c)*fine + x, int(at.r)*fine + y, cost
}
