package paper

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"

	"pleach/ui/drawing"
)

// The band under a sheet's map: its place among the others, the scale, what to know.
const (
	bandPad   = 3.0
	keyWidth  = 44.0
	keyHeight = 22.0
)

// tileLayout is the page of a sheet of a tiling: the map as large as can be.
func (s *sheet) tileLayout(f Format, landscape bool) layout {
	l := newLayout(f, landscape)
	h := s.bandHeight(l) + s.footHeight(l)
	l.picture = box{l.frame.x, l.frame.y, l.frame.w, l.frame.h - h}
	l.panel = box{l.frame.x, l.frame.y + l.picture.h, l.frame.w, h}
	return l
}

// bandWidths are those of the key, the scale and the notes.
func (l layout) bandWidths() (key, scale, notes float64) {
	rest := l.frame.w - 2*pad - 2*blockGap
	key = math.Min(keyWidth, 0.2*rest)
	scale = math.Min(120, (rest-key)*0.55)
	return key, scale, rest - key - scale
}

func (s *sheet) bandHeight(l layout) float64 {
	_, sw, nw := l.bandWidths()
	c := s.contents(l.format)
	notes := prose{s.look, s.tileNotes(888)}
	return 2*bandPad + math.Max(keyHeight, math.Max(c.scale.height(sw), notes.height(nw)))
}

// tileNotes say how a sheet belongs to the others.
func (s *sheet) tileNotes(key int) []string {
	return []string{fmt.Sprintf("Sheet %d is the key plan, with legend, findings and devices. Dash-dot lines are match lines: beyond one the map continues on the sheet that is named there.", key)}
}

// matchPen draws the line along which sheets meet.
func (l look) matchPen() drawing.Pen {
	return drawing.Pen{Width: 0.35, Colour: l.ink, Dash: []float64{7, 1.4, 0.9, 1.4}}
}

// sides of a map: the step to the cell beyond.
var sides = [4]cell{{-1, 0}, {1, 0}, {0, -1}, {0, 1}}

// A matchLine is where a sheet meets another, millimetres on its map.
type matchLine struct {
	from, to orb.Point
	text     string
	at       orb.Point // the middle of the text
	upright  bool
	veil     box // what is beyond
}

// textBox is the room of its text.
func (m matchLine) textBox() orb.Bound {
	w, h := width(m.text, sizeBody, true)/2+1, sizeBody*0.62
	if m.upright {
		w, h = h, w
	}
	return orb.Bound{Min: orb.Point{m.at[0] - w, m.at[1] - h}, Max: orb.Point{m.at[0] + w, m.at[1] + h}}
}

// matchLines are those of sheet i.
func (s *sheet) matchLines(i int) (out []matchLine) {
	t := s.tiled
	view := t.views[i]
	w, h := view.Width, view.Height
	for _, side := range sides {
		next := s.onwards(i, side)
		if next == nil {
			continue
		}
		m := matchLine{text: "match line: see sheet " + strconv.Itoa(t.number(next[0])), upright: side[0] != 0}
		if len(next) > 1 {
			m.text = fmt.Sprintf("match line: see sheets %d and %d", t.number(next[0]), t.number(next[1]))
		}
		var along func(share float64) orb.Point
		switch side {
		case cell{-1, 0}:
			m.from, m.to, m.veil = orb.Point{tileBleed, 0}, orb.Point{tileBleed, h}, box{0, 0, tileBleed, h}
			along = func(v float64) orb.Point { return orb.Point{tileBleed / 2, v * h} }
		case cell{1, 0}:
			m.from, m.to, m.veil = orb.Point{w - tileBleed, 0}, orb.Point{w - tileBleed, h}, box{w - tileBleed, 0, tileBleed, h}
			along = func(v float64) orb.Point { return orb.Point{w - tileBleed/2, v * h} }
		case cell{0, -1}:
			m.from, m.to, m.veil = orb.Point{0, tileBleed}, orb.Point{w, tileBleed}, box{0, 0, w, tileBleed}
			along = func(v float64) orb.Point { return orb.Point{v * w, tileBleed / 2} }
		default:
			m.from, m.to, m.veil = orb.Point{0, h - tileBleed}, orb.Point{w, h - tileBleed}, box{0, h - tileBleed, w, tileBleed}
			along = func(v float64) orb.Point { return orb.Point{v * w, h - tileBleed/2} }
		}
		least := math.Inf(1)
		for n, v := range []float64{0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8} {
			q := m
			q.at = along(v)
			if c := float64(n)*0.1 + s.crowding(view, q.textBox()); c < least {
				least, m = c, q
			}
		}
		out = append(out, m)
	}
	return out
}

// onwards returns the sheets on which the map goes on beyond a side of sheet i: the
// one beside it or, where none is needed there, those across the corners to which a
// boundary runs by way of that place.
func (s *sheet) onwards(i int, side cell) (next []int) {
	t := s.tiled
	if k, ok := t.beside(i, side[0], side[1]); ok {
		return []int{k}
	}
	if !s.crossed(i, side) {
		return nil
	}
	across := 0 // the axis along the side
	if side[0] != 0 {
		across = 1
	}
	for _, turn := range []int{-1, 1} {
		to, back := side, cell{}
		to[across], back[across] = turn, -turn
		if o, there := t.beside(i, to[0], to[1]); there && s.crossed(o, back) {
			next = append(next, o)
		}
	}
	return next
}

// crossed says whether a boundary crosses a side of what sheet i is for.
func (s *sheet) crossed(i int, side cell) bool {
	edge := s.tiled.own(i)
	thin := 0.1 * s.tiled.views[i].MetresPerUnit
	switch side {
	case cell{-1, 0}:
		edge.Max[0] = edge.Min[0] + thin
	case cell{1, 0}:
		edge.Min[0] = edge.Max[0] - thin
	case cell{0, -1}: // rows run south
		edge.Min[1] = edge.Max[1] - thin
	default:
		edge.Max[1] = edge.Min[1] + thin
	}
	return slices.ContainsFunc(s.list.Items, func(it drawing.Item) bool {
		return it.Kind == drawing.LineKind && it.Meaning == drawing.Boundary && runsIn(it.Line, edge)
	})
}

// runsIn says whether part of a line lies in a box.
func runsIn(line orb.LineString, b orb.Bound) bool {
	return len(line) > 1 && line.Bound().Intersects(b) && len(clip.LineString(b, line.Clone())) > 0
}

// crowding is how much of the plan lies within a box on a map: most for a mark,
// less for a boundary, least for a link.
func (s *sheet) crowding(view drawing.View, b orb.Bound) (cost float64) {
	a, c := view.ToGrid(b.Min), view.ToGrid(b.Max)
	ground := orb.Bound{Min: orb.Point{a[0], c[1]}, Max: orb.Point{c[0], a[1]}}
	half := 2 * view.MetresPerUnit // of a mark
	for i := range s.list.Items {
		it := &s.list.Items[i]
		switch {
		case it.Kind == drawing.MarkKind && ground.Pad(half).Contains(it.At):
			cost += 12
		case it.Kind != drawing.LineKind || it.Meaning == drawing.ChainageTick || !runsIn(it.Line, ground):
		case it.Layer == drawing.BoundaryLayer:
			cost += 4
		case it.Layer == drawing.LinkLayer:
			cost++
		}
	}
	return cost
}

// tileMap is the map of sheet i.
func (s *sheet) tileMap(i int) mapping {
	t := s.tiled
	m := mapping{list: s.list, view: t.views[i], at: t.layout.picture, name: layoutName + " " + strconv.Itoa(i+1), keep: []orb.Bound{}}
	lines := s.matchLines(i)
	for _, l := range lines {
		m.keep = append(m.keep, l.textBox(), orb.Bound{Min: l.from, Max: l.to}.Pad(0.3))
	}
	frames := s.detailFrames(m.view)
	for _, f := range frames {
		m.keep = append(m.keep, f.tag)
	}
	m.over = func(d *document) {
		veil := s.paper
		veil.A = 130
		for _, l := range lines {
			d.fill(rings(rect(m.at.x+l.veil.x, m.at.y+l.veil.y, l.veil.w, l.veil.h)), veil)
		}
		for _, l := range lines {
			path := []orb.Point{{m.at.x + l.from[0], m.at.y + l.from[1]}, {m.at.x + l.to[0], m.at.y + l.to[1]}}
			pen := s.matchPen()
			d.stroke(path, drawing.Pen{Width: pen.Width + 0.8, Colour: s.paper})
			d.stroke(path, pen)
		}
		s.drawFrames(d, m.at, frames)
	}
	m.top = func(d *document) {
		for _, l := range lines {
			b := l.textBox()
			d.fill(rings(rect(m.at.x+b.Min[0], m.at.y+b.Min[1], b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])), s.paper)
			half := width(l.text, sizeBody, true) / 2
			if l.upright {
				d.upwards(orb.Point{m.at.x + l.at[0], m.at.y + l.at[1] + half}, l.text, s.strong, s.ink)
			} else {
				d.left(m.at.x+l.at[0]-half, m.at.y+l.at[1]-bodyRow/2, bodyRow, l.text, s.strong, s.ink)
			}
		}
		s.drawFrameTags(d, m.at, frames)
	}
	return m
}

// A TileInfo is one sheet of a layout that is spread over several.
type TileInfo struct {
	Sheet int          // its number in the set
	Map   orb.Bound    // millimetres from the upper left of the sheet, y down
	View  drawing.View // of the map
	Bar   Bar
}

// outlineTag is the number of a sheet on the key plan.
type outlineTag struct {
	text string
	box  orb.Bound
}

// tagPlaces are where in its outline the number of a sheet may stand, as shares of
// the width and height: rather at a corner, then at an edge.
var tagPlaces = func() []orb.Point {
	out := []orb.Point{{0, 0}, {1, 0}, {0, 1}, {1, 1}}
	for _, y := range []float64{0, 1, 0.5, 0.25, 0.75} {
		for _, x := range []float64{0.5, 0, 1, 0.25, 0.75} {
			if p := (orb.Point{x, y}); !slices.Contains(out, p) {
				out = append(out, p)
			}
		}
	}
	return out
}()

// tagBox is the room of a short text in a frame, its middle at p.
func tagBox(p orb.Point, text string) orb.Bound {
	w, h := math.Max(width(text, sizeHead, true)+2, 4.6)/2, 2.3
	return orb.Bound{Min: orb.Point{p[0] - w, p[1] - h}, Max: orb.Point{p[0] + w, p[1] + h}}
}

// drawTag draws a short text in a frame, black on white or white on black.
func (l look) drawTag(d *document, at box, b orb.Bound, text string, dark bool) {
	paper, ink := l.paper, l.ink
	if dark {
		paper, ink = ink, paper
	}
	r := rect(at.x+b.Min[0], at.y+b.Min[1], b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])
	d.stroke(r, drawing.Pen{Width: 1, Colour: l.paper})
	d.fill(rings(r), paper)
	d.stroke(r, drawing.Pen{Width: 0.3, Colour: l.ink})
	d.centre(at.x+b.Center()[0], at.y+b.Min[1], b.Max[1]-b.Min[1], text, l.head, ink)
}

// keyMap is the map of the key plan: the whole, with the outline and number of
// every sheet.
func (s *sheet) keyMap(m mapping) mapping {
	t := s.tiled
	frames := s.detailFrames(m.view)
	for _, f := range frames {
		m.keep = append(m.keep, f.tag)
	}
	var tags []outlineTag
	if t != nil {
		m.list = keyList(m.list)
		window := orb.Bound{Max: orb.Point{m.view.Width, m.view.Height}}.Pad(-1)
		for i := range t.views {
			c := onMap(m.view, t.own(i))
			// In the part of it that is on the map, rather at a corner.
			in := orb.Bound{Min: orb.Point{math.Max(c.Min[0], window.Min[0]), math.Max(c.Min[1], window.Min[1])}, Max: orb.Point{math.Min(c.Max[0], window.Max[0]), math.Min(c.Max[1], window.Max[1])}}
			tag := outlineTag{text: strconv.Itoa(t.number(i))}
			least := math.Inf(1)
			half := tagBox(orb.Point{}, tag.text).Max
			for n, v := range tagPlaces {
				x0, x1 := in.Min[0]+half[0]+0.8, in.Max[0]-half[0]-0.8
				y0, y1 := in.Min[1]+half[1]+0.8, in.Max[1]-half[1]-0.8
				b := tagBox(orb.Point{x0 + v[0]*(x1-x0), y0 + v[1]*(y1-y0)}, tag.text)
				if cost := float64(n)*0.02 + s.crowding(m.view, b.Pad(0.5)); cost < least {
					least, tag.box = cost, b
				}
			}
			tags = append(tags, tag)
			m.keep = append(m.keep, tag.box)
		}
	}
	if t == nil && frames == nil {
		return m
	}
	m.under = func(d *document) {
		if t == nil {
			return
		}
		pen := s.matchPen()
		pen.Width, pen.Dash = 0.3, []float64{4, 0.9, 0.6, 0.9}
		edges := t.edges(m.view)
		for _, e := range edges {
			d.stroke([]orb.Point{{m.at.x + e[0][0], m.at.y + e[0][1]}, {m.at.x + e[1][0], m.at.y + e[1][1]}}, drawing.Pen{Width: 0.9, Colour: s.paper})
		}
		for _, e := range edges {
			d.stroke([]orb.Point{{m.at.x + e[0][0], m.at.y + e[0][1]}, {m.at.x + e[1][0], m.at.y + e[1][1]}}, pen)
		}
	}
	m.over = func(d *document) { s.drawFrames(d, m.at, frames) }
	m.top = func(d *document) {
		for _, g := range tags {
			s.drawTag(d, m.at, g.box, g.text, false)
		}
		s.drawFrameTags(d, m.at, frames)
	}
	return m
}

// mostGapNumbers is how many gaps are numbered on a key plan. Chosen: more would
// hide it.
const mostGapNumbers = 24

// keyList is the plan without the names that find no room beside their marks and
// without figures on links: the sheets that are outlined have them.
func keyList(list *drawing.List) *drawing.List {
	gaps := 0
	for i := range list.Items {
		if list.Items[i].Meaning == drawing.GapNumber {
			gaps++
		}
	}
	out := &drawing.List{}
	for _, it := range list.Items {
		if it.Kind == drawing.LabelKind {
			it.Must = false
			if it.Meaning == drawing.MarginFigure || it.Meaning == drawing.GapNumber && gaps > mostGapNumbers {
				continue
			}
		}
		out.Add(it)
	}
	return out
}

// edges are the outlines of the sheets on a map, each edge once.
func (t *tiling) edges(view drawing.View) (out [][2]orb.Point) {
	for i := range t.views {
		c := onMap(view, t.own(i))
		nw, ne, sw, se := c.Min, orb.Point{c.Max[0], c.Min[1]}, orb.Point{c.Min[0], c.Max[1]}, c.Max
		out = append(out, [2]orb.Point{nw, ne}, [2]orb.Point{nw, sw})
		if _, ok := t.beside(i, 1, 0); !ok {
			out = append(out, [2]orb.Point{ne, se})
		}
		if _, ok := t.beside(i, 0, 1); !ok {
			out = append(out, [2]orb.Point{sw, se})
		}
	}
	return out
}

// onMap carries ground to millimetres on a map.
func onMap(view drawing.View, g orb.Bound) orb.Bound {
	a, b := view.ToUnit(g.Min), view.ToUnit(g.Max)
	return orb.Bound{Min: orb.Point{a[0], b[1]}, Max: orb.Point{b[0], a[1]}}
}

// tileKey is the small picture of all sheets with this one filled.
type tileKey struct {
	s    *sheet
	this int
}

func (k tileKey) height(float64) float64 { return keyHeight }

func (k tileKey) draw(d *document, x, y, w float64) {
	s, t := k.s, k.s.tiled
	all := t.own(0)
	for i := range t.views {
		all = all.Union(t.own(i))
	}
	v := drawing.View{Width: w, Height: keyHeight}.Fit(all, 0.3)
	at := func(p orb.Point) orb.Point { u := v.ToUnit(p); return orb.Point{x + u[0], y + u[1]} }
	for i := range t.views {
		c := onMap(v, t.own(i))
		if i == k.this {
			d.fill(rings(rect(x+c.Min[0], y+c.Min[1], c.Max[0]-c.Min[0], c.Max[1]-c.Min[1])), s.ink)
		}
	}
	for i := range s.list.Items {
		it := &s.list.Items[i]
		if it.Kind != drawing.LineKind || it.Meaning != drawing.Boundary {
			continue
		}
		path := make([]orb.Point, len(it.Line))
		for n, p := range it.Line {
			path[n] = at(p)
		}
		d.stroke(path, drawing.Pen{Width: 0.35, Colour: s.soft})
	}
	for _, e := range t.edges(v) {
		d.line(x+e[0][0], y+e[0][1], x+e[1][0], y+e[1][1], 0.18, s.ink)
	}
	for i := range t.views {
		c := onMap(v, t.own(i))
		text := strconv.Itoa(t.number(i))
		tw := width(text, sizeSchedule, true) + 0.8
		if tw > c.Max[0]-c.Min[0]-0.4 || smallRow*0.8 > c.Max[1]-c.Min[1]-0.4 {
			continue
		}
		paper, ink := s.paper, s.ink
		if i == k.this {
			paper, ink = ink, paper
		}
		d.fill(rings(rect(x+c.Center()[0]-tw/2, y+c.Center()[1]-smallRow*0.4, tw, smallRow*0.8)), paper)
		d.centre(x+c.Center()[0], y+c.Center()[1]-smallRow/2, smallRow, text, s.smallStrong, ink)
	}
}

// drawTile draws sheet i of the tiling, number n of total; key is the number of
// the key plan.
func (s *sheet) drawTile(i, key, n, total int) (TileInfo, error) {
	t, d := s.tiled, s.doc
	l := t.layout
	d.pageOf(l.sheet.w, l.sheet.h)
	part := fmt.Sprintf("part %d of %d", i+1, len(t.views))
	d.mark(capital(part), 1)
	m := s.tileMap(i)
	if _, err := s.drawMap(m); err != nil {
		return TileInfo{}, err
	}
	p := l.picture
	d.stroke(rect(p.x, p.y, p.w, p.h), drawing.Pen{Width: framePen, Colour: s.ink})
	info := TileInfo{Sheet: n, Map: mapBound(p), View: m.view}
	scale := s.contents(l.format).scale
	scale.ratio, scale.drawn = t.ratio, &info.Bar
	scale.middle = s.in.Scene.Grid.ToLonLat(m.view.Centre)
	scale.national = s.placeNational(m.view.Centre)
	kw, sw, nw := l.bandWidths()
	x, y := l.frame.x+pad, l.panel.y+bandPad
	tileKey{s, i}.draw(d, x, y, kw)
	x += kw + blockGap
	scale.draw(d, x, y, sw)
	x += sw + blockGap
	prose{s.look, s.tileNotes(key)}.draw(d, x, y, nw)
	s.foot(l, layoutTitle+", "+part, t.ratio, n, total)
	return info, nil
}
