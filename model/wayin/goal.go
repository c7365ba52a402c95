package wayin

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// goal is where an asset is reached.
type goal struct {
	id      string
	bits    map[int32]uint64 // by cell of the frame, row by row
	at      *orb.Point       // the place itself, of a Point a person can stand at
	area    orb.Polygon      // anywhere within it
	beside  []edge           // an arm's length from these: the outline of what the asset stands in
	standby float64          // metres that is
}

// newGoal returns where an asset is reached: a Point where it is; a Polygon as
// soon as it is entered. An asset inside a building or an impassable obstacle,
// or one that such things fill for more than half, is reached at their outlines.
func newGoal(a asset, k *mask, s *site, blocks *index, reach float64) goal {
	g := goal{id: a.id, bits: map[int32]uint64{}}
	switch at := a.at.(type) {
	case orb.Point:
		g.point(at, k, s, blocks, reach)
	case orb.Polygon:
		g.polygon(at, k, s, blocks, reach)
	}
	return g
}

func (g *goal) put(k *mask, x, y int) {
	g.bits[int32(y/fine*k.cols+x/fine)] |= 1 << (y%fine*fine + x%fine)
}

func (g *goal) point(p orb.Point, k *mask, s *site, blocks *index, reach float64) {
	var in []edge
	for _, b := range s.solids {
		if planar.PolygonContains(b.shape, p) {
			for _, r := range b.shape {
				in = outline(in, orb.LineString(r), true, 0)
			}
		}
	}
	if in != nil {
		g.by(in, k, reach)
		return
	}
	x, y := k.bitAt(p)
	if k.isFree(x, y) && blocks.clear(p, k.middle(x, y), k.gap()) {
		g.at = &p
		g.put(k, x, y)
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
		g.put(k, bx, by)
	}
}

// by makes every place beside the edges a goal.
func (g *goal) by(edges []edge, k *mask, reach float64) {
	g.beside, g.standby = edges, reach
	around := newMask(k.frame)
	for _, e := range edges {
		around.line(e, reach+1.5*k.bit())
	}
	for cell, cut := range around.cut {
		if cut {
			if b := ^around.free(cell%k.cols, cell/k.cols) & k.free(cell%k.cols, cell/k.cols); b != 0 {
				g.bits[int32(cell)] = b
			}
		}
	}
}

func (g *goal) polygon(p orb.Polygon, k *mask, s *site, blocks *index, reach float64) {
	var edges []edge
	for _, r := range p {
		edges = outline(edges, orb.LineString(r), true, 0)
	}
	total, open := 0, 0
	spans(k.frame, edges, func(y int, x0, x1 float64) {
		h := k.bit()
		from := max(int(math.Ceil((x0-k.at[0])/h-.5)), 0)
		to := min(int(math.Floor((x1-k.at[0])/h-.5)), k.cols*fine-1)
		for x := from; x <= to; x++ {
			total++
			if k.isFree(x, y) {
				open++
				g.put(k, x, y)
			}
		}
	})
	if total == 0 { // smaller than a bit
		g.point(p.Bound().Center(), k, s, blocks, reach)
		return
	}
	if 2*open >= total {
		g.area = p
		return
	}
	clear(g.bits)
	var in []edge
	for _, b := range s.solids {
		if overlap(b.shape, p) {
			for _, r := range b.shape {
				in = outline(in, orb.LineString(r), true, 0)
			}
		}
	}
	g.by(in, k, reach)
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
		var edges []edge
		for _, r := range g.area {
			edges = outline(edges, orb.LineString(r), true, 0)
		}
		return onto(p, edges)
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
func (g *goal) best(m *march, f frame) (node, x, y int, cost float64) {
	node, cost = noNode, math.Inf(1)
	var free uint64
	cell := 0
	for c, b := range g.bits {
		i := m.cellOf(int(c)%f.cols, int(c)/f.cols)
		for n := int32(i); n != noNode; {
			next := int32(noNode)
			if m.f[n] < 0 {
				next = m.of(int(n)).next
			}
			if hit := m.free(int(n)) & b; hit != 0 && (m.t[n] < cost || m.t[n] == cost && int(n) < node) {
				node, cost, free, cell = int(n), m.t[n], hit, int(c)
			}
			n = next
		}
	}
	if node == noNode {
		return
	}
	x, y = nearest(free)
	return node, cell%f.cols*fine + x, cell/f.cols*fine + y, cost
}
