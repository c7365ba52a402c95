// Package contour draws lines of equal value over a grid of figures.
package contour

import (
	"math"

	"github.com/paulmach/orb"
)

// Lines returns the lines along which a grid of values has a level: w columns
// and len(values)/w rows, row by row, the first value at the origin and one unit
// from each to the next. NaN is where there is none; a line ends there. Greater
// values lie on the left of a line. A closed line ends with its first point.
//
// Along a side between two values the place is found in proportion; a square
// whose corners alternate is parted by the mean of the four (marching squares,
// common practice).
func Lines(values []float64, w int, level float64) []orb.LineString {
	if w < 2 {
		return nil
	}
	h := len(values) / w
	// A side is named by its first corner and its direction, twice the index and
	// 1 for the one that leads up. Each square adds directed pieces from side to
	// side; following them makes the lines.
	next := map[int]int{}
	from := map[int]bool{} // sides that a piece leads to
	add := func(a, b int) { next[a], from[b] = b, true }
	for r := 0; r+1 < h; r++ {
		for c := 0; c+1 < w; c++ {
			i := r*w + c
			v := [4]float64{values[i], values[i+1], values[i+w+1], values[i+w]} // anticlockwise
			sum := v[0] + v[1] + v[2] + v[3]
			if math.IsNaN(sum) {
				continue
			}
			sides := [4]int{2 * i, 2*(i+1) + 1, 2 * (i + w), 2*i + 1} // below, right, above, left
			at := 0
			for k := range v {
				if v[k] >= level {
					at |= 1 << k
				}
			}
			// Going from a to b greater values are on the left.
			piece := func(a, b int) { add(sides[a], sides[b]) }
			switch at {
			case 0b0001:
				piece(0, 3)
			case 0b0010:
				piece(1, 0)
			case 0b0011:
				piece(1, 3)
			case 0b0100:
				piece(2, 1)
			case 0b0110:
				piece(2, 0)
			case 0b0111:
				piece(2, 3)
			case 0b1000:
				piece(3, 2)
			case 0b1001:
				piece(0, 2)
			case 0b1011:
				piece(1, 2)
			case 0b1100:
				piece(3, 1)
			case 0b1101:
				piece(0, 1)
			case 0b1110:
				piece(3, 0)
			case 0b0101:
				if sum/4 >= level {
					piece(0, 1)
					piece(2, 3)
				} else {
					piece(0, 3)
					piece(2, 1)
				}
			case 0b1010:
				if sum/4 >= level {
					piece(3, 0)
					piece(1, 2)
				} else {
					piece(1, 0)
					piece(3, 2)
				}
			}
		}
	}
	point := func(side int) orb.Point {
		i := side / 2
		j, x, y := i+1, float64(i%w), float64(i/w)
		if side%2 == 1 {
			j = i + w
		}
		t := (level - values[i]) / (values[j] - values[i])
		if side%2 == 1 {
			return orb.Point{x, y + t}
		}
		return orb.Point{x + t, y}
	}
	var out []orb.LineString
	follow := func(side int) {
		line := orb.LineString{point(side)}
		for {
			to, ok := next[side]
			if !ok {
				break
			}
			delete(next, side)
			line = append(line, point(to))
			side = to
		}
		out = append(out, line)
	}
	// Open lines first, then rings, in the order of the grid: the same grid gives
	// the same lines.
	for open := 1; open >= 0; open-- {
		for side := 0; side < 2*len(values); side++ {
			if _, ok := next[side]; ok && (open == 0 || !from[side]) {
				follow(side)
			}
		}
	}
	return out
}
