package pattern

import (
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/terrain"
	"pleach/testdata/site"
)

// hills is a terrain of n by n cells of the given size about the origin: smooth
// hills, a bank, and some roughness.
func hills(t testing.TB, r *rand.Rand, n int, cell, relief float64) *terrain.Grid {
	z := make([]float32, n*n)
	type wave struct{ a, kx, ky, ph float64 }
	var ws []wave
	for range 6 {
		l := 15 + r.Float64()*80
		d := r.Float64() * 2 * math.Pi
		ws = append(ws, wave{relief * l / 90 * r.Float64(), 2 * math.Pi / l * math.Cos(d), 2 * math.Pi / l * math.Sin(d), r.Float64() * 6})
	}
	half := float64(n-1) / 2 * cell
	for i := range n {
		for j := range n {
			x, y := float64(j)*cell-half, half-float64(i)*cell
			h := 100.0
			for _, w := range ws {
				h += w.a * math.Sin(w.kx*x+w.ky*y+w.ph)
			}
			z[i*n+j] = float32(h)
		}
	}
	g, err := terrain.New(n, n, z, terrain.Affine([3]float64{half / cell, 1 / cell, 0}, [3]float64{half / cell, 0, -1 / cell}), orb.Bound{Min: orb.Point{-half, -half}, Max: orb.Point{half, half}})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// seenOnTerrain is the contract's rule at one point, the sight line walked in
// small steps.
func seenOnTerrain(sc *scene.Scene, e *Eye, m model.SensorModel, tiltDeg float64, t Target, p orb.Point, slack float64) bool {
	dx, dy := p[0]-e.At[0], p[1]-e.At[1]
	d := math.Hypot(dx, dy)
	g := sc.Ground(p)
	horizon := math.Inf(-1)
	const step = 0.02
	tops := func(q orb.Point) float64 {
		h := sc.Ground(q)
		for _, b := range sc.Buildings {
			if Inside(b.Shape, q) {
				h = math.Max(h, b.Top)
			}
		}
		for _, o := range sc.Obstacles {
			if o.Shape != nil && !o.SeeThrough && Inside(o.Shape, q) {
				h = math.Max(h, sc.Ground(q)+o.Height)
			}
		}
		return h
	}
	for s := step; s < d-step/2; s += step {
		q := orb.Point{e.At[0] + s/d*dx, e.At[1] + s/d*dy}
		horizon = math.Max(horizon, (tops(q)-e.Z)/s)
	}
	if tops(p) > g {
		return false
	}
	for _, o := range sc.Obstacles {
		for i := 0; i+1 < len(o.Line); i++ {
			if s, ok := crossing(e.At, p, o.Line[i], o.Line[i+1]); ok && s > 0 && s < 1 {
				q := orb.Point{e.At[0] + s*dx, e.At[1] + s*dy}
				horizon = math.Max(horizon, (sc.Ground(q)+o.Height-e.Z)/(s*d))
			}
		}
	}
	alpha := math.Remainder(math.Atan2(dx, dy)-e.Bearing, 2*math.Pi)
	for _, l := range m.Lobes {
		if math.Abs(math.Remainder(alpha-l.Azimuth*math.Pi/180, 2*math.Pi)) > l.Width/2*math.Pi/180 {
			continue
		}
		axis := math.Atan(math.Tan(tiltDeg*math.Pi/180) * math.Cos(alpha))
		low, up := axis+l.Down*math.Pi/180, axis-l.Up*math.Pi/180
		if math.Hypot(d, e.Z-g-t.Height/2) > l.Range*t.factor()+slack {
			continue
		}
		lo := math.Max(g, math.Max(e.Z-d*math.Tan(low), e.Z+d*horizon))
		if math.Min(g+t.Height, e.Z-d*math.Tan(up))-lo >= t.MinVisible*t.Height-slack {
			return true
		}
	}
	return false
}

func TestOnTerrainTheFootprintIsWhereTheRuleSaysTheTargetIsSeen(t *testing.T) {
	r := rand.New(rand.NewSource(31))
	points, in, wrong := 0, 0, 0
	for n := range 20 {
		ground := hills(t, r, 201, 1, 1+3*r.Float64())
		var s site.Site
		for range r.Intn(6) {
			c := orb.Point{r.Float64()*120 - 60, r.Float64()*120 - 60}
			if math.Hypot(c[0], c[1]) < 14 {
				continue
			}
			if r.Intn(3) == 0 {
				s.Add(model.KindObstacle, "", orb.LineString{c, {c[0] + r.Float64()*30 - 15, c[1] + r.Float64()*30 - 15}}, model.Prop("height_m", 0.5+r.Float64()*2))
				continue
			}
			s.Building("", site.Turned(c, 4+r.Float64()*12, 4+r.Float64()*12, r.Float64()*3), 1+r.Float64()*5)
		}
		models := model.Builtin()
		m := models[r.Intn(len(models))]
		tilt := r.Float64() * 4
		s.Sensor("S1", orb.Point{r.Float64() * 3, r.Float64() * 3}, m.ID, 2.5+r.Float64(), r.Float64()*360, tilt)
		sc := scene.OnGround(s.Plan(t), site.Grid, ground)
		e := Stand(sc, sc.Plan.Feature("S1"), m)
		lk := NewLooker(sc)
		lk.From(&e, 1)
		tg := []Target{{Height: 1.7, MinVisible: 0.5}, {Height: 0.35, MinVisible: 0.5}}[n%2]
		fp := lk.Lay(tg, AsItIs)
		for range 400 {
			l := m.Lobes[r.Intn(len(m.Lobes))]
			a := e.Bearing + (l.Azimuth+(r.Float64()-0.5)*l.Width*1.1)*math.Pi/180
			d := math.Sqrt(r.Float64()) * (l.Range + 3)
			p := orb.Point{e.At[0] + d*math.Sin(a), e.At[1] + d*math.Cos(a)}
			got := insideAny(fp.Shape, p)
			// Right beyond doubt: the same with a little more and a little less asked.
			yes, no := seenOnTerrain(sc, &e, m, tilt, tg, p, -0.01), seenOnTerrain(sc, &e, m, tilt, tg, p, 0.01)
			if yes != no {
				continue
			}
			points++
			if yes {
				in++
			}
			if got != yes && outlineDistance(fp.Shape, p) > 0.1 {
				wrong++
				if wrong < 6 {
					t.Logf("scene %d %s tilt %.2f: %v at %.2f m: rule %v, footprint %v, %.3f m from the outline", n, m.ID, tilt, p, d, yes, got, outlineDistance(fp.Shape, p))
				}
			}
		}
	}
	if in < points/10 {
		t.Fatalf("only %d of %d seen", in, points)
	}
	if wrong > points/1000 {
		t.Errorf("%d of %d points wrong by more than 0.1 m, at most 1 in 1000 asked for", wrong, points)
	}
}

// On a level terrain model a limit is down where it is on level ground, wherever
// the lines between the cells lie.
func TestALimitComesDownBetweenTheCellsOfLevelTerrainAsOnLevelGround(t *testing.T) {
	m := model.SensorModel{ID: "m", Lobes: []model.Lobe{
		{Width: 60, Up: 2, Down: 9, Range: 20},
		{Width: 60, Up: -9, Down: 30, Range: 6}}}
	const n = 21
	for _, cell := range []float64{2, 7, 15} {
		half := (n - 1) / 2 * cell
		ground, err := terrain.New(n, n, make([]float32, n*n), terrain.Affine([3]float64{half / cell, 1 / cell, 0}, [3]float64{half / cell, 0, -1 / cell}),
			orb.Bound{Min: orb.Point{-half, -half}, Max: orb.Point{half, half}})
		if err != nil {
			t.Fatal(err)
		}
		under, over := 0, 0
		for _, tilt := range []float64{-4, 0, 2, 5, 12} {
			var s site.Site
			s.Sensor("S1", orb.Point{0.7, 0.4}, "fan-30-40", 3, 30, tilt)
			p := s.Plan(t)
			level, laid := scene.OnGround(p, site.Grid, nil), scene.OnGround(p, site.Grid, ground)
			le, te := Stand(level, p.Feature("S1"), m), Stand(laid, p.Feature("S1"), m)
			ll, tl := NewLooker(level), NewLooker(laid)
			ll.From(&le, 1)
			tl.From(&te, 1)
			for d := 0.5; d < 20; d += 0.3 {
				for az := 2.0; az < 58; az += 5 {
					q := orb.Point{0.7 + d*math.Sin(az*math.Pi/180), 0.4 + d*math.Cos(az*math.Pi/180)}
					for _, tg := range []Target{{Height: 1.7, MinVisible: 0.5}, {Height: 3.5, MinVisible: 0.5}} {
						wu, wo := ll.AboveTarget(q, tg)
						u, o := tl.AboveTarget(q, tg)
						if u != wu || o != wo {
							t.Errorf("cell %v m, tilt %v, %.1f m away: under %v, over %v, on level ground %v, %v", cell, tilt, d, u, o, wu, wo)
						}
						if wu {
							under++
						}
						if wo {
							over++
						}
					}
				}
			}
		}
		if under == 0 || over == 0 {
			t.Errorf("%d places under the pattern, %d over: want both", under, over)
		}
	}
}

func BenchmarkLayOnTerrain(b *testing.B) {
	for _, c := range []struct {
		name         string
		width, reach float64
	}{{"90degrees100m", 90, 100}, {"12degrees100m", 12, 100}} {
		b.Run(c.name, func(b *testing.B) {
			r := rand.New(rand.NewSource(33))
			ground := hills(b, r, 401, 1, 2)
			var s site.Site
			s.Set("models", []map[string]any{{"id": "A", "lobes": []map[string]any{{"width_deg": c.width, "up_deg": 10, "down_deg": 30, "range_m": c.reach}}}})
			s.Sensor("S1", orb.Point{0, 0}, "A", 3, 90, 2)
			sc := scene.OnGround(s.Plan(b), site.Grid, ground)
			m, _ := sc.Plan.Model("A")
			e := Stand(sc, sc.Plan.Feature("S1"), m)
			lk := NewLooker(sc)
			rays := 0
			for b.Loop() {
				lk.From(&e, 1)
				lk.Lay(Target{Height: 1.7, MinVisible: 0.5}, AsItIs)
				rays = len(lk.sw.stations)
			}
			b.ReportMetric(float64(rays), "rays")
		})
	}
}
