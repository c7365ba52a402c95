// Package aim says in words an installer can use where a sensor points: where
// its axis meets the ground or what it meets before, from where on and how far
// it sees a target along the axis, and the tilt for a wanted reach.
//
// The axis is a straight line from the optical centre along the bearing, falling
// by the tangent of the tilt. The dead zone and the reach are those of the
// detection pattern along it (package pattern), so that they are those of the
// drawing.
package aim

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/pattern"
	"pleach/model/scene"
)

// Far is how far the axis is followed, in metres: the longest reach a lobe may
// have (contract, section 2).
const Far = 500.0

// Aim is where one sensor points.
type Aim struct {
	Sensor *model.Feature
	Model  model.SensorModel
	Eye    pattern.Eye

	Bearing       float64 // degrees clockwise from true north, in [0, 360)
	Magnetic      float64 // degrees clockwise from magnetic north, in [0, 360)
	Declination   float64 // degrees, east positive, as the plan states it
	DeclinationOn string  // the date the plan gives with it
	Stated        bool    // the plan states a declination; otherwise it counts as 0
	Tilt          float64 // degrees, positive downwards
	Mount         float64 // metres above the ground at the post

	Axis   Meeting // with the ground or what stands before it
	Middle Meeting // with the target's mid-height instead of the ground
	// Aside is how far to the right of the axis, in degrees, Target and Postures
	// are judged: 0 where one of the lobes that reach farthest holds the axis,
	// otherwise the middle of the nearest of them.
	Aside    float64
	Target   Reach
	Postures []Reach // in the plan's order

	Near     *Landmark // the named thing nearest to where the axis meets the ground, nil for none within Nearby
	Boundary *Post     // the boundary nearest to it, nil where the axis meets no ground or there is none

	sc *scene.Scene
	lk *pattern.Looker
}

// Met is what an axis meets.
type Met uint8

// What an axis meets.
const (
	Nothing Met = iota // within Far
	Ground
	Wall // a building's or an obstacle's side
	Roof // its top
)

// Meeting is where an axis ends.
type Meeting struct {
	What     Met
	On       string    // id of the building or obstacle
	Distance float64   // metres from the optical centre, horizontal
	At       orb.Point // site grid
	LonLat   orb.Point // degrees
	Height   float64   // metres above the ground there
	Through  []string  // ids of see-through obstacles on the way
	Known    bool      // the ground is known as far as there
}

// Reach is what a sensor sees of one target along the axis.
type Reach struct {
	Name     string // of the posture, "" for the plan's target
	Target   pattern.Target
	Seen     []pattern.Stretch
	HiddenBy string // what ends the last stretch where something standing does
	Why      string // where nothing is seen
}

// Dead returns the near dead zone: the distance in metres within which the
// target is not seen; ok is false where it is seen nowhere.
func (r Reach) Dead() (metres float64, ok bool) {
	if len(r.Seen) == 0 {
		return 0, false
	}
	return r.Seen[0].From, true
}

// Far returns the far reach in metres; ok is false where the target is seen
// nowhere.
func (r Reach) Far() (metres float64, ok bool) {
	if len(r.Seen) == 0 {
		return 0, false
	}
	return r.Seen[len(r.Seen)-1].To, true
}

// Of says where the sensor called id of a scene's plan points. It returns an
// error where there is no such sensor or it is left out of the analysis.
func Of(sc *scene.Scene, id string) (*Aim, error) {
	f := sc.Plan.Feature(id)
	switch {
	case f == nil:
		return nil, fmt.Errorf("there is no sensor %s: %s", id, sensors(sc.Plan))
	case f.Kind != model.KindSensor:
		return nil, fmt.Errorf("%s is no sensor: %s", f.Who(), sensors(sc.Plan))
	case !f.Sound():
		return nil, fmt.Errorf("%s has a flaw and is left out: mend it first", f.Who())
	}
	s := f.Value.(*model.Sensor)
	m, ok := sc.Plan.Model(s.Model)
	if !ok {
		return nil, fmt.Errorf("%s: there is no sensor model %s", f.Who(), s.Model)
	}
	a := &Aim{Sensor: f, Model: m, Eye: pattern.Stand(sc, f, m), Bearing: s.Bearing, Mount: s.MountHeight, sc: sc, lk: pattern.NewLooker(sc)}
	a.Declination, a.DeclinationOn = sc.Plan.Settings.Declination, sc.Plan.Settings.DeclinationOn
	a.Stated = sc.Plan.Stated("north.declination_deg")
	if a.Magnetic = math.Mod(a.Bearing-a.Declination+720, 360); a.Magnetic >= 360 {
		a.Magnetic = 0
	}
	a.lk.From(&a.Eye, 1)
	a.Aside = aside(&a.Eye)
	a.Tilt = s.Tilt
	a.look()
	return a, nil
}

// sensors says which sensors a plan has.
func sensors(p *model.Plan) string {
	var ids []string
	for _, f := range p.Of(model.KindSensor) {
		ids = append(ids, f.ID)
	}
	const most = 12
	switch {
	case len(ids) == 0:
		return "the plan has none"
	case len(ids) > most:
		return fmt.Sprintf("name one of %s and %d more", strings.Join(ids[:most], ", "), len(ids)-most)
	}
	return "name one of " + strings.Join(ids, ", ")
}

// aside returns where the pattern is judged, in degrees to the right of the axis.
func aside(e *pattern.Eye) float64 {
	far := func(az float64) bool {
		return slices.ContainsFunc(e.Limits(az), func(l pattern.Limits) bool { return l.Range == e.Reach() })
	}
	if far(e.Bearing) {
		return 0
	}
	best := math.Inf(1)
	for _, m := range e.Middles() {
		d := math.Remainder(m-e.Bearing, 2*math.Pi)
		// At a tie the right-hand one.
		if far(m) && (math.Abs(d) < math.Abs(best)-1e-9 || math.Abs(d) < math.Abs(best)+1e-9 && d > best) {
			best = d
		}
	}
	if math.IsInf(best, 1) {
		return 0
	}
	return best * 180 / math.Pi
}

// Azimuth returns the azimuth along which the pattern is judged, in radians
// clockwise from north.
func (a *Aim) Azimuth() float64 { return a.Eye.Bearing + a.Aside*math.Pi/180 }

// look fills in what depends on the tilt.
func (a *Aim) look() {
	set := &a.sc.Plan.Settings
	line := Along(a.sc, a.Eye.At, a.Eye.Bearing, Far)
	a.Axis = a.meeting(line, 0)
	a.Middle = a.meeting(line, set.Target.Height/2)
	a.Target = a.reach(set.Target)
	a.Target.Name = ""
	a.Postures = nil
	for _, p := range set.Postures {
		a.Postures = append(a.Postures, a.reach(p))
	}
	a.Near, a.Boundary = nil, nil
	if a.Axis.What == Ground {
		a.Near = landmark(a.sc, a.Axis.At, a.Sensor.ID)
		a.Boundary = post(a.sc, a.Axis.At)
	}
}

// meeting follows the axis along a line to the ground raised by raise metres.
func (a *Aim) meeting(l *Line, raise float64) (m Meeting) {
	z, fall := a.Eye.Z, a.Eye.Fall(l.Azimuth)
	what, on, d, through := l.Meets(z, fall, raise)
	for _, i := range through {
		if id := l.Things[i].ID; !slices.Contains(m.Through, id) {
			m.Through = append(m.Through, id)
		}
	}
	if what == Nothing {
		return m
	}
	m.What, m.Distance, m.At, m.Known = what, d, l.At(d), d < l.Unknown
	m.LonLat = a.LonLat(m.At)
	if what != Ground {
		m.On, m.Height = l.Things[on].ID, z-d*fall-l.Height(d)
	}
	return m
}

// reach says what is seen of a posture.
func (a *Aim) reach(p model.Posture) Reach {
	r := Reach{Name: p.Name, Target: pattern.Target{Height: p.Height, MinVisible: p.MinVisible}}
	az := a.Azimuth()
	r.Seen = a.lk.Seen(az, r.Target, pattern.AsItIs)
	sin, cos := math.Sincos(az)
	beyond := func(d float64) orb.Point { return orb.Point{a.Eye.At[0] + d*sin, a.Eye.At[1] + d*cos} }
	if n := len(r.Seen); n > 0 {
		if e := r.Seen[n-1].End; e == pattern.WallBound || e == pattern.HiddenBound {
			r.HiddenBy = a.lk.Hider(beyond(r.Seen[n-1].To + 0.01))
		}
		return r
	}
	limits := a.Eye.Limits(az)
	switch bare := a.lk.Seen(az, r.Target, pattern.Unhidden); {
	case a.Eye.Buried != "":
		r.HiddenBy = a.Eye.Buried
		r.Why = "the sensor stands inside " + a.title(a.Eye.Buried)
	case len(limits) == 0:
		r.Why = "no lobe holds the axis, or it is masked"
	case len(bare) > 0:
		r.Why = "it is hidden"
		if r.HiddenBy = a.lk.Hider(beyond((bare[0].From + bare[0].To) / 2)); r.HiddenBy != "" {
			r.Why = "it is hidden by " + a.title(r.HiddenBy)
		}
	default:
		r.Why = "the pattern never comes down to it within its range"
		for _, l := range limits {
			if l.Down > 0 && a.Eye.Z-a.Eye.Ground <= l.Range && l.Down*l.Range > a.Eye.Z-a.Eye.Ground {
				r.Why = "less of it than asked for is ever in one lobe"
			}
		}
	}
	return r
}

// LonLat returns a place on the site grid as longitude and latitude in degrees.
func (a *Aim) LonLat(p orb.Point) orb.Point { return a.sc.Grid.ToLonLat(p) }

// title names a feature.
func (a *Aim) title(id string) string { return Title(a.sc.Plan, id) }

// Title names a feature of a plan as the findings do: "Store (H1)", or its id
// where it has no name.
func Title(p *model.Plan, id string) string {
	if f := p.Feature(id); f != nil {
		return f.Titled()
	}
	return model.Shown(id)
}

// Tilted returns the aim at another tilt, in degrees.
func (a *Aim) Tilted(tilt float64) *Aim {
	b := *a
	b.Eye = a.Eye.Tilted(tilt - a.Tilt)
	b.Tilt = tilt
	a.lk.Aim(&b.Eye)
	b.look()
	a.lk.Aim(&a.Eye)
	b.lk = pattern.NewLooker(a.sc)
	b.lk.From(&b.Eye, 1)
	return &b
}
