package drawing

import (
	"image/color"
	"math"

	"github.com/paulmach/orb"
)

// Symbol is the shape of a mark.
type Symbol uint8

// The marks.
const (
	NoSymbol       Symbol = iota
	SensorMark            // a half-disc, its round side towards what it watches
	SensorOpenMark        // the same in outline
	RepeaterMark          // a lozenge with a dot
	ReceiverMark          // a square in a ring
	GateMark              // two short strokes across the line, as far apart as the gate is wide
	HazardMark            // a triangle outline with a stroke
	AssetMark             // a square with its diagonals
	ReadingMark           // a small cross in a ring
	FindingMark           // a ring with a dot
	AcceptedMark          // a ring with a tick
	CrossMark             // two strokes crossed
	ArrowMark             // an arrowhead
	RoundHandle
	SquareHandle
	LozengeHandle
	SmallHandle
	TargetMark // a ring with four strokes, open in the middle
	CursorMark // a plus, open in the middle
	symbols
)

// piece is one part of a mark in a frame of its own: the mark is 1 across,
// its front is up (y = -1 ahead).
type piece struct {
	path   []orb.Point // closed when first and last are the same
	filled role        // how the inside is painted
	stroke role        // how the outline is drawn
	heavy  float64     // times the pen of the style; 0 means 1
}

type role uint8

const (
	nothing role = iota
	inkRole
	bodyRole
)

// turns tells which marks turn with their bearing.
func (s Symbol) turns() bool {
	return s == SensorMark || s == SensorOpenMark || s == GateMark || s == ArrowMark
}

// arc returns points of a circle round (cx, cy) from angle a to b in degrees,
// clockwise from up.
func arc(cx, cy, r, a, b float64) []orb.Point {
	n := max(int(math.Ceil(math.Abs(b-a)/15)), 2)
	out := make([]orb.Point, 0, n+2)
	for i := 0; i <= n; i++ {
		t := (a + (b-a)*float64(i)/float64(n)) * math.Pi / 180
		out = append(out, orb.Point{cx + r*math.Sin(t), cy - r*math.Cos(t)})
	}
	return out
}

func ring(cx, cy, r float64) []orb.Point {
	p := arc(cx, cy, r, 0, 360)
	p[len(p)-1] = p[0]
	return p
}

func closed(p ...orb.Point) []orb.Point { return append(p, p[0]) }

func box(r float64) []orb.Point {
	return closed(orb.Point{-r, -r}, orb.Point{r, -r}, orb.Point{r, r}, orb.Point{-r, r})
}

func lozenge(r float64) []orb.Point {
	return closed(orb.Point{0, -r}, orb.Point{r, 0}, orb.Point{0, r}, orb.Point{-r, 0})
}

func line(x0, y0, x1, y1 float64) []orb.Point {
	return []orb.Point{{x0, y0}, {x1, y1}}
}

// halfDisc is a disc cut by its back, the cut a little behind the middle, so
// that it stays a disc at 12 pixels and yet has one flat side.
func halfDisc() []orb.Point {
	p := arc(0, 0.08, 0.54, -103, 103)
	return append(p, p[0])
}

// shapes holds the pieces of every mark; it is not changed.
var shapes = func() (out [symbols][]piece) {
	for s := range out {
		out[s] = Symbol(s).pieces()
	}
	return out
}()

// pieces returns the parts of s, back to front. The first is its outline.
func (s Symbol) pieces() []piece {
	switch s {
	case SensorMark:
		return []piece{{path: halfDisc(), filled: inkRole}}
	case SensorOpenMark:
		return []piece{{path: halfDisc(), filled: bodyRole, stroke: inkRole}}
	case RepeaterMark:
		return []piece{{path: lozenge(0.54), filled: bodyRole, stroke: inkRole}, {path: ring(0, 0, 0.15), filled: inkRole}}
	case ReceiverMark:
		return []piece{{path: ring(0, 0, 0.5), filled: bodyRole, stroke: inkRole}, {path: box(0.21), filled: inkRole}}
	case HazardMark:
		return []piece{
			{path: closed(orb.Point{0, -0.52}, orb.Point{0.54, 0.42}, orb.Point{-0.54, 0.42}), filled: bodyRole, stroke: inkRole},
			{path: line(0, -0.16, 0, 0.2), stroke: inkRole},
		}
	case AssetMark:
		return []piece{{path: box(0.44), filled: bodyRole, stroke: inkRole}, {path: line(-0.44, -0.44, 0.44, 0.44), stroke: inkRole, heavy: 0.7},
			{path: line(-0.44, 0.44, 0.44, -0.44), stroke: inkRole, heavy: 0.7}}
	case ReadingMark:
		return []piece{{path: ring(0, 0, 0.5), filled: bodyRole, stroke: inkRole}, {path: line(-0.3, 0, 0.3, 0), stroke: inkRole}, {path: line(0, -0.3, 0, 0.3), stroke: inkRole}}
	case FindingMark:
		return []piece{{path: ring(0, 0, 0.5), filled: bodyRole, stroke: inkRole}, {path: ring(0, 0, 0.2), filled: inkRole}}
	case AcceptedMark:
		return []piece{{path: ring(0, 0, 0.5), filled: bodyRole, stroke: inkRole}, {path: []orb.Point{{-0.24, 0.02}, {-0.06, 0.2}, {0.26, -0.18}}, stroke: inkRole}}
	case CrossMark:
		return []piece{{path: line(-0.4, -0.4, 0.4, 0.4), stroke: inkRole}, {path: line(-0.4, 0.4, 0.4, -0.4), stroke: inkRole}}
	case ArrowMark:
		return []piece{{path: closed(orb.Point{0, -0.5}, orb.Point{0.36, 0.5}, orb.Point{0, 0.28}, orb.Point{-0.36, 0.5}), filled: inkRole}}
	case RoundHandle:
		return []piece{{path: ring(0, 0, 0.5), filled: bodyRole, stroke: inkRole}}
	case SmallHandle:
		return []piece{{path: ring(0, 0, 0.5), filled: bodyRole, stroke: inkRole, heavy: 0.75}}
	case SquareHandle:
		return []piece{{path: box(0.5), filled: bodyRole, stroke: inkRole}}
	case LozengeHandle:
		return []piece{{path: lozenge(0.5), filled: bodyRole, stroke: inkRole}}
	case TargetMark:
		return []piece{{path: ring(0, 0, 0.32), stroke: inkRole}, {path: line(0, -0.5, 0, -0.14), stroke: inkRole}, {path: line(0, 0.14, 0, 0.5), stroke: inkRole},
			{path: line(-0.5, 0, -0.14, 0), stroke: inkRole}, {path: line(0.14, 0, 0.5, 0), stroke: inkRole}}
	case CursorMark:
		return []piece{{path: line(0, -0.5, 0, -0.16), stroke: inkRole}, {path: line(0, 0.16, 0, 0.5), stroke: inkRole},
			{path: line(-0.5, 0, -0.16, 0), stroke: inkRole}, {path: line(0.16, 0, 0.5, 0), stroke: inkRole}}
	}
	return nil
}

// gatePieces are two strokes across a line that runs to the right at bearing
// 90, half apart from the middle on either side, in sizes of the mark.
func gatePieces(half float64) []piece {
	return []piece{{path: line(-half, -0.5, -half, 0.5), stroke: inkRole}, {path: line(half, -0.5, half, 0.5), stroke: inkRole}}
}

// drawMark draws symbol s at u, size units across, turned by bearing degrees
// clockwise, with the pen's width and the style's colours.
func (r *renderer) drawMark(s Symbol, u orb.Point, size, bearing float64, st *Style, state State, half float64) {
	sin, cos := 0.0, 1.0
	if s.turns() {
		sin, cos = math.Sincos(bearing * math.Pi / 180)
	}
	ps := shapes[s]
	if s == GateMark {
		ps = gatePieces(half)
	}
	inkC, body := st.Ink, st.Body
	if body.A == 0 {
		body = r.theme.Paper
	}
	if state.Has(Muted) {
		inkC = mix(inkC, r.theme.Paper, 0.5)
	}
	width := st.Pen.Width
	if width == 0 {
		width = size / 7
	}
	place := func(path []orb.Point) []orb.Point {
		out := r.markPts[:0]
		for _, p := range path {
			out = append(out, orb.Point{u[0] + size*(p[0]*cos-p[1]*sin), u[1] + size*(p[0]*sin+p[1]*cos)})
		}
		r.markPts = out
		return out
	}
	under := func(extra float64, c color.NRGBA) {
		for i := range ps {
			if i > 0 && ps[0].filled != nothing {
				break
			}
			w := extra
			if ps[i].stroke != nothing {
				w += width
			}
			r.c.Stroke(place(ps[i].path), Pen{Width: w, Colour: c, Cap: Round})
		}
	}
	gap := r.unit(2.6, 0.6)
	switch {
	case state.Has(Selected):
		under(gap+r.unit(4.4, 1), r.theme.Ink)
		under(gap, r.theme.Paper)
	case state.Has(Hovered):
		under(gap+r.unit(2.6, 0.6), r.theme.Ink)
		under(gap, r.theme.Paper)
	default:
		under(gap, fade(r.theme.Paper, 0.85))
	}
	colour := func(k role) color.NRGBA {
		if k == inkRole {
			return inkC
		}
		return body
	}
	for i := range ps {
		p := &ps[i]
		pts := place(p.path)
		if p.filled != nothing {
			r.c.Fill([]orb.Ring{orb.Ring(pts)}, colour(p.filled))
		}
		if p.stroke != nothing {
			w := width
			if p.heavy > 0 {
				w *= p.heavy
			}
			r.c.Stroke(pts, Pen{Width: w, Colour: colour(p.stroke), Cap: Butt})
		}
	}
}
