package panel

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/ui/editor"
)

var testZone = time.FixedZone("UTC+2", 2*3600)

// formOn is the form for a site with features added.
func formOn(t *testing.T, more ...*model.Feature) (*editor.Editor, *ReadingForm) {
	t.Helper()
	e, ed, result := site(t)
	if len(more) > 0 {
		if err := e.Do(model.Add{Features: more}); err != nil {
			t.Fatal(err)
		}
	}
	r := result()
	f := NewReadingForm(ed, func() *analysis.Result { return r }, "UTC+2", testZone)
	test.NewTempWindow(t, f.Object).Resize(fyne.NewSize(560, 900))
	return e, f
}

func (f *ReadingForm) rowAt(t *testing.T, name string) *readingRow {
	t.Helper()
	for _, r := range append([]*readingRow{f.what}, f.rows...) {
		if r.field.p.Name == name && r.box.Visible() {
			return r
		}
	}
	t.Fatalf("the form has no row %s", name)
	return nil
}

// fill types into rows, in pairs of name and text.
func (f *ReadingForm) fill(t *testing.T, pairs ...string) {
	t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		r := f.rowAt(t, pairs[i])
		if r.pick != nil {
			if err := r.pick.Commit(pairs[i+1]); err != nil {
				t.Fatal(err)
			}
			continue
		}
		typeIn(r.value, pairs[i+1], fyne.KeyReturn)
	}
}

// properties of a feature, as they stand in the file.
func properties(f *model.Feature, names ...string) string {
	var out []string
	for _, n := range names {
		if raw, ok := f.Property(n); ok {
			out = append(out, n+" "+string(raw))
		}
	}
	return strings.Join(out, ", ")
}

func TestAReadingOfEachKindIsWrittenDownAsOneStep(t *testing.T) {
	for _, c := range []struct {
		what string
		of   []string
		fill []string
		want string
		says string
	}{
		{"signal", []string{"S1", "RX"}, []string{"level", "−61,5", "time", "9.30", "by", "A. Reader", "leaf_state", "bare", "sender_height_m", "3", "attenuator_db", "10"},
			`of ["S1", "RX"], what "signal", value -61.5, unit "dBm", at "2027-04-30T09:30:00+02:00", by "A. Reader", leaf_state "bare", sender_height_m 3, attenuator_db 10`, "predicted at RX"},
		// The lower bound of 29 of 29 is 0.05^(1/29), the upper bound of none 2.996:
		// the closed forms of both published bounds.
		{"walk-test", []string{"S1"}, []string{"trials", "29", "detected", "29", "time", "14:05", "distance_m", "30", "air_c", "12", "background_c", "9"},
			`of ["S1"], what "walk-test", value {"trials": 29, "detected": 29}, at "2027-04-30T14:05:00+02:00", distance_m 30, air_c 12, background_c 9`, "29 of 29 proves a probability of detection of 0.90"},
		{"soak", []string{"S2"}, []string{"days", "14", "alarms", "0", "time", "0000"},
			`of ["S2"], what "soak", value {"days": 14, "alarms": 0}, at "2027-04-30T00:00:00+02:00"`, "at most 0.22 such alarms a day"},
		{"as-fitted", []string{"S2"}, []string{"mount_height_m", "3.1", "bearing_deg", "82", "tilt_deg", "2.5", "address", "17", "time", "16:00"},
			`of ["S2"], what "as-fitted", value {"mount_height_m": 3.1, "bearing_deg": 82, "tilt_deg": 2.5, "address": 17}, at "2027-04-30T16:00:00+02:00"`, "The plan has mount height 3 m, bearing 0°, tilt 2°."},
	} {
		t.Run(c.what, func(t *testing.T) {
			e, f := formOn(t)
			before := e.Plan()
			f.Fresh(c.what, c.of, "2027-04-30", "")
			f.fill(t, c.fill...)
			if !strings.Contains(f.says.Text(), c.says) {
				t.Errorf("the form says %q, not %q", f.says.Text(), c.says)
			}
			if !f.Write() {
				t.Fatalf("it is refused: %s", f.wrongs())
			}
			got := properties(e.Plan().Feature("M1"), "of", "what", "value", "unit", "at", "by", "leaf_state", "sender_height_m", "reader_height_m", "attenuator_db", "distance_m", "air_c", "background_c")
			if flat(got) != flat(c.want) {
				t.Errorf("written down:\n%s\nwant\n%s", got, c.want)
			}
			if m := e.Plan().Feature("M1"); !m.Sound() || m.Geometry != nil {
				t.Errorf("flaws %v, geometry %v", m.Flaws, m.Geometry)
			}
			if !strings.HasPrefix(f.done.Text(), "M1 is added: ") || f.Correcting() != "" || f.rowAt(t, "day").value.text != "2027-04-30" || f.rowAt(t, "time").value.text != "" {
				t.Errorf("afterwards: %q, day %q, time %q", f.done.Text(), f.rowAt(t, "day").value.text, f.rowAt(t, "time").value.text)
			}
			e.Undo()
			if e.Plan() != before {
				t.Error("it takes more than one step to undo")
			}
		})
	}
}

func flat(s string) string { return strings.ReplaceAll(s, " ", "") }

// wrongs are the messages about the fields that are marked.
func (f *ReadingForm) wrongs() string {
	var out []string
	for _, r := range append([]*readingRow{f.what, f.from, f.to}, f.rows...) {
		if r.wrong != "" && r.label.Bold && r.box.Visible() {
			out = append(out, r.field.p.Name+": "+r.wrong)
		}
	}
	return strings.Join(out, " | ")
}

func TestWhatIsWrongWithAReadingIsToldAndItsFieldMarked(t *testing.T) {
	full := map[string][]string{
		"signal":    {"level", "-60", "time", "10:00"},
		"walk-test": {"time", "10:00"},
		"soak":      {"time", "10:00"},
	}
	for _, c := range []struct {
		what string
		of   []string
		fill []string
		want string
	}{
		{"signal", []string{"S1", "RX"}, []string{"level", "-300"}, "level: Level read cannot be -300: it must be between -180 and 20 dBm."},
		{"signal", []string{"S1", "RX"}, []string{"level", "loud"}, "level: Level read cannot be loud"},
		{"signal", []string{"S1", "RX"}, []string{"level", ""}, "level: The level is needed: between -180 and 20 dBm."},
		{"signal", []string{"S1", "RX"}, []string{"day", "30.4.2027"}, "day: Day: \"30.4.2027\" is not"},
		{"signal", []string{"S1", "RX"}, []string{"time", "25:00"}, "time: Time cannot be 25:00: it must be between 00:00 and 23:59"},
		{"signal", []string{"S1", "RX"}, []string{"time", ""}, "time: The time is needed, such as 14:30"},
		{"signal", []string{"S1", "RX"}, []string{"sender_height_m", "0"}, "sender_height_m: Antenna height, sending cannot be 0: it must be above 0 and at most 60 m."},
		{"signal", []string{"S1", "S1"}, nil, "of: S1 cannot read itself"},
		{"signal", []string{"", "RX"}, nil, "of: Both devices are needed"},
		{"walk-test", nil, nil, "of: The device it is of is needed"},
		{"walk-test", []string{"S1"}, []string{"trials", "5", "detected", "6"}, "detected: 6 of 5 cannot be"},
		{"walk-test", []string{"S1"}, []string{"trials", "5"}, "detected: How many walks were detected is needed: 0 to 5."},
		{"walk-test", []string{"S1"}, []string{"trials", "2.5"}, "trials: Walks cannot be 2.5"},
		{"walk-test", []string{"S1"}, []string{"clothing", "2"}, "clothing: Clothing at the walk cannot be 2: it must be between 0 and 1."},
		{"soak", []string{"S1"}, []string{"alarms", "3"}, "days: For how many days is needed."},
	} {
		t.Run(c.what+" "+strings.Join(c.fill, " "), func(t *testing.T) {
			e, f := formOn(t)
			before := e.Plan()
			f.Fresh(c.what, c.of, "2027-04-30", "")
			f.fill(t, full[c.what]...)
			f.fill(t, c.fill...)
			if f.Write() || e.Plan() != before {
				t.Fatal("it is written down")
			}
			if got := f.wrongs(); !strings.HasPrefix(got, c.want) || strings.Contains(got, "|") {
				t.Errorf("told: %q, want %q", got, c.want)
			}
			if !strings.HasSuffix(f.wrongs(), ": "+f.help.Text()) {
				t.Errorf("the line beneath the form says %q", f.help.Text())
			}
		})
	}
}

func TestARefusedValueIsNoObstacleOnceItsFieldIsGoneToAgain(t *testing.T) {
	e, f := formOn(t)
	f.Fresh("signal", []string{"S1", "RX"}, "2027-04-30", "")
	f.fill(t, "level", "-60", "time", "10:00", "level", "-300")
	if f.Write() {
		t.Fatal("beside a refused level it is written down")
	}
	f.fill(t, "level", "-60")
	if !f.Write() || e.Plan().Feature("M1") == nil {
		t.Errorf("the level put right is refused: %s", f.wrongs())
	}
}

// What is said of a value or of what was done has room of its own: no field moves
// while the pointer is on its way to it.
func TestNoFieldOfTheReadingsFormMovesForWhatIsSaid(t *testing.T) {
	_, f := formOn(t)
	f.Fresh("signal", []string{"S1", "RX"}, "2027-04-30", "")
	places := func() (out []fyne.Position) {
		for _, r := range append([]*readingRow{f.what, f.from, f.to}, f.rows...) {
			if r.box.Visible() {
				out = append(out, fyne.CurrentApp().Driver().AbsolutePositionForObject(r.box))
			}
		}
		return append(out, fyne.CurrentApp().Driver().AbsolutePositionForObject(f.help))
	}
	before := places()
	for _, step := range []struct {
		name string
		do   func()
		says string
	}{
		{"a value is refused", func() { f.fill(t, "level", "-300") }, "cannot be -300"},
		{"it is not written down", func() { f.Write() }, "cannot be -300"},
		{"the level is put right", func() { f.fill(t, "level", "-60", "time", "25:00") }, "cannot be 25:00"},
		{"it is written down", func() { f.fill(t, "time", "10:00"); f.Write() }, "M1 is added"},
		{"another is begun", func() { f.fill(t, "level", "-61") }, ""},
	} {
		step.do()
		if got := places(); !slices.Equal(got, before) {
			t.Errorf("when %s the fields are at %v, not %v", step.name, got, before)
		}
		if said := f.done.Text() + f.help.Text(); !strings.Contains(said, step.says) {
			t.Errorf("when %s it says %q", step.name, said)
		}
	}
}

// What a correction is not about stays as it stands in the file, members and
// spellings that the program does not know among it.
func TestACorrectionChangesWhatWasTypedAlone(t *testing.T) {
	was := model.NewFeature(model.KindReading, "M1", nil, model.Prop("of", []string{"S1", "RX"}), model.Prop("what", "signal"), model.Prop("value", -61), model.Prop("unit", "dBm"),
		model.Prop("at", "2027-04-30T09:30:00Z"), model.Prop("weather", "drizzle"), model.Prop("rain_mm", 2))
	e, f := formOn(t, was, model.NewFeature(model.KindReading, "M2", nil, model.Prop("of", []string{"S1"}), model.Prop("what", "walk-test"), model.Prop("value", map[string]any{"trials": 5, "detected": 4, "posture": "crawl"}), model.Prop("at", "in May")),
		model.NewFeature(model.KindReading, "M3", nil, model.Prop("of", []string{"S1", "RX"}), model.Prop("what", "signal"), model.Prop("value", 61), model.Prop("unit", "mV")))
	f.Load("M1")
	if f.Correcting() != "M1" || f.rowAt(t, "level").value.text != "−61" || f.rowAt(t, "day").value.text != "2027-04-30" || f.rowAt(t, "time").value.text != "11:30" {
		t.Fatalf("loaded: %q, %q, %q", f.rowAt(t, "level").value.text, f.rowAt(t, "day").value.text, f.rowAt(t, "time").value.text)
	}
	steps := e.UndoLabel()
	if !f.Write() || e.UndoLabel() != steps || !strings.Contains(f.done.Text(), "nothing was changed") {
		t.Errorf("an untouched reading makes the step %q: %q", e.UndoLabel(), f.done.Text())
	}
	f.Load("M1")
	f.fill(t, "level", "-64")
	if !f.Write() || e.UndoLabel() != "correct reading M1" {
		t.Fatalf("step %q: %s", e.UndoLabel(), f.wrongs())
	}
	if got := properties(e.Plan().Feature("M1"), "value", "at", "weather", "rain_mm"); flat(got) != flat(`value -64, at "2027-04-30T09:30:00Z", weather "drizzle", rain_mm 2`) {
		t.Errorf("corrected: %s", got)
	}
	if f.what.pick.Open != nil {
		t.Error("after a correction what is read cannot be chosen")
	}

	f.Load("M2")
	if !strings.Contains(f.note.Text(), "its time in May") {
		t.Errorf("it does not say what is kept: %q", f.note.Text())
	}
	f.fill(t, "detected", "5")
	if !f.Write() {
		t.Fatal(f.wrongs())
	}
	if got := properties(e.Plan().Feature("M2"), "value", "at"); flat(got) != flat(`value {"detected": 5, "posture": "crawl", "trials": 5}, at "in May"`) && flat(got) != flat(`value {"trials": 5, "detected": 5, "posture": "crawl"}, at "in May"`) {
		t.Errorf("corrected: %s", got)
	}

	f.Load("M3")
	if f.rowAt(t, "level").value.text != "" || !strings.Contains(f.note.Text(), "its value 61 mV") {
		t.Errorf("a level in mV is shown as %q: %q", f.rowAt(t, "level").value.text, f.note.Text())
	}
	f.fill(t, "by", "A. Reader")
	if !f.Write() {
		t.Fatal(f.wrongs())
	}
	if got := properties(e.Plan().Feature("M3"), "value", "unit", "by"); flat(got) != flat(`value 61, unit "mV", by "A. Reader"`) {
		t.Errorf("corrected: %s", got)
	}
	f.Load("M3")
	f.fill(t, "level", "-70")
	if !f.Write() {
		t.Fatal(f.wrongs())
	}
	if got := properties(e.Plan().Feature("M3"), "value", "unit"); flat(got) != flat(`value -70, unit "dBm"`) {
		t.Errorf("a level typed anew: %s", got)
	}

	f.Load("M3")
	f.Remove()
	if e.Plan().Feature("M3") != nil || f.Correcting() != "" {
		t.Error("it is not removed")
	}
	e.Undo()
	if e.Plan().Feature("M3") == nil {
		t.Error("undo does not bring it back")
	}
}

func TestTheReadingsOfTheChosenDeviceAreListedToBeOpened(t *testing.T) {
	_, f := formOn(t, signalReading("M1", "S1", "RX", -61, "dBm"), signalReading("M2", "RX", "S2", -61, "dBm"),
		model.NewFeature(model.KindReading, "M3", nil, model.Prop("of", []string{"S1"}), model.Prop("what", "walk-test"), model.Prop("value", map[string]any{"trials": 29, "detected": 28})))
	lines := func() (out []string) {
		for _, o := range f.list.Objects {
			out = append(out, o.(*Row).Content.(*fyne.Container).Objects[0].(*fyne.Container).Objects[0].(*Line).Text())
		}
		return out
	}
	f.Fresh("signal", []string{"S1"}, "", "")
	if of := fmt.Sprint(f.d.of); of != "[S1 RX]" {
		t.Errorf("the signal of S1 is read by %s", of)
	}
	if got := strings.Join(lines(), "; "); got != "M1   signal, S1 to RX: −61 dBm; M3   walk test of S1: 28 of 29 detected" {
		t.Errorf("of S1: %s", got)
	}
	f.list.Objects[1].(*Row).OnTap()
	if f.Correcting() != "M3" || f.d.what != "walk-test" || f.rowAt(t, "detected").value.text != "28" {
		t.Errorf("a click opens %q as %q", f.Correcting(), f.d.what)
	}
	f.Fresh("signal", nil, "", "")
	if len(lines()) != 3 {
		t.Errorf("of nothing chosen: %q", lines())
	}
	f.Fresh("soak", []string{"RX"}, "", "")
	if len(f.d.of) != 0 || len(f.devices()) != 2 {
		t.Errorf("a soak test of %v, to choose from %v", f.d.of, f.devices())
	}
	if err := f.what.pick.Commit("as-fitted"); err != nil {
		t.Fatal(err)
	}
	f.choose(0, "RX")
	f.show()
	if f.rowAt(t, "antenna_height_m"); len(f.devices()) != 3 {
		t.Errorf("fitted is one of %v", f.devices())
	}
	for _, r := range f.rows {
		if r.box.Visible() && r.field.p.Name == "tilt_deg" {
			t.Error("a receiver has a tilt")
		}
	}
}

func TestTheDetailsOfAReadingAskForWhatGoesWithIt(t *testing.T) {
	e, ed, _ := site(t)
	if err := e.Do(model.Add{Features: []*model.Feature{signalReading("M1", "S1", "RX", -61, "dBm"),
		model.NewFeature(model.KindReading, "M2", nil, model.Prop("of", []string{"S1"}), model.Prop("what", "walk-test"), model.Prop("value", map[string]any{"trials": 29, "detected": 28}), model.Prop("leaf_state", "bare"))}}); err != nil {
		t.Fatal(err)
	}
	r, err := analysis.Run(context.Background(), e.Plan(), nil)
	if err != nil {
		t.Fatal(err)
	}
	r = studied(t, r)
	d := NewDetails(&Look{}, ed, func() *analysis.Result { return r })
	test.NewTempWindow(t, d.Object).Resize(fyne.NewSize(340, 700))
	shown := func(id string) string {
		e.Select(id)
		d.Update()
		return linesOf(d.inside)
	}
	one := shown("M1")
	for _, want := range []string{"Attenuator", "Leaf state", "Of", "S1, RX", "Value", "−61 dBm", "Predicted", "open"} {
		if !strings.Contains(one, "|"+want+"|") {
			t.Errorf("a level: no %q in %s", want, one)
		}
	}
	if strings.Contains(one, "Speed walked") {
		t.Errorf("a level asks for a walk: %s", one)
	}
	two := shown("M2")
	for _, want := range []string{"Speed walked", "Leaf state", "28 of 29 detected"} { // the second is stated
		if !strings.Contains(two, "|"+want+"|") {
			t.Errorf("a walk test: no %q in %s", want, two)
		}
	}
	if strings.Contains(two, "Attenuator") {
		t.Errorf("a walk test asks for an attenuator: %s", two)
	}
}

// linesOf gathers the lines of text in an object.
func linesOf(o fyne.CanvasObject) string {
	switch o := o.(type) {
	case interface{ Text() string }:
		return "|" + o.Text() + "|"
	case *fyne.Container:
		s := ""
		for _, x := range o.Objects {
			s += linesOf(x)
		}
		return s
	}
	return ""
}

// A list of many devices is bounded in height and width, and the keys go through it.
func TestALongListOfOptionsScrolls(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(&Look{})
	var options []Option
	for i := range 40 {
		options = append(options, Option{i, fmt.Sprint("S", i, "  ", strings.Repeat("long name ", i/4))})
	}
	p := NewPick(options...)
	w := test.NewTempWindow(t, VBox(0, p))
	w.Resize(fyne.NewSize(900, 700))
	var took []any
	p.Commit = func(v any) error { took = append(took, v); return nil }
	p.Set(20, "", false)
	open := func() *choices {
		p.Tapped(nil)
		l, ok := w.Canvas().Focused().(*choices)
		if !ok {
			t.Fatalf("the focus is on %T", w.Canvas().Focused())
		}
		return l
	}
	l := open()
	if s := l.Size(); s.Width > widestPick || s.Height > mostChoices*l.rowHeight()+2*theme.InnerPadding() || len(l.rows) != 40 {
		t.Errorf("the list is %v large, with %d rows", s, len(l.rows))
	}
	if l.at != 20 || l.scroll.Offset.Y > 20*l.rowHeight() || l.scroll.Offset.Y+l.scroll.Size().Height < 21*l.rowHeight() {
		t.Errorf("it opens on row %d at %v", l.at, l.scroll.Offset)
	}
	for _, k := range []fyne.KeyName{fyne.KeyDown, fyne.KeyPageDown, fyne.KeyUp, fyne.KeyReturn} {
		l.TypedKey(&fyne.KeyEvent{Name: k})
	}
	l = open()
	l.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	l = open()
	l.rows[3].OnTap()
	if fmt.Sprint(took) != "[32 3]" || w.Canvas().Overlays().Top() != nil {
		t.Errorf("taken: %v; on top is %T", took, w.Canvas().Overlays().Top())
	}
}
