package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// sunlit is a plan of an invented site with low sun and walk tests.
const sunlit = "../../testdata/plans/sunlit.geojson"

var golden = flag.Bool("golden", os.Getenv("PLEACH_GOLDEN") == "1", "write the expected files anew")

// expected fails the test where text is not that of a golden file.
func expected(t *testing.T, name, text string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *golden {
		if err := os.MkdirAll("testdata", 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	if want := read(t, path); text != want {
		t.Errorf("%s is not as expected (make golden rewrites it):\n%s", name, text)
	}
}

func signalOf(t *testing.T, args ...string) (j signalJSON) {
	t.Helper()
	if err := json.Unmarshal([]byte(works(t, done, append([]string{"signal", "--json"}, args...)...)), &j); err != nil {
		t.Fatal(err)
	}
	return j
}

func TestTheReportTellsTheLowSunByTheClockOfThePlan(t *testing.T) {
	var r struct {
		LowSun  json.RawMessage `json:"low_sun"`
		Sensors []struct {
			ID     string          `json:"id"`
			LowSun json.RawMessage `json:"low_sun"`
		}
	}
	if err := json.Unmarshal([]byte(works(t, faulty, "check", "--json", sunlit)), &r); err != nil {
		t.Fatal(err)
	}
	text := string(r.LowSun) + "\n"
	for _, s := range r.Sensors {
		text += s.ID + " " + strings.ReplaceAll(string(s.LowSun), "},", "},\n ") + "\n"
	}
	expected(t, "low-sun.txt", text)
	words := works(t, faulty, "check", sunlit)
	for _, want := range []string{"Low sun in the pattern", "by the clock of Europe/London", "in 2026, the year of the plan's date", "low-sun: Low sun stands in the patterns of 2 of 3 sensors"} {
		if !strings.Contains(strings.Join(strings.Fields(words), " "), want) {
			t.Errorf("%q is not in\n%s", want, words)
		}
	}
}

func TestATimeZoneThatIsNoneIsRefused(t *testing.T) {
	plan := write(t, "plan.geojson", strings.Replace(read(t, sunlit), "Europe/London", "London", 1))
	refused(t, `pleach.time_zone "London" is not a time zone: it must be an IANA name`, "check", plan)
}

func TestSignalOfAPlan(t *testing.T) {
	for _, row := range []struct{ name, args string }{
		{"signal.json", "S1 --json"},
		{"signal.txt", "S1 --at 40 --speed 0.5 --air 24 --background 29"},
	} {
		t.Run(row.name, func(t *testing.T) {
			text := works(t, done, append([]string{"signal", sunlit}, strings.Fields(row.args)...)...)
			expected(t, row.name, text)
			for _, l := range strings.Split(text, "\n") {
				if n := len([]rune(l)); strings.HasSuffix(row.name, ".txt") && (n > 96 || strings.TrimRight(l, " ") != l) {
					t.Errorf("%d characters: %q", n, l)
				}
			}
		})
	}
}

// A zone of 1 by 3 degrees, a person 0.5 by 1.7 m, a
// period of 2 degrees, 0.1 to 10 Hz.
func TestSignalOfSlowAndFarOnAWarmDay(t *testing.T) {
	j := signalOf(t, sunlit, "S1", "--distance", "60", "--speed", "0.3", "--clothing", "0", "--air", "30", "--background", "30",
		"--tested-distance", "30", "--tested-speed", "1", "--tested-clothing", "0", "--tested-air", "0", "--tested-background", "0")
	const source = "computed apart from the same formulas, a ratio of 0.02341"
	if got, want := j.Rows[0].DB, 20*math.Log10(0.02341); math.Abs(got-want) > 0.05 {
		t.Errorf("%.3f dB, want %.3f within 0.05 (%s)", got, want, source)
	}
	sum := j.Rows[0].Contrast + j.Rows[0].Filling + j.Rows[0].Movement + j.Rows[0].Air
	if math.Abs(sum-j.Rows[0].DB) > 0.002 {
		t.Errorf("the parts come to %v, the whole is %v", sum, j.Rows[0].DB)
	}
}

func TestTheWalkTestIsTheOneThePlanStatesOrTheOptionsDo(t *testing.T) {
	if j := signalOf(t, sunlit, "S1"); j.Tested.Reading == nil || *j.Tested.Reading != "M2" || j.Tested.Condition.Distance != 55 || j.Tested.Condition.Air != 11 ||
		fmt.Sprint(j.Tested.Assumed) != "[speed direction clothing]" {
		t.Errorf("the latest that states its temperatures: %+v", j.Tested)
	}
	// M1 was made 40 m from the sensor, by its own place.
	if j := signalOf(t, sunlit, "S1", "--tested", "M1"); *j.Tested.Reading != "M1" || math.Abs(j.Tested.Condition.Distance-40) > 0.2 || len(j.Tested.Assumed) != 0 {
		t.Errorf("%+v", j.Tested)
	}
	if j := signalOf(t, sunlit, "S2"); j.Tested.Reading != nil || len(j.Tested.Assumed) != 6 || j.Optics.Assumed || j.Optics.Width != 0.8 || j.Optics.High != 8 {
		t.Errorf("%+v %+v", j.Tested, j.Optics)
	}
	if j := signalOf(t, sunlit, "S2", "--tested-air", "-3", "--tested-distance=20"); fmt.Sprint(j.Tested.Assumed) != "[speed direction ground clothing]" || j.Tested.Condition.Air != -3 {
		t.Errorf("%+v", j.Tested)
	}
	// The same crossing in the same weather is as strong as the walk test.
	for _, sensor := range []string{"S1", "S2"} {
		j := signalOf(t, sunlit, sensor, "--distance", "30", "--tested-distance", "30")
		if j.Rows[0].DB != 0 {
			t.Errorf("%s against itself: %v dB", sensor, j.Rows[0].DB)
		}
	}
}

func TestACrossingOnTheBoundaryRunsAsItsCrossingLine(t *testing.T) {
	// S1 stands in the south-west corner and looks along the south side: 60 m along
	// it a crossing inwards is nearly across its view.
	j := signalOf(t, sunlit, "S1", "--at", "50")
	if h := j.Rows[0].Condition.Heading; math.Abs(h-90) > 2 || j.Boundary == nil || *j.Boundary != "B1" || *j.At != 50 {
		t.Errorf("heading %v at %v", h, j.At)
	}
	// Across the east side a crossing comes almost straight at it.
	j = signalOf(t, sunlit, "S1", "--at", "125")
	if h := j.Rows[0].Condition.Heading; h > 5 || math.Abs(j.Rows[0].Condition.Distance-119) > 0.5 {
		t.Errorf("heading %v at %v m", h, j.Rows[0].Condition.Distance)
	}
}

func TestSignalRefusesWhatItCannotDoInOneLine(t *testing.T) {
	same := write(t, "same.geojson", strings.Replace(read(t, sunlit), `"background_c": 13`, `"background_c": 22`, 1))
	for _, row := range []struct{ args, want string }{
		{"", "signal: the plan and the sensor are missing"},
		{sunlit, "signal: the sensor's id is missing"},
		{sunlit + " S1 S2", `signal: "S2" is one argument too many`},
		{sunlit + " S9", "there is no sensor S9: name one of S1, S2, S3"},
		{sunlit + " S1 --distance 0.5", "signal: --distance 0.5 is not between 1 and 500"},
		{sunlit + " S1 --distance NaN", "signal: --distance NaN is not between 1 and 500"},
		{sunlit + " S1 --at 401", "chainage 401 is not between 0 and 400"},
		{sunlit + " S1 --at -1", `signal: --at "-1" is not a chainage`},
		{sunlit + " S1 --at 10 --boundary B7", "there is no boundary B7: one of B1"},
		{sunlit + " S1 --boundary B1", "--boundary is for --at"},
		{sunlit + " S1 --at 10 --distance 5", "name two places"},
		{sunlit + " S1 --speed 0", "signal: --speed 0 is not between 0.01 and 60"},
		{sunlit + " S1 --heading 181", "signal: --heading 181 is not between 0 and 180"},
		{sunlit + " S1 --air 61", "signal: --air 61 is not between -60 and 60"},
		{sunlit + " S1 --background 1e999", "signal: --background 1e999 is not between -80 and 120"},
		{sunlit + " S1 --clothing 2", "signal: --clothing 2 is not between 0 and 1"},
		{sunlit + " S1 --fog 5", "signal: --fog 5 is not between 10 and"},
		{sunlit + " S1 --rain wet", `signal: --rain "wet" is not a number`},
		{sunlit + " S1 --tested M4", "M4 is no walk test of S1: one of M1, M2, M3"},
		{sunlit + " S1 --tested-speed 0", "signal: --tested-speed 0 is not between 0.01 and 60"},
		{sunlit + " S1 --threshold 2", "--threshold is for --series"},
		{same + " S1", "signal: tested: the target at 22.0 and the background at 22.0 degrees are less than 1 K apart"},
		{sunlit + " S1 --series no-such.csv", "no-such.csv"},
	} {
		t.Run(row.args, func(t *testing.T) { refused(t, row.want, append([]string{"signal"}, strings.Fields(row.args)...)...) })
	}
}

func TestASeriesThatIsWrongIsRefusedWithFileLineValueAndRemedy(t *testing.T) {
	for _, row := range []struct{ name, text, want string }{
		{"empty", "", "line 1: the file is empty"},
		{"header alone", "time,air_c\n", "line 2: there is no reading"},
		{"unsorted", "time,air_c\n2026-07-01T12:00:00Z,20\n2026-07-01T11:00:00Z,20\n", "line 3: time 2026-07-01T11:00:00Z is not after the time before it, 2026-07-01T12:00:00Z: sort"},
		{"a time twice", "time,air_c\n2026-07-01T12:00:00Z,20\n2026-07-01T12:00:00Z,21\n", "line 3: time 2026-07-01T12:00:00Z is not after"},
		{"not a number", "time,air_c\n2026-07-01T12:00:00Z,NaN\n", `line 2: air_c "NaN" is not a number of degrees Celsius`},
		{"infinite", "time,air_c\n2026-07-01T12:00:00Z,Inf\n", "line 2: air_c Inf is not between -60 and 60"},
		{"fahrenheit", "time,air_c\n2026-07-01T12:00:00Z,86\n", "line 2: air_c 86 is not between -60 and 60"},
		{"decimal commas", "time,air_c\n2026-07-01T12:00:00Z,20,5\n", "line 2: 3 values, the header has 2 columns: numbers with a decimal comma must be written with a point"},
		{"quoted decimal commas", "time,air_c\n2026-07-01T12:00:00Z,\"20,5\"\n", `line 2: air_c "20,5" is not a number of degrees Celsius: write the decimals with a point`},
		{"semicolons", "time;air_c\n2026-07-01T12:00:00Z;20,5\n", "line 1: \"time;air_c\" is not parted by commas"},
		{"another column", "time,temperature\n2026-07-01T12:00:00Z,20\n", `line 1: column "temperature" is not known: the columns are time, air_c and background_c`},
		{"a column too few", "time,background_c\n2026-07-01T12:00:00Z,20\n", "line 1: column air_c is missing"},
		{"no zone", "time,air_c\n2026-07-01 12:00,20\n", `line 2: time "2026-07-01 12:00" has no zone`},
		{"no header", "2026-07-01T12:00:00Z,20\n", `line 1: column "2026-07-01T12:00:00Z" is not known`},
		{"a picture", "\x89PNG\r\n\x1a\n\x00\x00", "line 1: column"},
		{"10 MB on one line", strings.Repeat("x", 10<<20), "line 1: column"},
	} {
		t.Run(row.name, func(t *testing.T) {
			path := write(t, "series.csv", row.text)
			refused(t, path+": "+row.want, "signal", sunlit, "S1", "--series", path)
		})
	}
	t.Run("a folder", func(t *testing.T) {
		dir := t.TempDir()
		refused(t, dir+": is a folder and no temperature series", "signal", sunlit, "S1", "--series", dir)
		refused(t, "pleach: no-such.csv: no such file", "signal", sunlit, "S1", "--series", "no-such.csv")
	})
	t.Run("many faults", func(t *testing.T) {
		path := write(t, "series.csv", "time,air_c\n"+strings.Repeat("2026-07-01T12:00:00Z,hot\n", 100))
		status, out, errs := pleach("signal", sunlit, "S1", "--series", path)
		if lines := strings.Split(strings.TrimSpace(errs), "\n"); status != bad || out != "" || len(lines) > 20 || !strings.HasPrefix(lines[5], "pleach: "+path+": line ") {
			t.Errorf("status %d, %d lines:\n%s", status, len(lines), errs)
		}
	})
}

// hourly is a series of a day per month of a year, an hour a line: night and day at
// fixed temperatures.
func hourly(days int, background string) string {
	var b strings.Builder
	b.WriteString("time,air_c,background_c\n")
	for d := range days {
		for h := range 24 {
			ground := "15"
			if h >= 11 && h < 14 {
				ground = background
			}
			fmt.Fprintf(&b, "2026-%02d-%02dT%02d:00:00Z,20,%s\n", 1+d/28, 1+d%28, h, ground)
		}
	}
	return b.String()
}

// Air at 20 degrees and bare skin at 33: the surface is at 33, and ground at 33 is as
// warm. From 15 to 33 degrees within an hour the last 1.7 K take 1.7/18 of it.
func TestLowContrastHoursOfASeries(t *testing.T) {
	path := write(t, "series.csv", hourly(56, "33"))
	j := signalOf(t, sunlit, "S1", "--series", path, "--clothing", "0").Hours
	if j == nil || j.File != path || !j.Measured || j.Threshold != 1.7 || j.Clock != "Europe/London" {
		t.Fatalf("%+v", j)
	}
	// From 11 to 13 in full, and the ends of the hours before and after.
	oneDay := 2 + 2*1.7/18
	if want := 56 * oneDay; math.Abs(j.Low-want) > 0.01 {
		t.Errorf("%v hours of low contrast, want %v", j.Low, want)
	}
	if math.Abs(j.ByMonth[0][11]-28) > 0.001 || math.Abs(j.ByMonth[1][12]-28) > 0.001 || math.Abs(j.ByMonth[0][10]-28*1.7/18) > 0.01 || j.ByMonth[2][11] != 0 || j.ByMonth[0][20] != 0 {
		t.Errorf("by month and hour %v", j.ByMonth)
	}
	if len(j.Longest) != 5 || math.Abs(j.Longest[0].Hours-oneDay) > 0.01 || j.Longest[0].Least != 0 {
		t.Errorf("longest %+v", j.Longest)
	}
	text := works(t, done, "signal", sunlit, "S1", "--series", path, "--clothing", "0")
	for _, want := range []string{"Low-contrast hours", "within 1.7 K of the ground, clothing 0", "in Europe/London", "Jan", "Feb"} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
	if strings.Contains(text, "Mar ") {
		t.Errorf("a month the series says nothing of is printed:\n%s", text)
	}
	// In summer time the same hours are an hour later on the clock.
	july := write(t, "july.csv", strings.ReplaceAll(hourly(28, "33"), "2026-01", "2026-07"))
	if j := signalOf(t, sunlit, "S1", "--series", july, "--clothing", "0").Hours; math.Abs(j.ByMonth[6][12]-28) > 0.001 || j.ByMonth[6][10] != 0 {
		t.Errorf("in July %v", j.ByMonth[6])
	}
}

func TestASeriesOfTenMegabytesIsRead(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,air_c\n")
	n := 0
	for d := 0; b.Len() < 10<<20; d++ {
		fmt.Fprintf(&b, "%04d-%02d-%02dT%02d:%02d:00Z,20\n", 2000+d/(28*12*1440), 1+d/(28*1440)%12, 1+d/1440%28, d/60%24, d%60)
		n++
	}
	j := signalOf(t, sunlit, "S1", "--series", write(t, "long.csv", b.String())).Hours
	if j.Measured || j.Known < float64(n)/60-24*40 || j.Low != 0 {
		t.Errorf("%d minutes: %v hours known, %v low", n, j.Known, j.Low)
	}
}
