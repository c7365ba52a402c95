package app

import (
	"context"
	"sync"

	"github.com/paulmach/orb"

	"pleach/gis/elevation"
	"pleach/model"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
	"pleach/ui/panel"
)

// grounds keeps the terrain of the plan that is shown. It may be used from any
// goroutine.
type grounds struct {
	mu     sync.Mutex
	folder string
	file   model.TerrainFile
	grid   sitegrid.Grid
	ground *terrain.Grid
	err    error
	said   []model.Finding // of the raster as it was read
	read   bool
	seen   *model.Plan // a plan whose area lies within ground's, nil for none
	core   orb.Bound   // see elevation.Core, of that plan
}

// holds reports whether the terrain for a plan is at hand, without reading: it
// is where the plan names none.
func (g *grounds) holds(folder string, p *model.Plan, grid sitegrid.Grid) bool {
	tf := p.Settings.Terrain
	if tf == nil {
		return true
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.fits(folder, *tf, p, grid)
}

func (g *grounds) fits(folder string, tf model.TerrainFile, p *model.Plan, grid sitegrid.Grid) bool {
	if !g.read || g.folder != folder || g.file != tf || g.grid != grid {
		return false
	}
	if g.ground == nil {
		return true // it could not be read, and would not be now
	}
	if g.within(p) {
		return true
	}
	need, have := elevation.Area(p, grid), g.ground.Area()
	if !have.Contains(need.Min) || !have.Contains(need.Max) {
		return false
	}
	g.seen, g.core = p, elevation.Core(p, grid)
	return true
}

// within reports whether a plan differs from the one that was seen to fit in devices
// alone, none of which asks for ground beyond it.
func (g *grounds) within(p *model.Plan) bool {
	if g.seen == nil || !model.SameSettings(g.seen, p) {
		return false
	}
	for _, k := range []model.Kind{model.KindBoundary, model.KindAsset, model.KindBuilding, model.KindObstacle, model.KindFoliage} {
		if !model.SameList(g.seen.Of(k), p.Of(k)) {
			return false
		}
	}
	for _, k := range []model.Kind{model.KindSensor, model.KindRepeater, model.KindReceiver} {
		old := g.seen.Of(k)
		for i, f := range p.Of(k) {
			if i < len(old) && old[i] == f {
				continue
			}
			b := g.grid.Geometry(f.Geometry).Bound()
			if s, ok := f.Value.(*model.Sensor); ok {
				b = b.Pad(elevation.Reach(p, s.Model))
			}
			if !g.core.Contains(b.Min) || !g.core.Contains(b.Max) {
				return false
			}
		}
	}
	return true
}

// saidOf puts what is to be said of a raster of heights among the findings.
func saidOf(l *elevation.Loaded, file string) (out []model.Finding) {
	for _, n := range l.Notes {
		f := model.Finding{Rule: panel.RuleAsRead, Severity: model.Note, Subject: []string{}, Text: "Heights of the ground, " + file + ": " + n}
		if l.MayBeFeet {
			f.Severity = model.Warning
			f.Remedy = "Ask where the file is from, and state the unit under File, Ground heights."
		}
		out = append(out, f)
	}
	return out
}

// words is what is to be said of the raster that was read last.
func (g *grounds) words() []model.Finding {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.said
}

// lay lays a plan on its terrain, reading that where it is not at hand. Terrain
// that cannot be read leaves the ground level: the error says why, and a finding
// says so, too.
//
// What is the same as in a scene before, nil for none, is taken over from it.
func (g *grounds) lay(folder string, p *model.Plan, grid sitegrid.Grid, before *scene.Scene) (*scene.Scene, error) {
	tf := p.Settings.Terrain
	if tf == nil {
		return scene.After(before, p, grid, nil), nil
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	if !g.fits(folder, *tf, p, grid) {
		l, err := elevation.Load(context.Background(), folder, *tf, grid, elevation.Area(p, grid))
		g.folder, g.file, g.grid, g.read = folder, *tf, grid, true
		g.ground, g.err, g.seen, g.said = nil, err, nil, nil
		if err == nil {
			g.ground, g.said = l.Grid, saidOf(l, tf.File)
		}
	}
	return scene.After(before, p, grid, g.ground), g.err
}
