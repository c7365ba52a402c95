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
	declination   float64
	declinationOn string
	drawn         *Bar // filled in by draw
}

const (
	barHeight  = 1.6
	northWidth = 22.0
	scaleTall  = 24.0
)

func (s scaleBlock) height(w float64) float64 {
	return math.Max(scaleTall, headRow+barHeight+5+bodyRow*float64(len(s.words(w))))
}

func (s scaleBlock) bar(w float64) (step float64, n int, length float64) {
	step, n = divide(s.ratio, math.Min(w-northWidth-10, 100))
	return step, n, step * float64(n) / float64(s.ratio) * 1000
}

func (s scaleBlock) words(w float64) []string {
	_, _, length := s.bar(w)
	text := fmt.Sprintf("1 mm on the sheet is %s on the ground. Print on %s at 100 %%; the bar is then %s mm long.",
		metres(float64(s.ratio)/1000), s.format, figure(length, 1))
	return wrap(text, w-northWidth-4, sizeBody, false, 0)
}

func (s scaleBlock) draw(d *document, x, y, w float64) {
	d.left(x, y, headRow-1, "Scale "+ratioText(s.ratio), s.head, s.ink)
	step, n, length := s.bar(w)
	top := y + headRow + 0.4
	*s.drawn = Bar{X: x, Y: top, Length: length, Metres: step * float64(n)}
	part := length / float64(n)
	for i := 0; i < n; i++ {
		at := x + part*float64(i)
		c := s.paper
		if i%2 == 0 {
			c = s.ink
		}
		d.fill([]orb.Ring{rect(at, top, part, barHeight)}, c)
	}
	// The outline lies inside the bar's length.
	d.stroke(rect(x+0.1, top+0.1, length-0.2, barHeight-0.2), drawing.Pen{Width: 0.2, Colour: s.ink})
	for i := 0; i <= n; i++ {
		at := x + part*float64(i)
		label := figure(step*float64(i), 1)
		switch i {
		case 0:
			d.left(at, top+barHeight+0.6, bodyRow, label, s.body, s.ink)
		case n:
			// The figure stands under its mark; the unit hangs out.
			half := width(label, s.body.Size, false) / 2
			d.left(at-half, top+barHeight+0.6, bodyRow, label+" m", s.body, s.ink)
		default:
			d.centre(at, top+barHeight+0.6, bodyRow, label, s.body, s.ink)
		}
	}
	at := top + barHeight + 0.6 + bodyRow + 1
	for _, l := range s.words(w) {
		d.left(x, at, bodyRow, l, s.body, s.soft)
		at += bodyRow
	}
	s.north(d, x+w-northWidth/2, y)
}

// north draws true north, and magnetic north where a declination is stated.
func (s scaleBlock) north(d *document, x, y float64) {
	const tall = 15.0
	foot := y + 4.6 + tall
	d.centre(x, y-0.4, 4, "N", s.head, s.ink)
	tip := orb.Point{x, y + 4.6}
	// A slender arrow, its western half filled.
	d.fill([]orb.Ring{{tip, {x - 2.1, y + 4.6 + 7}, {x, y + 4.6 + 5.4}, tip}}, s.ink)
	d.stroke(orb.Ring{tip, {x - 2.1, y + 4.6 + 7}, {x, y + 4.6 + 5.4}, {x + 2.1, y + 4.6 + 7}, tip}, drawing.Pen{Width: 0.25, Colour: s.ink})
	d.line(x, tip[1]+5.4, x, foot, 0.25, s.ink)
	if s.declination == 0 {
		d.centre(x, foot+0.4, bodyRow, "true north", s.body, s.soft)
		return
	}
	label := ""
	if s.declination != 0 {
		sin, cos := math.Sincos(s.declination * math.Pi / 180)
		far := orb.Point{x + sin*(tall-1), foot - cos*(tall-1)}
		pen := drawing.Pen{Width: 0.25, Colour: s.ink, Dash: []float64{1.2, 0.6}}
		d.stroke([]orb.Point{{x, foot}, far}, pen)
		// One barb, on the side it departs to.
		side := math.Copysign(1, s.declination)
		a := (s.declination + side*155) * math.Pi / 180
		bs, bc := math.Sincos(a)
		d.stroke([]orb.Point{far, {far[0] + bs*2.6, far[1] - bc*2.6}}, drawing.Pen{Width: 0.25, Colour: s.ink})
		dir := "E"
		if s.declination < 0 {
			dir = "W"
		}
		label = "magnetic " + figure(math.Abs(s.declination), 1) + "° " + dir
	}
	d.right(x+northWidth/2, foot+0.4, bodyRow, label, s.body, s.soft)
	if s.declination != 0 && s.declinationOn != "" {
		d.right(x+northWidth/2, foot+bodyRow, bodyRow, "on "+clean(s.declinationOn), s.body, s.soft)
	}
}
