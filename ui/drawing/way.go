package drawing

import (
	"math"

	"github.com/paulmach/orb"

	"pleach/model/analysis"
)

// ways draws how a person would come in to each asset, with marks where the way
// passes a boundary and where it enters a footprint. One that was found for the
// plan before an edit is drawn in grey until it has been looked for again.
func (c *composer) ways() {
	w, old := c.in.Result.Ways, State(0)
	if w == nil {
		w, old = c.in.Before, Muted
	}
	if w == nil || c.in.Show.Has(NoWays) {
		return
	}
	for i := range w.List {
		c.way(&w.List[i], old)
	}
}

func (c *composer) way(w *analysis.Way, old State) {
	if !w.Reached || len(w.Line) < 2 || c.in.Scene.Plan.Feature(w.Asset) == nil {
		return
	}
	m, s := WayInSeen, c.state(w.Asset)|old
	if w.Undetected {
		m = WayIn
	}
	c.list.Add(Item{Layer: BoundaryLayer, Kind: LineKind, Meaning: m, ID: w.Asset, Part: "way", Line: w.Line, State: s})
	for k, p := range w.Passes {
		c.list.Add(Item{Layer: BoundaryLayer, Kind: MarkKind, Meaning: WayMeets, ID: p.Sensor, Part: "pass", Index: k + 1, At: w.At(p.From), State: old})
	}
	for k, x := range w.Crossings {
		c.list.Add(Item{Layer: BoundaryLayer, Kind: MarkKind, Meaning: WayCrosses, ID: w.Asset, Part: "crossing", Index: k + 1, At: x.At, Bearing: heading(w, x.Along), State: old})
	}
}

// heading is where a way leads so many metres along, in degrees clockwise from
// grid north.
func heading(w *analysis.Way, along float64) float64 {
	a, b := w.At(along-0.5), w.At(along+0.5)
	if a == b {
		return 0
	}
	return math.Atan2(b[0]-a[0], b[1]-a[1]) * 180 / math.Pi
}

// wayPieces are the marks of a way: an arrowhead in a ring where it passes a
// boundary, a dot where it enters a footprint.
func wayPieces(s Symbol) []piece {
	if s == EntryMark {
		return []piece{{path: ring(0, 0, 0.5), filled: bodyRole, stroke: inkRole},
			{path: closed(orb.Point{0, -0.34}, orb.Point{0.27, 0.25}, orb.Point{0, 0.1}, orb.Point{-0.27, 0.25}), filled: inkRole}}
	}
	return []piece{{path: ring(0, 0, 0.5), filled: inkRole}}
}
