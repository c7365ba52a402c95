package analysis_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/testdata/site"
)

// chain is n sensors that reach the receiver by the repeater RP1 alone.
func chain(n int, settings map[string]any) *site.Site {
	s := new(site.Site)
	for i := range n {
		s.Sensor(fmt.Sprintf("S%d", i+1), orb.Point{5 * float64(i), 0}, "hourly", 3, 90, 2)
	}
	settings["max_hops"] = 2
	return s.Add(model.KindRepeater, "RP1", orb.Point{50, 300}, model.Prop("antenna_height_m", 6)).
		Add(model.KindObstacle, "O1", orb.LineString{{-3000, 390}, {3000, 390}}, model.Prop("height_m", 4)).
		Add(model.KindReceiver, "RX", orb.Point{50, 700}, model.Prop("antenna_height_m", 6)).
		Set("models", []any{map[string]any{"id": "hourly",
			"lobes":  []any{map[string]any{"width_deg": 90, "up_deg": 2, "down_deg": 12, "range_m": 16}},
			"supply": map[string]any{"events_per_day": 1e-9, "supervision_s": 600}}}).
		Set("radio", settings)
}

func device(t *testing.T, r *analysis.Result, id string) analysis.OnAir {
	t.Helper()
	for _, d := range r.Study.Compliance.Devices {
		if d.ID == id {
			return d
		}
	}
	t.Fatalf("no device %s", id)
	return analysis.OnAir{}
}

func TestWithoutRadioRulesNothingIsJudged(t *testing.T) {
	r := study(t, chain(3, map[string]any{}))
	if r.Study.Compliance != nil || len(of(r, "radio-rules"))+len(of(r, "storm")) != 0 {
		t.Errorf("%+v", r.Study.Compliance)
	}
}

// 12 sensors with 6 messages an hour of 50 ms are 3.6 s an hour, all that a limit of
// 0.1 % leaves. Source: arithmetic; 869.25 to 869.3 MHz as ERC Recommendation 70-03 has
// it for alarms (0.1 %), by its database page.
func TestOutsideTheRepeaterOfTwelveSensorsUsesUpATenthOfAPercent(t *testing.T) {
	r := study(t, chain(12, map[string]any{"rules": "cept", "frequency_mhz": 869.275, "message_s": 0.05}))
	for i := range r.Sensors {
		if !slices.Contains(r.Sensors[i].Route, "RP1") {
			t.Fatalf("%v does not go by the repeater", r.Sensors[i].Route)
		}
	}
	d := device(t, r, "RP1")
	t.Run("seconds an hour", func(t *testing.T) { near(t, "forwarded", d.Load.Forwarded, 3.6, 1e-6) })
	t.Run("its own message is too much", func(t *testing.T) {
		if d.Verdict.Allowed || d.Load.Sources != 12 {
			t.Errorf("%+v", d)
		}
	})
	t.Run("the sensors are allowed", func(t *testing.T) {
		if s := device(t, r, "S1"); !s.Verdict.Allowed || math.Abs(s.Load.Total()-0.3) > 1e-6 {
			t.Errorf("%+v", s)
		}
	})
	list := of(r, "radio-rules")
	if len(list) != 1 || !slices.Equal(list[0].Subject, []string{"RP1"}) || list[0].Severity != model.Warning {
		t.Fatalf("findings %+v", list)
	}
	for _, want := range []string{"869.25 to 869.3 MHz", "0.1 % of the time", "CEPT", "2026-11", "12 devices", "3.65, where 3.6 is allowed"} {
		if !strings.Contains(list[0].Text, want) {
			t.Errorf("the finding does not say %q: %s", want, list[0].Text)
		}
	}
}

func TestTooMuchPowerIsToldOnceForTheSensorsOfAModel(t *testing.T) {
	own := map[string]any{"id": "o", "name": "Ours", "country": "XX", "date": "2027-01", "source": "a journal",
		"bands": []any{map[string]any{"from_mhz": 868, "to_mhz": 869, "max_erp_dbm": 7, "use": "any", "from_memory": true, "source": "a page"}}}
	r := study(t, chain(5, map[string]any{"rules": own}))
	list := of(r, "radio-rules")
	if len(list) != 3 || len(list[0].Subject) != 5 { // the sensors, the repeater, the receiver
		t.Fatalf("findings %+v", list)
	}
	for _, want := range []string{"10, where 7 is allowed", "from memory", "XX", "2027-01"} {
		if !strings.Contains(list[0].Text, want) {
			t.Errorf("the finding does not say %q: %s", want, list[0].Text)
		}
	}
	if !r.Study.Compliance.FromMemory() {
		t.Error("the figures are not said to be from memory")
	}
}

func TestAFrequencyInNoBandIsToldOnce(t *testing.T) {
	r := study(t, chain(5, map[string]any{"rules": "us"}))
	if list := of(r, "radio-rules"); len(list) != 1 || !strings.Contains(list[0].Text, "868.3 MHz lies in no band") || len(list[0].Subject) != 7 {
		t.Errorf("findings %+v", list)
	}
}

// Source: pure ALOHA with a finite number of transmissions: each of the others of
// airtime τ misses one with probability 1-2τ/window (see spectrum.Storm).
func TestAStormOfAlarmsThatDrownsMessagesIsWarnedOf(t *testing.T) {
	r := study(t, chain(12, map[string]any{"rules": "cept", "storm_alarms": 8, "storm_s": 4}))
	c := r.Study.Compliance
	near(t, "a link's share", math.Sqrt(c.Success), math.Pow(1-0.1/4, 14), 1e-9)
	if list := of(r, "storm"); len(list) != 1 || list[0].Severity != model.Warning {
		t.Errorf("findings %+v", list)
	}
	r = study(t, chain(12, map[string]any{"rules": "cept", "storm_alarms": 8, "storm_s": 400}))
	if list := of(r, "storm"); len(list) != 0 {
		t.Errorf("success %v: %+v", r.Study.Compliance.Success, list)
	}
	if c := study(t, chain(3, map[string]any{"rules": "cept"})).Study.Compliance; c.Storm.Alarms != 3 {
		t.Errorf("%d of 3 sensors alarm", c.Storm.Alarms)
	}
}
