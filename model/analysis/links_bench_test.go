package analysis

import (
	"context"
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
	"pleach/testdata/site"
)

// survey is n sensors, 100 buildings, a receiver and two repeaters on terrain of 1 m.
func survey(b *testing.B, n int) *Result {
	p := largeSite(b, n, 100)
	lon, lat := scene.Origin(p)
	r, err := RunOn(context.Background(), scene.OnGround(p, sitegrid.New(lon, lat), rolling(b, 2600)), nil)
	if err != nil {
		b.Fatal(err)
	}
	return r
}

// Links of a plan rated cold on terrain of 1 m: those of 67 sensors with three hubs are
// 200, those of 200 sensors 600; by every way.
func BenchmarkLinksOnTerrain(b *testing.B) {
	for _, n := range []int{67, 200} {
		b.Run(fmt.Sprintf("%dlinks", 3*n), func(b *testing.B) {
			r := survey(b, n)
			for b.Loop() {
				r.indoors = nil
				asNew(r)
				r.link()
			}
		})
	}
}

// Links of one moved sensor on terrain of 1 m, with what follows of them for the net.
func BenchmarkLinksOfOneSensorOnTerrain(b *testing.B) {
	before := survey(b, 200)
	at := before.Plan.Feature("S7").Geometry.(orb.Point)
	q, err := model.Reshape{ID: "S7", To: orb.Point{at[0] + 1e-6, at[1]}}.Apply(before.Plan)
	if err != nil {
		b.Fatal(err)
	}
	sc := scene.After(before.Scene, q, before.Scene.Grid, before.Scene.Terrain)
	r, err := RunOn(context.Background(), sc, before)
	if err != nil {
		b.Fatal(err)
	}
	s := &since{Result: before, fresh: []*work{r.workOf("S7")}, gone: []*work{before.workOf("S7")}}
	for i, w := range r.works {
		if s.from = append(s.from, i); w.feature.ID == "S7" {
			s.from[i] = -1
		}
	}
	for b.Loop() {
		r.since, r.net, r.indoors = s, net{}, nil
		r.link()
	}
}

func BenchmarkRadioStudy(b *testing.B) {
	r := survey(b, 200)
	for b.Loop() {
		if _, err := WithRadioStudy(context.Background(), r); err != nil {
			b.Fatal(err)
		}
	}
}

// Margins of 200 sensors with 2000 places for a repeater over 2 km by 2 km, 100
// buildings, by every way; pruned at the margin that is required, and in full.
func BenchmarkMarginMatrix(b *testing.B) {
	p := largeSite(b, 200, 100)
	lon, lat := scene.Origin(p)
	random := rand.New(rand.NewSource(1))
	spots := func(n int, k model.Kind, height float64) (out []Spot) {
		for range n {
			out = append(out, Spot{At: orb.Point{2000*random.Float64() - 1000, 2000*random.Float64() - 1000}, Height: height, Kind: k})
		}
		return out
	}
	as, bs := spots(200, model.KindSensor, 3), spots(2000, model.KindRepeater, 4)
	for _, g := range []struct {
		name   string
		ground *terrain.Grid
	}{{"level", nil}, {"terrain1m", rolling(b, 2600)}} {
		r, err := RunOn(context.Background(), scene.OnGround(p, sitegrid.New(lon, lat), g.ground), nil)
		if err != nil {
			b.Fatal(err)
		}
		for _, least := range []float64{18.6, math.Inf(-1)} {
			b.Run(fmt.Sprintf("%s/least%.3g", g.name, least), func(b *testing.B) {
				kept := 0
				for b.Loop() {
					m, err := MarginMatrix(context.Background(), r, as, bs, least)
					if err != nil {
						b.Fatal(err)
					}
					kept = 0
					for _, v := range m {
						if !math.IsNaN(v) {
							kept++
						}
					}
				}
				b.ReportMetric(float64(kept), "kept")
			})
		}
	}
}

// Margins of the 160,000 places of a site 2 km square at 5 m, on terrain of 1 m with
// 100 buildings and one receiver.
func BenchmarkMarginsOnTerrain(b *testing.B) {
	st := new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-1000, -1000, 1000, 1000)}).
		Add(model.KindReceiver, "RX", orb.Point{10, 20}, model.Prop("antenna_height_m", 8))
	for i := range 100 {
		x, y := -970+float64(i%10)*200, -940+float64(i/10)*190
		st.Building(fmt.Sprintf("H%d", i+1), site.Box(x, y, x+25, y+15), 6)
	}
	p := st.Plan(b)
	lon, lat := scene.Origin(p)
	r, err := RunOn(context.Background(), scene.OnGround(p, sitegrid.New(lon, lat), rolling(b, 2600)), nil)
	if err != nil {
		b.Fatal(err)
	}
	for _, bare := range []bool{true, false} {
		b.Run(fmt.Sprintf("overAlone=%v", bare), func(b *testing.B) {
			for b.Loop() {
				m, err := MarginsOver(context.Background(), r, MarginsAsked{Height: 2.5, Bare: bare}, nil)
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(len(m.Values)), "places")
			}
		})
	}
}
