package contrast

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestASeriesIsRead(t *testing.T) {
	in := "\xef\xbb\xbfair_c,time,background_c\r\n12.5,2026-07-14T12:00Z,\r\n 13 , 2026-07-14T14:30:00+01:00 ,21.5\r\n\r\n"
	got, err := ReadSeries(strings.NewReader(in))
	if err != nil {
		t.Fatal(err)
	}
	noon := time.Date(2026, 7, 14, 12, 0, 0, 0, time.UTC)
	if len(got) != 2 || !got[0].Time.Equal(noon) || got[0].Air != 12.5 || got[0].Background != 12.5 || got[0].Measured ||
		!got[1].Time.Equal(noon.Add(90*time.Minute)) || got[1].Background != 21.5 || !got[1].Measured {
		t.Errorf("read %+v", got)
	}
}

func TestWhatIsWrongInASeriesIsNamed(t *testing.T) {
	const head = "time,air_c,background_c\n"
	for _, r := range []struct{ name, in, want string }{
		{"empty", "", "line 1: the file is empty: the first line must be time,air_c"},
		{"only a header", head, "line 2: there is no reading"},
		{"semicolons", "time;air_c\n", `line 1: "time;air_c" is not parted by commas`},
		{"an unknown column", "time,air_c,wind\n", `line 1: column "wind" is not known: the columns are time, air_c and background_c`},
		{"a column twice", "time,air_c,air_c\n", "line 1: column air_c stands there twice"},
		{"no air", "time,background_c\n", "line 1: column air_c is missing"},
		{"no number", head + "2026-01-01T00:00Z,warm,1\n", `line 2: air_c "warm" is not a number of degrees Celsius`},
		{"a decimal comma", head + "2026-01-01T00:00Z,\"3,5\",1\n", "write the decimals with a point"},
		{"bare decimal commas", head + "2026-01-01T00:00Z,3,5,1,0\n", "line 2: 5 values, the header has 3 columns"},
		{"too hot", head + "2026-01-01T00:00Z,3,1\n2026-01-01T01:00Z,3,1200\n", "line 3: background_c 1200 is not between -80 and 120 degrees Celsius"},
		{"not a number", head + "2026-01-01T00:00Z,NaN,\n", `air_c "NaN" is not a number`},
		{"beyond numbers", head + "2026-01-01T00:00Z,1e999,\n", "air_c 1e999 is not between -60 and 60"},
		{"infinite", head + "2026-01-01T00:00Z,-Inf,\n", "air_c -Inf is not between -60 and 60"},
		{"no air in a line", head + "2026-01-01T00:00Z,,4\n", "line 2: air_c is empty"},
		{"no zone", head + "2026-01-01 00:00,3,4\n", `line 2: time "2026-01-01 00:00" has no zone: write 2026-01-01T00:00:00Z`},
		{"no time", head + "01/02/2026,3,4\n", `line 2: time "01/02/2026" is not a date and time: write it as`},
		{"no such day", head + "2026-02-30T00:00Z,3,4\n", "line 2: time \"2026-02-30T00:00Z\" is not a date"},
		{"backwards", head + "2026-01-01T02:00Z,3,4\n2026-01-01T02:00Z,3,4\n", "line 3: time 2026-01-01T02:00:00Z is not after the time before it"},
		{"an open quote", head + "2026-01-01T02:00Z,\"3,4\n", "not comma-separated text"},
	} {
		t.Run(r.name, func(t *testing.T) {
			got, err := ReadSeries(strings.NewReader(r.in))
			if err == nil || !strings.Contains(err.Error(), r.want) || got != nil {
				t.Errorf("read %v, error %q, want %q", got, err, r.want)
			}
		})
	}
}

func TestAtMostTwentyFaultsAreTold(t *testing.T) {
	in := "time,air_c\n" + strings.Repeat("never,3\n", 100)
	_, err := ReadSeries(strings.NewReader(in))
	if n := strings.Count(fmt.Sprint(err), "\n") + 1; n != 20 {
		t.Errorf("%d faults told, want 20", n)
	}
}

func FuzzReadSeries(f *testing.F) {
	f.Add("time,air_c\n2026-01-01T00:00Z,3\n")
	f.Add("time,air_c,background_c\n2026-01-01T00:00:00.5+01:00,3,\n\"")
	f.Fuzz(func(t *testing.T, in string) {
		got, err := ReadSeries(strings.NewReader(in))
		if (err == nil) == (len(got) == 0) {
			t.Fatalf("%d readings and error %v", len(got), err)
		}
		for i, r := range got {
			if math.IsNaN(r.Air+r.Background) || i > 0 && !r.Time.After(got[i-1].Time) {
				t.Fatalf("reading %d is %+v", i, r)
			}
		}
	})
}

func hourly(background ...float64) (out []Reading) {
	start := time.Date(2026, 7, 14, 0, 0, 0, 0, time.UTC)
	for i, b := range background {
		out = append(out, Reading{Time: start.Add(time.Duration(i) * time.Hour), Air: 20, Background: b, Measured: true})
	}
	return out
}

func TestALowContrastSpellBeginsAndEndsBetweenReadings(t *testing.T) {
	// The ground warms through that of skin, 33 degrees, and on; then cools.
	spells, known := LowContrast(hourly(27, 31, 35, 39, 39, 29), Target{Body: Skin}, 2)
	start := time.Date(2026, 7, 14, 0, 0, 0, 0, time.UTC)
	want := []Spell{
		{start.Add(time.Hour), start.Add(2 * time.Hour), 0},
		{start.Add(4*time.Hour + 24*time.Minute), start.Add(4*time.Hour + 48*time.Minute), 0},
	}
	if known != 5*time.Hour || !slices.Equal(spells, want) {
		t.Errorf("%v of %v, want %v", spells, known, want)
	}
}

func TestNothingIsSaidOfAHoleInASeries(t *testing.T) {
	s := hourly(33, 33, 33)
	s[2].Time = s[2].Time.Add(48 * time.Hour)
	spells, known := LowContrast(s, Target{Body: Skin}, 2)
	if known != time.Hour || len(spells) != 2 || spells[0].Duration() != time.Hour || spells[1].Duration() != 0 {
		t.Errorf("%v of %v", spells, known)
	}
}

func TestClothedTargetsFadeOverGroundAsWarmAsTheAir(t *testing.T) {
	s := hourly(20, 20) // skin 13 K warmer, clothing at 0.9 only 1.3 K
	if spells, _ := LowContrast(s, Target{Body: Skin}, Threshold); len(spells) != 0 {
		t.Errorf("bare: %v", spells)
	}
	spells, _ := LowContrast(s, Target{Body: Skin, Clothing: 0.9}, Threshold)
	if len(spells) != 1 || spells[0].Duration() != time.Hour || math.Abs(spells[0].Least-1.3) > 1e-9 {
		t.Errorf("clothed: %v", spells)
	}
}

func TestLowContrastSpells(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
		var series []Reading
		for range rapid.IntRange(0, 40).Draw(t, "readings") {
			at = at.Add(time.Duration(rapid.IntRange(1, 240).Draw(t, "minutes")) * time.Minute)
			series = append(series, Reading{Time: at, Air: 20, Background: rapid.Float64Range(20, 45).Draw(t, "background")})
		}
		target := Target{Body: Skin}
		limit := rapid.Float64Range(0.1, 6).Draw(t, "limit")
		spells, known := LowContrast(series, target, limit)
		wider, same := LowContrast(series, target, limit+1)
		var sum, widerSum time.Duration
		for i, s := range spells {
			if s.To.Before(s.From) || s.Least < 0 || s.Least >= limit || i > 0 && !s.From.After(spells[i-1].To) {
				t.Fatalf("spell %d: %+v after %+v", i, s, spells[max(i-1, 0)])
			}
			sum += s.Duration()
		}
		for _, s := range wider {
			widerSum += s.Duration()
		}
		if same != known || sum > known || widerSum < sum {
			t.Fatalf("%v low within %v, a wider threshold gives %v", sum, known, widerSum)
		}
		for _, r := range series {
			low := math.Abs(Skin-r.Background) < limit
			in := slices.ContainsFunc(spells, func(s Spell) bool { return !r.Time.Before(s.From) && !r.Time.After(s.To) })
			if low != in && math.Abs(math.Abs(Skin-r.Background)-limit) > 1e-6 {
				t.Fatalf("%+v is low %v, in a spell %v", r, low, in)
			}
		}
		var byHour time.Duration
		for _, m := range ByMonthAndHour(spells, time.FixedZone("", 5*3600+1800)) {
			for _, h := range m {
				byHour += h
			}
		}
		if byHour != sum {
			t.Fatalf("by month and hour %v, spells %v", byHour, sum)
		}
	})
}

func TestHoursAreThoseOfTheClock(t *testing.T) {
	from := time.Date(2026, 7, 31, 22, 45, 0, 0, time.UTC)
	got := ByMonthAndHour([]Spell{{From: from, To: from.Add(time.Hour)}}, time.FixedZone("", 3600))
	if got[6][23] != 15*time.Minute || got[7][0] != 45*time.Minute {
		t.Errorf("July 23 h %v, August 0 h %v", got[6][23], got[7][0])
	}
}
