package analysis

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/coverage"
)

// ruleGap: stretches that no sensor covers; a fault for the target, a warning
// for another posture, a note when shorter than 0.5 m.
func ruleGap(r *Result) (out []model.Finding) {
	for i := range r.Boundaries {
		b := &r.Boundaries[i]
		number := 0
		for k, c := range append([]Coverage{b.Target}, b.Postures...) {
			for _, g := range c.Gaps {
				sev, who := model.Fault, "Gap"
				f := model.Finding{Rule: "gap", Subject: []string{b.ID}, At: r.lonLat(g.Middle)}
				if k > 0 {
					sev, who, f.Posture = model.Warning, "Gap for the posture "+c.Name, c.Name
				} else {
					number++
					who = fmt.Sprintf("Gap %d", number)
				}
				if g.Length < smallGap {
					sev = model.Note
				}
				from, to := g.From, g.To
				f.Severity, f.From, f.To = sev, &from, &to
				f.Text = fmt.Sprintf("%s, %s from %s along %s: %s", who, metres(g.Length), along(g.From), r.title(b.ID), r.causeText(g))
				f.Remedy = r.causeRemedy(g)
				out = append(out, f)
			}
		}
	}
	return out
}

func along(s float64) string { return fmt.Sprintf("%.0f m", s) }

func (r *Result) causeText(g Gap) string {
	by := r.titles(g.By)
	switch g.Cause {
	case coverage.Hidden:
		if by == "" {
			return "hidden by the ground."
		}
		return "hidden by " + by + "."
	case coverage.Screened:
		if by == "" {
			return "screened by foliage."
		}
		return "screened by " + by + "."
	case coverage.Thin:
		return "the pattern is too thin: a crossing stays in it for less than the least path."
	case coverage.Under:
		return "under the pattern, too near to the mount."
	case coverage.Over:
		return "under the pattern, which does not come down within reach."
	}
	return "out of reach of every sensor."
}

func (r *Result) causeRemedy(g Gap) string {
	if g.Length < smallGap {
		return "Shorter than half a metre: confirm it on the walk test."
	}
	switch g.Cause {
	case coverage.Hidden:
		return "Move a sensor so that it looks past, or add one that looks along the hidden side."
	case coverage.Screened:
		return "Have the foliage cut back, or look from the other side of it."
	case coverage.Thin:
		return "Turn or move a sensor so that more of its pattern lies across the line."
	case coverage.Under:
		return "Tilt the sensor farther down, let the neighbouring one look over this mount, or mount a model with look-down lobes."
	case coverage.Over:
		return "Increase the tilt, or lower the mount."
	}
	return "Add a sensor, or choose one that reaches farther."
}

// ruleShallow: covered, but by every sensor for less than 1.5 m of a crossing.
func ruleShallow(r *Result) (out []model.Finding) {
	for i, f := range r.fences {
		var deep []coverage.Span
		for _, w := range r.works {
			deep = append(deep, w.looks[0].shallow[i]...)
		}
		for _, s := range r.coveredBut(i, coverage.Union(deep)) {
			length := s.Length(f.Length())
			from, to := s.From, s.To
			out = append(out, model.Finding{Rule: "shallow", Severity: model.Warning, Subject: []string{f.Feature.ID},
				At: r.lonLat(f.Point(s.Middle(f.Length()))), From: &from, To: &to,
				Text:   fmt.Sprintf("Shallow, %s from %s along %s: a crossing stays in a pattern for less than %.1f m.", metres(length), along(s.From), r.title(f.Feature.ID), coverage.Shallow),
				Remedy: "Turn or move a sensor so that more of its pattern lies across the line."})
		}
	}
	return out
}

// coveredBut returns the covered stretches of boundary i outside spans, those
// shorter than 0.1 m left out.
func (r *Result) coveredBut(i int, spans []coverage.Span) []coverage.Span {
	f := r.fences[i]
	length, ring := f.Length(), f.Boundary.Closed
	st := r.Boundaries[i].Target.Stretches
	var rest []coverage.Stretch
	for _, s := range st {
		if s.State != coverage.Covered {
			continue
		}
		pos := s.From
		for _, v := range spans {
			if v.To <= pos || v.From >= s.To {
				continue
			}
			if v.From > pos {
				rest = append(rest, coverage.Stretch{Span: coverage.Span{From: pos, To: v.From}})
			}
			pos = math.Max(pos, v.To)
		}
		if pos < s.To {
			rest = append(rest, coverage.Stretch{Span: coverage.Span{From: pos, To: s.To}})
		}
	}
	var out []coverage.Span
	for _, s := range coverage.Joined(rest, coverage.Uncovered, length, ring) {
		if s.Length(length) >= 0.1 {
			out = append(out, s)
		}
	}
	return out
}

// ruleThroughMesh: covered only through a see-through obstacle.
func ruleThroughMesh(r *Result) (out []model.Finding) {
	for i, f := range r.fences {
		var solid []coverage.Span
		near := false
		for _, w := range r.works {
			if w.mesh != nil {
				near = true
				solid = append(solid, w.mesh[i]...)
			} else {
				solid = append(solid, w.looks[0].spans[i]...)
			}
		}
		if !near {
			continue
		}
		for _, s := range r.coveredBut(i, coverage.Union(solid)) {
			length := s.Length(f.Length())
			from, to := s.From, s.To
			mid := f.Point(s.Middle(f.Length()))
			subject := []string{f.Feature.ID}
			if id := r.nearestMesh(mid); id != "" {
				subject = append(subject, id)
			}
			out = append(out, model.Finding{Rule: "through-mesh", Severity: model.Warning, Subject: subject, At: r.lonLat(mid), From: &from, To: &to,
				Text:   fmt.Sprintf("Seen only through mesh, %s from %s along %s.", metres(length), along(s.From), r.title(f.Feature.ID)),
				Remedy: "Mesh weakens the signal and moves in the wind: walk-test it from both sides, or look from this side of it."})
		}
	}
	return out
}

func (r *Result) nearestMesh(p orb.Point) (id string) {
	best := math.Inf(1)
	for _, o := range r.Scene.Obstacles {
		if !o.SeeThrough {
			continue
		}
		lines := []orb.LineString{o.Line}
		if o.Shape != nil {
			lines = lines[:0]
			for _, ring := range o.Shape {
				lines = append(lines, orb.LineString(ring))
			}
		}
		for _, l := range lines {
			for j := 0; j+1 < len(l); j++ {
				if d := segmentDistance(l[j], l[j+1], p); d < best {
					best, id = d, o.Feature.ID
				}
			}
		}
	}
	return id
}

// gateOff is how far from every boundary a gate may stand, in metres: the
// accuracy of a picture. Chosen.
const gateOff = 2.0

// ruleGate: a footprint crosses a gate line; a gate that is on no boundary.
func ruleGate(r *Result) (out []model.Finding) {
	for _, g := range r.Scene.Gates {
		off := math.Inf(1)
		for _, b := range r.Scene.Boundaries {
			_, d := b.Nearest(g.At)
			off = math.Min(off, d)
		}
		if off > gateOff {
			text := fmt.Sprintf("Gate %s stands on no boundary: the nearest is %s away.", r.title(g.Feature.ID), metres(off))
			if math.IsInf(off, 1) {
				text = fmt.Sprintf("Gate %s stands on no boundary.", r.title(g.Feature.ID))
			}
			out = append(out, model.Finding{Rule: "gate-off-boundary", Severity: model.Warning, Subject: []string{g.Feature.ID}, At: r.lonLat(g.At),
				Text: text, Remedy: "Move it onto the boundary it is an opening in."})
			continue
		}
		for _, s := range r.Sensors {
			at, ok := lineMeets(g.Line, s.Footprint)
			if !ok {
				continue
			}
			out = append(out, model.Finding{Rule: "gate", Severity: model.Warning, Subject: []string{s.ID, g.Feature.ID}, At: r.lonLat(at),
				Text:   fmt.Sprintf("The pattern of %s crosses the gate line of %s.", r.title(s.ID), r.title(g.Feature.ID)),
				Remedy: "Traffic through the gate will set it off: turn it, mask that part, or give it arming hours of its own."})
		}
	}
	return out
}

// lineMeets returns a place where a line runs inside a shape.
func lineMeets(l orb.LineString, m orb.MultiPolygon) (orb.Point, bool) {
	if len(m) == 0 || !l.Bound().Intersects(m.Bound()) {
		return orb.Point{}, false
	}
	for i := 0; i+1 < len(l); i++ {
		a, b := l[i], l[i+1]
		cuts := []float64{0, 1}
		for _, poly := range m {
			for _, ring := range poly {
				for j := 0; j+1 < len(ring); j++ {
					if t, ok := crossing(a, b, ring[j], ring[j+1]); ok {
						cuts = append(cuts, t)
					}
				}
			}
		}
		slices.Sort(cuts)
		for j := 0; j+1 < len(cuts); j++ {
			if cuts[j+1]-cuts[j] < 1e-9 {
				continue
			}
			t := (cuts[j] + cuts[j+1]) / 2
			p := orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
			if contains(m, p) {
				return p, true
			}
		}
	}
	return orb.Point{}, false
}
