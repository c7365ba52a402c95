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

// Sheets that share a map. Chosen, save as stated.
const (
	tileOverlap  = 14.0            // millimetres that neighbouring sheets share: room for a name on either side
	tileBleed    = tileOverlap / 2 // beyond the match line, which is the middle of it
	tileRatio    = 500             // the scale where none is asked for: marks of posts 10 m apart stand 20 mm apart
	tilesUnasked = 24              // no more than this where no scale is asked for
	tilesMost    = 100             // nor than this where one is
)

// A spot is a place that must show on some sheet, at least inset millimetres from
// the edge of its map. Places are millimetres from the upper left of the ground.
type spot struct {
	at    orb.Point
	inset float64
	mark  bool // of a device
}

const (
	spotStep  = 1.5  // along a line
	spotGrid  = 20.0 // within an area: less than any sheet is wide
	lineInset = 2.0
	markInset = 5.0
)

// asksForRoom says whether an item must be on the layout; what is about it may be
// cut off by the map's edge.
func asksForRoom(it *drawing.Item) bool {
	return it.Layer != drawing.SiteLayer && it.Layer != drawing.HandleLayer && it.Kind != drawing.LabelKind && it.Meaning != drawing.OverspillVehicle && !wayMeaning(it.Meaning)
}

// spots are the places that sheets at 1:ratio must show: the boundaries, what the
// sensors see and the devices. A radio link alone asks for no sheet: the key plan
// has it whole.
func (s *sheet) spots(ratio int) []spot {
	mpu := float64(ratio) / 1000
	at := func(p orb.Point) orb.Point {
		return orb.Point{(p[0] - s.ground.Min[0]) / mpu, (s.ground.Max[1] - p[1]) / mpu}
	}
	var out []spot
	type square [2]int32
	had := map[square]bool{}
	add := func(p orb.Point) {
		k := square{int32(math.Floor(p[0] / spotStep)), int32(math.Floor(p[1] / spotStep))}
		if !had[k] {
			had[k] = true
			out = append(out, spot{at: p, inset: lineInset})
		}
	}
	line := func(l []orb.Point) {
		for i, q := range l {
			b := at(q)
			if i > 0 {
				a := at(l[i-1])
				n := math.Ceil(planar.Distance(a, b) / spotStep)
				for k := 1.0; k < n; k++ {
					add(orb.Point{a[0] + (b[0]-a[0])*k/n, a[1] + (b[1]-a[1])*k/n})
				}
			}
			add(b)
		}
	}
	for i := range s.list.Items {
		it := &s.list.Items[i]
		switch {
		case !asksForRoom(it) || it.Layer == drawing.LinkLayer:
		case it.Kind == drawing.MarkKind:
			out = append(out, spot{at(it.At), markInset, it.Layer == drawing.DeviceLayer})
		case it.Kind == drawing.LineKind:
			line(it.Line)
		default:
			for _, poly := range it.Area {
				for _, r := range poly {
					line(r)
				}
				b := poly.Bound()
				for x := b.Min[0]; x < b.Max[0]; x += spotGrid * mpu {
					for y := b.Min[1]; y < b.Max[1]; y += spotGrid * mpu {
						if planar.PolygonContains(poly, orb.Point{x, y}) {
							add(at(orb.Point{x, y}))
						}
					}
				}
			}
		}
	}
	return out
}

// A cell is the part of a grid of sheets that one of them is for: column from the
// west, row from the north.
type cell [2]int

// A cellGrid is where sheets lie: the upper left corner of cell 0, 0 and the size
// of a cell, millimetres in the coordinates of the spots.
type cellGrid struct {
	x, y, w, h float64
	cells      []cell // those that are printed, in reading order
	near       int    // devices close to a match line
}

// nearMatch is how close to a match line a device's mark is cut by it.
const nearMatch = 3.0

// layCells lays a grid over the spots for maps w by h millimetres, so that fewest
// are needed and, of those, fewest devices lie on a match line. more is a number of
// sheets beyond which it does not matter how many there are.
func layCells(spots []spot, w, h float64, more int) cellGrid {
	b := orb.Bound{Min: spots[0].at, Max: spots[0].at}
	for _, p := range spots {
		b = b.Extend(p.at)
	}
	g := cellGrid{w: w - tileOverlap, h: h - tileOverlap}
	starts := func(lo, hi, step float64) []float64 {
		slack := math.Max(1, math.Ceil((hi-lo)/step-1e-9))*step - (hi - lo)
		out := []float64{lo - slack/2}
		const parts = 8
		for k := range parts {
			out = append(out, lo-step*float64(k)/parts)
		}
		return out
	}
	best := cellGrid{}
	for _, x := range starts(b.Min[0], b.Max[0], g.w) {
		for _, y := range starts(b.Min[1], b.Max[1], g.h) {
			g.x, g.y = x, y
			g.fill(spots)
			if best.cells == nil || cmp.Or(cmp.Compare(len(g.cells), len(best.cells)), cmp.Compare(g.near, best.near)) < 0 {
				best = g
			}
			if len(best.cells) > 2*more {
				return best
			}
		}
	}
	return best
}

// around are the cells beside one, and seenBy is the set of them whose maps show a
// spot too: bit i for around[i].
var around = [8]cell{{-1, -1}, {0, -1}, {1, -1}, {-1, 0}, {1, 0}, {-1, 1}, {0, 1}, {1, 1}}

// fill finds the cells that are needed: those on which a spot lies, without those
// whose every spot shows on the sheets beside it.
func (g *cellGrid) fill(spots []spot) {
	type held struct {
		n    int
		seen [256]bool
	}
	all := map[cell]*held{}
	g.near = 0
	for _, p := range spots {
		u, v := (p.at[0]-g.x)/g.w, (p.at[1]-g.y)/g.h
		k := cell{int(math.Floor(u)), int(math.Floor(v))}
		x, y := (u-float64(k[0]))*g.w, (v-float64(k[1]))*g.h
		if p.mark && (min(x, g.w-x) < nearMatch || min(y, g.h-y) < nearMatch) {
			g.near++
		}
		reach := tileBleed - p.inset
		by := 0
		for i, a := range around {
			ok := true
			for axis, d := range [2]float64{x, y} {
				switch size := [2]float64{g.w, g.h}[axis]; a[axis] {
				case -1:
					ok = ok && d <= reach
				case 1:
					ok = ok && size-d <= reach
				}
			}
			if ok {
				by |= 1 << i
			}
		}
		c := all[k]
		if c == nil {
			c = &held{}
			all[k] = c
		}
		c.n++
		c.seen[by] = true
	}
	g.cells = g.cells[:0:0]
	for k := range all {
		g.cells = append(g.cells, k)
	}
	slices.SortFunc(g.cells, func(a, b cell) int { return cmp.Or(cmp.Compare(all[a].n, all[b].n), reading(a, b)) })
	// others reports whether a printed sheet beside k, other than that of without,
	// shows the spots of k that are seen by some of them.
	others := func(k cell, by int, without cell) bool {
		for i, a := range around {
			if n := (cell{k[0] + a[0], k[1] + a[1]}); by&(1<<i) != 0 && n != without && all[n] != nil {
				return true
			}
		}
		return false
	}
	type debt struct { // spots of a cell that is left out, which those beside it show
		of cell
		by int
	}
	var debts []debt
	g.cells = slices.DeleteFunc(g.cells, func(k cell) bool {
		for by, any := range all[k].seen {
			if any && !others(k, by, k) {
				return false
			}
		}
		for _, d := range debts {
			if abs(d.of[0]-k[0]) <= 1 && abs(d.of[1]-k[1]) <= 1 && !others(d.of, d.by, k) {
				return false
			}
		}
		for by, any := range all[k].seen {
			if any {
				debts = append(debts, debt{k, by})
			}
		}
		delete(all, k)
		return true
	})
	slices.SortFunc(g.cells, reading)
}

func abs(n int) int { return max(n, -n) }

// reading orders cells as one reads: from the north, then from the west.
func reading(a, b cell) int { return cmp.Or(cmp.Compare(a[1], b[1]), cmp.Compare(a[0], b[0])) }

// A tiling is the layout drawn on several sheets.
type tiling struct {
	ratio  int
	layout layout // of every sheet; its picture is the map
	grid   cellGrid
	views  []drawing.View // of each sheet
	first  int            // number of the first sheet
}

// tile settles how the layout is spread over sheets: the scale, paper and grid of
// the sheets, then the key plan, which is a layout at the scale that fits.
func (s *sheet) tile() error {
	asked := s.opt.Scale
	t, err := s.tiling(asked)
	if err != nil {
		return err
	}
	s.tiled = t
	s.opt.Paper, s.opt.Scale, s.ratio = t.layout.format, 0, 0
	return s.choose()
}

// tiling finds the sheets for a scale; for 0 it is the largest usual one from
// 1:tileRatio on that takes no more than tilesUnasked of them.
func (s *sheet) tiling(ratio int) (*tiling, error) {
	if ratio > 0 {
		if t := s.spread(ratio, tilesMost); len(t.views) <= tilesMost {
			return t, nil
		} else if larger := s.spreadWithin(ratio, tilesMost); larger != nil {
			return nil, fmt.Errorf("scale %s takes more than %d sheets of %s, the most that one map is spread over: the largest usual scale that stays within is %s, with %d sheets",
				ratioText(ratio), tilesMost, t.layout.format, ratioText(larger.ratio), len(larger.views))
		}
		return nil, fmt.Errorf("scale %s takes more than %d sheets, the most that one map is spread over; %s lies farthest out", ratioText(ratio), tilesMost, s.outermost())
	}
	t := s.spreadWithin(tileRatio-1, tilesUnasked)
	if t == nil {
		return nil, fmt.Errorf("no usual scale spreads the map over at most %d sheets; %s lies farthest out: move it, or ask for a scale", tilesUnasked, s.outermost())
	}
	return t, nil
}

// spreadWithin returns the sheets for the largest usual scale smaller than 1:ratio
// that takes at most so many; nil where there is none.
func (s *sheet) spreadWithin(ratio, most int) *tiling {
	for ratio < farthest {
		ratio = usualFrom(float64(ratio + 1))
		if t := s.spread(ratio, most); len(t.views) <= most {
			return t
		}
	}
	return nil
}

// spread lays sheets at 1:ratio: of the paper asked for, upright or not, as few as
// can be. Where the paper is left open it is the smaller one, unless the larger
// takes fewer sheets.
func (s *sheet) spread(ratio, most int) *tiling {
	formats := []Format{s.opt.Paper}
	if s.opt.Paper == Auto {
		formats = []Format{A4, A3}
	}
	spots := s.spots(ratio)
	var best *tiling
	for _, f := range formats {
		for _, landscape := range []bool{true, false} {
			l := s.tileLayout(f, landscape)
			g := layCells(spots, l.picture.w, l.picture.h, most)
			if best == nil || cmp.Or(cmp.Compare(len(g.cells), len(best.grid.cells)), cmp.Compare(g.near, best.grid.near)) < 0 {
				best = &tiling{ratio: ratio, layout: l, grid: g, first: 1}
			}
		}
	}
	mpu := float64(ratio) / 1000
	g := best.grid
	for _, c := range g.cells {
		x, y := g.x+(float64(c[0])+0.5)*g.w, g.y+(float64(c[1])+0.5)*g.h
		best.views = append(best.views, drawing.View{Centre: orb.Point{s.ground.Min[0] + x*mpu, s.ground.Max[1] - y*mpu},
			MetresPerUnit: mpu, Width: best.layout.picture.w, Height: best.layout.picture.h})
	}
	return best
}

// beside returns the sheet in the cell that lies dx columns and dy rows from that
// of sheet i.
func (t *tiling) beside(i, dx, dy int) (k int, ok bool) {
	c := t.grid.cells[i]
	return slices.BinarySearchFunc(t.grid.cells, cell{c[0] + dx, c[1] + dy}, reading)
}

// own is the ground that sheet i is for: its match lines bound it.
func (t *tiling) own(i int) orb.Bound {
	return t.views[i].Bound().Pad(-tileBleed * t.views[i].MetresPerUnit)
}

// number is what sheet i is called in the set.
func (t *tiling) number(i int) int { return t.first + i }
