package imagery

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/model"
	"pleach/model/picture"
	"pleach/model/sitegrid"
	"pleach/testdata/opendata"
)

// photo writes a dark picture with one bright block of pixels.
func photo(t *testing.T, path string, w, h int, block image.Rectangle) {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{20, 20, 20, 255}
			if (image.Point{x, y}).In(block) {
				c = color.RGBA{250, 250, 250, 255}
			}
			img.SetRGBA(x, y, c)
		}
	}
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if filepath.Ext(path) == ".png" {
		err = png.Encode(f, img)
	} else {
		err = jpeg.Encode(f, img, &jpeg.Options{Quality: 95})
	}
	if err != nil {
		t.Fatal(err)
	}
}

// brightest is the middle of what is bright, on the site grid.
func brightest(p *picture.Picture) orb.Point {
	img, b := p.Image(), p.Bound()
	var sum, sx, sy float64
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			if c := img.RGBAAt(x, y); c.R > 60 {
				v := float64(c.R) - 20
				sum, sx, sy = sum+v, sx+v*(float64(x)+0.5), sy+v*(float64(y)+0.5)
			}
		}
	}
	return orb.Point{b.Min[0] + sx/sum*p.PixelSize(), b.Max[1] - sy/sum*p.PixelSize()}
}

func far(a, b orb.Point, tolerance float64) bool {
	return !(math.Hypot(a[0]-b[0], a[1]-b[1]) <= tolerance)
}

func TestTheOriginalLiesWhereThePictureDoes(t *testing.T) {
	dir := t.TempDir()
	grid := sitegrid.New(-2.1, 54.3)
	turned := picture.Affine{-70, 0.21, 0.05, 60, 0.05, -0.21}
	bent := func(p orb.Point) orb.Point {
		q := turned.At(p)
		return orb.Point{q[0], q[1] + (p[0]-320)*(p[0]-320)*1e-5}
	}
	for _, row := range []struct {
		name, file string
		by         func(orb.Point) orb.Point
		want       bool
	}{
		{"a turned JPEG", "a.jpg", turned.At, true},
		{"control points that do not agree place it by their mean", "b.jpg", bent, true},
		{"a PNG", "c.png", turned.At, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			photo(t, filepath.Join(dir, row.file), 640, 480, image.Rect(400, 100, 416, 116))
			bm := model.BaseMap{File: row.file}
			for _, p := range []orb.Point{{0, 0}, {640, 10}, {600, 470}, {5, 460}, {320, 240}} {
				bm.Control = append(bm.Control, model.Control{Pixel: p, At: grid.ToLonLat(row.by(p))})
			}
			l, err := Load(context.Background(), dir, bm, grid, 0)
			if err != nil {
				t.Fatal(err)
			}
			f := l.Original()
			if (f != nil) != row.want {
				t.Fatalf("original %v, want one: %v", f, row.want)
			}
			if f == nil {
				return
			}
			if got, want := f.At.At(orb.Point{408, 108}), brightest(l.Picture); far(got, want, 0.05) {
				t.Errorf("the block lies at %v in the file and at %v in the picture", got, want)
			}
			if on, err := os.ReadFile(filepath.Join(dir, row.file)); err != nil || !bytes.Equal(on, f.JPEG) {
				t.Errorf("the file's bytes are not kept: %v", err)
			}
		})
	}
	// By its own coordinates, in a system that is turned against the site grid.
	dir = "../../assets/demo"
	l, err := Load(context.Background(), dir, model.BaseMap{File: "aerial.jpg", CRS: "EPSG:32630"}, sitegrid.New(-2.943, 52.861), 0)
	if err != nil {
		t.Fatal(err)
	}
	f := l.Original()
	if f == nil {
		t.Fatal("the demo's picture has no original")
	}
	b, o := l.Picture.Bound(), f.Outline().Bound()
	for i := range 2 {
		if math.Abs(b.Min[i]-o.Min[i]) > 1 || math.Abs(b.Max[i]-o.Max[i]) > 1 {
			t.Errorf("the picture covers %v, its original %v", b, o)
		}
	}
}

func TestAPictureByControlPointsLiesWhereTheyPutIt(t *testing.T) {
	dir := t.TempDir()
	photo(t, filepath.Join(dir, "site.jpg"), 640, 480, image.Rect(400, 100, 416, 116))
	grid := sitegrid.New(-2.1, 54.3)
	truth := picture.Affine{-70, 0.21, 0.05, 60, 0.05, -0.21}
	var control []model.Control
	for _, p := range []orb.Point{{0, 0}, {640, 10}, {600, 470}, {5, 460}} {
		control = append(control, model.Control{Pixel: p, At: grid.ToLonLat(truth.At(p))})
	}
	for n := 2; n <= 4; n++ {
		bm := model.BaseMap{File: "site.jpg", Control: control[:n]}
		got, err := Load(context.Background(), dir, bm, grid, 0)
		if err != nil {
			t.Fatal(err)
		}
		if want := truth.At(orb.Point{408, 108}); far(brightest(got.Picture), want, 0.05) {
			t.Errorf("%d points: the block lies at %v, want %v", n, brightest(got.Picture), want)
		}
		if len(got.Residuals) != n || got.Residuals[0] > 1e-4 || got.ToSite == nil {
			t.Errorf("%d points: residuals %v, map %v", n, got.Residuals, got.ToSite)
		}
		box, err := Extent(dir, bm)
		if err != nil {
			t.Fatal(err)
		}
		var corners orb.MultiPoint
		for _, p := range []orb.Point{{0, 0}, {640, 0}, {640, 480}, {0, 480}} {
			corners = append(corners, grid.ToLonLat(truth.At(p)))
		}
		if want := corners.Bound(); far(box.Min, want.Min, 1e-8) || far(box.Max, want.Max, 1e-8) {
			t.Errorf("%d points: extent %v, want %v", n, box, want)
		}
	}

	_, err := Load(context.Background(), dir, model.BaseMap{File: "site.jpg", Control: []model.Control{control[0], control[0]}}, grid, 0)
	if err == nil || !strings.Contains(err.Error(), "site.jpg: base_map.control: control points 1 and 2") {
		t.Errorf("one point twice: error %v", err)
	}
}

func TestAPictureThatCannotBePlacedSaysWhatItLacks(t *testing.T) {
	dir := t.TempDir()
	photo(t, filepath.Join(dir, "bare.png"), 40, 30, image.Rect(0, 0, 5, 5))
	photo(t, filepath.Join(dir, "world.png"), 40, 30, image.Rect(0, 0, 5, 5))
	if err := os.WriteFile(filepath.Join(dir, "world.pgw"), []byte("1\n0\n0\n-1\n500000\n5200000\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		bm   model.BaseMap
		is   error
		says string
	}{
		{model.BaseMap{File: "bare.png"}, gdal.ErrNoPosition, "bare.png: "},
		{model.BaseMap{File: "bare.png", CRS: "EPSG:27700"}, gdal.ErrNoPosition, "bare.png: "},
		{model.BaseMap{File: "world.png"}, gdal.ErrNoCRS, "world.png: "},
		{model.BaseMap{File: "world.png", CRS: "EPSG:99999"}, nil, "world.png: base_map.crs: EPSG:99999 is not in the EPSG register"},
		{model.BaseMap{File: "none.png"}, nil, "none.png: no such file"},
		{model.BaseMap{File: ""}, nil, "base_map.file: no file is named"},
		{model.BaseMap{File: `\\server\share\a.png`}, nil, "another computer"},
		{model.BaseMap{File: "//server/share/a.png"}, nil, "another computer"},
	} {
		_, err := Load(context.Background(), dir, row.bm, sitegrid.New(0, 50), 0)
		if err == nil || row.is != nil && !errors.Is(err, row.is) || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%+v: error %v, want %q", row.bm, err, row.says)
		}
		if _, err := Extent(dir, row.bm); err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("extent of %+v: error %v, want %q", row.bm, err, row.says)
		}
	}
}

func TestAPictureCutOffOrTiedLooselySaysSo(t *testing.T) {
	dir := t.TempDir()
	photo(t, filepath.Join(dir, "wide.png"), 300, 200, image.Rect(0, 0, 5, 5))
	// Pixels of 200 m: 60 km by 40 km of Great Britain.
	if err := os.WriteFile(filepath.Join(dir, "wide.pgw"), []byte("200\n0\n0\n-200\n400000\n500000\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	bm := model.BaseMap{File: "wide.png", CRS: "EPSG:27700"}
	box, err := Extent(dir, bm)
	if err != nil {
		t.Fatal(err)
	}
	mid := box.Center()
	got, err := Load(context.Background(), dir, bm, sitegrid.New(mid[0], mid[1]), 0)
	if err != nil {
		t.Fatal(err)
	}
	if all := strings.Join(got.Notes, "\n"); !strings.Contains(all, "10 km from the middle") {
		t.Errorf("notes %q, want one that it was cut off", got.Notes)
	}
	for _, row := range []struct {
		d    gdal.Datum
		want string
	}{
		{gdal.Datum{Accuracy: 2, Better: 1, Missing: "a.tif"}, "EPSG:27700 are tied to WGS 84 to about 2 m here; with PROJ's grid file a.tif installed it would be 1 m"},
		{gdal.Datum{Accuracy: -1, Better: -1, Missing: "a.tif"}, "no better than roughly here; with PROJ's grid file a.tif installed it would be better"},
	} {
		c, err := gdal.ParseCRS("EPSG:27700")
		if err != nil {
			t.Fatal(err)
		}
		if s := tie(c, row.d); !strings.Contains(s, row.want) {
			t.Errorf("%q, want %q", s, row.want)
		}
	}
}

func TestABarePictureIsShownAsItIs(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bare.png")
	photo(t, path, 400, 300, image.Rect(300, 200, 310, 210))
	p, to, err := Bare(context.Background(), path, 0)
	if err != nil {
		t.Fatal(err)
	}
	if at := to.Pixel(brightest(p)); far(at, orb.Point{305, 205}, 0.01) {
		t.Errorf("the block is shown at pixel %v, want 305, 205", at)
	}
	if img := p.Image(); img.Rect.Dx() != 400 || img.Rect.Dy() != 300 {
		t.Errorf("shown with %v, want 400 x 300", img.Rect)
	}
}

func TestOutsideARealPhotographIsLoadedAsTheBaseMap(t *testing.T) {
	dir := filepath.Join(opendata.Dir(t), "data/ortho/autzen")
	bm := model.BaseMap{File: "autzen.jpg", CRS: "EPSG:2994"}
	box, err := Extent(dir, bm)
	if err != nil {
		t.Fatal(err)
	}
	// gdaltransform (GDAL 3.6.2): the upper left corner from EPSG:2994 to EPSG:4326.
	if math.Abs(box.Min[0]+123.07539239639) > 1e-9 {
		t.Errorf("extent %v, want its west edge at -123.07539239639", box)
	}
	mid := box.Center()
	got, err := Load(context.Background(), dir, bm, sitegrid.New(mid[0], mid[1]), 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	if got.Placed != "EPSG:2994 by autzen.wld" || got.Picture.PixelSize() < 1 || got.Picture.PixelSize() > 1.4 {
		t.Errorf("placed %q, pixel %v m", got.Placed, got.Picture.PixelSize())
	}
}

func TestAPlanNamesItsPictureFromItsOwnFolder(t *testing.T) {
	for _, row := range []struct{ folder, file, want string }{
		{"/a/plans", "/a/plans/site.tif", "site.tif"},
		{"/a/plans", "/a/pictures/site.tif", "../pictures/site.tif"},
		{"/a/plans", "/a/plans/pictures/site.tif", "pictures/site.tif"},
	} {
		rel := Relative(row.folder, row.file)
		back, err := Path(row.folder, rel)
		if rel != row.want || err != nil || back != row.file {
			t.Errorf("%s from %s is %q and leads back to %q, %v; want %q", row.file, row.folder, rel, back, err, row.want)
		}
	}
}
