package wayin

import (
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
)

// ground is what the search needs to know of a scene.
type ground struct {
	solids     []solid // what stops a person and has an inside
	walls      []wall  // what stops a person and has none
	slow       []slow  // what takes time
	boundaries []scene.Boundary
	gates      []scene.Gate
	assets     []asset
}

type solid struct {
	id    string
	shape orb.Polygon
}

type wall struct {
	id   string
	line orb.LineString
}

// slow is an obstacle that can be passed, in so many seconds.
type slow struct {
	id    string
	line  orb.LineString
	shape orb.Polygon
	delay float64
}

// asset is a Point or a Polygon.
type asset struct {
	id string
	at orb.Geometry
}

func groundOf(sc *scene.Scene) *ground {
	s := &ground{boundaries: sc.Boundaries, gates: sc.Gates}
	for _, b := range sc.Buildings {
		s.solids = append(s.solids, solid{b.Feature.ID, b.Shape})
	}
	for _, o := range sc.Obstacles {
		switch {
		case !o.Impassable:
			if o.Delay > 0 {
				s.slow = append(s.slow, slow{o.Feature.ID, o.Line, o.Shape, o.Delay})
			}
		case o.Shape != nil:
			s.solids = append(s.solids, solid{o.Feature.ID, o.Shape})
		default:
			s.walls = append(s.walls, wall{o.Feature.ID, o.Line})
		}
	}
	for _, f := range sc.Plan.Of(model.KindAsset) {
		s.assets = append(s.assets, asset{f.ID, sc.Shape(f.ID)})
	}
	return s
}

// names returns the ids of solids, then of walls: the owners of blocks.
func (s *ground) names() []string {
	var out []string
	for _, b := range s.solids {
		out = append(out, b.id)
	}
	for _, w := range s.walls {
		out = append(out, w.id)
	}
	return out
}

// blocks returns the edges that stop a person.
func (s *ground) blocks() []edge {
	var out []edge
	for i, b := range s.solids {
		out = rings(out, b.shape, i)
	}
	for i, w := range s.walls {
		out = outline(out, w.line, false, len(s.solids)+i)
	}
	return out
}

// rings appends the edges of a polygon.
func rings(out []edge, p orb.Polygon, owner int) []edge {
	for _, r := range p {
		out = outline(out, orb.LineString(r), true, owner)
	}
	return out
}

// outline appends the edges of a line, closed or not.
func outline(out []edge, l orb.LineString, closed bool, owner int) []edge {
	for i := 1; i < len(l); i++ {
		if l[i-1] != l[i] {
			out = append(out, edge{l[i-1], l[i], int32(owner)})
		}
	}
	if n := len(l); closed && n > 1 && l[0] != l[n-1] {
		out = append(out, edge{l[n-1], l[0], int32(owner)})
	}
	return out
}

// enclosure is how far beyond boundaries, footprints and assets, in metres, a
// fence round them is still looked for. Chosen.
const enclosure = 200

// bound returns the ground that has to be searched: boundaries, footprints and
// assets, with the fences that reach into it or stand round it. False without
// any of them.
func (s *ground) bound(sensors []Sensor, margin float64) (b orb.Bound, ok bool) {
	add := func(o orb.Bound) {
		if o.IsEmpty() {
			return
		}
		if !ok {
			b, ok = o, true
			return
		}
		b = b.Union(o)
	}
	for _, l := range s.boundaries {
		add(l.Line.Bound())
	}
	for _, d := range sensors {
		for _, p := range d.Shape {
			add(p.Bound())
		}
	}
	for _, a := range s.assets {
		add(a.at.Bound())
	}
	if !ok {
		return b, false
	}
	most := b.Pad(enclosure)
	for grown := true; grown; {
		grown = false
		take := func(o orb.Bound) {
			if !b.Pad(margin).Intersects(o) {
				return
			}
			o = orb.Bound{Min: orb.Point{max(o.Min[0], most.Min[0]), max(o.Min[1], most.Min[1])},
				Max: orb.Point{min(o.Max[0], most.Max[0]), min(o.Max[1], most.Max[1])}}
			if u := b.Union(o); u != b {
				b, grown = u, true
			}
		}
		for _, w := range s.walls {
			take(w.line.Bound())
		}
		for _, p := range s.solids {
			if len(p.shape) > 1 {
				take(p.shape.Bound())
			}
		}
	}
	return b.Pad(margin), true
}
