package app

import (
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2/test"
	"github.com/paulmach/orb"

	"pleach/ui/drawing"
	"pleach/ui/editor"
)

func drawnWays(w *window) (n int) {
	for _, it := range w.chart.Layers.List().Items {
		if it.Meaning == drawing.WayIn || it.Meaning == drawing.WayInSeen {
			n++
		}
	}
	return n
}

func TestTheWaysInAreLookedForOnceAnEditHasSettled(t *testing.T) {
	w := open(t, demoCopy(t))
	ways := w.an.last.Ways
	if ways == nil || len(ways.List) == 0 || drawnWays(w) == 0 {
		t.Fatal("no way in to the demo's assets")
	}
	asset := ways.List[0].Asset
	w.ed.Select(asset)
	if s := textOf(w.details.Object); !strings.Contains(s, "on foot") {
		t.Errorf("the asset's details do not say how it is reached: %s", s)
	}

	id := w.an.last.Sensors[0].ID
	at := w.ed.Grid().ToSite(w.ed.Plan().Feature(id).Geometry.(orb.Point))
	p := func(dx float64) editor.Pointer { return editor.Pointer{At: orb.Point{at[0] + dx, at[1]}, Unit: 0.2} }
	w.ed.Select(id)
	if !w.ed.Press(p(0)) {
		t.Fatal("the sensor is not held")
	}
	w.ed.Drag(p(8))
	if w.an.last.Ways != nil {
		t.Error("the way in is looked for during a drag")
	}
	if drawnWays(w) == 0 {
		t.Error("the way in before the drag is gone")
	}
	w.ed.Drop(p(8))
	if w.an.last.Ways == nil || w.an.last.Plan != w.ed.Plan() {
		t.Error("no way in after the drag")
	}

	w.show |= drawing.NoWays
	w.compose()
	if drawnWays(w) != 0 {
		t.Error("a way in is drawn that was not asked for")
	}
}

func TestASearchForWaysInIsBrokenOffByTheNextEdit(t *testing.T) {
	var work []func()
	w := newWindow(test.NewTempApp(t), func(do, then func()) { work = append(work, func() { do(); then() }) })
	t.Cleanup(w.win.Close)
	w.open(demoCopy(t))
	for w.an.last == nil && len(work) > 0 {
		next := work[0]
		work = work[1:]
		next()
	}
	if w.an.last == nil || w.ways.cancel == nil {
		t.Fatal("no search began")
	}
	w.ed.Select(w.an.last.Sensors[0].ID)
	if err := w.ed.Delete(); err != nil {
		t.Fatal(err)
	}
	for len(work) > 0 {
		next := work[0]
		work = work[1:]
		next()
	}
	if w.an.last.Plan != w.ed.Plan() || w.an.last.Ways == nil {
		t.Error("the plan as edited has no ways in")
	}
}

func TestADragThatIsForgottenLeavesTheResultAndItsWayInAsTheyWere(t *testing.T) {
	var work []func()
	w := newWindow(test.NewTempApp(t), func(do, then func()) { work = append(work, func() { do(); then() }) })
	t.Cleanup(w.win.Close)
	finish := func() {
		for len(work) > 0 {
			next := work[0]
			work = work[1:]
			next()
		}
	}
	w.open(demoCopy(t))
	finish()
	if w.an.last == nil || w.an.last.Ways == nil {
		t.Fatal("no way in to begin with")
	}
	w.an.took = time.Second // an engine too slow to run within a step of a drag
	id := w.an.last.Sensors[0].ID
	at := w.ed.Grid().ToSite(w.ed.Plan().Feature(id).Geometry.(orb.Point))
	p := func(dx float64) editor.Pointer { return editor.Pointer{At: orb.Point{at[0] + dx, at[1]}, Unit: 0.2} }
	w.ed.Select(id)
	w.ed.Press(p(0))
	w.ed.Drag(p(8))
	w.ed.Cancel()
	finish()
	if w.an.last.Plan != w.ed.Plan() || w.an.last.Ways == nil {
		t.Errorf("the result is that of the plan: %v, it has its ways in: %v", w.an.last.Plan == w.ed.Plan(), w.an.last.Ways != nil)
	}
}

func TestAWayInUnderThePointerSaysWhereItPasses(t *testing.T) {
	w := open(t, demoCopy(t))
	way := w.an.last.Ways.List[0]
	a, b := way.Line[len(way.Line)-2], way.Line[len(way.Line)-1]
	w.ed.Move(editor.Pointer{At: orb.Point{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}, Unit: 0.2})
	if got := w.status.Text(); !strings.Contains(got, "way in to Fuel store (A1)") {
		t.Errorf("the window says %q", got)
	}
}
