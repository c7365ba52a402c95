package pattern

import (
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/testdata/site"
)

// seenAt decides by the contract's own words whether a target at p is seen, one
// point at a time and by no shared code: the oracle of the sweep.
func seenAt(sc *scene.Scene, e *Eye, m model.SensorModel, tiltDeg float64, t Target, p orb.Point) bool {
	dx, dy := p[0]-e.At[0], p[1]-e.At[1]
	d := math.Hypot(dx, dy)
	alpha := math.Remainder(math.Atan2(dx, dy)-e.Bearing, 2*math.Pi)
	at := func(s float64) orb.Point { return orb.Point{e.At[0] + s*dx, e.At[1] + s*dy} }
	// The horizon: walk the sight line through every crossing of an outline.
	horizon := math.Inf(-1)
	look := func(poly orb.Polygon, top float64) bool {
		if Inside(poly, p) {
			return false
		}
		cuts := []float64{0, 1}
		for _, r := range poly {
			for i := 0; i+1 < len(r); i++ {
				if s, ok := crossing(e.At, p, r[i], r[i+1]); ok {
					cuts = append(cuts, s)
				}
			}
		}
		sortFloats(cuts)
		for i := 0; i+1 < len(cuts); i++ {
			if cuts[i+1]-cuts[i] < 1e-12 || !Inside(poly, at((cuts[i]+cuts[i+1])/2)) {
				continue
			}
			for _, s := range []float64{cuts[i], cuts[i+1]} {
				if s > 0 {
					horizon = math.Max(horizon, (top-e.Z)/(s*d))
				} else if top > e.Z {
					horizon = math.Inf(1)
				}
			}
		}
		return true
	}
	for _, b := range sc.Buildings {
		if !look(b.Shape, b.Top) {
			return false
		}
	}
	for _, o := range sc.Obstacles {
		if o.SeeThrough {
			continue
		}
		if o.Shape != nil {
			if !look(o.Shape, o.Height) {
				return false
			}
			continue
		}
		for i := 0; i+1 < len(o.Line); i++ {
			if s, ok := crossing(e.At, p, o.Line[i], o.Line[i+1]); ok && s > 0 && s < 1 {
				horizon = math.Max(horizon, (o.Height-e.Z)/(s*d))
			}
		}
	}
	for _, l := range m.Lobes {
		rel := math.Remainder(alpha-l.Azimuth*math.Pi/180, 2*math.Pi)
		if math.Abs(rel) > l.Width/2*math.Pi/180 {
			continue
		}
		axis := math.Atan(math.Tan(tiltDeg*math.Pi/180) * math.Cos(alpha))
		hold := func(a float64) float64 { return math.Max(-89.9, math.Min(89.9, a*180/math.Pi)) * math.Pi / 180 }
		low, up := hold(axis+l.Down*math.Pi/180), hold(axis-l.Up*math.Pi/180)
		bottom, top := e.Z-d*math.Tan(low), e.Z-d*math.Tan(up)
		if math.Hypot(d, e.Z-t.Height/2) > l.Range*t.factor() {
			continue
		}
		lo := math.Max(0, math.Max(bottom, e.Z+d*horizon))
		if math.Min(t.Height, top)-lo >= t.MinVisible*t.Height {
			return true
		}
	}
	return false
}

func sortFloats(v []float64) {
	for i := range v {
		for j := i; j > 0 && v[j-1] > v[j]; j-- {
			v[j-1], v[j] = v[j], v[j-1]
		}
	}
}

// crossing returns where along ab the segment cd crosses it, as a fraction.
func crossing(a, b, c, d orb.Point) (float64, bool) {
	rx, ry, sx, sy := b[0]-a[0], b[1]-a[1], d[0]-c[0], d[1]-c[1]
	den := rx*sy - ry*sx
	if den == 0 {
		return 0, false
	}
	s := ((c[0]-a[0])*sy - (c[1]-a[1])*sx) / den
	u := ((c[0]-a[0])*ry - (c[1]-a[1])*rx) / den
	return s, s >= 0 && s <= 1 && u >= 0 && u <= 1
}

func insideAny(m orb.MultiPolygon, p orb.Point) bool {
	for _, poly := range m {
		if Inside(poly, p) {
			return true
		}
	}
	return false
}

func outlineDistance(m orb.MultiPolygon, p orb.Point) float64 {
	best := math.Inf(1)
	for _, poly := range m {
		for _, r := range poly {
			best = math.Min(best, distanceToLine(orb.LineString(r), p))
		}
	}
	return best
}

// chorded reports whether an outline's area is a pattern's but for the chords of
// its arcs: two thirds of 5 mm on average.
func chorded(outline, area float64, m orb.MultiPolygon) bool {
	length := 0.0
	for _, p := range m {
		for _, r := range p {
			for i := 0; i+1 < len(r); i++ {
				length += math.Hypot(r[i+1][0]-r[i][0], r[i+1][1]-r[i][1])
			}
		}
	}
	return math.Abs(outline-area) < 0.01+1e-4*area+chordError*2/3*length
}

// randomSite scatters buildings, walls and odd polygons about a sensor.
func randomSite(t testing.TB, r *rand.Rand, tilt float64) (*scene.Scene, *model.Feature, model.SensorModel) {
	var s site.Site
	models := model.Builtin()
	m := models[r.Intn(len(models))]
	for range r.Intn(12) {
		c := orb.Point{r.Float64()*160 - 80, r.Float64()*160 - 80}
		if math.Hypot(c[0], c[1]) < 12 {
			continue
		}
		switch r.Intn(4) {
		case 0:
			s.Add(model.KindObstacle, "", orb.LineString{c, {c[0] + r.Float64()*40 - 20, c[1] + r.Float64()*40 - 20}, {c[0] + r.Float64()*40 - 20, c[1] + r.Float64()*40 - 20}},
				model.Prop("height_m", 0.3+r.Float64()*4))
		case 1: // a star, maybe with a courtyard
			var ring, hole orb.Ring
			n := 5 + r.Intn(6)
			for i := range n {
				a := 2 * math.Pi * float64(i) / float64(n)
				d := 4 + r.Float64()*6
				ring = append(ring, orb.Point{c[0] + d*math.Cos(a), c[1] + d*math.Sin(a)})
				hole = append(hole, orb.Point{c[0] + 2*math.Cos(-a), c[1] + 2*math.Sin(-a)})
			}
			ring, hole = append(ring, ring[0]), append(hole, hole[0])
			poly := orb.Polygon{ring}
			if r.Intn(2) == 0 {
				poly = append(poly, hole)
			}
			s.Add(model.KindBuilding, "", poly, model.Prop("height_m", 0.5+r.Float64()*6))
		default:
			s.Building("", site.Turned(c, 2+r.Float64()*20, 2+r.Float64()*20, r.Float64()*3), 0.5+r.Float64()*6)
		}
	}
	s.Sensor("S1", orb.Point{r.Float64()*4 - 2, r.Float64()*4 - 2}, m.ID, 2+r.Float64()*3, r.Float64()*360, tilt)
	sc := s.Scene(t)
	return sc, sc.Plan.Feature("S1"), m
}

func TestTheFootprintIsWhereTheRuleSaysTheTargetIsSeen(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	targets := []Target{{Height: 1.7, MinVisible: 0.5}, {Height: 0.35, MinVisible: 0.5}, {Height: 1.7, MinVisible: 0.1}, {Height: 4, MinVisible: 0.1, RangeFactor: 3}}
	points, in := 0, 0
	for n := range 400 {
		tilt := r.Float64()*8 - 1
		sc, f, m := randomSite(t, r, tilt)
		e := Stand(sc, f, m)
		lk := NewLooker(sc)
		lk.From(&e, 3)
		tg := targets[n%len(targets)]
		fp := lk.Lay(tg, AsItIs)
		if e.Buried != "" {
			if !fp.Empty() {
				t.Fatalf("scene %d: a buried sensor sees", n)
			}
			continue
		}
		area := 0.0
		for _, poly := range fp.Shape {
			for i, ring := range poly {
				a := scene.SignedArea(ring)
				area += a
				if (a > 0) != (i == 0) {
					t.Fatalf("scene %d: ring %d has area %v", n, i, a)
				}
			}
		}
		if !chorded(area, fp.Area, fp.Shape) {
			t.Errorf("scene %d: outline has %.4f m2, strips %.4f", n, area, fp.Area)
		}
		reach := fp.Far + 5
		for range 400 {
			a, d := r.Float64()*2*math.Pi, math.Sqrt(r.Float64())*reach
			if r.Intn(3) > 0 { // mostly where there is something to see
				l := m.Lobes[r.Intn(len(m.Lobes))]
				a = e.Bearing + (l.Azimuth+(r.Float64()-0.5)*l.Width*1.1)*math.Pi/180
			}
			p := orb.Point{e.At[0] + d*math.Sin(a), e.At[1] + d*math.Cos(a)}
			want, got := seenAt(sc, &e, m, tilt, tg, p), insideAny(fp.Shape, p)
			points++
			if want {
				in++
			}
			if want != got && outlineDistance(fp.Shape, p) > 0.02 {
				t.Fatalf("scene %d (%s, tilt %.2f, target %+v): point %.3f,%.3f at %.3f m: seen %v, in footprint %v, %.4f m from the outline",
					n, m.ID, tilt, tg, p[0], p[1], d, want, got, outlineDistance(fp.Shape, p))
			}
		}
	}
	if in < points/20 {
		t.Fatalf("only %d of %d points seen: the scenes prove little", in, points)
	}
}

// A pattern split into zones is a partition: parts do not overlap, and each is
// where the rule says its zone counts.
func TestAPatternSplitsByTheFirstZoneThatCounts(t *testing.T) {
	r := rand.New(rand.NewSource(2))
	for n := range 200 {
		sc, f, m := randomSite(t, r, 1+r.Float64()*3)
		e := Stand(sc, f, m)
		if e.Buried != "" {
			continue
		}
		lk := NewLooker(sc)
		lk.From(&e, 1)
		tg := Target{Height: 1.7, MinVisible: 0.1}
		box := func() orb.MultiPolygon {
			return orb.MultiPolygon{{site.Turned(orb.Point{r.Float64()*80 - 40, r.Float64()*80 - 40}, 5+r.Float64()*60, 5+r.Float64()*60, r.Float64()*3)}}
		}
		p := Partition{Zones: []Zone{NewZone(append(box(), box()...), true), NewZone(box(), false)}, Inside: []Zone{NewZone(box(), false), NewZone(box(), false)}, Open: true}
		whole := lk.Lay(tg, AsItIs)
		want := func(q orb.Point) int {
			in := insideAny(p.Inside[0].Shape, q) || insideAny(p.Inside[1].Shape, q)
			switch {
			case insideAny(p.Zones[0].Shape, q):
				return 0
			case in:
				return -1
			case insideAny(p.Zones[1].Shape, q):
				return 1
			}
			return 2
		}
		parts := lk.Split(tg, p)
		shapes := map[int]orb.MultiPolygon{}
		for _, part := range parts {
			shapes[part.Zone] = part.Shape
			area := 0.0
			for _, poly := range part.Shape {
				for _, ring := range poly {
					area += scene.SignedArea(ring)
				}
			}
			if !chorded(area, part.Area, part.Shape) {
				t.Errorf("scene %d zone %d: outline %.4f m2, strips %.4f", n, part.Zone, area, part.Area)
			}
			if !insideAny(part.Shape, part.At) && part.Area > 0.1 {
				t.Errorf("scene %d zone %d: its place %v is not in it", n, part.Zone, part.At)
			}
		}
		for range 300 {
			l := m.Lobes[r.Intn(len(m.Lobes))]
			a, d := e.Bearing+(l.Azimuth+(r.Float64()-0.5)*l.Width)*math.Pi/180, math.Sqrt(r.Float64())*(whole.Far+1)
			q := orb.Point{e.At[0] + d*math.Sin(a), e.At[1] + d*math.Cos(a)}
			if outlineDistance(whole.Shape, q) < 0.02 {
				continue
			}
			zone := -1
			if insideAny(whole.Shape, q) {
				zone = want(q)
			}
			for z := range 3 {
				if got := insideAny(shapes[z], q); got != (z == zone) && outlineDistance(shapes[z], q) > 0.02 {
					t.Fatalf("scene %d: point %v zone %d: in part %v, rule says zone %d", n, q, z, got, zone)
				}
			}
		}
	}
}

// A sensor at the very corner or on the very edge of an outline sees as one a
// hair's breadth beside it does.
func TestAnEyeOnAnOutlineSeesAsOneBesideIt(t *testing.T) {
	corners := site.Box(-30, -40, 50, 60)
	for _, at := range []orb.Point{{-30, -40}, {50, -40}, {50, 60}, {-30, 60}, {10, -40}, {50, 5}} {
		for bearing := 0.0; bearing < 360; bearing += 15 {
			areas := map[bool]float64{}
			for _, beside := range []bool{false, true} {
				var s site.Site
				s.Add(model.KindBoundary, "B1", orb.Polygon{corners})
				s.Building("H1", corners, 0.5)
				p := at
				if beside {
					p[0] += 2e-4
					p[1] += 1e-4
				}
				s.Sensor("S1", p, "sector-90-25", 3, bearing, 3)
				sc := s.Scene(t)
				if b := sc.Boundaries[0].Line; !beside {
					for _, q := range b { // the plan's own rounding, so that the corner is the very same
						if math.Hypot(q[0]-at[0], q[1]-at[1]) < 0.01 && sc.Shape("S1").(orb.Point) != q {
							t.Fatalf("the sensor stands at %v, the corner is %v", sc.Shape("S1"), q)
						}
					}
				}
				m, _ := sc.Plan.Model("sector-90-25")
				e := Stand(sc, sc.Plan.Feature("S1"), m)
				lk := NewLooker(sc)
				lk.From(&e, 1)
				area := lk.Lay(Target{Height: 1.7, MinVisible: 0.5}, AsItIs).Area
				inside := Partition{Inside: []Zone{NewZone(orb.MultiPolygon{{orb.Ring(sc.Boundaries[0].Line)}}, false)}, Open: true}
				out := 0.0
				for _, part := range lk.Split(Target{Height: 1.7, MinVisible: 0.5}, inside) {
					out += part.Area
				}
				areas[beside] = area + 1000*out
			}
			if d := math.Abs(areas[true] - areas[false]); d > 200 {
				t.Errorf("at %v bearing %v: footprint plus 1000 times overspill %.2f on the outline, %.2f beside it", at, bearing, areas[false], areas[true])
			}
		}
	}
}

func BenchmarkLay(b *testing.B) {
	for _, c := range []struct {
		name  string
		lobes []model.Lobe
	}{
		{"90degrees20m", []model.Lobe{{Width: 90, Up: 2, Down: 30, Range: 20}}},
		{"4degrees60m", []model.Lobe{{Width: 4, Up: 1.5, Down: 3, Range: 60}}},
		{"curtain-4-63", nil},
	} {
		b.Run(c.name, func(b *testing.B) {
			r := rand.New(rand.NewSource(3))
			var s site.Site
			for range 20 {
				s.Building("", site.Turned(orb.Point{10 + r.Float64()*40, r.Float64()*60 - 30}, 4+r.Float64()*6, 4+r.Float64()*6, r.Float64()*3), 3)
			}
			s.Sensor("S1", orb.Point{0, 0}, "curtain-4-63", 3, 90, 2)
			sc := s.Scene(b)
			m, _ := sc.Plan.Model("curtain-4-63")
			if c.lobes != nil {
				m.Lobes = c.lobes
			}
			lk := NewLooker(sc)
			e := Stand(sc, sc.Plan.Feature("S1"), m)
			b.ReportAllocs()
			for b.Loop() {
				lk.From(&e, 1)
				lk.Lay(Target{Height: 1.7, MinVisible: 0.5}, AsItIs)
			}
		})
	}
}
