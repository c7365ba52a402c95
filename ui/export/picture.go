package export

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"pleach/assets/fonts"
	"pleach/model/picture"
	"pleach/ui/drawing"
	"pleach/ui/paint"
)

// Widths of a PNG in pixels. Chosen: less is not legible, more does not fit into
// the memory of every program that reads it.
const (
	LeastWidth = 800
	UsualWidth = 3200
	MostWidth  = 8000
)

// Measures of the picture in units; a unit is a pixel of the SVG.
const (
	pictureWidth = 1600.0
	edge         = 24.0
	titleRow     = 46.0
	legendRow    = 26.0
	sampleWidth  = 48.0
	legendWide   = 380.0 // of a column, at least
	barRoom      = 380.0 // for the scale bar
	veil         = 0.42  // how far the aerial picture recedes: as on paper
	jpegPixels   = 3_000_000
)

const (
	caution = "Predicted, for planning. Coverage and radio links are proved by walk test and signal readings on site."
	nothing = "Nothing is drawn yet: the plan has no boundary, no device and no picture."
)

// sheet is the map with its title, legend, scale bar and north arrow.
type sheet struct {
	in      Input
	theme   *drawing.Theme
	list    *drawing.List
	view    drawing.View // of the map
	legend  []drawing.LegendLine
	columns int
	height  float64
	empty   bool
}

func newSheet(in Input) *sheet {
	s := &sheet{in: in, theme: drawing.NewTheme(drawing.Medium{})}
	s.list = drawing.Compose(drawing.Input{Scene: in.Result.Scene, Result: in.Result})
	ground, some := s.extent()
	s.empty = !some
	w := pictureWidth - 2*edge
	h := w * 0.5
	if dx, dy := ground.Max[0]-ground.Min[0], ground.Max[1]-ground.Min[1]; dx > 0 && dy > 0 {
		h = w * math.Min(math.Max(dy/dx, 0.45), 1.1)
	}
	s.view = drawing.View{Width: w, Height: math.Round(h)}.Fit(ground, 48)
	window := s.view.Bound()
	s.legend = s.theme.Legend(s.list, &window)
	s.columns = max(int((w-barRoom)/legendWide), 1)
	rows := math.Ceil(float64(len(s.legend)) / float64(s.columns))
	s.height = titleRow + s.view.Height + edge + math.Max(rows*legendRow, 90) + 2*edge + 14
	return s
}

// extent is the ground that must be on the map: what is watched and what
// watches it; without either all that is drawn, else the aerial picture.
func (s *sheet) extent() (b orb.Bound, some bool) {
	add := func(o orb.Bound) {
		if some {
			o = b.Union(o)
		}
		b, some = o, true
	}
	sc := s.in.Result.Scene
	for _, l := range sc.Boundaries {
		add(l.Line.Bound())
	}
	for _, d := range sc.Devices {
		add(d.At.Bound())
	}
	for _, r := range s.in.Result.Sensors {
		if len(r.Footprint) > 0 {
			add(r.Footprint.Bound())
		}
	}
	if some {
		return b, true
	}
	if b, some := s.list.Bound(); some {
		return b, true
	}
	if s.in.Picture != nil {
		return s.in.Picture.Bound(), true
	}
	return orb.Bound{}, false
}

// frame draws all but the map.
func (s *sheet) frame(c drawing.Canvas) {
	ink, soft := s.theme.Ink, s.theme.Style(drawing.FeatureName).Ink
	set := s.in.Result.Plan.Settings
	title := oneLine(set.Title)
	if title == "" {
		title = "Plan"
	}
	c.Text(orb.Point{edge, titleRow - 16}, fitted(title, 22, true, pictureWidth*0.6), drawing.Font{Size: 22, Medium: true}, ink)
	var told []string
	for _, t := range []string{set.Reference, set.Revision, set.Date} {
		if t = oneLine(t); t != "" {
			told = append(told, t)
		}
	}
	said := fitted(strings.Join(told, " · "), 14, false, pictureWidth*0.35)
	c.Text(orb.Point{pictureWidth - edge - fonts.Advance(false, said)*14, titleRow - 16}, said, drawing.Font{Size: 14}, soft)
	m := box(edge, titleRow, s.view.Width, s.view.Height)
	c.Stroke(m, drawing.Pen{Width: 1.5, Colour: ink})
	top := titleRow + s.view.Height + edge
	s.bar(c, edge, top)
	// The legend is drawn by the renderer that draws the map.
	wide := (s.view.Width - barRoom) / float64(s.columns)
	rows := (len(s.legend) + s.columns - 1) / s.columns
	for i, l := range s.legend {
		x, y := edge+barRoom+wide*float64(i/rows), top+legendRow*float64(i%rows)
		list, view := s.theme.Sample(l.Meaning, sampleWidth, legendRow-2)
		drawing.Render(shifted{c, x, y}, list, view, s.theme, nil, drawing.AllLayers)
		c.Text(orb.Point{x + sampleWidth + 12, y + legendRow/2 + 4}, fitted(l.Text, 13, false, wide-sampleWidth-24), drawing.Font{Size: 13}, ink)
	}
	c.Text(orb.Point{edge, s.height - edge + 4}, caution, drawing.Font{Size: 13}, soft)
	if s.empty {
		c.Text(orb.Point{edge + (s.view.Width-fonts.Advance(false, nothing)*14)/2, titleRow + s.view.Height/2}, nothing, drawing.Font{Size: 14}, soft)
	}
}

// bar draws the scale bar and the north arrow, which stands for true north at
// the middle of the site.
func (s *sheet) bar(c drawing.Canvas, x, y float64) {
	ink := s.theme.Ink
	metres := barLength(s.view.MetresPerUnit, barRoom-120)
	long := metres / s.view.MetresPerUnit
	const parts = 4
	for i := range parts {
		part := box(x+long*float64(i)/parts, y+6, long/parts, 8)
		if i%2 == 0 {
			c.Fill([]orb.Ring{orb.Ring(part)}, ink)
		}
		c.Stroke(part, drawing.Pen{Width: 1, Colour: ink})
	}
	c.Text(orb.Point{x, y + 30}, "0", drawing.Font{Size: 13}, ink)
	figure := strings.TrimSuffix(fmt.Sprintf("%.1f", metres), ".0") + " m"
	c.Text(orb.Point{x + long - fonts.Advance(false, figure)*6.5, y + 30}, figure, drawing.Font{Size: 13}, ink)
	nx := x + barRoom - 60
	c.Fill([]orb.Ring{{{nx, y + 4}, {nx - 7, y + 34}, {nx, y + 27}, {nx, y + 4}}}, ink)
	c.Stroke([]orb.Point{{nx, y + 4}, {nx - 7, y + 34}, {nx, y + 27}, {nx + 7, y + 34}, {nx, y + 4}}, drawing.Pen{Width: 1.2, Colour: ink})
	c.Text(orb.Point{nx - fonts.Advance(true, "N")*7, y + 50}, "N", drawing.Font{Size: 14, Medium: true}, ink)
}

// barLength is the greatest of 1, 2 and 5 times a power of ten metres that is at
// most room units long.
func barLength(metresPerUnit, room float64) float64 {
	most := metresPerUnit * room
	p := math.Pow(10, math.Floor(math.Log10(most)))
	for _, k := range []float64{5, 2} {
		if k*p <= most {
			return k * p
		}
	}
	return p
}

func box(x, y, w, h float64) []orb.Point {
	return []orb.Point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}, {x, y}}
}

// fitted shortens a text that is wider than room.
func fitted(s string, size float64, medium bool, room float64) string {
	r := []rune(s)
	for len(r) > 1 && fonts.Advance(medium, s)*size > room {
		r = r[:len(r)-1]
		s = string(r) + "…"
	}
	return s
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// shifted is a canvas whose origin lies elsewhere.
type shifted struct {
	c    drawing.Canvas
	x, y float64
}

func (s shifted) at(p orb.Point) orb.Point { return orb.Point{p[0] + s.x, p[1] + s.y} }

func (s shifted) path(ps []orb.Point) []orb.Point {
	out := make([]orb.Point, len(ps))
	for i, p := range ps {
		out[i] = s.at(p)
	}
	return out
}

func (s shifted) rings(rs []orb.Ring) []orb.Ring {
	out := make([]orb.Ring, len(rs))
	for i, r := range rs {
		out[i] = s.path(r)
	}
	return out
}

func (s shifted) Fill(rs []orb.Ring, c color.NRGBA) { s.c.Fill(s.rings(rs), c) }
func (s shifted) Hatch(rs []orb.Ring, h drawing.Hatch, o orb.Point) {
	s.c.Hatch(s.rings(rs), h, s.at(o))
}
func (s shifted) Dots(rs []orb.Ring, d drawing.Dots, o orb.Point) { s.c.Dots(s.rings(rs), d, s.at(o)) }
func (s shifted) Stroke(ps []orb.Point, p drawing.Pen)            { s.c.Stroke(s.path(ps), p) }
func (s shifted) Text(at orb.Point, t string, f drawing.Font, c color.NRGBA) {
	s.c.Text(s.at(at), t, f, c)
}

// aerial is the aerial picture under the map as JPEG, and the units it lies in;
// nil where there is none.
func (s *sheet) aerial() (jpg []byte, lies orb.Bound, err error) {
	if s.in.Picture == nil {
		return nil, lies, nil
	}
	jpg, ground, err := s.in.Picture.JPEG(s.view.Bound(), picture.JPEGOptions{MaxPixels: jpegPixels, Paper: s.theme.Paper, Veil: veil})
	if errors.Is(err, picture.ErrOutside) {
		return nil, lies, nil
	}
	if err != nil {
		return nil, lies, err
	}
	a, b := s.view.ToUnit(orb.Point{ground.Min[0], ground.Max[1]}), s.view.ToUnit(orb.Point{ground.Max[0], ground.Min[1]})
	return jpg, orb.Bound{Min: a, Max: b}, nil
}

func svg(in Input) ([]byte, error) {
	s := newSheet(in)
	out := paint.NewSVG(pictureWidth, s.height)
	out.Fill([]orb.Ring{box(0, 0, pictureWidth, s.height)}, s.theme.Paper)
	jpg, lies, err := s.aerial()
	if err != nil {
		return nil, err
	}
	out.Within(edge, titleRow, s.view.Width, s.view.Height, func() {
		if jpg != nil {
			out.JPEG(jpg, lies.Min[0], lies.Min[1], lies.Max[0]-lies.Min[0], lies.Max[1]-lies.Min[1])
		}
		drawing.Render(out, s.list, s.view, s.theme, nil, drawing.AllLayers)
	})
	s.frame(out)
	return out.Bytes(oneLine(in.Result.Plan.Settings.Title)), nil
}

func pngOf(in Input) ([]byte, error) {
	s := newSheet(in)
	wide := in.Width
	if wide == 0 {
		wide = UsualWidth
	}
	scale := float64(wide) / pictureWidth
	img := image.NewRGBA(image.Rect(0, 0, wide, int(math.Ceil(s.height*scale))))
	paint.Fill(img, s.theme.Paper)
	s.view.Scale = scale
	at := image.Pt(int(math.Round(edge*scale)), int(math.Round(titleRow*scale)))
	part := image.NewRGBA(image.Rect(0, 0, int(s.view.Width*scale), int(s.view.Height*scale)))
	paint.Fill(part, s.theme.Paper)
	if in.Picture != nil {
		corner := s.view.ToGrid(orb.Point{})
		in.Picture.Draw(part, picture.Frame{Corner: corner, MetresPerPixel: s.view.MetresPerUnit / scale}, picture.Smooth)
		draw.Draw(part, part.Rect, image.NewUniform(s.theme.Veil(veil)), image.Point{}, draw.Over)
	}
	p := paint.New()
	p.Paint(part, s.list, s.view, s.theme, nil, drawing.AllLayers)
	draw.Draw(img, part.Rect.Add(at), part, image.Point{}, draw.Src)
	s.frame(p.On(img, scale))
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return nil, fmt.Errorf("write the picture: %w", err)
	}
	return b.Bytes(), nil
}
