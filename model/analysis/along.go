package analysis

import (
	"math"
	"slices"

	"pleach/model"
	"pleach/model/coverage"
)

// layer is what all sensors have of one kind along a boundary, in order of where
// it begins, and whose it is.
type layer struct {
	spans   []coverage.Span
	by      []*work
	longest float64 // no span is longer, in metres
}

// sights is what the sensors see of one boundary.
type sights struct {
	seen    []layer // by target: covered
	deep    layer   // covered for coverage.Shallow
	solid   layer   // covered with mesh as walls
	across  layer   // covered and not crossed nearly head-on
	meshed  int     // sensors near mesh
	facing  int     // sensors that some of it is crossed nearly head-on towards
	changed []coverage.Span
	all     bool // nothing of it is as it was
}

// few is how many sensors may be new or gone for a layer to be mended: more are
// faster laid anew.
const few = 16

// layAlong lays out the spans along boundary i, and mends what the result before has.
func (r *Result) layAlong(i int) sights {
	s := r.since
	a := sights{all: !s.known() || len(s.fresh)+len(s.gone) > few}
	old, gone, fresh := sights{seen: make([]layer, 1+len(r.Plan.Settings.Postures))}, s.gone, r.works
	if a.all {
		gone = nil
	} else {
		old, fresh = s.along[i], s.fresh
	}
	lay := func(old layer, of func(w *work) []coverage.Span) layer {
		return old.mended(gone, fresh, a.all, of)
	}
	for k := range old.seen {
		a.seen = append(a.seen, lay(old.seen[k], func(w *work) []coverage.Span { return w.looks[k].spans[i] }))
	}
	a.deep = lay(old.deep, func(w *work) []coverage.Span { return w.looks[0].shallow[i] })
	a.meshed, a.facing = old.meshed, old.facing
	count := func(ws []*work, by int) {
		for _, w := range ws {
			if w.mesh != nil {
				a.meshed += by
			}
			if len(w.facing) > 0 && len(w.facing[i]) > 0 {
				a.facing += by
			}
		}
	}
	count(gone, -1)
	count(fresh, 1)
	// Most sites have no mesh, and many no sensor that looks across the line.
	a.solid, a.across = a.seen[0], a.seen[0]
	if a.meshed > 0 {
		a.solid = lay(old.solid, func(w *work) []coverage.Span { return w.unmeshed(i) })
	}
	if a.facing > 0 {
		a.across = lay(old.across, func(w *work) []coverage.Span { return w.acrossOn(i) })
	}
	if !a.all {
		for _, list := range [][]*work{gone, fresh} {
			for _, w := range list {
				a.changed = append(a.changed, w.looks[0].spans[i]...)
			}
		}
	}
	return a
}

// unmeshed returns what a sensor covers of boundary i with mesh as walls.
func (w *work) unmeshed(i int) []coverage.Span {
	if w.mesh != nil {
		return w.mesh[i]
	}
	return w.looks[0].spans[i]
}

// acrossOn returns what a sensor covers of boundary i and what is not crossed
// nearly head-on towards it.
func (w *work) acrossOn(i int) []coverage.Span {
	spans := w.looks[0].spans[i]
	if len(spans) == 0 || len(w.facing[i]) == 0 {
		return spans
	}
	return coverage.Minus(spans, w.facing[i])
}

// mended returns a layer without the spans of sensors that are gone and with those
// of new ones; anew, with those of the new ones alone.
func (l layer) mended(gone, fresh []*work, anew bool, of func(*work) []coverage.Span) layer {
	var add layer
	for _, w := range fresh {
		for _, s := range of(w) {
			add.spans, add.by = append(add.spans, s), append(add.by, w)
			add.longest = math.Max(add.longest, s.To-s.From)
		}
	}
	add.sort()
	if anew {
		return add
	}
	if len(add.spans) == 0 && !slices.ContainsFunc(gone, func(w *work) bool { return len(of(w)) > 0 }) {
		return l
	}
	n := len(l.spans) + len(add.spans)
	out := layer{make([]coverage.Span, 0, n), make([]*work, 0, n), math.Max(l.longest, add.longest)}
	k := 0
	for j, s := range l.spans {
		if slices.Contains(gone, l.by[j]) {
			continue
		}
		for ; k < len(add.spans) && add.spans[k].From < s.From; k++ {
			out.spans, out.by = append(out.spans, add.spans[k]), append(out.by, add.by[k])
		}
		out.spans, out.by = append(out.spans, s), append(out.by, l.by[j])
	}
	out.spans, out.by = append(out.spans, add.spans[k:]...), append(out.by, add.by[k:]...)
	return out
}

// sort puts a layer in order.
func (l *layer) sort() {
	order := make([]int, len(l.spans))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		switch a, b := l.spans[i].From, l.spans[j].From; {
		case a < b:
			return -1
		case a > b:
			return 1
		}
		return i - j
	})
	out := layer{make([]coverage.Span, len(order)), make([]*work, len(order)), l.longest}
	for to, from := range order {
		out.spans[to], out.by[to] = l.spans[from], l.by[from]
	}
	*l = out
}

// meeting calls each with the spans that meet a stretch, in order.
func (l *layer) meeting(s coverage.Span, each func(coverage.Span, *work)) {
	from, _ := slices.BinarySearchFunc(l.spans, s.From-l.longest-1e-6, func(v coverage.Span, at float64) int {
		if v.From < at {
			return -1
		}
		return 1
	})
	for i := from; i < len(l.spans) && l.spans[i].From <= s.To; i++ {
		if l.spans[i].To >= s.From {
			each(l.spans[i], l.by[i])
		}
	}
}

// alone returns the stretches of boundary i that one sensor alone covers.
func (r *Result) alone(w *work, i int) []coverage.Span {
	own := w.looks[0].spans[i]
	if len(own) == 0 {
		return nil
	}
	var others []coverage.Span // in order, as own is
	for _, s := range own {
		r.along[i].seen[0].meeting(s, func(v coverage.Span, by *work) {
			if by != w {
				others = append(others, v)
			}
		})
	}
	return coverage.Minus(coverage.Minus(own, coverage.Union(others)), r.fences[i].NoNeed)
}

// nearby returns the sensors whose cover of boundary i meets what has changed
// there.
func (r *Result) nearby(i int) map[*work]bool {
	out := map[*work]bool{}
	for _, s := range r.along[i].changed {
		r.along[i].seen[0].meeting(coverage.Span{From: s.From - 1e-6, To: s.To + 1e-6}, func(_ coverage.Span, by *work) { out[by] = true })
	}
	return out
}

// told is a finding about a stretch of a boundary, and the sensor it speaks of.
type told struct {
	coverage.Span
	by      *work
	finding *model.Finding
}

// recall finds again, in order of where they begin, the findings of a result
// before.
type recall []told

// again returns the finding about a stretch and a sensor; nil for none.
func (c *recall) again(s coverage.Span, by *work) *model.Finding {
	for len(*c) > 0 && (*c)[0].From < s.From {
		*c = (*c)[1:]
	}
	if l := *c; len(l) > 0 && l[0].Span == s && l[0].by == by {
		return l[0].finding
	}
	return nil
}

// stretches tells of the covered stretches of boundary i outside the union of a
// layer. What a result before told of the same stretch still holds. of names the
// sensor to speak of, nil where a rule speaks of none; it is asked whether there is
// something to say, too.
func (r *Result) stretches(rule, i int, l *layer, of func(coverage.Span) (*work, bool), tell func(coverage.Span, *work) *model.Finding) []*model.Finding {
	var before recall
	if r.since.known() {
		before = r.since.stretched[rule][i]
	}
	bare := r.coveredBut(i, coverage.UnionOfSorted(l.spans))
	now := make([]told, 0, len(bare))
	for _, s := range bare {
		var by *work
		if of != nil {
			w, some := of(s)
			if !some {
				continue
			}
			by = w
		}
		f := before.again(s, by)
		if f == nil {
			f = tell(s, by)
		}
		now = append(now, told{s, by, f})
	}
	r.stretched[rule][i] = now
	out := make([]*model.Finding, len(now))
	for k := range now {
		out[k] = now[k].finding
	}
	return out
}

// The rules that tell of stretches.
const (
	toldShallow = iota
	toldMesh
	toldHeadOn
	toldRules
)

// joined is append that takes the first list as it is.
func joined(a, b []*model.Finding) []*model.Finding {
	if len(a) == 0 {
		return b
	}
	return append(a, b...)
}
