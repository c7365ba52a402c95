package paper

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/model/pattern"
	"pleach/model/scene"
)

// boundaryColumns are the columns of the schedule of a boundary by chainage.
var boundaryColumns = []column{
	{head: "From", unit: "m", right: true},
	{head: "To", unit: "m", right: true},
	{head: "Length", unit: "m", right: true},
	{head: "State"},
	{head: "Covered by", give: 2},
	{head: "Remarks", give: 5},
}

// boundarySheets lists every boundary by chainage: who covers it, gaps with
// their cause, what is closed, shallow or crossed head-on, gates.
func (s *sheet) boundarySheets(heading string) ([]leaf, error) {
	f := s.flow(heading, true)
	res := s.in.Result
	if res == nil || len(res.Boundaries) == 0 {
		f.add(section{"By chainage", prose{s.look, []string{"The plan has no boundary that was analysed."}}})
		return f.leaves, nil
	}
	for i := range res.Boundaries {
		b := &res.Boundaries[i]
		rows := boundaryRows(res, b)
		f.add(prose{s.look, []string{clean(boundaryWords(res, b))}})
		f.add(schedule{look: s.look, heading: clean(title(res.Plan, b.ID)) + " by chainage", columns: boundaryColumns, rows: rows, to: len(rows), lines: 6})
	}
	var rows []row
	for _, t := range stretches(res) {
		rows = append(rows, row{cells: []string{clean(t.what), clean(title(res.Plan, t.boundary)), figure(t.from, 1), figure(t.to, 1), figure(t.length, 1), t.why}})
	}
	f.add(schedule{look: s.look, heading: stretchHeading, columns: stretchColumns, rows: rows, to: len(rows), lines: 6})
	return f.leaves, nil
}

// boundaryWords says what holds of a whole boundary.
func boundaryWords(res *analysis.Result, b *analysis.Boundary) string {
	out := fmt.Sprintf("%s: %s from its first corner, in the order it was drawn. Covered %s", title(res.Plan, b.ID), metres(b.Length), metres(b.Target.Covered))
	if b.Closed > 0 {
		out += ", needs no detection " + metres(b.Closed)
	}
	sum := 0.0
	for _, g := range b.Target.Gaps {
		sum += g.Length
	}
	if len(b.Target.Gaps) == 0 {
		return out + ", no gap."
	}
	return out + fmt.Sprintf(", %s, %s in all.", count(len(b.Target.Gaps), "gap"), metres(sum))
}

// leastRow is the length in metres under which two changes along a boundary are
// taken as one: chosen, half of what the analysis merges.
const leastRow = 0.05

// boundaryRows are the rows of a boundary: one for each stretch of one state
// covered by the same sensors.
func boundaryRows(res *analysis.Result, b *analysis.Boundary) (out []row) {
	cuts := []float64{0, b.Length}
	for _, t := range b.Target.Stretches {
		cuts = append(cuts, t.From, t.To)
	}
	for _, p := range b.Spans {
		for _, t := range p.Spans {
			cuts = append(cuts, t.From, t.To)
		}
	}
	slices.Sort(cuts)
	var at *scene.Boundary
	for i := range res.Scene.Boundaries {
		if res.Scene.Boundaries[i].Feature.ID == b.ID {
			at = &res.Scene.Boundaries[i]
		}
	}
	from, began := cuts[0], cuts[0]
	for i, to := range cuts[1:] {
		if to-from < leastRow || i+2 < len(cuts) && b.Length-to < leastRow && to < b.Length {
			continue
		}
		r := boundaryRow(res, b, at, from, to)
		if n := len(out) - 1; n >= 0 && slices.Equal(out[n].cells[3:], r.cells[3:]) {
			out[n] = boundaryRow(res, b, at, began, to)
		} else {
			out, began = append(out, r), from
		}
		from = to
	}
	return out
}

// boundaryRow is the row of one stretch.
func boundaryRow(res *analysis.Result, b *analysis.Boundary, at *scene.Boundary, from, to float64) row {
	mid := (from + to) / 2
	state := "gap"
	for _, t := range b.Target.Stretches {
		if t.State != coverage.Uncovered && t.From <= mid && mid <= t.To {
			state = "covered"
			if t.State == coverage.Closed {
				state = "closed"
			}
		}
	}
	var by, remarks []string
	if state == "covered" {
		for _, p := range b.Spans {
			if slices.ContainsFunc(p.Spans, func(s coverage.Span) bool { return holds(s, mid) }) {
				by = append(by, clean(p.ID))
			}
		}
	}
	r := row{cells: []string{figure(from, 1), figure(to, 1), figure(to-from, 1), state, strings.Join(by, ", "), ""}}
	switch state {
	case "gap":
		r.strong = true
		for k, g := range b.Target.Gaps {
			if !holds(g.Span, mid) {
				continue
			}
			cause := why(res, b.ID, "", g.From)
			if cause == none {
				cause = string(g.Cause)
			}
			r.cells[3] = fmt.Sprintf("gap %d", k+1)
			remarks = append(remarks, cause)
		}
	case "closed":
		if at != nil {
			remarks = append(remarks, closedBy(res, at.Point(mid)))
		}
	}
	for _, f := range res.Findings {
		if f.From == nil || f.To == nil || len(f.Subject) == 0 || f.Subject[0] != b.ID {
			continue
		}
		word := ""
		switch f.Rule {
		case "shallow":
			word = "shallow"
		case "head-on":
			word = "crossed head-on towards " + seers(res, b.ID, *f.From)
		case "through-mesh":
			word = "covered only through a mesh"
		default:
			continue
		}
		for _, p := range within(coverage.Span{From: *f.From, To: *f.To}, from, to) {
			part := word
			if p.From > from+leastRow || p.To < to-leastRow {
				part += fmt.Sprintf(" %s to %s", figure(p.From, 1), unit(p.To, 1, "m"))
			}
			if f.Accepted != nil {
				part += ", accepted"
			}
			remarks = append(remarks, part)
		}
	}
	for _, f := range res.Plan.Of(model.KindGate) {
		if !f.Sound() || at == nil {
			continue
		}
		p := res.Scene.Shape(f.ID).Bound().Center()
		if s, d := at.Nearest(p); s >= from && s < to && d <= nearGate {
			remarks = append(remarks, fmt.Sprintf("gate %s at %s, %s wide", f.Title(), unit(s, 0, "m"), metres(f.Value.(*model.Gate).Width)))
		}
	}
	if remarks != nil {
		r.cells[5] = clean(capital(strings.Join(remarks, "; ")))
	}
	return r
}

// nearGate is how far, in metres, the middle of a gate may lie from its
// boundary: chosen.
const nearGate = 3.0

// holds reports whether chainage s lies in a span, which may run through 0.
func holds(p coverage.Span, s float64) bool {
	if p.From <= p.To {
		return p.From <= s && s <= p.To
	}
	return s >= p.From || s <= p.To
}

// within returns the parts of a span, which may run through 0, between from and to.
func within(p coverage.Span, from, to float64) (out []coverage.Span) {
	parts := []coverage.Span{p}
	if p.From > p.To {
		parts = []coverage.Span{{From: p.From, To: math.Inf(1)}, {From: 0, To: p.To}}
	}
	for _, q := range parts {
		if a, b := math.Max(q.From, from), math.Min(q.To, to); b-a >= leastRow {
			out = append(out, coverage.Span{From: a, To: b})
		}
	}
	return out
}

// closedBy says why a place on a boundary needs no detection.
func closedBy(res *analysis.Result, p orb.Point) string {
	best, far := "", 1.0 // metres: a closed place lies within 0.5 m of what closes it
	for _, f := range res.Plan.Of(model.KindExcluded) {
		if l, ok := res.Scene.Shape(f.ID).(orb.LineString); ok && f.Sound() {
			if d := distance(l, p); d < far {
				best, far = f.Value.(*model.Excluded).Reason, d
			}
		}
	}
	for _, f := range res.Plan.Of(model.KindBuilding) {
		if g, ok := res.Scene.Shape(f.ID).(orb.Polygon); ok && f.Sound() {
			d := distance(orb.LineString(g[0]), p)
			if d < far || pattern.Inside(g, p) && best == "" {
				best, far = "the line runs in or along "+f.Title(), d
			}
		}
	}
	return best
}

// distance is that of p from a line, metres.
func distance(l orb.LineString, p orb.Point) float64 {
	d := math.Inf(1)
	for i := 0; i+1 < len(l); i++ {
		q := pattern.NearestOn(l[i], l[i+1], p)
		d = math.Min(d, math.Hypot(p[0]-q[0], p[1]-q[1]))
	}
	return d
}
