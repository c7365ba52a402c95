package wayin

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// rope pulls a line tight: it lowers its cost on the true outlines while it
// stays clear of what stops a person.
type rope struct {
	blocks *index  // what the line keeps clear of
	gap    float64 // metres by which it does
	seen   *seen   // nil: the shortest line is sought
	reach  float64 // metres: what comes this near to a footprint counts as inside, so that the line does not run along an edge
	base   float64 // cost a metre
	first  func(orb.Point) orb.Point
	last   func(orb.Point) orb.Point
	size   float64 // metres, first move that is tried

	line  orb.LineString
	cost  []float64   // of the piece before each point
	moves []orb.Point // kept between calls
}

// wallCost is the cost of a piece that cannot be walked, far above any other.
const wallCost = 1e9

// between returns the cost of a straight piece.
func (r *rope) between(a, b orb.Point) float64 {
	if a == b {
		return 0
	}
	if !r.blocks.clear(a, b, r.gap) {
		return wallCost
	}
	c := r.base * dist(a, b)
	if r.seen != nil {
		c += r.seen.cost(a, b, r.reach)
	}
	return c
}

func (r *rope) total() float64 {
	sum := 0.0
	for _, c := range r.cost {
		sum += c
	}
	return sum
}

// measure returns the cost of a line.
func (r *rope) measure(l orb.LineString) float64 {
	r.set(l)
	return r.total()
}

// set takes a line and measures its pieces.
func (r *rope) set(l orb.LineString) {
	r.line = l
	r.cost = make([]float64, len(l))
	for i := 1; i < len(l); i++ {
		r.cost[i] = r.between(l[i-1], l[i])
	}
}

// tight returns a line found on cells of the given size pulled tight, where it
// is said to cost so much. Straightened first, a line that runs along a
// footprint's edge can lose its way, for on cells it runs partly within; when it
// then costs more than it should, its bends are first moved clear of the edges.
func (r *rope) tight(l orb.LineString, cell, cost float64) orb.LineString {
	out := r.pull(l)
	best := r.total()
	if best <= cost {
		return out
	}
	r.set(thin(l, 0.7*cell))
	for size := 2 * cell; size > cell/3; size /= 2 {
		r.bend(cell)
		r.shift(size)
	}
	if other := r.pull(r.line); r.total() < best {
		return other
	}
	return out
}

// thin leaves out points as long as the line stays within off of what it was.
func thin(l orb.LineString, off float64) orb.LineString {
	if len(l) < 3 {
		return l
	}
	k, far := 0, off
	for i, p := range l {
		if d := dist(p, foot(p, l[0], l[len(l)-1])); d > far {
			k, far = i, d
		}
	}
	if k == 0 {
		return orb.LineString{l[0], l[len(l)-1]}
	}
	a := thin(l[:k+1], off)
	return append(a[:len(a)-1:len(a)-1], thin(l[k:], off)...)
}

// pull returns a line pulled tight.
func (r *rope) pull(l orb.LineString) orb.LineString {
	r.set(l)
	r.straighten()
	for size := 16 * r.size; size > least; size /= 2 {
		r.bend(math.Min(size, r.size))
		if size <= r.size {
			r.shift(size)
		}
		r.drop()
		r.slide(size)
	}
	r.drop()
	return r.line
}

// least is the smallest move that is tried, in metres. Chosen.
const least = 0.001

// straighten replaces stretches of the line by straight ones that cost no more.
func (r *rope) straighten() {
	sum := make([]float64, len(r.line))
	for i := 1; i < len(sum); i++ {
		sum[i] = sum[i-1] + r.cost[i]
	}
	out := orb.LineString{r.line[0]}
	var do func(i, j int)
	do = func(i, j int) {
		if j-i > 1 && !(r.between(r.line[i], r.line[j]) <= sum[j]-sum[i]) {
			k, far := (i+j)/2, 0.0
			for n := i + 1; n < j; n++ {
				if d := dist(r.line[n], foot(r.line[n], r.line[i], r.line[j])); d > far {
					k, far = n, d
				}
			}
			do(i, k)
			do(k, j)
			return
		}
		out = append(out, r.line[j])
	}
	if len(r.line) > 1 {
		do(0, len(r.line)-1)
	}
	r.set(out)
}

// bend makes points where a least line may have a bend: where it enters or
// leaves a footprint, and beside corners that lie within size of it.
func (r *rope) bend(size float64) {
	out := orb.LineString{r.line[0]}
	var cuts []float64
	for i := 1; i < len(r.line); i++ {
		a, b := r.line[i-1], r.line[i]
		l := dist(a, b)
		cuts = cuts[:0]
		if r.seen != nil {
			for _, x := range r.seen.along(a, b, r.reach) {
				cuts = append(cuts, x.from, x.to)
			}
			cuts = corners(cuts, r.seen.index, a, b, size)
		}
		cuts = corners(cuts, r.blocks, a, b, size)
		slices.Sort(cuts)
		at := 0.0
		for _, t := range cuts {
			if (t-at)*l > 0.02 && (1-t)*l > 0.02 {
				out = append(out, mix(a, b, t))
				at = t
			}
		}
		out = append(out, b)
	}
	r.set(out)
}

// corners appends where the line from a to b passes corners within size of it,
// as fractions: as many as make a difference.
func corners(out []float64, x *index, a, b orb.Point, size float64) []float64 {
	const most = 8
	d := sub(b, a)
	l := dot(d, d)
	for _, i := range x.near(a, b, size) {
		p := x.edges[i].a
		if t := dot(sub(p, a), d) / l; t > 0 && t < 1 && dist(p, mix(a, b, t)) < size {
			if out = append(out, t); len(out) > most {
				break
			}
		}
	}
	return out
}

// drop takes out points that save nothing, or less than walking a millimetre
// costs.
func (r *rope) drop() {
	for i := 1; i+1 < len(r.line); {
		c := r.between(r.line[i-1], r.line[i+1])
		if c <= r.cost[i]+r.cost[i+1]+r.base*least {
			r.line = slices.Delete(r.line, i, i+1)
			r.cost = slices.Delete(r.cost, i, i+1)
			r.cost[i] = c
			i = max(i-1, 1)
			continue
		}
		i++
	}
}

// shift moves points by size, again and again, as long as that saves something.
func (r *rope) shift(size float64) {
	const rounds = 30
	n := len(r.line)
	still := make([]bool, n) // neither the point nor its neighbours have moved since it was tried
	for range rounds {
		moved := false
		for i := range n {
			if still[i] {
				continue
			}
			still[i] = true
			for range 8 {
				if !r.shiftOne(i, size) {
					break
				}
				moved = true
				still[max(i-1, 0)], still[min(i+1, n-1)] = false, false
			}
		}
		if !moved {
			return
		}
	}
}

// shiftOne moves point i to the best of the places round it, if that is better:
// eight ways, and along the edges of footprints that run there.
func (r *rope) shiftOne(i int, size float64) bool {
	at := r.line[i]
	n := len(r.line)
	best, to := r.around(i), at
	best -= slack * size * best / math.Max(r.beside(i), size)
	var before, after float64
	for _, v := range r.ways(i, size, true) {
		p := r.held(i, orb.Point{at[0] + v[0], at[1] + v[1]})
		c, d := 0.0, 0.0
		if i > 0 {
			if c = r.between(r.line[i-1], p); c >= best {
				continue
			}
		}
		if i < n-1 {
			d = r.between(p, r.line[i+1])
		}
		if c+d < best {
			best, to, before, after = c+d, p, c, d
		}
	}
	if to == at {
		return false
	}
	r.line[i] = to
	if i > 0 {
		r.cost[i] = before
	}
	if i < n-1 {
		r.cost[i+1] = after
	}
	return true
}

// held returns where point i comes to be when it is moved to p: the ends of the
// line stay where it may start and end.
func (r *rope) held(i int, p orb.Point) orb.Point {
	switch i {
	case 0:
		return r.first(p)
	case len(r.line) - 1:
		return r.last(p)
	}
	return p
}

// ways returns moves of a point by size: along the edges of footprints that run
// there, and with round eight ways.
func (r *rope) ways(i int, size float64, round bool) []orb.Point {
	out := r.moves[:0]
	if round {
		for k := range 8 {
			sin, cos := math.Sincos(float64(k)*math.Pi/4 + 0.2)
			out = append(out, orb.Point{size * cos, size * sin})
		}
	}
	if r.seen != nil {
		at := r.line[i]
		for _, e := range r.seen.near(at, at, 2*r.reach) {
			g := &r.seen.edges[e]
			if dist(at, foot(at, g.a, g.b)) > 2*r.reach {
				continue
			}
			d := sub(g.b, g.a)
			l := size / math.Hypot(d[0], d[1])
			if out = append(out, orb.Point{l * d[0], l * d[1]}, orb.Point{-l * d[0], -l * d[1]}); len(out) > 24 {
				break
			}
		}
	}
	r.moves = out
	return out
}

// slide moves pieces of the line sideways, both ends alike, as long as that
// saves something: the crossing of a strip can be anywhere along it, but only a
// piece as a whole can be moved there.
func (r *rope) slide(size float64) {
	if r.seen == nil {
		return
	}
	for i := 1; i+2 < len(r.line); i++ {
		for left := 200; left > 0 && r.slideOne(i, size); left-- {
		}
	}
}

func (r *rope) slideOne(i int, size float64) bool {
	old := r.cost[i] + r.cost[i+1] + r.cost[i+2]
	for k := i; k <= i+1; k++ {
		for _, v := range r.ways(k, size, false) {
			p := orb.Point{r.line[i][0] + v[0], r.line[i][1] + v[1]}
			q := orb.Point{r.line[i+1][0] + v[0], r.line[i+1][1] + v[1]}
			c := r.between(p, q)
			if c >= old {
				continue
			}
			b, d := r.between(r.line[i-1], p), r.between(q, r.line[i+2])
			if b+c+d < old-slack*size*r.base {
				r.line[i], r.line[i+1] = p, q
				r.cost[i], r.cost[i+1], r.cost[i+2] = b, c, d
				return true
			}
		}
	}
	return false
}

// slack is how small a slope, as a share of the mean cost a metre on both sides
// of a point, is not followed any more. Chosen.
const slack = 0.01

// beside returns the length of the pieces on both sides of point i.
func (r *rope) beside(i int) float64 {
	l := 0.0
	if i > 0 {
		l += dist(r.line[i-1], r.line[i])
	}
	if i < len(r.line)-1 {
		l += dist(r.line[i], r.line[i+1])
	}
	return l
}

// around returns the cost of the pieces on both sides of point i.
func (r *rope) around(i int) float64 {
	c := 0.0
	if i > 0 {
		c += r.cost[i]
	}
	if i < len(r.line)-1 {
		c += r.cost[i+1]
	}
	return c
}
