package main

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
)

// A plane that rises by 5 % to the east brings the far ground of beam A of the
// handbook's worked examples (detection 3.3: mount 3 m, limits 1 and 8 degrees
// down, a vanishing target) from 171.87 m to 44.474 m, looking east.
func TestOutsideCheckTakesTheGroundFromThePlansTerrain(t *testing.T) {
	dir := t.TempDir()
	// Longitude 9, latitude 50 lies at 500000, 5538630.703 in EPSG:32632 (PROJ).
	const n, cell = 240, 5.0
	west, south := 500000-n/2*cell, 5538630.703-n/2*cell
	var asc strings.Builder
	fmt.Fprintf(&asc, "ncols %d\nnrows %d\nxllcorner %.3f\nyllcorner %.3f\ncellsize %g\nNODATA_value -9999\n", n, n, west, south, cell)
	for range n {
		for j := range n {
			fmt.Fprintf(&asc, "%.4f ", 0.05*(west+(float64(j)+0.5)*cell-500000))
		}
		asc.WriteString("\n")
	}
	if err := os.WriteFile(filepath.Join(dir, "plane.asc"), []byte(asc.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	far := func(terrain string) float64 {
		plan := fmt.Sprintf(`{"type":"FeatureCollection","pleach":{"version":1,%s"target":{"height_m":0.01,"min_visible":0.5},
"models":[{"id":"A","lobes":[{"azimuth_deg":0,"width_deg":4,"up_deg":-1,"down_deg":8,"range_m":400}]}]},
"features":[{"type":"Feature","id":"S1","properties":{"kind":"sensor","model":"A","mount_height_m":3,"bearing_deg":90,"tilt_deg":0},
"geometry":{"type":"Point","coordinates":[9,50]}}]}`, terrain)
		path := filepath.Join(dir, "plan.geojson")
		if err := os.WriteFile(path, []byte(plan), 0o644); err != nil {
			t.Fatal(err)
		}
		var out, said bytes.Buffer
		if code := run([]string{"check", path, "--json"}, strings.NewReader(""), &out, &said); code != 1 {
			t.Fatalf("exit %d: %s", code, said.String())
		}
		var r struct{ Sensors []struct{ Far_m float64 } }
		if err := json.Unmarshal(out.Bytes(), &r); err != nil {
			t.Fatal(err)
		}
		return r.Sensors[0].Far_m
	}
	for _, c := range []struct {
		name, terrain string
		want, tol     float64
	}{
		{"level", "", 171.87, 0.5},
		{"5 % up", `"terrain":{"file":"plane.asc","crs":"EPSG:32632"},`, 44.474, 0.2},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := far(c.terrain); math.Abs(got-c.want) > c.tol {
				t.Errorf("far ground at %v m, want %v (tolerance %v; handbook of check values, detection 3.3 and O23, O25, computed)", got, c.want, c.tol)
			}
		})
	}
}

func TestATerrainThatCannotBeReadIsBadInput(t *testing.T) {
	path := filepath.Join(t.TempDir(), "plan.geojson")
	if err := os.WriteFile(path, []byte(`{"type":"FeatureCollection","pleach":{"version":1,"terrain":{"file":"gone.tif"}},"features":[]}`), 0o644); err != nil {
		t.Fatal(err)
	}
	var out, said bytes.Buffer
	if code := run([]string{"check", path}, strings.NewReader(""), &out, &said); code != 2 || !strings.Contains(said.String(), "gone.tif") || out.Len() > 0 {
		t.Errorf("exit %d, said %q, wrote %d bytes", code, said.String(), out.Len())
	}
}

// hugeTIFF claims 200 000 cells a side in a few hundred bytes: one empty strip
// (TIFF 6.0, Adobe 1992), 1 m a cell (GeoTIFF 1.1, OGC 19-008).
func hugeTIFF() []byte {
	le := binary.LittleEndian
	const side, tags = 200_000, 12
	doubles := func(v ...float64) (b []byte) {
		for _, f := range v {
			b = le.AppendUint64(b, math.Float64bits(f))
		}
		return b
	}
	out := le.AppendUint16([]byte("II*\x00\x08\x00\x00\x00"), tags)
	after := uint32(8 + 2 + 12*tags + 4)
	var rest []byte
	tag := func(id, kind uint16, n, value uint32) {
		out = le.AppendUint32(le.AppendUint32(le.AppendUint16(le.AppendUint16(out, id), kind), n), value)
	}
	far := func(id uint16, v ...float64) {
		tag(id, 12, uint32(len(v)), after+uint32(len(rest)))
		rest = append(rest, doubles(v...)...)
	}
	for _, t := range [][2]uint32{{256, side}, {257, side}, {258, 16}, {259, 1}, {262, 1}, {273, 0}, {277, 1}, {278, 64}, {279, 0}, {339, 2}} {
		tag(uint16(t[0]), 4, 1, t[1])
	}
	far(33550, 1, 1, 0)
	far(33922, 0, 0, 0, 400000, 5638630, 0)
	return append(append(out, 0, 0, 0, 0), rest...)
}

// A terrain that is none is one line that names the file, and status 2.
func TestATerrainThatIsNoGroundIsRefusedInOneLine(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, b []byte) {
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	grid := func(name string, n int, height string) {
		write(name, []byte(fmt.Sprintf("ncols %d\nnrows %d\nxllcorner %v\nyllcorner %v\ncellsize 10\nNODATA_value -9999\n%s\n", n, n, 500000-5*n, 5538630-5*n, strings.Repeat(height+" ", n*n))))
	}
	photo := image.NewRGBA(image.Rect(0, 0, 60, 60))
	for i := range 60 * 60 {
		photo.Set(i%60, i/60, color.RGBA{uint8(i), uint8(i / 7), uint8(i / 13), 255})
	}
	var b bytes.Buffer
	if err := png.Encode(&b, photo); err != nil {
		t.Fatal(err)
	}
	write("photo.png", b.Bytes())
	write("photo.pgw", []byte("10\n0\n0\n-10\n499705\n5538925\n"))
	grid("empty.asc", 60, "-9999")
	grid("one.asc", 1, "12")
	grid("vast.asc", 60, "1e38")
	grid("feet.asc", 60, "31000") // a summit of 9,449 m, were it in feet
	write("huge.tif", hugeTIFF())
	for _, c := range []struct{ file, says string }{
		{"photo.png", "picture"},
		{"empty.asc", "no height is known under the site"},
		{"one.asc", "has 1 x 1 cells"},
		{"vast.asc", "holds no heights of ground"},
		{"feet.asc", "holds no heights of ground"},
		{"huge.tif", "claims 200000 x 200000 cells; up to 100000 on a side"},
	} {
		t.Run(c.file, func(t *testing.T) {
			plan := filepath.Join(dir, "plan.geojson")
			text := fmt.Sprintf(`{"type":"FeatureCollection","pleach":{"version":1,"terrain":{"file":%q,"crs":"EPSG:32632","unit":"m"}},
"features":[{"type":"Feature","id":"RX","properties":{"kind":"receiver","antenna_height_m":5},"geometry":{"type":"Point","coordinates":[9,50]}}]}`, c.file)
			write("plan.geojson", []byte(text))
			var out, said bytes.Buffer
			code := run([]string{"check", plan}, strings.NewReader(""), &out, &said)
			if code != 2 || out.Len() > 0 || strings.Count(said.String(), "\n") != 1 || !strings.Contains(said.String(), c.file+": ") || !strings.Contains(said.String(), c.says) {
				t.Errorf("exit %d, %d bytes written, said %q, want one line with %q", code, out.Len(), said.String(), c.says)
			}
		})
	}
}

// Heights in feet that pass for metres cannot be told by the figures; where the
// file's coordinates are in feet and it states no unit for its heights, that is said.
func TestHeightsThatMayBeInFeetAreSaid(t *testing.T) {
	dir := t.TempDir()
	const n = 300 // cells of 20 ft about a place in Oregon, longitude -123.0685, latitude 44.0575 (PROJ: EPSG:2994)
	asc := fmt.Sprintf("ncols %d\nnrows %d\nxllcorner 634000\nyllcorner 847000\ncellsize 20\n%s\n", n, n, strings.Repeat("420 ", n*n))
	for name, text := range map[string]string{"feet.asc": asc, "plan.geojson": `{"type":"FeatureCollection","pleach":{"version":1,"terrain":{"file":"feet.asc","crs":"EPSG:2994"}},
"features":[{"type":"Feature","id":"RX","properties":{"kind":"receiver","antenna_height_m":5},"geometry":{"type":"Point","coordinates":[-123.0685,44.0575]}}]}`} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	var out, said bytes.Buffer
	code := run([]string{"check", filepath.Join(dir, "plan.geojson")}, strings.NewReader(""), &out, &said)
	if code == 2 || !strings.Contains(said.String(), "feet.asc") || !strings.Contains(said.String(), `if they are feet, set terrain.unit to "ft"`) {
		t.Errorf("exit %d, said %q", code, said.String())
	}
}

// A plan that is nothing but a terrain lies in the middle of it.
func TestAPlanOfTerrainAloneIsLaidOnIt(t *testing.T) {
	dir := t.TempDir()
	const n = 60
	asc := fmt.Sprintf("ncols %d\nnrows %d\nxllcorner %v\nyllcorner %v\ncellsize 10\n%s\n", n, n, 500000-5*n, 5538630-5*n, strings.Repeat("120 ", n*n))
	for name, text := range map[string]string{"ground.asc": asc, "plan.geojson": `{"type":"FeatureCollection","pleach":{"version":1,"terrain":{"file":"ground.asc","crs":"EPSG:32632"}},"features":[]}`} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	var out, said bytes.Buffer
	code := run([]string{"check", "--json", filepath.Join(dir, "plan.geojson")}, strings.NewReader(""), &out, &said)
	if code == 2 || said.Len() > 0 {
		t.Fatalf("exit %d, said %q", code, said.String())
	}
	var r struct {
		Grid struct {
			Lon float64 `json:"lon_0"`
			Lat float64 `json:"lat_0"`
		} `json:"site_grid"`
	}
	if err := json.Unmarshal(out.Bytes(), &r); err != nil {
		t.Fatal(err)
	}
	// 500000 E is the central meridian of UTM zone 32, 9 degrees east, by definition;
	// 5538630 N lies at 50 degrees north there (PROJ: EPSG:32632).
	if math.Abs(r.Grid.Lon-9) > 1e-4 || math.Abs(r.Grid.Lat-50) > 1e-4 {
		t.Errorf("the plan lies about %v, %v, not 9, 50", r.Grid.Lon, r.Grid.Lat)
	}
}

// 1 ft = 0.3048 m by definition.
func TestNewTakesTheUnitOfHeightsThatAFileDoesNotState(t *testing.T) {
	dir := t.TempDir()
	const n = 60
	asc := fmt.Sprintf("ncols %d\nnrows %d\nxllcorner %v\nyllcorner %v\ncellsize 10\n%s\n", n, n, 500000-5*n, 5538630-5*n, strings.Repeat("120 ", n*n))
	ground, plan := filepath.Join(dir, "ground.asc"), filepath.Join(dir, "plan.geojson")
	if err := os.WriteFile(ground, []byte(asc), 0o644); err != nil {
		t.Fatal(err)
	}
	var out, said bytes.Buffer
	if code := run([]string{"new", "--terrain", ground, "--terrain-crs", "EPSG:32632", "--terrain-unit", "ft", "-o", plan}, strings.NewReader(""), &out, &said); code != 0 || said.Len() > 0 {
		t.Fatalf("exit %d, said %q", code, said.String())
	}
	p, err := readPlan(plan)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := *p.Settings.Terrain, (model.TerrainFile{File: "ground.asc", CRS: "EPSG:32632", Unit: "ft"}); got != want {
		t.Errorf("the plan has %+v, want %+v", got, want)
	}
	sc, err := layScene(plan, p, &said)
	if err != nil || math.Abs(sc.Ground(orb.Point{})-120*0.3048) > 1e-4 {
		t.Errorf("the ground is not 120 ft high: %v", err)
	}
}
