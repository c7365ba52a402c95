package analysis

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/pattern"
)

// How far remedies for overspill are looked for, in degrees. Chosen: a sensor
// that would have to be turned farther is better moved.
const (
	turnMost = 15
	turnStep = 1.0
	tiltMost = 5.0
	maskMost = 45.0 // the widest strip on the lens
	maskRoom = 0.5  // on either side of what is masked
	keepAll  = 0.1  // metres of its own stretch a remedy may lose
)

// EndOverspill looks for the smallest turn, tilt and mask that would end a
// sensor's overspill where that is a fault or a warning, and keep covered what
// the sensor alone covers. It returns them as a sentence, "" where there is no
// such overspill or no such way. It looks some fifty times from the sensor: ask
// for it when someone wants to know.
func (r *Result) EndOverspill(id string) string {
	for _, w := range r.works {
		if w.feature.ID != id {
			continue
		}
		if !r.spills(w.out.Overspill) {
			return ""
		}
		var alone [][]coverage.Span
		for i := range r.fences {
			alone = append(alone, r.alone(i)[w])
		}
		lk, wk := pattern.NewLooker(r.Scene), new(coverage.Walker)
		if way := r.seek(w, lk, wk, alone, r.spills); way != "" {
			return way + ": that would end it and keep covered what this sensor alone covers."
		}
		if way := r.seek(w, lk, wk, alone, r.spillsBadly); way != "" && r.spillsBadly(w.out.Overspill) {
			return way + ": that would end it for a person on public ways and keep covered what this sensor alone covers; for a vehicle it stays."
		}
		return ""
	}
	return ""
}

// spills reports whether any of the overspill is more than a note.
func (r *Result) spills(list []Overspill) bool {
	return slices.ContainsFunc(list, func(o Overspill) bool { return severityOf(o) != model.Note })
}

// spillsBadly reports whether any of the overspill is a fault.
func (r *Result) spillsBadly(list []Overspill) bool {
	return slices.ContainsFunc(list, func(o Overspill) bool { return severityOf(o) == model.Fault })
}

// seek returns the ways that end the overspill in question, "" for none.
func (r *Result) seek(w *work, lk *pattern.Looker, wk *coverage.Walker, alone [][]coverage.Span, spills func([]Overspill) bool) string {
	factor := r.Plan.Settings.VehicleRangeFactor
	target := targets(r.Plan.Settings)[0]
	ends := func(e pattern.Eye) bool {
		lk.From(&e, factor)
		if spills(r.overspill(lk)) {
			return false
		}
		fp := lk.Lay(target, pattern.AsItIs)
		for i, f := range r.fences {
			if len(alone[i]) == 0 {
				continue
			}
			if coverage.Sum(coverage.Minus(alone[i], wk.Covered(f, fp.Clear, r.Plan.Settings.MinPath)[0])) > keepAll {
				return false
			}
		}
		return true
	}
	var ways []string
	for d := turnStep; d <= turnMost; d += turnStep {
		if ends(w.eye.Turned(d)) {
			ways = append(ways, fmt.Sprintf("turn it %.0f° clockwise", d))
			break
		}
		if ends(w.eye.Turned(-d)) {
			ways = append(ways, fmt.Sprintf("turn it %.0f° anticlockwise", d))
			break
		}
	}
	for d := tiltStep; d <= tiltMost; d += tiltStep {
		if ends(w.eye.Tilted(d)) {
			ways = append(ways, fmt.Sprintf("tilt it %g° farther down", d))
			break
		}
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, o := range w.out.Overspill {
		if !spills([]Overspill{o}) {
			continue
		}
		if s, ok := w.eye.Azimuths(o.Shape); ok {
			lo, hi = math.Min(lo, s.From), math.Max(hi, s.To)
		} else {
			hi = math.Inf(1)
		}
	}
	if m := (model.Sector{From: math.Floor(2*(lo-maskRoom)) / 2, To: math.Ceil(2*(hi+maskRoom)) / 2}); m.To-m.From <= maskMost {
		if ends(w.eye.Masked(m)) {
			ways = append(ways, fmt.Sprintf("mask it from %g° to %g°", m.From, m.To))
		}
	}
	if len(ways) == 0 {
		return ""
	}
	s := strings.Join(ways, ", or ")
	return strings.ToUpper(s[:1]) + s[1:]
}
