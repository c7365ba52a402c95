package report

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pleach/model/analysis"
	"pleach/model/sun"
)

// sunny is a made-up result of n sensors; the i-th has i+1 days of low sun.
func sunny(t *testing.T, n int) *analysis.Result {
	t.Helper()
	r := result(t)
	r.Sun = &analysis.Sunlight{Year: 2031, Stated: true, Clock: "Europe/London"}
	r.Sensors = nil
	first := time.Date(2031, 3, 10, 0, 0, 0, 0, time.UTC)
	for i := range n {
		r.Sensors = append(r.Sensors, analysis.Sensor{ID: fmt.Sprintf("S%d", i+1), LowSun: []sun.Spell{{From: first, To: first.AddDate(0, 0, i),
			Earliest: 6*time.Hour + 10*time.Minute + 20*time.Second, Latest: 7 * time.Hour, Ahead: -9 * time.Minute, Days: i + 1}}})
	}
	return r
}

func TestLowSunIsALineASensorAndNeverPages(t *testing.T) {
	text := func(n int) string {
		var b strings.Builder
		if err := Text(&b, "yard.geojson", sunny(t, n), Width); err != nil {
			t.Fatal(err)
		}
		_, after, ok := strings.Cut(b.String(), "Low sun in the pattern\n----------------------\n")
		if !ok {
			t.Fatalf("no section:\n%s", b.String())
		}
		part, _, _ := strings.Cut(after, "\n\n")
		return part
	}
	few := text(2)
	for _, want := range []string{"  S1 1 day, mornings 10 Mar, 06:10 to 07:00\n", "  S2 2 days, mornings 10 Mar to 11 Mar, 06:10 to 07:00\n", "in 2031, the year of the plan's date, by the clock of Europe/London."} {
		if !strings.Contains(few, want) && !strings.Contains(strings.Join(strings.Fields(few), " "), want) {
			t.Errorf("%q is not in\n%s", want, few)
		}
	}
	// Of two hundred those with the most days are told.
	all := text(200)
	if n := strings.Count(all, "\n"); n > shown+5 || strings.Contains(all, " S175 ") || !strings.Contains(all, " S176 ") || !strings.Contains(all, "and 175 sensors with fewer days of it: see --json.") {
		t.Errorf("%d lines:\n%s", n, all)
	}
	r := sunny(t, 1)
	r.Sensors[0].LowSun = nil
	var b strings.Builder
	if err := Text(&b, "yard.geojson", r, Width); err != nil || strings.Contains(b.String(), "Low sun in the pattern") {
		t.Errorf("without low sun there is a section: %v", err)
	}
}

func TestTheReportTellsEachSpellOfLowSunWithItsClock(t *testing.T) {
	m, _ := report(t, sunny(t, 2))
	for _, row := range []struct {
		path []any
		want any
	}{
		{[]any{"low_sun", "year"}, 2031.0}, {[]any{"low_sun", "year_stated"}, true}, {[]any{"low_sun", "time_zone"}, "Europe/London"}, {[]any{"low_sun", "below_deg"}, 10.0},
		{[]any{"sensors", 1, "low_sun", 0, "from"}, "2031-03-10"}, {[]any{"sensors", 1, "low_sun", 0, "to"}, "2031-03-11"}, {[]any{"sensors", 1, "low_sun", 0, "days"}, 2.0},
		{[]any{"sensors", 1, "low_sun", 0, "earliest"}, "06:10"}, {[]any{"sensors", 1, "low_sun", 0, "latest"}, "07:00"},
		{[]any{"sensors", 1, "low_sun", 0, "utc_offset"}, "-00:09"}, {[]any{"sensors", 1, "low_sun", 0, "time_zone"}, "Europe/London"},
	} {
		if got := at(t, m, row.path...); got != row.want {
			t.Errorf("%v is %v, want %v", row.path, got, row.want)
		}
	}
	r := result(t) // nothing was reckoned
	m, _ = report(t, r)
	if at(t, m, "low_sun") != nil || len(at(t, m, "sensors", 0, "low_sun").([]any)) != 0 {
		t.Error("low sun out of nothing")
	}
}
