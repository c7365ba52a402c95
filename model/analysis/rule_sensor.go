package analysis

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/pattern"
	"pleach/model/scene"
	"pleach/model/terrain"
)

// ruleOverspill: a pattern lies on ground outside. A fault for a person on a
// public road or footpath; a warning for a vehicle or on a neighbour; a note on
// open land, and where it is small.
func ruleOverspill(r *Result, w *work) (out []model.Finding) {
	where := map[string]string{"road": "public road", "footpath": "public footpath", "neighbour": "neighbour's land"}
	s := &w.out
	for _, o := range s.Overspill {
		subject := []string{s.ID}
		text := fmt.Sprintf("The pattern of %s spills onto open land outside: %s", r.title(s.ID), squareMetres(o.Area))
		if o.On != "" {
			subject = append(subject, o.On)
			who := ""
			if o.For == "vehicle" {
				who = " for a vehicle"
			}
			text = fmt.Sprintf("The pattern of %s spills onto the %s %s%s: %s", r.title(s.ID), where[o.Class], r.title(o.On), who, squareMetres(o.Area))
		}
		if o.Depth != nil && *o.Depth > 0.05 {
			text += fmt.Sprintf(", up to %s beyond the line", metres(*o.Depth))
		}
		out = append(out, model.Finding{Rule: "overspill", Severity: severityOf(o), Subject: subject, At: r.lonLat(o.At), Text: text + ".",
			Remedy: "Turn it inwards, tilt it down, mask that part, or choose a shorter reach."})
	}
	return out
}

// severityOf says how bad an overspill is (contract, section 6).
func severityOf(o Overspill) model.Severity {
	switch {
	case o.Class == "open", o.Area < smallSpill, o.Depth != nil && *o.Depth < smallDepth && !o.inside:
		return model.Note
	case o.For == "person" && o.Class != "neighbour":
		return model.Fault
	}
	return model.Warning
}

func nearLine(m orb.MultiPolygon, p orb.Point, d float64) bool {
	for _, poly := range m {
		for _, ring := range poly {
			for i := 0; i+1 < len(ring); i++ {
				if segmentDistance(ring[i], ring[i+1], p) <= d {
					return true
				}
			}
		}
	}
	return false
}

// smallLeaf is the area of foliage in square metres below which nothing is said of
// it (chosen).
const smallLeaf = 0.05

// ruleFoliage: foliage stands in a pattern.
func ruleFoliage(r *Result, w *work) []model.Finding {
	s := &w.out
	if s.Foliage < smallLeaf {
		return nil
	}
	return []model.Finding{{Rule: "foliage", Severity: model.Warning, Subject: append([]string{s.ID}, s.FoliageOn...), At: r.lonLat(s.At),
		Text:   fmt.Sprintf("%s of foliage stands in the pattern of %s: %s. Near bushes count more: it is as much as %s 25 m away.", squareMetres(s.Foliage), r.title(s.ID), r.titles(s.FoliageOn), squareMetres(s.FoliageAt25)),
		Remedy: "Have it cut and kept cut, the nearest first, turn the sensor away, or mask that part: moving leaves set it off."}}
}

// ruleOutsideView: the footprint reaches beyond what the zone's camera shows.
func ruleOutsideView(r *Result, w *work) []model.Finding {
	if !w.viewed || w.beyond < smallSpill {
		return nil
	}
	return []model.Finding{{Rule: "outside-view", Severity: model.Warning, Subject: []string{w.feature.ID}, At: r.lonLat(w.eye.At),
		Text:   fmt.Sprintf("%s of the footprint of %s lie outside the camera view of zone %s.", squareMetres(w.beyond), r.title(w.feature.ID), w.feature.Value.(*model.Sensor).Zone),
		Remedy: "Widen the view or set another preset, or turn the sensor into the view."}}
}

// The distance in metres within which a device by the line counts as on the
// premises: a post's own thickness, and by a boundary the stand of a fence post.
// Chosen.
const (
	onLine  = 0.1
	onFence = 0.5
)

// ruleNotOnPremises: a device stands outside the customer's land.
func ruleNotOnPremises(r *Result) (out []model.Finding) {
	works := r.works
	for _, d := range r.Scene.Devices {
		if len(works) > 0 && works[0].feature == d.Feature {
			off := works[0].off
			works = works[1:]
			if !off {
				continue
			}
		} else if !r.outside.off(r.Scene, d.At) {
			continue
		}
		id := d.Feature.ID
		out = append(out, model.Finding{Rule: "not-on-premises", Severity: model.Warning, Subject: []string{id}, At: r.lonLat(d.At),
			Text:   fmt.Sprintf("%s stands outside the customer's land.", r.title(id)),
			Remedy: "Move it inside, or get the owner's leave in writing."})
	}
	return out
}

// off reports whether a place lies outside the customer's land: nowhere does
// where none is drawn.
func (o *outside) off(sc *scene.Scene, p orb.Point) bool {
	by := onLine
	if len(sc.Premises) == 0 {
		by = onFence
	}
	for _, m := range o.inside {
		if contains(m, p) || nearLine(m, p, by) {
			return false
		}
	}
	return len(o.inside) > 0
}

// ruleMountHeight: outside the heights the sensor model is made for.
func ruleMountHeight(r *Result, w *work) []model.Finding {
	s, m := w.feature.Value.(*model.Sensor), &w.model
	if s.MountHeight >= m.MountMin && s.MountHeight <= m.MountMax {
		return nil
	}
	return []model.Finding{{Rule: "mount-height", Severity: model.Warning, Subject: []string{w.feature.ID}, At: r.lonLat(w.eye.At),
		Text:   fmt.Sprintf("%s is mounted at %v m; its model %s is made for %v to %v m.", r.title(w.feature.ID), s.MountHeight, m.ID, m.MountMin, m.MountMax),
		Remedy: "Change the height, or choose another model."}}
}

// ruleInsideBuilding: more than 1 m inside a building or obstacle.
func ruleInsideBuilding(r *Result, w *work) []model.Finding {
	if w.eye.Buried == "" {
		return nil
	}
	return []model.Finding{{Rule: "inside-building", Severity: model.Fault, Subject: []string{w.feature.ID, w.eye.Buried}, At: r.lonLat(w.eye.At),
		Text:   fmt.Sprintf("%s stands inside %s and sees nothing.", r.title(w.feature.ID), r.title(w.eye.Buried)),
		Remedy: "Move it to a wall or a post outside, or raise it above the roof."}}
}

func point(g orb.Geometry) *orb.Point {
	p, ok := g.(orb.Point)
	if !ok {
		return nil
	}
	return &p
}

// ruleUnproved: no walk test recorded.
func ruleUnproved(r *Result) (out []model.Finding) {
	tested := map[string]bool{}
	for _, f := range r.Plan.Of(model.KindReading) {
		if m := f.Value.(*model.Reading); m.What == "walk-test" {
			for _, id := range m.Of {
				tested[id] = true
			}
		}
	}
	var ids []string
	for i := range r.Sensors {
		if id := r.Sensors[i].ID; !tested[id] {
			ids = append(ids, id)
		}
	}
	if len(ids) == 0 {
		return nil
	}
	text := fmt.Sprintf("No walk test is recorded for %d sensors.", len(ids))
	if len(ids) == 1 {
		text = fmt.Sprintf("No walk test is recorded for %s.", r.title(ids[0]))
	}
	return []model.Finding{{Rule: "unproved", Severity: model.Note, Subject: ids, Text: text,
		Remedy: "Predicted coverage is for planning: walk-test every sensor on site."}}
}

// ruleAssumed: figures the program filled in on import.
func ruleAssumed(r *Result) []model.Finding {
	if r.since.sameBut(r.Plan, func(old, now *model.Feature) bool {
		return old.Name == now.Name && slices.Equal(old.Assumed, now.Assumed)
	}) {
		r.assumed = r.since.assumed
	} else {
		r.assumed = r.assumedFindings()
	}
	return r.assumed
}

func (r *Result) assumedFindings() (out []model.Finding) {
	type key struct {
		kind model.Kind
		prop string
	}
	by := map[key][]string{}
	var order []key
	for _, f := range r.Plan.Of(model.Kinds...) {
		for _, p := range f.Assumed {
			k := key{f.Kind, p}
			if by[k] == nil {
				order = append(order, k)
			}
			by[k] = append(by[k], f.ID)
		}
	}
	for _, k := range order {
		ids := by[k]
		info, _ := model.Info(k.kind)
		label := k.prop
		if p, ok := info.Property(k.prop); ok {
			label = p.Label
		}
		text := fmt.Sprintf("%s of %d features of the kind %s is assumed.", label, len(ids), k.kind)
		if len(ids) == 1 {
			text = fmt.Sprintf("%s of %s %s is assumed.", label, k.kind, r.title(ids[0]))
		}
		out = append(out, model.Finding{Rule: "assumed", Severity: model.Note, Subject: ids, Text: text, Remedy: "Measure it on the survey and enter it."})
	}
	return out
}

// ruleTerrain: the ground is taken as level, or is not known everywhere.
func ruleTerrain(r *Result) (out []model.Finding) {
	ground := r.Scene.Terrain
	if ground == nil {
		if t := r.Plan.Settings.Terrain; t != nil {
			return []model.Finding{{Rule: "level-ground", Severity: model.Warning, Subject: []string{},
				Text:   fmt.Sprintf("The terrain model %s was not read: the ground is taken as level.", t.File),
				Remedy: "Mend its path or its file, and check slopes on the survey."}}
		}
		return []model.Finding{{Rule: "level-ground", Severity: model.Note, Subject: []string{}, Text: "The plan names no terrain model: the ground is taken as level.",
			Remedy: "Half a degree of slope moves the far edge of a pattern by tens of metres: check slopes on the survey."}}
	}
	edge := func(id string, at orb.Point, what string) {
		out = append(out, model.Finding{Rule: "terrain-edge", Severity: model.Warning, Subject: []string{id}, At: r.lonLat(at),
			Text:   fmt.Sprintf("%s over ground the terrain model does not know: the nearest known height is taken there.", what),
			Remedy: "Get a terrain model that covers the site and a pattern's reach about it, or check the slope there on the survey."})
	}
	var ray terrain.Ray
	unknown := func(l orb.LineString) (orb.Point, bool) {
		for i := 0; i+1 < len(l); i++ {
			dx, dy := l[i+1][0]-l[i][0], l[i+1][1]-l[i][1]
			d := math.Hypot(dx, dy)
			if d == 0 {
				continue
			}
			ground.Profile(l[i], dx/d, dy/d, d, &ray)
			if u := ray.Unknown; u < d {
				return orb.Point{l[i][0] + u/d*dx, l[i][1] + u/d*dy}, true
			}
		}
		return orb.Point{}, false
	}
	for _, b := range r.Scene.Boundaries {
		if p, yes := unknown(b.Line); yes {
			edge(b.Feature.ID, p, "The boundary "+r.title(b.Feature.ID)+" runs")
		}
	}
	for _, w := range r.works {
		id := w.feature.ID
		if !ground.Known(w.eye.At) {
			edge(id, w.eye.At, r.title(id)+" stands")
			continue
		}
		for _, l := range w.looks {
			if p := l.print.Unknown; p != nil {
				edge(id, *p, "The pattern of "+r.title(id)+" lies")
				break
			}
		}
	}
	for _, d := range r.Scene.Devices {
		if d.Feature.Kind != model.KindSensor && !ground.Known(d.At) {
			edge(d.Feature.ID, d.At, r.title(d.Feature.ID)+" stands")
		}
	}
	return out
}

// ruleAntennaIndoors: an antenna stands in a building below its top.
func ruleAntennaIndoors(r *Result) (out []model.Finding) {
	for _, d := range r.indoors {
		f := r.Plan.Feature(d[0])
		if f.Kind == model.KindSensor && r.buried(f.ID) {
			continue
		}
		out = append(out, model.Finding{Rule: "antenna-indoors", Severity: model.Note, Subject: []string{d[0], d[1]}, At: point(f.Geometry),
			Text:   fmt.Sprintf("The antenna of %s stands inside %s: that building is left out of its radio profiles, and the way in is counted as the median for such walls.", r.title(d[0]), r.title(d[1])),
			Remedy: "Put the antenna outside or above the roof: behind the wrong wall the loss is far more than the median."})
	}
	return out
}

func (r *Result) buried(id string) bool {
	for _, w := range r.works {
		if w.feature.ID == id {
			return w.eye.Buried != ""
		}
	}
	return false
}

// LengthBound returns, for each sensor model of the plan, how many sensors the
// length that is not closed asks for at least, for a straight line: the length
// over the greatest chord in plan of the model's footprint at a mount height of
// 3 m with a level axis, rounded up. A model that sees nothing so mounted has
// Chord 0 and no count.
func LengthBound(r *Result) (length float64, bounds []Bound) {
	for _, b := range r.Boundaries {
		length += b.Length - b.Closed
	}
	s := r.Plan.Settings
	for _, m := range r.Plan.Models() {
		chord := pattern.Chord(m, pattern.Target{Height: s.Target.Height, MinVisible: s.Target.MinVisible}, 3, 0)
		b := Bound{Model: m, Chord: chord}
		if chord > 0 {
			b.Count = int(math.Ceil(length/chord - 1e-9))
		}
		bounds = append(bounds, b)
	}
	return length, bounds
}

// Bound is how many sensors of a model a length asks for at least.
type Bound struct {
	Model model.SensorModel
	Chord float64 // metres
	Count int
}
