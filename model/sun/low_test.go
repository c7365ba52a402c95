package sun

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pleach/model"
)

func TestOutsideRiseAndSet(t *testing.T) {
	// Seconds since mean solar midnight become UTC by the longitude.
	for _, r := range []struct {
		place     string
		lon, lat  float64
		month     time.Month
		day       int
		rise, set time.Duration // UTC
		from, to  float64       // azimuths
		source    string
	}{
		{"London at midsummer", -0.1275, 51.5072, time.June, 21, 3*time.Hour + 43*time.Minute, 20*time.Hour + 21*time.Minute, 49, 311,
			"almanac for London, 04:43 and 21:21 summer time, 49 and 311 degrees, from memory"},
		{"London at midwinter", -0.1275, 51.5072, time.December, 21, 8*time.Hour + 4*time.Minute, 15*time.Hour + 53*time.Minute, 128, 232,
			"almanac for London, 08:04 and 15:53, 128 and 232 degrees, from memory"},
	} {
		t.Run(r.place, func(t *testing.T) {
			k := LowSun(r.lon, r.lat, 2023, nil)
			d := time.Date(2023, r.month, r.day, 0, 0, 0, 0, time.UTC).YearDay() - 1
			v := k.visits(d, []Arc{{0, 360}}, nil)
			midnight := time.Date(2023, r.month, r.day, 0, 0, 0, 0, time.UTC)
			rise := k.instant(d, v[0].t0).Sub(midnight)
			set := k.instant(d, v[len(v)-1].t1).Sub(midnight)
			near(t, "rise, minutes", rise.Minutes(), r.rise.Minutes(), 1.5, r.source)
			near(t, "set, minutes", set.Minutes(), r.set.Minutes(), 1.5, r.source)
			near(t, "azimuth of rise", At(midnight.Add(rise), r.lon, r.lat).Azimuth, r.from, 0.6, r.source)
			near(t, "azimuth of set", At(midnight.Add(set), r.lon, r.lat).Azimuth, r.to, 0.6, r.source)
		})
	}
}

func TestSpellsHoldEveryLowSunInTheArcAndNoDayWithout(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon := rapid.Float64Range(-180, 180).Draw(t, "lon")
		lat := rapid.Float64Range(-84, 84).Draw(t, "lat")
		arc := Arc{rapid.Float64Range(0, 359.99).Draw(t, "from"), rapid.Float64Range(0.5, 360).Draw(t, "width")}
		k := LowSun(lon, lat, 2026, nil)
		d := rapid.IntRange(0, 364).Draw(t, "day")
		visits := k.visits(d, []Arc{arc}, nil)
		const aside = 0.02 // degrees
		in := func(sec float64, margin float64) bool {
			p := At(k.instant(d, sec), lon, lat)
			u := turn(p.Azimuth - arc.From + margin)
			return p.Elevation > Rise-margin && p.Elevation < Low+margin &&
				(arc.Width >= 360 || u < arc.Width+2*margin)
		}
		for sec := 0.0; sec <= 86400; sec += 60 {
			if !in(sec, -aside) {
				continue
			}
			found := false
			for _, v := range visits {
				found = found || sec >= v.t0 && sec <= v.t1
			}
			if !found {
				t.Fatalf("low in the arc at %v, not within %v", k.instant(d, sec), visits)
			}
		}
		for _, v := range visits {
			if !in(v.t0, aside) || !in(v.t1, aside) {
				p, q := At(k.instant(d, v.t0), lon, lat), At(k.instant(d, v.t1), lon, lat)
				t.Fatalf("not low in %v at %v or %v: %v %v", arc, k.instant(d, v.t0), k.instant(d, v.t1), p, q)
			}
		}
	})
}

func TestSpellsHoldEveryVisitAndEachOfTheirDaysHasOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon := rapid.Float64Range(-180, 180).Draw(t, "lon")
		lat := rapid.Float64Range(-84, 84).Draw(t, "lat")
		var arcs []Arc
		for range rapid.IntRange(1, 3).Draw(t, "arcs") {
			arcs = append(arcs, Arc{rapid.Float64Range(0, 359.99).Draw(t, "from"), rapid.Float64Range(0.5, 360).Draw(t, "width")})
		}
		k := LowSun(lon, lat, 2028, time.FixedZone("", int(math.Round(lon/15))*3600))
		n := len(k.days)
		all := k.absorb(k.throughNewYear(k.grow(arcs)))
		for d := range n {
			for _, v := range k.visits(d, arcs, nil) {
				if !slices.ContainsFunc(all, func(g growing) bool {
					return (g.first <= d && d <= g.last || g.first <= d+n && d+n <= g.last) && g.hull == g.hull.with(v)
				}) {
					t.Fatalf("visit %v of day %d is in no spell: %+v", v, d, all)
				}
			}
		}
		for i, s := range k.In(arcs) {
			for d := all[i].first; d <= all[i].last; d++ {
				if len(k.visits(d%n, arcs, nil)) == 0 {
					t.Fatalf("no low sun on day %d of %+v", d, s)
				}
			}
			if s.Earliest < 0 || s.Earliest >= 24*time.Hour || s.Latest < 0 || s.Latest >= 24*time.Hour {
				t.Fatalf("no time of day: %+v", s)
			}
			// Civil days and the sun's begin within an hour or so.
			if c := int(math.Round(s.To.Sub(s.From).Hours()/24)) + 1; c < s.Days-1 || c > s.Days+1 {
				t.Fatalf("%v to %v is not %d days", s.From, s.To, s.Days)
			}
		}
	})
}

func TestASouthwardSensorHasItsLowSunThroughTheNewYear(t *testing.T) {
	// Far enough north the winter sun stays below ten degrees at noon.
	k := LowSun(10, 59.9, 2026, time.FixedZone("", 3600))
	spells := k.In([]Arc{{170, 20}})
	if len(spells) != 1 {
		t.Fatalf("spells %+v, want one", spells)
	}
	s := spells[0]
	if s.From.Year() != 2026 || s.To.Year() != 2027 || s.From.Month() < time.October || s.To.Month() > time.February {
		t.Errorf("from %v to %v, want one winter", s.From, s.To)
	}
	if s.Earliest < 11*time.Hour || s.Latest > 14*time.Hour {
		t.Errorf("from %v to %v, want about noon", s.Earliest, s.Latest)
	}
}

func TestANorthwardSensorSeesNoLowSunInWinter(t *testing.T) {
	k := LowSun(-1.5, 53, 2026, nil)
	if got := k.In([]Arc{{-20 + 360, 40}}); len(got) != 0 {
		t.Errorf("the sun in the north: %+v", got)
	}
	for _, s := range k.In([]Arc{{30, 30}}) {
		if s.From.Month() < time.April || s.To.Month() > time.September {
			t.Errorf("north-east from %v to %v, want summer only", s.From, s.To)
		}
	}
}

func TestASpellEndsWhereTheClocksAreChanged(t *testing.T) {
	loc, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Skip("no time zones on this machine: ", err)
	}
	spells := LowSun(-1.5, 53, 2026, loc).In([]Arc{{60, 60}})
	spring := time.Date(2026, 3, 29, 0, 0, 0, 0, loc)
	found := false
	for _, s := range spells {
		found = found || s.From.Equal(spring)
		if s.From.Before(spring) && s.To.After(spring) {
			t.Errorf("%v to %v runs over the change of the clocks", s.From, s.To)
		}
	}
	if !found {
		t.Errorf("no spell begins on 29 March: %v", spells)
	}
}

func TestFarFromGreenwichTheHoursAreThoseOfTheDay(t *testing.T) {
	// The morning sun of eastern Australia stands low about UTC's midnight.
	k := LowSun(150, -30, 2026, nil)
	for _, s := range k.In([]Arc{{60, 60}}) {
		span := (s.Latest - s.Earliest + 24*time.Hour) % (24 * time.Hour)
		if span > 4*time.Hour || s.Earliest < 18*time.Hour {
			t.Errorf("%v to %v is no morning: %+v", s.Earliest, s.Latest, s)
		}
	}
}

func TestArcs(t *testing.T) {
	lobes := func(l ...model.Lobe) model.SensorModel { return model.SensorModel{Lobes: l} }
	for _, r := range []struct {
		name string
		s    model.Sensor
		m    model.SensorModel
		want []Arc
	}{
		{"nested lobes are one", model.Sensor{Bearing: 1}, lobes(model.Lobe{Width: 4}, model.Lobe{Width: 12}), []Arc{{355, 12}}},
		{"fingers stay apart", model.Sensor{Bearing: 90}, lobes(model.Lobe{Azimuth: -10, Width: 4}, model.Lobe{Azimuth: 10, Width: 4}), []Arc{{78, 4}, {98, 4}}},
		{"a mask cuts", model.Sensor{Bearing: 90, Masked: []model.Sector{{From: -5, To: 5}}}, lobes(model.Lobe{Width: 90}), []Arc{{45, 40}, {95, 40}}},
		{"a mask over all leaves nothing", model.Sensor{Masked: []model.Sector{{From: -180, To: 180}}}, lobes(model.Lobe{Width: 90}), nil},
		{"all round", model.Sensor{Bearing: 30}, lobes(model.Lobe{Width: 360}), []Arc{{210, 360}}},
		{"all round but a mask behind north", model.Sensor{Masked: []model.Sector{{From: 10, To: 350}}}, lobes(model.Lobe{Width: 360}), []Arc{{350, 20}}},
	} {
		t.Run(r.name, func(t *testing.T) {
			if got := Arcs(&r.s, r.m); fmt.Sprint(got) != fmt.Sprint(r.want) {
				t.Errorf("arcs %v, want %v", got, r.want)
			}
		})
	}
}

func TestArcsHoldWhatALobeHoldsAndNoMask(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := model.Sensor{Bearing: rapid.Float64Range(0, 359).Draw(t, "bearing")}
		var m model.SensorModel
		for range rapid.IntRange(1, 4).Draw(t, "lobes") {
			m.Lobes = append(m.Lobes, model.Lobe{Azimuth: rapid.Float64Range(-180, 180).Draw(t, "azimuth"), Width: rapid.Float64Range(1, 360).Draw(t, "width")})
		}
		for range rapid.IntRange(0, 3).Draw(t, "masks") {
			s.Masked = append(s.Masked, model.Sector{From: rapid.Float64Range(-180, 180).Draw(t, "mask"), To: rapid.Float64Range(-180, 180).Draw(t, "to")})
		}
		az := rapid.Float64Range(0, 359.99).Draw(t, "az")
		want, edge := false, false
		check := func(from, width float64) bool {
			u := turn(az - from)
			edge = edge || math.Abs(math.Remainder(u, 360)) < 1e-6 || math.Abs(u-width) < 1e-6
			return u <= width
		}
		for _, l := range m.Lobes {
			want = check(s.Bearing+l.Azimuth-l.Width/2, l.Width) || want
		}
		for _, k := range s.Masked {
			width := turn(k.To - k.From)
			if width == 0 {
				width = 360
			}
			if k.From != k.To && check(s.Bearing+k.From, width) {
				want = false
			}
		}
		if got := anyHolds(Arcs(&s, m), az); got != want && !edge {
			t.Fatalf("azimuth %g in %v is %v, want %v", az, Arcs(&s, m), got, want)
		}
	})
}

func BenchmarkAYearOfLowSunForTwoHundredSensors(b *testing.B) {
	for b.Loop() {
		k := LowSun(-1.5, 53, 2026, nil)
		n := 0
		for i := range 200 {
			n += len(k.In([]Arc{{float64(i) * 1.8, 12}, {turn(float64(i)*1.8 + 20), 4}}))
		}
		if n == 0 {
			b.Fatal("no low sun at all")
		}
	}
}
