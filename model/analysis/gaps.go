package analysis

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model/coverage"
	"pleach/model/pattern"
)

// Sampling of gaps, to tell their causes: the spacing in metres and the most
// samples a gap. Chosen: a cause is that of most of a gap's length.
const (
	causeStep    = 1.0
	causeSamples = 400
	lineStep     = 0.25 // along a crossing line, to find ground under the pattern
)

// order of the causes: the first that applies to any sensor holds.
var causes = []coverage.Cause{coverage.Hidden, coverage.Screened, coverage.Thin, coverage.Under, coverage.Over, coverage.OutOfReach}

// sample is a place in a gap.
type sample struct {
	s     float64 // chainage
	fence *coverage.Fence
	from  orb.Point // the crossing line's ends
	to    orb.Point
}

// verdict is what one sensor says of a sample: an index into causes, and what
// hides or screens.
type verdict struct {
	cause uint8
	by    []string
}

// explain tells why each gap is one.
func (r *Result) explain() {
	ts := targets(r.Plan.Settings)
	for k, t := range ts {
		var gaps []*Gap
		var samples [][]sample
		bound := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
		for i := range r.Boundaries {
			c := &r.Boundaries[i].Target
			if k > 0 {
				c = &r.Boundaries[i].Postures[k-1]
			}
			f := r.fences[i]
			for j := range c.Gaps {
				g := &c.Gaps[j]
				n := int(math.Max(3, math.Min(causeSamples, math.Ceil(g.Length/causeStep))))
				var ss []sample
				for m := range n {
					s := g.From + g.Length*(float64(m)+0.5)/float64(n)
					if s >= f.Length() {
						s -= f.Length()
					}
					a, b := f.CrossingLine(s)
					ss = append(ss, sample{s, f, a, b})
					bound = bound.Extend(a).Extend(b)
				}
				gaps = append(gaps, g)
				samples = append(samples, ss)
			}
		}
		if len(gaps) == 0 {
			continue
		}
		// Every sensor speaks for itself; the first cause in order wins.
		type said struct {
			gap, sample int
			verdict
		}
		all := make([][]said, len(r.works))
		each(len(r.works), func() func(int) {
			lk, wk := pattern.NewLooker(r.Scene), new(coverage.Walker)
			return func(i int) {
				w := r.works[i]
				if w.eye.Buried != "" || !boundNear(bound, w.eye.At, w.eye.Reach()) {
					return
				}
				ready := false
				var open pattern.Footprint
				for g := range samples {
					for m, sm := range samples[g] {
						if segmentDistance(sm.from, sm.to, w.eye.At) > w.eye.Reach() {
							continue
						}
						if !ready {
							lk.From(&w.eye, 1)
							open = w.looks[k].print
							if lk.HasBarrier() {
								open = lk.Lay(t, pattern.Unhidden)
							}
							ready = true
						}
						if v := judge(lk, wk, sm, t, w.looks[k].print, open, r.Plan.Settings.MinPath); v.cause < uint8(len(causes)-1) {
							all[i] = append(all[i], said{g, m, v})
						}
					}
				}
			}
		})
		best := make([][]verdict, len(gaps))
		for g := range samples {
			best[g] = make([]verdict, len(samples[g]))
			for m := range best[g] {
				best[g][m].cause = uint8(len(causes) - 1)
			}
		}
		for _, list := range all {
			for _, v := range list {
				b := &best[v.gap][v.sample]
				switch {
				case v.cause < b.cause:
					*b = v.verdict
				case v.cause == b.cause:
					b.by = append(slices.Clone(b.by), v.by...)
				}
			}
		}
		for g, gap := range gaps {
			gap.Cause, gap.By = most(best[g])
		}
	}
}

// most returns the cause of most samples and what hides or screens there, the
// most frequent first.
func most(vs []verdict) (coverage.Cause, []string) {
	var n [6]int
	for _, v := range vs {
		n[v.cause]++
	}
	best := 0
	for i := range n {
		if n[i] > n[best] {
			best = i
		}
	}
	count := map[string]int{}
	var ids []string
	for _, v := range vs {
		if int(v.cause) != best {
			continue
		}
		for i, id := range v.by {
			if slices.Contains(v.by[:i], id) {
				continue
			}
			if count[id] == 0 {
				ids = append(ids, id)
			}
			count[id]++
		}
	}
	slices.SortStableFunc(ids, func(a, b string) int {
		if count[a] != count[b] {
			return count[b] - count[a]
		}
		if a < b {
			return -1
		}
		return 1
	})
	return causes[best], ids
}

// judge says why a sensor does not cover a sample.
func judge(lk *pattern.Looker, wk *coverage.Walker, sm sample, t pattern.Target, print, open pattern.Footprint, path float64) verdict {
	runs, w0, w1 := wk.Inside(sm.fence, sm.s, open.Clear)
	if coverage.Enough(runs, w0, w1, path) {
		return verdict{0, hiders(lk, sm, runs, print)}
	}
	runs, _, _ = wk.Inside(sm.fence, sm.s, print.Shape)
	if coverage.Enough(runs, w0, w1, path) {
		return verdict{1, lk.ScreenedBy(sm.fence.Place(sm.s, (runs[0].From+runs[0].To)/2), t)}
	}
	if coverage.Sum(runs) > 1e-6 {
		return verdict{cause: 2}
	}
	over := false
	n := int(math.Ceil((w1-w0)/lineStep)) + 1
	for i := range n {
		w := w0 + (w1-w0)*float64(i)/float64(max(1, n-1))
		u, o := lk.AboveTarget(sm.fence.Place(sm.s, w), t)
		if u {
			return verdict{cause: 3}
		}
		over = over || o
	}
	if over {
		return verdict{cause: 4}
	}
	return verdict{cause: 5}
}

// hiders lists what stands between the eye and the part of the crossing line
// that would be seen without it.
func hiders(lk *pattern.Looker, sm sample, runs []coverage.Span, print pattern.Footprint) (ids []string) {
	for _, run := range runs {
		for i := range 5 {
			p := sm.fence.Place(sm.s, run.From+(run.To-run.From)*(float64(i)+0.5)/5)
			if contains(print.Shape, p) {
				continue
			}
			if id := lk.Hider(p); id != "" && !slices.Contains(ids, id) {
				ids = append(ids, id)
			}
		}
	}
	return ids
}

func contains(m orb.MultiPolygon, p orb.Point) bool {
	for _, poly := range m {
		if pattern.Inside(poly, p) {
			return true
		}
	}
	return false
}

func segmentDistance(a, b, p orb.Point) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = math.Max(0, math.Min(1, ((p[0]-a[0])*dx+(p[1]-a[1])*dy)/l))
	}
	return math.Hypot(a[0]+t*dx-p[0], a[1]+t*dy-p[1])
}
