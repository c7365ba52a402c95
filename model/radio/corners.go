package radio

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// narrowGap is the width in metres of a gap between two things that no way round
// leads through: about a wavelength, or the drawing's own slack. Chosen.
const narrowGap = 0.5

// Corners returns the corners that the ways round have to pass on a link from a
// to b in plan, for [Round]; none where the direct line crosses no shape. shapes
// are the outlines of all that is too tall to be seen over near the line: closed
// for an area, open for a wall.
//
// On either side the way is the shortest that leaves aside what the direct line
// crosses. Where that way meets something else in turn, or passes nearer than half
// a metre to it from its first corner to its last, that too is gone round.
func Corners(a, b orb.Point, shapes []orb.LineString) []Corner {
	d := math.Hypot(b[0]-a[0], b[1]-a[1])
	if d == 0 {
		return nil
	}
	east, north := (b[0]-a[0])/d, (b[1]-a[1])/d
	local := make([]orb.LineString, len(shapes))
	for i, s := range shapes {
		for _, p := range s {
			x, y := p[0]-a[0], p[1]-a[1]
			local[i] = append(local[i], orb.Point{x*east + y*north, y*east - x*north})
		}
	}
	var out []Corner
	for _, side := range [2]float64{1, -1} {
		for _, p := range roundOne(d, local, side) {
			out = append(out, Corner{p[0], p[1]})
		}
	}
	return out
}

// roundOne returns the points of all shapes to be gone round on one side: 1 for
// the left, -1 for the right. The line runs from the origin to (d, 0).
func roundOne(d float64, shapes []orb.LineString, side float64) []orb.Point {
	way := []orb.Point{{0, 0}, {d, 0}}
	in := make([]bool, len(shapes))
	var aside []orb.Point
	for more := true; more; {
		more = false
		for i, s := range shapes {
			if in[i] || !meets(way, s) {
				continue
			}
			in[i], more = true, true
			for _, p := range s {
				if side*p[1] > 0 {
					aside = append(aside, p)
				}
			}
		}
		if more {
			way = taut(d, aside)
		}
	}
	return aside
}

// meets reports whether a way crosses the shape, or comes near it between its
// first corner and its last.
func meets(way []orb.Point, shape orb.LineString) bool {
	for i := 0; i+1 < len(shape); i++ {
		for j := 0; j+1 < len(way); j++ {
			if cross(way[j], way[j+1], shape[i], shape[i+1]) {
				return true
			}
			if j > 0 && apart(way[j], shape[i], shape[i+1]) < narrowGap ||
				j > 0 && j+2 < len(way) && apart(shape[i], way[j], way[j+1]) < narrowGap {
				return true
			}
		}
	}
	return false
}

// taut returns the way from (d, 0) to the origin of a string drawn tight round
// points that all lie on one side of the line between: the convex hull of all of
// them but for that line.
func taut(d float64, round []orb.Point) []orb.Point {
	points := append([]orb.Point{{0, 0}, {d, 0}}, round...)
	slices.SortFunc(points, func(p, q orb.Point) int {
		switch {
		case p[0] < q[0] || p[0] == q[0] && p[1] < q[1]:
			return -1
		case p == q:
			return 0
		}
		return 1
	})
	var hull []orb.Point
	half := func(least int) {
		for _, p := range points {
			for len(hull) >= least+2 && turn(hull[len(hull)-2], hull[len(hull)-1], p) <= 0 {
				hull = hull[:len(hull)-1]
			}
			hull = append(hull, p)
		}
		hull = hull[:len(hull)-1]
	}
	half(0)
	slices.Reverse(points)
	half(len(hull))
	// The hull turns left; the direct line is one of its sides, run from the origin
	// if the points lie left of it.
	end := func(at orb.Point) int {
		if i := slices.Index(hull, at); i >= 0 {
			return i
		}
		// A corner at this very end, as nearly as numbers tell, stands in its place.
		near := 0
		for i, p := range hull {
			if math.Hypot(p[0]-at[0], p[1]-at[1]) < math.Hypot(hull[near][0]-at[0], hull[near][1]-at[1]) {
				near = i
			}
		}
		hull[near] = at
		return near
	}
	end(orb.Point{})
	from := end(orb.Point{d, 0})
	hull = append(hull[from:], hull[:from]...)
	if len(hull) > 2 && hull[1] == (orb.Point{}) {
		hull = append(hull[1:], hull[0])
	}
	return hull
}

// turn is above 0 where the way from p by q to r turns left.
func turn(p, q, r orb.Point) float64 {
	return (q[0]-p[0])*(r[1]-p[1]) - (q[1]-p[1])*(r[0]-p[0])
}

// cross reports whether the segments pq and rs cross, touching apart.
func cross(p, q, r, s orb.Point) bool {
	return turn(p, q, r)*turn(p, q, s) < 0 && turn(r, s, p)*turn(r, s, q) < 0
}

// apart returns the distance of p from the segment qr.
func apart(p, q, r orb.Point) float64 {
	x, y := r[0]-q[0], r[1]-q[1]
	t := 0.0
	if l := x*x + y*y; l > 0 {
		t = max(0, min(1, ((p[0]-q[0])*x+(p[1]-q[1])*y)/l))
	}
	return math.Hypot(p[0]-q[0]-t*x, p[1]-q[1]-t*y)
}
