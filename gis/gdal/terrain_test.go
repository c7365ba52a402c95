package gdal_test

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
)

// A place in UTM zone 30 and a site about it.
var (
	utmPlace = [6]float64{500100, 2, 0, 5710000, 0, -2}
	utmMid   = orb.Point{500300, 5709850} // the middle of 200 x 150 cells of 2 m
)

func square(half float64) orb.Bound {
	return orb.Bound{Min: orb.Point{-half, -half}, Max: orb.Point{half, half}}
}

func siteAt(t *testing.T, c gdal.CRS, p orb.Point) (gdal.SiteGrid, sitegrid.Grid) {
	t.Helper()
	ll, err := gdal.Transformer{From: c, To: gdal.WGS84}.Point(p)
	if err != nil {
		t.Fatal(err)
	}
	return gdal.SiteGrid{Lon0: ll[0], Lat0: ll[1]}, sitegrid.New(ll[0], ll[1])
}

// put writes heights in UTM zone 30 and returns the path and the site about them.
func put(t *testing.T, h gdal.Heights) (path string, site gdal.SiteGrid) {
	t.Helper()
	c := crs(t, "EPSG:32630")
	if h.Width == 0 {
		h.Width, h.Height = 200, 150
	}
	if h.Place == nil {
		h.Place = &utmPlace
	}
	if h.WKT == "" {
		h.WKT = wkt(t, c)
	}
	if h.Pixels == nil {
		h.Pixels = slope
	}
	path = filepath.Join(t.TempDir(), "h.tif")
	h.Write(t, path)
	site, _ = siteAt(t, c, utmMid)
	return path, site
}

// slope rises a metre a column and falls a quarter a row.
func slope(_, col, row int) float64 { return 100 + float64(col) - float64(row)/4 }

func open(t *testing.T, path string, opt gdal.TerrainOptions, site gdal.SiteGrid, half float64) (*terrain.Grid, gdal.TerrainInfo) {
	t.Helper()
	g, info, err := gdal.OpenTerrain(context.Background(), path, opt, site, square(half))
	if err != nil {
		t.Fatal(err)
	}
	return g, info
}

func TestHeightsComeInMetresWhateverTheyAreWrittenIn(t *testing.T) {
	const mid = 100 + 99.5 - 74.5/4 // at the middle, in the raster's unit
	vertical := func(epsg string) string {
		w := wkt(t, crs(t, "EPSG:32630"))
		return `COMPD_CS["both",` + w + `,VERT_CS[` + epsg + `]]]`
	}
	for _, row := range []struct {
		name     string
		h        gdal.Heights
		asked    string
		want     float64
		unit     string
		from     string
		says     string
		unitless bool
	}{
		{name: "nothing said", want: mid, unit: "metre"},
		{name: "asked for feet", asked: "ft", want: mid * 0.3048, unit: "foot", from: "the plan"},
		{name: "asked for metres", asked: "m", want: mid, unit: "metre", from: "the plan"},
		{name: "the band in feet", h: gdal.Heights{Unit: "ft"}, want: mid * 0.3048, unit: "foot", from: "the file"},
		{name: "the band in survey feet", h: gdal.Heights{Unit: "US survey foot"}, want: mid * 1200 / 3937, unit: "US survey foot", from: "the file"},
		{name: "the band in survey feet, asked for feet", h: gdal.Heights{Unit: "us-ft"}, asked: "ft", want: mid * 1200 / 3937, unit: "US survey foot", from: "the plan"},
		{name: "the band in feet, asked for metres", h: gdal.Heights{Unit: "foot"}, asked: "m", want: mid, unit: "metre", from: "the plan", says: `units of foot; by the plan's terrain.unit they are taken as metres`},
		{name: "the band in metres, asked for feet", h: gdal.Heights{Unit: "metre"}, asked: "ft", want: mid * 0.3048, unit: "foot", from: "the plan", says: "taken as feet"},
		{name: "an unknown unit", h: gdal.Heights{Unit: "fathoms"}, want: mid, unit: "metre", says: `"fathoms", which is no unit`},
		{name: "centimetres", h: gdal.Heights{Unit: "cm"}, want: mid / 100, unit: "centimetre", from: "the file"},
		{name: "a vertical system in survey feet", h: gdal.Heights{Fixture: gdal.Fixture{WKT: vertical(`"NAVD88 height (ftUS)",VERT_DATUM["North American Vertical Datum 1988",2005,AUTHORITY["EPSG","5103"]],UNIT["US survey foot",0.304800609601219,AUTHORITY["EPSG","9003"]],AXIS["Gravity-related height",UP],AUTHORITY["EPSG","6360"`)}}, want: mid * 1200 / 3937, unit: "US survey foot", from: "the file"},
		{name: "a vertical system in metres", h: gdal.Heights{Fixture: gdal.Fixture{WKT: vertical(`"NAVD88 height",VERT_DATUM["North American Vertical Datum 1988",2005,AUTHORITY["EPSG","5103"]],UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Gravity-related height",UP],AUTHORITY["EPSG","5703"`)}}, want: mid, unit: "metre", from: "the file"},
		{name: "scale and offset", h: gdal.Heights{Scale: 0.5, Offset: 20}, want: mid/2 + 20, unit: "metre"},
		{name: "whole numbers of millimetres", h: gdal.Heights{Number: "Int32", Unit: "mm", Fixture: gdal.Fixture{Pixels: func(b, c, r int) float64 { return 1000 * slope(b, c, r) }}}, want: mid, unit: "millimetre", from: "the file"},
	} {
		t.Run(row.name, func(t *testing.T) {
			path, site := put(t, row.h)
			g, info := open(t, path, gdal.TerrainOptions{Unit: row.asked}, site, 100)
			if got := g.Height(orb.Point{}); math.Abs(got-row.want) > 2e-5 {
				t.Errorf("height %v m, want %v", got, row.want)
			}
			if info.UnitName != row.unit || info.UnitFrom != row.from {
				t.Errorf("in %q by %q, want %q by %q", info.UnitName, info.UnitFrom, row.unit, row.from)
			}
			if notes := strings.Join(info.Notes, "\n"); (notes != "") != (row.says != "") || !strings.Contains(notes, row.says) {
				t.Errorf("notes %q, want %q", notes, row.says)
			}
		})
	}
}

func TestEmptyCellsAreNotKnown(t *testing.T) {
	mark := func(v float64) *float64 { return &v }
	for _, row := range []struct {
		name   string
		number string
		mark   *float64
		empty  float64 // what stands in the empty cells
		says   string
	}{
		{"marked", "", mark(-9999), -9999, ""},
		{"marked, rounded to four bytes", "", mark(-9999.01), -9999.01, ""},
		{"marked by the least number", "", mark(-math.MaxFloat32), -math.MaxFloat32, ""},
		{"marked by the least number of eight bytes", "Float64", mark(-math.MaxFloat64), -math.MaxFloat64, ""},
		{"marked by not-a-number", "", mark(math.NaN()), math.NaN(), ""},
		{"not-a-number unmarked", "", nil, math.NaN(), ""},
		{"infinite", "", nil, math.Inf(1), ""},
		{"-9999 unmarked", "", nil, -9999, "21 cells hold no height of ground (-1000 to 9500 m), as -9999 (metre) in column 50, row 60: taken as not known"},
		{"1e38 unmarked", "", nil, 1e38, "as 1e+38 (metre) in column 50"},
	} {
		t.Run(row.name, func(t *testing.T) {
			hole := func(c, r int) bool { return c >= 49 && c < 56 && r >= 59 && r < 62 }
			path, site := put(t, gdal.Heights{Number: row.number, Fixture: gdal.Fixture{NoData: row.mark, Pixels: func(b, c, r int) float64 {
				if hole(c, r) {
					return row.empty
				}
				return slope(b, c, r)
			}}})
			g, info := open(t, path, gdal.TerrainOptions{}, site, 150)
			if info.Holes != 21 || info.High > 300 || info.Low < 60 {
				t.Errorf("%d holes, heights %v to %v, want 21, 62.75 to 299", info.Holes, info.Low, info.High)
			}
			_, sg := siteAt(t, crs(t, "EPSG:32630"), utmMid)
			back := gdal.Transformer{From: crs(t, "EPSG:32630"), To: gdal.WGS84}
			for _, c := range []struct {
				col, row int
				known    bool
				want     float64
			}{{52, 60, false, 100 + 52 - 62.0/4}, {48, 60, true, 100 + 48 - 15.0}, {56, 60, true, 100 + 56 - 15.0}, {52, 58, true, 100 + 52 - 58.0/4}} {
				ll, err := back.Point(orb.Point{utmPlace[0] + 2*(float64(c.col)+0.5), utmPlace[3] - 2*(float64(c.row)+0.5)})
				if err != nil {
					t.Fatal(err)
				}
				p := sg.ToSite(ll)
				if g.Known(p) != c.known && !c.known { // on the edge of a hole rounding decides
					t.Errorf("column %d, row %d: known", c.col, c.row)
				}
				if h := g.Height(p); c.known && math.Abs(h-c.want) > 1e-3 || !c.known && (h < c.want-8 || h > c.want+8) {
					t.Errorf("column %d, row %d: height %v, want %v", c.col, c.row, h, c.want)
				}
			}
			if notes := strings.Join(info.Notes, "\n"); (notes != "") != (row.says != "") || !strings.Contains(notes, row.says) {
				t.Errorf("notes %q, want %q", notes, row.says)
			}
		})
	}
}

func TestARasterMayLieTurnedFlippedOrInDegrees(t *testing.T) {
	sin, cos := math.Sincos(0.6)
	for _, row := range []struct {
		name, crs string
		place     [6]float64
	}{
		{"north up", "EPSG:32630", utmPlace},
		{"south up", "EPSG:32630", [6]float64{500100, 2, 0, 5709700, 0, 2}},
		{"turned", "EPSG:32630", [6]float64{500100, 2 * cos, 2 * sin, 5709900, 2 * sin, -2 * cos}},
		{"degrees", "EPSG:4326", [6]float64{-3.01, 3e-5, 0, 51.51, 0, -2e-5}},
		{"degrees, counted on beyond 360", "EPSG:4326", [6]float64{356.99, 3e-5, 0, 51.51, 0, -2e-5}},
		{"across the date line", "EPSG:4326", [6]float64{179.997, 3e-5, 0, -17.0, 0, -2e-5}},
		{"Web Mercator", "EPSG:3857", [6]float64{-334000, 3, 0, 6720000, 0, -3}},
		{"feet", "EPSG:2994", [6]float64{636000, 6, 0, 850000, 0, -6}},
		{"another datum", "EPSG:27700", [6]float64{350000, 1, 0, 250000, 0, -1}},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := crs(t, row.crs)
			path, _ := put(t, gdal.Heights{Unit: "m", Fixture: gdal.Fixture{WKT: wkt(t, c), Place: &row.place}})
			at := func(col, r float64) orb.Point {
				g := row.place
				return orb.Point{g[0] + g[1]*(col+0.5) + g[2]*(r+0.5), g[3] + g[4]*(col+0.5) + g[5]*(r+0.5)}
			}
			site, sg := siteAt(t, c, at(99.5, 74.5))
			site.Lon0 = math.Remainder(site.Lon0, 360)
			g, info := open(t, path, gdal.TerrainOptions{}, site, 60)
			if info.Misses > 0.001 || len(info.Notes) > 0 {
				t.Errorf("the mapping is off by %v cells; notes %q", info.Misses, info.Notes)
			}
			var cells, places []orb.Point
			for col := 0.0; col < 200; col += 19.9 {
				for r := 0.0; r < 150; r += 14.9 {
					cells, places = append(cells, orb.Point{col, r}), append(places, at(col, r))
				}
			}
			places, err := gdal.Transformer{From: c, To: gdal.WGS84}.Points(places)
			if err != nil {
				t.Fatal(err)
			}
			for i, p := range places {
				want := 100 + cells[i][0] - cells[i][1]/4
				if got := g.Height(sg.ToSite(p)); math.Abs(got-want) > 1e-3 {
					t.Fatalf("cell %v: height %v, want %v", cells[i], got, want)
				}
			}
		})
	}
}

func TestOnlyWhatLiesUnderTheSiteIsReadOfALargeRaster(t *testing.T) {
	const n = 3000
	place := [6]float64{497300, 2, 0, 5712850, 0, -2} // its middle is the site's
	var g *terrain.Grid
	var path string
	var site gdal.SiteGrid
	r := rand.New(rand.NewSource(11))
	for _, options := range [][]string{nil, {"BLOCKYSIZE=700"}, {"TILED=YES", "BLOCKXSIZE=64", "BLOCKYSIZE=48"}, {"TILED=YES", "COMPRESS=DEFLATE", "BLOCKXSIZE=1024", "BLOCKYSIZE=512"}} {
		path, site = put(t, gdal.Heights{Unit: "m", Fixture: gdal.Fixture{Width: n, Height: n, Place: &place,
			Options: options, Pixels: func(_, c, r int) float64 { return float64(c) - float64(r)/4 }}})
		var info gdal.TerrainInfo
		g, info = open(t, path, gdal.TerrainOptions{}, site, 250)
		if dx, dy := info.Window.Dx(), info.Window.Dy(); dx < 251 || dx > 260 || dy < 251 || dy > 260 || info.Every != 1 {
			t.Errorf("%q: read %v, every %d; want some 255 columns and rows", options, info.Window, info.Every)
		}
		all, info := open(t, path, gdal.TerrainOptions{}, site, 2900)
		if info.Window.Dx() < 2900 || info.High-info.Low < 3600 {
			t.Errorf("%q: read %v with heights %v to %v, want most of it", options, info.Window, info.Low, info.High)
		}
		for range 500 {
			// Here the site grid is the projection but for its scale of 0.9996 and a turn of 0.004 degrees.
			p := orb.Point{r.Float64()*500 - 250, r.Float64()*500 - 250}
			if a, b := g.Height(p), all.Height(p); math.Abs(a-b) > 1e-3 || !g.Known(p) {
				t.Fatalf("%q: at %v %v, known %v; read whole %v", options, p, a, g.Known(p), b)
			}
			p = orb.Point{p[0] * 11, p[1] * 11}
			want := 1499.5 - 1499.5/4 + (p[0]+p[1]/4)/2*0.9996
			if a := all.Height(p); math.Abs(a-want) > 0.2 {
				t.Fatalf("%q: at %v %v, want %v", options, p, a, want)
			}
		}
	}

	// More cells than asked for: some are averaged.
	coarse, info := open(t, path, gdal.TerrainOptions{MaxCells: 10_000}, site, 250)
	if info.Every != 3 || len(info.Notes) != 1 || !strings.Contains(info.Notes[0], "3 x 3 were averaged") {
		t.Errorf("every %d, notes %q; want 3, and a note", info.Every, info.Notes)
	}
	if c := coarse.Cell(); math.Abs(c-6) > 0.01 {
		t.Errorf("cell %v m, want 6", c)
	}
	for _, p := range []orb.Point{{}, {200, 100}, {-133, 41}} {
		if a, b := g.Height(p), coarse.Height(p); math.Abs(a-b) > 0.5 {
			t.Errorf("at %v: %v, averaged %v", p, a, b)
		}
	}
}

func TestAveragedCellsLieAtTheirOwnMiddle(t *testing.T) {
	path, site := put(t, gdal.Heights{Unit: "m"})
	fine, _ := open(t, path, gdal.TerrainOptions{}, site, 100)
	for _, most := range []int{8000, 3000, 900} {
		g, info := open(t, path, gdal.TerrainOptions{MaxCells: most}, site, 100)
		if w, h := g.Size(); w*h > most || info.Every < 2 {
			t.Errorf("%d x %d cells, every %d; want at most %d", w, h, info.Every, most)
		}
		// A plane stays itself.
		for _, p := range []orb.Point{{}, {77, -31}, {-90, 60}} {
			if a, b := fine.Height(p), g.Height(p); math.Abs(a-b) > 1e-4 {
				t.Errorf("%d cells, at %v: %v, averaged %v", most, p, a, b)
			}
		}
	}
}

func TestWhatIsNoGroundIsRefusedInOneLine(t *testing.T) {
	dir := t.TempDir()
	utm := wkt(t, crs(t, "EPSG:32630"))
	site, _ := siteAt(t, crs(t, "EPSG:32630"), utmMid)
	noData := -9999.0
	file := func(name, text string) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	heights := func(h gdal.Heights) string {
		p, _ := put(t, h)
		return p
	}
	picture := func(f gdal.Fixture) string {
		p := filepath.Join(t.TempDir(), "p.tif")
		if f.Driver == "JPEG" {
			p = filepath.Join(dir, "p.jpg")
		}
		f.Width, f.Height, f.WKT, f.Place = 200, 150, utm, &utmPlace
		f.Write(t, p)
		return p
	}
	huge := func(n int) string {
		p := filepath.Join(dir, "huge.tif")
		gdal.Heights{Number: "Byte", Fixture: gdal.Fixture{Width: n, Height: n, WKT: utm, Place: &utmPlace,
			Options: []string{"SPARSE_OK=TRUE", "TILED=YES"}}}.Write(t, p)
		return p
	}
	all := func(v float64) func(_, _, _ int) float64 { return func(_, _, _ int) float64 { return v } }
	far := utmPlace
	far[0] += 5000
	flat := utmPlace
	flat[5] = 0
	grid := func(rest string) string {
		return "ncols 4\nnrows 3\nxllcorner 500290\nyllcorner 5709840\ncellsize 5\nNODATA_value -9999\n" + rest
	}
	for _, row := range []struct {
		name, path string
		opt        gdal.TerrainOptions
		says       string
	}{
		{"a photograph", picture(gdal.Fixture{Bands: 3}), gdal.TerrainOptions{}, "is a picture of 3 bands"},
		{"a photograph with transparency", picture(gdal.Fixture{Bands: 4, Colours: []string{"Red", "Green", "Blue", "Alpha"}}), gdal.TerrainOptions{}, "is a picture"},
		{"a photograph of two bytes a colour", picture(gdal.Fixture{Bands: 3, Type: "UInt16", Colours: []string{"Red", "Green", "Blue"}}), gdal.TerrainOptions{}, "is a picture"},
		{"a map in colours of a table", picture(gdal.Fixture{Bands: 1, Palette: [][4]uint{{1, 2, 3, 255}}}), gdal.TerrainOptions{}, "colours of a table"},
		{"a JPEG", picture(gdal.Fixture{Driver: "JPEG", Bands: 1}), gdal.TerrainOptions{}, "is a JPEG picture"},
		{"complex numbers", heights(gdal.Heights{Number: "CFloat32", Fixture: gdal.Fixture{Pixels: all(1)}}), gdal.TerrainOptions{}, "type CFloat32"},
		{"one cell", heights(gdal.Heights{Fixture: gdal.Fixture{Width: 1, Height: 1}}), gdal.TerrainOptions{}, "has 1 x 1 cells"},
		{"one row", heights(gdal.Heights{Fixture: gdal.Fixture{Width: 200, Height: 1}}), gdal.TerrainOptions{}, "has 200 x 1 cells"},
		{"all empty", heights(gdal.Heights{Fixture: gdal.Fixture{NoData: &noData, Pixels: all(-9999)}}), gdal.TerrainOptions{}, "no height is known under the site"},
		{"all 1e38", heights(gdal.Heights{Fixture: gdal.Fixture{Pixels: all(1e38)}}), gdal.TerrainOptions{}, "holds no heights of ground: 30000 of 30000 cells under the site lie outside -1000 to 9500 m, as 1e+38 (metre) in column 1, row 1"},
		{"all in feet by the plan, too high", heights(gdal.Heights{Fixture: gdal.Fixture{Pixels: all(40_000)}}), gdal.TerrainOptions{Unit: "ft"}, "as 40000 (foot)"},
		{"200 000 on a side", huge(200_000), gdal.TerrainOptions{}, "claims 200000 x 200000 cells; up to 100000 on a side"},
		{"far away", heights(gdal.Heights{Fixture: gdal.Fixture{Place: &far}}), gdal.TerrainOptions{}, "does not lie under the site: its nearest edge is 480"},
		{"no area", heights(gdal.Heights{Fixture: gdal.Fixture{Place: &flat}}), gdal.TerrainOptions{}, "a pixel has no area"},
		{"an unknown unit asked for", heights(gdal.Heights{}), gdal.TerrainOptions{Unit: "yd"}, `terrain.unit "yd" is neither`},
		{"an unknown system asked for", heights(gdal.Heights{}), gdal.TerrainOptions{CRS: "EPSG:99999"}, "terrain.crs: EPSG:99999 is not"},
		{"no system", file("bare.asc", grid("1 2 3 4\n5 6 7 8\n9 10 11 12\n")), gdal.TerrainOptions{}, gdal.ErrNoCRS.Error()},
		{"cut short", file("short.asc", grid("1 2 3 4\n5 6")), gdal.TerrainOptions{CRS: "EPSG:32630"}, "cut short"},
		{"cut very short", file("shorter.asc", "ncols 90000\nnrows 90000\nxllcorner 500290\nyllcorner 5709840\ncellsize 5\n1 2"), gdal.TerrainOptions{CRS: "EPSG:32630"}, "claims 90000 x 90000 cells in"},
		{"no numbers", file("words.asc", grid("one two three four\na b c d\n")), gdal.TerrainOptions{CRS: "EPSG:32630"}, `line 7 holds the character 'o', which is part of no number`},
		{"text", file("text.tif", "hello"), gdal.TerrainOptions{}, "holds text, not a raster of heights"},
		{"a list of other files", file("list.vrt", `<VRTDataset rasterXSize="2" rasterYSize="2"/>`), gdal.TerrainOptions{}, "names other files"},
		{"no header", file("bare.bil", "\x00\x01\x00\x01"), gdal.TerrainOptions{}, "lacks the file bare.hdr beside it"},
		{"no such file", filepath.Join(dir, "none.tif"), gdal.TerrainOptions{}, "no such file"},
		{"an address", "http://example.org/a.tif", gdal.TerrainOptions{}, "is an address"},
		{"a folder", dir, gdal.TerrainOptions{}, "is a folder"},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, _, err := gdal.OpenTerrain(context.Background(), row.path, row.opt, site, square(100))
			if err == nil || !strings.Contains(err.Error(), row.says) || strings.ContainsAny(err.Error(), "\n\r") || !strings.HasPrefix(err.Error(), row.path+": ") {
				t.Errorf("error %v, want one line that begins with the file and says %q", err, row.says)
			}
		})
	}
	path := heights(gdal.Heights{})
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := gdal.OpenTerrain(ctx, path, gdal.TerrainOptions{}, site, square(100)); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: error %v", err)
	}
}

func TestDoubtfulHeightsAreReadWithANote(t *testing.T) {
	for _, row := range []struct {
		name string
		h    gdal.Heights
		opt  gdal.TerrainOptions
		says string
	}{
		{"bytes", gdal.Heights{Number: "Byte", Fixture: gdal.Fixture{Pixels: func(_, c, r int) float64 { return float64(c % 3) }}}, gdal.TerrainOptions{Unit: "m"}, "whole numbers from 0 to 255"},
		{"two bands", gdal.Heights{Fixture: gdal.Fixture{Bands: 2}}, gdal.TerrainOptions{}, "Of its 2 bands the first"},
		{"coordinates in feet", gdal.Heights{Fixture: gdal.Fixture{WKT: wkt(t, crs(t, "EPSG:2994")), Place: &[6]float64{636000, 6, 0, 850000, 0, -6}}}, gdal.TerrainOptions{}, `coordinates are in feet and it does not say in what its heights are`},
		{"steep", gdal.Heights{Fixture: gdal.Fixture{Pixels: func(_, c, r int) float64 { return 3 * float64(c) }}}, gdal.TerrainOptions{}, "steeper than 45 degrees"},
		{"another system", gdal.Heights{}, gdal.TerrainOptions{CRS: "EPSG:27700"}, "EPSG:27700 (OSGB36 / British National Grid) is not used"},
	} {
		t.Run(row.name, func(t *testing.T) {
			path, _ := put(t, row.h)
			info, err := gdal.LookAtTerrain(path, row.opt)
			if err != nil {
				t.Fatal(err)
			}
			mid := info.LonLat.Center()
			_, info = open(t, path, row.opt, gdal.SiteGrid{Lon0: mid[0], Lat0: mid[1]}, 100)
			if notes := strings.Join(info.Notes, "\n"); len(info.Notes) != 1 || !strings.Contains(notes, row.says) {
				t.Errorf("notes %q, want one that says %q", info.Notes, row.says)
			}
		})
	}
}

// Kinds of file, written here by hand or by the library's own writers.
func TestRastersOfHeightsComeInManyKinds(t *testing.T) {
	utm := wkt(t, crs(t, "EPSG:32630"))
	site, _ := siteAt(t, crs(t, "EPSG:32630"), utmMid)
	for _, row := range []struct {
		ending, driver, kind string
		options              []string
	}{
		{".tif", "GTiff", "TIFF", []string{"TILED=YES", "COMPRESS=DEFLATE"}}, {".asc", "AAIGrid", "Esri ASCII grid", nil}, {".img", "HFA", "Erdas Imagine", nil},
		{".grd", "GSBG", "Surfer grid", nil}, {".grd", "GS7BG", "Surfer 7 grid", nil}, {".grd", "GSAG", "Surfer text grid", nil},
		{".xyz", "XYZ", "XYZ", nil},
	} {
		t.Run(row.driver, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "h"+row.ending)
			gdal.Fixture{Driver: row.driver, Width: 200, Height: 150, Bands: 1, Type: "Float32", WKT: utm, Place: &utmPlace, Options: row.options, Pixels: slope}.Write(t, path)
			g, info := open(t, path, gdal.TerrainOptions{CRS: "EPSG:32630", Unit: "m"}, site, 100)
			if info.Format != row.kind || info.Width != 200 || info.Height != 150 {
				t.Errorf("%s of %d x %d cells, want %s of 200 x 150", info.Format, info.Width, info.Height, row.kind)
			}
			if got, want := g.Height(orb.Point{}), 100+99.5-74.5/4; math.Abs(got-want) > 1e-4 {
				t.Errorf("height %v, want %v", got, want)
			}
			if len(info.Notes) > 0 {
				t.Errorf("notes %q", info.Notes)
			}
		})
	}
	t.Run("PNG", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "h.png")
		gdal.Fixture{Driver: "PNG", Width: 200, Height: 150, Bands: 1, Type: "UInt16", Pixels: func(b, c, r int) float64 { return 4 * slope(b, c, r) }}.Write(t, path)
		world := fmt.Sprintf("2\n0\n0\n-2\n%v\n%v\n", utmPlace[0]+1, utmPlace[3]-1)
		if err := os.WriteFile(strings.TrimSuffix(path, ".png")+".pgw", []byte(world), 0o644); err != nil {
			t.Fatal(err)
		}
		g, info := open(t, path, gdal.TerrainOptions{CRS: "EPSG:32630", Unit: "m"}, site, 100)
		if got, want := g.Height(orb.Point{}), 4*(100+99.5-74.5/4); math.Abs(got-want) > 1e-4 || info.PositionFrom != "h.pgw" {
			t.Errorf("height %v by %s, want %v by h.pgw", got, info.PositionFrom, want)
		}
	})
	t.Run("Esri binary", func(t *testing.T) {
		dir := t.TempDir()
		var b []byte
		for r := range 150 {
			for c := range 200 {
				b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(slope(1, c, r))))
			}
		}
		head := "NROWS 150\nNCOLS 200\nNBITS 32\nPIXELTYPE FLOAT\nBYTEORDER I\nNODATA_VALUE -9999\nULXMAP 500101\nULYMAP 5709999\nXDIM 2\nYDIM 2\n"
		prj, err := os.Create(filepath.Join(dir, "h.prj"))
		if err != nil {
			t.Fatal(err)
		}
		prj.WriteString(utm)
		prj.Close()
		for name, content := range map[string][]byte{"h.bil": b, "h.hdr": []byte(head)} {
			if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		g, info := open(t, filepath.Join(dir, "h.bil"), gdal.TerrainOptions{Unit: "m"}, site, 100)
		if got, want := g.Height(orb.Point{}), 100+99.5-74.5/4; math.Abs(got-want) > 1e-4 || info.CRS.String() != "EPSG:32630" && info.CRS.Name() != "WGS 84 / UTM zone 30N" {
			t.Errorf("height %v in %s, want %v in UTM zone 30", got, info.CRS, want)
		}
	})
	t.Run("SRTM", func(t *testing.T) {
		// 1201 x 1201 big-endian heights of two bytes, the first row in the north,
		// sample points on whole 3 seconds (common practice of the format).
		path := filepath.Join(t.TempDir(), "N51W004.hgt")
		b := make([]byte, 0, 1201*1201*2)
		for r := range 1201 {
			for c := range 1201 {
				v := uint16(c - r/4 + 400)
				b = append(b, byte(v>>8), byte(v))
			}
		}
		if err := os.WriteFile(path, b, 0o644); err != nil {
			t.Fatal(err)
		}
		g, info := open(t, path, gdal.TerrainOptions{}, gdal.SiteGrid{Lon0: -3.5, Lat0: 51.5}, 5000)
		if got, want := g.Height(orb.Point{}), 600.0-150+400; math.Abs(got-want) > 1e-3 || info.UnitFrom != "the file" {
			t.Errorf("height %v, unit by %q; want %v, by the file", got, info.UnitFrom, want)
		}
		if image.Pt(info.Width, info.Height) != image.Pt(1201, 1201) {
			t.Errorf("%d x %d cells", info.Width, info.Height)
		}
	})
}
