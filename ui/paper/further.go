package paper

import "math"

// furtherPage is a sheet with what found no room on the first.
type furtherPage struct{ blocks []placed }

// further lays out the sheets after the first: the legend and the findings that
// did not fit, then devices, what changed, then stretches for other postures and crossed
// head-on, in columns.
func (s *sheet) further(l layout) []furtherPage {
	c := s.contents(l.format)
	found, rowsLeft := l.findings, 0
	if !c.goesOn(found, l.devices) {
		found = len(c.findings.all)
	}
	if l.devices {
		rowsLeft = len(c.devices.rows)
	}
	tables := []*schedule{&c.devices, &c.changes, &c.stretches}
	done := []int{rowsLeft, 0, 0} // rows of each that are placed
	explained := len(c.aside.lines) == 0
	placedAll := func() bool {
		for i, t := range tables {
			if done[i] < len(t.rows) {
				return false
			}
		}
		return explained && found >= len(c.findings.all)
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
			if !explained {
				c.aside.columns = max(1, int((w+columnGap)/(legendColumn+columnGap)))
				p.blocks = append(p.blocks, placed{c.aside, x, y, w})
				y += c.aside.height(w) + blockGap
				explained = true
			}
			if found < len(c.findings.all) {
				f := c.findings
				f.from = found
				if f.to = f.fits(w, bottom-y, 0); f.to == f.from && y > top {
					continue
				}
				f.to = max(f.from+1, f.to)
				p.blocks = append(p.blocks, placed{f, x, y, w})
				y += f.height(w) + blockGap
				found = f.to
				if found < len(f.all) {
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

func (s *sheet) drawFurther(p furtherPage, n, total int) {
	l, d := s.layout, s.doc
	for _, b := range p.blocks {
		b.draw(d, b.x, b.y, b.w)
	}
	s.foot(l, layoutTitle+continued, s.ratio, n, total)
}
