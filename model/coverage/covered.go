package coverage

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Walker measures how far crossing lines run inside shapes. It holds the memory
// that takes; use one a goroutine.
type Walker struct {
	bounds []orb.Bound
	segs   []segment
	live   []segment
	cuts   []float64
	a, b   []run
	ws     []float64
}

// run is a part of a crossing line inside a shape.
type run struct{ lo, hi float64 }

// Covered returns, for each path asked for, the stretches of the boundary whose
// crossing line runs inside the shape for at least that path, or to within
// 5 cm for all of a shorter line; breaks up to 0.1 m are bridged. A crossing
// line under 5 cm takes its neighbour's state. Spans are in order of chainage.
func (wk *Walker) Covered(f *Fence, shape orb.MultiPolygon, paths ...float64) [][]Span {
	out := make([][]Span, len(paths))
	if len(shape) == 0 {
		return out
	}
	wk.bounds = wk.bounds[:0]
	for _, p := range shape {
		wk.bounds = append(wk.bounds, p.Bound())
	}
	bound := wk.bounds[0]
	for _, b := range wk.bounds[1:] {
		bound = bound.Union(b)
	}
	for k, block := range f.blocks {
		if !block.Intersects(bound) {
			continue
		}
		for i := k * blockEdges; i < min((k+1)*blockEdges, len(f.edges)); i++ {
			if e := &f.edges[i]; e.bound.Intersects(bound) {
				wk.edge(e, f.Depth, shape, paths, out)
			}
		}
	}
	for i := range out {
		out[i] = Union(out[i])
	}
	return out
}

// edge measures one edge's crossing lines.
func (wk *Walker) edge(e *fenceEdge, depth float64, shape orb.MultiPolygon, paths []float64, out [][]Span) {
	wk.segs = wk.segs[:0]
	for i, p := range shape {
		if !e.bound.Intersects(wk.bounds[i]) {
			continue
		}
		for _, r := range p {
			u0, w0 := e.frame(r[0])
			for _, q := range r[1:] {
				u1, w1 := e.frame(q)
				s := segment{u0, w0, u1, w1}
				u0, w0 = u1, w1
				if s.u0 == s.u1 || math.Max(s.u0, s.u1) <= 0 || math.Min(s.u0, s.u1) >= e.length || math.Min(s.w0, s.w1) >= depth {
					continue
				}
				wk.segs = append(wk.segs, s)
			}
		}
	}
	if len(wk.segs) == 0 {
		return
	}
	slices.SortFunc(wk.segs, func(a, b segment) int {
		switch x, y := math.Min(a.u0, a.u1), math.Min(b.u0, b.u1); {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	cuts := append(wk.cuts[:0], e.cuts...)
	add := func(u float64) {
		if u > 0 && u < e.length {
			cuts = append(cuts, u)
		}
	}
	for _, s := range wk.segs {
		add(s.u0)
		add(s.u1)
		if (s.w0 > 0) != (s.w1 > 0) {
			add(s.u0 - s.w0/(s.w1-s.w0)*(s.u1-s.u0))
		}
		if (s.w0 > depth) != (s.w1 > depth) {
			add(s.u0 + (depth-s.w0)/(s.w1-s.w0)*(s.u1-s.u0))
		}
		for _, o := range e.stops {
			if u, ok := meet(s, o); ok {
				add(u)
			}
		}
		for _, o := range e.thick {
			if u, ok := meet(s, o); ok {
				add(u)
			}
		}
	}
	slices.Sort(cuts)
	wk.cuts = cuts
	next := 0
	wk.live = wk.live[:0]
	type short struct{ from, to float64 } // slabs whose lines are too short to say
	var shorts []short
	first := make([]int, len(paths))
	for i := range out {
		first[i] = len(out[i])
	}
	for i := 0; i+1 < len(cuts); i++ {
		a, b := cuts[i], cuts[i+1]
		if b-a < 1e-9 {
			continue
		}
		m := (a + b) / 2
		for next < len(wk.segs) && math.Min(wk.segs[next].u0, wk.segs[next].u1) <= m {
			wk.live = append(wk.live, wk.segs[next])
			next++
		}
		kept := wk.live[:0]
		for _, s := range wk.live {
			if math.Max(s.u0, s.u1) > m {
				kept = append(kept, s)
			}
		}
		wk.live = kept
		// Two rays inside the slab; all is linear between its ends.
		p, q := a+(b-a)/4, b-(b-a)/4
		p0, p1 := e.line(p, depth)
		q0, q1 := e.line(q, depth)
		ext := func(vp, vq float64) (va, vb float64) { return vp - (vq-vp)/2, vq + (vq-vp)/2 }
		la, lb := ext(p1-p0, q1-q0)
		if math.Max(la, lb) < shortest {
			if n := len(shorts); n > 0 && a-shorts[n-1].to < 1e-6 {
				shorts[n-1].to = b
			} else {
				shorts = append(shorts, short{a, b})
			}
			continue
		}
		if len(wk.live) == 0 {
			continue
		}
		wk.a = wk.runs(p, p0, p1, wk.a[:0])
		wk.b = wk.runs(q, q0, q1, wk.b[:0])
		if len(wk.a) != len(wk.b) { // a rounding at a corner: take the middle
			wk.a = wk.runs(m, (p0+q0)/2, (p1+q1)/2, wk.a[:0])
			wk.b = append(wk.b[:0], wk.a...)
		}
		for j := range wk.a {
			wk.a[j].lo, wk.b[j].lo = ext(wk.a[j].lo, wk.b[j].lo)
			wk.a[j].hi, wk.b[j].hi = ext(wk.a[j].hi, wk.b[j].hi)
		}
		for k, path := range paths {
			slab(wk.a, wk.b, la, lb, path, func(s, t float64) {
				out[k] = append(out[k], Span{e.from + a + s*(b-a), e.from + a + t*(b-a)})
			})
		}
	}
	for k := range out {
		mine := Union(out[k][first[k]:])
		out[k] = append(out[k][:first[k]], mine...)
		for _, s := range shorts {
			// A line too short to say joins a covered stretch beside it.
			for j := first[k]; j < len(out[k]); j++ {
				v := &out[k][j]
				switch {
				case math.Abs(v.To-e.from-s.from) < 1e-6:
					v.To = e.from + s.to
				case math.Abs(v.From-e.from-s.to) < 1e-6:
					v.From = e.from + s.from
				}
			}
		}
	}
}

// runs lists the parts of the crossing line at u that lie inside the shape.
func (wk *Walker) runs(u, w0, w1 float64, out []run) []run {
	ws := wk.ws[:0]
	for _, s := range wk.live {
		if s.spans(u) {
			w := s.at(u)
			i := len(ws)
			ws = append(ws, w)
			for i > 0 && ws[i-1] > w {
				ws[i] = ws[i-1]
				i--
			}
			ws[i] = w
		}
	}
	if len(ws)%2 == 1 { // the far side lies beyond the depth and was left out
		ws = append(ws, math.Inf(1))
	}
	wk.ws = ws
	for i := 0; i+1 < len(ws); i += 2 {
		lo, hi := math.Max(ws[i], w0), math.Min(ws[i+1], w1)
		if lo < hi {
			out = append(out, run{lo, hi})
		}
	}
	return out
}

// slab calls add with the parts of a slab, as fractions of its width, in which
// some bridged run is long enough. a and b are the runs at its ends, la and lb
// the lengths of its crossing lines.
func slab(a, b []run, la, lb, path float64, add func(s, t float64)) {
	if len(a) == 0 {
		return
	}
	steps := []float64{0, 1}
	cross := func(fa, fb float64) {
		if (fa > 0) != (fb > 0) {
			steps = append(steps, fa/(fa-fb))
		}
	}
	cross(la-path, lb-path)
	cross(la-shortest, lb-shortest)
	for i := range a {
		cross(a[i].hi-a[i].lo-speck, b[i].hi-b[i].lo-speck)
		for j := range i {
			cross(a[i].lo-a[j].hi-bridge, b[i].lo-b[j].hi-bridge)
		}
	}
	slices.Sort(steps)
	at := func(va, vb, t float64) float64 { return va + t*(vb-va) }
	for k := 0; k+1 < len(steps); k++ {
		s, t := steps[k], steps[k+1]
		if t-s < 1e-12 {
			continue
		}
		m := (s + t) / 2
		need := func(t float64) float64 {
			if at(la, lb, m) < path {
				return at(la, lb, t) - allBut
			}
			return path
		}
		small := func(i int) bool { return at(a[i].hi-a[i].lo, b[i].hi-b[i].lo, m) < speck }
		for i := 0; i < len(a); {
			j := i
			for k := i + 1; k < len(a) && !small(i); k++ {
				if !small(k) {
					if at(a[k].lo-a[j].hi, b[k].lo-b[j].hi, m) > bridge {
						break
					}
					j = k
				}
			}
			fs := at(a[j].hi-a[i].lo, b[j].hi-b[i].lo, s) - need(s)
			ft := at(a[j].hi-a[i].lo, b[j].hi-b[i].lo, t) - need(t)
			const slack = 1e-9 // ends included
			switch {
			case fs >= -slack && ft >= -slack:
				add(s, t)
			case fs >= 0:
				add(s, s+(t-s)*fs/(fs-ft))
			case ft >= 0:
				add(t-(t-s)*ft/(ft-fs), t)
			}
			i = j + 1
		}
	}
}

// Inside returns the parts of the crossing line at chainage s inside the shape,
// as distances along the inward normal, and the beginning and end of the line.
func (wk *Walker) Inside(f *Fence, s float64, shape orb.MultiPolygon) (runs []Span, from, to float64) {
	e, u := f.edgeAt(s)
	u = e.off(u)
	w0, w1 := e.line(u, f.Depth)
	wk.live = wk.live[:0]
	for _, p := range shape {
		for _, r := range p {
			for i := 0; i+1 < len(r); i++ {
				if g := e.whole(r[i], r[i+1]); g.spans(u) {
					wk.live = append(wk.live, g)
				}
			}
		}
	}
	wk.a = wk.runs(u, w0, w1, wk.a[:0])
	for _, r := range wk.a {
		runs = append(runs, Span{r.lo, r.hi})
	}
	return runs, w0, w1
}

// Enough reports whether runs along a line from w0 to w1 cover it for a path.
func Enough(runs []Span, w0, w1, path float64) bool {
	need := path
	if w1-w0 < path {
		need = w1 - w0 - allBut
	}
	small := func(i int) bool { return runs[i].To-runs[i].From < speck }
	for i := 0; i < len(runs); {
		j := i
		for k := i + 1; k < len(runs) && !small(i); k++ {
			if !small(k) {
				if runs[k].From-runs[j].To > bridge {
					break
				}
				j = k
			}
		}
		if runs[j].To-runs[i].From >= need-1e-9 {
			return true
		}
		i = j + 1
	}
	return false
}

// FacingSpans returns the stretches of the boundary whose crossing line, at its
// beginning, runs within the angle of the given tangent of the line of sight from
// a place: all of them on edges that any of the spans touches. The spans are in
// order.
func (f *Fence) FacingSpans(from orb.Point, tan float64, spans []Span) []Span {
	var out []Span
	next := 0
	for _, s := range spans {
		i, _ := slices.BinarySearchFunc(f.edges[next:], s.From, func(e fenceEdge, at float64) int {
			if e.from+e.length < at {
				return -1
			}
			return 1
		})
		for next += i; next < len(f.edges) && f.edges[next].from <= s.To; next++ {
			e := &f.edges[next]
			u, w := e.frame(from)
			h := math.Abs(w) * tan
			if lo, hi := math.Max(0, u-h), math.Min(e.length, u+h); lo < hi {
				out = append(out, Span{e.from + lo, e.from + hi})
			}
		}
	}
	return Union(out)
}
