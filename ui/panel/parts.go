package panel

import (
	"image"
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"pleach/assets/fonts"
	"pleach/ui/drawing"
	"pleach/ui/paint"
)

// Line is one line of text in a colour and size of the look, cut off with an
// ellipsis where there is no room, shown with true minus signs.
type Line struct {
	widget.BaseWidget
	text     string
	Color    fyne.ThemeColorName
	TextSize fyne.ThemeSizeName
	Bold     bool
	Align    fyne.TextAlign
	Least    float32 // least width; 0: as wide as the text, -1: gives way altogether
	t        *canvas.Text
}

// NewLine makes a line; colour and size "" are those of plain text.
func NewLine(text string, c fyne.ThemeColorName, s fyne.ThemeSizeName) *Line {
	l := &Line{text: text, Color: c, TextSize: s}
	l.ExtendBaseWidget(l)
	return l
}

// Strong makes the line heavier and returns it.
func (l *Line) Strong() *Line { l.Bold = true; return l }

// Cut lets the line give way and returns it.
func (l *Line) Cut() *Line { l.Least = -1; return l }

// Right aligns the line right and returns it.
func (l *Line) Right() *Line { l.Align = fyne.TextAlignTrailing; return l }

// SetText shows another text.
func (l *Line) SetText(s string) {
	if s != l.text {
		l.text = s
		l.Refresh()
	}
}

// Text returns the text.
func (l *Line) Text() string { return l.text }

// IsCut reports whether there is no room for the whole text.
func (l *Line) IsCut() bool { return l.t != nil && l.t.Text != drawing.TrueMinus(l.text) }

// CreateRenderer is part of fyne.Widget.
func (l *Line) CreateRenderer() fyne.WidgetRenderer {
	l.t = canvas.NewText("", nil)
	return &lineRenderer{l}
}

type lineRenderer struct{ l *Line }

func (r *lineRenderer) size() float32 {
	if r.l.TextSize == "" {
		return theme.Size(theme.SizeNameText)
	}
	return theme.Size(r.l.TextSize)
}

func (r *lineRenderer) Layout(s fyne.Size) {
	t := r.l.t
	t.TextSize = r.size()
	t.Text = drawing.TrueMinus(cut(r.l.text, t.TextSize, r.l.Bold, s.Width))
	t.Resize(s)
}

func (r *lineRenderer) MinSize() fyne.Size {
	size := r.size()
	h := float32(math.Ceil(float64(fyne.MeasureText("Xg", size, fyne.TextStyle{Bold: r.l.Bold}).Height)))
	switch {
	case r.l.Least < 0:
		return fyne.NewSize(0, h)
	case r.l.Least > 0:
		return fyne.NewSize(r.l.Least, h)
	}
	return fyne.NewSize(textWidth(r.l.text, size, r.l.Bold), h)
}

func (r *lineRenderer) Refresh() {
	t := r.l.t
	name := r.l.Color
	if name == "" {
		name = theme.ColorNameForeground
	}
	t.Color = theme.Color(name)
	t.TextStyle.Bold = r.l.Bold
	t.Alignment = r.l.Align
	r.Layout(r.l.Size())
	t.Refresh()
}

func (r *lineRenderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{r.l.t} }
func (r *lineRenderer) Destroy()                     {}

// textWidth is the width of a text in units, rounded up.
func textWidth(s string, size float32, bold bool) float32 {
	return float32(fonts.Advance(bold, s))*size + 1
}

// cut shortens a text to a width, with an ellipsis.
func cut(s string, size float32, bold bool, width float32) string {
	if width <= 0 || textWidth(s, size, bold) <= width+1 {
		return s
	}
	r := []rune(s)
	lo, hi := 0, len(r)
	for lo < hi {
		mid := (lo + hi + 1) / 2
		if textWidth(string(r[:mid])+"…", size, bold) <= width {
			lo = mid
		} else {
			hi = mid - 1
		}
	}
	return strings.TrimRight(string(r[:lo]), " ") + "…"
}

// wrap breaks a text into lines no wider than width.
func wrap(s string, size float32, bold bool, width float32) []string {
	var out []string
	line := ""
	for _, w := range strings.Fields(s) {
		next := w
		if line != "" {
			next = line + " " + w
		}
		if line != "" && textWidth(next, size, bold) > width {
			out = append(out, line)
			next = w
		}
		line = next
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}

// lineHeight is the distance of lines in a paragraph: in whole units, since the
// toolkit stretches type that lies half way between two pixels.
func lineHeight(size float32) float32 { return float32(math.Round(float64(size * 1.36))) }

// Para is a paragraph: text broken into lines at the width it is given, shown with
// true minus signs.
type Para struct {
	widget.BaseWidget
	text     string
	Color    fyne.ThemeColorName
	TextSize fyne.ThemeSizeName
	Bold     bool
	Least    int // lines for which there is room at least
	width    float32
	lines    []*canvas.Text
}

// NewPara makes a paragraph.
func NewPara(text string, c fyne.ThemeColorName, s fyne.ThemeSizeName) *Para {
	p := &Para{text: text, Color: c, TextSize: s, width: 240}
	p.ExtendBaseWidget(p)
	return p
}

// SetText shows another text.
func (p *Para) SetText(s string) {
	if s != p.text {
		p.text = s
		p.Refresh()
	}
}

// Text returns the text.
func (p *Para) Text() string { return p.text }

// Resize is part of fyne.CanvasObject: another width breaks the lines anew.
func (p *Para) Resize(s fyne.Size) {
	if s.Width != p.width && s.Width > 0 {
		p.width = s.Width
		p.Refresh()
	}
	p.BaseWidget.Resize(s)
}

func (p *Para) textSize() float32 {
	if p.TextSize == "" {
		return theme.Size(theme.SizeNameText)
	}
	return theme.Size(p.TextSize)
}

func (p *Para) broken() []string {
	var out []string
	for _, para := range strings.Split(p.text, "\n") {
		if w := wrap(para, p.textSize(), p.Bold, p.width); len(w) > 0 {
			out = append(out, w...)
		} else {
			out = append(out, "")
		}
	}
	return out
}

// CreateRenderer is part of fyne.Widget.
func (p *Para) CreateRenderer() fyne.WidgetRenderer { r := &paraRenderer{p}; r.Refresh(); return r }

type paraRenderer struct{ p *Para }

func (r *paraRenderer) height() float32 { return lineHeight(r.p.textSize()) }

func (r *paraRenderer) Layout(fyne.Size) {
	for i, t := range r.p.lines {
		t.Move(fyne.NewPos(0, float32(i)*r.height()))
		t.Resize(fyne.NewSize(r.p.width, r.height()))
	}
}

func (r *paraRenderer) MinSize() fyne.Size {
	n := 0
	if r.p.text != "" {
		n = len(r.p.broken())
	}
	return fyne.NewSize(0, float32(max(n, r.p.Least))*r.height())
}

func (r *paraRenderer) Refresh() {
	name := r.p.Color
	if name == "" {
		name = theme.ColorNameForeground
	}
	r.p.lines = nil
	if r.p.text != "" {
		for _, l := range r.p.broken() {
			t := canvas.NewText(drawing.TrueMinus(l), theme.Color(name))
			t.TextSize = r.p.textSize()
			t.TextStyle.Bold = r.p.Bold
			r.p.lines = append(r.p.lines, t)
		}
	}
	r.Layout(r.p.Size())
	canvas.Refresh(r.p)
}

func (r *paraRenderer) Objects() []fyne.CanvasObject {
	out := make([]fyne.CanvasObject, len(r.p.lines))
	for i, t := range r.p.lines {
		out[i] = t
	}
	return out
}
func (r *paraRenderer) Destroy() {}

// Swatch is the sample of a meaning as the legend shows it, drawn by the table
// of styles.
type Swatch struct {
	widget.BaseWidget
	Meaning drawing.Meaning
	Look    *Look
	Draw    func(l *drawing.List) // in place of the sample: one metre a unit about the middle
	size    fyne.Size
	raster  *canvas.Raster
	painter *paint.Painter
}

// NewSwatch makes a sample of a meaning.
func NewSwatch(look *Look, m drawing.Meaning, size fyne.Size) *Swatch {
	s := &Swatch{Meaning: m, Look: look, size: size, painter: paint.New()}
	s.raster = canvas.NewRaster(s.paint)
	s.ExtendBaseWidget(s)
	return s
}

// Set shows another meaning.
func (s *Swatch) Set(m drawing.Meaning) {
	if m != s.Meaning {
		s.Meaning = m
		s.Refresh()
	}
}

func (s *Swatch) paint(w, h int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, max(w, 1), max(h, 1)))
	if s.Meaning == drawing.None && s.Draw == nil || s.Size().Width < 1 {
		return img
	}
	t := s.Look.Theme(fyne.CurrentApp().Settings().ThemeVariant())
	list, view := t.Sample(s.Meaning, float64(s.Size().Width), float64(s.Size().Height))
	if s.Draw != nil {
		list = &drawing.List{}
		s.Draw(list)
	}
	view.Scale = float64(w) / float64(s.Size().Width)
	s.painter.Paint(img, list, view, t, &drawing.Placement{}, drawing.AllLayers)
	return img
}

// MinSize is part of fyne.CanvasObject.
func (s *Swatch) MinSize() fyne.Size { return s.size }

// CreateRenderer is part of fyne.Widget.
func (s *Swatch) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(s.raster) }

// Refresh is part of fyne.CanvasObject.
func (s *Swatch) Refresh() { s.raster.Refresh() }

// Row is something to click on: it shows what it holds, a tint under the
// pointer, and a bar at its left when it is chosen.
type Row struct {
	widget.BaseWidget
	Content fyne.CanvasObject
	OnTap   func()
	OnHover func(in bool)
	Pad     float32
	Foot    bool // the bar of the chosen one is at its foot
	chosen  bool
	over    bool
	tint    *canvas.Rectangle
	bar     *canvas.Rectangle
}

// NewRow makes a row.
func NewRow(content fyne.CanvasObject, tap func()) *Row {
	r := &Row{Content: content, OnTap: tap, Pad: 8, tint: canvas.NewRectangle(nil), bar: canvas.NewRectangle(nil)}
	r.ExtendBaseWidget(r)
	return r
}

// SetChosen marks the row.
func (r *Row) SetChosen(on bool) {
	if on != r.chosen {
		r.chosen = on
		r.Refresh()
	}
}

// Tapped is part of fyne.Tappable.
func (r *Row) Tapped(*fyne.PointEvent) {
	if r.OnTap != nil {
		r.OnTap()
	}
}

// MouseIn is part of desktop.Hoverable.
func (r *Row) MouseIn(*desktop.MouseEvent) { r.hover(true) }

// MouseMoved is part of desktop.Hoverable.
func (r *Row) MouseMoved(*desktop.MouseEvent) {}

// MouseOut is part of desktop.Hoverable.
func (r *Row) MouseOut() { r.hover(false) }

func (r *Row) hover(in bool) {
	r.over = in
	r.Refresh()
	if r.OnHover != nil {
		r.OnHover(in)
	}
}

// Cursor is part of desktop.Cursorable.
func (r *Row) Cursor() desktop.Cursor { return desktop.PointerCursor }

// CreateRenderer is part of fyne.Widget.
func (r *Row) CreateRenderer() fyne.WidgetRenderer {
	rr := &rowRenderer{r}
	rr.colours()
	return rr
}

type rowRenderer struct{ r *Row }

func (rr *rowRenderer) colours() {
	r := rr.r
	r.tint.FillColor = theme.Color(theme.ColorNameBackground)
	switch {
	case r.chosen && !r.Foot:
		r.tint.FillColor = theme.Color(theme.ColorNameSelection)
	case r.over:
		r.tint.FillColor = theme.Color(theme.ColorNameHover)
	default:
		r.tint.FillColor = nil
	}
	r.bar.FillColor = theme.Color(theme.ColorNameForeground)
	r.bar.Hidden = !r.chosen
}

func (rr *rowRenderer) Layout(s fyne.Size) {
	r := rr.r
	r.tint.Resize(s)
	r.bar.Resize(fyne.NewSize(3, s.Height))
	if r.Foot {
		r.bar.Resize(fyne.NewSize(s.Width, 2))
		r.bar.Move(fyne.NewPos(0, s.Height-2))
	}
	r.Content.Move(fyne.NewPos(r.Pad, 0))
	r.Content.Resize(fyne.NewSize(s.Width-2*r.Pad, s.Height))
}

func (rr *rowRenderer) MinSize() fyne.Size {
	m := rr.r.Content.MinSize()
	return fyne.NewSize(m.Width+2*rr.r.Pad, m.Height)
}

func (rr *rowRenderer) Refresh() {
	rr.colours()
	rr.r.Content.Refresh()
	canvas.Refresh(rr.r)
}

func (rr *rowRenderer) Objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{rr.r.tint, rr.r.bar, rr.r.Content}
}
func (rr *rowRenderer) Destroy() {}

// Section is a heading that opens and closes what stands under it.
type Section struct {
	widget.BaseWidget
	Body   fyne.CanvasObject
	Toggle func(open bool) // told when the user opens or closes it
	title  *Line
	count  *Line
	sign   *Line
	head   *Row
	open   bool
	Grow   bool           // takes what height is left over; see Stack
	Need   func() float32 // the height the body would like; nil: as much as it gets
	Floor  func() float32 // the height the body must have, heading aside; nil: the least of the Stack
}

// NewSection makes a section, open or closed.
func NewSection(title string, body fyne.CanvasObject, open bool) *Section {
	s := &Section{Body: body, open: open, title: NewLine(title, "", "").Strong(), count: NewLine("", ColorSoft, SizeNameSmall), sign: NewLine("", ColorSoft, "")}
	s.head = NewRow(container.New(&padded{top: 7, bottom: 7}, container.NewBorder(nil, nil, s.title, s.sign, container.New(&padded{left: 8, top: 1.5}, s.count))), func() { s.SetOpen(!s.open, true) })
	s.head.Pad = 12
	s.ExtendBaseWidget(s)
	s.show()
	return s
}

// SetCount shows a few words beside the title.
func (s *Section) SetCount(words string) { s.count.SetText(words) }

// SetTitle shows another title.
func (s *Section) SetTitle(t string) { s.title.SetText(t) }

// Open reports whether the section is open.
func (s *Section) Open() bool { return s.open }

// SetOpen opens or closes the section; told says whether to tell Toggle.
func (s *Section) SetOpen(open, told bool) {
	s.open = open
	s.show()
	s.Refresh()
	if told && s.Toggle != nil {
		s.Toggle(open)
	}
}

func (s *Section) show() {
	if s.open {
		s.sign.SetText("−")
		s.Body.Show()
	} else {
		s.sign.SetText("+")
		s.Body.Hide()
	}
}

// CreateRenderer is part of fyne.Widget.
func (s *Section) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.NewBorder(container.NewVBox(s.head), nil, nil, nil, s.Body))
}

// Top is a layout that lays objects at the top, as wide as they need.
type Top struct{}

// Layout is part of fyne.Layout.
func (*Top) Layout(os []fyne.CanvasObject, s fyne.Size) {
	for _, o := range os {
		o.Move(fyne.NewPos(0, 0))
		o.Resize(fyne.NewSize(s.Width, o.MinSize().Height))
	}
}

// MinSize is part of fyne.Layout.
func (*Top) MinSize(os []fyne.CanvasObject) (m fyne.Size) {
	for _, o := range os {
		m = m.Max(o.MinSize())
	}
	return m
}

// padded is a layout with margins round one object or more on top of each other.
type padded struct{ left, top, right, bottom float32 }

// Inset puts margins round an object.
func Inset(o fyne.CanvasObject, left, top, right, bottom float32) fyne.CanvasObject {
	return container.New(&padded{left, top, right, bottom}, o)
}

func (p *padded) Layout(os []fyne.CanvasObject, s fyne.Size) {
	for _, o := range os {
		o.Move(fyne.NewPos(p.left, p.top))
		o.Resize(fyne.NewSize(s.Width-p.left-p.right, s.Height-p.top-p.bottom))
	}
}

func (p *padded) MinSize(os []fyne.CanvasObject) fyne.Size {
	var m fyne.Size
	for _, o := range os {
		if o.Visible() {
			m = m.Max(o.MinSize())
		}
	}
	return m.AddWidthHeight(p.left+p.right, p.top+p.bottom)
}

// tight is a vertical box with a gap of its own.
type tight struct{ gap float32 }

func (t *tight) Layout(os []fyne.CanvasObject, s fyne.Size) {
	y := float32(0)
	for _, o := range os {
		if !o.Visible() {
			continue
		}
		h := o.MinSize().Height
		o.Move(fyne.NewPos(0, y))
		o.Resize(fyne.NewSize(s.Width, h))
		if n := o.MinSize().Height; n != h { // a paragraph that broke its lines anew
			h = n
			o.Resize(fyne.NewSize(s.Width, h))
		}
		y += h + t.gap
	}
}

func (t *tight) MinSize(os []fyne.CanvasObject) fyne.Size {
	var m fyne.Size
	n := 0
	for _, o := range os {
		if !o.Visible() {
			continue
		}
		s := o.MinSize()
		m.Width = max(m.Width, s.Width)
		m.Height += s.Height
		n++
	}
	if n > 1 {
		m.Height += t.gap * float32(n-1)
	}
	return m
}

// VBox stacks objects with a gap between.
func VBox(gap float32, os ...fyne.CanvasObject) *fyne.Container {
	return container.New(&tight{gap}, os...)
}

// Stack is a layout of sections one below the other: the open ones that grow
// share what height the others leave, each at least at a least height.
type Stack struct{ Least float32 }

// mostNeeded is how much of the height a section may have that says what it needs,
// while others want some too. Chosen.
const mostNeeded = 0.65

// mostFloor is how much of the height a section may have that says what it must
// have, before others get what they need. Chosen.
const mostFloor = 0.5

// Layout is part of fyne.Layout. A section that says what it needs gets that
// first, up to mostNeeded.
func (k *Stack) Layout(os []fyne.CanvasObject, s fyne.Size) {
	left, open := s.Height, 0
	grows := func(o fyne.CanvasObject) *Section {
		if sec, ok := o.(*Section); ok && sec.Grow && sec.open {
			return sec
		}
		return nil
	}
	for _, o := range os {
		if !o.Visible() {
			continue
		}
		if grows(o) != nil {
			open++
		} else {
			left -= o.MinSize().Height
		}
	}
	least := func(sec *Section) float32 {
		if sec.Floor == nil {
			return k.Least
		}
		return max(k.Least, min(sec.Floor()+sec.head.MinSize().Height, mostFloor*s.Height))
	}
	heights := map[fyne.CanvasObject]float32{}
	greedy, floors := open, float32(0) // and the least heights of those that are not served yet
	for _, o := range os {
		if sec := grows(o); sec != nil {
			floors += least(sec)
		}
	}
	for _, o := range os {
		if sec := grows(o); sec != nil && sec.Need != nil && open > 1 {
			floors -= least(sec)
			h := min(sec.Need()+sec.head.MinSize().Height, mostNeeded*s.Height, left-floors)
			heights[o] = max(h, k.keep(sec))
			left -= heights[o]
			greedy--
		}
	}
	y := float32(0)
	for _, o := range os {
		if !o.Visible() {
			continue
		}
		h := o.MinSize().Height
		if sec := grows(o); sec != nil {
			var ok bool
			if h, ok = heights[o]; !ok {
				h = max(least(sec), left/float32(greedy))
			}
		}
		o.Move(fyne.NewPos(0, y))
		o.Resize(fyne.NewSize(s.Width, h))
		y += h
	}
}

// keptFloor is how much of the height that a section must have it keeps where there is
// room for less: the panels scroll then. Chosen: a few lines and a button.
const keptFloor = 240

// keep is the height that an open section has at least.
func (k *Stack) keep(sec *Section) float32 {
	if sec.Floor == nil {
		return k.Least
	}
	return max(k.Least, min(sec.Floor()+sec.head.MinSize().Height, keptFloor))
}

// MinSize is part of fyne.Layout.
func (k *Stack) MinSize(os []fyne.CanvasObject) fyne.Size {
	var m fyne.Size
	for _, o := range os {
		if !o.Visible() {
			continue
		}
		s := o.MinSize()
		if sec, ok := o.(*Section); ok && sec.Grow && sec.open {
			s.Height = k.keep(sec)
		}
		m.Width = max(m.Width, s.Width)
		m.Height += s.Height
	}
	return m
}

// Rule is a hairline.
func Rule() fyne.CanvasObject { return widget.NewSeparator() }
