// Package site makes plans for tests from features in metres on a site grid.
package site

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/sitegrid"
)

// Grid is the site grid of the plans made here.
var Grid = sitegrid.New(10, 50)

// Site gathers features.
type Site struct {
	features []*model.Feature
	settings []model.Member
	n        int
}

// Set adds a member of the plan's settings.
func (s *Site) Set(name string, v any) *Site {
	s.settings = append(s.settings, model.Prop(name, v))
	return s
}

// Add adds a feature in metres on the grid; an empty id is given one.
func (s *Site) Add(k model.Kind, id string, g orb.Geometry, props ...model.Member) *Site {
	if id == "" {
		s.n++
		id = fmt.Sprintf("%s-%d", k, s.n)
	}
	s.features = append(s.features, model.NewFeature(k, id, Grid.Back(g), props...))
	return s
}

// Sensor adds a sensor.
func (s *Site) Sensor(id string, at orb.Point, m string, height, bearing, tilt float64, props ...model.Member) *Site {
	return s.Add(model.KindSensor, id, at, append([]model.Member{
		model.Prop("model", m), model.Prop("mount_height_m", height), model.Prop("bearing_deg", bearing), model.Prop("tilt_deg", tilt)}, props...)...)
}

// Building adds a building.
func (s *Site) Building(id string, ring orb.Ring, height float64) *Site {
	return s.Add(model.KindBuilding, id, orb.Polygon{ring}, model.Prop("height_m", height))
}

// Flawed makes the plan, flaws and all.
func (s *Site) Flawed() *model.Plan {
	p, err := model.Add{Features: s.features}.Apply(model.NewPlan(s.settings...))
	if err != nil {
		panic(err) // an id that stands twice
	}
	return p
}

// Plan makes the plan; a flawed one fails the test.
func (s *Site) Plan(t testing.TB) *model.Plan {
	t.Helper()
	p := s.Flawed()
	for _, f := range p.AllFlaws() {
		t.Fatal(f)
	}
	return p
}

// Scene lays the plan on Grid.
func (s *Site) Scene(t testing.TB) *scene.Scene {
	t.Helper()
	return scene.On(s.Plan(t), Grid)
}

// Box is a closed rectangle, anticlockwise.
func Box(x0, y0, x1, y1 float64) orb.Ring {
	return orb.Ring{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}
}

// Turned is a rectangle of the given size about c, turned anticlockwise.
func Turned(c orb.Point, w, h, angle float64) orb.Ring {
	sin, cos := math.Sincos(angle)
	var r orb.Ring
	for _, q := range Box(-w/2, -h/2, w/2, h/2) {
		r = append(r, orb.Point{c[0] + q[0]*cos - q[1]*sin, c[1] + q[0]*sin + q[1]*cos})
	}
	return r
}
