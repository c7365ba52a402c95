package pattern

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model/scene"
)

// Outline sizes, metres and square metres.
const (
	sameNode = 1e-7 // bounds nearer than this on one azimuth are one corner
	sliver   = 1e-6 // rings of less area are dropped
	flat     = 2e-4 // a corner nearer than this to its neighbours' chord is dropped
	room     = 2e-3 // unless another part of the outline is this near to the chord
)

// node is a corner of the outline on a station's azimuth.
type node struct {
	d   float64
	out [2]int32 // the corners the outline goes on to, -1 for none
}

// tracer links the strips between stations into rings.
type tracer struct {
	nodes   []node
	first   []int32 // index of each station's first node
	station []int32 // of each node
	ends    []float64
}

// outline returns the shape, relative to the eye, of the intervals carrying the
// label: outer rings anticlockwise, holes clockwise, all closed.
func (tr *tracer) outline(stations []station, label int32) orb.MultiPolygon {
	tr.link(stations, label)
	return assemble(tr.trace(stations))
}

// of picks the intervals of a label.
func of(ivs []interval, label int32) func(func(interval) bool) {
	return func(yield func(interval) bool) {
		for _, v := range ivs {
			if v.label == label && !yield(v) {
				return
			}
		}
	}
}

// link makes the nodes and edges. The interior is on the left of every edge.
func (tr *tracer) link(stations []station, label int32) {
	tr.nodes, tr.first, tr.station = tr.nodes[:0], tr.first[:0], tr.station[:0]
	last := len(stations) - 1 // the first station, a turn later
	left := func(k int) []interval {
		if k == 0 {
			return stations[last].left
		}
		return stations[k].left
	}
	for k := 0; k < last; k++ {
		tr.ends = tr.ends[:0]
		for v := range of(left(k), label) {
			tr.ends = append(tr.ends, v.lo, v.hi)
		}
		for v := range of(stations[k].right, label) {
			tr.ends = append(tr.ends, v.lo, v.hi)
		}
		slices.Sort(tr.ends)
		tr.first = append(tr.first, int32(len(tr.nodes)))
		prev := math.Inf(-1)
		for _, d := range tr.ends {
			if d-prev > sameNode {
				tr.nodes = append(tr.nodes, node{d, [2]int32{-1, -1}})
				tr.station = append(tr.station, int32(k))
				prev = d
			}
		}
	}
	tr.first = append(tr.first, int32(len(tr.nodes)))
	for k := 0; k < last; k++ {
		// Along the azimuth: outward where only the left side is inside, inward
		// where only the right side is.
		for n := tr.first[k]; n+1 < tr.first[k+1]; n++ {
			m := (tr.nodes[n].d + tr.nodes[n+1].d) / 2
			l, r := covers(left(k), label, m), covers(stations[k].right, label, m)
			switch {
			case l && !r:
				tr.edge(n, n+1)
			case r && !l:
				tr.edge(n+1, n)
			}
		}
		// Across to the next azimuth: the far side back, the near side forth.
		j := (k + 1) % last
		next := left(j)
		i := 0
		for v := range of(stations[k].right, label) {
			for i < len(next) && next[i].label != label {
				i++
			}
			if i == len(next) {
				break
			}
			w := next[i]
			i++
			tr.edge(tr.at(j, w.hi), tr.at(k, v.hi))
			tr.edge(tr.at(k, v.lo), tr.at(j, w.lo))
		}
	}
}

func covers(ivs []interval, label int32, d float64) bool {
	for v := range of(ivs, label) {
		if v.lo <= d && d <= v.hi {
			return true
		}
	}
	return false
}

// at returns the node of station k nearest to distance d.
func (tr *tracer) at(k int, d float64) int32 {
	lo, hi := tr.first[k], tr.first[k+1]
	best := lo
	for n := lo; n < hi; n++ {
		if math.Abs(tr.nodes[n].d-d) < math.Abs(tr.nodes[best].d-d) {
			best = n
		}
	}
	return best
}

func (tr *tracer) edge(from, to int32) {
	if from == to {
		return
	}
	n := &tr.nodes[from]
	switch {
	case n.out[0] < 0:
		n.out[0] = to
	case n.out[1] < 0:
		n.out[1] = to
	}
}

// trace follows the edges round. A ring that comes back to a node it has
// visited is split there, so that no ring touches itself.
func (tr *tracer) trace(stations []station) []orb.Ring {
	var rings []orb.Ring
	place := func(n int32) orb.Point {
		sin, cos := math.Sincos(stations[tr.station[n]].az)
		d := tr.nodes[n].d
		return orb.Point{d * sin, d * cos}
	}
	onPath := make([]int32, len(tr.nodes)) // position on the path plus 1
	var path []int32
	for start := range tr.nodes {
		for tr.nodes[start].out[0] >= 0 {
			path = append(path[:0], int32(start))
			onPath[start] = 1
			for len(path) > 0 {
				n := path[len(path)-1]
				to := tr.nodes[n].out[0]
				if to < 0 { // an open end: nothing to close
					onPath[n] = 0
					path = path[:len(path)-1]
					continue
				}
				tr.nodes[n].out[0], tr.nodes[n].out[1] = tr.nodes[n].out[1], -1
				if p := onPath[to]; p > 0 {
					loop := path[p-1:]
					for _, m := range loop {
						if m != to {
							onPath[m] = 0
						}
					}
					if ring := tr.tidy(loop, place); ring != nil {
						rings = append(rings, ring)
					}
					path = path[:p]
					if p == 1 && tr.nodes[to].out[0] < 0 {
						onPath[to] = 0
						path = path[:0]
					}
					continue
				}
				path = append(path, to)
				onPath[to] = int32(len(path))
			}
		}
	}
	return rings
}

// tidy makes a ring of a path round, without repeated and needless corners, and
// closes it; nil for a sliver.
func (tr *tracer) tidy(path []int32, place func(int32) orb.Point) orb.Ring {
	out := make(orb.Ring, 0, len(path)+1)
	ids := make([]int32, 0, len(path)+1)
	for _, m := range path {
		p := place(m)
		if n := len(out); n > 0 && math.Hypot(p[0]-out[n-1][0], p[1]-out[n-1][1]) < sameNode {
			continue
		}
		out, ids = append(out, p), append(ids, m)
	}
	for n := len(out); n > 1 && math.Hypot(out[0][0]-out[n-1][0], out[0][1]-out[n-1][1]) < sameNode; n = len(out) {
		out = out[:n-1]
	}
	// A corner between two others on a straight line says nothing. The first one
	// stays, so that each is held against one that does.
	if len(out) < 3 {
		return nil
	}
	kept := out[:1]
	last := ids[0]
	for i := 1; i < len(out); i++ {
		p, next := out[i], (i+1)%len(out)
		a, b := kept[len(kept)-1], out[next]
		dx, dy := b[0]-a[0], b[1]-a[1]
		l := math.Hypot(dx, dy)
		if l > 0 && math.Abs(dx*(p[1]-a[1])-dy*(p[0]-a[0])) < flat*l && (p[0]-a[0])*dx+(p[1]-a[1])*dy > 0 && (b[0]-p[0])*dx+(b[1]-p[1])*dy > 0 &&
			tr.roomy(last, ids[i], ids[next], a, b, place) {
			continue
		}
		kept = append(kept, p)
		last = ids[i]
	}
	if len(kept) < 3 {
		return nil
	}
	kept = append(kept, kept[0])
	if math.Abs(scene.SignedArea(kept)) < sliver {
		return nil
	}
	return kept
}

// roomy reports whether corner n may go without the line from a to b coming near
// to another part of the outline, which has a corner on every azimuth it passes.
func (tr *tracer) roomy(na, n, nb int32, a, b orb.Point, place func(int32) orb.Point) bool {
	k := tr.station[n]
	if tr.station[na] == k && tr.station[nb] == k {
		return true
	}
	dx, dy := b[0]-a[0], b[1]-a[1]
	for m := n - 1; m <= n+1; m += 2 {
		if m < tr.first[k] || m >= tr.first[k+1] || m == na || m == nb {
			continue
		}
		if q := place(m); math.Abs(dx*(q[1]-a[1])-dy*(q[0]-a[0])) < room*math.Hypot(dx, dy) {
			return false
		}
	}
	return true
}

// assemble puts holes into the outer rings around them.
func assemble(rings []orb.Ring) orb.MultiPolygon {
	var out orb.MultiPolygon
	var area []float64
	for _, r := range rings {
		if a := scene.SignedArea(r); a > 0 {
			out = append(out, orb.Polygon{r})
			area = append(area, a)
		}
	}
	for _, h := range rings {
		if scene.SignedArea(h) >= 0 {
			continue
		}
		in := orb.Point{(h[0][0] + h[1][0]) / 2, (h[0][1] + h[1][1]) / 2}
		best := -1
		for i := range out {
			if (best < 0 || area[i] < area[best]) && out[i][0].Bound().Contains(in) && Inside(orb.Polygon{out[i][0]}, in) {
				best = i
			}
		}
		if best >= 0 {
			out[best] = append(out[best], h)
		}
	}
	return out
}

// shift moves a shape from the eye's place to the site grid.
func shift(m orb.MultiPolygon, o orb.Point) orb.MultiPolygon {
	for _, p := range m {
		for _, r := range p {
			for i := range r {
				r[i][0] += o[0]
				r[i][1] += o[1]
			}
		}
	}
	return m
}
