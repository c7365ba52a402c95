package paper

import (
	"fmt"
	"math"

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
	cells       []field // share is in millimetres here
}

const (
	stripPad  = 1.6
	stripCell = 2*cellPad + 2*bodyRow
	stripHead = 7.0
	// besideTitle is the least width of a title that stands in one line with the
	// entries: chosen.
	besideTitle = 70.0
)

// entries is the width of the cells.
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

func (t strip) height(w float64) float64 {
	h := 2*stripPad + float64(len(t.warning(w)))*smallRow + stripCell
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
	cx, room := x, 0.0
	first := w - t.entries() // what the first entry has over its own width
	if t.oneLine(w) {
		wanted := math.Max(width(t.title, t.head.Size, true), width(t.kind, t.body.Size, false)) + pad + 4
		first = math.Max(0, first-math.Max(besideTitle, wanted))
		room = w - t.entries() - first - pad - 2.5
		d.left(x+pad, y+cellPad, bodyRow, cut(t.title, room, t.head), t.head, t.ink)
		d.left(x+pad, y+cellPad+bodyRow, bodyRow, cut(t.kind, room, t.body), t.body, t.soft)
		cx = x + w - t.entries() - first
		d.line(cx, y, cx, y+stripCell, rulePen, t.ink)
	} else {
		kw := math.Min(width(t.kind, t.body.Size, false), 0.4*w)
		d.left(x+pad, y, stripHead, cut(t.title, w-2*pad-kw-pad, t.head), t.head, t.ink)
		d.right(x+w-pad, y, stripHead, cut(t.kind, kw+0.1, t.body), t.body, t.soft)
		y += stripHead
		d.line(x, y, x+w, y, rulePen, t.ink)
	}
	for i, c := range t.cells {
		in := 2.5
		if i > 0 {
			d.line(cx, y, cx, y+stripCell, rulePen, t.ink)
		} else if !t.oneLine(w) {
			in = pad
		}
		cw := c.share
		if i == 0 {
			cw += first
		}
		d.left(cx+in, y+cellPad, bodyRow, c.label, t.small, t.soft)
		font := t.strong
		if width(c.value, font.Size, font.Medium) > cw-in-0.8 {
			font.Size = t.small.Size // before anything is cut off
		}
		d.left(cx+in, y+cellPad+bodyRow, bodyRow, cut(c.value, cw-in-0.8, font), font, t.ink)
		cx += cw
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
		cell("Scale", ratioText(ratio)+" at "+f.String(), 27)
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
