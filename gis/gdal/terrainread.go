package gdal

import (
	"context"
	"fmt"
	"image"
	"math"
	"slices"

	raw "github.com/lukeroth/gdal"
	"github.com/paulmach/orb"

	"pleach/model/terrain"
)

const (
	// maxTerrainCells is how many heights are kept where the caller says nothing.
	maxTerrainCells = 8000 * 8000
	// wholeTerrainCells is the size up to which all of a raster is read: 16 MB.
	wholeTerrainCells = 1 << 22
	// terrainStrip is how many numbers are read at a time.
	terrainStrip = 1 << 18
	// chunkBytes is how much of one row of blocks is kept unpacked at a time.
	chunkBytes = 16 << 20
	// maxEvery is how many cells a side are averaged at most: their number is
	// counted in 16 bits.
	maxEvery = 255
	// finestCell is the smallest side of a cell that is believed, in metres.
	finestCell = 0.001
)

// Heights of ground, in metres: the lowest land is 430 m below the sea and the
// highest 8849 m above (common knowledge), the rest is for datums and pits.
const (
	lowestGround  = -1000
	highestGround = 9500
)

// How far the mapping onto the site grid may be off, in cells: silently, and
// with a note. Chosen.
const (
	goodMapping = 0.001
	fairMapping = 0.05
)

// OpenTerrain reads the heights of the ground for the part area of the site
// grid, in metres. The raster is not resampled: only the columns and rows that
// area needs are read, or all of them where there are few.
//
// Besides what LookAtTerrain refuses it is an error, in one line that names the
// file, if the raster does not lie under area, is damaged or cut short, holds no
// height there, or mostly numbers that are no heights of ground (-1000 to 9500 m).
// Single ones of those count as not known, with a note. Of more cells than
// opt.MaxCells several are averaged into one, with a note.
func OpenTerrain(ctx context.Context, path string, opt TerrainOptions, site SiteGrid, area orb.Bound) (*terrain.Grid, TerrainInfo, error) {
	var info TerrainInfo
	var grid *terrain.Grid
	err := locked(func() error {
		t, err := openTerrain(path, opt)
		if err != nil {
			return err
		}
		defer t.ds.Close()
		if grid, err = t.read(ctx, site, area); err != nil {
			return fmt.Errorf("%s: %w", shown(path), err)
		}
		info = t.TerrainInfo
		return nil
	})
	return grid, info, err
}

func (t *terrainFile) read(ctx context.Context, site SiteGrid, area orb.Bound) (*terrain.Grid, error) {
	m, err := newMapping(t.image, Placement{}, site)
	if err != nil {
		return nil, err
	}
	defer m.close()
	fit, err := t.fit(m, area)
	if err != nil {
		return nil, err
	}
	if err := t.chooseWindow(fit, area); err != nil {
		return nil, err
	}
	// The window's own columns and rows, of the averaged cells.
	k := float64(t.Every)
	for _, c := range []struct {
		list *[10]float64
		from int
	}{{&fit.Col, t.Window.Min.X}, {&fit.Row, t.Window.Min.Y}} {
		c.list[0] += 0.5 - float64(c.from) // the left edge of the window's first cell is 0
		for i := range c.list {
			c.list[i] /= k
		}
		c.list[0] -= 0.5
	}
	z, w, h, err := t.readWindow(ctx)
	if err != nil {
		return nil, err
	}
	grid, err := terrain.New(w, h, z, fit, area)
	if err != nil {
		return nil, err
	}
	t.warnOfFeet(z, w, h, grid.Cell())
	return grid, nil
}

// fit makes the mapping from the site grid to the cells, whole numbers at their
// centres, and holds it against the exact one at places between.
func (t *terrainFile) fit(m *mapping, area orb.Bound) (terrain.Mapping, error) {
	// At least a kilometre each way, so that the cubic runs on well beyond.
	c := area.Center()
	dx := max((area.Max[0]-area.Min[0])/2, 1000)
	dy := max((area.Max[1]-area.Min[1])/2, 1000)
	wrap := t.wrap()
	nodes := func(n int) (at, cells []orb.Point, err error) {
		// Points as Chebyshev's: denser toward the edges, where a cubic fitted on
		// even ones would be off most.
		for i := range n {
			for j := range n {
				u := math.Cos(math.Pi * (float64(i) + 0.5) / float64(n))
				v := math.Cos(math.Pi * (float64(j) + 0.5) / float64(n))
				at = append(at, orb.Point{c[0] + u*dx*1.02, c[1] + v*dy*1.02})
			}
		}
		at = append(at, c)
		cells = slices.Clone(at)
		m.image(cells)
		middle := cells[len(cells)-1][0]
		if wrap > 0 && finite(middle) {
			middle -= wrap * math.Round((middle-float64(t.Width)/2)/wrap)
		}
		for i, p := range cells {
			if !finite(p[0]) || !finite(p[1]) {
				return nil, nil, fmt.Errorf("the place %.0f m east and %.0f m north of the middle of the site has none in %s: check its coordinate reference system", at[i][0], at[i][1], m.from)
			}
			if wrap > 0 {
				p[0] -= wrap * math.Round((p[0]-middle)/wrap)
			}
			cells[i] = orb.Point{p[0] - 0.5, p[1] - 0.5}
		}
		return at, cells, nil
	}
	at, cells, err := nodes(8)
	if err != nil {
		return terrain.Mapping{}, err
	}
	fit, worst, err := terrain.Fit(at, cells)
	if err != nil {
		return fit, err
	}
	if a, b := fit.CellSize(); !(min(a, b) >= finestCell) {
		return fit, fmt.Errorf("one of its cells measures %.3g x %.3g m on the ground by %s: check its coordinate reference system", a, b, describe(t.CRS))
	}
	if at, cells, err = nodes(15); err != nil {
		return fit, err
	}
	t.Misses = max(worst, fit.Misses(at, cells))
	switch {
	case t.Misses > fairMapping:
		return fit, fmt.Errorf("its coordinates in %s are bent too strongly over the %.0f km of the site: they cannot be followed to better than %.2g cells", describe(t.CRS), 2*max(dx, dy)/1000, t.Misses)
	case t.Misses > goodMapping:
		t.note("Its place on the ground is right to %.2g of a cell only.", t.Misses)
	}
	return fit, nil
}

// wrap returns how many columns make 360 degrees of longitude, 0 where columns
// do not run along longitude.
func (t *terrainFile) wrap() float64 {
	g := t.image.GeoTransform
	if g[2] != 0 || g[4] != 0 || g[1] == 0 {
		return 0
	}
	sr, err := newSR(t.CRS.text)
	if err != nil {
		return 0
	}
	defer sr.Destroy()
	if !sr.IsGeographic() {
		return 0
	}
	unit := unitOf(sr, "GEOGCS") // radians
	if !(unit > 0) {
		return 0
	}
	return math.Abs(2 * math.Pi / unit / g[1])
}

// chooseWindow settles which columns and rows are read, and how coarsely.
func (t *terrainFile) chooseWindow(fit terrain.Mapping, area orb.Bound) error {
	inf := math.Inf(1)
	box := orb.Bound{Min: orb.Point{inf, inf}, Max: orb.Point{-inf, -inf}}
	const parts = 16
	for i := range parts + 1 {
		for j := range parts + 1 {
			s, u := float64(i)/parts, float64(j)/parts
			c, r := fit.At(orb.Point{area.Min[0] + s*(area.Max[0]-area.Min[0]), area.Min[1] + u*(area.Max[1]-area.Min[1])})
			box = box.Extend(orb.Point{c, r})
		}
	}
	if box.Max[0] < -0.5 || box.Max[1] < -0.5 || box.Min[0] > float64(t.Width)-0.5 || box.Min[1] > float64(t.Height)-0.5 {
		c := box.Center()
		off := orb.Point{min(max(c[0], 0), float64(t.Width)), min(max(c[1], 0), float64(t.Height))}
		a, b := fit.CellSize()
		return fmt.Errorf("does not lie under the site: its nearest edge is %s from the middle of it by %s: check its coordinate reference system and position",
			distance(math.Hypot((off[0]-c[0])*a, (off[1]-c[1])*b)), describe(t.CRS))
	}
	const margin = 2 // cells, for interpolation
	low := func(v float64, most int) int { return int(min(max(math.Floor(v)-margin, 0), float64(most-2))) }
	high := func(v float64, from, most int) int {
		return int(min(max(math.Ceil(v)+1+margin, float64(from+2)), float64(most)))
	}
	win := image.Rectangle{Min: image.Pt(low(box.Min[0], t.Width), low(box.Min[1], t.Height))}
	win.Max = image.Pt(high(box.Max[0], win.Min.X, t.Width), high(box.Max[1], win.Min.Y, t.Height))
	if t.Width*t.Height <= wholeTerrainCells {
		win = image.Rect(0, 0, t.Width, t.Height)
	}
	cells := win.Dx() * win.Dy()
	if cells > maxTerrainWindow {
		return fmt.Errorf("%d x %d of its cells lie under the site; up to %s are read: cut out the part that is needed, or make it coarser", win.Dx(), win.Dy(), millions(maxTerrainWindow))
	}
	t.Window, t.Every = win, 1
	for (cells+t.Every*t.Every-1)/(t.Every*t.Every) > t.maxCells || max(win.Dx(), win.Dy())/t.Every >= 1<<15-2 {
		if t.Every++; t.Every > maxEvery {
			return fmt.Errorf("%d x %d of its cells lie under the site, too many to average: cut out the part that is needed, or make it coarser", win.Dx(), win.Dy())
		}
	}
	if t.Every > 1 {
		if win.Dx() < 2*t.Every || win.Dy() < 2*t.Every {
			return fmt.Errorf("%d x %d of its cells lie under the site, which is too long a strip: cut out the part that is needed", win.Dx(), win.Dy())
		}
		t.note("%d x %d of its cells lie under the site: %d x %d were averaged into one each.", win.Dx(), win.Dy(), t.Every, t.Every)
	}
	return nil
}

func distance(m float64) string {
	if m < 10_000 {
		return fmt.Sprintf("%.0f m", m)
	}
	return fmt.Sprintf("%.0f km", m/1000)
}

// readWindow reads the window as heights in metres, not-a-number where they are
// not known.
func (t *terrainFile) readWindow(ctx context.Context) (z []float32, w, h int, err error) {
	k := t.Every
	w, h = t.Window.Dx()/k, t.Window.Dy()/k // a last part of a cell is left out
	win := image.Rectangle{Min: t.Window.Min, Max: t.Window.Min.Add(image.Pt(w*k, h*k))}
	z = make([]float32, w*h)
	var count []uint16 // of known cells averaged so far
	if k > 1 {
		count = make([]uint16, w*h)
	}
	t.Low, t.High = math.Inf(1), math.Inf(-1)
	var odd oddHeights
	err = t.readParts(ctx, win, func(x, y, width int, part []float64) {
		for row := y; len(part) > 0; row++ {
			line := part[:width]
			part = part[width:]
			for i, v := range line {
				switch {
				case v != v:
					t.Holes++
				case !(v >= lowestGround && v <= highestGround):
					odd.add(v/t.Unit, x+i, row)
					t.Holes++
					line[i] = math.NaN()
				default:
					if v < t.Low {
						t.Low = v
					}
					if v > t.High {
						t.High = v
					}
				}
			}
			p, sub := (row-win.Min.Y)/k*w+(x-win.Min.X)/k, (x-win.Min.X)%k
			if k == 1 {
				for i, v := range line {
					z[p+i] = float32(v)
				}
				continue
			}
			for _, v := range line { // the mean of those known
				if v == v {
					count[p]++
					z[p] += (float32(v) - z[p]) / float32(count[p])
				}
				if sub++; sub == k {
					p, sub = p+1, 0
				}
			}
		}
	})
	if err != nil {
		return nil, 0, 0, err
	}
	for p, n := range count {
		if n == 0 {
			z[p] = float32(math.NaN())
		}
	}
	cells := win.Dx() * win.Dy()
	switch {
	case odd.count*2 > cells-(t.Holes-odd.count):
		return nil, 0, 0, fmt.Errorf("holds no heights of ground: %d of %d cells under the site lie outside %d to %d m, as %s", odd.count, cells, lowestGround, highestGround, odd.first(t))
	case t.Holes == cells:
		return nil, 0, 0, fmt.Errorf("no height is known under the site: all %d cells are marked as empty", cells)
	case odd.count > 0:
		t.note("%s no height of ground (%d to %d m), as %s: taken as not known.", counted(odd.count, "cell holds", "cells hold"), lowestGround, highestGround, odd.first(t))
	}
	return z, w, h, nil
}

// readParts hands the window to use part by part, so that each block of the file
// is unpacked once: those that lie side by side within chunkBytes, row by row.
func (t *terrainFile) readParts(ctx context.Context, win image.Rectangle, use func(x, y, width int, part []float64)) error {
	bw, bh := t.band.BlockSize()
	wide := bw * max(1, chunkBytes/(bw*bh*t.band.RasterDataType().Size()/8))
	high := bh * max(1, terrainStrip/bh/min(wide, win.Dx()))
	var strip []float64
	var mask []uint8
	for y0 := win.Min.Y; y0 < win.Max.Y; y0 = (y0/high + 1) * high {
		y1 := min((y0/high+1)*high, win.Max.Y)
		for x := win.Min.X; x < win.Max.X; x = (x/wide + 1) * wide {
			width := min((x/wide+1)*wide, win.Max.X) - x
			for y, n := y0, 0; y < y1; y += n {
				if err := ctx.Err(); err != nil {
					return err
				}
				n = min(max(1, terrainStrip/width), y1-y)
				if len(strip) < n*width {
					strip = make([]float64, n*width)
					if t.mask != nil {
						mask = make([]uint8, n*width)
					}
				}
				part := strip[:n*width]
				if err := t.readRows(x, y, width, n, part, mask); err != nil {
					return err
				}
				use(x, y, width, part)
			}
			t.band.FlushCache() // these blocks are done with
		}
	}
	return nil
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprint(n, " ", many)
}

// oddHeights are numbers that are no heights of ground.
type oddHeights struct {
	count    int
	value    float64 // of the first, in the raster's unit
	col, row int
}

func (o *oddHeights) add(v float64, col, row int) {
	if o.count == 0 {
		o.value, o.col, o.row = v, col, row
	}
	o.count++
}

func (o *oddHeights) first(t *terrainFile) string {
	return fmt.Sprintf("%.6g (%s) in column %d, row %d", o.value, t.UnitName, o.col+1, o.row+1)
}

// readRows fills out with heights in metres. It is the only place where the
// library writes heights into our memory: the buffers are as long as asked.
func (t *terrainFile) readRows(x, y, w, n int, out []float64, mask []uint8) error {
	if w < 1 || n < 1 || x < 0 || y < 0 || x+w > t.Width || y+n > t.Height || len(out) != w*n || t.mask != nil && len(mask) < w*n {
		panic(fmt.Sprintf("read %dx%d at %d,%d of %dx%d", w, n, x, y, t.Width, t.Height))
	}
	fail := func() error {
		return failure(fmt.Sprintf("damaged or cut short: rows %d to %d of %d cannot be read", y+1, y+n, t.Height))
	}
	if err := t.band.IO(raw.Read, x, y, w, n, out, w, n, 0, 0); err != nil {
		return fail()
	}
	if t.mask != nil {
		if err := t.mask.IO(raw.Read, x, y, w, n, mask, w, n, 0, 0); err != nil {
			return fail()
		}
	}
	for i, v := range out {
		if t.mask != nil && mask[i] == 0 || t.noData != nil && isNoData(v, *t.noData) {
			out[i] = math.NaN()
			continue
		}
		v = (v*t.scale + t.offset) * t.Unit
		if !finite(v) {
			v = math.NaN()
		}
		out[i] = v
	}
	return nil
}

// isNoData reports whether v is the number that marks a cell as empty, which
// may have been rounded to four bytes on its way.
func isNoData(v, mark float64) bool {
	return v == mark || math.Abs(v-mark) <= 1e-6*math.Abs(mark) || float32(v) == float32(mark) || v != v
}

// warnOfFeet notes ground so steep that its heights may be feet. One cell in
// twenty steeper than 45 degrees is rarer in nature than a forgotten unit
// (chosen).
func (t *terrainFile) warnOfFeet(z []float32, w, h int, cell float64) {
	if t.UnitFrom != "" {
		return
	}
	step := max(1, int(math.Sqrt(float64(w*h)/100_000)))
	steep, n := 0, 0
	for j := 0; j+1 < h; j += step {
		for i := 0; i+1 < w; i += step {
			p := j*w + i
			dx, dy := float64(z[p+1]-z[p]), float64(z[p+w]-z[p])
			n++
			if math.Hypot(dx, dy) > cell {
				steep++
			}
		}
	}
	if n > 0 && steep*20 > n {
		t.note("%d %% of its ground is steeper than 45 degrees and it does not say in what its heights are: if they are feet, set terrain.unit to \"ft\".", 100*steep/n)
		t.MayBeFeet = true
	}
}
