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

	line orb.LineString
	cost []float64 // of the piece before each point
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

// set takes a line and measures its pieces.
func (r *rope) set(l orb.LineString) {
	r.line = l
	r.cost = make([]float64, len(l))
	for i := 1; i < len(l); i++ {
		r.cost[i] = r.between(l[i-1], l[i])
	}
}

// pull returns the line pulled tight.
func (r *rope) pull(l orb.LineString) orb.LineString {
	r.set(l)
	r.straighten()
	best := r.total()
	for size, left := r.size, 300; left > 0; left-- {
		r.bend()
		r.shift(size)
		r.drop()
		now := r.total()
		if best-now < 1e-4*best {
			if size < 0.004 {
				return r.line
			}
			size /= 2
		}
		best = now
	}
	return r.line
}

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

// bend makes a point wherever the line enters or leaves a footprint, for there
// a least line may have a bend.
func (r *rope) bend() {
	if r.seen == nil {
		return
	}
	out := orb.LineString{r.line[0]}
	var cuts []float64
	for i := 1; i < len(r.line); i++ {
		a, b := r.line[i-1], r.line[i]
		l := dist(a, b)
		cuts = cuts[:0]
		for _, x := range r.seen.along(a, b, r.reach) {
			cuts = append(cuts, x.from, x.to)
		}
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

// drop takes out points that save nothing.
func (r *rope) drop() {
	for i := 1; i+1 < len(r.line); {
		c := r.between(r.line[i-1], r.line[i+1])
		if c <= r.cost[i]+r.cost[i+1]+1e-12 {
			r.line = slices.Delete(r.line, i, i+1)
			r.cost = slices.Delete(r.cost, i, i+1)
			r.cost[i] = c
			i = max(i-1, 1)
			continue
		}
		i++
	}
}

// shift moves each point by about size where that saves something: eight ways
// round, and along the footprint's edge that runs there.
func (r *rope) shift(size float64) {
	for i := range r.line {
		for range 8 { // as long as it gets better
			if !r.shiftOne(i, size) {
				break
			}
		}
	}
}

func (r *rope) shiftOne(i int, size float64) bool {
	at := r.line[i]
	n := len(r.line)
	best, to := r.around(i, at), at
	var before, after float64
	try := func(p orb.Point) {
		switch {
		case i == 0:
			p = r.first(p)
		case i == n-1:
			p = r.last(p)
		}
		c, d := 0.0, 0.0
		if i > 0 {
			if c = r.between(r.line[i-1], p); c >= best {
				return
			}
		}
		if i < n-1 {
			d = r.between(p, r.line[i+1])
		}
		if c+d < best-1e-13 {
			best, to, before, after = c+d, p, c, d
		}
	}
	for k := range 8 {
		sin, cos := math.Sincos(float64(k)*math.Pi/4 + 0.2)
		try(orb.Point{at[0] + size*cos, at[1] + size*sin})
	}
	if r.seen != nil {
		for n, e := range slices.Clone(r.seen.near(at, at, 2*r.reach)) {
			g := &r.seen.edges[e]
			if n > 16 || dist(at, foot(at, g.a, g.b)) > 2*r.reach {
				continue
			}
			d := sub(g.b, g.a)
			l := math.Hypot(d[0], d[1])
			for _, s := range [2]float64{size, -size} {
				try(orb.Point{at[0] + s*d[0]/l, at[1] + s*d[1]/l})
			}
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

// around returns the cost of the pieces on both sides of point i.
func (r *rope) around(i int, p orb.Point) float64 {
	c := 0.0
	if i > 0 {
		c += r.cost[i]
	}
	if i < len(r.line)-1 {
		c += r.cost[i+1]
	}
	return c
}
