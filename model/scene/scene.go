// Package scene lays a plan on the site grid: the one place where longitude and
// latitude become metres. Everything below it works on metres.
package scene

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
)

// Scene is a plan on the site grid. It is read only once made.
type Scene struct {
	Plan    *model.Plan
	Grid    sitegrid.Grid
	Terrain *terrain.Grid // nil for level ground

	Boundaries []Boundary
	Premises   []Area // the customer's land
	Buildings  []Building
	Obstacles  []Obstacle
	Foliage    []Foliage
	Ways       []Way // roads, then footpaths, in file order
	Neighbours []Area
	Excluded   []Line
	Gates      []Gate
	Views      []Area
	Devices    []Device // sensors, repeaters, receivers, in file order

	shapes map[string]orb.Geometry // every sound feature but the devices, on the site grid
}

// Boundary is a line to be watched.
type Boundary struct {
	Feature *model.Feature
	Line    orb.LineString // from chainage 0; a ring repeats its first point
	Closed  bool
	At      []float64 // chainage of each point of Line, metres
	Left    bool      // the inside is on the left of Line
}

// Length returns the boundary's length in metres.
func (b Boundary) Length() float64 { return b.At[len(b.At)-1] }

// Area is a feature with an extent: one polygon or, for a way with a width, its
// parts.
type Area struct {
	Feature *model.Feature
	Shape   orb.MultiPolygon
	Bounds  []orb.Bound // of each part
}

func newArea(f *model.Feature, m orb.MultiPolygon) Area {
	a := Area{Feature: f, Shape: m}
	for _, p := range m {
		a.Bounds = append(a.Bounds, p.Bound())
	}
	return a
}

// Line is a feature along a line.
type Line struct {
	Feature *model.Feature
	Line    orb.LineString
}

// Building hides what is behind it up to its level top.
type Building struct {
	Feature *model.Feature
	Shape   orb.Polygon
	Bound   orb.Bound
	Top     float64 // metres, in the height system of the ground
}

// Obstacle hides what is behind it unless it is see-through. Its top follows
// the ground.
type Obstacle struct {
	Feature *model.Feature
	Line    orb.LineString // of a line obstacle
	Shape   orb.Polygon    // of an area obstacle
	Bound   orb.Bound
	*model.Obstacle
}

// Foliage is a stand of trees or shrubs; its top follows the ground.
type Foliage struct {
	Feature *model.Feature
	Shape   orb.Polygon
	Bound   orb.Bound
	*model.Foliage
}

// Way is a road or footpath with its extent.
type Way struct {
	Area
	Class   model.Kind // KindRoad or KindFootpath
	Private bool
}

// Gate is an opening in a boundary, as the line it spans.
type Gate struct {
	Feature *model.Feature
	Line    orb.LineString
	At      orb.Point
}

// Device is a sensor, repeater or receiver where the plan has it.
type Device struct {
	Feature *model.Feature
	At      orb.Point
}

// Shape returns the geometry of a sound feature on the site grid: Point,
// LineString or Polygon; nil where there is none.
func (s *Scene) Shape(id string) orb.Geometry {
	if f := s.Plan.Feature(id); f != nil && f.Sound() && slices.Contains(devices, f.Kind) {
		return s.Grid.Geometry(f.Geometry)
	}
	return s.shapes[id]
}

// Ground returns the height of the ground at a place in metres: 0 on level
// ground.
func (s *Scene) Ground(p orb.Point) float64 {
	if s.Terrain == nil {
		return 0
	}
	return s.Terrain.Height(p)
}

// Origin returns the origin of the plan's site grid: the centre of the
// longitude-latitude bounding box of all boundaries, without one of all
// features, without any of the base map's control points, else 0, 0.
func Origin(p *model.Plan) (lon, lat float64) {
	var b orb.Bound
	some := false
	add := func(g orb.Geometry) {
		if g == nil {
			return
		}
		if !some {
			b, some = g.Bound(), true
			return
		}
		b = b.Union(g.Bound())
	}
	for _, f := range p.Of(model.KindBoundary) {
		add(f.Geometry)
	}
	if !some {
		for _, f := range p.Features {
			add(f.Geometry)
		}
	}
	if !some && p.Settings.BaseMap != nil {
		for _, c := range p.Settings.BaseMap.Control {
			add(c.At)
		}
	}
	c := b.Center()
	return c[0], c[1]
}

// New lays a plan on its own site grid.
func New(p *model.Plan) *Scene {
	lon, lat := Origin(p)
	return On(p, sitegrid.New(lon, lat))
}

// On lays a plan on the given site grid with level ground: a view keeps its own
// grid while a boundary is being dragged.
func On(p *model.Plan, grid sitegrid.Grid) *Scene { return OnGround(p, grid, nil) }

// OnGround lays a plan on the given site grid and its terrain, nil for level
// ground.
func OnGround(p *model.Plan, grid sitegrid.Grid, ground *terrain.Grid) *Scene {
	s := &Scene{Plan: p, Grid: grid, Terrain: ground, shapes: make(map[string]orb.Geometry, len(p.Features))}
	sound := p.Of(model.Kinds...)
	for _, f := range sound {
		g := grid.Geometry(f.Geometry)
		if !slices.Contains(devices, f.Kind) {
			s.shapes[f.ID] = g
		}
		switch v := f.Value.(type) {
		case *model.Boundary:
			s.Boundaries = append(s.Boundaries, newBoundary(f, g))
		case *model.Excluded:
			s.Excluded = append(s.Excluded, Line{f, g.(orb.LineString)})
		case *model.Building:
			shape := g.(orb.Polygon)
			s.Buildings = append(s.Buildings, Building{f, shape, shape.Bound(), s.meanGround(shape[0]) + v.Height})
		case *model.Obstacle:
			o := Obstacle{Feature: f, Bound: g.Bound(), Obstacle: v}
			if l, ok := g.(orb.LineString); ok {
				o.Line = l
			} else {
				o.Shape = g.(orb.Polygon)
			}
			s.Obstacles = append(s.Obstacles, o)
		case *model.Foliage:
			s.Foliage = append(s.Foliage, Foliage{f, g.(orb.Polygon), g.Bound(), v})
		case *model.View:
			s.Views = append(s.Views, newArea(f, orb.MultiPolygon{g.(orb.Polygon)}))
		case *model.Sensor, *model.Repeater, *model.Receiver:
			s.Devices = append(s.Devices, Device{f, g.(orb.Point)})
		case *model.Place:
			if poly, ok := g.(orb.Polygon); ok {
				switch f.Kind {
				case model.KindPremises:
					s.Premises = append(s.Premises, newArea(f, orb.MultiPolygon{poly}))
				case model.KindNeighbour:
					s.Neighbours = append(s.Neighbours, newArea(f, orb.MultiPolygon{poly}))
				}
			}
		}
	}
	for _, kind := range []model.Kind{model.KindRoad, model.KindFootpath} {
		for _, f := range sound {
			if f.Kind == kind {
				w := f.Value.(*model.Way)
				s.Ways = append(s.Ways, Way{newArea(f, Extent(s.shapes[f.ID], w.Width)), kind, w.Private})
			}
		}
	}
	for _, f := range sound {
		if g, ok := f.Value.(*model.Gate); ok {
			s.Gates = append(s.Gates, s.gate(f, g))
		}
	}
	return s
}

func (s *Scene) meanGround(ring orb.Ring) float64 {
	sum, n := 0.0, len(ring)
	if n > 1 && ring[0] == ring[n-1] {
		n--
	}
	for _, p := range ring[:n] {
		sum += s.Ground(p)
	}
	return sum / float64(n)
}

func newBoundary(f *model.Feature, g orb.Geometry) Boundary {
	b := Boundary{Feature: f, Left: true}
	switch g := g.(type) {
	case orb.Polygon:
		b.Line, b.Closed = orb.LineString(g[0]), true
		b.Left = SignedArea(g[0]) > 0
	case orb.LineString:
		b.Line = g
	}
	clean := b.Line[:0:0]
	for i, p := range b.Line {
		if i == 0 || p != b.Line[i-1] {
			clean = append(clean, p)
		}
	}
	b.Line = clean
	b.At = make([]float64, len(b.Line))
	for i := 1; i < len(b.Line); i++ {
		b.At[i] = b.At[i-1] + math.Hypot(b.Line[i][0]-b.Line[i-1][0], b.Line[i][1]-b.Line[i-1][1])
	}
	return b
}

// SignedArea returns the area of a ring in square metres, positive when it runs
// anticlockwise.
func SignedArea(r orb.Ring) float64 {
	if len(r) == 0 {
		return 0
	}
	sum := 0.0
	o := r[0]
	for i := 1; i < len(r); i++ {
		sum += (r[i-1][0]-o[0])*(r[i][1]-o[1]) - (r[i-1][1]-o[1])*(r[i][0]-o[0])
	}
	return sum / 2
}

// Point returns the place at chainage s along the boundary; s is taken modulo
// the length of a closed one and held within an open one.
func (b Boundary) Point(s float64) orb.Point {
	i, t := b.find(s)
	p, q := b.Line[i], b.Line[i+1]
	return orb.Point{p[0] + t*(q[0]-p[0]), p[1] + t*(q[1]-p[1])}
}

// Normal returns the unit inward normal of the edge on which chainage s lies.
func (b Boundary) Normal(s float64) orb.Point {
	i, _ := b.find(s)
	return b.EdgeNormal(i)
}

// EdgeNormal returns the unit inward normal of edge i.
func (b Boundary) EdgeNormal(i int) orb.Point {
	p, q := b.Line[i], b.Line[i+1]
	l := b.At[i+1] - b.At[i]
	n := orb.Point{-(q[1] - p[1]) / l, (q[0] - p[0]) / l}
	if !b.Left {
		n[0], n[1] = -n[0], -n[1]
	}
	return n
}

// find returns the edge on which s lies and the fraction along it.
func (b Boundary) find(s float64) (edge int, t float64) {
	length := b.Length()
	if b.Closed {
		s = math.Mod(s, length)
		if s < 0 {
			s += length
		}
	}
	s = math.Max(0, math.Min(s, length))
	lo, hi := 0, len(b.At)-2
	for lo < hi {
		mid := (lo + hi + 1) / 2
		if b.At[mid] <= s {
			lo = mid
		} else {
			hi = mid - 1
		}
	}
	return lo, (s - b.At[lo]) / (b.At[lo+1] - b.At[lo])
}

// Nearest returns the chainage of the boundary's point nearest to p and its
// distance in metres.
func (b Boundary) Nearest(p orb.Point) (s, distance float64) {
	best := math.Inf(1)
	for i := 0; i+1 < len(b.Line); i++ {
		a, c := b.Line[i], b.Line[i+1]
		dx, dy := c[0]-a[0], c[1]-a[1]
		t := ((p[0]-a[0])*dx + (p[1]-a[1])*dy) / (dx*dx + dy*dy)
		t = math.Max(0, math.Min(1, t))
		if d := math.Hypot(a[0]+t*dx-p[0], a[1]+t*dy-p[1]); d < best {
			best, s = d, b.At[i]+t*(b.At[i+1]-b.At[i])
		}
	}
	return s, best
}

// Part returns the boundary's line between two chainages; to below from runs
// through chainage 0 of a closed one.
func (b Boundary) Part(from, to float64) orb.LineString {
	if b.Closed && to < from {
		head := b.Part(from, b.Length())
		return append(head, b.Part(0, to)[1:]...)
	}
	out := orb.LineString{b.Point(from)}
	if to >= b.Length() {
		to = b.Length()
	}
	for i, s := range b.At {
		if s > from && s < to {
			out = append(out, b.Line[i])
		}
	}
	if b.Closed && to == b.Length() {
		return append(out, b.Line[len(b.Line)-1])
	}
	return append(out, b.Point(to))
}

// gate returns the line a gate spans: its own, or its width along the nearest
// boundary centred on its point.
func (s *Scene) gate(f *model.Feature, g *model.Gate) Gate {
	if l, ok := s.shapes[f.ID].(orb.LineString); ok {
		mid := l.Bound().Center()
		return Gate{f, l, mid}
	}
	p := s.shapes[f.ID].(orb.Point)
	out := Gate{Feature: f, At: p, Line: orb.LineString{{p[0] - g.Width/2, p[1]}, {p[0] + g.Width/2, p[1]}}}
	best := math.Inf(1)
	for _, b := range s.Boundaries {
		if c, d := b.Nearest(p); d < best {
			best = d
			from, to := c-g.Width/2, c+g.Width/2
			if g.Width >= b.Length() {
				from, to = 0, b.Length()
			} else if b.Closed {
				from, to = math.Mod(from+b.Length(), b.Length()), math.Mod(to, b.Length())
			}
			out.Line = b.Part(from, to)
		}
	}
	return out
}
