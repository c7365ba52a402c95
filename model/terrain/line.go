package terrain

import "github.com/paulmach/orb"

// A Line is a straight line over a terrain, to ask for the ground along it.
type Line struct {
	g        *Grid
	col, row path
}

// Along returns the line from a place in the direction (sin, cos) of a bearing
// clockwise from grid north.
func (g *Grid) Along(from orb.Point, sin, cos float64) Line {
	if g == nil {
		return Line{}
	}
	l := Line{g: g}
	l.col, l.row = g.m.along(from, sin, cos)
	return l
}

// Height returns the height of the ground t metres along the line: what
// Grid.Height says of that place but for rounding, in half the time.
func (l *Line) Height(t float64) float64 {
	if l.g == nil {
		return 0
	}
	return l.g.at(clamp(l.col.at(t), l.g.w), clamp(l.row.at(t), l.g.h))
}
