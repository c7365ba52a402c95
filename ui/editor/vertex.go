package editor

import (
	"fmt"
	"slices"

	"github.com/paulmach/orb"
)

// vertices returns the vertices of a geometry in order, ring after ring, without
// the repeated last point of a ring.
func vertices(g orb.Geometry) []orb.Point {
	switch g := g.(type) {
	case orb.Point:
		return []orb.Point{g}
	case orb.LineString:
		return g
	case orb.Polygon:
		var out []orb.Point
		for _, r := range g {
			out = append(out, r[:len(r)-1]...)
		}
		return out
	}
	return nil
}

// An edge runs from vertex From to vertex To of vertices.
type edge struct{ from, to int }

// edges returns the edges of a geometry as pairs of vertices.
func edges(g orb.Geometry) []edge {
	var out []edge
	switch g := g.(type) {
	case orb.LineString:
		for i := 0; i+1 < len(g); i++ {
			out = append(out, edge{i, i + 1})
		}
	case orb.Polygon:
		first := 0
		for _, r := range g {
			n := len(r) - 1
			for i := range n {
				out = append(out, edge{first + i, first + (i+1)%n})
			}
			first += n
		}
	}
	return out
}

// mapVertices returns g with its vertices as change makes them; change gets the
// place of each in vertices.
func mapVertices(g orb.Geometry, change func(i int, p orb.Point) orb.Point) orb.Geometry {
	switch g := g.(type) {
	case orb.Point:
		return change(0, g)
	case orb.LineString:
		out := make(orb.LineString, len(g))
		for i, p := range g {
			out[i] = change(i, p)
		}
		return out
	case orb.Polygon:
		out := make(orb.Polygon, len(g))
		first := 0
		for k, r := range g {
			n := len(r) - 1
			out[k] = make(orb.Ring, n+1)
			for i := range n {
				out[k][i] = change(first+i, r[i])
			}
			out[k][n] = out[k][0]
			first += n
		}
		return out
	}
	return g
}

func moveVertex(g orb.Geometry, index int, to orb.Point) orb.Geometry {
	return mapVertices(g, func(i int, p orb.Point) orb.Point {
		if i == index {
			return to
		}
		return p
	})
}

// insertVertex returns g with a vertex on edge k, counted as edges counts; the
// new vertex comes after the edge's first.
func insertVertex(g orb.Geometry, k int, at orb.Point) orb.Geometry {
	after := edges(g)[k].from
	switch g := g.(type) {
	case orb.LineString:
		return slices.Insert(slices.Clone(g), after+1, at)
	case orb.Polygon:
		out := slices.Clone(g)
		for i, r := range g {
			n := len(r) - 1
			if after < n {
				out[i] = slices.Insert(slices.Clone(r), after+1, at)
				break
			}
			after -= n
		}
		return out
	}
	return g
}

// deleteVertex returns g without a vertex. A line keeps two, a ring three.
func deleteVertex(g orb.Geometry, index int) (orb.Geometry, error) {
	switch g := g.(type) {
	case orb.LineString:
		if len(g) <= 2 {
			return nil, fmt.Errorf("a line needs at least 2 points: delete the whole line instead")
		}
		return slices.Delete(slices.Clone(g), index, index+1), nil
	case orb.Polygon:
		out := slices.Clone(g)
		for i, r := range g {
			n := len(r) - 1
			if index >= n {
				index -= n
				continue
			}
			if n <= 3 {
				return nil, fmt.Errorf("an outline needs at least 3 corners: delete the whole outline instead")
			}
			open := slices.Delete(slices.Clone(r[:n]), index, index+1)
			out[i] = append(open, open[0])
			return out, nil
		}
	}
	return nil, fmt.Errorf("there is no vertex %d", index+1)
}
