package analysis

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/contrast"
	"pleach/testdata/published"
	"pleach/testdata/site"
)

func TestOutsideRateOfAngleTowardsASensor(t *testing.T) {
	published.Load(t, "detection.csv").Check(t, "O19", towards(3, 30))
}

// A sensor looks straight at a fence from 30 m inside: within 20 degrees of its line
// of sight a crossing is head-on, and the ratio told is that of the angular rates.
// One that looks along the fence besides ends the finding where it covers.
func TestACrossingIsHeadOnWithinTwentyDegreesOfTheLineOfSight(t *testing.T) {
	s := new(site.Site).Set("models", []map[string]any{{"id": "wide", "lobes": []map[string]any{{"width_deg": 80, "up_deg": 30, "down_deg": 80, "range_m": 60}}}}).
		Add(model.KindBoundary, "B1", orb.LineString{{-60, 0}, {60, 0}}).
		Sensor("S1", orb.Point{0, 30}, "wide", 3, 180, 0)
	of := func(r *Result) *model.Finding {
		for i, f := range r.Findings {
			if f.Rule == "head-on" {
				return &r.Findings[i]
			}
		}
		return nil
	}
	r := run(t, s.Plan(t), nil)
	f := of(r)
	if f == nil {
		t.Fatal("no crossing is head-on")
	}
	// The line's inside is on its left, to the north: the crossing line runs north.
	half := 30 * math.Tan(20*math.Pi/180)
	if math.Abs(*f.From-(60-half)) > 0.05 || math.Abs(*f.To-(60+half)) > 0.05 {
		t.Errorf("head-on from %v to %v, want 60 m either way by %v", *f.From, *f.To, half)
	}
	ratio := contrast.AngularRate(1, 30, 3, 0) / contrast.AngularRate(1, 30, 3, 90)
	if want := fmt.Sprintf("at %.2f of the rate", ratio); !strings.Contains(f.Text, want) {
		t.Errorf("%q does not say %q", f.Text, want)
	}
	if f := of(run(t, s.Sensor("S2", orb.Point{-40, 5}, "curtain-3-100", 3, 92, 1).Plan(t), nil)); f != nil && *f.To-*f.From > half {
		t.Errorf("head-on from %v to %v, though S2 looks along the fence", *f.From, *f.To)
	}
}
