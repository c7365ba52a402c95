package sitegrid_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model/sitegrid"
	"pleach/testdata/opendata"
	"pleach/testdata/published"
)

// UTM is the site grid with its origin at the equator and the zone's meridian,
// times 0.9996, plus 500 km. The published figures are on GRS 80, whose
// northings lie up to 0.1 mm from those on WGS 84; the tolerances allow for it.
func TestOutsideUTMByTheSiteGrid(t *testing.T) {
	rows := published.Load(t, "sitegrid.csv")
	for _, c := range []struct {
		id       string
		meridian float64
		at       orb.Point
	}{
		{"utm32", 9, orb.Point{12, 55}},
		{"utm32b", 9, orb.Point{12, 56}},
		{"utm30", -3, orb.Point{2, 1}},
	} {
		g := sitegrid.New(c.meridian, 0)
		p := g.ToSite(c.at)
		rows.Check(t, c.id+"-e", 500_000+0.9996*p[0])
		rows.Check(t, c.id+"-n", 0.9996*p[1])
		t.Run(c.id+" back", func(t *testing.T) {
			e, n := rows[c.id+"-e"], rows[c.id+"-n"]
			q := g.ToLonLat(orb.Point{(e.Value - 500_000) / 0.9996, n.Value / 0.9996})
			if off := metresApart(q, c.at); off > n.Tolerance+e.Tolerance {
				t.Errorf("the published easting and northing come back as %.10f, %.10f, %.6f m from %v; source: %s", q[0], q[1], off, c.at, e.Source)
			}
		})
	}
}

// metresApart is the distance between places a few metres apart.
func metresApart(p, q orb.Point) float64 {
	const degree = 111_320
	return math.Hypot((p[0]-q[0])*degree*math.Cos(p[1]*math.Pi/180), (p[1]-q[1])*degree)
}

// Geodesics of under 1 km, with the site grid's origin in the middle of each as
// on a site of that size: their length is the grid's distance, and the azimuth
// at the beginning is the grid's bearing plus the convergence there.
//
// Source: C. Karney, test set for geodesics (GeodTest.dat of GeographicLib), columns
// lat1 lon1 azi1 lat2 lon2 azi2 s12, distances to 1e-7 m. The grid's own scale
// error over half a kilometre is 3e-9.
func TestOutsideShortGeodesicsOnTheSiteGrid(t *testing.T) {
	const (
		source    = "C. Karney, GeodTest.dat"
		tolerance = 5e-6 // metres
		turn      = 1e-6 // degrees
	)
	b, err := os.ReadFile(filepath.Join(opendata.Dir(t), "data", "checkpoints", "GeodTest-first50.dat"))
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for i, line := range strings.Split(strings.TrimSpace(string(b)), "\n") {
		var lat1, lon1, azi1, lat2, lon2, azi2, s12 float64
		if _, err := fmt.Sscan(line, &lat1, &lon1, &azi1, &lat2, &lon2, &azi2, &s12); err != nil {
			t.Fatalf("line %d: %v", i+1, err)
		}
		if s12 >= 1000 {
			continue
		}
		n++
		t.Run(fmt.Sprintf("line %d", i+1), func(t *testing.T) {
			g := sitegrid.New((lon1+lon2)/2, (lat1+lat2)/2)
			p, q := g.ToSite(orb.Point{lon1, lat1}), g.ToSite(orb.Point{lon2, lat2})
			d := orb.Point{q[0] - p[0], q[1] - p[1]}
			if s := math.Hypot(d[0], d[1]); math.Abs(s-s12) > tolerance {
				t.Errorf("distance %.7f m, want %.7f within %g; source: %s", s, s12, tolerance, source)
			}
			bearing := math.Atan2(d[0], d[1]) * 180 / math.Pi
			for _, end := range []struct {
				at  orb.Point
				azi float64
			}{{p, azi1}, {q, azi2}} {
				if got := bearing + g.Convergence(end.at); math.Abs(math.Remainder(got-end.azi, 360)) > turn {
					t.Errorf("azimuth %.9f, want %.9f degrees within %g; source: %s", got, end.azi, turn, source)
				}
			}
		})
	}
	if n < 5 {
		t.Errorf("only %d lines under 1 km: the file is not the one this was written for", n)
	}
}
