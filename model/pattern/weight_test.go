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

// bush is a stand of foliage on level ground seen from 3 m up by a lobe that lets
// everything in.
func bush(t *testing.T, poly orb.Polygon, width, reach float64) (area, weighted float64) {
	t.Helper()
	s := new(site.Site).Add(model.KindFoliage, "F1", poly, model.Prop("height_m", 2.5))
	area, weighted, _ = beam(t, s, 3, 0, model.Lobe{Width: width, Up: 89, Down: 89, Range: reach}).Foliage()
	return area, weighted
}

// Over a sector of angle φ from r to R the integral of dA/R² is φ ln(R/r); from the
// eye on it is φ (1/2 + ln R) where what is nearer than 1 m counts as if it stood at
// 1 m. Over a rectangle it is summed over squares of a centimetre.
func TestNearFoliageCountsMoreByTheInverseSquareOfItsDistance(t *testing.T) {
	all := orb.Polygon{site.Box(-80, -80, 80, 80)}
	holed := orb.Polygon{all[0]}
	var hole orb.Ring
	for i := range 721 {
		sin, cos := math.Sincos(-float64(i) * math.Pi / 360)
		hole = append(hole, orb.Point{20 * cos, 20 * sin})
	}
	holed = append(holed, hole)
	squares := func(x0, y0, x1, y1 float64) float64 {
		const step = 0.01
		sum := 0.0
		for x := x0 + step/2; x < x1; x += step {
			for y := y0 + step/2; y < y1; y += step {
				sum += step * step / math.Max(1, x*x+y*y)
			}
		}
		return sum
	}
	for _, c := range []struct {
		name         string
		poly         orb.Polygon
		width, reach float64
		want         float64 // integral of dA/R²
	}{
		{"a sector from the eye on", all, 40, 40, rad(40) * (0.5 + math.Log(40))},
		{"a sector within the nearest metre", all, 40, 0.8, rad(40) * 0.32},
		{"a sector from 20 to 50 m", holed, 30, 50, rad(30) * math.Log(2.5)},
		{"a bush at 25 m", orb.Polygon{site.Box(24.9, -0.1, 25.1, 0.1)}, 40, 60, 0.04 / 625},
		{"a hedge close by", orb.Polygon{site.Box(2, -15, 3, 15)}, 178, 60, squares(2, -15, 3, 15)},
		{"a hedge along the axis", orb.Polygon{site.Box(0.3, -0.2, 40, 0.4)}, 178, 60, squares(0.3, -0.2, 40, 0.4)},
		{"a hedge beside the eye", orb.Polygon{site.Box(0.02, 0.2, 30, 0.7)}, 178, 60, squares(0.02, 0.2, 30, 0.7)},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, got := bush(t, c.poly, c.width, c.reach)
			if want := 625 * c.want; math.Abs(got-want) > 0.001*want+1e-4 {
				t.Errorf("as much as %.5f m2 at 25 m, want %.5f", got, want)
			}
		})
	}
	// At 25 m the weighted area is the area itself.
	if area, weighted := bush(t, orb.Polygon{site.Box(24.9, -0.1, 25.1, 0.1)}, 40, 60); math.Abs(area-weighted) > 1e-4 {
		t.Errorf("a bush of %.5f m2 at 25 m counts as %.5f", area, weighted)
	}
}

// leafAtPoint decides by the contract's words whether foliage of height h at p
// stands in the pattern, one point at a time and by no shared code.
func leafAtPoint(sc *scene.Scene, e *Eye, m model.SensorModel, tiltDeg, h float64, p orb.Point) bool {
	dx, dy := p[0]-e.At[0], p[1]-e.At[1]
	d := math.Hypot(dx, dy)
	horizon := math.Inf(-1)
	for _, b := range sc.Buildings {
		cuts := []float64{0, 1}
		for i := 0; i+1 < len(b.Shape[0]); i++ {
			if s, ok := crossing(e.At, p, b.Shape[0][i], b.Shape[0][i+1]); ok {
				cuts = append(cuts, s)
			}
		}
		sortFloats(cuts)
		for i := 0; i+1 < len(cuts); i++ {
			mid := (cuts[i] + cuts[i+1]) / 2
			if cuts[i+1]-cuts[i] > 1e-12 && Inside(b.Shape, orb.Point{e.At[0] + mid*dx, e.At[1] + mid*dy}) {
				horizon = math.Max(horizon, math.Max((b.Top-e.Z)/(cuts[i]*d), (b.Top-e.Z)/(cuts[i+1]*d)))
			}
		}
	}
	alpha := math.Remainder(math.Atan2(dx, dy)-e.Bearing, 2*math.Pi)
	axis := math.Atan(math.Tan(tiltDeg*math.Pi/180) * math.Cos(alpha))
	for _, l := range m.Lobes {
		if d > l.Range || math.Abs(math.Remainder(alpha-rad(l.Azimuth), 2*math.Pi)) > rad(l.Width/2) {
			continue
		}
		lo := math.Max(0, math.Max(e.Z-d*math.Tan(axis+rad(l.Down)), e.Z+d*horizon))
		if lo <= math.Min(h, e.Z-d*math.Tan(axis-rad(l.Up))) {
			return true
		}
	}
	return false
}

// Among buildings, over stands that overlap: the sum over squares of 5 cm of the
// rule asked at their middles.
func TestFoliageIsWeighedWhereTheRuleSaysItStandsInThePattern(t *testing.T) {
	r := rand.New(rand.NewSource(51))
	for n := range 25 {
		s, id, bearing := scattered(r)
		for range 1 + r.Intn(3) {
			az, d := rad(bearing+r.Float64()*30-15), 3+r.Float64()*20
			s.Add(model.KindFoliage, "", orb.Polygon{site.Turned(orb.Point{d * math.Sin(az), d * math.Cos(az)}, 1+r.Float64()*5, 1+r.Float64()*5, r.Float64()*3)},
				model.Prop("height_m", 0.5+r.Float64()*4))
		}
		sc := s.Scene(t)
		f := sc.Plan.Feature("S1")
		m, _ := sc.Plan.Model(id)
		e := Stand(sc, f, m)
		if e.Buried != "" {
			continue
		}
		lk := NewLooker(sc)
		lk.From(&e, 1)
		area, weighted, _ := lk.Foliage()
		const step = 0.05
		wantArea, want := 0.0, 0.0
		var all orb.Bound
		for i := range sc.Foliage {
			if i == 0 {
				all = sc.Foliage[i].Bound
			}
			all = all.Union(sc.Foliage[i].Bound)
		}
		for x := all.Min[0] + step/2; x < all.Max[0]; x += step {
			for y := all.Min[1] + step/2; y < all.Max[1]; y += step {
				p := orb.Point{x, y}
				for _, l := range sc.Foliage {
					if l.Bound.Contains(p) && Inside(l.Shape, p) && leafAtPoint(sc, &e, m, f.Value.(*model.Sensor).Tilt, l.Height, p) {
						wantArea += step * step
						want += step * step * 625 / math.Max(1, (x-e.At[0])*(x-e.At[0])+(y-e.At[1])*(y-e.At[1]))
						break
					}
				}
			}
		}
		// Squares that an outline cuts are in or out whole.
		if math.Abs(area-wantArea) > 0.01*wantArea+0.05 || math.Abs(weighted-want) > 0.01*want+0.1 {
			t.Errorf("site %d: %.3f m2 of foliage, as much as %.3f at 25 m; squares %.3f and %.3f", n, area, weighted, wantArea, want)
		}
	}
}
