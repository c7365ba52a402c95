package sitegrid_test

import (
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model/sitegrid"
)

func TestToTheSiteGridAndBackIsTheSamePlace(t *testing.T) {
	r := rand.New(rand.NewSource(51))
	for range 2000 {
		g := sitegrid.New(r.Float64()*360-180, r.Float64()*168-84)
		p := orb.Point{(r.Float64()*2 - 1) * 5000, (r.Float64()*2 - 1) * 5000}
		q := g.ToSite(g.ToLonLat(p))
		if off := math.Hypot(q[0]-p[0], q[1]-p[1]); off > 1e-7 {
			t.Fatalf("from %v, %v: %v comes back %v m away", g.Lon0, g.Lat0, p, off)
		}
		// Grid north lies off true north by the convergence: a metre along it, on the
		// ellipsoid's radii of curvature.
		here, north := g.ToLonLat(p), g.ToLonLat(orb.Point{p[0], p[1] + 1})
		const e2 = 0.00669438
		lat := here[1] * math.Pi / 180
		radii := (1 - e2*math.Sin(lat)*math.Sin(lat)) / (1 - e2) // prime vertical over meridian
		got := math.Atan2(radii*math.Cos(lat)*math.Remainder(north[0]-here[0], 360), north[1]-here[1]) * 180 / math.Pi
		if want := g.Convergence(p); math.Abs(got-want) > 1e-5 {
			t.Fatalf("at %v: grid north bears %v degrees, convergence %v", here, got, want)
		}
	}
}
