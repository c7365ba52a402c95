package contrast

import (
	"testing"

	"pleach/model"
	"pleach/testdata/published"
)

// The side of a car, 4 by 1.4 m, against a person of 0.4 by 1.5 m, in a zone that
// neither fills: how many times as far it gives the same signal.
func TestOutsideAVehicleIsSeenAsFarAsItsAreaSays(t *testing.T) {
	rows := published.Load(t, "detection.csv")
	z := Zone{Wide: 20, High: 20}
	person := z.Filling(0.4, 1.5, 30)
	lo, hi := 30.0, 300.0
	for range 60 {
		if m := (lo + hi) / 2; z.Filling(4, 1.4, m) > person {
			lo = m
		} else {
			hi = m
		}
	}
	rows.Check(t, "O44", lo/30)
	// The plan's default stands for it.
	if f := model.NewPlan().Settings.VehicleRangeFactor; f != 3 {
		t.Errorf("the reach for a vehicle is %v times by default, want 3", f)
	}
}
