package gdal_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/model/sitegrid"
)

func TestOutsideANationalGridGivesPublishedCoordinates(t *testing.T) {
	for _, row := range []struct {
		crs           string
		at            orb.Point
		first, second float64
		within        float64 // metres
		axes          string
		source        string
	}{
		// The water tower at Caister, with the transformation of seven parameters,
		// which its makers give as good to 5 m; the coordinates are by the grid OSTN15.
		{"EPSG:27700", orb.Point{1.71607397333, 52.65800783333}, 651409.804, 313177.450, 5, "east north m", "Ordnance Survey, test points of OSTN15; from memory"},
		// The meridian and the equator of a zone have round coordinates.
		{"EPSG:32631", orb.Point{3, 0}, 500000, 0, 1e-6, "east north m", "NGA.SIG.0012, section 7: false easting 500 000 m, scale 0.9996"},
		{"EPSG:32731", orb.Point{3, -1e-9}, 500000, 1e7, 0.001, "east north m", "NGA.SIG.0012, section 7: false northing 10 000 000 m in the south"},
		// On its meridian the first coordinate is 0; the second counts southwards from the equator.
		{"EPSG:2053", orb.Point{29, -26}, 0, 2876835, 1.5, "west south m", "EPSG dataset, projection Lo29, transverse Mercator south orientated; the arc of the meridian to latitude 26 by Snyder, Map Projections (1987), equation 3-21"},
	} {
		t.Run(row.crs, func(t *testing.T) {
			g, err := gdal.OpenNationalGrid(row.crs, row.at)
			if err != nil {
				t.Fatal(err)
			}
			p, err := g.Places([]orb.Point{row.at})
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(p[0][0]-row.first) > row.within || math.Abs(p[0][1]-row.second) > row.within {
				t.Errorf("%.3f, %.3f, want %.3f, %.3f within %g m: %s", p[0][0], p[0][1], row.first, row.second, row.within, row.source)
			}
			a, b, u := g.Axes()
			if got := a + " " + b + " " + u; got != row.axes {
				t.Errorf("axes %s, want %s: %s", got, row.axes, row.source)
			}
		})
	}
}

func TestWithoutANameAPlaceIsInItsZoneOfUTM(t *testing.T) {
	for _, row := range []struct {
		at   orb.Point
		zone string
	}{
		{orb.Point{-179.9, 10}, "EPSG:32601, WGS 84 / UTM zone 1N"},
		{orb.Point{-2.9, 52.9}, "EPSG:32630, WGS 84 / UTM zone 30N"},
		{orb.Point{0.01, 52.9}, "EPSG:32631, WGS 84 / UTM zone 31N"},
		{orb.Point{179.99, -40}, "EPSG:32760, WGS 84 / UTM zone 60S"},
		{orb.Point{180, -40}, "EPSG:32760, WGS 84 / UTM zone 60S"},
	} {
		t.Run(fmt.Sprint(row.at), func(t *testing.T) {
			g, err := gdal.OpenNationalGrid(" ", row.at)
			if err != nil {
				t.Fatal(err)
			}
			if g.Name() != row.zone || g.Stated() || g.Tie() != "on WGS 84 itself" {
				t.Errorf("%s, stated %v, %s, want %s", g.Name(), g.Stated(), g.Tie(), row.zone)
			}
			if m, ok := g.Accuracy(); m != 0 || !ok {
				t.Errorf("accuracy %v, %v, want 0", m, ok)
			}
			// The site grid's own series, shrunk and shifted.
			meridian := math.Min(math.Floor(row.at[0]/6)*6+3, 177)
			q := sitegrid.New(meridian, 0).ToSite(row.at)
			want := orb.Point{500000 + 0.9996*q[0], 0.9996 * q[1]}
			if row.at[1] < 0 {
				want[1] += 1e7
			}
			p, err := g.Places([]orb.Point{row.at})
			if err != nil {
				t.Fatal(err)
			}
			if math.Hypot(p[0][0]-want[0], p[0][1]-want[1]) > 1e-3 {
				t.Errorf("%v, want %v", p[0], want)
			}
		})
	}
}

func TestAGridThatDoesNotServeIsRefused(t *testing.T) {
	for crs, says := range map[string]string{
		"EPSG:4326":       "not a grid on a map",
		"EPSG:27700":      "is for use between longitude -9",
		"EPSG:1":          "not in the EPSG register",
		"the usual one":   "is not a coordinate reference system",
		"http://x.y/z":    "is not a coordinate reference system",
		"+proj=utm +zone": "is not a coordinate reference system",
	} {
		if _, err := gdal.OpenNationalGrid(crs, orb.Point{20, 55}); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: error %v, want one that says %q", crs, err, says)
		}
	}
	// One that is for all the Earth, and one that runs across the date line, serve.
	for crs, at := range map[string]orb.Point{"EPSG:3857": {20, 55}, "EPSG:3832": {-170, 5}} {
		if _, err := gdal.OpenNationalGrid(crs, at); err != nil {
			t.Error(err)
		}
	}
}
