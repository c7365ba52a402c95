package model

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

// readPlan reads a plan of the given settings (members after the version) and
// features.
func readPlan(t testing.TB, settings string, features ...string) *Plan {
	t.Helper()
	text := `{"type": "FeatureCollection", "pleach": {"version": 1` + settings + `}, "features": [` + strings.Join(features, ", ") + `]}`
	members, err := ParseObject([]byte(text))
	if err != nil {
		t.Fatalf("%v in %s", err, text)
	}
	var fs []*Feature
	for i, raw := range features {
		f, err := ReadFeature([]byte(raw), i)
		if err != nil {
			t.Fatal(err)
		}
		fs = append(fs, f)
	}
	p, err := ReadPlan(members, fs, []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// feature returns the JSON of a feature; props begin with a comma or are empty.
func feature(id, kind, props, geometry string) string {
	return fmt.Sprintf(`{"type": "Feature", "id": %q, "properties": {"kind": %q%s}, "geometry": %s}`, id, kind, props, geometry)
}

const (
	pointGeo = `{"type": "Point", "coordinates": [7, 50]}`
	lineGeo  = `{"type": "LineString", "coordinates": [[7, 50], [7.001, 50]]}`
	areaGeo  = `{"type": "Polygon", "coordinates": [[[7, 50], [7.001, 50], [7.001, 50.001], [7, 50.001], [7, 50]]]}`
)

// geometryOf returns a geometry that a kind may have.
func geometryOf(k KindInfo) string {
	switch {
	case k.Shapes&Area != 0:
		return areaGeo
	case k.Shapes&Line != 0:
		return lineGeo
	}
	return pointGeo
}

// neededOf returns the properties a kind requires, but for one.
func neededOf(k KindInfo, but string) string {
	s := ""
	for _, p := range k.Properties {
		if p.Required && p.Name != but {
			switch p.Type {
			case Number, Whole:
				s += fmt.Sprintf(`, %q: %v`, p.Name, (p.Min+p.Max)/2)
			default:
				s += fmt.Sprintf(`, %q: "sector-90-25"`, p.Name)
			}
		}
	}
	return s
}

// limits are the ranges the contract states in section 2, typed in from there.
var limits = []struct {
	kind       Kind
	property   string
	good, bad  []string
	atLeastBad string // what the message says
}{
	{KindSensor, "tilt_deg", []string{"-45", "0", "89"}, []string{"-45.1", "89.1", "1e999"}, "between -45 and 89"},
	{KindSensor, "mount_height_m", []string{"0.001", "60"}, []string{"0", "-1", "60.1", "-1e999"}, "above 0 and at most 60"},
	{KindSensor, "antenna_height_m", []string{"0.1", "60"}, []string{"0", "61"}, "above 0 and at most 60"},
	{KindRepeater, "antenna_height_m", []string{"0.1", "60"}, []string{"0", "61"}, "above 0 and at most 60"},
	{KindReceiver, "antenna_height_m", []string{"0.1", "60"}, []string{"0", "61"}, "above 0 and at most 60"},
	{KindSensor, "bearing_deg", []string{"-720.5", "0", "1e6"}, []string{"1e999", "-1e999"}, "a finite number"},
	{KindSensor, "address", []string{"0", "65535", "7.0"}, []string{"-1", "65536", "7.5"}, "a whole number from 0 to 65535"},
	{KindRepeater, "address", []string{"0", "65535"}, []string{"-1", "65536", "0.5"}, "a whole number from 0 to 65535"},
	{KindBuilding, "height_m", []string{"0", "200"}, []string{"-0.1", "200.1", "1e999"}, "between 0 and 200"},
	{KindFoliage, "height_m", []string{"0", "200"}, []string{"-0.1", "200.1"}, "between 0 and 200"},
	{KindObstacle, "height_m", []string{"0", "200"}, []string{"-0.1", "200.1"}, "between 0 and 200"},
	{KindBoundary, "height_m", []string{"0", "200"}, []string{"-0.1", "200.1"}, "between 0 and 200"},
}

func TestValuesOutOfRangeAreFlawsThatNameAllThereIsToKnow(t *testing.T) {
	for _, row := range limits {
		info, _ := Info(row.kind)
		read := func(v string) *Feature {
			f, err := ReadFeature([]byte(feature("X1", string(row.kind), neededOf(info, row.property)+`, "`+row.property+`": `+v, geometryOf(info))), 0)
			if err != nil {
				t.Fatal(err)
			}
			return f
		}
		for _, v := range row.good {
			if f := read(v); !f.Sound() {
				t.Errorf("%s %s %s: %v", row.kind, row.property, v, f.Flaws)
			}
		}
		for _, v := range append(row.bad, `"5"`, "true", "[]", "{}") {
			f := read(v)
			if f.Sound() || f.Value != nil || len(f.Flaws) != 1 {
				t.Errorf("%s %s %s is taken; flaws %v", row.kind, row.property, v, f.Flaws)
				continue
			}
			want := fmt.Sprintf("%s X1: %s %s is not ", row.kind, row.property, v)
			if got := f.Flaws[0].Error(); !strings.HasPrefix(got, want) || !strings.HasSuffix(got, row.atLeastBad) {
				t.Errorf("flaw %q, want %q … %q", got, want, row.atLeastBad)
			}
		}
	}
}

// required are the properties that section 2 of the contract marks as required.
var required = map[Kind][]string{
	KindExcluded: {"reason"}, KindBuilding: {"height_m"}, KindFoliage: {"height_m"}, KindObstacle: {"height_m"}, KindHazard: {"what"},
	KindView: {"name"}, KindSensor: {"model", "mount_height_m", "bearing_deg", "tilt_deg"}, KindRepeater: {"antenna_height_m"}, KindReceiver: {"antenna_height_m"},
}

func TestExactlyTheRequiredPropertiesAreAsked(t *testing.T) {
	for _, info := range Catalogue {
		f, err := ReadFeature([]byte(feature("X1", string(info.Kind), "", geometryOf(info))), 0)
		if err != nil {
			t.Fatal(err)
		}
		var missing []string
		for _, flaw := range f.Flaws {
			if !strings.Contains(flaw.Text, "is missing: it must be ") {
				t.Errorf("%s: %v", info.Kind, flaw)
			}
			missing = append(missing, flaw.Property)
		}
		want := slices.Clone(required[info.Kind])
		slices.Sort(missing)
		slices.Sort(want)
		if !slices.Equal(missing, want) {
			t.Errorf("%s asks for %q, the contract for %q", info.Kind, missing, want)
		}
	}
}

func TestDefaultsAreThoseOfTheContract(t *testing.T) {
	for _, row := range []struct {
		kind     Kind
		property string
		want     float64
	}{{KindBoundary, "height_m", 2}, {KindGate, "width_m", 4}, {KindRoad, "width_m", 6}, {KindFootpath, "width_m", 2}} {
		info, _ := Info(row.kind)
		f, _ := ReadFeature([]byte(feature("X1", string(row.kind), "", geometryOf(info))), 0)
		if got, ok := f.Number(row.property); !ok || got != row.want {
			t.Errorf("%s %s: %v, want %v", row.kind, row.property, got, row.want)
		}
	}
	s := readPlan(t, "").Settings
	got := map[string]any{"target": s.Target, "postures": s.Postures, "depth": s.CrossingDepth, "path": s.MinPath, "overspill": s.OverspillMinVisible,
		"vehicle": s.VehicleHeight, "factor": s.VehicleRangeFactor, "mhz": s.Frequency, "pol": s.Polarisation, "radius": s.EffectiveRadius,
		"reliability": s.Reliability, "hops": s.MaxHops, "declination": s.Declination, "sd": s.ShadowingSD == nil, "margin": s.RequiredMargin == nil}
	want := map[string]any{"target": Posture{"target", 1.7, 0.5}, "postures": []Posture{{"crawl", 0.35, 0.5}}, "depth": 10.0, "path": 0.5, "overspill": 0.1,
		"vehicle": 4.0, "factor": 3.0, "mhz": 868.3, "pol": "V", "radius": 8500.0, "reliability": 0.99, "hops": 3, "declination": 0.0, "sd": true, "margin": true}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("settings (-contract +program):\n%s", diff)
	}
	for kind, want := range map[Kind]RadioFigures{KindSensor: {10, -105, -3, 0, 6}, KindRepeater: {10, -105, 0, 0, 6}, KindReceiver: {10, -105, 2.15, 0, 0}} {
		if got := RadioDefaults(kind); got != want {
			t.Errorf("radio of a %s: %+v, want %+v", kind, got, want)
		}
	}
}

func TestSettingsOutOfRangeAreFlaws(t *testing.T) {
	for _, row := range []struct{ settings, want string }{
		{`"radio": {"frequency_mhz": 29}`, "plan: pleach.radio.frequency_mhz 29 is not between 30 and 6000"},
		{`"radio": {"frequency_mhz": 1e999}`, "plan: pleach.radio.frequency_mhz 1e999 is not between 30 and 6000"},
		{`"radio": {"reliability": 0.49}`, "plan: pleach.radio.reliability 0.49 is not between 0.5 and 0.9999"},
		{`"radio": {"max_hops": 9}`, "plan: pleach.radio.max_hops 9 is not a whole number from 1 to 8"},
		{`"radio": {"max_hops": 2.5}`, "plan: pleach.radio.max_hops 2.5 is not a whole number from 1 to 8"},
		{`"radio": {"polarisation": "X"}`, `plan: pleach.radio.polarisation "X" is not one of V, H`},
		{`"radio": 5`, "plan: pleach.radio 5 is not an object"},
		{`"crossing": {"depth_m": 0}`, "plan: pleach.crossing.depth_m 0 is not above 0 and at most 100"},
		{`"crossing": {"min_path_m": 21}`, "plan: pleach.crossing.min_path_m 21 is not above 0 and at most 20"},
		{`"target": {"min_visible": 0}`, "plan: pleach.target.min_visible 0 is not above 0 and at most 1"},
		{`"target": {"height_m": "tall"}`, `plan: pleach.target.height_m "tall" is not a number: it must be above 0 and at most 200`},
		{`"overspill": {"vehicle_range_factor": 11}`, "plan: pleach.overspill.vehicle_range_factor 11 is not between 1 and 10"},
		{`"postures": [{"name": "low"}]`, "plan: pleach.postures[0].height_m is missing"},
		{`"postures": {}`, "plan: pleach.postures {} is not a list"},
		{`"base_map": {"crs": "EPSG:1"}`, "plan: pleach.base_map.file is missing"},
		{`"base_map": {"file": "a.jpg", "control": [{"pixel": [1, 2], "at": [7, 50]}]}`, "plan: pleach.base_map.control has 1 point: give at least 2"},
		{`"models": [{"id": "m"}]`, "sensor model m: lobes is missing or empty"},
		{`"models": [{"id": "m", "lobes": [{"width_deg": 0, "up_deg": 1, "down_deg": 1, "range_m": 5}]}]`, "sensor model m: lobes[0].width_deg 0 is not above 0 and at most 360"},
		{`"models": [{"id": "m", "lobes": [{"width_deg": 9, "up_deg": 1, "down_deg": 1, "range_m": 501}]}]`, "sensor model m: lobes[0].range_m 501 is not above 0 and at most 500"},
		{`"models": [{"id": "m", "lobes": [{"width_deg": 9, "up_deg": -5, "down_deg": 5, "range_m": 9}]}]`, "sensor model m: lobes[0].up_deg -5 and down_deg 5 leave no height: their sum must be above 0"},
		{`"models": [{"id": "m", "lobes": [{"width_deg": 9, "up_deg": 91, "down_deg": 5, "range_m": 9}]}]`, "sensor model m: lobes[0].up_deg 91 is not between -90 and 90"},
	} {
		p := readPlan(t, ", "+row.settings)
		flaws := p.AllFlaws()
		if len(flaws) == 0 || !strings.HasPrefix(flaws[0].Error(), row.want) {
			t.Errorf("%s: flaws %v, want %q", row.settings, flaws, row.want)
		}
	}
}

func TestAGeometryThatCannotStandIsAFlaw(t *testing.T) {
	for _, row := range []struct{ kind, props, geometry, want string }{
		{"boundary", "", `{"type": "Polygon", "coordinates": [[[7, 50], [7.1, 50], [7, 50]]]}`, "has a ring of 2 distinct points"},
		{"boundary", "", `{"type": "Polygon", "coordinates": [[[7, 50], [7.1, 50], [7, 50.1]]]}`, "has a ring that is not closed"},
		{"boundary", "", `{"type": "Polygon", "coordinates": [[[7, 50], [7.1, 50.1], [7.1, 50], [7, 50.1], [7, 50]]]}`, "crosses itself near longitude 7.050000, latitude 50.050000"},
		{"premises", "", `{"type": "Polygon", "coordinates": [[[7, 50], [7.1, 50.1], [7.1, 50], [7, 50.1], [7, 50]]]}`, "crosses itself"},
		{"boundary", "", `{"type": "Polygon", "coordinates": []}`, "is a polygon without a ring"},
		{"boundary", "", `{"type": "LineString", "coordinates": [[7, 50], [7, 50]]}`, "has a line of 1 distinct points"},
		{"boundary", "", `{"type": "MultiPolygon", "coordinates": [[[[7, 50], [7.1, 50], [7, 50.1], [7, 50]]], [[[8, 50], [8.1, 50], [8, 50.1], [8, 50]]]]}`, "is a MultiPolygon of 2 parts: make each part a feature of its own"},
		{"boundary", "", `{"type": "Polygon", "coordinates": [[[170, 40], [-170, 40], [-170, 50], [170, 50], [170, 40]]]}`, "spans 340 degrees of longitude and 10 of latitude: a site spans at most 1, and does not lie across longitude 180"},
		{"boundary", "", pointGeo, "is a Point: it must be a LineString or a Polygon"},
		{"boundary", "", "null", "is missing: it must be a LineString or a Polygon"},
		{"building", `, "height_m": 3`, lineGeo, "is a LineString: it must be a Polygon"},
		{"sensor", `, "model": "sector-90-16", "mount_height_m": 3, "bearing_deg": 0, "tilt_deg": 0`, areaGeo, "is a Polygon: it must be a Point"},
		{"receiver", `, "antenna_height_m": 3`, `{"type": "Point", "coordinates": [181, 50]}`, "longitude 181 is not between -180 and 180"},
		{"receiver", `, "antenna_height_m": 3`, `{"type": "Point", "coordinates": [7, -84.5]}`, "latitude -84.5 is not between -84 and 84"},
		{"receiver", `, "antenna_height_m": 3`, `{"type": "Point", "coordinates": [7, 1e999]}`, "latitude 1e999 is not between -84 and 84"},
		{"receiver", `, "antenna_height_m": 3`, `{"type": "Point", "coordinates": ["7", "50"]}`, "is not a position"},
		{"receiver", `, "antenna_height_m": 3`, `{"type": "Point", "coordinates": [7]}`, "is not a position"},
		{"receiver", `, "antenna_height_m": 3`, `{"type": "Point"}`, "is a Point without coordinates"},
		{"receiver", `, "antenna_height_m": 3`, `{"type": "Circle", "coordinates": [7, 50]}`, "is a Circle: use a Point"},
		{"receiver", `, "antenna_height_m": 3`, `{"Type": "Point", "Coordinates": [7, 50]}`, "has no type"},
		{"receiver", `, "antenna_height_m": 3`, `[7, 50]`, "is not a geometry"},
	} {
		f, err := ReadFeature([]byte(feature("X1", row.kind, row.props, row.geometry)), 0)
		if err != nil {
			t.Fatal(err)
		}
		if len(f.Flaws) == 0 || !strings.Contains(f.Flaws[0].Error(), row.kind+" X1: geometry ") || !strings.Contains(f.Flaws[0].Error(), row.want) {
			t.Errorf("%s: flaws %v, want %q", row.geometry, f.Flaws, row.want)
		}
	}
	one := `{"type": "MultiPolygon", "coordinates": [[[[7, 50], [7.1, 50], [7, 50.1], [7, 50]]]]}`
	if f, _ := ReadFeature([]byte(feature("B1", "boundary", "", one)), 0); !f.Sound() || f.Geometry.GeoJSONType() != "Polygon" {
		t.Errorf("a Multi geometry of one part: %v, %v", f.Geometry, f.Flaws)
	}
}

func TestSelfCrossingFindsCrossingsAndOnlyThose(t *testing.T) {
	for _, row := range []struct {
		name string
		line orb.LineString
		want bool
	}{
		{"a square", orb.LineString{{0, 0}, {1, 0}, {1, 1}, {0, 1}, {0, 0}}, false},
		{"a bow tie", orb.LineString{{0, 0}, {1, 1}, {1, 0}, {0, 1}, {0, 0}}, true},
		{"an open zigzag", orb.LineString{{0, 0}, {1, 0}, {0, 1}, {1, 1}}, false},
		{"an open cross", orb.LineString{{0, 0}, {2, 0}, {2, 1}, {1, 1}, {1, -1}}, true},
		{"a point twice", orb.LineString{{0, 0}, {1, 0}, {1, 0}, {1, 1}, {0, 0}}, false},
		{"running back", orb.LineString{{0, 0}, {2, 0}, {1, 0}, {1, 1}}, true},
		{"a spike at the start of a ring", orb.LineString{{0, 0}, {2, 0}, {2, 1}, {1, 0}, {0, 0}}, true},
		{"touching a vertex", orb.LineString{{0, 0}, {2, 0}, {2, 2}, {1, 0}, {0, 2}, {0, 0}}, true},
		{"straight on", orb.LineString{{0, 0}, {1, 0}, {2, 0}, {2, 1}, {0, 1}, {0, 0}}, false},
		{"everything on one spot", orb.LineString{{0, 0}, {0, 0}}, false},
		{"nothing", nil, false},
	} {
		if at, got := SelfCrossing(row.line); got != row.want {
			t.Errorf("%s: %v at %v", row.name, got, at)
		}
	}
}

func TestAnIDStandsOnceAndIsText(t *testing.T) {
	p := readPlan(t, "", feature("A", "asset", "", pointGeo), feature("A", "gate", "", pointGeo), feature("A", "pylon", "", pointGeo),
		feature("P", "pylon", "", pointGeo), feature("P", "mast", "", pointGeo))
	var got []string
	for _, f := range p.AllFlaws() {
		got = append(got, f.Error())
	}
	want := []string{`gate A: id "A" is also that of a feature before it (asset): every id is unique in the plan`,
		`feature A: id "A" is also that of a feature before it (asset): every id is unique in the plan`}
	if !slices.Equal(got, want) {
		t.Errorf("flaws %q", got)
	}
	if len(p.Of(Kinds...)) != 1 {
		t.Errorf("%d features stand in the analysis, want the first alone", len(p.Of(Kinds...)))
	}
	for id, want := range map[string]string{"7": "id 7 is not text", "null": "id is missing", `""`: "id is missing"} {
		f, err := ReadFeature([]byte(`{"type": "Feature", "id": `+id+`, "properties": {"kind": "asset"}, "geometry": `+pointGeo+`}`), 4)
		if err != nil || len(f.Flaws) != 1 || !strings.HasPrefix(f.Flaws[0].Error(), "features[4] (asset): "+want) {
			t.Errorf("id %s: %v, %v", id, err, f.Flaws)
		}
	}
}

func TestAnEditLeavesTheOldPlanAlone(t *testing.T) {
	p := readPlan(t, "", feature("S1", "sensor", `, "model": "sector-90-16", "mount_height_m": 3, "bearing_deg": 0, "tilt_deg": 0`, pointGeo), feature("B1", "boundary", "", areaGeo))
	before := string(p.JSON())
	for _, e := range []Edit{
		Set{ID: "S1", Values: []Value{{"tilt_deg", 95}, {"note", "x"}}}, Reshape{ID: "S1", To: orb.Point{8, 51}}, Delete{IDs: []string{"B1"}},
		Add{Features: []*Feature{NewFeature(KindGate, "G1", orb.Point{7, 50})}}, Change{Path: "radio.max_hops", Value: 2}, Change{Path: "title", Value: "t"},
		Together{Name: "both", Edits: []Edit{Delete{IDs: []string{"S1"}}, Delete{IDs: []string{"B1"}}}},
	} {
		q, err := e.Apply(p)
		if err != nil {
			t.Fatalf("%s: %v", e.Label(), err)
		}
		if string(p.JSON()) != before || len(p.Features) != 2 || len(p.AllFlaws()) != 0 {
			t.Fatalf("%s changed the plan before it", e.Label())
		}
		if string(q.JSON()) == before {
			t.Errorf("%s changed nothing", e.Label())
		}
	}
	for _, e := range []Edit{Set{ID: "no"}, Reshape{ID: "no", To: orb.Point{}}, Delete{IDs: []string{"S1", "no"}}, Add{Features: []*Feature{NewFeature(KindGate, "S1", orb.Point{7, 50})}}} {
		if _, err := e.Apply(p); err == nil {
			t.Errorf("%s: no error", e.Label())
		}
	}
}

func TestUndoGoesBackAndAnEditForgetsWhatWasUndone(t *testing.T) {
	p := readPlan(t, "")
	h := NewHistory(p)
	for _, title := range []string{"a", "b", "c"} {
		if err := h.Do(Change{Path: "title", Value: title}); err != nil {
			t.Fatal(err)
		}
	}
	first, second := h.Undo(), h.Undo()
	if !first || !second || h.Plan().Settings.Title != "a" || h.UndoLabel() != "change title" || h.RedoLabel() != "change title" {
		t.Errorf("title %q after two undos", h.Plan().Settings.Title)
	}
	h.Saved()
	if h.Unsaved() {
		t.Error("saved, and unsaved")
	}
	if err := h.Do(Change{Path: "title", Value: "d"}); err != nil {
		t.Fatal(err)
	}
	if h.Redo() || !h.Unsaved() {
		t.Error("what was undone comes back, or an edit counts as saved")
	}
	for h.Undo() {
	}
	if h.Plan() != p || h.UndoLabel() != "" {
		t.Error("undo does not lead to the plan at the start")
	}
}

func TestSavingAChangedPlanWritesTheModelsItUses(t *testing.T) {
	own := `, "models": [{"id": "own", "lobes": [{"width_deg": 9.50, "up_deg": 1, "down_deg": 5, "range_m": 9}], "extra": true}]`
	sensor := feature("S1", "sensor", `, "model": "fan-30-40", "mount_height_m": 3, "bearing_deg": 0, "tilt_deg": 0`, pointGeo)
	p := readPlan(t, own, sensor)
	if p.Original() == nil || string(p.JSON()) != string(p.Original()) {
		t.Error("an untouched plan is written differently")
	}
	q, err := Change{Path: "title", Value: "t"}.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Pleach struct {
			Models []json.RawMessage
		}
	}
	if err := json.Unmarshal(q.JSON(), &doc); err != nil {
		t.Fatal(err)
	}
	fan, _ := p.Model("fan-30-40")
	if len(doc.Pleach.Models) != 2 || !strings.Contains(string(doc.Pleach.Models[0]), `"width_deg": 9.50`) || string(doc.Pleach.Models[1]) != string(fan.JSON()) {
		t.Errorf("models %s", doc.Pleach.Models)
	}
}

func TestAPropertySetByHandIsNoLongerAssumed(t *testing.T) {
	p := readPlan(t, "", feature("H1", "building", `, "height_m": 6, "assumed": ["height_m", "other"]`, areaGeo))
	for _, step := range []struct {
		value any
		want  []string
	}{{7, []string{"other"}}, {8, []string{"other"}}} {
		q, err := Set{ID: "H1", Values: []Value{{"height_m", step.value}}}.Apply(p)
		if err != nil {
			t.Fatal(err)
		}
		if got := q.Feature("H1").Assumed; !slices.Equal(got, step.want) {
			t.Errorf("assumed %q", got)
		}
		p = q
	}
	q, _ := Set{ID: "H1", Values: []Value{{"other", 1}}}.Apply(p)
	if _, ok := q.Feature("H1").Property("assumed"); ok {
		t.Error("an empty list of what is assumed is kept")
	}
}

func TestStatedTellsWhatThePlanSaysItself(t *testing.T) {
	p := readPlan(t, `, "title": "t", "radio": {"max_hops": 2, "polarisation": null}, "target": 5`)
	for path, want := range map[string]bool{"title": true, "date": false, "radio.max_hops": true, "radio.frequency_mhz": false, "radio.polarisation": false, "target.height_m": false, "postures": false, "radio": true} {
		if got := p.Stated(path); got != want {
			t.Errorf("%s: %v", path, got)
		}
	}
}

func TestNewIDsAreFree(t *testing.T) {
	p := readPlan(t, "", feature("S1", "sensor", `, "model": "sector-90-16", "mount_height_m": 3, "bearing_deg": 0, "tilt_deg": 0`, pointGeo),
		feature("S3", "pylon", "", pointGeo), feature("RX", "receiver", `, "antenna_height_m": 3`, pointGeo))
	for kind, want := range map[Kind]string{KindSensor: "S2", KindReceiver: "RX2", KindRepeater: "RP1", KindBuilding: "H1", KindBoundary: "B1"} {
		if got := p.NewID(kind); got != want {
			t.Errorf("%s: %s, want %s", kind, got, want)
		}
	}
}

func TestABearingIsTakenModulo360(t *testing.T) {
	for written, want := range map[string]float64{"-90": 270, "725": 5, "360": 0, "359.5": 359.5, "-0.0": 0} {
		f, _ := ReadFeature([]byte(feature("S1", "sensor", `, "model": "m", "mount_height_m": 3, "bearing_deg": `+written+`, "tilt_deg": 0`, pointGeo)), 0)
		if got := f.Value.(*Sensor).Bearing; got != want {
			t.Errorf("bearing_deg %s is %v, want %v", written, got, want)
		}
	}
}

func TestTheBuiltInModelsAreTheOnesTheContractNames(t *testing.T) {
	have := map[string]SensorModel{}
	for _, m := range Builtin() {
		have[m.ID] = m
	}
	for _, id := range []string{"sector-90-16", "sector-90-25", "fan-30-40", "curtain-4-63", "curtain-3-100"} {
		m, ok := have[id]
		lookDown := slices.ContainsFunc(m.Lobes, func(l Lobe) bool { return l.Up < 0 })
		if !ok || !lookDown || m.MountMin >= m.MountMax {
			t.Errorf("%s: %+v", id, m)
		}
		for _, l := range m.Lobes {
			if l.Up < 0 {
				continue
			}
			// Reaches of the main lobes: preferred numbers, ISO 3, series R5.
			if !slices.Contains([]float64{16, 25, 40, 63, 100}, l.Range) {
				t.Errorf("%s reaches %v m, which is no preferred number of ISO 3", id, l.Range)
			}
		}
	}
}

// The example of a model in section 2 of the contract.
func TestTheContractsModelIsBuiltIn(t *testing.T) {
	const example = `{"id": "curtain-4-63", "name": "Curtain, 4 degrees, 63 m", "mount_min_m": 2.5, "mount_max_m": 4,
 "lobes": [
   {"azimuth_deg": 0, "width_deg": 4, "up_deg": 1.5, "down_deg": 3, "range_m": 63},
   {"azimuth_deg": 0, "width_deg": 6, "up_deg": -3, "down_deg": 9, "range_m": 25},
   {"azimuth_deg": 0, "width_deg": 12, "up_deg": -9, "down_deg": 35, "range_m": 10}],
 "radio": {"erp_dbm": 10, "sensitivity_dbm": -105},
 "supply": {"capacity_mah": 14000, "cell_v": 3.6, "sleep_ua": 45, "message_mj": 60, "events_per_day": 50, "supervision_s": 3600, "self_discharge_per_year": 0.02}}`
	p := readPlan(t, "")
	m, _ := p.Model("curtain-4-63")
	var got, want any
	if err := json.Unmarshal(m.JSON(), &got); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal([]byte(example), &want); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("curtain-4-63 (-contract +program):\n%s", diff)
	}
}

func TestAnEditSharesTheListsOfKindsItLeavesAlone(t *testing.T) {
	p, err := Add{[]*Feature{
		NewFeature(KindBuilding, "H1", orb.Polygon{{{0, 0}, {1, 0}, {1, 1}, {0, 0}}}, Prop("height_m", 3)),
		NewFeature(KindRepeater, "RP1", orb.Point{0, 0}, Prop("antenna_height_m", 3)),
		NewFeature(KindRepeater, "RP2", orb.Point{0, 0}, Prop("antenna_height_m", 3)),
	}}.Apply(NewPlan())
	if err != nil {
		t.Fatal(err)
	}
	q, err := Reshape{ID: "RP2", To: orb.Point{1, 1}}.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := p.Of(KindBuilding), q.Of(KindBuilding); &a[0] != &b[0] {
		t.Error("the list of buildings is another after a repeater was moved")
	}
	a, b := p.Of(KindRepeater), q.Of(KindRepeater)
	if a[0] != b[0] || a[1] == b[1] || a[1] != p.Feature("RP2") || b[1] != q.Feature("RP2") {
		t.Error("of the two repeaters not the second alone is another")
	}
	flawed, err := Set{ID: "RP1", Values: []Value{{"antenna_height_m", -1}}}.Apply(q)
	if err != nil {
		t.Fatal(err)
	}
	if list := flawed.Of(KindRepeater); len(list) != 1 || list[0] != b[1] {
		t.Errorf("a flawed repeater is still among the sound ones: %v", list)
	}
	mended, err := Set{ID: "RP1", Values: []Value{{"antenna_height_m", 4}}}.Apply(flawed)
	if err != nil {
		t.Fatal(err)
	}
	if list := mended.Of(KindRepeater); len(list) != 2 || list[0].ID != "RP1" || len(mended.Of(KindBuilding, KindRepeater)) != 3 || len(mended.Of(Kinds...)) != 3 {
		t.Errorf("a mended repeater does not stand in its old place: %v", list)
	}
}
