package coverage_test

import (
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/pattern"
	"pleach/model/scene"
	"pleach/testdata/site"
)

// star is a ring of n corners about the origin, with acute corners among them.
func star(r *rand.Rand, n int, lo, hi float64) orb.Ring {
	var ring orb.Ring
	for i := range n {
		a := 2 * math.Pi * (float64(i) + 0.6*r.Float64()) / float64(n)
		d := lo + r.Float64()*(hi-lo)
		ring = append(ring, orb.Point{d * math.Cos(a), d * math.Sin(a)})
	}
	return append(ring, ring[0])
}

func inside(m orb.MultiPolygon, p orb.Point) bool {
	for _, poly := range m {
		if pattern.Inside(poly, p) {
			return true
		}
	}
	return false
}

// endOf walks a crossing line in small steps: where it begins and ends.
func endOf(sc *scene.Scene, b scene.Boundary, s, depth float64) (w0, w1 float64) {
	const step = 0.002
	p, n := b.Point(s), b.Normal(s)
	at := func(w float64) orb.Point { return orb.Point{p[0] + w*n[0], p[1] + w*n[1]} }
	poly := orb.Polygon{orb.Ring(b.Line)}
	in := func(w float64) bool {
		for _, o := range sc.Obstacles {
			if o.Impassable && o.Shape != nil && pattern.Inside(o.Shape, at(w)) {
				return true
			}
		}
		return false
	}
	for in(w0) && w0 < depth {
		w0 += step
	}
	w1 = w0
	for w1 < depth {
		q := at(w1 + step)
		if b.Closed && w1 > 0.01 && !pattern.Inside(poly, q) {
			break
		}
		for _, h := range sc.Buildings {
			if pattern.Inside(h.Shape, q) {
				return w0, w1
			}
		}
		for _, o := range sc.Obstacles {
			if !o.Impassable || o.Shape != nil {
				continue
			}
			for i := 0; i+1 < len(o.Line); i++ {
				if w1 > w0+0.1 && crosses(at(w1), q, o.Line[i], o.Line[i+1]) {
					return w0, w1
				}
			}
		}
		if w1 > w0+0.1 && in(w1+step) {
			break
		}
		w1 += step
	}
	return w0, w1
}

func crosses(a, b, c, d orb.Point) bool {
	side := func(a, b, c orb.Point) bool { return (b[0]-a[0])*(c[1]-a[1]) > (b[1]-a[1])*(c[0]-a[0]) }
	return side(a, b, c) != side(a, b, d) && side(c, d, a) != side(c, d, b)
}

// longest is the longest run of the crossing line inside the shape, breaks up to
// 0.1 m bridged, walked in small steps.
func longest(b scene.Boundary, s, w0, w1 float64, m orb.MultiPolygon) float64 {
	const step = 0.002
	p, n := b.Point(s), b.Normal(s)
	best, start, last := 0.0, math.NaN(), math.NaN()
	for w := w0 + step/2; w < w1; w += step {
		if !inside(m, orb.Point{p[0] + w*n[0], p[1] + w*n[1]}) {
			continue
		}
		if math.IsNaN(start) || w-last > 0.1+step {
			start = w - step/2
		}
		last = w
		best = math.Max(best, w+step/2-start)
	}
	return best
}

// The covered stretches are those a walk along every crossing line finds: at
// random places, away from the ends of stretches.
func TestCoveredIsWhatAWalkAlongTheCrossingLineFinds(t *testing.T) {
	r := rand.New(rand.NewSource(4))
	wk := new(coverage.Walker)
	checked, covered, short := 0, 0, 0
	for n := range 60 {
		var s site.Site
		ring := star(r, 4+r.Intn(9), 8, 45)
		s.Add(model.KindBoundary, "B1", orb.Polygon{ring})
		for range r.Intn(4) {
			s.Building("", site.Turned(orb.Point{r.Float64()*60 - 30, r.Float64()*60 - 30}, 2+r.Float64()*9, 2+r.Float64()*9, r.Float64()*3), 4)
		}
		for range r.Intn(3) {
			c := orb.Point{r.Float64()*60 - 30, r.Float64()*60 - 30}
			s.Add(model.KindObstacle, "", orb.LineString{c, {c[0] + r.Float64()*30 - 15, c[1] + r.Float64()*30 - 15}}, model.Prop("height_m", 0.4), model.Prop("impassable", true))
		}
		if r.Intn(2) == 0 {
			i := r.Intn(len(ring) - 1)
			c := orb.Point{(ring[i][0] + ring[i+1][0]) / 2, (ring[i][1] + ring[i+1][1]) / 2}
			s.Add(model.KindObstacle, "", orb.Polygon{site.Turned(c, 6, 2, r.Float64()*3)}, model.Prop("height_m", 0.4), model.Prop("impassable", true))
		}
		models := model.Builtin()
		m := models[r.Intn(len(models))]
		s.Sensor("S1", orb.Point{r.Float64()*50 - 25, r.Float64()*50 - 25}, m.ID, 3, r.Float64()*360, 1+3*r.Float64())
		sc := s.Scene(t)
		e := pattern.Stand(sc, sc.Plan.Feature("S1"), m)
		lk := pattern.NewLooker(sc)
		lk.From(&e, 1)
		fp := lk.Lay(pattern.Target{Height: 1.7, MinVisible: 0.5}, pattern.AsItIs)
		f := coverage.Lay(sc, sc.Boundaries[0], 10)
		const path = 0.5
		spans := wk.Covered(f, fp.Clear, path)[0]
		for range 60 {
			at := r.Float64() * f.Length()
			near := false
			for _, v := range append([]float64{0}, f.Boundary.At...) {
				near = near || math.Abs(at-v) < 0.05
			}
			got := false
			for _, v := range spans {
				got = got || v.From <= at && at <= v.To
				near = near || math.Abs(at-v.From) < 0.05 || math.Abs(at-v.To) < 0.05
			}
			w0, w1 := endOf(sc, f.Boundary, at, 10)
			if w1-w0 < 0.06 {
				short++
				continue
			}
			need := path
			if w1-w0 < path {
				need = w1 - w0 - 0.05
			}
			run := longest(f.Boundary, at, w0, w1, fp.Clear)
			if near || math.Abs(run-need) < 0.02 || math.Abs(w1-w0-path) < 0.02 {
				continue
			}
			checked++
			if want := run >= need; want != got {
				t.Fatalf("scene %d: at %.3f m of %.3f: covered %v, but the walk from %.3f to %.3f stays inside for %.3f of %.3f m", n, at, f.Length(), got, w0, w1, run, need)
			} else if want {
				covered++
			}
		}
	}
	if checked < 1500 || covered < 100 {
		t.Fatalf("%d places checked, %d covered, %d too short: the scenes prove little", checked, covered, short)
	}
}

// Handbook of check values, detection section 4: L = 1200, [0,310) [290,610)
// [600,880) [900,1190): gaps [880,900) and [1190,1200), covered 1170 m, overlap
// 30 m; with [1150,40) only the gap [880,900), covered 98.333 %, overlap 110 m.
// The example is worked there, computed by two methods.
func TestOutsideChainageExample(t *testing.T) {
	const length = 1200.0
	each := [][]coverage.Span{{{From: 0, To: 310}}, {{From: 290, To: 610}}, {{From: 600, To: 880}}, {{From: 900, To: 1190}}}
	check := func(name string, each [][]coverage.Span, gaps []coverage.Span, covered, overlap float64) {
		t.Run(name, func(t *testing.T) {
			var all []coverage.Span
			for _, e := range each {
				all = append(all, e...)
			}
			st := coverage.Stretches(length, true, coverage.Union(all), nil)
			got := coverage.Gaps(st, length, true)
			if len(got) != len(gaps) {
				t.Fatalf("gaps %v, want %v", got, gaps)
			}
			for i := range gaps {
				if got[i] != gaps[i] {
					t.Errorf("gap %v, want %v", got[i], gaps[i])
				}
			}
			sum := 0.0
			for _, s := range st {
				if s.State == coverage.Covered {
					sum += s.To - s.From
				}
			}
			if math.Abs(sum-covered) > 0.001 {
				t.Errorf("covered %v, want %v (tolerance 0.001)", sum, covered)
			}
			if o := coverage.Sum(coverage.Overlaps(length, true, all, nil)); math.Abs(o-overlap) > 0.001 {
				t.Errorf("overlap %v, want %v (tolerance 0.001)", o, overlap)
			}
		})
	}
	check("O34", each, []coverage.Span{{From: 880, To: 900}, {From: 1190, To: 1200}}, 1170, 30)
	each = append(each, []coverage.Span{{From: 0, To: 40}, {From: 1150, To: 1200}})
	check("O35", each, []coverage.Span{{From: 880, To: 900}}, 1180, 110)
}

func TestShortStretchesJoinTheLongerNeighbourShortestFirst(t *testing.T) {
	span := func(a, b float64) coverage.Span { return coverage.Span{From: a, To: b} }
	for _, c := range []struct {
		name    string
		ring    bool
		covered []coverage.Span
		closed  []coverage.Span
		want    []coverage.Stretch
	}{
		{"a short gap", false, []coverage.Span{span(0, 50), span(50.05, 100)}, nil, []coverage.Stretch{{Span: span(0, 100), State: coverage.Covered}}},
		{"a short cover", false, []coverage.Span{span(50, 50.09)}, nil, []coverage.Stretch{{Span: span(0, 100), State: coverage.Uncovered}}},
		{"0.1 m stays", false, []coverage.Span{span(50, 50.1001)}, nil, []coverage.Stretch{{span(0, 50), coverage.Uncovered}, {span(50, 50.1001), coverage.Covered}, {span(50.1001, 100), coverage.Uncovered}}},
		{"between covered and closed", false, []coverage.Span{span(0, 60)}, []coverage.Span{span(60.05, 100)}, []coverage.Stretch{{span(0, 60.05), coverage.Covered}, {span(60.05, 100), coverage.Closed}}},
		{"round the ring", true, []coverage.Span{span(0.04, 99.98)}, nil, []coverage.Stretch{{Span: span(0, 100), State: coverage.Covered}}},
		{"a gap through 0", true, []coverage.Span{span(5, 90)}, nil, []coverage.Stretch{{span(0, 5), coverage.Uncovered}, {span(5, 90), coverage.Covered}, {span(90, 100), coverage.Uncovered}}},
	} {
		got := coverage.Stretches(100, c.ring, c.covered, c.closed)
		ok := len(got) == len(c.want)
		for i := 0; ok && i < len(got); i++ {
			ok = got[i].State == c.want[i].State && math.Abs(got[i].From-c.want[i].From) < 1e-9 && math.Abs(got[i].To-c.want[i].To) < 1e-9
		}
		if !ok {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
