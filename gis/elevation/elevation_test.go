package elevation

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/gis/planfile"
	"pleach/model"
	"pleach/model/sitegrid"
)

// asc is a text grid of heights in UTM zone 30 about the place the tests use.
func asc(t *testing.T, dir, name string, columns, rows int, cell float64, height func(c, r int) float64) {
	t.Helper()
	var b strings.Builder
	fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcorner %v\nyllcorner %v\ncellsize %v\nNODATA_value -9999\n",
		columns, rows, 500000-float64(columns)/2*cell, 5700000-float64(rows)/2*cell, cell)
	for r := range rows {
		for c := range columns {
			fmt.Fprintf(&b, "%.4f ", height(c, r))
		}
		b.WriteByte('\n')
	}
	if err := os.WriteFile(filepath.Join(dir, name), []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

func site(t *testing.T) sitegrid.Grid {
	t.Helper()
	c, err := gdal.ParseCRS("EPSG:32630")
	if err != nil {
		t.Fatal(err)
	}
	p, err := gdal.Transformer{From: c, To: gdal.WGS84}.Point(orb.Point{500000, 5700000})
	if err != nil {
		t.Fatal(err)
	}
	return sitegrid.New(p[0], p[1])
}

func TestThePlansTerrainIsLoadedFromItsFolder(t *testing.T) {
	dir := t.TempDir()
	asc(t, dir, "ground.asc", 100, 100, 2, func(c, r int) float64 { return 50 + float64(c)/10 })
	area := orb.Bound{Min: orb.Point{-50, -50}, Max: orb.Point{50, 50}}
	for _, row := range []struct {
		unit string
		want float64
	}{{"", 54.95}, {"m", 54.95}, {"ft", 54.95 * 0.3048}} {
		l, err := Load(context.Background(), dir, model.TerrainFile{File: "ground.asc", CRS: "EPSG:32630", Unit: row.unit}, site(t), area)
		if err != nil {
			t.Fatal(err)
		}
		if h := l.Grid.Height(orb.Point{}); math.Abs(h-row.want) > 1e-4 || !l.Grid.Known(orb.Point{}) {
			t.Errorf("unit %q: height %v, want %v", row.unit, h, row.want)
		}
		if l.File != filepath.Join(dir, "ground.asc") || l.Grid.Area() != area {
			t.Errorf("%s for %v", l.File, l.Grid.Area())
		}
	}
}

func TestATerrainThatCannotBeLoadedSaysWhy(t *testing.T) {
	dir := t.TempDir()
	asc(t, dir, "ground.asc", 10, 10, 2, func(c, r int) float64 { return 50 })
	for _, row := range []struct {
		tf   model.TerrainFile
		says string
	}{
		{model.TerrainFile{}, "terrain.file: no file is named"},
		{model.TerrainFile{File: `\\server\a.tif`}, "another computer"},
		{model.TerrainFile{File: "none.tif"}, "none.tif: no such file"},
		{model.TerrainFile{File: "ground.asc"}, "ground.asc: " + gdal.ErrNoCRS.Error()},
		{model.TerrainFile{File: "ground.asc", CRS: "EPSG:1"}, "ground.asc: terrain.crs: EPSG:1 is not"},
		{model.TerrainFile{File: "ground.asc", CRS: "EPSG:32630", Unit: "yd"}, "terrain.unit"},
		{model.TerrainFile{File: "ground.asc", CRS: "EPSG:32631"}, "does not lie under the site"},
	} {
		_, err := Load(context.Background(), dir, row.tf, site(t), orb.Bound{})
		if err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%+v: error %v, want %q", row.tf, err, row.says)
		}
		if strings.Contains(row.says, "under the site") {
			continue
		}
		if _, err := Look(dir, row.tf); err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("look at %+v: error %v, want %q", row.tf, err, row.says)
		}
	}
}

// plan reads a plan of features given in metres on the site grid.
func plan(t *testing.T, grid sitegrid.Grid, features ...string) *model.Plan {
	t.Helper()
	path := filepath.Join(t.TempDir(), "p.geojson")
	text := `{"type":"FeatureCollection","pleach":{"version":1},"features":[` + strings.Join(features, ",") + `]}`
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	p, err := planfile.Read(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range p.AllFlaws() {
		t.Fatal(f)
	}
	return p
}

func feature(grid sitegrid.Grid, id, kind, more string, g orb.Geometry) string {
	var coordinates any
	ll := grid.Back(g)
	coordinates = ll
	b, err := json.Marshal(map[string]any{"type": ll.GeoJSONType(), "coordinates": coordinates})
	if err != nil {
		panic(err)
	}
	return fmt.Sprintf(`{"type":"Feature","id":%q,"properties":{"kind":%q%s},"geometry":%s}`, id, kind, more, b)
}

func box(x, y, half float64) orb.Polygon {
	return orb.Polygon{{{x - half, y - half}, {x + half, y - half}, {x + half, y + half}, {x - half, y + half}, {x - half, y - half}}}
}

func TestTheGroundIsLoadedAsFarAsSensorsLook(t *testing.T) {
	grid := sitegrid.New(-3, 51)
	sensor := `,"model":"curtain-4-63","mount_height_m":3,"bearing_deg":0,"tilt_deg":2`
	for _, row := range []struct {
		name     string
		features []string
		want     orb.Bound // metres
	}{
		{"nothing", nil, orb.Bound{Min: orb.Point{-1000, -1000}, Max: orb.Point{1000, 1000}}},
		{"a boundary", []string{feature(grid, "B1", "boundary", "", box(0, 0, 100))}, orb.Bound{Min: orb.Point{-300, -300}, Max: orb.Point{300, 300}}},
		// Three times 63 m for a vehicle.
		{"a sensor on it", []string{feature(grid, "B1", "boundary", "", box(0, 0, 100)), feature(grid, "S1", "sensor", sensor, orb.Point{100, 0})},
			orb.Bound{Min: orb.Point{-300, -389}, Max: orb.Point{489, 389}}},
		{"a building near, one far, a long road", []string{feature(grid, "B1", "boundary", "", box(0, 0, 100)),
			feature(grid, "H1", "building", `,"height_m":5`, box(600, 0, 10)), feature(grid, "H2", "building", `,"height_m":5`, box(0, 4000, 10)),
			feature(grid, "R1", "road", "", orb.LineString{{-9000, 0}, {9000, 0}})},
			orb.Bound{Min: orb.Point{-300, -300}, Max: orb.Point{810, 300}}},
		{"a receiver astray", []string{feature(grid, "B1", "boundary", "", box(0, 0, 100)), feature(grid, "RX", "receiver", `,"antenna_height_m":5`, orb.Point{200_000, 0})},
			orb.Bound{Min: orb.Point{-300, -300}, Max: orb.Point{gdal.Reach, 300}}},
	} {
		got := Area(plan(t, grid, row.features...), grid)
		for i := range 2 {
			if math.Abs(got.Min[i]-row.want.Min[i]) > 1e-3 || math.Abs(got.Max[i]-row.want.Max[i]) > 1e-3 {
				t.Errorf("%s: %v, want %v", row.name, got, row.want)
				break
			}
		}
	}
}
