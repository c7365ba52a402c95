package terrain

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// A Knot is a point of the ground along a line.
type Knot struct {
	D float64 // metres from the start, horizontal
	H float64 // height of the ground, metres
}

// A Ray is the ground along a straight line. Its memory is used again by the
// next call it is handed to; the zero Ray is ready.
type Ray struct {
	// Knots are in order of distance, at least a micrometre apart, the first
	// at 0 and the last at the length asked for (one knot for a length of 0).
	// Between them the ground is straight to 5 mm.
	Knots []Knot
	// Unknown is the distance from which the line first runs over ground that
	// is not known (Grid.Known), infinite where it does nowhere.
	Unknown float64
}

const (
	// twistTolerance is the most a straight line between knots may leave the
	// bilinear ground, in metres. Chosen.
	twistTolerance = 0.005
	// bendTolerance is the most the straight path through the cells may leave
	// the true one, in cells. Chosen: a millimetre on cells of a metre.
	bendTolerance = 0.001
	// maxChords is the most straight parts a path is cut into, for lines so long
	// that the mapping means nothing on most of them.
	maxChords = 4096
	// together is the distance in metres within which knots are one.
	together = 1e-6
)

// Profile lays the ground along a line of length metres (finite) from a place in
// the direction (sin, cos) of a bearing clockwise from grid north: its knots are
// where the line crosses the lines between cell centres, and some between where
// the ground is twisted.
func (g *Grid) Profile(from orb.Point, sin, cos, length float64, ray *Ray) {
	ray.Knots, ray.Unknown = ray.Knots[:0], math.Inf(1)
	if g == nil {
		ray.Knots = append(ray.Knots, Knot{})
		if length > 0 {
			ray.Knots = append(ray.Knots, Knot{D: length})
		}
		return
	}
	col, row := g.m.along(from, sin, cos)
	n := 1
	if bend := math.Max(col.bend(length), row.bend(length)); bend*length*length > 8*bendTolerance {
		n = int(math.Min(math.Ceil(length*math.Sqrt(bend/(8*bendTolerance))), maxChords))
	}
	a := chordEnd{0, col[0], row[0]}
	ray.Knots = append(ray.Knots, Knot{0, g.at(clamp(a.c, g.w), clamp(a.r, g.h))})
	if !g.knownAt(a.c, a.r) {
		ray.Unknown = 0
	}
	for k := 1; k <= n; k++ {
		t := length * (float64(k) / float64(n))
		b := chordEnd{t, col.at(t), row.at(t)}
		g.chord(a, b, ray)
		a = b
	}
	if end := len(ray.Knots) - 1; length > 0 && ray.Knots[end].D != length {
		if end == 0 {
			ray.Knots, end = append(ray.Knots, Knot{}), 1
		}
		ray.Knots[end] = Knot{length, g.at(clamp(a.c, g.w), clamp(a.r, g.h))}
	}
}

// chordEnd is an end of a straight path through the cells.
type chordEnd struct{ t, c, r float64 }

// toward returns the point on the chord at distance t.
func (a chordEnd) toward(b chordEnd, t float64) chordEnd {
	s := (t - a.t) / (b.t - a.t)
	return chordEnd{t, a.c + s*(b.c-a.c), a.r + s*(b.r-a.r)}
}

// chord lays the ground along a straight path through the cells and beyond.
func (g *Grid) chord(a, b chordEnd, ray *Ray) {
	if !(b.t > a.t) {
		return
	}
	w, h := float64(g.w-1), float64(g.h-1)
	if ray.Unknown > b.t {
		if t := leaves(a, b, w, h); t < ray.Unknown {
			ray.Unknown = t
		}
	}
	if inside(a.c, w) && inside(b.c, w) && inside(a.r, h) && inside(b.r, h) {
		g.run(a, b, ray)
		return
	}
	// Where it crosses the outermost cell centres the ground bends: beyond them
	// it goes on level outwards.
	var cuts [4]float64
	n := 0
	for _, k := range [4][3]float64{{a.c, b.c, 0}, {a.c, b.c, w}, {a.r, b.r, 0}, {a.r, b.r, h}} {
		if (k[0] < k[2]) != (k[1] < k[2]) {
			t := a.t + (b.t-a.t)*((k[2]-k[0])/(k[1]-k[0]))
			i := n
			for ; i > 0 && cuts[i-1] > t; i-- {
				cuts[i] = cuts[i-1]
			}
			cuts[i] = t
			n++
		}
	}
	p := a
	for i := 0; i <= n; i++ {
		q := b
		if i < n {
			q = a.toward(b, cuts[i])
		}
		if q.t-p.t > together {
			// Both ends on one side of each limit, but for rounding.
			g.run(chordEnd{p.t, clamp(p.c, g.w), clamp(p.r, g.h)}, chordEnd{q.t, clamp(q.c, g.w), clamp(q.r, g.h)}, ray)
		}
		p = q
	}
}

func inside(v, most float64) bool { return v >= 0 && v <= most }

// leaves returns where a chord is first outside the cells, which reach half a
// cell beyond the outermost centres; infinite where it never is.
func leaves(a, b chordEnd, w, h float64) float64 {
	out := math.Inf(1)
	for _, k := range [2][3]float64{{a.c, b.c, w + 0.5}, {a.r, b.r, h + 0.5}} {
		switch {
		case !(k[0] >= -0.5 && k[0] <= k[2]):
			return a.t
		case k[1] > k[2]:
			out = math.Min(out, a.t+(b.t-a.t)*((k[2]-k[0])/(k[1]-k[0])))
		case !(k[1] >= -0.5):
			out = math.Min(out, a.t+(b.t-a.t)*((-0.5-k[0])/(k[1]-k[0])))
		}
	}
	return out
}

// axis is a straight path's way across the lines of one direction.
type axis struct {
	at   int     // the square it is in: between lines at and at+1
	step int     // 1 or -1
	n    int     // lines it crosses
	next float64 // distance of the first
	each float64 // distance from one to the next
	rate float64 // lines a metre, signed
	base float64 // position is base + rate·t, from line at
}

func newAxis(a, b, t0, dt float64, lines int) (x axis) {
	x.rate = (b - a) / dt
	switch {
	case b > a:
		x.at, x.step = min(int(a), lines-2), 1
		x.n = int(math.Ceil(b)) - 1 - x.at
		x.each = 1 / x.rate
		x.next = t0 + (float64(x.at+1)-a)*x.each
	case b < a:
		x.at, x.step = max(int(math.Ceil(a))-1, 0), -1
		x.n = x.at - int(b)
		x.each = -1 / x.rate
		x.next = t0 + (a-float64(x.at))*x.each
	default:
		x.at = min(int(a), lines-2)
	}
	x.base = a - float64(x.at) - x.rate*t0
	return x
}

// run lays the ground along a straight path within the cell centres. The knot
// at its start is there already.
func (g *Grid) run(a, b chordEnd, ray *Ray) {
	dt := b.t - a.t
	c, r := newAxis(a.c, b.c, a.t, dt, g.w), newAxis(a.r, b.r, a.t, dt, g.h)
	// Within a square the ground along the path is a parabola; a chord of length
	// l leaves it by |rate of c · rate of r · twist|·l²/4.
	curve := c.rate * r.rate / 4
	checkHoles := g.known != nil && ray.Unknown > a.t
	// The loop below runs once a square, millions of times for one drawing:
	// what it needs stands in variables of its own.
	z, w := g.z, g.w
	p, right, down := r.at*w+c.at, c.step, r.step*w
	cNext, rNext, cEach, rEach := c.next, r.next, c.each, r.each
	cBase, rBase, cRate, rRate := c.base, r.base, c.rate, r.rate
	cStep, rStep := float64(c.step), float64(r.step)
	cLeft, rLeft := c.n, r.n
	last := a.t
	knots := slices.Grow(ray.Knots, c.n+r.n+1)
	for {
		upper, lower := z[p:p+2:p+2], z[p+w:p+w+2:p+w+2]
		z00, z10, z01, z11 := float64(upper[0]), float64(upper[1]), float64(lower[0]), float64(lower[1])
		if checkHoles && !g.whole(p) {
			ray.Unknown, checkHoles = min(ray.Unknown, last), false
		}
		// The counts decide where the path goes, so that no rounding leads it
		// out of the raster.
		t, column := rNext, false
		if cNext < t && cLeft > 0 || rLeft == 0 {
			t, column = cNext, true
		}
		if !(t < b.t) || cLeft+rLeft == 0 {
			t = b.t
		}
		fc, fr := cBase+cRate*t, rBase+rRate*t
		top, low := z00+fc*(z10-z00), z01+fc*(z11-z01)
		height := top + fr*(low-top)
		if l := t - last; l > together {
			if d := curve * (z00 - z10 - z01 + z11) * l * l; d > twistTolerance || d < -twistTolerance {
				knots = bow(knots, t, height, d)
			}
			knots = append(knots, Knot{t, height})
			last = t
		}
		if column {
			if cLeft == 0 {
				break
			}
			p += right
			cBase -= cStep
			cNext += cEach
			cLeft--
		} else {
			p += down
			rBase -= rStep
			rNext += rEach
			rLeft--
		}
	}
	ray.Knots = knots
}

// bow appends the knots between the last one and (t, h) that a parabola bowing
// by d in the middle takes.
func bow(knots []Knot, t, h, d float64) []Knot {
	a := knots[len(knots)-1]
	n, each := 2, 0.5 // parts, for which the bow is d/n²
	if size := math.Abs(d); size > 4*twistTolerance {
		n = int(math.Ceil(math.Sqrt(size / twistTolerance)))
		each = 1 / float64(n)
	}
	for k := 1; k < n; k++ {
		s := float64(k) * each
		knots = append(knots, Knot{a.D + s*(t-a.D), a.H + s*(h-a.H) - 4*d*s*(1-s)})
	}
	return knots
}
