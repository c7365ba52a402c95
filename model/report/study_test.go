package report

import (
	"bytes"
	"strings"
	"testing"

	"pleach/model"
	"pleach/model/analysis"
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
	for _, want := range []string{"If a radio device fails", "1 of 2  S1", "lorry 13 dB", "1 of 2 sensors have a second route", "Without: S2."} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the text does not say %q:\n%s", want, b.String())
		}
	}
}
