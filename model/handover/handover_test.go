package handover

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/layer"
	"pleach/model/scene"
	"pleach/testdata/site"
)

func run(t *testing.T, s *site.Site) *analysis.Result {
	t.Helper()
	r, err := analysis.RunOn(context.Background(), scene.On(s.Plan(t), site.Grid), nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func table(t *testing.T, r *analysis.Result, name string) layer.Table {
	t.Helper()
	for _, x := range Tables(r) {
		if x.Name == name {
			return x
		}
	}
	t.Fatalf("there is no table %s", name)
	return layer.Table{}
}

// rows spells the rows of a table.
func rows(x layer.Table) (out []string) {
	for _, r := range x.Rows {
		out = append(out, fmt.Sprint(r...))
	}
	return out
}

func wired() *site.Site {
	s := &site.Site{}
	s.Building("H1", site.Box(20, -5, 30, 5), 6)
	s.Sensor("S1", orb.Point{0, 0}, "curtain-4-63", 3, 0, 2, model.Prop("zone", "North"), model.Prop("address", 9))
	s.Sensor("S2", orb.Point{20, 0}, "curtain-4-63", 3, 270, 2, model.Prop("zone", "Hall"))
	s.Sensor("S3", orb.Point{0, 40}, "sector-90-25", 3, 0, 2, model.Prop("zone", "North"), model.Prop("address", 2))
	s.Add(model.KindRepeater, "RP1", orb.Point{0, 20}, model.Prop("antenna_height_m", 5), model.Prop("address", 5))
	s.Add(model.KindReceiver, "RX", orb.Point{10, 20}, model.Prop("antenna_height_m", 6), model.Prop("outputs", []map[string]any{
		{"zone": "North", "type": "relay", "number": "3", "input": "7", "preset": "P2"}, {"zone": "Spare", "type": "ip", "number": "1"}}))
	return s
}

func TestZonesAndOutputsAreCheckedBothWays(t *testing.T) {
	got := rows(table(t, run(t, wired()), "zones"))
	want := []string{
		fmt.Sprint("Hall", "S2", nil, nil, nil, nil, nil, "no output for this zone"),
		fmt.Sprint("North", "S1, S3", "RX", "relay", "3", "7", "P2", nil),
		fmt.Sprint("Spare", nil, "RX", "IP", "1", nil, nil, "no sensor is in this zone"),
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestAddressesStandInOrderAndThoseMissingLast(t *testing.T) {
	var got []any
	for _, r := range table(t, run(t, wired()), "addresses").Rows {
		got = append(got, r[0], r[1], r[2])
	}
	// Of 8 switches, the first the highest bit: 2 is the seventh alone, 5 = 4 + 1, 9 = 8 + 1.
	if want := []any{2, "7", "S3", 5, "6, 8", "RP1", 9, "5, 8", "S1", nil, nil, "S2"}; fmt.Sprint(got...) != fmt.Sprint(want...) {
		t.Errorf("%v, want %v", got, want)
	}
}

func TestTheBillAndTheBatteriesStandInTables(t *testing.T) {
	r := run(t, wired())
	got := map[string]int{}
	for _, r := range table(t, r, "bill").Rows {
		got[r[0].(string)] = r[6].(int)
	}
	// Devices and batteries with a spare each.
	want := map[string]int{"curtain-4-63": 3, "sector-90-25": 2, "repeater": 2, "receiver": 2, "battery-3.6v-14000mah": 4, "output-relay": 1, "output-ip": 1,
		"post-3.0": 2, "post-5.0": 1, "post-6.0": 1, "wall-mount": 1}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%v, want %v", got, want)
	}
	b := table(t, r, "batteries").Rows
	if len(b) != 4 || b[3][0] != "RP1" || b[3][10] != "no supply stated" || b[3][7] != nil || b[0][7] == nil {
		t.Errorf("batteries: %v", b)
	}
}

func TestTheMagneticBearingIsToldWhereTheDeclinationIs(t *testing.T) {
	s := wired()
	if v := table(t, run(t, s), "sensors").Rows[0][8]; v != nil {
		t.Errorf("magnetic bearing %v without a declination", v)
	}
	// 4 degrees east: the needle points 4 degrees to the right of true north, so a
	// true bearing of 0 reads 356 on a compass.
	s.Set("north", map[string]any{"declination_deg": 4})
	if v := table(t, run(t, s), "sensors").Rows[0][8]; v != 356.0 {
		t.Errorf("magnetic bearing %v, want 356", v)
	}
}

func TestARibbonIsAsWideAsItsLineSays(t *testing.T) {
	for _, row := range []struct {
		line orb.LineString
		area float64
	}{
		{orb.LineString{{0, 0}, {10, 0}}, 40},
		{orb.LineString{{0, 0}, {10, 0}, {10, 10}}, 80},           // a mitred corner gains outside what it loses inside
		{orb.LineString{{0, 0}, {10, 0}, {10, 0}, {20, 0}}, 80},   // a point that stands twice
		{orb.LineString{{0, 0}, {5, 0}, {10, 5}, {15, 5}}, 68.28}, // 4 × (10 + 5√2)
	} {
		if got := math.Abs(planar.Area(ribbon(row.line, 4))); math.Abs(got-row.area) > 0.01 {
			t.Errorf("%v: area %v, want %v", row.line, got, row.area)
		}
	}
	if ribbon(orb.LineString{{1, 1}, {1, 1}}, 4) != nil {
		t.Error("a line of one point has a ribbon")
	}
}

func TestWhatWasReadOnSiteStandsInATable(t *testing.T) {
	s := wired()
	of, what := func(ids ...string) model.Member { return model.Prop("of", ids) }, func(w string) model.Member { return model.Prop("what", w) }
	s.Add(model.KindReading, "M1", nil, of("S1", "RX"), what("signal"), model.Prop("value", -60.5), model.Prop("unit", "dBm"), model.Prop("at", "2027-04-30T09:30:00Z"), model.Prop("by", "A. Reader"))
	s.Add(model.KindReading, "M2", nil, of("S1", "RX"), what("signal"), model.Prop("value", -5), model.Prop("unit", "dBm"))
	s.Add(model.KindReading, "M3", nil, of("S1"), what("walk-test"), model.Prop("value", map[string]int{"detected": 29}))
	s.Add(model.KindReading, "M4", nil, of("S1"), what("soak"), model.Prop("value", "quiet"))
	r, err := analysis.WithRadioStudy(context.Background(), run(t, s))
	if err != nil {
		t.Fatal(err)
	}
	got := table(t, r, "readings").Rows
	if len(got) != 4 {
		t.Fatalf("%v", got)
	}
	p := r.Calibration.Fit.Points[0].Reading
	if fmt.Sprint(got[0]) != fmt.Sprint([]any{"M1", "signal", "S1, RX", -60.5, "dBm", "2027-04-30T09:30:00Z", "A. Reader", p.Class, p.PredictedDBm, -60.5 - p.PredictedDBm, nil}) {
		t.Errorf("%v", got[0])
	}
	if why, _ := got[1][10].(string); got[1][8] != p.PredictedDBm || why == "" {
		t.Errorf("set aside: %v", got[1])
	}
	if got[2][3] != `{"detected": 29}` && got[2][3] != `{"detected":29}` || got[2][8] != nil || got[3][3] != "quiet" {
		t.Errorf("%v, %v", got[2], got[3])
	}
}
