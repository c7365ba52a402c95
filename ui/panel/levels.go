package panel

import (
	"fmt"
	"math"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/calibration"
	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// Levels shows the signal levels read on site against those predicted, what they
// say by class of link, and the readings that were set aside. It keeps what it shows
// while a new analysis runs.
type Levels struct {
	Object  fyne.CanvasObject
	Shown   func() bool // whether the panel is in view: otherwise nothing is drawn
	Add     func()      // lets the user write down a reading
	Resized func()      // Need has changed

	need   float32
	look   *Look
	ed     func() *editor.Editor
	result func() *analysis.Result

	of     *analysis.Calibration // last known, nil for none
	plan   *model.Plan           // it is of
	why    string                // there is none
	shown  *analysis.Calibration // what the panel was built from
	chosen string                // a reading

	empty   *Para
	inside  *fyne.Container
	use     *Para
	plot    *levelPlot
	over    *Para
	overBox *fyne.Container
	legend  *fyne.Container
	table   *fyne.Container
	notes   *Para
	aside   *fyne.Container
}

// NewLevels makes the panel.
func NewLevels(look *Look, ed func() *editor.Editor, result func() *analysis.Result) *Levels {
	l := &Levels{look: look, ed: ed, result: result, Shown: func() bool { return true }}
	l.empty = NewPara("", ColorSoft, "")
	l.over = NewPara(overLevels, ColorSoft, SizeNameSmall)
	l.overBox = container.New(roomFor{2}, l.over)
	l.notes = NewPara(drawing.LevelNotes, ColorSoft, SizeNameSmall)
	l.use = NewPara("", "", "")
	l.plot = newLevelPlot(l)
	l.legend, l.table, l.aside = VBox(0), VBox(0), VBox(0)
	add := NewRow(container.NewCenter(NewLine("add a reading", ColorSoft, SizeNameSmall)), func() {
		if l.Add != nil {
			l.Add()
		}
	})
	add.Pad = 4
	l.inside = VBox(4, l.use, l.overBox, l.plot, l.legend, l.table, l.notes, l.aside)
	l.Object = container.NewVScroll(Inset(VBox(4, l.empty, l.inside, container.NewHBox(add)), 12, 0, 14, 10))
	l.Update()
	return l
}

// overLevels stands under the plot while the pointer is over no reading.
const overLevels = "The pointer tells a reading; a click shows its link on the map."

// Need is the height that shows everything.
func (l *Levels) Need() float32 {
	return l.Object.(*container.Scroll).Content.MinSize().Height
}

// Words counts the readings for the heading.
func (l *Levels) Words() string {
	if l.of == nil {
		return ""
	}
	n, aside := len(l.of.Fit.Points), len(l.of.Fit.Aside)+len(l.of.Aside)
	words := fmt.Sprint(n + aside)
	if aside > 0 {
		words += fmt.Sprintf(", %d set aside", aside)
	}
	return words
}

// Update brings the panel into line with plan, result and what is chosen.
func (l *Levels) Update() {
	l.follow()
	l.keep()
	if !l.Shown() {
		return
	}
	l.empty.SetText(l.why)
	l.empty.Hidden, l.inside.Hidden = l.of != nil, l.of == nil
	if l.of != nil && l.of != l.shown {
		l.build()
	}
	l.shown = l.of
	l.plot.lay()
	l.tell(l.plot.hovered)
	l.Object.Refresh()
	if n := l.Need(); n != l.need {
		l.need = n
		if l.Resized != nil {
			l.Resized()
		}
	}
}

// follow takes in what the readings say by the last result, or why they say nothing.
func (l *Levels) follow() {
	r := l.result()
	some := r != nil && slices.ContainsFunc(r.Plan.Of(model.KindReading), isSignal)
	switch {
	case r == nil:
		l.of, l.plan, l.why = nil, nil, "Waiting for the analysis."
	case r.Calibration != nil:
		l.of, l.plan, l.why = r.Calibration, r.Plan, ""
	case !some:
		l.of, l.plan = nil, nil
		l.why = "The plan has no signal reading. Read on site the level in dBm at which one device hears another, and write it down with Edit, Add a reading: it is held against the prediction here."
	case !analysis.HasStudy(r):
		l.of, l.plan, l.why = nil, nil, "The readings are held against predictions once the plan has a sensor and a receiver."
	case l.of == nil:
		l.why = "Waiting for the predictions to hold the readings against."
	}
}

// isSignal reports whether a reading is of a signal level.
func isSignal(f *model.Feature) bool {
	m, ok := f.Value.(*model.Reading)
	return ok && m.What == "signal"
}

// keep forgets the chosen reading once neither it nor its link is what is chosen in
// the plan; a reading that is selected there is the chosen one.
func (l *Levels) keep() {
	if s := l.ed().Selected(); len(s) == 1 && l.of != nil {
		if _, ok := l.reading(s[0]); ok {
			l.chosen = s[0]
			return
		}
	}
	if l.of == nil {
		l.chosen = ""
		return
	}
	from, to, ok := l.ed().Link()
	if ends := l.of.Ends[l.chosen]; !ok || ends != [2]string{from, to} && ends != [2]string{to, from} {
		l.chosen = ""
	}
}

// reading finds a reading that was held against its link, and why it was set aside.
func (l *Levels) reading(id string) (r calibration.Aside, ok bool) {
	held, aside := l.of.ByReading()
	r.Reading, ok = held[id]
	r.Reason = aside[id]
	return r, ok
}

// Choose chooses a reading: its link on the map, or itself where it has none.
func (l *Levels) Choose(id string) {
	if l.of == nil {
		return
	}
	ends, ok := l.of.Ends[id]
	if !ok || l.ed().Plan().Feature(ends[0]) == nil || l.ed().Plan().Feature(ends[1]) == nil {
		if l.ed().Plan().Feature(id) != nil {
			l.ed().Select(id)
		}
		return
	}
	if r := l.result(); r != nil {
		for _, k := range r.Links {
			if ends == [2]string{k.To, k.From} { // it was read against the way the link is told
				ends = [2]string{k.From, k.To}
				break
			}
		}
	}
	l.chosen = id
	l.ed().SelectLink(ends[0], ends[1])
	l.Update()
}

// build makes words, table and lists anew.
func (l *Levels) build() {
	c, set := l.of, l.plan.Settings
	use := "The links are rated as predicted. Under Radio the plan can have them corrected by the readings."
	if c.InUse {
		use = "The links of a class with enough readings are corrected by them."
	}
	if len(c.Fit.Points) == 0 {
		use = "Every reading was set aside."
	}
	if n := c.Fit.AtLimit; n > 0 {
		use += " Beside those at the sensitivity limit weaker ones were never heard: what is left flatters the prediction."
	}
	l.use.SetText(use)
	bare := drawing.DrawLevels(drawing.LevelsInput{Calibration: c, Width: leastPlot, Height: leastPlot}, drawingThemes[0]) == nil
	l.plot.Hidden, l.overBox.Hidden, l.legend.Hidden, l.notes.Hidden = bare, bare, bare, len(c.Fit.Points) == 0
	l.table.RemoveAll()
	if len(c.Fit.Points) > 0 {
		l.fillTable(drawing.TellLevels(c, set.Reliability))
	}
	l.aside.RemoveAll()
	if len(c.Fit.Aside)+len(c.Aside) > 0 {
		l.aside.Add(Inset(NewLine("Set aside", ColorSoft, SizeNameSmall), 0, 6, 0, 2))
	}
	for _, a := range c.Fit.Aside {
		l.addAside(a.Reading.ID, c.Ends[a.Reading.ID], a.Reason)
	}
	for _, a := range c.Aside {
		l.addAside(a.ID, [2]string{}, a.Reason)
	}
}

func (l *Levels) fillTable(t drawing.LevelTable) {
	small := theme.Size(SizeNameSmall)
	lay := &levelRow{}
	row := func(label string, texts []string, cell fyne.ThemeColorName) {
		cells := []fyne.CanvasObject{NewLine(label, ColorSoft, SizeNameSmall).Cut()}
		lay.label = max(lay.label, textWidth(label, small, false))
		for i, c := range texts {
			cells = append(cells, NewLine(c, cell, SizeNameSmall).Right().Cut())
			if i == len(lay.cells) {
				lay.cells = append(lay.cells, 0)
			}
			lay.cells[i] = max(lay.cells[i], textWidth(c, small, false))
		}
		l.table.Add(container.New(lay, cells...))
	}
	row("By class of link", t.Heads, ColorSoft)
	for _, r := range t.Rows {
		label := r.Label
		if r.Unit != "" {
			label += ", " + r.Unit
		}
		row(label, r.Cells, "")
	}
}

// addAside lists a reading that was set aside, with the reason.
func (l *Levels) addAside(id string, ends [2]string, reason string) {
	name := id
	if ends[0] != "" {
		name += "   " + ends[0] + " to " + ends[1]
	}
	r := NewRow(Inset(VBox(0, NewLine(name, "", "").Cut(), NewPara(Sentence(reason), ColorSoft, SizeNameSmall)), 0, 3, 0, 3), func() { l.Choose(id) })
	r.Pad = 4
	l.aside.Add(r)
}

// showLegend explains what is drawn.
func (l *Levels) showLegend(lines []drawing.LegendLine) {
	l.legend.RemoveAll()
	for _, e := range lines {
		l.legend.Add(container.NewBorder(nil, nil, NewSwatch(l.look, e.Meaning, fyne.NewSize(34, 22)), nil,
			container.New(&middle{}, Inset(NewPara(e.Text, ColorSoft, SizeNameSmall), 8, 0, 0, 0))))
	}
	l.legend.Refresh()
}

// tell says what the reading under the pointer is, else the chosen one.
func (l *Levels) tell(id string) {
	if id == "" {
		id = l.chosen
	}
	words, colour := overLevels, ColorSoft
	if l.of != nil && id != "" {
		if r, ok := l.reading(id); ok {
			words, colour = levelWords(r, l.of.Ends[id]), ""
		}
	}
	l.over.Color = colour
	l.over.SetText(words)
	l.over.Refresh()
}

// levelWords says what a reading is against its prediction.
func levelWords(a calibration.Aside, ends [2]string) string {
	r := a.Reading
	off := "as predicted"
	if d := math.Round(r.Error()); d > 0 {
		off = Decibels(d) + " more"
	} else if d < 0 {
		off = Decibels(-d) + " less"
	}
	s := fmt.Sprintf("%s, %s to %s, %s: %s read, %s predicted, %s.", r.ID, ends[0], ends[1], r.Class, level(r.MeasuredDBm), level(r.PredictedDBm), off)
	if a.Reason != "" {
		s += " Set aside."
	}
	return s
}

// level says a signal level.
func level(v float64) string { return Decibels(v) + "m" }

// levelRow lays a label and right-aligned cells in a row; all rows of a table have the
// same one, which knows how wide their texts are. What room there is to spare goes
// before the cells, evenly, and so does what is short.
type levelRow struct {
	label float32
	cells []float32
}

func (t *levelRow) Layout(os []fyne.CanvasObject, s fyne.Size) {
	spare := s.Width - t.label
	for _, w := range t.cells {
		spare -= w
	}
	x, each := t.label, spare/float32(max(len(t.cells), 1))
	for i, o := range os {
		at, w := float32(0), t.label
		if i > 0 {
			w = t.cells[i-1] + min(each, 0)
			at = x + max(each, 0)
			x = at + w
		}
		h := o.MinSize().Height
		o.Move(fyne.NewPos(at, (s.Height-h)/2))
		o.Resize(fyne.NewSize(w, h))
	}
}

func (t *levelRow) MinSize(os []fyne.CanvasObject) (m fyne.Size) {
	for _, o := range os {
		m.Height = max(m.Height, o.MinSize().Height)
	}
	return fyne.NewSize(200, m.Height+3)
}

// roomFor is a layout that keeps room for so many lines of small text, so that what
// stands below stays where it is.
type roomFor struct{ lines float32 }

func (roomFor) Layout(os []fyne.CanvasObject, s fyne.Size) {
	for _, o := range os {
		o.Resize(s)
	}
}

func (r roomFor) MinSize(os []fyne.CanvasObject) fyne.Size {
	m := fyne.NewSize(0, r.lines*lineHeight(theme.Size(SizeNameSmall)))
	for _, o := range os {
		m = m.Max(o.MinSize())
	}
	return m
}

// levelPlot is the plot of levels: as high as it is wide, up to a point.
type levelPlot struct {
	widget.BaseWidget
	l *Levels

	drawn   plotOf
	cut     *drawing.Levels
	hovered string
	*sketch
}

// plotOf is everything a plot depends on.
type plotOf struct {
	of              *analysis.Calibration
	w, h            float32
	theme           *drawing.Theme
	hovered, chosen string
}

// Sides of the plot, units: the least, and the most that is still taken in at a
// glance beside the map; chosen. And how near the pointer must come to a mark.
const leastPlot, mostPlot, plotTouch = 240, 460, 6

func newLevelPlot(l *Levels) *levelPlot {
	p := &levelPlot{l: l}
	p.sketch = newSketch(p.shown)
	p.bare = true
	p.ExtendBaseWidget(p)
	return p
}

// lay draws the plot anew where anything it depends on has changed.
func (p *levelPlot) lay() {
	s := p.Size()
	now := plotOf{p.l.of, s.Width, s.Height, p.l.look.Theme(fyne.CurrentApp().Settings().ThemeVariant()), p.hovered, p.l.chosen}
	if now == p.drawn {
		return
	}
	was := p.drawn
	p.drawn, p.theme, p.cut = now, now.theme, nil
	if now.of != nil && s.Width > 1 {
		p.cut = drawing.DrawLevels(drawing.LevelsInput{Calibration: now.of, Width: float64(s.Width), Height: float64(s.Height), Hovered: now.hovered, Chosen: now.chosen}, now.theme)
	}
	if was.of != now.of || was.theme != now.theme || was.w == 0 {
		var lines []drawing.LegendLine
		if p.cut != nil {
			lines = p.cut.Legend()
		}
		p.l.showLegend(lines)
	}
	p.raster.Refresh()
}

// MinSize is part of fyne.CanvasObject.
func (p *levelPlot) MinSize() fyne.Size {
	return fyne.NewSize(100, min(max(p.Size().Width, leastPlot), mostPlot))
}

// Resize is part of fyne.CanvasObject.
func (p *levelPlot) Resize(s fyne.Size) {
	p.BaseWidget.Resize(s)
	p.lay()
}

// Refresh is part of fyne.CanvasObject: the theme may be another.
func (p *levelPlot) Refresh() {
	p.lay()
	p.BaseWidget.Refresh()
}

// CreateRenderer is part of fyne.Widget.
func (p *levelPlot) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(p.raster) }

func (p *levelPlot) shown() (*drawing.List, drawing.View) {
	if p.cut == nil {
		return nil, drawing.View{}
	}
	return p.cut.List, p.cut.View
}

// MouseIn is part of desktop.Hoverable.
func (p *levelPlot) MouseIn(ev *desktop.MouseEvent) { p.MouseMoved(ev) }

// MouseMoved is part of desktop.Hoverable.
func (p *levelPlot) MouseMoved(ev *desktop.MouseEvent) {
	id := ""
	if p.cut != nil {
		id = p.cut.Hit(unitPoint(ev.Position), plotTouch)
	}
	p.hover(id)
}

// MouseOut is part of desktop.Hoverable.
func (p *levelPlot) MouseOut() { p.hover("") }

func (p *levelPlot) hover(id string) {
	if id != p.hovered {
		p.hovered = id
		p.lay()
		p.l.tell(id)
	}
}

// Cursor is part of desktop.Cursorable.
func (p *levelPlot) Cursor() desktop.Cursor {
	if p.hovered != "" {
		return desktop.PointerCursor
	}
	return desktop.DefaultCursor
}

// Tapped is part of fyne.Tappable.
func (p *levelPlot) Tapped(ev *fyne.PointEvent) {
	if p.cut == nil {
		return
	}
	if id := p.cut.Hit(unitPoint(ev.Position), plotTouch); id != "" {
		p.l.Choose(id)
	}
}
