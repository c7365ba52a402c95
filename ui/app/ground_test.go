package app

import (
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/elevation"
	"pleach/model"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
	"pleach/testdata/site"
)

// Sensors, a receiver and buildings are moved about, in and out of what a terrain
// spans.
func TestWhetherTheTerrainAtHandWillDoIsToldAsFromTheWholePlan(t *testing.T) {
	p := new(site.Site).
		Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-100, -100, 100, 100)}).
		Building("H1", site.Box(1180, 0, 1200, 20), 5).
		Sensor("S1", orb.Point{-90, -90}, "sector-90-16", 3, 0, 2).
		Sensor("S2", orb.Point{90, 90}, "sector-90-16", 3, 0, 2).
		Add(model.KindReceiver, "RX", orb.Point{0, 0}, model.Prop("antenna_height_m", 6)).
		Plan(t)
	grid := sitegrid.New(scene.Origin(p))
	const n, cell = 100, 30.0
	half := (n - 1) / 2.0
	ground, err := terrain.New(n, n, make([]float32, n*n), terrain.Affine([3]float64{half, 1 / cell, 0}, [3]float64{half, 0, -1 / cell}),
		orb.Bound{Min: orb.Point{-half * cell, -half * cell}, Max: orb.Point{half * cell, half * cell}})
	if err != nil {
		t.Fatal(err)
	}
	g := grounds{grid: grid, ground: ground, read: true}
	r := rand.New(rand.NewSource(7))
	var yes, no, quick int
	for range 3000 {
		var e model.Edit
		switch id := []string{"S1", "S2", "RX"}[r.Intn(3)]; r.Intn(12) {
		case 0:
			d := (r.Float64() - 0.5) * 4000
			e = model.Reshape{ID: "H1", To: grid.Back(orb.Polygon{site.Box(d, 0, d+20, 20)})}
		case 1:
			e = model.Reshape{ID: id, To: grid.ToLonLat(orb.Point{(r.Float64() - 0.5) * 2900, (r.Float64() - 0.5) * 2900})}
		case 2:
			e = model.Change{Path: "overspill.vehicle_range_factor", Value: 1 + 3*r.Float64()}
		default:
			e = model.Reshape{ID: id, To: grid.ToLonLat(orb.Point{(r.Float64() - 0.5) * 180, (r.Float64() - 0.5) * 180})}
		}
		q, err := e.Apply(p)
		if err != nil {
			t.Fatal(err)
		}
		p = q
		if g.within(p) {
			quick++
		}
		need := elevation.Area(p, grid)
		want := ground.Area().Contains(need.Min) && ground.Area().Contains(need.Max)
		if got := g.fits("", model.TerrainFile{}, p, grid); got != want {
			t.Fatalf("%s: %v, from the whole plan %v", e.Label(), got, want)
		}
		if want {
			yes++
		} else {
			no++
		}
	}
	if yes < 200 || no < 200 || quick < 200 {
		t.Errorf("%d fit, %d do not, %d told without the whole plan: the test says little", yes, no, quick)
	}
}
