package drawing

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// OnePost is how near, in metres, devices stand that are on one post: chosen. No
// scale parts their marks.
const OnePost = 0.5

// Where marks of one post stand, in sizes of a mark: chosen, so that they part.
const (
	asideOne   = 1.3 // of the mark that keeps its place
	asideApart = 1.2 // from one to the next where none keeps it
	asideNear  = 20  // metres: how far a boundary may be whose inside marks go to
)

// posts adds the marks of devices and their names, those on one post side by side.
func (c *composer) posts() {
	asides := c.asides(c.marks)
	for i, a := range asides {
		c.marks[i].Aside, c.names[i].Aside = a, a
		if a != (orb.Point{}) { // its stroke goes under what it leads to
			c.names[i].Prefer, c.names[i].Bearing = Outward, math.Atan2(a[0], a[1])*180/math.Pi
			c.list.Add(c.marks[i])
		}
	}
	for i, a := range asides {
		if a == (orb.Point{}) {
			c.list.Add(c.marks[i])
		}
		c.label(c.names[i])
	}
}

// asides returns how far each of some marks is drawn beside its place, east and
// north in sizes of the mark, so that none hides another on its post. A sensor that
// is alone there keeps its place, as its pattern begins there, else the first does
// where there is no sensor; several sensors stand round theirs, each towards what it
// watches. The others stand inside the boundary.
func (c *composer) asides(marks []Item) []orb.Point {
	out := make([]orb.Point, len(marks))
	done := make([]bool, len(marks))
	for i := range marks {
		if done[i] {
			continue
		}
		var post, sensors []int
		for k := i; k < len(marks); k++ {
			if done[k] || planar.Distance(marks[i].At, marks[k].At) >= OnePost {
				continue
			}
			done[k] = true
			post = append(post, k)
			if m := marks[k].Meaning; m == Sensor || m == SensorFlagged {
				sensors = append(sensors, k)
			}
		}
		switch {
		case len(post) == 1:
		case len(sensors) > 1:
			c.ringRound(marks, post, out)
		default:
			keeps := post[0]
			if sensors != nil {
				keeps = sensors[0]
			}
			post = slices.DeleteFunc(post, func(k int) bool { return k == keeps })
			dir := c.asideOf(&marks[keeps], sensors != nil)
			for n, k := range post {
				out[k] = towards(dir+(float64(n)-float64(len(post)-1)/2)*60, asideOne)
			}
		}
	}
	return out
}

// asideOf is the direction, degrees from grid north, in which marks stand beside
// one that keeps its place: inside the boundary, unless it looks that way.
func (c *composer) asideOf(it *Item, looks bool) float64 {
	dir, near := it.Bearing+90, float64(asideNear)
	for i := range c.in.Scene.Boundaries {
		b := &c.in.Scene.Boundaries[i]
		if s, d := b.Nearest(it.At); d < near {
			n := b.Normal(s)
			near, dir = d, math.Atan2(n[0], n[1])*180/math.Pi
		}
	}
	if looks && math.Abs(math.Remainder(dir-it.Bearing, 360)) < 60 {
		return it.Bearing + 180
	}
	return dir
}

// ringRound sets the marks of a post evenly round it, the sensors in the order of
// their bearings and as near to them as that allows, the others between the last and
// the first.
func (c *composer) ringRound(marks []Item, post []int, out []orb.Point) {
	around := func(k int) float64 { return math.Mod(math.Mod(marks[k].Bearing, 360)+360, 360) }
	sensor := func(k int) bool { return marks[k].Meaning == Sensor || marks[k].Meaning == SensorFlagged }
	slices.SortStableFunc(post, func(a, b int) int {
		switch sa, sb := sensor(a), sensor(b); {
		case sa && !sb:
			return -1
		case sb && !sa:
			return 1
		case !sa:
			return 0
		}
		return cmp.Compare(around(a), around(b))
	})
	step := 360 / float64(len(post))
	var east, north float64 // of the mean turn
	for n, k := range post {
		if sensor(k) {
			v := towards(marks[k].Bearing-float64(n)*step, 1)
			east, north = east+v[0], north+v[1]
		}
	}
	first := math.Atan2(east, north) * 180 / math.Pi
	for n, k := range post {
		out[k] = towards(first+float64(n)*step, asideApart/2/math.Sin(math.Pi/float64(len(post))))
	}
}

func towards(bearing, far float64) orb.Point {
	sin, cos := math.Sincos(bearing * math.Pi / 180)
	return orb.Point{far * sin, far * cos}
}

// shownAt is where a mark of some size stands in a view, in unit coordinates.
func shownAt(v View, at, aside orb.Point, size float64) orb.Point {
	u := v.ToUnit(at)
	return orb.Point{u[0] + aside[0]*size, u[1] - aside[1]*size}
}

// Shown is where a mark is drawn in a view, in unit coordinates: at its place, or
// beside it.
func (t *Theme) Shown(it *Item, v View) orb.Point {
	return shownAt(v, it.At, it.Aside, markSize(t.Style(it.Meaning), v, t))
}

// tie draws the stroke from where a mark is drawn to its place.
func (r *renderer) tie(at, shown orb.Point, state State) {
	path := []orb.Point{at, shown}
	colour := r.theme.Ink
	if state.Has(Muted) {
		colour = mix(colour, r.theme.Paper, 0.5)
	}
	r.c.Stroke(path, Pen{Width: r.unit(4, 1), Colour: fade(r.theme.Paper, 0.85), Cap: Round})
	r.c.Stroke(path, Pen{Width: r.unit(1.5, 0.32), Colour: colour})
	r.c.Fill([]orb.Ring{orb.Ring(place(ring(0, 0, r.unit(2.2, 0.5)), at))}, colour)
}

func place(path []orb.Point, at orb.Point) []orb.Point {
	for i := range path {
		path[i] = orb.Point{path[i][0] + at[0], path[i][1] + at[1]}
	}
	return path
}
