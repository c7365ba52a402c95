package analysis

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/terrain"
	"pleach/testdata/site"
)

// A hole in the terrain is said of every boundary that runs over it and of every
// sensor that looks over it, also where no corner of an outline lies in it; and of no
// other.
func TestAHoleInTheTerrainIsSaidOfWhatLiesOverIt(t *testing.T) {
	const n = 201
	for _, c := range []struct {
		name string
		hole orb.Bound // metres; the raster is 200 m about the origin, a cell a metre
		want []string
	}{
		{"no hole", orb.Bound{Min: orb.Point{500, 0}, Max: orb.Point{500, 0}}, nil},
		{"in the middle of a pattern", orb.Bound{Min: orb.Point{24, -2}, Max: orb.Point{28, 2}}, []string{"S1"}},
		{"before the pattern begins", orb.Bound{Min: orb.Point{0.5, -1}, Max: orb.Point{1.5, 1}}, []string{"S1"}},
		{"under an edge of the boundary", orb.Bound{Min: orb.Point{-3, 58}, Max: orb.Point{3, 62}}, []string{"B1"}},
		{"where nobody looks", orb.Bound{Min: orb.Point{-30, -30}, Max: orb.Point{-26, -26}}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			z := make([]float32, n*n)
			for i := range z {
				if p := (orb.Point{float64(i%n - n/2), float64(n/2 - i/n)}); c.hole.Contains(p) {
					z[i] = float32(math.NaN())
				}
			}
			g, err := terrain.New(n, n, z, terrain.Affine([3]float64{n / 2, 1, 0}, [3]float64{n / 2, 0, -1}), orb.Bound{Min: orb.Point{-100, -100}, Max: orb.Point{100, 100}})
			if err != nil {
				t.Fatal(err)
			}
			s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-60, -60, 60, 60)}).Sensor("S1", orb.Point{0, 0}, "sector-90-25", 3, 90, 5)
			s.Set("models", []map[string]any{{"id": "sector-90-25", "lobes": []map[string]any{{"width_deg": 60, "up_deg": 5, "down_deg": 20, "range_m": 50}}}})
			r, err := RunOn(context.Background(), scene.OnGround(s.Plan(t), site.Grid, g), nil)
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, f := range r.Findings {
				if f.Rule == "terrain-edge" {
					got = append(got, f.Subject...)
					at := r.Scene.Grid.ToSite(*f.At)
					if !c.hole.Pad(1.01).Contains(at) {
						t.Errorf("said at %v, the hole is %v", at, c.hole)
					}
				}
			}
			if len(got) != len(c.want) || len(got) > 0 && got[0] != c.want[0] {
				t.Errorf("said of %v, want %v", got, c.want)
			}
		})
	}
}
