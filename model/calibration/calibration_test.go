package calibration

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pleach/testdata/opendata"
)

func closeTo(t *testing.T, what string, got, want, tolerance float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.6f, want %.6f within %g; source: %s", what, got, want, tolerance, source)
	}
}

func TestOutsideStudentsT(t *testing.T) {
	const source = "printed tables of Student's distribution, one-sided"
	for _, row := range []struct {
		freedom            int
		p90, p95, p99, tol float64
	}{
		{1, 3.078, 6.314, 31.821, 0.0005},
		{2, 1.886, 2.920, 6.965, 0.0005},
		{3, 1.638, 2.353, 4.541, 0.0005},
		{5, 1.476, 2.015, 3.365, 0.0005},
		{8, 1.397, 1.860, 2.896, 0.0005},
		{10, 1.372, 1.812, 2.764, 0.0005},
		{30, 1.310, 1.697, 2.457, 0.0005},
		{120, 1.289, 1.658, 2.358, 0.0005},
	} {
		t.Run(fmt.Sprint(row.freedom, " degrees of freedom"), func(t *testing.T) {
			closeTo(t, "90 %", StudentQuantile(0.90, row.freedom), row.p90, row.tol, source)
			closeTo(t, "95 %", StudentQuantile(0.95, row.freedom), row.p95, row.tol, source)
			closeTo(t, "99 %", StudentQuantile(0.99, row.freedom), row.p99, row.tol, source)
			closeTo(t, "1 %", StudentQuantile(0.01, row.freedom), -row.p99, row.tol, source)
		})
	}
}

func TestTheQuantileUndoesTheDistribution(t *testing.T) {
	for _, freedom := range []int{1, 2, 3, 4, 7, 60, 501} {
		for _, p := range []float64{0.0001, 0.3, 0.5, 0.75, 0.99, 0.9999} {
			if got := StudentCDF(StudentQuantile(p, freedom), freedom); math.Abs(got-p) > 1e-12 {
				t.Errorf("%d degrees of freedom: %v comes back as %v", freedom, p, got)
			}
		}
	}
}

func TestOutsideMeanErrorOfSixReadings(t *testing.T) {
	f, err := os.Open(filepath.Join(opendata.Dir(t), "checks", "radio", "scalar_checks.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	checked := 0
	for _, row := range rows[1:] {
		if row[1] != "calibration_mean_error" {
			continue
		}
		checked++
		columns := map[string][]float64{}
		for _, pair := range strings.Split(row[2], ";") {
			name, values, _ := strings.Cut(pair, "=")
			for _, s := range strings.Fields(values) {
				v, err := strconv.ParseFloat(s, 64)
				if err != nil {
					t.Fatal(err)
				}
				columns[name] = append(columns[name], v)
			}
		}
		want, err := strconv.ParseFloat(row[3], 64)
		if err != nil {
			t.Fatal(err)
		}
		var readings []Reading
		for i, p := range columns["predicted_dbm"] {
			readings = append(readings, Reading{PredictedDBm: p, MeasuredDBm: columns["measured_dbm"][i]})
		}
		t.Run(row[0], func(t *testing.T) {
			closeTo(t, "bias", Fit(readings, Options{}).All.Bias, want, 0.0001, row[7])
		})
	}
	if checked == 0 {
		t.Error("no row of the file was checked")
	}
}

// errors returns readings of one class with these errors.
func errors(class string, of ...float64) (out []Reading) {
	for i, e := range of {
		p := -70 - float64(i)
		out = append(out, Reading{ID: fmt.Sprint(class, i), Class: class, PredictedDBm: p, MeasuredDBm: p + e})
	}
	return out
}

func TestOutsideAFitOfSixReadings(t *testing.T) {
	// -4.5 -6 -2 -1.5 -8 -2: mean -4; squares about it 0.25 4 4 6.25 16 4, in all
	// 34.5: s = √6.9, before √(130.5/6), after √(34.5/6), held back 6/5 of it.
	const source = "worked by hand; t = 3.365 by printed tables"
	g := Fit(errors("open", -4.5, -6, -2, -1.5, -8, -2), Options{}).Groups[0]
	closeTo(t, "bias", g.Bias, -4, 1e-12, source)
	closeTo(t, "sd", g.SD, 2.62679, 1e-5, source)
	closeTo(t, "before", g.RMSBefore, 4.66369, 1e-5, source)
	closeTo(t, "after", g.RMSAfter, 2.39792, 1e-5, source)
	closeTo(t, "held back", g.RMSHeldBack, 2.87750, 1e-5, source)
	closeTo(t, "margin at 99 %", g.Margin(0.99), 3.365*2.62679*math.Sqrt(7.0/6), 0.002, source)
	closeTo(t, "probability at that margin", g.Probability(g.Margin(0.99)), 0.99, 1e-12, source)
}

func TestReadingsThatTellNothingAreSetAsideWithTheReason(t *testing.T) {
	limit := -105.0
	readings := []Reading{
		{ID: "near", PredictedDBm: -25, MeasuredDBm: -20},
		{ID: "faint", PredictedDBm: -101, MeasuredDBm: -103, SensitivityDBm: &limit},
		{ID: "just", PredictedDBm: -101, MeasuredDBm: -102, SensitivityDBm: &limit},
		{ID: "unknown radio", PredictedDBm: -101, MeasuredDBm: -104},
		{ID: "silent", PredictedDBm: -101, MeasuredDBm: math.NaN()},
		{ID: "no link", PredictedDBm: math.Inf(-1), MeasuredDBm: -90},
	}
	r := Fit(readings, Options{})
	want := [][2]string{
		{"near", "saturated: -20 dBm is above -30 dBm, where a receiver's reading no longer rises"},
		{"faint", "at the sensitivity limit: -103 dBm is less than 3 dB above -105 dBm, where weaker packets are not heard"},
		{"silent", "no level was read"},
		{"no link", "no level is predicted for its link"},
	}
	var got [][2]string
	for _, a := range r.Aside {
		got = append(got, [2]string{a.Reading.ID, a.Reason})
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if r.AtLimit != 1 || r.All.N != 2 {
		t.Errorf("%d at the limit, %d kept, want 1 and 2", r.AtLimit, r.All.N)
	}
	high, zero := -10.0, 0.0
	if r := Fit(readings, Options{SaturatedDBm: &high, LimitDB: &zero}); len(r.Aside) != 2 {
		t.Errorf("with limits of one's own: %+v", r.Aside)
	}
}

func TestAClassOfFewReadingsTakesTheCorrectionOfAll(t *testing.T) {
	readings := append(errors("open", 1, 2, 3, 1, 2, 3), errors("trees", -8, -6)...)
	r := Fit(readings, Options{})
	if g, ok := r.For("open"); !ok || g.Class != "open" || g.N != 6 || g.Bias != 2 {
		t.Errorf("open: %+v", g)
	}
	for _, class := range []string{"trees", "built-up"} {
		if g, ok := r.For(class); !ok || g != r.All || g.N != 8 || math.Abs(g.Bias+0.25) > 1e-12 {
			t.Errorf("%s: %+v", class, g)
		}
	}
	if p := r.Points[7]; !p.Calibrated || p.Group != "" || math.Abs(p.CorrectedDBm-(p.Reading.PredictedDBm-0.25)) > 1e-12 {
		t.Errorf("%+v", p)
	}
	few := Fit(readings[:5], Options{})
	if _, ok := few.For("open"); ok || few.Points[0].Calibrated || few.Points[0].CorrectedDBm != few.Points[0].Reading.PredictedDBm {
		t.Errorf("five readings are too few: %+v", few)
	}
	if _, ok := (Result{}).For("open"); ok {
		t.Error("no fit corrects nothing")
	}
	if empty := Fit(nil, Options{}); empty.All != (Group{}) || len(empty.Groups) != 0 {
		t.Errorf("%+v", empty)
	}
}

func TestHeldBackIsAFitWithoutTheReading(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		of := rapid.SliceOfN(rapid.Float64Range(-30, 30), 3, 20).Draw(t, "errors")
		readings := errors("open", of...)
		r := Fit(readings, Options{Least: 2})
		var sum float64
		for i, p := range r.Points {
			rest := append(append([]Reading(nil), readings[:i]...), readings[i+1:]...)
			want := readings[i].PredictedDBm + Fit(rest, Options{Least: 2}).All.Bias
			if math.Abs(p.HeldBackDBm-want) > 1e-9 {
				t.Fatalf("reading %d held back: %v dBm, want %v", i, p.HeldBackDBm, want)
			}
			sum += (p.Reading.MeasuredDBm - want) * (p.Reading.MeasuredDBm - want)
		}
		g := r.Groups[0]
		if want := math.Sqrt(sum / float64(len(of))); math.Abs(g.RMSHeldBack-want) > 1e-9 {
			t.Fatalf("%v dB, want %v", g.RMSHeldBack, want)
		}
		if g.RMSAfter > g.RMSBefore+1e-9 || g.RMSHeldBack < g.RMSAfter-1e-9 {
			t.Fatalf("before %v, after %v, held back %v", g.RMSBefore, g.RMSAfter, g.RMSHeldBack)
		}
		if n := len(of); n < 20 {
			more := g
			more.N++
			if g.SD > 0 && g.Margin(0.99) <= more.Margin(0.99) {
				t.Fatalf("%d readings need %v dB, one more of the same spread %v", n, g.Margin(0.99), more.Margin(0.99))
			}
		}
	})
}

// A new link must work as often as was asked for, however few the readings.
func TestTheMarginHoldsAsOftenAsItSays(t *testing.T) {
	dice := rand.New(rand.NewPCG(3, 4))
	for _, n := range []int{2, 3, 6, 20} {
		const trials, reliability = 40000, 0.9
		works := 0
		for range trials {
			of := make([]float64, n)
			for i := range of {
				of[i] = -4 + 5*dice.NormFloat64()
			}
			g := group("", errors("", of...))
			// The corrected prediction misses a new link by its error less the bias.
			if g.Margin(reliability)+(-4+5*dice.NormFloat64())-g.Bias >= 0 {
				works++
			}
		}
		if got := float64(works) / trials; math.Abs(got-reliability) > 4*math.Sqrt(0.09/trials) {
			t.Errorf("%d readings: %v of new links work, want %v", n, got, reliability)
		}
	}
}

func TestReadingsThatAllErrAlikeNeedNoMargin(t *testing.T) {
	g := Fit(errors("open", -3, -3, -3, -3, -3, -3), Options{}).Groups[0]
	if g.Margin(0.99) != 0 || g.Probability(0) != 1 || g.Probability(-0.1) != 0 {
		t.Errorf("%+v: margin %v", g, g.Margin(0.99))
	}
}

// Student's t of 5 and of 29 degrees of freedom at 99 %: 3.365 and 2.462 (Abramowitz
// and Stegun, table 26.10), times √(1+1/n).
func TestOutsideTheSmallSampleFactor(t *testing.T) {
	for _, row := range []struct {
		n    int
		want float64
	}{{6, 3.365 * 1.080123}, {30, 2.462 * 1.016530}} {
		t.Run(fmt.Sprint(row.n, " readings"), func(t *testing.T) {
			if got := (Group{N: row.n, SD: 4}).Factor(0.99); math.Abs(got-row.want) > 0.002 {
				t.Errorf("the factor is %v, not %v ± 0.002 (Abramowitz and Stegun, table 26.10)", got, row.want)
			}
		})
	}
}
