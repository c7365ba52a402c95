package analysis_test

import (
	"context"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/testdata/site"
)

func study(t testing.TB, s *site.Site) *analysis.Result {
	t.Helper()
	r, err := analysis.RunOn(context.Background(), s.Scene(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	before := slices.Clone(r.Findings)
	out, err := analysis.WithRadioStudy(context.Background(), r)
	if err != nil {
		t.Fatal(err)
	}
	if r.Study != nil || len(before) != len(r.Findings) {
		t.Error("the study changed the result it was made of")
	}
	for i := range before {
		if before[i].Remedy != r.Findings[i].Remedy {
			t.Errorf("the study changed the remedy of %s", before[i].Rule)
		}
	}
	return out
}

func of(r *analysis.Result, rule string) (out []model.Finding) {
	for _, f := range r.Findings {
		if f.Rule == rule {
			out = append(out, f)
		}
	}
	return out
}

// net is a sensor that reaches the receiver RX, or RP1 or RP2, which reach it too.
func net(height float64) *site.Site {
	return new(site.Site).
		Sensor("S1", orb.Point{0, 0}, "sector-90-16", 3, 0, 2).
		Add(model.KindRepeater, "RP1", orb.Point{200, 40}, model.Prop("antenna_height_m", height)).
		Add(model.KindRepeater, "RP2", orb.Point{200, -45}, model.Prop("antenna_height_m", height)).
		Add(model.KindReceiver, "RX", orb.Point{400, 0}, model.Prop("antenna_height_m", height))
}

func TestTheSecondRouteUsesNoneOfTheRepeatersOfTheBest(t *testing.T) {
	r := study(t, net(8))
	s, second := r.Sensors[0], r.SecondOf(0)
	if second == nil || len(second.Route) < 2 || second.Route[0] != "S1" || second.Route[len(second.Route)-1] != "RX" {
		t.Fatalf("second route %+v", second)
	}
	if second.Margin > *s.Margin {
		t.Errorf("the second route has %v dB, the best %v dB", second.Margin, *s.Margin)
	}
	for _, id := range second.Route[1 : len(second.Route)-1] {
		if slices.Contains(s.Route, id) {
			t.Errorf("%s is on both routes: %v and %v", id, s.Route, second.Route)
		}
	}
	if !second.Holds {
		t.Errorf("the second route %+v does not hold over 200 m of open ground", second)
	}
}

func TestOneReceiverIsOneNoteAndSeveralAreToldOfEach(t *testing.T) {
	r := study(t, net(8))
	if list := of(r, "receiver-loss"); len(list) != 1 || list[0].Severity != model.Note || !slices.Equal(list[0].Subject, []string{"RX"}) {
		t.Errorf("one receiver: %+v", list)
	}
	if got := r.Study.Losses; len(got) != 3 || got[0].Sensors != nil || !slices.Equal(got[2].Sensors, []string{"S1"}) {
		t.Errorf("losses %+v", got)
	}
	near := study(t, net(8).Add(model.KindReceiver, "RX2", orb.Point{100, 10}, model.Prop("antenna_height_m", 8.0)))
	if list := of(near, "receiver-loss"); len(list) != 0 {
		t.Errorf("two receivers in reach: %+v", list)
	}
	far := study(t, net(8).Add(model.KindReceiver, "RX2", orb.Point{40000, 10}, model.Prop("antenna_height_m", 1.0)))
	if list := of(far, "receiver-loss"); len(list) != 1 || list[0].Severity != model.Warning || !slices.Equal(list[0].Subject, []string{"RX", "S1"}) {
		t.Errorf("a second receiver out of reach: %+v", list)
	}
}

func TestAPlanWithoutReceiverHasNoStudy(t *testing.T) {
	r := study(t, new(site.Site).Sensor("S1", orb.Point{0, 0}, "sector-90-16", 3, 0, 2))
	if r.Study != nil {
		t.Errorf("study %+v", r.Study)
	}
}

func TestTwoRepeatersThatReachOnThroughOneGapInTheTreesAreTold(t *testing.T) {
	wood := func(gap float64) *site.Site {
		s := net(3)
		for _, b := range []orb.Ring{site.Box(290, gap/2, 310, 100), site.Box(290, -100, 310, -gap/2)} {
			s.Add(model.KindFoliage, "", orb.Polygon{b}, model.Prop("height_m", 12), model.Prop("density", "dense"))
		}
		// A sensor of each repeater, so that each is somebody's way.
		s.Sensor("S2", orb.Point{180, 40}, "sector-90-16", 3, 0, 2)
		return s.Sensor("S3", orb.Point{180, -45}, "sector-90-16", 3, 0, 2)
	}
	// The ways onward cross x = 290 to 310 at y between 25 and 18, and -28 to -20.
	list := of(study(t, wood(60)), "shared-gap")
	if len(list) != 0 {
		t.Errorf("a gap of 60 m, each way nearer than 15 m to one side alone: %+v", list)
	}
	s := net(3)
	for _, b := range []orb.Ring{site.Box(380, 8, 392, 100), site.Box(380, -100, 392, -8)} {
		s.Add(model.KindFoliage, "", orb.Polygon{b}, model.Prop("height_m", 12), model.Prop("density", "dense"))
	}
	s.Sensor("S2", orb.Point{180, 40}, "sector-90-16", 3, 0, 2).Sensor("S3", orb.Point{180, -45}, "sector-90-16", 3, 0, 2)
	list = of(study(t, s), "shared-gap")
	if len(list) != 1 || !slices.Equal(list[0].Subject, []string{"RP1", "RP2"}) || list[0].Severity != model.Warning {
		t.Fatalf("one gap of 16 m before the receiver: %+v", list)
	}
	low := net(3)
	for _, b := range []orb.Ring{site.Box(380, 8, 392, 100), site.Box(380, -100, 392, -8)} {
		low.Add(model.KindFoliage, "", orb.Polygon{b}, model.Prop("height_m", 2), model.Prop("density", "dense"))
	}
	low.Sensor("S2", orb.Point{180, 40}, "sector-90-16", 3, 0, 2).Sensor("S3", orb.Point{180, -45}, "sector-90-16", 3, 0, 2)
	if list := of(study(t, low), "shared-gap"); len(list) != 0 {
		t.Errorf("bushes lower than the lines: %+v", list)
	}
}
