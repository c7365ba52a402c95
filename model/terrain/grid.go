// Package terrain holds the heights of the ground.
//
// The heights stay in the raster they came in, whatever its projection, turn or
// cell: they are never resampled. A mapping says which column and row a place
// on the site grid has, and the ground between cell centres is bilinear.
// Everything asks for it either at a place or along a straight line, where it is
// followed exactly from one line of cell centres to the next.
//
// A cell without a known height takes that of the nearest cell that has one, and
// beyond its outermost cell centres the raster goes on level outwards, so that
// there is a height everywhere. What is known and what is taken so can be told
// apart: [Grid.Known], [Ray.Unknown].
package terrain

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// Grid is a terrain model. A nil *Grid is level ground: height 0 and known
// everywhere. It is read only once made.
type Grid struct {
	w, h  int
	z     []float32 // every cell has a height
	known bits      // which cells have one of their own; nil where all have
	m     Mapping
	cell  float64 // metres
	area  orb.Bound
}

// maxSide is the greatest number of columns or rows: offsets between cells are
// kept in 16 bits.
const maxSide = 1<<15 - 1

// New makes a terrain model of a raster of heights in metres, row by row, w
// columns and h rows, NaN where the height is not known. area is the part of the
// site grid it was read for, on which the mapping holds. New takes z over and
// fills its holes in place.
//
// A raster of fewer than two columns or rows, or without any known height, is an
// error.
func New(w, h int, z []float32, m Mapping, area orb.Bound) (*Grid, error) {
	switch {
	case w < 2 || h < 2:
		return nil, fmt.Errorf("terrain: %d x %d cells make no ground: at least 2 x 2 do", w, h)
	case w > maxSide || h > maxSide:
		return nil, fmt.Errorf("terrain: %d x %d cells are more than %d on a side", w, h, maxSide)
	case len(z) != w*h:
		panic(fmt.Sprintf("terrain: %d heights for %d x %d cells", len(z), w, h))
	}
	if err := m.sound(); err != nil {
		return nil, err
	}
	g := &Grid{w: w, h: h, z: z, m: m, area: area}
	dx, dy := m.cell(m.Origin)
	g.cell = math.Min(dx, dy)
	if err := g.fill(dx, dy); err != nil {
		return nil, err
	}
	return g, nil
}

// ErrNoHeights is the error for a raster in which no height is known.
var ErrNoHeights = errors.New("terrain: no height is known anywhere")

// Area returns the part of the site grid the terrain was read for. Outside it
// the ground may be taken from the edge although the raster would know better.
func (g *Grid) Area() orb.Bound {
	if g == nil {
		inf := math.Inf(1)
		return orb.Bound{Min: orb.Point{-inf, -inf}, Max: orb.Point{inf, inf}}
	}
	return g.area
}

// Size returns the number of columns and rows; 0, 0 for level ground.
func (g *Grid) Size() (columns, rows int) {
	if g == nil {
		return 0, 0
	}
	return g.w, g.h
}

// Cell returns the shorter side of a cell on the ground in metres, infinite for
// level ground.
func (g *Grid) Cell() float64 {
	if g == nil {
		return math.Inf(1)
	}
	return g.cell
}

// Height returns the height of the ground at a place on the site grid, in
// metres: bilinear between the four nearest cell centres, 0 on level ground.
func (g *Grid) Height(p orb.Point) float64 {
	if g == nil {
		return 0
	}
	c, r := g.m.At(p)
	return g.at(clamp(c, g.w), clamp(r, g.h))
}

// clamp holds a coordinate within the cell centres; not-a-number counts as 0.
func clamp(c float64, n int) float64 {
	if !(c > 0) {
		return 0
	}
	return min(c, float64(n-1))
}

// at returns the height at a column and row within the cell centres.
func (g *Grid) at(c, r float64) float64 {
	i, j := min(int(c), g.w-2), min(int(r), g.h-2)
	fc, fr := c-float64(i), r-float64(j)
	p := j*g.w + i
	top, bottom := g.z[p:p+2:p+2], g.z[p+g.w:p+g.w+2:p+g.w+2]
	a, b := float64(top[0]), float64(top[1])
	c0, d := float64(bottom[0]), float64(bottom[1])
	a += fc * (b - a)
	c0 += fc * (d - c0)
	return a + fr*(c0-a)
}

// Known reports whether the ground at a place is what the raster says: the
// place lies in one of its cells, and the cells whose centres it lies between
// have heights of their own.
func (g *Grid) Known(p orb.Point) bool {
	if g == nil {
		return true
	}
	return g.knownAt(g.m.At(p))
}

// knownAt is Known at a column and row.
func (g *Grid) knownAt(c, r float64) bool {
	if !(c >= -0.5 && r >= -0.5 && c <= float64(g.w)-0.5 && r <= float64(g.h)-0.5) {
		return false
	}
	if g.known == nil {
		return true
	}
	c, r = clamp(c, g.w), clamp(r, g.h)
	i, j := min(int(c), g.w-2), min(int(r), g.h-2)
	for dj := range 2 {
		for di := range 2 {
			if weight(c, i+di)*weight(r, j+dj) > 0 && !g.known.has((j+dj)*g.w+i+di) {
				return false
			}
		}
	}
	return true
}

// weight is that of line i in a linear interpolation at c.
func weight(c float64, i int) float64 { return 1 - math.Abs(c-float64(i)) }

// whole reports whether the cell p and its neighbours right, below and between
// are known.
func (g *Grid) whole(p int) bool {
	return g.known.has(p) && g.known.has(p+1) && g.known.has(p+g.w) && g.known.has(p+g.w+1)
}

// bits is a set of cells.
type bits []uint64

func (b bits) has(i int) bool { return b[i>>6]>>(i&63)&1 != 0 }
func (b bits) add(i int)      { b[i>>6] |= 1 << (i & 63) }
