package pattern

import "github.com/paulmach/orb"

// edgesOfARun is the number of edges that are passed over at once by their bound.
const edgesOfARun = 32

// edgeRun is a part of a ring that follows on itself, with its bound.
type edgeRun struct {
	line  orb.LineString
	bound orb.Bound
}

// runsOf cuts a polygon's rings into runs.
func runsOf(p orb.Polygon) (out []edgeRun) {
	for _, r := range p {
		for i := 0; i+1 < len(r); i += edgesOfARun {
			l := orb.LineString(r[i:min(i+edgesOfARun+1, len(r))])
			out = append(out, edgeRun{l, l.Bound()})
		}
	}
	return out
}

// insideRuns is Inside of the polygon the runs were cut from.
func insideRuns(runs []edgeRun, p orb.Point) bool {
	const rounding = 1e-6 // metres: more than where an edge crosses a line may be out
	in := false
	for i := range runs {
		l, b := runs[i].line, &runs[i].bound
		switch {
		case p[1] < b.Min[1] || p[1] >= b.Max[1] || p[0] > b.Max[0]+rounding:
			// beside all of them
		case p[0] < b.Min[0]-rounding:
			// Each that passes the place's height counts.
			if (l[0][1] > p[1]) != (l[len(l)-1][1] > p[1]) {
				in = !in
			}
		default:
			if Inside(orb.Polygon{orb.Ring(l)}, p) {
				in = !in
			}
		}
	}
	return in
}

// Holds reports whether a place lies in any part of the zone's shape.
func (z *Zone) Holds(p orb.Point) bool {
	for i, poly := range z.Shape {
		if !z.Bounds[i].Contains(p) {
			continue
		}
		if z.runs == nil && Inside(poly, p) || z.runs != nil && insideRuns(z.runs[i], p) {
			return true
		}
	}
	return false
}
