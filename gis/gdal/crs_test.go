package gdal_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/testdata/opendata"
)

func crs(t *testing.T, text string) gdal.CRS {
	t.Helper()
	c, err := gdal.ParseCRS(text)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestOnlyEPSGCodesAndWellKnownTextNameAReferenceSystem(t *testing.T) {
	for _, row := range []struct{ text, want string }{
		{"EPSG:2994", "EPSG:2994"},
		{" epsg: 27700 ", "EPSG:27700"},
		{"EPSG:4326", "EPSG:4326"},
		{"EPSG:7405", "EPSG:7405"}, // compound: its horizontal part
	} {
		if c := crs(t, row.text); c.String() != row.want || c.Name() == "" {
			t.Errorf("%q: got %q named %q, want %q", row.text, c, c.Name(), row.want)
		}
	}
	for _, row := range []struct{ text, says string }{
		{"EPSG:999999", "EPSG:999999 is not in the EPSG register"},
		{"EPSG:4978", "not a map's"}, // geocentric
		{"EPSG:5703", "not a map's"}, // heights only
		{"EPSG:-1", "is not a coordinate reference system"},
		{"EPSG:27700+5701", "is not a coordinate reference system"},
		{"EPSG:99999999999999999999", "is not a coordinate reference system"},
		{"", "no coordinate reference system"},
		{"http://127.0.0.1:1/crs", "is not a coordinate reference system"},
		{"/etc/passwd", "is not a coordinate reference system"},
		{"+proj=utm +zone=30", "is not a coordinate reference system"},
		{"OSGB36", "is not a coordinate reference system"},
		{"urn:ogc:def:crs:EPSG::27700", "is not a coordinate reference system"},
		{`LOCAL_CS["plane"]`, "is not a coordinate reference system"},
		{`PROJCS["cut short`, "is not well-known text"},
		{`GEOGCS["x",DATUM["d",SPHEROID["s",6378137,298],EXTENSION["PROJ4_GRIDS","/dev/stdin"]],PRIMEM["G",0],UNIT["degree",0.0174532925199433],EXTENSION["PROJ4","+proj=longlat +nadgrids=/dev/stdin"]]`, "relies on a grid file"},
		{`BOUNDCRS[SOURCECRS[GEOGCRS["x"]],ABRIDGEDTRANSFORMATION["t",PARAMETERFILE["f","/dev/stdin"]]]`, "relies on a grid file"},
		{"PROJCS[" + strings.Repeat("x", 1<<17), "more than the 65536 allowed"},
	} {
		c, err := gdal.ParseCRS(row.text)
		if err == nil || !strings.Contains(err.Error(), row.says) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%.60q: got %v, error %v; want one line that says %q", row.text, c, err, row.says)
		}
	}
}

func TestWebMercatorWrittenOutIsUnderstood(t *testing.T) {
	c := crs(t, wkt(t, crs(t, "EPSG:3857")))
	p, err := gdal.Transformer{From: gdal.WGS84, To: c}.Point(orb.Point{1, 0})
	// A degree of the equator: 6378137·π/180 m (WGS 84's semi-major axis).
	if err != nil || math.Abs(p[0]-6378137*math.Pi/180) > 1e-6 {
		t.Errorf("%v, %v", p, err)
	}
}

func TestTheFeetOfAPhotographsWrittenOutSystemAreThoseOfItsCode(t *testing.T) {
	dir := filepath.Join(opendata.Dir(t), "data/ortho/autzen")
	wkt, err := os.ReadFile(filepath.Join(dir, "autzen-srs.wkt"))
	if err != nil {
		t.Fatal(err)
	}
	p := orb.Point{637239.4, 851170.1}
	a, err := gdal.Transformer{From: crs(t, string(wkt)), To: gdal.WGS84}.Point(p)
	if err != nil {
		t.Fatal(err)
	}
	b, err := gdal.Transformer{From: crs(t, "EPSG:2994"), To: gdal.WGS84}.Point(p)
	if err != nil {
		t.Fatal(err)
	}
	if d := math.Hypot(a[0]-b[0], a[1]-b[1]); d > 1e-9 {
		t.Errorf("%v by its text, %v by EPSG:2994: %g degrees apart", a, b, d)
	}
}

func TestAPointWithoutAnImageIsAnErrorAndNeverZero(t *testing.T) {
	grid, err := gdal.SiteGrid{Lon0: -3, Lat0: 56}.CRS()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []orb.Point{{-3, 91}, {math.NaN(), 56}, {-3, math.Inf(1)}} {
		good := orb.Point{-3, 56}
		got, err := gdal.Transformer{From: gdal.WGS84, To: grid}.Points([]orb.Point{good, p})
		if err == nil || got != nil || !strings.Contains(err.Error(), "point 2") {
			t.Errorf("%v: got %v, error %v; want an error naming point 2", p, got, err)
		}
	}
	for _, g := range []gdal.SiteGrid{{Lon0: 181}, {Lat0: 84.1}, {Lat0: math.NaN()}, {Lon0: math.Inf(-1)}} {
		if _, err := g.CRS(); err == nil {
			t.Errorf("a site grid at %v is no error", g)
		}
	}
}

func TestOutsideTransformsAgreeWithPublishedPoints(t *testing.T) {
	for _, row := range []struct {
		source    string
		from, to  string
		in, want  orb.Point // east or longitude first
		tolerance float64   // in units of the target
	}{
		{"Ordnance Survey, A guide to coordinate systems in Great Britain, worked example (Caister water tower)",
			"EPSG:4277", "EPSG:27700", orb.Point{1 + 43/60. + 4.5177/3600, 52 + 39/60. + 27.2531/3600}, orb.Point{651409.903, 313177.270}, 0.001},
		{"PROJ, test/gie/epsg_no_grid.gie: ETRS89 -> UTM 32",
			"EPSG:4258", "EPSG:25832", orb.Point{12, 55}, orb.Point{691875.6321, 6098907.8250}, 0.0001},
		{"PROJ, test/gie/epsg_no_grid.gie: Finland KKJ -> YKJ",
			"EPSG:4123", "EPSG:2393", orb.Point{24.9384, 60.1699}, orb.Point{3385559.8151, 6674944.7742}, 0.0001},
	} {
		t.Run(row.from+" to "+row.to, func(t *testing.T) {
			there := gdal.Transformer{From: crs(t, row.from), To: crs(t, row.to)}
			got, err := there.Point(row.in)
			if err != nil {
				t.Fatal(err)
			}
			if off := math.Max(math.Abs(got[0]-row.want[0]), math.Abs(got[1]-row.want[1])); off > row.tolerance {
				t.Errorf("%v gives %.4f, want %.4f within %g: %s", row.in, got, row.want, row.tolerance, row.source)
			}
			back, err := gdal.Transformer{From: there.To, To: there.From}.Point(got)
			if err != nil {
				t.Fatal(err)
			}
			if off := math.Hypot(back[0]-row.in[0], back[1]-row.in[1]); off > 1e-9 {
				t.Errorf("there and back misses by %g degrees", off)
			}
		})
	}
}

// The plane distance on a site grid centred between two points under 1 km apart
// is the geodesic's: at y metres from the central meridian the scale of a
// transverse Mercator is 1 + y²/2R², at 500 m 3e-9, so 3 micrometres in 1 km;
// the published lengths are rounded to 0.1 micrometre.
func TestOutsideShortGeodesicsKeepTheirLengthOnTheSiteGrid(t *testing.T) {
	b, err := os.ReadFile(filepath.Join(opendata.Dir(t), "data/checkpoints/GeodTest-first50.dat"))
	if err != nil {
		t.Fatal(err)
	}
	short := 0
	for n, line := range strings.Split(strings.TrimSpace(string(b)), "\n") {
		var v [10]float64
		for i, f := range strings.Fields(line) {
			if v[i], err = strconv.ParseFloat(f, 64); err != nil {
				t.Fatal(err)
			}
		}
		lat1, lon1, lat2, lon2, s12 := v[0], v[1], v[3], v[4], v[6]
		if s12 >= 1000 {
			continue
		}
		short++
		t.Run(fmt.Sprintf("line %d", n+1), func(t *testing.T) {
			grid, err := gdal.SiteGrid{Lon0: (lon1 + lon2) / 2, Lat0: (lat1 + lat2) / 2}.CRS()
			if err != nil {
				t.Fatal(err)
			}
			p, err := gdal.Transformer{From: gdal.WGS84, To: grid}.Points([]orb.Point{{lon1, lat1}, {lon2, lat2}})
			if err != nil {
				t.Fatal(err)
			}
			tolerance := 1e-3 + s12*math.Pow(s12/2/6.36e6, 2)/2
			if got := math.Hypot(p[1][0]-p[0][0], p[1][1]-p[0][1]); math.Abs(got-s12) > tolerance {
				t.Errorf("%.7f m, want %.7f within %.4f: GeodTest.dat (C. Karney, GeographicLib)", got, s12, tolerance)
			}
		})
	}
	if short == 0 {
		t.Error("no line under 1 km in the file")
	}
}
