package scene

import (
	"math"

	"github.com/paulmach/orb"
)

// joinChord is the greatest chord error of a round join in metres.
const joinChord = 0.005

// Extent returns the ground a way takes up: the polygon it is drawn as, or its
// line widened to width metres with flat ends and round joins. The parts may
// overlap; a point belongs to the way when it lies in any of them.
func Extent(g orb.Geometry, width float64) orb.MultiPolygon {
	switch g := g.(type) {
	case orb.Polygon:
		return orb.MultiPolygon{g}
	case orb.LineString:
		return widen(g, width/2)
	}
	return nil
}

// widen returns one rectangle an edge and one wedge a join.
func widen(l orb.LineString, r float64) orb.MultiPolygon {
	var out orb.MultiPolygon
	prev := math.NaN()
	for i := 0; i+1 < len(l); i++ {
		a, b := l[i], l[i+1]
		length := math.Hypot(b[0]-a[0], b[1]-a[1])
		if length == 0 {
			continue
		}
		dir := math.Atan2(b[1]-a[1], b[0]-a[0])
		nx, ny := -(b[1]-a[1])/length*r, (b[0]-a[0])/length*r
		out = append(out, orb.Polygon{{{a[0] - nx, a[1] - ny}, {b[0] - nx, b[1] - ny}, {b[0] + nx, b[1] + ny}, {a[0] + nx, a[1] + ny}, {a[0] - nx, a[1] - ny}}})
		if !math.IsNaN(prev) {
			if w := wedge(a, r, prev, dir); w != nil {
				out = append(out, orb.Polygon{w})
			}
		}
		prev = dir
	}
	return out
}

// wedge fills the outer side of a bend at c from direction d0 to d1 (radians).
func wedge(c orb.Point, r, d0, d1 float64) orb.Ring {
	turn := math.Remainder(d1-d0, 2*math.Pi)
	if math.Abs(turn) < 1e-9 {
		return nil
	}
	side := -math.Pi / 2 // a left turn opens on the right
	if turn < 0 {
		side = math.Pi / 2
	}
	step := 2 * math.Acos(math.Max(0, 1-joinChord/r))
	n := int(math.Ceil(math.Abs(turn) / step))
	w := orb.Ring{c}
	for k := 0; k <= n; k++ {
		a := d0 + side + turn*float64(k)/float64(n)
		w = append(w, orb.Point{c[0] + r*math.Cos(a), c[1] + r*math.Sin(a)})
	}
	w = append(w, c)
	if SignedArea(w) < 0 {
		for i, j := 0, len(w)-1; i < j; i, j = i+1, j-1 {
			w[i], w[j] = w[j], w[i]
		}
	}
	return w
}
