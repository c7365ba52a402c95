package paper

import (
	"fmt"
	"math"

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
	devices   int          // rows of the schedule on this sheet
	faults    int          // faults listed on this sheet
}

// margin is the white border of the sheet: chosen; printers reach to about
// 5 mm, and ISO 5457 has 10 mm on three sides.
const margin = 10.0

// mapMargin is kept free between what is drawn and the edge of the map, for
// labels and ticks.
const mapMargin = 9.0

// Limits of the schedule on the first sheet: a stump of fewer rows than
// leastRows would be read as the whole.
const leastRows = 6

// contents is everything the panel of the first sheet may hold.
type contents struct {
	look
	title   func(w float64) titleBlock
	scale   scaleBlock
	summary summary
	faults  faultList
	legend  legend
	devices schedule
	notes   []prose
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
	widths := []float64{138, 118, 100}
	if f == A4 {
		widths = []float64{112, 96, 84}
	}
	for _, landscape := range []bool{true, false} {
		for _, w := range widths {
			add(c.side(f, landscape, w, true))
			add(c.side(f, landscape, w, false))
		}
		add(c.foot(f, landscape, true))
		add(c.foot(f, landscape, false))
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
	for i, b := range blocks {
		h := b.height(w)
		if h == 0 {
			continue
		}
		if i > 0 && y > 0 {
			l.blocks = append(l.blocks, placed{b, x, y, w})
			y += h + blockGap
			continue
		}
		l.blocks = append(l.blocks, placed{b, x, y, w})
		y += h + blockGap
	}
	return y - blockGap
}

func (c contents) noteBlocks() []block {
	var out []block
	for _, n := range c.notes {
		out = append(out, n)
	}
	return out
}

// withFaults returns the list of faults cut to what fits in h, and how many
// those are.
func (c contents) withFaults(w, h float64) (faultList, int) {
	f := c.faults
	f.from = 0
	n := len(f.faults)
	for k := n; k > 0; k-- {
		f.to, f.more = k, ""
		if k < n {
			f.more = fmt.Sprintf("%d more on the next sheet", n-k)
		}
		if f.height(w) <= h+1e-9 {
			return f, k
		}
	}
	f.to, f.more, f.heading = 0, "", ""
	return f, 0
}

// withDevices returns the schedule cut to what fits in h, and how many rows
// those are.
func (c contents) withDevices(w, h float64) (schedule, int) {
	s := c.devices
	if len(s.rows) == 0 {
		return s, 0
	}
	n := s.fits(w, h)
	if n < len(s.rows) {
		if n < leastRows {
			return s, 0
		}
		s.more = fmt.Sprintf("%d more on the next sheet", len(s.rows)-n)
	}
	s.to = n
	return s, n
}

// side puts the panel beside the map, panelWidth wide.
func (c contents) side(f Format, landscape bool, panelWidth float64, devices bool) (layout, bool) {
	l := newLayout(f, landscape)
	if devices && len(c.devices.rows) == 0 {
		return l, false
	}
	l.picture = box{l.frame.x, l.frame.y, l.frame.w - panelWidth, l.frame.h}
	l.panel = box{l.frame.x + l.picture.w, l.frame.y, panelWidth, l.frame.h}
	w, x := panelWidth-2*pad, l.panel.x+pad
	title := c.title(panelWidth)
	c.legend.columns = 1
	if w > 95 {
		c.legend.columns = 2
	}

	foot := stackHeight(w, append([]block{c.scale}, c.noteBlocks()...)...)
	below := foot + pad + title.height(panelWidth)
	room := l.panel.h - below - 2*pad - blockGap
	head := stackHeight(w, c.summary, c.legend)
	if head > room {
		return l, false
	}
	room -= head
	tops := []block{c.summary}
	var table schedule
	if devices {
		// Faults first, as many as leave room for the schedule.
		want := c.devices
		want.to = len(want.rows)
		keep := math.Min(want.height(w), room*0.7) + blockGap
		fl, n := c.withFaults(w, room-keep)
		if n > 0 {
			tops, l.faults = append(tops, fl), n
			room -= fl.height(w) + blockGap
		}
		table, l.devices = c.withDevices(w, room-blockGap)
		if l.devices == 0 {
			return l, false
		}
	} else if fl, n := c.withFaults(w, room-blockGap); n > 0 {
		tops, l.faults = append(tops, fl), n
	}
	if l.devices > 0 {
		tops = append(tops, table)
	}
	tops = append(tops, c.legend)
	l.stack(x, l.panel.y+pad, w, tops...)
	at := l.panel.y + l.panel.h - below
	l.stack(x, at, w, append([]block{c.scale}, c.noteBlocks()...)...)
	th := title.height(panelWidth)
	l.blocks = append(l.blocks, placed{title, l.panel.x, l.panel.y + l.panel.h - th, panelWidth})
	return l, true
}

// foot puts the panel below the map, as high as it needs to be.
func (c contents) foot(f Format, landscape, devices bool) (layout, bool) {
	l := newLayout(f, landscape)
	if devices && len(c.devices.rows) == 0 {
		return l, false
	}
	// The right column: scale, notes and title block.
	rw := 96.0
	if f == A3 {
		rw = 118
	}
	title := c.title(rw)
	rightBlocks := append([]block{c.scale}, c.noteBlocks()...)
	rh := 2*pad + stackHeight(rw-2*pad, rightBlocks...) + title.height(rw)

	lw := l.frame.w - rw
	most := l.frame.h * 0.55
	type part struct {
		x, y, w float64
		blocks  []block
	}
	var parts []part
	height := rh
	cell := func(x, y, w float64, blocks ...block) {
		parts = append(parts, part{x, y, w, blocks})
		height = math.Max(height, y+stackHeight(w, blocks...)+pad)
	}
	faultsIn := func(w, h float64) block {
		fl, n := c.withFaults(w, h)
		l.faults = n
		return fl
	}
	switch {
	case lw >= 250: // schedule | summary over legend
		dw := 0.0
		if devices {
			dw = 150
			t, n := c.withDevices(dw-pad, most-2*pad)
			if n == 0 {
				return l, false
			}
			l.devices = n
			cell(pad, pad, dw-pad, t)
		}
		x, w := dw+pad, lw-dw-2*pad
		c.legend.columns = 2
		if !devices {
			// summary | legend
			half := w*0.5 - pad/2
			cell(x, pad, half, c.summary, faultsIn(half, most-2*pad-c.summary.height(half)-blockGap))
			cell(x+half+pad, pad, half, c.legend)
		} else {
			rest := most - 2*pad - stackHeight(w, c.summary, c.legend) - blockGap
			cell(x, pad, w, c.summary, faultsIn(w, rest), c.legend)
		}
	default:
		return c.tiers(l, devices)
	}
	if height > l.frame.h*0.62 {
		return l, false
	}
	l.panel = box{l.frame.x, l.frame.y + l.frame.h - height, l.frame.w, height}
	l.picture = box{l.frame.x, l.frame.y, l.frame.w, l.frame.h - height}
	top := l.panel.y
	for _, p := range parts {
		l.stack(l.panel.x+p.x, top+p.y, p.w, p.blocks...)
	}
	right := l.panel.x + lw
	th := title.height(rw)
	l.stack(right+pad, top+height-th-pad-stackHeight(rw-2*pad, rightBlocks...), rw-2*pad, rightBlocks...)
	l.blocks = append(l.blocks, placed{title, right, top + height - th, rw})
	l.rules = append(l.rules, [4]float64{right, top, right, top + height})
	return l, true
}

// tiers puts the panel below the map in rows that run the whole width: the
// schedule; summary and scale; the legend; notes and title block.
func (c contents) tiers(l layout, devices bool) (layout, bool) {
	w := l.frame.w - 2*pad
	x := l.frame.x + pad
	half := (w - 2*pad) / 2
	most := l.frame.h * 0.6
	rw := math.Max(96, l.frame.w*0.45)
	title := c.title(rw)
	notes := c.noteBlocks()
	noteWidth := l.frame.w - rw - 2*pad
	last := math.Max(title.height(rw), 2*pad+stackHeight(noteWidth, notes...))
	c.legend.columns = int(w / 58)
	legendHeight := c.legend.height(w)
	middle := math.Max(c.summary.height(half), c.scale.height(half))
	height := pad + middle + blockGap + last
	if legendHeight > 0 {
		height += legendHeight + blockGap
	}
	if height > most {
		return l, false
	}
	table := c.devices
	if devices {
		table, l.devices = c.withDevices(w, most-height-blockGap)
		if l.devices == 0 {
			return l, false
		}
		height += table.height(w) + blockGap
	}
	// Faults stand under the summary, in the room the scale leaves and more.
	spare := middle - c.summary.height(half) - blockGap
	fl, n := c.withFaults(half, spare+most-height)
	if n > 0 {
		l.faults = n
		if more := fl.height(half) - spare; more > 0 {
			height, middle = height+more, middle+more
		}
	}
	y := l.frame.y + l.frame.h - height
	l.panel = box{l.frame.x, y, l.frame.w, height}
	l.picture = box{l.frame.x, l.frame.y, l.frame.w, l.frame.h - height}
	y += pad
	if l.devices > 0 {
		y = l.stack(x, y, w, table) + blockGap
	}
	if n > 0 {
		l.stack(x, y, half, c.summary, fl)
	} else {
		l.stack(x, y, half, c.summary)
	}
	l.stack(x+half+2*pad, y, half, c.scale)
	y += middle + blockGap
	if legendHeight > 0 {
		y = l.stack(x, y, w, c.legend) + blockGap
	}
	l.rules = append(l.rules, [4]float64{l.frame.x, y, l.frame.x + l.frame.w, y})
	l.stack(x, y+pad, noteWidth, notes...)
	l.rules = append(l.rules, [4]float64{l.frame.x + l.frame.w - rw, y, l.frame.x + l.frame.w - rw, y + last})
	l.blocks = append(l.blocks, placed{title, l.frame.x + l.frame.w - rw, y + last - title.height(rw), rw})
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
