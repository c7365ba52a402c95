package aim

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/pattern"
	"pleach/model/scene"
)

// Distances of landmarks, metres. Chosen: what one steps out on site.
const (
	Nearby   = 5.0 // the farthest a named thing is named from
	atCorner = 2.0 // the nearest point of an outline is at a corner
	touching = 0.5 // nearer than this is "at" it
)

// Landmark is a named thing near a place.
type Landmark struct {
	ID       string
	Distance float64 // metres, 0 inside it
	Text     string  // "3.1 m north of the south-west corner of Store (H1)"
}

// Post is a place by a boundary.
type Post struct {
	ID       string
	Chainage float64 // metres
	Distance float64 // metres from the line
	Inside   bool
}

// landmark returns the named thing nearest to a place, ways only where nothing
// else is near; nil for none.
func landmark(sc *scene.Scene, p orb.Point, but string) *Landmark {
	var best *Landmark
	bestWay := true
	for _, f := range sc.Plan.Features {
		if f.Name == "" || f.ID == but || !f.Sound() {
			continue
		}
		way := false
		switch f.Kind {
		case model.KindRoad, model.KindFootpath:
			way = true
		case model.KindBuilding, model.KindObstacle, model.KindFoliage, model.KindGate, model.KindAsset, model.KindHazard,
			model.KindSensor, model.KindRepeater, model.KindReceiver:
		default:
			continue
		}
		l := near(sc, f, p)
		if l.Distance > Nearby || best != nil && (way && !bestWay || way == bestWay && l.Distance >= best.Distance) {
			continue
		}
		best, bestWay = &l, way
	}
	return best
}

// near says where a place is as seen from a feature.
func near(sc *scene.Scene, f *model.Feature, p orb.Point) Landmark {
	title := Title(sc.Plan, f.ID)
	l := Landmark{ID: f.ID, Distance: math.Inf(1)}
	var from orb.Point // the nearest point of the feature
	line := func(s orb.LineString) (nearest bool) {
		for i := 0; i+1 < len(s); i++ {
			q := pattern.NearestOn(s[i], s[i+1], p)
			if d := math.Hypot(p[0]-q[0], p[1]-q[1]); d < l.Distance {
				l.Distance, from, nearest = d, q, true
			}
		}
		return nearest
	}
	switch g := sc.Shape(f.ID).(type) {
	case orb.Point:
		l.Distance, from = math.Hypot(p[0]-g[0], p[1]-g[1]), g
	case orb.LineString:
		if w, ok := f.Value.(*model.Way); ok {
			for _, part := range scene.Extent(g, w.Width) {
				if pattern.Inside(part, p) {
					return Landmark{f.ID, 0, "on " + title}
				}
				line(orb.LineString(part[0]))
			}
			break
		}
		line(g)
		for k, end := range []orb.Point{g[0], g[len(g)-1]} {
			other := g[(1-k)*(len(g)-1)]
			if g[0] != g[len(g)-1] && math.Hypot(end[0]-from[0], end[1]-from[1]) <= atCorner {
				title = "the " + compass(other, end) + " end of " + title
				break
			}
		}
	case orb.Polygon:
		if pattern.Inside(g, p) {
			word := "inside "
			if f.Kind == model.KindRoad || f.Kind == model.KindFootpath {
				word = "on "
			}
			return Landmark{f.ID, 0, word + title}
		}
		for _, r := range g {
			line(orb.LineString(r))
		}
		middle := g[0].Bound().Center()
		for i := range g[0] {
			if c := g[0][i]; isCorner(g[0], i) && math.Hypot(c[0]-from[0], c[1]-from[1]) <= atCorner {
				title = "the " + compass(middle, c) + " corner of " + title
				break
			}
		}
	}
	if l.Distance <= touching {
		l.Text = "at " + title
	} else {
		l.Text = fmt.Sprintf("%.1f m %s of %s", l.Distance, compass(from, p), title)
	}
	return l
}

// isCorner reports whether an outline turns by more than 20 degrees at its i-th
// point.
func isCorner(r orb.Ring, i int) bool {
	n := len(r) - 1
	if n < 3 {
		return false
	}
	a, b, c := r[(i+n-1)%n], r[i%n], r[(i+1)%n]
	turn := math.Atan2(c[0]-b[0], c[1]-b[1]) - math.Atan2(b[0]-a[0], b[1]-a[1])
	return math.Abs(math.Remainder(turn, 2*math.Pi)) > 20*math.Pi/180
}

// compass names the direction from one place to another.
func compass(from, to orb.Point) string {
	names := [8]string{"north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"}
	a := math.Atan2(to[0]-from[0], to[1]-from[1]) * 4 / math.Pi
	return names[(int(math.Round(a))+8)%8]
}

// post returns the place of p by the nearest boundary, nil where there is none.
func post(sc *scene.Scene, p orb.Point) *Post {
	var best *Post
	for i := range sc.Boundaries {
		b := &sc.Boundaries[i]
		s, d := b.Nearest(p)
		if best != nil && d >= best.Distance {
			continue
		}
		best = &Post{ID: b.Feature.ID, Chainage: s, Distance: d}
		if b.Closed {
			best.Inside = pattern.Inside(orb.Polygon{orb.Ring(b.Line)}, p)
		} else {
			q, n := b.Point(s), b.Normal(s)
			best.Inside = (p[0]-q[0])*n[0]+(p[1]-q[1])*n[1] > 0
		}
	}
	return best
}
