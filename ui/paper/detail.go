package paper

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"pleach/ui/drawing"
)

// When devices crowd, and how they are drawn larger. Chosen, save as stated;
// lengths are millimetres on paper but for samePost.
const (
	closeMarks  = 3.4  // marks nearer than this touch
	clearMarks  = 6.0  // and stand clear of each other at this, on a detail
	crowdReach  = 16.0 // crowded devices nearer than this share a detail
	samePost    = 0.5  // metres: nearer, two devices are on one post, and no scale parts them
	detailRoom  = 14.0 // round the devices of a detail, for their names
	detailHead  = 6.0  // the line over a detail: its letter and scale
	detailFoot  = 8.5  // its scale bar
	detailGap   = 6.0  // between details
	leastLarger = 2    // times the scale of the layout
)

// detailSizes are the least sizes of the map of a detail: the first at which all stand
// on one page without frames that meet, else the last. Three of that stand side by
// side on A4. Chosen.
var detailSizes = []orb.Point{{130, 122}, {110, 90}, {85, 62}}

// leastDetail is the last of them.
var leastDetail = detailSizes[len(detailSizes)-1]

// detailScales are the scales of details, smallest first.
//
// Source: ISO 5455:1979, clause 5.
var detailScales = []int{5000, 2000, 1000, 500, 200, 100, 50, 20}

const (
	detailName  = "detail"
	detailTitle = "Details"
)

// A detail is a part of the layout drawn larger.
type detail struct {
	letter  string
	ratio   int
	ground  orb.Bound
	devices []standing // that crowd
}

// standing is a device where it stands on the site grid.
type standing struct {
	id string
	at orb.Point
}

// A DetailInfo is a detail as it was drawn.
type DetailInfo struct {
	Letter string
	Scale  int       // 1 to this
	Sheet  int       // its number in the set
	Map    orb.Bound // millimetres from the upper left of the sheet, y down
	View   drawing.View
	Bar    Bar
}

// stands are the devices, in the order they are drawn.
func (s *sheet) stands() (out []standing) {
	for i := range s.list.Items {
		if it := &s.list.Items[i]; it.Layer == drawing.DeviceLayer && it.Kind == drawing.MarkKind && it.ID != "" && s.in.Plan.Feature(it.ID) != nil &&
			!slices.ContainsFunc(out, func(o standing) bool { return o.id == it.ID }) {
			out = append(out, standing{it.ID, it.At})
		}
	}
	return out
}

// nameless are the ids of devices within own whose names find no room on a map.
func (s *sheet) nameless(m mapping, own orb.Bound) (ids []string) {
	for _, i := range s.placeLabels(m).LeftOut {
		if it := &s.list.Items[i]; it.Meaning == drawing.DeviceName && own.Contains(it.At) {
			ids = append(ids, it.ID)
		}
	}
	return ids
}

// crowd says whether two devices are nearer than so many millimetres at 1:ratio,
// though they are not on one post.
func crowd(a, b standing, ratio int, least float64) bool {
	d := planar.Distance(a.at, b.at)
	return d >= samePost && d*1000/float64(ratio) < least
}

// layoutRatio is the scale at which the layout shows what it shows.
func (s *sheet) layoutRatio() int {
	if s.tiled != nil {
		return s.tiled.ratio
	}
	return s.ratio
}

// crowded are the devices whose marks touch on the layout or whose names find no
// room there.
func (s *sheet) crowded() (out []standing) {
	flagged := map[string]bool{}
	maps := []mapping{{list: s.list, view: s.view()}}
	own := []orb.Bound{s.view().Bound()}
	if s.tiled != nil {
		maps, own = nil, nil
		for i := range s.tiled.views {
			maps, own = append(maps, s.tileMap(i)), append(own, s.tiled.own(i))
		}
	}
	for i, m := range maps {
		for _, id := range s.nameless(m, own[i]) {
			flagged[id] = true
		}
	}
	all := s.stands()
	for i, a := range all {
		for _, b := range all[:i] {
			if crowd(a, b, s.layoutRatio(), closeMarks) {
				flagged[a.id], flagged[b.id] = true, true
			}
		}
	}
	for _, a := range all {
		if flagged[a.id] {
			out = append(out, a)
		}
	}
	return out
}

// groups gathers devices that are no farther apart than reach, one from the next.
func groups(all []standing, reach float64) (out [][]standing) {
	left := slices.Clone(all)
	for len(left) > 0 {
		g := []standing{left[0]}
		left = left[1:]
		for k := 0; k < len(g); k++ {
			rest := left[:0]
			for _, o := range left {
				if planar.Distance(g[k].at, o.at) <= reach {
					g = append(g, o)
				} else {
					rest = append(rest, o)
				}
			}
			left = rest
		}
		out = append(out, g)
	}
	return out
}

// findDetails finds what crowds on the layout and how it is drawn larger, in the
// order along the boundaries.
func (s *sheet) findDetails() []detail {
	if s.empty {
		return nil
	}
	widest, highest := s.detailPage()
	var out []detail
	for _, g := range groups(s.crowded(), crowdReach*float64(s.layoutRatio())/1000) {
		out = append(out, s.enlarge(g, widest, highest)...)
	}
	if out == nil {
		return nil
	}
	// Details that overlap are one where that can be.
	for merged := true; merged; {
		merged = false
		for i := range out {
			for k := i + 1; k < len(out) && !merged; k++ {
				if !out[i].ground.Intersects(out[k].ground) {
					continue
				}
				if both := s.enlarge(append(slices.Clone(out[i].devices), out[k].devices...), widest, highest); len(both) == 1 {
					out[i], merged = both[0], true
					out = slices.Delete(out, k, k+1)
				}
			}
			if merged {
				break
			}
		}
	}
	type order struct {
		boundary int
		chainage float64
	}
	along := func(d detail) (o order) {
		near := math.Inf(1)
		for i := range s.in.Scene.Boundaries {
			if c, far := s.in.Scene.Boundaries[i].Nearest(d.ground.Center()); far < near {
				near, o = far, order{i, c}
			}
		}
		return o
	}
	slices.SortStableFunc(out, func(a, b detail) int {
		p, q := along(a), along(b)
		return cmp.Or(cmp.Compare(p.boundary, q.boundary), cmp.Compare(p.chainage, q.chainage))
	})
	out = s.roomy(out)
	for i := range out {
		out[i].letter = letters(i)
	}
	return out
}

// letters counts A to Z, then AA, AB and so on.
func letters(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return letters(i/26-1) + string(rune('A'+i%26))
}

// enlarge returns the details that show a group of devices: one where it fits a
// page at a scale at which nothing crowds, else one for each part of it.
func (s *sheet) enlarge(g []standing, widest, highest float64) []detail {
	var best *detail
	parts := false
	for _, ratio := range detailScales {
		if ratio*leastLarger > s.layoutRatio() {
			continue
		}
		d := frame(g, ratio, leastDetail)
		w, h := d.size()
		if w > widest+1e-9 || h > highest+1e-9 {
			parts = true
			break
		}
		best = &d
		if s.clears(d) {
			return []detail{d}
		}
	}
	if parts && len(g) > 1 {
		b := bounding(g)
		axis := 0
		if b.Max[1]-b.Min[1] > b.Max[0]-b.Min[0] {
			axis = 1
		}
		g = slices.Clone(g)
		slices.SortStableFunc(g, func(a, b standing) int { return cmp.Compare(a.at[axis], b.at[axis]) })
		// At the widest gap near the middle.
		cut, gap := len(g)/2, -1.0
		for i := max(1, len(g)/4); i <= min(len(g)-1, len(g)-len(g)/4); i++ {
			if d := g[i].at[axis] - g[i-1].at[axis]; d > gap+1e-9 {
				cut, gap = i, d
			}
		}
		return append(s.enlarge(g[:cut], widest, highest), s.enlarge(g[cut:], widest, highest)...)
	}
	if best == nil {
		return nil // the layout is as large as can be
	}
	return []detail{*best}
}

func bounding(g []standing) orb.Bound {
	b := orb.Bound{Min: g[0].at, Max: g[0].at}
	for _, o := range g {
		b = b.Extend(o.at)
	}
	return b
}

// frame is a detail of a group at 1:ratio, its map of at least a size.
func frame(g []standing, ratio int, least orb.Point) detail {
	mpu := float64(ratio) / 1000
	b := bounding(g).Pad(detailRoom * mpu)
	for i, v := range least {
		if more := v*mpu - (b.Max[i] - b.Min[i]); more > 0 {
			b.Min[i], b.Max[i] = b.Min[i]-more/2, b.Max[i]+more/2
		}
	}
	return detail{ratio: ratio, ground: b, devices: g}
}

// roomy returns the details with maps as large as one page holds.
func (s *sheet) roomy(details []detail) []detail {
	for _, size := range detailSizes {
		out := make([]detail, len(details))
		for i, d := range details {
			out[i] = frame(d.devices, d.ratio, size)
		}
		meet := false
		for i := range out {
			for k := range i {
				meet = meet || out[i].ground.Intersects(out[k].ground)
			}
		}
		if f := s.detailFlow(""); !meet && f.pack(s.detailIntro(), out) == 1 {
			return out
		}
	}
	return details
}

// size is that of its map, millimetres.
func (d detail) size() (w, h float64) {
	mpu := float64(d.ratio) / 1000
	return (d.ground.Max[0] - d.ground.Min[0]) / mpu, (d.ground.Max[1] - d.ground.Min[1]) / mpu
}

func (d detail) view() drawing.View {
	w, h := d.size()
	return drawing.View{Centre: d.ground.Center(), MetresPerUnit: float64(d.ratio) / 1000, Width: w, Height: h}
}

// clears says whether the devices of a detail have their names and stand apart.
func (s *sheet) clears(d detail) bool {
	view := d.view()
	none := s.nameless(mapping{list: s.list, view: view, keep: []orb.Bound{}}, d.ground)
	for i, a := range d.devices {
		if slices.Contains(none, a.id) {
			return false
		}
		for _, b := range d.devices[:i] {
			if crowd(a, b, d.ratio, clearMarks) {
				return false
			}
		}
	}
	return true
}

// detailFlow begins the sheets of details.
func (s *sheet) detailFlow(title string) *flow { return s.flow(title, true) }

// detailPage is the room for the map of one detail, millimetres.
func (s *sheet) detailPage() (w, h float64) {
	f := s.detailFlow("")
	return f.width(), f.room() - s.detailIntro().height(f.width()) - blockGap - detailHead - detailFoot
}

func (s *sheet) detailIntro() prose {
	text := fmt.Sprintf("Where marks or names have no room on the layout at %s.", ratioText(s.layoutRatio()))
	if s.laid {
		text += " Each part is marked there by a frame with the same letter."
	}
	if len(s.details) == 0 {
		text = fmt.Sprintf("No details are needed: on the layout at %s every device has its name and stands clear of the next.", ratioText(s.layoutRatio()))
		if s.empty {
			text = "No details are needed: the plan has no devices."
		}
	}
	return prose{s.look, []string{text}}
}

// detailSheets are the sheets of details, as many on a page as it takes.
func (s *sheet) detailSheets(title string) ([]leaf, error) {
	f := s.detailFlow(title)
	f.pack(s.detailIntro(), s.details)
	return f.leaves, nil
}

// pack sets details side by side in rows, under what is said of them, and returns
// the number of pages.
func (f *flow) pack(intro block, details []detail) int {
	f.add(intro)
	top, x, tall := f.y, f.x(), 0.0
	for i := range details {
		d := &details[i]
		w, h := d.size()
		h += detailHead + detailFoot
		if x > f.x() && x+w > f.x()+f.width()+1e-9 {
			x, top, tall = f.x(), top+tall+detailGap, 0
		}
		if top+h > f.bottom()+1e-9 && top > f.bare.layout.frame.y+pad+1e-9 {
			f.turn()
			x, top, tall = f.x(), f.y, 0
		}
		p := f.page()
		p.insets = append(p.insets, inset{d, x, top})
		x, tall = x+w+detailGap, math.Max(tall, h)
	}
	return len(f.leaves)
}

// An inset is a detail where it stands on its page.
type inset struct {
	*detail
	x, y float64
}

// drawInset draws a detail on sheet n.
func (s *sheet) drawInset(in inset, n int) error {
	d := s.doc
	w, h := in.size()
	half := tagBox(orb.Point{}, in.letter).Max
	at := box{in.x, in.y, w, h}
	s.drawTag(d, at, tagBox(orb.Point{half[0], half[1]}, in.letter), in.letter, true)
	d.left(in.x+2*half[0]+2, in.y, 2*half[1], ratioText(in.ratio), s.head, s.ink)
	said := s.whereabouts(in.detail)
	start := in.x + 2*half[0] + 2 + width(ratioText(in.ratio), sizeHead, true) + 3
	if l := wrap(said, in.x+w-start-7, sizeBody, false, 1); l != nil {
		d.left(start, in.y, 2*half[1], l[0], s.body, s.soft)
	}
	s.northTick(d, in.x+w-1.5, in.y)
	at.y += detailHead
	m := mapping{list: s.list, view: in.view(), at: at, name: "detail " + in.letter, keep: []orb.Bound{}}
	if _, err := s.drawMap(m); err != nil {
		return err
	}
	d.stroke(rect(at.x, at.y, at.w, at.h), drawing.Pen{Width: framePen, Colour: s.ink})
	bar := s.drawBar(d, at.x, at.y+at.h+1.6, in.ratio, math.Min(w-12, 60))
	s.drawn = append(s.drawn, DetailInfo{Letter: in.letter, Scale: in.ratio, Sheet: n, Map: mapBound(at), View: m.view, Bar: bar})
	return nil
}

// northTick is a small arrow to true north, its right edge near x.
func (s *sheet) northTick(d *document, x, y float64) {
	d.left(x-4.6, y, 4.6, "N", s.strong, s.ink)
	d.line(x, y+0.6, x, y+4.4, 0.25, s.ink)
	d.fill([]orb.Ring{{{x, y}, {x - 0.9, y + 2}, {x + 0.9, y + 2}, {x, y}}}, s.ink)
}

// whereabouts says which stretch of which boundary a detail lies at.
func (s *sheet) whereabouts(d *detail) string {
	near, said := math.Inf(1), ""
	for i := range s.in.Scene.Boundaries {
		b := &s.in.Scene.Boundaries[i]
		if c, far := b.Nearest(d.ground.Center()); far < near {
			near, said = far, "about "+unit(c, 0, "m")+" along "+title(s.in.Plan, b.Feature.ID)
		}
	}
	return said
}

// A detailFrame is the outline of a detail on a map, with its letter.
type detailFrame struct {
	letter string
	box    orb.Bound
	tag    orb.Bound
}

// detailFrames are those that show on a map.
func (s *sheet) detailFrames(view drawing.View) (out []detailFrame) {
	window := orb.Bound{Max: orb.Point{view.Width, view.Height}}
	for _, d := range s.details {
		f := detailFrame{letter: d.letter, box: onMap(view, d.ground)}
		if !f.box.Intersects(window.Pad(-1)) {
			continue
		}
		half := tagBox(orb.Point{}, d.letter).Max
		inside := window.Pad(-0.6)
		least := math.Inf(1)
		for n, v := range []orb.Point{{1, -1}, {-1, -1}, {1, 1}, {-1, 1}} {
			// Outside the frame, at its corner, and on the map.
			p := orb.Point{f.box.Center()[0] + v[0]*((f.box.Max[0]-f.box.Min[0])/2-half[0]), f.box.Center()[1] + v[1]*((f.box.Max[1]-f.box.Min[1])/2+half[1])}
			p[0] = math.Max(inside.Min[0]+half[0], math.Min(inside.Max[0]-half[0], p[0]))
			p[1] = math.Max(inside.Min[1]+half[1], math.Min(inside.Max[1]-half[1], p[1]))
			b := tagBox(p, d.letter)
			cost := float64(n)*0.3 + s.crowding(view, b)
			for _, o := range out {
				if o.tag.Intersects(b) {
					cost += 20
				}
			}
			if cost < least {
				least, f.tag = cost, b
			}
		}
		out = append(out, f)
	}
	return out
}

func (l look) detailPen() drawing.Pen { return drawing.Pen{Width: 0.4, Colour: l.ink} }

func (s *sheet) drawFrames(d *document, at box, frames []detailFrame) {
	for _, f := range frames {
		r := rect(at.x+f.box.Min[0], at.y+f.box.Min[1], f.box.Max[0]-f.box.Min[0], f.box.Max[1]-f.box.Min[1])
		d.stroke(r, drawing.Pen{Width: 1, Colour: s.paper})
		d.stroke(r, s.detailPen())
	}
}

func (s *sheet) drawFrameTags(d *document, at box, frames []detailFrame) {
	for _, f := range frames {
		s.drawTag(d, at, f.tag, f.letter, true)
	}
}
