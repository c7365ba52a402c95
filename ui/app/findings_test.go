package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/testdata/site"
	"pleach/ui/panel"
)

// buttonIn returns the button of a label that shows, nil where there is none.
func buttonIn(o fyne.CanvasObject, label string) (found *widget.Button) {
	walk(o, func(o fyne.CanvasObject) {
		if b, ok := o.(*widget.Button); ok && b.Text == label {
			found = b
		}
	})
	return found
}

func findingOf(w *window, keep func(model.Finding) bool) *model.Finding {
	for i := range w.an.last.Findings {
		if keep(w.an.last.Findings[i]) {
			return &w.an.last.Findings[i]
		}
	}
	return nil
}

func TestAFindingOfOverspillIsEndedByApplyingARemedyAndUndoneInOneStep(t *testing.T) {
	w := open(t, demoCopy(t))
	// A curtain along a fence, turned a little outwards, and a road outside.
	w.adopt(new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 200, 120)}).
		Add(model.KindRoad, "R1", orb.LineString{{-50, -6}, {250, -6}}, model.Prop("width_m", 6)).
		Sensor("S1", orb.Point{20, 2}, "curtain-4-63", 3, 95, 1.5).Plan(t), "")
	f := findingOf(w, panel.HasRemedies)
	if f == nil {
		t.Fatal("there is no overspill")
	}
	before := w.ed.Plan()
	w.findings.Choose(*f)
	apply := buttonIn(w.findings.Object, "Apply")
	if apply == nil {
		t.Fatalf("no remedy is offered for: %s", f.Text)
	}
	test.Tap(apply)
	if w.ed.Plan() == before {
		t.Fatal("nothing was changed")
	}
	if g := findingOf(w, func(g model.Finding) bool {
		return g.Rule == f.Rule && g.Severity == f.Severity && g.Subject[0] == f.Subject[0]
	}); g != nil {
		t.Errorf("after the remedy there is still: %s", g.Text)
	}
	w.ed.Undo()
	if w.ed.Plan() != before {
		t.Error("one step back is not where the plan was")
	}
}

func TestAFindingIsAcceptedWithAReasonAndTheAcceptanceWithdrawn(t *testing.T) {
	w := open(t, demoCopy(t))
	f := findingOf(w, func(f model.Finding) bool { return f.Rule == "gap" && f.Severity == model.Fault })
	if f == nil {
		t.Fatal("the demo has no gap")
	}
	before := w.ed.Plan()
	w.findings.Choose(*f)
	accept := buttonIn(w.findings.Object, "Accept…")
	if accept == nil {
		t.Fatal("the finding cannot be accepted")
	}
	test.Tap(accept)
	if !w.modal() {
		t.Fatal("nobody asks for a reason")
	}
	var entries []*panel.Overtyped
	walk(w.win.Canvas().Overlays().Top(), func(o fyne.CanvasObject) {
		if e, ok := o.(*panel.Overtyped); ok {
			entries = append(entries, e)
		}
	})
	if len(entries) != 2 {
		t.Fatalf("there are %d fields, want reason and name", len(entries))
	}
	// Tab goes on to the name, and typing replaces it.
	entries[1].SetText("somebody else")
	w.win.Canvas().Focus(entries[0])
	w.win.Canvas().FocusNext()
	if got := entries[1].SelectedText(); got != "somebody else" {
		t.Errorf("Tab selects %q of the name", got)
	}
	for _, c := range []struct{ reason, by string }{{"", "N. N."}, {"patrolled", " "}} {
		entries[0].SetText(c.reason)
		entries[1].SetText(c.by)
		tapButton(t, w, "Accept it")
		if w.ed.Plan() != before || !w.modal() {
			t.Fatalf("it is accepted for %q by %q", c.reason, c.by)
		}
	}
	entries[0].SetText("Patrolled at night.")
	entries[1].SetText("N. N.")
	tapButton(t, w, "Accept it")
	if w.prefs.String(prefBy) != "N. N." {
		t.Error("who accepted it is not remembered")
	}
	is := func(g model.Finding) bool {
		return g.Rule == f.Rule && g.Posture == f.Posture && g.From != nil && *g.From == *f.From
	}
	g := findingOf(w, is)
	if g == nil || g.Accepted == nil || g.Counts() {
		t.Fatalf("it is not accepted: %+v", g)
	}
	if s := textOf(w.findings.Object); !strings.Contains(s, "Reason: Patrolled at night.") {
		t.Errorf("the panel does not say who accepted it and why: %s", s)
	}
	if s := w.findings.Words(); !strings.Contains(s, " accepted") {
		t.Errorf("the list counts %q", s)
	}
	withdraw := buttonIn(w.findings.Object, "Withdraw")
	if withdraw == nil {
		t.Fatal("the acceptance cannot be withdrawn")
	}
	test.Tap(withdraw)
	if g := findingOf(w, is); g == nil || g.Accepted != nil {
		t.Errorf("it is still accepted: %+v", g)
	}
	w.ed.Undo()
	w.ed.Undo()
	if w.ed.Plan() != before {
		t.Error("two steps back is not where the plan was")
	}
}
