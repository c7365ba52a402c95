package panel

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/ui/editor"
)

// signalReading is a level read of one device by another.
func signalReading(id, from, to string, dBm any, unit string) *model.Feature {
	return model.NewFeature(model.KindReading, id, nil, model.Prop("of", []string{from, to}), model.Prop("what", "signal"), model.Prop("value", dBm), model.Prop("unit", unit))
}

// levelsOn is a panel of a site with readings, and the result it shows: a test
// gives it another one.
func levelsOn(t *testing.T, readings ...*model.Feature) (*editor.Editor, *Levels, *[1]*analysis.Result) {
	t.Helper()
	e, ed, result := site(t)
	if len(readings) > 0 {
		if err := e.Do(model.Add{Features: readings}); err != nil {
			t.Fatal(err)
		}
	}
	r := &[1]*analysis.Result{studied(t, result())}
	l := NewLevels(&Look{}, ed, func() *analysis.Result { return r[0] })
	e.Watch(func(editor.Change) { l.Update() })
	w := test.NewTempWindow(t, l.Object)
	w.SetPadded(false)
	w.Resize(fyne.NewSize(340, 900))
	return e, l, r
}

func studied(t *testing.T, r *analysis.Result) *analysis.Result {
	t.Helper()
	s, err := analysis.WithRadioStudy(context.Background(), r)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// markOf finds where a reading stands in the plot.
func (l *Levels) markOf(t *testing.T, id string) fyne.Position {
	t.Helper()
	for _, it := range l.plot.cut.List.Items {
		if it.ID == id {
			return position(l.plot.cut.View.ToUnit(it.At))
		}
	}
	t.Fatalf("%s is not drawn", id)
	return fyne.Position{}
}

func someLevels() (out []*model.Feature) {
	for i, v := range []float64{-52, -55, -50, -57, -53, -54} {
		out = append(out, signalReading(fmt.Sprintf("M%d", i+1), "S1", "RX", v, "dBm"))
	}
	return append(out, signalReading("M7", "RX", "S2", -61, "dBm"), // against the way the link is told
		signalReading("M8", "S1", "RX", -12, "dBm"), signalReading("M9", "S2", "RX", -104, "dBm"), signalReading("M10", "S2", "RX", 61, "mV"))
}

func TestLevelsReadOnSiteAreToldByThePointerAndChosenByAClick(t *testing.T) {
	e, l, _ := levelsOn(t, someLevels()...)
	if l.empty.Visible() || !l.inside.Visible() || l.Words() != "10, 3 set aside" {
		t.Fatalf("shown %v, %q", l.inside.Visible(), l.Words())
	}
	var lines []string
	for _, o := range l.aside.Objects[1:] {
		box := o.(*Row).Content.(*fyne.Container).Objects[0].(*fyne.Container)
		lines = append(lines, box.Objects[0].(*Line).Text()+": "+box.Objects[1].(*Para).Text())
	}
	for i, want := range []string{"M8   S1 to RX: Saturated", "M9   S2 to RX: At the sensitivity limit", "M10: Its unit is mV, not dBm."} {
		if i >= len(lines) || !strings.HasPrefix(lines[i], want) {
			t.Errorf("set aside: %q", lines)
		}
	}
	at := l.markOf(t, "M7")
	l.plot.MouseMoved(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: at}})
	if s := l.over.Text(); !strings.HasPrefix(s, "M7, RX to S2, open: −61 dBm read, ") || l.plot.Cursor() != desktop.PointerCursor {
		t.Errorf("over M7: %q", s)
	}
	l.plot.MouseOut()
	if l.over.Text() != overLevels {
		t.Errorf("over nothing: %q", l.over.Text())
	}
	l.plot.Tapped(&fyne.PointEvent{Position: at})
	if from, to, ok := e.Link(); !ok || from != "S2" || to != "RX" || l.chosen != "M7" {
		t.Errorf("a click chooses %q to %q, reading %q", from, to, l.chosen)
	}
	if s := l.over.Text(); !strings.HasPrefix(s, "M7, ") {
		t.Errorf("chosen: %q", s)
	}
	e.SelectLink("S1", "RX")
	if l.chosen != "" {
		t.Errorf("another link is chosen, %s stays", l.chosen)
	}
	e.Select("M2")
	if l.chosen != "M2" {
		t.Errorf("M2 is selected, chosen is %q", l.chosen)
	}
	l.Choose("M10")
	if !e.IsSelected("M10") {
		t.Error("a reading of no link does not lead to itself")
	}
}

func TestTheLevelsStayWhileANewAnalysisRuns(t *testing.T) {
	e, l, r := levelsOn(t, someLevels()...)
	was := l.of
	full := r[0]
	if err := e.Do(model.Set{ID: "S1", Values: []model.Value{{Property: "name", Value: "Gate"}}}); err != nil {
		t.Fatal(err)
	}
	next, err := analysis.Run(context.Background(), e.Plan(), full)
	if err != nil {
		t.Fatal(err)
	}
	r[0] = next
	l.Update()
	if l.of != was || !l.inside.Visible() {
		t.Error("the levels go before there are others")
	}
	r[0] = studied(t, next)
	l.Update()
	if l.of == was || !l.inside.Visible() {
		t.Error("the new levels are not shown")
	}
	var ids []string
	for _, f := range e.Plan().Of(model.KindReading) {
		ids = append(ids, f.ID)
	}
	if err := e.Do(model.Delete{IDs: ids}); err != nil {
		t.Fatal(err)
	}
	if next, err = analysis.Run(context.Background(), e.Plan(), r[0]); err != nil {
		t.Fatal(err)
	}
	r[0] = next
	l.Update()
	if l.inside.Visible() || !strings.Contains(l.empty.Text(), "Add a reading") || l.Words() != "" {
		t.Errorf("without a reading: %q", l.empty.Text())
	}
	r[0] = nil
	l.Update()
	if l.inside.Visible() || l.empty.Text() == "" {
		t.Error("another plan shows the levels of the one before")
	}
}

func TestAClosedPanelOfLevelsDrawsNothing(t *testing.T) {
	_, l, _ := levelsOn(t, someLevels()...)
	fresh := NewLevels(&Look{}, l.ed, l.result)
	if fresh.Words() != "10, 3 set aside" {
		t.Errorf("the heading says %q", fresh.Words())
	}
	closed := &Levels{}
	*closed = *fresh
	closed.shown, closed.Shown = nil, func() bool { return false }
	closed.Update()
	if closed.shown != nil {
		t.Error("a closed panel is built")
	}
}

func TestOfReadingsThatAreAllSetAsideThePanelSaysWhy(t *testing.T) {
	e, l, _ := levelsOn(t, signalReading("M1", "S1", "S1", -60, "dBm"), signalReading("M2", "S1", "RX", "strong", "dBm"))
	if !l.inside.Visible() || l.plot.cut != nil || l.use.Text() != "Every reading was set aside." || len(l.table.Objects) != 0 || len(l.aside.Objects) != 3 {
		t.Errorf("%q, %d rows, %d aside", l.use.Text(), len(l.table.Objects), len(l.aside.Objects))
	}
	if p := l.plot; p.Visible() {
		t.Error("an empty plot takes room")
	}
	l.plot.Tapped(&fyne.PointEvent{Position: position(orb.Point{50, 50})})
	if len(e.Selected()) != 0 {
		t.Error("a click on nothing selects something")
	}
}
