package panel

import (
	"encoding/json"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/radio"
	"pleach/ui/editor"
)

// pickOf finds the pick of a labelled row.
func pickOf(t *testing.T, o fyne.CanvasObject, label string) *Pick {
	t.Helper()
	var found *Pick
	each(o, func(o fyne.CanvasObject) {
		c, ok := o.(*fyne.Container)
		if !ok || len(c.Objects) != 2 {
			return
		}
		if labelled(c, label) {
			found, _ = c.Objects[1].(*Pick)
		}
	})
	if found == nil {
		t.Fatalf("there is no pick %q", label)
	}
	return found
}

// actionOf finds something to be done by its words.
func actionOf(t *testing.T, o fyne.CanvasObject, words string) *Row {
	t.Helper()
	var found *Row
	each(o, func(o fyne.CanvasObject) {
		r, ok := o.(*Row)
		if !ok {
			return
		}
		each(r.Content, func(o fyne.CanvasObject) {
			if l, ok := o.(*Line); ok && strings.Contains(l.Text(), words) {
				found = r
			}
		})
	})
	if found == nil {
		t.Fatalf("there is nothing to be done that says %q", words)
	}
	return found
}

// each goes through what containers hold, hidden ones aside.
func each(o fyne.CanvasObject, do func(fyne.CanvasObject)) {
	if !o.Visible() {
		return
	}
	do(o)
	if c, ok := o.(*fyne.Container); ok {
		for _, k := range c.Objects {
			each(k, do)
		}
	}
}

// shown is what a labelled row says, a star before what is not stated.
func shown(t *testing.T, o fyne.CanvasObject, label string) string {
	v := rowOf(t, o, label)
	if v.soft {
		return "*" + v.text
	}
	return v.text
}

// raw is a property of a feature as the plan spells it.
func raw(e *editor.Editor, id, property string) string {
	r, _ := e.Plan().Feature(id).Property(property)
	return string(r)
}

func TestTheRadioOfADeviceSaysWhatAppliesAndWhereItComesFrom(t *testing.T) {
	e, ed, result := site(t)
	quiet := json.RawMessage(`[{"id": "curtain-4-63", "lobes": [{"width_deg": 4, "up_deg": 1, "down_deg": 3, "range_m": 63}], "radio": {"erp_dbm": 3, "sensitivity_dbm": null}}]`)
	if err := e.Do(model.Change{Path: "models", Value: quiet}); err != nil {
		t.Fatal(err)
	}
	d := NewDetails(&Look{}, ed, result)
	test.NewTempWindow(t, d.Object)
	e.Select("S1")
	d.Update()
	for label, want := range map[string]string{
		"Radiated power": "*3 dBm, by its model", "Sensitivity": "*only transmits, by its model", "Antenna gain": "*−3 dBi, by default", "Feeder loss": "*0 dB, by default",
		"Installation loss": "*6 dB, by default",
	} {
		if got := shown(t, d.inside, label); got != want {
			t.Errorf("%s says %q, want %q", label, got, want)
		}
	}
	typeIn(rowOf(t, d.inside, "Radiated power"), "12", fyne.KeyReturn)
	typeIn(rowOf(t, d.inside, "Sensitivity"), "−110", fyne.KeyReturn)
	d.Update()
	if got := raw(e, "S1", "radio"); got != `{"erp_dbm": 12, "sensitivity_dbm": -110}` {
		t.Errorf("radio %s", got)
	}
	if e.UndoLabel() != "set sensitivity of S1" {
		t.Errorf("the step is called %q", e.UndoLabel())
	}
	typeIn(rowOf(t, d.inside, "Antenna gain"), "70", fyne.KeyReturn)
	if s := d.form.help.text; !strings.Contains(s, "Antenna gain cannot be 70: it must be between -60 and 60 dBi") {
		t.Errorf("the help line says %q", s)
	}
	typeIn(rowOf(t, d.inside, "Sensitivity"), "none", fyne.KeyReturn)
	if got := raw(e, "S1", "radio"); got != `{"erp_dbm": 12, "sensitivity_dbm": null}` {
		t.Errorf("radio %s", got)
	}
	e.Undo()
	e.Undo()
	d.Update()
	typeIn(rowOf(t, d.inside, "Radiated power"), "", fyne.KeyReturn)
	if got := raw(e, "S1", "radio"); got != "" {
		t.Errorf("what says nothing stays: %s", got)
	}
	e.Select("RX")
	d.Update()
	typeIn(rowOf(t, d.inside, "Sensitivity"), "none", fyne.KeyReturn)
	if s := d.form.help.text; !strings.Contains(s, "A receiver has to hear") {
		t.Errorf("the help line says %q", s)
	}
	e.Select("S1", "S2")
	d.Update()
	typeIn(rowOf(t, d.inside, "Feeder loss"), "2", fyne.KeyReturn)
	if a, b := raw(e, "S1", "radio"), raw(e, "S2", "radio"); a != `{"feeder_loss_db": 2}` || b != a {
		t.Errorf("radio of both: %s, %s", a, b)
	}
	e.Undo()
	if a, b := raw(e, "S1", "radio"), raw(e, "S2", "radio"); a != "" || b != "" {
		t.Errorf("one undo leaves %s, %s", a, b)
	}
}

func TestInstallationTermsArePickedAndAddUp(t *testing.T) {
	e, ed, result := site(t)
	d := NewDetails(&Look{}, ed, result)
	test.NewTempWindow(t, d.Object)
	e.Select("S1")
	d.Update()
	typeIn(rowOf(t, d.inside, "Installation loss"), "4", fyne.KeyReturn)
	d.Update()
	choose := func(label, option string) {
		t.Helper()
		for _, o := range pickOf(t, d.inside, label).Options {
			if strings.HasPrefix(o.Label, option) {
				if err := pickOf(t, d.inside, label).Commit(o.Value); err != nil {
					t.Fatal(err)
				}
				d.Update()
				return
			}
		}
		t.Fatalf("there is no option %q", option)
	}
	// The first one joins those that hold, and the loss beside them goes.
	steps := e.UndoLabel()
	choose("Another term", "Mount: flat on a steel post or fence")
	s := e.Plan().Feature("S1").Value.(*model.Sensor)
	want := radio.TermSum(radio.DefaultTerms(radio.Sensor)) - radio.Topics()[0].Choices[1].DB + radio.Topics()[0].Choices[2].DB
	if len(s.Radio.Terms) != 3 || *s.Radio.Installation != want || strings.Contains(raw(e, "S1", "radio"), "installation_loss_db") {
		t.Errorf("terms %+v add up to %v, want %v; radio %s", s.Radio.Terms, *s.Radio.Installation, want, raw(e, "S1", "radio"))
	}
	if got := shown(t, d.inside, "Installation loss"); got != "*12 dB, the sum below" {
		t.Errorf("the loss says %q", got)
	}
	e.Undo()
	if e.UndoLabel() != steps || raw(e, "S1", "radio") != `{"installation_loss_db": 4}` {
		t.Errorf("one undo leaves %s", raw(e, "S1", "radio"))
	}
	e.Redo()
	d.Update()
	// Another on the same topic takes its place.
	choose("Another term", "Mount: flat on a steel wall")
	typeIn(rowOf(t, d.inside, "In own words"), "in a niche of concrete", fyne.KeyReturn)
	d.Update()
	terms := func() []model.InstallationTerm {
		return e.Plan().Feature("S1").Value.(*model.Sensor).Radio.Terms
	}
	if got := terms(); len(got) != 4 || got[0].DB != 15 || got[3].What != "in a niche of concrete" || got[3].DB != 0 {
		t.Errorf("terms %+v", got)
	}
	var losses []*Value
	var words *Value
	each(d.inside, func(o fyne.CanvasObject) {
		if c, ok := o.(*fyne.Container); ok {
			if _, ok := c.Layout.(termRow); ok {
				losses = append(losses, c.Objects[1].(*Value))
				words, _ = c.Objects[0].(*Value)
			}
		}
	})
	if len(losses) != 4 || words == nil {
		t.Fatalf("%d rows of terms, the last in words: %v", len(losses), words != nil)
	}
	typeIn(losses[3], "5.5", fyne.KeyReturn)
	d.Update()
	if got := shown(t, d.inside, "Installation loss"); got != "*23.5 dB, the sum below" {
		t.Errorf("the loss says %q", got)
	}
	// More than is allowed together is told, and not done.
	typeIn(losses[3], "99", fyne.KeyReturn)
	if s := d.form.help.text; terms()[3].DB != 5.5 || !strings.Contains(s, "their sum must be between 0 and 100") {
		t.Errorf("%v dB; the help line says %q", terms()[3].DB, s)
	}
	typeIn(losses[3], "101", fyne.KeyReturn)
	if s := d.form.help.text; !strings.Contains(s, "it must be between 0 and 100 dB") {
		t.Errorf("the help line says %q", s)
	}
	typeIn(rowOf(t, d.inside, "Installation loss"), "7", fyne.KeyReturn)
	if s := d.form.help.text; *e.Plan().Feature("S1").Value.(*model.Sensor).Radio.Installation != 23.5 || !strings.Contains(s, "add up to 23.5 dB") {
		t.Errorf("the help line says %q", s)
	}
	typeIn(words, "", fyne.KeyReturn)
	d.Update()
	if got := terms(); len(got) != 3 {
		t.Errorf("an empty term stays: %+v", got)
	}
}

func TestWhatAPlanSaysBesideATermStays(t *testing.T) {
	e, ed, result := site(t)
	f := model.NewFeature(model.KindRepeater, "RP1", orb.Point{8, 47}, model.Prop("antenna_height_m", 4),
		model.Prop("radio", json.RawMessage(`{"lamp": "red", "installation_terms": [{"what": "box", "db": 1.50, "seen": "May"}], "installation_loss_db": 1.5}`)),
		model.Prop("supply", json.RawMessage(`{"capacity_mah": 14000, "maker": "ours"}`)))
	if err := e.Do(model.Add{Features: []*model.Feature{f}}); err != nil {
		t.Fatal(err)
	}
	d := NewDetails(&Look{}, ed, result)
	test.NewTempWindow(t, d.Object)
	e.Select("RP1")
	d.Update()
	if err := pickOf(t, d.inside, "Another term").Commit(radio.Term{Name: "supply: end of battery life or cold", DB: 2}); err != nil {
		t.Fatal(err)
	}
	d.Update()
	if got := raw(e, "RP1", "radio"); got != `{"lamp": "red", "installation_terms": [{"what": "box", "db": 1.50, "seen": "May"}, {"what": "supply: end of battery life or cold", "db": 2}]}` {
		t.Errorf("radio %s", got)
	}
	typeIn(rowOf(t, d.inside, "Voltage"), "3,6", fyne.KeyReturn)
	typeIn(rowOf(t, d.inside, "Voltage"), "61", fyne.KeyReturn)
	if s := d.form.help.text; !strings.Contains(s, "above 0 and at most 60 V") {
		t.Errorf("the help line says %q", s)
	}
	d.Update()
	if got := raw(e, "RP1", "supply"); got != `{"capacity_mah": 14000, "maker": "ours", "cell_v": 3.6}` {
		t.Errorf("supply %s", got)
	}
	for label, want := range map[string]string{"Capacity": "14000", "Energy of a message": "*not stated", "Between supervision messages": "*3600 s, by default", "Alarms a day": "*0, by default"} {
		if got := shown(t, d.inside, label); got != want {
			t.Errorf("%s says %q, want %q", label, got, want)
		}
	}
}
