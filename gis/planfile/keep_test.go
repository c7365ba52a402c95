package planfile

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"pleach/model"
)

// oddJSON draws a value spelled as no program would spell it.
func oddJSON(t *rapid.T, label string) string {
	leaf := rapid.SampledFrom([]string{"1.50", "1E+2", "-0", "0.10e-3", "12345678901234567890", "1e999", `"\u00e9 \/"`, `"a\"b"`, `""`,
		"true", "null", "[ ]", "{ }", `[1.0 ,  2.00]`, "{\"z\":1,\n \"a\": {\"b\" :[0.0]}}", `"größe"`})
	if rapid.IntRange(0, 3).Draw(t, label+" depth") > 0 {
		return leaf.Draw(t, label)
	}
	return "[" + leaf.Draw(t, label+"[0]") + ", " + leaf.Draw(t, label+"[1]") + "]"
}

// foreign draws members that no version of the program knows.
func foreign(t *rapid.T, label string) (members model.Object) {
	for i := range rapid.IntRange(0, 3).Draw(t, label+" members") {
		members = append(members, model.Member{Name: fmt.Sprintf("x-%s-%d", label, i), Value: []byte(oddJSON(t, label))})
	}
	return members
}

func join(m model.Object) string {
	s := ""
	for _, x := range m {
		s += fmt.Sprintf(`, %q: %s`, x.Name, x.Value)
	}
	return s
}

// known is what must still stand in the file after any edit.
type known struct {
	id      string
	feature model.Object // foreign members of the feature
	props   model.Object // foreign properties
	raw     string
}

type drawn struct {
	text        string
	top, pleach model.Object
	features    []known
}

func drawPlan(t *rapid.T) drawn {
	d := drawn{top: foreign(t, "top"), pleach: foreign(t, "pleach")}
	var rows []string
	for i := range rapid.IntRange(0, 6).Draw(t, "features") {
		k := known{feature: foreign(t, "feature"), props: foreign(t, "prop")}
		lon, lat := 7+float64(i)/1000, 50.0
		at := fmt.Sprintf("%.5f, %.7f", lon, lat)
		var row string
		switch rapid.IntRange(0, 4).Draw(t, "kind") {
		case 0:
			k.id = fmt.Sprintf("S%d", i)
			row = fmt.Sprintf(`{"type": "Feature", "id": %q%s, "properties": {"kind": "sensor", "model": "sector-90-25", "mount_height_m": 3.00, "bearing_deg": 4.5e1, "tilt_deg": %s%s}, "geometry": {"type": "Point", "coordinates": [%s, 1.250]}}`,
				k.id, join(k.feature), rapid.SampledFrom([]string{"-0", "95", `"steep"`, "4.0"}).Draw(t, "tilt"), join(k.props), at)
		case 1:
			k.id = fmt.Sprintf("B%d", i)
			row = fmt.Sprintf(`{"id": %q, "type": "Feature", "geometry": {"type": "Polygon", "coordinates": [[[%s, 10.0], [7.2, 50.01, 11], [7.3, 50.02, 12], [%s, 10.0]]]}%s, "properties": {"kind": "boundary"%s}}`,
				k.id, at, at, join(k.feature), join(k.props))
		case 2:
			row = fmt.Sprintf(`{"type": "Feature", "id": %d%s, "properties": {"kind": "pylon"%s}, "geometry": {"type": "MultiPoint", "coordinates": [[%s, 1e1], [8, 50]]}}`,
				i, join(k.feature), join(k.props), at)
		case 3:
			row = fmt.Sprintf(`{"type": "Feature"%s, "geometry": null, "properties": null}`, join(k.feature))
			k.props = nil
		case 4:
			k.id = fmt.Sprintf("X%d", i)
			row = fmt.Sprintf(`{"type": "Feature", "id": %q%s, "properties": {"what": 1%s}, "geometry": {"type": "Point", "coordinates": [%s]}}`, k.id, join(k.feature), join(k.props), at)
		}
		k.raw = row
		d.features = append(d.features, k)
		rows = append(rows, row)
	}
	d.text = fmt.Sprintf("{\"type\": \"FeatureCollection\"%s,\n\"pleach\" : {\"version\": 1.0%s},\n \"features\": [%s]}",
		join(d.top), join(d.pleach), strings.Join(rows, ",\n"))
	return d
}

// drawEdit draws an edit that can be applied to p, and the id it is about.
func drawEdit(t *rapid.T, p *model.Plan, n int) (model.Edit, string) {
	var withID []*model.Feature
	for _, f := range p.Features {
		if f.ID != "" {
			withID = append(withID, f)
		}
	}
	kind := rapid.IntRange(0, 4).Draw(t, "edit")
	if kind < 3 && len(withID) > 0 {
		f := rapid.SampledFrom(withID).Draw(t, "of")
		switch kind {
		case 0:
			return model.Set{ID: f.ID, Values: []model.Value{{Property: "note", Value: fmt.Sprint("edit ", n)}}}, f.ID
		case 1:
			g := f.Geometry
			switch shape := g.(type) {
			case orb.Point:
				g = orb.Point{shape[0] + 1e-4, shape[1]}
			case orb.Polygon:
				moved := shape.Clone()
				moved[0][1][0] += 1e-4
				g = moved
			}
			return model.Reshape{ID: f.ID, To: g}, f.ID
		case 2:
			return model.Delete{IDs: []string{f.ID}}, f.ID
		}
	}
	if kind == 3 {
		return model.Change{Path: "title", Value: fmt.Sprint("edit ", n)}, ""
	}
	id := fmt.Sprintf("NEW%d", n)
	return model.Add{Features: []*model.Feature{model.NewFeature(model.KindAsset, id, orb.Point{7, 50})}}, id
}

// holds checks that o has every member of want, spelled as it was.
func holds(t *rapid.T, what string, o, want model.Object) {
	for _, w := range want {
		found := false
		for _, m := range o {
			found = found || m.Name == w.Name && bytes.Equal(m.Value, w.Value)
		}
		if !found {
			t.Fatalf("%s lost %s: %s\nin %v", what, w.Name, w.Value, o)
		}
	}
}

func sub(t *rapid.T, o model.Object, name string) model.Object {
	raw, ok := o.Get(name)
	if !ok {
		return nil
	}
	s, err := model.ParseObject(raw)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestReadWriteReadLosesNothingOverRandomEdits(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		d := drawPlan(t)
		p, err := Parse("p", []byte(d.text))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(p.JSON(), []byte(d.text)) {
			t.Fatal("an untouched plan is written differently")
		}
		h := model.NewHistory(p)
		touched := map[string]bool{}
		steps := rapid.IntRange(0, 5).Draw(t, "steps")
		for n := range steps {
			e, id := drawEdit(t, h.Plan(), n)
			if err := h.Do(e); err != nil {
				t.Fatalf("%s: %v", e.Label(), err)
			}
			touched[id] = true
		}
		path := filepath.Join(dir, "p.geojson")
		if err := Write(path, h.Plan()); err != nil {
			t.Fatal(err)
		}
		back, err := Read(path)
		if err != nil {
			t.Fatalf("what was written cannot be read: %v", err)
		}
		text, _ := os.ReadFile(path)
		if !bytes.Equal(back.JSON(), text) {
			t.Fatal("read and written again, the file changed")
		}
		top, err := model.ParseObject(text)
		if err != nil {
			t.Fatal(err)
		}
		holds(t, "the file", top, d.top)
		holds(t, "the settings", sub(t, top, "pleach"), append(d.pleach, model.Member{Name: "version", Value: []byte("1.0")}))
		var kept []*model.Feature
		for _, f := range back.Features {
			if !strings.HasPrefix(f.ID, "NEW") {
				kept = append(kept, f)
			}
		}
		for _, k := range d.features {
			if k.id != "" && back.Feature(k.id) == nil {
				if !touched[k.id] {
					t.Fatalf("feature %s is gone", k.id)
				}
				continue
			}
			f := kept[0]
			kept = kept[1:]
			if !touched[k.id] || k.id == "" {
				if string(f.JSON()) != k.raw {
					t.Fatalf("an untouched feature became %s, was %s", f.JSON(), k.raw)
				}
				continue
			}
			whole, err := model.ParseObject(f.JSON())
			if err != nil {
				t.Fatal(err)
			}
			holds(t, "feature "+k.id, whole, k.feature)
			holds(t, "feature "+k.id, sub(t, whole, "properties"), k.props)
			if strings.HasPrefix(k.id, "B") && !bytes.Contains(f.JSON(), []byte("7.3, 50.02, 12]")) {
				t.Fatalf("a vertex that did not move lost its spelling or its height: %s", f.JSON())
			}
			if strings.HasPrefix(k.id, "S") && !bytes.Contains(f.JSON(), []byte(", 1.250]")) {
				t.Fatalf("a moved sensor lost its third coordinate: %s", f.JSON())
			}
		}
		for h.Undo() {
		}
		if err := Write(path, h.Plan()); err != nil {
			t.Fatal(err)
		}
		if text, _ = os.ReadFile(path); string(text) != d.text {
			t.Fatalf("undone to its opening state and saved, the file is\n%s\nnot\n%s", text, d.text)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{
		plan, "", "{}", "[]", "null", "\xef\xbb\xbf{}", "\xff\xfe{\x00", `{"type":"FeatureCollection","pleach":{"version":1},"features":[]}`,
		strings.Replace(plan, "3.00", "NaN", 1), strings.Replace(plan, "3.00", "1e999", 1), strings.Replace(plan, `"S1"`, `"B1"`, 1), plan[:500],
		`{"type":"FeatureCollection","pleach":{"version":1,"models":[{"id":"m"},5,null],"target":[],"postures":{},"base_map":{"control":[1]}},"features":[{"id":null,"properties":{"kind":"sensor"}}]}`,
		`{"type":"FeatureCollection","pleach":{"version":1},"features":[{"type":"Feature","id":"a","properties":{"kind":"boundary"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[0,0],[0,0],[0,0]]]}}]}`,
		`{"type":"FeatureCollection","pleach":{"version":1},"features":[{"type":"Feature","id":"a","properties":{"kind":"boundary"},"geometry":{"type":"MultiPolygon","coordinates":[[[[0,0],[1,0],[0,1],[0,0]]]]}}]}`,
		`{"type":"FeatureCollection","pleach":{"version":1},"features":[{"id":"a","properties":{"kind":"foliage","geometry":1},"geometry":` + strings.Repeat("[", 500) + strings.Repeat("]", 500) + `}]}`,
		`{"type":"FeatureCollection","pleach":{"version":1},"crs":{"type":"link","properties":{"href":"http://localhost/"}},"features":[]}`,
		`{"a":"\ud800"}`, `{"\ud800":1}`, "{\"type\":\"FeatureCollection\",\"pleach\":{\"version\":1},\"features\":[\n5\n]}",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Parse("f", data)
		if err != nil {
			if s := err.Error(); !strings.HasPrefix(s, "f: ") || strings.ContainsAny(s, "\n\r") {
				t.Fatalf("error %q is not one line with the file's name", s)
			}
			return
		}
		if !bytes.Equal(p.JSON(), data) {
			t.Fatal("an untouched plan is written differently")
		}
		for _, flaw := range p.AllFlaws() {
			if flaw.Error() == "" {
				t.Fatal("a flaw without a word")
			}
		}
		q, err := model.Change{Path: "title", Value: "t"}.Apply(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range p.Features {
			if f.ID == "" || p.Feature(f.ID) != f {
				continue
			}
			if q, err = (model.Set{ID: f.ID, Values: []model.Value{{Property: "note", Value: "n"}}}).Apply(q); err != nil {
				t.Fatal(err)
			}
		}
		back, err := Parse("f", q.JSON())
		if err != nil {
			t.Fatalf("an edited plan cannot be read: %v\n%s", err, q.JSON())
		}
		if len(back.Features) != len(p.Features) {
			t.Fatalf("%d features of %d", len(back.Features), len(p.Features))
		}
	})
}
