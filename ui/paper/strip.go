package paper

import (
	"fmt"
	"math"
	"strings"

	"pleach/ui/drawing"
)

// ShortCaution is what a running sheet says of its own worth; Caution is the
// whole of it, on the layout and on the sheets that the customer sees.
const ShortCaution = "Predictions, made for planning: what proves the system is the walk test and the signal readings on site. Local codes, the radio licence, " +
	"the rules for work at height and the accredited installer's judgement come before this sheet."

// strip is the foot of a sheet that is read rather than measured on: the caution
// and the entries of the title block in one or two lines across the frame, so
// that the room is left to what the sheet is about.
type strip struct {
	look
	title, kind string
	caution     string
	cells       []field // share is in millimetres here, the usual width
	spare       float64 // width to be left for an entry that other sheets have
}

const (
	stripPad  = 1.6
	stripCell = 2*cellPad + 2*bodyRow
	stripHead = 7.0
	// besideTitle is the least width of a title that stands in one line with the
	// entries: chosen.
	besideTitle = 70.0
	// Of entries that take several lines: the pad above, the label, and each line.
	// Chosen, so that two lines find room in a cell.
	tightPad, tightLabel, tightRow = 0.6, 3.0, 2.9
	// mostStripLines is how many lines an entry takes before it is cut: chosen.
	mostStripLines = 4
)

// entries is the usual width of the cells.
func (t strip) entries() (w float64) {
	for _, c := range t.cells {
		w += c.share
	}
	return w
}

// oneLine says whether title and entries share a line.
func (t strip) oneLine(w float64) bool { return w-t.entries() >= besideTitle }

func (t strip) warning(w float64) []string {
	return wrap(t.caution, w-2*pad, sizeSchedule, false, 0)
}

// inset is what entry i keeps from the left of its cell.
func (t strip) inset(i int, w float64) float64 {
	if i == 0 && !t.oneLine(w) {
		return pad
	}
	return 2.5
}

const stripEnd = 0.8 // what an entry keeps from the right of its cell

// need is the width of entry i where it takes at most so many lines: large type in
// one, small type in several.
func (t strip) need(i, lines int, w float64) float64 {
	c := t.cells[i]
	least := width(c.label, t.small.Size, false)
	if lines == 1 {
		least = math.Max(least, width(c.value, t.strong.Size, true))
	} else {
		all := width(c.value, t.small.Size, true)
		for _, word := range strings.FieldsFunc(c.value, func(r rune) bool { return strings.ContainsRune(" -/", r) }) {
			least = math.Max(least, math.Min(width(word+"-", t.small.Size, true), all))
		}
		for least = math.Max(least, math.Min(all, 0.9*all/float64(lines))); least < all && len(wrap(c.value, least, t.small.Size, true, 0)) > lines; least++ {
		}
	}
	return least + t.inset(i, w) + stripEnd + 0.1
}

// most is the width that all cells share at most.
func (t strip) most(w float64) float64 {
	if t.oneLine(w) {
		return w - besideTitle
	}
	return w
}

// The entry that only sheets with a scale have: the foot is as high on all.
const (
	scaleLabel = "Scale"
	scaleShare = 27.0
)

// lines is how many lines the entries take at most, so that none is cut.
func (t strip) lines(w float64) int {
	for n := 1; n < mostStripLines; n++ {
		sum := t.spare
		for i, c := range t.cells {
			if c.label == scaleLabel {
				sum += c.share
			} else {
				sum += t.need(i, n, w)
			}
		}
		if sum <= t.most(w) {
			return n
		}
	}
	return mostStripLines
}

// cell is the height of the entries.
func (t strip) cell(w float64) float64 {
	return stripCell + float64(max(0, t.lines(w)-2))*tightRow
}

// title and kind want this much beside the entries.
func (t strip) titleWants() float64 {
	return math.Max(besideTitle, math.Max(width(t.title, t.head.Size, true), width(t.kind, t.body.Size, false))+pad+4)
}

// widths shares the room: the usual widths where every entry fits in its own, else
// each what it needs, the widest in more lines first. The first has what is left
// over.
func (t strip) widths(w float64) []float64 {
	out := make([]float64, len(t.cells))
	have := w
	if t.oneLine(w) {
		have = math.Max(t.entries(), w-t.titleWants())
	}
	usual := true
	for i, c := range t.cells {
		out[i] = c.share
		if i == 0 {
			out[i] += have - t.entries()
		}
		usual = usual && width(c.value, t.small.Size, true) <= out[i]-t.inset(i, w)-stripEnd
	}
	if usual {
		return out
	}
	if t.oneLine(w) {
		have = w - t.titleWants()
	}
	lines := make([]int, len(out))
	sum := 0.0
	for i := range out {
		lines[i], out[i] = 1, t.need(i, 1, w)
		sum += out[i]
	}
	for most := t.lines(w); sum > have; {
		widest := -1
		for i := range out {
			if lines[i] < most && (widest < 0 || out[i] > out[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			break
		}
		lines[widest]++
		less := math.Min(out[widest], t.need(widest, lines[widest], w))
		sum += less - out[widest]
		out[widest] = less
	}
	have = math.Min(math.Max(have, sum), t.most(w)) // the title gives way
	widest := 0
	for i := range out {
		if out[i] > out[widest] {
			widest = i
		}
	}
	if over := sum - have; over > 0 {
		out[widest] -= over
	} else {
		out[0] -= over
	}
	return out
}

func (t strip) height(w float64) float64 {
	h := 2*stripPad + float64(len(t.warning(w)))*smallRow + t.cell(w)
	if !t.oneLine(w) {
		h += stripHead
	}
	return h
}

func (t strip) draw(d *document, x, y, w float64) {
	d.line(x, y, x+w, y, framePen, t.ink)
	y += stripPad
	for _, l := range t.warning(w) {
		d.left(x+pad, y, smallRow, l, t.small, t.soft)
		y += smallRow
	}
	y += stripPad
	d.line(x, y, x+w, y, rulePen, t.ink)
	cut := func(s string, w float64, f drawing.Font) string {
		if l := wrap(s, w, f.Size, f.Medium, 1); l != nil {
			return l[0]
		}
		return ""
	}
	widths := t.widths(w)
	high := t.cell(w)
	cx := x
	if t.oneLine(w) {
		cx = x + w
		for _, cw := range widths {
			cx -= cw
		}
		room := cx - x - pad - 2.5
		d.left(x+pad, y+cellPad, bodyRow, cut(t.title, room, t.head), t.head, t.ink)
		d.left(x+pad, y+cellPad+bodyRow, bodyRow, cut(t.kind, room, t.body), t.body, t.soft)
		d.line(cx, y, cx, y+high, rulePen, t.ink)
	} else {
		kw := math.Min(width(t.kind, t.body.Size, false), 0.4*w)
		d.left(x+pad, y, stripHead, cut(t.title, w-2*pad-kw-pad, t.head), t.head, t.ink)
		d.right(x+w-pad, y, stripHead, cut(t.kind, kw+0.1, t.body), t.body, t.soft)
		y += stripHead
		d.line(x, y, x+w, y, rulePen, t.ink)
	}
	for i, c := range t.cells {
		if i > 0 {
			d.line(cx, y, cx, y+high, rulePen, t.ink)
		}
		in := t.inset(i, w)
		room := widths[i] - in - stripEnd
		small := t.strong
		small.Size = t.small.Size
		switch {
		case width(c.value, t.strong.Size, true) <= room:
			d.left(cx+in, y+cellPad, bodyRow, c.label, t.small, t.soft)
			d.left(cx+in, y+cellPad+bodyRow, bodyRow, c.value, t.strong, t.ink)
		case width(c.value, small.Size, true) <= room:
			d.left(cx+in, y+cellPad, bodyRow, c.label, t.small, t.soft)
			d.left(cx+in, y+cellPad+bodyRow, bodyRow, c.value, small, t.ink)
		default:
			d.left(cx+in, y+tightPad, tightLabel, c.label, t.small, t.soft)
			for k, l := range wrap(c.value, room, small.Size, true, max(2, t.lines(w))) {
				d.left(cx+in, y+tightPad+tightLabel+float64(k)*tightRow, tightRow, l, small, t.ink)
			}
		}
		cx += widths[i]
	}
}

// strip is the foot of sheet n of total; ratio is 0 for one without a scale.
func (s *sheet) strip(f Format, kind string, ratio, n, total int) strip {
	set := s.in.Plan.Settings
	t := strip{look: s.look, title: s.planTitle(), kind: kind, caution: ShortCaution}
	cell := func(label, value string, mm float64) { t.cells = append(t.cells, field{label, clean(value), mm}) }
	cell("Customer", set.Customer, 44)
	cell("Reference", set.Reference, 28)
	cell("Designer", set.Designer, 36)
	cell("Revision", set.Revision, 16)
	cell("Date", set.Date, 23)
	if ratio > 0 {
		cell(scaleLabel, ratioText(ratio)+" at "+f.String(), scaleShare)
	} else {
		t.spare = scaleShare
	}
	cell("Sheet", fmt.Sprintf("%d of %d", n, total), 20)
	return t
}

// foot draws the foot of sheet n of total and the frame. ratio is 0 for a sheet
// without a scale.
func (s *sheet) foot(l layout, title string, ratio, n, total int) {
	h := s.footHeight(l)
	s.strip(l.format, clean(title), ratio, n, total).draw(s.doc, l.frame.x, l.frame.y+l.frame.h-h, l.frame.w)
	s.doc.stroke(rect(l.frame.x, l.frame.y, l.frame.w, l.frame.h), drawing.Pen{Width: framePen, Colour: s.ink})
}

// footHeight is the height of a sheet's foot, millimetres.
func (s *sheet) footHeight(l layout) float64 {
	return s.strip(l.format, "", 0, 888, 888).height(l.frame.w)
}
