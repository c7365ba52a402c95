package paper

import (
	"math"

	"pleach/ui/drawing"
)

// furtherPage is a sheet with what found no room on the first.
type furtherPage struct{ blocks []placed }

// further lays out the sheets after the first: faults that did not fit, then
// devices, then stretches for other postures and crossed head-on, in columns.
func (s *sheet) further(l layout) []furtherPage {
	c := s.contents(l.format)
	faultsLeft, rowsLeft := l.faults, 0
	if l.devices {
		rowsLeft = len(c.devices.rows)
	}
	tables := []*schedule{&c.devices, &c.stretches}
	done := []int{rowsLeft, 0} // rows of each that are placed
	placedAll := func() bool {
		return faultsLeft >= len(c.faults.faults) && done[0] >= len(c.devices.rows) && done[1] >= len(c.stretches.rows)
	}
	if placedAll() {
		return nil
	}
	columns := 1
	if l.frame.w > 300 {
		columns = 2
	}
	w := (l.frame.w - 2*pad - float64(columns-1)*2*pad) / float64(columns)
	top := l.frame.y + pad
	bottom := l.frame.y + l.frame.h - s.footHeight(l) - pad
	var out []furtherPage
	for !placedAll() {
		var p furtherPage
		for col := range columns {
			x := l.frame.x + pad + float64(col)*(w+2*pad)
			y := top
			if faultsLeft < len(c.faults.faults) {
				f := c.faults
				f.from = faultsLeft
				if faultsLeft > 0 {
					f.heading = "Faults, continued"
				}
				f.to = max(f.from+1, f.fits(w, bottom-y, 0))
				p.blocks = append(p.blocks, placed{f, x, y, w})
				y += f.height(w) + blockGap
				faultsLeft = f.to
				if faultsLeft < len(f.faults) {
					continue
				}
			}
			for i, t := range tables {
				if done[i] >= len(t.rows) {
					continue
				}
				t := *t
				t.from = done[i]
				if done[i] > 0 {
					t.heading += ", continued"
				}
				n := t.fits(w, bottom-y)
				if n == 0 && y > top {
					break
				}
				t.to = t.from + int(math.Max(1, float64(n)))
				p.blocks = append(p.blocks, placed{t, x, y, w})
				y += t.height(w) + blockGap
				if done[i] = t.to; done[i] < len(t.rows) {
					break
				}
			}
		}
		out = append(out, p)
	}
	return out
}

// footWidth is the width of the title block on a further sheet.
func footWidth(l layout) float64 { return math.Min(118, l.frame.w*0.52) }

func (s *sheet) footHeight(l layout) float64 {
	w := footWidth(l)
	return math.Max(s.title(w, l.format, 88, 88).height(w), 2*pad+prose{s.look, []string{Caution}}.height(l.frame.w-w-2*pad))
}

func (s *sheet) drawFurther(p furtherPage, n, total int) {
	l, d := s.layout, s.doc
	for _, b := range p.blocks {
		b.draw(d, b.x, b.y, b.w)
	}
	s.foot(l, "", s.ratio, n, total)
}

// foot draws the caution, the title block of sheet n of total and the frame.
// title is what the sheet is called, "" for a sheet of the layout; ratio
// is 0 for one without a scale.
func (s *sheet) foot(l layout, title string, ratio, n, total int) {
	d := s.doc
	w := footWidth(l)
	t := s.title(w, l.format, n, total)
	if title != "" {
		w = plainFoot
		t = s.plainTitle(w, l.format, title, ratio, n, total)
	}
	h := s.footHeight(l)
	if title != "" {
		h = s.plainFootHeight(l)
	}
	x, y := l.frame.x+l.frame.w-w, l.frame.y+l.frame.h-h
	t.draw(d, x, y+h-t.height(w), w)
	d.line(l.frame.x, y, l.frame.x+l.frame.w, y, framePen, s.ink)
	d.line(x, y, x, y+h, rulePen, s.ink)
	prose{s.look, []string{Caution}}.draw(d, l.frame.x+pad, y+pad, l.frame.w-w-2*pad)
	d.stroke(rect(l.frame.x, l.frame.y, l.frame.w, l.frame.h), drawing.Pen{Width: framePen, Colour: s.ink})
}

// plainFoot is the width of the title block on a sheet without a scale: one
// that takes a date on one line.
const plainFoot = 118.0

func (s *sheet) plainFootHeight(l layout) float64 {
	return math.Max(s.plainTitle(plainFoot, l.format, "Post", 10000, 888, 888).height(plainFoot), 2*pad+prose{s.look, []string{Caution}}.height(l.frame.w-plainFoot-2*pad))
}

// plainTitle is the title block of another sheet than the layout; ratio is 0 for
// one without a scale.
func (s *sheet) plainTitle(w float64, f Format, title string, ratio, n, total int) titleBlock {
	plain := *s
	plain.ratio = ratio
	t := plain.title(w, f, n, total)
	t.kind = title
	return t
}
