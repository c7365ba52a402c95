package analysis

import (
	"context"
	"math"
	"reflect"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/pattern"
	"pleach/model/scene"
	"pleach/model/sitegrid"
)

// Run analyses a plan. What of a previous result still holds is taken over; the
// result is the same with and without one. It returns ctx's error when ctx ends
// first.
func Run(ctx context.Context, p *model.Plan, previous *Result) (*Result, error) {
	var before *scene.Scene
	if previous != nil {
		before = previous.Scene
	}
	return RunOn(ctx, scene.After(before, p, sitegrid.New(scene.Origin(p)), nil), previous)
}

// RunOn analyses a plan laid on a given site grid.
func RunOn(ctx context.Context, sc *scene.Scene, previous *Result) (*Result, error) {
	r := &Result{Plan: sc.Plan, Scene: sc}
	if previous != nil && sameSurroundings(previous, r) {
		r.fences, r.bare, r.outside, r.gatesOff = previous.fences, previous.bare, previous.outside, previous.gatesOff
	} else {
		previous = nil
		for _, b := range sc.Boundaries {
			r.fences = append(r.fences, coverage.Lay(sc, b, sc.Plan.Settings.CrossingDepth))
			r.bare = append(r.bare, coverage.LayBare(sc, b, sc.Plan.Settings.CrossingDepth))
		}
		r.outside, r.gatesOff = newOutside(sc), offBoundaries(sc)
	}
	if err := r.lookAll(ctx, previous); err != nil {
		return nil, err
	}
	r.cover()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	r.explain()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	r.link()
	r.sunlight(previous)
	r.find()
	r.since = nil
	return r, nil
}

// work is what was worked out for one sensor and still holds while neither it
// nor its surroundings change.
type work struct {
	feature      *model.Feature
	model        model.SensorModel
	eye          pattern.Eye
	antenna      antenna
	off          bool // it stands outside the customer's land
	out          Sensor
	looks        []look            // the target, then the postures
	facing       [][]coverage.Span // by boundary: crossed nearly head-on
	mesh         [][]coverage.Span // by boundary: covered with mesh as walls; nil where no mesh is near
	lookDown     orb.MultiPolygon  // see Result.LookDown
	lookDownOnce sync.Once
	beyond       float64           // square metres of the footprint outside its zone's views
	viewed       bool              // its zone has views
	gates        map[int]orb.Point // by place among the gates: where its footprint crosses the line
}

// look is what one sensor sees of one target.
type look struct {
	print   pattern.Footprint
	spans   [][]coverage.Span // by boundary: covered for the least path
	shallow [][]coverage.Span // by boundary: covered for 1.5 m
}

// targets returns the plan's target and its postures.
func targets(s model.Settings) []pattern.Target {
	out := []pattern.Target{{Height: s.Target.Height, MinVisible: s.Target.MinVisible}}
	for _, p := range s.Postures {
		out = append(out, pattern.Target{Height: p.Height, MinVisible: p.MinVisible})
	}
	return out
}

// surroundings are the kinds that all sensors share.
var surroundings = []model.Kind{model.KindBoundary, model.KindExcluded, model.KindPremises, model.KindRoad, model.KindFootpath, model.KindNeighbour,
	model.KindBuilding, model.KindFoliage, model.KindObstacle, model.KindView, model.KindGate}

// sameSurroundings reports whether everything but the devices is the same.
func sameSurroundings(a, b *Result) bool {
	if a.Scene.Grid != b.Scene.Grid || a.Scene.Terrain != b.Scene.Terrain || !sameReckoning(a.Plan, b.Plan) {
		return false
	}
	for _, k := range surroundings {
		if !model.SameList(a.Plan.Of(k), b.Plan.Of(k)) {
			return false
		}
	}
	return slices.Equal(outputs(a.Plan), outputs(b.Plan))
}

// sameReckoning reports whether two plans' settings differ in nothing that is
// reckoned with: what stands on the title block and what was accepted is not.
func sameReckoning(a, b *model.Plan) bool {
	if model.SameSettings(a, b) {
		return true
	}
	bare := func(s model.Settings) model.Settings {
		s.Title, s.Reference, s.Customer, s.Designer, s.Revision, s.Accepted = "", "", "", "", "", nil
		return s
	}
	return reflect.DeepEqual(bare(a.Settings), bare(b.Settings))
}

// outputs lists the zones and presets of all receivers.
func outputs(p *model.Plan) (out []model.Output) {
	for _, f := range p.Of(model.KindReceiver) {
		out = append(out, f.Value.(*model.Receiver).Outputs...)
	}
	return out
}

// lookAll looks from every sensor that is new, sharing the work over the
// processors.
func (r *Result) lookAll(ctx context.Context, previous *Result) error {
	r.gather(previous)
	todo := r.since.fresh
	r.Laid = len(todo)
	each(len(todo), func() func(int) {
		lk, wk := pattern.NewLooker(r.Scene), new(coverage.Walker)
		return func(i int) {
			if ctx.Err() == nil {
				w := todo[i]
				w.eye = pattern.Stand(r.Scene, w.feature, w.model)
				r.lookFrom(w, lk, wk)
				w.crosses(r.Scene.Gates)
				w.antenna = sensorAntenna(r.Scene, w.feature, w.model, w.eye.At)
				w.off = r.outside.off(r.Scene, r.Scene.Grid.ToSite(w.feature.Geometry.(orb.Point)))
			}
		}
	})
	r.Sensors = make([]Sensor, len(r.works))
	for i, from := 0, r.since.from; i < len(from); {
		if from[i] < 0 {
			r.Sensors[i] = r.works[i].out
			i++
			continue
		}
		n := 1 // that follow on one another as before: with route, margin and low sun
		for i+n < len(from) && from[i+n] == from[i]+n {
			n++
		}
		i += copy(r.Sensors[i:i+n], r.since.Sensors[from[i]:])
	}
	return ctx.Err()
}

// each calls a function for 0 to n-1, shared over the processors; start makes
// one function with its own memory for each of them.
func each(n int, start func() func(int)) {
	workers := min(runtime.GOMAXPROCS(0), n)
	if workers < 2 {
		if n > 0 {
			f := start()
			for i := range n {
				f(i)
			}
		}
		return
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			f := start()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				f(i)
			}
		})
	}
	wg.Wait()
}

// lookFrom works out everything about one sensor.
func (r *Result) lookFrom(w *work, lk *pattern.Looker, wk *coverage.Walker) {
	s := r.Plan.Settings
	e := &w.eye
	w.out = Sensor{ID: e.ID, At: e.At, Height: e.Z, Fixed: e.Fixed, Buried: e.Buried}
	w.looks = make([]look, 1+len(s.Postures))
	if e.Buried != "" {
		for i := range w.looks {
			w.looks[i].spans = make([][]coverage.Span, len(r.fences))
			w.looks[i].shallow = make([][]coverage.Span, len(r.fences))
		}
		return
	}
	lk.From(e, s.VehicleRangeFactor)
	for i, t := range targets(s) {
		l := &w.looks[i]
		l.print = lk.Lay(t, pattern.AsItIs)
		for _, f := range r.fences {
			c := wk.Covered(f, l.print.Clear, s.MinPath, coverage.Shallow)
			l.spans = append(l.spans, c[0])
			l.shallow = append(l.shallow, c[1])
		}
	}
	target := targets(s)[0]
	fp := w.looks[0].print
	w.out.Footprint, w.out.Area = fp.Shape, fp.Area
	w.out.Clear, w.out.Screened = fp.Clear, fp.Screened
	if !fp.Empty() {
		w.out.Near, w.out.Far = &fp.Near, &fp.Far
	}
	if lk.HasMesh() {
		solid := lk.Lay(target, pattern.MeshAsWalls)
		for _, f := range r.fences {
			w.mesh = append(w.mesh, wk.Covered(f, solid.Clear, s.MinPath)[0])
		}
	}
	w.out.Foliage, w.out.FoliageAt25, w.out.FoliageOn = lk.Foliage()
	for i, f := range r.fences {
		var on []coverage.Span
		if len(w.looks[0].spans[i]) > 0 {
			on = f.FacingSpans(e.At, headOnTan, w.looks[0].spans[i])
		}
		w.facing = append(w.facing, on)
	}
	r.sensitivity(w, lk, wk, target)
	w.out.Overspill = r.overspill(lk)
	r.views(w, lk, target)
}

// cover works out what holds along each boundary.
func (r *Result) cover() {
	s := r.Plan.Settings
	names := []string{"target"}
	for _, p := range s.Postures {
		names = append(names, p.Name)
	}
	r.Boundaries = make([]Boundary, len(r.fences))
	r.along = make([]sights, len(r.fences))
	for k := range r.stretched {
		r.stretched[k] = make([][]told, len(r.fences))
	}
	each(len(r.fences), func() func(int) {
		return func(i int) {
			f := r.fences[i]
			r.along[i] = r.layAlong(i)
			if r.untouched(i) {
				r.Boundaries[i] = r.since.Boundaries[i].again()
				return
			}
			b := Boundary{ID: f.Feature.ID, Length: f.Length()}
			for k := range names {
				c := r.coverage(i, k, names[k])
				if k == 0 {
					b.Target = c
					for _, st := range c.Stretches {
						if st.State == coverage.Closed {
							b.Closed += st.To - st.From
						}
					}
				} else {
					b.Postures = append(b.Postures, c)
				}
			}
			if s := r.since; s.known() { // about as many
				b.Spans = make([]SensorSpans, 0, len(s.Boundaries[i].Spans)+len(s.fresh))
			}
			for _, w := range r.works {
				if spans := w.looks[0].spans[i]; len(spans) > 0 {
					b.Spans = append(b.Spans, SensorSpans{w.feature.ID, spans})
				}
			}
			r.Boundaries[i] = b
		}
	})
}

// untouched reports whether no sensor that is new or gone sees boundary i.
func (r *Result) untouched(i int) bool {
	sees := func(w *work) bool {
		return slices.ContainsFunc(w.looks, func(l look) bool { return len(l.spans[i]) > 0 })
	}
	s := r.since
	return s.known() && !slices.ContainsFunc(s.fresh, sees) && !slices.ContainsFunc(s.gone, sees)
}

// again returns what holds along the boundary for another result, whose gaps are to
// be told the causes of.
func (b Boundary) again() Boundary {
	b.Target.Gaps = slices.Clone(b.Target.Gaps)
	b.Postures = slices.Clone(b.Postures)
	for k := range b.Postures {
		b.Postures[k].Gaps = slices.Clone(b.Postures[k].Gaps)
	}
	return b
}

// gapsOf returns the gaps along boundary i for target k of the result before.
func (s *since) gapsOf(i, k int) []Gap {
	switch {
	case !s.known():
		return nil
	case k == 0:
		return s.Boundaries[i].Target.Gaps
	}
	return s.Boundaries[i].Postures[k-1].Gaps
}

// coverage works out what holds along boundary i for target k.
func (r *Result) coverage(i, k int, name string) Coverage {
	f := r.fences[i]
	length, ring := f.Length(), f.Boundary.Closed
	all := r.along[i].seen[k].spans
	once := coverage.UnionOfSorted(all)
	c := Coverage{Name: name, Stretches: coverage.Stretches(length, ring, once, f.NoNeed)}
	closed := 0.0
	for _, st := range c.Stretches {
		switch st.State {
		case coverage.Covered:
			c.Covered += st.To - st.From
		case coverage.Closed:
			closed += st.To - st.From
		}
	}
	if open := length - closed; open > 1e-6 {
		share := c.Covered / open
		c.Share = &share
	}
	c.Overlaps = coverage.Overlaps(length, ring, all, f.NoNeed)
	c.Overlap = coverage.Sum(c.Overlaps)
	gaps := coverage.Gaps(c.Stretches, length, ring)
	c.Gaps = make([]Gap, 0, len(gaps))
	old := r.since.gapsOf(i, k)
	for _, g := range gaps {
		for len(old) > 0 && old[0].From < g.From {
			old = old[1:]
		}
		if len(old) > 0 && old[0].Span == g {
			c.Gaps = append(c.Gaps, Gap{Span: g, Length: old[0].Length, Middle: old[0].Middle})
			continue
		}
		c.Gaps = append(c.Gaps, Gap{Span: g, Length: g.Length(length), Middle: f.Point(g.Middle(length))})
	}
	return c
}

// boundNear reports whether p lies within d of a bound.
func boundNear(b orb.Bound, p orb.Point, d float64) bool {
	dx := math.Max(0, math.Max(b.Min[0]-p[0], p[0]-b.Max[0]))
	dy := math.Max(0, math.Max(b.Min[1]-p[1], p[1]-b.Max[1]))
	return math.Hypot(dx, dy) <= d
}

// LookDown returns the part of sensor i's footprint that look-down lobes see, in
// the order of Sensors. It is laid when it is first asked for: drawings show it,
// the report does not.
func (r *Result) LookDown(i int) orb.MultiPolygon {
	if shape := r.Sensors[i].LookDown; shape != nil || r.works == nil {
		return shape
	}
	w := r.works[i]
	w.lookDownOnce.Do(func() {
		lk := pattern.NewLooker(r.Scene)
		lk.From(&w.eye, 1)
		w.lookDown = lk.LayLookDown(targets(r.Plan.Settings)[0])
	})
	return w.lookDown
}
