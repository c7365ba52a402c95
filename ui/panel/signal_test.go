package panel

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/contrast"
)

// shownRow returns what stands beside a name in the table.
func (s *Signal) shownRow(t *testing.T, name string) string {
	t.Helper()
	for i, n := range s.names {
		if strings.HasPrefix(n.Text(), name) {
			return s.lines[i].Text()
		}
	}
	t.Fatalf("no row %q", name)
	return ""
}

func TestTheSignalOfTheSelectedSensorIsShownAgainstItsWalkTest(t *testing.T) {
	e, ed, result := site(t)
	add := model.NewFeature(model.KindReading, "M1", nil, model.Prop("of", []string{"S1"}), model.Prop("what", "walk-test"),
		model.Prop("distance_m", 30), model.Prop("air_c", 0), model.Prop("background_c", 0), model.Prop("clothing", 0))
	if err := e.Do(model.Add{Features: []*model.Feature{add}}); err != nil {
		t.Fatal(err)
	}
	r := result()
	s := NewSignal(ed, func() *analysis.Result { return r })
	test.NewTempWindow(t, s.Object).Resize(fyne.NewSize(340, 900))
	if s.inside.Visible() || !s.empty.Visible() {
		t.Error("with nothing selected a signal is shown")
	}
	e.Select("S1")
	s.Update()
	if !s.inside.Visible() || s.head.Text() == "" || !strings.Contains(s.tested.Text(), "Walk test M1: 30 m") || !strings.Contains(s.tested.Text(), "Assumed of it: speed, direction") {
		t.Fatalf("shown %v: %q, %q", s.inside.Visible(), s.head.Text(), s.tested.Text())
	}
	// The same as the walk test is 0 dB; slow, far and on a warm day it is 33 dB weaker
	// (computed apart from the same formulas: a ratio of 0.02341).
	typeIn(rowOf(t, s.inside, "Distance"), "30", fyne.KeyReturn)
	if s.figure.Text() != "0 dB" || s.spread.Text() != "± 3" {
		t.Errorf("%q %q", s.figure.Text(), s.spread.Text())
	}
	for label, text := range map[string]string{"Distance": "60", "Speed": "0,3", "Air": "30", "Ground behind": "30"} {
		typeIn(rowOf(t, s.inside, label), text, fyne.KeyReturn)
	}
	if s.figure.Text() != "−33 dB" || !strings.HasPrefix(s.parts.Text(), "Heat −20, size ") {
		t.Errorf("%q, %q", s.figure.Text(), s.parts.Text())
	}
	if strings.Contains(s.parts.Text(), "Not seen") {
		t.Errorf("at 60 m: %q", s.parts.Text())
	}
	typeIn(rowOf(t, s.inside, "Distance"), "200", fyne.KeyReturn)
	if !strings.Contains(s.parts.Text(), "Not seen: outside the pattern") {
		t.Errorf("at 200 m: %q", s.parts.Text())
	}
	typeIn(rowOf(t, s.inside, "Distance"), "60", fyne.KeyReturn)
	if got := s.shownRow(t, "Slow"); !strings.HasPrefix(got, "−") || !strings.Contains(got, "dB ± ") {
		t.Errorf("slow: %q", got)
	}
	typeIn(rowOf(t, s.inside, "Speed"), "0", fyne.KeyReturn)
	if s.figure.Text() != "−33 dB" || !strings.Contains(s.form.help.Text(), "between 0.01 and 60 m/s") {
		t.Errorf("a speed of 0: %q", s.form.help.Text())
	}
	typeIn(rowOf(t, s.inside, "Speed"), "", fyne.KeyReturn) // back to what holds unless stated
	if v := rowOf(t, s.inside, "Speed"); v.text != "1" || !v.soft {
		t.Errorf("speed %q, soft %v", v.text, v.soft)
	}
	e.Select("S2") // reaches elsewhere, in the same weather
	s.Update()
	if v := rowOf(t, s.inside, "Distance"); !v.soft || v.text == "60" {
		t.Errorf("distance of S2 %q, soft %v", v.text, v.soft)
	}
	if !strings.Contains(s.tested.Text(), "No walk test of it states its temperatures. Assumed: ") {
		t.Error(s.tested.Text())
	}
	e.Select("H1")
	s.Update()
	if s.inside.Visible() || s.empty.Text() != "Select one sensor." {
		t.Errorf("a building: %q", s.empty.Text())
	}
}

func TestAWalkTestThatIsNoReferenceIsSaidToBe(t *testing.T) {
	e, ed, result := site(t)
	add := model.NewFeature(model.KindReading, "M1", nil, model.Prop("of", []string{"S1"}), model.Prop("what", "walk-test"),
		model.Prop("air_c", 33), model.Prop("background_c", 33))
	if err := e.Do(model.Add{Features: []*model.Feature{add}}); err != nil {
		t.Fatal(err)
	}
	r := result()
	s := NewSignal(ed, func() *analysis.Result { return r })
	e.Select("S1")
	s.Update()
	if s.figure.Text() != "–" || !s.refused.Visible() || !strings.Contains(s.refused.Text(), "less than 1 K apart") || s.table.Visible() {
		t.Errorf("%q, %q", s.figure.Text(), s.refused.Text())
	}
}

func TestAClosedSignalPanelReckonsNothing(t *testing.T) {
	e, ed, result := site(t)
	r := result()
	s := NewSignal(ed, func() *analysis.Result { return r })
	open := false
	s.Shown = func() bool { return open }
	e.Select("S1")
	s.Update()
	if s.s != nil {
		t.Error("it looked from the sensor though nobody sees it")
	}
	open = true
	s.Update()
	if s.s == nil {
		t.Error("it shows nothing once it is open")
	}
}

func TestTheHoursOfATemperatureSeriesAreShownByMonth(t *testing.T) {
	e, ed, result := site(t)
	r := result()
	s := NewSignal(ed, func() *analysis.Result { return r })
	e.Select("S1")
	s.Update()
	if s.grid.Visible() || !strings.Contains(s.low.Text(), "time,air_c,background_c") {
		t.Errorf("without a series: %q", s.low.Text())
	}
	typeIn(rowOf(t, s.inside, "Clothing"), "0", fyne.KeyReturn)
	var series []contrast.Reading
	for h := range 48 {
		v := contrast.Reading{Time: time.Date(2026, 7, 1, h, 0, 0, 0, time.UTC), Air: 20, Background: 15, Measured: true}
		if k := h % 24; k >= 12 && k <= 14 {
			v.Background = 33
		}
		series = append(series, v)
	}
	s.SetSeries("yard.csv", series)
	if !s.grid.Visible() || s.file.Text() != "yard.csv" || !strings.Contains(s.low.Text(), "4 of 47 hours") || !strings.Contains(s.low.Text(), "local mean solar time") {
		t.Fatalf("%q: %q", s.file.Text(), s.low.Text())
	}
	// At 8 degrees east the sun's clock is 32 minutes ahead of UTC.
	s.grid.Resize(fyne.NewSize(300, 200))
	left, right, row := s.grid.measures(s.grid.Size())
	s.grid.MouseMoved(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(left+(300-left-right)*13.5/24, row*6.5)}})
	if got := s.cell.Text(); got != "July, 13:00 to 14:00: 2.0 of 2 h" {
		t.Errorf("the pointer is over %q", got)
	}
	s.grid.MouseOut()
	if s.cell.Text() != "" {
		t.Errorf("and off it still %q", s.cell.Text())
	}
	if s.grid.sums[6].Text != "4 h" || s.grid.sums[0].Text != "" {
		t.Errorf("sums %q and %q", s.grid.sums[6].Text, s.grid.sums[0].Text)
	}
	img := s.grid.paint(240, 120)
	at := func(k int) string { return fmt.Sprint(img.At(k*10+4, 6*10+2)) }
	if at(13) == at(3) || at(13) == fmt.Sprint(img.At(13*10+4, 2)) {
		t.Errorf("13 in July %s, 3 in July %s", at(13), at(3))
	}
}

func TestTheDetailsOfASensorTellItsLowSun(t *testing.T) {
	e, ed, result := site(t)
	d := NewDetails(&Look{}, ed, result)
	test.NewTempWindow(t, d.Object).Resize(fyne.NewSize(340, 700))
	e.Select("S1") // looks east
	d.Update()
	if got := d.said.Text(); !strings.HasPrefix(got, "Low sun in its pattern on ") || !strings.Contains(got, "mornings") {
		t.Errorf("S1: %q", got)
	}
	e.Select("S2") // looks north
	d.Update()
	if got := d.said.Text(); got != "" {
		t.Errorf("S2: %q", got)
	}
}
