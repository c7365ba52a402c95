package app

import (
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/ui/drawing"
	"pleach/ui/panel"
)

// linkFault is the finding of a route that fails.
func linkFault(w *window) *model.Finding {
	return findingOf(w, func(f model.Finding) bool { return f.Rule == "link" && f.Severity == model.Fault })
}

func proposedMarks(w *window) (n int) {
	for _, it := range w.chart.Layers.List().Items {
		if it.Meaning == drawing.ProposedRepeater {
			n++
		}
	}
	return n
}

func TestAPlaceForARepeaterIsFoundFromTheFindingAndPlacedInOneStep(t *testing.T) {
	w := open(t, demoCopy(t))
	f := linkFault(w)
	if f == nil {
		t.Fatal("the demo has no link that fails")
	}
	before := w.ed.Plan()
	w.findings.Choose(*f)
	find := buttonIn(w.findings.Object, "Find a place")
	if find == nil {
		t.Fatal("the finding leads to no place for a repeater")
	}
	test.Tap(find)
	s := textOf(w.siting.Object)
	if !w.sections["siting"].Open() || !strings.Contains(s, f.Subject[0]) || !strings.Contains(s, "mends it.") || proposedMarks(w) != 1 {
		t.Fatalf("%d marks; the panel says %q", proposedMarks(w), s)
	}
	if w.ed.Plan() != before {
		t.Fatal("looking changed the plan")
	}
	place := buttonIn(w.siting.Object, "Place RP2")
	if place == nil {
		t.Fatalf("no button places it: %q", s)
	}
	test.Tap(place)
	if linkFault(w) != nil || !w.ed.IsSelected("RP2") || proposedMarks(w) != 0 {
		t.Errorf("placed: the link fails %v, it is selected %v, %d marks", linkFault(w) != nil, w.ed.IsSelected("RP2"), proposedMarks(w))
	}
	if s := textOf(w.siting.Object); !strings.Contains(s, "RP2 is placed") {
		t.Errorf("the panel says %q", s)
	}
	if got := w.ed.UndoLabel(); got != "place a repeater" {
		t.Errorf("Undo says %q", got)
	}
	w.ed.Undo()
	if w.ed.Plan() != before {
		t.Error("one step back is not where the plan was")
	}
}

func TestPlacesAreForgottenWhenThePlanChanges(t *testing.T) {
	w := open(t, demoCopy(t))
	w.findSites(panel.Wanted{})
	if proposedMarks(w) != 1 {
		t.Fatalf("%d marks", proposedMarks(w))
	}
	if err := w.ed.Do(model.Set{ID: "RS1", Values: []model.Value{{Property: "tilt_deg", Value: 3}}}); err != nil {
		t.Fatal(err)
	}
	if s := textOf(w.siting.Object); proposedMarks(w) != 0 || !strings.Contains(s, "The plan has changed") {
		t.Errorf("%d marks, %q", proposedMarks(w), s)
	}
	w.adopt(model.NewPlan(), "")
	if s := textOf(w.siting.Object); strings.Contains(s, "changed") || w.canFindSites() {
		t.Errorf("another plan: %q", s)
	}
}

func TestASearchForAPlaceIsStoppedAndDropped(t *testing.T) {
	w := open(t, demoCopy(t))
	var work, then func()
	at := w.an.behind
	w.an.behind = func(a, b func()) { work, then = a, b }
	w.findSites(panel.Wanted{})
	w.siting.Progress(0, 10, 100)
	if s := textOf(w.siting.Object); !strings.Contains(s, "10 of 100 places") || buttonIn(w.siting.Object, "Stop") == nil {
		t.Fatalf("%q", s)
	}
	test.Tap(buttonIn(w.siting.Object, "Stop"))
	work()
	then()
	if s := textOf(w.siting.Object); !strings.Contains(s, "Broken off.") || proposedMarks(w) != 0 {
		t.Errorf("%q, %d marks", s, proposedMarks(w))
	}
	w.an.behind = at
}

func TestTheSearchIsForWhatTheSensorsLack(t *testing.T) {
	w := open(t, demoCopy(t))
	w.findSites(panel.Wanted{Goal: analysis.Survives})
	if s := textOf(w.siting.Object); !strings.Contains(s, "lack a route that is left whichever repeater fails") {
		t.Errorf("%q", s)
	}
}

func TestAThinRouteLeadsToPlacesThatMakeItAmple(t *testing.T) {
	w := open(t, demoCopy(t))
	if err := w.ed.Do(model.Set{ID: "RS1", Values: []model.Value{{Property: "antenna_height_m", Value: 7.5}}}); err != nil {
		t.Fatal(err)
	}
	f := findingOf(w, func(f model.Finding) bool { return f.Rule == "link" && f.Severity == model.Warning })
	if f == nil || f.Subject[0] != "RS1" {
		t.Fatal("the route of RS1 is not thin")
	}
	w.findings.Choose(*f)
	test.Tap(buttonIn(w.findings.Object, "Find a place"))
	if s := textOf(w.siting.Object); !strings.Contains(s, "lacks a route with 3 dB above the required margin: RS1") {
		t.Fatalf("%q", s)
	}
	test.Tap(buttonIn(w.siting.Object, "Place RP2"))
	if f := findingOf(w, func(f model.Finding) bool { return f.Rule == "link" }); f != nil {
		t.Errorf("still: %s", f.Text)
	}
}

func TestTheAntennaOfAFailingLinkIsRaisedFromTheFinding(t *testing.T) {
	w := open(t, demoCopy(t))
	f, before := linkFault(w), w.ed.Plan()
	w.findings.Choose(*f)
	raise := buttonIn(w.findings.Object, "Apply")
	if raise == nil || !strings.Contains(textOf(w.findings.Object), "Raise the antenna of RS1 from 5 m to 7.5 m: ") {
		t.Fatalf("%q", textOf(w.findings.Object))
	}
	test.Tap(raise)
	if linkFault(w) != nil || w.ed.UndoLabel() != "raise the antenna of RS1" {
		t.Errorf("raised, it fails %v; Undo says %q", linkFault(w) != nil, w.ed.UndoLabel())
	}
	w.ed.Undo()
	if w.ed.Plan() != before {
		t.Error("one step back is not where the plan was")
	}
}

func TestTheFindingOfALinkShowsAllOfItAndItsProfile(t *testing.T) {
	w := open(t, demoCopy(t))
	w.chart.GoTo(orb.Point{-300, -300}, 0.05)
	f := linkFault(w)
	w.findings.Choose(*f)
	from, to, ok := w.ed.Link()
	if !ok || from != "RS1" || to != "RX" || !w.ed.IsSelected("RS1") {
		t.Fatalf("link %s to %s", from, to)
	}
	l := linkOf(w.an.last, *f)
	if b := w.chart.View().Bound(); !b.Contains(l.A) || !b.Contains(l.B) {
		t.Errorf("in view is %v, the link runs from %v to %v", b, l.A, l.B)
	}
}

// Once it was closed on a link, the profile opens of itself no more; opened again, it
// does.
func TestAProfileThatWasClosedStaysClosedForTheNextLink(t *testing.T) {
	w := open(t, demoCopy(t))
	var links [][2]string
	for _, l := range w.an.last.Links {
		if l.InUse {
			links = append(links, [2]string{l.From, l.To})
		}
	}
	show := func(k int) bool {
		w.ed.Select()
		w.ed.SelectLink(links[k][0], links[k][1])
		return w.axisPart.Open()
	}
	w.axisPart.SetOpen(false, true) // of a sensor: links are shown all the same
	if !show(0) {
		t.Fatal("the first link does not show its profile")
	}
	w.toggleAxis()
	if show(1) || show(2) {
		t.Error("closed, it opens for the next link")
	}
	w.toggleAxis()
	if !show(3) {
		t.Error("opened again, it closed")
	}
}

// The section moves the map by no more than it takes to keep its sensor in view.
func TestOpeningTheSectionLeavesTheMapWhereItIs(t *testing.T) {
	w := open(t, demoCopy(t))
	w.win.Resize(fyne.NewSize(1600, 1000))
	w.axisPart.SetOpen(false, true)
	f := w.ed.Plan().Of(model.KindSensor)[0]
	at := w.ed.Grid().ToSite(f.Geometry.(orb.Point))
	w.ed.Select(f.ID)
	onScreen := func() float64 { // pixels from the upper edge
		v := w.chart.View()
		return v.Height/2 - (at[1]-v.Centre[1])/v.MetresPerUnit
	}
	for _, c := range []struct {
		name  string
		below float64 // share of the height
		stays bool
	}{{"in view", 0.4, true}, {"covered", 0.9, false}} {
		w.chart.GoTo(at, 0.1)
		v := w.chart.View()
		w.chart.GoTo(orb.Point{at[0], at[1] + (c.below-0.5)*v.Height*v.MetresPerUnit}, 0)
		before := onScreen()
		w.toggleAxis()
		now, high := onScreen(), w.chart.View().Height
		switch {
		case high > v.Height-100:
			t.Fatalf("the section takes no room: %v of %v", high, v.Height)
		case c.stays && math.Abs(now-before) > 1e-6:
			t.Errorf("%s: it moved from %v to %v", c.name, before, now)
		case !c.stays && math.Abs(now-(high-sensorRoom)) > 1e-6:
			t.Errorf("%s: it stands %v below the edge of %v, was %v", c.name, now, high, before)
		}
		w.toggleAxis()
	}
}
