package paint

import (
	"encoding/base64"
	"fmt"
	"image/color"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"pleach/assets/fonts"
	"pleach/ui/drawing"
)

// SVG is a canvas that writes a drawing as Scalable Vector Graphics 1.1, one
// unit a pixel. Letters are outlines, so that the drawing looks the same
// wherever it is opened; each text is kept beside them as its label. The same
// calls give the same bytes.
type SVG struct {
	width, height float64
	defs, body    strings.Builder
	known         map[string]bool // ids in defs
	fonts         [2]*sfnt.Font
	buf           sfnt.Buffer
}

// NewSVG makes an empty drawing of the given size in units.
func NewSVG(width, height float64) *SVG {
	return &SVG{width: width, height: height, known: map[string]bool{}}
}

// Bytes returns the drawing as a file; title is told by viewers.
func (s *SVG) Bytes(title string) []byte {
	w, h := svgNumber(s.width), svgNumber(s.height)
	return []byte(`<?xml version="1.0" encoding="UTF-8"?>` + "\n" +
		`<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" version="1.1" width="` + w + `" height="` + h + `" viewBox="0 0 ` + w + ` ` + h + `">` + "\n" +
		"<title>" + svgText(title) + "</title>\n<defs>\n" + s.defs.String() + "</defs>\n" + s.body.String() + "</svg>\n")
}

// Within clips what draw draws to a box, whose upper left corner is 0, 0 for it.
func (s *SVG) Within(x, y, width, height float64, draw func()) {
	fmt.Fprintf(&s.body, `<svg x="%s" y="%s" width="%s" height="%s" overflow="hidden">`+"\n", svgNumber(x), svgNumber(y), svgNumber(width), svgNumber(height))
	draw()
	s.body.WriteString("</svg>\n")
}

// JPEG lays a picture in a box.
func (s *SVG) JPEG(data []byte, x, y, width, height float64) {
	fmt.Fprintf(&s.body, `<image x="%s" y="%s" width="%s" height="%s" preserveAspectRatio="none" xlink:href="data:image/jpeg;base64,%s"/>`+"\n",
		svgNumber(x), svgNumber(y), svgNumber(width), svgNumber(height), base64.StdEncoding.EncodeToString(data))
}

// Fill is part of drawing.Canvas.
func (s *SVG) Fill(rings []orb.Ring, c color.NRGBA) {
	if c.A != 0 {
		s.path(rings, svgPaint("fill", c))
	}
}

func (s *SVG) path(rings []orb.Ring, attributes string) {
	s.body.WriteString(`<path d="`)
	for _, r := range rings {
		s.points(r, true)
	}
	s.body.WriteString(`" ` + attributes + "/>\n")
}

func (s *SVG) points(ps []orb.Point, closed bool) {
	for i, p := range ps {
		sign := "L"
		if i == 0 {
			sign = "M"
		}
		s.body.WriteString(sign + svgNumber(p[0]) + " " + svgNumber(p[1]))
	}
	if closed {
		s.body.WriteString("Z")
	}
}

// Hatch is part of drawing.Canvas.
func (s *SVG) Hatch(rings []orb.Ring, h drawing.Hatch, origin orb.Point) {
	turn := -45 // y runs down: lines that rise to the right
	if h.Falling {
		turn = 45
	}
	d := svgNumber(h.Spacing)
	s.pattern(rings, fmt.Sprintf(`width="%s" height="%s" patternTransform="translate(%s %s) rotate(%d)"`, d, d, svgNumber(math.Mod(origin[0], h.Spacing*math.Sqrt2)), svgNumber(math.Mod(origin[1], h.Spacing*math.Sqrt2)), turn),
		fmt.Sprintf(`<rect x="0" y="%s" width="%s" height="%s" %s/>`, svgNumber((h.Spacing-h.Width)/2), d, svgNumber(h.Width), svgPaint("fill", h.Colour)), h.Colour)
}

// Dots is part of drawing.Canvas.
func (s *SVG) Dots(rings []orb.Ring, d drawing.Dots, origin orb.Point) {
	size := svgNumber(d.Spacing)
	var dots strings.Builder
	for _, at := range [][2]float64{{0.5, 0.5}, {0, 0}, {1, 0}, {0, 1}, {1, 1}} {
		fmt.Fprintf(&dots, `<circle cx="%s" cy="%s" r="%s" %s/>`, svgNumber(at[0]*d.Spacing), svgNumber(at[1]*d.Spacing), svgNumber(d.Diameter/2), svgPaint("fill", d.Colour))
	}
	s.pattern(rings, fmt.Sprintf(`width="%s" height="%s" patternTransform="translate(%s %s)"`, size, size, svgNumber(math.Mod(origin[0], d.Spacing)), svgNumber(math.Mod(origin[1], d.Spacing))), dots.String(), d.Colour)
}

// pattern fills rings with a pattern that is defined once.
func (s *SVG) pattern(rings []orb.Ring, frame, tile string, c color.NRGBA) {
	if c.A == 0 {
		return
	}
	id := ""
	for n := 1; ; n++ {
		id = "p" + strconv.Itoa(n)
		if !s.known[id] {
			break
		}
		if s.known[id+frame+tile] {
			break
		}
	}
	if !s.known[id] {
		s.known[id], s.known[id+frame+tile] = true, true
		s.defs.WriteString(`<pattern id="` + id + `" patternUnits="userSpaceOnUse" ` + frame + `>` + tile + "</pattern>\n")
	}
	s.path(rings, `fill="url(#`+id+`)"`)
}

// Stroke is part of drawing.Canvas.
func (s *SVG) Stroke(path []orb.Point, p drawing.Pen) {
	if len(path) < 2 || p.Colour.A == 0 || !(p.Width > 0) {
		return
	}
	s.body.WriteString(`<path d="`)
	closed := len(path) > 2 && path[0] == path[len(path)-1]
	if closed {
		path = path[:len(path)-1]
	}
	s.points(path, closed)
	s.body.WriteString(`" fill="none" ` + svgPaint("stroke", p.Colour) + ` stroke-width="` + svgNumber(p.Width) + `" stroke-linejoin="round"`)
	if p.Cap == drawing.Round {
		s.body.WriteString(` stroke-linecap="round"`)
	}
	if len(p.Dash) > 0 {
		var d []string
		for _, v := range p.Dash {
			d = append(d, svgNumber(v))
		}
		s.body.WriteString(` stroke-dasharray="` + strings.Join(d, " ") + `"`)
	}
	s.body.WriteString("/>\n")
}

// Text is part of drawing.Canvas.
func (s *SVG) Text(at orb.Point, text string, f drawing.Font, c color.NRGBA) {
	if text == "" || c.A == 0 {
		return
	}
	fmt.Fprintf(&s.body, `<g transform="translate(%s %s) scale(%s)" %s aria-label="%s">`, svgNumber(at[0]), svgNumber(at[1]), strconv.FormatFloat(f.Size/1000, 'f', -1, 64), svgPaint("fill", c), svgText(text))
	x := 0.0
	for _, r := range text {
		if id := s.glyph(r, f.Medium); id != "" {
			fmt.Fprintf(&s.body, `<use xlink:href="#%s" x="%s"/>`, id, svgNumber(x))
		}
		x += fonts.Advance(f.Medium, string(r)) * 1000
	}
	s.body.WriteString("</g>\n")
}

// glyph defines the outline of a letter in thousandths of an em, once, and
// returns its id; "" for one without an outline.
func (s *SVG) glyph(r rune, medium bool) string {
	weight, ttf := 0, fonts.Regular
	if medium {
		weight, ttf = 1, fonts.Medium
	}
	if s.fonts[weight] == nil {
		f, err := sfnt.Parse(ttf())
		if err != nil {
			panic("paint: an embedded typeface cannot be read: " + err.Error())
		}
		s.fonts[weight] = f
	}
	g, err := s.fonts[weight].GlyphIndex(&s.buf, r)
	if err != nil {
		return ""
	}
	id := fmt.Sprintf("g%d-%d", weight, g)
	if s.known[id] {
		return id
	}
	segments, err := s.fonts[weight].LoadGlyph(&s.buf, g, fixed.I(1000), nil)
	if err != nil || len(segments) == 0 {
		return ""
	}
	s.known[id] = true
	s.defs.WriteString(`<path id="` + id + `" d="`)
	for i, seg := range segments {
		n, sign := 1, "L"
		switch seg.Op {
		case sfnt.SegmentOpMoveTo:
			sign = "M"
			if i > 0 {
				sign = "ZM"
			}
		case sfnt.SegmentOpQuadTo:
			n, sign = 2, "Q"
		case sfnt.SegmentOpCubeTo:
			n, sign = 3, "C"
		}
		for k := range n {
			s.defs.WriteString(sign + svgNumber(float64(seg.Args[k].X)/64) + " " + svgNumber(float64(seg.Args[k].Y)/64))
			sign = " "
		}
	}
	s.defs.WriteString("Z\"/>\n")
	return id
}

// svgNumber spells a length to a hundredth, held within what is far beyond any
// drawing.
func svgNumber(v float64) string {
	return strconv.FormatFloat(math.Round(within(v)*100)/100+0, 'f', -1, 64)
}

func svgPaint(what string, c color.NRGBA) string {
	out := fmt.Sprintf(`%s="#%02x%02x%02x"`, what, c.R, c.G, c.B)
	if c.A < 255 {
		out += fmt.Sprintf(` %s-opacity="%s"`, what, strconv.FormatFloat(math.Round(float64(c.A)/255*1000)/1000, 'f', -1, 64))
	}
	return out
}

// svgText is a text within XML: what XML does not have becomes U+FFFD.
func svgText(t string) string {
	t = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0xfffe || r == 0xffff {
			return '\ufffd'
		}
		return r
	}, t)
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;").Replace(t)
}
