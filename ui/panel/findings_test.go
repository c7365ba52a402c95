package panel

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"pleach/model"
)

// The filter goes by severity and by words of text, rule and ids; what is chosen
// stays so while it is left out.
func TestFindingsAreFilteredAndTheChosenOneStaysChosen(t *testing.T) {
	_, _, result := site(t)
	f := NewFindings()
	w := test.NewTempWindow(t, f.Object)
	w.Resize(fyne.NewSize(340, 500))
	f.Set(nil, result())
	all := len(f.entries)
	var note, fault *finding
	for i := range f.all {
		switch e := &f.all[i]; {
		case e.of.Severity == model.Note && note == nil:
			note = e
		case e.of.Severity == model.Fault && fault == nil:
			fault = e
		}
	}
	if note == nil || fault == nil || all == len(f.all) {
		t.Fatalf("%d of %d findings: too few to filter", all, len(f.all))
	}
	f.Choose(fault.of)
	for _, c := range []struct {
		severity model.Severity
		words    string
		fits     func(finding) bool
	}{
		{model.Note, "", func(e finding) bool { return e.of.Severity == model.Note }},
		{model.Fault, "", func(e finding) bool { return e.of.Severity == model.Fault }},
		{"", strings.ToUpper(fault.of.Rule), func(e finding) bool { return e.of.Rule == fault.of.Rule }},
		{"", fault.of.Rule + " " + strings.ToLower(fault.of.Subject[0]), func(e finding) bool { return sameFinding(e.of, fault.of) }},
	} {
		if err := f.severity.Commit(string(c.severity)); err != nil {
			t.Fatal(err)
		}
		f.find.SetText(c.words)
		want := 0
		for _, e := range f.all {
			if c.fits(e) && (e.of.Severity != model.Note || c.severity == model.Note) {
				want++
			}
		}
		if len(f.entries) < want || want == 0 {
			t.Errorf("%q %q: %d findings, want %d", c.severity, c.words, len(f.entries), want)
		}
		for _, e := range f.entries {
			if c.severity != "" && e.of.Severity != c.severity {
				t.Errorf("%q %q lists %q", c.severity, c.words, e.text)
			}
		}
		if f.chosen == nil || !sameFinding(*f.chosen, fault.of) || !f.foot.Visible() {
			t.Errorf("%q %q: chosen is %+v", c.severity, c.words, f.chosen)
		}
	}
	f.find.SetText("no such words anywhere")
	if len(f.entries) != 0 || !strings.Contains(f.none.text, "is like that") || f.Floor() == 0 {
		t.Errorf("%d findings, %q", len(f.entries), f.none.text)
	}
	f.find.SetText("")
	f.severity.Commit("")
	marked := 0
	for _, e := range f.entries {
		if e.chosen {
			marked++
		}
	}
	if len(f.entries) != all || marked != 1 {
		t.Errorf("%d findings, %d marked, want %d and 1", len(f.entries), marked, all)
	}
}
