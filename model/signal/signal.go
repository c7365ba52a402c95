// Package signal says how strong one sensor's signal of one crossing is against
// that of its walk test, and at which hours of a temperature series there is hardly
// any: it takes from a plan what package contrast reckons with.
//
// Only ratios are told, in decibels of amplitude with their uncertainty: neither a
// range in metres nor a probability follows from them.
package signal

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/aim"
	"pleach/model/contrast"
	"pleach/model/scene"
)

// Claim is what may be claimed of every figure here, in one sentence.
const Claim = "A ratio against the walk-tested condition, by engineering judgement and no published source: no range in metres and no probability of detection follows from it."

// Clothing is how far a target's surface is taken to have gone from bare skin
// towards the air where nothing is stated, see contrast.Surface; chosen: a clothed
// person with face and hands bare.
const Clothing = 0.5

// Sensor is one sensor of a plan and what is known of its optics.
type Sensor struct {
	Feature *model.Feature
	Zone    contrast.Zone
	Assumed []string // what of the zone is a typical figure, in words; empty where all is stated
	Tall    float64  // metres, of the plan's target

	aim *aim.Aim
	sc  *scene.Scene
}

// OpticsFigures is how many figures a zone has.
const OpticsFigures = 5

// Of returns the sensor called id of a scene's plan. It returns an error where there
// is no such sensor or it is left out of the analysis.
func Of(sc *scene.Scene, id string) (*Sensor, error) {
	a, err := aim.Of(sc, id)
	if err != nil {
		return nil, err
	}
	s := &Sensor{Feature: a.Sensor, Zone: contrast.Typical(), Tall: sc.Plan.Settings.Target.Height, aim: a, sc: sc}
	o := a.Model.Optics
	for _, f := range []struct {
		stated *float64
		of     *float64
		words  string
	}{
		{o.ZoneWidth, &s.Zone.Wide, fmt.Sprintf("%g° wide", s.Zone.Wide)},
		{o.ZoneHeight, &s.Zone.High, fmt.Sprintf("%g° high", s.Zone.High)},
		{o.ZonePeriod, &s.Zone.Period, fmt.Sprintf("one every %g°", s.Zone.Period)},
		{o.LowHz, &s.Zone.Slow, fmt.Sprintf("from %g Hz", s.Zone.Slow)},
		{o.HighHz, &s.Zone.Fast, fmt.Sprintf("to %g Hz", s.Zone.Fast)},
	} {
		if f.stated == nil {
			s.Assumed = append(s.Assumed, f.words)
			continue
		}
		*f.of = *f.stated
	}
	return s, nil
}

// Place is where a target crosses, as one sensor sees it.
type Place struct {
	Boundary string  // id, "" for a place along the axis
	Chainage float64 // metres along the boundary
	Distance float64 // metres, horizontal, from the optical centre
	Height   float64 // metres of the optical centre above the target's middle
	Heading  float64 // degrees between path and line of sight, 0 to 180: 90 across it, 0 straight at the sensor

	off float64 // degrees clockwise from the sensor's bearing, in [-180, 180]
}

// at returns the place p, crossed at a heading.
func (s *Sensor) at(p orb.Point, heading float64) Place {
	e := s.aim.Eye
	off := math.Remainder(math.Atan2(p[0]-e.At[0], p[1]-e.At[1])-e.Bearing, 2*math.Pi) * 180 / math.Pi
	return Place{Distance: math.Hypot(p[0]-e.At[0], p[1]-e.At[1]), Height: e.Z - s.sc.Ground(p) - s.Tall/2, Heading: heading, off: off}
}

// Unseen says why the plan's target is not seen at a place, "" where it is or may be.
// Along the axis it goes by what is seen there; elsewhere by the range and the width
// of the lobes alone, so that an obstacle on the way goes unsaid.
func (s *Sensor) Unseen(p Place) string {
	longest, within := 0.0, false
	for _, l := range s.aim.Model.Lobes {
		longest = math.Max(longest, l.Range)
		within = within || p.Distance <= l.Range && math.Abs(math.Remainder(p.off-l.Azimuth, 360)) <= l.Width/2
	}
	switch {
	case p.Distance > longest:
		return fmt.Sprintf("outside the pattern: the range of %s is %g m", s.aim.Model.ID, longest)
	case p.Boundary != "" && !within:
		return fmt.Sprintf("outside the pattern: %.0f° off the bearing", math.Abs(p.off))
	case p.Boundary != "":
		return ""
	}
	for _, x := range s.aim.Target.Seen {
		if x.From <= p.Distance && p.Distance <= x.To {
			return ""
		}
	}
	return "the target is not seen there along the axis"
}

// Ahead returns the place so many metres along the axis, crossed across.
func (s *Sensor) Ahead(distance float64) Place {
	sin, cos := math.Sincos(s.aim.Eye.Bearing)
	at := s.aim.Eye.At
	return s.at(orb.Point{at[0] + distance*sin, at[1] + distance*cos}, 90)
}

// Far returns the place at the far reach for the plan's target along the axis,
// crossed across; ok is false where the target is seen nowhere there.
func (s *Sensor) Far() (p Place, ok bool) {
	far, ok := s.aim.Target.Far()
	if !ok || far < least {
		return Place{}, false
	}
	return s.Ahead(math.Floor(far*10) / 10), true
}

// least is the nearest crossing that is reckoned, in metres.
const least = contrast.MinDistance

// On returns the place at a chainage of a boundary, crossed straight inwards as the
// crossing line runs. An empty id stands for the only boundary, or for the one
// nearest to where the axis ends.
func (s *Sensor) On(boundary string, chainage float64) (Place, error) {
	b, err := s.boundary(boundary)
	if err != nil {
		return Place{}, err
	}
	if !(chainage >= 0 && chainage <= b.Length()) {
		return Place{}, fmt.Errorf("chainage %g is not between 0 and %.1f, the length of %s in metres", chainage, b.Length(), b.Feature.ID)
	}
	p := b.Point(chainage)
	n := b.Normal(chainage)
	at := s.aim.Eye.At
	to := orb.Point{at[0] - p[0], at[1] - p[1]} // towards the sensor
	d := math.Hypot(to[0], to[1])
	if d < least {
		return Place{}, fmt.Errorf("%s at %g m is %.1f m from %s: nearer than %g m nothing is reckoned", b.Feature.ID, chainage, d, s.Feature.ID, least)
	}
	cos := (n[0]*to[0] + n[1]*to[1]) / d
	heading := math.Acos(math.Max(-1, math.Min(1, cos))) * 180 / math.Pi
	out := s.at(p, heading)
	out.Boundary, out.Chainage = b.Feature.ID, chainage
	return out, nil
}

func (s *Sensor) boundary(id string) (*scene.Boundary, error) {
	var ids []string
	for i := range s.sc.Boundaries {
		b := &s.sc.Boundaries[i]
		if b.Feature.ID == id || id == "" && (len(s.sc.Boundaries) == 1 || s.aim.Boundary != nil && b.Feature.ID == s.aim.Boundary.ID) {
			return b, nil
		}
		ids = append(ids, b.Feature.ID)
	}
	switch {
	case len(ids) == 0:
		return nil, fmt.Errorf("the plan has no boundary: state a distance")
	case id == "":
		return nil, fmt.Errorf("which boundary: one of %s", strings.Join(ids, ", "))
	}
	return nil, fmt.Errorf("there is no boundary %s: one of %s", id, strings.Join(ids, ", "))
}

// Crossing returns the condition of an upright target that crosses at a place, in the
// weather and clothing of another condition, at its speed.
func (s *Sensor) Crossing(p Place, like contrast.Condition) contrast.Condition {
	like.Distance, like.Height, like.Heading = p.Distance, p.Height, p.Heading
	return like
}

// Tested is the walk-tested condition.
type Tested struct {
	contrast.Condition
	Reading *model.Feature // it is taken from, nil for none
	Assumed []string       // which of distance, speed, direction, air, ground and clothing are not stated
}

// Quantities of a walk test, as Tested.Assumed names them.
const (
	Distance  = "distance"
	Speed     = "speed"
	Direction = "direction"
	Air       = "air"
	Ground    = "ground"
	Clothes   = "clothing"
)

// Quantities lists them in order.
var Quantities = []string{Distance, Speed, Direction, Air, Ground, Clothes}

// Tested returns the condition in which the sensor was walk-tested: that of a reading
// by its id, or of the latest walk test that states both temperatures. What it does
// not state, and all where there is none, is assumed and listed: a walk of 1 m/s
// across the view at the distance given, air and ground at 10 degrees.
func (s *Sensor) Tested(reading string, distance float64) (Tested, error) {
	t := Tested{Condition: contrast.Person(), Assumed: slices.Clone(Quantities)}
	t.Tall, t.Clothing = s.Tall, Clothing
	f, err := s.reading(reading)
	if err != nil {
		return t, err
	}
	place := s.Ahead(distance)
	if f != nil {
		t.Reading = f
		r := f.Value.(*model.Reading)
		switch at, ok := s.sc.Shape(f.ID).(orb.Point); {
		case r.Distance != nil:
			place = s.Ahead(*r.Distance)
			t.State(Distance)
		case ok:
			place = s.at(at, 90)
			t.State(Distance)
		}
		for _, q := range []struct {
			name   string
			stated *float64
			of     *float64
		}{{Speed, r.Speed, &t.Speed}, {Direction, r.Heading, &place.Heading}, {Air, r.Air, &t.Air}, {Ground, r.Background, &t.Background}, {Clothes, r.Clothing, &t.Clothing}} {
			if q.stated != nil {
				*q.of = *q.stated
				t.State(q.name)
			}
		}
	}
	t.Condition = s.Crossing(place, t.Condition)
	return t, nil
}

// State takes a quantity out of what is assumed.
func (t *Tested) State(name string) {
	t.Assumed = slices.DeleteFunc(t.Assumed, func(a string) bool { return a == name })
}

// SetDistance has the walk test made at another distance along the axis.
func (s *Sensor) SetDistance(t *Tested, distance float64) {
	p := s.Ahead(distance)
	t.Distance, t.Height = p.Distance, p.Height
	t.State(Distance)
}

// reading returns the walk test called id, or the one to go by; nil for none.
func (s *Sensor) reading(id string) (*model.Feature, error) {
	var best *model.Feature
	var when time.Time
	var ids []string
	for _, f := range s.sc.Plan.Of(model.KindReading) {
		r := f.Value.(*model.Reading)
		if r.What != "walk-test" || !slices.Contains(r.Of, s.Feature.ID) {
			continue
		}
		if f.ID == id {
			return f, nil
		}
		ids = append(ids, f.ID)
		if r.Air == nil || r.Background == nil {
			continue
		}
		at, _ := time.Parse(time.RFC3339, r.At) // the zero time for one that has none
		if best == nil || !at.Before(when) {
			best, when = f, at
		}
	}
	switch {
	case id == "":
		return best, nil
	case len(ids) == 0:
		return nil, fmt.Errorf("%s is no walk test of %s: the plan has none", id, s.Feature.ID)
	}
	return nil, fmt.Errorf("%s is no walk test of %s: one of %s", id, s.Feature.ID, strings.Join(ids, ", "))
}

// Row is one condition and its signal.
type Row struct {
	Name   string // in words
	Detail string // figures of what is changed, "" where the name says it
	Now    contrast.Condition
	contrast.Signal
}

// Weathers and ways of the rows, chosen: a warm day with sunlit ground, a clear
// night, fog, a stalker, a runner.
const (
	SummerAir, SummerGround = 26.0, 31.0
	NightAir, NightGround   = -5.0, -8.0
	FogVisibility           = 100.0 // metres
	SlowSpeed               = 0.2   // metres a second
	RunSpeed                = 4.0   // metres a second
)

// Table returns the signal of a crossing against the walk-tested condition, first as
// it is, then with one thing about it changed at a time.
func (s *Sensor) Table(now contrast.Condition, t Tested) ([]Row, error) {
	rows := []Row{{Name: "as asked", Now: now}}
	add := func(name, detail string, change func(c *contrast.Condition)) {
		c := now
		change(&c)
		rows = append(rows, Row{Name: name, Detail: detail, Now: c})
	}
	weather := func(air, ground float64) string {
		return strings.ReplaceAll(fmt.Sprintf("air %g °C, ground %g °C", air, ground), "-", "−")
	}
	add("across the view", "", func(c *contrast.Condition) { c.Heading = 90 })
	add("towards the sensor", "", func(c *contrast.Condition) { c.Heading = 0 })
	add("slow", fmt.Sprintf("%g m/s", SlowSpeed), func(c *contrast.Condition) { c.Speed = SlowSpeed })
	add("running", fmt.Sprintf("%g m/s", RunSpeed), func(c *contrast.Condition) { c.Speed = RunSpeed })
	add("summer noon", weather(SummerAir, SummerGround), func(c *contrast.Condition) { c.Air, c.Background = SummerAir, SummerGround })
	add("winter night", weather(NightAir, NightGround), func(c *contrast.Condition) { c.Air, c.Background = NightAir, NightGround })
	add("fog", fmt.Sprintf("visibility %g m", FogVisibility), func(c *contrast.Condition) { c.Visibility = FogVisibility })
	for i := range rows {
		sig, err := contrast.Relative(rows[i].Now, t.Condition, s.Zone)
		if err != nil {
			return nil, err
		}
		rows[i].Signal = sig
	}
	return rows, nil
}
