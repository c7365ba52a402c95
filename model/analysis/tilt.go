package analysis

import (
	"fmt"
	"math"
	"slices"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/pattern"
)

// tiltStep is the error of tilt that is tried, in degrees: half a degree is what
// a bracket and a post give way. Chosen; method, detection 3.
const tiltStep = 0.5

// Tilt is what a sensor would reach and cover at another tilt.
type Tilt struct {
	Tilt    float64  // degrees
	Far     *float64 // metres; nil for an empty footprint
	Covered float64  // metres of boundary, closed stretches left out
	spans   [][]coverage.Span
}

// sensitivity works out what a sensor reaches and covers at tilts half a degree
// either way.
func (r *Result) sensitivity(w *work, lk *pattern.Looker, wk *coverage.Walker, t pattern.Target) {
	own := w.feature.Value.(*model.Sensor).Tilt
	fp := w.looks[0].print
	at := func(delta float64, fp pattern.Footprint, spans [][]coverage.Span) Tilt {
		out := Tilt{Tilt: own + delta, spans: spans}
		if !fp.Empty() {
			out.Far = &fp.Far
		}
		for i, s := range spans {
			out.Covered += coverage.Sum(coverage.Minus(s, r.fences[i].NoNeed))
		}
		return out
	}
	other := func(delta float64) Tilt {
		e := w.eye.Tilted(delta)
		lk.Aim(&e)
		fp := lk.Lay(t, pattern.AsItIs)
		var spans [][]coverage.Span
		for _, f := range r.fences {
			spans = append(spans, wk.Covered(f, fp.Clear, r.Plan.Settings.MinPath)[0])
		}
		return at(delta, fp, spans)
	}
	w.out.Tilts = []Tilt{other(-tiltStep), at(0, fp, w.looks[0].spans), other(tiltStep)}
	lk.Aim(&w.eye)
}

// ruleAngle: half a degree of tilt opens a gap. It is asked of the sensors that are
// new, and of those that cover anything beside what has changed.
func ruleAngle(r *Result) (out []*model.Finding) {
	r.angles = make([][]*model.Finding, len(r.fences))
	for i := range r.fences {
		list := make([]*model.Finding, len(r.works))
		r.angles[i] = list
		near := r.nearby(i)
		for k, w := range r.works {
			if at := r.since.from[k]; at >= 0 && !r.along[i].all && !near[w] {
				list[k] = r.since.angles[i][at]
			} else {
				list[k] = r.angleFinding(w, i)
			}
		}
		out = joined(out, list)
	}
	return out
}

// angleFinding tells where half a degree of a sensor's tilt opens a gap along
// boundary i; nil where it does not.
func (r *Result) angleFinding(w *work, i int) *model.Finding {
	if w.out.Tilts == nil {
		return nil
	}
	own := r.alone(w, i)
	worst, where, which := 0.0, coverage.Span{}, 0
	for _, k := range []int{0, 2} {
		for _, s := range coverage.Minus(own, w.out.Tilts[k].spans[i]) {
			if l := s.To - s.From; l > worst {
				worst, where, which = l, s, k
			}
		}
	}
	if worst < smallGap {
		return nil
	}
	way := "up"
	if which == 2 {
		way = "down"
	}
	f := r.fences[i]
	from, to := where.From, where.To
	return &model.Finding{Rule: "angle", Severity: model.Warning, Subject: []string{w.feature.ID, f.Feature.ID},
		At: r.lonLat(f.Point(where.Middle(f.Length()))), From: &from, To: &to,
		Text:   fmt.Sprintf("Half a degree %s on %s opens a gap of %s from %s along %s.", way, r.title(w.feature.ID), metres(worst), along(where.From), r.title(f.Feature.ID)),
		Remedy: "Let a neighbour overlap there, or mount it on something that does not give, and walk-test the far end."}
}

// headOn is the angle in degrees between the crossing line and the line of sight
// within which a crossing counts as head-on (method, detection 5).
const headOn = 20.0

var headOnTan = math.Tan(headOn * math.Pi / 180)

// towards returns at what part of the rate of a crossing sideways the angle changes
// for a target that walks straight at a sensor h metres above it, x metres off: only
// its depression changes. Handbook of check values, detection 2.1; about h/x.
func towards(h, x float64) float64 { return h * x / (x*x + h*h) }

// ruleHeadOn: stretches that are crossed straight towards every sensor that
// covers them.
func ruleHeadOn(r *Result) (out []*model.Finding) {
	for i, f := range r.fences {
		if r.along[i].facing == 0 {
			continue
		}
		nearest := func(s coverage.Span) (*work, bool) {
			if s.Length(f.Length()) < smallGap {
				return nil, false
			}
			near, _ := r.nearestOver(i, s.Middle(f.Length()))
			return near, near != nil
		}
		out = joined(out, r.stretches(toldHeadOn, i, &r.along[i].across, nearest, func(s coverage.Span, near *work) *model.Finding {
			m := s.Middle(f.Length())
			p := f.Point(m)
			_, x := r.nearestOver(i, m)
			from, to := s.From, s.To
			h := near.eye.Z - r.Scene.Ground(p)
			return &model.Finding{Rule: "head-on", Severity: model.Warning, Subject: []string{f.Feature.ID, near.feature.ID}, At: r.lonLat(p), From: &from, To: &to,
				Text: fmt.Sprintf("Crossed head-on, %s from %s along %s: a crossing runs within %.0f degrees of the line of sight of %s, where the angle changes at %.2f of the rate of a crossing sideways.",
					metres(s.Length(f.Length())), along(s.From), r.title(f.Feature.ID), headOn, r.title(near.feature.ID), towards(h, x)),
				Remedy: "Let a sensor that looks along the line cover it: movement across a pattern is seen far better than towards it."}
		}))
	}
	return out
}

// nearestOver returns the sensor that sees chainage m of boundary i from nearest,
// the first of equals, and how far off it is.
func (r *Result) nearestOver(i int, m float64) (near *work, x float64) {
	p := r.fences[i].Point(m)
	x = math.Inf(1)
	r.along[i].seen[0].meeting(coverage.Span{From: m, To: m}, func(_ coverage.Span, w *work) {
		d := math.Hypot(p[0]-w.eye.At[0], p[1]-w.eye.At[1])
		if d < x || d == x && slices.Index(r.works, w) < slices.Index(r.works, near) {
			near, x = w, d
		}
	})
	return near, x
}
