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

// alone returns, for each sensor, the stretches of boundary i that it alone
// covers.
func (r *Result) alone(i int) map[*work][]coverage.Span {
	out := map[*work][]coverage.Span{}
	for k, spans := range r.aloneBy(i) {
		if spans != nil {
			out[r.works[k]] = spans
		}
	}
	return out
}

// aloneBy is alone in the order of works.
func (r *Result) aloneBy(i int) [][]coverage.Span {
	type end struct {
		at float64
		w  int
	}
	var ins, outs []end
	for k, w := range r.works {
		for _, s := range w.looks[0].spans[i] {
			ins, outs = append(ins, end{s.From, k}), append(outs, end{s.To, k})
		}
	}
	for _, list := range [][]end{ins, outs} {
		slices.SortFunc(list, func(a, b end) int {
			switch {
			case a.at < b.at:
				return -1
			case a.at > b.at:
				return 1
			}
			return a.w - b.w
		})
	}
	out := make([][]coverage.Span, len(r.works))
	live, sum := 0, 0 // how many cover, and the sum of their places: that of the one where it is one
	prev := 0.0
	for len(outs) > 0 {
		in := len(ins) > 0 && ins[0].at <= outs[0].at
		e := outs[0]
		if in {
			e = ins[0]
		}
		if live == 1 && e.at > prev {
			out[sum] = append(out[sum], coverage.Span{From: prev, To: e.at})
		}
		if in {
			live, sum, ins = live+1, sum+e.w, ins[1:]
		} else {
			live, sum, outs = live-1, sum-e.w, outs[1:]
		}
		prev = e.at
	}
	for k, s := range out {
		if s != nil {
			out[k] = coverage.Minus(coverage.Union(s), r.fences[i].NoNeed)
		}
	}
	return out
}

// ruleAngle: half a degree of tilt opens a gap.
func ruleAngle(r *Result) (out []model.Finding) {
	for i, f := range r.fences {
		alone := r.aloneBy(i)
		for k, w := range r.works {
			own := alone[k]
			if len(own) == 0 || w.out.Tilts == nil {
				continue
			}
			worst, where, which := 0.0, coverage.Span{}, 0
			for _, k := range []int{0, 2} {
				for _, s := range coverage.Minus(own, w.out.Tilts[k].spans[i]) {
					if l := s.To - s.From; l > worst {
						worst, where, which = l, s, k
					}
				}
			}
			if worst < smallGap {
				continue
			}
			way := "up"
			if which == 2 {
				way = "down"
			}
			from, to := where.From, where.To
			out = append(out, model.Finding{Rule: "angle", Severity: model.Warning, Subject: []string{w.feature.ID, f.Feature.ID},
				At: r.lonLat(f.Point(where.Middle(f.Length()))), From: &from, To: &to,
				Text:   fmt.Sprintf("Half a degree %s on %s opens a gap of %s from %s along %s.", way, r.title(w.feature.ID), metres(worst), along(where.From), r.title(f.Feature.ID)),
				Remedy: "Let a neighbour overlap there, or mount it on something that does not give, and walk-test the far end."})
		}
	}
	return out
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
func ruleHeadOn(r *Result) (out []model.Finding) {
	for i, f := range r.fences {
		var across []coverage.Span
		some := false
		for _, w := range r.works {
			spans := w.looks[0].spans[i]
			if len(spans) == 0 {
				continue
			}
			on := w.facing[i]
			if len(on) == 0 {
				across = append(across, spans...)
				continue
			}
			some = true
			across = append(across, coverage.Minus(spans, on)...)
		}
		if !some {
			continue
		}
		for _, s := range r.coveredBut(i, coverage.Union(across)) {
			length := s.Length(f.Length())
			if length < smallGap {
				continue
			}
			p := f.Point(s.Middle(f.Length()))
			// The sensor that sees it from nearest.
			var near *work
			x := math.Inf(1)
			for _, w := range r.works {
				for _, v := range w.looks[0].spans[i] {
					if m := s.Middle(f.Length()); v.From <= m && m <= v.To {
						if d := math.Hypot(p[0]-w.eye.At[0], p[1]-w.eye.At[1]); d < x {
							near, x = w, d
						}
					}
				}
			}
			if near == nil {
				continue
			}
			from, to := s.From, s.To
			h := near.eye.Z - r.Scene.Ground(p)
			out = append(out, model.Finding{Rule: "head-on", Severity: model.Warning, Subject: []string{f.Feature.ID, near.feature.ID}, At: r.lonLat(p), From: &from, To: &to,
				Text: fmt.Sprintf("Crossed head-on, %s from %s along %s: a crossing runs within %.0f degrees of the line of sight of %s, where the angle changes at %.2f of the rate of a crossing sideways.",
					metres(length), along(s.From), r.title(f.Feature.ID), headOn, r.title(near.feature.ID), towards(h, x)),
				Remedy: "Let a sensor that looks along the line cover it: movement across a pattern is seen far better than towards it."})
		}
	}
	return out
}
