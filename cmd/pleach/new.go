package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"

	"pleach/gis/elevation"
	"pleach/gis/exchange"
	"pleach/gis/gdal"
	"pleach/gis/imagery"
	"pleach/gis/planfile"
	"pleach/model"
	"pleach/model/scene"
	"pleach/model/sitegrid"
)

var newCommand = command{
	name: "new",
	args: "[--boundary FILE] [--image FILE] [--terrain FILE] [--buildings FILE] [--roads FILE] [--foliage FILE] -o PLAN",

	summary: "a plan from GIS files",
	help: `At least one of:

  --boundary FILE    GeoJSON: the line to be watched
  --image FILE       aerial picture: GeoTIFF, PNG, JPEG or JPEG 2000
  --terrain FILE     raster of ground heights
  --buildings FILE   GeoJSON
  --roads FILE       GeoJSON: roads and footpaths
  --foliage FILE     GeoJSON: woods and hedges

  --image-crs EPSG:n, --terrain-crs EPSG:n
                     the coordinate reference system of a raster that names none
  --terrain-unit m or ft
                     in what the heights are, where the raster does not say
  -o PLAN            where to; a file that is there already is left alone

A feature of the last three that cannot be used is left out and named. Heights
and widths that a file does not state are assumed, and the plan says which.`,
	run: runNew,
}

// newOptions are what new is called with.
type newOptions struct {
	exchange.Input
	image, terrain, imageCRS, terrainCRS, terrainUnit, out string
}

func runNew(args []string, out, notes io.Writer) (int, error) {
	var o newOptions
	rest, err := parse("new", args, text("--boundary", &o.Boundary), text("--image", &o.image), text("--terrain", &o.terrain),
		text("--buildings", &o.Buildings), text("--roads", &o.Roads), text("--foliage", &o.Foliage),
		text("--image-crs", &o.imageCRS), text("--terrain-crs", &o.terrainCRS), text("--terrain-unit", &o.terrainUnit), text("-o", &o.out))
	switch {
	case err != nil:
		return bad, err
	case len(rest) > 0:
		return bad, usage("new: %q is one argument too many: see pleach help new", rest[0])
	case o.out == "":
		return bad, usage("new: -o PLAN is missing: where to write the plan")
	case o.Input == (exchange.Input{}) && o.image == "" && o.terrain == "":
		return bad, usage("new: names no file to make the plan of: see pleach help new")
	case o.imageCRS != "" && o.image == "":
		return bad, usage("new: --image-crs is for an --image")
	case o.terrainCRS != "" && o.terrain == "":
		return bad, usage("new: --terrain-crs is for a --terrain")
	case o.terrainUnit != "" && o.terrain == "":
		return bad, usage("new: --terrain-unit is for a --terrain")
	case o.terrainUnit != "" && o.terrainUnit != "m" && o.terrainUnit != "ft":
		return bad, usage("new: --terrain-unit %s is neither m nor ft", o.terrainUnit)
	}
	if st, err := os.Stat(o.out); err == nil && (st.IsDir() || st.Size() > 0) {
		return bad, fmt.Errorf("%s: is there already: name another file, or take this one away first", o.out)
	}
	p, said, err := makePlan(o)
	if err != nil {
		return bad, err
	}
	if err := planfile.Write(o.out, p); err != nil {
		return bad, err
	}
	for _, line := range said {
		fmt.Fprintf(notes, "pleach: %s\n", printable(line))
	}
	return done, describeNew(out, o.out, p)
}

// makePlan returns the plan and what is to be said of its making.
func makePlan(o newOptions) (*model.Plan, []string, error) {
	features, said, err := exchange.Features(o.Input)
	if err != nil {
		return nil, nil, err
	}
	folder := filepath.Dir(o.out)
	title := strings.TrimSuffix(filepath.Base(o.out), filepath.Ext(o.out))
	settings := []model.Member{model.Prop("title", title)}
	var places []placed
	if o.image != "" {
		m, where, note, err := baseMap(folder, o.image, o.imageCRS)
		if err != nil {
			return nil, nil, err
		}
		settings = append(settings, m)
		places = append(places, placed{o.image, where})
		said = append(said, note...)
	}
	if o.terrain != "" {
		m, note, err := terrainFile(folder, o.terrain, o.terrainCRS, o.terrainUnit)
		if err != nil {
			return nil, nil, err
		}
		settings = append(settings, m)
		said = append(said, note...)
	}
	p, err := model.Add{Features: features}.Apply(model.NewPlan(settings...))
	if err != nil {
		return nil, nil, err
	}
	for _, part := range []struct {
		path  string
		kinds []model.Kind
	}{{o.Buildings, []model.Kind{model.KindBuilding}}, {o.Roads, []model.Kind{model.KindRoad, model.KindFootpath}}, {o.Foliage, []model.Kind{model.KindFoliage}}} {
		if where, some := boundOf(p, part.kinds...); some {
			places = append(places, placed{part.path, where})
		}
	}
	return p, append(said, scattered(p, places)...), nil
}

// boundOf returns the longitude-latitude box of all features of the given kinds.
func boundOf(p *model.Plan, kinds ...model.Kind) (where orb.Bound, some bool) {
	for _, f := range p.Of(kinds...) {
		if !some {
			where, some = f.Geometry.Bound(), true
		}
		where = where.Union(f.Geometry.Bound())
	}
	return where, some
}

// baseMap looks at an image, all of it, and returns the setting that names it
// and where it lies.
func baseMap(folder, path, crs string) (m model.Member, where orb.Bound, notes []string, err error) {
	own, err := gdal.OpenImage(path, gdal.OpenOptions{})
	if err != nil {
		return m, where, nil, err
	}
	bm := model.BaseMap{File: imagery.Relative(folder, path)}
	if crs != "" {
		c, err := gdal.ParseCRS(crs)
		if err != nil {
			return m, where, nil, usage("new: --image-crs: %v", err)
		}
		if own.CRS.IsZero() {
			bm.CRS = c.String()
		} else if own.CRS != c {
			notes = append(notes, fmt.Sprintf("%s: says itself that it lies in %s: --image-crs %s is not used", path, own.CRS.Name(), crs))
		}
	}
	// Looked at under the name the user gave it, which errors then speak of.
	look := bm
	look.File = path
	if where, err = imagery.Check(context.Background(), "", look); err != nil {
		return m, where, nil, imageRemedy(err)
	}
	return model.Prop("base_map", bm.Value()), where, notes, nil
}

// imageRemedy adds to an image's error what helps at the command line.
func imageRemedy(err error) error {
	switch {
	case errors.Is(err, gdal.ErrNoCRS):
		return fmt.Errorf("%w: --image-crs EPSG:n", err)
	case errors.Is(err, gdal.ErrNoPosition):
		return fmt.Errorf("%w; points are matched in the window: File > New", err)
	}
	return err
}

// terrainFile looks at a raster of heights and returns the setting that names
// it, and what is to be said of it.
func terrainFile(folder, path, crs, unit string) (m model.Member, notes []string, err error) {
	tf := model.TerrainFile{File: imagery.Relative(folder, path), Unit: unit}
	if crs != "" {
		c, err := gdal.ParseCRS(crs)
		if err != nil {
			return m, nil, usage("new: --terrain-crs: %v", err)
		}
		tf.CRS = c.String()
	}
	info, err := elevation.Look(folder, tf)
	if err != nil {
		return m, nil, err
	}
	return model.Prop("terrain", tf.Value()), info.Notes, nil
}

// placed is a file and where it lies.
type placed struct {
	path  string
	where orb.Bound
}

// farAway is from what distance in metres on two parts of a plan are said to be
// far from each other. Chosen: as far as an aerial picture is shown.
const farAway = gdal.Reach

// scattered says what lies so far from the boundary that a coordinate reference
// system is likely wrong.
func scattered(p *model.Plan, places []placed) (said []string) {
	site, some := boundOf(p, model.KindBoundary)
	if !some {
		return nil
	}
	lon, lat := scene.Origin(p)
	grid := sitegrid.New(lon, lat)
	if d := distance(grid, site.Min, site.Max); d > farAway {
		said = append(said, fmt.Sprintf("the boundary spans %s: a plan is for one site", kilometres(d)))
	}
	for _, pl := range places {
		if d := distance(grid, site.Center(), nearest(pl.where, site.Center())); d > farAway {
			said = append(said, fmt.Sprintf("%s: lies %s from the boundary: is its coordinate reference system right?", pl.path, kilometres(d)))
		}
	}
	return said
}

func distance(grid sitegrid.Grid, a, b orb.Point) float64 {
	p, q := grid.ToSite(a), grid.ToSite(b)
	return math.Hypot(p[0]-q[0], p[1]-q[1])
}

func nearest(b orb.Bound, p orb.Point) orb.Point {
	return orb.Point{math.Max(b.Min[0], math.Min(b.Max[0], p[0])), math.Max(b.Min[1], math.Min(b.Max[1], p[1]))}
}

func kilometres(m float64) string { return fmt.Sprintf("%.0f km", m/1000) }

// describeNew prints what the plan holds.
func describeNew(w io.Writer, path string, p *model.Plan) error {
	var parts []string
	assumed := 0
	for _, k := range model.Kinds {
		n := len(p.Of(k))
		if n == 0 {
			continue
		}
		info, _ := model.Info(k)
		parts = append(parts, fmt.Sprintf("%d %s", n, plural(strings.ToLower(info.Label), n)))
	}
	for _, f := range p.Features {
		if len(f.Assumed) > 0 {
			assumed++
		}
	}
	if p.Settings.BaseMap != nil {
		parts = append(parts, "aerial picture "+p.Settings.BaseMap.File)
	}
	if p.Settings.Terrain != nil {
		parts = append(parts, "terrain "+p.Settings.Terrain.File)
	}
	if _, err := fmt.Fprintf(w, "%s: %s\n", path, strings.Join(parts, ", ")); err != nil {
		return err
	}
	if assumed == 0 {
		return nil
	}
	_, err := fmt.Fprintf(w, "A height or width is assumed for %d of them: check the ones that matter.\n", assumed)
	return err
}

func plural(word string, n int) string {
	switch {
	case n == 1 || word == "foliage":
		return word
	case strings.HasSuffix(word, "y"):
		return strings.TrimSuffix(word, "y") + "ies"
	}
	return word + "s"
}
