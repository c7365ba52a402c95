package drawing

import (
	"math"
	"sort"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// Hit is an item found at a place.
type Hit struct {
	Item     int // index into List.Items
	Meaning  Meaning
	ID       string
	Part     string
	Index    int
	Distance float64 // metres from the place; 0 within a mark or an area
}

// Hit returns what is drawn within tol metres of a place and names a feature,
// the likeliest to be meant first: handles, then marks, then lines, then what the
// place lies on of assets, buildings and obstacles, then other areas, then areas it
// lies beside. Results that are laid over the site as lines, links and ways in, count
// as lines only within onInk of them, else after assets, buildings and obstacles:
// they cross over what was meant. Among marks and lines of one kind the nearest comes
// first, among areas the smallest; at a tie the topmost. metresPerUnit is the scale, as marks have
// their size on the medium; the marks' size is that of the light screen.
// Labels are found by Placement.Hit.
func (l *List) Hit(at orb.Point, tol, metresPerUnit float64) []Hit {
	l.once.Do(func() { l.index = newIndex(l.Items) })
	reach := tol + maxMark*(0.5+l.index.aside)*metresPerUnit
	type scored struct {
		Hit
		class int
		score float64
	}
	var found []scored
	l.index.search(orb.Bound{Min: orb.Point{at[0] - reach, at[1] - reach}, Max: orb.Point{at[0] + reach, at[1] + reach}}, func(i int) {
		it := &l.Items[i]
		if it.ID == "" || it.Kind == LabelKind {
			return
		}
		h := Hit{Item: i, Meaning: it.Meaning, ID: it.ID, Part: it.Part, Index: it.Index}
		switch it.Kind {
		case MarkKind:
			size := screenTheme.Style(it.Meaning).Size * metresPerUnit * shrink(metresPerUnit)
			half := size / 2
			if it.Meaning == Gate {
				half = math.Max(half, it.Length/2)
			}
			d := math.Hypot(at[0]-it.At[0]-it.Aside[0]*size, at[1]-it.At[1]-it.Aside[1]*size)
			h.Distance = math.Max(0, d-half)
			if h.Distance <= tol {
				class := hitMark
				if it.Layer == HandleLayer {
					class = hitHandle
				}
				found = append(found, scored{h, class, d})
			}
		case LineKind:
			st := screenTheme.Style(it.Meaning)
			d := math.Max(0, planar.DistanceFrom(it.Line, at)-st.Pen.Width/2*metresPerUnit)
			if h.Distance = d; d <= tol {
				class := hitLine
				if over(it.Meaning) && d > onInk*metresPerUnit {
					class = hitLineOver
				}
				found = append(found, scored{h, class, d})
			}
		case AreaKind:
			if planar.MultiPolygonContains(it.Area, at) {
				class := hitArea
				if it.Meaning == Asset || it.Meaning == Building || it.Meaning == Obstacle {
					class = hitBody
				}
				found = append(found, scored{h, class, math.Abs(planar.Area(it.Area))})
			} else if d := distanceToRings(it.Area, at); d <= tol {
				h.Distance = d
				found = append(found, scored{h, hitEdge, d})
			}
		}
	})
	sort.Slice(found, func(i, j int) bool {
		a, b := &found[i], &found[j]
		if a.class != b.class {
			return a.class < b.class
		}
		if a.score != b.score {
			return a.score < b.score
		}
		return a.Item > b.Item
	})
	out := make([]Hit, len(found))
	for i := range found {
		out[i] = found[i].Hit
	}
	return out
}

// The classes of hits, the likeliest to be meant first.
const (
	hitHandle = iota
	hitMark
	hitLine
	hitBody     // on a thing
	hitLineOver // beside a line that is laid over things
	hitArea
	hitEdge
)

// onInk is how many units beside a line that is laid over the site the pointer is
// still taken to be on it. Chosen: half the width of a link's casing.
const onInk = 2.0

// over reports whether a line is laid over the site and does not belong to it.
func over(m Meaning) bool {
	switch m {
	case LinkHeld, LinkThin, LinkFails, WayIn, WayInSeen:
		return true
	}
	return false
}

// screenTheme gives marks their size for picking; it is not changed.
var screenTheme = NewTheme(Medium{})

// maxMark is the size of the largest mark on the screen, units.
var maxMark = func() (m float64) {
	for i := range screenTheme.styles {
		m = math.Max(m, screenTheme.styles[i].Size)
	}
	return m
}()

func distanceToRings(area orb.MultiPolygon, at orb.Point) float64 {
	d := math.Inf(1)
	for _, poly := range area {
		for _, ring := range poly {
			d = math.Min(d, planar.DistanceFrom(orb.LineString(ring), at))
		}
	}
	return d
}

// index is a tree of boxes over the items, packed by sorting into slices: x
// first, then y.
type index struct {
	boxes []orb.Bound // leaves first, then each level above; the last is the root
	item  []int       // of the leaves
	first []int       // of the inner nodes: first child
	count []int
	aside float64 // how far a mark stands beside its place at most, sizes of marks
}

const fan = 8

func newIndex(items []Item) *index {
	x := &index{}
	var order []int
	for i := range items {
		if items[i].ID != "" && items[i].Kind != LabelKind {
			order = append(order, i)
			x.aside = math.Max(x.aside, math.Hypot(items[i].Aside[0], items[i].Aside[1]))
		}
	}
	if len(order) == 0 {
		return x
	}
	mid := func(i, axis int) float64 { return items[i].bound.Min[axis] + items[i].bound.Max[axis] }
	sort.SliceStable(order, func(a, b int) bool { return mid(order[a], 0) < mid(order[b], 0) })
	slice := fan * int(math.Ceil(math.Sqrt(float64(len(order))/fan)))
	for from := 0; from < len(order); from += slice {
		s := order[from:min(from+slice, len(order))]
		sort.SliceStable(s, func(a, b int) bool { return mid(s[a], 1) < mid(s[b], 1) })
	}
	for _, i := range order {
		b := items[i].bound
		if items[i].Meaning == Gate {
			b = b.Pad(items[i].Length / 2)
		}
		x.boxes = append(x.boxes, b)
		x.item = append(x.item, i)
	}
	for from, to := 0, len(x.boxes); to-from > 1; {
		for k := from; k < to; k += fan {
			n := min(fan, to-k)
			b := x.boxes[k]
			for _, c := range x.boxes[k : k+n] {
				b = b.Union(c)
			}
			x.boxes = append(x.boxes, b)
			x.first, x.count = append(x.first, k), append(x.count, n)
		}
		from, to = to, len(x.boxes)
	}
	return x
}

func (x *index) search(b orb.Bound, f func(item int)) {
	if len(x.boxes) == 0 {
		return
	}
	leaves := len(x.item)
	var visit func(n int)
	visit = func(n int) {
		if !x.boxes[n].Intersects(b) {
			return
		}
		if n < leaves {
			f(x.item[n])
			return
		}
		k := n - leaves
		for c := x.first[k]; c < x.first[k]+x.count[k]; c++ {
			visit(c)
		}
	}
	visit(len(x.boxes) - 1)
}
