package paper

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"pleach/ui/drawing"
)

// Bar is the scale bar as it was drawn.
type Bar struct {
	X, Y   float64 // left end and upper edge, millimetres on the sheet
	Length float64 // millimetres
	Metres float64 // what it stands for
}

// niceStep are the lengths a division of the bar may have, in metres, times
// powers of ten.
var niceStep = []float64{1, 2, 2.5, 5}

// divide returns the length of a division in metres and the number of
// divisions of the longest bar of at most room millimetres.
func divide(ratio int, room float64) (step float64, n int) {
	best := 0.0
	for p := 0.1; p < 1e6; p *= 10 {
		for _, m := range niceStep {
			for _, k := range []int{5, 4} {
				if l := m * p * float64(k) / float64(ratio) * 1000; l <= room && l > best+1e-9 {
					best, step, n = l, m*p, k
				}
			}
		}
	}
	return step, n
}

// scaleBlock is the scale bar, the scale in words and the north arrows.
type scaleBlock struct {
	look
	ratio         int
	format        Format
	placed        bool      // there is a place to name
	middle        orb.Point // of the map, longitude and latitude
	declination   float64
	declinationOn string
	national      string // the middle in the national grid, "" for none
	drawn         *Bar   // filled in by draw
}

const (
	barHeight  = 1.6
	northWidth = 22.0
	scaleTall  = 20.8
)

func (s scaleBlock) height(w float64) float64 {
	tall := scaleTall
	if s.declination != 0 && s.declinationOn != "" {
		tall += bodyRow
	}
	// As tall as it may come to be: the scale is settled last.
	s.ratio = 12500
	return math.Max(tall, headRow+barHeight+1.6+bodyRow*float64(1+len(s.say(w, 62.5))))
}

// barRoom is the room for the bar in a block w wide.
func barRoom(w float64) float64 { return math.Min(w-northWidth-10, 100) }

func (s scaleBlock) words(w float64) []string {
	step, n := divide(s.ratio, barRoom(w))
	return s.say(w, step*float64(n)/float64(s.ratio)*1000)
}

func (s scaleBlock) say(w, length float64) []string {
	text := fmt.Sprintf("1\u00a0mm is %s. Print on %s at 100\u00a0%%: the bar is %s long.",
		unit(float64(s.ratio)/1000, 3, "m"), s.format, unit(length, 1, "mm"))
	if s.placed {
		text += fmt.Sprintf(" Middle of the map: %s, %s (WGS\u00a084)", degrees(s.middle[1], "N", "S"), degrees(s.middle[0], "E", "W"))
		if s.national != "" {
			text += "; " + s.national
		}
		text += "."
	}
	return wrap(text, w-northWidth-4, sizeBody, false, 0)
}

// degrees writes a latitude or longitude to about a metre.
func degrees(v float64, above, below string) string {
	if v < 0 {
		above = below
	}
	return fmt.Sprintf("%.5f°\u00a0%s", math.Abs(v), above)
}

// drawBar draws the longest bar of at most room millimetres for 1:ratio, its figures
// under it.
func (l look) drawBar(d *document, x, top float64, ratio int, room float64) Bar {
	step, n := divide(ratio, room)
	length := step * float64(n) / float64(ratio) * 1000
	part := length / float64(n)
	for i := 0; i < n; i++ {
		at := x + part*float64(i)
		c := l.paper
		if i%2 == 0 {
			c = l.ink
		}
		d.fill([]orb.Ring{rect(at, top, part, barHeight)}, c)
	}
	// The outline lies inside the bar's length.
	d.stroke(rect(x+0.1, top+0.1, length-0.2, barHeight-0.2), drawing.Pen{Width: 0.2, Colour: l.ink})
	for i := 0; i <= n; i++ {
		at := x + part*float64(i)
		label := figure(step*float64(i), 1)
		switch i {
		case 0:
			d.left(at, top+barHeight+0.6, bodyRow, label, l.body, l.ink)
		case n:
			// The figure stands under its mark; the unit hangs out.
			half := width(label, l.body.Size, false) / 2
			d.left(at-half, top+barHeight+0.6, bodyRow, label+" m", l.body, l.ink)
		default:
			d.centre(at, top+barHeight+0.6, bodyRow, label, l.body, l.ink)
		}
	}
	return Bar{X: x, Y: top, Length: length, Metres: step * float64(n)}
}

func (s scaleBlock) draw(d *document, x, y, w float64) {
	d.left(x, y, headRow-1, "Scale "+ratioText(s.ratio), s.head, s.ink)
	top := y + headRow + 0.4
	*s.drawn = s.drawBar(d, x, top, s.ratio, barRoom(w))
	at := top + barHeight + 0.6 + bodyRow + 1
	for _, l := range s.words(w) {
		d.left(x, at, bodyRow, l, s.body, s.soft)
		at += bodyRow
	}
	s.north(d, x+w-northWidth/2, y)
}

// north draws true north, and magnetic north beside it where a declination is
// stated: at its true angle, which is often too small to show on one foot.
func (s scaleBlock) north(d *document, x, y float64) {
	const tall, head, barb = 12.5, 6.0, 1.8
	top := y + 4.2
	foot := top + tall
	magnetic := s.declination != 0
	tx := x
	if magnetic {
		tx = x - 4.5
	}
	d.centre(tx, y-0.6, 4, "N", s.head, s.ink)
	// A slender arrow, its western half filled.
	tip, notch := orb.Point{tx, top}, orb.Point{tx, top + head - 1.5}
	d.fill([]orb.Ring{{tip, {tx - barb, top + head}, notch, tip}}, s.ink)
	d.stroke(orb.Ring{tip, {tx - barb, top + head}, notch, {tx + barb, top + head}, tip}, drawing.Pen{Width: 0.25, Colour: s.ink})
	d.line(tx, notch[1], tx, foot, 0.25, s.ink)
	if !magnetic {
		d.centre(x, foot+0.3, bodyRow, "true north", s.body, s.soft)
		return
	}
	mx := x + 4.5
	d.centre(mx, y-0.6, 4, "M", s.head, s.ink)
	sin, cos := math.Sincos(s.declination * math.Pi / 180)
	middle := orb.Point{mx, top + tall/2}
	at := func(along, across float64) orb.Point {
		return orb.Point{middle[0] + along*sin + across*cos, middle[1] - along*cos + across*sin}
	}
	pen := drawing.Pen{Width: 0.25, Colour: s.ink}
	d.stroke([]orb.Point{at(-tall/2, 0), at(tall/2, 0)}, pen)
	// One barb, on the side it departs to.
	d.stroke([]orb.Point{at(tall/2, 0), at(tall/2-2.6, math.Copysign(1.3, s.declination))}, pen)
	dir := "E"
	if s.declination < 0 {
		dir = "W"
	}
	d.right(x+northWidth/2, foot+0.3, bodyRow, "magnetic "+figure(math.Abs(s.declination), 1)+"° "+dir, s.body, s.soft)
	if s.declinationOn != "" {
		d.right(x+northWidth/2, foot+0.3+bodyRow, bodyRow, "on "+clean(s.declinationOn), s.body, s.soft)
	}
}
