// Package handover decides what of a plan and its result is handed over to
// other programs: which layers of features with which attributes, and which
// schedules. How they are spelled is for model/layer.
package handover

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/model/layer"
	"pleach/model/scene"
)

// The classes of features: each has a style of its own.
const (
	Footprint          = "footprint"
	Screened           = "screened"
	OverspillRoad      = "overspill-road"
	OverspillFootpath  = "overspill-footpath"
	OverspillNeighbour = "overspill-neighbour"
	OverspillOpen      = "overspill-open"
	OverspillVehicle   = "overspill-vehicle"
	Boundary           = "boundary"
	Covered            = "covered"
	Overlap            = "overlap"
	Shallow            = "shallow"
	HeadOn             = "head-on"
	Gap                = "gap"
	GapAccepted        = "gap-accepted"
	Closed             = "closed"
	LinkHeld           = "link-held"
	LinkThin           = "link-thin"
	LinkFails          = "link-fails"
	LinkUnused         = "link-unused"
	Sensor             = "sensor"
	Repeater           = "repeater"
	Receiver           = "receiver"
	Gate               = "gate"
	RoadPublic         = "road-public"
	RoadPrivate        = "road-private"
	Footpath           = "footpath"
	FootpathPrivate    = "footpath-private"
	Building           = "building"
	Foliage            = "foliage"
	Obstacle           = "obstacle"
	ObstacleMesh       = "obstacle-mesh"
	Premises           = "premises"
	Neighbour          = "neighbour"
	Asset              = "asset"
	Hazard             = "hazard"
	View               = "view"
	Finding            = "finding"
	WayIn              = "way-in"
	WayInSeen          = "way-in-seen"
)

// DevicesLayer is the name of the layer of sensors, repeaters and receivers.
const DevicesLayer = "devices"

// thinDB is the margin above what is required below which a link is within 3 dB
// of failing.
const thinDB = 3.0

// fields is a list of fields as name and type by turns.
func fields(pairs ...any) (out []layer.Field) {
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, layer.Field{Name: pairs[i].(string), Type: pairs[i+1].(layer.Type)})
	}
	return out
}

// Set returns the layers of a plan, from the ground up, without styles. Their
// order and fields are always the same; a layer may be empty.
func Set(r *analysis.Result) layer.Set {
	h := &hand{r: r}
	grid := r.Scene.Grid
	title := r.Plan.Settings.Title
	if title == "" {
		title = "Plan"
	}
	return layer.Set{Title: title, Lon0: grid.Lon0, Lat0: grid.Lat0, LonLat: grid.ToLonLat, Date: Date(r.Plan), Layers: []layer.Layer{
		h.siteAreas(), h.roads(), h.foliage(), h.buildings(), h.obstacleAreas(), h.obstacles(), h.siteLines(), h.sitePoints(),
		h.footprints(), h.overspill(), h.links(), h.boundaries(), h.stretches(false), h.stretches(true), h.ways(), h.gates(), h.devices(), h.findings(),
	}}
}

// Date returns the plan's date as a time at midnight in UTC, zero where it
// states none or none that is written year-month-day.
func Date(p *model.Plan) time.Time {
	t, err := time.Parse(time.DateOnly, strings.TrimSpace(p.Settings.Date))
	if err != nil {
		return time.Time{}
	}
	return t
}

type hand struct{ r *analysis.Result }

// figure is a number that may be unknown.
func figure(v *float64) any {
	if v == nil {
		return nil
	}
	return *v
}

func whole(v *int) any {
	if v == nil {
		return nil
	}
	return *v
}

// text is a text, unknown where it is empty.
func text(s string) any {
	if s == "" {
		return nil
	}
	return s
}

func route(ids []string) any { return text(strings.Join(ids, " > ")) }

// name is what is written beside a feature: its id, and its name where it has
// another.
func name(f *model.Feature) string {
	if f.Name == "" || f.Name == f.ID {
		return f.ID
	}
	return f.ID + " " + f.Name
}

func (h *hand) devices() layer.Layer {
	l := layer.Layer{Name: DevicesLayer, Title: "Devices", Shape: layer.Points, Fields: fields("id", layer.Text, "name", layer.Text, "class", layer.Text,
		"model", layer.Text, "zone", layer.Text, "address", layer.Whole, "mount", layer.Text, "mount_height_m", layer.Real, "antenna_height_m", layer.Real,
		"bearing_deg", layer.Real, "tilt_deg", layer.Real, "fixed_to", layer.Text, "ground_m", layer.Real, "east_m", layer.Real, "north_m", layer.Real,
		"route", layer.Text, "margin_db", layer.Real, "note", layer.Text)}
	sensors := h.sensors()
	for _, d := range h.r.Scene.Devices {
		var ground any
		if h.r.Scene.Terrain != nil {
			ground = h.r.Scene.Ground(d.At)
		}
		f := layer.Feature{Label: name(d.Feature), Geometry: d.At}
		put := func(class string, model any, zone string, address *int, mount string, height, antenna, bearing, tilt any, note string) {
			f.Class = class
			f.Values = []any{d.Feature.ID, text(d.Feature.Name), class, model, text(zone), whole(address), text(mount), height, antenna,
				bearing, tilt, nil, ground, d.At[0], d.At[1], nil, nil, text(note)}
		}
		switch v := d.Feature.Value.(type) {
		case *model.Sensor:
			put(Sensor, v.Model, v.Zone, v.Address, v.Mount, v.MountHeight, v.Antenna, v.Bearing, v.Tilt, v.Note)
			if s := sensors[d.Feature.ID]; s != nil {
				f.Values[11], f.Values[15], f.Values[16] = text(s.Fixed), route(s.Route), figure(s.Margin)
			}
		case *model.Repeater:
			put(Repeater, nil, "", v.Address, "", nil, v.Antenna, nil, nil, v.Note)
		case *model.Receiver:
			put(Receiver, nil, "", nil, "", nil, v.Antenna, nil, nil, v.Note)
		}
		l.Features = append(l.Features, f)
	}
	return l
}

func (h *hand) sensors() map[string]*analysis.Sensor {
	out := map[string]*analysis.Sensor{}
	for i := range h.r.Sensors {
		out[h.r.Sensors[i].ID] = &h.r.Sensors[i]
	}
	return out
}

// title is the name of a feature of the plan, unknown where it has none.
func (h *hand) title(id string) any {
	if f := h.r.Plan.Feature(id); f != nil {
		return text(f.Name)
	}
	return nil
}

func (h *hand) footprints() layer.Layer {
	l := layer.Layer{Name: "footprints", Title: "Detection patterns on the ground", Shape: layer.Areas, Fields: fields("sensor", layer.Text, "name", layer.Text,
		"class", layer.Text, "area_m2", layer.Real, "near_m", layer.Real, "far_m", layer.Real, "foliage_m2", layer.Real)}
	add := func(s *analysis.Sensor, class string, shape orb.MultiPolygon, values ...any) {
		if len(shape) > 0 {
			l.Features = append(l.Features, layer.Feature{Class: class, Geometry: shape, Values: append([]any{s.ID, h.title(s.ID), class}, values...)})
		}
	}
	for i := range h.r.Sensors {
		s := &h.r.Sensors[i]
		add(s, Footprint, s.Footprint, s.Area, figure(s.Near), figure(s.Far), s.Foliage)
	}
	for i := range h.r.Sensors {
		s := &h.r.Sensors[i]
		add(s, Screened, s.Screened, area(s.Screened), nil, nil, nil)
	}
	return l
}

// area is that of polygons in square metres.
func area(m orb.MultiPolygon) float64 {
	sum := 0.0
	for _, poly := range m {
		for k, r := range poly {
			a := math.Abs(scene.SignedArea(closed(r)))
			if k > 0 {
				a = -a
			}
			sum += a
		}
	}
	return sum
}

func closed(r orb.Ring) orb.Ring {
	if n := len(r); n > 0 && r[0] != r[n-1] {
		return append(r[:n:n], r[0])
	}
	return r
}

func (h *hand) overspill() layer.Layer {
	l := layer.Layer{Name: "overspill", Title: "Overspill", Shape: layer.Areas, Fields: fields("sensor", layer.Text, "class", layer.Text, "on", layer.Text,
		"for", layer.Text, "area_m2", layer.Real, "depth_m", layer.Real)}
	for _, s := range h.r.Sensors {
		for _, o := range s.Overspill {
			if len(o.Shape) == 0 {
				continue
			}
			class := "overspill-" + o.Class
			if o.For == "vehicle" {
				class = OverspillVehicle
			}
			l.Features = append(l.Features, layer.Feature{Class: class, Geometry: o.Shape, Values: []any{s.ID, class, text(o.On), o.For, o.Area, figure(o.Depth)}})
		}
	}
	return l
}

func (h *hand) links() layer.Layer {
	l := layer.Layer{Name: "links", Title: "Radio links", Shape: layer.Lines, Fields: fields("from", layer.Text, "to", layer.Text, "class", layer.Text,
		"in_use", layer.Flag, "distance_m", layer.Real, "loss_db", layer.Real, "installation_db", layer.Real, "clearance", layer.Real, "received_dbm", layer.Real, "margin_db", layer.Real,
		"required_db", layer.Real, "probability", layer.Real)}
	for _, k := range h.r.Links {
		class := linkClass(k)
		f := layer.Feature{Class: class, Geometry: orb.LineString{k.A, k.B}, Values: []any{k.From, k.To, class, k.InUse, k.Distance, k.Loss, k.Installation, k.Clearance,
			k.Received, k.Margin, k.Required, k.Probability}}
		if k.InUse {
			f.Label = fmt.Sprintf("%.0f dB", k.Margin+0)
		}
		l.Features = append(l.Features, f)
	}
	slices.SortStableFunc(l.Features, func(a, b layer.Feature) int { return cmp.Compare(unused(a), unused(b)) })
	return l
}

// unused puts links that are not in use below the others.
func unused(f layer.Feature) int {
	if f.Class == LinkUnused {
		return 0
	}
	return 1
}

func linkClass(k analysis.Link) string {
	switch {
	case !k.InUse:
		return LinkUnused
	case !k.Holds():
		return LinkFails
	case k.Margin-k.Required < thinDB:
		return LinkThin
	}
	return LinkHeld
}

func (h *hand) boundaries() layer.Layer {
	l := layer.Layer{Name: "boundaries", Title: "Boundaries", Shape: layer.Lines, Fields: fields("id", layer.Text, "name", layer.Text, "class", layer.Text,
		"length_m", layer.Real, "closed_m", layer.Real, "covered_m", layer.Real, "covered_share", layer.Real, "overlap_m", layer.Real, "gaps", layer.Whole)}
	for _, b := range h.r.Scene.Boundaries {
		f := layer.Feature{Class: Boundary, Label: name(b.Feature), Geometry: b.Line, Values: []any{b.Feature.ID, text(b.Feature.Name), Boundary, b.Length(), nil, nil, nil, nil, nil}}
		if k := slices.IndexFunc(h.r.Boundaries, func(r analysis.Boundary) bool { return r.ID == b.Feature.ID }); k >= 0 {
			r := h.r.Boundaries[k]
			copy(f.Values[3:], []any{r.Length, r.Closed, r.Target.Covered, figure(r.Target.Share), r.Target.Overlap, len(r.Target.Gaps)})
		}
		l.Features = append(l.Features, f)
	}
	return l
}

// stretches are the covered, closed and open stretches of every boundary, and
// overlap, for the target or for the postures.
func (h *hand) stretches(postures bool) layer.Layer {
	l := layer.Layer{Name: "boundary_stretches", Title: "Covered, closed and open stretches", Shape: layer.Lines, Fields: fields("boundary", layer.Text,
		"class", layer.Text, "posture", layer.Text, "number", layer.Whole, "from_m", layer.Real, "to_m", layer.Real, "length_m", layer.Real,
		"cause", layer.Text, "by", layer.Text)}
	if postures {
		l.Name, l.Title, l.Hidden = "posture_stretches", "The same for the further postures", true
	}
	for _, r := range h.r.Boundaries {
		k := slices.IndexFunc(h.r.Scene.Boundaries, func(b scene.Boundary) bool { return b.Feature.ID == r.ID })
		if k < 0 {
			continue
		}
		b := h.r.Scene.Boundaries[k]
		of := []analysis.Coverage{r.Target}
		if postures {
			of = r.Postures
		}
		for _, c := range of {
			posture := ""
			if postures {
				posture = c.Name
			}
			add := func(class string, number any, s coverage.Span, cause, by any, label string) {
				l.Features = append(l.Features, layer.Feature{Class: class, Label: label, Geometry: b.Part(s.From, s.To),
					Values: []any{r.ID, class, text(posture), number, s.From, s.To, s.Length(r.Length), cause, by}})
			}
			for _, s := range c.Stretches {
				switch s.State {
				case coverage.Covered:
					add(Covered, nil, s.Span, nil, nil, "")
				case coverage.Closed:
					add(Closed, nil, s.Span, nil, nil, "")
				}
			}
			for _, s := range c.Overlaps {
				add(Overlap, nil, s, nil, nil, "")
			}
			if !postures {
				for _, s := range h.shallow(r.ID) {
					add(Shallow, nil, s, nil, nil, "")
				}
				for _, s := range h.r.HeadOn(r.ID) {
					add(HeadOn, nil, s, nil, nil, "")
				}
			}
			for n, g := range c.Gaps {
				class := Gap
				if h.accepted(r.ID, posture, g) != nil {
					class = GapAccepted
				}
				add(class, n+1, g.Span, string(g.Cause), text(strings.Join(g.By, ", ")), fmt.Sprint(n+1))
			}
		}
	}
	return l
}

// shallow returns the stretches of a boundary that are covered only near it.
func (h *hand) shallow(boundary string) (out []coverage.Span) {
	for _, f := range h.r.Findings {
		if f.Rule == "shallow" && f.Posture == "" && f.From != nil && f.To != nil && slices.Contains(f.Subject, boundary) {
			out = append(out, coverage.Span{From: *f.From, To: *f.To})
		}
	}
	return out
}

// accepted returns who accepted a gap of a posture, "" for the target, and why;
// nil where nobody did.
func (h *hand) accepted(boundary, posture string, g analysis.Gap) *model.Accepted {
	for _, f := range h.r.Findings {
		if f.Rule == "gap" && f.Accepted != nil && f.Posture == posture && slices.Contains(f.Subject, boundary) && f.From != nil && math.Abs(*f.From-g.From) < 0.01 {
			return f.Accepted
		}
	}
	return nil
}

// ways are the least-detected ways in to assets, where the result has them.
func (h *hand) ways() layer.Layer {
	l := layer.Layer{Name: "ways_in", Title: "Least-detected ways in", Shape: layer.Lines, Fields: fields("asset", layer.Text, "class", layer.Text,
		"length_m", layer.Real, "sensors", layer.Text, "crosses", layer.Text)}
	if h.r.Ways == nil {
		return l
	}
	for _, w := range h.r.Ways.List {
		if !w.Reached || len(w.Line) < 2 {
			continue
		}
		class := WayInSeen
		if w.Undetected {
			class = WayIn
		}
		var passes, crosses []string
		for _, p := range w.Passes {
			passes = append(passes, p.Sensor)
		}
		for _, x := range w.Crossings {
			crosses = append(crosses, fmt.Sprintf("%s at %.1f m", x.Boundary, x.Chainage))
		}
		l.Features = append(l.Features, layer.Feature{Class: class, Geometry: w.Line, Values: []any{w.Asset, class, w.Length,
			text(strings.Join(passes, ", ")), text(strings.Join(crosses, ", "))}})
	}
	return l
}

func (h *hand) gates() layer.Layer {
	l := layer.Layer{Name: "gates", Title: "Gates", Shape: layer.Lines, Fields: fields("id", layer.Text, "name", layer.Text, "class", layer.Text, "width_m", layer.Real)}
	for _, g := range h.r.Scene.Gates {
		l.Features = append(l.Features, layer.Feature{Class: Gate, Label: g.Feature.Title(), Geometry: g.Line,
			Values: []any{g.Feature.ID, text(g.Feature.Name), Gate, length(g.Line)}})
	}
	return l
}

func length(l orb.LineString) float64 {
	sum := 0.0
	for i := 1; i < len(l); i++ {
		sum += math.Hypot(l[i][0]-l[i-1][0], l[i][1]-l[i-1][1])
	}
	return sum
}

func (h *hand) roads() layer.Layer {
	l := layer.Layer{Name: "roads", Title: "Roads and footpaths", Shape: layer.Areas, Fields: fields("id", layer.Text, "name", layer.Text, "class", layer.Text, "private", layer.Flag, "width_m", layer.Real)}
	for _, w := range h.r.Scene.Ways {
		class := map[[2]bool]string{{true, false}: RoadPublic, {true, true}: RoadPrivate, {false, false}: Footpath, {false, true}: FootpathPrivate}[[2]bool{w.Class == model.KindRoad, w.Private}]
		// The analysis has parts that overlap, which a map would show.
		shape, width := w.Shape, any(nil)
		if line, ok := h.r.Scene.Shape(w.Feature.ID).(orb.LineString); ok {
			wide := w.Feature.Value.(*model.Way).Width
			shape, width = ribbon(line, wide), wide
		}
		l.Features = append(l.Features, layer.Feature{Class: class, Label: w.Feature.Name, Geometry: shape,
			Values: []any{w.Feature.ID, text(w.Feature.Name), class, w.Private, width}})
	}
	return l
}

func (h *hand) buildings() layer.Layer {
	l := layer.Layer{Name: "buildings", Title: "Buildings", Shape: layer.Areas, Fields: fields("id", layer.Text, "name", layer.Text, "class", layer.Text,
		"height_m", layer.Real, "material", layer.Text)}
	for _, b := range h.r.Scene.Buildings {
		v := b.Feature.Value.(*model.Building)
		l.Features = append(l.Features, layer.Feature{Class: Building, Label: b.Feature.Name, Geometry: orb.MultiPolygon{b.Shape},
			Values: []any{b.Feature.ID, text(b.Feature.Name), Building, v.Height, text(v.Material)}})
	}
	return l
}

func (h *hand) foliage() layer.Layer {
	l := layer.Layer{Name: "foliage", Title: "Foliage", Shape: layer.Areas, Fields: fields("id", layer.Text, "name", layer.Text, "class", layer.Text,
		"height_m", layer.Real, "density", layer.Text, "in_leaf", layer.Flag)}
	for _, f := range h.r.Scene.Foliage {
		l.Features = append(l.Features, layer.Feature{Class: Foliage, Label: f.Feature.Name, Geometry: orb.MultiPolygon{f.Shape},
			Values: []any{f.Feature.ID, text(f.Feature.Name), Foliage, f.Height, f.Density, f.InLeaf}})
	}
	return l
}

var obstacleFields = fields("id", layer.Text, "name", layer.Text, "class", layer.Text, "height_m", layer.Real, "see_through", layer.Flag,
	"impassable", layer.Flag, "delay_s", layer.Real)

func (h *hand) obstacles() layer.Layer {
	l := layer.Layer{Name: "obstacles", Title: "Walls and fences", Shape: layer.Lines, Fields: obstacleFields}
	for _, o := range h.r.Scene.Obstacles {
		if o.Line != nil {
			l.Features = append(l.Features, obstacle(o, o.Line))
		}
	}
	return l
}

func (h *hand) obstacleAreas() layer.Layer {
	l := layer.Layer{Name: "obstacle_areas", Title: "Obstacles", Shape: layer.Areas, Fields: obstacleFields}
	for _, o := range h.r.Scene.Obstacles {
		if o.Line == nil {
			l.Features = append(l.Features, obstacle(o, orb.MultiPolygon{o.Shape}))
		}
	}
	return l
}

func obstacle(o scene.Obstacle, g orb.Geometry) layer.Feature {
	class := Obstacle
	if o.SeeThrough {
		class = ObstacleMesh
	}
	return layer.Feature{Class: class, Geometry: g, Values: []any{o.Feature.ID, text(o.Feature.Name), class, o.Height, o.SeeThrough, o.Impassable, o.Delay}}
}

// others are the kinds that have no layer of their own.
var others = []model.Kind{model.KindNeighbour, model.KindPremises, model.KindView, model.KindAsset, model.KindHazard, model.KindExcluded}

// site is the features of these kinds that have the shape of a layer.
func (h *hand) site(l layer.Layer) layer.Layer {
	l.Fields = fields("id", layer.Text, "name", layer.Text, "class", layer.Text, "what", layer.Text)
	for _, k := range others {
		for _, f := range h.r.Plan.Of(k) {
			var g orb.Geometry
			switch shape := h.r.Scene.Shape(f.ID).(type) {
			case orb.Point:
				if l.Shape == layer.Points {
					g = shape
				}
			case orb.LineString:
				if l.Shape == layer.Lines {
					g = shape
				}
			case orb.Polygon:
				if l.Shape == layer.Areas {
					g = orb.MultiPolygon{shape}
				}
			}
			if g == nil {
				continue
			}
			class, what := string(f.Kind), ""
			switch v := f.Value.(type) {
			case *model.Hazard:
				what = v.What
			case *model.Excluded:
				class, what = Closed, v.Reason
			case *model.View:
				what = v.Preset
			}
			label := f.Name
			if label == "" && f.Kind == model.KindHazard {
				label = what
			}
			l.Features = append(l.Features, layer.Feature{Class: class, Label: label, Geometry: g, Values: []any{f.ID, text(f.Name), class, text(what)}})
		}
	}
	return l
}

func (h *hand) siteAreas() layer.Layer {
	return h.site(layer.Layer{Name: "site_areas", Title: "Land, assets, views", Shape: layer.Areas})
}

func (h *hand) siteLines() layer.Layer {
	return h.site(layer.Layer{Name: "site_lines", Title: "Hazards and excluded stretches", Shape: layer.Lines})
}

func (h *hand) sitePoints() layer.Layer {
	return h.site(layer.Layer{Name: "site_points", Title: "Assets and hazards at a point", Shape: layer.Points})
}

func (h *hand) findings() layer.Layer {
	l := layer.Layer{Name: "findings", Title: "Findings", Shape: layer.Points, Hidden: true, Fields: fields("rule", layer.Text, "class", layer.Text, "severity", layer.Text,
		"subject", layer.Text, "text", layer.Text, "remedy", layer.Text, "accepted", layer.Flag)}
	for _, f := range h.r.Findings {
		if f.At == nil {
			continue
		}
		l.Features = append(l.Features, layer.Feature{Class: Finding, Label: f.Rule, Geometry: h.r.Scene.Grid.ToSite(*f.At),
			Values: []any{f.Rule, Finding, string(f.Severity), text(strings.Join(f.Subject, ", ")), f.Text, text(f.Remedy), f.Accepted != nil}})
	}
	return l
}
