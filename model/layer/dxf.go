package layer

import (
	"fmt"
	"image/color"
	"math"
	"strconv"
	"strings"
	"unicode/utf16"

	"github.com/paulmach/orb"
)

// DXF writes all layers that are drawn in metres on the site grid, as the
// text form of drawing exchange, release 12, which every drawing program reads. A
// feature's class is its drawing layer; names stand on the layer of the class
// with -NAME. What the coordinates are is written on the layer NOTES.
func DXF(s Set) []byte {
	d := &dxf{}
	d.pair(999, "Metres on the site grid: transverse Mercator on WGS 84, scale 1 at the origin")
	bound, some := s.bound()
	if !some {
		bound = orb.Bound{}
	}
	d.pair(0, "SECTION")
	d.pair(2, "HEADER")
	d.pair(9, "$ACADVER")
	d.pair(1, "AC1009")
	d.pair(9, "$DWGCODEPAGE")
	d.pair(3, "ANSI_1252")
	d.pair(9, "$INSUNITS") // of later releases; this one's readers pass over it
	d.pair(70, "6")        // metres
	d.pair(9, "$MEASUREMENT")
	d.pair(70, "1") // metric
	for _, v := range []struct {
		name string
		at   orb.Point
	}{{"$EXTMIN", bound.Min}, {"$EXTMAX", bound.Max}} {
		d.pair(9, v.name)
		d.at(v.at)
	}
	d.pair(0, "ENDSEC")
	d.tables(s)
	d.pair(0, "SECTION")
	d.pair(2, "ENTITIES")
	for _, l := range s.Layers {
		if l.Hidden {
			continue
		}
		for _, f := range l.Features {
			d.feature(f)
		}
	}
	d.text("NOTES", orb.Point{bound.Min[0], bound.Min[1] - 4*textHeight}, "Metres on the site grid, x east, y north. Origin: longitude "+degrees(s.Lon0)+", latitude "+degrees(s.Lat0)+" on WGS 84. "+s.Title)
	d.pair(0, "ENDSEC")
	d.pair(0, "EOF")
	return []byte(d.b.String())
}

// textHeight is that of names in a drawing, metres: chosen, 2 mm at 1:500.
const textHeight = 1.0

func (s Set) bound() (b orb.Bound, some bool) {
	for _, l := range s.Layers {
		for _, f := range l.Features {
			if l.Hidden || f.Geometry == nil {
				continue
			}
			if o := f.Geometry.Bound(); some {
				b = b.Union(o)
			} else {
				b, some = o, true
			}
		}
	}
	return b, some
}

type dxf struct{ b strings.Builder }

func (d *dxf) pair(code int, value string) { fmt.Fprintf(&d.b, "%3d\r\n%s\r\n", code, value) }

func (d *dxf) real(code int, v float64) {
	s := strconv.FormatFloat(rounded(v, 6), 'f', -1, 64)
	if !strings.Contains(s, ".") {
		s += ".0"
	}
	d.pair(code, s)
}

func (d *dxf) at(p orb.Point) {
	d.real(10, p[0])
	d.real(20, p[1])
	d.real(30, 0)
}

// tables declares line types and layers.
func (d *dxf) tables(s Set) {
	type entry struct {
		name   string
		colour int
		dashed bool
	}
	layers := []entry{{"0", 7, false}, {"NOTES", 7, false}}
	known := map[string]bool{}
	for _, l := range s.Layers {
		if l.Hidden {
			continue
		}
		for _, f := range l.Features {
			if name := drawingLayer(f.Class); !known[name] {
				known[name] = true
				st, _ := l.Style(f.Class)
				layers = append(layers, entry{name, indexColour(st), len(st.Dash) > 0}, entry{name + "-NAME", 7, false})
			}
		}
	}
	d.pair(0, "SECTION")
	d.pair(2, "TABLES")
	d.pair(0, "TABLE")
	d.pair(2, "LTYPE")
	d.pair(70, "2")
	for _, t := range []struct {
		name, shown string
		dashes      []float64
	}{{"CONTINUOUS", "Solid line", nil}, {"DASHED", "__ __ __", []float64{2, -1}}} {
		d.pair(0, "LTYPE")
		d.pair(2, t.name)
		d.pair(70, "0")
		d.pair(3, t.shown)
		d.pair(72, "65")
		d.pair(73, strconv.Itoa(len(t.dashes)))
		sum := 0.0
		for _, v := range t.dashes {
			sum += math.Abs(v)
		}
		d.real(40, sum)
		for _, v := range t.dashes {
			d.real(49, v)
		}
	}
	d.pair(0, "ENDTAB")
	d.pair(0, "TABLE")
	d.pair(2, "LAYER")
	d.pair(70, strconv.Itoa(len(layers)))
	for _, e := range layers {
		d.pair(0, "LAYER")
		d.pair(2, e.name)
		d.pair(70, "0")
		d.pair(62, strconv.Itoa(e.colour))
		if e.dashed {
			d.pair(6, "DASHED")
		} else {
			d.pair(6, "CONTINUOUS")
		}
	}
	d.pair(0, "ENDTAB")
	d.pair(0, "ENDSEC")
}

func (d *dxf) feature(f Feature) {
	layer := drawingLayer(f.Class)
	var name orb.Point
	switch g := f.Geometry.(type) {
	case orb.Point:
		d.pair(0, "POINT")
		d.pair(8, layer)
		d.at(g)
		name = g
	case orb.LineString:
		d.polyline(layer, g, false)
		name = halfway(g)
	case orb.MultiPolygon:
		for _, poly := range g {
			for _, r := range poly {
				d.polyline(layer, turned(r, true), true)
			}
		}
		name = g.Bound().Center()
	}
	if f.Label != "" {
		d.text(layer+"-NAME", orb.Point{name[0] + textHeight, name[1] + textHeight/2}, f.Label)
	}
}

// polyline draws a line; of a closed one the last point, which is the first, is
// left out.
func (d *dxf) polyline(layer string, ps []orb.Point, closed bool) {
	flag := "0"
	if closed && len(ps) > 1 {
		flag, ps = "1", ps[:len(ps)-1]
	}
	d.pair(0, "POLYLINE")
	d.pair(8, layer)
	d.pair(66, "1")
	d.at(orb.Point{})
	d.pair(70, flag)
	for _, p := range ps {
		d.pair(0, "VERTEX")
		d.pair(8, layer)
		d.at(p)
	}
	d.pair(0, "SEQEND")
	d.pair(8, layer)
}

func (d *dxf) text(layer string, at orb.Point, s string) {
	d.pair(0, "TEXT")
	d.pair(8, layer)
	d.at(at)
	d.real(40, textHeight)
	d.pair(1, drawingText(s))
}

// halfway is the middle of a line along its length.
func halfway(l orb.LineString) orb.Point {
	if len(l) == 0 {
		return orb.Point{}
	}
	total := 0.0
	for i := 1; i < len(l); i++ {
		total += math.Hypot(l[i][0]-l[i-1][0], l[i][1]-l[i-1][1])
	}
	left := total / 2
	for i := 1; i < len(l); i++ {
		step := math.Hypot(l[i][0]-l[i-1][0], l[i][1]-l[i-1][1])
		if step >= left && step > 0 {
			t := left / step
			return orb.Point{l[i-1][0] + t*(l[i][0]-l[i-1][0]), l[i-1][1] + t*(l[i][1]-l[i-1][1])}
		}
		left -= step
	}
	return l[len(l)-1]
}

// drawingText is a text of release 12, at most 255 bytes, in the code page
// Windows 1252 its head names: other characters, and those that would begin a
// control code, are written \U+HHHH; control characters become spaces.
func drawingText(s string) string {
	var b strings.Builder
	rs := []rune(s)
	for i, r := range rs {
		begins := func(with string) bool { return strings.HasPrefix(string(rs[i:min(i+len(with), len(rs))]), with) }
		next := ""
		switch {
		case r < ' ' || r >= 0x7f && r < 0xa0:
			next = " "
		case r == '^':
			next = "^ "
		case r == '%' && (begins("%%") || i > 0 && rs[i-1] == '%'), begins(`\U+`), begins(`\M+`):
			next = fmt.Sprintf(`\U+%04X`, r)
		case r < 0x100:
			next = string([]byte{byte(r)}) // the code page has the first 256 characters of Unicode where they are printed
		default:
			for _, u := range utf16.Encode([]rune{r}) {
				next += fmt.Sprintf(`\U+%04X`, u)
			}
		}
		if b.Len()+len(next) > 255 {
			break
		}
		b.WriteString(next)
	}
	return b.String()
}

// drawingLayer is the drawing layer of a class: capitals, digits and dashes, at
// most 26 characters, so that -NAME finds room within the 31 of release 12.
func drawingLayer(class string) string {
	s := strings.ToUpper(class)
	return s[:min(len(s), 26)]
}

// indexColours are the seven first of the drawing index, which every program
// shows alike: red, yellow, green, cyan, blue, magenta, the ink; and grey.
var indexColours = []struct {
	index int
	c     [3]float64
}{{1, [3]float64{255, 0, 0}}, {2, [3]float64{255, 255, 0}}, {3, [3]float64{0, 255, 0}}, {4, [3]float64{0, 255, 255}}, {5, [3]float64{0, 0, 255}},
	{6, [3]float64{255, 0, 255}}, {8, [3]float64{128, 128, 128}}, {7, [3]float64{0, 0, 0}}, {30, [3]float64{255, 127, 0}}}

// indexColour is the nearest of these to the outline of a style.
func indexColour(s Style) int {
	c := s.Stroke
	if c == (color.NRGBA{}) {
		return 7
	}
	best, index := math.Inf(1), 7
	for _, e := range indexColours {
		dr, dg, db := float64(c.R)-e.c[0], float64(c.G)-e.c[1], float64(c.B)-e.c[2]
		if d := dr*dr + dg*dg + db*db; d < best {
			best, index = d, e.index
		}
	}
	return index
}
