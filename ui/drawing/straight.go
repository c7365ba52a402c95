package drawing

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/model/scene"
)

// StraightInput is what Unroll draws from.
type StraightInput struct {
	Scene    *scene.Scene
	Result   *analysis.Result
	Boundary int // index into Result.Boundaries
	Posture  int // as in Input
	Selected []string
	Hovered  string
	Width    float64 // units
	// From and To are the chainage at the left and the right end; both 0 for
	// the whole boundary.
	From, To float64
}

// Straight is the straight-line diagram: one boundary unrolled by chainage.
// From the top: the numbers of gaps and the chainage, the line with its bands
// as on the map, the inside below it, then a bar for each stretch a sensor
// covers, in as many lanes as they need.
//
// The list's x is metres of chainage, its y the distance from the line on the
// same scale; View shows it. Render it as any list.
type Straight struct {
	List *List
	View View
	ID   string // of the boundary
}

// maxLanes is the number of lanes of bars: chosen, so that the diagram stays a
// strip. Bars that find no free lane share the last.
const maxLanes = 5

// Unroll draws the straight-line diagram of a boundary in lengths of the
// theme's medium. It is false where there is no such boundary in the result.
func Unroll(in StraightInput, theme *Theme) (*Straight, bool) {
	if in.Result == nil || in.Boundary < 0 || in.Boundary >= len(in.Result.Boundaries) || !(in.Width > 0) {
		return nil, false
	}
	r := &in.Result.Boundaries[in.Boundary]
	var b *scene.Boundary
	for i := range in.Scene.Boundaries {
		if in.Scene.Boundaries[i].Feature.ID == r.ID {
			b = &in.Scene.Boundaries[i]
		}
	}
	if b == nil {
		return nil, false
	}
	u := func(screen, paper float64) float64 {
		if theme.Medium.Paper {
			return paper
		}
		return screen
	}
	length := b.Length()
	from, to := in.From, in.To
	if to <= from {
		from, to = 0, length
	}
	side := u(20, 5)
	d := &unroller{in: in, b: b, r: r, k: (to - from) / math.Max(in.Width-2*side, 1), length: length,
		head: u(44, 11), bar: u(22, 5.6), lane: u(13, 3.4), list: &List{}}
	d.coverage()
	lanes := d.sensors()
	d.gates()
	d.list.Arrange()
	height := d.head + d.bar + float64(lanes)*d.lane + u(4, 1)
	s := &Straight{List: d.list, ID: r.ID, View: View{MetresPerUnit: d.k, Width: in.Width, Height: height,
		Centre: orb.Point{(from + to) / 2, -(height/2 - d.head) * d.k}}}
	return s, true
}

type unroller struct {
	in              StraightInput
	b               *scene.Boundary
	r               *analysis.Boundary
	k               float64 // metres a unit
	length          float64
	head, bar, lane float64 // units: above the line, from the line to the first lane, a lane
	list            *List
}

// pieces cuts a span that runs through chainage 0.
func (d *unroller) pieces(s coverage.Span) []coverage.Span {
	if s.To < s.From {
		return []coverage.Span{{From: s.From, To: d.length}, {From: 0, To: s.To}}
	}
	return []coverage.Span{s}
}

func (d *unroller) line(m Meaning, part string, n int, s coverage.Span) {
	for _, p := range d.pieces(s) {
		if p.To > p.From {
			d.list.Add(Item{Layer: BoundaryLayer, Kind: LineKind, Meaning: m, ID: d.r.ID, Part: part, Index: n,
				Line: orb.LineString{{p.From, 0}, {p.To, 0}}, Inside: Right})
		}
	}
}

func (d *unroller) coverage() {
	whole := coverage.Span{From: 0, To: d.length}
	d.line(Boundary, "", 0, whole)
	c := &composer{in: Input{Scene: d.in.Scene, Result: d.in.Result, Posture: d.in.Posture}}
	cov, posture := c.in.coverageOf(d.r)
	shallow := c.shallow(d.r.ID)
	for _, s := range cov.Stretches {
		switch s.State {
		case coverage.Closed:
			d.line(Excluded, "closed", 0, s.Span)
		case coverage.Covered:
			deep, thin := split(s.Span, shallow)
			for _, p := range deep {
				d.line(Covered, "covered", 0, p)
			}
			for _, p := range thin {
				d.line(Shallow, "shallow", 0, p)
			}
		}
	}
	for _, s := range cov.Overlaps {
		d.line(Overlap, "overlap", 0, s)
	}
	for _, s := range c.headOn(d.r.ID) {
		d.line(HeadOn, "head-on", 0, s)
	}
	d.list.Add(Item{Layer: BoundaryLayer, Kind: LineKind, Meaning: ChainageTick, Line: orb.LineString{{0, 0}, {d.length, 0}}, Inside: Right})
	for k := range cov.Gaps {
		g := &cov.Gaps[k]
		flag := Item{Layer: LabelLayer, Kind: LabelKind, Meaning: GapNumber, ID: d.r.ID, Part: "gap", Index: k + 1, Text: fmt.Sprint(k + 1),
			Prefer: Outward, Priority: gapPriority, Must: true}
		m := Gap
		if c.accepted(d.r.ID, posture, g) {
			m, flag.State = GapAccepted, Muted
		}
		d.line(m, "gap", k+1, g.Span)
		// The number stands over the longer piece.
		ps := d.pieces(g.Span)
		slices.SortStableFunc(ps, func(a, b coverage.Span) int {
			return cmp.Compare(b.To-b.From, a.To-a.From)
		})
		flag.At = orb.Point{(ps[0].From + ps[0].To) / 2, 0}
		d.list.Add(flag)
	}
}

// sensors draws what each sensor covers and returns the number of lanes.
func (d *unroller) sensors() int {
	type bar struct {
		id string
		s  coverage.Span
	}
	var bars []bar
	for _, s := range d.r.Spans {
		for _, span := range s.Spans {
			for _, p := range d.pieces(span) {
				bars = append(bars, bar{s.ID, p})
			}
		}
	}
	slices.SortStableFunc(bars, func(a, b bar) int { return cmp.Compare(a.s.From, b.s.From) })
	var ends []float64
	for _, b := range bars {
		lane := slices.IndexFunc(ends, func(e float64) bool { return e <= b.s.From })
		if lane < 0 {
			if lane = len(ends); lane == maxLanes {
				lane--
			} else {
				ends = append(ends, 0)
			}
		}
		ends[lane] = math.Max(ends[lane], b.s.To)
		top := -(d.bar + float64(lane)*d.lane) * d.k
		bottom := top - d.lane*0.86*d.k
		m, layer, s := Footprint, PatternLayer, State(0)
		if slices.Contains(d.in.Selected, b.id) {
			m, layer = FootprintSelected, LiveLayer
		}
		if b.id == d.in.Hovered {
			s = Hovered
		}
		d.list.Add(Item{Layer: layer, Kind: AreaKind, Meaning: m, ID: b.id, Part: "covered", State: s, Area: orb.MultiPolygon{{{
			{b.s.From, bottom}, {b.s.To, bottom}, {b.s.To, top}, {b.s.From, top}, {b.s.From, bottom}}}}})
		title := b.id
		if f := d.in.Scene.Plan.Feature(b.id); f != nil {
			title = f.Title()
		}
		d.list.Add(Item{Layer: LabelLayer, Kind: LabelKind, Meaning: BarName, ID: b.id, Text: title, Short: b.id, Prefer: Centred, Priority: sensorPriority,
			At: orb.Point{(b.s.From + b.s.To) / 2, (top + bottom) / 2}, Length: b.s.To - b.s.From})
	}
	return len(ends)
}

func (d *unroller) gates() {
	for _, g := range d.in.Scene.Gates {
		at, off := d.b.Nearest(g.At)
		if off > 5 { // metres: a gate of another boundary; chosen, a gate's usual width
			continue
		}
		a, b := g.Line[0], g.Line[len(g.Line)-1]
		d.list.Add(Item{Layer: BoundaryLayer, Kind: MarkKind, Meaning: Gate, ID: g.Feature.ID, At: orb.Point{at, 0}, Length: math.Hypot(b[0]-a[0], b[1]-a[1])})
	}
}

// Chainage is the chainage under the unit point u, and false beyond the ends
// of the boundary.
func (s *Straight) Chainage(u orb.Point) (metres float64, ok bool) {
	b, _ := s.List.Bound()
	c := s.View.ToGrid(u)[0]
	return c, c >= b.Min[0] && c <= b.Max[0]
}

// Hit returns what is drawn at the unit point u, as List.Hit: of the boundary
// with part "gap", "covered", "overlap", "shallow", "head-on" or "closed", of a sensor
// with part "covered", of a gate.
func (s *Straight) Hit(u orb.Point, tolUnits float64) []Hit {
	return s.List.Hit(s.View.ToGrid(u), tolUnits*s.View.MetresPerUnit, s.View.MetresPerUnit)
}

// Cursor is a stroke across the whole diagram at a chainage.
func (s *Straight) Cursor(chainage float64) Item {
	top, bottom := s.View.ToGrid(orb.Point{0, 2})[1], s.View.ToGrid(orb.Point{0, s.View.Height - 2})[1]
	return Item{Layer: HandleLayer, Kind: LineKind, Meaning: CrossingLine, Line: orb.LineString{{chainage, top}, {chainage, bottom}}}
}
