// Package siting finds places for repeaters: where one mends most of the sensors
// that have no route, a second where it mends most of the rest, and so on.
//
// Places are tried on a grid over the customer's land, outside what a post cannot
// stand in, on the posts that are there and on the walls of buildings. Each is rated
// by the links of the analysis itself, by every way; places that distance or bare
// ground rules out are not. What is proposed is put into the plan, and what is said
// of it is what the analysis says of that plan.
package siting

import (
	"container/heap"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/address"
	"pleach/model/analysis"
	"pleach/model/scene"
)

const (
	// DefaultHeight is the height of the antenna, metres, where none is stated.
	// Chosen: that of a repeater as it is first drawn.
	DefaultHeight = 4.0
	// Cell is the spacing of the grid of places, metres.
	Cell = 5.0
	// NearlyAsWell is by how many decibels the weakest route may be weaker for a post
	// or a wall that is there to be taken before a new post. Chosen: what raising an
	// antenna by half gains.
	NearlyAsWell = 3.0
	// DefaultMost is how many repeaters are proposed at most where nothing is stated.
	DefaultMost = 3
)

const (
	// mostPlaces is how many places of the grid are looked at, at most: on larger land
	// the grid is twice as wide, as often as it takes, and narrowed about the best.
	// Chosen.
	mostPlaces = 6000
	// apart is how near to a repeater no other is put, metres. Chosen: what breaks one
	// post or shades it does so to its neighbour.
	apart = 10.0
	// mostCells is how many places a grid may have over the bound of the land, however
	// few of them are on it. Chosen.
	mostCells = 400_000
	// finest is the spacing down to which the grid is narrowed, metres. Chosen.
	finest = 1.25
	// kept is about how many of the best places the grid is narrowed. Chosen.
	kept = 8
	// tallest is the height of antenna, metres, that is tried where none of the height
	// asked for helps, and heightStep the steps in which it is lowered again. Chosen:
	// what a pole carries.
	tallest, heightStep = 12.0, 0.5
	// together is how many places are tried before the best is looked at again.
	// Chosen; the result does not depend on how many processors there are.
	together = 64
)

// PlaceKind is what a repeater is put on.
type PlaceKind int

// The kinds of places.
const (
	NewPost PlaceKind = iota
	ExistingPost
	Wall
)

// Place is a place for a repeater.
type Place struct {
	At   orb.Point // on the site grid
	Kind PlaceKind
	On   []string // ids of the devices on an existing post, or of the building
}

// Options say what is looked for.
type Options struct {
	Height  float64       // metres of the antenna above the ground, above 0 to 60; 0 is DefaultHeight
	Most    int           // repeaters proposed at most; 0 is DefaultMost
	Goal    analysis.Goal // beyond a route for every sensor
	Reserve float64       // dB above the required margin that a route is to have
}

// Found is what was found.
type Found struct {
	Options   Options
	Needy     []string // sensors without what is wanted, in file order
	Left      []string // of those, the ones that no proposal mends
	Proposals []Proposal
	Higher    *Proposal        // where Proposals are none: what a taller antenna would do; not put in the plan
	AtLeast   int              // repeaters that it takes at least, at the places looked at, to give the sensors that are mended a route; 0 where that was not asked
	Plan      *model.Plan      // with the repeaters proposed
	Result    *analysis.Result // of it
	Places    int              // that were looked at, all in all
	Step      float64          // metres, of the grid looked at first
}

// Proposal is a place for one repeater, in a plan that has those before it.
type Proposal struct {
	ID        string // of the repeater
	Goal      analysis.Goal
	Place     Place
	Height    float64  // metres of the antenna
	Needed    float64  // metres, the least height in steps of 0.5 m that mends the same there
	Mends     []Mended // in file order
	Carries   string   // id of the next repeater, without which this one mends nothing; "" for one that mends by itself
	Way       []string // its best way on, from itself to a receiver
	Spare     float64  // dB that the weakest link of it has above its required margin
	DependsOn []string // devices without which it has no way on
	Instead   *Instead // nil where no new post would do better
	Like      string   // id of the repeater whose radio it has; "" for the default
	Edit      model.Edit
}

// Mended is a sensor that is mended.
type Mended struct {
	ID            string
	Before, After Route
}

// Route is the best route of a sensor.
type Route struct {
	IDs    []string // from the sensor to the receiver; nil for none
	Margin float64  // dB, of its weakest link
	Spare  float64  // dB, what its weakest link has above its required margin, on the route that has most
}

// Instead is the new post that would do better than the place taken.
type Instead struct {
	At   orb.Point
	More float64 // dB that the weakest route would have more
}

// Find looks for places. progress, nil for none, is told how many repeaters are
// proposed so far, and how many of the places for the next have been looked at. It
// returns an error where the plan has no receiver or no land to stand a post on, and
// ctx's error when ctx ends first.
func Find(ctx context.Context, r *analysis.Result, o Options, progress func(proposed, done, of int)) (*Found, error) {
	if o.Height == 0 {
		o.Height = DefaultHeight
	}
	if o.Most == 0 {
		o.Most = DefaultMost
	}
	if !(o.Height > 0 && o.Height <= 60) {
		return nil, fmt.Errorf("the height of the antenna %g m is not above 0 and at most 60", o.Height)
	}
	if len(r.Plan.Of(model.KindReceiver)) == 0 {
		return nil, fmt.Errorf("the plan has no receiver: place one first")
	}
	out := &Found{Options: o, Plan: r.Plan, Result: r}
	land, err := newLand(r.Scene)
	if err != nil {
		return nil, err
	}
	var points []orb.Point
	for out.Step = Cell; ; out.Step *= 2 {
		if land.cells(out.Step) > mostCells {
			continue
		}
		if points = land.grid(ctx, out.Step); len(points) <= mostPlaces {
			break
		}
	}
	f := &finder{ctx: ctx, land: land, o: o, progress: progress, step: out.Step}
	for _, p := range points {
		f.grid = append(f.grid, Place{At: p})
	}
	goals := []analysis.Goal{analysis.Served}
	if o.Goal != analysis.Served {
		goals = append(goals, o.Goal)
	}
	for _, goal := range goals {
		f.goal = goal
		for len(out.Proposals) < o.Most {
			if len(f.prospect(out.Result).Needy()) == 0 {
				break
			}
			p, next, err := f.next(out.Result, o.Height, len(out.Proposals))
			if err != nil {
				return nil, err
			}
			var found []Proposal
			switch {
			case p != nil:
				found = append(found, *p)
			case goal == analysis.Served && len(out.Proposals)+2 <= o.Most && r.Plan.Settings.MaxHops > 2:
				if found, next, err = f.row(out.Result, o.Height, len(out.Proposals)); err != nil {
					return nil, err
				}
			}
			if len(found) == 0 {
				break
			}
			out.Proposals = append(out.Proposals, found...)
			out.Plan, out.Result = next.Plan, next
		}
	}
	if err := f.drop(r, out, goals); err != nil {
		return nil, err
	}
	f.goal = o.Goal
	out.Needy = f.prospect(r).Needy()
	out.Left = f.prospect(out.Result).Needy()
	if len(out.Proposals) == 0 && len(out.Left) > 0 && o.Height < tallest {
		f.goal = analysis.Served
		if len(f.prospect(r).Needy()) == 0 {
			f.goal = o.Goal
		}
		if out.Higher, err = f.higher(r); err != nil {
			return nil, err
		}
	}
	if len(out.Proposals) > 1 && o.Goal == analysis.Served {
		var mended []string
		for _, id := range out.Needy {
			if !slices.Contains(out.Left, id) {
				mended = append(mended, id)
			}
		}
		out.AtLeast = f.fewest(r, o.Height, mended)
	}
	out.Places = f.looked
	return out, ctx.Err()
}

// finder looks for one place after another.
type finder struct {
	ctx      context.Context
	land     *land
	o        Options
	goal     analysis.Goal
	step     float64
	grid     []Place
	progress func(proposed, done, of int)
	looked   int

	repeaters []orb.Point // of the plan looked at: no place is near one
}

// like is the repeater whose radio a new one has, nil for the default radio.
func like(p *model.Plan) *model.Feature {
	for _, f := range p.Of(model.KindRepeater) {
		if !f.Value.(*model.Repeater).Radio.TransmitOnly {
			return f
		}
	}
	return nil
}

func (f *finder) prospect(r *analysis.Result) *analysis.Prospect {
	fitted := model.Radio{}
	if rp := like(r.Plan); rp != nil {
		fitted = rp.Value.(*model.Repeater).Radio
	}
	return r.Prospect(f.goal, f.o.Reserve, fitted)
}

// scored is a place and what a repeater there would do.
type scored struct {
	Place
	trial analysis.Trial
	at    int // among the places it was chosen from
}

// choose returns the place to take, and the better new post where it is another; ok
// is false where no place mends anything.
func (f *finder) choose(r *analysis.Result, p *analysis.Prospect, height float64, proposed int) (best scored, more *scored, ok bool) {
	told := func(done, of int) {
		if f.progress != nil {
			f.progress(proposed, done, of)
		}
	}
	f.repeaters = f.repeaters[:0]
	for _, d := range r.Scene.Devices {
		if d.Feature.Kind == model.KindRepeater {
			f.repeaters = append(f.repeaters, d.At)
		}
	}
	fresh := f.narrow(p, f.best(p, height, f.grid, kept, told), height)
	for step := f.step; len(fresh) == 0 && step > Cell && f.land.cells(step/2) <= mostCells && f.ctx.Err() == nil; {
		// Nothing helps on the wide grid: the narrow one has to be gone through.
		step /= 2
		var places []Place
		for _, at := range f.land.grid(f.ctx, step) {
			places = append(places, Place{At: at})
		}
		fresh = f.narrow(p, f.best(p, height, places, kept, told), height)
	}
	old := f.best(p, height, slices.Concat(f.land.posts(r), f.land.walls(height)), 1, nil)
	switch {
	case len(fresh) == 0 && len(old) == 0:
		return best, nil, false
	case len(fresh) == 0:
		return old[0], nil, true
	case len(old) == 0 || len(old[0].trial.Mended) < len(fresh[0].trial.Mended) || old[0].trial.Weakest < fresh[0].trial.Weakest-NearlyAsWell:
		return fresh[0], nil, true
	}
	if fresh[0].trial.Rank(old[0].trial) < 0 {
		more = &fresh[0]
	}
	return old[0], more, true
}

// next proposes a place in the plan of r and returns the result of the plan with
// it; nil where no place helps.
func (f *finder) next(r *analysis.Result, height float64, proposed int) (*Proposal, *analysis.Result, error) {
	p := f.prospect(r)
	best, more, ok := f.choose(r, p, height, proposed)
	if err := f.ctx.Err(); err != nil || !ok {
		return nil, nil, err
	}
	x, after, err := f.propose(r, p, best, more, height)
	if err != nil || len(x.Mends) == 0 {
		return nil, nil, err
	}
	return x, after, nil
}

// higher proposes the place where a taller antenna helps, at the least height that
// does; nil where none does.
func (f *finder) higher(r *analysis.Result) (*Proposal, error) {
	p := f.prospect(r)
	best, _, ok := f.choose(r, p, tallest, 0)
	if err := f.ctx.Err(); err != nil || !ok {
		return nil, err
	}
	height := needed(p, best, tallest)
	best.trial = p.Scout().Try(best.At, height)
	out, _, err := f.propose(r, p, best, nil, height)
	if err != nil || len(out.Mends) == 0 {
		return nil, err
	}
	return out, nil
}

// needed is the least height of antenna that mends at a place what one of the given
// height does.
func needed(p *analysis.Prospect, at scored, height float64) float64 {
	scout := p.Scout()
	for k := 1.0; k*heightStep < height; k++ {
		if t := scout.Try(at.At, k*heightStep); !slices.ContainsFunc(at.trial.Mended, func(i int) bool { return !slices.Contains(t.Mended, i) }) {
			return k * heightStep
		}
	}
	return height
}

// propose puts a repeater at a place and tells what the analysis says of it.
func (f *finder) propose(r *analysis.Result, p *analysis.Prospect, best scored, more *scored, height float64) (*Proposal, *analysis.Result, error) {
	out := &Proposal{ID: r.Plan.NewID(model.KindRepeater), Goal: f.goal, Place: best.Place, Height: height, Needed: needed(p, best, height)}
	if more != nil {
		out.Instead = &Instead{more.At, more.trial.Weakest - best.trial.Weakest}
	}
	rp := f.feature(r, out)
	out.Edit = model.Add{Features: []*model.Feature{rp}}
	plan, err := out.Edit.Apply(r.Plan)
	if err != nil {
		return nil, nil, err
	}
	after, err := analysis.RunOn(f.ctx, scene.After(r.Scene, plan, r.Scene.Grid, r.Scene.Terrain), r)
	if err != nil {
		return nil, nil, err
	}
	left := f.prospect(after).Needy()
	for _, id := range p.Needy() {
		if !slices.Contains(left, id) {
			out.Mends = append(out.Mends, Mended{id, routeOf(r, id), routeOf(after, id)})
		}
	}
	out.Way, out.Spare, out.DependsOn = after.WayOn(out.ID)
	return out, after, nil
}

// feature is the repeater of a proposal, with an address where the plan's devices
// have some.
func (f *finder) feature(r *analysis.Result, p *Proposal) *model.Feature {
	props := []model.Member{model.Prop("antenna_height_m", p.Height)}
	if rp := like(r.Plan); rp != nil {
		if radio, ok := rp.Property("radio"); ok {
			p.Like = rp.ID
			props = append(props, model.Prop("radio", radio))
		}
	}
	if p.Place.Kind != NewPost {
		props = append(props, model.Prop("note", "On "+p.Place.Words(r.Plan)+"."))
	}
	rp := model.NewFeature(model.KindRepeater, p.ID, r.Scene.Grid.ToLonLat(p.Place.At), props...)
	addressed := slices.ContainsFunc(address.Walk(r.Scene), func(d address.Device) bool { return d.Was != nil })
	plan, err := model.Add{Features: []*model.Feature{rp}}.Apply(r.Plan)
	if !addressed || err != nil {
		return rp
	}
	walk, err := address.Assign(scene.After(r.Scene, plan, r.Scene.Grid, r.Scene.Terrain), address.Options{})
	if err != nil {
		return rp // no number is left: the analysis says so
	}
	for _, d := range walk {
		if d.Feature == rp && d.Given {
			return rp.WithProperty("address", d.Address)
		}
	}
	return rp
}

func routeOf(r *analysis.Result, id string) Route {
	i := slices.IndexFunc(r.Sensors, func(s analysis.Sensor) bool { return s.ID == id })
	s := r.Sensors[i]
	spare, ok := r.SpareOf(i)
	if !ok || s.Margin == nil {
		return Route{}
	}
	return Route{s.Route, *s.Margin, spare}
}

// narrow looks about the best places on ever narrower grids.
func (f *finder) narrow(p *analysis.Prospect, top []scored, height float64) []scored {
	for step := f.step / 2; step >= finest && len(top) > 0; step /= 2 {
		seen := map[orb.Point]bool{}
		for _, s := range top {
			seen[s.At] = true
		}
		var places []Place
		for _, s := range top {
			for _, d := range [8]orb.Point{{-1, -1}, {0, -1}, {1, -1}, {-1, 0}, {1, 0}, {-1, 1}, {0, 1}, {1, 1}} {
				at := orb.Point{s.At[0] + d[0]*step, s.At[1] + d[1]*step}
				if !seen[at] && f.land.free(at) {
					seen[at] = true
					places = append(places, Place{At: at})
				}
			}
		}
		top = append(top, f.best(p, height, places, kept, nil)...)
		sortScored(top)
		top = top[:min(kept, len(top))]
	}
	return top
}

// sortScored puts the best first; of equals the one stated first.
func sortScored(s []scored) {
	slices.SortStableFunc(s, func(a, b scored) int { return a.trial.Rank(b.trial) })
}

// bound is a place that waits to be looked at closer, with what it could do at most.
type bound struct {
	at      int // place
	closely bool
	count   int
	weakest float64
}

// waiting is a heap of bounds, the most promising first.
type waiting []bound

func (w waiting) Len() int { return len(w) }
func (w waiting) Less(i, j int) bool {
	a, b := &w[i], &w[j]
	switch {
	case a.count != b.count:
		return a.count > b.count
	case a.weakest != b.weakest:
		return a.weakest > b.weakest
	}
	return a.at < b.at
}
func (w waiting) Swap(i, j int) { w[i], w[j] = w[j], w[i] }
func (w *waiting) Push(x any)   { *w = append(*w, x.(bound)) }
func (w *waiting) Pop() any {
	last := (*w)[len(*w)-1]
	*w = (*w)[:len(*w)-1]
	return last
}

// best returns the best of places that mend anything, at most n, the best first. Of
// those that cannot be among them no link is rated by every way.
func (f *finder) best(p *analysis.Prospect, height float64, places []Place, n int, told func(done, of int)) (top []scored) {
	places = f.clear(places)
	f.looked += len(places)
	bounds := make([]bound, len(places))
	f.share(p, len(places), func(s *analysis.Scout, i int) {
		count, weakest := s.AtMost(places[i].At, height, false)
		bounds[i] = bound{i, false, count, weakest}
	})
	var w waiting
	for _, b := range bounds {
		if b.count > 0 {
			w = append(w, b)
		}
	}
	heap.Init(&w)
	done := len(places) - len(w)
	for len(w) > 0 && f.ctx.Err() == nil {
		if len(top) >= n && hopeless(w[0], top[n-1].trial) {
			break
		}
		var batch []bound
		for len(w) > 0 && len(batch) < together {
			batch = append(batch, heap.Pop(&w).(bound))
		}
		trials := make([]analysis.Trial, len(batch))
		f.share(p, len(batch), func(s *analysis.Scout, i int) {
			b := &batch[i]
			if b.closely {
				trials[i] = s.Try(places[b.at].At, height)
				return
			}
			b.count, b.weakest = s.AtMost(places[b.at].At, height, true)
		})
		for i, b := range batch {
			switch {
			case !b.closely && b.count > 0:
				b.closely = true
				heap.Push(&w, b)
			case b.closely && len(trials[i].Mended) > 0:
				top = append(top, scored{places[b.at], trials[i], b.at})
				done++
			default:
				done++
			}
		}
		slices.SortFunc(top, func(a, b scored) int {
			if c := a.trial.Rank(b.trial); c != 0 {
				return c
			}
			return a.at - b.at
		})
		top = top[:min(n, len(top))]
		if told != nil {
			told(done, len(places))
		}
	}
	return top
}

// clear leaves out the places that are near to a repeater.
func (f *finder) clear(places []Place) []Place {
	return slices.DeleteFunc(slices.Clone(places), func(q Place) bool {
		return slices.ContainsFunc(f.repeaters, func(at orb.Point) bool {
			return math.Hypot(at[0]-q.At[0], at[1]-q.At[1]) < apart
		})
	})
}

// hopeless reports whether a place is worse than what was found, whatever a closer
// look shows.
func hopeless(b bound, found analysis.Trial) bool {
	return b.count < len(found.Mended) || b.count == len(found.Mended) && math.Floor(10*b.weakest) < math.Floor(10*found.Weakest)
}

// share calls do for 0 to n-1 over the processors, until ctx ends.
func (f *finder) share(p *analysis.Prospect, n int, do func(s *analysis.Scout, i int)) {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			s := p.Scout()
			for i := int(next.Add(1)) - 1; i < n && f.ctx.Err() == nil; i = int(next.Add(1)) - 1 {
				do(s, i)
			}
		})
	}
	wg.Wait()
}
