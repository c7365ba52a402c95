package wayin

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// fine is how many bits a cell is wide and high.
const fine = 8

// frame is where the cells lie: square, counted from the lower left corner.
type frame struct {
	at         orb.Point
	cell       float64 // metres
	cols, rows int
}

// frameOf lays cells over a bound.
func frameOf(b orb.Bound, o Options) frame {
	w, h := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
	size := math.Max(w, h)
	if o.Cell == 0 {
		o.Cell = math.Min(0.25, math.Max(size/800, 0.01))
	}
	f := frame{at: b.Min, cell: math.Max(o.Cell, size/float64(o.Cells))}
	f.cols = max(int(math.Ceil(w/f.cell-1e-9)), 4)
	f.rows = max(int(math.Ceil(h/f.cell-1e-9)), 4)
	return f
}

// bit returns the side of a bit in metres.
func (f frame) bit() float64 { return f.cell / fine }

// bound returns the ground under the cells.
func (f frame) bound() orb.Bound {
	return orb.Bound{Min: f.at, Max: orb.Point{f.at[0] + float64(f.cols)*f.cell, f.at[1] + float64(f.rows)*f.cell}}
}

// bitAt returns the bit a place lies in, held within the frame.
func (f frame) bitAt(p orb.Point) (x, y int) {
	h := f.bit()
	return min(max(int((p[0]-f.at[0])/h), 0), f.cols*fine-1), min(max(int((p[1]-f.at[1])/h), 0), f.rows*fine-1)
}

// middle returns the centre of a bit.
func (f frame) middle(x, y int) orb.Point {
	h := f.bit()
	return orb.Point{f.at[0] + (float64(x)+.5)*h, f.at[1] + (float64(y)+.5)*h}
}

// mask is a raster of bits that are set where a person cannot stand because of an
// outline. The ground inside an outline stays clear: nobody gets to it. Bits are
// kept for blocks of cells that some outline touches, the others have none set.
type mask struct {
	frame
	wide   int            // blocks a row
	blocks []*[256]uint64 // 16 x 16 cells each: bit 8*y+x of a cell
}

func newMask(f frame) *mask {
	m := &mask{frame: f, wide: (f.cols + 15) / 16}
	m.blocks = make([]*[256]uint64, m.wide*((f.rows+15)/16))
	return m
}

func (m *mask) clone() *mask {
	c := *m
	c.blocks = slices.Clone(m.blocks)
	for i, b := range c.blocks {
		if b != nil {
			d := *b
			c.blocks[i] = &d
		}
	}
	return &c
}

// at returns the bits of a cell; nil when none can be set.
func (m *mask) at(c, r int) *uint64 {
	b := m.blocks[r/16*m.wide+c/16]
	if b == nil {
		return nil
	}
	return &b[r%16*16+c%16]
}

// fill sets the bits of row y whose centres lie in [x0, x1].
func (m *mask) fill(y int, x0, x1 float64) {
	h := m.bit()
	a := max(int(math.Ceil((x0-m.frame.at[0])/h-.5)), 0)
	b := min(int(math.Floor((x1-m.frame.at[0])/h-.5)), m.cols*fine-1)
	if a > b {
		return
	}
	r, shift := y/fine, y%fine*fine
	for c := a / fine; c <= b/fine; c++ {
		row := uint64(0xff)
		if c == a/fine {
			row &= 0xff << (a % fine)
		}
		if c == b/fine {
			row &= 0xff >> (fine - 1 - b%fine)
		}
		k := r/16*m.wide + c/16
		if m.blocks[k] == nil {
			m.blocks[k] = new([256]uint64)
		}
		m.blocks[k][r%16*16+c%16] |= row & 0xff << shift
	}
}

// line sets the bits whose centres lie within r of an edge.
func (m *mask) line(e edge, r float64) {
	h := m.bit()
	lo := max(int(math.Ceil((math.Min(e.a[1], e.b[1])-r-m.frame.at[1])/h-.5)), 0)
	hi := min(int(math.Floor((math.Max(e.a[1], e.b[1])+r-m.frame.at[1])/h-.5)), m.rows*fine-1)
	for y := lo; y <= hi; y++ {
		p := orb.Point{m.frame.at[0], m.frame.at[1] + (float64(y)+.5)*h}
		if x0, x1 := capsule(p, orb.Point{1, 0}, e.a, e.b, r); x0 <= x1 {
			m.fill(y, p[0]+x0, p[0]+x1)
		}
	}
}

// free returns the bits of a cell where a person can stand.
func (m *mask) free(c, r int) uint64 {
	if b := m.at(c, r); b != nil {
		return ^*b
	}
	return all
}

// isFree reports whether a person can stand at a bit.
func (m *mask) isFree(x, y int) bool {
	return m.free(x/fine, y/fine)>>(y%fine*fine+x%fine)&1 != 0
}

// cut visits the cells of which bits are set, block by block.
func (m *mask) cut(visit func(c, r int, free uint64)) {
	for k, b := range m.blocks {
		if b == nil {
			continue
		}
		for i, set := range b {
			if set != 0 {
				visit(k%m.wide*16+i%16, k/m.wide*16+i/16, ^set)
			}
		}
	}
}

// spans visits, for each row of bits, the stretches of its middle line that lie
// within an outline (even-odd), in metres on the site grid.
func spans(f frame, edges []edge, visit func(y int, x0, x1 float64)) {
	h, last := f.bit(), f.rows*fine-1
	rows := func(e edge) (lo, hi int) { // rows whose middle lies in [low end, high end)
		lo = int(math.Ceil((math.Min(e.a[1], e.b[1])-f.at[1])/h - .5))
		hi = int(math.Ceil((math.Max(e.a[1], e.b[1])-f.at[1])/h-.5)) - 1
		return max(lo, 0), min(hi, last)
	}
	bottom, top := last+1, -1
	for _, e := range edges {
		if lo, hi := rows(e); lo <= hi {
			bottom, top = min(bottom, lo), max(top, hi)
		}
	}
	if bottom > top {
		return
	}
	start := make([]int32, top-bottom+2)
	for _, e := range edges {
		lo, hi := rows(e)
		for y := lo; y <= hi; y++ {
			start[y-bottom+1]++
		}
	}
	for i := 1; i < len(start); i++ {
		start[i] += start[i-1]
	}
	xs, next := make([]float64, start[len(start)-1]), slices.Clone(start)
	for _, e := range edges {
		lo, hi := rows(e)
		for y := lo; y <= hi; y++ {
			t := (f.at[1] + (float64(y)+.5)*h - e.a[1]) / (e.b[1] - e.a[1])
			xs[next[y-bottom]] = e.a[0] + t*(e.b[0]-e.a[0])
			next[y-bottom]++
		}
	}
	for y := bottom; y <= top; y++ {
		row := xs[start[y-bottom]:start[y-bottom+1]]
		slices.Sort(row)
		for i := 0; i+1 < len(row); i += 2 {
			visit(y, row[i], row[i+1])
		}
	}
}

// rates adds to each cell length times the mean detection rate over it: the sum
// over sensors of the share of the cell in the footprint times the rate. Rows of
// cells lie width apart in out.
func rates(f frame, sensors []Sensor, length float64, out []float32, width int) {
	var edges []edge
	for _, s := range sensors {
		edges = s.outlines(edges[:0], 0)
		share := s.Rate * length / fine
		spans(f, edges, func(y int, x0, x1 float64) {
			row := out[y/fine*width:][:f.cols]
			x0, x1 = math.Max((x0-f.at[0])/f.cell, 0), math.Min((x1-f.at[0])/f.cell, float64(f.cols))
			if x1 <= x0 {
				return
			}
			a, b := int(x0), min(int(x1), f.cols-1)
			if a == b {
				row[a] += float32(share * (x1 - x0))
				return
			}
			row[a] += float32(share * (float64(a+1) - x0))
			for c := a + 1; c < b; c++ {
				row[c] += float32(share)
			}
			row[b] += float32(share * (x1 - float64(b)))
		})
	}
}
