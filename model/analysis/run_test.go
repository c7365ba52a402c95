package analysis

import (
	"context"
	"math/rand"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/paulmach/orb"

	"pleach/model"
)

// run analyses a plan or fails the test.
func run(t testing.TB, p *model.Plan, previous *Result) *Result {
	t.Helper()
	r, err := Run(context.Background(), p, previous)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// asNew makes a result forget that any of it was worked out.
func asNew(r *Result) {
	r.asked, r.net = nil, net{}
	r.since = &since{fresh: r.works, from: slices.Repeat([]int{-1}, len(r.works))}
}

// same fails the test where two results differ in anything that is reported.
func same(t testing.TB, what string, a, b *Result) {
	t.Helper()
	opts := cmp.Options{cmpopts.IgnoreUnexported(Result{}, Overspill{}, Tilt{}, Sunlight{}), cmpopts.IgnoreFields(Result{}, "Plan", "Scene", "Laid", "Rated", "Explained"), cmpopts.EquateEmpty()}
	if d := cmp.Diff(a, b, opts); d != "" {
		if len(d) > 3000 {
			d = d[:3000]
		}
		t.Errorf("%s: %s", what, d)
	}
}

// randomEdit moves, turns, adds or deletes something.
func randomEdit(r *rand.Rand, p *model.Plan) model.Edit {
	sensors := p.Of(model.KindSensor)
	near := func(g orb.Geometry) orb.Point {
		q := g.(orb.Point)
		return orb.Point{q[0] + (r.Float64()-0.5)*3e-4, q[1] + (r.Float64()-0.5)*2e-4}
	}
	s := sensors[r.Intn(len(sensors))]
	switch r.Intn(10) {
	case 0, 1, 2:
		return model.Reshape{ID: s.ID, To: near(s.Geometry)}
	case 3:
		return model.Set{ID: s.ID, Values: []model.Value{{Property: "bearing_deg", Value: r.Float64() * 360}}}
	case 4:
		return model.Set{ID: s.ID, Values: []model.Value{{Property: "tilt_deg", Value: r.Float64() * 5}, {Property: "mount_height_m", Value: 2 + r.Float64()*2}}}
	case 5:
		rx := p.Of(model.KindReceiver, model.KindRepeater)
		f := rx[r.Intn(len(rx))]
		return model.Reshape{ID: f.ID, To: near(f.Geometry)}
	case 6:
		b := p.Of(model.KindBuilding)
		f := b[r.Intn(len(b))]
		return model.Set{ID: f.ID, Values: []model.Value{{Property: "height_m", Value: 1 + r.Float64()*8}}}
	case 7:
		if len(sensors) > 6 {
			return model.Delete{IDs: []string{s.ID}}
		}
		fallthrough
	case 8:
		id := p.NewID(model.KindSensor)
		return model.Add{Features: []*model.Feature{s.WithID(id).WithGeometry(near(s.Geometry))}}
	}
	return model.Change{Path: "crossing.depth_m", Value: 3 + r.Float64()*10}
}

func TestOneMovedSensorIsLookedFromOnceAndItsLinksAlone(t *testing.T) {
	p := largeSite(t, 20, 20)
	before := run(t, p, nil)
	at := p.Feature("S7").Geometry.(orb.Point)
	q, err := model.Reshape{ID: "S7", To: orb.Point{at[0] + 1e-5, at[1]}}.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	after := run(t, q, before)
	if after.Laid != 1 || after.Rated != 3 {
		t.Errorf("looked from %d sensors and rated %d links, want 1 and 3", after.Laid, after.Rated)
	}
	// A gap is asked about afresh where it is new or the sensor could have something
	// else to say of it; there are such, and others.
	near := 0
	for i, a := range after.asked {
		known := slices.ContainsFunc(before.asked, func(b *asked) bool { return b.key == a.key })
		if !known || slices.ContainsFunc([]*Result{before, after}, func(r *Result) bool { return r.workOf("S7").speaksOf(a) }) {
			near++
		} else if !slices.Contains(before.asked, after.asked[i]) {
			t.Errorf("the gap from %.1f was asked about afresh, out of the sensor's reach", a.key.From)
		}
	}
	if after.Explained != near || near == 0 || near == len(after.asked) {
		t.Errorf("%d of %d gaps asked about afresh, want %d", after.Explained, len(after.asked), near)
	}
}
