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

func TestStatedTermsAreWhatALinkLoses(t *testing.T) {
	terms := func(db ...float64) any {
		out := []any{}
		for _, v := range db {
			out = append(out, map[string]any{"what": "a loss", "db": v})
		}
		return map[string]any{"installation_terms": out}
	}
	run := func(sensor, receiver any) *analysis.Result {
		s := new(site.Site)
		if sensor == nil {
			s.Sensor("S1", orb.Point{0, 0}, "sector-90-16", 3, 0, 2)
		} else {
			s.Add(model.KindSensor, "S1", orb.Point{0, 0}, model.Prop("model", "sector-90-16"), model.Prop("mount_height_m", 3.0), model.Prop("bearing_deg", 0.0),
				model.Prop("tilt_deg", 2.0), model.Prop("radio", sensor))
		}
		rx := []model.Member{model.Prop("antenna_height_m", 8.0)}
		if receiver != nil {
			rx = append(rx, model.Prop("radio", receiver))
		}
		s.Add(model.KindReceiver, "RX", orb.Point{400, 0}, rx...)
		r, err := analysis.RunOn(context.Background(), s.Scene(t), nil)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	plain := run(nil, nil)
	if got := plain.Links[0].Installation; got != 6 {
		t.Errorf("nothing stated: %v dB", got)
	}
	if g := plain.Installation(); len(g) != 2 || g[0].LossDB != 6 || g[0].Devices[0] != "S1" || g[1].LossDB != 0 {
		t.Errorf("nothing stated: %+v", g)
	}
	stated := run(terms(9, 2), terms(1.5))
	if got := stated.Links[0].Installation; math.Abs(got-12.5) > 1e-9 {
		t.Errorf("9, 2 and 1.5 dB stated: %v dB", got)
	}
	for i, d := range stated.Links[0].Directions() {
		if got := plain.Links[0].Directions()[i].Margin - d.Margin; math.Abs(got-6.5) > 1e-9 {
			t.Errorf("from %s: 6.5 dB more of installation take %v dB of the margin", d.From, got)
		}
	}
	if w := stated.Installation()[0].Words(); w != "S1: 11 dB (a loss, 9 dB; a loss, 2 dB)" {
		t.Errorf("in words: %s", w)
	}
}
