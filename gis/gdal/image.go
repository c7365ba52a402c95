package gdal

import (
	"errors"
	"fmt"
	"math"
	"strconv"

	raw "github.com/lukeroth/gdal"
	"github.com/paulmach/orb"
)

// Limits of what is opened as an image. Chosen, so that no file makes the
// program run for minutes or take more than about 1 GB, whatever it claims.
const (
	maxSide       = 1 << 20 // pixels of width or height
	maxPixels     = 1 << 30 // pixels of an image with overviews
	maxPixelsBare = 1 << 28 // pixels of an image without: all of them must be read to draw it small
	maxBlockBytes = 1 << 28 // one block (strip or tile) of all bands, unpacked
	maxBands      = 64
)

// Errors that say what an image lacks to lie on the ground. They are wrapped in
// one that names the file.
var (
	// ErrNoPosition: neither the file nor a world file beside it says where it lies.
	ErrNoPosition = errors.New("has no position on the ground: place it by two points or more, or put its world file beside it")
	// ErrNoCRS: its coordinates are known, but not in which system.
	ErrNoCRS = errors.New("does not say in which coordinate reference system it lies: name one, such as EPSG:2994")
)

// ImageInfo is what can be said of an image without reading its pixels.
type ImageInfo struct {
	Path          string // as given
	Format        string // "TIFF", "PNG", "JPEG", "JPEG 2000"
	Width, Height int    // pixels
	Bands         []Band
	Overviews     int    // smaller copies of itself it carries
	Reading       string // how the bands make colours, in words

	// Where it lies. Positioned is whether GeoTransform holds: x = g0 + g1·col
	// + g2·row, y = g3 + g4·col + g5·row, in the units of CRS, east first,
	// (0,0) the upper left corner of the upper left pixel. PositionFrom is
	// "the file" or the world file's name.
	Positioned   bool
	GeoTransform [6]float64
	PositionFrom string
	CRS          CRS // zero where none is known
	// Corners are the upper left, upper right, lower right and lower left
	// corner in CRS, where Positioned.
	Corners [4]orb.Point
	// LonLat is the longitude-latitude box of the whole image on WGS 84; known
	// where Positioned and CRS is not zero.
	LonLat orb.Bound
}

// A Band is one layer of numbers of an image.
type Band struct {
	Type   string // of number: "Byte", "UInt16", ...
	Colour string // its meaning by the file: "Red", "Gray", "Undefined", ...
}

// OpenOptions are what the user says about an image.
type OpenOptions struct {
	// CRS is used where the file names none.
	CRS CRS
}

// OpenImage looks at an image file: GeoTIFF, PNG, JPEG or JPEG 2000. It reads
// no file but this one and a world file beside it, and no network address
// whatever the file says. It refuses, in one line that names the file, what is
// no such image or claims more than a million pixels on a side, 2^28 pixels
// (2^30 with overviews), or blocks of more than 256 MB.
func OpenImage(path string, opt OpenOptions) (*ImageInfo, error) {
	var info *ImageInfo
	err := locked(func() error {
		ds, got, err := openImage(path, opt)
		if err != nil {
			return err
		}
		defer ds.Close()
		info = got
		return nil
	})
	return info, err
}

// openImage opens an image within the limits. The caller holds the thread and
// closes the data set.
func openImage(path string, opt OpenOptions) (raw.Dataset, *ImageInfo, error) {
	var null raw.Dataset
	abs, err := regularFile(path)
	if err != nil {
		return null, nil, err
	}
	f, err := imageFormat(path, abs)
	if err != nil {
		return null, nil, err
	}
	ds, err := raw.OpenEx(abs, raw.OFReadOnly|raw.OFRaster, []string{f.driver}, nil, []string{base(abs)})
	if err != nil || ds.IsNull() {
		return null, nil, failure(fmt.Sprintf("%s: cannot be opened as %s", shown(path), f.name))
	}
	info, err := describeImage(ds, path, f, opt)
	if err != nil {
		ds.Close()
		return null, nil, err
	}
	return ds, info, nil
}

func describeImage(ds raw.Dataset, path string, f format, opt OpenOptions) (*ImageInfo, error) {
	name := shown(path)
	info := &ImageInfo{Path: path, Format: f.name, Width: ds.RasterXSize(), Height: ds.RasterYSize()}
	n := ds.RasterCount()
	if n < 1 || info.Width < 1 || info.Height < 1 {
		return nil, fmt.Errorf("%s: holds no picture", name)
	}
	if n > maxBands {
		return nil, fmt.Errorf("%s: has %d bands; up to %d are read", name, n, maxBands)
	}
	first := ds.RasterBand(1)
	info.Overviews = first.OverviewCount()
	if err := checkSize(name, info, first, n); err != nil {
		return nil, err
	}
	for i := 1; i <= n; i++ {
		b := ds.RasterBand(i)
		info.Bands = append(info.Bands, Band{Type: b.RasterDataType().Name(), Colour: b.ColorInterp().Name()})
	}
	plan, err := chooseBands(ds)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	info.Reading = plan.words()
	if err := locate(ds, info, f, opt); err != nil {
		return nil, err
	}
	return info, nil
}

func checkSize(name string, info *ImageInfo, b raw.RasterBand, bands int) error {
	w, h := int64(info.Width), int64(info.Height)
	if w > maxSide || h > maxSide {
		return fmt.Errorf("%s: claims %d x %d pixels; up to %d on a side are read: cut out the part around the site", name, w, h, maxSide)
	}
	most, remedy := int64(maxPixels), "cut out the part around the site, or make it smaller"
	if info.Overviews == 0 {
		most, remedy = maxPixelsBare, "cut out the part around the site, make it smaller, or add overviews"
	}
	if w*h > most {
		return fmt.Errorf("%s: claims %d x %d pixels, %s in all; up to %s are read: %s", name, w, h, millions(w*h), millions(most), remedy)
	}
	bw, bh := b.BlockSize()
	if size := int64(bw) * int64(bh) * int64(bands) * int64(b.RasterDataType().Size()/8); bw < 1 || bh < 1 || size > maxBlockBytes {
		return fmt.Errorf("%s: is stored in blocks of %d x %d pixels, %d MB each; up to %d MB are read: save it again with smaller tiles",
			name, bw, bh, size>>20, maxBlockBytes>>20)
	}
	return nil
}

func millions(n int64) string { return strconv.FormatInt((n+500_000)/1_000_000, 10) + " million" }

// locate fills in where the image lies.
func locate(ds raw.Dataset, info *ImageInfo, f format, opt OpenOptions) error {
	name := shown(info.Path)
	// The library says "none" by the identity, some writers by zeros.
	gt := ds.GeoTransform()
	if gt != [6]float64{0, 1, 0, 0, 0, 1} && gt != [6]float64{} {
		info.Positioned, info.GeoTransform, info.PositionFrom = true, gt, "the file"
	} else {
		gt, file, err := worldFile(info.Path, f.world)
		if err != nil {
			return err
		}
		if file != "" {
			info.Positioned, info.GeoTransform, info.PositionFrom = true, gt, file
		}
	}
	if wkt := ds.Projection(); wkt != "" {
		// One that no map can be drawn in (a local plane, a height) is as good as none.
		if c, err := parseCRS(wkt); err == nil {
			info.CRS = identified(c)
		}
	}
	if info.CRS.IsZero() {
		info.CRS = opt.CRS
	}
	if !info.Positioned {
		return nil
	}
	g := info.GeoTransform
	if _, err := invert(g); err != nil {
		return fmt.Errorf("%s: %s places it by %v: %w", name, info.PositionFrom, g, err)
	}
	w, h := float64(info.Width), float64(info.Height)
	for i, p := range []orb.Point{{0, 0}, {w, 0}, {w, h}, {0, h}} {
		info.Corners[i] = apply(g, p)
	}
	if info.CRS.IsZero() {
		return nil
	}
	ct, err := newTransform(info.CRS, WGS84)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	defer ct.Destroy()
	edge := border(info.Width, info.Height)
	for i, p := range edge {
		edge[i] = apply(g, p)
	}
	at := append([]orb.Point(nil), edge...)
	if i := transform(ct, edge); i >= 0 {
		return fmt.Errorf("%s: its edge at (%.10g, %.10g) lies nowhere in %s: check the coordinate reference system", name, at[i][0], at[i][1], describe(info.CRS))
	}
	info.LonLat = orb.MultiPoint(edge).Bound()
	return nil
}

// border is the outline of an image of w x h pixels in pixel coordinates, each
// side in 16 parts, so that a curved edge on another projection is followed.
func border(w, h int) []orb.Point {
	const parts = 16
	fw, fh := float64(w), float64(h)
	var out []orb.Point
	for i := range parts {
		t := float64(i) / parts
		out = append(out, orb.Point{t * fw, 0}, orb.Point{fw, t * fh}, orb.Point{fw - t*fw, fh}, orb.Point{0, fh - t*fh})
	}
	return out
}

// apply takes a pixel position to where g says it lies.
func apply(g [6]float64, p orb.Point) orb.Point {
	return orb.Point{g[0] + g[1]*p[0] + g[2]*p[1], g[3] + g[4]*p[0] + g[5]*p[1]}
}

// invert returns the affine map that undoes g.
func invert(g [6]float64) (inv [6]float64, err error) {
	for _, v := range g {
		if !finite(v) {
			return inv, errors.New("not all of that are finite numbers")
		}
	}
	det := g[1]*g[5] - g[2]*g[4]
	scale := math.Max(math.Abs(g[1])+math.Abs(g[2]), math.Abs(g[4])+math.Abs(g[5]))
	if !(math.Abs(det) > 1e-9*scale*scale) || !finite(det) || !finite(1/det) {
		return inv, errors.New("a pixel has no area")
	}
	inv[1], inv[2] = g[5]/det, -g[2]/det
	inv[4], inv[5] = -g[4]/det, g[1]/det
	inv[0] = -(inv[1]*g[0] + inv[2]*g[3])
	inv[3] = -(inv[4]*g[0] + inv[5]*g[3])
	return inv, nil
}
