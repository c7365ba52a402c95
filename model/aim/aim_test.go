package aim

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/terrain"
	"pleach/testdata/site"
)

// of aims the sensor S1 of a site.
func of(t testing.TB, s *site.Site) *Aim {
	t.Helper()
	a, err := Of(s.Scene(t), "S1")
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func curtain(tilt float64, props ...model.Member) *site.Site {
	return new(site.Site).Sensor("S1", orb.Point{0, 0}, "curtain-3-100", 3, 90, tilt, props...)
}

func close(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, tolerance)
	}
}

func TestWhatIsNoSensorIsNamed(t *testing.T) {
	s := curtain(2)
	s.Building("H1", site.Box(50, 50, 60, 60), 5)
	sc := s.Scene(t)
	for id, want := range map[string]string{
		"S9": "there is no sensor S9: name one of S1",
		"H1": "building H1 is no sensor: name one of S1",
	} {
		if _, err := Of(sc, id); err == nil || err.Error() != want {
			t.Errorf("%s: %v, want %s", id, err, want)
		}
	}
}

func TestMagneticBearingIsTrueLessDeclinationEast(t *testing.T) {
	for _, row := range []struct{ bearing, declination, want float64 }{
		{90, 0, 90}, {90, 3.5, 86.5}, {90, -3.5, 93.5}, {2, 5, 357}, {358, -5, 3}, {0, 180, 180},
	} {
		s := new(site.Site).Set("north", map[string]any{"declination_deg": row.declination, "on": "2026-03-01"})
		s.Sensor("S1", orb.Point{}, "curtain-3-100", 3, row.bearing, 2)
		a := of(t, s)
		close(t, "magnetic", a.Magnetic, row.want, 1e-9)
		if !a.Stated || a.DeclinationOn != "2026-03-01" {
			t.Errorf("stated %v on %q", a.Stated, a.DeclinationOn)
		}
	}
	if a := of(t, curtain(2)); a.Stated || a.Magnetic != a.Bearing {
		t.Error("a plan that states no declination has one")
	}
}

func TestTheAxisEndsAtWhatItMeetsFirst(t *testing.T) {
	s := curtain(2)
	s.Add(model.KindObstacle, "M1", orb.LineString{{10, -5}, {10, 5}}, model.Prop("height_m", 3), model.Prop("see_through", true))
	s.Add(model.KindObstacle, "O1", orb.LineString{{20, -5}, {20, 5}}, model.Prop("height_m", 1))
	s.Building("H1", site.Box(30, -5, 40, 5), 1.8)
	a := of(t, s)
	fall := math.Tan(2 * math.Pi / 180)
	if m := a.Axis; m.What != Roof || m.On != "H1" || !slices.Equal(m.Through, []string{"M1"}) {
		t.Errorf("%+v: want the roof of H1 through M1", m)
	}
	close(t, "roof", a.Axis.Distance, 1.2/fall, 1e-4)
	close(t, "height over the ground", a.Axis.Height, 1.8, 1e-4)

	s.Building("H2", site.Box(25, -5, 26, 5), 6)
	if m := of(t, s).Axis; m.What != Wall || m.On != "H2" || math.Abs(m.Distance-25) > 1e-4 {
		t.Errorf("%+v: want the wall of H2 at 25 m", m)
	}
	if m := of(t, curtain(-1)).Axis; m.What != Nothing {
		t.Errorf("%+v: an axis that rises meets nothing on level ground", m)
	}
}

func TestWhereTheAxisMeetsTheGroundIsNamed(t *testing.T) {
	// Two degrees from 3 m up: 85.91 m due east.
	for _, row := range []struct {
		name string
		add  func(*site.Site)
		want string
	}{
		{"a corner", func(s *site.Site) { named(s, "H1", "Pump house", 88, -12, 98, -0.2) }, "2.1 m west of the north-west corner of Pump house (H1)"},
		{"a wall", func(s *site.Site) { named(s, "H1", "Pump house", 80, -12, 92, -3) }, "3.0 m north of Pump house (H1)"},
		{"too far", func(s *site.Site) { named(s, "H1", "Pump house", 80, -22, 92, -5.2) }, ""},
		{"without a name", func(s *site.Site) { s.Building("H1", site.Box(80, -12, 92, -3), 5) }, ""},
		{"a gate", func(s *site.Site) {
			s.Add(model.KindGate, "G1", orb.Point{86, 0.2}, model.Prop("name", "East gate"))
		}, "at East gate (G1)"},
		{"a road, and something else near it", func(s *site.Site) {
			s.Add(model.KindRoad, "R1", orb.LineString{{86, -50}, {86, 50}}, model.Prop("name", "Lane"))
			s.Add(model.KindGate, "G1", orb.Point{86, 4.2}, model.Prop("name", "East gate"))
		}, "4.2 m south of East gate (G1)"},
		{"a road", func(s *site.Site) {
			s.Add(model.KindRoad, "R1", orb.LineString{{86, -50}, {86, 50}}, model.Prop("name", "Lane"))
		}, "on Lane (R1)"},
		{"the end of a wall", func(s *site.Site) {
			s.Add(model.KindObstacle, "O1", orb.LineString{{87, 20}, {87, 1}}, model.Prop("name", "Wall"), model.Prop("height_m", 2))
		}, "1.5 m south-west of the south end of Wall (O1)"},
		{"a tank to be protected", func(s *site.Site) {
			s.Add(model.KindAsset, "A1", orb.Polygon{site.Box(80, -5, 90, 5)}, model.Prop("name", "Yard"))
		}, "inside Yard (A1)"},
	} {
		t.Run(row.name, func(t *testing.T) {
			s := curtain(2)
			row.add(s)
			a := of(t, s)
			got := ""
			if a.Near != nil {
				got = a.Near.Text
			}
			if got != row.want {
				t.Errorf("got %q, want %q", got, row.want)
			}
		})
	}
}

func named(s *site.Site, id, name string, x0, y0, x1, y1 float64) {
	s.Add(model.KindBuilding, id, orb.Polygon{site.Box(x0, y0, x1, y1)}, model.Prop("name", name), model.Prop("height_m", 5.0))
}

func TestTheBoundaryNearTheAxisIsGivenByChainage(t *testing.T) {
	s := curtain(2)
	s.Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-10, -3, 200, 100)})
	p := of(t, s).Boundary
	if p == nil || p.ID != "B1" || !p.Inside {
		t.Fatalf("%+v", p)
	}
	close(t, "chainage", p.Chainage, 95.909, 0.01)
	close(t, "distance", p.Distance, 3, 1e-4)
}

// Between the fingers of a fan the reach is that of the nearest finger.
func TestAnAxisBetweenFingersIsJudgedOnTheNextOne(t *testing.T) {
	fan := func(props ...model.Member) *Aim {
		return of(t, new(site.Site).Sensor("S1", orb.Point{}, "fan-30-40", 3, 90, 2, props...))
	}
	a := fan()
	close(t, "aside", a.Aside, 2.5, 1e-9)
	if far, _ := a.Target.Far(); far < 30 {
		t.Errorf("far %v: the fingers reach 40 m", far)
	}
	close(t, "aside of a mask", fan(model.Prop("masked", []any{map[string]any{"from_deg": 0, "to_deg": 20}})).Aside, -2.5, 1e-9)
	if a := fan(model.Prop("masked", []any{map[string]any{"from_deg": 0, "to_deg": 360}})); a.Aside != 0 || a.Target.Why == "" {
		t.Errorf("all masked: aside %v, %q", a.Aside, a.Target.Why)
	}
}

func TestWhatHidesTheFarEndIsNamed(t *testing.T) {
	s := curtain(2)
	s.Building("H1", site.Box(40, -5, 50, 5), 6)
	a := of(t, s)
	if a.Target.HiddenBy != "H1" {
		t.Errorf("hidden by %q", a.Target.HiddenBy)
	}
	far, _ := a.Target.Far()
	close(t, "far", far, 40, 1e-4)
	s.Building("H2", site.Box(1, -5, 2, 5), 6)
	if a := of(t, s); !strings.Contains(a.Target.Why, "hidden by H2") {
		t.Errorf("%q does not name H2", a.Target.Why)
	}
	s.Building("H3", site.Box(-5, -5, 5, 5), 6)
	if a := of(t, s); a.Eye.Buried != "H3" || !strings.Contains(a.Target.Why, "H3") {
		t.Errorf("buried in %q: %q", a.Eye.Buried, a.Target.Why)
	}
}

func TestATiltThatIsProposedGivesTheReach(t *testing.T) {
	for _, m := range model.Builtin() {
		for _, mount := range []float64{2.5, 3.2, 6} {
			for _, reach := range []float64{6, 9, 15, 24, 38, 62, 99} {
				s := new(site.Site).Sensor("S1", orb.Point{}, m.ID, mount, 90, 3)
				a := of(t, s)
				tilt, err := a.TiltFor(reach)
				if err != nil {
					if reach > a.Eye.Reach() && strings.Contains(err.Error(), "the range of "+m.ID+" ends") || strings.Contains(err.Error(), "it jumps from") {
						continue
					}
					t.Errorf("%s %g m up to %g m: %v", m.ID, mount, reach, err)
					continue
				}
				far, ok := a.Tilted(tilt).Target.Far()
				if !ok || math.Abs(far-reach) > 0.1+1e-9 {
					t.Errorf("%s %g m up to %g m: tilt %v reaches %v", m.ID, mount, reach, tilt, far)
				}
				if far, _ := a.Tilted(tilt + 0.02).Target.Far(); far >= reach {
					t.Errorf("%s %g m up to %g m: a steeper tilt than %v reaches %v", m.ID, mount, reach, tilt, far)
				}
			}
		}
	}
}

func TestAReachThatCannotBeHadSaysWhy(t *testing.T) {
	s := curtain(2)
	if _, err := of(t, s).TiltFor(120); err == nil || !strings.Contains(err.Error(), "sensor S1 cannot reach 120 m at any tilt: 100.0 m is the farthest, where the range of curtain-3-100 ends") {
		t.Error(err)
	}
	high := new(site.Site).Sensor("S1", orb.Point{0, 0}, "curtain-3-100", 20, 90, 2)
	if _, err := of(t, high).TiltFor(0.1); err == nil || !strings.Contains(err.Error(), "cannot reach as little as 0.1 m: at the steepest tilt, 89°") {
		t.Error(err)
	}
	// The slant range of 100 m is 99.98 m on the ground, which is near enough.
	if _, err := of(t, s).TiltFor(100); err != nil {
		t.Error(err)
	}
	s.Building("H1", site.Box(40, -5, 50, 5), 6)
	if _, err := of(t, s).TiltFor(45); err == nil || !strings.Contains(err.Error(), "40.0 m is the farthest, where H1 hides") {
		t.Error(err)
	}
	// Behind a low wall the far edge jumps.
	s = curtain(2)
	s.Add(model.KindObstacle, "O1", orb.LineString{{30, -5}, {30, 5}}, model.Prop("height_m", 1.6))
	if _, err := of(t, s).TiltFor(35); err == nil || !strings.Contains(err.Error(), "it jumps from 30.0 m") || !strings.Contains(err.Error(), "O1 hides the ground there") {
		t.Error(err)
	}
}

func TestOnTerrainTheProposedTiltGivesTheReachToo(t *testing.T) {
	const n = 260
	z := make([]float32, n*n)
	for i := range z {
		x, y := float64(i%n), float64(i/n)
		z[i] = float32(2*math.Sin(x/23) + math.Sin(y/17+x/40))
	}
	g, err := terrain.New(n, n, z, terrain.Affine([3]float64{n / 2, 1, 0}, [3]float64{n / 2, 0, -1}), orb.Bound{Min: orb.Point{-130, -130}, Max: orb.Point{129, 129}})
	if err != nil {
		t.Fatal(err)
	}
	had := 0
	for bearing := 0.0; bearing < 360; bearing += 20 {
		s := new(site.Site).Sensor("S1", orb.Point{3, 4}, "curtain-3-100", 3, bearing, 3)
		a, err := Of(scene.OnGround(s.Plan(t), site.Grid, g), "S1")
		if err != nil {
			t.Fatal(err)
		}
		tilt, err := a.TiltFor(30)
		if err != nil {
			if !strings.Contains(err.Error(), "jumps") && !strings.Contains(err.Error(), "farthest") {
				t.Error(err)
			}
			continue
		}
		had++
		far, _ := a.Tilted(tilt).Target.Far()
		close(t, "far", far, 30, 0.1)
		if m := a.Tilted(tilt).Axis; m.What == Ground {
			fall := math.Tan(tilt * math.Pi / 180)
			close(t, "the axis where it meets the ground", a.Eye.Z-m.Distance*fall, a.sc.Ground(m.At), 0.006)
		}
	}
	if had < 5 {
		t.Errorf("only %d of 18 bearings could have the reach", had)
	}
}

func TestTiltingLeavesTheAimAsItWas(t *testing.T) {
	a := of(t, curtain(2))
	before, _ := a.Target.Far()
	b := a.Tilted(10)
	if far, _ := b.Target.Far(); far >= before || b.Axis.Distance >= a.Axis.Distance {
		t.Errorf("at 10 degrees it reaches %v m, at 2 %v m", far, before)
	}
	if _, err := a.TiltFor(30); err != nil {
		t.Error(err)
	}
	after, _ := of(t, curtain(2)).Target.Far()
	again, _ := a.Tilted(2).Target.Far()
	close(t, "far", again, after, 1e-9)
	x, errX := b.TiltFor(40)
	y, errY := a.TiltFor(40)
	if errX != nil || errY != nil {
		t.Fatal(errX, errY)
	}
	close(t, "tilt", x, y, 1e-6)
}
