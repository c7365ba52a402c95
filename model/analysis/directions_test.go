package analysis_test

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/testdata/site"
)

// Both budgets worked by hand from the plan file's own formula: margin = erp_tx +
// 2.15 - installation_tx - loss + gain_rx - feeder_rx - installation_rx -
// sensitivity_rx.
func TestBothDirectionsHaveTheirOwnFigures(t *testing.T) {
	s := new(site.Site).
		Sensor("S1", orb.Point{0, 0}, "sector-90-16", 3, 0, 2).
		Add(model.KindReceiver, "RX", orb.Point{400, 0}, model.Prop("antenna_height_m", 8.0), model.Prop("radio", map[string]any{
			"erp_dbm": 14, "sensitivity_dbm": -110, "antenna_gain_dbi": 2.15, "feeder_loss_db": 1.5})).
		Add(model.KindReceiver, "RX2", orb.Point{0, 300}, model.Prop("antenna_height_m", 8.0), model.Prop("radio", map[string]any{"installation_loss_db": 2}))
	r, err := analysis.RunOn(context.Background(), s.Scene(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	want := map[string][2]float64{ // margins with no loss at all: to the receiver, and to the sensor
		"RX":  {10 + 2.15 - 6 + 2.15 - 1.5 - 0 + 110, 14 + 2.15 - 0 - 3 - 0 - 6 + 105},
		"RX2": {10 + 2.15 - 6 + 2.15 - 0 - 2 + 105, 10 + 2.15 - 2 - 3 - 0 - 6 + 105},
	}
	for i := range r.Links {
		k := &r.Links[i]
		w, ok := want[k.To]
		if !ok || k.From != "S1" {
			continue
		}
		delete(want, k.To)
		d := k.Directions()
		if len(d) != 2 || d[0].From != "S1" || d[0].To != k.To || d[1].From != k.To || d[1].To != "S1" {
			t.Fatalf("directions of %s: %+v", k.To, d)
		}
		for j := range d {
			if got := d[j].Margin + k.Loss; math.Abs(got-w[j]) > 1e-9 {
				t.Errorf("%s to %s: margin without loss %v, not %v", d[j].From, d[j].To, got, w[j])
			}
		}
		weaker := d[0]
		if d[1].Margin < d[0].Margin {
			weaker = d[1]
		}
		if k.Margin != weaker.Margin || k.Received != weaker.Received || k.Probability != weaker.Probability || k.Weaker != weaker.From {
			t.Errorf("%s: the link has margin %v from %s, its weaker direction %+v", k.To, k.Margin, k.Weaker, weaker)
		}
	}
	if len(want) > 0 {
		t.Errorf("no link for %v", want)
	}
}

func TestADeviceThatOnlyTransmitsIsRatedOneWay(t *testing.T) {
	s := new(site.Site).
		Set("models", []any{map[string]any{"id": "mute", "mount_min_m": 2, "mount_max_m": 4,
			"lobes": []any{map[string]any{"azimuth_deg": 0, "width_deg": 90, "up_deg": 3, "down_deg": 30, "range_m": 16}},
			"radio": map[string]any{"erp_dbm": 10, "sensitivity_dbm": nil}}}).
		Sensor("S1", orb.Point{0, 0}, "mute", 3, 0, 2).
		Add(model.KindReceiver, "RX", orb.Point{400, 0}, model.Prop("antenna_height_m", 8.0))
	r, err := analysis.RunOn(context.Background(), s.Scene(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Links) != 1 {
		t.Fatalf("%d links", len(r.Links))
	}
	d := r.Links[0].Directions()
	if len(d) != 1 || d[0].From != "S1" || d[0].Margin != r.Links[0].Margin {
		t.Errorf("directions %+v of a link with margin %v", d, r.Links[0].Margin)
	}
}
