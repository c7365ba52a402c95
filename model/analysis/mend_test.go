package analysis_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/testdata/site"
)

// behind is a sensor behind a long bank, its receiver on the other side.
func behind(height float64) *site.Site {
	return new(site.Site).
		Sensor("S1", orb.Point{0, 0}, "sector-90-16", 3, 90, 2, model.Prop("antenna_height_m", height)).
		Add(model.KindObstacle, "O1", orb.LineString{{60, -900}, {60, 900}}, model.Prop("height_m", 9)).
		Add(model.KindReceiver, "RX", orb.Point{900, 0}, model.Prop("antenna_height_m", 3)).
		Set("radio", map[string]any{"required_margin_db": -7})
}

// The height found is held against a search of the heights one by one, each a plan
// of its own.
func TestTheHeightThatMendsASensorIsTheSmallestThatDoes(t *testing.T) {
	r := study(t, behind(1))
	m := r.MendOf(0)
	if m == nil || m.ID != "S1" || m.From != 1 {
		t.Fatalf("mend %+v", m)
	}
	least := math.Inf(1)
	for h := 12.0; h >= 1.5; h -= 0.5 {
		k, _ := rate(t, behind(h), "S1", "RX")
		if k.Holds() {
			least = h
		}
	}
	if m.To != least {
		t.Errorf("mended at %v m, the smallest height that holds is %v m", m.To, least)
	}
	if m.To == 1.5 || m.To == 12 {
		t.Errorf("%v m proves nothing: it is at an end of the range", m.To)
	}
	links := of(r, "link")
	if want := fmt.Sprintf("Raise the antenna of S1 from 1 m to %g m", m.To); len(links) != 1 || !strings.HasPrefix(links[0].Remedy, want) {
		t.Errorf("findings %+v, want the remedy %q", links, want)
	}
}

func TestWhereTheOwnAntennaCannotMendAnotherOnItsRouteIsTried(t *testing.T) {
	// The bank stands before the receiver: raising the sensor does next to nothing.
	s := new(site.Site).
		Sensor("S1", orb.Point{0, 0}, "sector-90-16", 3, 90, 2).
		Add(model.KindObstacle, "O1", orb.LineString{{890, -900}, {890, 900}}, model.Prop("height_m", 9)).
		Add(model.KindReceiver, "RX", orb.Point{900, 0}, model.Prop("antenna_height_m", 3)).
		Set("radio", map[string]any{"required_margin_db": -15})
	r := study(t, s)
	m := r.MendOf(0)
	if m == nil || m.ID != "RX" || m.From != 3 || m.To <= 3.5 {
		t.Fatalf("mend %+v", m)
	}
	if remedy := of(r, "link")[0].Remedy; !strings.Contains(remedy, "No antenna of its own up to 12 m would do. Raise the antenna of RX") {
		t.Errorf("remedy %q", remedy)
	}
}

func TestWhatNoAntennaMendsIsSaid(t *testing.T) {
	r := study(t, behind(1).Set("radio", map[string]any{"required_margin_db": 90}))
	if m := r.MendOf(0); m == nil || m.ID != "" {
		t.Fatalf("mend %+v", m)
	}
	if remedy := of(r, "link")[0].Remedy; !strings.HasPrefix(remedy, "No antenna up to 12 m") {
		t.Errorf("remedy %q", remedy)
	}
}

func TestASensorThatHoldsIsNotMended(t *testing.T) {
	if m := study(t, net(8)).MendOf(0); m != nil {
		t.Errorf("mend %+v", m)
	}
}

func TestAStudyEndsWithItsContext(t *testing.T) {
	r, err := analysis.RunOn(context.Background(), behind(1).Scene(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := analysis.WithRadioStudy(ctx, r); err != context.Canceled {
		t.Errorf("error %v", err)
	}
}
