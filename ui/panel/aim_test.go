package panel

import (
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/ui/editor"
)

// detailsOf shows a feature's details in a window.
func detailsOf(t *testing.T, e *editor.Editor, result func() *analysis.Result, id string) *Details {
	t.Helper()
	d := NewDetails(&Look{}, func() *editor.Editor { return e }, result)
	w := test.NewTempWindow(t, d.Object)
	w.Resize(fyne.NewSize(340, 900))
	e.Select(id)
	d.Update()
	return d
}

func TestTheDetailsSayWhereASensorPoints(t *testing.T) {
	e, _, result := site(t)
	d := detailsOf(t, e, result, "S1")
	b := d.aim
	// 3 m up and 2 degrees down: 85.9 m (method, detection 3).
	if b.axis.Text() != "85.9 m" {
		t.Errorf("the axis is on the ground at %q", b.axis.Text())
	}
	if !strings.Contains(b.near.Text(), "along it") || !strings.Contains(b.near.Text(), "B1") {
		t.Errorf("the place is %q", b.near.Text())
	}
	if b.magnetic.Text() != "no declination stated" || !b.declination.Hidden || b.bearing.Text() != "90°" {
		t.Errorf("bearing %q, magnetic %q", b.bearing.Text(), b.magnetic.Text())
	}
	if len(b.posture) != 1 || !strings.Contains(b.posture[0].Text(), " to ") {
		t.Errorf("postures: %v", b.posture)
	}
	for i, want := range []string{"1.5°", "2°", "2.5°"} {
		if b.tilts[i][1].Text() != want || b.tilts[i][2].Text() == "–" || b.tilts[i][3].Text() == "–" {
			t.Errorf("row %d of the table: %q %q %q", i, b.tilts[i][1].Text(), b.tilts[i][2].Text(), b.tilts[i][3].Text())
		}
	}
	if err := e.Do(model.Change{Path: "north.declination_deg", Value: -1.5}); err != nil {
		t.Fatal(err)
	}
	d.Update()
	if b.magnetic.Text() != "91.5°" || b.declination.text != "Declination 1.5° west, of no date." || b.declination.Hidden {
		t.Errorf("magnetic %q: %q", b.magnetic.Text(), b.declination.text)
	}
	if err := e.Do(model.Change{Path: "north.on", Value: "2026-03-01"}); err != nil {
		t.Fatal(err)
	}
	if d.Update(); b.magnetic.Text() != "91.5°" || b.declination.text != "Declination 1.5° west, of 2026-03-01." {
		t.Errorf("magnetic %q: %q", b.magnetic.Text(), b.declination.text)
	}
	if e.Select("RX"); true {
		d.Update()
	}
	if d.aim != nil {
		t.Error("a receiver has an aim")
	}
}

func TestATiltIsProposedForAReachAndApplied(t *testing.T) {
	e, _, result := site(t)
	d := detailsOf(t, e, result, "S1")
	before := e.Plan()
	if err := d.aim.propose("45"); err != nil {
		t.Fatal(err)
	}
	if e.Plan() != before || !strings.Contains(d.aim.proposal.Text(), "in place of 2° down") || !d.aim.apply.Visible() {
		t.Fatalf("proposed: %q", d.aim.proposal.Text())
	}
	d.aim.apply.Tapped(nil)
	if e.UndoLabel() != "tilt S1 for a reach of 45 m" {
		t.Errorf("the step is %q", e.UndoLabel())
	}
	d.Update()
	if far, ok := d.aim.aim.Target.Far(); !ok || math.Abs(far-45) > 1.5 {
		t.Errorf("it now reaches %v m", far)
	}
	if d.aim.apply.Visible() || d.aim.proposal.Text() != "" {
		t.Error("the proposal stays although it is taken")
	}
	if e.Undo(); e.Plan() != before {
		t.Error("one undo does not take it back")
	}
	d.Update()
	for text, want := range map[string]string{"900": "at most 500 m", "far": "cannot be far", "0": "above 0", "400": "cannot reach 400 m"} {
		if err := d.aim.propose(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}
