package model_test

import (
	"fmt"
	"strings"
	"testing"

	"pleach/model"
)

// repeaterWith returns the plan of one repeater with that radio.
func repeaterWith(t *testing.T, radio string) (*model.Repeater, []model.Flaw) {
	t.Helper()
	f, err := model.ReadFeature([]byte(fmt.Sprintf(`{"type":"Feature","id":"RP1","geometry":{"type":"Point","coordinates":[0,51]},
		"properties":{"kind":"repeater","antenna_height_m":4,"radio":%s}}`, radio)), 0)
	if err != nil {
		t.Fatal(err)
	}
	v, _ := f.Value.(*model.Repeater)
	return v, f.Flaws
}

func TestInstallationTermsAddUpToTheLoss(t *testing.T) {
	for _, row := range []struct {
		radio string
		want  float64
		terms int
	}{
		{`{"installation_terms":[{"what":"flat on a steel fence","db":9},{"what":"cold","db":2.1}]}`, 11.1, 2},
		{`{"installation_terms":[{"what":"a","db":0.1},{"what":"b","db":0.2}],"installation_loss_db":0.3}`, 0.3, 2},
		{`{"installation_terms":[]}`, 0, 0},
	} {
		r, flaws := repeaterWith(t, row.radio)
		if len(flaws) > 0 {
			t.Errorf("%s: %v", row.radio, flaws)
			continue
		}
		if got := r.Radio.Installation; got == nil || *got < row.want-1e-9 || *got > row.want+1e-9 || r.Radio.Terms == nil || len(r.Radio.Terms) != row.terms {
			t.Errorf("%s: %v dB of %v", row.radio, got, r.Radio.Terms)
		}
	}
}

func TestInstallationTermsThatCannotBeAreNamed(t *testing.T) {
	for _, row := range []struct{ radio, property, says string }{
		{`{"installation_terms":[{"what":"steel","db":9}],"installation_loss_db":6}`, "radio.installation_loss_db", "6 dB is not the 9 dB that installation_terms add up to: state one of the two, or the same sum"},
		{`{"installation_terms":[{"what":"steel","db":60},{"what":"more","db":41}]}`, "radio.installation_terms", "add up to 101 dB: their sum must be between 0 and 100"},
		{`{"installation_terms":[{"what":"steel","db":-1}]}`, "radio.installation_terms[0].db", "-1 is not between 0 and 100"},
		{`{"installation_terms":[{"db":1}]}`, "radio.installation_terms[0].what", "is missing"},
		{`{"installation_terms":[{"what":"steel"}]}`, "radio.installation_terms[0].db", "is missing: it must be between 0 and 100"},
		{`{"installation_terms":{"what":"steel","db":1}}`, "radio.installation_terms", "is not a list"},
	} {
		_, flaws := repeaterWith(t, row.radio)
		if len(flaws) != 1 || flaws[0].ID != "RP1" || flaws[0].Property != row.property || !strings.Contains(flaws[0].Text, row.says) {
			t.Errorf("%s: %+v", row.radio, flaws)
		}
	}
}

func TestTheRadioOfASensorReplacesWhatItStates(t *testing.T) {
	v := func(x float64) *float64 { return &x }
	of := model.Radio{ERP: v(14), Sensitivity: v(-110), AntennaGain: v(-5), Installation: v(3), Terms: []model.InstallationTerm{{"post", 3}}}
	if got := of.With(model.Radio{}); *got.ERP != 14 || *got.Sensitivity != -110 || *got.Installation != 3 || len(got.Terms) != 1 {
		t.Errorf("nothing stated: %+v", got)
	}
	got := of.With(model.Radio{TransmitOnly: true, Installation: v(9), FeederLoss: v(1)})
	if *got.ERP != 14 || !got.TransmitOnly || got.Sensitivity != nil || *got.Installation != 9 || got.Terms != nil || *got.FeederLoss != 1 || *got.AntennaGain != -5 {
		t.Errorf("all but power and gain replaced: %+v", got)
	}
}
