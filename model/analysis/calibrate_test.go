package analysis_test

import (
	"context"
	"fmt"
	"math"
	"math/rand"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/report"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
	"pleach/testdata/site"
)

// surveyed is n sensors in the open about a receiver, each with a reading that is errs
// above what is predicted, and a further sensor behind a wall without one.
func surveyed(t *testing.T, errs []float64, settings map[string]any) *site.Site {
	plain := func() *site.Site {
		s := new(site.Site)
		for i := range errs {
			a := 2 * math.Pi * float64(i) / float64(len(errs))
			s.Sensor(fmt.Sprintf("S%d", i+1), orb.Point{150 * math.Cos(a), 150 * math.Sin(a)}, "sector-90-16", 3, 0, 2)
		}
		s.Sensor("S99", orb.Point{260, 20}, "sector-90-16", 3, 0, 2)
		s.Add(model.KindObstacle, "O1", orb.LineString{{240, -60}, {240, 90}}, model.Prop("height_m", 4))
		return s.Add(model.KindReceiver, "RX", orb.Point{0, 0}, model.Prop("antenna_height_m", 12))
	}
	s := plain().Set("radio", settings)
	for i, e := range errs {
		id := fmt.Sprintf("S%d", i+1)
		k, _ := rate(t, plain(), id, "RX")
		// Both ends radiate and hear alike but for the receiver's antenna and mounting.
		s.Add(model.KindReading, fmt.Sprintf("M%d", i+1), nil, model.Prop("of", []string{id, "RX"}), model.Prop("what", "signal"), model.Prop("unit", "dBm"),
			model.Prop("value", forward(k)+e))
	}
	return s
}

// forward is the level at the receiver of a link rated by its defaults: 10 dBm ERP and
// 6 dB of installation at the sensor, 2.15 dBi and none at the receiver (contract,
// section 2).
func forward(k analysis.Link) float64 { return 10 + 2.15 - 6 - k.Loss + 2.15 }

// Student's t of 5 degrees of freedom at 99 %: 3.365 (Abramowitz and Stegun, table
// 26.10). Six errors of -5 dB on average and a standard deviation of 2 dB ask for
// 3.365 · 2 · √(1+1/6) = 7.269 dB.
func TestOutsideSixReadingsCorrectTheLinksOfTheirClass(t *testing.T) {
	u := math.Sqrt(5.0 / 6 * 4)
	errs := []float64{-5 - u, -5 + u, -5 - u, -5 + u, -5 - u, -5 + u}
	plain := study(t, surveyed(t, errs, map[string]any{}))
	used := study(t, surveyed(t, errs, map[string]any{"calibration": true}))
	all := used.Calibration.Fit.All
	t.Run("bias", func(t *testing.T) { near(t, "bias", all.Bias, -5, 1e-6) })
	t.Run("standard deviation", func(t *testing.T) { near(t, "sd", all.SD, 2, 1e-6) })
	for i, k := range used.Links {
		before := plain.Links[i]
		if !k.Corrected || before.Corrected {
			t.Fatalf("%s to %s: corrected %v, without being asked %v", k.From, k.To, k.Corrected, before.Corrected)
		}
		t.Run(k.From, func(t *testing.T) {
			near(t, "margin", k.Margin, before.Margin-5, 1e-6)
			near(t, "received", k.Received, before.Received-5, 1e-6)
			near(t, "required", k.Required, 7.269, 0.002)
		})
	}
	if before, after := len(of(plain, "calibration")), len(of(used, "calibration")); before != 1 || after != 0 {
		t.Errorf("%d and %d notes that no link is corrected", before, after)
	}
}

func TestTooFewReadingsCorrectNothing(t *testing.T) {
	r := study(t, surveyed(t, []float64{-5, -4, -6, -5, -5}, map[string]any{"calibration": true}))
	for _, k := range r.Links {
		if k.Corrected {
			t.Errorf("%s to %s is corrected by %d readings", k.From, k.To, r.Calibration.Fit.All.N)
		}
	}
	r = study(t, surveyed(t, []float64{-5, -4, -6, -5, -5}, map[string]any{"calibration": map[string]any{"use": true, "least": 5}}))
	if !r.Links[0].Corrected {
		t.Error("five readings are said to be enough and correct nothing")
	}
}

func TestAStatedRequiredMarginHoldsForCorrectedLinks(t *testing.T) {
	r := study(t, surveyed(t, []float64{-5, -4, -6, -5, -5, -7}, map[string]any{"calibration": true, "required_margin_db": 11}))
	if k := r.Links[0]; !k.Corrected || k.Required != 11 {
		t.Errorf("%+v", k)
	}
}

func TestReadingsThatTellNothingAreSetAsideWithTheReason(t *testing.T) {
	s := surveyed(t, []float64{1, -1}, map[string]any{})
	for i, r := range []struct {
		props []model.Member
		why   string
	}{
		{[]model.Member{model.Prop("of", []string{"S1", "RX"}), model.Prop("value", "good")}, "not a number"},
		{[]model.Member{model.Prop("of", []string{"S1", "RX"}), model.Prop("value", -80), model.Prop("unit", "%")}, "unit is %"},
		{[]model.Member{model.Prop("of", []string{"S1"}), model.Prop("value", -80)}, "two devices"},
		{[]model.Member{model.Prop("of", []string{"S1", "S77"}), model.Prop("value", -80)}, `no device "S77"`},
		{[]model.Member{model.Prop("of", []string{"S1", "O1"}), model.Prop("value", -80)}, "not a sensor"},
	} {
		s.Add(model.KindReading, fmt.Sprintf("X%d", i), nil, append(r.props, model.Prop("what", "signal"))...)
		c := study(t, s).Calibration
		if last := c.Aside[len(c.Aside)-1]; len(c.Aside) != i+1 || !strings.Contains(last.Reason, r.why) {
			t.Errorf("%v: %+v, want %q", i, c.Aside, r.why)
		}
	}
	s.Add(model.KindReading, "Y1", nil, model.Prop("of", []string{"S1", "RX"}), model.Prop("value", -12), model.Prop("what", "signal")).
		Add(model.KindReading, "Y2", nil, model.Prop("of", []string{"S1", "RX"}), model.Prop("value", -104), model.Prop("what", "signal")).
		Add(model.KindReading, "Y3", nil, model.Prop("of", []string{"S1"}), model.Prop("value", 3), model.Prop("what", "walk-test"))
	c := study(t, s).Calibration
	if a := c.Fit.Aside; len(a) != 2 || !strings.Contains(a[0].Reason, "saturated") || !strings.Contains(a[1].Reason, "limit") || c.Fit.AtLimit != 1 {
		t.Errorf("%+v", a)
	}
}

func TestAReadingFarFromItsPredictionIsWarnedOf(t *testing.T) {
	list := of(study(t, surveyed(t, []float64{0, 11, -14}, map[string]any{})), "reading")
	if len(list) != 1 || !slices.Equal(list[0].Subject, []string{"M3", "S3", "RX"}) || !strings.Contains(list[0].Text, "14 dB less") {
		t.Errorf("6 dB of shadowing, a reading 14 dB low: %+v", list)
	}
}

func TestCorrectedLinksAreTheSameWithAPreviousResult(t *testing.T) {
	p := surveyed(t, []float64{-5, -4, -6, -5, -3, -7}, map[string]any{"calibration": true}).Plan(t)
	text := func(r *analysis.Result) string {
		var b strings.Builder
		if err := report.JSON(&b, "", r); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	before, err := analysis.RunOn(context.Background(), scene.On(p, site.Grid), nil)
	if err != nil {
		t.Fatal(err)
	}
	rated := 0
	for i, e := range []model.Edit{
		model.Set{ID: "S2", Values: []model.Value{{Property: "antenna_height_m", Value: 1.5}}},
		model.Set{ID: "S99", Values: []model.Value{{Property: "bearing_deg", Value: 50}}},
		model.Set{ID: "M1", Values: []model.Value{{Property: "value", Value: -70}}},
		model.Delete{IDs: []string{"M3"}}, // five are left
		model.Change{Path: "radio.calibration", Value: map[string]any{"use": true, "least": 4}},
		model.Delete{IDs: []string{"S4"}},
	} {
		q, err := e.Apply(p)
		if err != nil {
			t.Fatal(err)
		}
		sc := scene.After(before.Scene, q, site.Grid, nil)
		with, err := analysis.RunOn(context.Background(), sc, before)
		if err != nil {
			t.Fatal(err)
		}
		alone, err := analysis.RunOn(context.Background(), scene.On(q, site.Grid), nil)
		if err != nil {
			t.Fatal(err)
		}
		if text(with) != text(alone) {
			t.Fatalf("edit %d (%s): the result with a previous one is another", i, e.Label())
		}
		if i == 1 {
			rated = with.Rated
		}
		p, before = q, with
	}
	if rated != 1 {
		t.Errorf("%d links are rated afresh for a sensor without reading that turned", rated)
	}
}

func TestContoursAreCorrectedAsLinksAre(t *testing.T) {
	best := func(settings map[string]any) float64 {
		s := surveyed(t, []float64{-5, -5, -5, -5, -5, -5}, settings)
		s.Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-50, -50, 50, 50)})
		r, err := analysis.RunOn(context.Background(), s.Scene(t), nil)
		if err != nil {
			t.Fatal(err)
		}
		m, err := analysis.MarginsOver(context.Background(), r, analysis.MarginsAsked{Height: 2, Cell: 25}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return m.Values[m.Cols+1]
	}
	near(t, "margin", best(map[string]any{"calibration": true}), best(map[string]any{})-5, 1e-6)
}

func TestRandomEditsOfACorrectedPlanEqualEachAnalysedAlone(t *testing.T) {
	r := rand.New(rand.NewSource(8))
	p := smallSite(t)
	var readings []*model.Feature
	for i := range 7 {
		id := fmt.Sprintf("S%d", i+1)
		readings = append(readings, model.NewFeature(model.KindReading, fmt.Sprintf("M%d", i+1), nil, model.Prop("of", []string{id, "RX"}),
			model.Prop("what", "signal"), model.Prop("value", -60-2*i), model.Prop("unit", "dBm")))
	}
	for _, e := range []model.Edit{model.Add{Features: readings}, model.Change{Path: "radio.calibration", Value: map[string]any{"use": true, "least": 3}}} {
		q, err := e.Apply(p)
		if err != nil {
			t.Fatal(err)
		}
		p = q
	}
	analyse := func(p *model.Plan, before *analysis.Result) *analysis.Result {
		res, err := analysis.Run(context.Background(), p, before)
		if err != nil {
			t.Fatal(err)
		}
		return res
	}
	text := func(r *analysis.Result) string {
		r, err := analysis.WithRadioStudy(context.Background(), r)
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		if err := report.JSON(&b, "", r); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	before, corrected, taken := analyse(p, nil), 0, 0
	for i := range 80 {
		e := anyEdit(r, p)
		q, err := e.Apply(p)
		if err != nil {
			continue
		}
		with := analyse(q, before)
		if text(with) != text(analyse(q, nil)) {
			t.Fatalf("edit %d (%s): the result with a previous one is another", i, e.Label())
		}
		if len(with.Links) > 0 && with.Links[0].Corrected {
			corrected++
		}
		if with.Rated == 0 {
			taken++
		}
		p, before = q, with
	}
	if corrected < 40 || taken == 0 {
		t.Errorf("%d of 80 results are corrected, %d take all links over: this proves nothing", corrected, taken)
	}
}

// A bank 6 m high cuts the line as a wall would: readings over it say nothing of
// links in the open. The shadowing assumed without readings counts obstacles alone
// (contract, section 2, radio).
func TestALinkThatBareGroundCutsIsOfTheClassPastObstacles(t *testing.T) {
	p := new(site.Site).Sensor("S1", orb.Point{0, 0}, "curtain-4-63", 3, 90, 1.5).Sensor("S2", orb.Point{120, 200}, "curtain-4-63", 3, 90, 1.5).
		Add(model.KindReceiver, "RX", orb.Point{200, 0}, model.Prop("antenna_height_m", 4)).Plan(t)
	lon, lat := scene.Origin(p)
	grid := sitegrid.New(lon, lat)
	bank := grid.ToSite(p.Feature("S1").Geometry.(orb.Point))[0] + 100
	const n = 600
	z := make([]float32, n*n)
	for i := range z {
		if x := float64(i%n) - 300; math.Abs(x-bank) < 3 {
			z[i] = 6
		}
	}
	ground, err := terrain.New(n, n, z, terrain.Affine([3]float64{300, 1, 0}, [3]float64{300, 0, -1}), orb.Bound{Min: orb.Point{-300, -300}, Max: orb.Point{299, 299}})
	if err != nil {
		t.Fatal(err)
	}
	r, err := analysis.Whole(context.Background(), scene.OnGround(p, grid, ground))
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]analysis.Link{}
	for _, k := range r.Links {
		got[k.From] = k
	}
	if k := got["S1"]; k.Class != analysis.ClassObstacles || k.Clearance > 0 || k.SD != 6 {
		t.Errorf("over the bank: %s, clearance %v, shadowing %v dB", k.Class, k.Clearance, k.SD)
	}
	if k := got["S2"]; k.Class != analysis.ClassOpen || k.Clearance < 0.6 || k.SD != 6 {
		t.Errorf("beside it: %s, clearance %v, shadowing %v dB", k.Class, k.Clearance, k.SD)
	}
}
