package exchange

import (
	"encoding/json"
	"fmt"
	"math"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/testdata/opendata"
)

// file writes a file of that text and returns its path.
func file(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "in.geojson")
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

const square = `[[[7, 50], [7.001, 50], [7.001, 50.001], [7, 50.001], [7, 50]]]`

// feature returns the GeoJSON of one feature.
func feature(props, typ, coordinates string) string {
	return fmt.Sprintf(`{"type": "Feature", "properties": %s, "geometry": {"type": %q, "coordinates": %s}}`, props, typ, coordinates)
}

func collection(features ...string) string {
	return `{"type": "FeatureCollection", "features": [` + strings.Join(features, ",\n") + `]}`
}

func ids(features []*model.Feature) (out []string) {
	for _, f := range features {
		out = append(out, f.ID)
	}
	return out
}

// property returns a property's JSON, "" where it is absent.
func property(f *model.Feature, name string) string {
	raw, _ := f.Property(name)
	return string(raw)
}

func TestABoundaryThatIsNoneStopsTheImport(t *testing.T) {
	rows := []struct{ name, text, want string }{
		{"two distinct points", collection(feature("{}", "Polygon", `[[[7,50],[7.1,50],[7,50]]]`)), "features[0]: geometry has a ring of 2 distinct points: a ring needs at least 3"},
		{"an inner ring of two points", collection(feature("{}", "Polygon", `[[[7,50],[7.1,50],[7,50.1],[7,50]],[[7.01,50.01],[7.02,50.01],[7.01,50.01]]]`)), "has inner ring 1 of 2 distinct points"},
		{"crossing itself", collection(feature("{}", "Polygon", `[[[7,50],[7.1,50.1],[7.1,50],[7,50.1],[7,50]]]`)), "geometry crosses itself near longitude 7.050000, latitude 50.050000"},
		{"running back over itself", collection(feature("{}", "LineString", `[[7,50],[7.1,50],[7.05,50]]`)), "geometry crosses itself"},
		{"not closed", collection(feature("{}", "Polygon", `[[[7,50],[7.1,50],[7,50.1]]]`)), "has a ring that is not closed"},
		{"a bad part", collection(feature("{}", "Polygon", square), feature(`{"name": "x"}`, "MultiPolygon", `[`+square+`,[[[7,50],[7,50]]]]`)), "features[1] (name x), part 2: geometry has a ring of 1 distinct points"},
		{"a point", collection(feature("{}", "Point", `[7,50]`)), "features[0]: geometry is a Point: it must be a LineString or a Polygon"},
		{"no geometry", collection(`{"type": "Feature", "properties": null, "geometry": null}`), "features[0]: has no geometry"},
		{"no feature", collection(), "holds no feature"},
		{"a number too large", collection(feature("{}", "LineString", `[[7,50],[1e999,50]]`)), "features[0]: [1e999,50] is not a position"},
		{"a position of words", collection(feature("{}", "LineString", `[["foo","bar"]]`)), `["foo","bar"] is not a position`},
		{"metres without a reference system", collection(feature("{}", "LineString", `[[497623,6710112],[497700,6710112]]`)), "such as 497623, 6710112, are not longitude and latitude, and it names no crs"},
		{"NaN", collection(feature("{}", "Point", `[NaN, 1]`)), "line 1, column "},
		{"cut short", collection(feature("{}", "Polygon", square))[:80], "cut short"},
		{"empty", "", "is empty (0 bytes)"},
		{"another format", "<kml/>", "line 1, column 1: '<' is not JSON here"},
		{"JSON of another kind", `{"type": "Topology"}`, "is a Topology"},
		{"a list", `[]`, "is not a GeoJSON object"},
		{"no type", `{"a": 1}`, "has no type"},
		{"beyond the site grid", collection(feature("{}", "LineString", `[[7,85],[7.1,85]]`)), "latitude 85 is not between -84 and 84"},
		{"geometries in geometries", strings.Repeat(`{"type":"GeometryCollection","geometries":[`, 20) + `{"type":"Point","coordinates":[0,0]}` + strings.Repeat("]}", 20), "nested more than 8 deep"},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			path := file(t, row.text)
			features, _, err := Features(Input{Boundary: path})
			if err == nil {
				t.Fatalf("imported as %v", ids(features))
			}
			if !strings.HasPrefix(err.Error(), path+": ") || !strings.Contains(err.Error(), row.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("error %q, want one line with the file's name and %q", err, row.want)
			}
		})
	}
}

func TestBoundariesMayBeAreasLinesAndPartsOfThem(t *testing.T) {
	path := file(t, collection(
		feature(`{"name": "North", "height_m": 2.4}`, "Polygon", square),
		feature(`{}`, "MultiPolygon", `[`+square+`, [[[8, 50], [8.001, 50], [8, 50.001], [8, 50]]]]`),
		feature(`{}`, "LineString", `[[7, 50], [7.01, 50]]`),
		`{"type": "Feature", "properties": null, "geometry": {"type": "GeometryCollection", "geometries": [{"type": "LineString", "coordinates": [[9, 50, 3], [9.01, 50, 4]]}]}}`))
	features, leftOut, err := Features(Input{Boundary: path})
	if err != nil || leftOut != nil {
		t.Fatal(err, leftOut)
	}
	if got := ids(features); !slices.Equal(got, []string{"B1", "B2", "B3", "B4", "B5"}) {
		t.Errorf("ids %v", got)
	}
	if b := features[0].Value.(*model.Boundary); features[0].Name != "North" || b.Height != 2.4 {
		t.Errorf("name %q, height %v", features[0].Name, b.Height)
	}
	if _, ok := features[3].Geometry.(orb.LineString); !ok {
		t.Errorf("an open line became a %T", features[3].Geometry)
	}
}

func TestABareGeometryAndAMarkOfByteOrderAreRead(t *testing.T) {
	for _, text := range []string{
		"\xef\xbb\xbf" + `{"type": "Polygon", "coordinates": ` + square + `}`,
		feature(`null`, "Polygon", square),
	} {
		if features, _, err := Features(Input{Boundary: file(t, text)}); err != nil || len(features) != 1 {
			t.Errorf("%d features, error %v", len(features), err)
		}
	}
}

// A link must never be followed: a server listens, and nobody may call.
func TestNoReferenceSystemIsEverFetched(t *testing.T) {
	var calls atomic.Int32
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Skip("no loopback network: ", err)
	}
	server := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		calls.Add(1)
		fmt.Fprint(w, "EPSG:3067")
	}))
	server.Listener = listener
	server.Start()
	defer server.Close()
	for _, crs := range []string{
		`{"type": "link", "properties": {"href": "` + server.URL + `/crs", "type": "proj4"}}`,
		`{"type": "name", "properties": {"name": "` + server.URL + `/crs"}}`,
		`{"type": "name", "properties": {"name": "+proj=utm +zone=35"}}`,
		`{"type": "name", "properties": {"name": "/vsicurl/` + server.URL + `"}}`,
		`{"type": "EPSG", "properties": {"code": 3067}}`,
		`{"type": "name"}`,
		`"EPSG:3067"`,
		`{"type": "name", "properties": {"name": "EPSG:99999"}}`,
	} {
		text := `{"type": "FeatureCollection", "crs": ` + crs + `, "features": [` + feature("{}", "Polygon", square) + `]}`
		inside := collection(`{"type": "Feature", "crs": ` + crs + `, "properties": {}, "geometry": {"type": "Polygon", "coordinates": ` + square + `}}`)
		within := collection(`{"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "crs": ` + crs + `, "coordinates": ` + square + `}}`)
		for _, text := range []string{text, inside, within} {
			for _, in := range []Input{{Boundary: file(t, text)}, {Buildings: file(t, text)}} {
				if _, _, err := Features(in); err == nil || !strings.Contains(err.Error(), "crs") {
					t.Errorf("crs %s: error %v, want it refused", crs, err)
				}
			}
		}
	}
	if n := calls.Load(); n != 0 {
		t.Errorf("%d requests were made", n)
	}
}

// Source: EPSG Guidance Note 7-2 (worked example of Transverse Mercator): OSGB
// 1936 / British National Grid E 577274.99 N 69740.50 is latitude 50°30'00" N,
// longitude 0°30'00" E on OSGB 1936. WGS 84 lies about 100 m from it there (from
// memory), hence the tolerance; what is tested is that the code is honoured and
// east comes first.
func TestANamedReferenceSystemIsHonoured(t *testing.T) {
	for _, name := range []string{"urn:ogc:def:crs:EPSG::27700", "EPSG:27700", "http://www.opengis.net/def/crs/EPSG/0/27700", "urn:ogc:def:crs:EPSG:8.5:27700"} {
		text := `{"type": "FeatureCollection", "crs": {"type": "name", "properties": {"name": "` + name + `"}}, "features": [` +
			feature("{}", "LineString", `[[577274.99, 69740.50], [577374.99, 69740.50]]`) + `]}`
		features, _, err := Features(Input{Boundary: file(t, text)})
		if err != nil {
			t.Fatal(err)
		}
		p := features[0].Geometry.(orb.LineString)[0]
		if math.Abs(p[0]-0.5) > 0.003 || math.Abs(p[1]-50.5) > 0.002 {
			t.Errorf("%s: %v, want 0.5, 50.5 within 200 m", name, p)
		}
	}
	for _, name := range []string{"urn:ogc:def:crs:OGC:1.3:CRS84", "OGC:CRS84", "EPSG:4326", "urn:ogc:def:crs:EPSG::4326"} {
		text := `{"type": "FeatureCollection", "crs": {"type": "name", "properties": {"name": "` + name + `"}}, "features": [` +
			feature("{}", "LineString", `[[7, 50], [7.25, 50]]`) + `]}`
		features, _, err := Features(Input{Boundary: file(t, text)})
		if err != nil {
			t.Fatal(err)
		}
		if p := features[0].Geometry.(orb.LineString)[0]; p != (orb.Point{7, 50}) {
			t.Errorf("%s: %v, want 7, 50", name, p)
		}
	}
}

func TestWhatCannotBeUsedIsLeftOutAndNamed(t *testing.T) {
	path := file(t, collection(
		feature(`{"osm_id": "17"}`, "Polygon", `[[[7,50],[7.1,50],[7,50]]]`),
		feature(`{}`, "Point", `[7,50]`),
		`{"type": "Feature", "id": "way/3", "properties": {}, "geometry": null}`,
		`5`,
		feature(`{}`, "LineString", `[[7,50],[7.1,50],[7,50.1],[7,50]]`),
		feature(`{}`, "Polygon", `[[[7,50],[7.1,50],[7,50.1]]]`),
		feature(`{}`, "MultiPolygon", `[`+square+`,[[[7,50],[7,50]]]]`),
		feature(`5`, "Polygon", square),
		feature(`{}`, "LineString", `[[7,50],[7.1,50],[7,50.1]]`),
		feature(`{}`, "Polygon", `[]`)))
	features, leftOut, err := Features(Input{Buildings: path})
	if err != nil {
		t.Fatal(err)
	}
	if got := ids(features); !slices.Equal(got, []string{"H1", "H2", "H3"}) {
		t.Errorf("ids %v, want the closed line, the ring without its end and the sound part", got)
	}
	want := []string{"features[0] (osm_id 17): left out: geometry has a ring of 2", "features[1]: left out: is a Point",
		`features[2] (id "way/3"): left out: has no geometry`, "features[3]: left out: is no feature", "features[6], part 2: left out",
		"features[7]: left out: properties 5 is not an object", "features[8]: left out: is a LineString", "features[9]: left out"}
	if len(leftOut) != len(want) {
		t.Fatalf("left out %q", leftOut)
	}
	for i, w := range want {
		if !strings.HasPrefix(leftOut[i], path+": "+w) {
			t.Errorf("left out %q, want %q", leftOut[i], w)
		}
	}
}

func TestHeightsAndWidthsAreReadOrAssumed(t *testing.T) {
	rows := []struct {
		props   string
		in      string // what it is imported as
		kind    model.Kind
		want    float64
		assumed bool
	}{
		{`{}`, "building", model.KindBuilding, 6, true},
		{`{"kind": "building", "height_m": 7.25}`, "building", model.KindBuilding, 7.25, false},
		{`{"height": "12 m"}`, "building", model.KindBuilding, 12, false},
		{`{"HEIGHT": 17.530000686645508}`, "building", model.KindBuilding, 17.53, false},
		{`{"height": "12,5"}`, "building", model.KindBuilding, 12.5, false},
		{`{"height": "40 ft"}`, "building", model.KindBuilding, 12.192, false},
		{`{"height": "40'6\""}`, "building", model.KindBuilding, 12.344, false},
		{`{"other_tags": "\"building:levels\"=>\"2\",\"a\"=>\"say \\\"height\\\"\""}`, "building", model.KindBuilding, 6, true},
		{`{"other_tags": "\"building:levels\"=>\"4\""}`, "building", model.KindBuilding, 12, true},
		{`{"other_tags": "\"height\"=>\"8.5\",\"building:levels\"=>\"4\""}`, "building", model.KindBuilding, 8.5, false},
		{`{"other_tags": "{\"height\": \"9\"}"}`, "building", model.KindBuilding, 9, false},
		{`{"building:levels": 3}`, "building", model.KindBuilding, 9, true},
		{`{"height": "tall", "building:levels": "a few"}`, "building", model.KindBuilding, 6, true},
		{`{"height": 0}`, "building", model.KindBuilding, 6, true},
		{`{"height": -3}`, "building", model.KindBuilding, 6, true},
		{`{"height": 828}`, "building", model.KindBuilding, 200, true},
		{`{"height": null}`, "building", model.KindBuilding, 6, true},
		{`{"building:levels": 1e6}`, "building", model.KindBuilding, 200, true},
		{`{}`, "foliage", model.KindFoliage, 10, true},
		{`{"height": 18}`, "foliage", model.KindFoliage, 18, false},
		{`{"kind": "secondary"}`, "way", model.KindRoad, 6, true},
		{`{"highway": "cycleway"}`, "way", model.KindFootpath, 2, true},
		{`{"kind": "footway", "width": "1.5 m"}`, "way", model.KindFootpath, 1.5, false},
		{`{"fclass": "track_grade3"}`, "way", model.KindFootpath, 2, true},
		{`{"other_tags": "\"highway\"=>\"steps\""}`, "way", model.KindFootpath, 2, true},
		{`{"highway": "residential", "kind": "path"}`, "way", model.KindRoad, 6, true},
		{`{"kind": "Bridleway"}`, "way", model.KindFootpath, 2, true},
		{`{"kind": "pedestrian"}`, "way", model.KindFootpath, 2, true},
		{`{"kind": "path"}`, "way", model.KindFootpath, 2, true},
		{`{"kind": "track"}`, "way", model.KindFootpath, 2, true},
		{`{"width": "0"}`, "way", model.KindRoad, 6, true},
	}
	for _, row := range rows {
		t.Run(row.in+" "+row.props, func(t *testing.T) {
			name, in := "height_m", Input{}
			switch row.in {
			case "building":
				in.Buildings = file(t, collection(feature(row.props, "Polygon", square)))
			case "foliage":
				in.Foliage = file(t, collection(feature(row.props, "Polygon", square)))
			case "way":
				name = "width_m"
				in.Roads = file(t, collection(feature(row.props, "LineString", `[[7,50],[7.1,50]]`)))
			}
			features, leftOut, err := Features(in)
			if err != nil || leftOut != nil {
				t.Fatal(err, leftOut)
			}
			f := features[0]
			if got, _ := f.Number(name); f.Kind != row.kind || math.Abs(got-row.want) > 0.001 {
				t.Errorf("%s of %s %v, want %s of %s %v", name, f.Kind, got, name, row.kind, row.want)
			}
			if got := slices.Equal(f.Assumed, []string{name}); got != row.assumed {
				t.Errorf("assumed %q", f.Assumed)
			}
		})
	}
}

func TestASourcePropertyNeverMakesAFlawedFeature(t *testing.T) {
	path := file(t, collection(`{"type": "Feature", "id": 12, "properties": {"kind": "yes", "source_kind": "x", "name": 7, "height_m": "12 m",
		"material": ["brick"], "assumed": true, "private": "no", "note": {"deep": [1.50]}, "geometry": "odd", "source_id": 3},
		"geometry": {"type": "Polygon", "coordinates": `+square+`}}`))
	features, leftOut, err := Features(Input{Buildings: path})
	if err != nil || leftOut != nil {
		t.Fatal(err, leftOut)
	}
	f := features[0]
	if !f.Sound() {
		t.Fatalf("flaws %v", f.Flaws)
	}
	for name, want := range map[string]string{
		"kind": `"building"`, "source_kind": `"x"`, "source_kind_2": `"yes"`, "name": `"7"`, "height_m": "12", "source_height_m": `"12 m"`,
		"source_material": `["brick"]`, "source_assumed": "true", "private": `"no"`, "note": `{"deep": [1.50]}`, "geometry": `"odd"`,
		"source_id": "3", "source_id_2": "12", "assumed": "",
	} {
		if got := property(f, name); got != want {
			t.Errorf("%s is %s, want %s", name, got, want)
		}
	}
	path = file(t, collection(feature(`{"private": "no", "name": ["a"], "width_m": "wide"}`, "LineString", `[[7,50],[7.1,50]]`)))
	features, _, err = Features(Input{Roads: path})
	if err != nil || !features[0].Sound() || property(features[0], "source_private") != `"no"` || property(features[0], "source_name") != `["a"]` {
		t.Errorf("error %v, feature %s", err, features[0].JSON())
	}
}

func TestOutsideTheFinnishDepotIsImportedWhole(t *testing.T) {
	const source = "OpenStreetMap extract vector/finland_depot, counted with another program"
	dir := filepath.Join(opendata.Dir(t), "data", "vector", "finland_depot")
	features, leftOut, err := Features(Input{Boundary: filepath.Join(dir, "boundary.geojson"), Buildings: filepath.Join(dir, "buildings.geojson"),
		Roads: filepath.Join(dir, "roads.geojson"), Foliage: filepath.Join(dir, "woodland.geojson")})
	if err != nil {
		t.Fatal(err)
	}
	count := map[model.Kind]int{}
	levels := 0
	for _, f := range features {
		if !f.Sound() {
			t.Errorf("%s: %v", f.Who(), f.Flaws)
		}
		count[f.Kind]++
		if f.Kind == model.KindBuilding && strings.Contains(property(f, "other_tags"), "building:levels") {
			levels++
		}
	}
	for _, row := range []struct {
		what      string
		got, want int
	}{
		{"boundaries", count[model.KindBoundary], 1},
		{"buildings: 370 less 7 with rings of two points", count[model.KindBuilding], 363},
		{"left out", len(leftOut), 7},
		{"footpaths: 29 cycleways, 19 footways, 7 paths, 1 track", count[model.KindFootpath], 56},
		{"roads", count[model.KindRoad], 73},
		{"woods and scrub", count[model.KindFoliage], 12},
		{"buildings that state their levels", levels, 10},
	} {
		t.Run(row.what, func(t *testing.T) {
			if row.got != row.want {
				t.Errorf("%s: %d, want %d; source: %s", row.what, row.got, row.want, source)
			}
		})
	}
}

func TestOutsideBuildingsKeepTheHeightsTheirFileStates(t *testing.T) {
	path := filepath.Join(opendata.Dir(t), "data", "dem", "alexandria", "buildings.geojson")
	features, leftOut, err := Features(Input{Buildings: path})
	if err != nil || leftOut != nil {
		t.Fatal(err, leftOut)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Features []struct{ Properties struct{ HEIGHT float64 } }
	}
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	if len(features) != len(file.Features) {
		t.Fatalf("%d buildings of %d", len(features), len(file.Features))
	}
	for i, f := range features {
		stated := file.Features[i].Properties.HEIGHT
		if stated == 0 { // not measured
			if len(f.Assumed) == 0 {
				t.Errorf("%s: a height of 0 was taken as stated", f.ID)
			}
			continue
		}
		if h, _ := f.Number("height_m"); math.Abs(h-stated) > 0.0005 || len(f.Assumed) > 0 {
			t.Errorf("%s: height %v, the file states %v; source: %s", f.ID, h, stated, "dem/alexandria/buildings.geojson")
		}
	}
}

func TestOutsideSolarFarmsOfSeveralPartsBecomeABoundaryAPart(t *testing.T) {
	const source = "vector/solar/solar_farms.geojson, parts counted with another program"
	path := filepath.Join(opendata.Dir(t), "data", "vector", "solar", "solar_farms.geojson")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Features []struct {
			Geometry struct {
				Type        string
				Coordinates []json.RawMessage
			}
		}
	}
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	parts := 0
	for _, f := range file.Features {
		if f.Geometry.Type == "MultiPolygon" {
			parts += len(f.Geometry.Coordinates)
		} else {
			parts++
		}
	}
	features, _, err := Features(Input{Boundary: path})
	if err != nil {
		t.Fatal(err)
	}
	if len(features) != parts {
		t.Errorf("%d boundaries, want %d; source: %s", len(features), parts, source)
	}
}

// Odd files of other projects' test suites: none may crash the import.
func TestOutsideOddFilesAreReadOrRefusedInOneLine(t *testing.T) {
	paths, err := filepath.Glob(filepath.Join(opendata.Dir(t), "data", "hostile", "*"))
	if err != nil || len(paths) == 0 {
		t.Fatal("no odd files: ", err)
	}
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			for _, in := range []Input{{Boundary: path}, {Buildings: path}, {Roads: path}, {Foliage: path}} {
				features, _, err := Features(in)
				if err != nil && (strings.Contains(err.Error(), "\n") || !strings.HasPrefix(err.Error(), path)) {
					t.Errorf("error %q", err)
				}
				for _, f := range features {
					if !f.Sound() {
						t.Errorf("imported with flaws %v", f.Flaws)
					}
				}
			}
		})
	}
}
