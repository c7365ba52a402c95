package paper

import (
	"cmp"
	"image/color"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"pleach/model"
	"pleach/model/compare"
	"pleach/model/contour"
	"pleach/model/pattern"
	"pleach/model/scene"
	"pleach/ui/drawing"
)

// Sizes of revision clouds, millimetres: chosen, so that an office printer shows
// them and a mark of 3 mm stands free within.
const (
	cloudRound  = 4.4  // from a mark that changed
	cloudAlong  = 3.2  // from a stretch or an outline that changed
	cloudNear   = 5.0  // clouds nearer than this become one
	cloudCell   = 0.6  // of the grid on which their outline is found
	cloudChord  = 4.2  // of one scallop
	cloudSag    = 0.34 // of a scallop, as a share of its chord
	cloudPen    = 0.4
	cloudCasing = 1.1
	ghostRadius = 2.5
	ghostPen    = 0.25
	letterSide  = 7.0 // of the triangle that bears the letter
)

// cloudLayer is what a reader of the PDF can hide.
const cloudLayer = "Changes since the revision before"

// cloudPart is something that changed, as a line on the map and how far the cloud
// keeps from it. Places are millimetres on the map.
type cloudPart struct {
	path []orb.Point
	r    float64
}

// ghost is a device that stood elsewhere, or stands no more.
type ghost struct {
	mark drawing.Item
	to   *orb.Point // where it stands now, on the site grid; nil where it is gone
}

// changed collects what changed, on the map of view.
func (s *sheet) changed(view drawing.View, list *drawing.List, labels *drawing.Placement) (parts []cloudPart, ghosts []ghost) {
	c := s.changes
	frame := orb.Bound{Min: orb.Point{-cloudRound, -cloudRound}, Max: orb.Point{view.Width + cloudRound, view.Height + cloudRound}}
	add := func(path []orb.Point, r float64) {
		for i := range path {
			path[i] = view.ToUnit(path[i])
		}
		if len(path) > 0 && orb.MultiPoint(path).Bound().Intersects(frame) {
			parts = append(parts, cloudPart{path, r})
		}
	}
	at := map[string]orb.Point{}
	for i := range list.Items {
		if it := &list.Items[i]; it.Layer == drawing.DeviceLayer && it.Kind == drawing.MarkKind && it.ID != "" {
			at[it.ID] = view.ToGrid(s.theme.Shown(it, view))
		}
	}
	seen := map[string]bool{}
	device := func(t compare.Thing) {
		p, ok := at[t.ID]
		if !ok || seen[t.ID] {
			return
		}
		seen[t.ID] = true
		add([]orb.Point{p}, cloudRound)
		// Its name is part of it, unless a leader leads to it from afar.
		for _, l := range labels.Labels {
			if it := &list.Items[l.Item]; it.Meaning == drawing.DeviceName && it.ID == t.ID && l.Leader == nil {
				h := (l.Box.Max[1] - l.Box.Min[1]) / 2
				y := l.Box.Min[1] + h
				parts = append(parts, cloudPart{[]orb.Point{{math.Min(l.Box.Min[0]+h, l.Box.Max[0]), y}, {math.Max(l.Box.Max[0]-h, l.Box.Min[0]), y}}, h + 1.4})
			}
		}
	}
	for _, m := range c.Moved {
		device(m.Thing)
	}
	for _, g := range s.ghosts {
		if g.to == nil || planar.Distance(g.mark.At, *g.to) >= leastGhost*view.MetresPerUnit {
			ghosts = append(ghosts, g)
			add([]orb.Point{g.mark.At}, ghostRadius+0.9)
		}
	}
	for _, t := range c.Added {
		device(t)
	}
	for _, t := range c.Aimed {
		device(t.Thing)
	}
	for _, t := range c.Changed {
		device(t.Thing)
	}
	for _, b := range c.Boundaries {
		for i := range s.in.Scene.Boundaries {
			now := &s.in.Scene.Boundaries[i]
			if now.Feature.ID != b.ID {
				continue
			}
			if b.Redrawn || !b.Old {
				s.redrawn(now.Line, s.in.Before.Plan.Feature(b.ID), add)
			}
			for _, p := range b.Postures {
				if p.Posture != "" {
					continue // along the line only what is drawn there
				}
				for _, span := range append(slices.Clone(p.Gained), p.Lost...) {
					add(slices.Clone([]orb.Point(now.Part(span.From, span.To))), cloudAlong)
				}
			}
		}
	}
	for _, t := range append(slices.Clone(c.Site.Added), c.Site.Changed...) {
		if t.Kind == model.KindBoundary {
			continue
		}
		for _, path := range outlines(s.in.Scene.Shape(t.ID)) {
			add(path, cloudAlong)
		}
	}
	return parts, ghosts
}

// findGhosts finds the devices that stood elsewhere or stand no more, and adds
// their marks to the list, so that names keep clear of them.
func (s *sheet) findGhosts() {
	if s.changes == nil {
		return
	}
	at := map[string]orb.Point{}
	for i := range s.list.Items {
		if it := &s.list.Items[i]; it.Layer == drawing.DeviceLayer && it.Kind == drawing.MarkKind && it.ID != "" {
			at[it.ID] = it.At
		}
	}
	grid := s.in.Scene.Grid
	old := func(id string, to *orb.Point) {
		f := s.in.Before.Plan.Feature(id)
		if f == nil {
			return
		}
		p, ok := f.Geometry.(orb.Point)
		if !ok {
			return
		}
		it := drawing.Item{Layer: drawing.DeviceLayer, Kind: drawing.MarkKind, Meaning: drawing.Sensor, State: drawing.Muted, At: grid.ToSite(p)}
		switch v := f.Value.(type) {
		case *model.Sensor:
			it.Bearing = v.Bearing - grid.Convergence(it.At)
		case *model.Repeater:
			it.Meaning = drawing.Repeater
		case *model.Receiver:
			it.Meaning = drawing.Receiver
		}
		s.ghosts = append(s.ghosts, ghost{it, to})
	}
	for _, m := range s.changes.Moved {
		if p, ok := at[m.ID]; ok && m.Distance >= leastApart {
			old(m.ID, &p)
		}
	}
	for _, t := range s.changes.Removed {
		old(t.ID, nil)
	}
	marks := slices.Clone(s.list.Items)
	s.list = &drawing.List{}
	for _, g := range s.ghosts {
		s.list.Add(g.mark) // before the marks of today, which lie over them
	}
	for _, it := range marks {
		s.list.Add(it)
	}
	s.list.Arrange()
}

// leastApart is how far, in metres, a device must have moved to leave a ghost:
// chosen, nearer the two marks lie on each other at any usual scale of a site.
const leastApart = 1.0

// leastGhost is how far, in millimetres on paper, a device must have moved for its
// old place to be drawn: chosen, less shows no ghost beside the mark.
const leastGhost = 1.5

// redrawn adds the edges of a boundary that its state before, nil for none, did
// not have.
func (s *sheet) redrawn(line orb.LineString, old *model.Feature, add func([]orb.Point, float64)) {
	var was []orb.Point
	if old != nil && old.Geometry != nil {
		for _, path := range outlines(s.in.Scene.Grid.Geometry(old.Geometry)) {
			was = append(was, path...)
		}
	}
	same := func(a, b, c, d orb.Point) bool {
		return planar.Distance(a, c) < 0.01 && planar.Distance(b, d) < 0.01 // metres: the grid may have moved with the line
	}
	for i := 0; i+1 < len(line); i++ {
		kept := false
		for k := 0; k+1 < len(was) && !kept; k++ {
			kept = same(line[i], line[i+1], was[k], was[k+1])
		}
		if !kept {
			add([]orb.Point{line[i], line[i+1]}, cloudAlong)
		}
	}
}

// outlines are the lines of a shape, copied.
func outlines(g orb.Geometry) (out [][]orb.Point) {
	switch g := g.(type) {
	case orb.Point:
		out = append(out, []orb.Point{g})
	case orb.LineString:
		out = append(out, slices.Clone([]orb.Point(g)))
	case orb.Polygon:
		for _, r := range g {
			out = append(out, slices.Clone([]orb.Point(r)))
		}
	case orb.MultiPolygon:
		for _, p := range g {
			out = append(out, outlines(p)...)
		}
	}
	return out
}

// distance is that of p from the lines of a part, millimetres.
func (c cloudPart) distance(p orb.Point) float64 { return planar.Distance(p, c.nearest(p)) }

func (c cloudPart) nearest(p orb.Point) orb.Point {
	best, far := c.path[0], planar.Distance(p, c.path[0])
	for i := 0; i+1 < len(c.path); i++ {
		q := pattern.NearestOn(c.path[i], c.path[i+1], p)
		if d := planar.Distance(p, q); d < far {
			best, far = q, d
		}
	}
	return best
}

// bridges joins parts that lie near one another.
func bridges(parts []cloudPart) (out []cloudPart) {
	for i := range parts {
		for k := range i {
			a, b := parts[i], parts[k]
			if gap := a.r + b.r + cloudNear; !a.bound().Pad(gap).Intersects(b.bound()) {
				continue
			}
			// The nearest places are a corner of one and a place of the other.
			var from, to orb.Point
			far := math.Inf(1)
			for n, pair := range [2][2]cloudPart{{a, b}, {b, a}} {
				for _, p := range pair[0].path {
					if q := pair[1].nearest(p); planar.Distance(p, q) < far {
						far = planar.Distance(p, q)
						if from, to = p, q; n == 1 {
							from, to = q, p
						}
					}
				}
			}
			if far > a.r+b.r-1 && far < a.r+b.r+cloudNear {
				out = append(out, cloudPart{[]orb.Point{from, to}, math.Min(a.r, b.r)})
			}
		}
	}
	return out
}

func (c cloudPart) bound() orb.Bound { return orb.MultiPoint(c.path).Bound() }

// clouds returns the outlines round parts: closed, anticlockwise as the
// coordinates count, without what is left out within.
func clouds(parts []cloudPart) []orb.Ring {
	if len(parts) == 0 {
		return nil
	}
	parts = append(slices.Clone(parts), bridges(parts)...)
	b := parts[0].bound()
	most := 0.0
	for _, p := range parts {
		b = b.Union(p.bound())
		most = math.Max(most, p.r)
	}
	b = b.Pad(most + 3*cloudCell)
	nx, ny := int((b.Max[0]-b.Min[0])/cloudCell)+2, int((b.Max[1]-b.Min[1])/cloudCell)+2
	depth := make([]float64, nx*ny) // how deep within, millimetres
	const outside = -2.0
	for i := range depth {
		depth[i] = outside
	}
	for _, p := range parts {
		for i := range p.path {
			piece := cloudPart{p.path[i : i+1], p.r}
			if i+1 < len(p.path) {
				piece.path = p.path[i : i+2]
			} else if len(p.path) > 1 {
				continue
			}
			o := piece.bound().Pad(p.r - outside)
			i0, i1 := max(0, int((o.Min[0]-b.Min[0])/cloudCell)), min(nx-1, int((o.Max[0]-b.Min[0])/cloudCell)+1)
			j0, j1 := max(0, int((o.Min[1]-b.Min[1])/cloudCell)), min(ny-1, int((o.Max[1]-b.Min[1])/cloudCell)+1)
			for y := j0; y <= j1; y++ {
				for x := i0; x <= i1; x++ {
					at := orb.Point{b.Min[0] + float64(x)*cloudCell, b.Min[1] + float64(y)*cloudCell}
					depth[y*nx+x] = math.Max(depth[y*nx+x], p.r-piece.distance(at))
				}
			}
		}
	}
	var out []orb.Ring
	for _, l := range contour.Lines(depth, nx, 0) {
		ring := make(orb.Ring, len(l))
		for i, p := range l {
			ring[i] = orb.Point{b.Min[0] + p[0]*cloudCell, b.Min[1] + p[1]*cloudCell}
		}
		if ring.Closed() && scene.SignedArea(ring) > 0 && planar.Length(ring) > 4*cloudChord {
			out = append(out, ring)
		}
	}
	slices.SortFunc(out, func(a, b orb.Ring) int {
		p, q := a.Bound().Min, b.Bound().Min
		return cmp.Or(cmp.Compare(p[1], q[1]), cmp.Compare(p[0], q[0]))
	})
	return out
}

// scallops is an outline as the drawing office draws a cloud: arcs that bulge
// outwards, all of one chord.
func scallops(ring orb.Ring, chord float64) (out orb.Ring) {
	n := math.Max(6, math.Round(planar.Length(ring)/chord))
	corners := evenly(ring, int(n))
	for i, a := range corners {
		b := corners[(i+1)%len(corners)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		for k := range 7 {
			t := float64(k) / 7
			bulge := 4 * cloudSag * t * (1 - t) // a parabola, close to the arc of that rise
			// Anticlockwise as the coordinates count: outside is on the right.
			out = append(out, orb.Point{a[0] + dx*t + dy*bulge, a[1] + dy*t - dx*bulge})
		}
	}
	return append(out, out[0])
}

// evenly returns n places along a ring, equally far apart.
func evenly(ring orb.Ring, n int) (out []orb.Point) {
	step := planar.Length(ring) / float64(n)
	next, at := 0.0, 0.0
	for i := 0; i+1 < len(ring) && len(out) < n; i++ {
		d := planar.Distance(ring[i], ring[i+1])
		for ; next < at+d && len(out) < n; next += step {
			t := (next - at) / d
			out = append(out, orb.Point{ring[i][0] + t*(ring[i+1][0]-ring[i][0]), ring[i][1] + t*(ring[i+1][1]-ring[i][1])})
		}
		at += d
	}
	return out
}

// letterBox is the room of the triangle with its middle at p.
func letterBox(p orb.Point) orb.Bound {
	const w, h = letterSide/2 + 0.4, letterSide*0.433 + 0.4
	return orb.Bound{Min: orb.Point{p[0] - w, p[1] - h}, Max: orb.Point{p[0] + w, p[1] + h}}
}

// letterPlace finds the place of a cloud's letter: on its outline, rather at the
// upper right, on the map, over no label, mark or other letter.
func letterPlace(ring orb.Ring, view drawing.View, taken []orb.Bound) (best orb.Point, found bool) {
	corner := orb.Point{ring.Bound().Max[0], ring.Bound().Min[1]}
	least := math.Inf(1)
	n := max(8, int(planar.Length(ring)/2))
	places := evenly(ring, n)
	for i, p := range places {
		q := places[(i+1)%n]
		d := planar.Distance(p, q)
		if d == 0 {
			continue
		}
		for _, off := range []float64{2.6, 0, 4.4} {
			at := orb.Point{p[0] + (q[1]-p[1])/d*off, p[1] - (q[0]-p[0])/d*off}
			box := letterBox(at)
			if box.Min[0] < 0 || box.Min[1] < 0 || box.Max[0] > view.Width || box.Max[1] > view.Height {
				continue
			}
			cost := 0.02*planar.Distance(at, corner) + 0.2*math.Abs(off-2.6)
			for _, t := range taken {
				w := math.Min(box.Max[0], t.Max[0]) - math.Max(box.Min[0], t.Min[0])
				h := math.Min(box.Max[1], t.Max[1]) - math.Max(box.Min[1], t.Min[1])
				if w > 0 && h > 0 {
					cost += 1 + w*h
				}
			}
			if cost < least {
				best, least, found = at, cost, true
			}
		}
	}
	return best, found
}

// revisions is the drawing of the changes on one map: clouds and ghosts under
// the names, letters over them.
type revisions struct {
	s      *sheet
	view   drawing.View
	at     box // the map
	rings  []orb.Ring
	ghosts []ghost
	labels []orb.Bound
	taken  []orb.Bound // labels, marks and letters
}

// revised returns the changes to be drawn on a map, nil for none.
func (s *sheet) revised(list *drawing.List, view drawing.View, labels *drawing.Placement, p box) *revisions {
	if s.changes == nil || s.empty {
		return nil
	}
	r := &revisions{s: s, view: view, at: p}
	var parts []cloudPart
	parts, r.ghosts = s.changed(view, list, labels)
	r.rings = clouds(parts)
	for _, l := range labels.Labels {
		r.labels = append(r.labels, l.Box.Pad(0.2))
	}
	r.taken = slices.Clone(r.labels)
	for i := range list.Items {
		if it := &list.Items[i]; it.Kind == drawing.MarkKind {
			u := s.theme.Shown(it, view)
			r.taken = append(r.taken, orb.Bound{Min: u, Max: u}.Pad(1.8))
		}
	}
	return r
}

// under draws clouds, ghosts and the lines from old places.
func (r *revisions) under() {
	s, d := r.s, r.s.doc
	d.layer(cloudLayer)
	on := func(p orb.Point) orb.Point { return orb.Point{p[0] + r.at.x, p[1] + r.at.y} }
	casing := s.paper
	casing.A = 215
	for _, ring := range r.rings {
		runs := r.clearOfLabels(scallops(ring, cloudChord))
		for _, run := range runs {
			for i := range run {
				run[i] = on(run[i])
			}
			d.stroke(run, drawing.Pen{Width: cloudCasing, Colour: casing, Cap: drawing.Round})
		}
		for _, run := range runs {
			d.stroke(run, drawing.Pen{Width: cloudPen, Colour: s.ink, Cap: drawing.Round})
		}
	}
	for _, g := range r.ghosts {
		p := on(r.view.ToUnit(g.mark.At))
		rim := disc(p[0], p[1], ghostRadius)[0]
		d.stroke(rim, drawing.Pen{Width: ghostPen + 0.5, Colour: casing})
		d.stroke(rim, drawing.Pen{Width: ghostPen, Colour: s.ink, Dash: []float64{0.9, 0.7}})
		if g.to == nil {
			for _, k := range []float64{1, -1} {
				const a = ghostRadius * 0.75
				d.line(p[0]-a, p[1]-k*a, p[0]+a, p[1]+k*a, ghostPen+0.1, s.ink)
			}
			continue
		}
		r.lead(p, on(r.view.ToUnit(*g.to)), casing)
	}
}

// clearOfLabels parts a line into what runs beside the labels: it is broken where
// it would cross one.
func (r *revisions) clearOfLabels(path orb.Ring) (runs [][]orb.Point) {
	covered := func(p orb.Point) bool {
		return slices.ContainsFunc(r.labels, func(b orb.Bound) bool { return b.Contains(p) })
	}
	var run []orb.Point
	for _, p := range path {
		if !covered(p) {
			run = append(run, p)
			continue
		}
		if len(run) > 1 {
			runs = append(runs, run)
		}
		run = nil
	}
	if len(run) > 1 {
		runs = append(runs, run)
	}
	return runs
}

// lead draws the thin line from the rim of an old place to the mark at its new
// one, with a head.
func (r *revisions) lead(from, to orb.Point, casing color.NRGBA) {
	d, l := r.s.doc, planar.Distance(from, to)
	const mark = 1.9 // half a mark and some air
	if l < ghostRadius+mark {
		return
	}
	dx, dy := (to[0]-from[0])/l, (to[1]-from[1])/l
	a, b := orb.Point{from[0] + dx*ghostRadius, from[1] + dy*ghostRadius}, orb.Point{to[0] - dx*mark, to[1] - dy*mark}
	d.stroke([]orb.Point{a, b}, drawing.Pen{Width: ghostPen + 0.5, Colour: casing})
	d.stroke([]orb.Point{a, b}, drawing.Pen{Width: ghostPen, Colour: r.s.ink})
	head := orb.Ring{b, {b[0] - dx*1.3 - dy*0.5, b[1] - dy*1.3 + dx*0.5}, {b[0] - dx*1.3 + dy*0.5, b[1] - dy*1.3 - dx*0.5}, b}
	d.fill(rings(head), r.s.ink)
}

// over draws the letter of each cloud.
func (r *revisions) over() {
	r.s.doc.layer(cloudLayer)
	for _, ring := range r.rings {
		at, ok := letterPlace(ring, r.view, r.taken)
		if !ok {
			continue // the cloud lies beyond the map's edge but for a part
		}
		r.taken = append(r.taken, letterBox(at))
		r.s.letter(r.at.x+at[0], r.at.y+at[1], letterSide)
	}
}

// letter draws the triangle with the revision's letter round the middle x, y.
func (s *sheet) letter(x, y, side float64) { s.look.letter(s.doc, x, y, side, s.revisionLetter()) }

func (l look) letter(d *document, x, y, side float64, text string) {
	h := side * math.Sqrt(3) / 2
	tri := orb.Ring{{x, y - h/2}, {x + side/2, y + h/2}, {x - side/2, y + h/2}, {x, y - h/2}}
	d.fill(rings(tri), l.paper)
	d.stroke(tri, drawing.Pen{Width: cloudPen * math.Min(1, side/letterSide+0.2), Colour: l.ink})
	font := drawing.Font{Size: side * 0.4, Medium: true}
	if len([]rune(text)) > 1 {
		font.Size *= 0.8
	}
	d.centre(x, y-h/6, h*2/3, text, font, l.ink)
}
