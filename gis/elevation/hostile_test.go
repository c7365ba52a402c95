//go:build unix

package elevation

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/sitegrid"
	"pleach/testdata/opendata"
)

// Hostile files are loaded in a process of their own: a crash of the library
// would otherwise end the test, and its memory could not be told apart.

const tryEnv = "PLEACH_TEST_TRY_TERRAIN"

func TestMain(m *testing.M) {
	if list := os.Getenv(tryEnv); list != "" {
		var paths []string
		if err := json.Unmarshal([]byte(list), &paths); err != nil {
			fmt.Println(err)
			os.Exit(3)
		}
		var out tried
		for _, p := range paths {
			out.Came = append(out.Came, try(p))
		}
		b, _ := os.ReadFile("/proc/self/status")
		if _, after, ok := strings.Cut(string(b), "VmHWM:"); ok {
			fmt.Sscan(after, &out.Peak)
		}
		json.NewEncoder(os.Stdout).Encode(out)
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// tried is what the other process reports.
type tried struct {
	Came []string // of each path
	Peak int      // most memory in kB, 0 where the system does not say
}

// try loads a terrain wherever it lies, for a site in its middle.
func try(path string) string {
	tf := model.TerrainFile{File: path, CRS: "EPSG:32630"}
	info, err := Look("", tf)
	if err != nil {
		return "error: " + err.Error()
	}
	mid := info.LonLat.Center()
	l, err := Load(context.Background(), "", tf, sitegrid.New(mid[0], mid[1]), orb.Point{}.Bound().Pad(500))
	if err != nil {
		return "error: " + err.Error()
	}
	w, h := l.Grid.Size()
	return fmt.Sprintf("read %d x %d, %g to %g m, %q", w, h, l.Low, l.High, l.Notes)
}

// attempt runs try on every path in a fresh process, and checks that it neither
// crashes nor hangs nor takes a gigabyte.
func attempt(t *testing.T, paths ...string) []string {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	list, err := json.Marshal(paths)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Minute) // a hang, not a measure of speed
	defer cancel()
	cmd := exec.CommandContext(ctx, exe)
	cmd.Env = append(os.Environ(), tryEnv+"="+string(list))
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	if err := cmd.Run(); err != nil {
		t.Fatalf("%v: %v\n%s%s", paths, err, &stdout, &stderr)
	}
	if stderr.Len() > 0 {
		t.Errorf("the library wrote to standard error: %s", &stderr)
	}
	var got tried
	if err := json.Unmarshal(stdout.Bytes(), &got); err != nil || len(got.Came) != len(paths) {
		t.Fatalf("%v: %v: %s", paths, err, &stdout)
	}
	if got.Peak > 1<<20 {
		t.Errorf("%v took %d MB of memory, more than 1024", paths, got.Peak>>10)
	}
	for i, s := range got.Came {
		if strings.ContainsAny(s, "\n\r") {
			t.Errorf("%s: several lines: %q", paths[i], s)
		}
	}
	return got.Came
}

func TestOutsideHostileFilesAreNoTerrain(t *testing.T) {
	dir := filepath.Join(opendata.Dir(t), "data/hostile")
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	// What each raster must come to; every other file is of no kind that is read.
	want := map[string]string{
		"byte_truncated.tif":                    "cut short",
		"corrupted_deflate_singlestrip.tif":     "is a picture",
		"hugeblocksize.tif":                     "Too large block size",
		"invalid_GeogAngularUnitSizeGeoKey.tif": "has 1 x 1 cells",
		"zackthecat_corrupted.tif":              "is a picture",
		"byte_corrupted.jpg":                    "is a JPEG picture",
		"rotated.tif":                           "read",
		"egm96_15_uncompressed_truncated.tif":   "cut short",
	}
	var paths []string
	for _, e := range list {
		paths = append(paths, filepath.Join(dir, e.Name()))
	}
	for i, got := range attempt(t, paths...) {
		name := filepath.Base(paths[i])
		t.Run(name, func(t *testing.T) {
			says, ok := want[name]
			if !ok {
				says = "not"
			}
			if says != "read" && !strings.HasPrefix(got, "error: "+paths[i]+": ") || !strings.Contains(got, says) {
				t.Errorf("%s\nwant %q", got, says)
			}
		})
	}
}

// tiff is a sparse GeoTIFF of one band of four-byte numbers, written tag by tag
// (TIFF 6.0, Adobe 1992; GeoTIFF 1.1, OGC 19-008): it claims any size in a few
// hundred bytes. Its coordinates are in UTM zone 30.
func tiff(width, height, tile uint32, scale, x, y float64) []byte {
	le := binary.LittleEndian
	doubles := func(v ...float64) (b []byte) {
		for _, f := range v {
			b = le.AppendUint64(b, math.Float64bits(f))
		}
		return b
	}
	shorts := func(v ...uint16) (b []byte) {
		for _, f := range v {
			b = le.AppendUint16(b, f)
		}
		return b
	}
	tiles := int(((width + tile - 1) / tile) * ((height + tile - 1) / tile))
	zeros := make([]byte, 4*tiles)
	type tag struct {
		id, kind uint16
		n        uint32
		value    []byte
	}
	long := func(v uint32) []byte { return le.AppendUint32(nil, v) }
	tags := []tag{
		{256, 4, 1, long(width)}, {257, 4, 1, long(height)}, {258, 3, 1, shorts(32, 0)}, {259, 3, 1, shorts(1, 0)}, {262, 3, 1, shorts(1, 0)},
		{277, 3, 1, shorts(1, 0)}, {322, 4, 1, long(tile)}, {323, 4, 1, long(tile)}, {324, 4, uint32(tiles), zeros}, {325, 4, uint32(tiles), zeros},
		{339, 3, 1, shorts(3, 0)}, {33550, 12, 3, doubles(scale, scale, 0)}, {33922, 12, 6, doubles(0, 0, 0, x, y, 0)},
		{34735, 3, 16, shorts(1, 1, 0, 3, 1024, 0, 1, 1, 1025, 0, 1, 1, 3072, 0, 1, 32630)},
	}
	out := append([]byte("II*\x00"), long(8)...)
	out = le.AppendUint16(out, uint16(len(tags)))
	at := uint32(8 + 2 + 12*len(tags) + 4)
	var rest []byte
	for _, g := range tags {
		out = le.AppendUint16(le.AppendUint16(out, g.id), g.kind)
		out = le.AppendUint32(out, g.n)
		if len(g.value) <= 4 {
			out = append(out, g.value...)
			continue
		}
		out = le.AppendUint32(out, at+uint32(len(rest)))
		rest = append(rest, g.value...)
	}
	return append(append(out, 0, 0, 0, 0), rest...)
}

func TestFilesThatClaimTooMuchOrLeadAstrayAreRefused(t *testing.T) {
	dir := t.TempDir()
	put := func(name, content string) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, []byte(content), 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	head := func(columns, rows int, more string) string {
		return fmt.Sprintf("ncols %d\nnrows %d\nxllcorner 499990\nyllcorner 5699990\ncellsize 5\n%s", columns, rows, more)
	}
	piped := put("piped.asc", head(3, 2, "1 2 3\n4 5 6\n"))
	if err := syscall.Mkfifo(filepath.Join(dir, "piped.prj"), 0o600); err != nil {
		t.Skip(err)
	}
	put("cut.hdr", "NROWS 500\nNCOLS 400\nNBITS 16\nULXMAP 500000\nULYMAP 5700000\nXDIM 2\nYDIM 2\n")
	put("vast.hdr", "NROWS 2000000000\nNCOLS 2000000000\nNBITS 32\nULXMAP 500000\nULYMAP 5700000\nXDIM 2\nYDIM 2\n")
	rows := []struct{ path, says string }{
		{put("huge.tif", string(tiff(200_000, 200_000, 4096, 0.01, 500000, 5700000))), "claims 200000 x 200000 cells"},
		{put("large.tif", string(tiff(90_000, 90_000, 4096, 0.01, 499500, 5700500))), "90000 x 90000 of its cells lie under the site"},
		{put("fine.tif", string(tiff(20_000, 20_000, 4096, 0.05, 499500, 5700500))), "read 6666 x 6666, 0 to 0 m"},
		{put("part.tif", string(tiff(90_000, 90_000, 4096, 1, 455000, 5745000))), "read 10"},
		{put("tiles.tif", string(tiff(100, 100, 1<<14, 1, 500000, 5700000))), "blocks of 16384 x 16384"},
		{put("tiny.tif", string(tiff(100, 100, 64, 1e-12, 500000, 5700000))), "one of its cells measures 1e-12 x 1e-12 m"},
		{put("vast.tif", string(tiff(100, 100, 64, 1e300, 500000, 5700000))), "a pixel has no area"},
		{put("nan.tif", string(tiff(100, 100, 64, math.NaN(), 500000, 5700000))), ""},
		{put("rows.asc", head(3, math.MaxInt32, "1 2 3")), "cannot be opened"},
		{put("square.asc", head(math.MaxInt32, math.MaxInt32, "1 2 3")), ""},
		{put("negative.asc", head(-3, 2, "1 2 3")), ""},
		{put("endless.asc", "ncols "+strings.Repeat("9", 1<<20)), ""},
		{put("letters.asc", head(3, 2, "a b c d e f g h i j k l")), "line 6 holds the character 'b'"},
		{piped, "piped.prj beside it is not a small ordinary file"},
		{put("cut.bil", "\x00\x01\x02\x03"), "cut short"},
		{put("vast.bil", "\x00\x01\x02\x03"), ""},
		{put("odd.xyz", "0 0 1\n0.000000001 0 2\n1000 0 3\n"), ""},
		{put("words.xyz", "x y z\na b c\n"), ""},
		{put("nan.xyz", "nan nan nan\nnan nan nan\n"), ""},
		{put("short.img", "EHFA_HEADER_TAG\x00\x00\x00\x00\x00"), "cannot be opened"},
		{put("short.grd", "DSBB\x03\x00\x03\x00"), "cannot be opened"},
		{put("text.grd", "DSAA\n30000 30000\n0 1\n0 1\n0 1\n1 2 3"), "cut short"},
		{put("N51W003.hgt", "\x00\x01"), "cannot be opened"},
		{put("a.dem", strings.Repeat("x", 2000)), "cannot be opened"},
		{put("a.dt0", "UHL1"+strings.Repeat("9", 4000)), ""},
	}
	for i, r := range rows {
		t.Run(filepath.Base(r.path), func(t *testing.T) {
			got := attempt(t, r.path)[0]
			t.Log(got)
			if !strings.HasPrefix(r.says, "read") && !strings.HasPrefix(got, "error: "+rows[i].path+": ") || !strings.Contains(got, r.says) {
				t.Errorf("%s\nwant %q", got, r.says)
			}
		})
	}
}
