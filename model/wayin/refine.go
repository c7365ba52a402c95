package wayin

import (
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// finer is how many times finer the second look at a route's costly part is,
// and sharpest its greatest number of cells a side. Chosen.
const (
	finer    = 4
	sharpest = 400
)

// refine looks again, on finer cells, for a way from where a line first nears a
// footprint to where it has left the last: between footprints a passage can run
// that the cells are too coarse for. It returns the cheaper line.
func (w *search) refine(ctx context.Context, r *rope, line orb.LineString) orb.LineString {
	first, last := w.stretch(line)
	if first >= last {
		return line
	}
	before, middle := split(line, math.Max(0, first-2*w.cell))
	middle, after := split(middle, last-math.Max(0, first-2*w.cell)+2*w.cell)
	p, q := middle[0], middle[len(middle)-1]
	b := middle.Bound()
	size := math.Max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])
	b = b.Pad(math.Max(8*w.cell, size/4))
	f := frameOf(b, Options{Cell: w.cell / finer, Cells: sharpest})
	if f.cell > 0.7*w.cell {
		return line
	}
	fine := *w
	fine.frame = f
	fine.solid = newMask(f)
	for _, e := range w.blocks.edges {
		fine.solid.line(e, thick*f.bit())
	}
	m := newMarch(f)
	m.lay(fine.solid, float32(w.o.Base*f.cell), func(cost []float32, width int) {
		rates(f, w.sensors, f.cell, cost, width)
	})
	m.begin(w.o.Base * f.cell * 0.7)
	m.source(m.cellOf(int((p[0]-f.at[0])/f.cell), int((p[1]-f.at[1])/f.cell)))
	g := goal{at: &q}
	g.put(f.bitAt(q))
	if m.run(ctx, fine.settled(m, []*goal{&g})) != nil {
		return line
	}
	part := fine.follow(m, &g)
	if part == nil {
		return line
	}
	known := outline(nil, middle, false, 0)
	if !slices.ContainsFunc(part, func(p orb.Point) bool { return dist(p, onto(p, known)) > 2*w.cell }) {
		return line // it is the same way
	}
	old := r.measure(line)
	r.gap = math.Min(r.gap, f.gap())
	whole := append(append(before.Clone(), part...), after...)
	if whole = r.pull(whole); r.measure(whole) < old {
		return whole
	}
	return line
}

// stretch returns where along a line, in metres, it enters the first footprint
// and leaves the last; first >= last when it crosses none.
func (w *search) stretch(line orb.LineString) (first, last float64) {
	first = math.Inf(1)
	at := 0.0
	for i := 1; i < len(line); i++ {
		l := dist(line[i-1], line[i])
		for _, x := range w.seen.along(line[i-1], line[i], graze) {
			first = math.Min(first, at+x.from*l)
			last = math.Max(last, at+x.to*l)
		}
		at += l
	}
	return first, last
}

// split cuts a line at a length; both parts have the point there.
func split(line orb.LineString, at float64) (a, b orb.LineString) {
	for i := 1; i < len(line); i++ {
		l := dist(line[i-1], line[i])
		if at <= l && l > 0 {
			p := mix(line[i-1], line[i], at/l)
			return append(line[:i:i], p), append(orb.LineString{p}, line[i:]...)
		}
		at -= l
	}
	p := line[len(line)-1]
	return line, orb.LineString{p}
}
