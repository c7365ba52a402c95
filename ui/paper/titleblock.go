package paper

import (
	"pleach/model"
	"pleach/ui/drawing"
)

// field is one cell of the title block.
type field struct {
	label, value string
	share        float64 // of the width
}

// titleBlock is the block at the lower right. It is drawn to the edges of its
// width; its text keeps pad from them.
type titleBlock struct {
	look
	title, kind string
	rows        [][]field
	revisions   []model.Revision // oldest first; the last few are shown, the newest on top
	terse       bool             // long texts are cut, where a sheet has no room for them
}

// Lines of text: what is longer ends in an ellipsis. Chosen; a title of six
// lines has three hundred characters.
const (
	titleLines = 6
	fieldLines = 6
	terseLines = 2
	cellPad    = 1.3
)

// titleFont returns the largest type in which the title takes at most two
// lines, and its lines in it.
func (t titleBlock) titleFont(w float64) (drawing.Font, []string) {
	for _, size := range []float64{sizeTitle, 4.2, 3.6} {
		if l := wrap(t.title, w-2*pad, size, true, 0); len(l) <= 2 {
			return drawing.Font{Size: size, Medium: true}, l
		}
	}
	most := titleLines
	if t.terse {
		most = terseLines
	}
	return t.head, wrap(t.title, w-2*pad, t.head.Size, true, most)
}

func (t titleBlock) titleHeight(w float64) float64 {
	f, lines := t.titleFont(w)
	return 3 + float64(len(lines))*f.Size*1.22 + bodyRow + 2
}

func (t titleBlock) rowHeight(row []field, w float64) float64 {
	most := 1
	for _, f := range row {
		most = max(most, len(t.lines(f, w)))
	}
	return cellPad*2 + bodyRow*float64(1+most)
}

func (t titleBlock) lines(f field, w float64) []string {
	most := fieldLines
	if t.terse {
		most = terseLines
	}
	return wrap(f.value, w*f.share-pad-1.5, sizeBody, true, most)
}

func (t titleBlock) height(w float64) float64 {
	h := t.revisionsHeight(w) + t.titleHeight(w)
	for _, r := range t.rows {
		h += t.rowHeight(r, w)
	}
	return h
}

func (t titleBlock) draw(d *document, x, y, w float64) {
	d.line(x, y, x+w, y, framePen, t.ink)
	y += t.drawRevisions(d, x, y, w)
	f, lines := t.titleFont(w)
	at := y + 3
	for _, l := range lines {
		d.left(x+pad, at, f.Size*1.22, l, f, t.ink)
		at += f.Size * 1.22
	}
	d.left(x+pad, at+0.6, bodyRow, t.kind, t.body, t.soft)
	y += t.titleHeight(w)
	for _, row := range t.rows {
		h := t.rowHeight(row, w)
		d.line(x, y, x+w, y, rulePen, t.ink)
		cx := x
		for i, c := range row {
			in := pad
			if i > 0 {
				d.line(cx, y, cx, y+h, rulePen, t.ink)
				in = 2.5
			}
			d.left(cx+in, y+cellPad, bodyRow, c.label, t.body, t.soft)
			for k, l := range t.lines(c, w) {
				d.left(cx+in, y+cellPad+bodyRow*float64(1+k), bodyRow, l, t.strong, t.ink)
			}
			cx += w * c.share
		}
		y += h
	}
}
