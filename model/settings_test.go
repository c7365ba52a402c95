package model

import (
	"encoding/json"
	"strings"
	"testing"
)

func TestATimeZoneIsAnIANAName(t *testing.T) {
	for _, r := range []struct{ value, flaw string }{
		{`"Europe/London"`, ""},
		{`"UTC"`, ""},
		{`""`, ""},
		{`"Local"`, `plan: pleach.time_zone "Local" is not a time zone: it must be an IANA name`},
		{`"Europe/Nowhere"`, `plan: pleach.time_zone "Europe/Nowhere" is not a time zone`},
		{`"../../etc/passwd"`, "is not a time zone"},
		{`"GMT+1 summer"`, "is not a time zone"},
		{`1`, "plan: pleach.time_zone 1 is not text"},
	} {
		t.Run(r.value, func(t *testing.T) {
			p, err := ReadPlan(Object{{"type", json.RawMessage(`"FeatureCollection"`)},
				{"pleach", json.RawMessage(`{"version": 1, "time_zone": ` + r.value + `}`)}, {"features", nil}}, nil, nil)
			if err != nil {
				t.Fatal(err)
			}
			s := p.Settings
			switch {
			case r.flaw == "" && len(p.Flaws) > 0, r.flaw != "" && (len(p.Flaws) != 1 || !strings.Contains(p.Flaws[0].Error(), r.flaw)):
				t.Errorf("flaws %v, want %q", p.Flaws, r.flaw)
			case (s.Clock != nil) != (s.TimeZone != ""):
				t.Errorf("zone %q with clock %v", s.TimeZone, s.Clock)
			case s.Clock != nil && s.Clock.String() != strings.Trim(r.value, `"`):
				t.Errorf("clock %v", s.Clock)
			}
		})
	}
}

func TestAWalkTestSaysHowItWasWalked(t *testing.T) {
	reading := func(members string) *Feature {
		raw := `{"type": "Feature", "id": "M1", "geometry": null, "properties": {"kind": "reading", "of": ["S1"], "what": "walk-test"` + members + `}}`
		f, err := ReadFeature([]byte(raw), 0)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	f := reading(`, "air_c": 4.5, "background_c": -2, "speed_m_s": 1, "heading_deg": 90, "distance_m": 40, "clothing": 0.5`)
	r, ok := f.Value.(*Reading)
	if !ok {
		t.Fatal(f.Flaws)
	}
	if *r.Air != 4.5 || *r.Background != -2 || *r.Speed != 1 || *r.Heading != 90 || *r.Distance != 40 || *r.Clothing != 0.5 {
		t.Errorf("%+v", r)
	}
	if r := reading("").Value.(*Reading); r.Air != nil || r.Clothing != nil {
		t.Errorf("what was not stated is %+v", r)
	}
	for members, want := range map[string]string{
		`, "air_c": 61`: "air_c 61 is not between -60 and 60", `, "clothing": -0.1`: "clothing -0.1 is not between 0 and 1",
		`, "speed_m_s": 0`: "speed_m_s 0 is not between 0.01 and 60", `, "distance_m": "far"`: "distance_m \"far\" is not a number",
	} {
		if f := reading(members); len(f.Flaws) != 1 || !strings.Contains(f.Flaws[0].Error(), want) {
			t.Errorf("%s: %v", members, f.Flaws)
		}
	}
}

func TestAModelStatesItsOptics(t *testing.T) {
	read := func(optics string) (*Plan, error) {
		return ReadPlan(Object{{"type", json.RawMessage(`"FeatureCollection"`)}, {"features", nil},
			{"pleach", json.RawMessage(`{"version": 1, "models": [{"id": "x", "optics": ` + optics + `,
				"lobes": [{"width_deg": 4, "up_deg": 1, "down_deg": 3, "range_m": 40}]}]}`)}}, nil, nil)
	}
	p, err := read(`{"zone_width_deg": 0.8, "low_hz": 0.3, "high_hz": 8}`)
	if err != nil || len(p.Flaws) > 0 {
		t.Fatal(err, p.Flaws)
	}
	if m, _ := p.Model("x"); *m.Optics.ZoneWidth != 0.8 || *m.Optics.LowHz != 0.3 || *m.Optics.HighHz != 8 || m.Optics.ZonePeriod != nil {
		t.Errorf("%+v", m.Optics)
	}
	for optics, want := range map[string]string{
		`{"zone_width_deg": 0}`:         "sensor model x: optics.zone_width_deg 0 is not above 0 and at most 90",
		`{"low_hz": 9, "high_hz": 9}`:   "sensor model x: optics.low_hz 9 is not below high_hz, 9",
		`{"zone_period_deg": "narrow"}`: "optics.zone_period_deg \"narrow\" is not a number",
		`7`:                             "optics 7 is not an object",
	} {
		if p, _ := read(optics); len(p.Flaws) != 1 || !strings.Contains(p.Flaws[0].Error(), want) {
			t.Errorf("%s: %v", optics, p.Flaws)
		}
	}
}
