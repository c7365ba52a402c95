package paper

import (
	"bytes"
	"fmt"
	"image/color"
	"io"
	"math"
	"slices"
	"strconv"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"

	"pleach/assets/fonts"
	"pleach/model/picture"
	"pleach/model/sitegrid"
	"pleach/ui/drawing"
)

// perMM is the number of PDF units (1/72 inch) in a millimetre.
const perMM = 72 / 25.4

// document writes one PDF in millimetres from the upper left corner of the
// page. It keeps track of the graphics state, so that nothing is said twice.
type document struct {
	pdf    *fpdf.Fpdf
	height float64
	state  graphics
	saved  []graphics
	maps   []registered
	grid   sitegrid.Grid // that of the maps

	pictures int // drawn anew
}

// graphics is the part of the PDF graphics state that is in force.
type graphics struct {
	stroke, fill color.NRGBA // opaque
	alpha        uint8
	known        bool // stroke, fill and alpha were set on this page
	width        float64
	dash         string
	cap          int
	font         drawing.Font
}

const (
	family      = "go"
	mediumStyle = "B"
)

// newDocument starts a document whose pages are w by h millimetres. stamp is
// the date its metadata bear.
func newDocument(w, h float64, stamp time.Time) *document {
	f := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: w, Ht: h}})
	f.SetCatalogSort(true)
	f.SetCreationDate(stamp)
	f.SetModificationDate(stamp)
	f.SetCompression(false) // of pages: write does it
	f.SetProducer("pleach", true)
	f.SetLang("en")
	f.SetMargins(0, 0, 0)
	f.SetCellMargin(0)
	f.SetAutoPageBreak(false, 0)
	f.AddUTF8FontFromBytes(family, "", fonts.Regular())
	f.AddUTF8FontFromBytes(family, mediumStyle, fonts.Medium())
	return &document{pdf: f, height: h}
}

// pageOf begins a page, w by h millimetres.
func (d *document) pageOf(w, h float64) {
	d.pdf.AddPageFormat("P", fpdf.SizeType{Wd: w, Ht: h})
	d.height = h
	d.state, d.saved = graphics{}, nil
	d.raw("1 j") // round joins
}

// mark sets a bookmark at the head of the page; level 1 stands below the last
// of level 0.
func (d *document) mark(text string, level int) {
	d.pdf.SetFont(family, "", sizeBody*perMM) // what marks are coded by
	d.pdf.Bookmark(clean(text), level, 0)
	d.state.font = drawing.Font{}
}

func (d *document) raw(s string) { d.pdf.RawWriteStr(s) }

func (d *document) save() {
	d.saved = append(d.saved, d.state)
	d.raw("q")
}

func (d *document) restore() {
	d.state = d.saved[len(d.saved)-1]
	d.state.font = drawing.Font{} // the writer does not go back to the font before: it is set anew
	d.saved = d.saved[:len(d.saved)-1]
	d.raw("Q")
}

// number writes v to a ten-thousandth, without idle zeros.
func number(b []byte, v float64) []byte { return rounded(b, v, 1e4) }

func rounded(b []byte, v, parts float64) []byte {
	v = math.Round(v*parts) / parts
	if v == 0 {
		v = 0 // no minus zero
	}
	return append(strconv.AppendFloat(b, v, 'f', -1, 64), ' ')
}

// xy writes a place to a hundredth of a PDF unit: 0.0035 mm.
func (d *document) xy(b []byte, p orb.Point) []byte {
	return rounded(rounded(b, p[0]*perMM, 100), (d.height-p[1])*perMM, 100)
}

// trace appends the path through pts, closed where first and last agree.
func (d *document) trace(b []byte, pts []orb.Point) []byte {
	pts = fewer(pts)
	n := len(pts)
	shut := n > 2 && pts[0] == pts[n-1]
	if shut {
		n--
	}
	for i, p := range pts[:n] {
		b = d.xy(b, p)
		if i == 0 {
			b = append(b, "m\n"...)
		} else {
			b = append(b, "l\n"...)
		}
	}
	if shut {
		b = append(b, "h\n"...)
	}
	return b
}

// finest is how far a path may run from its points, in millimetres: less than a
// dot at 1200 dots an inch.
const finest = 0.02

// fewer leaves out the points of a path that nobody could see are missing.
func fewer(pts []orb.Point) []orb.Point {
	if len(pts) < 8 {
		return pts
	}
	out := simplify.DouglasPeucker(finest).LineString(slices.Clone(orb.LineString(pts)))
	if pts[0] == pts[len(pts)-1] && len(out) < 4 {
		return pts
	}
	return out
}

func opaque(c color.NRGBA) color.NRGBA { c.A = 255; return c }

func (d *document) ready(fill, stroke *color.NRGBA) {
	c := fill
	if c == nil {
		c = stroke
	}
	if !d.state.known || d.state.alpha != c.A {
		d.pdf.SetAlpha(float64(c.A)/255, "Normal")
		d.state.alpha = c.A
	}
	if fill != nil && (!d.state.known || d.state.fill != opaque(*fill)) {
		d.state.fill = opaque(*fill)
		d.pdf.SetFillColor(int(fill.R), int(fill.G), int(fill.B))
	}
	if stroke != nil && (!d.state.known || d.state.stroke != opaque(*stroke)) {
		d.state.stroke = opaque(*stroke)
		d.pdf.SetDrawColor(int(stroke.R), int(stroke.G), int(stroke.B))
	}
	if !d.state.known {
		// The other colour of the two is still the page's black.
		d.state.known = true
		if fill == nil {
			d.pdf.SetFillColor(0, 0, 0)
			d.state.fill = color.NRGBA{A: 255}
		}
		if stroke == nil {
			d.pdf.SetDrawColor(0, 0, 0)
			d.state.stroke = color.NRGBA{A: 255}
		}
	}
}

// fill fills rings by the non-zero rule.
func (d *document) fill(rings []orb.Ring, c color.NRGBA) {
	if c.A == 0 || len(rings) == 0 {
		return
	}
	d.ready(&c, nil)
	var b []byte
	for _, r := range rings {
		b = d.trace(b, r)
	}
	d.raw(string(append(b, 'f')))
}

func (d *document) pen(p drawing.Pen) {
	c := p.Colour
	d.ready(nil, &c)
	if d.state.width != p.Width {
		d.state.width = p.Width
		d.raw(string(append(number(nil, p.Width*perMM), 'w')))
	}
	dash := []byte{'['}
	for _, v := range p.Dash {
		dash = number(dash, v*perMM)
	}
	if s := string(append(dash, "] 0 d"...)); d.state.dash != s && (d.state.dash != "" || len(p.Dash) > 0) {
		d.state.dash = s
		d.raw(s)
	}
	shape := 0
	if p.Cap == drawing.Round {
		shape = 1
	}
	if d.state.cap != shape {
		d.state.cap = shape
		d.raw(strconv.Itoa(shape) + " J")
	}
}

// stroke draws a path.
func (d *document) stroke(path []orb.Point, p drawing.Pen) {
	if p.Width <= 0 || p.Colour.A == 0 || len(path) < 2 {
		return
	}
	d.pen(p)
	d.raw(string(append(d.trace(nil, path), 'S')))
}

// clip holds what follows, until restore, within rings.
func (d *document) clip(rings []orb.Ring) {
	d.save()
	var b []byte
	for _, r := range rings {
		b = d.trace(b, r)
	}
	d.raw(string(append(b, "W n"...)))
}

// text writes cleaned text from the left end of its baseline, with true minus signs.
func (d *document) text(at orb.Point, s string, f drawing.Font, c color.NRGBA) {
	if s == "" {
		return
	}
	d.ready(&c, nil)
	d.pdf.SetTextColor(int(c.R), int(c.G), int(c.B))
	if d.state.font != f {
		d.state.font = f
		style := ""
		if f.Medium {
			style = mediumStyle
		}
		d.pdf.SetFont(family, style, f.Size*perMM)
	}
	d.pdf.Text(at[0], at[1], drawing.TrueMinus(s))
}

// upwards writes cleaned text that reads up the page: from p on, which lies in the
// middle of its capitals.
func (d *document) upwards(p orb.Point, s string, f drawing.Font, c color.NRGBA) {
	d.save()
	m := number([]byte("0 1 -1 0 "), (p[0]+f.Size*fonts.CapHeight/2)*perMM)
	d.raw(string(append(number(m, (d.height-p[1])*perMM), "cm"...)))
	d.text(orb.Point{0, d.height}, s, f, c)
	d.restore()
}

// layer begins a part of the page that a reader can hide. It ends with the next
// one or with EndLayer.
func (d *document) layer(name string) { d.pdf.BeginLayer(d.pdf.AddLayer(name, true)) }

// image draws a JPEG with its upper left corner at x, y.
func (d *document) image(name string, jpeg []byte, x, y, w, h float64) {
	white := color.NRGBA{255, 255, 255, 255}
	d.ready(&white, nil)
	o := fpdf.ImageOptions{ImageType: "JPG"}
	d.pdf.RegisterImageOptionsReader(name, o, bytes.NewReader(jpeg))
	d.pdf.ImageOptions(name, x, y, w, h, false, o, 0, "")
}

// holds says whether an image of that name is in the document.
func (d *document) holds(name string) bool { return d.pdf.GetImageInfo(name) != nil }

// file draws a JPEG file as it stands. page takes the site grid to millimetres
// from the upper left of the page.
func (d *document) file(name string, f *picture.File, page func(orb.Point) orb.Point) {
	white := color.NRGBA{255, 255, 255, 255}
	d.ready(&white, nil)
	o := fpdf.ImageOptions{ImageType: "JPG"}
	d.pdf.RegisterImageOptionsReader(name, o, bytes.NewReader(f.JPEG))
	w, h := float64(f.Width), float64(f.Height)
	at := func(col, row float64) orb.Point {
		p := page(f.At.At(orb.Point{col, row}))
		return orb.Point{p[0] * perMM, (d.height - p[1]) * perMM}
	}
	// A PDF has an image in the unit square, its lower left corner at the origin.
	o0, right, up := at(0, h), at(w, h), at(0, 0)
	var m []byte
	for _, v := range []float64{right[0] - o0[0], right[1] - o0[1], up[0] - o0[0], up[1] - o0[1], o0[0], o0[1]} {
		m = number(m, v)
	}
	d.save()
	d.raw(string(append(m, "cm"...)))
	d.pdf.ImageOptions(name, 0, d.height-1/perMM, 1/perMM, 1/perMM, false, o, 0, "")
	d.restore()
}

// dictionaryOf is the object that is a page, from 1: the writer numbers them 3, 5,
// 7 and so on, as its bookmarks take for granted.
func dictionaryOf(page int) int { return 1 + 2*page }

// write ends the document and writes it with an identifier made of its
// contents. A reader shows its title in the title bar (ISO 32000-1, 12.2,
// DisplayDocTitle).
func (d *document) write(w io.Writer) error {
	var b bytes.Buffer
	if err := d.pdf.Output(&b); err != nil {
		return fmt.Errorf("write the PDF: %w", err)
	}
	o, err := readObjects(b.Bytes())
	if err != nil {
		return err
	}
	if err := o.enter(o.root, "/Type /Catalog\n", "/ViewerPreferences <</DisplayDocTitle true>>\n"); err != nil {
		return err
	}
	if err := d.georeference(o); err != nil {
		return err
	}
	if err := o.pack(o.streamed()); err != nil {
		return err
	}
	return o.write(w)
}

// rect is a box as a closed path.
func rect(x, y, w, h float64) orb.Ring {
	return orb.Ring{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}, {x, y}}
}

// shifted is a Canvas whose unit coordinates begin at x, y on the page.
type shifted struct {
	d    *document
	x, y float64
}

// Fill implements drawing.Canvas.
func (s shifted) Fill(rings []orb.Ring, c color.NRGBA) { s.d.fill(s.rings(rings), c) }

// Stroke implements drawing.Canvas.
func (s shifted) Stroke(path []orb.Point, p drawing.Pen) { s.d.stroke(s.path(path), p) }

// Text implements drawing.Canvas.
func (s shifted) Text(at orb.Point, text string, f drawing.Font, c color.NRGBA) {
	s.d.text(orb.Point{at[0] + s.x, at[1] + s.y}, clean(text), f, c)
}

// Hatch implements drawing.Canvas.
func (s shifted) Hatch(rings []orb.Ring, h drawing.Hatch, origin orb.Point) {
	rings = s.rings(rings)
	if len(rings) == 0 || h.Spacing <= 0 || h.Colour.A == 0 {
		return
	}
	box := bound(rings)
	// A line rising to the right keeps x + y, one falling x - y; lines are
	// step apart in that sum.
	sign := 1.0
	if h.Falling {
		sign = -1
	}
	step := h.Spacing * math.Sqrt2
	of := func(x, y float64) float64 { return x + sign*y }
	o := of(origin[0]+s.x, origin[1]+s.y)
	lo, hi := of(box.Min[0], box.Min[1]), of(box.Max[0], box.Max[1])
	if h.Falling {
		lo, hi = of(box.Min[0], box.Max[1]), of(box.Max[0], box.Min[1])
	}
	s.d.clip(rings)
	s.d.pen(drawing.Pen{Width: h.Width, Colour: h.Colour})
	var b []byte
	for k := math.Ceil((lo - o) / step); o+k*step <= hi; k++ {
		c := o + k*step
		x0, x1 := box.Min[0], box.Max[0]
		y0, y1 := sign*(c-x0), sign*(c-x1)
		b = append(s.d.xy(b, orb.Point{x0, y0}), "m "...)
		b = append(s.d.xy(b, orb.Point{x1, y1}), "l\n"...)
	}
	if len(b) > 0 {
		s.d.raw(string(append(b, 'S')))
	}
	s.d.restore()
}

// Dots implements drawing.Canvas.
func (s shifted) Dots(rings []orb.Ring, t drawing.Dots, origin orb.Point) {
	rings = s.rings(rings)
	if len(rings) == 0 || t.Spacing <= 0 || t.Colour.A == 0 {
		return
	}
	box := bound(rings)
	s.d.clip(rings)
	// A dot is a stroke of no length with a round end.
	s.d.pen(drawing.Pen{Width: t.Diameter, Colour: t.Colour, Cap: drawing.Round})
	var b []byte
	r := t.Diameter / 2
	ox, oy := origin[0]+s.x, origin[1]+s.y
	for j := math.Floor((box.Min[1] - r - oy) / (t.Spacing / 2)); ; j++ {
		y := oy + j*t.Spacing/2
		if y > box.Max[1]+r {
			break
		}
		half := math.Mod(math.Abs(j), 2) * t.Spacing / 2
		for i := math.Floor((box.Min[0] - r - ox - half) / t.Spacing); ; i++ {
			x := ox + half + i*t.Spacing
			if x > box.Max[0]+r {
				break
			}
			b = append(s.d.xy(b, orb.Point{x, y}), "m "...)
			b = append(s.d.xy(b, orb.Point{x, y}), "l\n"...)
		}
	}
	if len(b) > 0 {
		s.d.raw(string(append(b, 'S')))
	}
	s.d.restore()
}

func (s shifted) path(p []orb.Point) []orb.Point {
	out := make([]orb.Point, len(p))
	for i, q := range p {
		out[i] = orb.Point{q[0] + s.x, q[1] + s.y}
	}
	return out
}

func (s shifted) rings(rs []orb.Ring) []orb.Ring {
	out := make([]orb.Ring, 0, len(rs))
	for _, r := range rs {
		if len(r) > 2 {
			out = append(out, orb.Ring(s.path(r)))
		}
	}
	return out
}

func bound(rs []orb.Ring) orb.Bound {
	b := rs[0].Bound()
	for _, r := range rs[1:] {
		b = b.Union(r.Bound())
	}
	return b
}

// rings is one outline as what Fill and Clip take.
func rings(r orb.Ring) []orb.Ring { return []orb.Ring{r} }
