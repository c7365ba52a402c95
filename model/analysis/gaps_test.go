package analysis

import (
	"context"
	"fmt"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
	"pleach/testdata/site"
)

// Every cause of a gap, each on a plan that can have no other there.
func TestAGapNamesItsCause(t *testing.T) {
	base := func() *site.Site {
		return new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 200, 120)})
	}
	sensor := func(s *site.Site, at orb.Point, bearing, tilt float64) *site.Site {
		return s.Sensor("S1", at, "curtain-4-63", 3, bearing, tilt)
	}
	for _, c := range []struct {
		name string
		plan *site.Site
		at   float64 // chainage in the gap
		want coverage.Cause
		by   []string
	}{
		{"a building between", sensor(base(), orb.Point{20, 5}, 90, 1.5).Building("H1", site.Box(40, 2, 45, 9), 4), 60, coverage.Hidden, []string{"H1"}},
		{"a building that ends the crossing line", sensor(base(), orb.Point{20, 5}, 90, 1.5).Building("H1", site.Box(50, 2, 60, 9), 4), 55, coverage.Hidden, []string{"H1"}},
		{"a wall between", sensor(base(), orb.Point{20, 5}, 90, 1.5).Add(model.KindObstacle, "O1", orb.LineString{{40, 0}, {40, 10}}, model.Prop("height_m", 3.0)), 60, coverage.Hidden, []string{"O1"}},
		{"a low fence that ends the crossing line", sensor(base(), orb.Point{20, 5}, 90, 1.5).Add(model.KindObstacle, "O1", orb.LineString{{30, 2}, {90, 2}}, model.Prop("height_m", 0.4), model.Prop("impassable", true)), 60, coverage.Hidden, []string{"O1"}},
		{"trees between", sensor(base(), orb.Point{20, 5}, 90, 1.5).Add(model.KindFoliage, "F1", orb.Polygon{site.Box(40, 0, 43, 10)}, model.Prop("height_m", 6.0), model.Prop("density", "dense")), 60, coverage.Screened, []string{"F1"}},
		{"a thin end of the pattern", sensor(base(), orb.Point{20, -1}, 90, 1.5), 55, coverage.Thin, nil},
		{"under the pattern", sensor(base(), orb.Point{20, 5}, 90, 0), 60, coverage.Under, nil},
		{"over for good", sensor(base(), orb.Point{20, 5}, 90, -1), 60, coverage.Over, nil},
		{"nothing near", sensor(base(), orb.Point{20, 5}, 90, 1.5), 150, coverage.OutOfReach, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := run(t, c.plan.Plan(t), nil)
			for _, g := range r.Boundaries[0].Target.Gaps {
				in := g.From <= c.at && c.at <= g.To
				if g.To < g.From {
					in = g.From <= c.at || c.at <= g.To
				}
				if in {
					// The gap may be long: ask at the place.
					r.Boundaries = []Boundary{{Target: Coverage{Gaps: []Gap{{Span: coverage.Span{From: c.at - 0.2, To: c.at + 0.2}, Length: 0.4}}}}}
					asNew(r)
					r.explain()
					got := r.Boundaries[0].Target.Gaps[0]
					if got.Cause != c.want || len(got.By) != len(c.by) || len(c.by) > 0 && got.By[0] != c.by[0] {
						t.Errorf("%s %v, want %s %v", got.Cause, got.By, c.want, c.by)
					}
					return
				}
			}
			t.Errorf("no gap at %v m: %v", c.at, r.Boundaries[0].Target.Gaps)
		})
	}
}

// A short gap is asked at enough places to tell what holds over most of it.
func TestTheCauseOfAShortGapIsThatOfMostOfIt(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	asked := 0
	for n := range 150 {
		s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 60, 40)})
		s.Building("H1", site.Turned(orb.Point{20 + 20*r.Float64(), 8}, 4, 3, r.Float64()), 4)
		for i := range 5 {
			at := orb.Point{3 + 54*r.Float64(), 2 + 36*r.Float64()}
			s.Sensor(fmt.Sprintf("S%d", i), at, []string{"sector-90-16", "curtain-4-63"}[i%2], 3, 360*r.Float64(), 4*r.Float64())
		}
		res := run(t, s.Plan(t), nil)
		gaps := res.Boundaries[0].Target.Gaps
		for _, g := range gaps {
			if g.Length > 15 {
				continue
			}
			const parts = 120
			count := map[coverage.Cause]int{}
			for k := range parts {
				from := g.From + g.Length*float64(k)/parts
				res.Boundaries = []Boundary{{Target: Coverage{Gaps: []Gap{{Span: coverage.Span{From: from, To: from + g.Length/parts}, Length: g.Length / parts}}}}}
				asNew(res)
				res.explain()
				count[res.Boundaries[0].Target.Gaps[0].Cause]++
			}
			asked++
			for c, k := range count {
				if k > count[g.Cause]+parts/12 {
					t.Errorf("site %d: the gap from %.2f to %.2f is %s, but of %d parts %v are %s", n, g.From, g.To, g.Cause, parts, count, c)
				}
			}
		}
	}
	if asked < 150 {
		t.Fatalf("only %d short gaps", asked)
	}
}

func TestAGateOffEveryBoundaryIsFound(t *testing.T) {
	for _, c := range []struct {
		at   orb.Point
		want int
	}{{orb.Point{50, 1}, 0}, {orb.Point{50, 30}, 1}} {
		p := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 200, 120)}).Add(model.KindGate, "G1", c.at).Plan(t)
		n := 0
		for _, f := range run(t, p, nil).Findings {
			if f.Rule == "gate-off-boundary" {
				n++
			}
		}
		if n != c.want {
			t.Errorf("a gate at %v: %d findings, want %d", c.at, n, c.want)
		}
	}
}

// A bank across the line hides what lies behind it, and no building or obstacle
// is there to be named.
func TestTheGroundItselfHides(t *testing.T) {
	p := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 200, 120)}).Sensor("S1", orb.Point{20, 5}, "curtain-4-63", 3, 90, 1.5).Plan(t)
	lon, lat := scene.Origin(p)
	grid := sitegrid.New(lon, lat)
	// Heights on that grid: a bank 4 m high, 20 m in front of the sensor.
	s := grid.ToSite(p.Feature("S1").Geometry.(orb.Point))
	const n = 500
	z := make([]float32, n*n)
	for i := range n {
		for j := range n {
			if d := float64(j) - 250 - s[0]; d > 18 && d < 22 {
				z[i*n+j] = 4
			}
		}
	}
	ground, err := terrain.New(n, n, z, terrain.Affine([3]float64{250, 1, 0}, [3]float64{250, 0, -1}), orb.Bound{Min: orb.Point{-250, -250}, Max: orb.Point{249, 249}})
	if err != nil {
		t.Fatal(err)
	}
	r, err := RunOn(context.Background(), scene.OnGround(p, grid, ground), nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Boundaries = []Boundary{{Target: Coverage{Gaps: []Gap{{Span: coverage.Span{From: 59, To: 61}, Length: 2}}}}}
	asNew(r)
	r.explain()
	if g := r.Boundaries[0].Target.Gaps[0]; g.Cause != coverage.Hidden || len(g.By) != 0 {
		t.Errorf("%s by %v, want hidden by the ground", g.Cause, g.By)
	}
}
