package drawing

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"pleach/model"
	"pleach/model/scene"
)

// onePost is a plan with devices on one post on the west side of a square: S with a
// bearing is a sensor, R a repeater, X a receiver.
func onePost(t testing.TB, what string, bearings ...float64) *scene.Scene {
	t.Helper()
	b := model.NewFeature(model.KindBoundary, "B1", orb.Polygon{{{0, 0}, {0.002, 0}, {0.002, 0.002}, {0, 0.002}, {0, 0}}})
	all := []*model.Feature{b}
	at := orb.Point{0, 0.001}
	for i, k := range what {
		id := fmt.Sprintf("%c%d", k, i+1)
		switch k {
		case 'S':
			all = append(all, model.NewFeature(model.KindSensor, id, at, model.Prop("model", "curtain-4-63"), model.Prop("bearing_deg", bearings[0]), model.Prop("mount_height_m", 3), model.Prop("tilt_deg", 1)))
			bearings = bearings[1:]
		case 'R':
			all = append(all, model.NewFeature(model.KindRepeater, id, at, model.Prop("antenna_height_m", 5)))
		case 'X':
			all = append(all, model.NewFeature(model.KindReceiver, id, at, model.Prop("antenna_height_m", 5)))
		}
	}
	p, err := model.Add{Features: all}.Apply(model.NewPlan())
	if err != nil {
		t.Fatal(err)
	}
	return scene.New(p)
}

func TestMarksOnOnePostAreParted(t *testing.T) {
	for _, c := range []struct {
		what     string
		bearings []float64
	}{{"SR", []float64{0}}, {"SR", []float64{90}}, {"RSX", []float64{180}}, {"RX", nil}, {"RR", nil}, {"SS", []float64{0, 180}}, {"SS", []float64{10, 10}}, {"SSR", []float64{350, 200}}, {"SSSSRX", []float64{0, 90, 180, 270}}} {
		t.Run(fmt.Sprint(c.what, c.bearings), func(t *testing.T) {
			sc := onePost(t, c.what, c.bearings...)
			l := Compose(Input{Scene: sc})
			var marks []*Item
			for i := range l.Items {
				if it := &l.Items[i]; it.Kind == MarkKind && it.Layer == DeviceLayer {
					marks = append(marks, it)
				}
			}
			if len(marks) != len(c.what) {
				t.Fatalf("%d marks", len(marks))
			}
			for _, mpu := range []float64{0.05, 0.5, 2} {
				view := View{Centre: marks[0].At, MetresPerUnit: mpu, Width: 800, Height: 600}
				theme := NewTheme(Medium{})
				shown := func(it *Item) (orb.Point, float64) {
					size := markSize(theme.Style(it.Meaning), view, theme)
					return shownAt(view, it.At, it.Aside, size), size
				}
				for i, a := range marks {
					u, size := shown(a)
					for _, b := range marks[:i] {
						w, other := shown(b)
						if d := planar.Distance(u, w); d < (size+other)/2 {
							t.Errorf("%s and %s are %g apart with %g and %g across", a.ID, b.ID, d, size, other)
						}
					}
					if hits := l.Hit(view.ToGrid(u), 4*mpu, mpu); len(hits) == 0 || hits[0].ID != a.ID {
						t.Errorf("where %s is drawn, %v is hit", a.ID, hits)
					}
					if f := sc.Plan.Feature(a.ID); planar.Distance(a.At, sc.Grid.ToSite(f.Geometry.(orb.Point))) > 0.01 {
						t.Errorf("%s stands at %v", a.ID, a.At)
					}
				}
				// Every device is named, at its mark.
				named := map[string]bool{}
				for _, p := range PlaceLabels(l, view, theme).Labels {
					if p.Meaning == DeviceName {
						named[l.Items[p.Item].ID] = true
						for _, m := range marks {
							if u, size := shown(m); p.Box.Pad(-1).Intersects(orb.Bound{Min: u, Max: u}.Pad(size / 2 * 0.7)) {
								t.Errorf("the name of %s covers the mark of %s", l.Items[p.Item].ID, m.ID)
							}
						}
					}
				}
				if len(named) != len(marks) {
					t.Errorf("named are %v", named)
				}
			}
		})
	}
}

func TestASensorAloneOnItsPostKeepsItsPlace(t *testing.T) {
	for _, bearing := range []float64{0, 90, 180, 270} {
		l := Compose(Input{Scene: onePost(t, "RSX", bearing)})
		for i := range l.Items {
			it := &l.Items[i]
			if it.Kind != MarkKind || it.Layer != DeviceLayer {
				continue
			}
			switch aside := math.Hypot(it.Aside[0], it.Aside[1]); {
			case it.Meaning == Sensor && aside != 0:
				t.Errorf("the sensor is drawn %g beside its place", aside)
			case it.Meaning != Sensor && aside < 1:
				t.Errorf("%s is drawn %g beside its place", it.ID, aside)
			}
		}
	}
}
