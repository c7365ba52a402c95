package wayin

import (
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model/scene"
)

// Result is how a person would come in.
type Result struct {
	Routes []Route // one for each asset, in the plan's order
	Cell   float64 // metres, side of a cell of the search
	Person float64 // metres: what is narrower was taken to be no passage
}

// Route is a way from outside to an asset. It starts on a ring outside all
// boundaries, footprints and assets. Where it cannot be walked without crossing
// a footprint it is the one that gathers the least cost; of routes that cost the
// same, the shortest.
//
// Undetected asks for room: a passage between footprints, as between walls, is
// none when it is narrower than a person. The cost is that of the centre line, so
// one that slips through such a slit may come to nothing although the route does
// not count as undetected.
type Route struct {
	Asset      string
	Reached    bool           // false: buildings and impassable obstacles leave no way; nothing below is set
	Undetected bool           // there is room for a person to pass every footprint by; the route is the shortest that does
	Line       orb.LineString // on the site grid, from a ring outside everything to the asset
	Length     float64        // metres
	Cost       float64        // sum over sensors of rate times metres inside, measured on the outlines
	Detection  float64        // 1-exp(-Cost); see Independence
	Marched    float64        // the cost fast marching found on its cells, with that of walking, for comparison
	Passes     []Pass         // footprints crossed, in order
	Crossings  []Crossing     // boundaries crossed, in order
	Delays     []Delay        // obstacles that take time, in order
	Narrow     *Narrow        // where it is narrowest; nil where it is nowhere hemmed in
}

// Pass is one stretch of a route inside a sensor's footprint.
type Pass struct {
	Sensor   string
	From, To float64 // metres along the route
	Cost     float64
}

// Crossing is where a route passes a boundary.
type Crossing struct {
	Boundary string
	Chainage float64
	At       orb.Point
	Along    float64 // metres along the route
	Inward   bool
	Gate     string // id of a gate it passes through, else ""
}

// Delay is an obstacle that is passed in some time.
type Delay struct {
	Obstacle string
	Seconds  float64
	Along    float64 // metres along the route
}

// Find returns for each asset of the scene the route from outside that the
// sensors are least likely to detect: one that crosses no footprint where there
// is one. The error is that of the options, of a sensor, or the context's.
func Find(ctx context.Context, sc *scene.Scene, sensors []Sensor, o Options) (Result, error) {
	return find(ctx, groundOf(sc), sensors, o)
}

func find(ctx context.Context, s *ground, sensors []Sensor, o Options) (Result, error) {
	o = o.withDefaults()
	if err := o.check(); err != nil {
		return Result{}, err
	}
	sensors, err := rated(sensors, o)
	if err != nil {
		return Result{}, err
	}
	out := Result{Person: o.Person}
	for _, a := range s.assets {
		out.Routes = append(out.Routes, Route{Asset: a.id})
	}
	b, ok := s.bound(sensors, 0)
	if !ok || len(s.assets) == 0 {
		return out, nil
	}
	b, _ = s.bound(sensors, math.Max(ringMargin, math.Max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])/100))
	w := newSearch(s, sensors, o, frameOf(b, o))
	out.Cell = w.cell
	return out, w.routes(ctx, out.Routes)
}

// ringMargin is how far outside everything a person starts, in metres. Chosen.
const ringMargin = 10

// search is one search for routes.
type search struct {
	frame
	site    *ground
	sensors []Sensor
	o       Options
	solid   *mask  // where buildings and impassable obstacles leave no place to stand
	blocks  *index // their outlines, and walls across passages too narrow for a person
	seen    *seen
	goals   []goal
}

// thick is how near to an outline, in bits, a bit is blocked: more than half, so
// that no step from bit to bit passes through a wall.
const thick = 0.58

// gap is how far, in metres, a route keeps from outlines: what a step between
// two free bits does at least.
func (f frame) gap() float64 { return f.bit() / 4 }

func newSearch(s *ground, sensors []Sensor, o Options, f frame) *search {
	w := &search{frame: f, site: s, sensors: sensors, o: o}
	edges := s.blocks()
	edges = append(edges, newIndex(edges, f.bound()).closers(o.Person)...)
	w.blocks = newIndex(edges, f.bound())
	w.solid = newMask(f)
	for _, e := range edges {
		w.solid.line(e, thick*f.bit())
	}
	w.seen = newSeen(sensors, f.bound())
	for _, a := range s.assets {
		w.goals = append(w.goals, newGoal(a, w.solid, s, w.blocks, o.Person/2))
	}
	return w
}

// routes fills in the routes: those that cross no footprint first, then for the
// other assets the least detected.
func (w *search) routes(ctx context.Context, routes []Route) error {
	left := make([]int, len(routes))
	for i := range left {
		left[i] = i
	}
	m := newMarch(w.frame)
	if err := w.unseen(ctx, m, routes, &left); err != nil || len(left) == 0 {
		return err
	}
	m.lay(w.solid, float32(w.o.Base*w.cell), func(cost []float32, width int) {
		rates(w.frame, w.sensors, w.cell, cost, width)
	})
	if err := w.march(ctx, m, w.o.Base*w.cell*0.7, left); err != nil {
		return err
	}
	for _, i := range left {
		g := &w.goals[i]
		line := w.follow(m, g)
		if line == nil {
			continue
		}
		r := w.rope(w.blocks, w.seen, g)
		_, _, _, marched := g.best(m)
		line = w.refine(ctx, r, r.tight(line, w.cell, marched))
		w.describe(&routes[i], line)
		routes[i].Marched = marched
	}
	return nil
}

// unseen fills in the routes that cross no footprint and takes them off the
// list.
func (w *search) unseen(ctx context.Context, m *march, routes []Route, left *[]int) error {
	edges := append([]edge(nil), w.blocks.edges...)
	for _, e := range w.seen.edges {
		edges = append(edges, edge{e.a, e.b, -1})
	}
	k := w.solid.clone()
	both := newIndex(edges, w.bound())
	narrow := both.closers(w.o.Person)
	for _, e := range append(edges[len(w.blocks.edges):], narrow...) {
		k.line(e, thick*w.bit())
	}
	blocks := newIndex(append(edges, narrow...), w.bound())
	m.lay(k, float32(w.cell), nil)
	w.begin(m, w.cell*0.7)
	m.flood()
	if !slices.ContainsFunc(*left, func(i int) bool {
		_, _, _, cost := w.goals[i].best(m)
		return cost == 0
	}) {
		return ctx.Err() // as a rule there is no such way, and a flood tells so faster than a march
	}
	if err := w.march(ctx, m, w.cell*0.7, *left); err != nil {
		return err
	}
	rest := (*left)[:0]
	for _, i := range *left {
		g := &w.goals[i]
		line := w.follow(m, g)
		if line == nil {
			rest = append(rest, i)
			continue
		}
		routes[i].Undetected = true
		w.describe(&routes[i], w.rope(blocks, nil, g).pull(line))
		_, _, _, length := g.best(m)
		routes[i].Marched = length * w.o.Base
	}
	*left = rest
	return nil
}

// march spreads costs from the ring of outermost cells until all goals have
// theirs.
func (w *search) march(ctx context.Context, m *march, quantum float64, goals []int) error {
	w.begin(m, quantum)
	var wanted []*goal
	for _, i := range goals {
		wanted = append(wanted, &w.goals[i])
	}
	return m.run(ctx, w.settled(m, wanted))
}

// begin makes the ring of outermost cells the sources.
func (w *search) begin(m *march, quantum float64) {
	m.begin(quantum)
	for c := range w.cols {
		m.source(m.cellOf(c, 0))
		m.source(m.cellOf(c, w.rows-1))
	}
	for r := 1; r < w.rows-1; r++ {
		m.source(m.cellOf(0, r))
		m.source(m.cellOf(w.cols-1, r))
	}
}

// settled says when all goals have their costs.
func (w *search) settled(m *march, goals []*goal) func(float64) bool {
	return func(settled float64) bool {
		for _, g := range goals {
			if _, _, _, cost := g.best(m); !(cost < settled) {
				return false
			}
		}
		return true
	}
}

func (w *search) rope(blocks *index, s *seen, g *goal) *rope {
	b := w.bound().Pad(-w.cell / 2)
	corners := [5]orb.Point{b.Min, {b.Max[0], b.Min[1]}, b.Max, {b.Min[0], b.Max[1]}, b.Min}
	ring := outline(nil, corners[:], false, 0)
	return &rope{blocks: blocks, gap: w.gap(), seen: s, reach: graze, base: w.o.Base, size: 4 * w.cell,
		first: func(p orb.Point) orb.Point { return onto(p, ring) }, last: g.hold}
}

// graze is how near to a footprint, in metres, a route that is sought counts as
// inside it, so that rounding its coordinates cannot turn a line along an edge
// into one within. Chosen.
const graze = 0.001

// follow returns a line that can be walked to a goal; nil where there is none.
func (w *search) follow(m *march, g *goal) orb.LineString {
	node, x, y, cost := g.best(m)
	if node == noNode || math.IsInf(cost, 1) {
		return nil
	}
	line := m.descend(w.frame, node, x, y)
	if end := g.hold(line[0]); end != line[0] && w.blocks.clear(end, line[0], w.gap()) {
		line = append(orb.LineString{end}, line...)
	}
	line.Reverse()
	return line
}

// describe measures a route on the true outlines.
func (w *search) describe(r *Route, line orb.LineString) {
	r.Reached, r.Line = true, line
	at := 0.0
	open := map[int32]int{} // the last pass of a sensor
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		l := dist(a, b)
		for _, x := range w.seen.exactly(a, b) {
			from, to := at+x.from*l, at+x.to*l
			cost := w.sensors[x.sensor].Rate * (to - from)
			r.Cost += cost
			if k, ok := open[x.sensor]; ok && from-r.Passes[k].To < 1e-6 {
				r.Passes[k].To = to
				r.Passes[k].Cost += cost
				continue
			}
			open[x.sensor] = len(r.Passes)
			r.Passes = append(r.Passes, Pass{w.sensors[x.sensor].ID, from, to, cost})
		}
		at += l
	}
	r.Length = at
	r.Detection = Probability(r.Cost)
	sortBy(r.Passes, func(p Pass) float64 { return p.From })
	w.crossings(r)
	w.delays(r)
	r.Narrow = w.narrowest(r)
}
