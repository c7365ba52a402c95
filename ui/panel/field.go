package panel

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"pleach/model"
)

// valueHeight is the height of a row of a form, units at text size 1.
const valueHeight = 24

func rowHeight() float32 { return valueHeight * theme.Size(theme.SizeNameText) / 13 }

// Value is a value in a form: text, right-aligned, that becomes a field when it
// is clicked or reached with Tab. Enter and leaving it commit, Escape does not.
type Value struct {
	widget.BaseWidget
	Commit  func(text string) error // takes what was typed
	Focused func(in bool)
	Failed  func(error)
	Left    func()              // Escape put the value back
	Whole   func(words string)  // told of a value that is cut off under the pointer, "" when the pointer leaves
	Sheet   fyne.ThemeColorName // what it stands on; "" for a panel's ground
	Narrow  bool                // no room is kept for a unit, as in a table

	text, unit string
	soft       bool // a default, or nothing
	entry      *entry
	face       *face
}

// NewValue makes a value with a unit, "" for none.
func NewValue(unit string) *Value {
	v := &Value{unit: unit}
	v.entry = newEntry(v)
	v.face = newFace(v)
	v.ExtendBaseWidget(v)
	return v
}

// Set shows a value; soft is for one that is a default, or none. What is being
// typed is left alone.
func (v *Value) Set(text string, soft bool) {
	if text == v.text && soft == v.soft {
		return
	}
	v.text, v.soft = text, soft
	v.face.show()
}

// typed is the value as it is put into the field: a default is not.
func (v *Value) typed() string {
	if v.soft {
		return ""
	}
	return v.text
}

// CreateRenderer is part of fyne.Widget.
func (v *Value) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.New(&oneRow{}, v.entry, v.face))
}

// oneRow lays its objects on top of each other in a row of a form.
type oneRow struct{}

func (*oneRow) Layout(os []fyne.CanvasObject, s fyne.Size) {
	for _, o := range os {
		o.Resize(s)
		o.Move(fyne.NewPos(0, 0))
	}
}
func (*oneRow) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(60, rowHeight()) }

// face is what a value looks like while it is not being typed.
type face struct {
	widget.BaseWidget
	v     *Value
	back  *canvas.Rectangle
	under *canvas.Line
	text  *Line
	unit  *Line
	over  bool
}

func newFace(v *Value) *face {
	f := &face{v: v, back: canvas.NewRectangle(nil), under: canvas.NewLine(nil), text: NewLine("", "", "").Right().Cut(), unit: NewLine("", ColorSoft, SizeNameSmall)}
	f.ExtendBaseWidget(f)
	f.show()
	return f
}

func (f *face) show() {
	f.text.Color = ""
	t := f.v.text
	if f.v.soft {
		f.text.Color = ColorSoft
	}
	if t == "" {
		t, f.text.Color = "–", ColorSoft
	}
	u := f.v.unit
	if _, err := ParseNumber(t); err != nil {
		u = ""
	}
	if u == "°" {
		t, u = t+u, ""
	}
	f.text.text = t
	f.unit.text = u
	f.text.Refresh()
	f.unit.Refresh()
	f.Refresh()
}

func (f *face) Tapped(*fyne.PointEvent) {
	if c := fyne.CurrentApp().Driver().CanvasForObject(f); c != nil {
		c.Focus(f.v.entry)
	}
}
func (f *face) MouseIn(*desktop.MouseEvent)    { f.hover(true) }
func (f *face) MouseMoved(*desktop.MouseEvent) {}
func (f *face) MouseOut()                      { f.hover(false) }
func (f *face) hover(in bool) {
	f.over = in
	f.Refresh()
	tellWhole(f.v.Whole, f.text, in)
}
func (f *face) Cursor() desktop.Cursor { return desktop.TextCursor }

func (f *face) CreateRenderer() fyne.WidgetRenderer { r := &faceRenderer{f}; r.colours(); return r }

type faceRenderer struct{ f *face }

func (r *faceRenderer) colours() {
	sheet := r.f.v.Sheet
	if sheet == "" {
		sheet = ColorSheet
	}
	r.f.back.FillColor = theme.Color(sheet)
	if r.f.over {
		r.f.back.FillColor = theme.Color(theme.ColorNameInputBackground)
	}
	r.f.under.StrokeColor = theme.Color(ColorRule)
	r.f.under.StrokeWidth = 1
}

func (r *faceRenderer) Layout(s fyne.Size) {
	f := r.f
	f.back.Resize(s)
	f.under.Position1, f.under.Position2 = fyne.NewPos(0, s.Height-1), fyne.NewPos(s.Width, s.Height-1)
	u := max(f.unit.MinSize().Width, 12) + 4 // as wide as the sign of a Pick
	if f.v.Narrow {
		u = 0
	}
	th := f.text.MinSize().Height
	f.text.Move(fyne.NewPos(4, (s.Height-th)/2))
	f.text.Resize(fyne.NewSize(s.Width-u-6, th))
	uh := f.unit.MinSize().Height
	f.unit.Move(fyne.NewPos(s.Width-u+2, (s.Height-uh)/2+0.5))
	f.unit.Resize(fyne.NewSize(u, uh))
}

func (r *faceRenderer) MinSize() fyne.Size { return fyne.NewSize(60, rowHeight()) }
func (r *faceRenderer) Refresh() {
	r.colours()
	r.Layout(r.f.Size())
	canvas.Refresh(r.f)
}
func (r *faceRenderer) Objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{r.f.back, r.f.under, r.f.text, r.f.unit}
}
func (r *faceRenderer) Destroy() {}

// entry is the field of a value. While nobody types it is empty, or a long text
// would stick out beside the face; and it does not scroll, or it would take the
// wheel from the panel.
type entry struct {
	widget.Entry
	v       *Value
	editing bool
}

func newEntry(v *Value) *entry {
	e := &entry{v: v}
	e.ExtendBaseWidget(e)
	e.Scroll = fyne.ScrollNone
	return e
}

// FocusGained is part of fyne.Focusable.
func (e *entry) FocusGained() {
	e.editing = true
	e.Scroll = fyne.ScrollHorizontalOnly
	e.SetText(e.v.typed())
	e.v.face.Hide()
	e.Entry.FocusGained()
	e.Entry.TypedShortcut(&fyne.ShortcutSelectAll{})
	if e.v.Focused != nil {
		e.v.Focused(true)
	}
}

// FocusLost is part of fyne.Focusable.
func (e *entry) FocusLost() {
	e.Entry.FocusLost()
	if e.editing {
		e.commit()
	}
	e.editing = false
	e.Scroll = fyne.ScrollNone
	e.SetText("")
	e.v.face.Show()
	e.v.face.show()
	if e.v.Focused != nil {
		e.v.Focused(false)
	}
}

// commit hands over what was typed, if it is something else; it reports false
// where it was refused.
func (e *entry) commit() bool {
	text := strings.TrimSpace(e.Text)
	if text == e.v.typed() || e.v.Commit == nil {
		return true
	}
	if err := e.v.Commit(text); err != nil {
		if e.v.Failed != nil {
			e.v.Failed(err)
		}
		return false
	}
	return true
}

// TypedKey is part of fyne.Focusable.
func (e *entry) TypedKey(ev *fyne.KeyEvent) {
	switch ev.Name {
	case fyne.KeyReturn, fyne.KeyEnter:
		if e.commit() {
			e.editing = false
			e.leave()
		}
	case fyne.KeyEscape:
		as := strings.TrimSpace(e.Text) == e.v.typed()
		e.editing = false
		e.SetText(e.v.typed())
		if as && giveUp(e, ev) {
			return
		}
		e.leave()
		if e.v.Left != nil {
			e.v.Left()
		}
	default:
		e.Entry.TypedKey(ev)
	}
}

func (e *entry) leave() {
	if c := fyne.CurrentApp().Driver().CanvasForObject(e); c != nil {
		c.Unfocus()
	}
}

// MinSize is part of fyne.CanvasObject.
func (e *entry) MinSize() fyne.Size { return fyne.NewSize(60, rowHeight()) }

// Pick is a value that is one of a few: a click opens the list of them, or goes
// to the other of two.
type Pick struct {
	widget.BaseWidget
	Options []Option
	Commit  func(value any) error
	Failed  func(error)
	Focused func(in bool)
	Whole   func(words string) // as that of a Value
	Open    func()             // in place of the list of options
	Wrap    bool               // what is shown is broken into lines, left-aligned

	text    string
	soft    bool
	over    bool
	focused bool
	line    *Line
	para    *Para // in place of line where Wrap is set
	sign    *Line
	back    *canvas.Rectangle
	under   *canvas.Line
}

// Option is a choice of a Pick.
type Option struct {
	Value any
	Label string
}

// NewPick makes a pick.
func NewPick(options ...Option) *Pick {
	p := &Pick{Options: options, line: NewLine("", "", "").Right().Cut(), para: NewPara("", "", ""), sign: NewLine("▾", ColorSoft, SizeNameSmall), back: canvas.NewRectangle(nil), under: canvas.NewLine(nil)}
	p.ExtendBaseWidget(p)
	return p
}

// Set shows the option with the value, else other words.
func (p *Pick) Set(value any, words string, soft bool) {
	for _, o := range p.Options {
		if o.Value == value {
			words = o.Label
		}
	}
	p.text, p.soft = words, soft
	p.line.Color = ""
	if soft {
		p.line.Color = ColorSoft
	}
	p.line.text = words
	if p.Wrap {
		p.line.text = ""
		p.para.Color = p.line.Color
		p.para.SetText(words)
	}
	p.line.Refresh()
}

// Words returns what is shown.
func (p *Pick) Words() string { return p.text }

// Tapped is part of fyne.Tappable.
func (p *Pick) Tapped(*fyne.PointEvent) { p.choose() }

func (p *Pick) choose() {
	if p.Open != nil {
		p.Open()
		return
	}
	if len(p.Options) == 2 {
		next := p.Options[0]
		if p.text == next.Label {
			next = p.Options[1]
		}
		p.take(next)
		return
	}
	c := fyne.CurrentApp().Driver().CanvasForObject(p)
	if c == nil {
		return
	}
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(p)
	at = fyne.NewPos(float32(math.Round(float64(at.X))), float32(math.Round(float64(at.Y+p.Size().Height))))
	if len(p.Options) > mostChoices {
		showChoices(p.Options, p.text, p.take, c, at)
		return
	}
	m := fyne.NewMenu("")
	for _, o := range p.Options {
		label := cut(o.Label, theme.Size(theme.SizeNameText), false, widestPick*theme.Size(theme.SizeNameText)/13)
		it := fyne.NewMenuItem(label, func() { p.take(o) })
		it.Checked = o.Label == p.text
		m.Items = append(m.Items, it)
	}
	widget.ShowPopUpMenuAtPosition(m, c, at)
}

func (p *Pick) take(o Option) {
	if p.Commit == nil {
		return
	}
	if err := p.Commit(o.Value); err != nil && p.Failed != nil {
		p.Failed(err)
	}
}

// MouseIn is part of desktop.Hoverable.
func (p *Pick) MouseIn(*desktop.MouseEvent) { p.hover(true) }

func (p *Pick) hover(in bool) {
	p.over = in
	p.Refresh()
	tellWhole(p.Whole, p.line, in)
}

// MouseMoved is part of desktop.Hoverable.
func (p *Pick) MouseMoved(*desktop.MouseEvent) {}

// MouseOut is part of desktop.Hoverable.
func (p *Pick) MouseOut() { p.hover(false) }

// Cursor is part of desktop.Cursorable.
func (p *Pick) Cursor() desktop.Cursor { return desktop.PointerCursor }

// FocusGained is part of fyne.Focusable.
func (p *Pick) FocusGained() { p.focus(true) }

// FocusLost is part of fyne.Focusable.
func (p *Pick) FocusLost() { p.focus(false) }

func (p *Pick) focus(in bool) {
	p.focused = in
	p.Refresh()
	if p.Focused != nil {
		p.Focused(in)
	}
}

// TypedRune is part of fyne.Focusable.
func (p *Pick) TypedRune(r rune) {
	if r == ' ' {
		p.choose()
	}
}

// TypedKey is part of fyne.Focusable.
func (p *Pick) TypedKey(ev *fyne.KeyEvent) {
	switch ev.Name {
	case fyne.KeyReturn, fyne.KeyEnter:
		p.choose()
	case fyne.KeyEscape:
		giveUp(p, ev)
	}
}

// CreateRenderer is part of fyne.Widget.
func (p *Pick) CreateRenderer() fyne.WidgetRenderer { r := &pickRenderer{p}; r.colours(); return r }

type pickRenderer struct{ p *Pick }

func (r *pickRenderer) colours() {
	p := r.p
	p.back.FillColor = nil
	p.back.StrokeWidth = 0
	if p.over {
		p.back.FillColor = theme.Color(theme.ColorNameInputBackground)
	}
	if p.focused {
		p.back.StrokeColor, p.back.StrokeWidth = theme.Color(theme.ColorNameForeground), 1
	}
	p.under.StrokeColor, p.under.StrokeWidth = theme.Color(ColorRule), 1
}

func (r *pickRenderer) Layout(s fyne.Size) {
	p := r.p
	p.back.Resize(s)
	p.under.Position1, p.under.Position2 = fyne.NewPos(0, s.Height-1), fyne.NewPos(s.Width, s.Height-1)
	h := p.line.MinSize().Height
	p.line.Move(fyne.NewPos(4, (s.Height-h)/2))
	p.line.Resize(fyne.NewSize(s.Width-valueRight-4, h))
	p.para.Move(fyne.NewPos(4, 3))
	p.para.Resize(fyne.NewSize(s.Width-22, s.Height-3))
	h = p.sign.MinSize().Height
	p.sign.Move(fyne.NewPos(s.Width-14, (s.Height-h)/2))
	p.sign.Resize(fyne.NewSize(12, h))
}

func (r *pickRenderer) MinSize() fyne.Size {
	return fyne.NewSize(60, max(rowHeight(), r.p.para.MinSize().Height+7))
}
func (r *pickRenderer) Refresh() {
	r.colours()
	r.p.line.Refresh()
	r.p.para.Refresh()
	r.p.sign.Refresh()
	r.Layout(r.p.Size())
	canvas.Refresh(r.p)
}
func (r *pickRenderer) Objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{r.p.back, r.p.under, r.p.line, r.p.para, r.p.sign}
}
func (r *pickRenderer) Destroy() {}

// formRow lays a label at the left and a value at the right, at the foot of the
// label where that takes several lines.
type formRow struct{ share float32 }

func (f *formRow) Layout(os []fyne.CanvasObject, s fyne.Size) {
	label, value := os[0], os[1]
	w := s.Width * f.share
	label.Resize(fyne.NewSize(w-8, label.MinSize().Height))
	h := label.MinSize().Height
	label.Move(fyne.NewPos(0, (max(s.Height, rowHeight())-h)/2))
	high := max(rowHeight(), value.MinSize().Height)
	if high > rowHeight() {
		label.Move(fyne.NewPos(0, (rowHeight()-h)/2))
	}
	value.Move(fyne.NewPos(w, s.Height-high))
	value.Resize(fyne.NewSize(s.Width-w, high))
}

func (f *formRow) MinSize(os []fyne.CanvasObject) fyne.Size {
	// A line of the label has room within the row.
	return fyne.NewSize(160, max(rowHeight(), os[0].MinSize().Height+4, os[1].MinSize().Height))
}

// FormRow is a label and its value.
func FormRow(label string, value fyne.CanvasObject) fyne.CanvasObject {
	return container.New(&formRow{0.44}, NewPara(label, ColorSoft, ""), value)
}

// valueRight is what lies right of the text of a value that has no unit: the sign of a
// Pick has its place there.
const valueRight = 18

// onlyShown is a value that is only shown; its text lies as that of a Value.
type onlyShown struct {
	widget.BaseWidget
	line  *Line
	whole func(words string) // as that of a Value
}

func newShown(text string) *onlyShown {
	s := &onlyShown{line: NewLine(text, "", "").Right().Cut()}
	s.ExtendBaseWidget(s)
	return s
}

// Text returns the text.
func (s *onlyShown) Text() string { return s.line.text }

// CreateRenderer is part of fyne.Widget.
func (s *onlyShown) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.New(&textPlace{}, s.line))
}

// MouseIn is part of desktop.Hoverable.
func (s *onlyShown) MouseIn(*desktop.MouseEvent) { tellWhole(s.whole, s.line, true) }

// MouseMoved is part of desktop.Hoverable.
func (s *onlyShown) MouseMoved(*desktop.MouseEvent) {}

// MouseOut is part of desktop.Hoverable.
func (s *onlyShown) MouseOut() { tellWhole(s.whole, s.line, false) }

// textPlace lays a line where a Value has its text.
type textPlace struct{}

func (*textPlace) Layout(os []fyne.CanvasObject, s fyne.Size) {
	h := os[0].MinSize().Height
	os[0].Move(fyne.NewPos(4, (s.Height-h)/2))
	os[0].Resize(fyne.NewSize(s.Width-valueRight-4, h))
}
func (*textPlace) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(60, rowHeight()) }

// tellWhole tells a line that is cut off, while the pointer is over it.
func tellWhole(tell func(words string), l *Line, in bool) {
	switch {
	case tell == nil:
	case !in:
		tell("")
	case l.IsCut():
		tell(l.text)
	}
}

// ParseNumber reads what a person types: a comma is as good as a point.
func ParseNumber(s string) (float64, error) {
	s = strings.NewReplacer(",", ".", "−", "-", " ", "").Replace(strings.TrimSpace(s))
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return 0, errors.New("is not a number")
	}
	return v, nil
}

// Typed turns what was typed for a property into its value, nil to take the
// property away. The error says what is allowed.
func Typed(p model.Property, text string) (any, error) {
	if text == "" {
		if p.Required {
			return nil, fmt.Errorf("%s is needed: %s", p.Label, allowed(p))
		}
		return nil, nil
	}
	switch p.Type {
	case model.Number, model.Whole:
		v, err := ParseNumber(text)
		if err != nil || !p.Allows(v) {
			return nil, fmt.Errorf("%s cannot be %s: it must be %s", p.Label, text, allowed(p))
		}
		if p.Type == model.Whole {
			return int(v), nil
		}
		return v, nil
	}
	if p.Type == model.Day {
		if _, err := model.ParseDay(text); err != nil {
			return nil, fmt.Errorf("%s: %w", p.Label, err)
		}
	}
	if p.Name == "time_zone" {
		if _, err := model.TimeZone(text); err != nil {
			return nil, err
		}
	}
	if p.Name == "reserved" {
		if _, err := model.ParseAddresses(text); err != nil {
			return nil, err
		}
	}
	return text, nil
}

// allowed says what values a property takes, with their unit.
func allowed(p model.Property) string {
	switch p.Type {
	case model.Number, model.Whole:
		r := p.Range()
		switch {
		case p.Unit == "":
			return r
		case !p.Bounded && p.Unit == "°":
			return r + " of degrees"
		case !p.Bounded:
			return r + ", in " + p.Unit
		case p.Unit == "°":
			return r + p.Unit
		}
		return r + " " + p.Unit
	case model.Day:
		return model.DayForm
	case model.Choice:
		return "one of " + strings.Join(p.Choices, ", ")
	}
	return "text"
}

// Help says what a property is and what it takes, for the help line.
func Help(p model.Property) string {
	var parts []string
	if p.Help != "" {
		parts = append(parts, p.Help)
	}
	if p.Type == model.Number || p.Type == model.Whole || p.Type == model.Day {
		parts = append(parts, allowed(p))
	}
	if d, ok := p.Default.(float64); ok {
		s := strconv.FormatFloat(d, 'g', -1, 64)
		if p.Chosen {
			s += " (chosen)"
		}
		parts = append(parts, "unless stated "+s)
	}
	if len(parts) == 0 {
		return p.Label
	}
	return p.Label + ": " + strings.Join(parts, "; ") + "."
}
