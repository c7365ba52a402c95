package gdal_test

import (
	"context"
	"fmt"
	"math"
	"math/rand"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/model/pattern"
	"pleach/model/scene"
	"pleach/testdata/site"
)

// Tolerances of the engine on level ground against GEOS.
const (
	areaShare = 0.002 // of an area
	areaLeast = 0.01  // square metres
	chainage  = 0.05  // metres, of the ends of stretches
	chord     = 0.005 // metres, of an outline from the arc it stands for
)

// geosScene is a site of random outline with sensors along its boundary and
// inside, buildings (some with courtyards, some astride the boundary), walls,
// stacks, mesh, public ways, neighbours and trees that never screen.
func geosScene(r *rand.Rand, kind int) *site.Site {
	var s site.Site
	at := func(reach float64) orb.Point {
		return orb.Point{(r.Float64()*2 - 1) * reach, (r.Float64()*2 - 1) * reach}
	}
	n := 4 + r.Intn(7)
	var ring orb.Ring
	for i := range n {
		a := 2 * math.Pi * (float64(i) + 0.5*r.Float64()) / float64(n)
		d := 25 + r.Float64()*35
		ring = append(ring, orb.Point{d * math.Cos(a), d * math.Sin(a)})
	}
	if r.Intn(2) == 0 {
		slices.Reverse(ring)
	}
	ring = append(ring, ring[0])
	switch {
	case kind%5 == 4: // an open line
		s.Add(model.KindBoundary, "B1", orb.LineString(ring[:n-1]))
	default:
		s.Add(model.KindBoundary, "B1", orb.Polygon{ring})
	}
	if kind%4 == 3 {
		s.Add(model.KindPremises, "L1", orb.Polygon{site.Turned(at(8), 70+r.Float64()*30, 70+r.Float64()*30, r.Float64()*3), site.Turned(at(5), 6, 9, r.Float64()*3)})
	}
	for range 2 + r.Intn(6) {
		c := at(55)
		switch r.Intn(5) {
		case 0: // a courtyard
			w, h, turn := 9+r.Float64()*10, 9+r.Float64()*10, r.Float64()*3
			s.Add(model.KindBuilding, "", orb.Polygon{site.Turned(c, w, h, turn), site.Turned(c, w-6, h-6, turn)}, model.Prop("height_m", 0.5+r.Float64()*6))
		case 1: // an L
			l := orb.Ring{c, {c[0] + 12, c[1]}, {c[0] + 12, c[1] + 4}, {c[0] + 5, c[1] + 4}, {c[0] + 5, c[1] + 11}, {c[0], c[1] + 11}, c}
			s.Building("", l, 1+r.Float64()*5)
		default:
			s.Building("", site.Turned(c, 2+r.Float64()*14, 2+r.Float64()*10, r.Float64()*3), 0.4+r.Float64()*6)
		}
	}
	for range r.Intn(5) {
		c := at(50)
		p, q := orb.Point{c[0] + r.Float64()*30 - 15, c[1] + r.Float64()*30 - 15}, orb.Point{c[0] + r.Float64()*30 - 15, c[1] + r.Float64()*30 - 15}
		height := model.Prop("height_m", 0.3+r.Float64()*4)
		switch r.Intn(4) {
		case 0:
			s.Add(model.KindObstacle, "", orb.LineString{c, p, q}, height, model.Prop("impassable", true))
		case 1:
			s.Add(model.KindObstacle, "", orb.LineString{c, p}, height, model.Prop("see_through", true))
		case 2:
			s.Add(model.KindObstacle, "", orb.Polygon{site.Turned(c, 3+r.Float64()*8, 1+r.Float64()*3, r.Float64()*3)}, height, model.Prop("impassable", r.Intn(2) == 0))
		default:
			s.Add(model.KindObstacle, "", orb.LineString{c, p, q}, height)
		}
	}
	if r.Intn(2) == 0 { // along an edge, a little aside
		p, q := ring[0], ring[1]
		d := math.Hypot(q[0]-p[0], q[1]-p[1])
		x, y := (q[0]-p[0])/d, (q[1]-p[1])/d
		s.Add(model.KindExcluded, "", orb.LineString{{p[0] + x*d*0.3 - 0.2*y, p[1] + y*d*0.3 + 0.2*x}, {p[0] + x*d*0.6 - 0.2*y, p[1] + y*d*0.6 + 0.2*x}}, model.Prop("reason", "water"))
	}
	way := func(k model.Kind, props ...model.Member) {
		a := r.Float64() * 2 * math.Pi
		l := orb.LineString{}
		for i := range 3 {
			d := 35 + r.Float64()*25
			l = append(l, orb.Point{d * math.Cos(a+float64(i)*0.7), d * math.Sin(a+float64(i)*0.7)})
		}
		s.Add(k, "", l, props...)
	}
	way(model.KindRoad)
	way(model.KindRoad, model.Prop("width_m", 4.0))
	way(model.KindRoad, model.Prop("private", true))
	way(model.KindFootpath, model.Prop("width_m", 3.0))
	s.Add(model.KindRoad, "", orb.Polygon{site.Turned(at(70), 30, 12, r.Float64()*3)})
	for range 2 {
		s.Add(model.KindNeighbour, "", orb.Polygon{site.Turned(at(70), 60, 50, r.Float64()*3)})
	}
	for range r.Intn(3) {
		s.Add(model.KindFoliage, "", orb.Polygon{site.Turned(at(50), 5+r.Float64()*20, 5+r.Float64()*20, r.Float64()*3)}, model.Prop("height_m", 0.5+r.Float64()*8), model.Prop("density", "light"))
	}
	var lobes []map[string]any
	reach := 12 + r.Float64()*40
	for k := range 1 + r.Intn(3) {
		up := r.Float64()*8 - 4
		lobes = append(lobes, map[string]any{"azimuth_deg": r.Float64()*60 - 30, "width_deg": 3 + r.Float64()*100, "up_deg": up, "down_deg": -up + 1 + r.Float64()*30, "range_m": reach / float64(1+k)})
	}
	if r.Intn(4) == 0 {
		lobes[0]["width_deg"] = 360.0
	}
	s.Set("models", []map[string]any{{"id": "odd", "lobes": lobes}})
	s.Set("postures", []map[string]any{{"name": "crawl", "height_m": 0.35}})
	ids := []string{"odd"}
	for _, m := range model.Builtin() {
		ids = append(ids, m.ID)
	}
	for i := range 4 {
		p := at(45)
		k := r.Intn(n)
		q, o := ring[k], ring[k+1]
		if i%2 == 0 { // at the boundary, looking along it
			p = orb.Point{q[0]*0.96 + 0.02*o[0], q[1]*0.96 + 0.02*o[1]}
		}
		bearing := math.Atan2(o[0]-p[0], o[1]-p[1])/degree + r.Float64()*20 - 10
		if i == 3 {
			bearing = r.Float64() * 360
		}
		var props []model.Member
		if r.Intn(3) == 0 {
			a := r.Float64()*80 - 40
			props = append(props, model.Prop("masked", []map[string]any{{"from_deg": a, "to_deg": a + r.Float64()*20}}))
		}
		s.Sensor(fmt.Sprintf("S%d", i+1), p, ids[r.Intn(len(ids))], 2+r.Float64()*2, bearing, r.Float64()*5-1, props...)
	}
	return &s
}

// eyeOf gives the oracle a sensor where the engine says its optical centre is.
func eyeOf(p *model.Plan, s analysis.Sensor) eye {
	v := p.Feature(s.ID).Value.(*model.Sensor)
	m, _ := p.Model(v.Model)
	return eye{at: s.At, z: s.Height, bearing: v.Bearing, tilt: v.Tilt, masked: v.Masked, lobes: m.Lobes}
}

// within reports whether two areas agree.
func within(got, want float64) bool {
	return math.Abs(got-want) <= math.Max(areaLeast, areaShare*want)
}

// perimeter is the length of an outline.
func perimeter(m orb.MultiPolygon) (sum float64) {
	for _, p := range m {
		for _, r := range p {
			for i := 0; i+1 < len(r); i++ {
				sum += math.Hypot(r[i+1][0]-r[i][0], r[i+1][1]-r[i][1])
			}
		}
	}
	return sum
}

// Everything the engine says of areas and chainage on level ground, against
// shapes drawn and overlaid by GEOS 3.11 (through GDAL).
func TestOutsideEngineAgreesWithGEOS(t *testing.T) {
	n := 14
	if testing.Short() {
		n = 4
	}
	var seen tally
	for k := range n {
		t.Run(fmt.Sprintf("scene %d", k), func(t *testing.T) {
			r := rand.New(rand.NewSource(int64(1000 + k)))
			sc := geosScene(r, k).Scene(t)
			res, err := analysis.RunOn(context.Background(), sc, nil)
			if err != nil {
				t.Fatal(err)
			}
			compareWithGEOS(t, res, &seen)
		})
	}
	t.Log(seen.String())
	if !testing.Short() && (seen.prints < 40 || seen.spills < 60 || seen.ends < 150 || seen.leaves < 5) {
		t.Errorf("the scenes prove little: %s", seen.String())
	}
}

// tally counts what was compared and keeps the worst of it.
type tally struct {
	prints, spills, leaves, ends      int
	printWorst, spillWorst, leafWorst float64 // share of the area
	apartWorst, endWorst, depthWorst  float64
}

func (s tally) String() string {
	return fmt.Sprintf("%d footprints, worst area %.3g %%, worst area apart %.3g %%; %d overspills, worst %.3g %%, worst depth %.3g m; %d foliage areas, worst %.3g %%; %d ends of stretches, worst %.3g m",
		s.prints, 100*s.printWorst, 100*s.apartWorst, s.spills, 100*s.spillWorst, s.depthWorst, s.leaves, 100*s.leafWorst, s.ends, s.endWorst)
}

func worse(worst *float64, got, want float64) {
	if want > 1 {
		*worst = math.Max(*worst, math.Abs(got-want)/want)
	}
}

func compareWithGEOS(t *testing.T, res *analysis.Result, seen *tally) {
	g := geos{t}
	sc, set := res.Scene, res.Plan.Settings
	ws := walls(sc)
	target := body{height: set.Target.Height, part: set.Target.MinVisible}
	crawl := body{height: set.Postures[0].Height, part: set.Postures[0].MinVisible}
	var prints, crawls []orb.MultiPolygon
	for _, s := range res.Sensors {
		if s.Buried != "" {
			prints, crawls = append(prints, nil), append(crawls, nil)
			continue
		}
		e := eyeOf(res.Plan, s)
		for _, shape := range []orb.MultiPolygon{s.Footprint, s.Clear, s.LookDown} {
			if err := gdal.Valid(shape); err != nil {
				t.Errorf("%s: footprint: %v", s.ID, err)
				return
			}
		}
		want := g.footprint(e, ws, target)
		prints = append(prints, want)
		crawls = append(crawls, g.footprint(e, ws, crawl))
		a := g.area(want)
		seen.prints++
		worse(&seen.printWorst, s.Area, a)
		if !within(s.Area, a) {
			t.Errorf("%s: footprint %.3f m2, GEOS %.3f", s.ID, s.Area, a)
		}
		if b := g.area(s.Footprint); math.Abs(b-s.Area) > areaLeast+1e-3*a+chord*perimeter(s.Footprint) {
			t.Errorf("%s: its outline has %.4f m2 by GEOS, it says %.4f", s.ID, b, s.Area)
		}
		apart := g.apart(s.Footprint, want)
		if a > 1 {
			seen.apartWorst = math.Max(seen.apartWorst, apart/a)
		}
		if apart > math.Max(areaLeast, areaShare*a)+chord*perimeter(want)/2 {
			t.Errorf("%s: %.3f of %.3f m2 lie in the footprint or in GEOS's but not in both", s.ID, apart, a)
		}
		compareSpill(t, g, res, s, e, ws, seen)
		compareFoliage(t, g, sc, s, e, ws, seen)
	}
	for i, b := range res.Boundaries {
		f := fence{sc.Boundaries[i], sc, set.CrossingDepth}
		compareStretches(t, f, b.Target, prints, set.MinPath, seen)
		if len(b.Postures) == 1 {
			compareStretches(t, f, b.Postures[0], crawls, set.MinPath, seen)
		}
	}
}

func compareSpill(t *testing.T, g geos, res *analysis.Result, s analysis.Sensor, e eye, ws []wall, seen *tally) {
	sc, set := res.Scene, res.Plan.Settings
	var inside []orb.MultiPolygon
	var outline []orb.LineString
	own := func(p orb.Polygon) {
		inside = append(inside, orb.MultiPolygon{p})
		for _, r := range p {
			outline = append(outline, orb.LineString(r))
		}
	}
	for _, a := range sc.Premises {
		own(a.Shape[0])
	}
	if len(inside) == 0 {
		for _, b := range sc.Boundaries {
			if b.Closed {
				own(orb.Polygon{orb.Ring(b.Line)})
			}
		}
	}
	type key struct{ class, on, who string }
	want := map[key]orb.MultiPolygon{}
	split := func(who string, b body) {
		left := g.footprint(e, ws, b) // not yet given to a class
		take := func(class, on string, ground, from orb.MultiPolygon) {
			part := g.both(from, ground)
			if g.area(part) > 1e-6 {
				want[key{class, on, who}] = part
			}
		}
		for _, kind := range []model.Kind{model.KindRoad, model.KindFootpath} {
			for _, f := range res.Plan.Of(kind) {
				w := f.Value.(*model.Way)
				if w.Private || kind == model.KindFootpath && who == "vehicle" {
					continue
				}
				var ground orb.MultiPolygon
				switch shape := sc.Shape(f.ID).(type) {
				case orb.Polygon:
					ground = orb.MultiPolygon{shape}
				case orb.LineString:
					ground = g.band(shape, w.Width)
				}
				take(string(kind), f.ID, ground, left)
				left = g.less(left, ground)
			}
		}
		if who == "vehicle" {
			return
		}
		left = g.less(left, g.union(inside...))
		for _, f := range res.Plan.Of(model.KindNeighbour) {
			ground := orb.MultiPolygon{sc.Shape(f.ID).(orb.Polygon)}
			take("neighbour", f.ID, ground, left)
			left = g.less(left, ground)
		}
		if len(inside) > 0 && g.area(left) > 1e-6 {
			want[key{"open", "", who}] = left
		}
	}
	split("person", body{height: set.Target.Height, part: set.OverspillMinVisible})
	split("vehicle", body{height: set.VehicleHeight, part: set.OverspillMinVisible, factor: set.VehicleRangeFactor})
	got := map[key]bool{}
	for _, o := range s.Overspill {
		k := key{o.Class, o.On, o.For}
		if got[k] {
			t.Errorf("%s: two overspills %v", s.ID, k)
		}
		got[k] = true
		if err := gdal.Valid(o.Shape); err != nil {
			t.Errorf("%s: overspill %v: %v", s.ID, k, err)
			continue
		}
		a := g.area(want[k])
		seen.spills++
		worse(&seen.spillWorst, o.Area, a)
		if !within(o.Area, a) {
			t.Errorf("%s: overspill %v: %.4f m2, GEOS %.4f", s.ID, k, o.Area, a)
		}
		if apart := g.apart(o.Shape, want[k]); apart > math.Max(areaLeast, areaShare*a)+chord*perimeter(want[k])/2 {
			t.Errorf("%s: overspill %v: %.4f of %.4f m2 lie in one of the two but not in both", s.ID, k, apart, a)
		}
		if (o.Depth == nil) != (len(inside) == 0) {
			t.Errorf("%s: overspill %v: depth %v with %d areas inside", s.ID, k, o.Depth, len(inside))
		} else if o.Depth != nil {
			d := depthBeyond(g.less(want[k], g.union(inside...)), outline)
			seen.depthWorst = math.Max(seen.depthWorst, math.Abs(d-*o.Depth))
			if math.Abs(d-*o.Depth) > 0.06 {
				t.Errorf("%s: overspill %v: depth %.3f m, GEOS %.3f", s.ID, k, *o.Depth, d)
			}
		}
	}
	for k, shape := range want {
		if a := g.area(shape); !got[k] && a > areaLeast {
			t.Errorf("%s: no overspill %v, GEOS has %.4f m2", s.ID, k, a)
		}
	}
}

// depthBeyond is the greatest distance of a shape from the lines, every 2 cm of
// its outline and every 10 cm inside the holes that the lines enclose.
func depthBeyond(m orb.MultiPolygon, lines []orb.LineString) float64 {
	from := func(q orb.Point) float64 {
		d := math.Inf(1)
		for _, line := range lines {
			for j := 0; j+1 < len(line); j++ {
				d = math.Min(d, segmentDistance(line[j], line[j+1], q))
			}
		}
		return d
	}
	worst := 0.0
	for _, p := range m {
		if scene.SignedArea(p[0])*scene.SignedArea(p[0]) < 1e-12 {
			continue
		}
		for _, r := range p {
			for i := 0; i+1 < len(r); i++ {
				a, b := r[i], r[i+1]
				l := math.Hypot(b[0]-a[0], b[1]-a[1])
				for w := 0.0; w < l; {
					q := orb.Point{a[0] + w/l*(b[0]-a[0]), a[1] + w/l*(b[1]-a[1])}
					d := from(q)
					if d > worst && hasWidth(p, q) {
						worst = d
					}
					// No place nearer than this can be farther from the lines.
					w += math.Max(0.02, worst-d)
				}
			}
		}
		b := p.Bound()
		if b.Max[0]-b.Min[0] > 12 || b.Max[1]-b.Min[1] > 12 { // wider than the holes of these scenes
			continue
		}
		for x := b.Min[0]; x < b.Max[0]; x += 0.1 {
			for y := b.Min[1]; y < b.Max[1]; y += 0.1 {
				if q := (orb.Point{x, y}); pattern.Inside(p, q) {
					worst = math.Max(worst, from(q))
				}
			}
		}
	}
	return worst
}

// hasWidth reports whether some of the polygon lies about a place on its outline:
// an overlay leaves spikes of no width.
func hasWidth(p orb.Polygon, q orb.Point) bool {
	for k := range 16 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 8)
		if pattern.Inside(p, orb.Point{q[0] + 0.003*sin, q[1] + 0.003*cos}) {
			return true
		}
	}
	return false
}

func compareFoliage(t *testing.T, g geos, sc *scene.Scene, s analysis.Sensor, e eye, ws []wall, seen *tally) {
	var parts []orb.MultiPolygon
	for _, f := range sc.Foliage {
		parts = append(parts, g.both(orb.MultiPolygon{f.Shape}, g.footprint(e, ws, body{height: f.Height, touch: true})))
	}
	want := g.area(g.union(parts...))
	if want > 0.1 {
		seen.leaves++
	}
	worse(&seen.leafWorst, s.Foliage, want)
	if !within(s.Foliage, want) {
		t.Errorf("%s: foliage %.4f m2, GEOS %.4f", s.ID, s.Foliage, want)
	}
}

func compareStretches(t *testing.T, f fence, c analysis.Coverage, prints []orb.MultiPolygon, path float64, seen *tally) {
	const (
		unknown = -2
		closed  = 1000 // else the number of sensors
	)
	length := f.Length()
	raw := f.walk(0.05, unknown, closed, func(s float64) int {
		if f.closed(s) {
			return closed
		}
		n := 0
		for _, shape := range prints {
			yes, known := f.covered(s, shape, path)
			if !known {
				return unknown
			}
			if yes {
				n++
			}
		}
		return n
	})
	compare := func(what string, got, want []stretch) {
		seen.ends += len(got)
		lengths, whole := differing(got, want, length)
		for i, d := range lengths {
			switch {
			case d <= chainage:
				seen.endWorst = math.Max(seen.endWorst, d)
			case whole[i] && math.Abs(d-0.1) < 0.02: // kept by one, merged by the other
			default:
				t.Errorf("%s, %s: %.4f m differ; engine %v, GEOS %v", c.Name, what, d, got, want)
				return
			}
		}
	}
	var got []stretch
	for _, s := range c.Stretches {
		got = append(got, stretch{s.From, s.To, int(s.State)})
	}
	compare("covered and closed", got, f.merged(raw, func(n int) int {
		switch n {
		case closed:
			return int(coverage.Closed)
		case 0:
			return int(coverage.Uncovered)
		}
		return int(coverage.Covered)
	}))
	got = nil
	last := 0.0
	for _, s := range c.Overlaps {
		got = append(got, stretch{last, s.From, 0}, stretch{s.From, s.To, 1})
		last = s.To
	}
	got = append(got, stretch{last, length, 0})
	compare("overlap", got, f.merged(raw, func(n int) int {
		if n >= 2 && n != closed {
			return 1
		}
		return 0
	}))
}
