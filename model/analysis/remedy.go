package analysis

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/pattern"
)

// How far remedies are looked for, in degrees. Chosen: a sensor that would have to
// be turned farther is better moved.
const (
	turnMost = 15
	turnStep = 1.0
	tiltMost = 5.0
	maskMost = 45.0 // all strips on the lens together
	maskStep = 0.5  // to which a strip is cut
	keepAll  = 0.1  // metres of its own stretch a remedy may lose
)

// trouble is what a remedy is to end, and what it must not bring: faults and
// warnings of overspill, and foliage in the pattern.
type trouble struct {
	spill   []Overspill // more than a note
	foliage []string    // ids
}

// goal is what a remedy aims at.
type goal struct {
	ended func(trouble) bool
	where func(lk *pattern.Looker) orb.MultiPolygon // what a mask must cover
	says  string
}

// Remedies is what would end something, in ways of which each does it alone.
type Remedies struct {
	Ways []Remedy
	Says string // "that would end it and keep covered …"
}

// Remedy is one way, as words and as the edit that takes it.
type Remedy struct {
	Text string // "turn it 3° anticlockwise"
	Edit model.Edit
}

// String is the remedy as a sentence, "" where there is no way.
func (m Remedies) String() string {
	if len(m.Ways) == 0 {
		return ""
	}
	var ways []string
	for _, w := range m.Ways {
		ways = append(ways, w.Text)
	}
	text := strings.Join(ways, ", or ")
	return strings.ToUpper(text[:1]) + text[1:] + ": " + m.Says + "."
}

// EndOverspill is OverspillRemedies as a sentence, "" where there is none.
func (r *Result) EndOverspill(id string) string { return r.OverspillRemedies(id).String() }

// EndFoliage is FoliageRemedies as a sentence, "" where there is none.
func (r *Result) EndFoliage(id string) string { return r.FoliageRemedies(id).String() }

// OverspillRemedies looks for the smallest turn, tilt and mask that would end a
// sensor's overspill where that is a fault or a warning, keep covered what the
// sensor alone covers of the boundary for the target, and bring neither overspill
// nor foliage into the pattern that was not there. There are no ways where there is
// no such overspill or nothing ends it. It looks some seventy times from the sensor:
// ask for it when someone wants to know.
func (r *Result) OverspillRemedies(id string) Remedies {
	w := r.workOf(id)
	if w == nil {
		return Remedies{}
	}
	shape := func(counts func(Overspill) bool) func(*pattern.Looker) orb.MultiPolygon {
		return func(*pattern.Looker) (all orb.MultiPolygon) {
			for _, o := range w.out.Overspill {
				if counts(o) {
					all = append(all, o.Shape...)
				}
			}
			return all
		}
	}
	if !slices.ContainsFunc(w.out.Overspill, counts) {
		return Remedies{}
	}
	all := goal{func(t trouble) bool { return len(t.spill) == 0 }, shape(counts), "end it and keep covered what this sensor alone covers"}
	if way := r.seek(w, all); way.Ways != nil || !slices.ContainsFunc(w.out.Overspill, isFault) {
		return way
	}
	return r.seek(w, goal{func(t trouble) bool { return !slices.ContainsFunc(t.spill, isFault) }, shape(isFault),
		"end it for a person on public ways and keep covered what this sensor alone covers; the rest of it stays"})
}

// FoliageRemedies does the same for foliage that stands in a sensor's pattern.
func (r *Result) FoliageRemedies(id string) Remedies {
	w := r.workOf(id)
	if w == nil || w.out.Foliage < smallLeaf {
		return Remedies{}
	}
	return r.seek(w, goal{func(t trouble) bool { return len(t.foliage) == 0 }, (*pattern.Looker).FoliageShape,
		"keep it out and keep covered what this sensor alone covers"})
}

func counts(o Overspill) bool  { return severityOf(o) != model.Note }
func isFault(o Overspill) bool { return severityOf(o) == model.Fault }

func (r *Result) workOf(id string) *work {
	for _, w := range r.works {
		if w.feature.ID == id {
			return w
		}
	}
	return nil
}

// brings reports whether trouble t has anything that was not there before.
func (t trouble) brings(before trouble) bool {
	for _, o := range t.spill {
		if !slices.ContainsFunc(before.spill, func(b Overspill) bool {
			return b.Class == o.Class && b.On == o.On && b.For == o.For && (isFault(b) || !isFault(o))
		}) {
			return true
		}
	}
	for _, id := range t.foliage {
		if !slices.Contains(before.foliage, id) {
			return true
		}
	}
	return false
}

// seek returns the ways to the goal.
func (r *Result) seek(w *work, g goal) Remedies {
	s := r.Plan.Settings
	target := targets(s)[0]
	lk, wk := pattern.NewLooker(r.Scene), new(coverage.Walker)
	var alone [][]coverage.Span
	for i := range r.fences {
		alone = append(alone, r.alone(w, i))
	}
	before := trouble{foliage: w.out.FoliageOn}
	for _, o := range w.out.Overspill {
		if counts(o) {
			before.spill = append(before.spill, o)
		}
	}
	does := func(e pattern.Eye) bool {
		lk.From(&e, s.VehicleRangeFactor)
		if slices.ContainsFunc(alone, func(spans []coverage.Span) bool { return len(spans) > 0 }) {
			fp := lk.Lay(target, pattern.AsItIs)
			for i, f := range r.fences {
				if len(alone[i]) > 0 && coverage.Sum(coverage.Minus(alone[i], wk.Covered(f, fp.Clear, s.MinPath)[0])) > keepAll {
					return false
				}
			}
		}
		var t trouble
		if area, _, ids := lk.Foliage(); area >= smallLeaf {
			t.foliage = ids
		}
		for _, o := range r.overspill(lk) {
			if counts(o) {
				t.spill = append(t.spill, o)
			}
		}
		return g.ended(t) && !t.brings(before)
	}
	var ways []Remedy
	sensor := w.feature.Value.(*model.Sensor)
	// way adds one: what it does to a property of the sensor.
	way := func(text, property string, value any) {
		id := w.feature.ID
		ways = append(ways, Remedy{text, model.Set{ID: id, Values: []model.Value{{Property: property, Value: value}},
			Name: strings.Replace(text, " it ", " "+id+" ", 1)}})
	}
	bearing := func(d float64) float64 { return tidied(math.Mod(sensor.Bearing+d+360, 360)) }
	turned := func(d float64) pattern.Eye {
		if w.eye.Fixed == "" {
			return w.eye.Turned(d)
		}
		m, _ := r.Plan.Model(sensor.Model) // by a corner another wall may take it
		return pattern.Stand(r.Scene, w.feature.WithProperty("bearing_deg", sensor.Bearing+d), m)
	}
	for d := turnStep; d <= turnMost; d += turnStep {
		if does(turned(d)) {
			way(fmt.Sprintf("turn it %.0f° clockwise", d), "bearing_deg", bearing(d))
			break
		}
		if does(turned(-d)) {
			way(fmt.Sprintf("turn it %.0f° anticlockwise", d), "bearing_deg", bearing(-d))
			break
		}
	}
	info, _ := model.Info(model.KindSensor)
	tilt, _ := info.Property("tilt_deg")
	for d := tiltStep; d <= tiltMost; d += tiltStep {
		if sensor.Tilt+d <= tilt.Max && does(w.eye.Tilted(d)) {
			way(fmt.Sprintf("tilt it %g° farther down", d), "tilt_deg", tidied(sensor.Tilt+d))
			break
		}
		if sensor.Tilt-d >= tilt.Min && does(w.eye.Tilted(-d)) {
			way(fmt.Sprintf("tilt it %g° up", d), "tilt_deg", tidied(sensor.Tilt-d))
			break
		}
	}
	lk.From(&w.eye, s.VehicleRangeFactor)
	if masks := strips(w.eye.Azimuths(g.where(lk))); len(masks) > 0 {
		e := w.eye
		var say []string
		for _, m := range masks {
			e = e.Masked(m)
			say = append(say, fmt.Sprintf("from %g° to %g°", m.From, m.To))
		}
		if does(e) {
			var all []map[string]float64
			for _, m := range append(slices.Clone(sensor.Masked), masks...) {
				all = append(all, map[string]float64{"from_deg": m.From, "to_deg": m.To})
			}
			way("mask it "+strings.Join(say, " and ")+" off its bearing", "masked", all)
		}
	}
	return Remedies{ways, "that would " + g.says}
}

// tidied takes the crumbs of binary fractions off degrees.
func tidied(v float64) float64 { return math.Round(v*1e6) / 1e6 }

// strips returns the least strips on a lens that cover the given azimuths, cut to
// half degrees; nil where that takes more than maskMost degrees.
func strips(spans []model.Sector, ok bool) (out []model.Sector) {
	if !ok {
		return nil
	}
	sum := 0.0
	for _, s := range spans {
		s.From, s.To = maskStep*math.Floor(s.From/maskStep), maskStep*math.Ceil(s.To/maskStep)
		if n := len(out); n > 0 && s.From <= out[n-1].To {
			sum += s.To - out[n-1].To
			out[n-1].To = s.To
			continue
		}
		sum += s.To - s.From
		out = append(out, s)
	}
	if sum > maskMost {
		return nil
	}
	return out
}
