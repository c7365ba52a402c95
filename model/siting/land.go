package siting

import (
	"context"
	"errors"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/pattern"
	"pleach/model/scene"
)

// How far a new post keeps from things, metres in plan. Chosen.
const (
	offBuilding = 1.0 // of a building or an obstacle: what is nearer is fixed to it
	offWay      = 1.0 // of the edge of a road, a footpath or a parking area
	offGate     = 2.0 // of a gate's line
	offHazard   = 3.0 // of a hazard: an overhead line, a buried service, an edge
)

const (
	// onWall is how far outside a wall an antenna on it stands, metres. Chosen: off the
	// outline, near enough to be counted as fixed to the wall.
	onWall = 0.1
	// wallStep is how far apart places on a wall are, metres, at most. Chosen.
	wallStep = 5.0
	// overLine is how far outside the land an existing post may stand, metres: fence
	// posts stand on its line. Chosen.
	overLine = 1.0
	// samePost is within how many metres devices stand on one post. Chosen.
	samePost = 0.5
)

// away is something that new posts keep from.
type away struct {
	bound orb.Bound
	shape orb.Polygon      // kept out of, nil for a line
	lines []orb.LineString // kept clear of
	clear float64
}

// land is where a post may be put.
type land struct {
	sc     *scene.Scene
	inside []orb.Polygon // the premises; without any, what the closed boundaries go round
	bounds []orb.Bound
	off    []away
}

func newLand(sc *scene.Scene) (*land, error) {
	l := &land{sc: sc}
	for _, a := range sc.Premises {
		l.inside = append(l.inside, a.Shape...)
	}
	if len(l.inside) == 0 {
		for _, b := range sc.Boundaries {
			if b.Closed {
				l.inside = append(l.inside, orb.Polygon{orb.Ring(b.Line)})
			}
		}
	}
	if len(l.inside) == 0 {
		return nil, errors.New("the plan has no premises and no closed boundary: draw one, so that it is known where a post may stand")
	}
	for _, p := range l.inside {
		l.bounds = append(l.bounds, p.Bound())
	}
	polygon := func(p orb.Polygon, clear float64) {
		a := away{bound: p.Bound().Pad(clear), shape: p, clear: clear}
		for _, r := range p {
			a.lines = append(a.lines, orb.LineString(r))
		}
		l.off = append(l.off, a)
	}
	line := func(s orb.LineString, clear float64) {
		l.off = append(l.off, away{bound: s.Bound().Pad(clear), lines: []orb.LineString{s}, clear: clear})
	}
	for _, b := range sc.Buildings {
		polygon(b.Shape, offBuilding)
	}
	for _, o := range sc.Obstacles {
		if o.Shape != nil {
			polygon(o.Shape, offBuilding)
		} else {
			line(o.Line, offBuilding)
		}
	}
	for _, f := range sc.Foliage {
		polygon(f.Shape, 0)
	}
	for _, w := range sc.Ways {
		for _, p := range w.Shape {
			polygon(p, offWay)
		}
	}
	for _, n := range sc.Neighbours {
		for _, p := range n.Shape {
			polygon(p, 0)
		}
	}
	for _, g := range sc.Gates {
		line(g.Line, offGate)
	}
	for _, f := range sc.Plan.Of(model.KindHazard) {
		switch g := sc.Shape(f.ID).(type) {
		case orb.Point:
			line(orb.LineString{g, g}, offHazard)
		case orb.LineString:
			line(g, offHazard)
		case orb.Polygon:
			polygon(g, offHazard)
		}
	}
	return l, nil
}

// holds reports whether a place is on the land or at most over metres outside it.
func (l *land) holds(p orb.Point, over float64) bool {
	for i, poly := range l.inside {
		if !l.bounds[i].Pad(over).Contains(p) {
			continue
		}
		if pattern.Inside(poly, p) {
			return true
		}
		if over > 0 && planar.DistanceFrom(poly, p) <= over {
			return true
		}
	}
	return false
}

// free reports whether a new post may stand at a place.
func (l *land) free(p orb.Point) bool {
	for i := range l.off {
		a := &l.off[i]
		if !a.bound.Contains(p) {
			continue
		}
		if a.shape != nil && pattern.Inside(a.shape, p) {
			return false
		}
		for _, s := range a.lines {
			if planar.DistanceFrom(s, p) < a.clear {
				return false
			}
		}
	}
	return l.holds(p, 0)
}

// bound is that of all the land.
func (l *land) bound() orb.Bound {
	all := l.bounds[0]
	for _, b := range l.bounds[1:] {
		all = all.Union(b)
	}
	return all
}

// cells is how many places a grid has over the land's bound.
func (l *land) cells(step float64) float64 {
	b := l.bound()
	return (b.Max[0] - b.Min[0]) / step * (b.Max[1] - b.Min[1]) / step
}

// grid lists the places of a grid on which a new post may stand, from the south-west,
// row by row; not all of them when ctx ends.
func (l *land) grid(ctx context.Context, step float64) (out []orb.Point) {
	all := l.bound()
	for y := math.Ceil(all.Min[1] / step); y*step <= all.Max[1] && ctx.Err() == nil; y++ {
		for x := math.Ceil(all.Min[0] / step); x*step <= all.Max[0]; x++ {
			if p := (orb.Point{x * step, y * step}); l.free(p) {
				out = append(out, p)
			}
		}
	}
	return out
}

// posts lists the posts that the plan's sensors and repeaters stand on, each once, in
// file order.
func (l *land) posts(r *analysis.Result) (out []Place) {
	fixed := map[string]bool{}
	for i := range r.Sensors {
		fixed[r.Sensors[i].ID] = r.Sensors[i].Fixed != "" || r.Sensors[i].Buried != ""
	}
next:
	for _, d := range l.sc.Devices {
		if d.Feature.Kind == model.KindReceiver || fixed[d.Feature.ID] || !l.holds(d.At, overLine) {
			continue
		}
		for _, b := range l.sc.Buildings {
			if b.Bound.Pad(onWall).Contains(d.At) && (pattern.Inside(b.Shape, d.At) || planar.DistanceFrom(b.Shape, d.At) <= onWall) {
				continue next
			}
		}
		for i := range out {
			if math.Hypot(out[i].At[0]-d.At[0], out[i].At[1]-d.At[1]) <= samePost {
				out[i].On = append(out[i].On, d.Feature.ID)
				continue next
			}
		}
		out = append(out, Place{At: d.At, Kind: ExistingPost, On: []string{d.Feature.ID}})
	}
	return out
}

// walls lists places on the walls of buildings at least as tall as the antenna.
func (l *land) walls(height float64) (out []Place) {
	for _, b := range l.sc.Buildings {
		left := scene.SignedArea(b.Shape[0]) > 0
		for i := 0; i+1 < len(b.Shape[0]); i++ {
			p, q := b.Shape[0][i], b.Shape[0][i+1]
			length := math.Hypot(q[0]-p[0], q[1]-p[1])
			if length == 0 {
				continue
			}
			off := orb.Point{(q[1] - p[1]) / length * onWall, -(q[0] - p[0]) / length * onWall} // outwards
			if !left {
				off = orb.Point{-off[0], -off[1]}
			}
			n := int(math.Ceil(length / wallStep))
			for k := range n {
				t := (float64(k) + 0.5) / float64(n)
				at := orb.Point{p[0] + t*(q[0]-p[0]) + off[0], p[1] + t*(q[1]-p[1]) + off[1]}
				if b.Top >= l.sc.Ground(at)+height && l.holds(at, 0) && l.open(at, b.Feature) {
					out = append(out, Place{At: at, Kind: Wall, On: []string{b.Feature.ID}})
				}
			}
		}
	}
	return out
}

// open reports whether a place on one building's wall stands in no other building
// and in no obstacle.
func (l *land) open(p orb.Point, of *model.Feature) bool {
	for _, b := range l.sc.Buildings {
		if b.Bound.Contains(p) && pattern.Inside(b.Shape, p) {
			return false
		}
	}
	for _, o := range l.sc.Obstacles {
		if o.Shape != nil && o.Bound.Contains(p) && pattern.Inside(o.Shape, p) {
			return false
		}
	}
	return true
}

// Words names a place: "a new post", "the post of S7", "the wall of Workshop (H3)".
func (p Place) Words(plan *model.Plan) string {
	switch p.Kind {
	case ExistingPost:
		return "the post of " + title(plan, p.On[0])
	case Wall:
		return "the wall of " + title(plan, p.On[0])
	}
	return "a new post"
}
