package exchange

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func FuzzFeatures(f *testing.F) {
	for _, seed := range []string{
		"", "{}", `{"type":"FeatureCollection","features":[null,5,{},{"type":"Feature"}]}`,
		collection(feature(`{"kind":"yes","height":"12 m","other_tags":"\"a\"=>\"b\\\"\",\"building:levels\"=>\"2\""}`, "MultiPolygon", "["+square+",[[]],[]]")),
		collection(feature(`{"highway":"path","width":1e999,"name":["a"],"assumed":3,"source_kind":1,"kind":2}`, "MultiLineString", `[[[7,50],[7,51]],[[1]]]`)),
		`{"type":"GeometryCollection","geometries":[{"type":"Polygon","coordinates":` + square + `},{"type":"GeometryCollection","geometries":[]}]}`,
		`{"type":"Polygon","crs":{"type":"name","properties":{"name":"EPSG:27700"}},"coordinates":[[[577274,69740],[577374,69740],[577374,69840],[577274,69740]]]}`,
		`{"type":"Polygon","crs":{"type":"link","properties":{"href":"file:///etc/passwd"}},"coordinates":[]}`,
		`{"type":"LineString","coordinates":[[7,50],[7,50],[1e300,-1e300]]}`,
	} {
		f.Add([]byte(seed))
	}
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, data []byte) {
		path := filepath.Join(dir, "in.geojson")
		if err := os.WriteFile(path, data, 0o666); err != nil {
			t.Fatal(err)
		}
		for _, in := range []Input{{Boundary: path}, {Buildings: path, Roads: path, Foliage: path}} {
			features, leftOut, err := Features(in)
			if err != nil && (strings.Contains(err.Error(), "\n") || !strings.HasPrefix(err.Error(), path+": ")) {
				t.Fatalf("error %q", err)
			}
			for _, l := range leftOut {
				if strings.Contains(l, "\n") {
					t.Fatalf("left out: %q", l)
				}
			}
			ids := map[string]bool{}
			for _, f := range features {
				if !f.Sound() || ids[f.ID] {
					t.Fatalf("%s: flaws %v, id taken %v", f.Who(), f.Flaws, ids[f.ID])
				}
				ids[f.ID] = true
			}
		}
	})
}
