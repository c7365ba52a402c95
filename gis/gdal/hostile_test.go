//go:build unix

package gdal_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/rand"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/testdata/opendata"
)

// Hostile files are opened in a process of their own: a crash of the library
// would otherwise end the test, and its memory could not be told apart.

const tryEnv = "PLEACH_TEST_TRY_IMAGES"

func TestMain(m *testing.M) {
	if list := os.Getenv(tryEnv); list != "" {
		var paths []string
		if err := json.Unmarshal([]byte(list), &paths); err != nil {
			fmt.Println(err)
			os.Exit(3)
		}
		var out []string
		for _, p := range paths {
			out = append(out, try(p))
		}
		json.NewEncoder(os.Stdout).Encode(tried{out, peakMemory()})
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// tried is what the other process reports.
type tried struct {
	Came []string // of each path
	Peak int      // memory in kB, 0 where the system does not say
}

// peakMemory is the most this process has had in memory at once, in kB.
// (The parent sees the larger of that and its own at the time of the fork.)
func peakMemory() (kb int) {
	b, _ := os.ReadFile("/proc/self/status")
	if _, after, ok := strings.Cut(string(b), "VmHWM:"); ok {
		fmt.Sscan(after, &kb)
	}
	return kb
}

// try opens and reads an image as the program would, wherever it lies.
func try(path string) string {
	info, err := gdal.OpenImage(path, gdal.OpenOptions{})
	if err != nil {
		return "error: " + err.Error()
	}
	size := max(info.Width, info.Height)
	a := [6]float64{-5, 10 / float64(size), 0, 5, 0, -10 / float64(size)}
	r, err := gdal.WarpToSite(context.Background(), path, gdal.Placement{ToSite: &a}, gdal.SiteGrid{}, 1<<22)
	if err != nil {
		return "error: " + err.Error()
	}
	if info.Positioned && !info.CRS.IsZero() {
		mid := info.LonLat.Center()
		if _, err := gdal.WarpToSite(context.Background(), path, gdal.Placement{}, gdal.SiteGrid{Lon0: mid[0], Lat0: mid[1]}, 1<<22); err != nil {
			return "error: " + err.Error()
		}
	}
	return fmt.Sprintf("read %v crs %q", r.Pix.Rect, info.CRS.Name())
}

// attempt runs try on every path in a fresh process in folder, and checks that
// it neither crashes nor hangs nor takes a gigabyte nor leaves a file behind.
func attempt(t *testing.T, folder string, paths ...string) []string {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	list, err := json.Marshal(paths)
	if err != nil {
		t.Fatal(err)
	}
	before := files(t, folder)
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Minute) // a hang, not a measure of speed
	defer cancel()
	cmd := exec.CommandContext(ctx, exe)
	cmd.Dir = folder
	cmd.Env = append(os.Environ(), tryEnv+"="+string(list))
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	if err := cmd.Run(); err != nil {
		t.Fatalf("%v: %v\n%s%s", paths, err, &stdout, &stderr)
	}
	if stderr.Len() > 0 {
		t.Errorf("the library wrote to standard error: %s", &stderr)
	}
	if after := files(t, folder); !slices.Equal(before, after) {
		t.Errorf("files before %v, after %v", before, after)
	}
	var got tried
	if err := json.Unmarshal(stdout.Bytes(), &got); err != nil || len(got.Came) != len(paths) {
		t.Fatalf("%v: %v: %s", paths, err, &stdout)
	}
	if got.Peak > 1<<20 {
		t.Errorf("%v took %d MB of memory, more than 1024", paths, got.Peak>>10)
	}
	for i, s := range got.Came {
		if strings.HasPrefix(s, "error: ") && strings.ContainsAny(s, "\n\r") {
			t.Errorf("%s: error of several lines: %q", paths[i], s)
		}
	}
	return got.Came
}

// files lists a folder with sizes and times of change.
func files(t *testing.T, folder string) (out []string) {
	t.Helper()
	list, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, fmt.Sprint(e.Name(), " ", info.Size(), " ", info.ModTime().UnixNano()))
	}
	return out
}

// watchedServer is a server on this computer that counts what reaches it, down
// to a connection without a request.
func watchedServer(t *testing.T) (url string, calls *atomic.Int64) {
	t.Helper()
	calls = new(atomic.Int64)
	s := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		calls.Add(1)
		http.NotFound(w, r)
	}))
	s.Config.ConnState = func(net.Conn, http.ConnState) { calls.Add(1) }
	s.Start()
	t.Cleanup(s.Close)
	return s.URL, calls
}

func TestOutsideHostileFilesGiveOneClearLine(t *testing.T) {
	dir := filepath.Join(opendata.Dir(t), "data/hostile")
	folder := t.TempDir()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	// What each image must come to; every other file must be refused.
	want := map[string]string{
		"byte_truncated.tif":                    "damaged or cut short",
		"corrupted_deflate_singlestrip.tif":     "damaged or cut short",
		"hugeblocksize.tif":                     "Too large block size",
		"invalid_GeogAngularUnitSizeGeoKey.tif": "read",
		"zackthecat_corrupted.tif":              "damaged or cut short",
		"byte_corrupted.jpg":                    "read",
		"rotated.tif":                           "read",
		"egm96_15_uncompressed_truncated.tif":   "damaged or cut short",
	}
	var paths []string
	for _, e := range list {
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		p := filepath.Join(folder, e.Name())
		if err := os.WriteFile(p, b, 0o644); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, p)
	}
	for i, got := range attempt(t, folder, paths...) {
		name := filepath.Base(paths[i])
		t.Run(name, func(t *testing.T) {
			says := want[name]
			if says == "" {
				says = gdalKinds
			}
			if says == "read" {
				if !strings.HasPrefix(got, "read ") {
					t.Errorf("%s", got)
				}
				return
			}
			if !strings.HasPrefix(got, "error: "+paths[i]+": ") || !strings.Contains(got, says) {
				t.Errorf("%s\nwant an error that begins with the file and says %q", got, says)
			}
		})
	}
}

const gdalKinds = "GeoTIFF, PNG, JPEG and JPEG 2000 are"

func TestDisguisedFilesAreRefusedAndNothingIsFetched(t *testing.T) {
	url, calls := watchedServer(t)
	folder := t.TempDir()
	secret := filepath.Join(folder, "other.tif")
	gdal.Fixture{Width: 20, Height: 20, Bands: 1}.Write(t, secret)
	vrt := func(source string) string {
		return `<VRTDataset rasterXSize="20" rasterYSize="20"><VRTRasterBand dataType="Byte" band="1"><SimpleSource>` +
			`<SourceFilename relativeToVRT="0">` + source + `</SourceFilename><SourceBand>1</SourceBand></SimpleSource></VRTRasterBand></VRTDataset>`
	}
	wms := `<GDAL_WMS><Service name="TMS"><ServerUrl>` + url + `/${z}/${x}/${y}.png</ServerUrl></Service><DataWindow>` +
		`<UpperLeftX>-1</UpperLeftX><UpperLeftY>1</UpperLeftY><LowerRightX>1</LowerRightX><LowerRightY>-1</LowerRightY>` +
		`<TileLevel>0</TileLevel></DataWindow><Projection>EPSG:3857</Projection><BlockSizeX>256</BlockSizeX><BlockSizeY>256</BlockSizeY><BandsCount>3</BandsCount></GDAL_WMS>`
	put := func(name, text string) string {
		p := filepath.Join(folder, name)
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	fifo := filepath.Join(folder, "pipe.tif")
	if err := syscall.Mkfifo(fifo, 0o600); err != nil {
		t.Skip(err)
	}
	link := filepath.Join(folder, "nowhere.tif")
	if err := os.Symlink(filepath.Join(folder, "gone.tif"), link); err != nil {
		t.Fatal(err)
	}
	rows := []struct{ path, says string }{
		{put("vrt.png", vrt(secret)), "holds text"},
		{put("vrt.tif", vrt("/vsicurl/"+url+"/a.tif")), "holds text"},
		{put("wms.jpg", wms), "holds text"},
		{put("latin.jpg", "caf\xe9"), gdalKinds},
		{put("empty.tif", ""), "is empty"},
		{put("short.tif", "II*\x00"), "cannot be opened as TIFF"},
		{put("short.png", "\x89PNG\r\n\x1a\n"), "cannot be opened as PNG"},
		{put("short.jpg", "\xff\xd8\xff"), "cannot be opened as JPEG"},
		{put("short.jp2", "\xff\x4f\xff\x51"), "cannot be opened as JPEG 2000"},
		{put("nowhere.tif2", "II*\x00\xff\xff\xff\x7f"), "cannot be opened as TIFF"},
		{fifo, "not an ordinary file"},
		{link, "no such file"},
		{folder, "is a folder"},
		{"/dev/zero", "not an ordinary file"},
		{"/vsicurl/" + url + "/a.tif", "is an address"},
		{"/vsicurl?url=a.tif", "not a file on this computer"},
		{"/vsimem/a.tif", "not a file on this computer"},
		{"/VSIZIP/" + folder + "/a.zip", "not a file on this computer"},
		{url + "/a.tif", "is an address"},
		{"GTIFF_DIR:1:" + secret, "no such file"},
		{"GTIFF_RAW:" + secret, "no such file"},
		{"WMS:" + strings.TrimPrefix(url, "http:"), "is an address"},
		{vrt(secret), "no such file"},
		{"", "no file named"},
		{"a\x00b.tif", "zero byte"},
		{"a\nb.tif", "no such file"},
	}
	var paths []string
	for _, r := range rows {
		paths = append(paths, r.path)
	}
	for i, got := range attempt(t, folder, paths...) {
		if !strings.HasPrefix(got, "error: ") || !strings.Contains(got, rows[i].says) {
			t.Errorf("%.80q: %s\nwant an error that says %q", rows[i].path, got, rows[i].says)
		}
	}
	if n := calls.Load(); n != 0 {
		t.Errorf("the server was called %d times", n)
	}
}

func TestFilesBesideAnImageAreNotRead(t *testing.T) {
	url, calls := watchedServer(t)
	folder := t.TempDir()
	vrt := `<VRTDataset rasterXSize="10" rasterYSize="10"><VRTRasterBand dataType="Byte" band="1"><SimpleSource>` +
		`<SourceFilename relativeToVRT="0">/vsicurl/` + url + `/a.tif</SourceFilename><SourceBand>1</SourceBand></SimpleSource></VRTRasterBand></VRTDataset>`
	var paths []string
	for name, driver := range map[string]string{"a.tif": "GTiff", "b.png": "PNG", "c.jpg": "JPEG", "d.jp2": "JP2OpenJPEG"} {
		p := filepath.Join(folder, name)
		gdal.Fixture{Driver: driver, Width: 20, Height: 20, Bands: 1}.Write(t, p)
		stem := strings.TrimSuffix(p, filepath.Ext(p))
		for ending, text := range map[string]string{
			p + ".aux.xml": `<PAMDataset><SRS>EPSG:27700</SRS><GeoTransform>1,1,0,1,0,-1</GeoTransform></PAMDataset>`,
			stem + ".aux":  "EHFA_HEADER_TAG", p + ".ovr": vrt, p + ".msk": vrt, stem + ".tab": "!table", stem + ".prj": "junk", stem + ".rrd": vrt,
			stem + "_rpc.txt": "LINE_OFF: 1", stem + ".RPB": "x", stem + ".imd": "x",
		} {
			if err := os.WriteFile(ending, []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if err := syscall.Mkfifo(stem+".wld", 0o600); err != nil {
			t.Skip(err)
		}
		paths = append(paths, p)
	}
	for i, got := range attempt(t, folder, paths...) {
		if want := `read (0,0)-(20,20) crs ""`; got != want {
			t.Errorf("%s: %s, want %s", paths[i], got, want)
		}
	}
	if n := calls.Load(); n != 0 {
		t.Errorf("the server was called %d times", n)
	}
}

// A JPEG 2000 file may name its reference system by an address.
func TestAReferenceSystemNamedByAddressIsNotFetched(t *testing.T) {
	url, calls := watchedServer(t)
	folder := t.TempDir()
	path := filepath.Join(folder, "a.jp2")
	place := [6]float64{455000, 0.5, 0, 5710000, 0, -0.5}
	gdal.Fixture{Driver: "JP2OpenJPEG", Width: 64, Height: 64, Bands: 1, Place: &place, WKT: wkt(t, crs(t, "EPSG:32630")),
		Options: []string{"GeoJP2=NO", "GMLJP2=YES"}}.Write(t, path)
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	urn := []byte("urn:ogc:def:crs:EPSG::32630")
	address := url + "/" + strings.Repeat("x", len(urn))
	if !bytes.Contains(b, urn) {
		t.Skip("this library writes no GML box")
	}
	if err := os.WriteFile(path, bytes.ReplaceAll(b, urn, []byte(address[:len(urn)])), 0o644); err != nil {
		t.Fatal(err)
	}
	got := attempt(t, folder, path)[0]
	if !strings.HasPrefix(got, "read ") {
		t.Error(got)
	}
	if n := calls.Load(); n != 0 {
		t.Errorf("the server was called %d times", n)
	}
}

func TestImagesCutShortAreNotDrawnInSilence(t *testing.T) {
	folder := t.TempDir()
	r := rand.New(rand.NewSource(6))
	speckle := func(_, _, _ int) float64 { return float64(r.Intn(256)) }
	var paths []string
	for _, f := range []struct {
		name    string
		fixture gdal.Fixture
	}{
		{"a.tif", gdal.Fixture{}},
		{"b.tif", gdal.Fixture{Options: []string{"COMPRESS=LZW", "TILED=YES"}}},
		{"c.png", gdal.Fixture{Driver: "PNG"}},
		{"d.jpg", gdal.Fixture{Driver: "JPEG"}},
		{"e.jp2", gdal.Fixture{Driver: "JP2OpenJPEG"}},
		{"f.tif", gdal.Fixture{Options: []string{"COMPRESS=JPEG", "PHOTOMETRIC=YCBCR"}}},
		{"g.jpg", gdal.Fixture{Driver: "JPEG", Options: []string{"PROGRESSIVE=ON"}}},
	} {
		f.fixture.Width, f.fixture.Height, f.fixture.Bands, f.fixture.Pixels = 300, 300, 3, speckle
		p := filepath.Join(folder, f.name)
		f.fixture.Write(t, p)
		b, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(p, b[:len(b)*6/10], 0o644); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, p)
	}
	for i, got := range attempt(t, folder, paths...) {
		if !strings.HasPrefix(got, "error: "+paths[i]) {
			t.Errorf("%s cut to 60 %%: %s", filepath.Base(paths[i]), got)
		}
	}
}

func TestHugeClaimsAreRefusedOrReadInLittleMemory(t *testing.T) {
	folder := t.TempDir()
	sparse := []string{"SPARSE_OK=TRUE", "TILED=YES", "COMPRESS=DEFLATE"}
	rows := []struct {
		name string
		f    gdal.Fixture
		says string
	}{
		{"square.tif", gdal.Fixture{Width: 200_000, Height: 200_000, Bands: 3, Options: append(sparse, "BIGTIFF=YES")}, "claims 200000 x 200000 pixels, 40000 million in all; up to 268 million are read"},
		{"long.tif", gdal.Fixture{Width: 2_000_000, Height: 10, Bands: 1, Options: sparse}, "up to 1048576 on a side"},
		{"tile.tif", gdal.Fixture{Width: 16_000, Height: 16_000, Bands: 1, Type: "UInt16", Options: append(slices.Clone(sparse), "BLOCKXSIZE=16384", "BLOCKYSIZE=16384")}, "blocks of 16384 x 16384"},
		{"bands.tif", gdal.Fixture{Width: 10, Height: 10, Bands: 200, Options: sparse}, "has 200 bands; up to 64"},
		// Within the limits: read in strips, or in pillars where a row of tiles
		// is more than the cache holds.
		{"most.tif", gdal.Fixture{Width: 16384, Height: 16384, Bands: 3, Options: sparse}, "read "},
		{"wide.tif", gdal.Fixture{Width: 1_000_000, Height: 260, Bands: 3, Options: append(slices.Clone(sparse), "BLOCKXSIZE=512", "BLOCKYSIZE=512")}, "read "},
		{"float.tif", gdal.Fixture{Width: 12_000, Height: 12_000, Bands: 1, Type: "Float32", Options: sparse}, "read "},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			p := filepath.Join(folder, row.name)
			row.f.Write(t, p)
			if got := attempt(t, folder, p)[0]; !strings.Contains(got, row.says) {
				t.Errorf("%s\nwant %q", got, row.says)
			}
		})
	}
}

// A progressive JPEG has to be held in memory whole.
func TestAProgressiveJPEGBeyondMemoryIsRefused(t *testing.T) {
	folder := t.TempDir()
	p := filepath.Join(folder, "a.jpg")
	gdal.Fixture{Driver: "JPEG", Width: 640, Height: 640, Bands: 3, Options: []string{"PROGRESSIVE=ON"}}.Write(t, p)
	b, err := os.ReadFile(p)
	if err != nil {
		t.Fatal(err)
	}
	sof := bytes.Index(b, []byte{0xff, 0xc2}) // frame header: length, precision, height, width (ITU-T T.81, B.2.2)
	if sof < 0 {
		t.Skip("this library writes no progressive JPEG")
	}
	copy(b[sof+5:], []byte{16000 >> 8, 16000 & 0xff, 16000 >> 8, 16000 & 0xff})
	if err := os.WriteFile(p, b, 0o644); err != nil {
		t.Fatal(err)
	}
	if got := attempt(t, folder, p)[0]; !strings.Contains(got, "progressive JPEG of this size") {
		t.Error(got)
	}
}

func TestFilesWithFlippedBytesNeverCrash(t *testing.T) {
	folder := t.TempDir()
	r := rand.New(rand.NewSource(7))
	place := [6]float64{455000, 0.5, 0, 5710000, 0, -0.5}
	var paths []string
	for k, f := range []gdal.Fixture{
		{Place: &place, WKT: wkt(t, crs(t, "EPSG:32630"))},
		{Options: []string{"COMPRESS=DEFLATE", "TILED=YES", "BLOCKXSIZE=16", "BLOCKYSIZE=16"}, Place: &place},
		{Options: []string{"COMPRESS=JPEG"}},
		{Driver: "PNG"}, {Driver: "JPEG"}, {Driver: "JP2OpenJPEG", Place: &place, WKT: wkt(t, crs(t, "EPSG:32630"))},
	} {
		f.Width, f.Height, f.Bands = 40, 30, 3
		f.Pixels = func(b, c, row int) float64 { return float64((c*7 + row*b) % 256) }
		p := filepath.Join(folder, "whole")
		f.Write(t, p)
		whole, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		for i := range 30 {
			b := slices.Clone(whole)
			for range 1 + r.Intn(6) {
				at := r.Intn(len(b))
				if r.Intn(2) == 0 { // headers and tags are where it hurts
					at = r.Intn(min(len(b), 400))
				}
				b[at] = byte(r.Intn(256))
			}
			p := filepath.Join(folder, fmt.Sprintf("%d-%d.img", k, i))
			if err := os.WriteFile(p, b, 0o644); err != nil {
				t.Fatal(err)
			}
			paths = append(paths, p)
		}
	}
	for i, got := range attempt(t, folder, paths...) {
		if !strings.HasPrefix(got, "read ") && !strings.HasPrefix(got, "error: "+paths[i]+": ") {
			t.Errorf("%s: %s", paths[i], got)
		}
	}
}

func TestManyMayReadAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.tif")
	place := [6]float64{455000, 0.5, 0, 5710000, 0, -0.5}
	gdal.Fixture{Width: 300, Height: 300, Bands: 3, Place: &place, WKT: wkt(t, crs(t, "EPSG:32630"))}.Write(t, path)
	damaged := filepath.Join(t.TempDir(), "b.tif")
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(damaged, b[:len(b)/2], 0o644); err != nil {
		t.Fatal(err)
	}
	info, err := gdal.OpenImage(path, gdal.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	mid := info.LonLat.Center()
	errs := make(chan error, 32)
	for i := range cap(errs) {
		go func() {
			site := gdal.SiteGrid{Lon0: mid[0], Lat0: mid[1]}
			if i%2 == 0 {
				_, err := gdal.WarpToSite(bg, path, gdal.Placement{}, site, 0)
				errs <- err
				return
			}
			_, err := gdal.WarpToSite(bg, damaged, gdal.Placement{}, site, 0)
			if err == nil || !strings.Contains(err.Error(), "damaged or cut short") {
				errs <- fmt.Errorf("the damaged file: error %v", err)
				return
			}
			_, err = gdal.Transformer{From: gdal.WGS84, To: info.CRS}.Point(orb.Point{0, 95})
			if err == nil || !strings.Contains(err.Error(), "point 1") {
				errs <- fmt.Errorf("a point beyond the pole: error %v", err)
				return
			}
			errs <- nil
		}()
	}
	for range cap(errs) {
		if err := <-errs; err != nil {
			t.Error(err)
		}
	}
}
