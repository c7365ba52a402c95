// Package drawingtest is an invented depot with a result set by hand, for
// tests of what is drawn. Its figures are not the analysis's: they are chosen
// so that every meaning occurs.
package drawingtest

import (
	"math"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/model/wayin"
)

// Sector is a pattern on level ground: from near to far metres, width degrees
// wide about a bearing, n points along each arc.
func Sector(at orb.Point, bearing, width, near, far float64, n int) orb.MultiPolygon {
	var r orb.Ring
	put := func(d, a float64) {
		s, c := math.Sincos(a * math.Pi / 180)
		r = append(r, orb.Point{at[0] + d*s, at[1] + d*c})
	}
	for i := 0; i <= n; i++ {
		put(far, bearing-width/2+width*float64(i)/float64(n))
	}
	for i := n; i >= 0; i-- {
		put(near, bearing-width/2+width*float64(i)/float64(n))
	}
	return orb.MultiPolygon{{append(r, r[0])}}
}

// Rect is a rectangle.
func Rect(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

// Depot returns a site of 240 by 160 metres about its origin with one feature
// of every kind, one of them flawed, and a result.
func Depot() (*scene.Scene, *analysis.Result) {
	grid := sitegrid.New(10, 50)
	var features []*model.Feature
	add := func(k model.Kind, id string, g orb.Geometry, props ...model.Member) {
		features = append(features, model.NewFeature(k, id, grid.Back(g), props...))
	}
	p := model.Prop
	add(model.KindBoundary, "B1", Rect(-120, -80, 120, 80))
	add(model.KindPremises, "L1", Rect(-135, -95, 130, 92))
	add(model.KindNeighbour, "N1", Rect(130, -60, 190, 70), p("name", "Orchard farm"))
	add(model.KindRoad, "R1", orb.LineString{{-200, -112}, {40, -112}, {200, -104}}, p("name", "Mill lane"))
	add(model.KindRoad, "R2", orb.LineString{{0, -112}, {0, -30}, {30, -10}}, p("private", true), p("width_m", 5))
	add(model.KindFootpath, "P1", orb.LineString{{-200, 98}, {-20, 96}, {200, 112}})
	add(model.KindFootpath, "P2", orb.LineString{{-60, -20}, {-60, 60}}, p("private", true), p("width_m", 1.5))
	add(model.KindFoliage, "F1", orb.Polygon{{{-118, 40}, {-86, 34}, {-70, 50}, {-76, 78}, {-110, 76}, {-118, 40}}}, p("height_m", 9))
	add(model.KindAsset, "A1", Rect(40, 10, 84, 36), p("name", "Cable drums"))
	add(model.KindBuilding, "H1", Rect(-52, -34, -12, 4), p("name", "Store"), p("height_m", 6))
	add(model.KindBuilding, "H2", orb.Polygon{{{50, -60}, {92, -52}, {88, -32}, {72, -36}, {70, -26}, {44, -31}, {50, -60}}}, p("name", "Pump house"), p("height_m", 4))
	add(model.KindObstacle, "O1", orb.LineString{{-104, -50}, {-84, -20}, {-84, 12}}, p("height_m", 2.5))
	add(model.KindObstacle, "O2", orb.LineString{{10, 50}, {96, 50}}, p("height_m", 2), p("see_through", true))
	add(model.KindHazard, "Z1", orb.LineString{{-200, 16}, {-10, 46}, {200, 40}}, p("what", "Overhead line"))
	add(model.KindView, "V1", orb.Polygon{{{-2, -78}, {30, -6}, {56, -24}, {-2, -78}}}, p("name", "Gate view"))
	add(model.KindGate, "G1", orb.Point{0, -80}, p("name", "Main gate"), p("width_m", 8))
	add(model.KindExcluded, "E1", orb.LineString{{120, 30}, {120, 70}}, p("reason", "quarry face"))
	sensor := func(id string, at orb.Point, bearing float64, model_ string, more ...model.Member) {
		add(model.KindSensor, id, at, append([]model.Member{p("model", model_), p("mount_height_m", 3), p("bearing_deg", bearing), p("tilt_deg", 2)}, more...)...)
	}
	sensor("S1", orb.Point{-118, -78}, 90, "curtain-3-100")
	sensor("S2", orb.Point{14, -76}, 60, "sector-90-25", p("name", "S2 gate lodge"))
	sensor("S3", orb.Point{118, -78}, 0, "curtain-3-100")
	sensor("S4", orb.Point{112, 74}, 268, "fan-30-40")
	sensor("S5", orb.Point{-116, 76}, 180, "curtain-3-100")
	sensor("S6", orb.Point{-52, 5}, 320, "sector-90-25", p("name", "S6 store"))
	sensor("S7", orb.Point{-20, 30}, 45, "sector-90-16", p("tilt_deg", 95))
	add(model.KindRepeater, "RP1", orb.Point{72, -26}, p("antenna_height_m", 5))
	add(model.KindReceiver, "RX", orb.Point{-20, -10}, p("antenna_height_m", 8), p("name", "Control room"))
	add(model.KindReading, "M1", orb.Point{-40, 40}, p("of", []string{"S6"}), p("what", "walk-test"))
	plan, err := model.Add{Features: features}.Apply(model.NewPlan())
	if err != nil {
		panic(err)
	}
	sc := scene.On(plan, grid)
	return sc, result(sc)
}

func result(sc *scene.Scene) *analysis.Result {
	r := &analysis.Result{Plan: sc.Plan, Scene: sc}
	type seen struct {
		at         orb.Point
		bearing, w float64
		far        float64
	}
	for _, d := range []struct {
		id string
		seen
	}{
		{"S1", seen{orb.Point{-118, -78}, 90, 5, 100}}, {"S2", seen{orb.Point{14, -76}, 60, 90, 25}}, {"S3", seen{orb.Point{118, -78}, 0, 5, 100}},
		{"S4", seen{orb.Point{112, 74}, 268, 30, 40}}, {"S5", seen{orb.Point{-116, 76}, 180, 5, 100}}, {"S6", seen{orb.Point{-52, 5}, 320, 90, 25}},
	} {
		r.Sensors = append(r.Sensors, analysis.Sensor{ID: d.id, At: d.at, Footprint: Sector(d.at, d.bearing, d.w, 1.5, d.far, 16),
			LookDown: Sector(d.at, d.bearing, d.w+8, 0.5, 8, 6)})
	}
	r.Sensors[4].Screened = Sector(orb.Point{-116, 76}, 180, 5, 12, 36, 4)
	r.Sensors[1].Overspill = []analysis.Overspill{
		{Class: "road", On: "R1", For: "person", Area: 60, Shape: orb.MultiPolygon{Rect(-30, -115, 10, -109)}},
		{Class: "road", On: "R1", For: "vehicle", Area: 120, Shape: orb.MultiPolygon{Rect(-50, -115, 30, -109)}},
	}
	r.Sensors[2].Overspill = []analysis.Overspill{{Class: "neighbour", On: "N1", For: "person", Area: 200, Shape: orb.MultiPolygon{Rect(130, -20, 136, 14)}}}
	r.Sensors[3].Overspill = []analysis.Overspill{{Class: "footpath", On: "P1", For: "person", Area: 40, Shape: orb.MultiPolygon{Rect(60, 100, 84, 104)}}}
	r.Sensors[4].Overspill = []analysis.Overspill{{Class: "open", For: "person", Area: 90, Shape: orb.MultiPolygon{Rect(-140, -10, -120, 16)}}}
	link := func(from, to string, margin float64) {
		at := func(id string) orb.Point { return sc.Shape(id).(orb.Point) }
		r.Links = append(r.Links, analysis.Link{From: from, To: to, A: at(from), B: at(to), Margin: margin, Required: 14, InUse: true})
	}
	link("S1", "RX", 24)
	link("S2", "RX", 31)
	link("S3", "RP1", 34)
	link("S4", "RP1", 15.6)
	link("S5", "RX", 9)
	link("S6", "RX", 40)
	link("RP1", "RX", 22)
	r.Links = append(r.Links, analysis.Link{From: "S3", To: "RX", A: orb.Point{118, -78}, B: orb.Point{-20, -10}, Margin: 4, Required: 14})

	span := func(from, to float64) coverage.Span { return coverage.Span{From: from, To: to} }
	// 0 the lower left corner, 240 the lower right, 400 the upper right, 640
	// the upper left, 800 back at the start.
	covered := []coverage.Span{span(0, 108), span(134, 158), span(240, 340), span(408, 452), span(700, 800)}
	target := analysis.Coverage{Name: "target",
		Stretches: []coverage.Stretch{
			{Span: covered[0], State: coverage.Covered}, {Span: span(108, 134)}, {Span: covered[1], State: coverage.Covered}, {Span: span(158, 240)},
			{Span: covered[2], State: coverage.Covered}, {Span: span(340, 350)}, {Span: span(350, 390), State: coverage.Closed}, {Span: span(390, 408)},
			{Span: covered[3], State: coverage.Covered}, {Span: span(452, 700)}, {Span: covered[4], State: coverage.Covered},
		},
		Overlaps: []coverage.Span{span(96, 108)},
	}
	b := &sc.Boundaries[0]
	for _, s := range target.Stretches {
		if s.State == coverage.Uncovered {
			target.Gaps = append(target.Gaps, analysis.Gap{Span: s.Span, Length: s.To - s.From, Cause: coverage.OutOfReach, Middle: b.Point((s.From + s.To) / 2)})
		}
	}
	r.Boundaries = []analysis.Boundary{{ID: "B1", Length: 800, Closed: 40, Target: target,
		Postures: []analysis.Coverage{{Name: "crawl", Stretches: []coverage.Stretch{{Span: span(0, 100), State: coverage.Covered}, {Span: span(100, 800)}},
			Gaps: []analysis.Gap{{Span: span(100, 800), Length: 700}}}},
		Spans: []analysis.SensorSpans{{ID: "S1", Spans: []coverage.Span{span(0, 108)}}, {ID: "S2", Spans: []coverage.Span{span(96, 108), span(134, 158)}},
			{ID: "S3", Spans: []coverage.Span{span(240, 340)}}, {ID: "S4", Spans: []coverage.Span{span(408, 452)}}, {ID: "S5", Spans: []coverage.Span{span(700, 4)}}},
	}}
	// Two ways to one asset, for their looks.
	r.Ways = &analysis.Ways{List: []analysis.Way{
		{Route: wayin.Route{Asset: "A1", Reached: true, Undetected: true, Line: orb.LineString{{-30, 135}, {-30, 60}, {40, 24}}, Length: 154,
			Crossings: []wayin.Crossing{{Boundary: "B1", Chainage: 550, At: orb.Point{-30, 80}, Along: 55, Inward: true}}}},
		{Route: wayin.Route{Asset: "A1", Reached: true, Line: orb.LineString{{100, -140}, {100, -60}, {84, 15}}, Length: 157, Cost: 2.5, Detection: 0.92,
			Passes:    []wayin.Pass{{Sensor: "S3", From: 63, To: 74, Cost: 2.5}},
			Crossings: []wayin.Crossing{{Boundary: "B1", Chainage: 220, At: orb.Point{100, -80}, Along: 60, Inward: true}}}},
	}}
	f := func(v float64) *float64 { return &v }
	r.Findings = []model.Finding{
		{Rule: "gap", Severity: model.Fault, Subject: []string{"B1"}, From: f(340), To: f(350), Accepted: &model.Accepted{}},
		{Rule: "shallow", Severity: model.Warning, Subject: []string{"B1"}, From: f(430), To: f(460)},
		{Rule: "head-on", Severity: model.Warning, Subject: []string{"B1", "S3"}, From: f(262), To: f(290)},
	}
	return r
}
