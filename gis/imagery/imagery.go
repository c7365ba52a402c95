// Package imagery loads the base map of a plan: the aerial picture its settings
// name, laid on the site grid by the file's own coordinates or by control
// points.
package imagery

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/model"
	"pleach/model/picture"
	"pleach/model/sitegrid"
)

// A Loaded picture is a base map on the site grid and what is to be said of it.
type Loaded struct {
	Picture *picture.Picture
	File    string // its path
	// How it lies: "EPSG:2994 by autzen.wld", "3 control points".
	Placed string
	// ToSite takes pixels of the file to the site grid; known where control
	// points place it, else nil.
	ToSite *picture.Affine
	// Residuals of the control points in metres, in their order; nil without.
	Residuals []float64
	// Reading says how its bands make colours.
	Reading string
	// Notes are sentences for the user: that it was cut off, or lies less well
	// than it could.
	Notes []string

	place placed
	grid  sitegrid.Grid
	info  *gdal.ImageInfo
}

// Path is where the file of a base map or terrain lies: as it stands if
// absolute, else relative to the folder of the plan. A plan must not make the
// program call another computer, so a file on one (a path that begins with two
// slashes) is an error.
func Path(planFolder, file string) (string, error) {
	switch {
	case file == "":
		return "", errors.New("no file is named")
	case strings.HasPrefix(file, "//") || strings.HasPrefix(file, `\\`):
		return "", fmt.Errorf("%s: lies on another computer: copy it beside the plan", file)
	}
	file = filepath.FromSlash(file)
	if filepath.IsAbs(file) {
		return file, nil
	}
	return filepath.Join(planFolder, file), nil
}

// Load reads the base map bm of a plan in planFolder onto the site grid about
// lon0, lat0. Control points, where there are any, override the file's own
// position. The picture has at most maxPixels pixels (0: gdal.DefaultPixels).
// An error is one line that names the file and what is wrong.
func Load(ctx context.Context, planFolder string, bm model.BaseMap, grid sitegrid.Grid, maxPixels int) (*Loaded, error) {
	path, err := Path(planFolder, bm.File)
	if err != nil {
		return nil, fmt.Errorf("base_map.file: %w", err)
	}
	place, err := placement(path, bm, grid)
	if err != nil {
		return nil, err
	}
	out := &Loaded{File: path, ToSite: (*picture.Affine)(place.ToSite), Residuals: place.residuals, place: place, grid: grid}
	info, err := gdal.OpenImage(path, gdal.OpenOptions{CRS: place.CRS})
	if err != nil {
		return nil, err
	}
	out.info, out.Reading = info, info.Reading
	if n := len(bm.Control); n > 0 {
		out.Placed = fmt.Sprintf("%d control points", n)
	} else {
		out.Placed = fmt.Sprintf("%s by %s", name(info.CRS), info.PositionFrom)
		if info.Positioned && !info.CRS.IsZero() {
			d, err := gdal.DatumOf(info.CRS, info.LonLat)
			if err == nil && d.Missing != "" {
				out.Notes = append(out.Notes, tie(info.CRS, d))
			}
		}
	}
	r, err := gdal.WarpToSite(ctx, path, place.Placement, gdal.SiteGrid{Lon0: grid.Lon0, Lat0: grid.Lat0}, maxPixels)
	if err != nil {
		return nil, err
	}
	out.Picture = picture.New(r.Pix, r.Origin, r.PixelSize)
	if r.Clipped {
		out.Notes = append(out.Notes, fmt.Sprintf("the picture is shown up to %.0f km from the middle of the site and cut off beyond", gdal.Reach/1000))
	}
	return out, nil
}

// MostOriginal is the largest file Original reads, in bytes. Chosen: what can be
// sent by mail.
const MostOriginal = 24 << 20

// Original is the file the picture was read from, to be printed as it stands;
// nil where it is no JPEG of the usual sort, larger than MostOriginal, or does
// not lie straight on the site grid to a tenth of a pixel.
func (l *Loaded) Original() *picture.File {
	if l.info.Format != "JPEG" {
		return nil
	}
	if s, err := os.Stat(l.File); err != nil || s.Size() > MostOriginal {
		return nil
	}
	const steps = 4
	var pixels []orb.Point
	for i := range (steps + 1) * (steps + 1) {
		pixels = append(pixels, orb.Point{float64(l.info.Width*(i%(steps+1))) / steps, float64(l.info.Height*(i/(steps+1))) / steps})
	}
	at, err := gdal.Places(l.File, l.place.Placement, gdal.SiteGrid{Lon0: l.grid.Lon0, Lat0: l.grid.Lat0}, pixels)
	if err != nil {
		return nil
	}
	a, residuals, err := picture.FitControl(pixels, at)
	if err != nil {
		return nil
	}
	pixel := math.Min(math.Hypot(a[1], a[4]), math.Hypot(a[2], a[5]))
	if slices.Max(residuals) > pixel/10 {
		return nil
	}
	data, err := os.ReadFile(l.File)
	if err != nil {
		return nil
	}
	f, err := picture.NewFile(data, a)
	if err != nil || f.Width != l.info.Width || f.Height != l.info.Height {
		return nil
	}
	return f
}

// tie says that a system could be tied to WGS 84 more closely.
func tie(c gdal.CRS, d gdal.Datum) string {
	s := fmt.Sprintf("coordinates in %s are tied to WGS 84", name(c))
	if d.Accuracy >= 0 {
		s += fmt.Sprintf(" to about %g m here", d.Accuracy)
	} else {
		s += " no better than roughly here"
	}
	s += fmt.Sprintf("; with PROJ's grid file %s installed", d.Missing)
	if d.Better >= 0 {
		return s + fmt.Sprintf(" it would be %g m", d.Better)
	}
	return s + " it would be better"
}

func name(c gdal.CRS) string {
	if s := c.String(); strings.HasPrefix(s, "EPSG:") {
		return s
	}
	return c.Name()
}

type placed struct {
	gdal.Placement
	residuals []float64
}

func placement(path string, bm model.BaseMap, grid sitegrid.Grid) (p placed, err error) {
	if len(bm.Control) > 0 {
		var pixels, at []orb.Point
		for _, c := range bm.Control {
			pixels, at = append(pixels, c.Pixel), append(at, grid.ToSite(c.At))
		}
		a, residuals, err := picture.FitControl(pixels, at)
		if err != nil {
			return p, fmt.Errorf("%s: base_map.control: %w", path, err)
		}
		to := [6]float64(a)
		return placed{gdal.Placement{ToSite: &to}, residuals}, nil
	}
	if bm.CRS != "" {
		if p.CRS, err = gdal.ParseCRS(bm.CRS); err != nil {
			return p, fmt.Errorf("%s: base_map.crs: %w", path, err)
		}
	}
	return p, nil
}

// Extent returns the longitude-latitude box of a base map without reading its
// pixels: what the site grid is centred on where a plan has no features.
func Extent(planFolder string, bm model.BaseMap) (orb.Bound, error) {
	path, err := Path(planFolder, bm.File)
	if err != nil {
		return orb.Bound{}, fmt.Errorf("base_map.file: %w", err)
	}
	if len(bm.Control) > 0 {
		// Placed on a grid about its own control points.
		var pts orb.MultiPoint
		for _, c := range bm.Control {
			pts = append(pts, c.At)
		}
		mid := pts.Bound().Center()
		grid := sitegrid.New(mid[0], mid[1])
		p, err := placement(path, bm, grid)
		if err != nil {
			return orb.Bound{}, err
		}
		info, err := gdal.OpenImage(path, gdal.OpenOptions{})
		if err != nil {
			return orb.Bound{}, err
		}
		a, w, h := picture.Affine(*p.ToSite), float64(info.Width), float64(info.Height)
		var corners orb.MultiPoint
		for _, c := range []orb.Point{{0, 0}, {w, 0}, {w, h}, {0, h}} {
			corners = append(corners, grid.ToLonLat(a.At(c)))
		}
		return corners.Bound(), nil
	}
	p, err := placement(path, bm, sitegrid.Grid{})
	if err != nil {
		return orb.Bound{}, err
	}
	info, err := gdal.OpenImage(path, gdal.OpenOptions{CRS: p.CRS})
	if err != nil {
		return orb.Bound{}, err
	}
	switch {
	case !info.Positioned:
		return orb.Bound{}, fmt.Errorf("%s: %w", path, gdal.ErrNoPosition)
	case info.CRS.IsZero():
		return orb.Bound{}, fmt.Errorf("%s: %w", path, gdal.ErrNoCRS)
	}
	return info.LonLat, nil
}

// Relative returns how a plan in planFolder names file: relative to the folder
// with forward slashes where there is a way, else absolute.
func Relative(planFolder, file string) string {
	abs, err := filepath.Abs(file)
	if err != nil {
		return filepath.ToSlash(file)
	}
	from, err := filepath.Abs(planFolder)
	if err != nil {
		return filepath.ToSlash(abs)
	}
	rel, err := filepath.Rel(from, abs)
	if err != nil {
		return filepath.ToSlash(abs)
	}
	return filepath.ToSlash(rel)
}

// Rebase returns the edits that name the picture and the terrain of a plan in the
// folder from relative to the folder to, so that they are still found from there.
func Rebase(p *model.Plan, from, to string) (steps []model.Edit) {
	again := func(path, file string) {
		full, err := Path(from, file)
		if err != nil {
			return
		}
		if rel := Relative(to, full); rel != file {
			steps = append(steps, model.Change{Path: path, Value: rel})
		}
	}
	if bm := p.Settings.BaseMap; bm != nil {
		again("base_map.file", bm.File)
	}
	if t := p.Settings.Terrain; t != nil {
		again("terrain.file", t.File)
	}
	return steps
}

// Bare reads a picture without regard to where it lies, so that it can be shown
// before it is placed: a tenth of a metre a pixel, its upper left corner at the
// origin. toSite takes its pixels to where they are shown. The picture has at
// most maxPixels pixels (0: gdal.DefaultPixels).
func Bare(ctx context.Context, path string, maxPixels int) (p *picture.Picture, toSite picture.Affine, err error) {
	const size = 0.1 // metres; chosen so that a picture of 100 000 pixels is within gdal.Reach
	toSite = picture.Affine{0, size, 0, 0, 0, -size}
	r, err := gdal.WarpToSite(ctx, path, gdal.Placement{ToSite: (*[6]float64)(&toSite)}, gdal.SiteGrid{}, maxPixels)
	if err != nil {
		return nil, toSite, err
	}
	if r.Clipped {
		return nil, toSite, fmt.Errorf("%s: has more than %.0f pixels on a side: make it smaller before placing it by hand", path, gdal.Reach/size)
	}
	return picture.New(r.Pix, r.Origin, r.PixelSize), toSite, nil
}

// CheckPixels is the size to which a picture is read to see that all of it can
// be read.
const CheckPixels = 1 << 18

// Check reads all of a picture, at a small size, and returns where it lies in
// longitude and latitude. An error says what is wrong with it: gdal.ErrNoCRS and
// gdal.ErrNoPosition among them.
func Check(ctx context.Context, planFolder string, bm model.BaseMap) (where orb.Bound, err error) {
	if where, err = Extent(planFolder, bm); err != nil {
		return where, err
	}
	mid := where.Center()
	_, err = Load(ctx, planFolder, bm, sitegrid.New(mid[0], mid[1]), CheckPixels)
	return where, err
}
