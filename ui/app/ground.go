package app

import (
	"context"
	"sync"

	"pleach/gis/elevation"
	"pleach/model"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
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
	read   bool
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
	need, have := elevation.Area(p, grid), g.ground.Area()
	return have.Contains(need.Min) && have.Contains(need.Max)
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
		g.ground, g.err = nil, err
		if err == nil {
			g.ground = l.Grid
		}
	}
	return scene.After(before, p, grid, g.ground), g.err
}
