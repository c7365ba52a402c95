package drawing_test

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model/analysis"
	"pleach/model/calibration"
	"pleach/ui/drawing"
)

// surveyed is a calibration of n readings in the open and fewer past obstacles and
// through trees, one of them saturated and one at the sensitivity limit.
func surveyed(n int) *analysis.Calibration {
	rng := rand.New(rand.NewSource(4))
	limit := -105.0
	var rs []calibration.Reading
	add := func(class string, n int, bias, sd float64) {
		for range n {
			p := -55 - 35*rng.Float64()
			rs = append(rs, calibration.Reading{ID: fmt.Sprintf("M%d", len(rs)+1), Class: class, PredictedDBm: math.Round(p), MeasuredDBm: math.Round(p + bias + sd*rng.NormFloat64()), SensitivityDBm: &limit})
		}
	}
	add(analysis.ClassOpen, n, -3, 2.5)
	add(analysis.ClassObstacles, n/2, 4, 5)
	add(analysis.ClassTrees, 3, -9, 4)
	rs = append(rs, calibration.Reading{ID: "M98", Class: analysis.ClassTrees, PredictedDBm: -92, MeasuredDBm: -104, SensitivityDBm: &limit},
		calibration.Reading{ID: "M99", Class: analysis.ClassOpen, PredictedDBm: -38, MeasuredDBm: -22, SensitivityDBm: &limit})
	return &analysis.Calibration{Fit: calibration.Fit(rs, calibration.Options{})}
}

func levels(t testing.TB, c *analysis.Calibration, in drawing.LevelsInput, m drawing.Medium) *drawing.Levels {
	t.Helper()
	in.Calibration, in.Width, in.Height = c, 320, 320
	if m.Paper {
		in.Width, in.Height = 90, 90
	}
	v := drawing.DrawLevels(in, drawing.NewTheme(m))
	if v == nil {
		t.Fatal("nothing is drawn")
	}
	return v
}

func TestTheLevelsAreDrawnAsTheGoldenSays(t *testing.T) {
	golden(t, "levels.txt", levels(t, surveyed(12), drawing.LevelsInput{Chosen: "M3"}, drawing.Medium{}).List.String())
}

// Every reading stands where its two levels are, one decibel as long upwards as to
// the right, with the shape of its class, hollow where it was set aside; all of it
// lies within the frame, and a click on it finds it.
func TestAReadingStandsAtItsPredictedAndItsMeasuredLevel(t *testing.T) {
	for name, m := range map[string]drawing.Medium{"screen": {}, "paper": {Paper: true}} {
		t.Run(name, func(t *testing.T) {
			c := surveyed(12)
			v := levels(t, c, drawing.LevelsInput{}, m)
			marks := map[string]drawing.Item{}
			for _, it := range v.List.Items {
				if it.Kind == drawing.MarkKind {
					marks[it.ID] = it
				}
				for _, p := range it.Line {
					if u := v.View.ToUnit(p); u[0] < 0 || u[1] < 0 || u[0] > v.View.Width || u[1] > v.View.Height {
						t.Errorf("%v runs to %v, out of the drawing", it.Meaning, u)
					}
				}
			}
			check := func(r calibration.Reading, aside bool) {
				it, ok := marks[r.ID]
				if !ok || it.At != (orb.Point{r.PredictedDBm, r.MeasuredDBm}) || it.Meaning != drawing.LevelMeaning(r.Class, aside) {
					t.Errorf("%s is drawn %v as %v at %v", r.ID, ok, it.Meaning, it.At)
				}
			}
			for _, p := range c.Fit.Points {
				check(p.Reading, false)
			}
			for _, a := range c.Fit.Aside {
				check(a.Reading, true)
			}
			if len(marks) != len(c.Fit.Points)+2 {
				t.Errorf("%d marks of %d readings", len(marks), len(c.Fit.Points)+2)
			}
			if got := v.Hit(v.View.ToUnit(marks["M99"].At), 1); got != "M99" {
				t.Errorf("a click on M99 finds %q", got)
			}
			if got := v.Hit(orb.Point{v.View.Width - 1, v.View.Height - 1}, 1); got != "" {
				t.Errorf("a click beside finds %q", got)
			}
		})
	}
}

// The mean of a class lies its bias above the line of readings as predicted, and its
// band a standard deviation either side, as far as the frame goes. What has too few
// readings for a correction of its own is pale.
func TestTheMeanOfAClassLiesItsBiasOffTheLine(t *testing.T) {
	c := surveyed(12)
	v := levels(t, c, drawing.LevelsInput{}, drawing.Medium{})
	fits := map[drawing.Meaning]string{drawing.LevelOpenFit: analysis.ClassOpen, drawing.LevelPastFit: analysis.ClassObstacles, drawing.LevelTreesFit: analysis.ClassTrees}
	bands := map[drawing.Meaning]string{drawing.LevelOpenBand: analysis.ClassOpen, drawing.LevelPastBand: analysis.ClassObstacles, drawing.LevelTreesBand: analysis.ClassTrees}
	groups := map[string]calibration.Group{}
	for _, g := range c.Fit.Groups {
		groups[g.Class] = g
	}
	seen := 0
	for _, it := range v.List.Items {
		if class, ok := fits[it.Meaning]; ok {
			seen++
			for _, p := range it.Line {
				if math.Abs(p[1]-p[0]-groups[class].Bias) > 1e-9 {
					t.Errorf("the mean %s lies %v off the line, the bias is %v", class, p[1]-p[0], groups[class].Bias)
				}
			}
			if pale := it.State.Has(drawing.Muted); pale != (class == analysis.ClassTrees) {
				t.Errorf("the mean %s is pale %v", class, pale)
			}
		}
		if class, ok := bands[it.Meaning]; ok {
			seen++
			least, most := math.Inf(1), math.Inf(-1)
			for _, p := range it.Area[0][0] {
				least, most = min(least, p[1]-p[0]), max(most, p[1]-p[0])
			}
			if g := groups[class]; math.Abs(least-g.Bias+g.SD) > 1e-9 || math.Abs(most-g.Bias-g.SD) > 1e-9 {
				t.Errorf("the band %s runs from %v to %v; bias %v, deviation %v", class, least, most, g.Bias, g.SD)
			}
		}
		if it.Meaning == drawing.LevelEqual && (it.Line[0][0] != it.Line[0][1] || it.Line[1][0] != it.Line[1][1]) {
			t.Errorf("the line of readings as predicted is %v", it.Line)
		}
	}
	if seen != 6 {
		t.Errorf("%d means and bands of three classes", seen)
	}
}

// The legend names what is drawn and nothing else.
func TestTheLegendOfLevelsSaysWhatIsDrawn(t *testing.T) {
	limit := -105.0
	c := &analysis.Calibration{Fit: calibration.Fit([]calibration.Reading{{ID: "M1", Class: analysis.ClassTrees, PredictedDBm: -70, MeasuredDBm: -80, SensitivityDBm: &limit}}, calibration.Options{})}
	var got []drawing.Meaning
	for _, l := range levels(t, c, drawing.LevelsInput{}, drawing.Medium{}).Legend() {
		got = append(got, l.Meaning)
	}
	if fmt.Sprint(got) != fmt.Sprint([]drawing.Meaning{drawing.LevelEqual, drawing.LevelTrees}) {
		t.Errorf("one reading has the legend %v", got)
	}
}

func TestWithoutAReadingNothingIsDrawn(t *testing.T) {
	for _, c := range []*analysis.Calibration{nil, {}, {Fit: calibration.Fit([]calibration.Reading{{ID: "M1", PredictedDBm: math.Inf(-1), MeasuredDBm: -80}}, calibration.Options{})}} {
		if v := drawing.DrawLevels(drawing.LevelsInput{Calibration: c, Width: 300, Height: 300}, drawing.NewTheme(drawing.Medium{})); v != nil {
			t.Errorf("%v is drawn", c)
		}
	}
}

// A drawing too small for its margins, and readings all alike, are drawn all the same.
func TestLevelsAreDrawnHoweverOdd(t *testing.T) {
	limit := -105.0
	var same []calibration.Reading
	for i := range 8 {
		same = append(same, calibration.Reading{ID: fmt.Sprint("M", i), Class: analysis.ClassOpen, PredictedDBm: -70, MeasuredDBm: -70, SensitivityDBm: &limit})
	}
	for _, c := range []*analysis.Calibration{surveyed(40), {Fit: calibration.Fit(same, calibration.Options{})}} {
		for _, size := range []float64{1, 40, 300, 2000} {
			v := drawing.DrawLevels(drawing.LevelsInput{Calibration: c, Width: size, Height: size / 2}, drawing.NewTheme(drawing.Medium{}))
			for _, it := range v.List.Items {
				for _, p := range append(orb.LineString{it.At}, it.Line...) {
					if math.IsNaN(p[0]+p[1]) || math.IsInf(p[0]+p[1], 0) {
						t.Errorf("at %v units %v stands at %v", size, it.Meaning, p)
					}
				}
			}
		}
	}
}

// Errors of -1, 0 and 1 dB about a bias of -5: the deviation is 1 dB, each reading
// against the mean of the two others errs by 3/2 of its own error, and Student's t of 2
// degrees of freedom at 99 % is 6.965 (Abramowitz and Stegun, table 26.10), times
// √(4/3).
func TestOutsideTheTableOfLevelsSaysWhatThreeReadingsSay(t *testing.T) {
	var rs []calibration.Reading
	for i, e := range []float64{-6, -5, -4} {
		rs = append(rs, calibration.Reading{ID: fmt.Sprint("M", i), Class: analysis.ClassOpen, PredictedDBm: -70, MeasuredDBm: -70 + e})
	}
	got := drawing.TellLevels(&analysis.Calibration{Fit: calibration.Fit(rs, calibration.Options{Least: 3})}, 0.99)
	for i, want := range []string{"3", "−5.0", "1.0", "8.04", "5.1", "0.8", "1.2", "8", "its own"} {
		t.Run(got.Rows[i].Label, func(t *testing.T) {
			if got.Rows[i].Cells[0] != want {
				t.Errorf("%s is %s, not %s", got.Rows[i].Label, got.Rows[i].Cells[0], want)
			}
		})
	}
	if fmt.Sprint(got.Heads) != "[Open]" {
		t.Errorf("the columns are %v", got.Heads)
	}
}
