package analysis

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"pleach/model"
	"pleach/model/radio"
	"pleach/model/scene"
)

// gapReach is how far beside a link's direct line, in metres, trees may stand for
// the line to run through a gap in them. Chosen.
const gapReach = 15.0

// treeGap is a stretch of a link with trees taller than the line within gapReach on
// either side of it and none on it.
type treeGap struct {
	left, right string // ids of the foliage, as seen from the first end
	width       float64
	from, to    orb.Point
}

// ruleSharedGap: two repeaters whose ways onward run through one gap in the trees.
func ruleSharedGap(r *Result, seconds []*radio.Route) (out []model.Finding) {
	onward := r.net.onward(seconds)
	gaps := make([][]treeGap, len(onward))
	for i, at := range onward {
		gaps[i] = treeGaps(r.Scene, r.net.hubs[at[0]], r.net.hubs[at[1]])
	}
	told := map[[2]int]bool{}
	for i, x := range onward {
		for j, y := range onward[:i] {
			pair := [2]int{y[0], x[0]}
			if x[0] == y[0] || x[0] == y[1] || y[0] == x[1] || told[pair] {
				continue // one and the same, or one behind the other
			}
			g, ok := shared(gaps[j], gaps[i])
			if !ok {
				continue
			}
			told[pair] = true
			a, b := r.net.hubs[y[0]].feature.ID, r.net.hubs[x[0]].feature.ID
			between := "the gap between " + r.title(g.left) + " and " + r.title(g.right)
			if g.left == g.right {
				between = "the gap in " + r.title(g.left)
			}
			out = append(out, model.Finding{Rule: "shared-gap", Severity: model.Warning, Subject: []string{a, b},
				At:     r.lonLat(orb.Point{(g.from[0] + g.to[0]) / 2, (g.from[1] + g.to[1]) / 2}),
				Text:   fmt.Sprintf("%s and %s both reach on through %s, %s wide: what grows or is parked there takes both ways at once.", r.title(a), r.title(b), between, metres(g.width)),
				Remedy: "Move one of the repeaters so that its way onward runs elsewhere, or have the gap kept open."})
		}
	}
	return out
}

// shared returns the first gap of xs that one of ys is too: between the same
// foliage, and the two ways pass it within twice gapReach of each other.
func shared(xs, ys []treeGap) (treeGap, bool) {
	for _, x := range xs {
		for _, y := range ys {
			same := x.left == y.left && x.right == y.right || x.left == y.right && x.right == y.left
			if same && apart(x, y) <= 2*gapReach {
				if y.width < x.width {
					x.width = y.width
				}
				return x, true
			}
		}
	}
	return treeGap{}, false
}

// apart is the least distance in metres between two stretches.
func apart(x, y treeGap) float64 {
	if _, cross := crossing(x.from, x.to, y.from, y.to); cross {
		return 0
	}
	d := math.Inf(1)
	for _, p := range []orb.Point{x.from, x.to} {
		d = math.Min(d, planar.DistanceFromSegment(y.from, y.to, p))
	}
	for _, p := range []orb.Point{y.from, y.to} {
		d = math.Min(d, planar.DistanceFromSegment(x.from, x.to, p))
	}
	return d
}

// flank is where foliage stands beside a line: along it, and how near on one side.
type flank struct {
	id             string
	from, to, near float64
}

// treeGaps lists the gaps in the trees a link runs through, in the order of the
// foliage on its left, then on its right.
func treeGaps(sc *scene.Scene, a, b antenna) (out []treeGap) {
	d := math.Hypot(b.at[0]-a.at[0], b.at[1]-a.at[1])
	if d == 0 {
		return nil
	}
	ux, uy := (b.at[0]-a.at[0])/d, (b.at[1]-a.at[1])/d
	za, zb := sc.Ground(a.at)+a.height, sc.Ground(b.at)+b.height
	at := func(x float64) orb.Point { return orb.Point{a.at[0] + x*ux, a.at[1] + x*uy} }
	reach := orb.MultiPoint{a.at, b.at}.Bound().Pad(gapReach)
	var left, right, on []flank
	for i := range sc.Foliage {
		f := &sc.Foliage[i]
		if !reach.Intersects(f.Bound) {
			continue
		}
		l, r := flank{id: f.Feature.ID, from: math.Inf(1), to: math.Inf(-1), near: math.Inf(1)}, flank{id: f.Feature.ID, from: math.Inf(1), to: math.Inf(-1), near: math.Inf(1)}
		o := l
		note := func(k *flank, x, aside float64) {
			k.from, k.to, k.near = math.Min(k.from, x), math.Max(k.to, x), math.Min(k.near, aside)
		}
		for _, ring := range f.Shape {
			for j := 0; j+1 < len(ring); j++ {
				x0, y0 := lineOf(a.at, ux, uy, ring[j])
				x1, y1 := lineOf(a.at, ux, uy, ring[j+1])
				if y0*y1 <= 0 && y0 != y1 {
					if x := x0 + (x1-x0)*y0/(y0-y1); x >= 0 && x <= d {
						note(&o, x, 0)
					}
				}
				for _, side := range []struct {
					sign float64
					k    *flank
				}{{1, &l}, {-1, &r}} {
					x0, y0, x1, y1, ok := clip(x0, side.sign*y0, x1, side.sign*y1, d)
					if !ok {
						continue
					}
					for _, e := range [][2]float64{{x0, y0}, {x1, y1}} {
						if top := sc.Ground(at(e[0])) + f.Height; top > za+(zb-za)*e[0]/d {
							note(side.k, e[0], e[1])
						}
					}
				}
			}
		}
		for _, k := range []struct {
			f  flank
			to *[]flank
		}{{l, &left}, {r, &right}, {o, &on}} {
			if k.f.to >= k.f.from {
				*k.to = append(*k.to, k.f)
			}
		}
	}
	for _, l := range left {
		for _, r := range right {
			from, to := math.Max(l.from, r.from), math.Min(l.to, r.to)
			if from > to+gapReach {
				continue
			}
			from, to = math.Min(from, to), math.Max(from, to)
			covered := false
			for _, o := range on {
				covered = covered || o.from <= to && o.to >= from
			}
			if !covered {
				out = append(out, treeGap{l.id, r.id, l.near + r.near, at(from), at(to)})
			}
		}
	}
	return out
}

// lineOf returns a point in metres along a line from a, and to the left of it.
func lineOf(a orb.Point, ux, uy float64, p orb.Point) (x, y float64) {
	dx, dy := p[0]-a[0], p[1]-a[1]
	return dx*ux + dy*uy, dy*ux - dx*uy
}

// clip cuts a segment to 0 to d along a line and 0 to gapReach beside it.
func clip(x0, y0, x1, y1, d float64) (_, _, _, _ float64, ok bool) {
	s, t := 0.0, 1.0
	for _, c := range [][2]float64{{x0, x1 - x0}, {d - x0, x0 - x1}, {y0, y1 - y0}, {gapReach - y0, y0 - y1}} {
		switch { // c[0] + u·c[1] must not be below 0
		case c[1] == 0 && c[0] < 0:
			return 0, 0, 0, 0, false
		case c[1] > 0:
			s = math.Max(s, -c[0]/c[1])
		case c[1] < 0:
			t = math.Min(t, -c[0]/c[1])
		}
	}
	return x0 + s*(x1-x0), y0 + s*(y1-y0), x0 + t*(x1-x0), y0 + t*(y1-y0), s <= t
}
