package sun

import (
	"testing"
	"time"
)

func day(month time.Month, d int, zone *time.Location) time.Time {
	return time.Date(2026, month, d, 0, 0, 0, 0, zone)
}

func TestSpellsOfOnePartOfTheDayAreOneSeason(t *testing.T) {
	summer, winter := time.FixedZone("", 3600), time.UTC
	at := func(h, m int) time.Duration { return time.Duration(h*60+m) * time.Minute }
	spell := func(from, to time.Time, a, b, ahead time.Duration) Spell {
		return Spell{From: from, To: to, Earliest: a, Latest: b, Ahead: ahead, Days: int(to.Sub(from).Hours()/24) + 1}
	}
	for _, r := range []struct {
		name   string
		spells []Spell
		lon    float64
		want   []string
		days   int
	}{
		{"over the change of the clocks", []Spell{
			spell(day(3, 20, winter), day(3, 28, winter), at(6, 0), at(6, 40), 0),
			spell(day(3, 29, summer), day(4, 10, summer), at(6, 30), at(7, 30), time.Hour)}, 0,
			[]string{"mornings 20 Mar to 10 Apr, 06:00 to 07:30"}, 22},
		{"two seasons stay two", []Spell{
			spell(day(2, 3, winter), day(3, 1, winter), at(7, 0), at(8, 10), 0),
			spell(day(10, 5, winter), day(10, 5, winter), at(6, 50), at(7, 0), 0)}, 0,
			[]string{"mornings 3 Feb to 1 Mar and 5 Oct, 06:50 to 08:10"}, 28},
		{"both sides of the day", []Spell{
			spell(day(6, 1, winter), day(6, 30, winter), at(4, 0), at(5, 0), 0),
			spell(day(6, 1, winter), day(6, 30, winter), at(19, 0), at(20, 0), 0)}, 0,
			[]string{"mornings 1 Jun to 30 Jun, 04:00 to 05:00", "evenings 1 Jun to 30 Jun, 19:00 to 20:00"}, 30},
		{"round noon", []Spell{spell(day(12, 1, winter), day(12, 20, winter), at(10, 0), at(13, 30), 0)}, 0,
			[]string{"by day 1 Dec to 20 Dec, 10:00 to 13:30"}, 20},
		{"a morning far east by the clock of Greenwich", []Spell{spell(day(1, 1, winter), day(1, 31, winter), at(19, 30), at(20, 30), 0)}, 150,
			[]string{"mornings 1 Jan to 31 Jan, 19:30 to 20:30"}, 31},
		{"past the clock's midnight", []Spell{spell(day(1, 1, winter), day(1, 31, winter), at(23, 30), at(0, 30), 0)}, 100,
			[]string{"mornings 1 Jan to 31 Jan, 23:30 to 00:30"}, 31},
		{"the midnight sun", []Spell{spell(day(6, 1, winter), day(6, 3, winter), at(23, 0), at(1, 0), 0)}, 0,
			[]string{"by night 1 Jun to 3 Jun, 23:00 to 01:00"}, 3},
		{"all year", []Spell{spell(day(1, 1, winter), day(12, 31, winter), at(6, 0), at(6, 45), 0)}, 0,
			[]string{"mornings all year, 06:00 to 06:45"}, 365},
	} {
		t.Run(r.name, func(t *testing.T) {
			var got []string
			for _, s := range Seasons(r.spells, r.lon) {
				got = append(got, s.Words())
			}
			if len(got) != len(r.want) {
				t.Fatalf("%q, want %q", got, r.want)
			}
			for i := range got {
				if got[i] != r.want[i] {
					t.Errorf("%q, want %q", got[i], r.want[i])
				}
			}
			if n := Days(r.spells); n != r.days {
				t.Errorf("%d days, want %d", n, r.days)
			}
		})
	}
}

func TestATimeOfDayIsToldToTheNearestMinute(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0: "00:00", 29 * time.Second: "00:00", 6*time.Hour + 90*time.Second: "06:02", 24*time.Hour - time.Second: "00:00",
	} {
		if got := Clock(d); got != want {
			t.Errorf("%v is %s, want %s", d, got, want)
		}
	}
}
