package analysis

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/scene"
)

// ruleGap: stretches that no sensor covers; a fault for the target, a warning
// for another posture, a note when shorter than 0.5 m.
func ruleGap(r *Result) []*model.Finding {
	var was []*asked
	var old []numbered
	if r.since.known() {
		was, old = r.since.asked, r.since.numbered
	}
	out := make([]*model.Finding, len(r.asked))
	r.numbered = make([]numbered, len(r.asked))
	next, number, boundary := 0, 0, 0
	for k, a := range r.asked {
		if a.key.boundary != boundary {
			number, boundary = 0, a.key.boundary
		}
		if a.key.target != 0 {
			out[k] = a.finding
			continue
		}
		number++
		t := &r.numbered[k]
		// One that is as it was stands where it was, or a few places on.
		if j := slices.Index(was[next:min(next+few, len(was))], a); j >= 0 {
			*t = old[next+j]
			next += j + 1
		}
		if t.number != number {
			f := *a.finding
			f.Text = "Gap " + strconv.Itoa(number) + f.Text
			*t = numbered{number, &f}
		}
		out[k] = t.finding
	}
	return out
}

// numbered is the finding about a gap for the target, with its number.
type numbered struct {
	number  int
	finding *model.Finding
}

// gapFinding tells of a gap, of one for the target all that follows its number.
func (r *Result) gapFinding(key gapKey, g *Gap) *model.Finding {
	b := &r.Boundaries[key.boundary]
	from, to := g.From, g.To
	f := model.Finding{Rule: "gap", Severity: model.Fault, Subject: []string{b.ID}, At: r.lonLat(g.Middle), From: &from, To: &to, Remedy: r.causeRemedy(*g)}
	if key.target > 0 {
		f.Severity, f.Posture = model.Warning, b.Postures[key.target-1].Name
		f.Text = "Gap for the posture " + f.Posture
	}
	if g.Length < smallGap {
		f.Severity = model.Note
	}
	f.Text += fmt.Sprintf(", %s from %s along %s: %s", metres(g.Length), along(g.From), r.title(b.ID), r.causeText(*g))
	return &f
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
func ruleShallow(r *Result) (out []*model.Finding) {
	for i, f := range r.fences {
		out = joined(out, r.stretches(toldShallow, i, &r.along[i].deep, nil, func(s coverage.Span, _ *work) *model.Finding {
			from, to := s.From, s.To
			return &model.Finding{Rule: "shallow", Severity: model.Warning, Subject: []string{f.Feature.ID},
				At: r.lonLat(f.Point(s.Middle(f.Length()))), From: &from, To: &to,
				Text:   fmt.Sprintf("Shallow, %s from %s along %s: a crossing stays in a pattern for less than %.1f m.", metres(s.Length(f.Length())), along(s.From), r.title(f.Feature.ID), coverage.Shallow),
				Remedy: "Turn or move a sensor so that more of its pattern lies across the line."}
		}))
	}
	return out
}

// coveredBut returns the covered stretches of boundary i outside spans, which are
// in order, those shorter than 0.1 m left out.
func (r *Result) coveredBut(i int, spans []coverage.Span) []coverage.Span {
	f := r.fences[i]
	length, ring := f.Length(), f.Boundary.Closed
	st := r.Boundaries[i].Target.Stretches
	var rest []coverage.Stretch
	first := 0
	for _, s := range st {
		if s.State != coverage.Covered {
			continue
		}
		pos := s.From
		for first < len(spans) && spans[first].To <= pos {
			first++
		}
		for _, v := range spans[first:] {
			if v.From >= s.To {
				break
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
func ruleThroughMesh(r *Result) (out []*model.Finding) {
	for i, f := range r.fences {
		if r.along[i].meshed == 0 {
			continue
		}
		out = joined(out, r.stretches(toldMesh, i, &r.along[i].solid, nil, func(s coverage.Span, _ *work) *model.Finding {
			from, to := s.From, s.To
			mid := f.Point(s.Middle(f.Length()))
			subject := []string{f.Feature.ID}
			if id := r.nearestMesh(mid); id != "" {
				subject = append(subject, id)
			}
			return &model.Finding{Rule: "through-mesh", Severity: model.Warning, Subject: subject, At: r.lonLat(mid), From: &from, To: &to,
				Text:   fmt.Sprintf("Seen only through mesh, %s from %s along %s.", metres(s.Length(f.Length())), along(s.From), r.title(f.Feature.ID)),
				Remedy: "Mesh weakens the signal and moves in the wind: walk-test it from both sides, or look from this side of it."}
		}))
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
	for k, g := range r.Scene.Gates {
		if off := r.gatesOff[k]; off > gateOff {
			text := fmt.Sprintf("Gate %s stands on no boundary: the nearest is %s away.", r.title(g.Feature.ID), metres(off))
			if math.IsInf(off, 1) {
				text = fmt.Sprintf("Gate %s stands on no boundary.", r.title(g.Feature.ID))
			}
			out = append(out, model.Finding{Rule: "gate-off-boundary", Severity: model.Warning, Subject: []string{g.Feature.ID}, At: r.lonLat(g.At),
				Text: text, Remedy: "Move it onto the boundary it is an opening in."})
			continue
		}
		for _, w := range r.works {
			at, ok := w.gates[k]
			if !ok {
				continue
			}
			id := w.feature.ID
			out = append(out, model.Finding{Rule: "gate", Severity: model.Warning, Subject: []string{id, g.Feature.ID}, At: r.lonLat(at),
				Text:   fmt.Sprintf("The pattern of %s crosses the gate line of %s.", r.title(id), r.title(g.Feature.ID)),
				Remedy: "Traffic through the gate will set it off: turn it, mask that part, or give it arming hours of its own."})
		}
	}
	return out
}

// offBoundaries returns how far each gate stands from the nearest boundary, in metres.
func offBoundaries(sc *scene.Scene) []float64 {
	out := make([]float64, len(sc.Gates))
	for k, g := range sc.Gates {
		out[k] = math.Inf(1)
		for _, b := range sc.Boundaries {
			_, d := b.Nearest(g.At)
			out[k] = math.Min(out[k], d)
		}
	}
	return out
}

// crosses notes where the pattern of a sensor crosses gate lines.
func (w *work) crosses(gates []scene.Gate) {
	for k, g := range gates {
		if at, ok := lineMeets(g.Line, w.out.Footprint); ok {
			if w.gates == nil {
				w.gates = map[int]orb.Point{}
			}
			w.gates[k] = at
		}
	}
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
