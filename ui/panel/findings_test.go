package panel

import (
	"fmt"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"pleach/model"
	"pleach/model/analysis"
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

func TestManyWarningsOfARuleAreFolded(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(&Look{})
	f := NewFindings()
	r := &analysis.Result{Plan: model.NewPlan()}
	for i := range 9 {
		from := float64(10 * i)
		r.Findings = append(r.Findings, model.Finding{Rule: "shallow", Severity: model.Warning, Subject: []string{"B1"}, From: &from, Text: fmt.Sprint("Shallow ", i)})
	}
	for i := range foldFrom - 1 {
		r.Findings = append(r.Findings, model.Finding{Rule: "angle", Severity: model.Warning, Subject: []string{fmt.Sprint("S", i)}, Text: "Angle"})
	}
	f.Set(nil, r)
	texts := func() (out []string) {
		for _, e := range f.entries {
			if e.of.Rule != "angle" {
				out = append(out, e.word+e.text)
			}
		}
		return out
	}
	if got := texts(); len(got) != foldShown+1 || got[foldShown] != "6 more of the kind shallow: show them" {
		t.Fatalf("%q", got)
	}
	if len(f.entries) != foldShown+1+foldFrom-1 {
		t.Errorf("%d lines: few warnings of a rule are folded, too", len(f.entries))
	}
	f.Choose(r.Findings[7])
	if got := texts(); len(got) != foldShown+2 || got[foldShown] != "WarningShallow 7" || got[foldShown+1] != "5 more of the kind shallow: show them" {
		t.Errorf("with the eighth chosen: %q", got)
	}
	f.list.OnSelected(foldShown + 1)
	if got := texts(); len(got) != 10 || got[9] != "Fold these 9 of the kind shallow" {
		t.Errorf("shown: %q", got)
	}
	f.list.OnSelected(9)
	if got := texts(); len(got) != foldShown+2 {
		t.Errorf("folded again: %q", got)
	}
	f.find.SetText("shallow")
	if got := texts(); len(got) != 9 {
		t.Errorf("asked for by word: %q", got)
	}
}
