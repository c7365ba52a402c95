package analysis

import (
	"context"
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/pattern"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
	"pleach/testdata/site"
)

// largeSite is a plan of n sensors 30 m apart along a wavy ring, looking along
// it, with buildings inside and outside, four roads, a neighbour, a wood, one
// receiver and two repeaters.
func largeSite(t testing.TB, n, buildings int) *model.Plan { return park(t, n, buildings, 0) }

// park is a large site with rows of tables, 40 m long and 2 m high, 6 m from one
// another along the inside of its ring.
func park(t testing.TB, n, buildings, rows int) *model.Plan {
	r := rand.New(rand.NewSource(5))
	radius := float64(n) * 30 / (2 * math.Pi)
	at := func(a, d float64) orb.Point {
		w := radius*(1+0.08*math.Sin(3*a)+0.05*math.Sin(7*a+1)) + d
		return orb.Point{w * math.Cos(a), w * math.Sin(a)}
	}
	var s site.Site
	var ring orb.Ring
	corners := max(12, n*2)
	for i := range corners {
		ring = append(ring, at(2*math.Pi*float64(i)/float64(corners), 0))
	}
	s.Add(model.KindBoundary, "B1", orb.Polygon{append(ring, ring[0])})
	for i := range buildings {
		a := r.Float64() * 2 * math.Pi
		d := -6 - r.Float64()*50
		if i%3 == 0 {
			d = 10 + r.Float64()*40
		}
		s.Building("", site.Turned(at(a, d), 6+r.Float64()*12, 5+r.Float64()*8, r.Float64()*3), 3+r.Float64()*5)
	}
	for i := range rows {
		columns := n * 30 / 44
		a, d := 2*math.Pi*float64(i%columns)/float64(columns), -12-6*float64(i/columns)
		s.Add(model.KindObstacle, "", orb.LineString{at(a, d), at(a+40/radius, d)}, model.Prop("height_m", 2))
	}
	for k := range 4 {
		a := float64(k) * math.Pi / 2
		p, q := at(a, 4), at(a+0.8, 6)
		s.Add(model.KindRoad, "", orb.LineString{p, at(a+0.2, 8), at(a+0.5, 5), q}, model.Prop("width_m", 6))
	}
	s.Add(model.KindNeighbour, "", orb.Polygon{site.Turned(at(1, 60), 100, 100, 1)})
	s.Add(model.KindFoliage, "", orb.Polygon{site.Turned(at(2, 10), 60, 25, 0.5)}, model.Prop("height_m", 9), model.Prop("density", "dense"))
	models := model.Builtin()
	for i := range n {
		a := 2 * math.Pi * float64(i) / float64(n)
		p, q := at(a, -1), at(a+0.02, -1.5)
		bearing := math.Atan2(q[0]-p[0], q[1]-p[1]) * 180 / math.Pi
		s.Sensor(fmt.Sprintf("S%d", i+1), p, models[i%len(models)].ID, 3, bearing, 1.5, model.Prop("address", i+1))
	}
	s.Add(model.KindReceiver, "RX", orb.Point{0, 0}, model.Prop("antenna_height_m", 8))
	s.Add(model.KindRepeater, "RP1", at(1, -5), model.Prop("antenna_height_m", 5), model.Prop("address", 60001))
	s.Add(model.KindRepeater, "RP2", at(4, -5), model.Prop("antenna_height_m", 5), model.Prop("address", 60002))
	return s.Plan(t)
}

func BenchmarkFullAmongTables(b *testing.B) {
	ground := rolling(b, 2600)
	p := park(b, 200, 370, 3000)
	if n := len(p.Of(model.KindObstacle)); n != 3000 {
		b.Fatalf("%d rows of tables", n)
	}
	lon, lat := scene.Origin(p)
	for b.Loop() {
		if _, err := RunOn(context.Background(), scene.OnGround(p, sitegrid.New(lon, lat), ground), nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFull(b *testing.B) {
	for _, c := range []struct{ sensors, buildings int }{{20, 20}, {100, 100}, {200, 100}, {400, 100}, {800, 100}, {1600, 100}, {3200, 100}} {
		b.Run(fmt.Sprintf("%dsensors%dbuildings", c.sensors, c.buildings), func(b *testing.B) {
			p := largeSite(b, c.sensors, c.buildings)
			for b.Loop() {
				if _, err := Run(context.Background(), p, nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkLinks(b *testing.B) {
	p := largeSite(b, 200, 100)
	r, err := Run(context.Background(), p, nil)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		r.indoors = nil
		asNew(r)
		r.link()
	}
}

func BenchmarkDrag(b *testing.B) {
	for _, n := range []int{200, 800, 2000} {
		b.Run(fmt.Sprintf("%dsensors", n), func(b *testing.B) { drag(b, largeSite(b, n, 100)) })
	}
}

// sizes double from 200 to 3,200 sensors; the drag step is asked for at 2,000 too.
var sizes = []int{200, 400, 800, 1600, 2000, 3200}

// evenSite is a large site with a building to every two sensors: boundary and
// buildings grow with the sensors.
func evenSite(t testing.TB, n int) *model.Plan { return largeSite(t, n, n/2) }

func BenchmarkDragAtOneDensity(b *testing.B) {
	for _, n := range sizes {
		b.Run(fmt.Sprintf("%dsensors", n), func(b *testing.B) { drag(b, evenSite(b, n)) })
	}
}

func BenchmarkFullAtOneDensity(b *testing.B) {
	for _, n := range sizes {
		b.Run(fmt.Sprintf("%dsensors", n), func(b *testing.B) {
			p := evenSite(b, n)
			for b.Loop() {
				run(b, p, nil)
			}
		})
	}
}

// drag moves a sensor of a plan by a centimetre a step.
func drag(b *testing.B, p *model.Plan) {
	before := run(b, p, nil)
	at := p.Feature("S7").Geometry.(orb.Point)
	i := 0
	for b.Loop() {
		i++
		q, err := model.Reshape{ID: "S7", To: orb.Point{at[0] + float64(i%50)*1e-7, at[1]}}.Apply(p)
		if err != nil {
			b.Fatal(err)
		}
		run(b, q, before)
	}
}

// BenchmarkLinksOfOneMoved rates the links of one moved sensor, finds its route and
// lists all links.
func BenchmarkLinksOfOneMoved(b *testing.B) {
	for _, n := range sizes {
		b.Run(fmt.Sprintf("%dsensors", n), func(b *testing.B) {
			p := evenSite(b, n)
			r, s := moved(b, p)
			for b.Loop() {
				r.since, r.net, r.indoors = s, net{}, nil
				r.link()
			}
		})
	}
}

// moved moves sensor S7 of a plan by a metre and returns the result, with what it
// takes over of the result before.
func moved(b *testing.B, p *model.Plan) (*Result, *since) {
	before := run(b, p, nil)
	at := p.Feature("S7").Geometry.(orb.Point)
	q, err := model.Reshape{ID: "S7", To: orb.Point{at[0] + 1e-5, at[1]}}.Apply(p)
	if err != nil {
		b.Fatal(err)
	}
	r := run(b, q, before)
	w := r.workOf("S7")
	s := &since{Result: before, fresh: []*work{w}, gone: []*work{before.workOf("S7")}}
	for i, v := range r.works {
		if s.from = append(s.from, i); v == w {
			s.from[i] = -1
		}
	}
	return r, s
}

// BenchmarkGapAndOverspill works out what one moved sensor changes along the
// boundary and outside, its footprint being known: to be held against the overlay of
// all footprints afresh.
func BenchmarkGapAndOverspill(b *testing.B) {
	p := largeSite(b, 200, 100)
	r, s := moved(b, p)
	w := r.workOf("S7")
	lk, wk := pattern.NewLooker(r.Scene), new(coverage.Walker)
	lk.From(&w.eye, r.Plan.Settings.VehicleRangeFactor)
	for b.Loop() {
		for k := range w.looks {
			for i, f := range r.fences {
				c := wk.Covered(f, w.looks[k].print.Clear, r.Plan.Settings.MinPath, coverage.Shallow)
				w.looks[k].spans[i], w.looks[k].shallow[i] = c[0], c[1]
			}
		}
		w.out.Overspill = r.overspill(lk)
		r.since, r.asked = s, nil
		r.cover()
		r.explain()
	}
}

// rolling is a terrain of n by n cells of 1 m about the origin.
func rolling(t testing.TB, n int) *terrain.Grid {
	z := make([]float32, n*n)
	half := float64(n-1) / 2
	for i := range n {
		for j := range n {
			x, y := float64(j)-half, half-float64(i)
			z[i*n+j] = float32(100 + 3*math.Sin(x/37+y/91) + 1.5*math.Sin(y/23-x/60) + 0.2*math.Sin(x/5)*math.Cos(y/7))
		}
	}
	g, err := terrain.New(n, n, z, terrain.Affine([3]float64{half, 1, 0}, [3]float64{half, 0, -1}), orb.Bound{Min: orb.Point{-half, -half}, Max: orb.Point{half, half}})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func BenchmarkFullOnTerrain(b *testing.B) {
	ground := rolling(b, 2600)
	for _, n := range []int{100, 200} {
		b.Run(fmt.Sprintf("%dsensors100buildings", n), func(b *testing.B) {
			p := largeSite(b, n, 100)
			for b.Loop() {
				lon, lat := scene.Origin(p)
				if _, err := RunOn(context.Background(), scene.OnGround(p, sitegrid.New(lon, lat), ground), nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// One sensor's remedies, on a plan of 200 sensors, most of which spill.
func BenchmarkEndOverspill(b *testing.B) {
	r, err := Run(context.Background(), largeSite(b, 200, 100), nil)
	if err != nil {
		b.Fatal(err)
	}
	n := 0
	for i := 0; b.Loop(); i++ {
		if r.EndOverspill(fmt.Sprint("S", 1+i%200)) != "" {
			n++
		}
	}
	b.ReportMetric(float64(n)/float64(b.N), "found/op")
}
