// Package elevation loads the heights of the ground a plan is laid on: the
// raster its settings name, for the part of the site grid the plan's features
// need.
package elevation

import (
	"context"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/gis/imagery"
	"pleach/model"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
)

// Loaded is the ground on the site grid and what is to be said of it.
type Loaded struct {
	Grid *terrain.Grid
	File string // its path
	gdal.TerrainInfo
}

// Load reads the raster of heights tf of a plan in planFolder for the part area
// of the site grid. An error is one line that names the file and what is wrong.
func Load(ctx context.Context, planFolder string, tf model.TerrainFile, grid sitegrid.Grid, area orb.Bound) (*Loaded, error) {
	path, err := imagery.Path(planFolder, tf.File)
	if err != nil {
		return nil, fmt.Errorf("terrain.file: %w", err)
	}
	g, info, err := gdal.OpenTerrain(ctx, path, options(tf), gdal.SiteGrid{Lon0: grid.Lon0, Lat0: grid.Lat0}, area)
	if err != nil {
		return nil, err
	}
	return &Loaded{Grid: g, File: path, TerrainInfo: info}, nil
}

// Look returns what is to be said of a raster of heights without reading it:
// whether it is one and where it lies.
func Look(planFolder string, tf model.TerrainFile) (gdal.TerrainInfo, error) {
	path, err := imagery.Path(planFolder, tf.File)
	if err != nil {
		return gdal.TerrainInfo{}, fmt.Errorf("terrain.file: %w", err)
	}
	return gdal.LookAtTerrain(path, options(tf))
}

// UnitWords returns ", unit not stated, taken as metres" where neither a plan nor
// the raster it names says in what the heights are, else "".
func UnitWords(planFolder string, tf model.TerrainFile) string {
	if info, err := Look(planFolder, tf); err != nil || info.UnitFrom != "" {
		return ""
	}
	return ", unit not stated, taken as metres"
}

func options(tf model.TerrainFile) gdal.TerrainOptions {
	return gdal.TerrainOptions{CRS: tf.CRS, Unit: tf.Unit}
}

// Home returns where a plan without any feature lies, in longitude and latitude:
// in the middle of its base map or, where there is none that tells, of its terrain.
// It is false where neither tells; the error is that of the base map.
func Home(planFolder string, p *model.Plan) (at orb.Point, known bool, err error) {
	if bm := p.Settings.BaseMap; bm != nil {
		var b orb.Bound
		if b, err = imagery.Extent(planFolder, *bm); err == nil {
			return b.Center(), true, nil
		}
	}
	if tf := p.Settings.Terrain; tf != nil {
		if info, lookErr := Look(planFolder, *tf); lookErr == nil {
			return info.LonLat.Center(), true, err
		}
	}
	return at, false, err
}

const (
	// around is how far about everything the ground is loaded, so that a device
	// may be moved a little without loading again, in metres. Chosen.
	around = 200
	// near is how far from the devices and boundaries other features still
	// call for ground, in metres: a road that runs on to the next town does not.
	near = 1000
)

// Area returns the part of the site grid on which a plan asks for the height of
// the ground: its boundaries, assets and devices, each sensor with as far as it
// looks, and the buildings, obstacles and foliage within 1 km of those; all with
// 200 m about it, and nothing beyond gdal.Reach of the origin. Without any of
// them it is 1 km about the origin.
func Area(p *model.Plan, grid sitegrid.Grid) orb.Bound {
	box := Core(p, grid)
	if box.Min[0] > box.Max[0] {
		return orb.Point{}.Bound().Pad(near)
	}
	core := box.Pad(near)
	for _, f := range p.Of(model.KindBuilding, model.KindObstacle, model.KindFoliage) {
		if b := grid.Geometry(f.Geometry).Bound(); b.Intersects(core) {
			box = box.Union(orb.Bound{ // no farther than it is near
				Min: orb.Point{max(b.Min[0], core.Min[0]), max(b.Min[1], core.Min[1])},
				Max: orb.Point{min(b.Max[0], core.Max[0]), min(b.Max[1], core.Max[1])},
			})
		}
	}
	box = box.Pad(around)
	for i := range 2 {
		box.Min[i] = min(max(box.Min[i], -gdal.Reach), gdal.Reach)
		box.Max[i] = min(max(box.Max[i], -gdal.Reach), gdal.Reach)
	}
	return box
}

// Core returns what Area is laid about: the box of boundaries, assets and devices,
// each sensor with as far as it looks. It is empty, Min above Max, for none. What is
// added to a plan inside its core does not make its area larger.
func Core(p *model.Plan, grid sitegrid.Grid) orb.Bound {
	inf := math.Inf(1)
	box := orb.Bound{Min: orb.Point{inf, inf}, Max: orb.Point{-inf, -inf}}
	reach := map[string]float64{}
	for _, f := range p.Of(model.KindBoundary, model.KindAsset, model.KindSensor, model.KindRepeater, model.KindReceiver) {
		b := grid.Geometry(f.Geometry).Bound()
		if s, ok := f.Value.(*model.Sensor); ok {
			if _, known := reach[s.Model]; !known {
				reach[s.Model] = Reach(p, s.Model)
			}
			b = b.Pad(reach[s.Model])
		}
		box = box.Union(b)
	}
	return box
}

// Reach returns how far in metres a sensor of a model looks for a vehicle or a
// person, 0 for a model the plan does not know.
func Reach(p *model.Plan, id string) float64 {
	reach := 0.0
	if m, ok := p.Model(id); ok {
		for _, l := range m.Lobes {
			reach = max(reach, l.Range)
		}
	}
	return reach * max(1, p.Settings.VehicleRangeFactor)
}
