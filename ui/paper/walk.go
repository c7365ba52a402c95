package paper

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/model/scene"
)

// crossing is one line to walk: straight inwards at a place along a boundary.
type crossing struct {
	at     float64 // metres of chainage
	why    string
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
			out = append(out, crossing{mid, "middle of " + p.ID, by(mid)})
			if length > 4*inside {
				for _, end := range []float64{turn(q.From + inside), turn(q.From + length - inside)} {
					out = append(out, crossing{end, "edge of " + p.ID, by(end)})
				}
			}
		}
	}
	for k, g := range b.Target.Gaps {
		s := g.From + g.Length/2
		if s >= b.Length {
			s -= b.Length
		}
		out = append(out, crossing{s, fmt.Sprintf("middle of gap %d", k+1), nil})
	}
	slices.SortStableFunc(out, func(a, b crossing) int { return cmp.Compare(a.at, b.at) })
	return out
}

// walkSheets are the lines to walk, to be filled in by hand.
func (s *sheet) walkSheets(heading string) ([]leaf, error) {
	f := s.flow(heading, true)
	f.add(section{"How to walk", prose{s.look, []string{
		"Walk each line straight inwards from the boundary, upright, then again in the further posture. Count the walks and the detections; a clean run of 29 walks is the shortest that proves 0.90 with 95 % confidence (one-sided Clopper-Pearson bound). " +
			"A sensor that is aimed anew voids its earlier walks."}}})
	head := form{s.look, "The day", []formColumn{{"Date, time", 0.14}, {"Tester", 0.14}, {"Height, clothing", 0.16}, {"Air °C", 0.08}, {"Background °C", 0.1}, {"Sky, wind, rain", 0.16}, {"Ground, leaf state", 0.22}}, [][]string{{"", "", "", "", "", "", ""}}}
	f.add(head)
	res := s.in.Result
	if res == nil || len(res.Boundaries) == 0 {
		f.add(section{"Lines", prose{s.look, []string{"The plan has no boundary that was analysed."}}})
		return f.leaves, nil
	}
	for i := range res.Boundaries {
		b := &res.Boundaries[i]
		var at *scene.Boundary
		for k := range res.Scene.Boundaries {
			if res.Scene.Boundaries[k].Feature.ID == b.ID {
				at = &res.Scene.Boundaries[k]
			}
		}
		t := form{s.look, "Lines across " + title(s.in.Plan, b.ID), []formColumn{{"Line", 0.05}, {"At m", 0.07}, {"East, north m", 0.12}, {"Through the", 0.13}, {"To report", 0.13}, {"Posture", 0.08},
			{"Speed m/s", 0.07}, {"Walks", 0.06}, {"Detected", 0.07}, {"Delay s", 0.06}, {"Remarks, initials", 0.16}}, nil}
		for n, c := range crossings(b) {
			place := ""
			if at != nil {
				p := at.Point(c.at)
				place = figure(p[0], 1) + ", " + figure(p[1], 1)
			}
			expect := strings.Join(c.expect, ", ")
			if c.expect == nil {
				expect = "none by plan"
			}
			t.rows = append(t.rows, []string{fmt.Sprint(n + 1), figure(c.at, 1), place, c.why, expect, "", "", "", "", "", ""})
		}
		f.add(t)
	}
	return f.leaves, nil
}
