package wayin

import (
	"container/heap"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// oracle finds least routes on a dense graph of straight links, each measured
// by testing every edge of every outline. It shares no geometry with the
// package.
type oracle struct {
	s       *ground
	sensors []Sensor
	nodes   []orb.Point
	source  []bool
}

// meet returns where two segments cross, as fractions of the first.
func meet(a, b, c, d orb.Point) (t float64, ok bool) {
	den := (b[0]-a[0])*(d[1]-c[1]) - (b[1]-a[1])*(d[0]-c[0])
	if den == 0 {
		return 0, false
	}
	t = ((c[0]-a[0])*(d[1]-c[1]) - (c[1]-a[1])*(d[0]-c[0])) / den
	u := ((c[0]-a[0])*(b[1]-a[1]) - (c[1]-a[1])*(b[0]-a[0])) / den
	return t, t >= 0 && t <= 1 && u >= 0 && u <= 1
}

func pieces(g orb.Polygon) [][2]orb.Point {
	var out [][2]orb.Point
	for _, r := range g {
		for i := 1; i < len(r); i++ {
			out = append(out, [2]orb.Point{r[i-1], r[i]})
		}
	}
	return out
}

// link returns the cost of a straight line, +Inf through a wall.
func (o *oracle) link(a, b orb.Point) float64 {
	for _, w := range o.s.walls {
		for i := 1; i < len(w.line); i++ {
			if _, hit := meet(a, b, w.line[i-1], w.line[i]); hit {
				return math.Inf(1)
			}
		}
	}
	for _, w := range o.s.solids {
		if !(orb.MultiPoint{a, b}).Bound().Intersects(w.shape.Bound()) {
			continue
		}
		for _, e := range pieces(w.shape) {
			if _, hit := meet(a, b, e[0], e[1]); hit {
				return math.Inf(1)
			}
		}
	}
	l := math.Hypot(b[0]-a[0], b[1]-a[1])
	sum := 1e-6 * l
	box := orb.MultiPoint{a, b}.Bound()
	for _, s := range o.sensors {
		for _, g := range s.Shape {
			if !box.Intersects(g.Bound()) {
				continue
			}
			ts := []float64{0, 1}
			for _, e := range pieces(g) {
				if t, hit := meet(a, b, e[0], e[1]); hit {
					ts = append(ts, t)
				}
			}
			sortFloats(ts)
			for i := 1; i < len(ts); i++ {
				m := (ts[i-1] + ts[i]) / 2
				if ts[i] > ts[i-1] && planar.PolygonContains(g, orb.Point{a[0] + m*(b[0]-a[0]), a[1] + m*(b[1]-a[1])}) {
					sum += s.Rate * (ts[i] - ts[i-1]) * l
				}
			}
		}
	}
	return sum
}

func sortFloats(v []float64) {
	for i := range v {
		for k := i; k > 0 && v[k] < v[k-1]; k-- {
			v[k], v[k-1] = v[k-1], v[k]
		}
	}
}

type item struct {
	cost float64
	node int
}
type items []item

func (h items) Len() int           { return len(h) }
func (h items) Less(i, k int) bool { return h[i].cost < h[k].cost }
func (h items) Swap(i, k int)      { h[i], h[k] = h[k], h[i] }
func (h *items) Push(x any)        { *h = append(*h, x.(item)) }
func (h *items) Pop() any {
	n := len(*h) - 1
	x := (*h)[n]
	*h = (*h)[:n]
	return x
}

// least returns the cost of the least route from a source to p.
func (o *oracle) path(p orb.Point, reach float64) (float64, orb.LineString) {
	from := make([]int, len(o.nodes))
	last := -1
	cost := make([]float64, len(o.nodes))
	for i := range cost {
		cost[i] = math.Inf(1)
	}
	best := math.Inf(1)
	h := &items{}
	for i, s := range o.source {
		if s {
			cost[i] = 0
			heap.Push(h, item{0, i})
		}
	}
	for h.Len() > 0 {
		x := heap.Pop(h).(item)
		if x.cost > cost[x.node] || x.cost >= best {
			continue
		}
		a := o.nodes[x.node]
		if dist(a, p) <= reach {
			if c := x.cost + o.link(a, p); c < best {
				best, last = c, x.node
			}
		}
		for k, b := range o.nodes {
			if d := dist(a, b); d > reach || cost[k] <= x.cost {
				continue
			}
			if c := x.cost + o.link(a, b); c < cost[k] {
				cost[k], from[k] = c, x.node
				heap.Push(h, item{c, k})
			}
		}
	}
	line := orb.LineString{p}
	for ; last >= 0; last = from[last] {
		line = append(line, o.nodes[last])
		if o.source[last] {
			break
		}
	}
	line.Reverse()
	return best, line
}

// small is a random scene on 40 m x 40 m with an asset near its middle: up to
// three boxes and three walls, a ring of five footprints and up to three more.
func small(seed uint64) (*ground, []Sensor) {
	const k = 2.5 // metres a unit below
	r := rand.New(rand.NewPCG(seed, 77))
	s := &ground{assets: []asset{{"A", orb.Point{7 + 2*r.Float64(), 7 + 2*r.Float64()}}}}
	at := s.assets[0].at.(orb.Point)
	turned := func(x, y, w, h, a float64) orb.Polygon {
		sin, cos := math.Sincos(a)
		p := orb.Polygon{nil}
		for _, c := range [5][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}, {-1, -1}} {
			u, v := c[0]*w/2, c[1]*h/2
			p[0] = append(p[0], orb.Point{x + cos*u - sin*v, y + sin*u + cos*v})
		}
		return p
	}
	for range r.IntN(4) {
		p := turned(16*r.Float64(), 16*r.Float64(), 1+4*r.Float64(), 1+4*r.Float64(), 7*r.Float64())
		if !planar.PolygonContains(p, at) && dist(at, onto(at, rings(nil, p, 0))) > 0.3 {
			s.solids = append(s.solids, solid{"H", p})
		}
	}
	for range r.IntN(4) {
		x, y, a := 16*r.Float64(), 16*r.Float64(), 7*r.Float64()
		l := orb.LineString{{x, y}}
		for range 1 + r.IntN(3) {
			x, y, a = x+4*math.Cos(a), y+4*math.Sin(a), a+2*r.Float64()-1
			l = append(l, orb.Point{x, y})
		}
		if dist(at, onto(at, outline(nil, l, false, 0))) > 0.3 {
			s.walls = append(s.walls, wall{"F", l})
		}
	}
	var sensors []Sensor
	// A ring of footprints round the asset, so that few scenes are free.
	for k := range 5 {
		a := float64(k)*2*math.Pi/5 + 0.5*r.Float64()
		p := turned(at[0]+4*math.Cos(a), at[1]+4*math.Sin(a), 2+3*r.Float64(), 4+3*r.Float64(), a+0.6*r.Float64()-0.3)
		sensors = append(sensors, Sensor{ID: fmt.Sprint("S", k), Shape: orb.MultiPolygon{p}, Rate: 0.02 + 0.12*r.Float64()})
	}
	for k := range r.IntN(4) {
		sensors = append(sensors, Sensor{ID: fmt.Sprint("T", k), Rate: 0.02 + 0.2*r.Float64(),
			Shape: orb.MultiPolygon{sector(orb.Point{16 * r.Float64(), 16 * r.Float64()}, 7*r.Float64(), 1, 1, 4+6*r.Float64())}})
	}
	scale := func(l []orb.Point) {
		for i := range l {
			l[i] = orb.Point{k * l[i][0], k * l[i][1]}
		}
	}
	for _, p := range s.solids {
		scale(p.shape[0])
	}
	for _, w := range s.walls {
		scale(w.line)
	}
	for _, d := range sensors {
		scale(d.Shape[0][0])
	}
	s.assets[0].at = orb.Point{k * at[0], k * at[1]}
	return s, sensors
}

func newOracle(s *ground, sensors []Sensor) *oracle {
	o := &oracle{s: s, sensors: sensors}
	add := func(p orb.Point, source bool) {
		o.nodes = append(o.nodes, p)
		o.source = append(o.source, source)
	}
	b, _ := s.bound(sensors, 2)
	const step = 1.25
	for x := b.Min[0]; x <= b.Max[0]; x += step {
		for y := b.Min[1]; y <= b.Max[1]; y += step {
			p := orb.Point{x, y}
			in := false
			for _, w := range s.solids {
				in = in || planar.PolygonContains(w.shape, p)
			}
			if !in {
				add(p, x == b.Min[0] || y == b.Min[1] || x+step > b.Max[0] || y+step > b.Max[1])
			}
		}
	}
	near := func(g [][2]orb.Point, off, every float64) {
		for _, e := range g {
			l := dist(e[0], e[1])
			n := orb.Point{(e[1][1] - e[0][1]) / l * off, -(e[1][0] - e[0][0]) / l * off}
			u := orb.Point{(e[1][0] - e[0][0]) / l * off, (e[1][1] - e[0][1]) / l * off}
			for k := 0.0; k < l; k += every {
				p := mix(e[0], e[1], k/l)
				add(orb.Point{p[0] + n[0], p[1] + n[1]}, false)
				add(orb.Point{p[0] - n[0], p[1] - n[1]}, false)
			}
			for _, c := range [2]struct {
				p orb.Point
				s float64
			}{{e[0], -1}, {e[1], 1}} {
				for _, m := range [2]float64{-1, 1} {
					add(orb.Point{c.p[0] + c.s*u[0] + m*n[0], c.p[1] + c.s*u[1] + m*n[1]}, false)
				}
			}
		}
	}
	for _, d := range sensors {
		for _, g := range d.Shape {
			near(pieces(g), 0.005, 1.25)
		}
	}
	for _, w := range s.solids {
		near(pieces(w.shape), 0.05, 1000)
	}
	for _, w := range s.walls {
		for i := 1; i < len(w.line); i++ {
			near([][2]orb.Point{{w.line[i-1], w.line[i]}}, 0.05, 1000)
		}
	}
	return o
}

func TestRouteIsAsCheapAsADenseAnyAngleGraphFinds(t *testing.T) {
	seeds := []uint64{324, 9, 161, 383, 2, 6, 8, 13, 17, 20, 33, 358}
	if testing.Short() {
		seeds = seeds[:4]
	}
	// Scenes that cannot be met, and why: of 450 scenes 4 were beyond 1 %.
	beyond := map[uint64]float64{
		20:  1.02,
		383: 1.06, // the graph squeezes through between corners a few centimetres apart
	}
	for _, seed := range seeds {
		s, sensors := small(seed)
		r := must(t, s, sensors, Options{}).Routes[0]
		o := newOracle(s, sensors)
		if !r.Reached {
			t.Errorf("seed %d: not reached", seed)
			continue
		}
		own := 0.0 // the route's cost, measured by the graph's means
		for i := 1; i < len(r.Line); i++ {
			own += o.link(r.Line[i-1], r.Line[i])
		}
		if got := r.Cost + 1e-6*r.Length; !(math.Abs(own-got) < 1e-9) {
			t.Errorf("seed %d: cost is said to be %.9f, the line's own is %.9f", seed, got, own)
		}
		want, _ := o.path(s.assets[0].at.(orb.Point), 7.5)
		most := 1.01
		if b, ok := beyond[seed]; ok {
			most = b
		}
		if r.Cost > most*want+1e-4 {
			t.Errorf("seed %d: route costs %.5f, the graph finds %.5f (%+.2f %%); fast marching %.5f", seed, r.Cost, want, 100*(r.Cost/want-1), r.Marched)
		}
		if r.Undetected && r.Cost != 0 {
			t.Errorf("seed %d: undetected at a cost of %v", seed, r.Cost)
		}
	}
}

func TestCellsDoNotDecideWhetherAnAssetIsReached(t *testing.T) {
	for seed := uint64(155); seed < 170; seed++ {
		s, sensors := small(seed)
		for _, cell := range []float64{0.25, 0.3} {
			if r := must(t, s, sensors, Options{Cell: cell}).Routes[0]; !r.Reached {
				t.Errorf("seed %d, cell %v: not reached", seed, cell)
			}
		}
	}
}
