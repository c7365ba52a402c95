package compare

import (
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
)

func TestMasksAreToldByTheirSpans(t *testing.T) {
	s := model.NewFeature(model.KindSensor, "S1", orb.Point{7, 50}, model.Prop("model", "fan-30-40"), model.Prop("mount_height_m", 3), model.Prop("bearing_deg", 0), model.Prop("tilt_deg", 4))
	masked := func(spans ...map[string]any) *model.Feature {
		return model.NewFeature(model.KindSensor, "S1", orb.Point{7, 50}, model.Prop("model", "fan-30-40"), model.Prop("mount_height_m", 3), model.Prop("bearing_deg", 0), model.Prop("tilt_deg", 4), model.Prop("masked", spans))
	}
	one := masked(map[string]any{"from_deg": -15, "to_deg": -4.5})
	two := masked(map[string]any{"from_deg": -15, "to_deg": -2}, map[string]any{"from_deg": 10, "to_deg": 15})
	for _, c := range []struct {
		old, now *model.Feature
		want     string
	}{
		{s, one, "masks none before, −15° to −4.5° now"},
		{one, two, "masks −15° to −4.5° before, −15° to −2°, 10° to 15° now"},
		{two, s, "masks −15° to −2°, 10° to 15° before, none now"},
		{two, two, ""},
	} {
		aim, other := differences(c.old, c.now)
		if got := values(aim); got != c.want || len(other) > 0 {
			t.Errorf("told %q and %v, want %q", got, other, c.want)
		}
	}
}
