package analysis

import (
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/testdata/site"
)

// Each way is an edit that does what its words say: taken, nothing of the
// overspill counts any more, and the boundary keeps what it had.
func TestEveryRemedyTakenEndsTheOverspill(t *testing.T) {
	kinds := map[string]bool{}
	for lobes, tilt := range map[string]float64{"curtain-4-63": 1.5, "sector-90-25": 4} {
		for _, bearing := range []float64{91, 93, 95, 97, 105} {
			s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 200, 120)}).
				Add(model.KindRoad, "R1", orb.LineString{{-50, -6}, {250, -6}}, model.Prop("width_m", 6)).
				Sensor("S1", orb.Point{20, 2}, lobes, 3, bearing, tilt, model.Prop("masked", []any{map[string]any{"from_deg": 40, "to_deg": 45}}))
			if lobes == "sector-90-25" { // the boundary is another's: a mask may take all that looks outwards
				s.Sensor("S2", orb.Point{10, 1}, "curtain-3-100", 3, 90, 2)
			}
			p := s.Plan(t)
			r := run(t, p, nil)
			remedies := r.OverspillRemedies("S1")
			left := counts
			if strings.Contains(remedies.Says, "for a person") {
				left = isFault
			}
			for _, way := range remedies.Ways {
				next, err := way.Edit.Apply(p)
				if err != nil {
					t.Fatalf("bearing %v: %s: %v", bearing, way.Text, err)
				}
				f := next.Feature("S1")
				if !f.Sound() {
					t.Fatalf("bearing %v: %s makes a flaw: %v", bearing, way.Text, f.Flaws)
				}
				kinds[way.Edit.(model.Set).Values[0].Property] = true
				q := run(t, next, nil)
				if slices.ContainsFunc(q.Sensors[0].Overspill, left) {
					t.Errorf("%s at %v: %s leaves overspill", lobes, bearing, way.Text)
				}
				if lost := r.Boundaries[0].Target.Covered - q.Boundaries[0].Target.Covered; lost > 1 {
					t.Errorf("%s at %v: %s loses %v m", lobes, bearing, way.Text, lost)
				}
				if m := f.Value.(*model.Sensor).Masked; len(m) == 0 || m[0].From != 40 {
					t.Errorf("%s takes the mask away that was there", way.Text)
				}
			}
		}
	}
	for _, k := range []string{"bearing_deg", "tilt_deg", "masked"} {
		if !kinds[k] {
			t.Errorf("no remedy was tried that changes %s", k)
		}
	}
}
