package paper

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/ui/drawing"
)

// crossing is one line to walk: straight inwards at a place along a boundary.
type crossing struct {
	at     float64  // metres of chainage
	why    []string // "middle of S1", "edge of S2"
	expect []string // sensors that should report; none for a gap
}

// crossings are the lines to walk along a boundary: through the middle of each
// stretch that the same sensors cover, half a metre inside both ends of it where
// the watching changes, and through the middle of each gap.
func crossings(b *analysis.Boundary) (out []crossing) {
	by := func(s float64) (ids []string) {
		for _, p := range b.Spans {
			if slices.ContainsFunc(p.Spans, func(q coverage.Span) bool { return holds(q, s) }) {
				ids = append(ids, p.ID)
			}
		}
		return ids
	}
	const inside = 0.5 // metres from a change: chosen, within what one can set out by tape
	for _, p := range b.Spans {
		for _, q := range p.Spans {
			length := q.Length(b.Length)
			if length < leastRow {
				continue
			}
			turn := func(s float64) float64 {
				if s >= b.Length {
					s -= b.Length
				}
				return s
			}
			mid := turn(q.From + length/2)
			out = append(out, crossing{mid, []string{"middle of " + p.ID}, by(mid)})
			if length > 4*inside {
				for _, end := range []float64{turn(q.From + inside), turn(q.From + length - inside)} {
					out = append(out, crossing{end, []string{"edge of " + p.ID}, by(end)})
				}
			}
		}
	}
	for k, g := range b.Target.Gaps {
		s := g.From + g.Length/2
		if s >= b.Length {
			s -= b.Length
		}
		out = append(out, crossing{s, []string{fmt.Sprintf("middle of gap %d", k+1)}, nil})
	}
	slices.SortStableFunc(out, func(a, b crossing) int { return cmp.Compare(a.at, b.at) })
	// Lines one cannot set out apart are one.
	kept := out[:0]
	for _, c := range out {
		if n := len(kept) - 1; n >= 0 && c.at-kept[n].at < leastStep && slices.Equal(c.expect, kept[n].expect) {
			kept[n].why = append(kept[n].why, c.why...)
			continue
		}
		kept = append(kept, c)
	}
	return kept
}

// leastStep is the least distance in metres between two lines with the same sensors to
// report: chosen, a step.
const leastStep = 1.0

// walk is a line to walk where it lies, on the site grid.
type walk struct {
	crossing
	from, to orb.Point
}

// walks are the lines to walk across every boundary, in the order of the result.
func (s *sheet) walks() [][]walk {
	res := s.in.Result
	if res == nil {
		return nil
	}
	var out [][]walk
	for i := range res.Boundaries {
		b := &res.Boundaries[i]
		var lines []walk
		for k := range res.Scene.Boundaries {
			if res.Scene.Boundaries[k].Feature.ID != b.ID {
				continue
			}
			fence := coverage.LayBare(res.Scene, res.Scene.Boundaries[k], s.in.Plan.Settings.CrossingDepth)
			for _, c := range crossings(b) {
				from, to := fence.CrossingLine(c.at)
				lines = append(lines, walk{c, from, to})
			}
		}
		out = append(out, lines)
	}
	return out
}

// slowWalk is the speed of the slow walk in metres a second: chosen, so slow that
// a band-pass sees least of it.
const slowWalk = 0.3

// walkSheets are the lines to walk, to be filled in by hand, with a map of them.
func (s *sheet) walkSheets(heading string) ([]leaf, error) {
	f := s.flow(heading, true)
	res := s.in.Result
	set := s.in.Plan.Settings
	how := section{"How to walk", prose{s.look, []string{
		fmt.Sprintf("Walk each line from its first point straight inwards to its second: slow, at about %s; fast, at about %s, both upright%s. The speeds are by judgement. Write how many walks of how many were detected.",
			unit(slowWalk, 1, "m/s"), unit(set.Response.Speed, 1, "m/s"), furtherPostures(set.Postures)),
		"A clean run of 29 walks is the shortest that proves 0.90 with 95 % confidence (one-sided Clopper-Pearson bound); walks of one manner are counted by themselves. A sensor that is aimed anew voids its earlier walks."}}}
	day := form{s.look, "The day", []formColumn{{"Date, time", 0.14}, {"Tester", 0.14}, {"Height, clothing", 0.16}, {"Air °C", 0.08}, {"Background °C", 0.1}, {"Sky, wind, rain", 0.16}, {"Ground, leaf state", 0.22}}, [][]string{{"", "", "", "", "", "", ""}}}
	all := s.walks()
	if len(all) == 0 {
		f.add(how, day, section{"Lines", prose{s.look, []string{"The plan has no boundary that was analysed."}}})
		return f.leaves, nil
	}
	l := &f.page().layout
	l.picture = box{l.frame.x, l.frame.y, l.frame.w, f.bottom() - l.frame.y - stackHeight(f.width(), how, day) - pad}
	p := f.page()
	p.list = s.walkMap(all)
	p.view = &drawing.View{Centre: s.ground.Center(), MetresPerUnit: math.Max(l.needs(s.ground), float64(Scales[0].Ratio)) / 1000, Width: l.picture.w, Height: l.picture.h}
	f.y = l.picture.y + l.picture.h + pad
	f.add(how, day)
	f.turn()
	postures := set.Postures[:min(len(set.Postures), 2)]
	n := 0
	for i, lines := range all {
		t := form{s.look, "Lines across " + title(s.in.Plan, res.Boundaries[i].ID), []formColumn{{"Line", 0.05}, {"Begins at m", 0.07}, {"East, north m", 0.11}, {"Ends at east, north m", 0.11}, {"Through the", 0.13}, {"To report", 0.1},
			{"Slow", 0.07}, {"Fast", 0.07}}, nil}
		for _, q := range postures {
			t.columns = append(t.columns, formColumn{capital(q.Name), 0.07})
		}
		rest := 1.0
		for _, c := range t.columns {
			rest -= c.share
		}
		t.columns = append(t.columns, formColumn{"Delay s", 0.06}, formColumn{"Remarks, initials", rest - 0.06})
		for _, w := range lines {
			n++
			expect := strings.Join(w.expect, ", ")
			if w.expect == nil {
				expect = "none by plan"
			}
			r := []string{fmt.Sprint(n), figure(w.at, 1), eastNorth(w.from), eastNorth(w.to), strings.Join(w.why, ", "), expect}
			t.rows = append(t.rows, append(r, make([]string, len(t.columns)-len(r))...))
		}
		f.add(t)
	}
	f.add(section{"Surveyed on the same round", prose{s.look, []string{"Look for what the plan does not show: growth, buildings, stacks and vehicles that stand in a pattern or on a radio path; " +
		"mesh that has been closed, ground worn low under a fence, paths in use, slopes and steps; warm outlets, flags and loose sheeting, water, animals, the low sun."}}},
		form{s.look, "Found on site, not in the plan", []formColumn{{"What", 0.3}, {"Where: chainage, or east and north", 0.2}, {"Height m", 0.08}, {"Sensors, links touched", 0.17}, {"To be changed", 0.25}}, make([][]string, surveyRows)})
	return f.leaves, nil
}

// surveyRows is the room for what is found on site: chosen.
const surveyRows = 8

// furtherPostures says what else than upright is walked.
func furtherPostures(postures []model.Posture) string {
	var words []string
	for _, q := range postures {
		words = append(words, q.Name)
	}
	if words == nil {
		return ""
	}
	return "; then lower down (" + strings.Join(words, ", ") + "), as fast as that allows"
}

// eastNorth is a place on the site grid to a tenth of a metre.
func eastNorth(p orb.Point) string { return figure(p[0], 1) + ", " + figure(p[1], 1) }

// walkMap is the map of the lines to walk, each with its number outside the
// boundary.
func (s *sheet) walkMap(all [][]walk) *drawing.List {
	list := drawing.Compose(drawing.Input{Scene: s.in.Scene, Result: s.in.Result, Show: drawing.NoLinks | drawing.NoWays | drawing.NoOverspill})
	list.Items = slices.DeleteFunc(list.Items, func(it drawing.Item) bool {
		return it.Meaning == drawing.ChainageTick || it.Meaning == drawing.HeadOn || it.Meaning == drawing.FeatureName && it.Layer == drawing.LabelLayer
	})
	for i := range list.Items {
		if it := &list.Items[i]; it.Meaning == drawing.DeviceName && it.ID != "" {
			it.Text = it.ID
		}
	}
	n := 0
	for _, lines := range all {
		for _, w := range lines {
			n++
			list.Add(drawing.Item{Layer: drawing.BoundaryLayer, Kind: drawing.LineKind, Meaning: drawing.WalkLine, Line: orb.LineString{w.from, w.to}})
			list.Add(drawing.Item{Layer: drawing.LabelLayer, Kind: drawing.LabelKind, Meaning: drawing.MarginFigure, At: w.from, Text: fmt.Sprint(n), Prefer: drawing.Outward, Priority: 50, Must: true,
				Bearing: math.Mod(math.Atan2(w.from[0]-w.to[0], w.from[1]-w.to[1])*180/math.Pi+360, 360)})
		}
	}
	list.Arrange()
	return list
}
