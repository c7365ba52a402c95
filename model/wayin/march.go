package wayin

import (
	"context"
	"math"
	"math/bits"
)

// pad is how many cells that cannot be entered surround the raster, so that no
// stencil leaves the arrays.
const pad = 2

// Columns and rows of a cell's bits.
const (
	all    = ^uint64(0)
	west   = 0x0101010101010101
	east   = west << (fine - 1)
	south  = 0xff
	north  = 0xff << (fine * (fine - 1))
	noNode = -1
)

// march holds least costs over a raster, the first-arrival solution of
// |grad t| = rate, by fast marching: second order where the ground is open,
// first order with diagonals next to what stops a person. There a cell may be
// several nodes, one for each part a person can stand in, and only parts that
// meet at the cells' common side are neighbours.
type march struct {
	w, h int       // cells a row and rows, padded
	f    []float32 // of each node: cost of a cell's width; +Inf cannot be entered; -1-k stands for part k
	t    []float64 // of each node: least cost to it
	part []part
	q    queue
}

// part is a node that knows its bits.
type part struct {
	cell int32
	next int32   // the cell's next node, noNode at the last
	free uint64  // where a person can stand in it
	cost float32 // of a cell's width
}

// cellOf returns the padded cell of a column and a row of the frame.
func (m *march) cellOf(c, r int) int { return (r+pad)*m.w + c + pad }

func (m *march) of(node int) *part { return &m.part[int(-1-m.f[node])] }

// next returns the cell's next node, noNode after the last.
func (m *march) next(node int32) int32 {
	if m.f[node] < 0 {
		return m.of(int(node)).next
	}
	return noNode
}

// free returns the bits of a node.
func (m *march) free(node int) uint64 {
	switch f := m.f[node]; {
	case f < 0:
		return m.of(node).free
	case f > math.MaxFloat32:
		return 0
	}
	return all
}

// newMarch makes room for nodes of a frame's cells.
func newMarch(f frame) *march {
	m := &march{w: f.cols + 2*pad, h: f.rows + 2*pad}
	n := m.w * m.h
	m.f = make([]float32, n, n+n/16) // room for cells that are several nodes
	m.t = make([]float64, n, n+n/16)
	return m
}

// lay makes the nodes over a mask, afresh. Each cell costs base, more where add
// says so, which adds to rows of cells that lie width apart; base is above 0.
func (m *march) lay(k *mask, base float32, add func(cost []float32, width int)) {
	m.f, m.part = m.f[:m.w*m.h], m.part[:0]
	inf := float32(math.Inf(1))
	for i := range m.f {
		m.f[i] = inf
	}
	for r := range k.rows {
		row := m.f[m.cellOf(0, r):][:k.cols]
		for i := range row {
			row[i] = base
		}
	}
	if add != nil {
		add(m.f[m.cellOf(0, 0):], m.w)
	}
	var cut []int32
	k.cut(func(c, r int, free uint64) {
		if c >= k.cols || r >= k.rows {
			return
		}
		i := m.cellOf(c, r)
		cost := m.f[i]
		m.f[i] = inf
		m.split(i, free, cost)
		cut = append(cut, int32(i))
	})
	// Nodes whose stencils would reach into a cell that is cut march by parts.
	for _, i := range cut {
		for _, d := range [8]int{-2, -1, 1, 2, -2 * m.w, -m.w, m.w, 2 * m.w} {
			j := int(i) + d
			if f := m.f[j]; f >= 0 && f <= math.MaxFloat32 {
				m.split(j, all, f)
			}
		}
	}
	for len(m.t) < len(m.f) {
		m.t = append(m.t, 0)
	}
}

// split makes one node of each part of a cell that hangs together: the cell
// itself for the first, further ones at the end of the arrays.
func (m *march) split(cell int, free uint64, cost float32) {
	prev := noNode
	for free != 0 {
		p := grow(free&-free, free)
		free &^= p
		node := cell
		if prev != noNode {
			node = len(m.f)
			m.f = append(m.f, 0)
			m.of(prev).next = int32(node)
		}
		m.f[node] = float32(-1 - len(m.part))
		m.part = append(m.part, part{int32(cell), noNode, p, cost})
		prev = node
	}
}

// grow returns the bits of free that hang together with seed by their sides.
func grow(seed, free uint64) uint64 {
	for {
		s := seed | seed<<fine | seed>>fine | (seed&^east)<<1 | (seed&^west)>>1
		s &= free
		if s == seed {
			return s
		}
		seed = s
	}
}

// side is one of a cell's four.
type side struct {
	step, across int    // to the neighbour; to the cells on either hand
	out, in      uint64 // the bits on the side, here and at the neighbour
	shift        int    // turns out into in, to the left when positive
}

func (m *march) sides() [4]side {
	return [4]side{
		{-1, m.w, west, east, fine - 1},
		{1, m.w, east, west, -(fine - 1)},
		{-m.w, 1, south, north, fine * (fine - 1)},
		{m.w, 1, north, south, -fine * (fine - 1)},
	}
}

// meets reports whether bits here and bits at the neighbour touch.
func (s *side) meets(here, there uint64) bool {
	if s.shift > 0 {
		return here&s.out<<s.shift&there != 0
	}
	return here&s.out>>-s.shift&there != 0
}

// linked appends the nodes beyond a side of a node.
func (m *march) linked(out []int32, cell int, free uint64, s *side) []int32 {
	j := cell + s.step
	f := m.f[j]
	if f >= 0 {
		if f <= math.MaxFloat32 && free&s.out != 0 {
			out = append(out, int32(j))
		}
		return out
	}
	for n := int32(j); n != noNode; n = m.next(n) {
		if s.meets(free, m.of(int(n)).free) {
			out = append(out, n)
		}
	}
	return out
}

// begin clears the costs; those within a quantum are not told apart.
func (m *march) begin(quantum float64) {
	for i := range m.t {
		m.t[i] = math.Inf(1)
	}
	m.q.reset(quantum)
}

// source makes all nodes of a cell start at no cost.
func (m *march) source(cell int) {
	for n := int32(cell); n != noNode; n = m.next(n) {
		if m.f[n] <= math.MaxFloat32 {
			m.t[n] = 0
			m.q.push(0, n)
		}
	}
}

// flood gives every node that can be got to from the sources the cost 0: a march
// without its costs.
func (m *march) flood() {
	var stack []int32
	reach := func(i int) {
		if m.f[i] <= math.MaxFloat32 && m.t[i] != 0 {
			m.t[i] = 0
			stack = append(stack, int32(i))
		}
	}
	for b := m.q.next(); b != nil; b = m.q.next() {
		for _, e := range *b {
			stack = append(stack, e.node)
		}
	}
	sides := m.sides()
	var near [8]int32
	for len(stack) > 0 {
		i := int(stack[len(stack)-1])
		stack = stack[:len(stack)-1]
		if m.f[i] >= 0 {
			for k := range sides {
				reach(i + sides[k].step) // all of a neighbour that is cut lies farther off
			}
			continue
		}
		p := m.of(i)
		for k := range sides {
			for _, j := range m.linked(near[:0], int(p.cell), p.free, &sides[k]) {
				reach(int(j))
			}
		}
	}
}

// run spreads the costs until done says so or nothing is left. It asks done
// about every 32768 nodes, with a cost below which all nodes have theirs.
func (m *march) run(ctx context.Context, done func(settled float64) bool) error {
	t, w := m.t, m.w
	q := &m.q
	ask := 0
	for {
		bucket := q.next()
		if bucket == nil {
			return nil
		}
		for k := 0; k < len(*bucket); k++ {
			e := (*bucket)[k]
			i := int(e.node)
			ti := t[i]
			if q.key(ti) < e.key {
				continue // it has been taken at a lower cost
			}
			if ask--; ask < 0 {
				ask = 32768
				if err := ctx.Err(); err != nil {
					return err
				}
				if done != nil && done(float64(q.last)/q.scale) {
					return nil
				}
			}
			if m.f[i] < 0 {
				m.spread(i, ti)
				continue
			}
			if t[i-1] > ti {
				m.step(i-1, -1, w, ti)
			}
			if t[i+1] > ti {
				m.step(i+1, 1, w, ti)
			}
			if t[i-w] > ti {
				m.step(i-w, -w, 1, ti)
			}
			if t[i+w] > ti {
				m.step(i+w, w, 1, ti)
			}
		}
	}
}

// step updates cell j from its neighbour j-d, which has just got its cost ti; p
// leads to the cells on either hand.
func (m *march) step(j, d, p int, ti float64) {
	t := m.t
	f32 := m.f[j]
	if f32 < 0 {
		m.settle(j)
		return
	}
	if f32 > math.MaxFloat32 {
		return
	}
	f := float64(f32)
	a2 := t[j-2*d]
	if t[j+p] > t[j-p] { // the lower of the cells on either hand
		p = -p
	}
	b, b2 := t[j+p], t[j+2*p]
	var c float64
	if b > ti { // not settled yet
		c = along(ti, a2, f)
	} else {
		c = upwind(ti, a2, b, b2, f)
	}
	if c < t[j] {
		m.lower(j, c)
	}
}

// lower gives a node a lower cost. One that belongs to a quantum already done
// with, as may come of nodes within a quantum being taken in any order, is
// raised into the present one.
func (m *march) lower(j int, c float64) {
	q := &m.q
	k := q.key(c)
	if k < q.last {
		k = q.last
		if c = (float64(k) + .5) / q.scale; c >= m.t[j] {
			return
		}
	}
	if old := m.t[j]; k != q.key(old) || math.IsInf(old, 1) {
		q.push(k, int32(j))
	}
	m.t[j] = c
}

// upwind solves |grad t| = f on a unit square for the node whose upwind
// neighbours on the two axes have costs a and b and, beyond them, a2 and b2:
// second order where both lie on the slope, else first.
func upwind(a, a2, b, b2, f float64) float64 {
	if a2 <= a && b2 <= b {
		va, vb := a+(a-a2)*(1./3), b+(b-b2)*(1./3)
		g := f * (2. / 3)
		d := va - vb
		if r := 2*g*g - d*d; r > 0 {
			if c := (va + vb + math.Sqrt(r)) * .5; c >= a && c >= b {
				return c
			}
		}
	}
	if d := a - b; d < f && -d < f {
		return (a + b + math.Sqrt(2*f*f-d*d)) * .5
	}
	if a < b {
		return along(a, a2, f)
	}
	return along(b, b2, f)
}

// along is upwind with one neighbour.
func along(a, a2, f float64) float64 {
	if a2 <= a {
		return a + (a-a2)*(1./3) + f*(2./3)
	}
	return a + f
}

// spread updates everything round a node that marches by parts.
func (m *march) spread(i int, ti float64) {
	p := m.of(i)
	cell, free, cost := int(p.cell), p.free, p.cost
	sides := m.sides()
	var near, far [8]int32
	for k := range sides {
		s := &sides[k]
		for _, j := range m.linked(near[:0], cell, free, s) {
			if m.f[j] >= 0 {
				if m.t[j] > ti {
					m.step(int(j), s.step, s.across, ti)
				}
				continue
			}
			m.settle(int(j))
			// The diagonals, by way of j.
			o := m.of(int(j))
			for l := range sides {
				if l/2 == k/2 {
					continue
				}
				for _, x := range m.linked(far[:0], int(o.cell), o.free, &sides[l]) {
					if m.f[x] >= 0 {
						continue
					}
					if c := ti + math.Sqrt2*float64(cost+m.of(int(x)).cost)/2; c < m.t[x] {
						m.lower(int(x), c)
					}
				}
			}
		}
	}
}

// settle updates a node that marches by parts from all its neighbours, first
// order.
func (m *march) settle(j int) {
	p := m.of(j)
	sides := m.sides()
	var v [2]float64
	var near [8]int32
	for axis := range v {
		v[axis] = math.Inf(1)
		for k := 2 * axis; k < 2*axis+2; k++ {
			for _, i := range m.linked(near[:0], int(p.cell), p.free, &sides[k]) {
				v[axis] = math.Min(v[axis], m.t[i])
			}
		}
	}
	f := float64(p.cost)
	a, b := v[0], v[1]
	c := math.Min(a, b) + f
	if d := a - b; d < f && -d < f {
		c = (a + b + math.Sqrt(2*f*f-d*d)) * .5
	}
	if c < m.t[j] {
		m.lower(j, c)
	}
}

// nearest returns the bit of a set that lies nearest to the cell's middle.
func nearest(free uint64) (x, y int) {
	best := math.MaxInt
	for b := free; b != 0; b &= b - 1 {
		i := bits.TrailingZeros64(b)
		u, v := 2*(i%fine)-fine+1, 2*(i/fine)-fine+1
		if d := u*u + v*v; d < best {
			best, x, y = d, i%fine, i/fine
		}
	}
	return x, y
}
