package drawing

import (
	"github.com/paulmach/orb"
)

// Proposed is a place that is proposed for a repeater.
type Proposed struct {
	ID    string    // it would have
	At    orb.Point // on the site grid
	Mends []string  // ids of the sensors it would mend
}

// proposed draws places for repeaters with a line to each sensor they would mend.
// They are no features of the plan: nothing of them can be picked.
func (c *composer) proposed() {
	at := map[string]orb.Point{}
	if len(c.in.Proposed) > 0 {
		for _, d := range c.in.Scene.Devices {
			at[d.Feature.ID] = d.At
		}
	}
	for _, p := range c.in.Proposed {
		for _, id := range p.Mends {
			if to, ok := at[id]; ok && to != p.At {
				c.list.Add(Item{Layer: BoundaryLayer, Kind: LineKind, Meaning: ProposedLink, Line: orb.LineString{p.At, to}})
			}
		}
		c.list.Add(Item{Layer: DeviceLayer, Kind: MarkKind, Meaning: ProposedRepeater, At: p.At})
		c.label(Item{Meaning: DeviceName, At: p.At, Text: p.ID, Priority: selectedPriority})
	}
}
