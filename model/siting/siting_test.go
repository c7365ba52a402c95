package siting

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand"
	"reflect"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/pattern"
	"pleach/model/scene"
	"pleach/model/terrain"
	"pleach/testdata/site"
)

func result(t testing.TB, s *site.Site) *analysis.Result {
	t.Helper()
	r, err := analysis.RunOn(context.Background(), s.Scene(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func find(t testing.TB, r *analysis.Result, o Options) *Found {
	t.Helper()
	f, err := Find(context.Background(), r, o, nil)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// faults are the sensors that the analysis says have no route with the required
// margin.
func faults(r *analysis.Result) (ids []string) {
	for _, f := range r.Findings {
		if f.Rule == "link" && f.Severity == model.Fault {
			ids = append(ids, f.Subject[0])
		}
	}
	slices.Sort(ids)
	return ids
}

// long is a site 900 m long with a receiver at its west end, two sensors beside it
// and three at its far end.
func long(required float64) *site.Site {
	s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 900, 200)}).
		Add(model.KindReceiver, "RX", orb.Point{30, 100}, model.Prop("antenna_height_m", 6)).
		Set("radio", map[string]any{"required_margin_db": required})
	for i, at := range []orb.Point{{60, 40}, {120, 160}, {700, 40}, {740, 160}, {780, 100}} {
		s.Sensor(fmt.Sprintf("S%d", i+1), at, "sector-90-25", 2.5, 0, 3)
	}
	return s
}

// crowded is a random site with buildings, trees, a road, a yard and a wall.
func crowded(seed int64) *site.Site {
	r := rand.New(rand.NewSource(seed))
	s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 420, 200)}).
		Add(model.KindReceiver, "RX", orb.Point{15 + 20*r.Float64(), 100}, model.Prop("antenna_height_m", 5)).
		Add(model.KindRoad, "R1", orb.LineString{{0, 90}, {420, 110}}, model.Prop("width_m", 8), model.Prop("private", true)).
		Add(model.KindRoad, "R2", orb.Polygon{site.Box(100, 20, 150, 60)}, model.Prop("private", true)).
		Add(model.KindFoliage, "F1", orb.Polygon{site.Box(200, 10, 260, 80)}, model.Prop("height_m", 9)).
		Add(model.KindObstacle, "O1", orb.LineString{{280, 20}, {280, 150}}, model.Prop("height_m", 4)).
		Set("radio", map[string]any{"required_margin_db": 26 + 6*r.Float64()})
	for i := range 6 {
		s.Building(fmt.Sprintf("H%d", i+1), site.Turned(orb.Point{40 + 340*r.Float64(), 20 + 160*r.Float64()}, 12+20*r.Float64(), 10+10*r.Float64(), 3*r.Float64()), 3+6*r.Float64())
	}
	for i := range 8 {
		s.Sensor(fmt.Sprintf("S%d", i+1), orb.Point{420 * r.Float64(), 200 * float64(i%2)}, "sector-90-25", 2.5, 180*float64(i%2), 3)
	}
	if seed%3 == 1 {
		// Readings that are better than predicted, and links corrected by them; the
		// margin required follows from their spread.
		s.Set("radio", map[string]any{"calibration": true, "reliability": 0.999})
		for i := range 8 {
			s.Add(model.KindReading, "", nil, model.Prop("of", []string{fmt.Sprintf("S%d", i+1), "RX"}), model.Prop("what", "signal"), model.Prop("unit", "dBm"),
				model.Prop("value", -65-8*r.Float64()))
		}
	}
	return s
}

// crowdedOn is that site, analysed: every second one lies on rolling ground.
func crowdedOn(t testing.TB, seed int64) *analysis.Result {
	t.Helper()
	r, err := analysis.RunOn(context.Background(), scene.OnGround(crowded(seed).Plan(t), site.Grid, ground(t, seed)), nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func ground(t testing.TB, seed int64) *terrain.Grid {
	if seed%2 == 0 {
		return nil
	}
	const n, cell = 120, 4.0
	z := make([]float32, n*n)
	for i := range n {
		for j := range n {
			z[i*n+j] = float32(3*math.Sin(float64(j)/9+float64(seed)) + 2*math.Cos(float64(i)/8))
		}
	}
	g, err := terrain.New(n, n, z, terrain.Affine([3]float64{5, 1 / cell, 0}, [3]float64{n - 30, 0, -1 / cell}), orb.Bound{Min: orb.Point{-20, -100}, Max: orb.Point{450, 340}})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func TestAProposalMendsWhatItSaysInTheAnalysisOfThePlanWithIt(t *testing.T) {
	mended := 0
	for seed := range int64(12) {
		r := crowdedOn(t, seed)
		f := find(t, r, Options{})
		if got := faults(r); !slices.Equal(got, f.Needy) {
			t.Fatalf("seed %d: needy %v, the analysis says %v", seed, f.Needy, got)
		}
		plan, was := r.Plan, faults(r)
		for _, p := range f.Proposals {
			next, err := p.Edit.Apply(plan)
			if err != nil {
				t.Fatal(err)
			}
			if flaws := next.AllFlaws(); len(flaws) > 0 {
				t.Fatalf("seed %d: %v", seed, flaws)
			}
			after, err := analysis.RunOn(context.Background(), scene.OnGround(next, site.Grid, r.Scene.Terrain), nil)
			if err != nil {
				t.Fatal(err)
			}
			now := faults(after)
			var said []string
			for _, m := range p.Mends {
				said = append(said, m.ID)
				i := slices.IndexFunc(after.Sensors, func(s analysis.Sensor) bool { return s.ID == m.ID })
				if after.Sensors[i].Margin == nil || math.Abs(*after.Sensors[i].Margin-m.After.Margin) > 1e-9 || !reflect.DeepEqual(after.Sensors[i].Route, m.After.IDs) {
					t.Errorf("seed %d: %s is said to have %v by %v afterwards, it has %v by %v", seed, m.ID, m.After.Margin, m.After.IDs, after.Sensors[i].Margin, after.Sensors[i].Route)
				}
			}
			want := slices.DeleteFunc(slices.Clone(was), func(id string) bool { return slices.Contains(now, id) })
			if !slices.Equal(said, want) || (len(said) == 0) != (p.Carries != "") {
				t.Errorf("seed %d: %s is said to mend %v, it mends %v", seed, p.ID, said, want)
			}
			if !(p.Spare >= 0) || len(p.Way) < 2 || len(p.Way) > r.Plan.Settings.MaxHops {
				t.Errorf("seed %d: way on %v with %v dB to spare", seed, p.Way, p.Spare)
			}
			mended += len(said)
			plan, was = next, now
		}
		if !slices.Equal(was, f.Left) {
			t.Errorf("seed %d: left %v, the analysis says %v", seed, f.Left, was)
		}
	}
	if mended < 10 {
		t.Errorf("%d sensors mended over all: that proves little", mended)
	}
}

func TestNoProposalIsNeedless(t *testing.T) {
	several := 0
	for seed := range int64(16) {
		r := crowdedOn(t, seed)
		for _, goal := range []analysis.Goal{analysis.Served, analysis.Survives} {
			f := find(t, r, Options{Goal: goal})
			if len(f.Proposals) > 1 {
				several++
			}
			for k := range f.Proposals {
				plan := r.Plan
				for i, p := range f.Proposals {
					if i == k {
						continue
					}
					next, err := p.Edit.Apply(plan)
					if err != nil {
						t.Fatal(err)
					}
					plan = next
				}
				after, err := analysis.RunOn(context.Background(), scene.OnGround(plan, site.Grid, r.Scene.Terrain), nil)
				if err != nil {
					t.Fatal(err)
				}
				fewer := len(after.Prospect(goal, 0, model.Radio{}).Needy()) > len(f.Left)
				if served := len(faults(after)) > len(faults(f.Result)); !fewer && !served {
					t.Errorf("seed %d, goal %d: without %s as many are mended", seed, goal, f.Proposals[k].ID)
				}
			}
		}
	}
	if several == 0 {
		t.Error("nowhere are two proposed")
	}
}

// One that is needless is dropped, and the others say what they then do.
func TestANeedlessRepeaterIsDropped(t *testing.T) {
	r := result(t, long(18))
	f := find(t, r, Options{})
	if len(f.Proposals) != 1 {
		t.Fatalf("%+v", f.Proposals)
	}
	land, err := newLand(r.Scene)
	if err != nil {
		t.Fatal(err)
	}
	// Beside the one that does it all stands one that does nothing.
	idle := f.Proposals[0]
	idle.Place = Place{At: orb.Point{100, 100}}
	g := &finder{ctx: context.Background(), land: land, step: Cell}
	all, after, err := g.rebuild(r, []Proposal{idle, f.Proposals[0]})
	if err != nil {
		t.Fatal(err)
	}
	out := &Found{Proposals: all, Result: after, Plan: after.Plan}
	if err := g.drop(r, out, []analysis.Goal{analysis.Served}); err != nil {
		t.Fatal(err)
	}
	if len(out.Proposals) != 1 || out.Proposals[0].ID != "RP1" || out.Proposals[0].Place.At != f.Proposals[0].Place.At || len(out.Proposals[0].Mends) != len(f.Proposals[0].Mends) ||
		len(out.Plan.Of(model.KindRepeater)) != 1 {
		t.Errorf("%+v", out.Proposals)
	}
}

func TestNoPlaceIsProposedWhereNothingFails(t *testing.T) {
	f := find(t, result(t, long(-20)), Options{})
	if len(f.Needy) != 0 || len(f.Proposals) != 0 || f.Higher != nil || f.Plan != f.Result.Plan {
		t.Errorf("%+v", f)
	}
}

func TestNoPlaceLiesWhereAPostCannotStand(t *testing.T) {
	checked := 0
	for seed := range int64(12) {
		r := crowdedOn(t, seed)
		for _, p := range find(t, r, Options{}).Proposals {
			checked++
			at := p.Place.At
			for _, b := range r.Scene.Buildings {
				if pattern.Inside(b.Shape, at) {
					t.Errorf("seed %d: %v lies in building %s", seed, at, b.Feature.ID)
				}
			}
			if p.Place.Kind == ExistingPost {
				continue
			}
			if at[0] < 0 || at[0] > 420 || at[1] < 0 || at[1] > 200 {
				t.Errorf("seed %d: %v lies outside", seed, at)
			}
			if p.Place.Kind == Wall {
				continue
			}
			for _, w := range r.Scene.Ways {
				for _, poly := range w.Shape {
					if pattern.Inside(poly, at) {
						t.Errorf("seed %d: %v lies on %s", seed, at, w.Feature.ID)
					}
				}
			}
			if pattern.Inside(r.Scene.Foliage[0].Shape, at) {
				t.Errorf("seed %d: %v lies among trees", seed, at)
			}
		}
	}
	if checked == 0 {
		t.Error("nothing was proposed")
	}
}

func TestTheSearchIsAsGoodAsTryingEveryPlaceOfTheGrid(t *testing.T) {
	compared := 0
	for seed := range int64(12) {
		r := crowdedOn(t, seed)
		land, err := newLand(r.Scene)
		if err != nil {
			t.Fatal(err)
		}
		f := &finder{ctx: context.Background(), land: land, step: Cell}
		p := f.prospect(r)
		if len(p.Needy()) == 0 {
			continue
		}
		var places []Place
		best, at := analysis.Trial{Weakest: math.Inf(1)}, orb.Point{}
		scout := p.Scout()
		for _, q := range land.grid(context.Background(), Cell) {
			places = append(places, Place{At: q})
			trial := scout.Try(q, 4)
			if trial.Rank(best) < 0 {
				best, at = trial, q
			}
			// No bound is exceeded.
			for _, closely := range []bool{false, true} {
				if count, weakest := scout.AtMost(q, 4, closely); count < len(trial.Mended) || count == len(trial.Mended) && weakest < trial.Weakest {
					t.Fatalf("seed %d at %v, closely %v: at most %d with %v dB, tried %d with %v dB", seed, q, closely, count, weakest, len(trial.Mended), trial.Weakest)
				}
			}
		}
		top := f.best(p, 4, places, kept, nil)
		if len(best.Mended) == 0 {
			if len(top) != 0 {
				t.Errorf("seed %d: found %+v where nothing helps", seed, top[0])
			}
			continue
		}
		compared++
		if len(top) == 0 || !reflect.DeepEqual(top[0].trial, best) || top[0].At != at {
			t.Errorf("seed %d: found %+v, every place tried says %v %+v", seed, top, at, best)
		}
		// Narrowing only betters it.
		if finer := f.narrow(p, top, 4); finer[0].trial.Rank(best) > 0 {
			t.Errorf("seed %d: narrowed to %+v from %+v", seed, finer[0].trial, best)
		}
	}
	if compared < 4 {
		t.Errorf("only %d sites were compared", compared)
	}
}

func TestTheSamePlanGivesTheSamePlaces(t *testing.T) {
	for seed := range int64(3) {
		a, b := find(t, crowdedOn(t, seed), Options{}), find(t, crowdedOn(t, seed), Options{})
		for _, f := range []*Found{a, b} {
			f.Plan, f.Result = nil, nil
			for i := range f.Proposals {
				f.Proposals[i].Edit = nil
			}
		}
		if !reflect.DeepEqual(a, b) {
			t.Errorf("seed %d: %+v and %+v", seed, a, b)
		}
	}
}

func TestAPostThatIsThereIsTakenWhereItDoesNearlyAsWell(t *testing.T) {
	kinds := map[PlaceKind]int{}
	for seed := range int64(12) {
		r := crowdedOn(t, seed)
		p := (&finder{ctx: context.Background()}).prospect(r)
		for _, x := range find(t, r, Options{Most: 1}).Proposals {
			kinds[x.Place.Kind]++
			land, err := newLand(r.Scene)
			if err != nil {
				t.Fatal(err)
			}
			taken := p.Scout().Try(x.Place.At, 4)
			if x.Place.Kind != NewPost {
				if x.Instead != nil && !(x.Instead.More >= 0 && x.Instead.More <= NearlyAsWell) {
					t.Errorf("seed %d: %s is taken although a new post at %v has %v dB more", seed, x.Place.Words(r.Plan), x.Instead.At, x.Instead.More)
				}
				if note := x.Edit.(model.Add).Features[0].Value.(*model.Repeater).Note; note != "On "+x.Place.Words(r.Plan)+"." {
					t.Errorf("note %q", note)
				}
				continue
			}
			for _, q := range slices.Concat(land.posts(r), land.walls(4)) {
				if o := p.Scout().Try(q.At, 4); len(o.Mended) > len(taken.Mended) || len(o.Mended) == len(taken.Mended) && o.Weakest >= taken.Weakest-NearlyAsWell {
					t.Errorf("seed %d: a new post is taken although %s does nearly as well", seed, q.Words(r.Plan))
				}
			}
		}
	}
	if kinds[NewPost] == 0 || kinds[ExistingPost]+kinds[Wall] == 0 {
		t.Errorf("the sites show too little: %v", kinds)
	}
}

func TestTheHeightNeededIsTheLeastThatMendsTheSame(t *testing.T) {
	r := result(t, long(18))
	f := find(t, r, Options{Height: 6, Most: 1})
	p := f.Proposals[0]
	for h := 0.5; h <= 6; h += 0.5 {
		plan, err := model.Add{Features: []*model.Feature{model.NewFeature(model.KindRepeater, "RP", site.Grid.ToLonLat(p.Place.At), model.Prop("antenna_height_m", h))}}.Apply(r.Plan)
		if err != nil {
			t.Fatal(err)
		}
		after, err := analysis.RunOn(context.Background(), scene.OnGround(plan, site.Grid, r.Scene.Terrain), nil)
		if err != nil {
			t.Fatal(err)
		}
		if holds := len(faults(after)) == len(faults(r))-len(p.Mends); holds != (h >= p.Needed) {
			t.Errorf("at %v m it mends the same: %v; said to need %v m", h, holds, p.Needed)
		}
	}
}

func TestWhereNoPlaceHelpsATallerAntennaIsLookedFor(t *testing.T) {
	s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 900, 60)}).
		Add(model.KindReceiver, "RX", orb.Point{10, 30}, model.Prop("antenna_height_m", 10)).
		Sensor("S1", orb.Point{890, 30}, "sector-90-25", 3, 0, 3)
	s.Set("radio", map[string]any{"required_margin_db": 20})
	f := find(t, result(t, s), Options{Height: 1})
	if len(f.Proposals) != 0 || !slices.Equal(f.Left, []string{"S1"}) {
		t.Fatalf("%+v", f.Proposals)
	}
	if f.Higher == nil || f.Higher.Height <= 1 || f.Higher.Height > tallest || len(f.Higher.Mends) != 1 || f.Plan.Feature(f.Higher.ID) != nil {
		t.Errorf("%+v", f.Higher)
	}
}

// A sensor too far for one repeater is reached by two in a row; not where the plan
// lets only two links be in a route, nor where only one may be proposed.
func TestTwoRepeatersInARowReachWhatOneDoesNot(t *testing.T) {
	far := func(hops int) *site.Site {
		return new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 1100, 60)}).
			Add(model.KindReceiver, "RX", orb.Point{10, 30}, model.Prop("antenna_height_m", 6)).
			Sensor("S1", orb.Point{1090, 30}, "sector-90-25", 3, 0, 3).
			Set("radio", map[string]any{"required_margin_db": 23, "max_hops": hops})
	}
	f := find(t, result(t, far(3)), Options{})
	if len(f.Left) > 0 || len(f.Proposals) != 2 || f.Proposals[0].Carries != f.Proposals[1].ID || len(f.Proposals[0].Mends) > 0 {
		t.Fatalf("left %v, %+v", f.Left, f.Proposals)
	}
	if want := []string{"S1", "RP2", "RP1", "RX"}; !slices.Equal(f.Proposals[1].Mends[0].After.IDs, want) || len(faults(f.Result)) > 0 {
		t.Errorf("by %v, want %v", f.Proposals[1].Mends[0].After.IDs, want)
	}
	if s := f.Proposals[0].Words(f.Result)[0]; s != "Antenna 4 m up. Mends nothing by itself: it carries RP2." {
		t.Error(s)
	}
	for _, f := range []*Found{find(t, result(t, far(2)), Options{}), find(t, result(t, far(3)), Options{Most: 1})} {
		if len(f.Proposals) > 0 || !slices.Equal(f.Left, []string{"S1"}) {
			t.Errorf("%+v", f.Proposals)
		}
	}
}

// Two sensors far apart that no place hears both of take two repeaters; two beside one
// another may do with one.
func TestTheFewestRepeatersAreABound(t *testing.T) {
	at := func(a, b orb.Point) *site.Site {
		return new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-1000, 0, 1000, 60)}).
			Add(model.KindReceiver, "RX", orb.Point{0, 30}, model.Prop("antenna_height_m", 6)).
			Sensor("S1", a, "sector-90-25", 3, 0, 3).Sensor("S2", b, "sector-90-25", 3, 0, 3).
			Set("radio", map[string]any{"required_margin_db": 22})
	}
	f := find(t, result(t, at(orb.Point{-700, 30}, orb.Point{700, 30})), Options{})
	if len(f.Left) > 0 || len(f.Proposals) != 2 || f.AtLeast != 2 || f.Outcome(f.Plan) != "2 repeaters mend them all; fewer could not, at these places." {
		t.Errorf("%d proposals, at least %d: %s", len(f.Proposals), f.AtLeast, f.Outcome(f.Plan))
	}
	f = find(t, result(t, at(orb.Point{690, 30}, orb.Point{700, 30})), Options{})
	if len(f.Left) > 0 || len(f.Proposals) != 1 || f.AtLeast != 0 {
		t.Errorf("%d proposals, at least %d", len(f.Proposals), f.AtLeast)
	}
	for seed := range int64(12) {
		if f := find(t, crowdedOn(t, seed), Options{}); f.AtLeast > len(f.Proposals) {
			t.Errorf("seed %d: %d mend them, said to take at least %d", seed, len(f.Proposals), f.AtLeast)
		}
	}
}

func TestASensorIsGivenASecondRouteOnRequest(t *testing.T) {
	s := long(20).Add(model.KindRepeater, "RP1", orb.Point{450, 100}, model.Prop("antenna_height_m", 6))
	r := result(t, s)
	if got := faults(r); len(got) > 0 {
		t.Fatalf("they need no repeater less: %v", got)
	}
	for goal, want := range map[analysis.Goal][]string{analysis.Survives: {"S3", "S4", "S5"}, analysis.SecondRoute: {"S1", "S3", "S4", "S5"}} {
		f := find(t, r, Options{Goal: goal, Height: 6})
		if !slices.Equal(f.Needy, want) {
			t.Fatalf("goal %d: needy %v", goal, f.Needy)
		}
		if len(f.Left) > 0 || len(f.Proposals) == 0 {
			t.Fatalf("goal %d: left %v", goal, f.Left)
		}
		places := []orb.Point{{450, 100}}
		for _, p := range f.Proposals {
			for _, at := range places {
				if d := math.Hypot(at[0]-p.Place.At[0], at[1]-p.Place.At[1]); d < apart {
					t.Errorf("goal %d: %s stands %v m from another repeater", goal, p.ID, d)
				}
			}
			places = append(places, p.Place.At)
		}
		studied, err := analysis.WithRadioStudy(context.Background(), f.Result)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range studied.Findings {
			if x.Rule == "repeater-loss" {
				t.Errorf("goal %d: %s", goal, x.Text)
			}
		}
		for i, s := range studied.Sensors {
			if second := studied.SecondOf(i); goal == analysis.SecondRoute && slices.Contains(f.Needy, s.ID) && (second == nil || !second.Holds) {
				t.Errorf("goal %d: %s has the second route %+v", goal, s.ID, second)
			}
		}
	}
}

func TestASearchIsBrokenOffAtOnce(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	told := 0
	_, err := Find(ctx, crowdedOn(t, 1), Options{}, func(_, _, _ int) { told++; cancel() })
	if !errors.Is(err, context.Canceled) || told > 1 {
		t.Errorf("%v after %d", err, told)
	}
	cancel()
}

// On a land of 60 km the grid is wider from the start.
func TestAVastLandIsLookedAtOnAWideGrid(t *testing.T) {
	s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-30000, -30000, 30000, 30000)}).
		Add(model.KindReceiver, "RX", orb.Point{0, 0}, model.Prop("antenna_height_m", 6)).
		Sensor("S1", orb.Point{1000, 0}, "sector-90-25", 3, 0, 3)
	s.Set("radio", map[string]any{"required_margin_db": 20})
	f := find(t, result(t, s), Options{})
	if f.Step < 640 || len(f.Needy) != 1 {
		t.Errorf("grid of %v m, needy %v", f.Step, f.Needy)
	}
	for _, p := range f.Proposals {
		if p.Place.At[0] < 0 || p.Place.At[0] > 1100 {
			t.Errorf("proposed at %v", p.Place.At)
		}
	}
}

func TestWhatIsMissingIsSaid(t *testing.T) {
	s := new(site.Site).Sensor("S1", orb.Point{0, 0}, "sector-90-25", 3, 0, 3)
	if _, err := Find(context.Background(), result(t, s), Options{}, nil); err == nil || err.Error() != "the plan has no receiver: place one first" {
		t.Error(err)
	}
	s.Add(model.KindReceiver, "RX", orb.Point{30, 100}, model.Prop("antenna_height_m", 6))
	if _, err := Find(context.Background(), result(t, s), Options{}, nil); err == nil {
		t.Error("nowhere to stand a post")
	}
	if _, err := Find(context.Background(), result(t, s), Options{Height: 61}, nil); err == nil {
		t.Error("an antenna 61 m up")
	}
}

// A site of 2 km by 2 km with 60 sensors, 100 buildings and a wood, of which ten
// sensors, at two ends, have no route.
func BenchmarkTwoKilometres(b *testing.B) {
	s := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 2000, 2000)}).
		Add(model.KindReceiver, "RX", orb.Point{1000, 1000}, model.Prop("antenna_height_m", 7)).
		Add(model.KindFoliage, "F1", orb.Polygon{site.Box(1500, 300, 1700, 700)}, model.Prop("height_m", 12))
	for i := range 100 {
		x, y := 30+float64(i%10)*200, 60+float64(i/10)*190
		s.Building(fmt.Sprintf("H%d", i+1), site.Box(x, y, x+25, y+15), 6)
	}
	for i := range 50 {
		a := 1 + 0.1*float64(i)
		s.Sensor(fmt.Sprintf("S%d", i+1), orb.Point{1000 + 130*math.Cos(a), 1000 + 130*math.Sin(a)}, "sector-90-25", 3, 0, 3)
	}
	for i := range 10 {
		s.Sensor(fmt.Sprintf("S%d", i+51), orb.Point{1800 - 1680*float64(i/5) + 24*float64(i%5), 160 + 1500*float64(i/5) + 50*float64(i%5)}, "sector-90-25", 3, 0, 3)
	}
	r := result(b, s)
	if n := len(faults(r)); n != 10 {
		b.Fatalf("%d sensors have no route: %v", n, faults(r))
	}
	var f *Found
	for b.Loop() {
		f = find(b, r, Options{})
	}
	b.ReportMetric(float64(f.Places), "places")
	b.ReportMetric(float64(len(f.Proposals)), "proposals")
	b.ReportMetric(float64(len(f.Needy)-len(f.Left)), "mended")
}
