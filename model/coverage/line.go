package coverage

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model/scene"
)

// Distances of the contract, section 4, metres.
const (
	closedWithin   = 0.05 // a boundary point this near to a building is closed
	excludedWithin = 0.5  // and one this near to an excluded line
	ignoreStart    = 0.1  // obstacle crossings this near to the start do not end a crossing line
	shortest       = 0.05 // a shorter crossing line takes its neighbour's state
	allBut         = 0.05 // a line shorter than the path asked for counts when all but this is covered
	bridge         = 0.1  // breaks up to this inside a run are bridged
	speck          = 5e-4 // a run shorter than this is a rounding of an outline, and no bridge leads to it
	mergeBelow     = 0.1  // intervals shorter than this are merged
	Shallow        = 1.5  // covered, but for less than this by every sensor: shallow (chosen)
)

// Fence is one boundary with its crossing lines.
type Fence struct {
	scene.Boundary
	Depth  float64 // of the crossing line, metres
	edges  []fenceEdge
	blocks []orb.Bound // of every blockEdges edges together
	NoNeed []Span      // what needs no detection, in order, not merged
}

// blockEdges is how many edges are passed over at once where a shape is nowhere
// near. Chosen.
const blockEdges = 32

// fenceEdge is an edge of the boundary in its own frame: u along it, w inward.
type fenceEdge struct {
	o      orb.Point
	du, dw orb.Point // unit vectors
	length float64
	from   float64   // chainage of its start
	stops  []segment // what ends a crossing line
	thick  []segment // outlines of impassable obstacles, to start beyond
	owner  []int     // of thick: which obstacle
	bound  orb.Bound // of all crossing lines
	cuts   []float64 // u at which stops or thick change
}

// segment is a line in an edge's frame.
type segment struct{ u0, w0, u1, w1 float64 }

// at returns w at u; u lies within the segment.
func (s segment) at(u float64) float64 {
	return s.w0 + (u-s.u0)/(s.u1-s.u0)*(s.w1-s.w0)
}

func (s segment) spans(u float64) bool { return (s.u0 > u) != (s.u1 > u) }

// Lay prepares the crossing lines of a boundary.
func Lay(sc *scene.Scene, b scene.Boundary, depth float64) *Fence {
	f := lay(sc, b, depth)
	f.NoNeed = closed(sc, b)
	return f
}

// LayBare prepares the crossing lines as they would be without buildings and
// obstacles: what hides is told from what does not by looking along them.
func LayBare(sc *scene.Scene, b scene.Boundary, depth float64) *Fence {
	return lay(&scene.Scene{Plan: sc.Plan, Grid: sc.Grid}, b, depth)
}

func lay(sc *scene.Scene, b scene.Boundary, depth float64) *Fence {
	f := &Fence{Boundary: b, Depth: depth}
	// Edges of the boundary far from one another are passed over by the bound of a
	// number of them.
	const together = 32
	var bounds []orb.Bound
	for j := 0; j+1 < len(b.Line); j += together {
		bounds = append(bounds, b.Line[j:min(j+together+1, len(b.Line))].Bound())
	}
	for i := 0; i+1 < len(b.Line); i++ {
		l := b.At[i+1] - b.At[i]
		p, q := b.Line[i], b.Line[i+1]
		e := fenceEdge{o: p, du: orb.Point{(q[0] - p[0]) / l, (q[1] - p[1]) / l}, dw: b.EdgeNormal(i), length: l, from: b.At[i]}
		in := orb.Point{e.dw[0] * depth, e.dw[1] * depth}
		e.bound = orb.MultiPoint{p, q, {p[0] + in[0], p[1] + in[1]}, {q[0] + in[0], q[1] + in[1]}}.Bound()
		for k, near := range bounds {
			if !e.bound.Intersects(near) {
				continue
			}
			for j := k * together; j < (k+1)*together && j+1 < len(b.Line); j++ {
				if j != i {
					e.stop(b.Line[j], b.Line[j+1], depth)
				}
			}
		}
		for i := range sc.Buildings {
			if h := &sc.Buildings[i]; e.bound.Intersects(h.Bound) {
				e.stopPolygon(h.Shape, depth)
			}
		}
		for k := range sc.Obstacles {
			o := &sc.Obstacles[k]
			if !o.Impassable {
				continue
			}
			if o.Shape == nil {
				if e.bound.Intersects(o.Bound) {
					for j := 0; j+1 < len(o.Line); j++ {
						e.wall(o.Line[j], o.Line[j+1], depth, -1)
					}
				}
			} else if e.bound.Intersects(o.Bound) {
				for _, r := range o.Shape {
					for j := 0; j+1 < len(r); j++ {
						e.wall(r[j], r[j+1], depth, k)
					}
				}
			}
		}
		e.finish(depth)
		f.edges = append(f.edges, e)
		if i%blockEdges == 0 {
			f.blocks = append(f.blocks, e.bound)
		}
		f.blocks[i/blockEdges] = f.blocks[i/blockEdges].Union(e.bound)
	}
	return f
}

// frame returns a point in the edge's frame.
func (e *fenceEdge) frame(p orb.Point) (u, w float64) {
	x, y := p[0]-e.o[0], p[1]-e.o[1]
	return x*e.du[0] + y*e.du[1], x*e.dw[0] + y*e.dw[1]
}

// site returns a place of the edge's frame on the site grid.
func (e *fenceEdge) site(u, w float64) orb.Point {
	return orb.Point{e.o[0] + u*e.du[0] + w*e.dw[0], e.o[1] + u*e.du[1] + w*e.dw[1]}
}

// segment returns a line in the edge's frame; ok is false where no crossing line
// can meet it.
func (e *fenceEdge) segment(a, b orb.Point, depth float64) (s segment, ok bool) {
	s.u0, s.w0 = e.frame(a)
	s.u1, s.w1 = e.frame(b)
	ok = s.u0 != s.u1 && math.Max(s.u0, s.u1) > 0 && math.Min(s.u0, s.u1) < e.length && math.Max(s.w0, s.w1) > 0 && math.Min(s.w0, s.w1) < depth
	return s, ok
}

func (e *fenceEdge) stop(a, b orb.Point, depth float64) {
	if s, ok := e.segment(a, b, depth); ok {
		e.stops = append(e.stops, s)
	}
}

func (e *fenceEdge) stopPolygon(p orb.Polygon, depth float64) {
	for _, r := range p {
		for j := 0; j+1 < len(r); j++ {
			e.stop(r[j], r[j+1], depth)
		}
	}
}

// wall adds a line of an impassable obstacle; those of an area are kept whole,
// to tell whether a crossing line starts inside.
func (e *fenceEdge) wall(a, b orb.Point, depth float64, owner int) {
	s, ok := e.segment(a, b, depth)
	if !ok && owner >= 0 {
		ok = s.u0 != s.u1 && math.Max(s.u0, s.u1) > 0 && math.Min(s.u0, s.u1) < e.length
	}
	if ok {
		e.thick = append(e.thick, s)
		e.owner = append(e.owner, owner)
	}
}

// finish lists the places along the edge where its crossing lines change.
func (e *fenceEdge) finish(depth float64) {
	all := append(append([]segment(nil), e.stops...), e.thick...)
	cuts := []float64{0, e.length}
	add := func(u float64) {
		if u > 0 && u < e.length {
			cuts = append(cuts, u)
		}
	}
	for i, s := range all {
		add(s.u0)
		add(s.u1)
		for _, w := range []float64{0, depth, ignoreStart, shortest} {
			if (s.w0 > w) != (s.w1 > w) {
				add(s.u0 + (w-s.w0)/(s.w1-s.w0)*(s.u1-s.u0))
			}
		}
		for _, o := range all[:i] {
			if u, ok := meet(s, o); ok {
				add(u)
			}
		}
	}
	slices.Sort(cuts)
	e.cuts = slices.Compact(cuts)
}

// meet returns where two segments cross, as u.
func meet(s, t segment) (u float64, ok bool) {
	rx, ry, qx, qy := s.u1-s.u0, s.w1-s.w0, t.u1-t.u0, t.w1-t.w0
	den := rx*qy - ry*qx
	if den == 0 {
		return 0, false
	}
	a := ((t.u0-s.u0)*qy - (t.w0-s.w0)*qx) / den
	b := ((t.u0-s.u0)*ry - (t.w0-s.w0)*rx) / den
	return s.u0 + a*rx, a >= 0 && a <= 1 && b >= 0 && b <= 1
}

// line returns the beginning and the end of the crossing line at u, as w. u must
// not be a cut.
func (e *fenceEdge) line(u, depth float64) (w0, w1 float64) {
	w1 = depth
	for _, s := range e.stops {
		if s.spans(u) {
			if w := s.at(u); w > 1e-9 && w < w1 {
				w1 = w
			}
		}
	}
	if len(e.thick) == 0 {
		return 0, w1
	}
	// Begin where the line leaves the obstacles it starts in.
	for {
		next := w0
		for i, s := range e.thick {
			if e.owner[i] < 0 || !s.spans(u) {
				continue
			}
			inside, exit := false, math.Inf(1)
			for j, o := range e.thick {
				if e.owner[j] == e.owner[i] && o.spans(u) {
					if w := o.at(u); w <= w0 {
						inside = !inside
					} else if w < exit {
						exit = w
					}
				}
			}
			if inside && !math.IsInf(exit, 1) {
				next = math.Max(next, exit)
			}
		}
		if next == w0 {
			break
		}
		w0 = next
	}
	for _, s := range e.thick {
		if s.spans(u) {
			if w := s.at(u); w > w0+ignoreStart && w < w1 {
				w1 = w
			}
		}
	}
	return math.Min(w0, w1), w1
}

// CrossingLine returns the two ends of the crossing line at chainage s.
func (f *Fence) CrossingLine(s float64) (from, to orb.Point) {
	e, u := f.edgeAt(s)
	w0, w1 := e.line(e.off(u), f.Depth)
	return e.site(u, w0), e.site(u, w1)
}

// off moves u off a cut.
func (e *fenceEdge) off(u float64) float64 {
	const step = 1e-7
	if u >= e.length-step {
		return e.length - step
	}
	return math.Max(u, 0) + step
}

func (f *Fence) edgeAt(s float64) (*fenceEdge, float64) {
	length := f.Length()
	if f.Boundary.Closed {
		s = math.Mod(s, length)
		if s < 0 {
			s += length
		}
	}
	i, ok := slices.BinarySearchFunc(f.edges, s, func(e fenceEdge, s float64) int {
		switch {
		case e.from < s:
			return -1
		case e.from > s:
			return 1
		}
		return 0
	})
	if !ok {
		i--
	}
	i = max(0, min(i, len(f.edges)-1))
	e := &f.edges[i]
	return e, math.Min(s-e.from, e.length)
}

// closed lists the stretches of a boundary that need no detection.
func closed(sc *scene.Scene, b scene.Boundary) []Span {
	var out []Span
	for i := 0; i+1 < len(b.Line); i++ {
		l := b.At[i+1] - b.At[i]
		p, q := b.Line[i], b.Line[i+1]
		e := fenceEdge{o: p, du: orb.Point{(q[0] - p[0]) / l, (q[1] - p[1]) / l}, dw: b.EdgeNormal(i), length: l}
		bound := orb.LineString{p, q}.Bound()
		var here []Span
		add := func(from, to float64) {
			from, to = math.Max(0, from), math.Min(l, to)
			if from < to {
				here = append(here, Span{b.At[i] + from, b.At[i] + to})
			}
		}
		near := bound.Pad(closedWithin)
		for k := range sc.Buildings {
			h := &sc.Buildings[k]
			if !near.Intersects(h.Bound) {
				continue
			}
			var cross []float64
			for _, r := range h.Shape {
				for j := 0; j+1 < len(r); j++ {
					s := e.whole(r[j], r[j+1])
					e.beside(s, closedWithin, true, true, add)
					if (s.w0 > 0) != (s.w1 > 0) {
						cross = append(cross, s.u0+(s.u1-s.u0)*s.w0/(s.w0-s.w1))
					}
				}
			}
			slices.Sort(cross)
			for j := 0; j+1 < len(cross); j += 2 {
				add(cross[j], cross[j+1])
			}
		}
		for _, x := range sc.Excluded {
			if !bound.Pad(excludedWithin).Intersects(x.Line.Bound()) {
				continue
			}
			for j := 0; j+1 < len(x.Line); j++ {
				e.beside(e.whole(x.Line[j], x.Line[j+1]), excludedWithin, j > 0, j+2 < len(x.Line), add)
			}
		}
		out = append(out, here...)
	}
	return Union(out)
}

func (e *fenceEdge) whole(a, b orb.Point) (s segment) {
	s.u0, s.w0 = e.frame(a)
	s.u1, s.w1 = e.frame(b)
	return s
}

// beside calls add with the part of the edge that lies within r of a segment:
// beside it, and round its ends where those are joined to more.
func (e *fenceEdge) beside(s segment, r float64, joined0, joined1 bool, add func(from, to float64)) {
	disc := func(u, w float64) {
		if d := r*r - w*w; d >= 0 {
			h := math.Sqrt(d)
			add(u-h, u+h)
		}
	}
	if joined0 {
		disc(s.u0, s.w0)
	}
	if joined1 {
		disc(s.u1, s.w1)
	}
	dx, dy := s.u1-s.u0, s.w1-s.w0
	l := math.Hypot(dx, dy)
	if l == 0 {
		return
	}
	dx, dy = dx/l, dy/l
	// For the edge's point (u, 0): foot t = (u-u0)dx - w0·dy within [0, l], and
	// offset (u-u0)dy + w0·dx within ±r.
	lo, hi := 0.0, e.length
	clip := func(k, c, from, to float64) { // from <= k·u + c <= to
		const slack = 1e-9
		if math.Abs(k) < 1e-12 {
			if c < from-slack || c > to+slack {
				hi = lo - 1
			}
			return
		}
		a, b := (from-c)/k, (to-c)/k
		lo, hi = math.Max(lo, math.Min(a, b)), math.Min(hi, math.Max(a, b))
	}
	clip(dx, -s.u0*dx-s.w0*dy, 0, l)
	clip(dy, -s.u0*dy+s.w0*dx, -r, r)
	add(lo, hi)
}

// Union sorts spans and joins those that touch.
func Union(spans []Span) []Span {
	slices.SortFunc(spans, func(a, b Span) int {
		switch {
		case a.From < b.From:
			return -1
		case a.From > b.From:
			return 1
		}
		return 0
	})
	var out []Span
	for _, s := range spans {
		if n := len(out); n > 0 && s.From <= out[n-1].To+1e-9 {
			out[n-1].To = math.Max(out[n-1].To, s.To)
			continue
		}
		out = append(out, s)
	}
	return out
}
