package terrain

import "math"

// fill gives every cell without a height that of the nearest cell that has one,
// a cell being dx by dy metres, and remembers which those were. Of several at the
// same distance the first row's, then the first column's is taken.
//
// It is the exact two-pass distance transform of Felzenszwalb and Huttenlocher,
// "Distance Transforms of Sampled Functions", Theory of Computing 8 (2012)
// 415-428: down the columns, then the lower envelope of parabolas along each row.
func (g *Grid) fill(dx, dy float64) error {
	w, h, holes := g.w, g.h, 0
	for _, z := range g.z {
		if !finite(z) {
			holes++
		}
	}
	switch holes {
	case 0:
		return nil
	case len(g.z):
		return ErrNoHeights
	}
	g.known = make(bits, (len(g.z)+63)/64)
	// up[p] is how many rows up (negative: down) the nearest known cell of
	// the column lies; none where the column has none.
	const none = math.MinInt16
	up := make([]int16, len(g.z))
	for i := range w {
		last := -1
		for j := range h {
			p := j*w + i
			switch {
			case finite(g.z[p]):
				g.known.add(p)
				last = j
				up[p] = 0
			case last >= 0:
				up[p] = int16(j - last)
			default:
				up[p] = none
			}
		}
		last = -1
		for j := h - 1; j >= 0; j-- {
			p := j*w + i
			switch {
			case up[p] == 0:
				last = j
			case last >= 0 && (up[p] == none || last-j < int(up[p])):
				up[p] = int16(j - last)
			}
		}
	}
	env := make([]int, w)       // columns whose parabolas make the envelope
	start := make([]float64, w) // column from which each is lowest
	s := dy / dx
	height := func(p int) float64 { d := float64(up[p]) * s; return d * d }
	for j := range h {
		row := g.z[j*w : (j+1)*w]
		k, gaps := 0, false
		for i := range w {
			p := j*w + i
			gaps = gaps || up[p] != 0
			if up[p] == none {
				continue
			}
			x := math.Inf(-1)
			for k > 0 {
				q := env[k-1]
				x = (height(p) + float64(i)*float64(i) - height(j*w+q) - float64(q)*float64(q)) / float64(2*(i-q))
				if x > start[k-1] {
					break
				}
				k--
				x = math.Inf(-1)
			}
			env[k], start[k] = i, x
			k++
		}
		if !gaps {
			continue
		}
		at := 0
		for i := range w {
			for at+1 < k && start[at+1] < float64(i) {
				at++
			}
			if up[j*w+i] != 0 {
				q := env[at]
				row[i] = g.z[(j-int(up[j*w+q]))*w+q]
			}
		}
	}
	return nil
}

func finite(z float32) bool { return z-z == 0 }
