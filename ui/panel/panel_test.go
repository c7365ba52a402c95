package panel

import (
	"context"
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/sitegrid"
	"pleach/ui/editor"
)

// site is a plan of a square of 100 m with two sensors and a receiver.
func site(t *testing.T) (*editor.Editor, func() *editor.Editor, func() *analysis.Result) {
	t.Helper()
	test.NewTempApp(t).Settings().SetTheme(&Look{})
	g := sitegrid.New(8, 47)
	at := func(x, y float64) orb.Point { return g.ToLonLat(orb.Point{x, y}) }
	ring := orb.Ring{at(-50, -50), at(50, -50), at(50, 50), at(-50, 50)}
	sensor := func(id string, x, y, bearing float64) *model.Feature {
		return model.NewFeature(model.KindSensor, id, at(x, y), model.Prop("model", "curtain-4-63"), model.Prop("mount_height_m", 3),
			model.Prop("bearing_deg", bearing), model.Prop("tilt_deg", 2))
	}
	p, err := model.Add{Features: []*model.Feature{
		model.NewFeature(model.KindBoundary, "B1", orb.Polygon{append(ring, ring[0])}),
		sensor("S1", -48, -49, 90), sensor("S2", 49, -48, 0),
		model.NewFeature(model.KindReceiver, "RX", at(0, 0), model.Prop("antenna_height_m", 6), model.Prop("name", "Mast")),
		model.NewFeature(model.KindBuilding, "H1", orb.Polygon{{at(0, 10), at(10, 10), at(10, 20), at(0, 10)}}, model.Prop("height_m", 6), model.Prop("assumed", []string{"height_m"})),
	}}.Apply(model.NewPlan())
	if err != nil {
		t.Fatal(err)
	}
	e := editor.New(p)
	return e, func() *editor.Editor { return e }, func() *analysis.Result {
		r, err := analysis.Run(context.Background(), e.Settled(), nil)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
}

func TestWhatIsTypedIsHeldAgainstTheLimits(t *testing.T) {
	info, _ := model.Info(model.KindSensor)
	prop := func(name string) model.Property { p, _ := info.Property(name); return p }
	for _, c := range []struct {
		prop, text string
		want       any
		err        string
	}{
		{"tilt_deg", "12,5", 12.5, ""},
		{"tilt_deg", "−45", -45.0, ""},
		{"tilt_deg", "95", nil, "between -45 and 89°"},
		{"tilt_deg", "NaN", nil, "between -45 and 89°"},
		{"tilt_deg", "", nil, "is needed"},
		{"mount_height_m", "0", nil, "above 0 and at most 60 m"},
		{"bearing_deg", "725", 725.0, ""},
		{"bearing_deg", "north", nil, "cannot be north"},
		{"address", "17", 17, ""},
		{"address", "1.5", nil, "whole number"},
		{"address", "", nil, ""},
		{"zone", "North", "North", ""},
	} {
		t.Run(c.prop+" "+c.text, func(t *testing.T) {
			got, err := Typed(prop(c.prop), c.text)
			if c.err != "" {
				if err == nil || !strings.Contains(err.Error(), c.err) {
					t.Fatalf("error %v, want one that says %q", err, c.err)
				}
				return
			}
			if err != nil || got != c.want {
				t.Errorf("%v, %v; want %v", got, err, c.want)
			}
		})
	}
}

// rowOf finds the value of a labelled row of the details.
func rowOf(t *testing.T, o fyne.CanvasObject, label string) *Value {
	t.Helper()
	var found *Value
	var walk func(fyne.CanvasObject)
	walk = func(o fyne.CanvasObject) {
		c, ok := o.(*fyne.Container)
		if !ok {
			return
		}
		if len(c.Objects) == 2 {
			if labelled(c, label) {
				found, _ = c.Objects[1].(*Value)
			}
		}
		for _, k := range c.Objects {
			walk(k)
		}
	}
	walk(o)
	if found == nil {
		t.Fatalf("there is no row %q", label)
	}
	return found
}

// labelled reports whether a row begins with a label.
func labelled(row *fyne.Container, label string) bool {
	l, ok := row.Objects[0].(*Para)
	return ok && l.Text() == label
}

// typeIn types into a value as a person does: click, type, Enter.
func typeIn(v *Value, text string, key fyne.KeyName) {
	v.entry.FocusGained()
	v.entry.SetText(text)
	v.entry.TypedKey(&fyne.KeyEvent{Name: key})
	v.entry.FocusLost()
}

func TestAValueTypedIsOneStepAndAWrongOneIsRefusedWithItsLimits(t *testing.T) {
	e, ed, result := site(t)
	d := NewDetails(&Look{}, ed, result)
	w := test.NewTempWindow(t, d.Object)
	w.Resize(fyne.NewSize(340, 700))
	e.Select("S1")
	d.Update()
	tilt := rowOf(t, d.inside, "Tilt")
	typeIn(tilt, "5", fyne.KeyReturn)
	if s := e.Plan().Feature("S1").Value.(*model.Sensor); s.Tilt != 5 || e.UndoLabel() != "set tilt of S1" {
		t.Fatalf("tilt %v, step %q", s.Tilt, e.UndoLabel())
	}
	d.Update()
	before := e.Plan()
	typeIn(tilt, "95", fyne.KeyReturn)
	if e.Plan() != before {
		t.Error("a tilt of 95 was taken")
	}
	if !strings.Contains(d.form.help.text, "between -45 and 89") {
		t.Errorf("the help line says %q", d.form.help.text)
	}
	typeIn(tilt, "30", fyne.KeyEscape)
	if e.Plan() != before {
		t.Error("Escape took the value")
	}
	if tilt.face.text.Text() != "5°" {
		t.Errorf("the row shows %q", tilt.face.text.Text())
	}
}

func TestARefusalGoesWithTheValueThatWasRefused(t *testing.T) {
	e, ed, result := site(t)
	d := NewDetails(&Look{}, ed, result)
	w := test.NewTempWindow(t, d.Object)
	w.Resize(fyne.NewSize(340, 700))
	e.Select("S1")
	d.Update()
	tilt := rowOf(t, d.inside, "Tilt")
	refused := func() bool { return strings.Contains(d.form.help.text, "cannot be") }
	for _, how := range []string{"Escape", "another value", "undo"} {
		t.Run(how, func(t *testing.T) {
			typeIn(tilt, "95", fyne.KeyReturn)
			if !refused() || !d.form.help.Bold {
				t.Fatalf("the help line says %q", d.form.help.text)
			}
			switch how {
			case "Escape":
				tilt.entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
			case "another value":
				typeIn(tilt, "6", fyne.KeyReturn)
			case "undo":
				e.Undo()
			}
			d.Update()
			if refused() || d.form.help.Bold {
				t.Errorf("it still says %q", d.form.help.text)
			}
		})
	}
}

func TestFieldsSayTheirLimitsBeforeTheyAreBroken(t *testing.T) {
	e, ed, result := site(t)
	d := NewDetails(&Look{}, ed, result)
	test.NewTempWindow(t, d.Object)
	e.Select("S1")
	d.Update()
	rowOf(t, d.inside, "Mount height").entry.FocusGained()
	if !strings.Contains(d.form.help.text, "above 0 and at most 60 m") {
		t.Errorf("the help line says %q", d.form.help.text)
	}
}

func TestSeveralSensorsAreSetTogether(t *testing.T) {
	e, ed, result := site(t)
	d := NewDetails(&Look{}, ed, result)
	test.NewTempWindow(t, d.Object)
	e.Select("S1", "S2")
	d.Update()
	if got := rowOf(t, d.inside, "Bearing").face.text.Text(); got != several {
		t.Errorf("bearings of 90 and 0 show as %q", got)
	}
	typeIn(rowOf(t, d.inside, "Mount height"), "3.5", fyne.KeyReturn)
	for _, id := range []string{"S1", "S2"} {
		if h := e.Plan().Feature(id).Value.(*model.Sensor).MountHeight; h != 3.5 {
			t.Errorf("%s at %v m", id, h)
		}
	}
	e.Undo()
	if e.UndoLabel() != "" {
		t.Error("it was more than one step")
	}
}

func TestDetailsSayWhatTheAnalysisFound(t *testing.T) {
	e, ed, result := site(t)
	d := NewDetails(&Look{}, ed, result)
	test.NewTempWindow(t, d.Object)
	facts := func(id string) string {
		e.Select(id)
		d.Update()
		return d.factOf
	}
	for id, want := range map[string][]string{"S1": {"Footprint", "Radio margin", "Battery lasts", "Covers of B1"}, "B1": {"Length", "400 m", "Gaps"}, "H1": {"Area", "50 m²"}} {
		for _, w := range want {
			if got := facts(id); !strings.Contains(got, w) {
				t.Errorf("of %s it is said %q, without %q", id, got, w)
			}
		}
	}
	facts("H1")
	if !strings.Contains(d.assumed.text, "height") {
		t.Errorf("that the height of H1 is assumed is not said: %q", d.assumed.text)
	}
}

// Type that begins between two pixels is stretched: menus set labels by this padding.
func TestTheLabelsOfMenusBeginOnWholeUnits(t *testing.T) {
	test.NewTempApp(t)
	for _, size := range []float32{0.85, 1, 1.15, 1.25, 1.5, 2} {
		l := &Look{Text: size}
		fyne.CurrentApp().Settings().SetTheme(l)
		if got := l.Size(theme.SizeNameInnerPadding); float64(got) != math.Round(float64(got)) {
			t.Errorf("at text size %g labels begin %g units into their rows", size, got)
		}
	}
}

// Where a height is stated that was assumed, the line about it changes but its room
// stays: the fields stand still.
func TestTheFieldsOfDetailsStandStillWhenAnAssumptionGoes(t *testing.T) {
	e, ed, result := site(t)
	d := NewDetails(&Look{}, ed, result)
	test.NewTempWindow(t, d.Object).Resize(fyne.NewSize(340, 700))
	e.Select("H1")
	d.Update()
	before := d.box.Position()
	if err := e.Do(model.Set{ID: "H1", Values: []model.Value{{Property: "height_m", Value: 7}}}); err != nil {
		t.Fatal(err)
	}
	d.Update()
	if d.assumed.Text() != "Nothing is assumed any more." || d.box.Position() != before {
		t.Errorf("it says %q, the fields are at %v instead of %v", d.assumed.Text(), d.box.Position(), before)
	}
	e.Select("S1")
	d.Update()
	e.Select("H1")
	d.Update()
	if d.assumed.Visible() {
		t.Errorf("selected anew it says %q", d.assumed.Text())
	}
}

// What is only shown stands where the values stand that can be typed, and what there is
// no room for is told whole under the pointer.
func TestAValueThereIsNoRoomForIsToldWhole(t *testing.T) {
	f := form{help: NewPara("", "", "")}
	long := "a name that is a good deal longer than the room a field has for it"
	v, p := NewValue(""), NewPick()
	f.serve(v, model.Property{Label: "Name"})
	f.serve(p, model.Property{Label: "Model"})
	v.Set(long, false)
	p.Set(nil, long, false)
	row, line := f.figure("Fixed to", long)
	test.NewTempApp(t).Settings().SetTheme(&Look{})
	test.NewTempWindow(t, VBox(0, FormRow("Name", v), FormRow("Model", p), row)).Resize(fyne.NewSize(300, 120))
	only := row.(*fyne.Container).Objects[1].(*onlyShown)
	edge := func(l *Line) fyne.Position { return l.Position().Add(fyne.NewPos(l.Size().Width, 0)) }
	if edge(line) != edge(v.face.text) || edge(line) != edge(p.line) {
		t.Errorf("the texts end at %v, %v and %v", edge(line), edge(v.face.text), edge(p.line))
	}
	for name, o := range map[string]desktop.Hoverable{"typed": v.face, "picked": p, "shown": only} {
		f.help.SetText("before")
		o.MouseIn(nil)
		if f.help.Text() != long {
			t.Errorf("over what is %s: %q", name, f.help.Text())
		}
		o.MouseOut()
		if f.help.Text() != "before" {
			t.Errorf("after what is %s: %q", name, f.help.Text())
		}
	}
	v.Set("short", false)
	if v.face.MouseIn(nil); f.help.Text() != "before" {
		t.Errorf("over a value that is all there: %q", f.help.Text())
	}
}

func TestAFlawedFeatureIsListedFirstAndSaysWhatIsWrong(t *testing.T) {
	e, ed, result := site(t)
	if err := e.Do(model.Set{ID: "S2", Values: []model.Value{{Property: "tilt_deg", Value: 95}}}); err != nil {
		t.Fatal(err)
	}
	f := NewFindings()
	w := test.NewTempWindow(t, f.Object)
	w.Resize(fyne.NewSize(340, 400))
	f.Set(e.Plan().AllFlaws(), result())
	if len(f.entries) == 0 || f.entries[0].word != "Flaw in the file" || !strings.Contains(f.entries[0].text, "tilt_deg 95") {
		t.Fatalf("first finding %+v", f.entries)
	}
	if !strings.HasPrefix(f.Words(), "1 flaw") {
		t.Errorf("counted as %q", f.Words())
	}
	var went model.Finding
	f.Go = func(x model.Finding) { went = x }
	f.list.Select(0)
	if len(went.Subject) != 1 || went.Subject[0] != "S2" {
		t.Errorf("a click goes to %v", went.Subject)
	}
	d := NewDetails(&Look{}, ed, result)
	e.Select("S2")
	d.Update()
	if !strings.Contains(d.flaws.text, "not between -45 and 89") || !d.flaws.Visible() {
		t.Errorf("the details say %q", d.flaws.text)
	}
}

func TestSeveritiesAreToldByWordAndMark(t *testing.T) {
	_, _, result := site(t)
	f := NewFindings()
	f.hide = false
	f.Set(nil, result())
	marks := map[string]string{}
	for _, e := range f.all {
		if e.word == "" || e.mark == "" {
			t.Errorf("%q has word %q and mark %q", e.text, e.word, e.mark)
		}
		if m, ok := marks[e.mark]; ok && m != e.word {
			t.Errorf("the mark %q stands for %q and %q", e.mark, m, e.word)
		}
		marks[e.mark] = e.word
	}
	if len(marks) < 2 {
		t.Errorf("marks %v: this plan has faults and notes", marks)
	}
}

func TestAFindingShowsWholeHoweverMuchTheDetailsNeed(t *testing.T) {
	_, _, result := site(t)
	f := NewFindings()
	told := 0
	f.Resized = func() { told++ }
	if h := f.Floor(); h != 0 {
		t.Errorf("with nothing found the list must have %v", h)
	}
	if f.Set(nil, result()); told == 0 {
		t.Error("nobody is told that the list must have more")
	}
	details, list := NewSection("Details", NewLine("body", "", ""), true), NewSection("Findings", f.Object, true)
	details.Grow, list.Grow = true, true
	details.Need = func() float32 { return 2000 }
	list.Floor = f.Floor
	(&Stack{Least: 50}).Layout([]fyne.CanvasObject{details, list}, fyne.NewSize(300, 500))
	if h := f.list.Size().Height; h < listLeast {
		t.Errorf("the list has %v, a finding takes %v", h, listLeast)
	}
}

func TestTheListFindsByIDNameAndModel(t *testing.T) {
	_, ed, result := site(t)
	f := NewFeatures(&Look{}, ed, result)
	f.Update()
	for find, want := range map[string]string{"": "S1 S2 RX B1 H1", "s2": "S2", "mast": "RX", "curtain": "S1 S2", "building": "H1", "nowhere": ""} {
		f.find.SetText(find)
		var ids []string
		for _, r := range f.rows {
			ids = append(ids, r.id)
		}
		if got := strings.Join(ids, " "); got != want {
			t.Errorf("%q finds %q, want %q", find, got, want)
		}
	}
}

func TestTheDiagramLeadsToThePlaceOnTheMap(t *testing.T) {
	_, _, result := site(t)
	d := NewDiagram(&Look{})
	w := test.NewTempWindow(t, d)
	w.SetPadded(false)
	w.Resize(fyne.NewSize(1000, 120))
	r := result()
	d.Set(r.Scene, r, nil, 0)
	d.Resize(fyne.NewSize(1000, d.MinSize().Height))
	var at orb.Point
	var s float64
	d.Over = func(p orb.Point, c float64, on bool) {
		if on {
			at, s = p, c
		}
	}
	d.MouseMoved(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(500, 40)}})
	if math.Abs(s-200) > 1 {
		t.Errorf("the middle of the diagram is at %.1f m, want 200 of 400", s)
	}
	// Chainage 200 of the square is its corner opposite to the first.
	if math.Hypot(at[0]-50, at[1]-50) > 1 {
		t.Errorf("the place is %v, want the corner 50, 50", at)
	}
	var went orb.Point
	d.Go = func(p orb.Point, _ string) { went = p }
	d.Tapped(&fyne.PointEvent{Position: fyne.NewPos(500, 40)})
	if went != at {
		t.Errorf("a click goes to %v, not to %v", went, at)
	}
	d.Scrolled(&fyne.ScrollEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(500, 40)}, Scrolled: fyne.NewDelta(0, 100)})
	if !(d.to-d.from < 399) {
		t.Error("the wheel does not stretch it")
	}
	d.MouseMoved(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(500, 40)}})
	if math.Abs(s-200) > 1 {
		t.Errorf("stretched, the place under the pointer is %.1f m: it should stay", s)
	}
}

func TestSettingsAreChangedAsSteps(t *testing.T) {
	e, ed, _ := site(t)
	s := NewSettings(ed, func(path string) bool { return path == "title" || path == "crossing.depth_m" })
	test.NewTempWindow(t, s.Object)
	s.Update()
	inside := s.inside
	typeIn(rowOf(t, inside, "Title"), "North yard", fyne.KeyReturn)
	if e.Plan().Settings.Title != "North yard" || e.UndoLabel() != "set title" {
		t.Errorf("title %q by step %q", e.Plan().Settings.Title, e.UndoLabel())
	}
	before := e.Plan()
	typeIn(rowOf(t, inside, "Depth of the crossing line"), "200", fyne.KeyReturn)
	if e.Plan() != before || !strings.Contains(s.form.help.text, "at most 100 m") {
		t.Errorf("a depth of 200 m: the help line says %q", s.form.help.text)
	}
	typeIn(rowOf(t, inside, "Depth of the crossing line"), "8", fyne.KeyReturn)
	if e.Plan().Settings.CrossingDepth != 8 {
		t.Errorf("depth %v", e.Plan().Settings.CrossingDepth)
	}
	e.Undo()
	for _, st := range model.SettingsTable {
		if settingValue(&e.Plan().Settings, st.Path) == nil {
			t.Errorf("the setting %s is not shown", st.Path)
		}
	}
	if text, soft := shownSetting(e.Plan(), model.SettingInfo("title")); text != "North yard" || soft {
		t.Errorf("title %q, soft %v", text, soft)
	}
	if text, soft := shownSetting(e.Plan(), model.SettingInfo("crossing.depth_m")); text != "10" || !soft {
		t.Errorf("depth %q, soft %v", text, soft)
	}
}

func TestTextIsCutAndBrokenWithinItsWidth(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(&Look{})
	const long = "Gap 3, 14.2 m from 412 m along the northern fence: hidden by the pump house"
	for _, width := range []float32{60, 120, 300} {
		if c := cut(long, 13, false, width); textWidth(c, 13, false) > width+1 || !strings.HasSuffix(c, "…") {
			t.Errorf("cut to %v: %q is %v wide", width, c, textWidth(c, 13, false))
		}
		for _, l := range wrap(long, 13, false, width) {
			if strings.Contains(l, " ") && textWidth(l, 13, false) > width {
				t.Errorf("broken at %v: %q is %v wide", width, l, textWidth(l, 13, false))
			}
		}
	}
	// The typeface's own measure is that of the toolkit.
	for _, size := range []float32{12, 13, 18} {
		if a, b := textWidth(long, size, true), fyne.MeasureText(long, size, fyne.TextStyle{Bold: true}).Width; math.Abs(float64(a-b)) > 2.5 {
			t.Errorf("at size %v: %v, the toolkit says %v", size, a, b)
		}
	}
}

func TestTheLookHasEveryColourInBothVariants(t *testing.T) {
	for _, v := range []fyne.ThemeVariant{theme.VariantLight, theme.VariantDark} {
		l := &Look{Variant: &v}
		fr, fg, fb, _ := l.Color(theme.ColorNameForeground, v).RGBA()
		br, bg, bb, _ := l.Color(theme.ColorNameBackground, v).RGBA()
		if c := contrastOf(lum(fr, fg, fb), lum(br, bg, bb)); c < 7 {
			t.Errorf("variant %v: text on ground has contrast %.1f, want 7 (WCAG 2.1, 1.4.6)", v, c)
		}
		sr, sg, sb, _ := l.Color(ColorSoft, v).RGBA()
		if c := contrastOf(lum(sr, sg, sb), lum(br, bg, bb)); c < 4.5 {
			t.Errorf("variant %v: soft text on ground has contrast %.1f, want 4.5 (WCAG 2.1, 1.4.3)", v, c)
		}
	}
}

// lum is the relative luminance of WCAG 2.1, of 16-bit channels.
func lum(r, g, b uint32) float64 {
	f := func(v uint32) float64 {
		x := float64(v) / 65535
		if x <= 0.03928 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*f(r) + 0.7152*f(g) + 0.0722*f(b)
}

func contrastOf(a, b float64) float64 { return (math.Max(a, b) + 0.05) / (math.Min(a, b) + 0.05) }

func TestSectionsShareTheHeight(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(&Look{})
	section := func(open bool) *Section {
		s := NewSection("x", NewLine("body", "", ""), open)
		s.Grow = true
		return s
	}
	a, b, c := section(true), section(true), section(false)
	a.Need = func() float32 { return 60 }
	(&Stack{Least: 50}).Layout([]fyne.CanvasObject{a, b, c}, fyne.NewSize(300, 600))
	sum := a.Size().Height + b.Size().Height + c.Size().Height
	if math.Abs(float64(sum-600)) > 1 {
		t.Errorf("together %v high, want 600", sum)
	}
	if a.Size().Height > 110 || b.Size().Height < 400 {
		t.Errorf("the one that needs little has %v, the other %v", a.Size().Height, b.Size().Height)
	}
	a.Need = func() float32 { return 320 }
	(&Stack{Least: 50}).Layout([]fyne.CanvasObject{a, b, c}, fyne.NewSize(300, 600))
	if a.Size().Height < 320 {
		t.Errorf("the one that needs 320 of 600 has %v", a.Size().Height)
	}
	a.Need = func() float32 { return 2000 }
	(&Stack{Least: 50}).Layout([]fyne.CanvasObject{a, b, c}, fyne.NewSize(300, 600))
	if h := a.Size().Height; math.Abs(float64(h-mostNeeded*600)) > 1 {
		t.Errorf("the one that needs more than there is has %v", h)
	}
}

// A battery is not reckoned anew at every step of a drag: it goes over the whole plan.
func TestTheBatteryIsReckonedOfTheSettledPlan(t *testing.T) {
	e, ed, result := site(t)
	d := NewDetails(&Look{}, ed, result)
	e.Select("S1")
	d.Update()
	if len(d.battery.facts) == 0 || d.battery.of != "S1" {
		t.Fatalf("%+v", d.battery)
	}
	of := func() string {
		if f := d.batteryOf(result(), e.Plan().Feature("S1")); len(f) > 0 {
			return f[0].value
		}
		return ""
	}
	settled := of()
	d.battery.facts = []fact{{"Battery lasts", "as before the drag"}}
	e.Tune("S1", "tilt_deg", 5)
	if !e.Drafting() || of() != "as before the drag" {
		t.Errorf("in a draft: %q", of())
	}
	e.Settle()
	if of() != settled {
		t.Errorf("settled: %q, want %q", of(), settled)
	}
}
