package drawing_test

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/scene"
	"pleach/model/wayin"
	"pleach/ui/drawing"
	"pleach/ui/drawing/drawingtest"
)

// comeIn is a made-up way from the north over B1 through the footprint of S4.
func comeIn(undetected bool) *analysis.Ways {
	w := analysis.Way{Route: wayin.Route{Asset: "A1", Reached: true, Undetected: undetected, Line: orb.LineString{{0, 120}, {0, 20}, {30, 20}}, Length: 130,
		Crossings: []wayin.Crossing{{Boundary: "B1", At: orb.Point{0, 80}, Along: 40, Inward: true}}}}
	if !undetected {
		w.Passes = []wayin.Pass{{Sensor: "S4", From: 50, To: 60}}
	}
	return &analysis.Ways{List: []analysis.Way{w, {Route: wayin.Route{Asset: "A1"}}}}
}

func itemsOf(l *drawing.List, ms ...drawing.Meaning) (out []drawing.Item) {
	for _, it := range l.Items {
		for _, m := range ms {
			if it.Meaning == m && it.Kind != drawing.LabelKind {
				out = append(out, it)
			}
		}
	}
	return out
}

func TestAWayInIsDrawnWithMarksWhereItMeetsBoundaryAndFootprint(t *testing.T) {
	sc, r := drawingtest.Depot()
	r.Ways = comeIn(false)
	l := drawing.Compose(drawing.Input{Scene: sc, Result: r})
	got := itemsOf(l, drawing.WayIn, drawing.WayInSeen, drawing.WayMeets, drawing.WayCrosses)
	if len(got) != 3 || got[0].Meaning != drawing.WayInSeen || got[0].ID != "A1" || got[1].Meaning != drawing.WayMeets || got[2].Meaning != drawing.WayCrosses {
		t.Fatalf("%v", got)
	}
	if at := got[1].At; at != (orb.Point{0, 70}) {
		t.Errorf("enters the footprint at %v", at)
	}
	if got[2].At != (orb.Point{0, 80}) || math.Abs(math.Abs(got[2].Bearing)-180) > 1e-9 {
		t.Errorf("crosses at %v, heading %v: want due south", got[2].At, got[2].Bearing)
	}
	if h := l.Hit(orb.Point{0.2, 50}, 1, 0.2); len(h) == 0 || h[0].ID != "A1" || h[0].Part != "way" {
		t.Errorf("picked by it: %+v", h)
	}
	var legend []string
	for _, line := range drawing.NewTheme(drawing.Medium{Paper: true}).Legend(l, nil) {
		legend = append(legend, line.Text)
	}
	if s := strings.Join(legend, "\n"); !strings.Contains(s, "Way in least detected") || !strings.Contains(s, "enters a footprint") || strings.Contains(s, "crosses no footprint") {
		t.Errorf("legend:\n%s", s)
	}
	r.Ways = comeIn(true)
	if got := itemsOf(drawing.Compose(drawing.Input{Scene: sc, Result: r}), drawing.WayIn, drawing.WayInSeen, drawing.WayMeets); len(got) != 1 || got[0].Meaning != drawing.WayIn {
		t.Errorf("%v", got)
	}
}

func TestTheWayOfThePlanBeforeIsGreyAndTheChoiceHidesIt(t *testing.T) {
	sc, r := drawingtest.Depot()
	r.Ways = nil
	got := itemsOf(drawing.Compose(drawing.Input{Scene: sc, Result: r, Before: comeIn(false)}), drawing.WayInSeen, drawing.WayCrosses)
	if len(got) != 2 || !got[0].State.Has(drawing.Muted) || !got[1].State.Has(drawing.Muted) {
		t.Errorf("%v", got)
	}
	r.Ways = comeIn(false)
	if got := itemsOf(drawing.Compose(drawing.Input{Scene: sc, Result: r, Show: drawing.NoWays}), drawing.WayInSeen, drawing.WayCrosses, drawing.WayMeets); len(got) != 0 {
		t.Errorf("%v", got)
	}
}

func TestAWayToAnAssetThatIsGoneIsNotDrawn(t *testing.T) {
	sc, r := drawingtest.Depot()
	p, err := model.Delete{IDs: []string{"A1"}}.Apply(sc.Plan)
	if err != nil {
		t.Fatal(err)
	}
	r.Ways = nil
	if got := itemsOf(drawing.Compose(drawing.Input{Scene: scene.On(p, sc.Grid), Result: r, Before: comeIn(true)}), drawing.WayIn); len(got) != 0 {
		t.Errorf("%v", got)
	}
}
