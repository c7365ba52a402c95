package report

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/model/scene"
	"pleach/model/sitegrid"
)

func p[T any](v T) *T { return &v }

// result is a made-up result: nothing in it was computed.
func result(t testing.TB) *analysis.Result {
	t.Helper()
	plan := model.NewPlan(model.Prop("title", "Invented \"yard\" — north"), model.Prop("designer", "Nobody"),
		model.Prop("radio", map[string]any{"max_hops": 2, "shadowing_sd_db": 7}), model.Prop("base_map", map[string]any{"file": "a.jpg"}))
	sensor := func(id string, at orb.Point) *model.Feature {
		return model.NewFeature(model.KindSensor, id, at, model.Prop("model", "sector-90-25"), model.Prop("mount_height_m", 3),
			model.Prop("bearing_deg", 45), model.Prop("tilt_deg", 4.5))
	}
	plan, err := model.Add{Features: []*model.Feature{
		model.NewFeature(model.KindBoundary, "B1", orb.Polygon{{{7, 50}, {7.002, 50}, {7.002, 50.001}, {7, 50.001}, {7, 50}}}, model.Prop("name", "Fence")),
		model.NewFeature(model.KindBoundary, "B2", orb.LineString{{7, 50.01}, {7.0001, 50.01}}),
		model.NewFeature(model.KindBuilding, "H2", orb.Polygon{{{7, 50}, {7.0001, 50}, {7.0001, 50.0001}, {7, 50}}}, model.Prop("name", "Barn"), model.Prop("height_m", 6)),
		sensor("S1", orb.Point{7, 50}), sensor("S2", orb.Point{7.002, 50.001}),
		model.NewFeature(model.KindReceiver, "RX", orb.Point{7.001, 50.0005}, model.Prop("antenna_height_m", 6)),
	}}.Apply(plan)
	if err != nil {
		t.Fatal(err)
	}
	if flaws := plan.AllFlaws(); len(flaws) > 0 {
		t.Fatal(flaws)
	}
	gap := analysis.Gap{Span: coverage.Span{From: 312.36, To: 330.06}, Length: 17.7, Cause: coverage.Hidden, By: []string{"H2"}, Middle: orb.Point{10, -20}}
	through0 := analysis.Gap{Span: coverage.Span{From: 505.25, To: 1.5}, Length: 2.55, Cause: coverage.Under, Middle: orb.Point{-70, -55}}
	clockwise := orb.Ring{{0, 0}, {0, 10}, {10, 10}, {10, 0}, {0, 0}}
	hole := orb.Ring{{2, 2}, {4, 2}, {4, 4}, {2, 4}} // anticlockwise and not closed
	at := orb.Point{7.0005, 50.00025}
	return &analysis.Result{
		Plan: plan, Scene: scene.New(plan),
		Boundaries: []analysis.Boundary{
			{ID: "B1", Length: 508.98, Closed: 20, Target: analysis.Coverage{Name: "target", Covered: 468.73, Share: p(468.73 / 488.98), Overlap: 31.25, Gaps: []analysis.Gap{gap, through0}},
				Postures: []analysis.Coverage{{Name: "crawl", Covered: 100, Share: p(100 / 488.98), Gaps: []analysis.Gap{gap}}}},
			{ID: "B2", Length: 7, Closed: 7, Target: analysis.Coverage{Name: "target"}, Postures: []analysis.Coverage{{Name: "crawl"}}},
		},
		Sensors: []analysis.Sensor{
			{ID: "S1", Footprint: orb.MultiPolygon{{clockwise, hole}}, Area: 96, Near: p(1.62), Far: p(24.87), Foliage: 3.25, FoliageAt25: 81.25, Overspill: []analysis.Overspill{
				{Class: "open", For: "person", Area: 12.5, Depth: p(3.0)}, {Class: "road", On: "R1", For: "vehicle", Area: 40}},
				Route: []string{"S1", "RX"}, Margin: p(33.4)},
			{ID: "S2"},
		},
		Links: []analysis.Link{
			{From: "S1", To: "RX", Distance: 90.4, FreeSpace: 70.35, Diffraction: 1.25, SingleEdge: 0.5, Installation: 6, Loss: 71.6, Clearance: 0.42, Received: -71.65, Margin: 33.35, Required: 16.3, Probability: 0.99999, InUse: true},
			{From: "S2", To: "RX", Distance: 95, Loss: 140, Clearance: -1.5, Margin: -12, Required: 16.3, Probability: 0.04},
		},
		Findings: []model.Finding{
			{Rule: "gap", Severity: model.Fault, Subject: []string{"B1"}, At: &at, Text: "Gap 1.", Remedy: "Move a sensor.", From: p(312.36), To: p(330.06)},
			{Rule: "gap", Severity: model.Fault, Subject: []string{"B1"}, At: &at, Text: "Gap 2.", Remedy: "Accept it.", From: p(505.25), To: p(1.5),
				Accepted: &model.Accepted{Rule: "gap", Subject: []string{"B1"}, From: p(505.0), To: p(2.0), Reason: "guarded", By: "N. N."}},
			{Rule: "gap", Severity: model.Warning, Subject: []string{"B1"}, Text: "Gap for the posture crawl.", Remedy: "Move a sensor.", Posture: "crawl", From: p(312.36), To: p(330.06)},
			{Rule: "unproved", Severity: model.Note, Subject: []string{"S1"}, Text: "No walk test.", Remedy: "Walk."},
		},
	}
}

func report(t testing.TB, r *analysis.Result) (map[string]any, string) {
	t.Helper()
	var b bytes.Buffer
	if err := JSON(&b, "yard.geojson", r); err != nil {
		t.Fatal(err)
	}
	var m map[string]any
	if err := json.Unmarshal(b.Bytes(), &m); err != nil {
		t.Fatalf("%v\n%s", err, b.String())
	}
	return m, b.String()
}

// at walks into a report: at(m, "boundaries", 0, "gaps").
func at(t testing.TB, v any, path ...any) any {
	t.Helper()
	for _, step := range path {
		switch s := step.(type) {
		case string:
			m, ok := v.(map[string]any)
			if !ok {
				t.Fatalf("no object to look for %q in", s)
			}
			if v, ok = m[s]; !ok {
				t.Fatalf("no member %q", s)
			}
		case int:
			v = v.([]any)[s]
		}
	}
	return v
}

// The members are those of section 6 of the contract, typed in from there.
func TestEveryMemberTheContractNamesIsInTheReport(t *testing.T) {
	m, _ := report(t, result(t))
	for _, row := range []struct {
		path    []any
		members string
	}{
		{nil, "version plan settings site_grid boundaries sensors links findings"},
		{[]any{"site_grid"}, "lon_0 lat_0"},
		{[]any{"boundaries", 0}, "id length_m closed_m covered_m covered_share overlap_m gaps postures"},
		{[]any{"boundaries", 0, "gaps", 0}, "from_m to_m length_m cause by middle"},
		{[]any{"boundaries", 0, "postures", 0}, "name covered_m covered_share overlap_m gaps"},
		{[]any{"sensors", 0}, "id footprint_m2 footprint near_m far_m foliage_m2 overspill route margin_db"},
		{[]any{"sensors", 0, "overspill", 0}, "class on for area_m2 depth_m"},
		{[]any{"links", 0}, "from to distance_m free_space_db diffraction_db single_edge_db vegetation_db building_db installation_db loss_db clearance received_dbm margin_db probability in_use"},
		{[]any{"findings", 0}, "rule severity subject at text remedy"},
	} {
		o, ok := at(t, m, row.path...).(map[string]any)
		if !ok {
			t.Fatalf("%v is no object", row.path)
		}
		for _, name := range strings.Fields(row.members) {
			if _, ok := o[name]; !ok {
				t.Errorf("%v has no member %s", row.path, name)
			}
		}
	}
}

func TestFiguresStandInTheReportAsTheyAre(t *testing.T) {
	m, _ := report(t, result(t))
	for _, row := range []struct {
		want any
		path []any
	}{
		{1.0, []any{"version"}},
		{"yard.geojson", []any{"plan"}},
		{508.98, []any{"boundaries", 0, "length_m"}},
		{20.0, []any{"boundaries", 0, "closed_m"}},
		{468.73, []any{"boundaries", 0, "covered_m"}},
		{0.958587, []any{"boundaries", 0, "covered_share"}},
		{31.25, []any{"boundaries", 0, "overlap_m"}},
		{"hidden", []any{"boundaries", 0, "gaps", 0, "cause"}},
		{"H2", []any{"boundaries", 0, "gaps", 0, "by", 0}},
		{505.25, []any{"boundaries", 0, "gaps", 1, "from_m"}},
		{1.5, []any{"boundaries", 0, "gaps", 1, "to_m"}},
		{2.55, []any{"boundaries", 0, "gaps", 1, "length_m"}},
		{"crawl", []any{"boundaries", 0, "postures", 0, "name"}},
		{nil, []any{"boundaries", 1, "covered_share"}},
		{1.62, []any{"sensors", 0, "near_m"}},
		{3.25, []any{"sensors", 0, "foliage_m2"}},
		{81.25, []any{"sensors", 0, "foliage_at_25_m_m2"}},
		{24.87, []any{"sensors", 0, "far_m"}},
		{nil, []any{"sensors", 1, "near_m"}},
		{nil, []any{"sensors", 1, "far_m"}},
		{nil, []any{"sensors", 1, "route"}},
		{nil, []any{"sensors", 1, "margin_db"}},
		{"RX", []any{"sensors", 0, "route", 1}},
		{33.4, []any{"sensors", 0, "margin_db"}},
		{nil, []any{"sensors", 0, "overspill", 0, "on"}},
		{3.0, []any{"sensors", 0, "overspill", 0, "depth_m"}},
		{"R1", []any{"sensors", 0, "overspill", 1, "on"}},
		{nil, []any{"sensors", 0, "overspill", 1, "depth_m"}},
		{"MultiPolygon", []any{"sensors", 1, "footprint", "type"}},
		{-71.65, []any{"links", 0, "received_dbm"}},
		{0.99999, []any{"links", 0, "probability"}},
		{true, []any{"links", 0, "in_use"}},
		{false, []any{"links", 1, "in_use"}},
		{7.0005, []any{"findings", 0, "at", 0}},
		{50.00025, []any{"findings", 0, "at", 1}},
		{nil, []any{"findings", 3, "at"}},
		{"guarded", []any{"findings", 1, "accepted", "reason"}},
		{505.0, []any{"findings", 1, "accepted", "from_m"}},
		{312.36, []any{"findings", 0, "from_m"}},
		{"crawl", []any{"findings", 2, "posture"}},
		{"Invented \"yard\" — north", []any{"settings", "title"}},
	} {
		if got := at(t, m, row.path...); got != row.want {
			t.Errorf("%v is %v, want %v", row.path, got, row.want)
		}
	}
	for _, path := range [][]any{{"sensors", 1, "overspill"}, {"boundaries", 1, "gaps"}, {"sensors", 1, "footprint", "coordinates"}, {"boundaries", 0, "gaps", 1, "by"}} {
		if list, ok := at(t, m, path...).([]any); !ok || len(list) != 0 {
			t.Errorf("%v is not an empty list", path)
		}
	}
	// No finding is accepted that nobody accepted.
	if _, ok := at(t, m, "findings", 0).(map[string]any)["accepted"]; ok {
		t.Error("an open finding carries accepted")
	}
}

func TestAreasLieAsRFC7946Asks(t *testing.T) {
	r := result(t)
	m, text := report(t, r)
	rings := at(t, m, "sensors", 0, "footprint", "coordinates", 0).([]any)
	if len(rings) != 2 {
		t.Fatalf("%d rings", len(rings))
	}
	area := func(ring []any) (sum float64) {
		for i := 0; i+1 < len(ring); i++ {
			a, b := ring[i].([]any), ring[i+1].([]any)
			sum += a[0].(float64)*b[1].(float64) - b[0].(float64)*a[1].(float64)
		}
		return sum
	}
	for i, want := range []bool{true, false} {
		ring := rings[i].([]any)
		first, last := ring[0].([]any), ring[len(ring)-1].([]any)
		if len(ring) != 5 || first[0] != last[0] || first[1] != last[1] {
			t.Errorf("ring %d is not closed: %v", i, ring)
		}
		if (area(ring) > 0) != want {
			t.Errorf("ring %d runs anticlockwise: %v, want %v", i, !want, want)
		}
	}
	// Nine decimals: the corner at 10, 10 m is there to within 1e-9 degrees.
	want := r.Scene.Grid.ToLonLat(orb.Point{10, 10})
	if !slices.ContainsFunc(rings[0].([]any), func(v any) bool {
		q := v.([]any)
		return math.Abs(q[0].(float64)-want[0]) <= 0.6e-9 && math.Abs(q[1].(float64)-want[1]) <= 0.6e-9
	}) {
		t.Errorf("corner %v is not in %v", want, rings[0])
	}
	if strings.Contains(text, "e-") || strings.Contains(text, "e+") {
		t.Error("a number stands with an exponent")
	}
}

func TestEverySettingInForceIsInTheReport(t *testing.T) {
	r := result(t)
	m, _ := report(t, r)
	for path, want := range map[string]any{
		"target.height_m": 1.7, "target.min_visible": 0.5, "crossing.depth_m": 10.0, "crossing.min_path_m": 0.5, "overspill.min_visible": 0.1,
		"overspill.vehicle_height_m": 4.0, "overspill.vehicle_range_factor": 3.0, "radio.frequency_mhz": 868.3, "radio.polarisation": "V",
		"radio.effective_radius_km": 8500.0, "radio.shadowing_sd_db": 7.0, "radio.reliability": 0.99, "radio.required_margin_db": nil, "radio.max_hops": 2.0,
		"way_in.probability": 0.9, "way_in.width_m": 10.0, "response.time_s": nil, "response.sd_share": 0.3, "response.communication": 0.95,
		"response.speed_m_s": 3.0, "response.task_s": 0.0,
		"north.declination_deg": 0.0, "title": "Invented \"yard\" — north", "designer": "Nobody", "date": "", "base_map.file": "a.jpg", "terrain": nil,
		"defaults.boundary.height_m": 2.0, "defaults.gate.width_m": 4.0, "defaults.road.width_m": 6.0, "defaults.footpath.width_m": 2.0,
		"defaults.foliage.density": "medium", "defaults.foliage.in_leaf": true, "defaults.obstacle.delay_s": 0.0, "defaults.obstacle.see_through": false,
		"defaults.radio.sensor.antenna_gain_dbi": -3.0, "defaults.radio.receiver.antenna_gain_dbi": 2.15, "defaults.radio.repeater.installation_loss_db": 6.0,
		"defaults.shadowing_sd_db.open": 6.0, "defaults.shadowing_sd_db.obstructed": 8.0, "defaults.import.building_height_m": 6.0,
		"defaults.import.storey_height_m": 3.0, "defaults.import.foliage_height_m": 10.0,
	} {
		var steps []any
		for _, s := range strings.Split(path, ".") {
			steps = append(steps, s)
		}
		if got := at(t, at(t, m, "settings"), steps...); got != want {
			t.Errorf("%s is %v, want %v", path, got, want)
		}
	}
	// 7 dB times 2.326348, the 99 % quantile of the normal distribution
	// (Abramowitz and Stegun, table 26.5, from memory).
	if got := at(t, m, "settings", "defaults", "required_margin_db", "open").(float64); math.Abs(got-7*2.326348) > 1e-4 {
		t.Errorf("required margin %v", got)
	}
	for _, s := range model.SettingsTable {
		steps := []any{"settings"}
		for _, step := range strings.Split(s.Path, ".") {
			steps = append(steps, step)
		}
		at(t, m, steps...)
	}
	if got := at(t, m, "settings", "postures", 0, "height_m"); got != 0.35 {
		t.Errorf("further posture %v m high", got)
	}
	chosen, stated := at(t, m, "settings", "chosen").([]any), at(t, m, "settings", "stated").([]any)
	for _, path := range []any{"target.height_m", "crossing.depth_m", "overspill.vehicle_height_m", "radio.reliability", "postures"} {
		if !slices.Contains(chosen, path) || slices.Contains(stated, path) {
			t.Errorf("%v is not said to be chosen", path)
		}
	}
	for _, path := range []any{"radio.max_hops", "radio.shadowing_sd_db", "title"} {
		if slices.Contains(chosen, path) || !slices.Contains(stated, path) {
			t.Errorf("%v is not said to be the plan's own", path)
		}
	}
	models := at(t, m, "settings", "models").([]any)
	if len(models) != len(model.Builtin()) {
		t.Errorf("%d models", len(models))
	}
}

func TestWhatIsNotANumberIsNullAndNeverBreaksTheReport(t *testing.T) {
	r := result(t)
	r.Links[0].Margin, r.Links[0].Loss = math.Inf(-1), math.NaN()
	m, _ := report(t, r)
	if at(t, m, "links", 0, "margin_db") != nil || at(t, m, "links", 0, "loss_db") != nil {
		t.Error("not null")
	}
}

// Coordinates stand to 9 decimals (contract, section 1), the origin of the site
// grid too, and nought has no sign.
func TestNoFigureHasMoreThanNineDecimalsAndNoughtNoSign(t *testing.T) {
	r := result(t)
	r.Scene.Grid = sitegrid.New(24.900041598654, -33.200007066812)
	r.Links[0].Required = math.Copysign(0, -1)
	r.Study = &analysis.Study{Seconds: make([]*analysis.Second, 2), Mends: make([]*analysis.Mend, 2),
		Worst: []*analysis.Worst{{Name: analysis.AsPlanned, Margin: 3, Required: math.Copysign(0, -1), Probability: 0.9}, nil}}
	m, text := report(t, r)
	if got := at(t, m, "site_grid", "lon_0"); got != 24.900041599 {
		t.Errorf("lon_0 %v, want 24.900041599", got)
	}
	if got := at(t, m, "site_grid", "lat_0"); got != -33.200007067 {
		t.Errorf("lat_0 %v, want -33.200007067", got)
	}
	if long := regexp.MustCompile(`[^"\s]*\.\d{10,}`).FindString(text); long != "" {
		t.Errorf("%s has more than 9 decimals", long)
	}
	if minus := regexp.MustCompile(`"[a-z_]+":-0[,}]`).FindString(text); minus != "" {
		t.Errorf("%s: a nought with a sign", minus)
	}
}

var golden = flag.Bool("golden", os.Getenv("PLEACH_GOLDEN") == "1", "write the expected files anew")

func TestAssetsAreCountedAmongWhatWasChecked(t *testing.T) {
	r := result(t)
	plan, err := model.Add{Features: []*model.Feature{model.NewFeature(model.KindAsset, "A1", orb.Point{7.001, 50.0004})}}.Apply(r.Plan)
	if err != nil {
		t.Fatal(err)
	}
	r.Plan, r.Scene = plan, scene.New(plan)
	var b bytes.Buffer
	if err := Text(&b, "yard.geojson", r, Width); err != nil {
		t.Fatal(err)
	}
	if want := "Checked: 2 boundaries, 2 sensors, 1 receiver, 1 building, 1 asset."; !strings.Contains(b.String(), want) {
		t.Errorf("%q is not in\n%s", want, b.String())
	}
}

func TestTheTextReadsAsExpected(t *testing.T) {
	var b bytes.Buffer
	if err := Text(&b, "yard.geojson", result(t), Width); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join("testdata", "text.txt")
	if *golden {
		if err := os.MkdirAll("testdata", 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := strings.Split(b.String(), "\n"), strings.Split(string(want), "\n"); !slices.Equal(got, want) {
		for i := range min(len(got), len(want)) {
			if got[i] != want[i] {
				t.Fatalf("line %d is\n%s\nwant\n%s", i+1, got[i], want[i])
			}
		}
		t.Fatalf("%d lines, want %d", len(got), len(want))
	}
}

func TestProseKeepsToTheWidth(t *testing.T) {
	r := result(t)
	r.Findings[0].Text = strings.Repeat("A sentence of some length. ", 20)
	r.Findings[0].Remedy = strings.Repeat("Do this. ", 40)
	for _, width := range []int{60, 80, 100} {
		var b bytes.Buffer
		if err := Text(&b, "yard.geojson", r, width); err != nil {
			t.Fatal(err)
		}
		for _, l := range strings.Split(b.String(), "\n") {
			table := strings.Contains(strings.TrimSpace(l), "  ")
			if n := utf8.RuneCountInString(l); n > width && !table {
				t.Errorf("width %d: a line of %d: %s", width, n, l)
			}
		}
	}
}

func TestManyFindingsOfARuleAreNotAllPrintedButFaultsAre(t *testing.T) {
	r := result(t)
	r.Findings = nil
	for _, s := range []model.Severity{model.Fault, model.Warning, model.Note} {
		for i := range 42 {
			r.Findings = append(r.Findings, model.Finding{Rule: "rule", Severity: s, Text: string(s) + " " + strings.Repeat("x", i+1) + "."})
		}
	}
	var b bytes.Buffer
	if err := Text(&b, "yard.geojson", r, Width); err != nil {
		t.Fatal(err)
	}
	for s, want := range map[string]int{"rule: fault x": 42, "rule: warning x": shown, "rule: note x": shown, "… and 17 more like these (rule)": 2} {
		if n := strings.Count(b.String(), s); n != want {
			t.Errorf("%q stands %d times, want %d", s, n, want)
		}
	}
	if !strings.Contains(b.String(), "Found: 42 faults, 42 warnings, 42 notes.") {
		t.Error("the counts are not those of all findings")
	}
}

func TestFiguresAreSaidAsAnEngineerSaysThem(t *testing.T) {
	for _, row := range []struct{ got, want string }{
		{metres(0), "0 m"}, {metres(0.04), "0 m"}, {metres(2.66), "2.7 m"}, {metres(9.94), "9.9 m"}, {metres(9.96), "10 m"}, {metres(412.4), "412 m"},
		{metres(1240.6), "1 241 m"}, {metres(1234567), "1 234 567 m"}, {metres(-3.25), "-3.3 m"}, {metres(-1200), "-1 200 m"},
		{squareMetres(0.04), "0 m²"}, {squareMetres(12.4), "12 m²"}, {area(76123), "7.6 ha"}, {area(9999), "9 999 m²"},
		{degrees(2.5), "2.5°"}, {degrees(45), "45°"}, {degrees(-0.01), "0°"}, {decibels(13.6), "14 dB"}, {decibels(-0.3), "0 dB"}, {decibels(-12.5), "-13 dB"},
		{share(1), "100 %"}, {share(0), "0 %"}, {share(0.9996), "99.9 %"}, {share(0.997), "99.7 %"}, {share(0.942), "94 %"}, {share(0.001), "under 1 %"},
		{chainage(312.36, 330.06, 17.7), "312 to 330 m"}, {chainage(312.36, 315.06, 2.7), "312.4 to 315.1 m"}, {chainage(505.25, 1.5, 2.55), "505.3 to 1.5 m, through 0"},
		{measure(868.3, "MHz"), "868.3 MHz"}, {measure(0, "°"), "0°"}, {measure(0.5, ""), "0.5"},
		{count(1, "fault", "faults"), "1 fault"}, {count(0, "fault", "faults"), "0 faults"}, {visible(0.5), "half of it"}, {visible(0.3), "30 % of it"},
	} {
		if row.got != row.want {
			t.Errorf("%q, want %q", row.got, row.want)
		}
	}
}

func BenchmarkJSON(b *testing.B) {
	r := result(b)
	ring := make(orb.Ring, 400)
	for i := range ring {
		a := 2 * math.Pi * float64(i) / 400
		ring[i] = orb.Point{30 * math.Cos(a), 30 * math.Sin(a)}
	}
	s := r.Sensors[0]
	s.Footprint = orb.MultiPolygon{{ring}}
	r.Sensors = slices.Repeat([]analysis.Sensor{s}, 200)
	r.Links = slices.Repeat(r.Links, 300)
	b.ReportAllocs()
	for b.Loop() {
		if err := JSON(discard{}, "p", r); err != nil {
			b.Fatal(err)
		}
	}
}

type discard struct{}

func (discard) Write(p []byte) (int, error) { return len(p), nil }
