package wayin

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Sensor is a sensor as the search sees it.
type Sensor struct {
	ID    string
	Shape orb.MultiPolygon // its footprint on the site grid; parts do not overlap
	Rate  float64          // detection rate a metre within it, see Rate; 0 stands for that of the options
}

// outlines appends the edges of a footprint.
func (s *Sensor) outlines(out []edge, owner int) []edge {
	for _, p := range s.Shape {
		out = rings(out, p, owner)
	}
	return out
}

// seen measures lines against the footprints.
type seen struct {
	sensors []Sensor
	*index
	inside [][]int32 // of each bucket: the sensors whose footprints hold its anchor

	known  [4]held // places asked for lately: a line that is pulled asks for the same ones over and over
	oldest int
	events []event // kept between calls, like all below
	state  []int32
	out    []stretch
	cuts   []float64
}

// held is a place and the sensors whose footprints hold it.
type held struct {
	p       orb.Point
	sensors []int32
	ok      bool
}

// event is what happens to one sensor along a line: its outline is crossed, or
// runs within reach from t to end.
type event struct {
	sensor int32
	t, end float64
	cross  bool
}

// stretch is a part of a line, as fractions of it, inside a footprint.
type stretch struct {
	sensor   int32
	from, to float64
}

func newSeen(sensors []Sensor, b orb.Bound) *seen {
	var edges []edge
	start := []int{0}
	for i, s := range sensors {
		edges = s.outlines(edges, i)
		start = append(start, len(edges))
	}
	s := &seen{sensors: sensors, index: newIndex(edges, b)}
	s.inside = make([][]int32, s.cols*s.rows)
	// The anchors of one row of buckets lie on the middle line of a row of bits,
	// when the buckets are taken as bits.
	f := frame{at: orb.Point{s.at[0] - s.size*anchorShift, s.at[1] - s.size*anchorShift}, cell: s.size * fine, cols: s.cols/fine + 1, rows: s.rows/fine + 1}
	for i := range sensors {
		spans(f, edges[start[i]:start[i+1]], func(y int, x0, x1 float64) {
			if y >= s.rows {
				return
			}
			for c := max(int(math.Ceil((x0-s.at[0])/s.size-.5+anchorShift)), 0); c < s.cols; c++ {
				if s.anchor(c, y)[0] > x1 {
					break
				}
				k := y*s.cols + c
				s.inside[k] = append(s.inside[k], int32(i))
			}
		})
	}
	return s
}

// anchorShift moves the anchors off the middles of buckets, where a drawn
// corner is likelier to lie.
const anchorShift = 0.0137

// anchor returns the place of a bucket whose footprints are known.
func (s *seen) anchor(c, r int) orb.Point {
	return orb.Point{s.at[0] + (float64(c)+.5-anchorShift)*s.size, s.at[1] + (float64(r)+.5-anchorShift)*s.size}
}

// holding returns the sensors whose footprints hold p, counted by the outlines
// between it and its bucket's anchor. The slice holds for the next three calls.
func (s *seen) holding(p orb.Point) []int32 {
	for i := range s.known {
		if k := &s.known[i]; k.ok && k.p == p {
			return k.sensors
		}
	}
	k := &s.known[s.oldest]
	s.oldest = (s.oldest + 1) % len(s.known)
	c, r := s.col(p[0]), s.row(p[1])
	s.state = append(s.state[:0], s.inside[r*s.cols+c]...)
	a := s.anchor(c, r)
	for _, i := range s.near(a, p, 0) {
		if e := &s.edges[i]; crosses(a, p, e.a, e.b) {
			s.toggle(e.owner)
		}
	}
	k.p, k.ok, k.sensors = p, true, append(k.sensors[:0], s.state...)
	return k.sensors
}

func (s *seen) toggle(sensor int32) {
	if i := slices.Index(s.state, sensor); i >= 0 {
		s.state[i] = s.state[len(s.state)-1]
		s.state = s.state[:len(s.state)-1]
		return
	}
	s.state = append(s.state, sensor)
}

// cost returns the cost of the line from a to b: its length within each
// footprint times that sensor's rate. What comes within reach, in metres, of a
// footprint counts as inside it.
func (s *seen) cost(a, b orb.Point, reach float64) float64 {
	l := dist(a, b)
	if l == 0 {
		return 0
	}
	sum := 0.0
	for _, x := range s.along(a, b, reach) {
		sum += s.sensors[x.sensor].Rate * (x.to - x.from) * l
	}
	return sum
}

// along returns the stretches of the line from a to b inside footprints, by
// sensor, in order along it within each. The slice holds until the next call.
func (s *seen) along(a, b orb.Point, reach float64) []stretch {
	s.events = s.events[:0]
	d := sub(b, a)
	aside := (reach + 1e-9) * math.Hypot(d[0], d[1]) // both ends of an edge beyond it on one side: out of reach
	for _, i := range s.near(a, b, reach) {
		e := &s.edges[i]
		if u, v := cross(d, sub(e.a, a)), cross(d, sub(e.b, a)); u > aside && v > aside || u < -aside && v < -aside {
			continue
		}
		if reach > 0 {
			if lo, hi := capsule(a, d, e.a, e.b, reach); hi > 0 && lo < 1 {
				s.events = append(s.events, event{e.owner, math.Max(lo, 0), math.Min(hi, 1), false})
			}
		}
		if crosses(a, b, e.a, e.b) {
			g := sub(e.b, e.a)
			t := cross(sub(e.a, a), g) / cross(d, g)
			s.events = append(s.events, event{e.owner, math.Max(0, math.Min(1, t)), 0, true})
		}
	}
	slices.SortFunc(s.events, func(p, q event) int {
		if p.sensor != q.sensor {
			return cmp.Compare(p.sensor, q.sensor)
		}
		return cmp.Compare(p.t, q.t)
	})
	out := s.out[:0]
	start, end := s.holding(a), s.holding(b)
	sound := true
	for _, x := range start {
		if !slices.ContainsFunc(s.events, func(e event) bool { return e.sensor == x }) {
			out = append(out, stretch{x, 0, 1})
		}
	}
	for i := 0; i < len(s.events); {
		x := s.events[i].sensor
		n, in := i, slices.Contains(start, x)
		for n < len(s.events) && s.events[n].sensor == x {
			n++
		}
		out, in = s.one(out, s.events[i:n], in)
		sound = sound && in == slices.Contains(end, x)
		i = n
	}
	if !sound {
		out = append(out[:0], s.exactly(a, b)...)
	}
	s.out = out
	return out
}

// one appends the stretches of one sensor from its events in order and returns
// whether the line ends in its footprint.
func (s *seen) one(out []stretch, events []event, in bool) ([]stretch, bool) {
	x := events[0].sensor
	first := len(out)
	add := func(from, to float64) {
		if n := len(out); n > first && from <= out[n-1].to {
			out[n-1].to = math.Max(out[n-1].to, to)
			return
		}
		if to > from {
			out = append(out, stretch{x, from, to})
		}
	}
	since := 0.0
	for _, e := range events {
		switch {
		case !e.cross:
			if in { // what lies before must not be lost when the reach is merged
				add(since, e.t)
				since = e.t
			}
			add(e.t, e.end)
		case in:
			add(since, e.t)
			in = false
		default:
			since, in = e.t, true
		}
	}
	if in {
		add(since, 1)
	}
	return out, in
}

// exactly returns the stretches of the line from a to b inside footprints like
// along with no reach, but asks between all crossings what holds there instead
// of counting from the start: a crossing that is lost to rounding at an end of
// the line cannot turn the rest inside out.
func (s *seen) exactly(a, b orb.Point) []stretch {
	d := sub(b, a)
	s.cuts = append(s.cuts[:0], 0, 1)
	for _, i := range s.near(a, b, 1e-6) {
		e := &s.edges[i]
		g := sub(e.b, e.a)
		if den := cross(d, g); den != 0 {
			if t := cross(sub(e.a, a), g) / den; t > 0 && t < 1 {
				s.cuts = append(s.cuts, t)
			}
		}
	}
	slices.Sort(s.cuts)
	var out []stretch
	open := map[int32]int{} // where in out the sensor's last stretch is
	for i := 1; i < len(s.cuts); i++ {
		from, to := s.cuts[i-1], s.cuts[i]
		if to <= from {
			continue
		}
		for _, x := range s.holding(mix(a, b, (from+to)/2)) {
			if k, ok := open[x]; ok && out[k].to == from {
				out[k].to = to
				continue
			}
			open[x] = len(out)
			out = append(out, stretch{x, from, to})
		}
	}
	return out
}
