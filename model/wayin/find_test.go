package wayin

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"
)

func box(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

func must(t testing.TB, s *site, sensors []Sensor, o Options) Result {
	t.Helper()
	r, err := find(context.Background(), s, sensors, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestFenceWithOneOpening(t *testing.T) {
	for _, gap := range []float64{0.3, 0.45, 0.6, 1} {
		for _, turn := range []float64{0, 0.3, math.Pi / 4} {
			rot := func(l orb.LineString) orb.LineString {
				out := orb.LineString{}
				for _, p := range l {
					s, c := math.Sincos(turn)
					out = append(out, orb.Point{c*p[0] - s*p[1], s*p[0] + c*p[1]})
				}
				return out
			}
			s := &site{
				walls: []wall{{"F", rot(orb.LineString{{20, 0}, {100, 0}, {100, 60}, {0, 60}, {0, 0}, {20 - gap, 0}})}},
				assets: []asset{{"A", rot(orb.LineString{{60, 40}})[0]}},
			}
			r := must(t, s, nil, Options{}).Routes[0]
			if r.Reached != (gap > 0.4) {
				t.Errorf("gap %v turned %v: reached %v", gap, turn, r.Reached)
			}
		}
	}
}

func TestStrip(t *testing.T) {
	s := &site{assets: []asset{{"A", orb.Point{0, 0}}}}
	ring := orb.MultiPolygon{{box(-40, -40, 40, 40)[0], box(-30, -30, 30, 30)[0]}}
	r := must(t, s, []Sensor{{ID: "S", Shape: ring}}, Options{}).Routes[0]
	if math.Abs(r.Detection-0.9) > 1e-4 {
		t.Errorf("got %v", r.Detection)
	}
}
