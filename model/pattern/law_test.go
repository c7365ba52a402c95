package pattern

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/terrain"
	"pleach/testdata/site"
)

// crossed returns where a shape's outline crosses itself.
func crossed(m orb.MultiPolygon) (orb.Point, bool) {
	type side struct{ a, b orb.Point }
	var all []side
	for _, p := range m {
		for _, r := range p {
			for i := 0; i+1 < len(r); i++ {
				all = append(all, side{r[i], r[i+1]})
			}
		}
	}
	left := func(a, b, c orb.Point) float64 { return (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0]) }
	for i, s := range all {
		for _, o := range all[:i] {
			if math.Max(s.a[0], s.b[0]) < math.Min(o.a[0], o.b[0]) || math.Max(o.a[0], o.b[0]) < math.Min(s.a[0], s.b[0]) {
				continue
			}
			if left(s.a, s.b, o.a)*left(s.a, s.b, o.b) < 0 && left(o.a, o.b, s.a)*left(o.a, o.b, s.b) < 0 {
				return s.a, true
			}
		}
	}
	return orb.Point{}, false
}

func TestNoOutlineCrossesItself(t *testing.T) {
	r := rand.New(rand.NewSource(21))
	for n := range 400 {
		sc, f, m := randomSite(t, r, r.Float64()*5)
		e := Stand(sc, f, m)
		lk := NewLooker(sc)
		lk.From(&e, 1)
		tg := Target{Height: 1.7, MinVisible: 0.1 + 0.4*r.Float64()}
		look := func(what string, m orb.MultiPolygon) {
			if at, yes := crossed(m); yes {
				t.Errorf("scene %d: %s crosses itself near %.4f, %.4f", n, what, at[0], at[1])
			}
		}
		look("the footprint", lk.Lay(tg, AsItIs).Shape)
		box := func() orb.MultiPolygon {
			return orb.MultiPolygon{{site.Turned(orb.Point{r.Float64()*80 - 40, r.Float64()*80 - 40}, 5+r.Float64()*60, 5+r.Float64()*60, r.Float64()*3)}}
		}
		p := Partition{Zones: []Zone{NewZone(append(box(), box()...), true), NewZone(box(), false)}, Inside: []Zone{NewZone(box(), false)}, Open: true}
		for _, part := range lk.Split(tg, p) {
			look(fmt.Sprintf("the part on zone %d", part.Zone), part.Shape)
		}
	}
}

func TestABuildingOrWallAddedNeverWidensAFootprint(t *testing.T) {
	t.Run("on level ground", func(t *testing.T) {
		neverWidens(t, 300, func(*rand.Rand) *terrain.Grid { return nil }, 1e-4, 0.006)
	})
	t.Run("on terrain", func(t *testing.T) {
		neverWidens(t, 120, func(r *rand.Rand) *terrain.Grid { return hills(t, r, 161, 1, 3*r.Float64()) }, 2e-3, 0.1)
	})
}

// neverWidens adds a barrier to each of so many scenes; share of an area and far
// metres of an outline are what its own accuracy allows.
func neverWidens(t *testing.T, scenes int, ground func(*rand.Rand) *terrain.Grid, share, far float64) {
	r := rand.New(rand.NewSource(22))
	less := 0
	for n := range scenes {
		g := ground(r)
		s, sensor, bearing := scattered(r)
		look := func() Footprint {
			sc := scene.OnGround(s.Plan(t), site.Grid, g)
			m, _ := sc.Plan.Model(sensor)
			e := Stand(sc, sc.Plan.Feature("S1"), m)
			lk := NewLooker(sc)
			lk.From(&e, 1)
			return lk.Lay(Target{Height: 1.7, MinVisible: 0.5}, AsItIs)
		}
		before := look()
		az, d := rad(bearing+r.Float64()*40-20), 10+r.Float64()*20
		c := orb.Point{d * math.Sin(az), d * math.Cos(az)}
		if height := 0.3 + r.Float64()*5; r.Intn(3) == 0 {
			s.Add(model.KindObstacle, "", orb.LineString{c, {c[0] + r.Float64()*8 - 4, c[1] + r.Float64()*8 - 4}}, model.Prop("height_m", height))
		} else {
			s.Building("", site.Turned(c, 1+r.Float64()*10, 1+r.Float64()*8, r.Float64()*3), height)
		}
		after := look()
		// Limits that are neither straight nor a reach carry the chords of their arcs.
		if after.Area > before.Area+1e-6+share*before.Area {
			t.Errorf("scene %d: %.5f m2, after one more barrier %.5f", n, before.Area, after.Area)
		}
		if after.Area < before.Area-0.01 {
			less++
		}
		for _, p := range after.Shape {
			for _, ring := range p {
				for _, q := range ring {
					if !insideAny(before.Shape, q) && outlineDistance(before.Shape, q) > far {
						t.Fatalf("scene %d: %v was not in the footprint, %.4f m from it", n, q, outlineDistance(before.Shape, q))
					}
				}
			}
		}
	}
	if less < scenes/5 {
		t.Errorf("only %d added barriers hid anything: the scenes prove little", less)
	}
}

// scattered is a site with a sensor S1 about the origin and a few barriers, the
// sensor's model and its bearing.
func scattered(r *rand.Rand) (s *site.Site, sensor string, bearing float64) {
	s = new(site.Site)
	bearing = r.Float64() * 360
	m := model.Builtin()[r.Intn(len(model.Builtin()))]
	s.Sensor("S1", orb.Point{r.Float64(), r.Float64()}, m.ID, 2+r.Float64()*2, bearing, r.Float64()*4)
	for range r.Intn(6) {
		c := orb.Point{r.Float64()*80 - 40, r.Float64()*80 - 40}
		if math.Hypot(c[0], c[1]) > 12 {
			s.Building("", site.Turned(c, 2+r.Float64()*10, 2+r.Float64()*8, r.Float64()*3), 0.5+r.Float64()*5)
		}
	}
	return s, m.ID, bearing
}

// A long side that comes within reach between its corners cuts a segment off the
// circle: as a zone it has that area, as a building's wall it hides it.
func TestWhatOnlyTheMiddleOfASideBringsWithinReachIsFound(t *testing.T) {
	r := rand.New(rand.NewSource(23))
	const reach = 60.0
	l := model.Lobe{Width: 360, Up: 89, Down: 89, Range: reach}
	tg := Target{Height: 1.7, MinVisible: 0.5}
	for _, d := range []float64{55, 59, 59.8, 59.97} {
		want := reach*reach*math.Acos(d/reach) - d*math.Sqrt(reach*reach-d*d)
		for range 8 {
			turn := r.Float64() * 2 * math.Pi
			ring := site.Box(d, -150, d+40, 150)
			for i, q := range ring {
				sin, cos := math.Sincos(turn)
				ring[i] = orb.Point{q[0]*cos - q[1]*sin, q[0]*sin + q[1]*cos}
			}
			parts := beam(t, new(site.Site), 0.85, 0, l).Split(tg, Partition{Zones: []Zone{NewZone(orb.MultiPolygon{{ring}}, true)}})
			got := 0.0
			for _, p := range parts {
				got += p.Area
			}
			if math.Abs(got-want) > 0.001+0.002*want {
				t.Errorf("zone from %v m: %.4f m2, want %.4f", d, got, want)
			}
			var s site.Site
			s.Building("", ring, 5)
			lk := beam(t, &s, 0.85, 0, l)
			if got := lk.Lay(tg, Unhidden).Area - lk.Lay(tg, AsItIs).Area; math.Abs(got-want) > 0.001+0.002*want {
				t.Errorf("building from %v m: hides %.4f m2, want %.4f", d, got, want)
			}
		}
	}
}

// A tilt that brings a limit nearly along the rays: the pattern reaches out to a
// point far away at two sides. The area is an integral over 8 million azimuths
// of the contract's limits, worked out apart from this program.
func TestTheAreaOfAPatternThatRunsOutToPoints(t *testing.T) {
	for _, c := range []struct {
		tilt, mount float64
		lobe        model.Lobe
		tg          Target
		want        float64
	}{
		{-45, 0.001, model.Lobe{Width: 359.999, Up: 2, Down: -1, Range: 500}, Target{Height: 0.85, MinVisible: 0.5}, 4357.0986},
		{-45, 3, model.Lobe{Width: 180, Up: 0, Down: 1, Range: 500}, Target{Height: 1.7, MinVisible: 0.5}, 2478.3148},
	} {
		fp := beam(t, new(site.Site), c.mount, c.tilt, c.lobe).Lay(c.tg, AsItIs)
		if math.Abs(fp.Area-c.want) > 1e-4*c.want {
			t.Errorf("tilt %v, %+v: %.4f m2, want %.4f", c.tilt, c.lobe, fp.Area, c.want)
		}
	}
}

// throughLeaves walks the sight line from the eye to the middle of a target at p
// in steps of a centimetre and returns the horizontal lengths that run below the
// tops of foliage: of dense foliage, and of medium or denser.
func throughLeaves(sc *scene.Scene, e *Eye, tg Target, p orb.Point) (dense, medium float64) {
	const step = 0.01
	dx, dy := p[0]-e.At[0], p[1]-e.At[1]
	d := math.Hypot(dx, dy)
	for w := step / 2; w < d; w += step {
		s := w / d
		q := orb.Point{e.At[0] + s*dx, e.At[1] + s*dy}
		z := e.Z + s*(sc.Ground(p)+tg.Height/2-e.Z)
		most := 0
		for _, f := range sc.Foliage {
			if z >= sc.Ground(q)+f.Height || !f.Bound.Contains(q) || !Inside(f.Shape, q) {
				continue
			}
			class := map[string]int{model.Light: 0, model.Medium: 1, model.Dense: 2}[f.Density]
			if !f.InLeaf {
				class--
			}
			most = max(most, class)
		}
		if most >= 2 {
			dense += step
		}
		if most >= 1 {
			medium += step
		}
	}
	return dense, medium
}

func TestAPointIsScreenedWhereTheSightLineRunsThroughFoliage(t *testing.T) {
	t.Run("on level ground", func(t *testing.T) {
		screenedPointByPoint(t, func(*rand.Rand) *terrain.Grid { return nil }, 0.02)
	})
	t.Run("on terrain of small cells", func(t *testing.T) {
		screenedPointByPoint(t, func(r *rand.Rand) *terrain.Grid { return hills(t, r, 101, 2, 2*r.Float64()) }, 0.1)
	})
	t.Run("on terrain of large cells", func(t *testing.T) {
		screenedPointByPoint(t, func(r *rand.Rand) *terrain.Grid { return hills(t, r, 21, 15, 2*r.Float64()) }, 0.1)
	})
}

// screenedPointByPoint holds what is screened, on ground, against the sight lines
// to single points farther than slack metres from its outline.
func screenedPointByPoint(t *testing.T, ground func(*rand.Rand) *terrain.Grid, slack float64) {
	r := rand.New(rand.NewSource(24))
	checked, screenedPoints := 0, 0
	for n := range 150 {
		s, id, bearing := scattered(r)
		for range 1 + r.Intn(4) {
			az, d := rad(bearing+r.Float64()*40-20), 4+r.Float64()*30
			s.Add(model.KindFoliage, "", orb.Polygon{site.Turned(orb.Point{d * math.Sin(az), d * math.Cos(az)}, 0.5+r.Float64()*10, 0.5+r.Float64()*10, r.Float64()*3)},
				model.Prop("height_m", 0.5+r.Float64()*5), model.Prop("density", []string{model.Light, model.Medium, model.Dense}[r.Intn(3)]), model.Prop("in_leaf", r.Intn(3) > 0))
		}
		sc := scene.OnGround(s.Plan(t), site.Grid, ground(r))
		m, _ := sc.Plan.Model(id)
		e := Stand(sc, sc.Plan.Feature("S1"), m)
		lk := NewLooker(sc)
		lk.From(&e, 1)
		tg := Target{Height: []float64{1.7, 0.35, 5}[r.Intn(3)], MinVisible: 0.2}
		fp := lk.Lay(tg, AsItIs)
		for range 40 {
			l := m.Lobes[r.Intn(len(m.Lobes))]
			a, d := e.Bearing+rad(l.Azimuth+(r.Float64()-0.5)*l.Width), math.Sqrt(r.Float64())*fp.Far
			p := orb.Point{e.At[0] + d*math.Sin(a), e.At[1] + d*math.Cos(a)}
			if !insideAny(fp.Shape, p) || outlineDistance(fp.Shape, p) < slack {
				continue
			}
			dense, medium := throughLeaves(sc, &e, tg, p)
			if math.Abs(dense-screenDense) < 0.1 || math.Abs(medium-screenMedium) < 0.1 {
				continue
			}
			checked++
			want := dense > screenDense || medium > screenMedium
			if want {
				screenedPoints++
			}
			if insideAny(fp.Clear, p) == want && outlineDistance(fp.Clear, p) > slack {
				t.Fatalf("site %d, target %v m: %v lies behind %.2f m of dense, %.2f m of medium foliage; clear %v", n, tg.Height, p, dense, medium, !want)
			}
			if insideAny(fp.Screened, p) != want && outlineDistance(fp.Clear, p) > slack {
				t.Fatalf("site %d: %v screened %v, in what is screened %v", n, p, want, !want)
			}
		}
	}
	if checked < 1000 || screenedPoints < 150 {
		t.Errorf("%d points checked, %d screened: the sites prove little", checked, screenedPoints)
	}
}

// A steep tilt sweeps a narrow lobe over the ground within a degree or two of
// azimuth. The areas are integrals over 4 million azimuths of the contract's
// limits, worked out apart from this program.
func TestASteepTiltHidesNoPieceBetweenRays(t *testing.T) {
	for _, c := range []struct {
		tilt, mount float64
		lobe        model.Lobe
		tg          Target
		want        float64
	}{
		{89, 2.47, model.Lobe{Azimuth: -103.751, Width: 34.299, Up: 17.802, Down: -14.58, Range: 29.531}, Target{Height: 1.7, MinVisible: 0.1}, 1.313246},
		{60, 7, model.Lobe{Azimuth: 57.343, Width: 161.428, Up: -6.556, Down: 24.064, Range: 31.26}, Target{Height: 1.7, MinVisible: 0.5}, 91.948668},
		{75, 3, model.Lobe{Azimuth: 90, Width: 60, Up: -2, Down: 4, Range: 40}, Target{Height: 1.7, MinVisible: 0.5}, 4.734480},
	} {
		fp := beam(t, new(site.Site), c.mount, c.tilt, c.lobe).Lay(c.tg, AsItIs)
		if math.Abs(fp.Area-c.want) > 1e-3*c.want {
			t.Errorf("tilt %v, %+v: %.6f m2, want %.6f", c.tilt, c.lobe, fp.Area, c.want)
		}
	}
}

// Foliage over or against a building counts where some part of it stands above
// the roof and in the pattern: the rule leaves nothing out for being inside.
func TestFoliageAboveARoofIsFoliageInThePattern(t *testing.T) {
	arc := 2 / math.Tan(rad(8)) // where the top limit comes down to a roof 2 m below the eye
	for _, c := range []struct {
		name          string
		roof, foliage float64
		up            float64
		want          float64
	}{
		{"taller than a roof below the eye", 1, 1.5, 2, 16},
		{"lower than that roof", 1, 0.8, 2, 2},
		{"a roof above the eye, the pattern below the line over its edge", 4, 12, 2, 2},
		{"a roof above the eye, the pattern reaching above that line", 4, 12, 20, 16},
		{"a top limit that comes down to the roof", 1, 1.5, -8, arc*arc*math.Asin(1/arc) + math.Sqrt(arc*arc-1) - 18},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := new(site.Site).Sensor("S1", orb.Point{0, 0}, "curtain-4-63", 3, 90, 0)
			s.Building("H1", site.Box(10, -2, 16, 2), c.roof)
			s.Add(model.KindFoliage, "F1", orb.Polygon{site.Box(9, -1, 17, 1)}, model.Prop("height_m", c.foliage))
			flat := hills(t, rand.New(rand.NewSource(1)), 81, 1, 0)
			for _, sc := range []*scene.Scene{s.Scene(t), scene.OnGround(s.Plan(t), site.Grid, flat)} {
				e := Stand(sc, sc.Plan.Feature("S1"), model.SensorModel{Lobes: []model.Lobe{{Width: 40, Up: c.up, Down: 60, Range: 40}}})
				lk := NewLooker(sc)
				lk.From(&e, 1)
				if got, _, _ := lk.Foliage(); math.Abs(got-c.want) > 0.002*c.want {
					t.Errorf("terrain %v: %.4f m2, want %.4f", sc.Terrain != nil, got, c.want)
				}
			}
		})
	}
}

func TestALineThatNoLobeFacesIsSeenNowhere(t *testing.T) {
	r := rand.New(rand.NewSource(41))
	away := 0
	for n := range 2000 {
		s, sensor, _ := scattered(r)
		sc := s.Scene(t)
		m, _ := sc.Plan.Model(sensor)
		e := Stand(sc, sc.Plan.Feature("S1"), m)
		a := orb.Point{r.Float64()*60 - 30, r.Float64()*60 - 30}
		b := orb.Point{a[0] + r.Float64()*20 - 10, a[1] + r.Float64()*20 - 10}
		if e.Faces(a, b) {
			continue
		}
		away++
		for i := range 50 {
			q := float64(i) / 49
			p := orb.Point{a[0] + q*(b[0]-a[0]), a[1] + q*(b[1]-a[1])}
			if e.active(math.Atan2(p[0]-e.At[0], p[1]-e.At[1])) {
				t.Fatalf("scene %d: a lobe looks at %v of the line from %v to %v", n, p, a, b)
			}
		}
	}
	if away < 500 {
		t.Errorf("only %d lines out of sight: the scenes prove little", away)
	}
}
