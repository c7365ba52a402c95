package analysis

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/wayin"
)

// ruleWayIn: a way to an asset that crosses no footprint; as notes, the figure
// of one that crosses some, and an asset that nobody can walk to.
func ruleWayIn(r *Result) (out []model.Finding) {
	for i := range r.Ways.List {
		w := &r.Ways.List[i]
		f := model.Finding{Rule: "way-in", Severity: model.Note, Subject: []string{w.Asset}}
		f.Text = r.WayWords(w)
		switch {
		case !w.Reached:
			f.Remedy = fmt.Sprintf("Draw doors and openings where there are any: a gap in an outline of more than %.1f m is a passage.", r.Ways.Person)
			if c, ok := centre(r.Scene.Shape(w.Asset)); ok {
				f.At = r.lonLat(c)
			}
		case w.Undetected:
			f.Severity = model.Warning
			f.Subject = append(f.Subject, w.passes()...)
			f.At = r.lonLat(w.Gateway())
			f.Remedy = "Cover the place where it passes, or close it."
		default:
			f.Subject = append(f.Subject, w.passes()...)
			f.At = r.lonLat(w.Gateway())
			f.Remedy = "Where that is too little, have more of a pattern lie across the way, or a second sensor."
		}
		out = append(out, f)
	}
	return out
}

// ruleLate: along the least-detected way a response comes too late wherever the
// alarm is raised.
func ruleLate(r *Result) (out []model.Finding) {
	for i := range r.Ways.List {
		w := &r.Ways.List[i]
		t := w.Timing
		if t == nil || t.Critical != nil || len(w.Passes) == 0 {
			continue
		}
		out = append(out, model.Finding{Rule: "late", Severity: model.Warning, Subject: []string{w.Asset}, At: r.lonLat(w.At(w.Passes[0].From)),
			Text: fmt.Sprintf("Alarm too late for %s: when the first sensor on the least-detected way in, %s, is crossed %.0f s remain, and the response takes %.0f s.",
				r.title(w.Asset), r.title(w.Passes[0].Sensor), t.Remains, t.Response),
			Remedy: "Detect farther out, delay the intruder between detection and asset, or shorten the response."})
	}
	return out
}

// WayWords says where a way passes, and how much of it is detected.
func (r *Result) WayWords(w *Way) string {
	asset := r.title(w.Asset)
	switch {
	case !w.Reached:
		return fmt.Sprintf("No way in to %s: buildings and impassable obstacles leave none that a person could walk.", asset)
	case w.Undetected:
		return fmt.Sprintf("A way in to %s crosses no footprint: %s on foot%s.%s", asset, metres(w.Length), r.passage(w), r.ending(w))
	}
	seen := "It slips between footprints"
	if len(w.Passes) > 0 {
		seen = "It crosses the footprints of " + r.titles(w.SensorIDs())
		if len(w.SensorIDs()) == 1 {
			seen = "It crosses the footprint of " + r.titles(w.SensorIDs())
		}
	}
	return fmt.Sprintf("The least-detected way in to %s: %s on foot%s. %s; %s.%s", asset, metres(w.Length), r.passage(w), seen, r.FigureWords(w), r.ending(w))
}

// ending says where a way ends that cannot reach its asset: at the outline of the
// building that the asset stands in.
func (r *Result) ending(w *Way) string {
	var places []orb.Point
	switch g := r.Scene.Shape(w.Asset).(type) {
	case orb.Point:
		places = []orb.Point{g}
	case orb.Polygon:
		places = g[0]
	}
	for i := range r.Scene.Buildings {
		b := &r.Scene.Buildings[i]
		outside := func(p orb.Point) bool { return !b.Bound.Contains(p) || !planar.PolygonContains(b.Shape, p) }
		if len(places) > 0 && !slices.ContainsFunc(places, outside) {
			return fmt.Sprintf(" It ends at the wall of %s, in which the asset stands.", r.title(b.Feature.ID))
		}
	}
	return ""
}

// FigureWords says the cumulative figure of a way with what it rests on: it is
// no more than that.
func (r *Result) FigureWords(w *Way) string {
	s := r.Plan.Settings
	from := "assumed"
	if !r.Plan.Stated("way_in.probability") && !r.Plan.Stated("way_in.width_m") {
		from = "assumed and chosen"
	}
	return fmt.Sprintf("if a crossing of %g m of one footprint is detected with %g (%s, not established), its cumulative figure is %s",
		s.WayIn.Width, s.WayIn.Probability, from, TwoDigits(w.Detection))
}

// TwoDigits writes a figure between 0 and 1 with two digits at most: never 1
// for what is below it, nor 0 for what is above.
func TwoDigits(v float64) string {
	switch {
	case v > 0 && v < 0.01:
		return "under 0.01"
	case v > 0.99 && v < 1:
		return "over 0.99"
	}
	return strings.TrimSuffix(fmt.Sprintf("%.2f", v), ".00")
}

// SensorIDs returns the sensors whose footprints a way crosses, in order, each
// once.
func (w *Way) SensorIDs() (ids []string) {
	for _, p := range w.Passes {
		if !slices.Contains(ids, p.Sensor) {
			ids = append(ids, p.Sensor)
		}
	}
	return ids
}

// Gateway is the place by which a way is told: where it last comes in over a
// boundary, else where it is narrowest, else its end.
func (w *Way) Gateway() orb.Point {
	for _, c := range slices.Backward(w.Crossings) {
		if c.Inward {
			return c.At
		}
	}
	if w.Narrow != nil {
		return w.Narrow.At
	}
	return w.Line[len(w.Line)-1]
}

// passes returns the ids of the boundaries and gates a way comes in by, each
// once.
func (w *Way) passes() (ids []string) {
	for _, c := range w.Crossings {
		for _, id := range []string{c.Boundary, c.Gate} {
			if c.Inward && id != "" && !slices.Contains(ids, id) {
				ids = append(ids, id)
			}
		}
	}
	return ids
}

// Event is one thing a way meets.
type Event struct {
	Along float64 // metres along the way
	What  string
	More  string // what is to be known of it
	place bool   // it tells where the way passes
}

// Events lists what a way meets, in order: boundaries with the chainage, gates,
// obstacles with their delay, footprints, the narrowest place.
func (r *Result) Events(w *Way) (out []Event) {
	for _, c := range w.Crossings {
		e := Event{Along: c.Along, What: fmt.Sprintf("over %s at %s", r.title(c.Boundary), along(c.Chainage)), place: true}
		if !c.Inward {
			e.What = "out " + e.What
		}
		if c.Gate != "" {
			e.More = "through " + r.title(c.Gate)
		} else {
			e.More = r.stateWords(c.Boundary, c.Chainage)
		}
		out = append(out, e)
	}
	for _, d := range w.Delays {
		out = append(out, Event{d.Along, "across " + r.title(d.Obstacle), fmt.Sprintf("%g s", d.Seconds), true})
	}
	if n := w.Narrow; n != nil {
		out = append(out, Event{n.Along, r.narrowWords(n), "", true})
	}
	for _, p := range w.Passes {
		out = append(out, Event{p.From, "into the footprint of " + r.title(p.Sensor), metres(p.To-p.From) + " of it", false})
	}
	slices.SortStableFunc(out, func(a, b Event) int { return cmp.Compare(a.Along, b.Along) })
	return out
}

// stateWords says what lets a person over a boundary unseen: "in gap 2".
func (r *Result) stateWords(boundary string, at float64) string {
	for i := range r.Boundaries {
		b := &r.Boundaries[i]
		if b.ID != boundary {
			continue
		}
		for k, g := range b.Target.Gaps {
			if g.From <= at && at <= g.To || g.To < g.From && (g.From <= at || at <= g.To) {
				return fmt.Sprintf("in gap %d", k+1)
			}
		}
		for _, s := range b.Target.Stretches {
			if s.State == coverage.Closed && s.From <= at && at <= s.To {
				return "where no detection is asked for"
			}
		}
	}
	return ""
}

// mostPlaces is how many places a finding names along a way. Chosen.
const mostPlaces = 5

// passage says where a way passes, in order.
func (r *Result) passage(w *Way) string {
	var out strings.Builder
	n := 0
	for _, e := range r.Events(w) {
		if !e.place {
			continue
		}
		if n++; n > mostPlaces {
			continue
		}
		out.WriteString(", " + e.What)
		if e.More != "" {
			out.WriteString(", " + e.More)
		}
	}
	if n > mostPlaces {
		fmt.Fprintf(&out, ", and %d places more", n-mostPlaces)
	}
	return out.String()
}

// narrowWords says between what a way is narrowest.
func (r *Result) narrowWords(n *wayin.Narrow) string {
	of := func(id string) string {
		if f := r.Plan.Feature(id); f != nil && f.Kind == model.KindSensor {
			return "the footprint of " + r.title(id)
		}
		return r.title(id)
	}
	if n.Between[0] == n.Between[1] {
		return fmt.Sprintf("through an opening of %.1f m in %s", n.Width, of(n.Between[0]))
	}
	return fmt.Sprintf("between %s and %s, %.1f m apart", of(n.Between[0]), of(n.Between[1]), n.Width)
}

func centre(g orb.Geometry) (orb.Point, bool) {
	if g == nil {
		return orb.Point{}, false
	}
	return g.Bound().Center(), true
}
