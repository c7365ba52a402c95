package gdal_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/model/sitegrid"
	"pleach/testdata/opendata"
)

// tool runs one of GDAL's own commands on lines of two numbers and returns its
// output as lines of numbers; an empty line is no numbers.
func tool(t *testing.T, in []orb.Point, name string, args ...string) (out [][]float64) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Skipf("the command %s (Debian: gdal-bin) is not installed", name)
	}
	cmd := exec.Command(name, args...)
	var text bytes.Buffer
	for _, p := range in {
		fmt.Fprintf(&text, "%.10f %.10f\n", p[0], p[1])
	}
	cmd.Stdin = &text
	b, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %v", cmd, err)
	}
	for line := range strings.Lines(string(b)) {
		var v []float64
		for _, word := range strings.Fields(line) {
			f, err := strconv.ParseFloat(word, 64)
			if err != nil {
				t.Fatalf("%v: %q", cmd, line)
			}
			v = append(v, f)
		}
		out = append(out, v)
	}
	if len(out) != len(in) {
		t.Fatalf("%v: %d lines for %d", cmd, len(out), len(in))
	}
	return out
}

// Cell centres are taken to longitude and latitude by gdaltransform and read by
// gdallocationinfo, both GDAL's own commands; the heights of the terrain at
// those places are the same to a millimetre.
func TestOutsideHeightsAtCellCentresAreThoseGDALReads(t *testing.T) {
	dir := opendata.Dir(t)
	for _, row := range []struct {
		file, crs, unit string
		columns, rows   int
		noData          float64
		metres          float64 // one of the file's numbers
		unitName        string
	}{
		{"data/dem/alexandria/dtm.tif", "", "", 283, 259, -9999, 1, "metre"},
		{"data/dem/alexandria/dsm.tif", "", "m", 283, 259, -9999, 1, "metre"},
		{"data/dem/canterbury/DEM_BY23_2015_1000_0101.tif", "", "", 480, 720, -9999.01, 1, "metre"},
		{"data/ortho/autzen/autzen_ground_20ft_derived.tif", "", "ft", 170, 234, -9999, 0.3048, "foot"},
		{"data/dem/bijou/west_bijou_gully.asc", "EPSG:26913", "", 43, 89, 0, 1, "metre"},
	} {
		t.Run(filepath.Base(row.file), func(t *testing.T) {
			path := filepath.Join(dir, row.file)
			info, err := gdal.LookAtTerrain(path, gdal.TerrainOptions{CRS: row.crs, Unit: row.unit})
			if err != nil {
				t.Fatal(err)
			}
			if info.Width != row.columns || info.Height != row.rows || info.UnitName != row.unitName {
				t.Errorf("%d x %d cells in %s, want %d x %d in %s", info.Width, info.Height, info.UnitName, row.columns, row.rows, row.unitName)
			}
			r := rand.New(rand.NewSource(9))
			var centres, cells []orb.Point
			for range 400 {
				c, l := r.Intn(row.columns), r.Intn(row.rows)
				cells = append(cells, orb.Point{float64(c), float64(l)})
				centres = append(centres, orb.Point{float64(c) + 0.5, float64(l) + 0.5})
			}
			args := []string{"-t_srs", "EPSG:4326", "-output_xy", path}
			if row.crs != "" {
				args = append([]string{"-s_srs", row.crs}, args...)
			}
			lonlat := tool(t, centres, "gdaltransform", args...)
			values := tool(t, cells, "gdallocationinfo", "-valonly", path)

			mid := info.LonLat.Center()
			site := gdal.SiteGrid{Lon0: mid[0], Lat0: mid[1]}
			sg := sitegrid.New(mid[0], mid[1])
			area := orb.Bound{Min: orb.Point{-400, -400}, Max: orb.Point{400, 400}}
			g, info, err := gdal.OpenTerrain(context.Background(), path, gdal.TerrainOptions{CRS: row.crs, Unit: row.unit}, site, area)
			if err != nil {
				t.Fatal(err)
			}
			if info.Misses > 1e-4 {
				t.Errorf("the mapping is off by %v cells", info.Misses)
			}
			worst, known := 0.0, 0
			for i, v := range values {
				p := sg.ToSite(orb.Point{lonlat[i][0], lonlat[i][1]})
				hole := math.Abs(v[0]-row.noData) < 0.01
				if !hole {
					known++
					if d := math.Abs(g.Height(p) - v[0]*row.metres); !(d <= worst) {
						worst = d
					}
				} else if g.Known(p) {
					t.Errorf("cell %v is known, GDAL reads %v, which is none", cells[i], v[0])
				}
			}
			t.Logf("%d of %d cells known, worst %.6f m; cell %.4f m; notes %q; unit by %q", known, len(values), worst, g.Cell(), info.Notes, info.UnitFrom)
			if worst > 0.001 || known < 20 {
				t.Errorf("%d heights, off by up to %.6f m, more than 0.001: gdaltransform and gdallocationinfo of GDAL 3.6.2", known, worst)
			}
		})
	}
}

// Between cell centres the ground is bilinear, as gdalwarp makes it: the raster
// warped onto the site grid with -r bilinear -et 0, an exact transformation of
// every cell. A tenth of a millimetre is what four bytes keep of a height.
func TestOutsideHeightsBetweenCellCentresAreThoseGDALWarps(t *testing.T) {
	dir := opendata.Dir(t)
	if _, err := exec.LookPath("gdalwarp"); err != nil {
		t.Skip("the command gdalwarp (Debian: gdal-bin) is not installed")
	}
	for _, row := range []struct {
		file, crs, unit string
		metres          float64
		half            int // metres
	}{
		{"data/dem/alexandria/dtm.tif", "", "", 1, 240},
		{"data/dem/canterbury/DEM_BY23_2015_1000_0101.tif", "", "", 1, 220},
		{"data/ortho/autzen/autzen_ground_20ft_derived.tif", "", "ft", 0.3048, 400},
		{"data/dem/bijou/west_bijou_gully.asc", "EPSG:26913", "", 1, 60},
	} {
		t.Run(filepath.Base(row.file), func(t *testing.T) {
			path := filepath.Join(dir, row.file)
			info, err := gdal.LookAtTerrain(path, gdal.TerrainOptions{CRS: row.crs, Unit: row.unit})
			if err != nil {
				t.Fatal(err)
			}
			mid := info.LonLat.Center()
			site := gdal.SiteGrid{Lon0: mid[0], Lat0: mid[1]}
			grid, err := site.CRS()
			if err != nil {
				t.Fatal(err)
			}
			// Cells of 0.7 m, smaller than the raster's, so that none is averaged.
			const size = 0.7
			n := int(2 * float64(row.half) / size)
			half := float64(n) * size / 2
			warped := filepath.Join(t.TempDir(), "w.tif")
			num := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
			args := []string{"-q", "-t_srs", wkt(t, grid), "-te", num(-half), num(-half), num(half), num(half), "-ts", fmt.Sprint(n), fmt.Sprint(n), "-r", "bilinear", "-et", "0", "-ot", "Float64"}
			if row.crs != "" {
				args = append(args, "-s_srs", row.crs)
			}
			if out, err := exec.Command("gdalwarp", append(args, path, warped)...).CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			r := rand.New(rand.NewSource(10))
			var cells []orb.Point
			for range 2000 {
				cells = append(cells, orb.Point{float64(r.Intn(n)), float64(r.Intn(n))})
			}
			values := tool(t, cells, "gdallocationinfo", "-valonly", warped)
			g, _, err := gdal.OpenTerrain(context.Background(), path, gdal.TerrainOptions{CRS: row.crs, Unit: row.unit}, site, square(half))
			if err != nil {
				t.Fatal(err)
			}
			worst, known := 0.0, 0
			for i, c := range cells {
				p := orb.Point{(c[0]+0.5)*size - half, half - (c[1]+0.5)*size}
				if !g.Known(p) {
					continue // next to a hole GDAL weighs what is left, the ground here takes the nearest
				}
				known++
				if d := math.Abs(g.Height(p) - values[i][0]*row.metres); !(d <= worst) {
					worst = d
				}
			}
			t.Logf("%d of %d places known, worst %.6f m", known, len(cells), worst)
			if worst > 0.001 || known < 400 {
				t.Errorf("%d heights, off by up to %.6f m, more than 0.001: gdalwarp of GDAL 3.6.2", known, worst)
			}
		})
	}
}
