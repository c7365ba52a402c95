package coverage_test

import (
	"fmt"
	"math"
	"math/rand"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/pattern"
	"pleach/model/scene"
	"pleach/testdata/site"
)

// ringBoundary is a boundary of exactly these corners: a plan's are rounded.
func ringBoundary(f *model.Feature, ring orb.Ring) scene.Boundary {
	b := scene.Boundary{Feature: f, Line: orb.LineString(ring), Closed: true, Left: scene.SignedArea(ring) > 0, At: make([]float64, len(ring))}
	for i := 1; i < len(ring); i++ {
		b.At[i] = b.At[i-1] + math.Hypot(ring[i][0]-ring[i-1][0], ring[i][1]-ring[i-1][1])
	}
	return b
}

// covered is what some sensors cover of a boundary, with what needs no
// detection, merged.
func covered(sc *scene.Scene, b scene.Boundary, prints []orb.MultiPolygon) []coverage.Stretch {
	f := coverage.Lay(sc, b, 10)
	wk := new(coverage.Walker)
	var all []coverage.Span
	for _, m := range prints {
		all = append(all, wk.Covered(f, m, 0.5)[0]...)
	}
	return coverage.Stretches(f.Length(), true, coverage.Union(all), f.NoNeed)
}

// differ returns the greatest length over which two divisions of a boundary of
// the same length differ, the second's chainage moved.
func differ(a, b []coverage.Stretch, length float64, move func(float64) float64) float64 {
	state := func(ss []coverage.Stretch, s float64) coverage.State {
		for _, v := range ss {
			if v.From <= s && s <= v.To {
				return v.State
			}
		}
		return ss[len(ss)-1].State
	}
	wrap := func(s float64) float64 {
		s = math.Mod(s, length)
		if s < 0 {
			s += length
		}
		return s
	}
	var cuts []float64
	for _, v := range a {
		cuts = append(cuts, v.From, v.To)
	}
	// The move is its own kind of ring map; where it takes b's ends are a's places.
	for _, v := range b {
		cuts = append(cuts, wrap(move(v.From)), wrap(move(v.To)))
	}
	cuts = append(cuts, 0, length)
	slices.Sort(cuts)
	// The place of b that move takes to s: by trial of both directions.
	back := func(s float64) float64 {
		if d := math.Remainder(move(1)-move(0), length); d > 0 {
			return wrap(s - move(0))
		}
		return wrap(move(0) - s)
	}
	worst, run := 0.0, 0.0
	for i := 0; i+1 < len(cuts); i++ {
		m := (cuts[i] + cuts[i+1]) / 2
		if state(a, m) == state(b, back(m)) {
			if cuts[i+1]-cuts[i] > 1e-6 {
				run = 0
			}
			continue
		}
		run += cuts[i+1] - cuts[i]
		worst = math.Max(worst, run)
	}
	return worst
}

func TestCornersStartAndDirectionOfARingChangeOnlyChainage(t *testing.T) {
	r := rand.New(rand.NewSource(41))
	stretches := 0
	for n := range 120 {
		var s site.Site
		ring := star(r, 4+r.Intn(8), 15, 50)
		s.Add(model.KindBoundary, "B1", orb.Polygon{ring})
		for range r.Intn(4) {
			s.Building("", site.Turned(orb.Point{r.Float64()*80 - 40, r.Float64()*80 - 40}, 2+r.Float64()*9, 2+r.Float64()*9, r.Float64()*3), 4)
		}
		for range r.Intn(3) {
			c := orb.Point{r.Float64()*60 - 30, r.Float64()*60 - 30}
			s.Add(model.KindObstacle, "", orb.LineString{c, {c[0] + r.Float64()*30 - 15, c[1] + r.Float64()*30 - 15}}, model.Prop("height_m", 0.4), model.Prop("impassable", true))
		}
		for i := range 4 {
			k := r.Intn(len(ring) - 1)
			p, q := ring[k], ring[k+1]
			s.Sensor(fmt.Sprintf("S%d", i+1), orb.Point{p[0] * 0.9, p[1] * 0.9}, model.Builtin()[r.Intn(len(model.Builtin()))].ID, 3, math.Atan2(q[0]-p[0], q[1]-p[1])*180/math.Pi+r.Float64()*20-10, 2*r.Float64())
		}
		sc := s.Scene(t)
		var prints []orb.MultiPolygon
		for _, d := range sc.Devices {
			m, _ := sc.Plan.Model(d.Feature.Value.(*model.Sensor).Model)
			e := pattern.Stand(sc, d.Feature, m)
			lk := pattern.NewLooker(sc)
			lk.From(&e, 1)
			prints = append(prints, lk.Lay(pattern.Target{Height: 1.7, MinVisible: 0.5}, pattern.AsItIs).Clear)
		}
		f := sc.Boundaries[0].Feature
		exact := orb.Ring(sc.Boundaries[0].Line)
		b := ringBoundary(f, exact)
		length := b.Length()
		was := covered(sc, b, prints)
		stretches += len(was)
		check := func(what string, ring orb.Ring, move func(float64) float64) {
			o := ringBoundary(f, ring)
			if math.Abs(o.Length()-length) > 1e-6 {
				t.Errorf("site %d %s: %v m long, was %v", n, what, o.Length(), length)
			}
			if d := differ(was, covered(sc, o, prints), length, move); d > 0.001 {
				t.Errorf("site %d %s: %.5f m of it are another state", n, what, d)
			}
		}
		var dense orb.Ring
		for i := 0; i+1 < len(exact); i++ {
			p, q := exact[i], exact[i+1]
			dense = append(dense, p)
			for k, m := 1, 1+r.Intn(30); k < m; k++ {
				s := float64(k) / float64(m)
				dense = append(dense, orb.Point{p[0] + s*(q[0]-p[0]), p[1] + s*(q[1]-p[1])})
			}
		}
		check("with more corners", append(dense, dense[0]), func(s float64) float64 { return s })
		open := exact[:len(exact)-1]
		k := 1 + r.Intn(len(open)-1)
		turned := append(append(orb.Ring{}, open[k:]...), open[:k]...)
		check("from another corner", append(turned, turned[0]), func(s float64) float64 { return s + b.At[k] })
		reversed := slices.Clone(exact)
		slices.Reverse(reversed)
		check("turned round", reversed, func(s float64) float64 { return length - s })
	}
	if stretches < 600 {
		t.Errorf("only %d stretches: the sites prove little", stretches)
	}
}

// A shape's outline is right to a fraction of a millimetre: what of it pokes
// through a wall is no run, and nothing is bridged to it.
func TestNoBridgeLeadsToASpeck(t *testing.T) {
	var s site.Site
	s.Add(model.KindBoundary, "B1", orb.LineString{{0, 0}, {100, 0}})
	sc := s.Scene(t)
	f := coverage.Lay(sc, sc.Boundaries[0], 10)
	wk := new(coverage.Walker)
	box := func(w0, w1 float64) orb.Polygon { return orb.Polygon{site.Box(40, w0, 60, w1)} }
	for _, c := range []struct {
		what  string
		shape orb.MultiPolygon
		want  bool
	}{
		{"a run of 0.45 m and a speck", orb.MultiPolygon{box(-1, 0.45), box(0.54, 0.5401)}, false},
		{"a speck and a run of 0.45 m", orb.MultiPolygon{box(1, 1.0001), box(1.09, 1.54)}, false},
		{"two runs and a speck in the break", orb.MultiPolygon{box(1, 1.2), box(1.25, 1.2501), box(1.29, 1.6)}, true},
		{"two runs across a break of 0.09 m", orb.MultiPolygon{box(1, 1.2), box(1.29, 1.6)}, true},
		{"two runs across a break of 0.11 m", orb.MultiPolygon{box(1, 1.2), box(1.31, 1.6)}, false},
	} {
		got := wk.Covered(f, c.shape, 0.5)[0]
		if yes := len(got) == 1 && math.Abs(got[0].From-40) < 1e-3 && math.Abs(got[0].To-60) < 1e-3; yes != c.want || len(got) > 1 || len(got) == 1 && !yes {
			t.Errorf("%s: covered %v, want %v", c.what, got, c.want)
		}
		runs, w0, w1 := wk.Inside(f, 50, c.shape)
		if coverage.Enough(runs, w0, w1, 0.5) != c.want {
			t.Errorf("%s: runs %v are enough: %v", c.what, runs, !c.want)
		}
	}
}

// A stretch that begins or ends at the first vertex but for a rounding begins or
// ends there, and does not run through chainage 0.
func TestAGapThatBeginsAtTheFirstVertexBeginsAtZero(t *testing.T) {
	for _, c := range []struct {
		name    string
		covered []coverage.Span
		want    coverage.Span
	}{
		{"begins a hair early", []coverage.Span{{10, 99.99995}}, coverage.Span{From: 0, To: 10}},
		{"ends a hair late", []coverage.Span{{0.00005, 90}}, coverage.Span{From: 90, To: 100}},
		{"runs through", []coverage.Span{{0.5, 90}}, coverage.Span{From: 90, To: 0.5}},
	} {
		ss := coverage.Stretches(100, true, c.covered, nil)
		sum := 0.0
		for i, s := range ss {
			if i > 0 && s.From != ss[i-1].To {
				t.Errorf("%s: %v are not together the boundary", c.name, ss)
			}
			sum += s.To - s.From
		}
		if math.Abs(sum-100) > 1e-9 {
			t.Errorf("%s: %v m in all", c.name, sum)
		}
		if got := coverage.Gaps(ss, 100, true); len(got) != 1 || math.Abs(got[0].From-c.want.From) > 1e-9 || math.Abs(got[0].To-c.want.To) > 1e-9 {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// A crossing line under 5 cm takes its neighbour's state: the tip of an acute
// corner is covered as what leads to it is, though no pattern reaches into it.
func TestTheTipOfAnAcuteCornerIsAsWhatLeadsToIt(t *testing.T) {
	ring := orb.Ring{{0, 0}, {60, 0}, {60, 3}, {0, 0}}
	s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{ring})
	sc := s.Scene(t)
	f := coverage.Lay(sc, sc.Boundaries[0], 10)
	for _, c := range []struct{ from, want float64 }{
		{0.9, 0}, // short of where the line is 5 cm long, 1 m from the tip
		{1.5, 1.5},
	} {
		var wk coverage.Walker
		shape := orb.Ring{{c.from - 0.4, -1}, {30, -1}, {30, 5}, {c.from, 5}, {c.from, 0}, {c.from - 0.4, -1}}
		got := wk.Covered(f, orb.MultiPolygon{{shape}}, 0.5)[0]
		if len(got) == 0 || math.Abs(got[0].From-c.want) > 1e-6 {
			t.Errorf("pattern from %v m on: covered %v, want from %v", c.from, got, c.want)
		}
	}
}
