package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"pleach/model/sun"
)

// lowSunBasis writes what the dates of low sun are reckoned with, null where they
// were not reckoned.
func (j *jsonReport) lowSunBasis() {
	s := j.r.Sun
	if s == nil {
		j.null()
		return
	}
	j.open('{')
	j.keyNumber("above_deg", sun.Rise)
	j.keyNumber("below_deg", sun.Low)
	j.key("year")
	j.integer(s.Year)
	j.key("year_stated")
	j.flag(s.Stated)
	j.keyText("time_zone", s.Clock)
	j.close('}')
}

// lowSun writes when the low sun stands in one sensor's pattern: dates, and times
// of day as the clock shows them, which is ahead of UTC by utc_offset.
func (j *jsonReport) lowSun(spells []sun.Spell) {
	j.open('[')
	for _, s := range spells {
		j.open('{')
		j.keyText("from", s.From.Format(time.DateOnly))
		j.keyText("to", s.To.Format(time.DateOnly))
		j.key("days")
		j.integer(s.Days)
		j.keyText("earliest", sun.Clock(s.Earliest))
		j.keyText("latest", sun.Clock(s.Latest))
		j.keyText("utc_offset", offset(s.Ahead))
		j.keyText("time_zone", j.r.Sun.Clock)
		j.close('}')
	}
	j.close(']')
}

func offset(ahead time.Duration) string {
	sign := '+'
	if ahead < 0 {
		sign, ahead = '-', -ahead
	}
	m := int(ahead.Round(time.Minute) / time.Minute)
	return fmt.Sprintf("%c%02d:%02d", sign, m/60, m%60)
}

// lowSun prints a line for each sensor with low sun in its pattern; of many only
// those with the most days of it.
func (t *textReport) lowSun() {
	type row struct {
		i, days int
	}
	var rows []row
	for i, s := range t.r.Sensors {
		if len(s.LowSun) > 0 {
			rows = append(rows, row{i, sun.Days(s.LowSun)})
		}
	}
	if len(rows) == 0 {
		return
	}
	rest := 0
	if len(rows) > many {
		slices.SortStableFunc(rows, func(a, b row) int { return cmp.Compare(b.days, a.days) })
		rest = len(rows) - shown
		rows = rows[:shown]
		slices.SortFunc(rows, func(a, b row) int { return cmp.Compare(a.i, b.i) })
	}
	t.heading("Low sun in the pattern")
	widest := 0
	for _, r := range rows {
		widest = max(widest, len(t.r.Sensors[r.i].ID))
	}
	for _, r := range rows {
		id := t.r.Sensors[r.i].ID
		first := fmt.Sprintf("  %s%s ", id, strings.Repeat(" ", max(0, widest-len(id))))
		t.lines(wrap(fmt.Sprintf("%s, %s", count(r.days, "day", "days"), t.r.LowSunWords(r.i)), t.width, first, strings.Repeat(" ", min(widest, 12)+3)))
	}
	if rest > 0 {
		t.wrapped(fmt.Sprintf("and %s with fewer days of it: see --json.", count(rest, "sensor", "sensors")), "  ")
	}
	t.wrapped(fmt.Sprintf("When the sun stands below %g degrees in an azimuth the sensor looks at, over an open level view: %s.", sun.Low, t.r.Sun.Basis()), "  ")
}
