package radio

import (
	"fmt"
	"math"
	"slices"
)

// A Profile is the ground under the straight line between two antennas. The
// three columns are of equal length, at least two.
type Profile struct {
	D []float64 // horizontal distance from the first antenna, metres, rising from 0
	H []float64 // bare ground, metres on any one datum
	G []float64 // ground with what stands on it, metres; equal to H at both ends
}

// Limits of what Check lets through: wider than anything on Earth, narrow
// enough that no product of them overflows.
const (
	maxProfileHeight = 1e5 // metres
	maxProfileLength = 1e7 // metres
)

// Check returns an error that names the first point of p (counted from 1) that
// [Diffract] cannot work on, with its value and the range allowed. Distances
// rise from 0 and may repeat; G is not below H.
func (p Profile) Check() error {
	if len(p.D) < 2 {
		return fmt.Errorf("a profile needs at least 2 points, not %d", len(p.D))
	}
	if len(p.H) != len(p.D) || len(p.G) != len(p.D) {
		return fmt.Errorf("a profile needs as many heights as distances: %d distances, %d and %d heights", len(p.D), len(p.H), len(p.G))
	}
	if p.D[0] != 0 {
		return fmt.Errorf("point 1: distance %v m is not 0", p.D[0])
	}
	before := 0.0
	for i, d := range p.D {
		if !(d >= before && d <= maxProfileLength) {
			return fmt.Errorf("point %d: distance %v m is not between %v (the point before) and %v", i+1, d, before, maxProfileLength)
		}
		before = d
		for _, y := range [2]float64{p.H[i], p.G[i]} {
			if !(math.Abs(y) <= maxProfileHeight) {
				return fmt.Errorf("point %d: height %v m is not between -%v and %v", i+1, y, maxProfileHeight, maxProfileHeight)
			}
		}
		if p.G[i] < p.H[i] {
			return fmt.Errorf("point %d: ground with obstacles %v m is below the bare ground %v m", i+1, p.G[i], p.H[i])
		}
	}
	return nil
}

// Steps returns into how many equal steps a profile of distance metres is
// divided so that none is longer than step metres: ceil(distance/step), at
// least 1. It panics where step is not above 0.
func Steps(distance, step float64) int {
	if !(step > 0) {
		panic(fmt.Sprintf("radio: profile step %v m", step))
	}
	return max(1, int(math.Ceil(distance/step)))
}

// An Insert is a stretch of a profile on which something stands that hides what
// is behind it: a building, or an obstacle.
type Insert struct {
	From, To    float64 // metres from the first antenna, From at most To; equal for a thing without thickness
	Top         float64 // metres: a level on the ground's datum, or
	AboveGround bool    // a height above the ground at each spot
}

// top returns the level of the insert's top over ground h.
func (in *Insert) top(h float64) float64 {
	if in.AboveGround {
		return h + in.Top
	}
	return in.Top
}

// mergeWithin is the distance in metres within which points of a profile are
// one point.
const mergeWithin = 0.001

// BuildProfile returns the profile of a line of distance metres: equal steps no
// longer than step, and exact points where an insert begins and ends. ground
// returns the bare ground at t metres from the first antenna.
//
// G is the ground or the highest top standing there. Points nearer than 1 mm to
// the one before are merged with it, and the highest of them is kept; an end
// always keeps its own place, and there G is H, for that is where the antenna
// stands. What lies beyond the ends is left out.
//
// The profile from the far end is this one's mirror image.
func BuildProfile(distance, step float64, ground func(t float64) float64, inserts []Insert) Profile {
	var b Builder
	return b.Build(distance, step, ground, inserts)
}

// A Builder builds one profile after another in the same memory. Its zero value
// is ready. It is not for more than one goroutine.
type Builder struct {
	p     Profile
	edges []float64
}

// Build is [BuildProfile]; the profile holds until the next call.
func (b *Builder) Build(distance, step float64, ground func(t float64) float64, inserts []Insert) Profile {
	b.edges = b.edges[:0]
	for _, in := range inserts {
		for _, t := range [2]float64{in.From, in.To} {
			if t >= mergeWithin && t <= distance-mergeWithin {
				b.edges = append(b.edges, t)
			}
		}
	}
	slices.Sort(b.edges)
	b.edges = slices.Compact(b.edges)

	b.p.D, b.p.H, b.p.G = b.p.D[:0], b.p.H[:0], b.p.G[:0]
	first := ground(0)
	b.add(0, first, first)

	n := Steps(distance, step)
	var c cluster
	edges := b.edges
	last := -mergeWithin // the end of the insert before
	free := distance >= 2*mergeWithin*float64(n)
	for i := 1; i < n || len(edges) > 0; {
		if free && i < n {
			// Between the ends of inserts the same ones stand all the way, and a step
			// is a point of its own.
			next := distance
			if len(edges) > 0 {
				next = edges[0]
			}
			if t := stepAt(i, n, distance); t >= last+mergeWithin && t <= next-mergeWithin && (!c.any || t-c.end >= mergeWithin) {
				b.close(&c, ground)
				i = b.run(i, n, distance, next-mergeWithin, ground, inserts)
				continue
			}
		}
		t, isEdge := distance, false
		if i < n {
			t = stepAt(i, n, distance)
		}
		if len(edges) > 0 && edges[0] <= t {
			t, isEdge = edges[0], true
			last, edges = t, edges[1:]
		} else {
			i++
		}
		if t < mergeWithin || t > distance-mergeWithin {
			continue
		}
		if c.any && t-c.end >= mergeWithin {
			b.close(&c, ground)
		}
		h := ground(t)
		g := h
		for i := range inserts {
			if in := &inserts[i]; in.From <= t && t <= in.To {
				g = max(g, in.top(h))
			}
		}
		c.take(t, h, g, isEdge)
	}
	b.close(&c, ground)

	end := ground(distance)
	b.add(distance, end, end)
	return b.p
}

// run adds the steps from i on that lie at most at to, over which the same
// inserts stand, and returns the one after.
func (b *Builder) run(i, n int, distance, to float64, ground func(t float64) float64, inserts []Insert) int {
	at := stepAt(i, n, distance)
	level, above := math.Inf(-1), 0.0
	for k := range inserts {
		switch in := &inserts[k]; {
		case !(in.From <= at && at <= in.To):
		case in.AboveGround:
			above = max(above, in.Top)
		default:
			level = max(level, in.Top)
		}
	}
	for ; i < n; i++ {
		t := stepAt(i, n, distance)
		if t > to {
			break
		}
		h := ground(t)
		b.add(t, h, max(h, level, h+above))
	}
	return i
}

// Sparse returns every every-th of the equal steps of the profile [Builder.Build]
// returns, and its ends, of the bare ground: less than the whole, for
// [LeastDiffraction]. The profile holds until the next call.
func (b *Builder) Sparse(distance, step float64, every int, ground func(t float64) float64) Profile {
	b.p.D, b.p.H, b.p.G = b.p.D[:0], b.p.H[:0], b.p.G[:0]
	n := Steps(distance, step)
	for i := 0; i < n; i += every {
		h := ground(stepAt(i, n, distance))
		b.add(stepAt(i, n, distance), h, h)
	}
	last := ground(distance)
	b.add(distance, last, last)
	return b.p
}

func (b *Builder) add(d, h, g float64) {
	b.p.D, b.p.H, b.p.G = append(b.p.D, d), append(b.p.H, h), append(b.p.G, g)
}

// close adds the cluster's point to the profile and empties it.
func (b *Builder) close(c *cluster, ground func(t float64) float64) {
	if c.any {
		t, h := c.low, c.ground
		if c.low != c.high {
			t = (c.low + c.high) / 2
			h = ground(t)
		}
		b.add(t, h, max(h, c.top))
	}
	c.any = false
}

// stepAt returns the place of point i of n equal steps, measured from the
// nearer end so that both directions round alike.
func stepAt(i, n int, distance float64) float64 {
	if 2*i <= n {
		return distance * (float64(i) / float64(n))
	}
	return distance - distance*(float64(n-i)/float64(n))
}

// A cluster is a run of points each nearer than mergeWithin to the next. The
// highest stands for all; among equals the end of an insert before a step, and
// of several the middle, so that the choice is the same from either side.
type cluster struct {
	any       bool
	end       float64 // the last point taken
	top       float64
	edge      bool
	low, high float64 // first and last of the points that stand for it
	ground    float64 // bare, at the first of these
}

func (c *cluster) take(t, h, g float64, isEdge bool) {
	better := !c.any || g > c.top || g == c.top && isEdge && !c.edge
	equal := c.any && g == c.top && isEdge == c.edge
	switch {
	case better:
		c.top, c.edge, c.low, c.high, c.ground = g, isEdge, t, t, h
	case equal:
		c.high = t
	}
	c.any, c.end = true, t
}
