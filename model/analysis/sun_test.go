package analysis

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/sun"
)

// eastAndNorth is a plan at 53 degrees north with a curtain that looks east and one
// that looks north, where the sun never stands.
func eastAndNorth(t testing.TB, settings ...model.Member) *model.Plan {
	t.Helper()
	sensor := func(id string, bearing float64) *model.Feature {
		return model.NewFeature(model.KindSensor, id, orb.Point{-1.5, 53}, model.Prop("model", "curtain-3-100"), model.Prop("mount_height_m", 3),
			model.Prop("bearing_deg", bearing), model.Prop("tilt_deg", 2))
	}
	p, err := model.Add{Features: []*model.Feature{
		model.NewFeature(model.KindBoundary, "B1", orb.Polygon{{{-1.501, 52.999}, {-1.499, 52.999}, {-1.499, 53.001}, {-1.501, 53.001}, {-1.501, 52.999}}}),
		sensor("S1", 90), sensor("S2", 0),
	}}.Apply(model.NewPlan(settings...))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// At each end of each spell the sun, asked directly, stands within the arcs and low.
func TestLowSunIsToldWhereTheSunIsLowInThePattern(t *testing.T) {
	r := run(t, eastAndNorth(t, model.Prop("date", "12 March 2027"), model.Prop("time_zone", "Europe/London")), nil)
	if r.Sun.Year != 2027 || !r.Sun.Stated || r.Sun.Clock != "Europe/London" {
		t.Errorf("%+v", r.Sun)
	}
	if len(r.Sensors[0].LowSun) < 2 || len(r.Sensors[1].LowSun) != 0 {
		t.Fatalf("east %v, north %v", r.Sensors[0].LowSun, r.Sensors[1].LowSun)
	}
	london, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Skip("no time zones on this machine: ", err)
	}
	for _, s := range r.Sensors[0].LowSun {
		y, m, d := s.From.Date()
		for _, hours := range []time.Duration{s.Earliest, s.Latest} {
			// On one of the days of the spell it stands there at that hour.
			found := false
			for k := range s.Days {
				at := time.Date(y, m, d+k, 0, 0, 0, 0, london).Add(hours) // spells do not run over the change of the clocks
				p := sun.At(at, -1.5, 53)
				found = found || p.Elevation > sun.Rise-0.3 && p.Elevation < sun.Low+0.3 && p.Azimuth > 90-7 && p.Azimuth < 90+7
			}
			if !found {
				t.Errorf("no low sun near east at %v from %v to %v", hours, s.From, s.To)
			}
		}
	}
}

func TestTheYearIsThatOfThePlansDateElseAFixedOneThatIsSaid(t *testing.T) {
	for _, row := range []struct {
		date   string
		year   int
		stated bool
	}{
		{"2031-05-01", 2031, true}, {"1 May 2031", 2031, true}, {"1.5.31", sunYear, false}, {"", sunYear, false},
		{"drawing 1234 of 2029", 2029, true}, {"9999", sunYear, false}, {"20290501", sunYear, false},
	} {
		t.Run(row.date, func(t *testing.T) {
			s := run(t, eastAndNorth(t, model.Prop("date", row.date)), nil).Sun
			if s.Year != row.year || s.Stated != row.stated {
				t.Errorf("year %d, stated %v", s.Year, s.Stated)
			}
			if words := s.Basis(); !strings.Contains(words, fmt.Sprint(row.year)) || strings.Contains(words, "names no year") == row.stated ||
				!strings.Contains(words, "local mean solar time (UTC−00:06)") {
				t.Error(words)
			}
		})
	}
}

func TestOneFindingTellsOfTheLowSunInAllPatterns(t *testing.T) {
	of := func(r *Result) (out []model.Finding) {
		for _, f := range r.Findings {
			if f.Rule == "low-sun" {
				out = append(out, f)
			}
		}
		return out
	}
	p := eastAndNorth(t)
	found := of(run(t, p, nil))
	if len(found) != 1 || found[0].Severity != model.Note || fmt.Sprint(found[0].Subject) != "[S1]" || !strings.HasPrefix(found[0].Text, "Low sun stands in the pattern of S1 on ") {
		t.Fatalf("%+v", found)
	}
	west, err := model.Set{ID: "S2", Values: []model.Value{{Property: "bearing_deg", Value: 265.0}}}.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	found = of(run(t, west, nil))
	if len(found) != 1 || fmt.Sprint(found[0].Subject) != "[S1 S2]" || !strings.Contains(found[0].Text, "of 2 of 2 sensors") {
		t.Fatalf("%+v", found)
	}
	away, err := model.Set{ID: "S1", Values: []model.Value{{Property: "bearing_deg", Value: 5.0}}}.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	if found := of(run(t, away, nil)); len(found) != 0 {
		t.Errorf("both look north: %+v", found)
	}
}

func TestOneSensorTurnedReckonsItsLowSunAlone(t *testing.T) {
	p := eastAndNorth(t)
	before := run(t, p, nil)
	q, err := model.Set{ID: "S2", Values: []model.Value{{Property: "bearing_deg", Value: 100.0}}}.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	after := run(t, q, before)
	if after.Sun.track != before.Sun.track || &after.Sensors[0].LowSun[0] != &before.Sensors[0].LowSun[0] {
		t.Error("what held was reckoned again")
	}
	if len(after.Sensors[1].LowSun) == 0 || len(before.Sensors[1].LowSun) != 0 {
		t.Error("the turned sensor has the low sun of before")
	}
	same(t, "turned", after, run(t, q, nil))
}

func BenchmarkLowSunOfTwoHundredSensors(b *testing.B) {
	p := largeSite(b, 50, 50)
	r := run(b, p, nil)
	b.ReportMetric(float64(len(r.Sensors)), "sensors")
	for b.Loop() {
		r.sunlight(nil)
	}
}
