package analysis

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/pattern"
	"pleach/model/scene"
)

// Sampling of gaps, to tell their causes: the spacing in metres, and the least and
// the most samples a gap. Chosen: a cause is that of most of a gap's length.
const (
	causeStep    = 1.0
	leastSamples = 21
	causeSamples = 400
	lineStep     = 0.25 // along a crossing line, to find ground under the pattern
)

// order of the causes: the first that applies to any sensor holds.
var causes = []coverage.Cause{coverage.Hidden, coverage.Screened, coverage.Thin, coverage.Under, coverage.Over, coverage.OutOfReach}

// sample is a place in a gap.
type sample struct {
	s     float64 // chainage
	fence *coverage.Fence
	bare  *coverage.Fence // without buildings and obstacles
	from  orb.Point       // the bare crossing line's ends
	to    orb.Point
	on, n orb.Point // the place on the boundary and the inward normal there
}

// place returns the place on the crossing line w metres from the boundary.
func (s sample) place(w float64) orb.Point {
	return orb.Point{s.on[0] + w*s.n[0], s.on[1] + w*s.n[1]}
}

// verdict is what one sensor says of a sample: an index into causes, and what
// hides or screens.
type verdict struct {
	cause uint8
	by    []string
}

// gapKey names a gap and what is asked of it.
type gapKey struct {
	target, boundary int
	coverage.Span
}

// before reports whether gaps lists k before o.
func (k gapKey) before(o gapKey) bool {
	switch {
	case k.boundary != o.boundary:
		return k.boundary < o.boundary
	case k.target != o.target:
		return k.target < o.target
	}
	return k.From < o.From
}

// said is what one sensor says of a sample of a gap.
type said struct {
	sample int
	verdict
}

// answer is what one sensor that is near says of a gap: a verdict for each sample
// it can speak of.
type answer struct {
	by   *work
	said []said
}

// asked is a gap with its samples and what the sensors near it say, in their
// order. It is read only once explained.
type asked struct {
	key     gapKey
	samples []sample
	bound   orb.Bound // of the samples' crossing lines
	answers []answer
	cause   coverage.Cause
	hides   []string
	finding *model.Finding // without the number of the gap
}

// gaps lists the gaps of a result, those of the target before those of the
// postures, boundary by boundary.
func (r *Result) gaps(each func(k, i int, g *Gap)) {
	for i := range r.Boundaries {
		b := &r.Boundaries[i]
		for j := range b.Target.Gaps {
			each(0, i, &b.Target.Gaps[j])
		}
		for k := range b.Postures {
			for j := range b.Postures[k].Gaps {
				each(k+1, i, &b.Postures[k].Gaps[j])
			}
		}
	}
}

// explain tells why each gap is one: every sensor speaks for itself, and the
// first cause in order holds. What a sensor said of the same gap before still
// holds, and a gap of which nobody has anything new to say keeps its cause.
func (r *Result) explain() {
	s := r.since
	var old []*asked
	if s.known() {
		old = s.asked
	}
	var anew []*asked  // gaps that were none before, or are nearer to a sensor that is new or gone
	var fresh []*asked // of these, those that were none before
	other := slices.Concat(s.fresh, s.gone)
	next := 0
	r.asked = make([]*asked, 0, len(old)+few)
	r.gaps(func(k, i int, g *Gap) {
		key := gapKey{k, i, g.Span}
		for next < len(old) && old[next].key.before(key) {
			next++
		}
		ok := next < len(old) && old[next].key == key
		var a *asked
		if !ok {
			a = r.ask(key, g)
			anew, fresh = append(anew, a), append(fresh, a)
		} else {
			a = old[next]
			next++
			if slices.ContainsFunc(other, func(w *work) bool { return w.speaksOf(a) }) {
				b := *a
				b.finding = nil
				b.answers = slices.DeleteFunc(slices.Clone(a.answers), func(w answer) bool { return s.left(w.by) })
				a = &b
				anew = append(anew, a)
			}
		}
		r.asked = append(r.asked, a)
	})
	r.Explained = len(anew)
	r.answer(anew, fresh)
	n := 0
	r.gaps(func(_, _ int, g *Gap) {
		a := r.asked[n]
		g.Cause, g.By = a.cause, a.hides
		if a.finding == nil {
			a.finding = r.gapFinding(a.key, g)
		}
		n++
	})
}

// speaksOf reports whether a gap lies within the reach of a sensor.
func (w *work) speaksOf(a *asked) bool {
	return w.eye.Buried == "" && boundNear(a.bound, w.eye.At, w.eye.Reach())
}

// answer asks about gaps: of those that were none before every sensor near, of
// the others the sensors that are new.
func (r *Result) answer(anew, fresh []*asked) {
	if len(anew) == 0 {
		return
	}
	all, none := newGapIndex(anew), newGapIndex(fresh)
	type task struct {
		w    *work
		gaps []*asked
		said [][]said
	}
	var tasks []task
	var nearby []int
	for i, w := range r.works {
		x, list := all, anew
		if r.since.from[i] >= 0 {
			x, list = none, fresh
		}
		reach := w.eye.Reach()
		if len(list) == 0 || w.eye.Buried != "" || !boundNear(x.bound, w.eye.At, reach) {
			continue
		}
		t := task{w: w}
		nearby = x.within(w.eye.At, reach, nearby[:0])
		for _, g := range nearby {
			if w.speaksOf(list[g]) {
				t.gaps = append(t.gaps, list[g])
			}
		}
		if t.gaps != nil {
			t.said = make([][]said, len(t.gaps))
			tasks = append(tasks, t)
		}
	}
	ts := targets(r.Plan.Settings)
	each(len(tasks), func() func(int) {
		lk, wk := pattern.NewLooker(r.Scene), new(coverage.Walker)
		return func(i int) {
			t := &tasks[i]
			w := t.w
			reach := w.eye.Reach()
			open := make([]pattern.Footprint, len(ts))
			laid := make([]bool, len(ts))
			turned := false // the looker to this sensor
			for g, a := range t.gaps {
				k := a.key.target
				for m, sm := range a.samples {
					if segmentDistance(sm.from, sm.to, w.eye.At) > reach || !w.eye.Faces(sm.from, sm.to) {
						continue
					}
					if !turned {
						lk.From(&w.eye, 1)
						turned = true
					}
					if !laid[k] {
						open[k], laid[k] = w.looks[k].print, true
						if lk.HasBarrier() || r.Scene.Terrain != nil {
							open[k] = lk.Lay(ts[k], pattern.Unhidden)
						}
					}
					if v := judge(r.Scene, lk, wk, sm, ts[k], w.looks[k].print, open[k], r.Plan.Settings.MinPath); v.cause < uint8(len(causes)-1) {
						t.said[g] = append(t.said[g], said{m, v})
					}
				}
			}
		}
	})
	for i := range tasks {
		for g, a := range tasks[i].gaps {
			a.answers = append(a.answers, answer{tasks[i].w, tasks[i].said[g]})
		}
	}
	order := map[*work]int{}
	for _, a := range anew {
		for _, w := range a.answers {
			order[w.by] = 0
		}
	}
	for i, w := range r.works {
		if _, ok := order[w]; ok {
			order[w] = i
		}
	}
	for _, a := range anew {
		slices.SortFunc(a.answers, func(x, y answer) int { return order[x.by] - order[y.by] })
		a.conclude()
	}
}

// conclude takes the first cause in order at each sample, and of these that of
// most.
func (a *asked) conclude() {
	best := make([]verdict, len(a.samples))
	for m := range best {
		best[m].cause = uint8(len(causes) - 1)
	}
	for _, w := range a.answers {
		for _, v := range w.said {
			b := &best[v.sample]
			switch {
			case v.cause < b.cause:
				*b = v.verdict
			case v.cause == b.cause && len(v.by) > 0:
				b.by = append(slices.Clone(b.by), v.by...)
			}
		}
	}
	a.cause, a.hides = most(best)
}

// gapIndex finds gaps by place: a grid of cells, each with the gaps whose bound
// it touches.
type gapIndex struct {
	cells map[[2]int][]int
	bound orb.Bound // of all
}

// gapCell is the size of a cell in metres, chosen: about a sensor's reach.
const gapCell = 100.0

func cellAt(p orb.Point) [2]int {
	return [2]int{int(math.Floor(p[0] / gapCell)), int(math.Floor(p[1] / gapCell))}
}

func newGapIndex(gaps []*asked) gapIndex {
	x := gapIndex{cells: map[[2]int][]int{}}
	for g, a := range gaps {
		if g == 0 {
			x.bound = a.bound
		}
		x.bound = x.bound.Union(a.bound)
		lo, hi := cellAt(a.bound.Min), cellAt(a.bound.Max)
		for i := lo[0]; i <= hi[0]; i++ {
			for j := lo[1]; j <= hi[1]; j++ {
				x.cells[[2]int{i, j}] = append(x.cells[[2]int{i, j}], g)
			}
		}
	}
	return x
}

// within appends the gaps that may lie within d of p, in order, each once.
func (x gapIndex) within(p orb.Point, d float64, out []int) []int {
	lo, hi := cellAt(orb.Point{p[0] - d, p[1] - d}), cellAt(orb.Point{p[0] + d, p[1] + d})
	for i := lo[0]; i <= hi[0]; i++ {
		for j := lo[1]; j <= hi[1]; j++ {
			out = append(out, x.cells[[2]int{i, j}]...)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// ask takes samples of a gap.
func (r *Result) ask(key gapKey, g *Gap) *asked {
	i := key.boundary
	f := r.fences[i]
	a := &asked{key: key}
	n := int(math.Max(leastSamples, math.Min(causeSamples, math.Ceil(g.Length/causeStep))))
	for m := range n {
		s := g.From + g.Length*(float64(m)+0.5)/float64(n)
		if s >= f.Length() {
			s -= f.Length()
		}
		p, q := r.bare[i].CrossingLine(s)
		a.samples = append(a.samples, sample{s, f, r.bare[i], p, q, f.Point(s), f.Normal(s)})
		if m == 0 {
			a.bound = orb.Bound{Min: p, Max: p}
		}
		a.bound = a.bound.Extend(p).Extend(q)
	}
	return a
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
func judge(sc *scene.Scene, lk *pattern.Looker, wk *coverage.Walker, sm sample, t pattern.Target, print, open pattern.Footprint, path float64) verdict {
	runs, w0, w1 := wk.Inside(sm.bare, sm.s, open.Clear)
	if coverage.Enough(runs, w0, w1, path) {
		ids := hiders(lk, sm, runs, print)
		if len(ids) == 0 {
			ids = enders(sc, wk, sm)
		}
		if len(ids) > 0 || sc.Terrain != nil { // the ground itself hides, too
			return verdict{0, ids}
		}
	}
	runs, w0, w1 = wk.Inside(sm.fence, sm.s, print.Shape)
	if coverage.Enough(runs, w0, w1, path) {
		return verdict{1, lk.ScreenedBy(sm.place((runs[0].From+runs[0].To)/2), t)}
	}
	if coverage.Sum(runs) > 1e-6 {
		return verdict{cause: 2}
	}
	over := false
	n := int(math.Ceil((w1-w0)/lineStep)) + 1
	for i := range n {
		w := w0 + (w1-w0)*float64(i)/float64(max(1, n-1))
		u, o := lk.AboveTarget(sm.place(w), t)
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
			p := sm.place(run.From + (run.To-run.From)*(float64(i)+0.5)/5)
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

// enders lists what a crossing line begins behind or ends at: it would be covered
// farther on.
func enders(sc *scene.Scene, wk *coverage.Walker, sm sample) (ids []string) {
	_, w0, w1 := wk.Inside(sm.fence, sm.s, nil)
	from, to := sm.place(w0), sm.place(w1)
	const touch = 1e-3 // metres
	at := func(l orb.LineString) bool {
		for i := 0; i+1 < len(l); i++ {
			if segmentDistance(l[i], l[i+1], to) < touch || w0 > 0 && segmentDistance(l[i], l[i+1], from) < touch {
				return true
			}
		}
		return false
	}
	for _, b := range sc.Buildings {
		if slices.ContainsFunc(b.Shape, func(r orb.Ring) bool { return at(orb.LineString(r)) }) {
			ids = append(ids, b.Feature.ID)
		}
	}
	for _, o := range sc.Obstacles {
		if o.Impassable && (at(o.Line) || slices.ContainsFunc(o.Shape, func(r orb.Ring) bool { return at(orb.LineString(r)) })) {
			ids = append(ids, o.Feature.ID)
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
	px, py := p[0]-a[0], p[1]-a[1]
	if l := dx*dx + dy*dy; l > 0 {
		t := (px*dx + py*dy) / l
		if t > 1 {
			t = 1
		}
		if t > 0 {
			px -= t * dx
			py -= t * dy
		}
	}
	return math.Sqrt(px*px + py*py)
}
