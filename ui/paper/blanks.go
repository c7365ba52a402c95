package paper

import "math"

// blank is one entry to be filled in by hand, with what was planned, "" where
// nothing was.
type blank struct{ what, planned string }

// blanks is entries to be filled in by hand, side by side in columns that read
// downwards.
type blanks struct {
	look
	heading string
	list    []blank
}

const (
	blankRow    = 8.2  // room to write in: chosen
	blankColumn = 56.0 // the least width of label and room to write
	blankLabel  = 0.46 // of a column for the label
)

func (b blanks) columns(w float64) int { return max(1, int((w+columnGap)/(blankColumn+columnGap))) }

func (b blanks) rows(w float64) int { return (len(b.list) + b.columns(w) - 1) / b.columns(w) }

func (b blanks) height(w float64) float64 {
	if len(b.list) == 0 {
		return 0
	}
	return headRow + float64(b.rows(w))*blankRow
}

func (b blanks) draw(d *document, x, y, w float64) {
	d.left(x, y, headRow-1, clean(b.heading), b.head, b.ink)
	y += headRow
	n, rows := b.columns(w), b.rows(w)
	cw := (w - float64(n-1)*columnGap) / float64(n)
	lw := cw * blankLabel
	for i, e := range b.list {
		cx, cy := x+float64(i/rows)*(cw+columnGap), y+float64(i%rows)*blankRow
		words := [][]string{wrap(clean(e.what), lw-1.5, sizeSchedule, true, 2), wrap(clean(e.planned), lw-1.5, sizeSchedule, false, 2)}
		at := cy + math.Max(0.4, (blankRow-float64(len(words[0])+len(words[1]))*smallRow)/2)
		for _, l := range words[0] {
			d.left(cx, at, smallRow, l, b.smallStrong, b.ink)
			at += smallRow
		}
		for _, l := range words[1] {
			d.left(cx, at, smallRow, l, b.small, b.soft)
			at += smallRow
		}
		d.line(cx, cy+blankRow, cx+cw, cy+blankRow, 0.13, b.soft)
		d.line(cx+lw, cy+1.2, cx+lw, cy+blankRow, 0.13, b.soft)
	}
}
