package pattern

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/testdata/site"
)

// The mounting rule (contract, section 3), each case worked out by hand. The
// building H1 is the box from 0, 0 to 20, 10 and 4 m high, the wall W1 runs north
// from 40, 0 to 40, 10 and is 4 m high, the mesh from 60, 0 to 60, 10.
func TestASensorByAWallIsFixedToIt(t *testing.T) {
	for _, c := range []struct {
		what    string
		at      orb.Point
		height  float64
		bearing float64
		want    orb.Point
		fixed   string
		buried  string
	}{
		{"20 cm outside, looking away", orb.Point{10, -0.2}, 3, 180, orb.Point{10, -0.05}, "H1", ""},
		{"30 cm outside is within", orb.Point{10, -0.2999}, 3, 180, orb.Point{10, -0.05}, "H1", ""},
		{"31 cm outside is a post", orb.Point{10, -0.31}, 3, 180, orb.Point{10, -0.31}, "", ""},
		{"half a metre inside comes out", orb.Point{10, 0.5}, 3, 180, orb.Point{10, -0.05}, "H1", ""},
		{"along the wall", orb.Point{10, -0.1}, 3, 90, orb.Point{10, -0.05}, "H1", ""},
		{"10 degrees into the wall still fits", orb.Point{10, -0.1}, 3, 81, orb.Point{10, -0.05}, "H1", ""},
		{"20 degrees into it does not, but no other wall is near", orb.Point{10, -0.1}, 3, 70, orb.Point{10, -0.05}, "H1", ""},
		{"the farther wall that fits the bearing", orb.Point{0.7, 0.2}, 3, 290, orb.Point{-0.05, 0.2}, "H1", ""},
		{"the nearer of two that fit", orb.Point{0.7, 0.2}, 3, 225, orb.Point{0.7, -0.05}, "H1", ""},
		{"more than a metre inside", orb.Point{10, 5}, 3, 0, orb.Point{10, 5}, "", "H1"},
		{"on the roof", orb.Point{10, 5}, 4.5, 0, orb.Point{10, 5}, "", ""},
		{"a top at the eye's height is not below it", orb.Point{10, -0.2}, 4, 180, orb.Point{10, -0.05}, "H1", ""},
		{"a wall's face on the other side, by the bearing", orb.Point{40.1, 5}, 3, 270, orb.Point{39.95, 5}, "W1", ""},
		{"a wall's face on its own side, by the bearing", orb.Point{40.1, 5}, 3, 90, orb.Point{40.05, 5}, "W1", ""},
		{"mesh is no wall", orb.Point{60.1, 5}, 3, 270, orb.Point{60.1, 5}, "", ""},
	} {
		var s site.Site
		s.Building("H1", site.Box(0, 0, 20, 10), 4)
		s.Add(model.KindObstacle, "W1", orb.LineString{{40, 0}, {40, 10}}, model.Prop("height_m", 4.0))
		s.Add(model.KindObstacle, "M1", orb.LineString{{60, 0}, {60, 10}}, model.Prop("height_m", 4.0), model.Prop("see_through", true))
		s.Sensor("S1", c.at, "sector-90-16", c.height, c.bearing, 2)
		sc := s.Scene(t)
		m, _ := sc.Plan.Model("sector-90-16")
		e := Stand(sc, sc.Plan.Feature("S1"), m)
		if d := math.Hypot(e.At[0]-c.want[0], e.At[1]-c.want[1]); d > 1e-3 || e.Fixed != c.fixed || e.Buried != c.buried || e.Z != c.height {
			t.Errorf("%s: at %.4f, %v m up, fixed to %q, buried in %q; want %v, %v, %q, %q", c.what, e.At, e.Z, e.Fixed, e.Buried, c.want, c.height, c.fixed, c.buried)
		}
		if c.buried != "" {
			lk := NewLooker(sc)
			lk.From(&e, 1)
			if fp := lk.Lay(Target{Height: 1.7, MinVisible: 0.5}, AsItIs); !fp.Empty() || fp.Area != 0 {
				t.Errorf("%s: a footprint of %v m2", c.what, fp.Area)
			}
		}
	}
}
