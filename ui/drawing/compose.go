package drawing

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/model/scene"
)

// Input is what Compose draws from.
type Input struct {
	Scene    *scene.Scene     // where everything stands
	Result   *analysis.Result // on the same site grid; nil before the first analysis
	Selected []string         // ids
	Hovered  string           // an id
	Link     [2]string        // the ends of the link that is chosen
	// Live are the ids that are being dragged: what they see, and their
	// links, go to LiveLayer, as with what is selected.
	Live     []string
	Before   *analysis.Ways    // ways in of the plan before an edit, on the same site grid, where Result has none yet; nil for none
	Margins  *analysis.Margins // to be drawn as contours, on the same site grid; nil for none
	Proposed []Proposed        // places for repeaters
	Posture  int               // whose coverage is drawn along the boundary: 0 the target, k the plan's k-th posture
	Show     Show
}

// Show is a choice of what to draw. The zero value is the usual picture: the
// links in use, and overspill of a person onto roads, footpaths and neighbours
// for all sensors, every overspill for those that are selected.
type Show uint16

// The choices.
const (
	AllLinks     Show = 1 << iota // those not in use too
	AllOverspill                  // onto open land and of vehicles too
	NoLinks
	NoPatterns
	NoOverspill
	NoCoverage
	NoNames
	NoMargins
	NoWays // in to assets
	NoSite // only the boundary, devices and results
)

// Has reports whether all of f is chosen.
func (s Show) Has(f Show) bool { return s&f == f }

// Priorities of labels: who gets the first choice of place.
const (
	gapPriority      = 100
	selectedPriority = 90
	hubPriority      = 70 // receivers and repeaters
	sensorPriority   = 60
	thinPriority     = 45 // margin of a link that is thin or fails
	marginPriority   = 30
	namePriority     = 10
)

// Compose draws a plan and its result: what stands on the site, what the
// sensors see, links, boundary, marks and labels. Handles and drafts are the
// editor's: List.With adds them. Geometry is shared with the input, not copied.
//
// A feature that is left out of the analysis because something is wrong with
// it is drawn in grey where it has a place.
func Compose(in Input) *List {
	c := &composer{in: in, list: &List{}, selected: map[string]bool{}, live: map[string]bool{}}
	for _, id := range in.Selected {
		c.selected[id] = true
	}
	for _, id := range in.Live {
		c.live[id] = true
	}
	if !in.Show.Has(NoSite) {
		c.site()
	}
	if in.Result != nil {
		if !in.Show.Has(NoPatterns) {
			c.patterns()
		}
		if !in.Show.Has(NoLinks) {
			c.links()
		}
	}
	c.margins()
	c.boundaries()
	c.gates()
	if in.Result != nil {
		c.ways()
	}
	c.devices()
	c.flawed()
	c.posts()
	c.readings()
	c.proposed()
	c.list.Arrange()
	return c.list
}

type composer struct {
	in       Input
	list     *List
	selected map[string]bool
	live     map[string]bool
	// Devices and their names, until it is known which share a post.
	marks, names []Item
}

func (c *composer) state(id string) (s State) {
	if c.selected[id] {
		s |= Selected
	}
	if id != "" && id == c.in.Hovered {
		s |= Hovered
	}
	return s
}

func (c *composer) area(layer Layer, m Meaning, id string, a orb.MultiPolygon, s State) {
	if len(a) > 0 {
		c.list.Add(Item{Layer: layer, Kind: AreaKind, Meaning: m, ID: id, Area: a, State: s})
	}
}

func (c *composer) line(layer Layer, m Meaning, id string, l orb.LineString, s State) {
	if len(l) > 1 {
		c.list.Add(Item{Layer: layer, Kind: LineKind, Meaning: m, ID: id, Line: l, State: s})
	}
}

func (c *composer) label(it Item) {
	if it.Text = model.Shown(it.Text); it.Text == "" {
		it.Text = it.Short
	}
	if it.Text == "" || c.in.Show.Has(NoNames) && it.Meaning != GapNumber && it.Meaning != MarginFigure {
		return
	}
	it.Layer, it.Kind = LabelLayer, LabelKind
	if c.selected[it.ID] {
		it.Priority = max(it.Priority, selectedPriority)
		if it.Meaning == DeviceName {
			it.State |= Selected
		}
	}
	c.list.Add(it)
}

// siteOrder is the order in which kinds are drawn, from the ground up.
var siteOrder = []model.Kind{model.KindNeighbour, model.KindPremises, model.KindRoad, model.KindFootpath, model.KindFoliage,
	model.KindAsset, model.KindBuilding, model.KindObstacle, model.KindView, model.KindHazard}

func (c *composer) site() {
	for _, k := range siteOrder {
		for _, f := range c.in.Scene.Plan.Of(k) {
			c.feature(f, c.in.Scene.Shape(f.ID), c.state(f.ID))
		}
	}
}

// meaningOf is the meaning of a feature of the site.
func meaningOf(f *model.Feature) Meaning {
	switch f.Kind {
	case model.KindNeighbour:
		return Neighbour
	case model.KindPremises:
		return Premises
	case model.KindRoad, model.KindFootpath:
		m := RoadPublic
		if f.Kind == model.KindFootpath {
			m = Footpath
		}
		if w, ok := f.Value.(*model.Way); ok && w.Private {
			m++ // RoadPrivate, FootpathPrivate
		}
		return m
	case model.KindFoliage:
		return Foliage
	case model.KindAsset:
		return Asset
	case model.KindBuilding:
		return Building
	case model.KindObstacle:
		if o, ok := f.Value.(*model.Obstacle); ok && o.SeeThrough {
			return ObstacleMesh
		}
		return Obstacle
	case model.KindView:
		return CameraView
	case model.KindHazard:
		return Hazard
	case model.KindBoundary:
		return Boundary
	case model.KindExcluded:
		return Excluded
	case model.KindGate:
		return Gate
	case model.KindSensor:
		return Sensor
	case model.KindRepeater:
		return Repeater
	case model.KindReceiver:
		return Receiver
	case model.KindReading:
		return Reading
	}
	return None
}

// feature draws a feature of the site with its name; premises and obstacles
// are named where they are selected.
func (c *composer) feature(f *model.Feature, g orb.Geometry, s State) {
	m := meaningOf(f)
	name := Item{Meaning: FeatureName, ID: f.ID, Text: f.Name, Priority: namePriority, Must: s.Has(Selected)}
	if m == Asset { // always named, in the room the other names leave
		name.Priority, name.Must = namePriority-1, true
	}
	switch v := f.Value.(type) {
	case *model.Hazard:
		if name.Text == "" {
			name.Text = v.What
		}
	case *model.Obstacle:
		name.Text = ""
	}
	if m == Premises {
		name.Text = ""
	}
	if name.Text == "" && s.Has(Selected) {
		name.Text = f.Title()
	}
	switch g := g.(type) {
	case orb.Point:
		c.list.Add(Item{Layer: SiteLayer, Kind: MarkKind, Meaning: m, ID: f.ID, At: g, State: s})
		name.At = g
	case orb.LineString:
		if w, ok := f.Value.(*model.Way); ok {
			c.area(SiteLayer, m, f.ID, ribbon(g, w.Width), s)
		} else {
			c.line(SiteLayer, m, f.ID, g, s)
		}
		if m == Hazard {
			at, _ := alongUnits(g, 0.5)
			c.list.Add(Item{Layer: SiteLayer, Kind: MarkKind, Meaning: m, ID: f.ID, At: at, State: s &^ (Selected | Hovered)})
		}
		name.Line, name.Prefer = g, OnLine
	case orb.Polygon:
		c.area(SiteLayer, m, f.ID, orb.MultiPolygon{g}, s)
		at, room := middle(g)
		name.At, name.Prefer, name.Length = at, Centred, room
	}
	c.label(name)
}

// middle returns a place inside a polygon and how wide a name may be there.
func middle(p orb.Polygon) (at orb.Point, room float64) {
	at, area := planar.CentroidArea(p)
	b := p.Bound()
	room = math.Min(b.Max[0]-b.Min[0], 1.3*math.Sqrt(math.Abs(area)))
	if planar.PolygonContains(p, at) {
		return at, room
	}
	// The widest run inside the outline at the height of its middle.
	y := b.Center()[1]
	var xs []float64
	for _, r := range p {
		for i := 1; i < len(r); i++ {
			a, q := r[i-1], r[i]
			if (a[1] > y) != (q[1] > y) {
				xs = append(xs, a[0]+(y-a[1])/(q[1]-a[1])*(q[0]-a[0]))
			}
		}
	}
	slices.Sort(xs)
	room = 0
	at = b.Center()
	for i := 1; i < len(xs); i += 2 {
		if w := xs[i] - xs[i-1]; w > room {
			room, at = w, orb.Point{(xs[i] + xs[i-1]) / 2, y}
		}
	}
	return at, room
}

// ribbon is the outline of a line of some width: for drawing, with mitred
// joins where the analysis has round ones.
func ribbon(l orb.LineString, width float64) orb.MultiPolygon {
	if len(l) < 2 {
		return nil
	}
	left := offset(nil, l, width/2)
	right := offset(nil, l, -width/2)
	slices.Reverse(right)
	ring := append(orb.Ring(left), right...)
	return orb.MultiPolygon{{append(ring, ring[0])}}
}

func (c *composer) patterns() {
	for i := range c.in.Result.Sensors {
		s := &c.in.Result.Sensors[i]
		sel := c.selected[s.ID]
		layer, m := PatternLayer, Footprint
		if sel || c.live[s.ID] {
			layer = LiveLayer
		}
		if sel {
			m = FootprintSelected
		}
		hover := c.state(s.ID) &^ Selected
		c.area(layer, m, s.ID, s.Footprint, hover)
		c.area(layer, FootprintLookDown, s.ID, c.in.Result.LookDown(i), 0)
		c.area(layer, Screened, s.ID, s.Screened, 0)
	}
	if c.in.Show.Has(NoOverspill) {
		return
	}
	for i := range c.in.Result.Sensors {
		s := &c.in.Result.Sensors[i]
		sel := c.selected[s.ID]
		layer := PatternLayer
		if sel || c.live[s.ID] {
			layer = LiveLayer
		}
		// A vehicle's goes under a person's.
		for _, vehicle := range [2]bool{true, false} {
			for _, o := range s.Overspill {
				m := overspillMeaning(o)
				if (o.For == "vehicle") != vehicle || (m == OverspillOpen || m == OverspillVehicle) && !sel && !c.in.Show.Has(AllOverspill) {
					continue
				}
				c.area(layer, m, s.ID, o.Shape, 0)
			}
		}
	}
}

func overspillMeaning(o analysis.Overspill) Meaning {
	if o.For == "vehicle" {
		return OverspillVehicle
	}
	switch o.Class {
	case "road":
		return OverspillRoad
	case "footpath":
		return OverspillFootpath
	case "neighbour":
		return OverspillNeighbour
	}
	return OverspillOpen
}

// ThinDB is the margin above what is required below which a link is thin.
const ThinDB = 3.0

// LinkMeaning is how a link is drawn, and its margin above what is required.
func LinkMeaning(l analysis.Link) (m Meaning, excess float64) {
	excess = l.Margin - l.Required
	switch {
	case !l.Holds():
		return LinkFails, excess
	case excess < ThinDB:
		return LinkThin, excess
	}
	return LinkHeld, excess
}

func (c *composer) links() {
	for _, l := range c.in.Result.Links {
		chosen := c.in.Link == [2]string{l.From, l.To}
		if !l.InUse && !chosen && !c.in.Show.Has(AllLinks) {
			continue
		}
		m, excess := LinkMeaning(l)
		layer := LinkLayer
		if c.selected[l.From] || c.selected[l.To] || c.live[l.From] || c.live[l.To] {
			layer = LiveLayer
		}
		line := orb.LineString{l.A, l.B}
		s := State(0)
		if !l.InUse {
			s = Muted
		}
		if chosen {
			layer, s = LiveLayer, Selected
		}
		c.list.Add(Item{Layer: layer, Kind: LineKind, Meaning: m, ID: l.From, Part: "link", Text: l.To, Line: line, Margin: excess, State: s})
		if c.in.Show.Has(NoMargins) || !l.InUse && !chosen {
			continue
		}
		p := int8(marginPriority)
		if m != LinkHeld {
			p = thinPriority
		}
		c.label(Item{Meaning: MarginFigure, ID: l.From, Part: "link", Text: decibels(l.Margin), Line: line, Prefer: OnLine, Priority: p})
	}
}

// decibels is a margin as an engineer says it: whole decibels, a true minus.
func decibels(v float64) string {
	r := math.Round(v) + 0 // no negative zero
	if r < 0 {
		return fmt.Sprintf("−%.0f dB", -r)
	}
	return fmt.Sprintf("%.0f dB", r)
}

func side(left bool) Side {
	if left {
		return Left
	}
	return Right
}

// coverageOf is what holds along a boundary for the posture that is shown, and
// its name as findings have it: "" for the target.
func (in *Input) coverageOf(b *analysis.Boundary) (*analysis.Coverage, string) {
	if k := in.Posture - 1; k >= 0 && k < len(b.Postures) {
		return &b.Postures[k], b.Postures[k].Name
	}
	return &b.Target, ""
}

func (c *composer) boundaries() {
	for i := range c.in.Scene.Boundaries {
		b := &c.in.Scene.Boundaries[i]
		id, inside := b.Feature.ID, side(b.Left)
		c.list.Add(Item{Layer: BoundaryLayer, Kind: LineKind, Meaning: Boundary, ID: id, Line: b.Line, Inside: inside, State: c.state(id)})
		if r := c.resultOf(id); r != nil && !c.in.Show.Has(NoCoverage) {
			c.coverage(b, r)
		}
		c.list.Add(Item{Layer: BoundaryLayer, Kind: LineKind, Meaning: ChainageTick, Line: b.Line, Inside: inside})
	}
	// Before the first analysis, the stretches that need no detection.
	if c.in.Result == nil || c.in.Show.Has(NoCoverage) {
		for _, e := range c.in.Scene.Excluded {
			c.line(BoundaryLayer, Excluded, e.Feature.ID, e.Line, c.state(e.Feature.ID))
		}
		return
	}
	for _, e := range c.in.Scene.Excluded {
		if s := c.state(e.Feature.ID); s != 0 {
			c.line(BoundaryLayer, Excluded, e.Feature.ID, e.Line, s)
		}
	}
}

func (c *composer) resultOf(boundary string) *analysis.Boundary {
	if c.in.Result == nil {
		return nil
	}
	for i := range c.in.Result.Boundaries {
		if c.in.Result.Boundaries[i].ID == boundary {
			return &c.in.Result.Boundaries[i]
		}
	}
	return nil
}

// coverage draws what holds along one boundary: bands, closed stretches, gaps
// with their numbers, counted from 1 along each boundary as in the findings.
func (c *composer) coverage(b *scene.Boundary, r *analysis.Boundary) {
	id, inside := b.Feature.ID, side(b.Left)
	part := func(m Meaning, name string, n int, s coverage.Span) {
		l := b.Part(s.From, s.To)
		if len(l) > 1 {
			c.list.Add(Item{Layer: BoundaryLayer, Kind: LineKind, Meaning: m, ID: id, Part: name, Index: n, Line: l, Inside: inside})
		}
	}
	cov, posture := c.in.coverageOf(r)
	shallow := c.shallow(id)
	for _, s := range cov.Stretches {
		switch s.State {
		case coverage.Closed:
			part(Excluded, "closed", 0, s.Span)
		case coverage.Covered:
			deep, thin := split(s.Span, shallow)
			for _, d := range deep {
				part(Covered, "covered", 0, d)
			}
			for _, d := range thin {
				part(Shallow, "shallow", 0, d)
			}
		}
	}
	for _, s := range cov.Overlaps {
		part(Overlap, "overlap", 0, s)
	}
	for _, s := range c.headOn(id) {
		part(HeadOn, "head-on", 0, s)
	}
	for k := range cov.Gaps {
		g := &cov.Gaps[k]
		m := Gap
		flag := Item{Meaning: GapNumber, ID: id, Part: "gap", Index: k + 1, Text: fmt.Sprint(k + 1), Prefer: Outward, Priority: gapPriority, Must: true}
		if c.accepted(id, posture, g) {
			m, flag.State = GapAccepted, Muted
		}
		part(m, "gap", k+1, g.Span)
		mid := g.From + g.Length/2
		n := b.Normal(mid)
		flag.At, flag.Bearing = b.Point(mid), math.Atan2(-n[0], -n[1])*180/math.Pi
		c.label(flag)
	}
}

// accepted reports whether someone has accepted a gap of a posture, "" for
// the target.
func (c *composer) accepted(boundary, posture string, g *analysis.Gap) bool {
	for i := range c.in.Result.Findings {
		f := &c.in.Result.Findings[i]
		if f.Rule == "gap" && f.Accepted != nil && f.Posture == posture && slices.Contains(f.Subject, boundary) && f.From != nil && math.Abs(*f.From-g.From) < 0.01 {
			return true
		}
	}
	return false
}

// shallow returns the stretches of a boundary found to be covered only nearby.
func (c *composer) shallow(boundary string) (out []coverage.Span) {
	if c.in.Posture != 0 {
		return nil
	}
	for i := range c.in.Result.Findings {
		f := &c.in.Result.Findings[i]
		if f.Rule == "shallow" && slices.Contains(f.Subject, boundary) && f.From != nil && f.To != nil && f.Posture == "" {
			out = append(out, coverage.Span{From: *f.From, To: *f.To})
		}
	}
	return out
}

// headOn returns the stretches of a boundary that are crossed head-on; they are
// the target's.
func (c *composer) headOn(boundary string) []coverage.Span {
	if c.in.Posture != 0 {
		return nil
	}
	return c.in.Result.HeadOn(boundary)
}

// split divides a span into what lies outside all cuts and what lies in one,
// each in order of chainage. Spans that run through chainage 0 stay whole
// unless a cut equals them.
func split(s coverage.Span, cuts []coverage.Span) (outside, inside []coverage.Span) {
	if s.To < s.From {
		if slices.Contains(cuts, s) {
			return nil, []coverage.Span{s}
		}
		return []coverage.Span{s}, nil
	}
	var in []coverage.Span
	for _, c := range cuts {
		parts := []coverage.Span{c}
		if c.To < c.From {
			parts = []coverage.Span{{From: c.From, To: math.Inf(1)}, {From: 0, To: c.To}}
		}
		for _, p := range parts {
			if lo, hi := math.Max(p.From, s.From), math.Min(p.To, s.To); lo < hi {
				in = append(in, coverage.Span{From: lo, To: hi})
			}
		}
	}
	slices.SortFunc(in, func(a, b coverage.Span) int { return cmp.Compare(a.From, b.From) })
	at := s.From
	for _, c := range in {
		if c.From > at {
			outside = append(outside, coverage.Span{From: at, To: c.From})
		}
		if c.To > at {
			inside = append(inside, coverage.Span{From: math.Max(at, c.From), To: c.To})
			at = c.To
		}
	}
	if s.To > at {
		outside = append(outside, coverage.Span{From: at, To: s.To})
	}
	return outside, inside
}

func (c *composer) gates() {
	for _, g := range c.in.Scene.Gates {
		a, b := g.Line[0], g.Line[len(g.Line)-1]
		at := orb.Point{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}
		// Across the line.
		bearing := math.Atan2(-(b[1]-a[1]), b[0]-a[0]) * 180 / math.Pi
		c.list.Add(Item{Layer: BoundaryLayer, Kind: MarkKind, Meaning: Gate, ID: g.Feature.ID, At: at,
			Bearing: bearing, Length: math.Hypot(b[0]-a[0], b[1]-a[1]), State: c.state(g.Feature.ID)})
		c.label(Item{Meaning: FeatureName, ID: g.Feature.ID, Text: g.Feature.Name, At: at, Prefer: Outward, Bearing: bearing,
			Priority: namePriority + 10, Must: c.selected[g.Feature.ID]})
	}
}

func (c *composer) devices() {
	at := map[string]orb.Point{}
	if c.in.Result != nil {
		for i := range c.in.Result.Sensors {
			at[c.in.Result.Sensors[i].ID] = c.in.Result.Sensors[i].At
		}
	}
	for _, d := range c.in.Scene.Devices {
		f := d.Feature
		it := Item{Layer: DeviceLayer, Kind: MarkKind, Meaning: meaningOf(f), ID: f.ID, At: d.At, State: c.state(f.ID)}
		name := Item{Meaning: DeviceName, ID: f.ID, Text: f.Title(), Short: f.ID, Priority: hubPriority, Must: true, Prefer: Beside}
		if s, ok := f.Value.(*model.Sensor); ok {
			if p, ok := at[f.ID]; ok {
				it.At = p
			}
			it.Bearing = s.Bearing - c.in.Scene.Grid.Convergence(it.At)
			// Behind it, off its pattern.
			name.Prefer, name.Bearing, name.Priority = Outward, math.Mod(it.Bearing+180, 360), sensorPriority
		}
		name.At = it.At
		c.marks, c.names = append(c.marks, it), append(c.names, name)
	}
}

func (c *composer) readings() {
	for _, f := range c.in.Scene.Plan.Of(model.KindReading) {
		if p, ok := c.in.Scene.Shape(f.ID).(orb.Point); ok {
			c.list.Add(Item{Layer: DeviceLayer, Kind: MarkKind, Meaning: Reading, ID: f.ID, At: p, State: c.state(f.ID)})
		}
	}
}

// flawed draws, in grey, what has a place but is left out of the analysis.
func (c *composer) flawed() {
	p := c.in.Scene.Plan
	for _, f := range p.Features {
		if f.Kind == "" || f.Geometry == nil || f.Sound() && p.Feature(f.ID) == f {
			continue
		}
		g, s := c.in.Scene.Grid.Geometry(f.Geometry), c.state(f.ID)|Muted
		m := meaningOf(f)
		if pt, ok := g.(orb.Point); ok && (m == Sensor || m == Repeater || m == Receiver) {
			if m == Sensor {
				m = SensorFlagged
			}
			it := Item{Layer: DeviceLayer, Kind: MarkKind, Meaning: m, ID: f.ID, At: pt, State: s}
			if b, ok := f.Number("bearing_deg"); ok && !math.IsInf(b, 0) {
				it.Bearing = math.Mod(b, 360)
			}
			c.marks = append(c.marks, it)
			c.names = append(c.names, Item{Meaning: DeviceName, ID: f.ID, Text: f.Title(), Short: f.ID, At: pt, Priority: sensorPriority, Must: true})
			continue
		}
		c.feature(f, g, s)
	}
}
