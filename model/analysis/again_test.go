package analysis_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/report"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
	"pleach/testdata/site"
)

// hilly is ground about the origin with a hollow and a bank.
func hilly(t testing.TB) *terrain.Grid {
	const n, cell = 120, 3.0
	z := make([]float32, n*n)
	half := (n - 1) / 2.0
	for i := range n {
		for j := range n {
			x, y := (float64(j)-half)*cell, (half-float64(i))*cell
			z[i*n+j] = float32(2*math.Sin(x/25) + 1.5*math.Cos(y/31))
		}
	}
	g, err := terrain.New(n, n, z, terrain.Affine([3]float64{half, 1 / cell, 0}, [3]float64{half, 0, -1 / cell}),
		orb.Bound{Min: orb.Point{-half * cell, -half * cell}, Max: orb.Point{half * cell, half * cell}})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// smallSite has two boundaries and something of every kind that counts.
func smallSite(t testing.TB) *model.Plan {
	var s site.Site
	ring := orb.Ring{{-60, -40}, {60, -45}, {70, 30}, {0, 50}, {-65, 35}, {-60, -40}}
	s.Add(model.KindBoundary, "B1", orb.Polygon{ring})
	s.Add(model.KindBoundary, "B2", orb.LineString{{-20, -10}, {25, -8}, {30, 10}})
	s.Building("H1", site.Box(-50, 10, -38, 22), 4)
	s.Building("H2", site.Turned(orb.Point{40, -30}, 10, 8, 0.4), 3)
	s.Add(model.KindFoliage, "F1", orb.Polygon{site.Turned(orb.Point{10, 42}, 20, 6, -0.3)}, model.Prop("height_m", 5), model.Prop("density", "dense"))
	s.Add(model.KindObstacle, "O1", orb.LineString{{30, -43}, {30, -30}}, model.Prop("height_m", 2), model.Prop("see_through", true))
	s.Add(model.KindGate, "G1", orb.Point{0, -42.5}, model.Prop("width_m", 5))
	s.Add(model.KindRoad, "R1", orb.LineString{{-90, -52}, {90, -56}})
	s.Add(model.KindFootpath, "P1", orb.LineString{{-80, 55}, {80, 58}})
	s.Add(model.KindNeighbour, "N1", orb.Polygon{site.Box(72, -40, 110, 30)})
	models := model.Builtin()
	for i := range 7 {
		p, q := ring[i%5], ring[(i+1)%5]
		u := 0.05 + 0.4*float64(i/5)
		at := orb.Point{0.97 * (p[0] + u*(q[0]-p[0])), 0.97 * (p[1] + u*(q[1]-p[1]))}
		s.Sensor(fmt.Sprintf("S%d", i+1), at, models[i%len(models)].ID, 3, math.Atan2(q[0]-p[0], q[1]-p[1])*180/math.Pi, 1.5, model.Prop("address", i+1))
	}
	s.Add(model.KindReceiver, "RX", orb.Point{0, 0}, model.Prop("antenna_height_m", 6),
		model.Prop("outputs", []any{map[string]any{"zone": "North", "type": "relay", "number": 1}, map[string]any{"zone": "East", "type": "relay", "number": 1}}))
	s.Add(model.KindRepeater, "RP1", orb.Point{45, 10}, model.Prop("antenna_height_m", 4), model.Prop("address", 90))
	return s.Plan(t)
}

// anyEdit changes something of a plan. Most edits are of sensors, as a user's are.
func anyEdit(r *rand.Rand, p *model.Plan) model.Edit {
	pick := func(kinds ...model.Kind) *model.Feature {
		if list := p.Of(kinds...); len(list) > 0 {
			return list[r.Intn(len(list))]
		}
		return nil
	}
	near := func(q orb.Point, by float64) orb.Point {
		return orb.Point{q[0] + (r.Float64()-0.5)*by*1.5e-5, q[1] + (r.Float64()-0.5)*by*1e-5}
	}
	set := func(f *model.Feature, name string, v any) model.Edit {
		return model.Set{ID: f.ID, Values: []model.Value{{Property: name, Value: v}}}
	}
	shifted := func(f *model.Feature, by float64) model.Edit {
		switch g := f.Geometry.(type) {
		case orb.Point:
			return model.Reshape{ID: f.ID, To: near(g, by)}
		case orb.LineString:
			d := near(orb.Point{}, by)
			l := g.Clone()
			for i := range l {
				l[i] = orb.Point{l[i][0] + d[0], l[i][1] + d[1]}
			}
			return model.Reshape{ID: f.ID, To: l}
		case orb.Polygon:
			d := near(orb.Point{}, by)
			q := g.Clone()
			for _, ring := range q {
				for i := range ring {
					ring[i] = orb.Point{ring[i][0] + d[0], ring[i][1] + d[1]}
				}
			}
			return model.Reshape{ID: f.ID, To: q}
		}
		return nil
	}
	sensors := p.Of(model.KindSensor)
	s := sensors[r.Intn(len(sensors))]
	models := model.Builtin()
	switch r.Intn(30) {
	case 0, 1, 2, 3, 4, 5:
		return shifted(s, 20)
	case 6, 7:
		return set(s, "bearing_deg", r.Float64()*360)
	case 8, 9:
		return set(s, "tilt_deg", r.Float64()*5)
	case 10:
		return set(s, "masked", []map[string]float64{{"from_deg": -30 * r.Float64(), "to_deg": 20 * r.Float64()}})
	case 11:
		return set(s, "model", models[r.Intn(len(models))].ID)
	case 12, 13:
		if len(sensors) < 10 {
			f := s.WithID(p.NewID(model.KindSensor))
			return model.Add{Features: []*model.Feature{f.WithGeometry(near(s.Geometry.(orb.Point), 60))}}
		}
		return model.Delete{IDs: []string{s.ID}}
	case 14:
		if len(sensors) > 3 {
			return model.Delete{IDs: []string{s.ID}}
		}
		return set(s, "mount_height_m", 2+2*r.Float64())
	case 15:
		if r.Intn(2) == 0 {
			return set(s, "zone", []string{"", "North", "South", "West"}[r.Intn(4)])
		}
		return set(s, "address", 1+r.Intn(9))
	case 16:
		return set(s, "name", fmt.Sprintf("sensor %d", r.Intn(9)))
	case 17, 18:
		return shifted(pick(model.KindReceiver, model.KindRepeater), 60)
	case 19:
		if len(p.Of(model.KindRepeater)) > 1 {
			return model.Delete{IDs: []string{pick(model.KindRepeater).ID}}
		}
		f := pick(model.KindRepeater)
		return model.Add{Features: []*model.Feature{f.WithID(p.NewID(model.KindRepeater)).WithGeometry(near(f.Geometry.(orb.Point), 80))}}
	case 20:
		return shifted(pick(model.KindBuilding), 15)
	case 21:
		return set(pick(model.KindBuilding), "height_m", 1+r.Float64()*6)
	case 22:
		return shifted(pick(model.KindFoliage, model.KindObstacle), 15)
	case 23:
		return shifted(pick(model.KindGate), 10)
	case 24:
		return shifted(pick(model.KindRoad, model.KindFootpath, model.KindNeighbour), 10)
	case 25:
		return shifted(pick(model.KindBoundary), 1)
	case 26:
		return model.Change{Path: "crossing.depth_m", Value: 3 + r.Float64()*10}
	case 27:
		return model.Change{Path: "accepted", Value: []map[string]any{{"rule": "overspill", "subject": []string{s.ID, "R1"}, "reason": "agreed"}, {"rule": "gap", "subject": []string{"B1"}, "from_m": 0, "to_m": 300 * r.Float64()}}}
	case 28:
		return model.Change{Path: "radio.max_hops", Value: 1 + r.Intn(3)}
	}
	return model.Change{Path: "title", Value: fmt.Sprintf("Depot %d", r.Intn(99))}
}

func TestAThousandEditsAnalysedOneAfterAnotherEqualEachAnalysedAlone(t *testing.T) {
	r := rand.New(rand.NewSource(43))
	ground := hilly(t)
	p := smallSite(t)
	var on *terrain.Grid
	analyse := func(p *model.Plan, on *terrain.Grid, before *analysis.Result) *analysis.Result {
		lon, lat := scene.Origin(p)
		grid := sitegrid.New(lon, lat)
		sc := scene.OnGround(p, grid, on)
		if before != nil {
			sc = scene.After(before.Scene, p, grid, on)
		}
		res, err := analysis.RunOn(context.Background(), sc, before)
		if err != nil {
			panic(err) // its context never ends
		}
		return res
	}
	before := analyse(p, on, nil)
	var taken, explained, gaps atomic.Int64 // of edits that let all but one sensor stand
	var work sync.WaitGroup
	slots := make(chan bool, runtime.GOMAXPROCS(0))
	for i := range 1000 {
		label := "terrain on or off"
		if i%120 == 119 {
			if on == nil {
				on = ground
			} else {
				on = nil
			}
		} else {
			e := anyEdit(r, p)
			label = e.Label()
			q, err := e.Apply(p)
			if err != nil {
				t.Fatal(err)
			}
			p = q
		}
		got := analyse(p, on, before)
		one := got.Laid <= 1 && got.Laid < len(got.Sensors)
		work.Go(func() {
			slots <- true
			defer func() { <-slots }()
			want := analyse(got.Plan, got.Scene.Terrain, nil)
			if !analysis.Equal(got, want) {
				analysis.Same(t, fmt.Sprintf("edit %d, %s", i, label), got, want)
			}
			var a, b bytes.Buffer
			if err := errors.Join(report.JSON(&a, "plan", got), report.JSON(&b, "plan", want)); err != nil {
				t.Error(err)
			}
			if !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Errorf("edit %d, %s: the report is another", i, label)
			}
			if one {
				taken.Add(1)
				explained.Add(int64(got.Explained))
				gaps.Add(int64(want.Explained))
			}
		})
		if t.Failed() {
			break
		}
		before = got
	}
	work.Wait()
	if n := taken.Load(); n < 600 {
		t.Errorf("only %d of 1000 edits took over what still held", n)
	}
	if n, all := explained.Load(), gaps.Load(); 4*n > 3*all {
		t.Errorf("%d of %d gaps asked about afresh where one sensor changed", n, all)
	}
}

func TestATitleOrAnAcceptanceLaysNothingAnew(t *testing.T) {
	before, err := analysis.Run(context.Background(), smallSite(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	for path, value := range map[string]any{"title": "Another depot", "accepted": []map[string]any{{"rule": "gap", "subject": []string{"B1"}, "from_m": 0, "to_m": 300, "reason": "agreed"}}} {
		t.Run(path, func(t *testing.T) {
			p, err := model.Change{Path: path, Value: value}.Apply(before.Plan)
			if err != nil {
				t.Fatal(err)
			}
			after, err := analysis.Run(context.Background(), p, before)
			if err != nil {
				t.Fatal(err)
			}
			if after.Laid+after.Rated+after.Explained != 0 {
				t.Errorf("%d sensors looked from, %d links rated, %d gaps asked about afresh", after.Laid, after.Rated, after.Explained)
			}
			alone, err := analysis.Run(context.Background(), p, nil)
			if err != nil {
				t.Fatal(err)
			}
			analysis.Same(t, path, after, alone)
			accepted := 0
			for _, f := range after.Findings {
				if f.Accepted != nil {
					accepted++
				}
			}
			if path == "accepted" && accepted == 0 {
				t.Error("nothing is accepted")
			}
		})
	}
	p, err := model.Change{Path: "crossing.depth_m", Value: 4.0}.Apply(before.Plan)
	if err != nil {
		t.Fatal(err)
	}
	if after, err := analysis.Run(context.Background(), p, before); err != nil || after.Laid != len(after.Sensors) {
		t.Errorf("another depth of crossing: %d of %d sensors looked from afresh (%v)", after.Laid, len(after.Sensors), err)
	}
}
