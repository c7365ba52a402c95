package editor

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/aim"
	"pleach/model/scene"
)

// What a new feature is given where neither the plan nor the user has said
// anything yet. Chosen; those the contract counts as assumed are listed so.
const (
	newModel          = "curtain-4-63" // of the built-in ones: boundaries are watched along
	newMountHeight    = 3.0            // metres
	newRepeaterHeight = 4.0
	newReceiverHeight = 6.0
	newBuilding       = 6.0
	newFoliage        = 10.0
	newObstacle       = 2.0
	alongReach        = 30.0 // metres: a sensor this near to a boundary watches along it
)

// newFeature makes a feature of the tool's kind with what it needs to be sound.
// at is where the pointer put it, on the site grid.
func (e *Editor) newFeature(p *model.Plan, t Tool, g orb.Geometry, at orb.Point) *model.Feature {
	id := p.NewID(t.Kind)
	assumed := func(height float64) []model.Member {
		return []model.Member{model.Prop("height_m", height), model.Prop("assumed", []string{"height_m"})}
	}
	var props []model.Member
	switch t.Kind {
	case model.KindSensor:
		props = e.newSensor(p, at)
	case model.KindRepeater:
		props = append([]model.Member{model.Prop("antenna_height_m", newRepeaterHeight)}, nextAddress(p)...)
	case model.KindReceiver:
		props = []model.Member{model.Prop("antenna_height_m", newReceiverHeight)}
	case model.KindBuilding:
		props = assumed(newBuilding)
	case model.KindFoliage:
		props = assumed(newFoliage)
	case model.KindObstacle:
		props = assumed(newObstacle)
	case model.KindExcluded:
		props = []model.Member{model.Prop("reason", "not stated")}
	case model.KindHazard:
		props = []model.Member{model.Prop("what", "not stated")}
	case model.KindView:
		props = []model.Member{model.Prop("name", "View "+id)}
	}
	return model.NewFeature(t.Kind, id, g, props...)
}

// newSensor copies model and height of the sensor worked on last.
func (e *Editor) newSensor(p *model.Plan, at orb.Point) []model.Member {
	id, height := model.Builtin()[0].ID, newMountHeight
	if _, ok := p.Model(newModel); ok {
		id = newModel
	}
	if last := e.lastSensor(p); last != nil {
		id, height = last.Model, last.MountHeight
	} else if m, ok := p.Model(id); ok && m.MountMax > 0 {
		height = math.Min(math.Max(height, m.MountMin), m.MountMax)
	}
	props := []model.Member{
		model.Prop("model", id),
		model.Prop("mount_height_m", height),
		model.Prop("bearing_deg", tidy(e.alongBoundary(p, at), 0.1)),
		model.Prop("tilt_deg", firstTilt(p, id, height)),
	}
	return append(props, nextAddress(p)...)
}

// firstTilt is the tilt in degrees, to 0.1, with which a sensor of a model sees the
// plan's target as far as the model reaches, on level ground: of the tilts that
// reach so far the steepest, at which the lobes that look down join up. Where there
// is none it is 0.
func firstTilt(p *model.Plan, id string, mount float64) float64 {
	m, ok := p.Model(id)
	if !ok {
		return 0
	}
	f := model.NewFeature(model.KindSensor, "S", orb.Point{}, model.Prop("model", id), model.Prop("mount_height_m", mount),
		model.Prop("bearing_deg", 0), model.Prop("tilt_deg", 0))
	alone, err := model.Add{Features: []*model.Feature{f}}.Apply(model.NewPlan())
	if err != nil {
		return 0
	}
	bare := *alone
	bare.Settings = p.Settings
	a, err := aim.Of(scene.New(&bare), f.ID)
	if err != nil {
		return 0
	}
	// Ranges are slant; on the ground they are this long at least.
	reach := 0.0
	for _, l := range m.Lobes {
		reach = math.Max(reach, l.Range)
	}
	if reach <= mount {
		return 0
	}
	const short = 0.05 // metres
	tilt, err := a.TiltFor(math.Sqrt(reach*reach-mount*mount) - short)
	if err != nil {
		return 0
	}
	return math.Floor(tilt*10) / 10
}

// lastSensor is the selected sensor, else the last of the plan.
func (e *Editor) lastSensor(p *model.Plan) *model.Sensor {
	if f := e.single(); f != nil {
		if s, ok := f.Value.(*model.Sensor); ok {
			return s
		}
	}
	all := p.Of(model.KindSensor)
	if len(all) == 0 {
		return nil
	}
	return all[len(all)-1].Value.(*model.Sensor)
}

// alongBoundary returns the true bearing of the nearest boundary, by chainage,
// or north where none is near.
func (e *Editor) alongBoundary(p *model.Plan, at orb.Point) float64 {
	b, s, d := e.nearestBoundary(p, at)
	if b == nil || d > alongReach {
		return 0
	}
	n := b.Normal(s)
	along := orb.Point{n[1], -n[0]}
	if !b.Left {
		along = orb.Point{-n[1], n[0]}
	}
	return e.trueBearing(at, orb.Point{at[0] + along[0], at[1] + along[1]})
}

// nearestBoundary returns the boundary nearest to a place on the editor's grid,
// the chainage of its nearest point and the distance; nil where there is none.
func (e *Editor) nearestBoundary(p *model.Plan, at orb.Point) (best *scene.Boundary, chainage, distance float64) {
	distance = math.Inf(1)
	for _, b := range e.boundaries(p) {
		if s, d := b.Nearest(at); d < distance {
			best, chainage, distance = &b, s, d
		}
	}
	return best, chainage, distance
}

// boundaries lays the boundaries of a plan on the editor's grid.
func (e *Editor) boundaries(p *model.Plan) []scene.Boundary {
	if e.laidPlan != p || e.laidGrid != e.grid {
		e.laidPlan, e.laidGrid = p, e.grid
		e.laid = scene.On(p, e.grid).Boundaries
	}
	return e.laid
}

// trueBearing returns the bearing from a to b in degrees clockwise from true
// north, from 0 up to 360.
func (e *Editor) trueBearing(a, b orb.Point) float64 {
	deg := math.Atan2(b[0]-a[0], b[1]-a[1])*180/math.Pi + e.grid.Convergence(a)
	return math.Mod(deg+360, 360)
}

// gridBearing turns a true bearing at a place into one from grid north.
func (e *Editor) gridBearing(at orb.Point, bearing float64) float64 {
	return bearing - e.grid.Convergence(at)
}

// ahead returns the place distance metres from at along a true bearing.
func (e *Editor) ahead(at orb.Point, bearing, distance float64) orb.Point {
	sin, cos := math.Sincos(e.gridBearing(at, bearing) * math.Pi / 180)
	return orb.Point{at[0] + distance*sin, at[1] + distance*cos}
}

// nextAddress is the address after the greatest in use, as a property.
func nextAddress(p *model.Plan) []model.Member {
	const most = 65535 // as the contract has it
	next, free := 1, map[int]bool{}
	for _, f := range p.Of(model.KindSensor, model.KindRepeater) {
		var a *int
		switch v := f.Value.(type) {
		case *model.Sensor:
			a = v.Address
		case *model.Repeater:
			a = v.Address
		}
		if a != nil {
			free[*a] = true
			next = max(next, *a+1)
		}
	}
	if next > most {
		for next = 1; free[next]; next++ {
		}
	}
	if next > most {
		return nil
	}
	return []model.Member{model.Prop("address", next)}
}

// tidy rounds to a whole number of steps, in a form that prints short.
func tidy(v, step float64) float64 {
	n := math.Round(v / step)
	if step < 1 {
		return n / math.Round(1/step)
	}
	return n * step
}

// Duplicate copies what is selected, a little aside, and selects the copies.
func (e *Editor) Duplicate() error {
	p := e.Settled()
	if len(e.selected) == 0 {
		return nil
	}
	const aside = 5.0 // metres east and south: chosen, so that both are seen
	var copies []*model.Feature
	var ids []string
	grown := p
	for _, id := range e.selected {
		f := p.Feature(id)
		if f == nil || f.Kind == "" {
			continue
		}
		c := f.WithID(grown.NewID(f.Kind)).WithGeometry(e.shifted(f.Geometry, aside, -aside))
		if _, has := c.Property("name"); has && f.Kind != model.KindView {
			c = c.WithProperty("name", nil)
		}
		if _, has := c.Property("address"); has {
			c = c.WithProperty("address", nil)
			for _, m := range nextAddress(grown) {
				c = c.WithProperty(m.Name, m.Value)
			}
		}
		var err error
		if grown, err = (model.Add{Features: []*model.Feature{c}}).Apply(grown); err != nil {
			return err
		}
		copies, ids = append(copies, c), append(ids, c.ID)
	}
	if len(copies) == 0 {
		return nil
	}
	name := fmt.Sprintf("duplicate %d features", len(copies))
	if len(copies) == 1 {
		name = "duplicate " + e.selected[0]
	}
	if err := e.Do(model.Together{Name: name, Edits: []model.Edit{model.Add{Features: copies}}}); err != nil {
		return err
	}
	e.Select(ids...)
	return nil
}

// shifted returns a geometry in longitude and latitude moved by metres.
func (e *Editor) shifted(g orb.Geometry, east, north float64) orb.Geometry {
	if g == nil {
		return nil
	}
	return mapVertices(g, func(_ int, p orb.Point) orb.Point {
		at := e.grid.ToSite(p)
		return e.grid.ToLonLat(orb.Point{at[0] + east, at[1] + north})
	})
}

// Delete deletes the selected vertex, else what is selected.
func (e *Editor) Delete() error {
	if f := e.single(); f != nil && e.vertex >= 0 && len(vertices(f.Geometry)) > 1 {
		g, err := deleteVertex(f.Geometry, e.vertex)
		if err != nil {
			return err
		}
		step := model.Reshape{ID: f.ID, To: g, Name: "delete a vertex of " + f.ID}
		if msg := e.spoils(e.Settled(), step, f.ID); msg != "" {
			return fmt.Errorf("%s: %s", f.Who(), msg)
		}
		e.vertex = -1
		return e.Do(step)
	}
	if len(e.selected) == 0 {
		return nil
	}
	return e.Do(model.Delete{IDs: slices.Clone(e.selected)})
}

// spoils says what a step would break in a feature that is sound before it, ""
// for nothing.
func (e *Editor) spoils(p *model.Plan, step model.Edit, id string) string {
	before := p.Feature(id)
	after, err := step.Apply(p)
	if err != nil {
		return err.Error()
	}
	if f := after.Feature(id); f != nil && len(f.Flaws) > 0 && (before == nil || before.Sound()) {
		return f.Flaws[0].Text
	}
	return ""
}
