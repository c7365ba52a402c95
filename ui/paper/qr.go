package paper

import (
	"fmt"
	"image/color"
	"math"
	"strings"

	"github.com/paulmach/orb"
	"rsc.io/qr"
)

// geoURI is a longitude and latitude on WGS 84, in degrees, as a geo: address
// (RFC 5870), to a centimetre. How uncertain the place is it does not say: the
// plan does not know.
func geoURI(ll orb.Point) string {
	num := func(v float64) string {
		s := fmt.Sprintf("%.7f", v)
		if strings.Trim(s, "-0.") == "" {
			return "0" // no minus zero
		}
		return strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	lon := ll[0]
	if math.Abs(math.Abs(lon)-180) < 0.5e-7 {
		lon = 180 // RFC 5870, 3.4.2: never -180
	}
	return "geo:" + num(ll[1]) + "," + num(lon)
}

// Of a code in millimetres: a module is seven dots at 300 dots an inch, wide
// enough for an office printer and a copier; the quiet zone is that of ISO/IEC
// 18004. Its heading keeps out of that.
const (
	qrModule = 7 * 25.4 / 300
	qrQuiet  = 4 * qrModule
	qrHead   = headRow + 1
)

// squareCode is a QR code with its heading, in black whatever the inks are.
type squareCode struct {
	look
	heading string
	code    *qr.Code
}

// codeOf makes the code of a text. Level M holds where a seventh of it is worn.
func (s *sheet) codeOf(heading, text string) (squareCode, error) {
	c, err := qr.Encode(text, qr.M)
	if err != nil {
		return squareCode{}, fmt.Errorf("QR code of %q: %w", text, err)
	}
	return squareCode{s.look, heading, c}, nil
}

// side is the breadth of its squares, without the quiet zone.
func (c squareCode) side() float64 { return float64(c.code.Size) * qrModule }

func (c squareCode) height(float64) float64 { return qrHead + c.side() + qrQuiet }

// draw sets the squares against the left edge: the quiet zone lies around them.
func (c squareCode) draw(d *document, x, y, w float64) {
	d.left(x, y, headRow-1, c.heading, c.head, c.ink)
	y += qrHead
	var black []orb.Ring
	for row := range c.code.Size {
		for from := 0; from < c.code.Size; from++ {
			to := from
			for c.code.Black(to, row) {
				to++
			}
			if to > from {
				black = append(black, rect(x+float64(from)*qrModule, y+float64(row)*qrModule, float64(to-from)*qrModule, qrModule))
				from = to
			}
		}
	}
	d.fill(black, color.NRGBA{A: 255})
}

// coded is a block with a code to the right of it.
type coded struct {
	block
	code squareCode
}

func (b coded) room(w float64) float64 { return w - b.code.side() - qrQuiet - pad }

func (b coded) height(w float64) float64 {
	return math.Max(b.block.height(b.room(w)), b.code.height(w))
}

func (b coded) draw(d *document, x, y, w float64) {
	b.block.draw(d, x, y, b.room(w))
	b.code.draw(d, x+w-b.code.side(), y, b.code.side())
}
