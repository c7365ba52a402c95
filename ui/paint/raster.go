package paint

import (
	"math"
	"math/bits"
)

// block is the number of cells that one bit of the bitmap stands for.
const (
	blockBits = 3
	block     = 1 << blockBits
)

// raster accumulates the signed areas of edges. After the sweep it is empty.
type raster struct {
	w, h   int
	stride int // cells a row, a multiple of block, above w + 1
	words  int // words of bitmap a row
	acc    []float32
	bits   []uint64
	y0, y1 int // rows touched
}

func (r *raster) resize(w, h int) {
	if r.w == w && r.h == h {
		return
	}
	r.w, r.h = w, h
	r.stride = ((w+2)/block + 1) * block
	r.words = (r.stride/block + 63) / 64
	r.acc = make([]float32, r.stride*h)
	r.bits = make([]uint64, r.words*h)
	r.y0, r.y1 = h, 0
}

// edge enters the edge from a to b, in pixels. What lies above, below or to
// the right of the raster is left out, what lies to the left counts at the
// left border.
func (r *raster) edge(ax, ay, bx, by float64) {
	dir := float32(1)
	if ay > by {
		ax, ay, bx, by = bx, by, ax, ay
		dir = -1
	}
	h, w := float64(r.h), float64(r.w)
	if by-ay < 1e-9 || by <= 0 || ay >= h {
		return
	}
	slope := (bx - ax) / (by - ay)
	if ay < 0 {
		ax -= slope * ay
		ay = 0
	}
	if by > h {
		bx = ax + slope*(h-ay)
		by = h
	}
	if ax >= w && bx >= w {
		return
	}
	if ax <= 0 && bx <= 0 {
		r.clean(0, ay, 0, by, 0, dir)
		return
	}
	// Cut where the edge passes the left and the right border.
	for _, border := range [2]float64{0, w} {
		if (ax < border) == (bx < border) {
			continue
		}
		y := ay + (border-ax)/slope
		y = math.Min(math.Max(y, ay), by)
		if ax < border {
			if border == 0 {
				r.clean(0, ay, 0, y, 0, dir)
				ax, ay = 0, y
			} else {
				bx, by = w, y
			}
		} else {
			if border == 0 {
				r.clean(0, y, 0, by, 0, dir)
				bx, by = 0, y
			} else {
				ax, ay = w, y
			}
		}
	}
	r.clean(ax, ay, bx, by, slope, dir)
}

// clean enters an edge that lies within the raster, ay <= by.
func (r *raster) clean(ax, ay, bx, by, slope float64, dir float32) {
	if by <= ay {
		return
	}
	y := int(ay)
	last := int(math.Ceil(by)) - 1
	if last >= r.h {
		last = r.h - 1
	}
	r.y0, r.y1 = min(r.y0, y), max(r.y1, last+1)
	x := ax
	limit := float64(r.w)
	for ; y <= last; y++ {
		// The part of the edge in this row of cells: all of it but in the
		// first and the last.
		dy := 1.0
		if float64(y) < ay {
			dy -= ay - float64(y)
		}
		if float64(y+1) > by {
			dy -= float64(y+1) - by
		}
		next := x + slope*dy
		if y == last {
			next = bx
		}
		if next < 0 {
			next = 0
		} else if next > limit {
			next = limit
		}
		r.row(y, x, next, float32(dy)*dir)
		x = next
	}
}

// row enters the part of an edge within one row of cells: from x to next
// while y grows by |d|.
func (r *raster) row(y int, x, next float64, d float32) {
	acc := r.acc[y*r.stride : (y+1)*r.stride]
	left, right := x, next
	if left > right {
		left, right = right, left
	}
	i := int(left)
	j := int(right)
	row := r.bits[y*r.words : (y+1)*r.words]
	if j <= i {
		share := float32((left+right)/2 - float64(i)) // of the cell, left of the edge
		acc[i] += d * (1 - share)
		acc[i+1] += d * share
	} else {
		perX := d / float32(right-left)
		// First cell, full cells, last cell: in each the edge covers a
		// trapezium as wide as its run.
		run := float32(float64(i+1) - left)
		part := perX * run
		acc[i] += part * run / 2
		acc[i+1] += part * (1 - run/2)
		for k := i + 1; k < j; k++ {
			acc[k] += perX / 2
			acc[k+1] += perX / 2
		}
		if run := float32(right - float64(j)); run > 0 {
			part := perX * run
			acc[j] += part * (1 - run/2)
			acc[j+1] += part * run / 2
		}
	}
	for b := i >> blockBits; b <= (j+1)>>blockBits; b++ {
		row[b>>6] |= 1 << (b & 63)
	}
}

// sweep blends what was entered with s and empties the raster. Coverage is by the non-zero rule for shapes whose parts run the
// same way, holes the other.
func (r *raster) sweep(s *ink) {
	var cover [block]uint8
	for y := r.y0; y < r.y1; y++ {
		acc := r.acc[y*r.stride : (y+1)*r.stride]
		row := r.bits[y*r.words : (y+1)*r.words]
		sum := float32(0)
		x := 0
		for w, word := range row {
			if word == 0 {
				continue
			}
			row[w] = 0
			for word != 0 {
				b := w<<6 + bits.TrailingZeros64(word)
				word &= word - 1
				from := b << blockBits
				if from > x && x < r.w {
					if c := coverage(sum); c > 0 {
						s.solid(y, x, min(from, r.w), c)
					}
				}
				cells := acc[from : from+block]
				some := uint8(0)
				for k, v := range cells {
					sum += v
					c := coverage(sum)
					cover[k] = c
					some |= c
				}
				clear(cells)
				if some != 0 && from < r.w {
					s.mask(y, from, cover[:min(block, r.w-from)])
				}
				x = from + block
			}
		}
		if x < r.w {
			if c := coverage(sum); c > 0 {
				s.solid(y, x, r.w, c)
			}
		}
	}
	r.y0, r.y1 = r.h, 0
}

// coverage is a sum of signed areas as a share of 255.
func coverage(sum float32) uint8 {
	if sum < 0 {
		sum = -sum
	}
	if sum >= 1 {
		return 255
	}
	return uint8(sum*255 + 0.5)
}
