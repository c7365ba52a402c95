package panel

import (
	"encoding/json"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"pleach/model"
)

func TestASensorModelIsCopiedAndItsFiguresEdited(t *testing.T) {
	e, ed, _ := site(t)
	m := NewModels(ed)
	test.NewTempWindow(t, m.Object)
	e.Select("S1")
	m.Update()
	if m.id != "curtain-4-63" || !strings.Contains(m.about.text, "S1, S2 are of this model") {
		t.Errorf("the panel shows %s: %s", m.id, m.about.text)
	}
	actionOf(t, m.inside, "Copy under a new id").OnTap()
	if m.id != "curtain-4-63-copy" || e.UndoLabel() != "copy sensor model curtain-4-63" {
		t.Errorf("the panel shows %s after %q", m.id, e.UndoLabel())
	}
	x := func() model.SensorModel { m.Update(); x, _ := e.Plan().Model(m.id); return x }
	typeIn(rowOf(t, m.inside, "Name"), "Ours", fyne.KeyReturn)
	typeIn(rowOf(t, m.inside, "Greatest mount height"), "61", fyne.KeyReturn)
	if s := m.form.help.text; x().MountMax != 4 || !strings.Contains(s, "between 0 and 60 m") {
		t.Errorf("mount to %v, the help line says %q", x().MountMax, s)
	}
	typeIn(rowOf(t, m.inside, "Greatest mount height"), "5", fyne.KeyReturn)
	cell := func(lobe, column int) *Value {
		t.Helper()
		m.Update()
		return m.lobes.Objects[1+lobe].(*fyne.Container).Objects[column].(*Value)
	}
	typeIn(cell(1, 4), "22", fyne.KeyReturn)
	typeIn(cell(1, 4), "501", fyne.KeyReturn)
	if s := m.form.help.text; x().Lobes[1].Range != 22 || !strings.Contains(s, "above 0 and at most 500 m") {
		t.Errorf("reach %v, the help line says %q", x().Lobes[1].Range, s)
	}
	typeIn(cell(1, 3), "−5", fyne.KeyReturn)
	if s := m.form.help.text; x().Lobes[1].Down != 9 || !strings.Contains(s, "leave no height") {
		t.Errorf("down %v, the help line says %q", x().Lobes[1].Down, s)
	}
	actionOf(t, m.inside, "Another lobe").OnTap()
	if n := len(x().Lobes); n != 4 || x().Lobes[3] != x().Lobes[2] {
		t.Errorf("lobes %+v", x().Lobes)
	}
	for range 4 {
		m.Update()
		row := m.lobes.Objects[1].(*fyne.Container)
		row.Objects[len(row.Objects)-1].(*Row).OnTap()
	}
	if s := m.form.help.text; len(x().Lobes) != 1 || !strings.Contains(s, "needs at least one lobe") {
		t.Errorf("%d lobes, the help line says %q", len(x().Lobes), s)
	}
	typeIn(rowOf(t, m.inside, "Radiated power"), "14", fyne.KeyReturn)
	typeIn(rowOf(t, m.inside, "Capacity"), "19000", fyne.KeyReturn)
	typeIn(rowOf(t, m.inside, "Width of a zone"), "1.5", fyne.KeyReturn)
	if m := x(); *m.Radio.ERP != 14 || *m.Supply.Capacity != 19000 || *m.Optics.ZoneWidth != 1.5 || m.MountMax != 5 || m.Name != "Ours" {
		t.Errorf("%+v", m)
	}
	actionOf(t, m.inside, "Give it to S1").OnTap()
	m.Update()
	typeIn(rowOf(t, m.inside, "Id"), "curtain-4-63", fyne.KeyReturn)
	if s := m.form.help.text; m.id != "curtain-4-63-copy" || !strings.Contains(s, "is that of another sensor model") {
		t.Errorf("the panel shows %s, the help line says %q", m.id, s)
	}
	typeIn(rowOf(t, m.inside, "Id"), "ours-63", fyne.KeyReturn)
	m.Update()
	if s := e.Plan().Feature("S1").Value.(*model.Sensor); s.Model != "ours-63" || m.id != "ours-63" || len(e.Plan().AllFlaws()) > 0 {
		t.Errorf("S1 is of %s, the panel shows %s, flaws %v", s.Model, m.id, e.Plan().AllFlaws())
	}
	if got := shown(t, m.inside, "Id"); got != "ours-63" {
		t.Errorf("the id says %q", got)
	}
	e.Undo()
	e.Undo() // S1 is of the built-in one again
	m.Update()
	if m.id != "curtain-4-63-copy" {
		t.Errorf("undone, the panel shows %s", m.id)
	}
	actionOf(t, m.inside, "Take it out of the plan").OnTap()
	if n := e.Plan().Entries("models"); n != 0 {
		t.Errorf("%d models in the plan", n)
	}
}

func TestAFlawedSensorModelIsToldAndMended(t *testing.T) {
	e, ed, _ := site(t)
	if err := e.Do(model.Change{Path: "models", Value: json.RawMessage(`[{"id": "ours", "lobes": [{"width_deg": 4, "up_deg": 1, "down_deg": 3, "range_m": 700}], "radio": {"erp_dbm": 90}, "lamp": 1}]`)}); err != nil {
		t.Fatal(err)
	}
	m := NewModels(ed)
	test.NewTempWindow(t, m.Object)
	m.Show("ours")
	if w := m.warn.text; m.warn.Hidden || !strings.Contains(w, "range_m 700 is not above 0 and at most 500") || !strings.Contains(w, "erp_dbm 90") {
		t.Errorf("the panel says %q", w)
	}
	typeIn(m.lobes.Objects[1].(*fyne.Container).Objects[4].(*Value), "70", fyne.KeyReturn)
	m.Update()
	typeIn(rowOf(t, m.inside, "Radiated power"), "9", fyne.KeyReturn)
	m.Update()
	if raw, _ := e.Plan().Raw("models"); !m.warn.Hidden || string(raw) != `[{"id": "ours", "lobes": [{"width_deg": 4, "up_deg": 1, "down_deg": 3, "range_m": 70}], "radio": {"erp_dbm": 9}, "lamp": 1}]` {
		t.Errorf("%s; the panel says %q", raw, m.warn.text)
	}
}
