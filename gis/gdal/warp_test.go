package gdal_test

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/model/sitegrid"
	"pleach/testdata/opendata"
)

var bg = context.Background()

// block is a fixture that is dark but for one bright square of pixels.
func block(at image.Rectangle) func(band, col, row int) float64 {
	return func(_, col, row int) float64 {
		if (image.Point{col, row}).In(at) {
			return 250
		}
		return 10
	}
}

// centroid is the middle of what is brighter than dark, on the site grid.
func centroid(t *testing.T, r gdal.Raster) orb.Point {
	t.Helper()
	var sum, sx, sy float64
	for y := range r.Pix.Rect.Dy() {
		for x := range r.Pix.Rect.Dx() {
			c := r.Pix.RGBAAt(x, y)
			if v := float64(c.R) - 10; c.A == 255 && v > 3 {
				sum, sx, sy = sum+v, sx+v*(float64(x)+0.5), sy+v*(float64(y)+0.5)
			}
		}
	}
	if sum == 0 {
		t.Fatal("the bright block is nowhere")
	}
	return orb.Point{r.Origin[0] + sx/sum*r.PixelSize, r.Origin[1] - sy/sum*r.PixelSize}
}

func along(g [6]float64, col, row float64) orb.Point {
	return orb.Point{g[0] + g[1]*col + g[2]*row, g[3] + g[4]*col + g[5]*row}
}

// The place of a block of pixels is worked out twice: by resampling the image,
// and by its geotransform, PROJ to longitude and latitude, and the site grid's
// own series, which share nothing with the resampling.
func TestAMarkedPixelLiesWhereItsCoordinatesSay(t *testing.T) {
	dir := t.TempDir()
	marked := image.Rect(130, 40, 138, 48)
	for i, row := range []struct {
		name  string
		crs   string
		place [6]float64
	}{
		{"metres, north up", "EPSG:32630", [6]float64{455000, 0.5, 0, 5710000, 0, -0.5}},
		{"feet", "EPSG:2994", [6]float64{637000, 1, 0, 851000, 0, -1}},
		{"US feet, grid turned against true north", "EPSG:2272", [6]float64{2650000, 2, 0, 260000, 0, -2}},
		{"axes written north, east in the register", "EPSG:2193", [6]float64{1795400, 2, 0, 5925500, 0, -2}},
		{"degrees, far north: pixels twice as high as wide", "EPSG:4326", [6]float64{26.1, 1e-5, 0, 60.4, 0, -1e-5}},
		{"Mercator: coordinates are 1.6 times the ground", "EPSG:3857", [6]float64{1603000, 1, 0, 6465000, 0, -1}},
		{"British National Grid", "EPSG:27700", [6]float64{651300, 0.25, 0, 313200, 0, -0.25}},
		{"turned by 30 degrees", "EPSG:26914", [6]float64{488000, 1.732, 1, 5207000, 1, -1.732}},
		{"south up", "EPSG:26914", [6]float64{488000, 1, 0, 5207000, 0, 1}},
		{"skewed", "EPSG:26914", [6]float64{488000, 1, 0.4, 5207000, 0.1, -1.3}},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := crs(t, row.crs)
			path := filepath.Join(dir, fmt.Sprintf("%d.tif", i))
			gdal.Fixture{Width: 200, Height: 150, Bands: 1, Pixels: block(marked), Place: &row.place, WKT: wkt(t, c)}.Write(t, path)
			toLonLat := gdal.Transformer{From: c, To: gdal.WGS84}
			mid, err := toLonLat.Point(along(row.place, 100, 75))
			if err != nil {
				t.Fatal(err)
			}
			// The site's origin is not the image's middle.
			site := gdal.SiteGrid{Lon0: mid[0] + 0.004, Lat0: mid[1] - 0.003}
			at, err := toLonLat.Point(along(row.place, 134, 44))
			if err != nil {
				t.Fatal(err)
			}
			want := sitegrid.New(site.Lon0, site.Lat0).ToSite(at)
			got, err := gdal.WarpToSite(bg, path, gdal.Placement{}, site, 0)
			if err != nil {
				t.Fatal(err)
			}
			p := centroid(t, got)
			if d := math.Hypot(p[0]-want[0], p[1]-want[1]); d > 0.1*got.PixelSize {
				t.Errorf("the block lies at %.3f, want %.3f: %.3f m off, pixel %.3f m", p, want, d, got.PixelSize)
			}
			info, err := gdal.OpenImage(path, gdal.OpenOptions{})
			if err != nil {
				t.Fatal(err)
			}
			if info.CRS.String() != row.crs || info.PositionFrom != "the file" || !info.LonLat.Contains(at) {
				t.Errorf("says it lies in %s by %s at %v; want %s by the file, around %v", info.CRS, info.PositionFrom, info.LonLat, row.crs, at)
			}
		})
	}
}

// wkt writes a system out by way of a file that carries it.
func wkt(t *testing.T, c gdal.CRS) string {
	t.Helper()
	s, err := gdal.WKTForTest(c)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestAWorldFilePlacesThePicture(t *testing.T) {
	c := crs(t, "EPSG:27700")
	marked := image.Rect(60, 40, 70, 50)
	for _, row := range []struct {
		driver, file, world string
		text                string // six numbers for pixels of 0.5 m
	}{
		{"PNG", "a.png", "a.pgw", "0.5\n0\n0\n-0.5\n651300.25\n313199.75\n"},
		{"PNG", "b.png", "b.wld", "0.5\r\n0.0\r\n0.0\r\n-0.5\r\n651300.25\r\n313199.75\r\n"},
		{"JPEG", "c.jpg", "c.jgw", "\ufeff0,5\n0\n0\n-0,5\n651300,25\n313199,75"},
		{"JPEG", "d.JPG", "d.JGW", "0.5 0 0 -0.5 651300.25 313199.75"},
		{"GTiff", "e.tif", "e.tfw", "5e-1\n0\n0\n-5e-1\n6.5130025e5\n3.1319975e5\n"},
		{"JP2OpenJPEG", "f.jp2", "f.j2w", "0.5\n0\n0\n-0.5\n651300.25\n313199.75\n"},
	} {
		t.Run(row.file, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, row.file)
			gdal.Fixture{Driver: row.driver, Width: 128, Height: 96, Bands: 3, Pixels: block(marked)}.Write(t, path)
			if _, err := gdal.WarpToSite(bg, path, gdal.Placement{CRS: c}, gdal.SiteGrid{Lon0: 1.7166, Lat0: 52.6579}, 0); !errors.Is(err, gdal.ErrNoPosition) {
				t.Errorf("without its world file: error %v, want ErrNoPosition", err)
			}
			if err := os.WriteFile(filepath.Join(dir, row.world), []byte(row.text), 0o644); err != nil {
				t.Fatal(err)
			}
			at, err := gdal.Transformer{From: c, To: gdal.WGS84}.Point(orb.Point{651300 + 65*0.5, 313200 - 45*0.5})
			if err != nil {
				t.Fatal(err)
			}
			if _, err := gdal.WarpToSite(bg, path, gdal.Placement{}, gdal.SiteGrid{Lon0: at[0], Lat0: at[1]}, 0); !errors.Is(err, gdal.ErrNoCRS) {
				t.Errorf("without a reference system: error %v, want ErrNoCRS", err)
			}
			got, err := gdal.WarpToSite(bg, path, gdal.Placement{CRS: c}, gdal.SiteGrid{Lon0: at[0], Lat0: at[1]}, 0)
			if err != nil {
				t.Fatal(err)
			}
			if p := centroid(t, got); math.Hypot(p[0], p[1]) > 0.1*got.PixelSize {
				t.Errorf("the block lies at %.3f, want the origin within a tenth of %.3f m", p, got.PixelSize)
			}
			for _, bad := range []struct{ text, says string }{
				{"0.5\n0\n0\n-0.5\n651300.25", "six numbers"},
				{"0.5\n0\nx\n-0.5\n651300.25\n1", `line 3: "x" is not a number`},
				{"0.5\n0\n0\n-0.5\nNaN\n1", `line 5: "NaN" is not a number`},
				{"0.5\n0\n0\n0\n651300.25\n1", "no area"},
				{"0.5\n0\n0\n1e999\n651300.25\n1", `line 4: "1e999" is not a number`},
			} {
				if err := os.WriteFile(filepath.Join(dir, row.world), []byte(bad.text), 0o644); err != nil {
					t.Fatal(err)
				}
				_, err := gdal.OpenImage(path, gdal.OpenOptions{CRS: c})
				if err == nil || !strings.Contains(err.Error(), bad.says) || !strings.Contains(err.Error(), row.world) {
					t.Errorf("world file %q: error %v, want one that names it and says %q", bad.text, err, bad.says)
				}
			}
		})
	}
}

func TestACoarserPictureIsAveragedAndStaysInPlace(t *testing.T) {
	dir := t.TempDir()
	place := [6]float64{455000, 0.1, 0, 5710000, 0, -0.1}
	c := crs(t, "EPSG:32630")
	mid, err := gdal.Transformer{From: c, To: gdal.WGS84}.Point(along(place, 700, 500))
	if err != nil {
		t.Fatal(err)
	}
	site := gdal.SiteGrid{Lon0: mid[0], Lat0: mid[1]}

	path := filepath.Join(dir, "block.tif")
	gdal.Fixture{Width: 1400, Height: 1000, Bands: 1, Pixels: block(image.Rect(900, 200, 1000, 300)), Place: &place, WKT: wkt(t, c)}.Write(t, path)
	at, err := gdal.Transformer{From: c, To: gdal.WGS84}.Point(along(place, 950, 250))
	if err != nil {
		t.Fatal(err)
	}
	want := sitegrid.New(site.Lon0, site.Lat0).ToSite(at)
	for _, most := range []int{1 << 20, 300_000, 100_000, 20_000, 3000, 700} {
		got, err := gdal.WarpToSite(bg, path, gdal.Placement{}, site, most)
		if err != nil {
			t.Fatal(err)
		}
		if n := got.Pix.Rect.Dx() * got.Pix.Rect.Dy(); n > most || n < most*8/10 {
			t.Errorf("at most %d pixels: came out as %v", most, got.Pix.Rect)
		}
		if p := centroid(t, got); math.Hypot(p[0]-want[0], p[1]-want[1]) > 0.15*got.PixelSize {
			t.Errorf("%v: the block lies at %.3f, want %.3f within a sixth of %.3f m", got.Pix.Rect, p, want, got.PixelSize)
		}
	}

	// A chequerboard of single pixels is grey from afar; dropping pixels would
	// make it black, white or a moiré.
	path = filepath.Join(dir, "chequers.tif")
	chequers := func(_, col, row int) float64 { return float64((col+row)%2) * 255 }
	gdal.Fixture{Width: 1400, Height: 1000, Bands: 1, Pixels: chequers, Place: &place, WKT: wkt(t, c)}.Write(t, path)
	got, err := gdal.WarpToSite(bg, path, gdal.Placement{}, site, 20_000)
	if err != nil {
		t.Fatal(err)
	}
	for y := 3; y < got.Pix.Rect.Dy()-3; y++ {
		for x := 3; x < got.Pix.Rect.Dx()-3; x++ {
			if v := got.Pix.RGBAAt(x, y).R; v < 117 || v > 138 {
				t.Fatalf("the chequerboard comes out as %d at %d,%d, want about 128", v, x, y)
			}
		}
	}
}

func TestOverviewsServeALargePictureFromAfar(t *testing.T) {
	path := filepath.Join(t.TempDir(), "large.tif")
	place := [6]float64{455000, 0.1, 0, 5710000, 0, -0.1}
	c := crs(t, "EPSG:32630")
	gdal.Fixture{Width: 10000, Height: 8000, Bands: 1, Pixels: block(image.Rect(6000, 2000, 6400, 2400)), Place: &place, WKT: wkt(t, c),
		Options: []string{"TILED=YES", "COMPRESS=LZW"}, Overviews: []int{2, 4, 8}}.Write(t, path)
	mid, err := gdal.Transformer{From: c, To: gdal.WGS84}.Point(along(place, 6200, 2200))
	if err != nil {
		t.Fatal(err)
	}
	for _, most := range []int{1 << 20, 50_000} {
		got, err := gdal.WarpToSite(bg, path, gdal.Placement{}, gdal.SiteGrid{Lon0: mid[0], Lat0: mid[1]}, most)
		if err != nil {
			t.Fatal(err)
		}
		if p := centroid(t, got); math.Hypot(p[0], p[1]) > 0.2*got.PixelSize {
			t.Errorf("the block lies at %.3f, want the origin within a fifth of %.3f m", p, got.PixelSize)
		}
	}
}

// The corners of real images by PROJ alone: gdaltransform (GDAL 3.6.2, PROJ
// 9.1.1) from the file's system to +proj=tmerc +k=1 +datum=WGS84 about the
// origin given.
func TestOutsideRealImagesReachTheirCorners(t *testing.T) {
	dir := filepath.Join(opendata.Dir(t), "data/ortho")
	for _, row := range []struct {
		file, crs string
		site      gdal.SiteGrid
		corners   [4]orb.Point // upper left, upper right, lower right, lower left
	}{
		{"autzen/autzen.jpg", "EPSG:2994", gdal.SiteGrid{Lon0: -123.069, Lat0: 44.056}, [4]orb.Point{
			{-512.17544155672, 668.354519413087}, {477.559619874007, 699.333116515834},
			{519.382246506397, -636.869708540582}, {-470.352100216281, -667.848260682247}}},
		{"auckland_camp/aerial.tif", "", gdal.SiteGrid{Lon0: 175.194, Lat0: -36.796}, [4]orb.Point{
			{-438.661879116831, 399.851103927593}, {413.052553509213, 419.393961987689},
			{432.184172261603, -414.324752537216}, {-419.530182419475, -433.871036763666}}},
		{"prairie/m_4709963_se_14_1_20090818.tif", "", gdal.SiteGrid{Lon0: -99.155, Lat0: 47.02}, [4]orb.Point{
			{-2325.01478728201, 1844.83929782257}, {2346.83685470239, 1854.08809884269},
			{2354.00426753983, -1767.34967422174}, {-2317.84738409104, -1776.59357651968}}},
	} {
		t.Run(row.file, func(t *testing.T) {
			var place gdal.Placement
			if row.crs != "" {
				place.CRS = crs(t, row.crs)
			}
			got, err := gdal.WarpToSite(bg, filepath.Join(dir, row.file), place, row.site, 0)
			if err != nil {
				t.Fatal(err)
			}
			centre := orb.Ring(row.corners[:]).Bound().Center()
			for i, p := range row.corners {
				// One pixel inside the corner, towards the middle, there is
				// picture; one outside there is none.
				d := math.Hypot(centre[0]-p[0], centre[1]-p[1])
				in := orb.Point{p[0] + (centre[0]-p[0])/d*1.5*got.PixelSize, p[1] + (centre[1]-p[1])/d*1.5*got.PixelSize}
				out := orb.Point{p[0] - (centre[0]-p[0])/d*1.5*got.PixelSize, p[1] - (centre[1]-p[1])/d*1.5*got.PixelSize}
				if !solid(got, in) {
					t.Errorf("corner %d: no picture a pixel inside %v", i+1, p)
				}
				if solid(got, out) {
					t.Errorf("corner %d: picture a pixel outside %v", i+1, p)
				}
			}
		})
	}
}

func solid(r gdal.Raster, p orb.Point) bool {
	x, y := int(math.Floor((p[0]-r.Origin[0])/r.PixelSize)), int(math.Floor((r.Origin[1]-p[1])/r.PixelSize))
	return (image.Point{x, y}).In(r.Pix.Rect) && r.Pix.RGBAAt(x, y).A > 0
}

// The content of a real photograph: pixels decoded by Go's own JPEG reader,
// laid on the site grid by the world file's numbers, PROJ and the site grid's
// series, fit the resampled picture best when it is not shifted at all.
func TestOutsideARealPhotographIsNotShifted(t *testing.T) {
	dir := filepath.Join(opendata.Dir(t), "data/ortho/autzen")
	c := crs(t, "EPSG:2994")
	site := gdal.SiteGrid{Lon0: -123.069, Lat0: 44.056}
	got, err := gdal.WarpToSite(bg, filepath.Join(dir, "autzen.jpg"), gdal.Placement{CRS: c}, site, 0)
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(filepath.Join(dir, "autzen.jpg"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	src, err := jpeg.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewSource(5))
	var pixels []image.Point
	var at []orb.Point
	for range 4000 {
		p := image.Point{20 + r.Intn(3200), 20 + r.Intn(4340)}
		pixels = append(pixels, p)
		at = append(at, orb.Point{635615.9278659122 + float64(p.X), 853362.1430851521 - float64(p.Y)}) // autzen.wld
	}
	lonlat, err := gdal.Transformer{From: c, To: gdal.WGS84}.Points(at)
	if err != nil {
		t.Fatal(err)
	}
	grid := sitegrid.New(site.Lon0, site.Lat0)
	misfit := func(dx, dy float64) (sum float64) {
		for i, p := range pixels {
			q := grid.ToSite(lonlat[i])
			x := int(math.Floor((q[0]-got.Origin[0])/got.PixelSize + dx))
			y := int(math.Floor((got.Origin[1]-q[1])/got.PixelSize + dy))
			_, g, _, _ := src.At(p.X, p.Y).RGBA()
			sum += math.Abs(float64(g>>8) - float64(got.Pix.RGBAAt(x, y).G))
		}
		return sum / float64(len(pixels))
	}
	best, bx, by := math.Inf(1), 0.0, 0.0
	for dy := -3.0; dy <= 3; dy += 0.5 {
		for dx := -3.0; dx <= 3; dx += 0.5 {
			if m := misfit(dx, dy); m < best {
				best, bx, by = m, dx, dy
			}
		}
	}
	if math.Hypot(bx, by) > 0.5 {
		t.Errorf("the picture fits best when shifted by %v, %v pixels", bx, by)
	}
	if best > 12 {
		t.Errorf("mean difference %v levels at the best fit, want under 12", best)
	}
}

func TestOutsideATurnedImageIsReadAsItsFileSays(t *testing.T) {
	path := filepath.Join(opendata.Dir(t), "data/hostile/rotated.tif")
	info, err := gdal.OpenImage(path, gdal.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	// gdalinfo 3.6.2: corner coordinates.
	want := [4]orb.Point{{100, 200}, {273.205, 300}, {348.205, 170.096}, {175, 70.0961894}}
	for i := range want {
		if math.Hypot(info.Corners[i][0]-want[i][0], info.Corners[i][1]-want[i][1]) > 0.001 {
			t.Errorf("corners %v, want %v", info.Corners, want)
			break
		}
	}
}

func TestAPictureFarFromTheSiteIsRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "far.tif")
	place := [6]float64{455000, 0.5, 0, 5710000, 0, -0.5}
	gdal.Fixture{Width: 20, Height: 20, Bands: 1, Place: &place, WKT: wkt(t, crs(t, "EPSG:32630"))}.Write(t, path)
	for _, row := range []struct {
		site gdal.SiteGrid
		says string
	}{
		{gdal.SiteGrid{Lon0: -3, Lat0: 51.5}, "km from the middle of the site"},
		{gdal.SiteGrid{Lon0: 177, Lat0: -40}, "site"},
	} {
		_, err := gdal.WarpToSite(bg, path, gdal.Placement{}, row.site, 0)
		if err == nil || !strings.Contains(err.Error(), row.says) || !strings.HasPrefix(err.Error(), path+": ") {
			t.Errorf("site at %v: error %v, want one that says %q", row.site, err, row.says)
		}
	}
}

func TestAPictureOfHalfTheWorldIsCutToTheSitesNeighbourhood(t *testing.T) {
	path := filepath.Join(t.TempDir(), "world.tif")
	place := [6]float64{-180, 0.1, 0, 90, 0, -0.1}
	gdal.Fixture{Width: 3600, Height: 1800, Bands: 1, Pixels: block(image.Rect(1790, 340, 1810, 360)), Place: &place, WKT: wkt(t, gdal.WGS84)}.Write(t, path)
	got, err := gdal.WarpToSite(bg, path, gdal.Placement{}, gdal.SiteGrid{Lon0: 0.5, Lat0: 55.5}, 0)
	if err != nil {
		t.Fatal(err)
	}
	b := orb.Bound{Min: orb.Point{got.Origin[0], got.Origin[1] - got.PixelSize*float64(got.Pix.Rect.Dy())},
		Max: orb.Point{got.Origin[0] + got.PixelSize*float64(got.Pix.Rect.Dx()), got.Origin[1]}}
	if !got.Clipped || b.Min[0] < -gdal.Reach-got.PixelSize || b.Max[1] > gdal.Reach+got.PixelSize || got.Pix.RGBAAt(0, 0).R < 200 {
		t.Errorf("clipped %v to %v, colour %v", got.Clipped, b, got.Pix.RGBAAt(0, 0))
	}
}

func TestControlPointsPlaceABarePicture(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bare.png")
	gdal.Fixture{Driver: "PNG", Width: 300, Height: 200, Bands: 3, Pixels: block(image.Rect(100, 50, 110, 60))}.Write(t, path)
	sin, cos := math.Sincos(0.6)
	a := [6]float64{-40, 0.3 * cos, 0.3 * sin, 70, 0.3 * sin, -0.3 * cos}
	got, err := gdal.WarpToSite(bg, path, gdal.Placement{ToSite: &a}, gdal.SiteGrid{}, 0)
	if err != nil {
		t.Fatal(err)
	}
	want := along(a, 105, 55)
	if p := centroid(t, got); math.Hypot(p[0]-want[0], p[1]-want[1]) > 0.03 {
		t.Errorf("the block lies at %v, want %v", p, want)
	}
	if math.Abs(got.PixelSize-0.3) > 1e-9 {
		t.Errorf("pixel %v m, want 0.3", got.PixelSize)
	}
	a = [6]float64{0, 1, 1, 0, 1, 1}
	if _, err := gdal.WarpToSite(bg, path, gdal.Placement{ToSite: &a}, gdal.SiteGrid{}, 0); err == nil || !strings.Contains(err.Error(), "no area") {
		t.Errorf("flat pixels: error %v", err)
	}
}

func TestBandsBecomeColours(t *testing.T) {
	zero := 0.0
	place := [6]float64{-8, 1, 0, 8, 0, -1}
	value := func(v ...float64) func(b, c, r int) float64 { return func(b, _, _ int) float64 { return v[b-1] } }
	ramp := func(b, c, r int) float64 { return float64(c*1000 + b*50) }
	for i, row := range []struct {
		name string
		f    gdal.Fixture
		want [4]uint8 // at column 8 of 16, row 8
		says string
	}{
		{"one band", gdal.Fixture{Bands: 1, Pixels: value(77)}, [4]uint8{77, 77, 77, 255}, "band 1 as grey"},
		{"grey and alpha", gdal.Fixture{Bands: 2, Colours: []string{"Gray", "Alpha"}, Pixels: value(100, 128)}, [4]uint8{50, 50, 50, 128}, "band 1 as grey"},
		{"three", gdal.Fixture{Bands: 3, Options: []string{"PHOTOMETRIC=RGB"}, Pixels: value(10, 20, 30)}, [4]uint8{10, 20, 30, 255}, "bands 1, 2, 3 as red"},
		{"blue first", gdal.Fixture{Bands: 3, Colours: []string{"Blue", "Green", "Red"}, Pixels: value(10, 20, 30)}, [4]uint8{30, 20, 10, 255}, "bands 3, 2, 1 as red"},
		{"alpha", gdal.Fixture{Bands: 4, Options: []string{"PHOTOMETRIC=RGB", "ALPHA=YES"}, Pixels: value(200, 100, 0, 51)}, [4]uint8{40, 20, 0, 51}, "bands 1, 2, 3 as red"},
		{"four of no stated meaning", gdal.Fixture{Bands: 4, Options: []string{"PHOTOMETRIC=MINISBLACK", "ALPHA=NO"}, Pixels: value(10, 20, 30, 40)}, [4]uint8{10, 20, 30, 255}, "bands 1, 2, 3 as red"},
		{"no-data in every band", gdal.Fixture{Bands: 3, Options: []string{"PHOTOMETRIC=RGB"}, NoData: &zero, Pixels: value(0, 0, 0)}, [4]uint8{0, 0, 0, 0}, ""},
		{"no-data in one band only", gdal.Fixture{Bands: 3, Options: []string{"PHOTOMETRIC=RGB"}, NoData: &zero, Pixels: value(0, 20, 30)}, [4]uint8{0, 20, 30, 255}, ""},
		{"colour table", gdal.Fixture{Bands: 1, Palette: [][4]uint{{0, 0, 0, 255}, {250, 120, 60, 255}}, Pixels: value(1)}, [4]uint8{250, 120, 60, 255}, "band 1 by its colour table"},
		{"colour table of sixteen bits", gdal.Fixture{Type: "UInt16", Bands: 1, Palette: [][4]uint{{0, 0, 0, 255}, {250, 120, 60, 255}}, Pixels: value(1)}, [4]uint8{250, 120, 60, 255}, "band 1 by its colour table"},
		{"cyan, magenta, yellow, black", gdal.Fixture{Bands: 4, Options: []string{"PHOTOMETRIC=CMYK"}, Pixels: value(255, 0, 0, 51)}, [4]uint8{0, 204, 204, 255}, "red, green and blue"},
		{"sixteen bits, a ramp 1000 a column", gdal.Fixture{Type: "UInt16", Bands: 1, Pixels: ramp}, [4]uint8{136, 136, 136, 255}, "darkest and brightest"},
		{"sixteen bits of one value", gdal.Fixture{Type: "UInt16", Bands: 1, Pixels: value(500)}, [4]uint8{128, 128, 128, 255}, ""},
		{"floating point, not a number", gdal.Fixture{Type: "Float32", Bands: 1, Pixels: value(math.NaN())}, [4]uint8{0, 0, 0, 0}, ""},
		{"bi-level", gdal.Fixture{Bands: 1, Options: []string{"NBITS=1"}, Pixels: value(1)}, [4]uint8{255, 255, 255, 255}, ""},
		{"four bits", gdal.Fixture{Bands: 1, Options: []string{"NBITS=4"}, Pixels: value(5)}, [4]uint8{85, 85, 85, 255}, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), fmt.Sprintf("%d.img", i))
			row.f.Width, row.f.Height = 16, 16
			row.f.Write(t, path)
			got, err := gdal.WarpToSite(bg, path, gdal.Placement{ToSite: &place}, gdal.SiteGrid{}, 0)
			if err != nil {
				t.Fatal(err)
			}
			if r := got.Pix.Rect; r.Dx() != 16 || r.Dy() != 16 {
				t.Fatalf("%v, want 16 x 16", r)
			}
			c := got.Pix.RGBAAt(8, 8)
			for k, v := range []uint8{c.R, c.G, c.B, c.A} {
				if math.Abs(float64(v)-float64(row.want[k])) > 1 {
					t.Errorf("colour %v, want %v", c, row.want)
					break
				}
			}
			info, err := gdal.OpenImage(path, gdal.OpenOptions{})
			if err != nil {
				t.Fatal(err)
			}
			if !strings.Contains(info.Reading, row.says) {
				t.Errorf("reads %q, want %q", info.Reading, row.says)
			}
		})
	}
}

func TestLoadingStopsWhenItIsNoLongerWanted(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.tif")
	gdal.Fixture{Width: 64, Height: 64, Bands: 1}.Write(t, path)
	ctx, cancel := context.WithCancel(bg)
	cancel()
	a := [6]float64{0, 1, 0, 0, 0, -1}
	if _, err := gdal.WarpToSite(ctx, path, gdal.Placement{ToSite: &a}, gdal.SiteGrid{}, 0); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want context.Canceled", err)
	}
}

func BenchmarkWarpPhotograph(b *testing.B) {
	dir := filepath.Join(opendata.Dir(b), "data/ortho/autzen")
	c, err := gdal.ParseCRS("EPSG:2994")
	if err != nil {
		b.Fatal(err)
	}
	for range b.N {
		if _, err := gdal.WarpToSite(bg, filepath.Join(dir, "autzen.jpg"), gdal.Placement{CRS: c}, gdal.SiteGrid{Lon0: -123.069, Lat0: 44.056}, 0); err != nil {
			b.Fatal(err)
		}
	}
}
