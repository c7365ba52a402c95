package spectrum

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
)

func closeTo(t *testing.T, what string, got, want, tolerance float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.6f, want %.6f within %g; source: %s", what, got, want, tolerance, source)
	}
}

func rules(t *testing.T, id string) Rules {
	t.Helper()
	r, ok := Named(id)
	if !ok {
		t.Fatalf("no rule set %q", id)
	}
	return r
}

func TestOutsideSubBands(t *testing.T) {
	const alarm, other = "ERC/REC 70-03, CEPT database page of the alarm annex", "ERC/REC 70-03 annex 1, national interface tables"
	const memory = "ERC/REC 70-03 annex 1, from memory"
	for _, row := range []struct {
		mhz, mw, duty float64
		use, source   string
		fromMemory    bool
	}{
		{868.65, 10, 0.01, Alarms, alarm, false},
		{869.225, 10, 0.001, SocialAlarms, alarm, false},
		{869.275, 10, 0.001, Alarms, alarm, false},
		{869.35, 10, 0.01, Alarms, alarm, false},
		{869.675, 25, 0.1, Alarms, alarm, false},
		{433.92, 10, 0.1, Any, other, false},
		{868.3, 25, 0.01, Any, other, false},
		{868.95, 25, 0.001, Any, other, false},
		{869.5, 500, 0.1, Any, other, false},
		{869.85, 25, 0.01, Any, memory, true},
		{434.5, 10, 0, Any, memory, true},
	} {
		t.Run(fmt.Sprintf("%v MHz %v mW %v", row.mhz, row.mw, row.duty), func(t *testing.T) {
			for _, b := range rules(t, "cept").Bands {
				if b.Holds(row.mhz) && b.Use == row.use && b.Duty == row.duty && math.Abs(math.Pow(10, b.MaxERPDBm/10)-row.mw) < 0.002*row.mw {
					if b.FromMemory != row.fromMemory {
						t.Errorf("from memory: %v, want %v", b.FromMemory, row.fromMemory)
					}
					return
				}
			}
			t.Errorf("no such band; source: %s", row.source)
		})
	}
}

func TestOutsideFieldAndPower(t *testing.T) {
	const source = "E²d²/30, worked outside the program; 47 CFR 15.231 and 15.249 limits from memory"
	closeTo(t, "10996.7 µV/m", EIRPFromField(10996.7, 3), -14.40233, 0.005, source)
	closeTo(t, "50 mV/m", EIRPFromField(50000, 3), -1.2, 0.06, source)
	closeTo(t, "120 dBµV/m at 1 m", EIRPFromField(1e6, 1), 120-104.77, 0.005, "EIRP(dBm) = E(dBµV/m) + 20·log10 d - 104.77")
	closeTo(t, "limit at 433.92 MHz", rules(t, "us").Bands[0].MaxERP(433.92)+2.15, -14.40233, 0.005, source)
}

func TestOutsideTimeOnTheAir(t *testing.T) {
	const source = "duty cycle times 3600 s"
	for _, row := range []struct{ duty, want float64 }{{0.001, 3.6}, {0.01, 36}, {0.1, 360}} {
		b := Band{MaxERPDBm: 30, Duty: row.duty}
		if len(b.breaches(Use{AirtimeS: row.want})) != 0 {
			t.Errorf("%v s an hour breaks %v; source: %s", row.want, row.duty, source)
		}
		got := b.breaches(Use{AirtimeS: row.want * 1.001})
		if len(got) != 1 {
			t.Fatalf("%v s an hour keeps %v; source: %s", row.want*1.001, row.duty, source)
		}
		closeTo(t, "limit", got[0].Limit, row.want, 1e-9, source)
	}
}

// star returns the routes of sensors 0 to n-1 by the repeater n to the receiver
// n+1.
func star(n int) [][]int {
	routes := make([][]int, n+2)
	for s := range n {
		routes[s] = []int{s, n, n + 1}
	}
	return routes
}

func TestOutsideARepeaterSendsWhatAllBehindItSend(t *testing.T) {
	for _, row := range []struct {
		sensors          int
		perHour, airtime float64
		want             float64
		source           string
	}{
		{12, 6, 0.05, 3.6, "12 sensors x 6 messages an hour x 50 ms, by hand: all of 0.1 %"},
		{20, 36, 0.02, 14.4, "20 sensors every 100 s, 20 ms each, by hand: 0.4 %"},
	} {
		own := make([]Traffic, row.sensors+2)
		for s := range row.sensors {
			own[s] = Traffic{Supervision: row.perHour, Airtime: row.airtime}
		}
		loads := Loads(own, star(row.sensors))
		repeater := loads[row.sensors]
		closeTo(t, "repeater", repeater.Total(), row.want, 1e-9, row.source)
		closeTo(t, "duty", repeater.Duty(), row.want/3600, 1e-12, row.source)
		closeTo(t, "sensor", loads[0].Total(), row.want/float64(row.sensors), 1e-9, row.source)
		if repeater.Sources != row.sensors || loads[row.sensors+1].Total() != 0 {
			t.Errorf("repeater %+v, receiver %+v", repeater, loads[row.sensors+1])
		}
	}
}

func TestARepeatersOwnMessagesGoOnByTheRepeatersAhead(t *testing.T) {
	// 0 by 1 and 2 to 3; every device reports itself, copies double.
	own := []Traffic{{6, 4, 0.05, 2}, {6, 0, 0.05, 0}, {6, 0, 0.05, 1}, {}}
	got := Loads(own, [][]int{{0, 1, 2, 3}, nil, nil, nil})
	want := []Load{
		{Own: 1, Supervision: 0.6},
		{Own: 0.3, Forwarded: 1, Supervision: 0.9, Sources: 1},
		{Own: 0.3, Forwarded: 1.3, Supervision: 1.2, Sources: 2},
		{},
	}
	for i := range want {
		for _, v := range [][2]float64{{got[i].Own, want[i].Own}, {got[i].Forwarded, want[i].Forwarded}, {got[i].Supervision, want[i].Supervision}} {
			if math.Abs(v[0]-v[1]) > 1e-12 || got[i].Sources != want[i].Sources {
				t.Errorf("device %d: %+v, want %+v", i, got[i], want[i])
			}
		}
	}
}

func TestTwentySensorsBehindARepeaterBreakATenthOfAPercent(t *testing.T) {
	r := rules(t, "cept")
	use := Use{FreqMHz: 869.275, ERPDBm: 10, AirtimeS: 14.4}
	v := r.Judge(use)
	if v.Allowed || !v.Held || len(v.Breaches) != 1 || math.Abs(v.Breaches[0].Limit-3.6) > 1e-9 || v.Breaches[0].Is != 14.4 {
		t.Fatalf("%+v", v)
	}
	if want := "869.25 to 869.3 MHz: 10 dBm ERP, 0.1 % of the time, 25 kHz, for alarms (CEPT, 2026-11)"; r.Quote(v.Breaches[0].Band) != want {
		t.Errorf("%s\nwant %s", r.Quote(v.Breaches[0].Band), want)
	}
	use.FreqMHz = 869.35
	if v := r.Judge(use); !v.Allowed || v.By.Use != Alarms {
		t.Errorf("at 869.35 MHz %+v", v)
	}
}

func TestAnyBandThatHoldsIsEnough(t *testing.T) {
	r := rules(t, "cept")
	for _, row := range []struct {
		name    string
		use     Use
		allowed bool
		held    bool
	}{
		{"5 mW all the time", Use{FreqMHz: 869.85, ERPDBm: 6.9, AirtimeS: 3600}, true, true},
		{"25 mW for a while", Use{FreqMHz: 869.85, ERPDBm: 13.98, AirtimeS: 36}, true, true},
		{"25 mW all the time", Use{FreqMHz: 869.85, ERPDBm: 13.98, AirtimeS: 3600}, false, true},
		{"a social alarm's band", Use{FreqMHz: 869.225, ERPDBm: 0}, false, false},
		{"nobody's band", Use{FreqMHz: 500, ERPDBm: 0}, false, false},
		{"narrow at 434.5 MHz", Use{FreqMHz: 434.5, ERPDBm: 10, AirtimeS: 3000, BandwidthKHz: 25}, true, true},
		{"wide at 434.5 MHz", Use{FreqMHz: 434.5, ERPDBm: 10, AirtimeS: 3000, BandwidthKHz: 100}, false, true},
		{"hopping at 864 MHz", Use{FreqMHz: 864, ERPDBm: 10, AirtimeS: 3, Hopping: true}, true, true},
		{"the same standing", Use{FreqMHz: 864, ERPDBm: 10, AirtimeS: 3}, false, false},
		{"hopping in an alarm band", Use{FreqMHz: 869.225, ERPDBm: 10, AirtimeS: 3, Hopping: true}, false, false},
	} {
		if v := r.Judge(row.use); v.Allowed != row.allowed || v.Held != row.held || !v.Allowed && v.Held && len(v.Breaches) == 0 {
			t.Errorf("%s: %+v", row.name, v)
		}
	}
}

func TestSupervisionHasALimitOfItsOwn(t *testing.T) {
	r := rules(t, "us")
	use := Use{FreqMHz: 433.92, ERPDBm: -17, AirtimeS: 300, SupervisionS: 2, LongestS: 1}
	if v := r.Judge(use); !v.Allowed || !v.By.FromMemory {
		t.Errorf("%+v", v)
	}
	use.SupervisionS, use.LongestS, use.ERPDBm = 2.1, 6, 10
	if v := r.Judge(use); v.Allowed || len(v.Breaches) != 3 {
		t.Errorf("%+v", v)
	}
}

func TestOutsidePureAloha(t *testing.T) {
	const source = "exp(-2G), worked outside the program"
	for _, row := range []struct {
		devices       int
		airtime, want float64
		tol           float64
	}{{20, 0.02, 0.98741, 1e-5}, {60, 0.02, 0.96143, 1e-5}, {120, 0.02, 0.92373, 1e-5}, {60, 0.1, 0.821, 0.0005}, {120, 0.1, 0.67, 0.005}} {
		closeTo(t, fmt.Sprint(row.devices, " devices"), AlohaSuccess(row.devices, 1.0/60, row.airtime), row.want, row.tol, source)
	}
}

func TestAStormOfManyInALongWindowIsPureAloha(t *testing.T) {
	s := Storm{Alarms: 20001, Window: 1e5, Airtime: 0.2}
	if got, want := s.Success(), math.Exp(-2*20000*0.2/1e5); math.Abs(got-want) > 1e-6 {
		t.Errorf("%v, want %v", got, want)
	}
}

// The same as Success, by throwing dice.
func TestAStormIsWhatDiceSay(t *testing.T) {
	dice := rand.New(rand.NewPCG(1, 2))
	for _, s := range []Storm{{Alarms: 10, Window: 5, Airtime: 0.05}, {Alarms: 20, Window: 10, Airtime: 0.05, Copies: 3}, {Alarms: 8, Window: 10, Airtime: 0.1, Copies: 2, Links: 2}} {
		const trials = 40000
		arrived := 0
		for range trials {
			all := true
			for range max(1, s.Links) {
				link := false
				for range max(1, s.Copies) {
					// Within a ring of time: the formula has no first and last.
					clear := true
					for range (s.Alarms - 1) * max(1, s.Copies) * max(1, s.Links) {
						off := s.Window * dice.Float64()
						clear = clear && off >= s.Airtime && off <= s.Window-s.Airtime
					}
					link = link || clear
				}
				all = all && link
			}
			if all {
				arrived++
			}
		}
		got, want := s.Success(), float64(arrived)/trials
		if math.Abs(got-want) > 4*math.Sqrt(want*(1-want)/trials) {
			t.Errorf("%+v: %v, dice say %v", s, got, want)
		}
	}
}

func TestAStormOfOneArrives(t *testing.T) {
	for _, s := range []Storm{{}, {Alarms: 1, Airtime: 9, Window: 1}, {Alarms: 1, Copies: 3, Links: 4}} {
		if got := s.Success(); got != 1 {
			t.Errorf("%+v: %v", s, got)
		}
	}
	if got := (Storm{Alarms: 2, Airtime: 1, Window: 1}).Success(); got != 0 {
		t.Errorf("two that must meet: %v", got)
	}
}

func TestARuleSetIsReadAsItWasWritten(t *testing.T) {
	for _, r := range Builtin() {
		data, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Parse(data)
		if err != nil || !reflect.DeepEqual(got, r) {
			t.Errorf("%s: %v, %+v", r.ID, err, got)
		}
	}
}

func TestAWrongRuleSetIsNamedInPlace(t *testing.T) {
	good := func() map[string]any {
		return map[string]any{"id": "x", "name": "x", "country": "XX", "date": "2025-11", "source": "user",
			"bands": []any{map[string]any{"from_mhz": 868.0, "to_mhz": 868.6, "max_erp_dbm": 14.0, "duty": 0.01, "use": "any", "source": "user"}}}
	}
	band := func(m map[string]any) map[string]any { return m["bands"].([]any)[0].(map[string]any) }
	for _, row := range []struct {
		name   string
		change func(m map[string]any)
		want   string
	}{
		{"nothing", func(map[string]any) {}, ""},
		{"no date", func(m map[string]any) { delete(m, "date") }, "rules: date is missing"},
		{"no bands", func(m map[string]any) { m["bands"] = []any{} }, "rules: bands is empty"},
		{"upside down", func(m map[string]any) { band(m)["to_mhz"] = 867.0 }, "rules: band 1: to_mhz 867 is not between 868 and 6000"},
		{"a percentage", func(m map[string]any) { band(m)["duty"] = 10.0 }, "rules: band 1: duty 10 is not between 0 and 1"},
		{"milliwatts", func(m map[string]any) { band(m)["max_erp_dbm"] = 500.0 }, "rules: band 1: max_erp_dbm 500 is not between -50 and 60"},
		{"no use", func(m map[string]any) { delete(band(m), "use") }, `rules: band 1: use "" is not one of any, alarms`},
		{"a slip of the pen", func(m map[string]any) { band(m)["dutty"] = 0.1 }, `rules: "dutty" is no member of a rule set: correct its name or take it out`},
		{"a number for text", func(m map[string]any) { m["name"] = 7 }, "rules: name is a number: it must be text"},
		{"text for a list", func(m map[string]any) { m["bands"] = "868" }, "rules: bands is text: it must be a list"},
		{"a word for a number", func(m map[string]any) { band(m)["duty"] = "1 %" }, "rules: bands.duty is text: it must be a number"},
	} {
		m := good()
		row.change(m)
		data, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		_, err = Parse(data)
		if row.want == "" && err != nil || row.want != "" && (err == nil || !strings.Contains(err.Error(), row.want)) {
			t.Errorf("%s: %v, want %q", row.name, err, row.want)
		}
	}
	if _, err := Parse([]byte("{} {}")); err == nil {
		t.Error("two values are read as one")
	}
}
