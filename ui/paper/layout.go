package paper

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// box is a rectangle on the sheet, millimetres.
type box struct{ x, y, w, h float64 }

// placed is a block where it stands.
type placed struct {
	block
	x, y, w float64
}

// layout is an arrangement of the first sheet.
type layout struct {
	format    Format
	landscape bool
	sheet     box // the whole paper
	frame     box
	panel     box
	picture   box // the map
	blocks    []placed
	rules     [][4]float64 // hairlines between parts of the panel
	devices   bool         // the schedule stands on this sheet
	findings  int          // findings listed on this sheet
}

// margin is the white border of the sheet: chosen; printers reach to about
// 5 mm, and ISO 5457 has 10 mm on three sides.
const margin = 10.0

// mapMargin is kept free between what is drawn and the edge of the map, for
// labels and ticks.
const mapMargin = 9.0

// contents is everything the panel of the first sheet may hold.
type contents struct {
	look
	title     func(w float64) titleBlock
	scale     scaleBlock
	summary   summary
	findings  findingList
	noted     bool   // the notes are printed too, with every finding
	aside     legend // on a further sheet, where there is no room here
	legend    legend
	devices   schedule
	changes   schedule // on a further sheet
	stretches schedule // on a further sheet
	notes     prose
}

// newLayout is the bare sheet: paper and frame.
func newLayout(f Format, landscape bool) layout {
	w, h := f.Size(landscape)
	return layout{format: f, landscape: landscape, sheet: box{0, 0, w, h}, frame: box{margin, margin, w - 2*margin, h - 2*margin}}
}

// arrangements returns the layouts worth trying on a format.
func (c contents) arrangements(f Format) []layout {
	var out []layout
	add := func(l layout, ok bool) {
		if ok {
			out = append(out, l)
		}
	}
	widths := []float64{150, 138, 118, 100}
	if f == A4 {
		widths = []float64{112, 96, 84}
	}
	for _, landscape := range []bool{true, false} {
		for _, devices := range []bool{true, false} {
			c := c
			if n := len(c.devices.rows); devices && n == 0 {
				continue
			} else if !devices && n > 0 {
				c.summary.facts = append(slices.Clone(c.summary.facts), fact{"Devices", fmt.Sprintf("%d, in the schedule on the next sheet", n)})
			}
			for _, w := range widths {
				for _, below := range []under{nothing, key, keyAndScale, keyScaleNotes} {
					add(c.side(f, landscape, w, devices, below))
				}
			}
			for _, most := range []float64{0.42, 0.55} {
				add(c.columns(f, landscape, devices, most))
				add(c.tiers(f, landscape, devices, most))
			}
		}
	}
	return out
}

// stackHeight is the height of blocks one above the other, with the distance
// between them.
func stackHeight(w float64, blocks ...block) float64 {
	h := 0.0
	for _, b := range blocks {
		if bh := b.height(w); bh > 0 {
			if h > 0 {
				h += blockGap
			}
			h += bh
		}
	}
	return h
}

// stack places blocks one above the other and returns where the last ends.
func (l *layout) stack(x, y, w float64, blocks ...block) float64 {
	end := y
	for _, b := range blocks {
		if h := b.height(w); h > 0 {
			l.blocks = append(l.blocks, placed{b, x, y, w})
			end = y + h
			y = end + blockGap
		}
	}
	return end
}

// corner places the title block in the lower right of the panel, w wide.
func (l *layout) corner(t titleBlock, w float64) {
	h := t.height(w)
	l.blocks = append(l.blocks, placed{t, l.panel.x + l.panel.w - w, l.panel.y + l.panel.h - h, w})
}

// legendColumn is the width at which few lines of the legend wrap.
const legendColumn = 54.0

// under is what stands in a strip under the map rather than in the panel beside
// it.
type under uint8

const (
	nothing under = iota
	key
	keyAndScale
	keyScaleNotes
)

// scaleColumn is the width of scale and notes in the strip.
const scaleColumn = 88.0

// side puts the panel beside the map, panelWidth wide.
func (c contents) side(f Format, landscape bool, panelWidth float64, devices bool, below under) (layout, bool) {
	l := newLayout(f, landscape)
	l.devices = devices
	l.picture = box{l.frame.x, l.frame.y, l.frame.w - panelWidth, l.frame.h}
	l.panel = box{l.frame.x + l.picture.w, l.frame.y, panelWidth, l.frame.h}
	w, x := panelWidth-2*pad, l.panel.x+pad
	title := c.title(panelWidth)
	table, legend := c.devices, c.legend
	if devices {
		table.to = len(table.rows)
	}
	tops, low := []block{table}, []block{c.scale, c.notes}
	switch below {
	case nothing:
		legend.columns = max(1, int((w+columnGap)/(legendColumn+columnGap)))
		tops = append(tops, legend)
	default:
		sw := l.picture.w - 2*pad
		lw := sw
		var beside []block
		switch below {
		case keyAndScale:
			beside, low = low[:1], low[1:]
		case keyScaleNotes:
			beside, low = low, nil
		}
		if beside != nil {
			lw = sw - scaleColumn - 2*pad
		}
		if legend.columns = int((lw + columnGap) / (legendColumn + columnGap)); legend.columns < 2 || len(legend.lines) == 0 {
			return l, false
		}
		h := math.Max(legend.height(lw), stackHeight(scaleColumn, beside...))
		l.picture.h -= h + 2*pad
		y := l.frame.y + l.picture.h
		l.stack(l.frame.x+pad, y+pad, lw, legend)
		if beside != nil {
			l.stack(l.panel.x-pad-scaleColumn, y+pad, scaleColumn, beside...)
			l.rules = append(l.rules, [4]float64{l.panel.x - scaleColumn - 2*pad, y, l.panel.x - scaleColumn - 2*pad, l.frame.y + l.frame.h})
		}
		l.rules = append(l.rules, [4]float64{l.panel.x, l.panel.y, l.panel.x, l.panel.y + l.panel.h})
	}
	bottom := title.height(panelWidth)
	if low != nil {
		bottom += stackHeight(w, low...) + pad
	}
	room := l.panel.h - pad - bottom - blockGap - stackHeight(w, append([]block{c.summary}, tops...)...)
	if room < 0 || devices && w < table.least() {
		return l, false
	}
	found, n := c.withFindings(w, room-blockGap, devices)
	l.findings = n
	l.stack(x, l.panel.y+pad, w, append([]block{c.summary, found}, tops...)...)
	l.stack(x, l.panel.y+l.panel.h-bottom, w, low...)
	l.corner(title, panelWidth)
	return l, true
}

// foot takes the lower h millimetres of the frame for the panel; false where
// that leaves too little for a map.
func (l *layout) foot(h float64) bool {
	l.panel = box{l.frame.x, l.frame.y + l.frame.h - h, l.frame.w, h}
	l.picture = box{l.frame.x, l.frame.y, l.frame.w, l.frame.h - h}
	return l.picture.h >= 0.36*l.frame.h
}

// columns puts the panel below the map, as high as its tallest column: the
// schedule where there is one, summary and legend, notes and title block. A
// longer list of findings may make it higher, up to the share most of the frame.
func (c contents) columns(f Format, landscape, devices bool, most float64) (layout, bool) {
	l := newLayout(f, landscape)
	l.devices = devices
	right := 96.0
	if f == A3 {
		right = 118
	}
	title := c.title(right)
	rw := right - 2*pad
	rest := l.frame.w - right
	legend := c.legend
	legend.columns = 1
	type column struct {
		w    float64
		top  []block
		room float64
	}
	var cols []column
	var corner []block // in the right column
	if devices {
		table := c.devices
		table.to = len(table.rows)
		dw := 0.52 * rest
		kw := rest - dw - 3*pad
		if dw < table.least() || kw < legendColumn {
			return l, false
		}
		legend.columns = max(1, int((kw+columnGap)/(legendColumn+columnGap)))
		cols = []column{{dw, []block{table}, 0}, {kw, []block{c.summary, legend}, 0}}
		corner = []block{c.scale, c.notes}
	} else {
		w := (rest - 3*pad) / 2
		if w < legendColumn {
			return l, false
		}
		legend.columns = max(1, int((w+columnGap)/(legendColumn+columnGap)))
		cols = []column{{w, []block{c.summary, c.scale}, 0}, {w, []block{legend}, 0}}
		corner = []block{c.notes}
	}
	h := pad + stackHeight(rw, corner...) + pad + title.height(right)
	for _, col := range cols {
		h = math.Max(h, stackHeight(col.w, col.top...)+2*pad)
	}
	// Findings stand under the summary, in the room there is and a little more.
	sum := len(cols) - 1
	if !devices {
		sum = 0
	}
	sw := cols[sum].w
	spare := math.Max(h, most*l.frame.h) - 2*pad - stackHeight(sw, cols[sum].top...) - blockGap
	found, n := c.withFindings(sw, spare, devices)
	l.findings = n
	cols[sum].top = append([]block{c.summary, found}, cols[sum].top[1:]...)
	h = math.Max(h, stackHeight(sw, cols[sum].top...)+2*pad)
	if !l.foot(h) {
		return l, false
	}
	x := l.panel.x + pad
	for _, col := range cols {
		l.stack(x, l.panel.y+pad, col.w, col.top...)
		x += col.w + pad
	}
	edge := l.panel.x + rest
	l.stack(edge+pad, l.panel.y+pad, rw, corner...)
	l.corner(title, right)
	l.rules = append(l.rules, [4]float64{edge, l.panel.y, edge, l.panel.y + h})
	return l, true
}

// tiers puts the panel below the map in rows that run the whole width: the
// schedule; summary and scale; the legend; notes and title block. A longer list
// of findings may make it higher, up to the share most of the frame.
func (c contents) tiers(f Format, landscape, devices bool, most float64) (layout, bool) {
	l := newLayout(f, landscape)
	l.devices = devices
	w := l.frame.w - 2*pad
	x := l.frame.x + pad
	half := (w - 2*pad) / 2
	tw := math.Max(96, l.frame.w*0.45)
	title := c.title(tw)
	nw := l.frame.w - tw - 2*pad
	last := math.Max(title.height(tw), 2*pad+c.notes.height(nw))
	legend := c.legend
	legend.columns = max(1, int((w+columnGap)/(legendColumn+columnGap)))
	var first []block
	if devices {
		table := c.devices
		table.to = len(table.rows)
		if w < table.least() {
			return l, false
		}
		first = []block{table}
	}
	middle := math.Max(c.summary.height(half), c.scale.height(half))
	h := pad + stackHeight(w, append(append([]block{}, first...), legend)...) + blockGap + middle + blockGap + last
	spare := middle - c.summary.height(half) - blockGap + math.Max(0, most*l.frame.h-h)
	found, n := c.withFindings(half, spare, devices)
	l.findings = n
	if more := stackHeight(half, c.summary, found) - middle; more > 0 {
		h, middle = h+more, middle+more
	}
	if !l.foot(h) {
		return l, false
	}
	y := l.panel.y + pad
	if devices {
		y = l.stack(x, y, w, first...) + blockGap
	}
	l.stack(x, y, half, c.summary, found)
	l.stack(x+half+2*pad, y, half, c.scale)
	y += middle + blockGap
	if legend.height(w) > 0 {
		y = l.stack(x, y, w, legend) + blockGap
	}
	l.rules = append(l.rules, [4]float64{l.frame.x, y, l.frame.x + l.frame.w, y},
		[4]float64{l.frame.x + l.frame.w - tw, y, l.frame.x + l.frame.w - tw, y + last})
	l.stack(x, y+pad, nw, c.notes)
	l.corner(title, tw)
	return l, true
}

// needs returns the scale that shows ground on the map of l, margins left free,
// as the number after "1:".
func (l layout) needs(ground orb.Bound) float64 {
	w, h := l.picture.w-2*mapMargin, l.picture.h-2*mapMargin
	if w <= 0 || h <= 0 {
		return math.Inf(1)
	}
	return 1000 * math.Max((ground.Max[0]-ground.Min[0])/w, (ground.Max[1]-ground.Min[1])/h)
}
