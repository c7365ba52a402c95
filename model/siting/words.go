package siting

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/scene"
)

// Edit is the step that puts all repeaters proposed into the plan they were looked
// for in.
func (f *Found) Edit() model.Edit {
	step := model.Together{Name: "place a repeater"}
	if n := len(f.Proposals); n > 1 {
		step.Name = fmt.Sprintf("place %d repeaters", n)
	}
	for _, p := range f.Proposals {
		step.Edits = append(step.Edits, p.Edit)
	}
	return step
}

// wanted says what the sensors lack.
func (f *Found) wanted() string {
	switch {
	case f.Options.Goal == analysis.Survives:
		return "a route that is left whichever repeater fails"
	case f.Options.Goal == analysis.SecondRoute:
		return "a second route with the required margin"
	case f.Options.Reserve > 0:
		return fmt.Sprintf("a route with %g dB above the required margin", f.Options.Reserve)
	}
	return "a route with the required margin"
}

// Head says in one sentence what was looked for.
func (f *Found) Head() string {
	if len(f.Needy) == 0 {
		return "No repeater is needed: every sensor has " + f.wanted() + "."
	}
	n := "sensors lack"
	if len(f.Needy) == 1 {
		n = "sensor lacks"
	}
	return fmt.Sprintf("%d %s %s: %s.", len(f.Needy), n, f.wanted(), strings.Join(f.Needy, ", "))
}

// Outcome says how far the proposals help.
func (f *Found) Outcome(plan *model.Plan) string {
	switch {
	case len(f.Needy) == 0:
		return ""
	case len(f.Left) == 0 && len(f.Proposals) == 1:
		if len(f.Needy) == 1 {
			return "One repeater mends it."
		}
		return "One repeater mends them all."
	case len(f.Left) == 0:
		return fmt.Sprintf("%d repeaters mend them all%s.", len(f.Proposals), f.bound())
	case f.Higher != nil:
		return fmt.Sprintf("No place helps with an antenna %g m up. One %g m up on %s, %s, would mend %s.", f.Options.Height, f.Higher.Height,
			f.Higher.Place.Words(plan), Along(f.Result.Scene, f.Higher.Place.At), strings.Join(names(f.Higher.Mends), ", "))
	case len(f.Proposals) == 0:
		return fmt.Sprintf("No place for one repeater helps, with an antenna up to %g m: it takes more of them in a row, another receiver, or less in the way.", math.Max(tallest, f.Options.Height))
	case len(f.Proposals) >= f.Options.Most:
		return fmt.Sprintf("After %d, as many as were asked for, still without: %s.", len(f.Proposals), strings.Join(f.Left, ", "))
	default:
		return fmt.Sprintf("No further place helps: still without %s.", strings.Join(f.Left, ", "))
	}
}

// bound says how many repeaters it takes at least, "" where that is not known or says
// nothing.
func (f *Found) bound() string {
	switch {
	case f.AtLeast < 2:
		return ""
	case f.AtLeast == len(f.Proposals):
		return "; fewer could not, at these places"
	}
	return fmt.Sprintf("; fewer than %d could not, at these places", f.AtLeast)
}

// Tail says how far the proposals help and how the places were looked for.
func (f *Found) Tail(plan *model.Plan) string {
	if len(f.Needy) == 0 {
		return ""
	}
	grid := fmt.Sprintf("on a grid of %g m, narrowed to %g m about the best, ", f.Step, finest)
	return f.Outcome(plan) + fmt.Sprintf(" Looked at %d places for an antenna %g m up: %son posts that are there and on walls; off roads, parking areas, trees and what stands in the way. A post or wall that is there is taken where it is at most %g dB weaker than a new post.",
		f.Places, f.Options.Height, grid, NearlyAsWell)
}

// Along says where a place is along the nearest boundary, and on the site grid: "at 410 m
// along Yard fence, 12 m inside (105 m west, 78 m south of the grid's origin)". Without a
// boundary it says the latter alone.
func Along(sc *scene.Scene, at orb.Point) string {
	if len(sc.Boundaries) == 0 {
		return Where(at, 0)
	}
	best, s, b := math.Inf(1), 0.0, scene.Boundary{}
	for _, x := range sc.Boundaries {
		if c, d := x.Nearest(at); d < best {
			best, s, b = d, c, x
		}
	}
	off := fmt.Sprintf("%.0f m off it", best)
	switch {
	case best < 0.5:
		off = "on it"
	case b.Closed && planar.RingContains(orb.Ring(b.Line), at):
		off = fmt.Sprintf("%.0f m inside", best)
	case b.Closed:
		off = fmt.Sprintf("%.0f m outside", best)
	}
	return fmt.Sprintf("at %.0f m along %s, %s (%s)", s, b.Feature.Title(), off, Where(at, 0))
}

// Where says where a place is on the site grid, with so many decimals: "120 m east,
// 35 m north of the grid's origin".
func Where(at orb.Point, decimals int) string {
	way := func(v float64, plus, minus string) string {
		if v < 0 {
			plus = minus
		}
		return fmt.Sprintf("%.*f m %s", decimals, math.Abs(v), plus)
	}
	return way(at[0], "east", "west") + ", " + way(at[1], "north", "south") + " of the grid's origin"
}

func titles(plan *model.Plan, ms []Mended) string {
	var out []string
	for _, m := range ms {
		out = append(out, title(plan, m.ID))
	}
	return strings.Join(out, ", ")
}

func title(plan *model.Plan, id string) string {
	if f := plan.Feature(id); f != nil {
		return f.Titled()
	}
	return id
}

func names(ms []Mended) (ids []string) {
	for _, m := range ms {
		ids = append(ids, m.ID)
	}
	return ids
}

// Words says in sentences what a proposal does, and what it asks; r is the result of
// the plan with it.
func (p Proposal) Words(r *analysis.Result) (out []string) {
	if p.Carries != "" {
		out = append(out, fmt.Sprintf("Antenna %g m up. Mends nothing by itself: it carries %s.", p.Height, p.Carries))
		return append(out, p.wayOn()...)
	}
	needed := fmt.Sprintf("Antenna %g m up; from %g m on it mends the same.", p.Height, p.Needed)
	if p.Needed >= p.Height {
		needed = fmt.Sprintf("Antenna %g m up, and no lower.", p.Height)
	}
	if p.Like != "" {
		needed += " Radio as " + p.Like + "."
	}
	out = append(out, needed)
	switch p.Goal {
	case analysis.Served:
		for _, m := range p.Mends {
			out = append(out, "Mends "+m.Words(r.Plan))
		}
	case analysis.Survives:
		out = append(out, "No longer cut off by the failing of one device: "+titles(r.Plan, p.Mends)+".")
	case analysis.SecondRoute:
		out = append(out, "Given a second route: "+titles(r.Plan, p.Mends)+".")
	}
	out = append(out, p.wayOn()...)
	if p.Instead != nil && p.Instead.More >= 0.5 {
		out = append(out, fmt.Sprintf("A new post %s would leave the weakest of these routes %s more.", Along(r.Scene, p.Instead.At), decibels(p.Instead.More)))
	}
	return out
}

// wayOn says how messages go on from the repeater.
func (p Proposal) wayOn() []string {
	if len(p.Way) < 2 {
		return nil
	}
	way := fmt.Sprintf("Way on to %s, %s to spare", strings.Join(p.Way[1:], ", then "), decibels(math.Floor(p.Spare)))
	if len(p.DependsOn) > 0 {
		way += "; depends on " + strings.Join(p.DependsOn, ", ")
	}
	return []string{way + "."}
}

// Words says how a sensor is mended: "S3: 12 dB, 2 dB short; then 21 dB by RP1 to RX".
func (m Mended) Words(plan *model.Plan) string {
	before := "no route"
	switch {
	case m.Before.IDs == nil:
	case m.Before.Spare < 0:
		before = fmt.Sprintf("%s, %s short", decibels(m.Before.Margin), decibels(math.Max(1, math.Ceil(-m.Before.Spare))))
	default:
		before = fmt.Sprintf("%s, %s to spare", decibels(m.Before.Margin), decibels(math.Floor(m.Before.Spare)))
	}
	way := ""
	for k := 1; k < len(m.After.IDs); k++ {
		if k < len(m.After.IDs)-1 {
			way += " by " + m.After.IDs[k]
		} else {
			way += " to " + m.After.IDs[k]
		}
	}
	return fmt.Sprintf("%s: before %s; then %s%s, %s to spare.", title(plan, m.ID), before, decibels(m.After.Margin), way, decibels(math.Floor(m.After.Spare)))
}

// decibels writes a figure of the radio net without false decimals.
func decibels(v float64) string {
	v = math.Round(v)
	if v == 0 {
		v = 0 // not -0
	}
	return fmt.Sprintf("%.0f dB", v)
}
