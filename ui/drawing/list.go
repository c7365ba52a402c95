package drawing

import (
	"sort"
	"sync"

	"github.com/paulmach/orb"
)

// Kind is the geometry of an Item.
type Kind uint8

// The kinds.
const (
	AreaKind  Kind = iota // Item.Area
	LineKind              // Item.Line
	MarkKind              // Item.At, Item.Bearing
	LabelKind             // Item.Text at Item.At, or along Item.Line
)

// State is a set of flags that change how an item looks without changing what
// it means.
type State uint8

// The states. A halo of ink, no new colour, shows Selected and Hovered.
const (
	Selected State = 1 << iota
	Hovered
	Muted // drawn in grey: an accepted finding, a feature left out of the analysis
)

// Has reports whether all flags of f are in s.
func (s State) Has(f State) bool { return s&f == f }

// Side tells on which side of a line the inside lies, looking along it.
type Side int8

// The sides.
const (
	Left    Side = 1
	Neither Side = 0
	Right   Side = -1
)

// Item is one primitive. Lengths and places are metres on the site grid.
type Item struct {
	Layer   Layer
	Kind    Kind
	Meaning Meaning
	State   State

	// What it stands for: the id of a feature of the plan ("" for nothing
	// that can be picked), and which part of it: "vertex" 3, "aim", "gap" 2.
	ID    string
	Part  string
	Index int

	Area    orb.MultiPolygon
	Line    orb.LineString // closed when first and last point are the same
	At      orb.Point
	Aside   orb.Point // of a mark and its label: how far beside At it is drawn, east and north, in sizes of the mark
	Bearing float64   // degrees clockwise from grid north: a mark's front, a gate's line
	Inside  Side      // of Line
	Length  float64   // metres: the width of a gate; the chainage of the first point of a ChainageTick line
	Margin  float64   // LinkHeld, LinkThin, LinkFails: dB above what is required, negative where it fails

	// A label.
	Text     string
	Short    string // taken where there is no room for Text; "" for none
	Priority int8   // higher is placed first
	Prefer   Prefer
	Must     bool // kept, with a leader, where there is no room beside its anchor; otherwise left out

	bound orb.Bound
}

// Prefer is where a label would like to stand.
type Prefer uint8

// The preferences.
const (
	Beside  Prefer = iota // beside its anchor, right first
	Outward               // off its anchor in direction Item.Bearing
	OnLine                // on Item.Line, near the middle
	Centred               // on its anchor
)

// List is primitives, back to front. The zero value is empty. Once it is
// handed to Render or Hit it is not changed any more.
type List struct {
	Items []Item

	once  sync.Once
	index *index
}

// Add appends it.
func (l *List) Add(it Item) {
	it.bound = boundOf(&it)
	l.Items = append(l.Items, it)
}

// Arrange sorts the items by layer, keeping the order within a layer.
func (l *List) Arrange() {
	sort.SliceStable(l.Items, func(i, j int) bool { return l.Items[i].Layer < l.Items[j].Layer })
}

// With returns a new list with more items, each above what its layer holds.
func (l *List) With(more ...Item) *List {
	out := &List{Items: make([]Item, len(l.Items), len(l.Items)+len(more))}
	copy(out.Items, l.Items)
	for _, it := range more {
		out.Add(it)
	}
	out.Arrange()
	return out
}

// Bound is the box round all geometry, and false for an empty list.
func (l *List) Bound() (orb.Bound, bool) {
	if len(l.Items) == 0 {
		return orb.Bound{}, false
	}
	b := l.Items[0].bound
	for i := range l.Items {
		b = b.Union(l.Items[i].bound)
	}
	return b, true
}

func boundOf(it *Item) orb.Bound {
	switch {
	case it.Kind == AreaKind && len(it.Area) > 0:
		return it.Area.Bound()
	case len(it.Line) > 0 && it.Kind != MarkKind:
		return it.Line.Bound()
	}
	return orb.Bound{Min: it.At, Max: it.At}
}
