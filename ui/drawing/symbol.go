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
	EntryMark  // an arrowhead in a ring
	DotMark    // a dot
	SquareMark // a square
	TriangleMark
	TriangleOpenMark // the same in outline
	ProposedMark     // a lozenge with a plus
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
	return s == SensorMark || s == SensorOpenMark || s == GateMark || s == ArrowMark || s == EntryMark
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
	case ProposedMark:
		return []piece{{path: lozenge(0.54), filled: bodyRole, stroke: inkRole}, {path: line(-0.22, 0, 0.22, 0), stroke: inkRole}, {path: line(0, -0.22, 0, 0.22), stroke: inkRole}}
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
	case EntryMark, DotMark:
		return wayPieces(s)
	case SquareMark, TriangleMark, TriangleOpenMark:
		return levelPieces(s)
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
// clockwise, with the pen's width and the style's colours. half is half the
// width of a gate in sizes of its mark.
func (r *renderer) drawMark(s Symbol, u orb.Point, size, bearing float64, st *Style, state State, half float64) {
	m := mark{theme: r.theme, st: st, pieces: shapes[s], size: size, state: state, cos: 1}
	key := StampKey{Meaning: st.Meaning, Symbol: s, State: state, Size: int16(math.Round(size * 64))}
	reach := size*0.75 + m.unit(8, 2)
	if s.turns() {
		bearing = math.Round(math.Mod(bearing, 360))
		m.sin, m.cos = math.Sincos(bearing * math.Pi / 180)
		key.Bearing = int16(bearing)
	}
	if s == GateMark {
		half = math.Round(math.Min(half, 1000)*16) / 16
		m.pieces = gatePieces(half)
		key.Half = int16(half * 16)
		reach += half * size
	}
	if c, ok := r.c.(Stamper); ok && reach < 60 {
		c.Stamp(r.theme, key, u, orb.Point{reach, reach}, m.draw)
		return
	}
	m.draw(r.c, u)
}

// mark is a symbol about to be drawn.
type mark struct {
	theme    *Theme
	st       *Style
	pieces   []piece
	size     float64
	sin, cos float64
	state    State
	pts      []orb.Point
}

func (m *mark) unit(screen, paper float64) float64 {
	if m.theme.Medium.Paper {
		return paper
	}
	return screen
}

func (m *mark) place(u orb.Point, path []orb.Point) []orb.Point {
	m.pts = m.pts[:0]
	for _, p := range path {
		m.pts = append(m.pts, orb.Point{u[0] + m.size*(p[0]*m.cos-p[1]*m.sin), u[1] + m.size*(p[0]*m.sin+p[1]*m.cos)})
	}
	return m.pts
}

// under draws the outline of the whole mark, wider by extra.
func (m *mark) under(c Canvas, u orb.Point, width, extra float64, colour color.NRGBA) {
	for i := range m.pieces {
		if i > 0 && m.pieces[0].filled != nothing {
			break
		}
		w := extra
		if m.pieces[i].stroke != nothing {
			w += width
		}
		c.Stroke(m.place(u, m.pieces[i].path), Pen{Width: w, Colour: colour, Cap: Round})
	}
}

func (m *mark) draw(c Canvas, u orb.Point) {
	paper := m.theme.Paper
	inkC, body := m.st.Ink, m.st.Body
	if body.A == 0 {
		body = paper
	}
	if m.state.Has(Muted) {
		inkC = mix(inkC, paper, 0.5)
	}
	width := m.st.Pen.Width * math.Sqrt(m.size/max(m.st.Size, 1e-9))
	if width == 0 || m.st.Size == 0 {
		width = m.size / 7
	}
	gap := m.unit(2.6, 0.6)
	switch {
	case m.state.Has(Selected):
		m.under(c, u, width, gap+m.unit(4.4, 1), m.theme.Ink)
		m.under(c, u, width, gap, paper)
	case m.state.Has(Hovered):
		m.under(c, u, width, gap+m.unit(2.6, 0.6), m.theme.Ink)
		m.under(c, u, width, gap, paper)
	default:
		m.under(c, u, width, gap, fade(paper, 0.85))
	}
	colour := func(k role) color.NRGBA {
		if k == inkRole {
			return inkC
		}
		return body
	}
	for i := range m.pieces {
		p := &m.pieces[i]
		pts := m.place(u, p.path)
		if p.filled != nothing {
			c.Fill([]orb.Ring{orb.Ring(pts)}, colour(p.filled))
		}
		if p.stroke != nothing {
			w := width
			if p.heavy > 0 {
				w *= p.heavy
			}
			c.Stroke(pts, Pen{Width: w, Colour: colour(p.stroke)})
		}
	}
}
