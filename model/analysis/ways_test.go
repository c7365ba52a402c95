package analysis

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/testdata/site"
)

// ringed is a yard of 112 m x 56 m with discs of detection of 9.77 m all round, 14 m
// apart, but for those left out, and an asset in its middle. Its fence takes 12 s
// to climb, or stops a person but for an opening of 2 m at chainage 49.
func ringed(impassable bool, leaveOut ...string) *site.Site {
	s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 112, 56)}, model.Prop("name", "Fence"))
	s.Add(model.KindAsset, "A1", orb.Point{56, 28}, model.Prop("name", "Pump"))
	fence := orb.LineString{{50, 0}, {112, 0}, {112, 56}, {0, 56}, {0, 0}, {50, 0}}
	if impassable {
		fence[5] = orb.Point{48, 0}
	}
	s.Add(model.KindObstacle, "O1", fence, model.Prop("height_m", 2.0), model.Prop("see_through", true), model.Prop("impassable", impassable), model.Prop("delay_s", 12.0))
	s.Set("models", []any{map[string]any{"id": "disc", "lobes": []any{map[string]any{"width_deg": 360, "up_deg": 20, "down_deg": 89, "range_m": 10}}}})
	at := func(id string, x, y float64) {
		if !slices.Contains(leaveOut, id) {
			s.Sensor(id, orb.Point{x, y}, "disc", 3, 0, 0)
		}
	}
	for k := range 8 {
		at(fmt.Sprintf("S%d", k), 7+14*float64(k), 7)
		at(fmt.Sprintf("N%d", k), 7+14*float64(k), 49)
	}
	for k := range 2 {
		at(fmt.Sprintf("W%d", k), 7, 21+14*float64(k))
		at(fmt.Sprintf("E%d", k), 105, 21+14*float64(k))
	}
	return s
}

func ways(t testing.TB, p *model.Plan) *Result {
	t.Helper()
	r, err := WithWays(context.Background(), run(t, p, nil))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func ofRule(r *Result, rule string) (out []model.Finding) {
	for _, f := range r.Findings {
		if f.Rule == rule {
			out = append(out, f)
		}
	}
	return out
}

func TestAHoleInDetectionIsReportedAsTheWayIn(t *testing.T) {
	r := ways(t, ringed(false, "N5").Plan(t))
	w := r.Ways.List[0]
	// Left out at x = 77 of the north side: chainage 112 + 56 + (112 - 77).
	if !w.Undetected || len(w.Passes) != 0 || w.Cost != 0 || len(w.Crossings) != 1 || math.Abs(w.Crossings[0].Chainage-203) > 4.3 {
		t.Errorf("%+v", w)
	}
	got := ofRule(r, "way-in")
	if len(got) != 1 || got[0].Severity != model.Warning || !slices.Equal(got[0].Subject, []string{"A1", "B1"}) {
		t.Fatalf("%+v", got)
	}
	for _, want := range []string{"Pump (A1)", "crosses no footprint", "over Fence (B1) at 20", "across O1, 12 s", "N4", "N6"} {
		if !strings.Contains(got[0].Text, want) {
			t.Errorf("%q does not say %q", got[0].Text, want)
		}
	}
	if p := r.Scene.Grid.ToSite(*got[0].At); math.Abs(p[1]-w.Crossings[0].At[1]) > 1e-3 {
		t.Errorf("the finding is at %v, the crossing at %v", p, w.Crossings[0].At)
	}
	// Severities stay in order.
	if !slices.IsSortedFunc(r.Findings, func(a, b model.Finding) int { return rank(a.Severity) - rank(b.Severity) }) {
		t.Error("findings are out of order")
	}
}

func rank(s model.Severity) int {
	return slices.Index([]model.Severity{model.Fault, model.Warning, model.Note}, s)
}

func TestAFenceThatStopsAPersonSendsTheWayThroughItsOpening(t *testing.T) {
	r := ways(t, ringed(true, "N5").Plan(t)) // the hole is elsewhere
	w := r.Ways.List[0]
	if w.Undetected || !w.Reached || w.Narrow == nil || math.Abs(w.Narrow.Width-2) > 0.1 || w.Narrow.Between != [2]string{"O1", "O1"} || math.Abs(w.Crossings[0].Chainage-49) > 1 {
		t.Errorf("%+v, narrow %+v", w, w.Narrow)
	}
	got := ofRule(r, "way-in")
	if len(got) != 1 || got[0].Severity != model.Note || !strings.Contains(got[0].Text, "opening of 2.0 m in O1") || !strings.Contains(got[0].Text, "assumed and chosen, not established") {
		t.Fatalf("%+v", got)
	}
	// The opening lies in front of S3: 0.9 over 10 m means a rate of -ln(0.1)/10.
	inside := 0.0
	for _, p := range w.Passes {
		inside += p.To - p.From
	}
	if want := 1 - math.Pow(0.1, inside/10); math.Abs(w.Detection-want) > 1e-9 || inside < 5 {
		t.Errorf("figure %v over %v m, want %v", w.Detection, inside, want)
	}
}

func TestAnAssetNobodyCanWalkToIsANote(t *testing.T) {
	s := ringed(false)
	s.Add(model.KindObstacle, "O2", orb.LineString{{50, 22}, {62, 22}, {62, 34}, {50, 34}, {50, 22}}, model.Prop("height_m", 2.0), model.Prop("impassable", true))
	r := ways(t, s.Plan(t))
	got := ofRule(r, "way-in")
	if r.Ways.List[0].Reached || len(got) != 1 || got[0].Severity != model.Note || !strings.HasPrefix(got[0].Text, "No way in to Pump (A1)") {
		t.Errorf("%+v", got)
	}
}

func TestAWayToAnAssetIndoorsSaysWhereItEnds(t *testing.T) {
	const ends = "It ends at the wall of H9, in which the asset stands."
	for _, row := range []struct {
		box  orb.Ring // of the building; the asset is at 56, 28
		says bool
	}{{site.Box(50, 22, 62, 34), true}, {site.Box(70, 22, 80, 34), false}} {
		s := ringed(false)
		s.Building("H9", row.box, 5)
		got := ofRule(ways(t, s.Plan(t)), "way-in")
		if len(got) != 1 || strings.Contains(got[0].Text, ends) != row.says {
			t.Errorf("%v: %+v", row.box, got)
		}
	}
}

func TestWithoutAnAssetNothingIsLookedFor(t *testing.T) {
	s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 112, 56)})
	before := run(t, s.Plan(t), nil)
	if after, err := WithWays(context.Background(), before); err != nil || after != before {
		t.Errorf("%p, %p, %v", before, after, err)
	}
}

func TestTheResultBeforeStaysAsItIsAndServesTheNext(t *testing.T) {
	p := ringed(false, "N5").Plan(t)
	before := run(t, p, nil)
	n := len(before.Findings)
	after, err := WithWays(context.Background(), before)
	if err != nil {
		t.Fatal(err)
	}
	if before.Ways != nil || len(before.Findings) != n || len(ofRule(before, "way-in")) != 0 {
		t.Error("the result given was changed")
	}
	moved, err := model.Set{ID: "S1", Values: []model.Value{{Property: "mount_height_m", Value: 3.2}}}.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	again := run(t, moved, after)
	same(t, "after a result with ways", run(t, moved, nil), again)
	if again.Laid != 1 {
		t.Errorf("%d sensors laid", again.Laid)
	}
	twice := ways(t, p)
	if d := cmp.Diff(after.Ways, twice.Ways); d != "" {
		t.Error("twice the same plan: " + d)
	}
}

func TestCancelledSearchGivesItsReason(t *testing.T) {
	r := run(t, ringed(false).Plan(t), nil)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := WithWays(ctx, r); err != context.Canceled {
		t.Errorf("%v", err)
	}
}

func TestAcceptedWayStaysAcceptedWhereItComesInByTheSameLine(t *testing.T) {
	s := ringed(false, "N5")
	s.Set("accepted", []any{map[string]any{"rule": "way-in", "subject": []string{"A1", "B1"}, "reason": "guarded by day", "by": "N. N."}})
	got := ofRule(ways(t, s.Plan(t)), "way-in")
	if len(got) != 1 || got[0].Accepted == nil || got[0].Severity != model.Warning {
		t.Errorf("%+v", got)
	}
	s.Add(model.KindGate, "G1", orb.Point{77, 56}, model.Prop("width_m", 20.0))
	if got := ofRule(ways(t, s.Plan(t)), "way-in"); len(got) != 1 || got[0].Accepted != nil {
		t.Errorf("through a gate that was not accepted: %+v", got)
	}
}

// A walk of known length, times and rates: the figures are those of the EASI
// model, worked out in wayin's tests against its published example.
func TestResponseIsReckonedOnlyWhereItIsStated(t *testing.T) {
	if w := ways(t, ringed(true, "N5").Plan(t)).Ways.List[0]; w.Timing != nil {
		t.Errorf("%+v", w.Timing)
	}
	with := func(response map[string]any) *Result {
		return ways(t, ringed(true, "N5").Set("response", response).Plan(t))
	}
	r := with(map[string]any{"time_s": 60, "sd_share": 0, "communication": 1, "speed_m_s": 2, "task_s": 100})
	w := r.Ways.List[0]
	got := w.Timing
	if got == nil || got.Critical == nil || len(ofRule(r, "late")) != 0 {
		t.Fatalf("%+v", got)
	}
	first, last := w.Passes[0], w.Passes[len(w.Passes)-1]
	if want := 100 + (w.Length-first.From)/2; math.Abs(got.Remains-want) > 0.3 {
		t.Errorf("%v s remain, want %v", got.Remains, want)
	}
	// The work at the asset alone outlasts the response: every detection counts.
	if math.Abs(got.Interruption-w.Detection) > 1e-9 || math.Abs(got.Critical.Timely-w.Detection) > 1e-9 || math.Abs(got.Critical.Along-last.To) > stepLength {
		t.Errorf("%+v, detection %v", got, w.Detection)
	}
	// Without it none does: the last metre of the last footprint is some 20 m off.
	r = with(map[string]any{"time_s": 60, "sd_share": 0, "communication": 1, "speed_m_s": 2})
	late := ofRule(r, "late")
	if got := r.Ways.List[0].Timing; got.Critical != nil || got.Interruption > 1e-9 || len(late) != 1 || late[0].Severity != model.Warning || !strings.Contains(late[0].Text, "the response takes 60 s") {
		t.Errorf("%+v, %+v", got, late)
	}
	// An alarm that is passed on half the time interrupts half as often.
	half := with(map[string]any{"time_s": 60, "sd_share": 0, "communication": 0.5, "speed_m_s": 2, "task_s": 100}).Ways.List[0]
	if math.Abs(half.Timing.Interruption-w.Detection/2) > 1e-9 {
		t.Errorf("%+v", half.Timing)
	}
}

func TestFiguresHaveTwoDigits(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 0.004: "under 0.01", 0.87432: "0.87", 0.99: "0.99", 0.9951: "over 0.99", 1: "1", 0.5: "0.50"} {
		if got := TwoDigits(v); got != want {
			t.Errorf("%v: %s, want %s", v, got, want)
		}
	}
}

func BenchmarkWithWays(b *testing.B) {
	r := run(b, ringed(false, "N5").Plan(b), nil)

	for b.Loop() {
		WithWays(context.Background(), r)
	}
}
