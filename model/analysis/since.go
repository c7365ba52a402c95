package analysis

import (
	"slices"

	"pleach/model"
)

// since is what a result takes over of one before it on the same surroundings.
type since struct {
	*Result         // the one before; nil for none
	from    []int   // for each work, its place in the result before; -1 for a new one
	fresh   []*work // the new ones
	gone    []*work // works of the result before that are no more
}

// known reports whether there is a result before.
func (s *since) known() bool { return s.Result != nil }

// left reports whether a work of the result before is no more.
func (s *since) left(w *work) bool { return slices.Contains(s.gone, w) }

// sameBut reports whether the result before is of the same sound features in the same
// order, but for some of the same id and kind of which like says that they do not
// matter.
func (s *since) sameBut(p *model.Plan, like func(old, now *model.Feature) bool) bool {
	if !s.known() {
		return false
	}
	old, now := s.Plan.Of(model.Kinds...), p.Of(model.Kinds...)
	if len(old) != len(now) {
		return false
	}
	for i, f := range now {
		if o := old[i]; o != f && (o.ID != f.ID || o.Kind != f.Kind || !like(o, f)) {
			return false
		}
	}
	return true
}

// gather lists the works: those of the result before that still hold, and new
// ones for the other sensors of a known model.
func (r *Result) gather(previous *Result) {
	s := &since{Result: previous}
	r.since = s
	var old []*work
	if previous != nil {
		old = previous.works
	}
	sensors := r.Plan.Of(model.KindSensor)
	r.works, s.from = make([]*work, 0, len(sensors)), make([]int, 0, len(sensors))
	next := 0
	for _, f := range sensors {
		at := next
		if at < len(old) && old[at].feature.ID != f.ID {
			for at < len(old) && old[at].feature != f {
				at++
			}
			if at == len(old) { // one more, not one less
				at = next
			}
		}
		if at < len(old) && old[at].feature == f {
			s.gone = append(s.gone, old[next:at]...)
			r.works, s.from = append(r.works, old[at]), append(s.from, at)
			next = at + 1
			continue
		}
		if next < len(old) && old[next].feature.ID == f.ID {
			s.gone = append(s.gone, old[next])
			next++
		}
		if m, ok := r.Plan.Model(f.Value.(*model.Sensor).Model); ok {
			w := &work{feature: f, model: m}
			r.works, s.from = append(r.works, w), append(s.from, -1)
			s.fresh = append(s.fresh, w)
		}
	}
	if next < len(old) {
		s.gone = append(s.gone, old[next:]...)
	}
}
