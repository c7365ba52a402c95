package panel

import (
	"encoding/json"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"pleach/model"
	"pleach/model/spectrum"
)

func TestRadioRulesArePickedCopiedAndEdited(t *testing.T) {
	e, ed, _ := site(t)
	r := NewRadio(ed)
	test.NewTempWindow(t, r.Object)
	r.Update()
	text := func() string {
		var all []string
		each(r.inside, func(o fyne.CanvasObject) {
			switch v := o.(type) {
			case *Para:
				all = append(all, v.text)
			case *Row:
				each(v.Content, func(o fyne.CanvasObject) {
					if l, ok := o.(*Line); ok {
						all = append(all, l.text)
					}
				})
			}
		})
		return strings.Join(all, "\n")
	}
	rules := func() *spectrum.Rules { return e.Plan().Settings.Rules }
	if !strings.Contains(text(), "Nothing is judged") {
		t.Errorf("without rules the panel says %s", text())
	}
	pick := pickOf(t, r.inside, "Rule set")
	if len(pick.Options) != 1+len(spectrum.Builtin()) {
		t.Errorf("options %+v", pick.Options)
	}
	cept, _ := spectrum.Named("cept")
	if err := pick.Commit("cept"); err != nil {
		t.Fatal(err)
	}
	r.Update()
	if raw, _ := e.Plan().Raw("radio.rules"); string(raw) != `"cept"` || e.UndoLabel() != "use radio rules cept" {
		t.Errorf("rules %s by step %q", raw, e.UndoLabel())
	}
	for _, want := range []string{cept.Name, cept.Date, cept.Source, "from memory: check with the local authority", "868–868.6 MHz"} {
		if !strings.Contains(text(), want) {
			t.Errorf("the panel does not say %q: %s", want, text())
		}
	}
	actionOf(t, r.inside, "Copy into the plan").OnTap()
	r.Update()
	if rules().ID != "cept-plan" || len(rules().Bands) != len(cept.Bands) || len(e.Plan().AllFlaws()) > 0 {
		t.Fatalf("copied: %+v, flaws %v", rules(), e.Plan().AllFlaws())
	}
	copied, _ := e.Plan().Raw("radio.rules")
	typeIn(rowOf(t, r.inside, "Country"), "XX", fyne.KeyReturn)
	typeIn(rowOf(t, r.inside, "Date"), "", fyne.KeyReturn)
	if s := r.form.help.text; rules().Date != cept.Date || !strings.Contains(s, "Date is needed") {
		t.Errorf("date %q, the help line says %q", rules().Date, s)
	}
	actionOf(t, r.inside, "868–868.6 MHz").OnTap()
	typeIn(rowOf(t, r.inside, "Duty cycle"), "2", fyne.KeyReturn)
	if s := r.form.help.text; rules().Bands[4].Duty != 0.01 || !strings.Contains(s, "between 0 and 1") {
		t.Errorf("duty %v, the help line says %q", rules().Bands[4].Duty, s)
	}
	typeIn(rowOf(t, r.inside, "Duty cycle"), "0,002", fyne.KeyReturn)
	r.Update()
	typeIn(rowOf(t, r.inside, "To"), "867", fyne.KeyReturn)
	if s := r.form.help.text; rules().Bands[4].ToMHz != 868.6 || !strings.Contains(s, "is not between 868 and 6000") {
		t.Errorf("to %v, the help line says %q", rules().Bands[4].ToMHz, s)
	}
	typeIn(rowOf(t, r.inside, "Except"), "868.2-868.3; 868.4–868.5", fyne.KeyReturn)
	r.Update()
	if b := rules().Bands[4]; b.Duty != 0.002 || len(b.Except) != 2 || b.Except[1] != [2]float64{868.4, 868.5} || rules().Country != "XX" {
		t.Errorf("%+v", b)
	}
	typeIn(rowOf(t, r.inside, "Except"), "868.2", fyne.KeyReturn)
	if s := r.form.help.text; !strings.Contains(s, "such as 868.6-868.7") {
		t.Errorf("the help line says %q", s)
	}
	typeIn(rowOf(t, r.inside, "Duty cycle"), "", fyne.KeyReturn)
	r.Update()
	if got := shown(t, r.inside, "Duty cycle"); rules().Bands[4].Duty != 0 || got != "*no limit" {
		t.Errorf("duty %v, shown %q", rules().Bands[4].Duty, got)
	}
	actionOf(t, r.inside, "Another sub-band").OnTap()
	r.Update()
	if n := len(rules().Bands); n != len(cept.Bands)+1 || rules().Bands[n-1].FromMHz != 868 || r.rules.chosen != n-1 {
		t.Errorf("%d bands, chosen %d", n, r.rules.chosen)
	}
	actionOf(t, r.inside, "Take this sub-band away").OnTap()
	r.Update()
	if n := len(rules().Bands); n != len(cept.Bands) {
		t.Errorf("%d bands", n)
	}
	for e.UndoLabel() != "copy radio rules cept" {
		if !e.Undo() {
			t.Fatal("there is no such step")
		}
	}
	if raw, _ := e.Plan().Raw("radio.rules"); string(raw) != string(copied) {
		t.Errorf("undone: %s", raw)
	}
	r.Update()
	if err := pickOf(t, r.inside, "Rule set").Commit(""); err != nil {
		t.Fatal(err)
	}
	if _, ok := e.Plan().Raw("radio"); ok {
		t.Error("no rules leave a member")
	}
}

func TestFlawedRadioRulesAreToldAndKept(t *testing.T) {
	e, ed, _ := site(t)
	if err := e.Do(model.Change{Path: "radio.rules", Value: json.RawMessage(`{"id": "x", "bands": []}`)}); err != nil {
		t.Fatal(err)
	}
	r := NewRadio(ed)
	r.Update()
	if w := r.rules.warn.text; r.rules.warn.Hidden || !strings.Contains(w, "bands is empty") || !strings.Contains(w, "country is missing") {
		t.Errorf("the panel says %q", w)
	}
	typeIn(rowOf(t, r.inside, "Frequency"), "869", fyne.KeyReturn)
	if raw, _ := e.Plan().Raw("radio.rules"); string(raw) != `{"id": "x", "bands": []}` || e.Plan().Settings.Frequency != 869 {
		t.Errorf("rules %s, frequency %v", raw, e.Plan().Settings.Frequency)
	}
}

func TestCorrectionByReadingsIsSwitchedWithItsFigures(t *testing.T) {
	e, ed, _ := site(t)
	r := NewRadio(ed)
	test.NewTempWindow(t, r.Object)
	r.Update()
	of := func() string { r.Update(); raw, _ := e.Plan().Raw("radio.calibration"); return string(raw) }
	use := pickOf(t, r.inside, "Correct the links")
	take := func(v any) {
		t.Helper()
		if err := use.Commit(v); err != nil {
			t.Fatal(err)
		}
	}
	take(true)
	if got := of(); got != "true" || !e.Plan().Settings.Calibration.Use {
		t.Errorf("on: %s", got)
	}
	take(false)
	if got := of(); got != "" {
		t.Errorf("off: %s", got)
	}
	typeIn(rowOf(t, r.inside, "Least of a class"), "1", fyne.KeyReturn)
	if s := r.form.help.text; of() != "" || !strings.Contains(s, "a whole number from 2 to 1000") {
		t.Errorf("%s; the help line says %q", of(), s)
	}
	typeIn(rowOf(t, r.inside, "Least of a class"), "8", fyne.KeyReturn)
	if got := of(); got != `{"least":8,"use":false}` {
		t.Errorf("with a figure: %s", got)
	}
	take(true)
	typeIn(rowOf(t, r.inside, "Saturated above"), "-25", fyne.KeyReturn)
	if c := e.Plan().Settings.Calibration; of() != `{"least": 8, "use": true, "saturated_dbm": -25}` || !c.Use || c.Least != 8 || *c.Saturated != -25 {
		t.Errorf("%s, %+v", of(), c)
	}
	if got := shown(t, r.inside, "Set aside within"); got != "*3 dB, by default" {
		t.Errorf("the limit says %q", got)
	}
	take(false)
	if got := of(); got != `{"least": 8, "use": false, "saturated_dbm": -25}` {
		t.Errorf("off: %s", got)
	}
	e.Undo()
	if !e.Plan().Settings.Calibration.Use {
		t.Error("one undo does not take the switch back")
	}
}

func TestEverySettingIsShownInOnePanel(t *testing.T) {
	s := model.NewPlan().Settings
	for _, st := range model.SettingsTable {
		n := 0
		for _, shows := range []bool{TitleBlock(st.Path), model.ForSheets(st.Path), OfRadio(st.Path)} {
			if shows {
				n++
			}
		}
		if n > 1 {
			t.Errorf("%s is shown in %d panels", st.Path, n)
		}
		if settingValue(&s, st.Path) == nil {
			t.Errorf("%s has no value in the window", st.Path)
		}
	}
}
