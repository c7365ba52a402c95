package wayin

import (
	"math"
	"math/bits"

	"github.com/paulmach/orb"
)

// descent follows least costs down from a node to where they start.
type descent struct {
	*march
	frame
	line orb.LineString
	node int
	p    orb.Point // in bits from the lower left corner of the padded raster
	now  float64   // cost at p
}

// descend returns a line that can be walked from a place in a node to a source,
// on the site grid, down the slope of the costs: along the gradient in the open,
// from part to part next to what stops a person.
func (m *march) descend(f frame, node int, bitX, bitY int) orb.LineString {
	d := &descent{march: m, frame: f, node: node, now: m.t[node]}
	d.p = orb.Point{float64(bitX+pad*fine) + .5, float64(bitY+pad*fine) + .5}
	d.add()
	for left := 64 * (m.w + m.h); m.t[d.node] > 0; left-- {
		if left > 0 && d.slide() {
			continue
		}
		if !d.hop() {
			break
		}
	}
	return d.line
}

func (d *descent) add() {
	h := d.bit()
	q := orb.Point{d.at[0] + (d.p[0]-pad*fine)*h, d.at[1] + (d.p[1]-pad*fine)*h}
	if n := len(d.line); n == 0 || d.line[n-1] != q {
		d.line = append(d.line, q)
	}
}

// slide goes half a cell along the gradient; false where the four nodes round
// the place are not all open ground, or where that does not lead down.
func (d *descent) slide() bool {
	t, g, ok := d.slope(d.p)
	if !ok {
		return false
	}
	l := math.Hypot(g[0], g[1])
	if l == 0 {
		return false
	}
	q := orb.Point{d.p[0] - g[0]/l*fine/2, d.p[1] - g[1]/l*fine/2}
	u, _, ok := d.slope(q)
	if !ok || u >= t {
		return false
	}
	d.p, d.now = q, u
	d.node = int(q[1]/fine)*d.w + int(q[0]/fine)
	d.add()
	return true
}

// slope returns cost and gradient at a place, bilinear between four cells.
func (d *descent) slope(p orb.Point) (t float64, g orb.Point, ok bool) {
	x, y := p[0]/fine-.5, p[1]/fine-.5
	c, r := int(x), int(y)
	i := r*d.w + c
	for _, j := range [4]int{i, i + 1, i + d.w, i + d.w + 1} {
		if d.free(j) != all || math.IsInf(d.t[j], 1) {
			return 0, g, false
		}
	}
	u, v := x-float64(c), y-float64(r)
	t00, t10, t01, t11 := d.t[i], d.t[i+1], d.t[i+d.w], d.t[i+d.w+1]
	g = orb.Point{(1-v)*(t10-t00) + v*(t11-t01), (1-u)*(t01-t00) + u*(t11-t10)}
	return (1-v)*((1-u)*t00+u*t10) + v*((1-u)*t01+u*t11), g, true
}

// hop goes to the neighbour of the node to which costs fall most steeply.
func (d *descent) hop() bool {
	cell, free := d.bitsOf(d.node)
	sides := d.sides()
	best, steep := [2]int32{noNode, noNode}, 0.0
	try := func(t, length float64, way [2]int32) {
		s := (d.t[d.node] - t) / length
		if t < d.now {
			s += d.t[d.node] // whatever lies below the place before what only lies below the node
		}
		if s > steep {
			steep, best = s, way
		}
	}
	for k := range sides {
		for _, j := range d.linked(nil, cell, free, &sides[k]) {
			try(d.t[j], 1, [2]int32{j, noNode})
			c, b := d.bitsOf(int(j))
			for l := range sides {
				if l/2 == k/2 {
					continue
				}
				for _, x := range d.linked(nil, c, b, &sides[l]) {
					try(d.t[x], math.Sqrt2, [2]int32{j, x})
				}
			}
		}
	}
	if best[0] == noNode {
		return false
	}
	for _, j := range best {
		if j != noNode {
			d.walk(int(j))
		}
	}
	return true
}

// bitsOf returns the padded cell and the bits of a node.
func (m *march) bitsOf(node int) (cell int, free uint64) {
	if m.f[node] < 0 {
		p := m.of(node)
		return int(p.cell), p.free
	}
	return node, m.free(node)
}

// walk goes from the place to the middle of a neighbouring node, from bit to
// bit.
func (d *descent) walk(to int) {
	cell, free := d.bitsOf(d.node)
	other, there := d.bitsOf(to)
	// Both cells' bits in one raster of 16 x 16, the lower left cell at 0, 0.
	x0, y0 := min(cell%d.w, other%d.w)*fine, min(cell/d.w, other/d.w)*fine
	var open [256]bool
	put := func(cell int, free uint64) {
		for b := free; b != 0; b &= b - 1 {
			i := bits.TrailingZeros64(b)
			open[(cell/d.w*fine-y0+i/fine)*16+cell%d.w*fine-x0+i%fine] = true
		}
	}
	put(cell, free)
	put(other, there)
	tx, ty := nearest(there)
	goal := (other/d.w*fine-y0+ty)*16 + other%d.w*fine - x0 + tx
	start := min(max(int(d.p[1])-y0, 0), 15)*16 + min(max(int(d.p[0])-x0, 0), 15)
	var from [256]int16
	var queue [256]int16
	for i := range from {
		from[i] = -1
	}
	// From the goal, so that following it runs from the start.
	n := 0
	queue[n], n = int16(goal), n+1
	from[goal] = int16(goal)
	for k := 0; k < n && from[start] < 0; k++ {
		i := int(queue[k])
		for _, s := range [4][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
			x, y := i%16+s[0], i/16+s[1]
			if x < 0 || x > 15 || y < 0 || y > 15 {
				continue
			}
			if j := y*16 + x; from[j] < 0 && (open[j] || j == start) {
				from[j] = int16(i)
				queue[n], n = int16(j), n+1
			}
		}
	}
	place := func(i int) orb.Point {
		return orb.Point{float64(x0+i%16) + .5, float64(y0+i/16) + .5}
	}
	if free == all && there == all { // open ground: straight across
		d.p = place(goal)
		d.add()
	} else if from[start] >= 0 {
		for i := start; ; i = int(from[i]) {
			d.p = place(i)
			d.add()
			if i == goal {
				break
			}
		}
	}
	d.node, d.now = to, d.t[to]
}
