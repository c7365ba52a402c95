package analysis_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/scene"
	"pleach/model/terrain"
	"pleach/testdata/site"
)

func TestAReceiverAtTheSensorsSpotIsToldOf(t *testing.T) {
	near := func(x float64) []model.Finding {
		return of(study(t, new(site.Site).Sensor("S1", orb.Point{0, 0}, "sector-90-16", 3, 0, 2).
			Add(model.KindReceiver, "RX", orb.Point{x, 0}, model.Prop("antenna_height_m", 3))), "overload")
	}
	for _, x := range []float64{0, 0.2} {
		if list := near(x); len(list) != 1 || !slices.Equal(list[0].Subject, []string{"S1", "RX"}) {
			t.Errorf("%v m apart: %+v", x, list)
		}
	}
	if list := near(20); len(list) != 0 {
		t.Errorf("20 m apart: %+v", list)
	}
}

func TestALinkOverGroundThatIsNotKnownIsToldOf(t *testing.T) {
	// 200 m by 200 m of ground, with a hole or without.
	ground := func(hole bool) *terrain.Grid {
		z := make([]float32, 200*200)
		if hole {
			for r := 98; r < 104; r++ {
				for c := 120; c < 126; c++ {
					z[r*200+c] = float32(math.NaN())
				}
			}
		}
		g, err := terrain.New(200, 200, z, terrain.Affine([3]float64{99.5, 1, 0}, [3]float64{99.5, 0, -1}), orb.Bound{Min: orb.Point{-100, -100}, Max: orb.Point{100, 100}})
		if err != nil {
			t.Fatal(err)
		}
		return g
	}
	links := func(x float64, hole bool) (n int) {
		p := new(site.Site).Sensor("S1", orb.Point{0, 0}, "sector-90-16", 3, 180, 5).
			Add(model.KindReceiver, "RX", orb.Point{x, 0}, model.Prop("antenna_height_m", 6)).Plan(t)
		r, err := analysis.RunOn(context.Background(), scene.OnGround(p, site.Grid, ground(hole)), nil)
		if err != nil {
			t.Fatal(err)
		}
		if r, err = analysis.WithRadioStudy(context.Background(), r); err != nil {
			t.Fatal(err)
		}
		for _, f := range of(r, "terrain-edge") {
			if slices.Equal(f.Subject, []string{"S1", "RX"}) {
				n++
			}
		}
		return n
	}
	if n := links(80, false); n != 0 {
		t.Errorf("known ground: %d findings", n)
	}
	if n := links(80, true); n != 1 {
		t.Errorf("a hole under the link: %d findings", n)
	}
	if n := links(150, false); n != 1 {
		t.Errorf("beyond the edge: %d findings", n)
	}
}

// Thermal noise in 25 kHz with a noise figure of 6 dB is -124.0 dBm: k·T·B at 290 K,
// worked outside the program.
func TestASensitivityBelowTheReceiversNoiseIsToldOf(t *testing.T) {
	findings := func(bandwidth any, sensitivity float64) []model.Finding {
		s := new(site.Site).Sensor("S1", orb.Point{0, 0}, "sector-90-16", 3, 0, 2)
		for i, id := range []string{"RX", "RX2"} {
			s.Add(model.KindReceiver, id, orb.Point{200, float64(50 * i)}, model.Prop("antenna_height_m", 6), model.Prop("radio", map[string]any{"sensitivity_dbm": sensitivity}))
		}
		if bandwidth != nil {
			s.Set("radio", map[string]any{"bandwidth_khz": bandwidth})
		}
		return of(study(t, s), "sensitivity")
	}
	if list := findings(25, -125); len(list) != 1 || !slices.Equal(list[0].Subject, []string{"RX", "RX2"}) || list[0].Severity != model.Warning {
		t.Errorf("-125 dBm in 25 kHz: %+v", list)
	}
	if list := findings(25, -123); len(list) != 0 {
		t.Errorf("-123 dBm in 25 kHz: %+v", list)
	}
	if list := findings(nil, -150); len(list) != 0 {
		t.Errorf("no bandwidth stated: %+v", list)
	}
}
