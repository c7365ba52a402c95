package paper

import (
	"math"
	"strconv"

	"pleach/model"
	"pleach/model/address"
	"pleach/ui/drawing"
)

// table is facts under a heading: what, and how much of it, without rules.
type table struct {
	look
	heading string
	label   float64 // width of the first column, millimetres
	facts   []fact
}

func (t table) lines(i int, w float64) []string {
	if l := wrap(clean(t.facts[i].value), w-t.label, sizeBody, false, 0); l != nil {
		return l
	}
	return []string{""}
}

func (t table) labels(i int) []string {
	return wrap(clean(t.facts[i].label), t.label-1.5, sizeBody, false, 0)
}

func (t table) entry(i int, w float64) float64 {
	return float64(max(len(t.lines(i, w)), len(t.labels(i))))*bodyRow + 0.5
}

func (t table) height(w float64) float64 {
	if len(t.facts) == 0 {
		return 0
	}
	h := 0.0
	if t.heading != "" {
		h += headRow
	}
	for i := range t.facts {
		h += t.entry(i, w)
	}
	return h
}

func (t table) draw(d *document, x, y, w float64) {
	if t.heading != "" {
		d.left(x, y, headRow-1, t.heading, t.head, t.ink)
		y += headRow
	}
	for i := range t.facts {
		for k, l := range t.labels(i) {
			d.left(x, y+float64(k)*bodyRow, bodyRow, l, t.body, t.soft)
		}
		for k, l := range t.lines(i, w) {
			d.left(x+t.label, y+float64(k)*bodyRow, bodyRow, l, t.body, t.ink)
		}
		y += t.entry(i, w)
	}
}

// banner is the name of what a page is about, in large type, and at the end of
// its line what that is.
type banner struct {
	look
	text, after string
}

func (b banner) lines(w float64) []string {
	return wrap(clean(b.text), w-pad-width(clean(b.after), sizeBody, false), sizeTitle, true, 2)
}

func (b banner) height(w float64) float64 {
	return float64(len(b.lines(w))) * sizeTitle * 1.22
}

func (b banner) draw(d *document, x, y, w float64) {
	d.right(x+w, y, sizeTitle*1.22, clean(b.after), b.body, b.soft)
	for _, l := range b.lines(w) {
		d.left(x, y, sizeTitle*1.22, l, drawing.Font{Size: sizeTitle, Medium: true}, b.ink)
		y += sizeTitle * 1.22
	}
}

// beside is two stacks of blocks side by side.
type beside struct {
	left, right []block
	share       float64 // of the width for the left one
}

func (b beside) widths(w float64) (l, r float64) {
	l = (w - 2*pad) * b.share
	return l, w - 2*pad - l
}

func (b beside) height(w float64) float64 {
	l, r := b.widths(w)
	return math.Max(stackHeight(l, b.left...), stackHeight(r, b.right...))
}

func (b beside) draw(d *document, x, y, w float64) {
	l, r := b.widths(w)
	stack := func(x, w float64, blocks []block) {
		at := y
		for _, o := range blocks {
			if h := o.height(w); h > 0 {
				o.draw(d, x, at, w)
				at += h + blockGap
			}
		}
	}
	stack(x, l, b.left)
	stack(x+l+2*pad, r, b.right)
}

// figureBlock is a drawing of its own, such as a section, under a heading if it has
// one.
type figureBlock struct {
	look
	heading string
	theme   *drawing.Theme
	list    *drawing.List
	view    drawing.View
}

func (f figureBlock) height(float64) float64 {
	if f.heading == "" {
		return f.view.Height
	}
	return headRow + f.view.Height
}

func (f figureBlock) draw(d *document, x, y, w float64) {
	if f.heading != "" {
		d.left(x, y, headRow-1, clean(f.heading), f.head, f.ink)
		y += headRow
	}
	box := rect(x, y, f.view.Width, f.view.Height)
	d.clip(rings(box))
	drawing.Render(shifted{d, x, y}, f.list, f.view, f.theme, drawing.PlaceLabels(f.list, f.view, f.theme), drawing.AllLayers)
	d.restore()
	d.stroke(box, drawing.Pen{Width: rulePen, Colour: f.pale})
}

// form is a table to be filled in by hand: headings, and rows whose empty cells
// leave room for writing.
type form struct {
	look
	heading string
	columns []formColumn
	rows    [][]string
}

type formColumn struct {
	head  string
	share float64 // of the width
}

// formRow is the height of a row one can write in: chosen.
const formRow = 7.0

func (f form) headLines(w float64) int {
	most := 1
	for _, c := range f.columns {
		most = max(most, len(wrap(clean(c.head), c.share*w-2, sizeSchedule, true, 3)))
	}
	return most
}

func (f form) headHeight(w float64) float64 {
	h := float64(f.headLines(w))*smallRow + 1.2
	if f.heading != "" {
		h += headRow
	}
	return h
}

func (f form) rowHeight(r []string, w float64) float64 {
	h := formRow
	for i, c := range r {
		h = math.Max(h, float64(len(wrap(clean(c), f.columns[i].share*w-2, sizeSchedule, i == 0, 4)))*smallRow+1.4)
	}
	return h
}

func (f form) height(w float64) float64 {
	if len(f.rows) == 0 {
		return 0
	}
	h := f.headHeight(w)
	for _, r := range f.rows {
		h += f.rowHeight(r, w)
	}
	return h
}

func (f form) draw(d *document, x, y, w float64) {
	if f.heading != "" {
		d.left(x, y, headRow-1, clean(f.heading), f.head, f.ink)
		y += headRow
	}
	cell := func(at, y, cw float64, text string, font drawing.Font) {
		for k, l := range wrap(clean(text), cw-2, sizeSchedule, font.Medium, 4) {
			d.left(at+1, y+float64(k)*smallRow, smallRow, l, font, f.ink)
		}
	}
	top := y
	at := x
	for _, c := range f.columns {
		cell(at, y+0.5, c.share*w, c.head, f.smallStrong)
		at += c.share * w
	}
	y += float64(f.headLines(w))*smallRow + 1.2
	d.line(x, y, x+w, y, 0.25, f.ink)
	for _, r := range f.rows {
		h := f.rowHeight(r, w)
		at := x
		for i, c := range r {
			font := f.small
			if i == 0 {
				font = f.smallStrong
			}
			cell(at, y+0.7, f.columns[i].share*w, c, font)
			at += f.columns[i].share * w
		}
		y += h
		d.line(x, y, x+w, y, 0.13, f.soft)
	}
	at = x
	for _, c := range f.columns[:len(f.columns)-1] {
		at += c.share * w
		d.line(at, top, at, y, 0.13, f.soft)
	}
}

// split implements splitter, between rows.
func (f form) split(w, h float64) (first, rest block) {
	n, used := 0, f.headHeight(w)
	for n < len(f.rows) {
		if used += f.rowHeight(f.rows[n], w); used > h+1e-9 {
			break
		}
		n++
	}
	switch n {
	case 0:
		return nil, f
	case len(f.rows):
		return f, nil
	}
	a, b := f, f
	a.rows, b.rows = f.rows[:n], f.rows[n:]
	b.heading = goesOn(b.heading)
	return a, b
}

// switchBlock is an address as it is set, switch by switch.
type switchBlock struct {
	look
	address int
	set     model.Addresses
}

func (b switchBlock) words() string {
	order := "switch 1 is the highest bit"
	if b.set.Order == model.LowestFirst {
		order = "switch 1 is the lowest bit"
	}
	if _, ok := address.Switches(b.address, b.set); !ok {
		return "Address " + strconv.Itoa(b.address) + " cannot be set on " + count(b.set.Switches, "switch") + ": they go from " + strconv.Itoa(b.set.Base) + " to " + strconv.Itoa(b.set.Base+1<<b.set.Switches-1) + "."
	}
	s := "Up is on; " + order + "."
	if b.set.Base != 0 {
		s += " The switches read " + strconv.Itoa(b.address-b.set.Base) + ": all off is address " + strconv.Itoa(b.set.Base) + "."
	}
	return s
}

const (
	switchHeight = 9.0
	switchWidth  = 6.0 // at most
)

func (b switchBlock) height(w float64) float64 {
	h := headRow + float64(len(wrap(b.words(), w, sizeBody, false, 0)))*bodyRow
	if _, ok := address.Switches(b.address, b.set); ok {
		h += switchHeight + 2*bodyRow + 1.5
	}
	return h
}

func (b switchBlock) draw(d *document, x, y, w float64) {
	d.left(x, y, headRow-1, "Address "+strconv.Itoa(b.address), b.head, b.ink)
	y += headRow
	on, ok := address.Switches(b.address, b.set)
	if ok {
		sw := math.Min(switchWidth, w/float64(b.set.Switches))
		for i, up := range on {
			at := x + float64(i)*sw
			mid := at + sw/2
			d.centre(mid, y, bodyRow, strconv.Itoa(i+1), b.small, b.soft)
			slot := rect(at+sw*0.18, y+bodyRow, sw*0.64, switchHeight)
			d.stroke(slot, drawing.Pen{Width: 0.25, Colour: b.ink})
			lever := y + bodyRow + switchHeight/2
			figure := "0"
			if up {
				lever, figure = y+bodyRow, "1"
			}
			d.fill(rings(rect(at+sw*0.18, lever, sw*0.64, switchHeight/2)), b.ink)
			d.centre(mid, y+bodyRow+switchHeight+0.5, bodyRow, figure, b.strong, b.ink)
		}
		y += switchHeight + 2*bodyRow + 1.5
	}
	for _, l := range wrap(b.words(), w, sizeBody, false, 0) {
		d.left(x, y, bodyRow, l, b.body, b.ink)
		y += bodyRow
	}
}
