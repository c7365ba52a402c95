package editor

import (
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/ui/drawing"
)

// linked shows the editor a link between two devices of its plan.
func linked(e *Editor) {
	var a, b orb.Point
	l := &drawing.List{}
	a, b = e.grid.ToSite(e.Plan().Feature("S1").Geometry.(orb.Point)), e.grid.ToSite(e.Plan().Feature("RX").Geometry.(orb.Point))
	l.Add(drawing.Item{Layer: drawing.LinkLayer, Kind: drawing.LineKind, Meaning: drawing.LinkHeld, ID: "S1", Part: "link", Text: "RX", Line: orb.LineString{a, b}})
	e.Show(l)
}

func clickAt(e *Editor, at orb.Point) {
	p := Pointer{At: at, Unit: 0.2}
	e.Press(p)
	e.Drop(p)
}

func withReceiver(t *testing.T) *Editor {
	e := site(t)
	if e.Plan().Feature("RX") == nil {
		at := e.grid.ToLonLat(orb.Point{30, 20})
		if err := e.Do(model.Add{Features: []*model.Feature{model.NewFeature(model.KindReceiver, "RX", at, model.Prop("antenna_height_m", 5))}}); err != nil {
			t.Fatal(err)
		}
	}
	linked(e)
	return e
}

// mid is the middle of the link shown.
func mid(e *Editor) orb.Point {
	l := e.list.Items[0].Line
	return orb.Point{(l[0][0] + l[1][0]) / 2, (l[0][1] + l[1][1]) / 2}
}

func TestAClickOnALinkChoosesIt(t *testing.T) {
	e := withReceiver(t)
	e.Select("B1")
	clickAt(e, mid(e))
	if from, to, ok := e.Link(); !ok || from != "S1" || to != "RX" || len(e.Selected()) != 0 {
		t.Fatalf("chosen is %q to %q, selected %v", from, to, e.Selected())
	}
	e.Select("S1")
	if _, _, ok := e.Link(); !ok || !e.IsSelected("S1") {
		t.Error("selecting an end forgets the link")
	}
	e.SelectLink("S1", "RX")
	if !e.IsSelected("S1") {
		t.Error("choosing its link clears the device")
	}
	e.Cancel()
	if _, _, ok := e.Link(); ok || !e.IsSelected("S1") {
		t.Error("Escape leaves the link first")
	}
	e.SelectLink("S1", "RX")
	e.Select("H1")
	if _, _, ok := e.Link(); ok {
		t.Error("a building is selected, the link stays")
	}
	e.SelectLink("S1", "RX")
	clickAt(e, orb.Point{-5000, -5000})
	if _, _, ok := e.Link(); ok {
		t.Error("a click on empty ground leaves the link")
	}
}

func TestALinkGoesWithItsEnd(t *testing.T) {
	e := withReceiver(t)
	e.SelectLink("S1", "RX")
	if err := e.Do(model.Delete{IDs: []string{"RX"}}); err != nil {
		t.Fatal(err)
	}
	if _, _, ok := e.Link(); ok {
		t.Error("the receiver is gone, the link stays")
	}
}

func TestAnAntennaThatIsNotStatedIsTunedFromItsDefault(t *testing.T) {
	e := site(t)
	before := e.Plan()
	mount := before.Feature("S1").Value.(*model.Sensor).MountHeight
	e.Tune("S1", "antenna_height_m", mount+1)
	if got := e.Plan().Feature("S1").Value.(*model.Sensor); got.Antenna != mount+1 || got.MountHeight != mount {
		t.Errorf("antenna %v, mount %v", got.Antenna, got.MountHeight)
	}
	if e.Message() != "S1: antenna height "+metres(mount+1) {
		t.Errorf("it says %q", e.Message())
	}
	e.Tune("S1", "antenna_height_m", mount)
	e.Settle()
	if e.Plan() != before {
		t.Error("tuned back to its default it is a step")
	}
}
