package wayin

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/testdata/site"
)

func box(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

// turn turns points about the origin.
func turn(a float64, pts ...orb.Point) orb.LineString {
	sin, cos := math.Sincos(a)
	var out orb.LineString
	for _, p := range pts {
		out = append(out, orb.Point{cos*p[0] - sin*p[1], sin*p[0] + cos*p[1]})
	}
	return out
}

func must(t testing.TB, s *ground, sensors []Sensor, o Options) Result {
	t.Helper()
	r, err := find(context.Background(), s, sensors, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// hoop is a footprint round a place: a square frame so many metres wide.
func hoop(half, width float64) orb.MultiPolygon {
	return orb.MultiPolygon{{box(-half-width, -half-width, half+width, half+width)[0], box(-half, -half, half, half)[0]}}
}

func TestOutsideDetectionAlongARoute(t *testing.T) {
	const source = "closed form, cost = -ln(1-p); rate form after Meguerdichian et al., MobiCom 2001"
	at := asset{"A", orb.Point{0, 0}}
	route := func(sensors ...Sensor) Route {
		return must(t, &ground{assets: []asset{at}}, sensors, Options{}).Routes[0]
	}
	for _, c := range []struct {
		name           string
		got, want, tol float64
	}{
		{"rate of p 0.9 over 10 m", Rate(0.9, 10), 0.23026, 1e-5},
		{"p 0.9 over 10 m: detection over a chord of 3 m", Probability(3 * Rate(0.9, 10)), 0.4988, 1e-3},
		{"the same at 45 degrees, 14.14 m", Probability(14.142 * Rate(0.9, 10)), 0.961, 1e-3},
		{"frame 3 m wide, p 0.9 over 10 m", route(Sensor{ID: "S", Shape: hoop(30, 3)}).Detection, 0.4988, 1e-3},
		{"0.5 and 0.5 in series: cost", route(Sensor{ID: "S", Shape: hoop(20, 10), Rate: Rate(0.5, 10)}, Sensor{ID: "T", Shape: hoop(40, 10), Rate: Rate(0.5, 10)}).Cost, 1.3863, 1e-4},
		{"0.5 and 0.5 in series: detection", route(Sensor{ID: "S", Shape: hoop(20, 10), Rate: Rate(0.5, 10)}, Sensor{ID: "T", Shape: hoop(40, 10), Rate: Rate(0.5, 10)}).Detection, 0.75, 1e-4},
		{"one of 0.8: cost", route(Sensor{ID: "S", Shape: hoop(20, 10), Rate: Rate(0.8, 10)}).Cost, 1.6094, 1e-4},
		{"two of 0.5 over the same ground", route(Sensor{ID: "S", Shape: hoop(20, 10), Rate: Rate(0.5, 10)}, Sensor{ID: "T", Shape: hoop(20, 10), Rate: Rate(0.5, 10)}).Detection, 0.75, 1e-4},
	} {
		t.Run(c.name, func(t *testing.T) {
			if !(math.Abs(c.got-c.want) <= c.tol) {
				t.Errorf("%s: got %.6f, want %v within %v\nsource: %s", c.name, c.got, c.want, c.tol, source)
			}
		})
	}
}

// yard is a fenced square with one opening of half a metre at the origin, its
// ground covered by footprints.
func yard(at orb.Point, sensors ...Sensor) (*ground, []Sensor) {
	return &ground{
		walls:  []wall{{"F", orb.LineString{{.25, 0}, {120, 0}, {120, 120}, {-120, 120}, {-120, 0}, {-.25, 0}}}},
		assets: []asset{{"A", at}},
	}, sensors
}

func TestOutsideRefraction(t *testing.T) {
	const source = "Snell's law: the least of rate1*sqrt(x^2+d1^2) + rate2*sqrt((w-x)^2+d2^2) over x, by golden section"
	for _, c := range []struct{ rate1, rate2, w float64 }{{0.05, 0.2, 80}, {0.2, 0.05, 80}, {0.1, 0.12, 40}, {0.02, 0.4, 100}} {
		t.Run(fmt.Sprint(c), func(t *testing.T) {
			const d1, d2 = 50, 40
			cost := func(x float64) float64 { return c.rate1*math.Hypot(x, d1) + c.rate2*math.Hypot(c.w-x, d2) }
			a, b := 0.0, c.w
			for range 200 {
				g := (b - a) * 0.381966
				if cost(a+g) < cost(b-g) {
					b -= g
				} else {
					a += g
				}
			}
			s, sensors := yard(orb.Point{c.w, d1 + d2},
				Sensor{ID: "S", Rate: c.rate1, Shape: orb.MultiPolygon{box(-120, 0, 120, d1)}},
				Sensor{ID: "T", Rate: c.rate2, Shape: orb.MultiPolygon{box(-120, d1, 120, 120)}})
			r := must(t, s, sensors, Options{}).Routes[0]
			// The opening is 0.5 m wide: a route may start that much nearer.
			if want := cost(a); math.Abs(r.Cost-want) > 0.01*want || math.Abs(r.Marched-want) > 0.015*want {
				t.Errorf("got %.5f, fast marching %.5f, want %.5f within 1 %%\nsource: %s", r.Cost, r.Marched, want, source)
			}
			if len(r.Passes) != 2 || r.Passes[0].Sensor != "S" || r.Passes[1].Sensor != "T" || math.Abs(r.Passes[0].Cost+r.Passes[1].Cost-r.Cost) > 1e-12 {
				t.Errorf("passes %+v do not add up to %v", r.Passes, r.Cost)
			}
		})
	}
}

func TestDirectionOfTheGridDoesNotShow(t *testing.T) {
	for _, degrees := range []float64{0, 10, 22.5, 30, 45, 67.5} {
		const d = 100
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		s, sensors := yard(orb.Point{d * cos, d*sin + 0.5}, Sensor{ID: "S", Shape: orb.MultiPolygon{box(-120, 0, 120, 120)}})
		for _, o := range []Options{{}, {Cell: 1}} {
			r := must(t, s, sensors, o).Routes[0]
			want := Rate(0.9, 10) * d
			if math.Abs(r.Cost-want) > 0.01*want || math.Abs(r.Marched-want) > 0.01*want {
				t.Errorf("%v degrees, %+v: cost %.4f, fast marching %.4f, straight %.4f", degrees, o, r.Cost, r.Marched, want)
			}
		}
	}
}

func TestDetourRoundAWall(t *testing.T) {
	s, sensors := yard(orb.Point{0, 60}, Sensor{ID: "S", Shape: orb.MultiPolygon{box(-120, 0, 120, 120)}})
	s.walls = append(s.walls, wall{"W", orb.LineString{{-30, 30}, {40, 30}}})
	r := must(t, s, sensors, Options{}).Routes[0]
	if want := Rate(0.9, 10) * 2 * math.Hypot(30, 30); math.Abs(r.Cost-want) > 0.01*want {
		t.Errorf("cost %.4f, want %.4f", r.Cost, want)
	}
}

func TestNarrowCorridorOffTheGridCostsItsLength(t *testing.T) {
	for _, degrees := range []float64{0, 22.5, 45, 80} {
		for _, cell := range []float64{0.25, 1} {
			a := degrees * math.Pi / 180
			// A blind alley 1 m wide and 60 m long, all of it seen.
			s := &ground{
				walls:  []wall{{"F", turn(a, orb.Point{0, 0}, orb.Point{60, 0}, orb.Point{60, 1}, orb.Point{0, 1})}},
				assets: []asset{{"A", turn(a, orb.Point{59.5, .5})[0]}},
			}
			strip := turn(a, orb.Point{0, -20}, orb.Point{80, -20}, orb.Point{80, 20}, orb.Point{0, 20}, orb.Point{0, -20})
			r := must(t, s, []Sensor{{ID: "S", Shape: orb.MultiPolygon{{orb.Ring(strip)}}}}, Options{Cell: cell}).Routes[0]
			want := Rate(0.9, 10) * 59.5
			if !r.Reached || math.Abs(r.Cost-want) > 0.01*want {
				t.Errorf("%v degrees, cell %v: reached %v at %.4f, want %.4f", degrees, cell, r.Reached, r.Cost, want)
			}
		}
	}
}

// compound is a site of 150 m with a ring of ten sensors and three buildings.
func compound() (*ground, []Sensor) {
	s := &ground{assets: []asset{{"A", orb.Point{10, 5}}, {"B", box(-30, -20, -20, -12)}}}
	s.solids = []solid{{"H1", box(20, -10, 45, 12)}, {"H2", box(-45, 10, -12, 30)}, {"H3", box(-15, -50, 10, -30)}}
	var sensors []Sensor
	for k := range 10 {
		a := float64(k) * 2 * math.Pi / 10
		sensors = append(sensors, Sensor{ID: fmt.Sprint("S", k), Shape: orb.MultiPolygon{sector(orb.Point{70 * math.Cos(a), 70 * math.Sin(a)}, a+2.1, 0.5, 3, 50)}})
	}
	return s, sensors
}

func TestFinerCellsLeaveTheCostAsItIs(t *testing.T) {
	s, sensors := compound()
	for i := range s.assets {
		var first float64
		for _, cell := range []float64{2, 1, 0.5, 0.25} {
			r := must(t, s, sensors, Options{Cell: cell}).Routes[i]
			if first == 0 {
				first = r.Cost
			}
			if math.Abs(r.Cost-first) > 0.01*first || r.Cost > 1.01*r.Marched {
				t.Errorf("asset %s, cell %v: cost %.5f, at 2 m %.5f, fast marching %.5f", r.Asset, cell, r.Cost, first, r.Marched)
			}
		}
	}
}

func TestFenceWithOneOpening(t *testing.T) {
	for _, gap := range []float64{0, 0.3, 0.45, 0.6, 1} {
		for _, a := range []float64{0, 0.3, math.Pi / 8, math.Pi / 4} {
			for _, cell := range []float64{0.25, 1} {
				s := &ground{
					walls:  []wall{{"F", turn(a, orb.Point{20, 0}, orb.Point{100, 0}, orb.Point{100, 60}, orb.Point{0, 60}, orb.Point{0, 0}, orb.Point{20 - gap, 0})}},
					assets: []asset{{"A", turn(a, orb.Point{60, 40})[0]}},
				}
				r := must(t, s, nil, Options{Cell: cell}).Routes[0]
				if want := gap > 0.4; r.Reached != want || r.Undetected != want {
					t.Errorf("opening %v m, turned %v, cell %v: reached %v, undetected %v", gap, a, cell, r.Reached, r.Undetected)
					continue
				}
				if gap > 0.4 && s.through(r.Line, turn(a, orb.Point{20, 0}, orb.Point{20 - gap, 0})) != 1 {
					t.Errorf("opening %v m, turned %v: the route does not pass it: %v", gap, a, r.Line)
				}
			}
		}
	}
}

// through counts how often a route crosses a line.
func (*ground) through(route, line orb.LineString) int {
	n := 0
	for i := 1; i < len(route); i++ {
		for k := 1; k < len(line); k++ {
			if _, hit := meet(route[i-1], route[i], line[k-1], line[k]); hit {
				n++
			}
		}
	}
	return n
}

func TestThinFencesDoNotLeakAndOpeningsOfAMetreDo(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for trial := range 60 {
		// A star-shaped fence of random corners round the origin.
		n := 3 + r.IntN(12)
		var ring orb.LineString
		for k := range n {
			a := (float64(k) + 0.8*r.Float64()) / float64(n) * 2 * math.Pi
			d := 15 + 40*r.Float64()
			ring = append(ring, orb.Point{d * math.Cos(a), d * math.Sin(a)})
		}
		ring = append(ring, ring[0])
		o := Options{Cell: []float64{0.25, 0.7, 1}[trial%3]}
		s := &ground{assets: []asset{{"A", orb.Point{0, 0}}}}
		if n == 3 || dist(onto(orb.Point{}, outline(nil, ring, false, 0)), orb.Point{}) < 2 {
			continue // it may not enclose the origin
		}
		s.walls = []wall{{"F", ring}}
		if must(t, s, nil, o).Routes[0].Reached {
			t.Fatalf("trial %d, %+v: leaks: %v", trial, o, ring)
		}
		// One metre taken out of an edge.
		p, q := ring[n-1], ring[n]
		l := dist(p, q)
		at := 2 + r.Float64()*(l-5)
		if l < 6 {
			continue
		}
		s.walls = []wall{{"F", ring[:n]}, {"G", orb.LineString{p, mix(p, q, at/l)}}, {"H", orb.LineString{mix(p, q, (at+1)/l), q}}}
		got := must(t, s, nil, o).Routes[0]
		if !got.Reached || s.through(got.Line, orb.LineString{mix(p, q, at/l), mix(p, q, (at+1)/l)}) == 0 {
			t.Fatalf("trial %d, %+v: the opening is shut: %v", trial, o, ring)
		}
		for _, w := range s.walls {
			if s.through(got.Line, w.line) != 0 {
				t.Fatalf("trial %d, %+v: the route passes the fence: %v", trial, o, got.Line)
			}
		}
	}
}

func TestHoleInDetectionIsTheWayIn(t *testing.T) {
	for _, c := range []struct {
		slit   float64
		unseen bool
	}{{0.3, false}, {0.8, true}, {3, true}} {
		s := &ground{assets: []asset{{"A", orb.Point{0, 0}}}}
		f := hoop(30, 10)
		// The frame with a slit through its right side.
		cut := Sensor{ID: "S", Shape: orb.MultiPolygon{{orb.Ring{{40, c.slit / 2}, {40, 40}, {-40, 40}, {-40, -40}, {40, -40}, {40, -c.slit / 2},
			{30, -c.slit / 2}, {30, -30}, {-30, -30}, {-30, 30}, {30, 30}, {30, c.slit / 2}, {40, c.slit / 2}}}}}
		for _, o := range []Options{{}, {Cell: 1}} {
			r := must(t, s, []Sensor{cut}, o).Routes[0]
			if r.Undetected != c.unseen {
				t.Errorf("slit %v m, %+v: undetected %v, cost %v", c.slit, o, r.Undetected, r.Cost)
			}
			if c.unseen && (r.Cost != 0 || r.Detection != 0 || len(r.Passes) != 0 || s.through(r.Line, orb.LineString{{35, -c.slit / 2}, {35, c.slit / 2}}) != 1) {
				t.Errorf("slit %v m, %+v: %+v", c.slit, o, r)
			}
			if n := r.Narrow; c.unseen && (n == nil || math.Abs(n.Width-c.slit) > 0.1 || n.Between != [2]string{"S", "S"} || math.Abs(n.At[0]-35) > 5.5) {
				t.Errorf("slit %v m, %+v: narrowest at %+v", c.slit, o, n)
			}
			if whole := must(t, s, []Sensor{{ID: "S", Shape: f}}, o).Routes[0]; whole.Undetected || math.Abs(whole.Detection-0.9) > 1e-4 {
				t.Errorf("%+v: whole frame: %+v", o, whole)
			}
		}
	}
}

func TestSceneTellsWhereTheRoutePasses(t *testing.T) {
	var s site.Site
	s.Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 100, 60)})
	// Fenced all round, impassable, with one opening of 2 m at the gate.
	s.Add(model.KindObstacle, "F1", orb.LineString{{61, 0}, {100, 0}, {100, 60}, {0, 60}, {0, 0}, {59, 0}}, model.Prop("height_m", 2.4), model.Prop("see_through", true), model.Prop("impassable", true))
	s.Add(model.KindGate, "G1", orb.Point{60, 0}, model.Prop("width_m", 2))
	s.Add(model.KindObstacle, "H1", orb.LineString{{0, 20}, {100, 20}}, model.Prop("height_m", 1), model.Prop("delay_s", 7))
	s.Add(model.KindObstacle, "H2", orb.Polygon{site.Box(0, 25, 100, 28)}, model.Prop("height_m", 1), model.Prop("delay_s", 12))
	s.Building("HQ", site.Box(50, 40, 70, 50), 6)
	s.Add(model.KindAsset, "A1", orb.Point{60, 34})
	s.Add(model.KindAsset, "A2", orb.Polygon{site.Box(50, 40, 70, 50)}) // the building itself
	s.Add(model.KindAsset, "A3", orb.Point{60, 45})                     // in it
	sc := s.Scene(t)
	strip := Sensor{ID: "S1", Shape: orb.MultiPolygon{{site.Box(0, 5, 100, 15)}}}
	got, err := Find(context.Background(), sc, []Sensor{strip}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range got.Routes {
		if !r.Reached || r.Undetected || math.Abs(r.Detection-0.9) > 1e-3 || len(r.Passes) != 1 || r.Passes[0].Sensor != "S1" || math.Abs(r.Passes[0].To-r.Passes[0].From-10) > 0.05 {
			t.Errorf("%s: %+v", r.Asset, r)
		}
		if len(r.Crossings) != 1 || r.Crossings[0].Boundary != "B1" || math.Abs(r.Crossings[0].Chainage-60) > 1.01 || !r.Crossings[0].Inward || r.Crossings[0].Gate != "G1" {
			t.Errorf("%s: crossings %+v", r.Asset, r.Crossings)
		}
		if len(r.Delays) != 2 || r.Delays[0].Obstacle != "H1" || r.Delays[0].Seconds != 7 || r.Delays[1].Obstacle != "H2" || r.Delays[1].Seconds != 12 || r.Delays[0].Along >= r.Delays[1].Along {
			t.Errorf("%s: delays %+v", r.Asset, r.Delays)
		}
		if n := r.Narrow; n == nil || math.Abs(n.Width-2) > 0.1 || n.Between != [2]string{"F1", "F1"} || dist(n.At, orb.Point{60, 0}) > 1.1 {
			t.Errorf("%s: narrowest at %+v", r.Asset, n)
		}
		end := r.Line[len(r.Line)-1]
		if want := []orb.Point{{60, 34}, {60, 39.8}, {60, 39.8}}[i]; math.Abs(end[1]-want[1]) > 0.05 {
			t.Errorf("%s: the route ends at %v, want about %v: %v", r.Asset, end, want, r.Line)
		}
	}
}

func TestTasksOfARouteHoldItsTimesAndItsDetection(t *testing.T) {
	r := Route{Length: 100, Cost: 3.5,
		Passes: []Pass{{"S1", 20, 45, 2.5}, {"S2", 40, 60, 1}},
		Delays: []Delay{{"F", 5, 10}, {"D", 30, 100}}}
	tasks := r.Tasks(2, 0.3, 10)
	time, missed := 0.0, 1.0
	for _, k := range tasks {
		time += k.Delay
		missed *= 1 - k.Detect
		if math.Abs(k.DelaySD-0.3*k.Delay) > 1e-12 || k.Detect > 0 && k.At != Middle {
			t.Errorf("%+v", k)
		}
	}
	if math.Abs(time-(50+35)) > 1e-9 || math.Abs(1-missed-Probability(3.5)) > 1e-12 {
		t.Errorf("takes %v s, detected with %v: %+v", time, 1-missed, tasks)
	}
	if last := tasks[len(tasks)-1]; last.Name != "D" || last.Delay != 30 {
		t.Errorf("last: %+v", last)
	}
	// A response of no time at all interrupts whatever is detected.
	if p := Interruption(r.Tasks(2, 0, 10), 1, 0, 0); math.Abs(p-Probability(3.5)) > 1e-12 {
		t.Errorf("interrupted with %v", p)
	}
}

func TestOnlyBuildingsAndImpassableObstaclesStopAPerson(t *testing.T) {
	ring := orb.LineString{{-20, -20}, {20, -20}, {20, 20}, {-20, 20}, {-20, -20}}
	for _, c := range []struct {
		name    string
		add     func(s *site.Site)
		reached bool
	}{
		{"high wall that can be passed", func(s *site.Site) {
			s.Add(model.KindObstacle, "F", ring, model.Prop("height_m", 5), model.Prop("delay_s", 60))
		}, true},
		{"impassable fence", func(s *site.Site) {
			s.Add(model.KindObstacle, "F", ring, model.Prop("height_m", 1), model.Prop("impassable", true))
		}, false},
		{"impassable ring with thickness", func(s *site.Site) {
			s.Add(model.KindObstacle, "F", orb.Polygon{site.Box(-21, -21, 21, 21), site.Box(-20, -20, 20, 20)}, model.Prop("height_m", 1), model.Prop("impassable", true))
		}, false},
		{"building round a court", func(s *site.Site) {
			s.Add(model.KindBuilding, "F", orb.Polygon{site.Box(-30, -30, 30, 30), site.Box(-20, -20, 20, 20)}, model.Prop("height_m", 6))
		}, false},
		{"foliage, road and boundary", func(s *site.Site) {
			s.Add(model.KindFoliage, "F", orb.Polygon{site.Box(-20, -20, 20, 20)}, model.Prop("height_m", 6))
			s.Add(model.KindRoad, "R", ring)
			s.Add(model.KindBoundary, "B", orb.Polygon{orb.Ring(ring)})
		}, true},
		{"fence round the site beyond the boundary", func(s *site.Site) {
			s.Add(model.KindBoundary, "B", orb.Polygon{site.Box(-5, -5, 5, 5)})
			s.Add(model.KindObstacle, "F", orb.LineString{{-90, -90}, {90, -90}, {90, 90}, {-90, 90}, {-90, -90}}, model.Prop("height_m", 1), model.Prop("impassable", true))
		}, false},
	} {
		var s site.Site
		s.Add(model.KindAsset, "A", orb.Point{0, 0})
		c.add(&s)
		got, err := Find(context.Background(), s.Scene(t), nil, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if r := got.Routes[0]; r.Reached != c.reached {
			t.Errorf("%s: reached %v", c.name, r.Reached)
		}
	}
}

func TestAssetsAreReachedWhereTheyCanBe(t *testing.T) {
	shed := solid{"H", box(-3, -3, 3, 3)}
	fence := func(gap float64) wall {
		return wall{"F", orb.LineString{{10, gap / 2}, {10, 10}, {-10, 10}, {-10, -10}, {10, -10}, {10, -gap / 2}}}
	}
	for _, c := range []struct {
		name    string
		s       ground
		at      orb.Geometry
		reached bool
		end     orb.Point
		within  float64
	}{
		{"point in the open", ground{}, orb.Point{1, 2}, true, orb.Point{1, 2}, 1e-9},
		{"point in a building", ground{solids: []solid{shed}}, orb.Point{2, 0}, true, orb.Point{3.2, 0}, 8},
		{"point hard by a wall", ground{walls: []wall{{"F", orb.LineString{{0, -5}, {0, 5}}}}}, orb.Point{0.01, 0}, true, orb.Point{0.01, 0}, 0.2},
		{"area in the open", ground{}, box(0, 0, 4, 4), true, orb.Point{2, 2}, 3},
		{"area less than a bit", ground{}, box(0, 0, 0.001, 0.001), true, orb.Point{0, 0}, 0.1},
		{"area that is a building", ground{solids: []solid{shed}}, shed.shape, true, orb.Point{0, 0}, 4.8},
		{"area round a building", ground{solids: []solid{shed}}, box(-3.1, -3.1, 3.1, 3.1), true, orb.Point{0, 0}, 4.8},
		{"area whose outline is a shut fence", ground{walls: []wall{fence(0)}}, box(-10, -10, 10, 10), false, orb.Point{}, 0},
		{"area whose outline is a fence with an opening", ground{walls: []wall{fence(1)}}, box(-10, -10, 10, 10), true, orb.Point{10, 0}, 0.6},
		{"area behind a shut fence", ground{walls: []wall{fence(0)}}, box(-4, -4, 4, 4), false, orb.Point{}, 0},
	} {
		c.s.assets = []asset{{"A", c.at}}
		r := must(t, &c.s, nil, Options{}).Routes[0]
		if r.Reached != c.reached {
			t.Errorf("%s: reached %v", c.name, r.Reached)
			continue
		}
		if r.Reached {
			if end := r.Line[len(r.Line)-1]; dist(end, c.end) > c.within {
				t.Errorf("%s: ends at %v, want within %v of %v", c.name, end, c.within, c.end)
			}
		}
	}
}

func TestOrderOfSensorsDoesNotMatterAndTheSameComesOutTwice(t *testing.T) {
	s, sensors := compound()
	a, b := must(t, s, sensors, Options{}), must(t, s, sensors, Options{})
	if !reflect.DeepEqual(a, b) {
		t.Error("two runs differ")
	}
	turned := append(append([]Sensor(nil), sensors[4:]...), sensors[:4]...)
	c := must(t, s, turned, Options{})
	for i := range a.Routes {
		if math.Abs(a.Routes[i].Cost-c.Routes[i].Cost) > 1e-3*a.Routes[i].Cost {
			t.Errorf("%s: %v, and in another order %v", a.Routes[i].Asset, a.Routes[i].Cost, c.Routes[i].Cost)
		}
	}
}

func TestAFurtherSensorNeverMakesTheWayInEasier(t *testing.T) {
	s, sensors := compound()
	before := 0.0
	for n := 0; n <= len(sensors); n++ {
		r := must(t, s, sensors[:n], Options{}).Routes[0]
		if r.Cost < before*0.995 {
			t.Errorf("%d sensors: cost %v, one less %v", n, r.Cost, before)
		}
		before = r.Cost
	}
}

func TestOptionsOutOfRangeAreNamed(t *testing.T) {
	s := &ground{assets: []asset{{"A", orb.Point{}}}}
	for want, o := range map[string]Options{
		"crossing probability 1 is not between 0 and 1": {Probability: 1},
		"reference width (m) -1":                        {Width: -1},
		"person's width (m) 3":                          {Person: 3},
		"base cost a metre 1":                           {Base: 1},
		"cells a side 10":                               {Cells: 10},
		"cell (m) 100":                                  {Cell: 100},
		"crossing probability NaN":                      {Probability: math.NaN()},
	} {
		if _, err := find(context.Background(), s, nil, o); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want %q, got %v", want, err)
		}
	}
	if _, err := find(context.Background(), s, []Sensor{{ID: "S7", Rate: -1}}, Options{}); err == nil || !strings.Contains(err.Error(), "S7") {
		t.Errorf("got %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := find(ctx, s, nil, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func TestOddScenesDoNotPanic(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	odd := func() float64 { // few values, so that points coincide and lines lie on each other
		return float64(r.IntN(5))*2 + []float64{0, 0, 0, 1e-9, 0.3}[r.IntN(5)]
	}
	line := func() orb.LineString {
		var l orb.LineString
		for range r.IntN(6) {
			l = append(l, orb.Point{odd(), odd()})
		}
		return l
	}
	poly := func() orb.Polygon { return orb.Polygon{orb.Ring(append(line(), orb.Point{odd(), odd()}))} }
	n := 400
	if testing.Short() {
		n = 60
	}
	for range n {
		s := &ground{}
		for range r.IntN(4) {
			s.solids = append(s.solids, solid{"H", poly()})
		}
		for range r.IntN(4) {
			s.walls = append(s.walls, wall{"F", append(line(), orb.Point{odd(), odd()})})
		}
		for range 1 + r.IntN(3) {
			if r.IntN(2) == 0 {
				s.assets = append(s.assets, asset{"A", orb.Point{odd(), odd()}})
			} else {
				s.assets = append(s.assets, asset{"A", poly()})
			}
		}
		var sensors []Sensor
		for range r.IntN(5) {
			sensors = append(sensors, Sensor{ID: "S", Shape: orb.MultiPolygon{poly()}})
		}
		got := must(t, s, sensors, Options{Cell: 0.5})
		for _, a := range got.Routes {
			if a.Reached && (len(a.Line) == 0 || math.IsNaN(a.Cost) || math.IsNaN(a.Length)) {
				t.Fatalf("%+v", a)
			}
		}
	}
}

func TestEdgesFarFromOneAnotherTakeNoMoreMemory(t *testing.T) {
	for _, far := range []float64{1e5, 1e7} {
		for _, b := range []orb.Bound{{Max: orb.Point{far, far}}, {Max: orb.Point{far, 1}}, {Max: orb.Point{1, far}}} {
			x := newIndex([]edge{{a: b.Min, b: b.Max}}, b)
			if n := x.cols * x.rows; n > 4*mostBuckets {
				t.Errorf("%v: %d buckets", b.Max, n)
			}
			if near := x.near(b.Max, b.Max, 1); len(near) != 1 {
				t.Errorf("%v: %d edges near an end of the only one", b.Max, len(near))
			}
		}
	}
}
