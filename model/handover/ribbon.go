package handover

import (
	"math"

	"github.com/paulmach/orb"
)

// mostMitre is how far a mitred corner may stand out, in half widths: chosen, a
// bend of 120 degrees.
const mostMitre = 2.0

// ribbon is the outline of a line of some width with flat ends and mitred
// corners, for drawing: a bend sharper than its width allows crosses itself.
func ribbon(l orb.LineString, width float64) orb.MultiPolygon {
	var ps orb.LineString
	for i, p := range l {
		if i == 0 || p != ps[len(ps)-1] {
			ps = append(ps, p)
		}
	}
	n := len(ps)
	if n < 2 {
		return nil
	}
	normal := func(i int) orb.Point { // of the edge that begins at i, to its left
		dx, dy := ps[i+1][0]-ps[i][0], ps[i+1][1]-ps[i][1]
		d := math.Hypot(dx, dy)
		return orb.Point{-dy / d, dx / d}
	}
	ring := make(orb.Ring, 2*n+1)
	for i, p := range ps {
		a, b := normal(max(i-1, 0)), normal(min(i, n-2))
		mx, my := a[0]+b[0], a[1]+b[1]
		// The mitre is (a+b)·2/|a+b|² half widths, and as long as 2/|a+b|.
		q := mx*mx + my*my
		k := 2 / math.Max(q, 1e-12)
		if 2/math.Sqrt(math.Max(q, 1e-12)) > mostMitre {
			k = mostMitre / math.Sqrt(math.Max(q, 1e-12))
		}
		dx, dy := mx*k*width/2, my*k*width/2
		ring[i] = orb.Point{p[0] + dx, p[1] + dy}
		ring[2*n-1-i] = orb.Point{p[0] - dx, p[1] - dy}
	}
	ring[2*n] = ring[0]
	return orb.MultiPolygon{{ring}}
}
