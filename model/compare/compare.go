// Package compare says what changed between two plans and their results: which
// devices were moved, aimed afresh, added or taken away, which chainage was
// gained and lost, and which radio links changed.
package compare

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
)

// Thresholds below which nothing is said to have changed.
const (
	leastMove   = 0.005 // metres: chosen, half a centimetre
	leastSpan   = 0.1   // metres of chainage: what stretches are merged below
	leastMargin = 0.05  // decibels: chosen, half of what is printed
)

// Result is what changed. Lists are in the order of the new plan, what was
// taken away in that of the old one.
type Result struct {
	Moved      []Moved
	Aimed      []Change // bearing, tilt, heights, masks
	Changed    []Change // anything else about a device
	Added      []Thing  // devices
	Removed    []Thing
	Site       Site
	Settings   []Setting // that the analysis reckons with
	Boundaries []Boundary
	Links      []Link
}

// Setting is one setting before and after, with its default where the plan does
// not state it. Before and After are nil where it is a structure, such as the
// postures or the sensor models of the plan, or was not stated.
type Setting struct {
	Label string
	Value
}

// Thing is a feature of a plan.
type Thing struct {
	ID   string
	Kind model.Kind
	Name string
	At   orb.Point // longitude, latitude of a device
}

// Moved is a device that stands elsewhere.
type Moved struct {
	Thing               // where it stands now
	From      orb.Point // longitude, latitude
	Distance  float64   // metres, horizontal
	Direction float64   // degrees clockwise from grid north
}

// Change is what changed about a device that stayed.
type Change struct {
	Thing
	Values []Value
}

// Value is one property before and after: float64, int, string, or nil where it
// was not stated.
type Value struct {
	Property, Unit string
	Before, After  any
}

// Site is what changed about features that are no devices.
type Site struct{ Added, Removed, Changed []Thing }

// Boundary is how the coverage of one boundary changed.
type Boundary struct {
	Thing
	New, Old bool // it is in the new, in the old plan
	Redrawn  bool // its line changed: chainages are not comparable
	Postures []Coverage
}

// Coverage is the change for one target; "" is the plan's own.
type Coverage struct {
	Posture       string
	Before, After *float64        // metres covered; nil where it was not analysed
	Gained, Lost  []coverage.Span // in order; nil where the line was redrawn
}

// GainedLength is the sum of what was gained, metres.
func (c Coverage) GainedLength() float64 { return coverage.Sum(c.Gained) }

// LostLength is the sum of what was lost, metres.
func (c Coverage) LostLength() float64 { return coverage.Sum(c.Lost) }

// Link is one radio link in use before or after.
type Link struct {
	From, To      string
	Before, After *End // nil where it was not in use
}

// End is a link as it was, or is.
type End struct {
	Margin float64 // dB
	Holds  bool
}

// Empty reports whether nothing changed.
func (r Result) Empty() bool {
	return len(r.Moved)+len(r.Aimed)+len(r.Changed)+len(r.Added)+len(r.Removed)+len(r.Site.Added)+len(r.Site.Removed)+len(r.Site.Changed)+len(r.Settings)+len(r.Boundaries)+len(r.Links) == 0
}

// Plans compares two plans by their results, feature by feature of the same id.
// A device whose kind changed counts as taken away and added.
func Plans(before, after *analysis.Result) Result {
	var r Result
	r.devices(before, after)
	r.site(before.Plan, after.Plan)
	r.settings(before.Plan, after.Plan)
	r.boundaries(before, after)
	r.links(before, after)
	return r
}

// leastApart is how far apart, in metres, the origins of two site grids must lie
// before the plans are taken to be of two sites, where neither site is larger
// than that: chosen.
const leastApart = 1000

// SameSite returns an error where two plans are of sites so far apart that a
// comparison says nothing: the origins of their site grids are farther from one
// another than a kilometre and than either site is across.
func SameSite(before, after *analysis.Result) error {
	a, b := before.Scene.Grid, after.Scene.Grid
	p := b.ToSite(orb.Point{a.Lon0, a.Lat0})
	far, across := math.Hypot(p[0], p[1]), float64(leastApart)
	for _, r := range []*analysis.Result{before, after} {
		for i := range r.Scene.Boundaries {
			g := r.Scene.Boundaries[i].Line.Bound()
			across = math.Max(across, math.Hypot(g.Max[0]-g.Min[0], g.Max[1]-g.Min[1]))
		}
	}
	if far <= across {
		return nil
	}
	apart := "over 1000"
	if far < 1e6 { // beyond that the site grid means nothing
		apart = number(far/1000, 1)
	}
	return fmt.Errorf("the two plans are of other sites: the middle of one lies %s km from that of the other, where at most %s km are taken for one site; choose an earlier state of the same plan",
		apart, number(across/1000, 1))
}

func thing(f *model.Feature) Thing {
	t := Thing{ID: f.ID, Kind: f.Kind, Name: f.Name}
	if p, ok := f.Geometry.(orb.Point); ok {
		t.At = p
	}
	return t
}

var deviceKinds = []model.Kind{model.KindSensor, model.KindRepeater, model.KindReceiver}

func (r *Result) devices(before, after *analysis.Result) {
	grid := after.Scene.Grid
	for _, f := range after.Plan.Of(deviceKinds...) {
		old := before.Plan.Feature(f.ID)
		if old == nil || old.Kind != f.Kind || !old.Sound() {
			r.Added = append(r.Added, thing(f))
			continue
		}
		t, was := thing(f), thing(old)
		a, b := grid.ToSite(was.At), grid.ToSite(t.At)
		if d := math.Hypot(b[0]-a[0], b[1]-a[1]); d >= leastMove {
			r.Moved = append(r.Moved, Moved{t, was.At, d, math.Mod(math.Atan2(b[0]-a[0], b[1]-a[1])*180/math.Pi+360, 360)})
		}
		aim, other := differences(old, f)
		if len(aim) > 0 {
			r.Aimed = append(r.Aimed, Change{t, aim})
		}
		if len(other) > 0 {
			r.Changed = append(r.Changed, Change{t, other})
		}
	}
	for _, f := range before.Plan.Of(deviceKinds...) {
		if now := after.Plan.Feature(f.ID); now == nil || now.Kind != f.Kind || !now.Sound() {
			r.Removed = append(r.Removed, thing(f))
		}
	}
}

// differences returns what of a device changed: how it is aimed, and the rest.
func differences(old, now *model.Feature) (aim, other []Value) {
	put := func(list *[]Value, property, unit string, a, b any) {
		if a != b {
			*list = append(*list, Value{property, unit, a, b})
		}
	}
	put(&other, "name", "", stated(old.Name), stated(now.Name))
	switch b := now.Value.(type) {
	case *model.Sensor:
		a := old.Value.(*model.Sensor)
		put(&aim, "bearing_deg", "°", a.Bearing, b.Bearing)
		put(&aim, "tilt_deg", "°", a.Tilt, b.Tilt)
		put(&aim, "mount_height_m", "m", a.MountHeight, b.MountHeight)
		if !slices.Equal(a.Masked, b.Masked) {
			put(&aim, "masked", "", masks(a.Masked), masks(b.Masked))
		}
		put(&aim, "antenna_height_m", "m", a.Antenna, b.Antenna)
		put(&other, "model", "", a.Model, b.Model)
		put(&other, "zone", "", stated(a.Zone), stated(b.Zone))
		put(&other, "address", "", address(a.Address), address(b.Address))
		put(&other, "mount", "", stated(a.Mount), stated(b.Mount))
		put(&other, "radio", "", radioWords(a.Radio), radioWords(b.Radio))
		put(&other, "note", "", stated(a.Note), stated(b.Note))
	case *model.Repeater:
		a := old.Value.(*model.Repeater)
		put(&aim, "antenna_height_m", "m", a.Antenna, b.Antenna)
		put(&other, "address", "", address(a.Address), address(b.Address))
		put(&other, "radio", "", radioWords(a.Radio), radioWords(b.Radio))
		put(&other, "note", "", stated(a.Note), stated(b.Note))
	case *model.Receiver:
		a := old.Value.(*model.Receiver)
		put(&aim, "antenna_height_m", "m", a.Antenna, b.Antenna)
		put(&other, "radio", "", radioWords(a.Radio), radioWords(b.Radio))
		put(&other, "note", "", stated(a.Note), stated(b.Note))
	}
	return aim, other
}

// radioWords says what a device states of its radio; nil for nothing.
func radioWords(m model.Radio) any {
	var out []string
	for _, v := range []struct {
		what, unit string
		v          *float64
	}{{"power", "dBm", m.ERP}, {"sensitivity", "dBm", m.Sensitivity}, {"antenna", "dBi", m.AntennaGain}, {"feeder", "dB", m.FeederLoss}} {
		if v.v != nil {
			out = append(out, v.what+" "+number(*v.v, 2)+" "+v.unit)
		}
	}
	if m.TransmitOnly {
		out = append(out, "only transmits")
	}
	if m.Installation != nil {
		out = append(out, "installation "+number(*m.Installation, 2)+" dB")
	}
	var terms []string
	for _, t := range m.Terms {
		terms = append(terms, t.What+" "+number(t.DB, 2)+" dB")
	}
	if terms != nil {
		out = append(out, "of that "+strings.Join(terms, "; "))
	}
	return stated(strings.Join(out, ", "))
}

func stated(s string) any {
	if s == "" {
		return nil
	}
	return s
}

// masks says which spans are masked, relative to the bearing; nil for none.
func masks(ss []model.Sector) any {
	if len(ss) == 0 {
		return nil
	}
	var out []string
	for _, s := range ss {
		out = append(out, number(s.From, 2)+"° to "+number(s.To, 2)+"°")
	}
	return strings.Join(out, ", ")
}

func address(a *int) any {
	if a == nil {
		return nil
	}
	return *a
}

func (r *Result) site(before, after *model.Plan) {
	isSite := func(k model.Kind) bool {
		return k != "" && k != model.KindReading && !slices.Contains(deviceKinds, k)
	}
	for _, f := range after.Features {
		if !isSite(f.Kind) {
			continue
		}
		switch old := before.Feature(f.ID); {
		case old == nil || old.Kind != f.Kind:
			r.Site.Added = append(r.Site.Added, thing(f))
		case !sameJSON(old.JSON(), f.JSON()):
			r.Site.Changed = append(r.Site.Changed, thing(f))
		}
	}
	for _, f := range before.Features {
		if !isSite(f.Kind) {
			continue
		}
		if now := after.Feature(f.ID); now == nil || now.Kind != f.Kind {
			r.Site.Removed = append(r.Site.Removed, thing(f))
		}
	}
}

// structures are the settings that are no single figure.
var structures = []struct{ path, label string }{{"postures", "Postures"}, {"models", "Sensor models of the plan"}, {"radio.rules", "Radio rules"}, {"radio.calibration", "Correction by readings"}, {"terrain", "Terrain"}}

func (r *Result) settings(before, after *model.Plan) {
	value := func(p *model.Plan, s model.Setting) any {
		raw, ok := p.Raw(s.Path)
		if !ok {
			return s.Default
		}
		var v any
		if json.Unmarshal(raw, &v) != nil {
			return nil
		}
		switch v.(type) {
		case float64, string:
			return v
		}
		return nil
	}
	for _, s := range model.SettingsTable {
		if !strings.Contains(s.Path, ".") || model.ForSheets(s.Path) {
			continue // the title block and what the sheets tell people
		}
		if a, b := value(before, s), value(after, s); a != b {
			r.Settings = append(r.Settings, Setting{s.Label, Value{s.Path, s.Unit, a, b}})
		}
	}
	for _, s := range structures {
		a, was := before.Raw(s.path)
		b, is := after.Raw(s.path)
		if was != is || was && !sameJSON(a, b) {
			r.Settings = append(r.Settings, Setting{s.label, Value{Property: s.path}})
		}
	}
}

// sameJSON reports whether two features say the same, however they are spelled.
func sameJSON(a, b []byte) bool {
	if bytes.Equal(a, b) {
		return true
	}
	var v, w any
	return json.Unmarshal(a, &v) == nil && json.Unmarshal(b, &w) == nil && reflect.DeepEqual(v, w)
}

func (r *Result) boundaries(before, after *analysis.Result) {
	find := func(res *analysis.Result, id string) *analysis.Boundary {
		if i := slices.IndexFunc(res.Boundaries, func(b analysis.Boundary) bool { return b.ID == id }); i >= 0 {
			return &res.Boundaries[i]
		}
		return nil
	}
	add := func(id string) {
		old, now := find(before, id), find(after, id)
		b := Boundary{New: now != nil, Old: old != nil}
		if now != nil {
			b.Thing = thing(after.Plan.Feature(id))
		} else {
			b.Thing = thing(before.Plan.Feature(id))
		}
		same := old != nil && now != nil && orb.Equal(before.Plan.Feature(id).Geometry, after.Plan.Feature(id).Geometry)
		b.Redrawn = old != nil && now != nil && !same
		names := []string{""}
		for _, x := range []*analysis.Boundary{now, old} {
			if x == nil {
				continue
			}
			for _, p := range x.Postures {
				if !slices.Contains(names, p.Name) {
					names = append(names, p.Name)
				}
			}
		}
		for _, name := range names {
			if c, changed := change(name, of(old, name), of(now, name), same); changed {
				b.Postures = append(b.Postures, c)
			}
		}
		if len(b.Postures) > 0 || b.Redrawn || !b.New || !b.Old {
			r.Boundaries = append(r.Boundaries, b)
		}
	}
	for _, b := range after.Boundaries {
		add(b.ID)
	}
	for _, b := range before.Boundaries {
		if find(after, b.ID) == nil {
			add(b.ID)
		}
	}
}

// of returns the coverage of a boundary for a posture, nil where there is none.
func of(b *analysis.Boundary, posture string) *analysis.Coverage {
	switch {
	case b == nil:
		return nil
	case posture == "":
		return &b.Target
	}
	if i := slices.IndexFunc(b.Postures, func(c analysis.Coverage) bool { return c.Name == posture }); i >= 0 {
		return &b.Postures[i]
	}
	return nil
}

// change compares what is covered before and after; same tells that chainages
// are comparable.
func change(posture string, old, now *analysis.Coverage, same bool) (c Coverage, changed bool) {
	c.Posture = posture
	if old != nil {
		c.Before = &old.Covered
	}
	if now != nil {
		c.After = &now.Covered
	}
	if old == nil || now == nil || !same {
		return c, old == nil || now == nil || math.Abs(old.Covered-now.Covered) >= leastSpan
	}
	a, b := covered(old), covered(now)
	c.Gained, c.Lost = long(coverage.Minus(b, a)), long(coverage.Minus(a, b))
	return c, len(c.Gained)+len(c.Lost) > 0
}

func covered(c *analysis.Coverage) (out []coverage.Span) {
	for _, s := range c.Stretches {
		if s.State == coverage.Covered {
			out = append(out, s.Span)
		}
	}
	return out
}

// long leaves out spans too short to tell.
func long(spans []coverage.Span) []coverage.Span {
	return slices.DeleteFunc(spans, func(s coverage.Span) bool { return s.To-s.From < leastSpan })
}

func (r *Result) links(before, after *analysis.Result) {
	type pair struct{ from, to string }
	in := func(res *analysis.Result) (ends map[pair]*End, order []pair) {
		ends = map[pair]*End{}
		for _, l := range res.Links {
			if p := (pair{l.From, l.To}); l.InUse {
				ends[p] = &End{l.Margin, l.Holds()}
				order = append(order, p)
			}
		}
		return ends, order
	}
	was, oldOrder := in(before)
	is, order := in(after)
	for _, p := range order {
		a, b := was[p], is[p]
		if a == nil || math.Abs(a.Margin-b.Margin) >= leastMargin || a.Holds != b.Holds {
			r.Links = append(r.Links, Link{p.from, p.to, a, b})
		}
	}
	for _, p := range oldOrder {
		if is[p] == nil {
			r.Links = append(r.Links, Link{p.from, p.to, was[p], nil})
		}
	}
}
