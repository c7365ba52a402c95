package paper

import (
	"math"

	"github.com/paulmach/orb"

	"pleach/ui/drawing"
)

// legend says what the marks and lines mean: those that occur on the map, drawn
// by the same renderer from the same table.
type legend struct {
	look
	theme   *drawing.Theme
	lines   []drawing.LegendLine
	columns int
	letter  string // of the clouds, where there are any
}

const (
	sampleWidth = 11.0
	legendRow   = 4.3
	sampleGap   = 2.5
	columnGap   = 5.0
)

func (l legend) columnWidth(w float64) float64 {
	n := float64(max(l.columns, 1))
	return (w - columnGap*(n-1)) / n
}

func (l legend) entry(e drawing.LegendLine, w float64) ([]string, float64) {
	lines := wrap(e.Text, w-sampleWidth-sampleGap, sizeBody, false, 0)
	return lines, math.Max(legendRow, float64(len(lines))*bodyRow+0.5)
}

// split returns the entries column by column, filled so that the tallest is as
// short as can be.
func (l legend) split(w float64) (cols [][]drawing.LegendLine, tallest float64) {
	cw := l.columnWidth(w)
	n := max(l.columns, 1)
	heights := make([]float64, len(l.lines))
	sum := 0.0
	for i, m := range l.lines {
		_, heights[i] = l.entry(m, cw)
		sum += heights[i]
	}
	for limit := sum / float64(n); ; limit += legendRow / 4 {
		cols, tallest = make([][]drawing.LegendLine, 1), 0
		at := 0.0
		for i, m := range l.lines {
			if at > 0 && at+heights[i] > limit+1e-9 {
				cols = append(cols, nil)
				at = 0
			}
			at += heights[i]
			tallest = math.Max(tallest, at)
			cols[len(cols)-1] = append(cols[len(cols)-1], m)
		}
		if len(cols) <= n {
			return cols, tallest
		}
	}
}

func (l legend) height(w float64) float64 {
	if len(l.lines) == 0 {
		return 0
	}
	_, h := l.split(w)
	return headRow + h
}

func (l legend) draw(d *document, x, y, w float64) {
	if len(l.lines) == 0 {
		return
	}
	d.left(x, y, headRow-1, "Legend", l.head, l.ink)
	cols, _ := l.split(w)
	cw := l.columnWidth(w)
	for i, col := range cols {
		cx, cy := x+float64(i)*(cw+columnGap), y+headRow
		for _, m := range col {
			lines, h := l.entry(m, cw)
			l.sample(d, cx, cy, m.Meaning)
			top := cy + (legendRow-bodyRow)/2
			for _, s := range lines {
				d.left(cx+sampleWidth+sampleGap, top, bodyRow, s, l.body, l.ink)
				top += bodyRow
			}
			cy += h
		}
	}
}

// sample draws what is explained in a line of the legend.
func (l legend) sample(d *document, x, y float64, m drawing.Meaning) {
	switch m {
	case changedMeaning:
		l.cloud(d, x, y, l.letter)
	case outlineMeaning:
		pen := l.matchPen()
		pen.Width, pen.Dash = 0.3, []float64{2.6, 0.7, 0.5, 0.7}
		d.stroke(rect(x+0.8, y+0.5, sampleWidth-1.6, legendRow-1), pen)
		d.centre(x+sampleWidth/2, y, legendRow, "n", l.strong, l.ink)
	case detailMeaning:
		d.stroke(rect(x+0.8, y+0.5, sampleWidth-1.6, legendRow-1), l.detailPen())
		d.centre(x+sampleWidth/2, y, legendRow, "A", l.strong, l.ink)
	default:
		list, view := l.theme.Sample(m, sampleWidth, legendRow)
		d.clip([]orb.Ring{rect(x-0.4, y, sampleWidth+0.8, legendRow)})
		drawing.Render(shifted{d, x, y}, list, view, l.theme, &drawing.Placement{}, drawing.AllLayers)
		d.restore()
	}
}
