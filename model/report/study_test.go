package report

import (
	"bytes"
	"strings"
	"testing"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/calibration"
	"pleach/model/spectrum"
)

func TestTheStudyOfTheRadioNetIsToldWhereItWasMade(t *testing.T) {
	r := result(t)
	m, text := report(t, r)
	if strings.Contains(text, "second_route") || m["losses"] != nil {
		t.Error("a study is told that was not made")
	}
	r.Study = &analysis.Study{Seconds: []*analysis.Second{{Route: []string{"S1", "RP1", "RX"}, Margin: 20.25, Holds: true}, nil},
		Losses: []analysis.Loss{{ID: "RX", Kind: model.KindReceiver, Sensors: []string{"S1"}}},
		Mends:  []*analysis.Mend{{ID: "RX", From: 3, To: 5.5, Spare: 1.2}, {}},
		Worst:  []*analysis.Worst{{Name: analysis.Lorry, On: "R1", Margin: 12.5, Required: 18.6, Probability: 0.94}, nil}}
	m, _ = report(t, r)
	if got := at(t, m, "sensors", 0, "second_route", 1); got != "RP1" {
		t.Errorf("second route by %v", got)
	}
	if got := at(t, m, "sensors", 0, "second_margin_db"); got != 20.25 {
		t.Errorf("second margin %v", got)
	}
	if got := at(t, m, "sensors", 1, "second_route"); got != nil {
		t.Errorf("S2 has a second route %v", got)
	}
	if got := at(t, m, "losses", 0, "sensors", 0); got != "S1" {
		t.Errorf("lost with RX: %v", got)
	}
	if got := at(t, m, "sensors", 0, "mend_antenna_m"); got != 5.5 {
		t.Errorf("mended at %v m", got)
	}
	if got := at(t, m, "sensors", 1, "mend_antenna_m"); got != nil {
		t.Errorf("S2 is mended at %v m", got)
	}
	if got := at(t, m, "links", 0, "worst_case", "margin_db"); got != 12.5 {
		t.Errorf("worst case %v dB", got)
	}
	var b bytes.Buffer
	if err := Text(&b, "yard.geojson", r, Width); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"If a radio device fails", "1 of 2  S1", "lorry 13 dB", "1 of 2 sensors have a second route", "The others have none: S2.", "A sensor is lost with a device when"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the text does not say %q:\n%s", want, b.String())
		}
	}
}

func TestRadioRulesAreToldWithTheirCountryAndDate(t *testing.T) {
	r := result(t)
	rules, _ := spectrum.Named("cept")
	allowed := rules.Judge(spectrum.Use{FreqMHz: 868.3, ERPDBm: 10})
	over := rules.Judge(spectrum.Use{FreqMHz: 869.7, ERPDBm: 20})
	r.Study = &analysis.Study{Seconds: make([]*analysis.Second, 2), Compliance: &analysis.Compliance{Rules: rules, Devices: []analysis.OnAir{
		{ID: "S1", Kind: model.KindSensor, ERP: 10, Load: spectrum.Load{Own: 0.06}, Verdict: allowed},
		{ID: "S2", Kind: model.KindSensor, ERP: 10, Load: spectrum.Load{Own: 0.05}, Verdict: allowed},
		{ID: "RX", Kind: model.KindReceiver, ERP: 20, Verdict: over}},
		Storm: spectrum.Storm{Alarms: 2, Window: 5, Airtime: 0.05, Copies: 1, Links: 1}, Success: 0.98}}
	m, _ := report(t, r)
	for want, path := range map[any][]any{"CEPT": {"country"}, "2026-11": {"date"}, true: {"devices", 0, "allowed"}, false: {"devices", 2, "allowed"},
		0.98: {"storm", "success"}, 0.06: {"devices", 0, "own_s_per_hour"}, "power, dBm": {"devices", 2, "breaches", 0, "what"}} {
		if got := at(t, m, append([]any{"radio_rules"}, path...)...); got != want {
			t.Errorf("%v is %v, want %v", path, got, want)
		}
	}
	var b bytes.Buffer
	if err := Text(&b, "yard.geojson", r, Width); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Radio rules", "868 to 868.6 MHz: 14 dBm ERP, 1 % of the time (CEPT, 2026-11)", "not allowed", "gets through with 98 %", "The conditions of the"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the text does not say %q:\n%s", want, b.String())
		}
	}
}

func TestReadingsOfSignalAreToldWithWhatTheySay(t *testing.T) {
	r := result(t)
	m, _ := report(t, r)
	if m["calibration"] != nil {
		t.Error("a calibration without readings")
	}
	if at(t, m, "settings", "radio", "rules") != nil || at(t, m, "settings", "radio", "calibration", "use") != false {
		t.Errorf("settings %v", at(t, m, "settings", "radio"))
	}
	s := -105.0
	var readings []calibration.Reading
	ends := map[string][2]string{}
	for i, e := range []float64{-6, -4, -6, -4, -6, -4} {
		id := string(rune('A' + i))
		readings = append(readings, calibration.Reading{ID: id, Class: analysis.ClassOpen, PredictedDBm: -70, MeasuredDBm: -70 + e, SensitivityDBm: &s})
		ends[id] = [2]string{"S1", "RX"}
	}
	readings = append(readings, calibration.Reading{ID: "L", Class: analysis.ClassOpen, PredictedDBm: -70, MeasuredDBm: -104, SensitivityDBm: &s})
	ends["L"] = [2]string{"S2", "RX"}
	r.Calibration = &analysis.Calibration{Fit: calibration.Fit(readings, calibration.Options{}), Ends: ends, Aside: []analysis.Unused{{ID: "Z", Reason: "its unit is %, not dBm"}}}
	m, _ = report(t, r)
	for _, c := range []struct {
		want any
		path []any
	}{{false, []any{"in_use"}}, {-5.0, []any{"classes", 0, "bias_db"}}, {6.0, []any{"all", "readings"}}, {-76.0, []any{"points", 0, "measured_dbm"}},
		{-75.0, []any{"points", 0, "corrected_dbm"}}, {"S1", []any{"points", 0, "from"}}, {"L", []any{"aside", 0, "reading"}}, {"Z", []any{"aside", 1, "reading"}},
		{1.0, []any{"at_limit"}}, {analysis.ClassOpen, []any{"classes", 0, "corrected_by"}}} {
		if got := at(t, m, append([]any{"calibration"}, c.path...)...); got != c.want {
			t.Errorf("%v is %v, want %v", c.path, got, c.want)
		}
	}
	var b bytes.Buffer
	if err := Text(&b, "yard.geojson", r, Width); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"-5.0 dB", "Set aside: Z, its unit is %", "Set aside: L, at the sensitivity limit", "1 reading was at the sensitivity limit", "No link is corrected"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the text does not say %q:\n%s", want, b.String())
		}
	}
}
