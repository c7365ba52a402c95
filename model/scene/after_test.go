package scene_test

import (
	"fmt"
	"math/rand"
	"reflect"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/testdata/site"
)

func TestASceneLaidAfterAnotherIsTheSameAsOneLaidAlone(t *testing.T) {
	r := rand.New(rand.NewSource(41))
	at := func() orb.Point { return orb.Point{r.Float64()*100 - 50, r.Float64()*100 - 50} }
	var s site.Site
	s.Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-50, -50, 50, 50)})
	s.Building("H1", site.Box(0, 0, 10, 10), 4)
	s.Add(model.KindRoad, "R1", orb.LineString{{-80, 60}, {80, 60}})
	s.Add(model.KindGate, "G1", orb.Point{0, -50})
	for i := range 6 {
		s.Sensor(fmt.Sprintf("S%d", i+1), at(), "sector-90-16", 3, 10, 1)
	}
	s.Add(model.KindReceiver, "RX", at(), model.Prop("antenna_height_m", 4))
	p := s.Plan(t)
	before := scene.On(p, site.Grid)
	shared := 0
	for i := range 400 {
		sensors := p.Of(model.KindSensor)
		f := sensors[r.Intn(len(sensors))]
		var e model.Edit
		switch k := r.Intn(8); {
		case k < 3:
			e = model.Reshape{ID: f.ID, To: site.Grid.ToLonLat(at())}
		case k == 3 && len(sensors) > 3:
			e = model.Delete{IDs: []string{f.ID}}
		case k == 4:
			e = model.Add{Features: []*model.Feature{f.WithID(p.NewID(model.KindSensor)).WithGeometry(site.Grid.ToLonLat(at()))}}
		case k == 5:
			e = model.Set{ID: f.ID, Values: []model.Value{{Property: "tilt_deg", Value: r.Float64() * 100}}} // some are flawed
		case k == 6:
			e = model.Set{ID: "H1", Values: []model.Value{{Property: "height_m", Value: r.Float64() * 9}}}
		default:
			e = model.Set{ID: "RX", Values: []model.Value{{Property: "antenna_height_m", Value: r.Float64() * 9}}}
		}
		q, err := e.Apply(p)
		if err != nil {
			t.Fatal(err)
		}
		got, want := scene.After(before, q, site.Grid, nil), scene.On(q, site.Grid)
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("edit %d, %s: the scene is another when laid after the one before", i, e.Label())
		}
		for _, f := range q.Features {
			if a, b := got.Shape(f.ID), want.Shape(f.ID); !reflect.DeepEqual(a, b) || (a != nil) != f.Sound() {
				t.Fatalf("edit %d, %s: %s lies at %v, laid alone at %v", i, e.Label(), f.ID, a, b)
			}
		}
		if &got.Buildings[0] == &before.Buildings[0] {
			shared++
		}
		p, before = q, got
	}
	if shared < 250 {
		t.Errorf("only %d of 400 scenes share what was left alone", shared)
	}
}
