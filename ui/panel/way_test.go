package panel

import (
	"testing"

	"pleach/model/analysis"
	"pleach/model/wayin"
)

func TestAWayThatNothingDetectsLeavesNoTimeToTell(t *testing.T) {
	labels := func(undetected bool) map[string]bool {
		out := map[string]bool{}
		for _, f := range wayFacts(&analysis.Way{Route: wayin.Route{Reached: true, Undetected: undetected, Length: 50}, Timing: &analysis.Timing{Response: 60}}) {
			out[f.label] = true
		}
		return out
	}
	if l := labels(true); l["Left at first detection"] || !l["Response takes"] || !l["Interrupted in time"] {
		t.Errorf("undetected: %v", l)
	}
	if l := labels(false); !l["Left at first detection"] {
		t.Errorf("detected: %v", l)
	}
}
