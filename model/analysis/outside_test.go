package analysis

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/testdata/published"
	"pleach/testdata/site"
)

// wedgeAt is a sensor that sees a wedge of 10 degrees and 100 m, as far inside a
// straight boundary as inset says, looking along it and turned inward. Its eye
// is at half the target's height, so that the wedge's radius is its slant reach,
// and its limits are so wide that they take away nothing but the first 2 cm.
func wedgeAt(t *testing.T, inset, inward float64) []Overspill {
	t.Helper()
	var s site.Site
	s.Set("models", []map[string]any{{"id": "wedge", "lobes": []map[string]any{{"width_deg": 10, "up_deg": 85, "down_deg": 85, "range_m": 100}}}})
	// A corner at the sensor's foot: a plan's coordinates are rounded to 0.1 mm.
	s.Add(model.KindBoundary, "B1", orb.Polygon{{{-250, 0}, {0, 0}, {250, 0}, {250, 200}, {-250, 200}, {-250, 0}}})
	s.Sensor("S1", orb.Point{0, inset}, "wedge", 0.85, 90-inward, 0)
	return run(t, s.Plan(t), nil).Sensors[0].Overspill
}

func TestOutsideOverspillOfAWedgeAlongTheBoundary(t *testing.T) {
	rows := published.Load(t, "detection.csv")
	total := func(list []Overspill) (sum float64) {
		for _, o := range list {
			if o.Class != "open" || o.For != "person" {
				t.Errorf("overspill %s for a %s, want open land for a person alone", o.Class, o.For)
			}
			sum += o.Area
		}
		return sum
	}
	rows.Check(t, "O32-on", total(wedgeAt(t, 0, 0)))
	rows.Check(t, "O32-in", total(wedgeAt(t, 2, 0)))
	rows.Check(t, "O33", total(wedgeAt(t, 0, 5)))
	rows.Check(t, "H16", total(wedgeAt(t, 2, 2)))
	first := math.Inf(1)
	for _, o := range wedgeAt(t, 2, 0) {
		first = math.Min(first, o.Shape.Bound().Min[0])
	}
	rows.Check(t, "H17", first)
}

// The length bound takes the greatest chord of a model's footprint: given one of
// 100 m less 5 m of overlap, it is the handbook's bound.
func TestOutsideLengthBound(t *testing.T) {
	rows := published.Load(t, "detection.csv")
	// A lobe a hundredth of a degree wide that sees the target from 2.15 m on, at
	// the mount height of the bound, 3 m.
	strip := func(id string, chord float64) map[string]any {
		return map[string]any{"id": id, "lobes": []map[string]any{{"width_deg": 0.01, "up_deg": 10, "down_deg": 45, "range_m": math.Hypot(2.15+chord, 2.15)}}}
	}
	var s site.Site
	s.Set("models", []map[string]any{strip("overlapping", 95), strip("end-to-end", 100.001)})
	s.Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-350, -250, 350, 250)})
	_, bounds := LengthBound(run(t, s.Plan(t), nil))
	for _, b := range bounds {
		switch b.Model.ID {
		case "overlapping":
			rows.Check(t, "O38", float64(b.Count))
		case "end-to-end":
			rows.Check(t, "H18", float64(b.Count))
		}
	}
}
