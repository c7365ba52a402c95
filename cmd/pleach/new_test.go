package main

import (
	"bytes"
	"encoding/json"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pleach/gis/planfile"
	"pleach/model"
	"pleach/testdata/opendata"
)

const boundary = `{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"name": "Fence"},
	"geometry": {"type": "Polygon", "coordinates": [[[7, 50], [7.002, 50], [7.002, 50.001], [7, 50.001], [7, 50]]]}}]}`

// picture writes a PNG with a world file that lies on the boundary above in
// degrees, and returns its path.
func picture(t *testing.T, folder string) string {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 40, 20))
	for i := range 800 {
		img.Set(i%40, i/40, color.RGBA{uint8(i), 120, 60, 255})
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(folder, "aerial.png")
	for name, data := range map[string][]byte{path: b.Bytes(), filepath.Join(folder, "aerial.pgw"): []byte("0.00005\n0\n0\n-0.00005\n7.000025\n50.000975\n")} {
		if err := os.WriteFile(name, data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return path
}

func TestNewMakesAPlanOfFilesAndNamesThePictureFromThePlan(t *testing.T) {
	dir := t.TempDir()
	for _, sub := range []string{"pictures", "plans"} {
		if err := os.Mkdir(filepath.Join(dir, sub), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	image := picture(t, filepath.Join(dir, "pictures"))
	out := filepath.Join(dir, "plans", "site.geojson")
	said := works(t, done, "new", "--boundary", write(t, "b.geojson", boundary), "--image", image, "--image-crs", "EPSG:4326",
		"--buildings", write(t, "h.geojson", boundary), "--roads", write(t, "r.geojson", boundary), "--foliage", write(t, "f.geojson", boundary), "-o", out)
	for _, want := range []string{"1 boundary", "1 building", "1 road", "1 foliage", "aerial picture ../pictures/aerial.png", "assumed for 2"} {
		if !strings.Contains(said, want) {
			t.Errorf("new does not say %q: %s", want, said)
		}
	}
	p, err := planfile.Read(out)
	if err != nil {
		t.Fatal(err)
	}
	if flaws := p.AllFlaws(); len(flaws) > 0 {
		t.Errorf("flaws %v", flaws)
	}
	if bm := p.Settings.BaseMap; bm == nil || bm.File != "../pictures/aerial.png" || bm.CRS != "EPSG:4326" {
		t.Errorf("base map %+v", bm)
	}
	for id, kind := range map[string]model.Kind{"B1": model.KindBoundary, "H1": model.KindBuilding, "R1": model.KindRoad, "F1": model.KindFoliage} {
		if f := p.Feature(id); f == nil || f.Kind != kind {
			t.Errorf("%s is %v", id, f)
		}
	}
	works(t, done, "check", out) // the building stands on all of the boundary and closes it
	works(t, done, "print", out, "-o", filepath.Join(dir, "site.pdf"))
}

// Without a feature the site grid lies about the middle of the picture.
func TestAPlanOfAPictureAloneLiesWhereThePictureDoes(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "site.geojson")
	works(t, done, "new", "--image", picture(t, dir), "--image-crs", "EPSG:4326", "-o", out)
	var report struct {
		Grid struct {
			Lon float64 `json:"lon_0"`
			Lat float64 `json:"lat_0"`
		} `json:"site_grid"`
	}
	if err := json.Unmarshal([]byte(works(t, done, "check", out, "--json")), &report); err != nil {
		t.Fatal(err)
	}
	if d := report.Grid; d.Lon < 7.00099 || d.Lon > 7.00101 || d.Lat < 50.00049 || d.Lat > 50.00051 {
		t.Errorf("site grid about %v, want 7.001, 50.0005: the middle of 40 x 20 pixels of 0.00005° from 7, 50.001", d)
	}
	works(t, done, "print", out, "-o", filepath.Join(dir, "site.pdf"))
}

func TestNewRefusesBadInputAndWritesNothing(t *testing.T) {
	dir := t.TempDir()
	good := picture(t, dir)
	whole, err := os.ReadFile(good)
	if err != nil {
		t.Fatal(err)
	}
	cut := filepath.Join(dir, "cut.png")
	world := read(t, filepath.Join(dir, "aerial.pgw"))
	var jpg bytes.Buffer
	if err := jpeg.Encode(&jpg, image.NewGray(image.Rect(0, 0, 9, 9)), nil); err != nil {
		t.Fatal(err)
	}
	secret := filepath.Join(dir, "secret.txt")
	for name, data := range map[string]string{
		cut:                             string(whole[:len(whole)-60]),
		filepath.Join(dir, "cut.pgw"):   world,
		filepath.Join(dir, "bare.jpg"):  jpg.String(),
		filepath.Join(dir, "empty.tif"): "",
		filepath.Join(dir, "text.tif"):  "no image at all",
		filepath.Join(dir, "vrt.png"):   `<VRTDataset rasterXSize="40" rasterYSize="20"><VRTRasterBand band="1"><SimpleSource><SourceFilename>` + good + `</SourceFilename></SimpleSource></VRTRasterBand></VRTDataset>`,
		secret:                          "NaN",
	} {
		if err := os.WriteFile(name, []byte(data), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	out := filepath.Join(dir, "site.geojson")
	in := write(t, "b.geojson", boundary)
	for _, row := range []struct {
		name, want string
		args       []string
	}{
		{"no such image", "none.tif: no such file", []string{"--image", filepath.Join(dir, "none.tif")}},
		{"an empty image", "empty.tif: is empty", []string{"--image", filepath.Join(dir, "empty.tif")}},
		{"an image that is none", "text.tif: holds text, not an image", []string{"--image", filepath.Join(dir, "text.tif")}},
		{"a text that names other images", "vrt.png: holds text, not an image", []string{"--image", filepath.Join(dir, "vrt.png")}},
		{"an image cut short", "cut.png", []string{"--image", cut, "--image-crs", "EPSG:4326"}},
		{"an image without a position", "bare.jpg: has no position on the ground", []string{"--image", filepath.Join(dir, "bare.jpg")}},
		{"an image without a reference system", "aerial.png: does not say in which coordinate reference system it lies: name one, such as EPSG:2994: --image-crs EPSG:n", []string{"--image", good}},
		{"an unknown code", "EPSG:999999 is not in the EPSG register", []string{"--image", good, "--image-crs", "EPSG:999999"}},
		{"an address for a system", "is not a coordinate reference system", []string{"--image", good, "--image-crs", "http://localhost:1/crs"}},
		{"an address for an image", "is an address, not a file", []string{"--image", "http://localhost:1/a.tif"}},
		{"a folder for an image", "is a folder", []string{"--image", dir}},
		{"a boundary that is none", "secret.txt: line 1, column 1: NaN is not a JSON value", []string{"--boundary", secret}},
		{"no such boundary", "none.geojson: no such file", []string{"--boundary", filepath.Join(dir, "none.geojson")}},
		{"no such terrain", "none.asc: no such file", []string{"--boundary", in, "--terrain", filepath.Join(dir, "none.asc")}},
		{"a terrain that is none", "text.tif: holds text", []string{"--boundary", in, "--terrain", filepath.Join(dir, "text.tif")}},
		{"a unit that is none", "--terrain-unit yd is neither m nor ft", []string{"--terrain", filepath.Join(dir, "none.asc"), "--terrain-unit", "yd"}},
		{"a unit of no terrain", "--terrain-unit is for a --terrain", []string{"--boundary", in, "--terrain-unit", "ft"}},
		{"buildings that are none", "text.tif: line 1, column 1: no is not JSON here", []string{"--boundary", in, "--buildings", filepath.Join(dir, "text.tif")}},
	} {
		t.Run(row.name, func(t *testing.T) {
			refused(t, row.want, append(append([]string{"new"}, row.args...), "-o", out)...)
			missing(t, out)
		})
	}
	refused(t, "there is no folder", "new", "--boundary", in, "-o", filepath.Join(dir, "no", "site.geojson"))
}

func TestNewLeavesAFileThatIsThereAlone(t *testing.T) {
	out := write(t, "mine.geojson", "mine")
	refused(t, "mine.geojson: is there already", "new", "--boundary", write(t, "b.geojson", boundary), "-o", out)
	if read(t, out) != "mine" {
		t.Error("the file was changed")
	}
}

func TestWhatIsLeftOutIsNamedOnStandardError(t *testing.T) {
	out := filepath.Join(t.TempDir(), "site.geojson")
	buildings := write(t, "h.geojson", `{"type": "FeatureCollection", "features": [
		{"type": "Feature", "properties": {"osm_id": "17"}, "geometry": {"type": "Polygon", "coordinates": [[[7, 50], [7.1, 50], [7, 50]]]}}]}`)
	status, stdout, stderr := pleach("new", "--boundary", write(t, "b.geojson", boundary), "--buildings", buildings, "-o", out)
	if status != done || strings.Contains(stdout, "building") || !strings.HasPrefix(stderr, "pleach: "+buildings+": features[0] (osm_id 17): left out: ") {
		t.Errorf("status %d, %q, %q", status, stdout, stderr)
	}
}

func TestWhatLiesFarFromTheBoundaryIsSaid(t *testing.T) {
	dir := t.TempDir()
	far := write(t, "b.geojson", strings.ReplaceAll(boundary, "50", "51"))
	status, _, stderr := pleach("new", "--boundary", far, "--image", picture(t, dir), "--image-crs", "EPSG:4326", "-o", filepath.Join(dir, "p.geojson"))
	if status != done || !strings.Contains(stderr, "aerial.png: lies 111 km from the boundary: is its coordinate reference system right?") {
		t.Errorf("status %d, %q", status, stderr)
	}
	// Latitude before longitude is the usual slip.
	turned := write(t, "h.geojson", `{"type": "Polygon", "coordinates": [[[50, 7], [50, 7.001], [50.001, 7], [50, 7]]]}`)
	status, _, stderr = pleach("new", "--boundary", far, "--buildings", turned, "-o", filepath.Join(dir, "q.geojson"))
	if status != done || !strings.Contains(stderr, "h.geojson: lies ") || !strings.Contains(stderr, "km from the boundary") {
		t.Errorf("status %d, %q", status, stderr)
	}
}

func TestOutsidePhotographsMakePlans(t *testing.T) {
	ortho := filepath.Join(opendata.Dir(t), "data", "ortho")
	for _, row := range []struct {
		name  string
		scale string // that the whole picture fits on A3
		args  []string
	}{
		{"RGBA in metres of New Zealand", "5000", []string{"--image", filepath.Join(ortho, "auckland_camp", "aerial.tif")}},
		{"JPEG with a world file in feet", "10000", []string{"--image", filepath.Join(ortho, "autzen", "autzen.jpg"), "--image-crs", "EPSG:2994"}},
		{"four bands marked gray", "20000", []string{"--image", filepath.Join(ortho, "prairie", "m_4709963_se_14_1_20090818.tif")}},
	} {
		t.Run(row.name, func(t *testing.T) {
			dir := t.TempDir()
			out := filepath.Join(dir, "site.geojson")
			works(t, done, append(append([]string{"new"}, row.args...), "-o", out)...)
			works(t, done, "check", out)
			works(t, done, "print", out, "--scale", row.scale, "-o", filepath.Join(dir, "site.pdf"))
		})
	}
}

func TestOutsideOddImagesAreRefusedInOneLine(t *testing.T) {
	hostile := filepath.Join(opendata.Dir(t), "data", "hostile")
	for _, name := range []string{"byte_truncated.tif", "corrupted_deflate_singlestrip.tif", "hugeblocksize.tif", "egm96_15_uncompressed_truncated.tif", "zackthecat_corrupted.tif", "byte_corrupted.jpg", "truncated.kml", "inf_nan.csv"} {
		t.Run(name, func(t *testing.T) {
			out := filepath.Join(t.TempDir(), "site.geojson")
			refused(t, name, "new", "--image", filepath.Join(hostile, name), "-o", out)
			missing(t, out)
		})
	}
}
