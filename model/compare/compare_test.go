package compare_test

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/compare"
	"pleach/model/coverage"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/testdata/site"
)

// yard is a square of 60 m watched along its southern side, with a receiver.
func yard() *site.Site {
	s := &site.Site{}
	s.Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-30, -30, 30, 30)})
	s.Sensor("S1", orb.Point{-29, -29}, "curtain-4-63", 3, 90, 2, model.Prop("name", "South"), model.Prop("address", 1))
	s.Sensor("S2", orb.Point{29, 29}, "curtain-4-63", 3, 270, 2)
	s.Add(model.KindReceiver, "RX", orb.Point{0, 0}, model.Prop("antenna_height_m", 6))
	return s
}

func run(t *testing.T, p *model.Plan) *analysis.Result {
	t.Helper()
	r, err := analysis.RunOn(context.Background(), scene.On(p, site.Grid), nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func edited(t *testing.T, p *model.Plan, edits ...model.Edit) *model.Plan {
	t.Helper()
	for _, e := range edits {
		var err error
		if p, err = e.Apply(p); err != nil {
			t.Fatal(err)
		}
	}
	return p
}

func TestAPlanComparedWithItselfChangedInNothing(t *testing.T) {
	r := run(t, yard().Plan(t))
	c := compare.Plans(r, r)
	if !c.Empty() {
		t.Errorf("changes: %+v", c)
	}
	var b bytes.Buffer
	if err := c.Text(&b, "a", "b"); err != nil || !strings.Contains(b.String(), "Nothing changed") {
		t.Errorf("text %q, %v", b.String(), err)
	}
}

func TestAMoveIsToldByItsDistanceAndDirection(t *testing.T) {
	before := yard().Plan(t)
	for _, row := range []struct{ dx, dy, distance, direction float64 }{{3, 4, 5, 36.869898}, {-2, 0, 2, 270}, {0, -0.5, 0.5, 180}} {
		after := &site.Site{}
		after.Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-30, -30, 30, 30)})
		after.Sensor("S1", orb.Point{-29 + row.dx, -29 + row.dy}, "curtain-4-63", 3, 90, 2, model.Prop("name", "South"), model.Prop("address", 1))
		after.Sensor("S2", orb.Point{29, 29}, "curtain-4-63", 3, 270, 2)
		after.Add(model.KindReceiver, "RX", orb.Point{0, 0}, model.Prop("antenna_height_m", 6))
		c := compare.Plans(run(t, before), run(t, after.Plan(t)))
		if len(c.Moved) != 1 || c.Moved[0].ID != "S1" || math.Abs(c.Moved[0].Distance-row.distance) > 1e-4 || math.Abs(c.Moved[0].Direction-row.direction) > 0.01 {
			t.Errorf("moved by %v, %v: %+v", row.dx, row.dy, c.Moved)
		}
		if len(c.Aimed)+len(c.Added)+len(c.Removed)+len(c.Changed) != 0 {
			t.Errorf("a move alone told %+v", c)
		}
	}
}

func TestWhatIsGainedAndLostAddsUpToTheChangeOfWhatIsCovered(t *testing.T) {
	before := run(t, yard().Plan(t))
	after := &site.Site{}
	after.Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-30, -30, 30, 30)})
	after.Sensor("S1", orb.Point{-29, -29}, "curtain-4-63", 4, 0, 3, model.Prop("name", "West"), model.Prop("address", 4))
	after.Sensor("S3", orb.Point{29, -29}, "sector-90-25", 3, 315, 5)
	after.Add(model.KindReceiver, "RX", orb.Point{0, 0}, model.Prop("antenna_height_m", 6))
	now := run(t, after.Plan(t))
	c := compare.Plans(before, now)
	if len(c.Boundaries) != 1 || c.Boundaries[0].Redrawn || len(c.Boundaries[0].Postures) == 0 {
		t.Fatalf("boundaries: %+v", c.Boundaries)
	}
	p := c.Boundaries[0].Postures[0]
	b, a := before.Boundaries[0].Target, now.Boundaries[0].Target
	// Pieces under 0.1 m are left out: there are fewer than ten.
	if d := p.GainedLength() - p.LostLength() - (a.Covered - b.Covered); math.Abs(d) > 1 || p.GainedLength() < 5 || p.LostLength() < 5 {
		t.Errorf("gained %.2f, lost %.2f, covered %.2f before and %.2f now", p.GainedLength(), p.LostLength(), b.Covered, a.Covered)
	}
	// Point by point: what was gained is covered now and was not.
	covered := func(c analysis.Coverage, s float64) bool {
		for _, x := range c.Stretches {
			if x.From <= s && s < x.To {
				return x.State == coverage.Covered
			}
		}
		return false
	}
	for _, s := range p.Gained {
		if m := s.Middle(240); covered(b, m) || !covered(a, m) {
			t.Errorf("gained %v: covered %v before, %v now", s, covered(b, m), covered(a, m))
		}
	}
	for _, s := range p.Lost {
		if m := s.Middle(240); !covered(b, m) || covered(a, m) {
			t.Errorf("lost %v: covered %v before, %v now", s, covered(b, m), covered(a, m))
		}
	}
	if len(c.Added) != 1 || c.Added[0].ID != "S3" || len(c.Removed) != 1 || c.Removed[0].ID != "S2" {
		t.Errorf("added %+v, removed %+v", c.Added, c.Removed)
	}
	var told []string
	for _, x := range append(c.Aimed, c.Changed...) {
		for _, v := range x.Values {
			told = append(told, v.Property)
		}
	}
	if got := strings.Join(told, " "); got != "bearing_deg tilt_deg mount_height_m antenna_height_m name address" {
		t.Errorf("told of S1: %s", got)
	}
	states := map[string]int{}
	for _, l := range c.Links {
		switch {
		case l.Before == nil:
			states["new "+l.From]++
		case l.After == nil:
			states["gone "+l.From]++
		}
	}
	if states["new S3"] != 1 || states["gone S2"] != 1 {
		t.Errorf("links: %v", states)
	}
}

func TestARedrawnBoundaryHasNoComparableChainage(t *testing.T) {
	after := &site.Site{}
	after.Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-30, -30, 35, 30)})
	after.Add(model.KindBoundary, "B2", orb.LineString{{40, 0}, {40, 20}})
	after.Sensor("S1", orb.Point{-29, -29}, "curtain-4-63", 3, 90, 2, model.Prop("name", "South"), model.Prop("address", 1))
	after.Sensor("S2", orb.Point{29, 29}, "curtain-4-63", 3, 270, 2)
	after.Add(model.KindReceiver, "RX", orb.Point{0, 0}, model.Prop("antenna_height_m", 6))
	c := compare.Plans(run(t, yard().Plan(t)), run(t, after.Plan(t)))
	if len(c.Boundaries) != 2 || !c.Boundaries[0].Redrawn || c.Boundaries[1].Old || !c.Boundaries[1].New {
		t.Fatalf("boundaries: %+v", c.Boundaries)
	}
	for _, p := range c.Boundaries[0].Postures {
		if p.Gained != nil || p.Lost != nil {
			t.Errorf("%q: gained %v, lost %v", p.Posture, p.Gained, p.Lost)
		}
	}
	if len(c.Site.Changed) != 1 || len(c.Site.Added) != 1 {
		t.Errorf("site: %+v", c.Site)
	}
}

func TestTheReportForProgramsHoldsANameThatChangedAndHostileOnes(t *testing.T) {
	hostile := "=cmd|'/C' \"<x>\"\nline"
	before := run(t, yard().Plan(t))
	p := before.Plan
	after := run(t, edited(t, p, model.Set{ID: "S1", Values: []model.Value{{Property: "name", Value: hostile}}}))
	var b, text bytes.Buffer
	c := compare.Plans(before, after)
	if err := c.JSON(&b, "old", "new"); err != nil {
		t.Fatal(err)
	}
	var got struct {
		Changed []struct {
			ID, Name string
			Values   map[string]struct{ Before, After any }
		}
	}
	if err := json.Unmarshal(b.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Changed) != 1 || got.Changed[0].Name != hostile || got.Changed[0].Values["name"].Before != "South" || got.Changed[0].Values["name"].After != hostile {
		t.Errorf("changed: %+v", got.Changed)
	}
	if err := c.Text(&text, "old", "new"); err != nil || strings.Contains(text.String(), "\nline") {
		t.Errorf("text %q, %v", text.String(), err)
	}
}

func TestAFeatureThatIsSpelledOtherwiseDidNotChange(t *testing.T) {
	s := yard()
	s.Add(model.KindBuilding, "H1", orb.Polygon{site.Box(-5, 5, 5, 15)}, model.Prop("height_m", 6), model.Prop("name", "Shed"))
	before := run(t, s.Plan(t))
	p := before.Plan
	f := p.Feature("H1")
	raw := strings.Replace(string(f.JSON()), `"height_m": 6`, `"height_m":6.0`, 1)
	if raw == string(f.JSON()) {
		t.Fatalf("nothing was spelled otherwise in %s", raw)
	}
	spelled, err := model.ReadFeature([]byte(raw), 0)
	if err != nil {
		t.Fatal(err)
	}
	after := run(t, edited(t, edited(t, p, model.Delete{IDs: []string{"H1"}}), model.Add{Features: []*model.Feature{spelled}}))
	if c := compare.Plans(before, after); !c.Empty() {
		t.Errorf("changes: %+v", c)
	}
}

func TestTheSummaryCountsWhatChanged(t *testing.T) {
	before := run(t, yard().Plan(t))
	if s := compare.Plans(before, before).Summary(); s != "nothing changed" {
		t.Errorf("of nothing: %q", s)
	}
	after := run(t, edited(t, before.Plan, model.Delete{IDs: []string{"S2"}}, model.Set{ID: "S1", Values: []model.Value{{Property: "tilt_deg", Value: 4}}}))
	c := compare.Plans(before, after)
	if s := c.Summary(); !strings.HasPrefix(s, "1 device taken away, 1 aimed afresh; ") || !strings.HasSuffix(s, " m of boundary lost") {
		t.Errorf("summary %q", s)
	}
	var lines []string
	for _, p := range c.Parts() {
		lines = append(lines, p.Heading)
	}
	if got := strings.Join(lines, ", "); got != "Devices, Chainage, Radio links" {
		t.Errorf("parts: %s", got)
	}
}

func TestPlansFarApartAreOfOtherSites(t *testing.T) {
	on := func(lon, lat, size float64) *analysis.Result {
		g := sitegrid.New(lon, lat)
		p, err := model.Add{Features: []*model.Feature{model.NewFeature(model.KindBoundary, "B1", g.Back(orb.Polygon{site.Box(-size/2, -size/2, size/2, size/2)}))}}.Apply(model.NewPlan())
		if err != nil {
			t.Fatal(err)
		}
		r, err := analysis.Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	// One minute of latitude is about 1853 m at 50 degrees (WGS 84).
	here := on(7, 50, 200)
	for _, c := range []struct {
		other *analysis.Result
		same  bool
	}{{on(7, 50+0.4/60, 200), true}, {on(7, 50+1.0/60, 200), false}, {on(7, 50+1.0/60, 3000), true}, {on(-170, -40, 200), false}} {
		err := compare.SameSite(here, c.other)
		if (err == nil) != c.same {
			t.Errorf("a site at %v: %v", c.other.Scene.Grid, err)
		}
		if err != nil && (!strings.Contains(err.Error(), "km") || strings.Contains(err.Error(), "NaN")) {
			t.Errorf("the error says %v", err)
		}
	}
}

func TestASettingThatChangedIsToldWithItsDefault(t *testing.T) {
	before := run(t, yard().Plan(t))
	after := run(t, edited(t, before.Plan, model.Change{Path: "radio.frequency_mhz", Value: 433.92}, model.Change{Path: "target.height_m", Value: 1.7}, model.Change{Path: "title", Value: "x"},
		model.Change{Path: "postures", Value: []any{}}, model.Change{Path: "quotation.reference", Value: "Q1"}))
	c := compare.Plans(before, after)
	var b, text bytes.Buffer
	if err := c.Text(&text, "old", "new"); err != nil || !strings.Contains(text.String(), "Frequency: 868.3 MHz before, 433.92 MHz now") || !strings.Contains(text.String(), "Postures: changed") {
		t.Errorf("text %s, %v", text.String(), err)
	}
	if len(c.Settings) != 2 || !strings.Contains(c.Summary(), "2 settings changed") {
		t.Errorf("settings %+v, %s", c.Settings, c.Summary())
	}
	if err := c.JSON(&b, "old", "new"); err != nil {
		t.Fatal(err)
	}
	var got struct {
		Settings map[string]struct{ Before, After any }
	}
	if err := json.Unmarshal(b.Bytes(), &got); err != nil || got.Settings["radio.frequency_mhz"].Before != 868.3 || got.Settings["radio.frequency_mhz"].After != 433.92 {
		t.Errorf("%+v, %v", got, err)
	}
}

func TestWhatADeviceStatesOfItsRadioIsCompared(t *testing.T) {
	old := yard().Plan(t)
	now := edited(t, old, model.Set{ID: "RX", Values: []model.Value{{Property: "radio", Value: map[string]any{"sensitivity_dbm": -100,
		"installation_terms": []any{map[string]any{"what": "steel", "db": 9}, map[string]any{"what": "cold", "db": 2}}}}}})
	var b bytes.Buffer
	if err := compare.Plans(run(t, old), run(t, now)).Text(&b, "a", "b"); err != nil {
		t.Fatal(err)
	}
	const want = "radio none before, sensitivity −100 dBm, installation 11 dB, of that steel 9 dB; cold 2 dB now"
	if !strings.Contains(b.String(), want) {
		t.Errorf("no %q in\n%s", want, b.String())
	}
}
