package analysis

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/sun"
)

// Sunlight is what low sun is reckoned with.
type Sunlight struct {
	Year   int
	Stated bool   // the year is that of the plan's date
	Clock  string // by which times are told: an IANA name, or local mean solar time
	zone   *time.Location

	track  *sun.Track
	spells []shine // in the order of Sensors
}

// shine is the low sun in one sensor's pattern.
type shine struct {
	feature *model.Feature
	spells  []sun.Spell
	days    int // of the year, in any spell
}

// sunYear is the year low sun is reckoned for where the plan's date names none. Its
// dates move by a day at most from year to year. Chosen.
const sunYear = 2026

// SolarTime is the clock by which times are told where a plan states no time zone.
const SolarTime = "local mean solar time"

// Clock returns by which clock a plan's times of day are told at a longitude in
// degrees: that of its time zone, else local mean solar time to the minute, which
// needs no zone and is the same in summer and in winter.
func Clock(s model.Settings, lon float64) (name string, zone *time.Location) {
	if s.Clock != nil {
		return s.TimeZone, s.Clock
	}
	minutes := int(math.Round(lon * 4))
	return SolarTime, time.FixedZone(SolarTime, minutes*60)
}

// yearOf returns the first year that a date names, from 1950 to 2050, for which the
// sun is reckoned rightly.
func yearOf(date string) (year int, ok bool) {
	for _, digits := range strings.FieldsFunc(date, func(r rune) bool { return r < '0' || r > '9' }) {
		var y int
		if len(digits) == 4 {
			if _, err := fmt.Sscan(digits, &y); err == nil && y >= 1950 && y <= 2050 {
				return y, true
			}
		}
	}
	return 0, false
}

// sunlight works out when the low sun stands in which pattern, and takes over what
// still holds of a result on the same surroundings.
func (r *Result) sunlight(previous *Result) {
	g := r.Scene.Grid
	set := r.Plan.Settings
	if previous != nil && previous.Sun != nil {
		s := *previous.Sun
		r.Sun = &s
	} else {
		r.Sun = &Sunlight{Year: sunYear}
		if y, ok := yearOf(set.Date); ok {
			r.Sun.Year, r.Sun.Stated = y, true
		}
		r.Sun.Clock, r.Sun.zone = Clock(set, g.Lon0)
	}
	old := r.Sun.spells
	r.Sun.spells = make([]shine, len(r.works))
	var todo []int
	for i, at := range r.since.from {
		if w := &r.Sun.spells[i]; at >= 0 && old != nil {
			*w = old[at]
		} else if w.feature = r.works[i].feature; r.Sensors[i].Buried == "" {
			todo = append(todo, i)
		}
	}
	if len(todo) > 0 && r.Sun.track == nil {
		r.Sun.track = sun.LowSun(g.Lon0, g.Lat0, r.Sun.Year, r.Sun.zone)
	}
	each(len(todo), func() func(int) {
		return func(k int) {
			w := &r.Sun.spells[todo[k]]
			s := w.feature.Value.(*model.Sensor)
			if m, ok := r.Plan.Model(s.Model); ok {
				w.spells = r.Sun.track.In(sun.Arcs(s, m))
				w.days = sun.Days(w.spells)
			}
		}
	})
	for _, i := range todo {
		r.Sensors[i].LowSun = r.Sun.spells[i].spells
	}
}

// Basis says in words for which year and by which clock the dates and hours are.
func (s *Sunlight) Basis() string {
	year := fmt.Sprintf("in %d, the year of the plan's date", s.Year)
	if !s.Stated {
		year = fmt.Sprintf("in %d, as the plan's date names no year (other years differ by a day at most)", s.Year)
	}
	clock := "by the clock of " + s.Clock
	if s.Clock == SolarTime {
		_, ahead := time.Date(s.Year, 1, 1, 0, 0, 0, 0, s.zone).Zone()
		sign := '+'
		if ahead < 0 {
			sign, ahead = '−', -ahead
		}
		clock = fmt.Sprintf("in %s (UTC%c%02d:%02d), as the plan states no time_zone", s.Clock, sign, ahead/3600, ahead/60%60)
	}
	return year + ", " + clock
}

// LowSunWords says in one line when the low sun stands in sensor i's pattern, ""
// for never.
func (r *Result) LowSunWords(i int) string {
	var words []string
	for _, s := range sun.Seasons(r.Sensors[i].LowSun, r.Scene.Grid.Lon0) {
		words = append(words, s.Words())
	}
	return strings.Join(words, "; ")
}

// ruleLowSun: the low sun stands in patterns. One finding tells of all: most
// sensors have some, and the dates stand in the report.
func ruleLowSun(r *Result) []model.Finding {
	var ids []string
	most, which := 0, 0
	for i := range r.Sensors {
		s := &r.Sensors[i]
		if len(s.LowSun) == 0 {
			continue
		}
		ids = append(ids, s.ID)
		if n := r.Sun.spells[i].days; n > most || n == most && s.ID < r.Sensors[which].ID {
			most, which = n, i
		}
	}
	if ids == nil {
		return nil
	}
	worst := r.Sensors[which]
	text := fmt.Sprintf("Low sun stands in the pattern of %s on %s of the year: %s.", r.title(worst.ID), days(most), r.LowSunWords(which))
	if len(ids) > 1 {
		text = fmt.Sprintf("Low sun stands in the patterns of %d of %d sensors at some hours of the year, on most days in that of %s (%s: %s).",
			len(ids), len(r.Sensors), r.title(worst.ID), days(most), r.LowSunWords(which))
	}
	var at *orb.Point
	if len(ids) == 1 {
		at = r.lonLat(worst.At)
	}
	return []model.Finding{{Rule: "low-sun", Severity: model.Note, Subject: ids, At: at, Text: text,
		Remedy: "Where there is a choice turn the axis away from where the sun rises and sets, or shade the lens; expect nuisance alarms at those hours and soak-test in that season."}}
}

func days(n int) string {
	if n == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%d days", n)
}
