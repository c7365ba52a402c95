package paper

import (
	"image/color"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"pleach/assets/fonts"
	"pleach/ui/drawing"
)

// look is the inks and type of the panel, of the same table as the map's.
type look struct {
	ink, soft, pale, paper color.NRGBA
	head, body, strong     drawing.Font
	small, smallStrong     drawing.Font // schedules only
}

func newLook(t *drawing.Theme) look {
	return look{
		ink: t.Ink, paper: t.Paper,
		soft: t.Style(drawing.FeatureName).Ink,
		pale: between(t.Ink, t.Paper, 0.72),
		head: drawing.Font{Size: sizeHead, Medium: true},
		body: drawing.Font{Size: sizeBody}, strong: drawing.Font{Size: sizeBody, Medium: true},
		small: drawing.Font{Size: sizeSchedule}, smallStrong: drawing.Font{Size: sizeSchedule, Medium: true},
	}
}

func between(a, b color.NRGBA, t float64) color.NRGBA {
	m := func(x, y uint8) uint8 { return uint8(math.Round(float64(x)*(1-t) + float64(y)*t)) }
	return color.NRGBA{m(a.R, b.R), m(a.G, b.G), m(a.B, b.B), 255}
}

// Pens of the sheet in millimetres.
const (
	framePen = 0.35
	rulePen  = 0.18
)

func (d *document) line(x0, y0, x1, y1, width float64, c color.NRGBA) {
	d.stroke([]orb.Point{{x0, y0}, {x1, y1}}, drawing.Pen{Width: width, Colour: c})
}

// left writes s with its left end at x, its capitals centred in a line whose
// upper edge is at y and whose height is h.
func (d *document) left(x, y, h float64, s string, f drawing.Font, c color.NRGBA) {
	d.text(orb.Point{x, y + (h+f.Size*fonts.CapHeight)/2}, s, f, c)
}

func (d *document) right(x, y, h float64, s string, f drawing.Font, c color.NRGBA) {
	d.left(x-width(s, f.Size, f.Medium), y, h, s, f, c)
}

func (d *document) centre(x, y, h float64, s string, f drawing.Font, c color.NRGBA) {
	d.left(x-width(s, f.Size, f.Medium)/2, y, h, s, f, c)
}

// figure writes v with at most the given decimals and no idle zeros, with a
// true minus.
func figure(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	return strings.Replace(s, "-", "−", 1)
}

// metres writes a length as an engineer says it: 412 m, 14.2 m, 0.6 m.
func metres(v float64) string {
	if math.Abs(v) < 19.95 {
		return unit(v, 1, "m")
	}
	return unit(v, 0, "m")
}

// unit writes a figure with its unit, which stay on one line.
func unit(v float64, decimals int, u string) string {
	return figure(v, decimals) + string(hardSpace) + u
}

// disc is a filled circle's outline.
func disc(x, y, r float64) []orb.Ring {
	const n = 24
	out := make(orb.Ring, 0, n+1)
	for i := 0; i < n; i++ {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		out = append(out, orb.Point{x + r*cos, y + r*sin})
	}
	return []orb.Ring{append(out, out[0])}
}
