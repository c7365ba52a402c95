package model_test

import (
	"encoding/json"
	"strings"
	"testing"

	"pleach/model"
)

func radioOf(t *testing.T, text string) (model.Settings, string) {
	t.Helper()
	p := model.NewPlan(model.Prop("radio", json.RawMessage(text)))
	var flaws []string
	for _, f := range p.AllFlaws() {
		flaws = append(flaws, f.Error())
	}
	return p.Settings, strings.Join(flaws, "\n")
}

func TestRadioRulesAreNamedOrWrittenOut(t *testing.T) {
	if s, flaws := radioOf(t, `{}`); s.Rules != nil || flaws != "" {
		t.Errorf("without rules: %+v, %s", s.Rules, flaws)
	}
	if s, flaws := radioOf(t, `{"rules": "cept"}`); s.Rules == nil || s.Rules.Country != "CEPT" || flaws != "" {
		t.Errorf("cept: %+v, %s", s.Rules, flaws)
	}
	own := `{"rules": {"id": "o", "name": "Ours", "country": "XX", "date": "2027-01", "source": "a journal",
		"bands": [{"from_mhz": 868, "to_mhz": 869, "max_erp_dbm": 7, "use": "any", "source": "a page"}]}}`
	if s, flaws := radioOf(t, own); s.Rules == nil || s.Rules.Bands[0].MaxERPDBm != 7 || flaws != "" {
		t.Errorf("written out: %+v, %s", s.Rules, flaws)
	}
	for text, want := range map[string]string{
		`{"rules": "nowhere"}`: `radio.rules "nowhere" is no rule set: it must be one of cept, us`,
		`{"rules": 7}`:         "radio.rules",
		strings.Replace(own, `"max_erp_dbm": 7`, `"max_erp_dbm": 700`, 1): "radio.rules band 1: max_erp_dbm 700 is not between -50 and 60",
		strings.Replace(own, `"country": "XX", `, ``, 1):                  "radio.rules country is missing",
	} {
		if s, flaws := radioOf(t, text); s.Rules != nil || !strings.Contains(flaws, want) {
			t.Errorf("%s: %q, want %q", text, flaws, want)
		}
	}
}

func TestCalibrationIsAskedForByTrueOrAnObject(t *testing.T) {
	for text, use := range map[string]bool{`{}`: false, `{"calibration": true}`: true, `{"calibration": false}`: false, `{"calibration": null}`: false,
		`{"calibration": {"use": true}}`: true, `{"calibration": {"least": 8}}`: false} {
		if s, flaws := radioOf(t, text); s.Calibration.Use != use || flaws != "" {
			t.Errorf("%s: %+v, %s", text, s.Calibration, flaws)
		}
	}
	s, flaws := radioOf(t, `{"calibration": {"use": true, "saturated_dbm": -25, "limit_db": 4, "least": 8}}`)
	if c := s.Calibration; flaws != "" || c.Saturated == nil || *c.Saturated != -25 || c.Limit == nil || *c.Limit != 4 || c.Least != 8 {
		t.Errorf("%+v, %s", c, flaws)
	}
	for text, want := range map[string]string{
		`{"calibration": "yes"}`:                  `radio.calibration "yes" is not true, false or an object`,
		`{"calibration": {"least": 1}}`:           "radio.calibration.least 1 is not",
		`{"calibration": {"saturated_dbm": 1e9}}`: "radio.calibration.saturated_dbm 1e9 is not between -200 and 50",
		`{"message_s": 4}`:                        "radio.storm_s 5 is not at least twice message_s, 4",
	} {
		if _, flaws := radioOf(t, text); !strings.Contains(flaws, want) {
			t.Errorf("%s: %q, want %q", text, flaws, want)
		}
	}
}
