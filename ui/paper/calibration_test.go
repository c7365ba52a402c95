package paper

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"pleach/model"
	"pleach/model/analysis"
)

// surveyed is the demo with a level read over each of its first links, a saturated
// one, one at the sensitivity limit and one of another unit among them.
func surveyed(t testing.TB, n int) Input {
	t.Helper()
	in := analysed(t)
	var add []*model.Feature
	for i := range n {
		l := in.Result.Links[i%len(in.Result.Links)]
		from, to, level, unit := l.From, l.To, l.Received-3+float64(i%5), "dBm"
		switch i {
		case 1:
			level = -12
		case 2:
			level = -104
		case 3:
			unit = "mV"
		case 4:
			from, to = to, from
		}
		add = append(add, model.NewFeature(model.KindReading, fmt.Sprintf("M%d", i+1), nil, model.Prop("of", []string{from, to}), model.Prop("what", "signal"),
			model.Prop("value", float64(int(level))), model.Prop("unit", unit), model.Prop("at", "2027-03-04T10:20:00Z"), model.Prop("by", "A. Reader")))
	}
	p, err := model.Add{Features: add}.Apply(in.Plan)
	if err != nil {
		t.Fatal(err)
	}
	r, err := analysis.Run(context.Background(), p, nil)
	if err == nil {
		r, err = analysis.WithRadioStudy(context.Background(), r)
	}
	if err != nil {
		t.Fatal(err)
	}
	return Input{Plan: p, Scene: r.Scene, Result: r}
}

func TestTheRadioSheetTellsWhatWasReadOnSite(t *testing.T) {
	const heading = "Signal read on site against the predictions"
	f, _ := printed(t, analysed(t), Options{Sheets: []string{"radio"}})
	if text := pagesText(f); strings.Contains(text, heading) || strings.Contains(text, "Readings of signal") {
		t.Error("without a reading the sheet tells of readings")
	}
	in := surveyed(t, 16)
	for _, mono := range []bool{false, true} {
		f, _ = printed(t, in, Options{Sheets: []string{"radio"}, Mono: mono})
		text := pagesText(f)
		for _, want := range []string{heading, "Small-sample factor", "Error held back, dB", "Read, dBm", "Predicted, dBm", "2027-03-04", "A. Reader",
			"set aside: saturated: −12 dBm", "set aside: at the sensitivity limit: −104 dBm", "set aside: its unit is mV, not dBm", "Set aside, in the open", "the plan does not ask for correction"} {
			if !strings.Contains(text, want) {
				t.Errorf("mono %v: the sheet does not say %q", mono, want)
			}
		}
		for _, f := range in.Plan.Of(model.KindReading) {
			if of := f.Value.(*model.Reading).Of; !strings.Contains(text, f.ID+" "+of[0]+" → "+of[1]) {
				t.Errorf("%s is not listed as sent by %s and read by %s", f.ID, of[0], of[1])
			}
		}
	}
}

// Where no reading has a place in the plot the list still says why.
func TestReadingsThatSayNothingAreListedWithTheReason(t *testing.T) {
	in := analysed(t)
	p, err := model.Add{Features: []*model.Feature{model.NewFeature(model.KindReading, "M1", nil, model.Prop("of", []string{"S1"}), model.Prop("what", "signal"), model.Prop("value", -60))}}.Apply(in.Plan)
	if err != nil {
		t.Fatal(err)
	}
	r := *in.Result
	r.Plan, r.Calibration = p, &analysis.Calibration{Aside: []analysis.Unused{{ID: "M1", Reason: "it is not of two devices"}}}
	f, _ := printed(t, Input{Plan: p, Scene: in.Scene, Result: &r}, Options{Sheets: []string{"radio"}})
	if text := pagesText(f); !strings.Contains(text, "set aside: it is not of two devices") || strings.Contains(text, "Small-sample factor") {
		t.Error(text)
	}
}
