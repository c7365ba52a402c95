package analysis

import (
	"math"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/pattern"
	"pleach/model/scene"
)

// outside is the ground told apart for overspill.
type outside struct {
	inside  []orb.MultiPolygon // all premises, or every boundary polygon
	person  pattern.Partition
	vehicle pattern.Partition
	class   []string // of each zone, the last for open land
	on      []string
	edges   []lineEdge  // of the outlines of inside
	bounds  []orb.Bound // of every edgesTogether of them in turn
	poles   []orb.Point // in each hole of inside, the place farthest from its outline
}

// newOutside tells the ground apart (contract, section 4, Overspill): public
// roads, public footpaths, neighbours, open land.
func newOutside(sc *scene.Scene) *outside {
	o := &outside{}
	for _, a := range sc.Premises {
		o.inside = append(o.inside, a.Shape)
	}
	if len(o.inside) == 0 {
		for _, b := range sc.Boundaries {
			if b.Closed {
				o.inside = append(o.inside, orb.MultiPolygon{{orb.Ring(b.Line)}})
			}
		}
	}
	for _, w := range sc.Ways {
		if w.Private {
			continue
		}
		z := pattern.Zone{Shape: w.Shape, Bounds: w.Bounds, Everywhere: true}
		o.person.Zones = append(o.person.Zones, z)
		if w.Class == model.KindRoad {
			o.vehicle.Zones = append(o.vehicle.Zones, z)
		}
		o.class = append(o.class, string(w.Class))
		o.on = append(o.on, w.Feature.ID)
	}
	for _, a := range sc.Neighbours {
		o.person.Zones = append(o.person.Zones, pattern.Zone{Shape: a.Shape, Bounds: a.Bounds})
		o.class = append(o.class, "neighbour")
		o.on = append(o.on, a.Feature.ID)
	}
	for _, m := range o.inside {
		for _, poly := range m {
			for _, r := range poly {
				for i := 0; i+1 < len(r); i++ {
					d := orb.Point{r[i+1][0] - r[i][0], r[i+1][1] - r[i][1]}
					if l := d[0]*d[0] + d[1]*d[1]; l > 0 {
						o.edges = append(o.edges, lineEdge{r[i], d, l})
					}
				}
			}
		}
	}
	for k := range o.edges {
		e := &o.edges[k]
		b := orb.Bound{Min: e.a, Max: e.a}.Extend(orb.Point{e.a[0] + e.d[0], e.a[1] + e.d[1]})
		if k%edgesTogether == 0 {
			o.bounds = append(o.bounds, b)
		} else {
			o.bounds[len(o.bounds)-1] = o.bounds[len(o.bounds)-1].Union(b)
		}
	}
	for _, m := range o.inside {
		for _, poly := range m {
			for _, hole := range poly[1:] {
				o.poles = append(o.poles, o.pole(hole))
			}
		}
	}
	o.class, o.on = append(o.class, "open"), append(o.on, "")
	for _, m := range o.inside {
		o.person.Inside = append(o.person.Inside, pattern.NewZone(m, false))
	}
	o.vehicle.Inside = o.person.Inside
	o.person.Open = len(o.inside) > 0
	return o
}

// edgesTogether is the number of edges that are passed over at once by their bound.
const edgesTogether = 32

// depthError is how far, in metres, a depth may fall short (chosen).
const depthError = 0.005

// mark is a place on the outline of a shape, with a bound on how far it lies
// beyond the line (below 0: inside by so much) and an edge of the line that is
// near.
type mark struct {
	at    orb.Point
	bound float64
	edge  int
}

// depth returns the greatest distance of a shape beyond the line in metres: 0
// for parts inside; nil where there is no closed line.
func (o *outside) depth(shape orb.MultiPolygon) *float64 {
	if len(o.inside) == 0 {
		return nil
	}
	worst := 0.0
	measure := func(p orb.Point) mark {
		k, d := o.fromLine(p)
		if d > worst {
			if o.holds(p) {
				d = -d
			} else {
				worst = d
			}
		}
		return mark{p, d, k}
	}
	// Between two places the distance grows no faster than the way, and that to
	// one edge is nowhere greater than at the ends.
	var between func(a, b mark)
	between = func(a, b mark) {
		l := math.Hypot(b.at[0]-a.at[0], b.at[1]-a.at[1])
		bound := (a.bound + b.bound + l) / 2
		for _, k := range []int{a.edge, b.edge} {
			if bound <= worst+depthError {
				return
			}
			bound = math.Min(bound, math.Max(o.edges[k].distance(a.at), o.edges[k].distance(b.at)))
		}
		if bound <= worst+depthError {
			return
		}
		m := measure(orb.Point{(a.at[0] + b.at[0]) / 2, (a.at[1] + b.at[1]) / 2})
		between(a, m)
		between(m, b)
	}
	for _, poly := range shape {
		for _, r := range poly {
			a := measure(r[0])
			for _, q := range r[1:] {
				b := mark{q, a.bound + math.Hypot(q[0]-a.at[0], q[1]-a.at[1]), a.edge}
				if b.bound > worst {
					b = measure(q)
				}
				between(a, b)
				a = b
			}
		}
	}
	for _, p := range o.poles {
		if contains(shape, p) {
			measure(p)
		}
	}
	return &worst
}

// pole returns the place inside a ring that is farthest from the line, to a
// centimetre.
func (o *outside) pole(ring orb.Ring) orb.Point {
	type cell struct {
		c    orb.Point
		half float64
	}
	b := ring.Bound()
	cells := []cell{{b.Center(), math.Max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) / 2}}
	best, at := -1.0, b.Center()
	for len(cells) > 0 {
		c := cells[0]
		cells = cells[1:]
		_, d := o.fromLine(c.c)
		in := pattern.Inside(orb.Polygon{ring}, c.c)
		if in && d > best {
			best, at = d, c.c
		}
		if !in {
			d = -d
		}
		if d+c.half*math.Sqrt2 <= math.Max(0, best)+0.01 {
			continue
		}
		h := c.half / 2
		for _, q := range []orb.Point{{-h, -h}, {h, -h}, {-h, h}, {h, h}} {
			cells = append(cells, cell{orb.Point{c.c[0] + q[0], c.c[1] + q[1]}, h})
		}
	}
	return at
}

// partInside reports whether some of a shape with the place at in it lies inside.
func (o *outside) partInside(shape orb.MultiPolygon, at orb.Point) bool {
	for _, m := range o.inside {
		if contains(m, at) {
			return true
		}
		for _, poly := range shape {
			for _, ring := range poly {
				for i := 0; i+1 < len(ring); i++ {
					mid := orb.Point{(ring[i][0] + ring[i+1][0]) / 2, (ring[i][1] + ring[i+1][1]) / 2}
					if contains(m, mid) && !nearLine(m, mid, 0.01) {
						return true
					}
				}
			}
		}
	}
	return false
}

// holds reports whether a place is inside.
func (o *outside) holds(p orb.Point) bool {
	for i := range o.person.Inside {
		if o.person.Inside[i].Holds(p) {
			return true
		}
	}
	return false
}

// fromLine returns the distance in metres from a place to the nearest outline of
// the land inside, and which of its edges that is.
func (o *outside) fromLine(p orb.Point) (edge int, d float64) {
	far := func(i int) float64 { // square of the distance of a bound
		b := &o.bounds[i]
		dx := max(0, b.Min[0]-p[0], p[0]-b.Max[0])
		dy := max(0, b.Min[1]-p[1], p[1]-b.Max[1])
		return dx*dx + dy*dy
	}
	best := math.Inf(1)
	look := func(i int) {
		for k := i * edgesTogether; k < min((i+1)*edgesTogether, len(o.edges)); k++ {
			if d := o.edges[k].distance2(p); d < best {
				edge, best = k, d
			}
		}
	}
	// First where the nearest is likely: little is nearer than that.
	near, least := 0, math.Inf(1)
	for i := range o.bounds {
		if d := far(i); d < least {
			near, least = i, d
		}
	}
	if len(o.bounds) > 0 {
		look(near)
	}
	for i := range o.bounds {
		if i != near && far(i)*(1-1e-9) <= best { // or none of these, whatever the rounding
			look(i)
		}
	}
	return edge, math.Sqrt(best)
}

// lineEdge is an edge of an outline of the land inside.
type lineEdge struct {
	a, d orb.Point
	len2 float64
}

func (e *lineEdge) distance(p orb.Point) float64 { return math.Sqrt(e.distance2(p)) }

// distance2 is the square of the distance from p.
func (e *lineEdge) distance2(p orb.Point) float64 {
	dx, dy := p[0]-e.a[0], p[1]-e.a[1]
	if t := dx*e.d[0] + dy*e.d[1]; t > 0 {
		if t > e.len2 {
			t = 1
		} else {
			t /= e.len2
		}
		dx -= t * e.d[0]
		dy -= t * e.d[1]
	}
	return dx*dx + dy*dy
}

// overspill works out what of a pattern lies where it should not.
func (r *Result) overspill(lk *pattern.Looker) (out []Overspill) {
	s := r.Plan.Settings
	o := r.outside
	add := func(t pattern.Target, p pattern.Partition, who string) {
		if len(p.Zones) == 0 && !p.Open {
			return
		}
		for _, part := range lk.Split(t, p) {
			k := part.Zone
			if k == len(p.Zones) {
				k = len(o.class) - 1
			}
			out = append(out, Overspill{Class: o.class[k], On: o.on[k], For: who,
				Area: part.Area, Depth: o.depth(part.Shape), Shape: part.Shape, At: part.At, inside: p.Zones != nil && k < len(p.Zones) && p.Zones[k].Everywhere && o.partInside(part.Shape, part.At)})
		}
	}
	add(pattern.Target{Height: s.Target.Height, MinVisible: s.OverspillMinVisible}, o.person, "person")
	add(pattern.Target{Height: s.VehicleHeight, MinVisible: s.OverspillMinVisible, RangeFactor: s.VehicleRangeFactor}, o.vehicle, "vehicle")
	return out
}

// views measures how much of a sensor's footprint its zone's camera views miss.
func (r *Result) views(w *work, lk *pattern.Looker, t pattern.Target) {
	zone := w.feature.Value.(*model.Sensor).Zone
	if zone == "" || len(r.Scene.Views) == 0 {
		return
	}
	p := pattern.Partition{Open: true}
	for _, out := range outputs(r.Plan) {
		if out.Zone != zone || out.Preset == "" {
			continue
		}
		for _, v := range r.Scene.Views {
			if v.Feature.Value.(*model.View).Preset == out.Preset {
				p.Inside = append(p.Inside, pattern.Zone{Shape: v.Shape, Bounds: v.Bounds})
			}
		}
	}
	if len(p.Inside) == 0 {
		return
	}
	w.viewed = true
	for _, part := range lk.Split(t, p) {
		w.beyond += part.Area
	}
}
