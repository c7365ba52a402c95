package analysis

import (
	"context"
	"flag"
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

// oddSite makes a site of what nobody would draw on purpose: places on a coarse
// lattice, so that walls, corners, sensors and boundaries fall on one another;
// buildings without area, repeated and nearly repeated corners, edges of a
// millimetre, two buildings in one place, lobes and settings at their limits.
func oddSite(r *rand.Rand) *model.Plan {
	var s site.Site
	pick := func(v ...float64) float64 { return v[r.Intn(len(v))] }
	lattice := func() orb.Point { return orb.Point{float64(r.Intn(9)-4) * 5, float64(r.Intn(9)-4) * 5} }
	var places []orb.Point
	onePlace := r.Intn(40) == 0
	at := func() orb.Point {
		if onePlace {
			return orb.Point{5, 5}
		}
		p := lattice()
		if len(places) > 0 && r.Intn(2) == 0 {
			p = places[r.Intn(len(places))]
		}
		switch r.Intn(6) {
		case 0:
			p[0] += pick(1e-9, 1e-7, 1e-4, 1e-3, 0.05, 0.3)
		case 1:
			p[1] += pick(1e-9, 1e-7, 1e-4, 1e-3, 0.05, 0.3)
		}
		places = append(places, p)
		return p
	}
	ring := func(n int) orb.Ring {
		var out orb.Ring
		for range n {
			out = append(out, at())
		}
		if r.Intn(3) == 0 {
			out = append(out, out[len(out)-1])
		}
		if n := len(out); n > 2 && r.Intn(4) == 0 { // a spike, out and back
			out = append(out, at(), out[n-1])
		}
		return append(out, out[0])
	}
	box := func() orb.Ring {
		p := at()
		return site.Box(p[0], p[1], p[0]+pick(0, 1e-6, 0.1, 5, 10, 20), p[1]+pick(0, 1e-6, 0.1, 5, 10, 20))
	}
	edge := pick(10, 20, 25)
	for range 1 + r.Intn(2) {
		switch r.Intn(4) {
		case 0:
			s.Add(model.KindBoundary, "", orb.Polygon{ring(3 + r.Intn(4))})
		case 1:
			s.Add(model.KindBoundary, "", orb.LineString{at(), at(), at()})
		case 2: // edges of a millimetre at a corner
			s.Add(model.KindBoundary, "", orb.Polygon{{{-edge, -edge}, {edge, -edge}, {edge, edge}, {edge - 0.001, edge}, {edge - 0.001, edge + 0.001}, {-edge, edge}, {-edge, -edge}}})
		default:
			s.Add(model.KindBoundary, "", orb.Polygon{site.Box(-edge, -edge, edge, edge)})
		}
	}
	if r.Intn(3) == 0 {
		s.Add(model.KindPremises, "", orb.Polygon{site.Box(-edge, -edge, edge, edge), box()})
	}
	height := func() model.Member { return model.Prop("height_m", pick(0, 0.35, 0.85, 1.7, 3, 200)) }
	for range r.Intn(5) {
		p := orb.Polygon{box()}
		if r.Intn(4) == 0 {
			p = orb.Polygon{ring(3 + r.Intn(3))}
		}
		if r.Intn(5) == 0 {
			p = append(p, box())
		}
		s.Add(model.KindBuilding, "", p, height())
		if r.Intn(5) == 0 {
			s.Add(model.KindBuilding, "", p, height())
		}
	}
	for range r.Intn(5) {
		var g orb.Geometry = orb.LineString{at(), at(), at()}
		if r.Intn(3) == 0 {
			g = orb.Polygon{box()}
		}
		s.Add(model.KindObstacle, "", g, height(), model.Prop("impassable", r.Intn(2) == 0), model.Prop("see_through", r.Intn(3) == 0))
	}
	for range r.Intn(3) {
		s.Add(model.KindFoliage, "", orb.Polygon{box()}, height(), model.Prop("density", []string{model.Light, model.Medium, model.Dense}[r.Intn(3)]))
	}
	for range r.Intn(3) {
		s.Add(model.KindRoad, "", orb.LineString{at(), at(), at()}, model.Prop("width_m", pick(0.01, 6, 60)))
		s.Add(model.KindNeighbour, "", orb.Polygon{box()})
		s.Add(model.KindExcluded, "", orb.LineString{at(), at()}, model.Prop("reason", "water"))
		s.Add(model.KindGate, "", at())
	}
	var lobes []map[string]any
	for range 1 + r.Intn(3) {
		up := pick(-89, -30, -2, 0, 2, 45, 90)
		lobes = append(lobes, map[string]any{"azimuth_deg": pick(0, 0, 90, 180, -720), "width_deg": pick(1e-6, 1, 90, 180, 359.999, 360), "up_deg": up, "down_deg": math.Min(90, -up+pick(1e-6, 1, 20, 179)), "range_m": pick(0.01, 1, 10, 40, 500)})
	}
	s.Set("models", []map[string]any{{"id": "odd", "lobes": lobes}})
	if r.Intn(3) == 0 {
		s.Set("crossing", map[string]any{"depth_m": pick(0.001, 0.04, 10, 100), "min_path_m": pick(0.001, 0.5, 20)})
		s.Set("target", map[string]any{"height_m": pick(0.001, 0.85, 1.7, 200), "min_visible": pick(1e-9, 0.5, 1)})
	}
	for i := range 1 + r.Intn(4) {
		id := "odd"
		if r.Intn(3) == 0 {
			id = model.Builtin()[r.Intn(len(model.Builtin()))].ID
		}
		var props []model.Member
		if r.Intn(4) == 0 {
			a := pick(0, -45, 180)
			props = append(props, model.Prop("masked", []map[string]any{{"from_deg": a, "to_deg": a + pick(0, 1e-9, 45, 359, 360)}}))
		}
		s.Sensor(fmt.Sprintf("S%d", i+1), at(), id, pick(0.001, 0.35, 0.85, 1.7, 3, 60), pick(0, 45, 90, 135, 180, 270, 359.9999999), pick(-45, 0, 1e-9, 2, 45, 89), props...)
	}
	s.Add(model.KindReceiver, "RX", at(), model.Prop("antenna_height_m", pick(0.001, 3, 60)))
	s.Add(model.KindRepeater, "RP", at(), model.Prop("antenna_height_m", pick(0.001, 3, 60)))
	return s.Flawed()
}

// oddGround is a terrain of few cells, with holes, cliffs and needles, cells of a
// millimetre or of ten kilometres, turned or flat; nil for level ground.
func oddGround(t *testing.T, r *rand.Rand) *terrain.Grid {
	if r.Intn(3) == 0 {
		return nil
	}
	pick := func(v ...float64) float64 { return v[r.Intn(len(v))] }
	w, h := int(pick(2, 2, 3, 5, 12)), int(pick(2, 2, 3, 5, 12))
	cell, kind := pick(0.001, 0.5, 1, 5, 10, 1e4), r.Intn(5)
	z := make([]float32, w*h)
	for i := range z {
		switch kind {
		case 1: // a needle here and there
			z[i] = float32(pick(0, 0, 0, 0, 0, 0, 100))
		case 2:
			z[i] = float32(r.Float64() * 3)
		case 3: // cliffs, high up
			z[i] = float32(pick(-900, 0, 9000))
		case 4: // a stair
			z[i] = float32(i % w / 2)
		}
		if i > 0 && r.Intn(6) == 0 {
			z[i] = float32(math.NaN())
		}
	}
	sin, cos := math.Sincos(pick(0, math.Pi/4, 1))
	x, y := float64(w-1)/2, float64(h-1)/2 // the middle cell on the origin, but for a step
	g, err := terrain.New(w, h, z, terrain.Affine([3]float64{x + pick(0, 0.5, 0.25), cos / cell, sin / cell}, [3]float64{y, sin / cell, -cos / cell}),
		orb.Bound{Min: orb.Point{-x * cell, -y * cell}, Max: orb.Point{x * cell, y * cell}})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

var oddSites = flag.Int("odd", 200, "how many odd sites to analyse")

// Whatever of such a plan is sound is analysed, and the sums hold.
func TestOddSitesAreAnalysed(t *testing.T) {
	n := *oddSites
	if testing.Short() {
		n = min(n, 100)
	}
	gaps, sensors := 0, 0
	for k := range n {
		r := rand.New(rand.NewSource(int64(k)))
		p := oddSite(r)
		func() {
			defer func() {
				if v := recover(); v != nil {
					t.Errorf("site %d: %v", k, v)
					panic(v)
				}
			}()
			res, err := RunOn(context.Background(), scene.OnGround(p, scene.New(p).Grid, oddGround(t, r)), nil)
			if err != nil {
				t.Fatal(err)
			}
			what := fmt.Sprintf("site %d", k)
			checkSums(t, what, res, &gaps)
			for _, s := range res.Sensors {
				if s.Area > 0 {
					sensors++
				}
				if math.IsNaN(s.Area) || s.Area < 0 || math.IsInf(s.Area, 0) || math.IsNaN(s.Foliage) || s.Foliage < 0 ||
					math.IsNaN(s.FoliageAt25) || s.FoliageAt25 < 0 || math.IsInf(s.FoliageAt25, 0) {
					t.Errorf("%s, %s: footprint %v m2, foliage %v and %v", what, s.ID, s.Area, s.Foliage, s.FoliageAt25)
				}
				spill := map[string]float64{}
				for _, o := range s.Overspill {
					if math.IsNaN(o.Area) || o.Area < 0 || o.Depth != nil && (math.IsNaN(*o.Depth) || *o.Depth < 0) {
						t.Errorf("%s, %s: overspill %+v", what, s.ID, o)
					}
					spill[o.For] += o.Area
				}
			}
			for _, l := range res.Links {
				if math.IsNaN(l.Loss) || math.IsInf(l.Loss, 0) || math.IsNaN(l.Clearance) || math.IsNaN(l.Probability) {
					t.Errorf("%s, %s to %s: %+v", what, l.From, l.To, l)
				}
			}
		}()
	}
	if gaps < n || sensors < n/2 {
		t.Errorf("%d gaps, %d sensors that see: the sites prove little", gaps, sensors)
	}
}
