package wayin

import (
	"math"

	"github.com/paulmach/orb"
)

// edge is one straight piece of an outline or a wall.
type edge struct {
	a, b  orb.Point
	owner int32 // of what it is a piece, an index of the caller's
}

// index finds edges near a line by a grid of buckets.
type index struct {
	edges      []edge
	at         orb.Point // lower left corner
	size       float64   // side of a bucket, metres
	cols, rows int
	start      []int32 // of each bucket in list, and one more
	list       []int32
	stamp      []int32 // of each edge: the look-up that last saw it
	now        int32
	found      []int32
}

// mostBuckets is about the most there are, however far the edges lie from one
// another. Chosen.
const mostBuckets = 1_000_000

// newIndex sorts edges into buckets over the bound; what lies outside goes to
// the nearest bucket.
func newIndex(edges []edge, b orb.Bound) *index {
	x := &index{edges: edges, at: b.Min, stamp: make([]int32, len(edges))}
	w, h := math.Max(b.Max[0]-b.Min[0], 1), math.Max(b.Max[1]-b.Min[1], 1)
	x.size = math.Min(math.Max(math.Sqrt(w*h/float64(4*len(edges)+1)), 1), 16)
	x.size = max(x.size, math.Sqrt(w*h/mostBuckets), w/mostBuckets, h/mostBuckets)
	x.cols, x.rows = int(w/x.size)+1, int(h/x.size)+1
	x.start = make([]int32, x.cols*x.rows+1)
	for i := range edges {
		x.buckets(edges[i].a, edges[i].b, 0, func(k int) { x.start[k+1]++ })
	}
	for k := range x.cols * x.rows {
		x.start[k+1] += x.start[k]
	}
	x.list = make([]int32, x.start[len(x.start)-1])
	fill := append([]int32(nil), x.start[:len(x.start)-1]...)
	for i := range edges {
		x.buckets(edges[i].a, edges[i].b, 0, func(k int) {
			x.list[fill[k]] = int32(i)
			fill[k]++
		})
	}
	return x
}

// col returns the column of buckets an x lies in, held within the grid.
func (x *index) col(v float64) int {
	return min(max(int(math.Floor((v-x.at[0])/x.size)), 0), x.cols-1)
}

func (x *index) row(v float64) int {
	return min(max(int(math.Floor((v-x.at[1])/x.size)), 0), x.rows-1)
}

// buckets visits at least those the line from a to b comes within pad of.
func (x *index) buckets(a, b orb.Point, pad float64, visit func(k int)) {
	pad += 1e-9
	if a[1] > b[1] {
		a, b = b, a
	}
	lo, hi := x.row(a[1]-pad), x.row(b[1]+pad)
	for r := lo; r <= hi; r++ {
		p, q := a, b
		if lo < hi && b[1] > a[1] { // the part of the line within this row
			bottom, top := x.at[1]+float64(r)*x.size-pad, x.at[1]+float64(r+1)*x.size+pad
			slope := (b[0] - a[0]) / (b[1] - a[1])
			if r > lo && bottom > a[1] {
				p = orb.Point{a[0] + (bottom-a[1])*slope, bottom}
			}
			if r < hi && top < b[1] {
				q = orb.Point{a[0] + (top-a[1])*slope, top}
			}
		}
		from, to := x.col(math.Min(p[0], q[0])-pad), x.col(math.Max(p[0], q[0])+pad)
		for c := from; c <= to; c++ {
			visit(r*x.cols + c)
		}
	}
}

// near returns, once each, at least the edges that come within pad of the line
// from a to b. The slice holds until the next call.
func (x *index) near(a, b orb.Point, pad float64) []int32 {
	x.now++
	x.found = x.found[:0]
	if len(x.edges) == 0 {
		return nil
	}
	x.buckets(a, b, pad, func(k int) {
		for _, e := range x.list[x.start[k]:x.start[k+1]] {
			if x.stamp[e] != x.now {
				x.stamp[e] = x.now
				x.found = append(x.found, e)
			}
		}
	})
	return x.found
}

// clear reports whether the line from a to b keeps farther than gap from every
// edge.
func (x *index) clear(a, b orb.Point, gap float64) bool {
	for _, i := range x.near(a, b, gap) {
		e := &x.edges[i]
		if near(a, b, e.a, e.b, gap) {
			return false
		}
	}
	return true
}

// closers returns a wall across every passage between two edges that is
// narrower than width: the shortest line between them. Edges that touch leave no
// passage.
func (x *index) closers(width float64) []edge {
	var out []edge
	for i := range x.edges {
		e := x.edges[i]
		for _, k := range x.near(e.a, e.b, width) {
			if int(k) <= i {
				continue
			}
			f := x.edges[k]
			if apart(e.a, e.b, f.a, f.b, width) {
				continue
			}
			if p, q, d := shortest(e.a, e.b, f.a, f.b); d > 1e-6 && d < width-1e-9 {
				out = append(out, edge{p, q, -1})
			}
		}
	}
	return out
}

func sub(a, b orb.Point) orb.Point { return orb.Point{a[0] - b[0], a[1] - b[1]} }
func cross(a, b orb.Point) float64 { return a[0]*b[1] - a[1]*b[0] }
func dot(a, b orb.Point) float64   { return a[0]*b[0] + a[1]*b[1] }
func dist(a, b orb.Point) float64  { return math.Hypot(a[0]-b[0], a[1]-b[1]) }
func mix(a, b orb.Point, t float64) orb.Point {
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
}

// foot returns the point of the segment from a to b nearest to p.
func foot(p, a, b orb.Point) orb.Point {
	d := sub(b, a)
	l := dot(d, d)
	if l == 0 {
		return a
	}
	return mix(a, b, math.Max(0, math.Min(1, dot(sub(p, a), d)/l)))
}

// crosses reports whether two segments meet.
func crosses(a, b, c, d orb.Point) bool {
	ab, cd := sub(b, a), sub(d, c)
	s, t := cross(ab, sub(c, a)), cross(ab, sub(d, a))
	u, v := cross(cd, sub(a, c)), cross(cd, sub(b, c))
	return (s > 0) != (t > 0) && (u > 0) != (v > 0)
}

// shortest returns the points of two segments that are nearest to each other,
// and their distance.
func shortest(a, b, c, d orb.Point) (p, q orb.Point, distance float64) {
	if crosses(a, b, c, d) {
		return a, a, 0
	}
	distance = math.Inf(1)
	try := func(s, t orb.Point) {
		if l := dist(s, t); l < distance {
			p, q, distance = s, t, l
		}
	}
	try(a, foot(a, c, d))
	try(b, foot(b, c, d))
	try(foot(c, a, b), c)
	try(foot(d, a, b), d)
	return p, q, distance
}

// apart reports whether the boxes round two segments are farther apart than gap.
func apart(a, b, c, d orb.Point, gap float64) bool {
	return max(a[0], b[0])+gap < min(c[0], d[0]) || max(c[0], d[0])+gap < min(a[0], b[0]) ||
		max(a[1], b[1])+gap < min(c[1], d[1]) || max(c[1], d[1])+gap < min(a[1], b[1])
}

// near reports whether two segments come as near as gap.
func near(a, b, c, d orb.Point, gap float64) bool {
	if apart(a, b, c, d, gap) {
		return false
	}
	ab := sub(b, a)
	aside := (gap + 1e-9) * math.Hypot(ab[0], ab[1])
	if s, t := cross(ab, sub(c, a)), cross(ab, sub(d, a)); s > aside && t > aside || s < -aside && t < -aside {
		return false
	}
	_, _, l := shortest(a, b, c, d)
	return l <= gap
}

// capsule returns the part of the line p + t*d, as a range of t, that lies
// within r of the segment from a to b; empty when low > high.
func capsule(p, d, a, b orb.Point, r float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	add := func(l, h float64) {
		if l <= h {
			low, high = math.Min(low, l), math.Max(high, h)
		}
	}
	dd := dot(d, d)
	for _, c := range [2]orb.Point{a, b} { // the round ends
		m := sub(p, c)
		half := dot(m, d) / dd
		if disc := half*half - (dot(m, m)-r*r)/dd; disc >= 0 {
			root := math.Sqrt(disc)
			add(-half-root, -half+root)
		}
	}
	u := sub(b, a)
	l := math.Hypot(u[0], u[1])
	if l == 0 {
		return low, high
	}
	u = orb.Point{u[0] / l, u[1] / l}
	m := sub(p, a)
	l0, h0 := slab(dot(m, u), dot(d, u), 0, l)
	l1, h1 := slab(cross(u, m), cross(u, d), -r, r)
	add(math.Max(l0, l1), math.Min(h0, h1))
	return low, high
}

// slab returns the t for which s + t*v lies in [from, to].
func slab(s, v, from, to float64) (low, high float64) {
	if v == 0 {
		if s < from || s > to {
			return math.Inf(1), math.Inf(-1)
		}
		return math.Inf(-1), math.Inf(1)
	}
	low, high = (from-s)/v, (to-s)/v
	if low > high {
		low, high = high, low
	}
	return low, high
}
