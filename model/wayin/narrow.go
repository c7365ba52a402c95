package wayin

import (
	"math"

	"github.com/paulmach/orb"
)

// Narrow is where a route is narrowest between two things: by its length along
// them a reader finds the opening.
type Narrow struct {
	At      orb.Point
	Along   float64   // metres along the route
	Width   float64   // metres from one to the other
	Between [2]string // ids of what is on the left and on the right: building, obstacle or, of an undetected route, sensor
}

// widest is how wide, in metres, a passage may be and still be called one.
// Chosen.
const widest = 10

// narrowest returns where a route passes between two things that are nearest to
// each other; nil where it is nowhere hemmed in on both sides.
func (w *search) narrowest(r *Route) *Narrow {
	var best *Narrow
	names := w.site.names()
	step := math.Max(0.25, r.Length/4000)
	at, least := 0.0, float64(widest)
	var ts []float64
	for i := 1; i < len(r.Line); i++ {
		a, b := r.Line[i-1], r.Line[i]
		l := dist(a, b)
		if l == 0 {
			continue
		}
		u := mix(orb.Point{}, sub(b, a), 1/l)
		ts = ts[:0]
		n := int(l/step) + 1
		for k := range n {
			ts = append(ts, (float64(k)+.5)/float64(n))
		}
		ts = beside(ts, w.blocks, a, b)
		if r.Undetected {
			ts = beside(ts, w.seen.index, a, b)
		}
		for _, t := range ts {
			p := mix(a, b, t)
			var near [2]orb.Point // left, right
			var id [2]string
			far := [2]float64{math.Inf(1), math.Inf(1)}
			look := func(x *index, name func(owner int32) string) {
				for _, e := range x.near(p, p, widest) {
					g := &x.edges[e]
					if g.owner < 0 {
						continue
					}
					q := foot(p, g.a, g.b)
					d, off := dist(p, q), cross(u, sub(q, p))
					side := 0
					if off < 0 {
						side = 1
					}
					if math.Abs(off) > d/2 && d < far[side] {
						far[side], near[side], id[side] = d, q, name(g.owner)
					}
				}
			}
			look(w.blocks, func(o int32) string { return names[o] })
			if r.Undetected {
				look(w.seen.index, func(o int32) string { return w.sensors[o].ID })
			}
			if sum := far[0] + far[1]; sum < least {
				least = sum
				best = &Narrow{p, at + t*l, dist(near[0], near[1]), id}
			}
		}
		at += l
	}
	return best
}

// beside appends where the line from a to b passes the ends of edges it all but
// touches, as fractions.
func beside(out []float64, x *index, a, b orb.Point) []float64 {
	d := sub(b, a)
	l := dot(d, d)
	for _, i := range x.near(a, b, hugs) {
		for _, p := range [2]orb.Point{x.edges[i].a, x.edges[i].b} {
			if t := dot(sub(p, a), d) / l; t >= 0 && t <= 1 && dist(p, mix(a, b, t)) < hugs {
				out = append(out, t)
			}
		}
	}
	return out
}

// hugs is how near, in metres, a pulled line passes a corner it bends at. Chosen.
const hugs = 0.5
