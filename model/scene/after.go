package scene

import (
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
)

// devices are the kinds that can differ between two scenes that share the rest.
var devices = []model.Kind{model.KindSensor, model.KindRepeater, model.KindReceiver}

// After lays a plan on the given site grid and its terrain as OnGround does. Of a
// scene before, nil for none, it takes over what is the same: all but the devices
// that differ, where nothing but devices differs.
func After(before *Scene, p *model.Plan, grid sitegrid.Grid, ground *terrain.Grid) *Scene {
	if before == nil || before.Grid != grid || before.Terrain != ground {
		return OnGround(p, grid, ground)
	}
	for _, k := range model.Kinds {
		if !slices.Contains(devices, k) && !model.SameList(before.Plan.Of(k), p.Of(k)) {
			return OnGround(p, grid, ground)
		}
	}
	s := *before
	s.Plan = p
	all := p.Of(devices...)
	s.Devices = make([]Device, len(all))
	old := before.Devices
	for i, f := range all {
		switch {
		case len(old) > 0 && old[0].Feature == f:
			s.Devices[i] = old[0]
			old = old[1:]
			continue
		case len(old) > 1 && old[1].Feature == f: // one is gone
			s.Devices[i] = old[1]
			old = old[2:]
			continue
		}
		s.Devices[i] = Device{f, grid.ToSite(f.Geometry.(orb.Point))}
		if len(old) > 0 && len(all)-i <= len(old) { // one is another, not one more
			old = old[1:]
		}
	}
	return &s
}
