package panel

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/contrast"
	"pleach/model/scene"
	"pleach/model/signal"
	"pleach/model/sun"
	"pleach/ui/editor"
)

// Signal shows how strong the selected sensor's signal of a crossing is against that
// of its walk test, and the low-contrast hours of a temperature series. What is typed
// here is asked, and no part of the plan.
type Signal struct {
	Object fyne.CanvasObject
	Shown  func() bool // whether the panel is in view: otherwise nothing is reckoned
	Choose func()      // lets the user choose a temperature series

	Resized func() // Need has changed

	need   float32
	ed     func() *editor.Editor
	result func() *analysis.Result
	form   form

	sensor string // shown, "" for none
	of     *scene.Scene
	s      *signal.Sensor
	asked  map[string]float64 // what was typed, by property
	rows   []signalField
	values map[string]float64 // that hold

	series []contrast.Reading
	name   string
	hours  hoursOf

	empty   *Para
	inside  *fyne.Container
	head    *Line
	figure  *Line
	spread  *Line
	parts   *Para
	tested  *Para
	table   *fyne.Container
	lines   []*Line
	names   []*Line
	refused *Para
	details *Para // of the rows of the table
	optics  *Para
	file    *Line
	low     *Para
	grid    *HourGrid
	cell    *Line
}

// signalField is a value that can be typed.
type signalField struct {
	p model.Property
	v *Value
}

// hoursOf is what low-contrast hours were reckoned from.
type hoursOf struct {
	first    *contrast.Reading
	clothing float64
	zone     string
}

func askedFor(name, label, unit string, min, max float64, help string) model.Property {
	return model.Property{Name: name, Label: label, Type: model.Number, Unit: unit, Min: min, Max: max, Bounded: true, Help: help}
}

// signalFields are what can be asked.
var signalFields = []model.Property{
	askedFor("distance", "Distance", "m", contrast.MinDistance, contrast.MaxDistance, "along the axis; the far reach unless stated"),
	askedFor("heading", "Direction", "°", 0, 180, "path to line of sight: 90 across the view, 0 straight at the sensor"),
	askedFor("speed", "Speed", "m/s", contrast.MinSpeed, contrast.MaxSpeed, "1 unless stated"),
	askedFor("air", "Air", "°C", contrast.MinAir, contrast.MaxAir, "as at the walk test unless stated"),
	askedFor("background", "Ground behind", "°C", contrast.MinBackground, contrast.MaxBackground, "the surface seen behind the target; as at the walk test unless stated"),
	askedFor("clothing", "Clothing", "", 0, 1, "0 bare skin, 1 as warm as the air; as at the walk test unless stated"),
}

// NewSignal makes the panel.
func NewSignal(ed func() *editor.Editor, result func() *analysis.Result) *Signal {
	s := &Signal{ed: ed, result: result, asked: map[string]float64{}, values: map[string]float64{}, Shown: func() bool { return true }}
	small := func() *Para { return NewPara("", ColorSoft, SizeNameSmall) }
	s.form.help = small()
	s.empty = NewPara("Select a sensor.", ColorSoft, "")
	s.head = NewLine("", "", "").Strong().Cut()
	s.figure = NewLine("", "", "").Strong().Right()
	s.spread = NewLine("", ColorSoft, "").Right()
	s.parts, s.tested, s.refused, s.optics, s.low, s.details = small(), small(), NewPara("", "", SizeNameSmall), small(), small(), small()
	s.refused.Bold = true
	s.table = VBox(0)
	s.file = NewLine("", "", "").Cut()
	s.grid = NewHourGrid()
	s.cell = NewLine("", ColorSoft, SizeNameSmall).Cut()
	s.grid.Over = s.cell.SetText
	box := VBox(0)
	for _, p := range signalFields {
		v := NewValue(p.Unit)
		v.Commit = func(text string) error {
			val, err := Typed(p, text)
			if err != nil {
				return err
			}
			s.form.left()
			if val == nil {
				delete(s.asked, p.Name)
			} else {
				s.asked[p.Name] = val.(float64)
			}
			s.reckon()
			return nil
		}
		s.form.serve(v, p)
		s.rows = append(s.rows, signalField{p, v})
		box.Add(FormRow(p.Label, v))
	}
	choose := NewRow(container.NewCenter(NewLine("choose a file", ColorSoft, SizeNameSmall)), func() {
		if s.Choose != nil {
			s.Choose()
		}
	})
	choose.Pad = 4
	label := func(text string) fyne.CanvasObject { return Inset(NewLine(text, ColorSoft, SizeNameSmall), 0, 6, 0, 2) }
	s.inside = VBox(4,
		s.head, s.tested, label("The crossing"), box, s.form.help,
		label("Its signal against that of the walk test"),
		container.NewBorder(nil, nil, NewLine("As asked", "", ""), container.NewHBox(s.figure, s.spread)),
		s.refused, s.parts,
		label("With one thing changed"), s.table, s.details, NewPara(signal.Claim, ColorSoft, SizeNameSmall), s.optics,
		label("Low-contrast hours"), container.NewBorder(nil, nil, nil, choose, s.file), s.low, s.grid, s.cell)
	s.Object = container.NewVScroll(Inset(VBox(0, s.empty, s.inside), 12, 0, 14, 10))
	s.Update()
	return s
}

// Need is the height that shows everything.
func (s *Signal) Need() float32 {
	if s.s == nil {
		return s.empty.MinSize().Height + 12
	}
	return s.inside.MinSize().Height + 12
}

// SetSeries shows the low-contrast hours of a temperature series.
func (s *Signal) SetSeries(name string, series []contrast.Reading) {
	s.name, s.series = name, series
	s.reckon()
	s.resized()
}

func (s *Signal) resized() {
	if n := s.Need(); n != s.need {
		s.need = n
		if s.Resized != nil {
			s.Resized()
		}
	}
}

// Update brings the panel into line with selection, plan and result.
func (s *Signal) Update() {
	r := s.result()
	id := ""
	for _, sel := range s.ed().Selected() {
		if f := s.ed().Plan().Feature(sel); f != nil && f.Kind == model.KindSensor && len(s.ed().Selected()) == 1 {
			id = sel
		}
	}
	if !s.Shown() || r == nil || id != "" && id == s.sensor && r.Scene == s.of {
		return
	}
	if id != s.sensor {
		s.form.left()
		delete(s.asked, "distance") // another sensor reaches elsewhere
	}
	s.sensor, s.of, s.s = id, r.Scene, nil
	why := "Select one sensor."
	if id != "" {
		var err error
		if s.s, err = signal.Of(r.Scene, id); err != nil {
			why = Sentence(err.Error())
		}
	}
	s.empty.SetText(why)
	s.empty.Hidden = s.s != nil
	s.inside.Hidden = s.s == nil
	if s.s != nil {
		s.head.SetText(r.Plan.Feature(id).Title())
	}
	s.reckon()
	s.Object.Refresh()
	s.resized()
}

// reckon shows the signal of what is asked.
func (s *Signal) reckon() {
	if s.s == nil {
		return
	}
	place, ok := s.s.Far()
	if !ok {
		place = s.s.Ahead(30) // it sees nothing along its axis
	}
	if d, ok := s.asked["distance"]; ok {
		place = s.s.Ahead(d)
	}
	t, err := s.s.Tested("", place.Distance)
	if err != nil {
		s.fail(err)
		return
	}
	now := s.s.Crossing(place, t.Condition)
	now.Speed = 1
	for name, of := range map[string]*float64{"distance": &now.Distance, "heading": &now.Heading, "speed": &now.Speed, "air": &now.Air, "background": &now.Background, "clothing": &now.Clothing} {
		if v, ok := s.asked[name]; ok {
			*of = v
		}
		s.values[name] = *of
	}
	for _, f := range s.rows {
		_, typed := s.asked[f.p.Name]
		f.v.Set(number(math.Round(s.values[f.p.Name]*100)/100), !typed)
	}
	s.tested.SetText(testedWords(t))
	s.optics.SetText(opticsWords(s.s))
	rows, err := s.s.Table(now, t)
	if err != nil {
		s.fail(err)
		return
	}
	s.fail(nil)
	s.figure.SetText(signalWords(rows[0]))
	s.spread.SetText(spreadWords(rows[0]))
	parts := partWords(rows[0])
	if why := s.s.Unseen(place); why != "" {
		parts += " Not seen: " + why + "."
	}
	s.parts.SetText(parts)
	if s.lines == nil {
		for range rows[1:] {
			name, value := NewLine("", ColorSoft, "").Cut(), NewLine("", "", "").Right()
			s.names, s.lines = append(s.names, name), append(s.lines, value)
			s.table.Add(container.New(&formRow{0.68}, name, Inset(value, 4, 4, 0, 0)))
		}
	}
	var details []string
	for i, w := range rows[1:] {
		name := Sentence(w.Name + ".")
		name = name[:len(name)-1]
		if w.Detail != "" {
			details = append(details, name+": "+w.Detail)
		}
		if w.Reversed {
			name += " *"
		}
		s.names[i].SetText(name)
		s.lines[i].SetText(signalWords(w) + " " + spreadWords(w))
	}
	words := strings.Join(details, ". ") + "."
	if slices.ContainsFunc(rows[1:], func(w signal.Row) bool { return w.Reversed }) {
		words += " * The ground is the warmer: the target shows as a cold spot."
	}
	s.details.SetText(words)
	s.showHours(now.Clothing)
	s.inside.Refresh()
}

// fail shows why nothing can be told, or nothing.
func (s *Signal) fail(err error) {
	s.refused.SetText("")
	s.table.Hidden = err != nil
	if err != nil {
		s.refused.SetText(Sentence(err.Error()))
		s.figure.SetText("–")
		s.spread.SetText("")
		s.parts.SetText("")
	}
	s.refused.Hidden = err == nil
}

// showHours shows the low-contrast hours.
func (s *Signal) showHours(clothing float64) {
	if len(s.series) == 0 {
		s.file.SetText("no temperature series")
		s.low.SetText("A CSV file with the columns time,air_c,background_c shows at which hours target and ground are nearly equally warm.")
		s.grid.Hide()
		s.cell.Hide()
		return
	}
	clock, zone := analysis.Clock(s.of.Plan.Settings, s.of.Grid.Lon0)
	key := hoursOf{&s.series[0], clothing, zone.String()}
	if s.hours == key {
		return
	}
	s.hours = key
	h := signal.LowHours(s.series, clothing, contrast.Threshold, zone)
	s.file.SetText(s.name)
	words := fmt.Sprintf("%.0f of %.0f hours (%.1f %%) with the target within %g K of the ground, by month and hour in %s.",
		h.Low.Hours(), h.Known.Hours(), 100*h.Share(), contrast.Threshold, clock)
	if !h.Measured {
		words += " The air stands in for ground that was not measured, which flatters by day."
	}
	if len(h.Longest) > 0 {
		l := h.Longest[0]
		words += fmt.Sprintf(" The longest: %s to %s.", l.From.In(zone).Format("2 Jan 2006 15:04"), l.To.In(zone).Format("2 Jan 15:04"))
	}
	s.grid.Set(h)
	if h.Low > 0 {
		words += fmt.Sprintf(" The lighter a cell, the larger its share: %.0f %% at most.", 100*s.grid.most())
	}
	s.low.SetText(words)
	s.grid.Show()
	s.cell.Show()
}

// signalWords says a ratio: "−18 dB".
func signalWords(w signal.Row) string {
	if w.Faded {
		return "below " + decibels(w.DB)
	}
	return decibels(w.DB)
}

// decibels says a ratio with its sign.
func decibels(v float64) string {
	if v = math.Round(v); v == 0 {
		return "0 dB"
	}
	return strings.Replace(fmt.Sprintf("%+.0f dB", v), "-", "−", 1)
}

func spreadWords(w signal.Row) string { return fmt.Sprintf("± %.0f", w.Uncertainty) }

// partWords says what a ratio is made of.
func partWords(w signal.Row) string {
	part := func(v float64) string { return strings.TrimSuffix(decibels(v), " dB") }
	s := fmt.Sprintf("Heat %s, size %s, way %s dB.", part(w.Contrast), part(w.Filling), part(w.Movement))
	switch {
	case w.Faded:
		s += " Target and ground are as good as equally warm: the figure is a ceiling."
	case w.Reversed:
		s += " The ground is the warmer: the target shows as a cold spot."
	}
	return s
}

// testedWords says what the walk test was.
func testedWords(t signal.Tested) string {
	c := t.Condition
	deg := func(v float64) string { return number(math.Round(v*10)/10) + " °C" }
	way := number(math.Round(c.Heading)) + "° to the line of sight"
	if c.Heading == 90 {
		way = "across the view"
	}
	s := fmt.Sprintf("%s, %s at %s m/s, air %s, ground %s, clothing %s", Metres(c.Distance), way, number(c.Speed), deg(c.Air), deg(c.Background), number(c.Clothing))
	if t.Reading == nil {
		return "No walk test of it states its temperatures. Assumed: " + s + "."
	}
	s = "Walk test " + t.Reading.ID + ": " + s + "."
	if len(t.Assumed) > 0 {
		s += " Assumed of it: " + strings.Join(t.Assumed, ", ") + "."
	}
	return s
}

// opticsWords says what is taken of the sensor's zones.
func opticsWords(s *signal.Sensor) string {
	z := s.Zone
	words := fmt.Sprintf("Zones %g° by %g°, one every %g°, %g to %g Hz", z.Wide, z.High, z.Period, z.Slow, z.Fast)
	switch n := len(s.Assumed); {
	case n == signal.OpticsFigures:
		words += ": typical figures, until the sensor model states its optics"
	case n > 0:
		words += "; typical figures: " + strings.Join(s.Assumed, ", ")
	}
	return words + "."
}

// sunWords says when the low sun stands in a sensor's pattern, "" for never.
func sunWords(r *analysis.Result, id string) string {
	for i, s := range r.Sensors {
		if s.ID != id || len(s.LowSun) == 0 || r.Sun == nil {
			continue
		}
		return fmt.Sprintf("Low sun in its pattern on %d days: %s (%s, open level view).", sun.Days(s.LowSun), r.LowSunWords(i), r.Sun.Clock)
	}
	return ""
}
