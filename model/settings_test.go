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
