package drawing

import (
	"math"
	"sort"
	"strconv"

	"github.com/paulmach/orb"

	"pleach/assets/fonts"
)

// capHeight is the height of capitals in em.
const capHeight = fonts.CapHeight

// Placed is a label where it stands, in unit coordinates.
type Placed struct {
	Item    int // index into List.Items; of a chainage figure, the line it belongs to
	Meaning Meaning
	State   State
	Text    string
	Box     orb.Bound
	Leader  []orb.Point // from the anchor to the box; nil where the label stands beside it
}

// Placement is where the labels of a list stand in a view.
type Placement struct {
	Labels []Placed
	// LeftOut are the labels (indices into List.Items) that found no room.
	LeftOut []int
}

// Hit returns the index of the item whose label lies under the unit point u.
func (p *Placement) Hit(u orb.Point) (item int, ok bool) {
	for i := len(p.Labels) - 1; i >= 0; i-- {
		if p.Labels[i].Box.Contains(u) {
			return p.Labels[i].Item, true
		}
	}
	return 0, false
}

// LabelSize returns the width and height in units of the tag round a text.
func (t *Theme) LabelSize(m Meaning, text string) (width, height float64) {
	st := t.Style(m)
	return fonts.Advance(st.Font.Medium, text)*st.Font.Size + 2*st.Tag.Pad, st.Font.Size*1.04 + st.Tag.Pad
}

// PlaceLabels finds a place for every label of list whose anchor is in the
// view, by priority and then by order in the list. No label covers a mark or
// another label; the boundary, gaps and links are avoided where that costs no
// more than a worse side. A label that finds no room beside its anchor is
// shortened, then moves off and gets a leader; one that need not (Must unset)
// or cannot is left out. No label or leader runs over one of the boxes keep, in
// unit coordinates.
// The same list and view give the same placement.
//
// The method is greedy over a few dozen candidate places a label, tested on a
// raster of what is taken. Its cells lie fixed on the ground, so that panning
// by whole pixels does not make labels jump.
func PlaceLabels(list *List, view View, theme *Theme, keep ...orb.Bound) *Placement {
	p := &placer{list: list, view: view, theme: theme, marks: map[orb.Point]float64{}, aside: map[[2]orb.Point]orb.Point{}}
	p.cell, p.ringStep = 2, 13
	if theme.Medium.Paper {
		p.cell, p.ringStep = 0.5, 4
	}
	p.ground()
	p.obstacles()
	for _, b := range keep {
		p.take(b)
	}
	want := p.wanted()
	sort.SliceStable(want, func(i, j int) bool { return want[i].priority > want[j].priority })
	out := &Placement{Labels: make([]Placed, 0, len(want))}
	for i := range want {
		if pl, ok := p.place(&want[i]); ok {
			out.Labels = append(out.Labels, pl)
		} else if want[i].whole {
			out.LeftOut = append(out.LeftOut, want[i].item)
		}
	}
	return out
}

const taken = 0x80 // a cell no label may cover; the lower bits count lines to be avoided

type placer struct {
	list     *List
	view     View
	theme    *Theme
	marks    map[orb.Point]float64      // half the size of the mark at a place, units
	aside    map[[2]orb.Point]orb.Point // where marks stand that are drawn beside a place, units
	cell     float64
	ringStep float64
	x0, y0   float64 // unit coordinates of the raster's corner
	nx, ny   int
	raster   []uint8
}

type wantedLabel struct {
	item     int
	meaning  Meaning
	state    State
	text     string
	short    string
	at       orb.Point // units
	path     []orb.Point
	clear    float64
	dir      float64 // preferred direction, degrees clockwise from up
	prefer   Prefer
	priority int8
	must     bool
	whole    bool // an item of its own, not a chainage figure
	room     float64
	w, h     float64
}

// ground lays the raster over the view and a margin round it.
func (p *placer) ground() {
	m := 40 * p.cell
	o := p.view.ToUnit(orb.Point{})
	fix := func(v, origin float64) float64 { return origin + math.Floor((v-origin)/p.cell)*p.cell }
	p.x0, p.y0 = fix(-m, o[0]), fix(-m, o[1])
	p.nx = int(math.Ceil((p.view.Width+m-p.x0)/p.cell)) + 1
	p.ny = int(math.Ceil((p.view.Height+m-p.y0)/p.cell)) + 1
	p.raster = make([]uint8, p.nx*p.ny)
}

func (p *placer) inView(u orb.Point) bool {
	return u[0] >= 0 && u[1] >= 0 && u[0] <= p.view.Width && u[1] <= p.view.Height
}

// cells returns the range of cells a box touches, false if it leaves the raster.
func (p *placer) cells(b orb.Bound) (i0, j0, i1, j1 int, inside bool) {
	f := func(v, o float64) int {
		switch q := (v - o) / p.cell; {
		case !(q >= 0):
			return -1
		case q > 1e6:
			return 1e6
		default:
			return int(q)
		}
	}
	i0, j0, i1, j1 = f(b.Min[0], p.x0), f(b.Min[1], p.y0), f(b.Max[0], p.x0), f(b.Max[1], p.y0)
	inside = i0 >= 0 && j0 >= 0 && i1 < p.nx && j1 < p.ny
	return max(i0, 0), max(j0, 0), min(i1, p.nx-1), min(j1, p.ny-1), inside
}

func (p *placer) take(b orb.Bound) {
	i0, j0, i1, j1, _ := p.cells(b)
	for j := j0; j <= j1; j++ {
		row := p.raster[j*p.nx:]
		for i := i0; i <= i1; i++ {
			row[i] |= taken
		}
	}
}

// cost is the number of line cells under a box, and false where it is taken.
func (p *placer) cost(b orb.Bound) (int, bool) {
	i0, j0, i1, j1, in := p.cells(b)
	if !in {
		return 0, false
	}
	n := 0
	for j := j0; j <= j1; j++ {
		for _, v := range p.raster[j*p.nx+i0 : j*p.nx+i1+1] {
			if v&taken != 0 {
				return 0, false
			}
			n += int(v)
		}
	}
	return n, true
}

// soften marks the cells along a line as better left free.
func (p *placer) soften(path []orb.Point, weight uint8) {
	x1, y1 := p.x0+float64(p.nx)*p.cell, p.y0+float64(p.ny)*p.cell
	for k := 1; k < len(path); k++ {
		a, b := path[k-1], path[k]
		t0, t1, ok := clipSegment(a, b, p.x0, p.y0, x1, y1)
		if !ok {
			continue
		}
		l := math.Hypot(b[0]-a[0], b[1]-a[1])
		n := int((t1-t0)*l/p.cell*0.5) + 1
		for i := 0; i <= n; i++ {
			t := t0 + (t1-t0)*float64(i)/float64(n)
			x := int((a[0] + t*(b[0]-a[0]) - p.x0) / p.cell)
			y := int((a[1] + t*(b[1]-a[1]) - p.y0) / p.cell)
			if x >= 0 && y >= 0 && x < p.nx && y < p.ny {
				if c := &p.raster[y*p.nx+x]; *c&taken == 0 && *c < weight {
					*c = weight
				}
			}
		}
	}
}

// obstacles enters marks and the marks at mid-length of links as taken, lines
// as better left free.
func (p *placer) obstacles() {
	r := &renderer{view: p.view, theme: p.theme, window: p.view.Bound(), eps: 1}
	var path []orb.Point
	for i := range p.list.Items {
		it := &p.list.Items[i]
		if !r.shows(it.bound) {
			continue
		}
		st := p.theme.Style(it.Meaning)
		switch {
		case it.Kind == MarkKind && it.Layer != HandleLayer:
			size := markSize(st, p.view, p.theme)
			half := size/2 + p.cell/2
			around := func(u orb.Point, w float64) {
				p.take(orb.Bound{Min: orb.Point{u[0] - w, u[1] - w}, Max: orb.Point{u[0] + w, u[1] + w}})
			}
			u := shownAt(p.view, it.At, it.Aside, size)
			if it.Aside != (orb.Point{}) {
				p.aside[[2]orb.Point{it.At, it.Aside}] = u
				p.soften([]orb.Point{p.view.ToUnit(it.At), u}, 12)
			}
			if it.Meaning == Gate {
				// Its two strokes; between them a number may stand.
				sin, cos := math.Sincos(it.Bearing * math.Pi / 180)
				h := size * gateHalf(it, size, p.view)
				around(orb.Point{u[0] - h*cos, u[1] - h*sin}, size*0.4)
				around(orb.Point{u[0] + h*cos, u[1] + h*sin}, size*0.4)
			} else {
				around(u, half)
			}
			p.marks[it.At] = math.Max(p.marks[it.At], half)
		case it.Kind == LineKind && it.Layer >= LinkLayer:
			weight := uint8(0)
			switch it.Meaning {
			case Gap, GapAccepted:
				weight = 12
			case Boundary:
				weight = 3
			case LinkHeld, LinkThin, LinkFails:
				weight = 2
			default:
				if it.Layer == HandleLayer {
					weight = 6
				}
			}
			if weight == 0 {
				continue
			}
			path = r.project(path[:0], it.Line)
			p.soften(path, weight)
			if st.Middle != NoSymbol {
				m, _ := alongUnits(path, 0.5)
				h := st.Size * 0.6
				p.take(orb.Bound{Min: orb.Point{m[0] - h, m[1] - h}, Max: orb.Point{m[0] + h, m[1] + h}})
			}
		}
	}
}

func (p *placer) wanted() []wantedLabel {
	var out []wantedLabel
	for i := range p.list.Items {
		it := &p.list.Items[i]
		if it.Kind == LineKind && it.Meaning == ChainageTick {
			out = p.figures(out, i, it)
			continue
		}
		if it.Kind != LabelKind || it.Text == "" {
			continue
		}
		w := wantedLabel{item: i, meaning: it.Meaning, state: it.State, text: it.Text, short: it.Short, prefer: it.Prefer,
			dir: 90, priority: it.Priority, must: it.Must, whole: true, room: math.Inf(1)}
		switch it.Prefer {
		case OnLine:
			if len(it.Line) < 2 {
				continue
			}
			r := renderer{view: p.view, eps: 0}
			w.path = r.project(nil, it.Line)
			if w.path = p.visible(w.path); w.path == nil {
				continue
			}
		case Outward:
			w.dir = it.Bearing
			fallthrough
		default:
			w.at = p.view.ToUnit(it.At)
			if !p.inView(w.at) {
				continue
			}
			if u, ok := p.aside[[2]orb.Point{it.At, it.Aside}]; ok {
				w.at = u
			}
			w.clear = p.marks[it.At] + p.theme.Style(it.Meaning).Loose
			if it.Length > 0 {
				w.room = it.Length / p.view.MetresPerUnit
			}
		}
		w.w, w.h = p.theme.LabelSize(w.meaning, w.text)
		out = append(out, w)
	}
	return out
}

// visible returns path if its middle is in view, else the longest segment's
// part that is, nil if none.
func (p *placer) visible(path []orb.Point) []orb.Point {
	if m, _ := alongUnits(path, 0.5); p.inView(m) {
		return path
	}
	best, length := []orb.Point(nil), 0.0
	for i := 1; i < len(path); i++ {
		a, b := path[i-1], path[i]
		t0, t1, ok := clipSegment(a, b, 0, 0, p.view.Width, p.view.Height)
		if l := (t1 - t0) * math.Hypot(b[0]-a[0], b[1]-a[1]); ok && l > length {
			length = l
			at := func(t float64) orb.Point { return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])} }
			best = []orb.Point{at(t0), at(t1)}
		}
	}
	return best
}

// figures wants the numbers along a chainage line.
func (p *placer) figures(out []wantedLabel, i int, it *Item) []wantedLabel {
	_, big := chainageSteps(p.view.MetresPerUnit, p.theme.Medium)
	r := renderer{view: p.view, theme: p.theme}
	path := r.project(nil, it.Line)
	k := 1 / p.view.MetresPerUnit
	first := math.Ceil(it.Length/big)*big - it.Length
	loose := p.theme.Style(ChainageFigure).Loose
	r.every(path, first*k, big*k, func(at, dir orb.Point, s float64) {
		if !p.inView(at) {
			return
		}
		text := strconv.FormatFloat(roundTo(it.Length+s/k, big), 'f', 0, 64)
		outward := math.Atan2(dir[0], -dir[1])*180/math.Pi + 90*float64(it.Inside)
		if it.Inside == Neither {
			outward += 90
		}
		w, h := p.theme.LabelSize(ChainageFigure, text)
		out = append(out, wantedLabel{item: i, meaning: ChainageFigure, text: text, at: at, dir: outward, prefer: Outward,
			clear: loose, priority: -10, room: math.Inf(1), w: w, h: h})
	})
	return out
}

// place finds the cheapest free place for w and takes it.
func (p *placer) place(w *wantedLabel) (Placed, bool) {
	pl := Placed{Item: w.item, Meaning: w.meaning, State: w.state}
	st := p.theme.Style(w.meaning)
	best, found := math.Inf(1), false
	try := func(c orb.Point, base float64, leader bool) {
		if base >= best {
			return
		}
		b := orb.Bound{Min: orb.Point{c[0] - w.w/2, c[1] - w.h/2}, Max: orb.Point{c[0] + w.w/2, c[1] + w.h/2}}
		if (p.theme.Medium.Paper || w.must) &&
			(b.Min[0] < 0 || b.Min[1] < 0 || b.Max[0] > p.view.Width || b.Max[1] > p.view.Height) {
			return
		}
		n, free := p.cost(b)
		total := base + float64(n)*0.25
		if !free || total >= best {
			return
		}
		var path []orb.Point
		if leader {
			path = []orb.Point{w.at, nearest(b, w.at)}
			if p.crosses(path) {
				return
			}
		}
		best, found = total, true
		pl.Box, pl.Leader = b, path
	}
	// shorten goes on with the short text, if there is one.
	shorten := func() bool {
		if found || w.short == "" || w.short == w.text {
			return false
		}
		w.text = w.short
		w.w, w.h = p.theme.LabelSize(w.meaning, w.text)
		return true
	}
	// around tries n directions at a distance, those nearest to dir first.
	around := func(dir, dist, base float64, n int, leader bool) {
		for i := 0; i < n; i++ {
			turn := float64((i+1)/2) * 360 / float64(n)
			cost := base + turn/30
			if cost >= best {
				return
			}
			if i%2 == 1 {
				turn = -turn
			}
			sin, cos := math.Sincos((dir + turn) * math.Pi / 180)
			// The box touches the circle of that distance with a side or a corner.
			c := orb.Point{w.at[0] + sin*dist + clamp(sin*1.5, -1, 1)*w.w/2, w.at[1] - cos*dist - clamp(cos*1.5, -1, 1)*w.h/2}
			try(c, cost, leader)
		}
	}
	switch {
	case w.prefer == OnLine:
		length := 0.0
		for i := 1; i < len(w.path); i++ {
			length += math.Hypot(w.path[i][0]-w.path[i-1][0], w.path[i][1]-w.path[i-1][1])
		}
		if length < w.w*1.6 && !w.must {
			return pl, false
		}
		for i, t := range []float64{0.5, 0.44, 0.56, 0.38, 0.62, 0.31, 0.69, 0.24, 0.76} {
			w.at, _ = alongUnits(w.path, t)
			try(w.at, float64(i), false)
		}
		w.at, _ = alongUnits(w.path, 0.5)
	case w.prefer == Centred:
		if w.room >= w.w || shorten() && w.room >= w.w {
			try(w.at, 0, false)
			for i, d := range []float64{-1, 1, -2, 2} {
				try(orb.Point{w.at[0], w.at[1] + d*w.h}, float64(i+1), false)
			}
		} else if !w.must {
			return pl, false
		}
	case st.Tag.Flag:
		for k := 0; k < 4 && !found; k++ {
			around(w.dir, w.clear*(1+0.7*float64(k)), 5*float64(k), 12, true)
		}
	case w.meaning == ChainageFigure:
		for _, turn := range []float64{0, -30, 30} {
			sin, cos := math.Sincos((w.dir + turn) * math.Pi / 180)
			try(orb.Point{w.at[0] + sin*w.clear + clamp(sin*1.5, -1, 1)*w.w/2, w.at[1] - cos*w.clear - clamp(cos*1.5, -1, 1)*w.h/2}, math.Abs(turn)/30, false)
		}
	default:
		around(w.dir, w.clear, 0, 8, false)
		if shorten() {
			around(w.dir, w.clear, 0, 8, false)
		}
		// A place across a gap or along the line is worse than one a little off.
		around(w.dir, w.clear+p.ringStep*0.6, 9, 16, true)
	}
	if !found && w.must {
		for k := 1; k <= 9 && !found; k++ {
			around(w.dir, w.clear+p.ringStep*float64(k), 20*float64(k), 24, true)
		}
	}
	if !found {
		return pl, false
	}
	pl.Text = w.text
	p.take(pl.Box)
	return pl, true
}

// crosses reports whether a leader runs over something taken, once it has
// left the mark it starts on.
func (p *placer) crosses(path []orb.Point) bool {
	a, b := path[0], path[1]
	l := math.Hypot(b[0]-a[0], b[1]-a[1])
	left := false
	for s := 0.0; s < l; s += p.cell {
		x := int((a[0] + (b[0]-a[0])*s/l - p.x0) / p.cell)
		y := int((a[1] + (b[1]-a[1])*s/l - p.y0) / p.cell)
		if x < 0 || y < 0 || x >= p.nx || y >= p.ny {
			return true
		}
		on := p.raster[y*p.nx+x]&taken != 0
		if on && left {
			return true
		}
		left = left || !on
	}
	return false
}

func nearest(b orb.Bound, u orb.Point) orb.Point {
	return orb.Point{clamp(u[0], b.Min[0], b.Max[0]), clamp(u[1], b.Min[1], b.Max[1])}
}
