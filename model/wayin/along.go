package wayin

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// rated returns the sensors with the rates they have.
func rated(sensors []Sensor, o Options) ([]Sensor, error) {
	out := slices.Clone(sensors)
	for i := range out {
		r := &out[i].Rate
		if *r == 0 {
			*r = Rate(o.Probability, o.Width)
		}
		if !(*r > 0 && *r <= 1000) {
			return nil, fmt.Errorf("way in: sensor %s: detection rate %v a metre is not above 0 and at most 1000", out[i].ID, *r)
		}
	}
	return out, nil
}

func sortBy[T any](s []T, key func(T) float64) {
	slices.SortStableFunc(s, func(a, b T) int { return cmp.Compare(key(a), key(b)) })
}

// atGate is how near to a gate's line, in metres, a crossing passes through it.
const atGate = 0.5

// crossings lists where a route passes boundaries.
func (w *search) crossings(r *Route) {
	at := 0.0
	for i := 1; i < len(r.Line); i++ {
		p, q := r.Line[i-1], r.Line[i]
		for _, b := range w.site.boundaries {
			for k := 1; k < len(b.Line); k++ {
				c, d := b.Line[k-1], b.Line[k]
				if !crosses(p, q, c, d) {
					continue
				}
				t := cross(sub(c, p), sub(d, c)) / cross(sub(q, p), sub(d, c))
				x := mix(p, q, t)
				r.Crossings = append(r.Crossings, Crossing{
					Boundary: b.Feature.ID,
					Chainage: math.Min(b.At[k-1]+dist(c, x), b.At[k]),
					At:       x,
					Along:    at + t*dist(p, q),
					Inward:   dot(sub(q, p), b.EdgeNormal(k-1)) > 0,
					Gate:     w.gate(x),
				})
			}
		}
		at += dist(p, q)
	}
	sortBy(r.Crossings, func(c Crossing) float64 { return c.Along })
}

// gate returns the id of the gate a place lies in.
func (w *search) gate(p orb.Point) string {
	for _, g := range w.site.gates {
		if dist(p, onto(p, outline(nil, g.Line, false, 0))) <= atGate {
			return g.Feature.ID
		}
	}
	return ""
}

// delays lists the obstacles a route passes: each line it crosses, each area it
// enters.
func (w *search) delays(r *Route) {
	at := 0.0
	for i := 1; i < len(r.Line); i++ {
		p, q := r.Line[i-1], r.Line[i]
		for _, o := range w.site.slow {
			var edges []edge
			edges = outline(edges, o.line, false, 0)
			for _, ring := range o.shape {
				edges = outline(edges, orb.LineString(ring), true, 0)
			}
			var ts []float64
			for _, e := range edges {
				if crosses(p, q, e.a, e.b) {
					ts = append(ts, cross(sub(e.a, p), sub(e.b, e.a))/cross(sub(q, p), sub(e.b, e.a)))
				}
			}
			slices.Sort(ts)
			in := o.shape != nil && planar.PolygonContains(o.shape, p)
			for _, t := range ts {
				if !in {
					r.Delays = append(r.Delays, Delay{o.id, o.delay, at + t*dist(p, q)})
				}
				in = o.shape != nil && !in
			}
		}
		at += dist(p, q)
	}
	sortBy(r.Delays, func(d Delay) float64 { return d.Along })
}
