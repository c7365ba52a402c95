package planfile

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pleach/model"
)

// plan is a small plan with what a program might trip over: a member, a
// setting, a property and a feature that are not known, numbers spelled oddly,
// third coordinates.
const plan = `{ "type":"FeatureCollection", "extra": {"b": 1.50, "a": [1E2, -0.0]},
"pleach": {"version": 1.0, "title": "Größe \u00e9", "own": [1.10]},
"features": [
  {"type": "Feature", "id": "B1", "bbox": [0,0,1,1], "properties": {"kind": "boundary", "colour": "#00f"},
   "geometry": {"type": "Polygon", "coordinates": [[[7.0, 50.0, 12.50], [7.0010, 50.0, 13], [7.001, 50.001], [7.0, 50.0, 12.50]]]}},
  {"type": "Feature", "id": 17, "properties": null, "geometry": null},
  {"type": "Feature", "properties": {"kind": "pylon", "height_m": "tall"}, "geometry": {"type": "Point", "coordinates": [7, 50, 1e1]}},
  {"type": "Feature", "id": "S1", "properties": {"kind": "sensor", "model": "sector-90-25", "mount_height_m": 3.00, "bearing_deg": 4.5e1, "tilt_deg": -0, "serial": 12345678901234567890}, "geometry": {"type": "Point", "coordinates": [7.00010, 50.0001, 1.250]}}
]}
`

func TestWhatIsNoPlanIsOneErrorThatSaysWhereAndWhat(t *testing.T) {
	deep := `{"type":"FeatureCollection","pleach":{"version":1},"features":[],"x":` + strings.Repeat("[", 1<<20)
	rows := []struct{ name, data, want string }{
		{"empty", "", "p.geojson: is empty (0 bytes)"},
		{"white space", " \n\t", "p.geojson: holds nothing but white space"},
		{"a mark of byte order alone", "\xef\xbb\xbf", "p.geojson: holds nothing but white space"},
		{"not JSON", "PK\x03\x04", "p.geojson: line 1, column 1: PK is not JSON here"},
		{"a picture", "\x89PNG\r\n", "p.geojson: is not text: a plan is a GeoJSON file in UTF-8"},
		{"cut short", plan[:300], "cut short"},
		{"cut short in its first line", `{"type":`, "p.geojson: line 1, column 9: the file ends in the middle of a value: it is cut short"},
		{"NaN", "{\"type\": \"FeatureCollection\",\n \"x\": NaN}", "p.geojson: line 2, column 7: NaN is not a JSON value: write a finite number"},
		{"minus infinity", "{\"ä\":\n-Infinity}", "p.geojson: line 2, column 1: -Infinity is not a JSON value"},
		{"a comma too many", "{\"a\": 1,}", "p.geojson: line 1, column 9: '}' is not JSON here"},
		{"two values", "{}\n{}", "p.geojson: line 2, column 1: '{' is not JSON here"},
		{"UTF-16", "\xff\xfe{\x00}\x00", "p.geojson: is written in UTF-16: save it as UTF-8"},
		{"UTF-16 without a mark", "{\x00}\x00", "p.geojson: is written in UTF-16: save it as UTF-8"},
		{"a zip file", "PK\x03\x04\x14\x00\x00\x00", "p.geojson: is not text: a plan is a GeoJSON file in UTF-8"},
		{"Latin-1", "{\"a\":\n\"Stra\xdfe\"}", "p.geojson: line 2, column 6: the byte 0xdf is not UTF-8"},
		{"nested without end", deep, "nested more than 10000 deep"},
		{"a list", "[1]", "p.geojson: is not a GeoJSON object"},
		{"a text", `"x"`, "p.geojson: is not a GeoJSON object"},
		{"a single feature", `{"type":"Feature"}`, `p.geojson: type is not "FeatureCollection"`},
		{"GeoJSON that is no plan", `{"type":"FeatureCollection","features":[]}`, `p.geojson: the member "pleach" is missing`},
		{"no version", `{"type":"FeatureCollection","pleach":{},"features":[]}`, "p.geojson: pleach.version is missing"},
		{"a later version", `{"type":"FeatureCollection","pleach":{"version":2},"features":[]}`, "p.geojson: pleach.version 2 is not 1"},
		{"version as text", `{"type":"FeatureCollection","pleach":{"version":"1"},"features":[]}`, `p.geojson: pleach.version "1" is not 1`},
		{"no features", `{"type":"FeatureCollection","pleach":{"version":1}}`, `p.geojson: the member "features" is missing`},
		{"features not a list", `{"type":"FeatureCollection","pleach":{"version":1},"features":{}}`, "p.geojson: features is not a list"},
		{"a feature that is none", `{"type":"FeatureCollection","pleach":{"version":1},"features":[{"type":"Feature","geometry":null,"properties":null}, 5]}`, "p.geojson: features[1]: 5 is not an object"},
		{"two lists of features", `{"type":"FeatureCollection","pleach":{"version":1},"features":[],"features":[]}`, `p.geojson: the member "features" stands 2 times`},
		{"another reference system", `{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::3067"}},"pleach":{"version":1},"features":[]}`, "p.geojson: crs "},
		{"a reference system to be fetched", `{"type":"FeatureCollection","crs":{"type":"link","properties":{"href":"http://localhost/x"}},"pleach":{"version":1},"features":[]}`, "p.geojson: crs "},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			p, err := Parse("p.geojson", []byte(row.data))
			if err == nil {
				t.Fatalf("read as a plan of %d features", len(p.Features))
			}
			if !strings.Contains(err.Error(), row.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("error %q, want one line with %q", err, row.want)
			}
		})
	}
}

func TestAFileThatCannotBeReadIsNamedWithTheReason(t *testing.T) {
	dir := t.TempDir()
	huge := filepath.Join(dir, "huge.geojson")
	if err := os.WriteFile(huge, []byte("{"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(huge, MaxSize+1); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		filepath.Join(dir, "none.geojson"): "no such file",
		dir:                                "is a folder",
		huge:                               "at most 256 MB",
		os.DevNull:                         "is not an ordinary file",
	} {
		_, err := Read(path)
		if err == nil || !strings.HasPrefix(err.Error(), path+": ") || !strings.Contains(err.Error(), want) {
			t.Errorf("Read(%s): error %v, want the name and %q", path, err, want)
		}
	}
}

func TestAPlanWithAFlawedSensorStillOpens(t *testing.T) {
	p, err := Parse("p", []byte(strings.Replace(plan, "3.00", "1e999", 1)))
	if err != nil {
		t.Fatal(err)
	}
	flaws := p.AllFlaws()
	if len(flaws) != 1 || flaws[0].Error() != "sensor S1: mount_height_m 1e999 is not above 0 and at most 60" {
		t.Errorf("flaws %v", flaws)
	}
	if len(p.Features) != 4 || len(p.Of(model.KindSensor)) != 0 {
		t.Errorf("%d features, %d sound sensors", len(p.Features), len(p.Of(model.KindSensor)))
	}
}

func TestAnUntouchedPlanIsWrittenWithTheBytesThatWereRead(t *testing.T) {
	for _, data := range []string{plan, "\xef\xbb\xbf" + plan, strings.ReplaceAll(plan, "\n", "\r\n")} {
		dir := t.TempDir()
		from, to := filepath.Join(dir, "a.geojson"), filepath.Join(dir, "b.geojson")
		if err := os.WriteFile(from, []byte(data), 0o666); err != nil {
			t.Fatal(err)
		}
		p, err := Read(from)
		if err != nil {
			t.Fatal(err)
		}
		if err := Write(to, p); err != nil {
			t.Fatal(err)
		}
		if got := read(t, to); got != data {
			t.Errorf("wrote %q, read %q", got, data)
		}
	}
}

func read(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestASaveKeepsTheVersionBeforeAndThePermissions(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "p.geojson")
	for i, version := range []string{"one", "two", "three", "three"} {
		if err := WriteBytes(path, []byte(version)); err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			if err := os.Chmod(path, 0o640); err != nil {
				t.Fatal(err)
			}
		}
	}
	if got := read(t, path); got != "three" {
		t.Errorf("the file holds %q", got)
	}
	if got := read(t, path+".bak"); got != "two" {
		t.Errorf("the version before is %q: writing the same again must leave it alone", got)
	}
	if st, _ := os.Stat(path); st.Mode().Perm() != 0o640 {
		t.Errorf("permissions %v, were 0640", st.Mode().Perm())
	}
	names, _ := os.ReadDir(dir)
	if len(names) != 2 {
		t.Errorf("left behind in the folder: %v", names)
	}
}

func TestALinkIsFollowedToItsFile(t *testing.T) {
	dir := t.TempDir()
	real := filepath.Join(dir, "real", "p.geojson")
	link := filepath.Join(dir, "link.geojson")
	if err := os.Mkdir(filepath.Dir(real), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(filepath.Join("real", "p.geojson"), link); err != nil {
		t.Skip("no links here: ", err)
	}
	for _, version := range []string{"one", "two"} { // the first through a link to nothing
		if err := WriteBytes(link, []byte(version)); err != nil {
			t.Fatal(err)
		}
	}
	if got := read(t, real); got != "two" {
		t.Errorf("the file holds %q", got)
	}
	if st, err := os.Lstat(link); err != nil || st.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is gone: %v", err)
	}
	if got := read(t, real+".bak"); got != "one" {
		t.Errorf("the version before is %q", got)
	}
}

func TestASaveThatCannotBeMadeLeavesTheFileAlone(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "p.geojson")
	if err := os.WriteFile(path, []byte("old"), 0o444); err != nil {
		t.Fatal(err)
	}
	circle := filepath.Join(dir, "circle")
	_ = os.Symlink("circle", circle)
	blocked := filepath.Join(dir, "q.geojson")
	if err := os.WriteFile(blocked, []byte("old"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Join(blocked+".bak", "in the way"), 0o777); err != nil {
		t.Fatal(err)
	}
	for target, want := range map[string]string{
		path:                                  "write-protected",
		dir:                                   "folder of that name",
		filepath.Join(dir, "no", "p.geojson"): "there is no folder",
		circle:                                "in a circle",
		blocked:                               "cannot be kept as q.geojson.bak",
	} {
		err := Write(target, model.NewPlan())
		if err == nil || !strings.HasPrefix(err.Error(), target+": not saved: ") || !strings.Contains(err.Error(), want) {
			t.Errorf("Write(%s): error %v, want %q", target, err, want)
		}
	}
	if read(t, path) != "old" || read(t, blocked) != "old" {
		t.Error("a file that could not be saved was changed")
	}
	names, _ := filepath.Glob(filepath.Join(dir, ".*"))
	if len(names) != 0 {
		t.Errorf("left behind: %v", names)
	}
}

// lost returns what of want, line by line, does not stand in got.
func lost(got []byte, want ...string) (missing []string) {
	for _, w := range want {
		if !bytes.Contains(got, []byte(w)) {
			missing = append(missing, w)
		}
	}
	return missing
}

func TestAnEditKeepsWhatTheProgramDoesNotKnow(t *testing.T) {
	p, err := Parse("p", []byte(plan))
	if err != nil {
		t.Fatal(err)
	}
	q, err := model.Set{ID: "S1", Values: []model.Value{{Property: "tilt_deg", Value: 4}}}.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	if missing := lost(q.JSON(), `{"b": 1.50, "a": [1E2, -0.0]}`, `"own": [1.10]`, `"Größe \u00e9"`, `"version": 1.0`,
		`[7.0010, 50.0, 13]`, `"colour": "#00f"`, `"id": 17, "properties": null, "geometry": null`, `"height_m": "tall"`, `[7, 50, 1e1]`,
		`"serial": 12345678901234567890`, `4.5e1`, `[7.00010, 50.0001, 1.250]`, `"tilt_deg": 4`, `"id": "sector-90-25"`); missing != nil {
		t.Errorf("not in the file after an edit: %q\n%s", missing, q.JSON())
	}
}
