package drawing

import (
	"image/color"
	"math"

	"github.com/paulmach/orb"
)

// Medium is what is drawn on. The zero value is the light screen.
type Medium struct {
	Paper     bool // millimetres on a sheet; otherwise device-independent pixels
	Dark      bool // the dark theme; screen only
	Mono      bool // without colour
	Installer bool // larger marks and heavier lines, for the installer's map
}

// View is the window on the site grid: which ground is shown, how large.
// Lengths on the medium are in units: device-independent pixels on a screen,
// millimetres on paper. Unit coordinates start at the upper left, y down.
type View struct {
	Centre        orb.Point // site grid, metres, at the middle of the view
	MetresPerUnit float64   // above 0
	Width, Height float64   // units
	Scale         float64   // device pixels per unit; 0 means 1; only ui/paint asks
}

// PixelsPerUnit is Scale, with 1 for the zero value.
func (v View) PixelsPerUnit() float64 {
	if v.Scale > 0 {
		return v.Scale
	}
	return 1
}

// ToUnit carries a point of the site grid to unit coordinates.
func (v View) ToUnit(p orb.Point) orb.Point {
	return orb.Point{
		(p[0]-v.Centre[0])/v.MetresPerUnit + v.Width/2,
		v.Height/2 - (p[1]-v.Centre[1])/v.MetresPerUnit,
	}
}

// ToGrid carries unit coordinates to the site grid.
func (v View) ToGrid(u orb.Point) orb.Point {
	return orb.Point{
		(u[0]-v.Width/2)*v.MetresPerUnit + v.Centre[0],
		(v.Height/2-u[1])*v.MetresPerUnit + v.Centre[1],
	}
}

// Bound is the ground the view shows, on the site grid.
func (v View) Bound() orb.Bound {
	w, h := v.Width/2*v.MetresPerUnit, v.Height/2*v.MetresPerUnit
	return orb.Bound{
		Min: orb.Point{v.Centre[0] - w, v.Centre[1] - h},
		Max: orb.Point{v.Centre[0] + w, v.Centre[1] + h},
	}
}

// Fit returns v showing the whole of b with a margin of the given units on
// every side. An empty or flat b is shown at 0.1 metres a unit.
func (v View) Fit(b orb.Bound, margin float64) View {
	w, h := v.Width-2*margin, v.Height-2*margin
	v.Centre = b.Center()
	v.MetresPerUnit = 0.1
	if w > 0 && h > 0 {
		v.MetresPerUnit = math.Max(v.MetresPerUnit, math.Max((b.Max[0]-b.Min[0])/w, (b.Max[1]-b.Min[1])/h))
	}
	return v
}

// ZoomAt returns v with MetresPerUnit divided by factor, the ground under the
// unit point u staying where it is.
func (v View) ZoomAt(u orb.Point, factor float64) View {
	g := v.ToGrid(u)
	v.MetresPerUnit /= factor
	v.Centre = orb.Point{
		g[0] - (u[0]-v.Width/2)*v.MetresPerUnit,
		g[1] - (v.Height/2-u[1])*v.MetresPerUnit,
	}
	return v
}

// Canvas is a back end. Coordinates and lengths are in units, y down.
type Canvas interface {
	// Fill fills the rings: outer rings run one way, holes the other, so
	// that the non-zero and the even-odd rule agree on a valid area.
	Fill(rings []orb.Ring, c color.NRGBA)
	// Hatch rules lines within the rings, Dots sows dots, both counted from
	// origin, so that the pattern stays on the ground while the view moves.
	Hatch(rings []orb.Ring, h Hatch, origin orb.Point)
	Dots(rings []orb.Ring, d Dots, origin orb.Point)
	// Stroke draws a path; closed when first and last point are the same.
	// Joins are round.
	Stroke(path []orb.Point, p Pen)
	// Text writes s from the left end of its baseline.
	Text(at orb.Point, s string, f Font, c color.NRGBA)
}

// Segmenter is a Canvas that strokes many single segments at once: the ends
// stand two by two.
type Segmenter interface {
	Canvas
	Segments(ends []orb.Point, p Pen)
}

// Stamper is a Canvas that keeps what it once drew. Stamp draws, or repeats,
// what draw draws round the point at: within half units to either side and
// above and below. Stamps with the same key look the same; a key holds for one
// theme.
type Stamper interface {
	Canvas
	Stamp(theme *Theme, key StampKey, at, half orb.Point, draw func(c Canvas, at orb.Point))
}

// StampKey tells stamps apart.
type StampKey struct {
	Meaning Meaning
	Symbol  Symbol
	State   State
	Bearing int16 // whole degrees
	Size    int16 // sixty-fourths of a unit
	Half    int16 // of a gate, sixteenths of its size
	Text    string
}

// Pen is a stroke: Width and Dash (on, off, on, off …) in units. No dash is
// a solid line, Width 0 is no line.
type Pen struct {
	Width  float64
	Colour color.NRGBA
	Dash   []float64
	Cap    Cap
	Offset float64 // the middle of the stroke lies this far towards the inside of the line (Item.Inside)
}

// Cap is the end of a stroke and of its dashes.
type Cap uint8

// The caps.
const (
	Butt Cap = iota
	Round
)

// Hatch is parallel lines at 45 degrees, rising to the right, or falling
// when Falling. Spacing is measured across the lines.
type Hatch struct {
	Spacing, Width float64
	Falling        bool
	Colour         color.NRGBA
}

// Dots is a staggered field of dots: rows Spacing/2 apart, dots Spacing apart
// in a row, every other row moved by half.
type Dots struct {
	Spacing, Diameter float64
	Colour            color.NRGBA
}

// Font is a size (units per em) and a weight of the one typeface.
type Font struct {
	Size   float64
	Medium bool // the heavier of the two weights
}
