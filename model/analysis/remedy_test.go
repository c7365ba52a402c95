package analysis

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/testdata/site"
)

// A curtain that looks along the fence but a little outwards, a road outside: a
// turn inwards ends it, and so does a mask, but not where the boundary would be
// lost with it.
func TestTheSmallestTurnThatEndsAnOverspillIsFound(t *testing.T) {
	plan := func(bearing float64) *model.Plan {
		return new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 200, 120)}).
			Add(model.KindRoad, "R1", orb.LineString{{-50, -6}, {250, -6}}, model.Prop("width_m", 6)).
			Sensor("S1", orb.Point{20, 2}, "curtain-4-63", 3, bearing, 1.5).Plan(t)
	}
	r := run(t, plan(95), nil)
	text := r.EndOverspill("S1")
	if !strings.Contains(text, "anticlockwise") {
		t.Fatalf("%q names no turn", text)
	}
	// What it says is so: turned by that much the road is left alone and the
	// boundary keeps what it had.
	var deg float64
	for d := 1.0; d <= 15; d++ {
		q := run(t, plan(95-d), nil)
		lost := r.Boundaries[0].Target.Covered - q.Boundaries[0].Target.Covered
		if !q.spills(q.Sensors[0].Overspill) && lost <= 1 {
			deg = d
			break
		}
	}
	if deg == 0 || !strings.Contains(text, "urn it "+strings.TrimSuffix(metres(deg), ".0 m")+"° anticlockwise") {
		t.Errorf("%q, but %v degrees do", text, deg)
	}
	if text := run(t, plan(88), nil).EndOverspill("S1"); text != "" {
		t.Errorf("no overspill, yet %q", text)
	}
}
