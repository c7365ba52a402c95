package pattern

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// cells is the number of azimuth cells edges are sorted into.
const cells = 180

// segment is the area in square metres of a segment of a circle too small to look
// for.
const segment = 0.002

// edge is a segment relative to the eye.
type edge struct {
	ax, ay, bx, by float64
	owner          int32
}

// around is a set of outlines seen from an eye: which of their edges a ray
// crosses, and where. Every outline belongs to an owner, numbered by the
// caller; an owner with a closed outline is entered and left in turn.
type around struct {
	edges   []edge
	corners []float64 // azimuths of the corners within the radius and of the edges' nearest places, radians
	inside  []bool    // by owner: the eye stands inside its outlines
	first   [cells + 1]int32
	list    []int32

	e      *Eye
	radius float64
	live   [cells]bool
	spans  [][2]int32
}

// hit is a ray's crossing of an edge.
type hit struct {
	d     float64
	owner int32
	edge  int32
}

// reset empties a for an eye looking as far as radius.
func (a *around) reset(e *Eye, radius float64) {
	a.edges, a.corners, a.inside, a.spans = a.edges[:0], a.corners[:0], a.inside[:0], a.spans[:0]
	a.e, a.radius = e, radius
	for i := range a.live {
		a.live[i] = false
	}
	for _, l := range e.lobes {
		if l.width >= 2*math.Pi {
			for i := range a.live {
				a.live[i] = true
			}
			break
		}
		first := cellOf(l.start)
		n := int(l.width/(2*math.Pi)*cells) + 2
		for k := -1; k <= n && k < cells; k++ {
			a.live[(first+k+cells)%cells] = true
		}
	}
}

func cellOf(az float64) int {
	c := int(az / (2 * math.Pi) * cells)
	if c >= cells {
		c = cells - 1
	}
	return c
}

// within reports whether a bound comes within the radius.
func (a *around) within(b orb.Bound) bool {
	return b.Min[0]-a.radius <= a.e.At[0] && a.e.At[0] <= b.Max[0]+a.radius &&
		b.Min[1]-a.radius <= a.e.At[1] && a.e.At[1] <= b.Max[1]+a.radius
}

// owner adds an owner and returns its number.
func (a *around) owner() int32 {
	a.inside = append(a.inside, false)
	return int32(len(a.inside) - 1)
}

// polygon adds a closed outline to an owner.
func (a *around) polygon(owner int32, p orb.Polygon) {
	for _, r := range p {
		a.line(owner, orb.LineString(r))
	}
	if Inside(p, a.e.At) {
		a.inside[owner] = !a.inside[owner]
	}
}

// long adds a closed outline of many edges to an owner.
func (a *around) long(owner int32, runs []edgeRun) {
	for i := range runs {
		if a.within(runs[i].bound) {
			a.line(owner, runs[i].line)
		}
	}
	if insideRuns(runs, a.e.At) {
		a.inside[owner] = !a.inside[owner]
	}
}

// line adds the edges of a line to an owner.
func (a *around) line(owner int32, l orb.LineString) {
	o := a.e.At
	for i := 0; i+1 < len(l); i++ {
		e := edge{l[i][0] - o[0], l[i][1] - o[1], l[i+1][0] - o[0], l[i+1][1] - o[1], owner}
		if r := a.radius; min(e.ax, e.bx) > r || max(e.ax, e.bx) < -r || min(e.ay, e.by) > r || max(e.ay, e.by) < -r {
			continue
		}
		dx, dy := e.bx-e.ax, e.by-e.ay
		len2 := dx*dx + dy*dy
		if len2 == 0 {
			continue
		}
		t := math.Max(0, math.Min(1, -(e.ax*dx+e.ay*dy)/len2))
		fx, fy := e.ax+t*dx, e.ay+t*dy
		foot := math.Hypot(fx, fy)
		if foot > a.radius {
			continue
		}
		za, zb := math.Atan2(e.ax, e.ay), math.Atan2(e.bx, e.by)
		if za < 0 {
			za += 2 * math.Pi
		}
		if zb < 0 {
			zb += 2 * math.Pi
		}
		ca, cb := cellOf(za), cellOf(zb)
		// The edge spans the smaller of the two ways round.
		if d := zb - za; d > math.Pi || d < 0 && d > -math.Pi {
			ca, cb = cb, ca
		}
		n := (cb - ca + cells) % cells
		any := false
		for k := 0; k <= n; k++ {
			if a.live[(ca+k)%cells] {
				any = true
				break
			}
		}
		if !any {
			continue
		}
		a.edges = append(a.edges, e)
		a.spans = append(a.spans, [2]int32{int32(ca), int32(n)})
		if a.live[cellOf(za)] && math.Hypot(e.ax, e.ay) <= a.radius {
			a.corners = append(a.corners, za)
		}
		if a.live[cellOf(zb)] && math.Hypot(e.bx, e.by) <= a.radius {
			a.corners = append(a.corners, zb)
		}
		// An edge may come within reach between its corners and go again between two
		// rays: its nearest place counts as a corner, unless the segment of a circle
		// it can cut off is too small to matter.
		if t > 0 && t < 1 && len2*math.Sqrt(len2) > 12*foot*segment {
			if zf := turn(math.Atan2(fx, fy)); a.live[cellOf(zf)] {
				a.corners = append(a.corners, zf)
			}
		}
	}
}

// done sorts the edges into cells; call it once all outlines are added.
func (a *around) done() {
	for i := range a.first {
		a.first[i] = 0
	}
	for _, s := range a.spans {
		for k := int32(0); k <= s[1]; k++ {
			a.first[(s[0]+k)%cells+1]++
		}
	}
	for i := 1; i <= cells; i++ {
		a.first[i] += a.first[i-1]
	}
	total := int(a.first[cells])
	a.list = slices.Grow(a.list[:0], total)[:total]
	var at [cells]int32
	copy(at[:], a.first[:cells])
	for i, s := range a.spans {
		for k := int32(0); k <= s[1]; k++ {
			c := (s[0] + k) % cells
			a.list[at[c]] = int32(i)
			at[c]++
		}
	}
}

// cast appends the crossings of the ray at azimuth az, nearest first.
func (a *around) cast(az, sin, cos float64, out []hit) []hit {
	if len(a.edges) == 0 {
		return out
	}
	c := cellOf(az)
	start := len(out)
	for _, i := range a.list[a.first[c]:a.first[c+1]] {
		e := &a.edges[i]
		ca := sin*e.ay - cos*e.ax // positive on the left of the ray
		cb := sin*e.by - cos*e.bx
		if (ca > 0) == (cb > 0) {
			continue
		}
		t := ca / (ca - cb)
		d := (e.ax+t*(e.bx-e.ax))*sin + (e.ay+t*(e.by-e.ay))*cos
		if d <= 0 || d > a.radius {
			continue
		}
		h := hit{d, e.owner, i}
		j := len(out)
		out = append(out, h)
		for j > start && out[j-1].d > d {
			out[j] = out[j-1]
			j--
		}
		out[j] = h
	}
	return out
}
