package panel

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
)

func TestContactsDutiesAndRevisionsAreWrittenInTheWindow(t *testing.T) {
	e, ed, _ := site(t)
	r := NewRecords(ed)
	test.NewTempWindow(t, r.Object)
	r.Update()
	inside := r.inside
	typeIn(rowOf(t, inside, "Another: role"), "On site", fyne.KeyReturn)
	r.Update()
	typeIn(rowOf(t, inside, "Telephone"), "0555 0101", fyne.KeyReturn)
	r.Update()
	if c := e.Plan().Settings.Contacts; len(c) != 1 || c[0].Role != "On site" || c[0].Phone != "0555 0101" {
		t.Fatalf("contacts %+v", c)
	}
	typeIn(rowOf(t, inside, "Valid until"), "30.4.2027", fyne.KeyReturn)
	if q := e.Plan().Settings.Quotation; q.ValidUntil != "" || !strings.Contains(r.settings.form.help.text, "such as 2027-04-30") {
		t.Errorf("valid until %q, the help line says %q", q.ValidUntil, r.settings.form.help.text)
	}
	typeIn(rowOf(t, inside, "Valid until"), "2027-04-30", fyne.KeyReturn)
	if q := e.Plan().Settings.Quotation; q.ValidUntil != "2027-04-30" {
		t.Errorf("valid until %q", q.ValidUntil)
	}
	typeIn(rowOf(t, inside, "Another: revision"), "A", fyne.KeyReturn)
	r.Update()
	typeIn(rowOf(t, inside, "What changed"), "First issue", fyne.KeyReturn)
	if v := e.Plan().Settings.Revisions; len(v) != 1 || v[0].What != "First issue" || e.UndoLabel() != "set revision 1" {
		t.Errorf("revisions %+v by step %q", v, e.UndoLabel())
	}
	e.Undo()
	e.Undo()
	r.Update()
	if n := e.Plan().Entries("revisions"); n != 0 {
		t.Errorf("%d revisions after undo", n)
	}
}
