package signal

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/contrast"
	"pleach/model/scene"
	"pleach/model/sitegrid"
)

// yard is a square of 100 m with a sensor 3 m up at 0, 0 that looks east, and
// further features.
func yard(t *testing.T, more ...*model.Feature) *scene.Scene {
	t.Helper()
	g := sitegrid.New(8, 47)
	at := func(x, y float64) orb.Point { return g.ToLonLat(orb.Point{x, y}) }
	p, err := model.Add{Features: append([]*model.Feature{
		model.NewFeature(model.KindBoundary, "B1", orb.Polygon{{at(-50, -50), at(50, -50), at(50, 50), at(-50, 50), at(-50, -50)}}),
		model.NewFeature(model.KindSensor, "S1", at(0, 0), model.Prop("model", "curtain-4-63"), model.Prop("mount_height_m", 3), model.Prop("bearing_deg", 90), model.Prop("tilt_deg", 2)),
	}, more...)}.Apply(model.NewPlan())
	if err != nil {
		t.Fatal(err)
	}
	return scene.New(p)
}

func sensor(t *testing.T, more ...*model.Feature) *Sensor {
	t.Helper()
	s, err := Of(yard(t, more...), "S1")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// By hand: the boundary begins at the south-west corner and runs east; the sensor is
// 50 m from the middle of each side.
func TestACrossingOfABoundaryAsTheSensorSeesIt(t *testing.T) {
	s := sensor(t)
	for _, r := range []struct{ chainage, distance, heading float64 }{
		{50, 50, 0},                      // the middle of the south side: straight at it
		{0, 50 * math.Sqrt2, 45},         // the corner
		{150, 50, 0},                     // the middle of the east side
		{75, math.Hypot(50, 25), 26.565}, // atan(25/50)
	} {
		p, err := s.On("B1", r.chainage)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(p.Distance-r.distance) > 0.01 || math.Abs(p.Heading-r.heading) > 0.1 || math.Abs(p.Height-(3-1.7/2)) > 1e-6 {
			t.Errorf("at %g m: %+v, want %g m at %g degrees", r.chainage, p, r.distance, r.heading)
		}
	}
	for _, bad := range []float64{-1, 401, math.NaN()} {
		if _, err := s.On("", bad); err == nil || !strings.Contains(err.Error(), "is not between 0 and 400") {
			t.Errorf("at %g: %v", bad, err)
		}
	}
}

// The sensor of the yard is a curtain 4 degrees wide that reaches 63 m.
func TestACrossingOutsideThePatternIsToldSo(t *testing.T) {
	g := sitegrid.New(8, 47)
	at := func(x, y float64) orb.Point { return g.ToLonLat(orb.Point{x, y}) }
	wall := model.NewFeature(model.KindBuilding, "H1", orb.Polygon{{at(30, -5), at(32, -5), at(32, 5), at(30, 5), at(30, -5)}}, model.Prop("height_m", 6))
	on := func(s *Sensor, chainage float64) Place {
		p, err := s.On("B1", chainage)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	open, shut := sensor(t), sensor(t, wall)
	for _, r := range []struct {
		name string
		got  string
		want string
	}{
		{"on the axis", open.Unseen(open.Ahead(50)), ""},
		{"on the axis beyond the range", open.Unseen(open.Ahead(80)), "the range of curtain-4-63 is 63 m"},
		{"on the axis behind a building", shut.Unseen(shut.Ahead(50)), "not seen there along the axis"},
		{"where the axis meets the boundary", open.Unseen(on(open, 150)), ""},
		{"at the boundary behind the sensor", open.Unseen(on(open, 350)), "180° off the bearing"},
		{"at the boundary beside it", open.Unseen(on(open, 50)), "90° off the bearing"},
	} {
		if r.want == "" && r.got != "" || !strings.Contains(r.got, r.want) {
			t.Errorf("%s: %q, want %q", r.name, r.got, r.want)
		}
	}
	if far, ok := open.Far(); !ok || open.Unseen(far) != "" {
		t.Errorf("the far reach: %v, %q", ok, open.Unseen(far))
	}
}

func TestTheWalkTestToGoByIsTheLatestThatStatesBothTemperatures(t *testing.T) {
	walk := func(id, at string, more ...model.Member) *model.Feature {
		return model.NewFeature(model.KindReading, id, nil, append([]model.Member{model.Prop("of", []string{"S1"}), model.Prop("what", "walk-test"), model.Prop("at", at)}, more...)...)
	}
	both := []model.Member{model.Prop("air_c", 5), model.Prop("background_c", 4)}
	s := sensor(t, walk("M1", "2026-05-01T10:00:00Z", both...), walk("M2", "2026-04-01T10:00:00Z", both...), walk("M3", "2026-06-01T10:00:00Z", model.Prop("air_c", 9)))
	tested, err := s.Tested("", 40)
	if err != nil || tested.Reading == nil || tested.Reading.ID != "M1" || tested.Air != 5 || tested.Distance != 40 {
		t.Errorf("%+v, %v", tested, err)
	}
	if tested, err = s.Tested("M3", 40); err != nil || tested.Air != 9 || tested.Background != 10 || strings.Join(tested.Assumed, " ") != "distance speed direction ground clothing" {
		t.Errorf("%+v, %v", tested, err)
	}
	if _, err = s.Tested("M4", 40); err == nil || !strings.Contains(err.Error(), "one of M1, M2, M3") {
		t.Error(err)
	}
}

func TestEachRowOfTheTableChangesOneThing(t *testing.T) {
	s := sensor(t)
	tested, err := s.Tested("", 30)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := s.Table(tested.Condition, tested)
	if err != nil {
		t.Fatal(err)
	}
	if rows[0].DB != 0 {
		t.Errorf("the walk test against itself: %v dB", rows[0].DB)
	}
	for _, r := range rows[1:] {
		moved := 0
		for _, part := range []float64{r.Contrast, r.Filling, r.Movement, r.Air} {
			if part != 0 {
				moved++
			}
		}
		if moved > 1 || math.Abs(r.Contrast+r.Filling+r.Movement+r.Air-r.DB) > 1e-9 || r.Uncertainty < 3 {
			t.Errorf("%s: %+v", r.Name, r.Signal)
		}
	}
}

func TestLowHoursOfAMonthAddUp(t *testing.T) {
	var series []contrast.Reading
	for h := range 24*31 + 1 {
		series = append(series, contrast.Reading{Time: time.Date(2026, 7, 1, h, 0, 0, 0, time.UTC), Air: 20, Background: 15 + float64(h%24), Measured: h != 5})
	}
	h := LowHours(series, 0, 1.7, nil)
	low, known := h.Month(time.July)
	if known != 31*24*time.Hour || known != h.Known || low != h.Low || h.Measured || len(h.Longest) != longest {
		t.Errorf("%v of %v in July, %v of %v in all, measured %v, %d longest", low, known, h.Low, h.Known, h.Measured, len(h.Longest))
	}
	// The ground is at 33 degrees, that of bare skin, at 18:00 and warms by 1 K an hour;
	// in the last hour of the day it falls by 23 K, past 33 again.
	if want := 31 * (3.4 + 3.4/23); math.Abs(low.Hours()-want) > 0.1 {
		t.Errorf("%v hours of low contrast, want %v", low.Hours(), want)
	}
	if h := LowHours(series[:1], 0, 1.7, nil); h.Known != 0 || h.Share() != 0 || len(h.Longest) != 0 {
		t.Errorf("of one reading: %+v", h)
	}
}
