package main

import (
	"math"
	"runtime"
	"sync"
)

// The picture is painted finer than it is published, then passed through the
// camera (camera.go).
const (
	outW, outH = 2800, 2400
	outPixel   = 0.4 // metres of the UTM grid
	finer      = 1.25
	pixel      = outPixel / finer
	gridW      = int(outW * finer)
	gridH      = int(outH * finer)
)

// canvas holds what stands on the ground and what colour it is, a cell a paint
// pixel, row 0 in the north.
type canvas struct {
	frame  affine // paint pixel -> site's frame
	back   affine // site's frame -> paint pixel
	height []float32
	albedo [3][]float32
	facing []float32 // sunlight on a built surface; below 0: take it from height
	leafy  []bool    // leaves, which are soft to light
	dark   []float32 // wheel marks, oil: 0 none to 1
	worn   []float32 // grass or crop worn away: 0 none to 1
}

// affine is x' = a x + b y + c, y' = d x + e y + f.
type affine struct{ a, b, c, d, e, f float64 }

func (m affine) at(x, y float64) pt { return pt{m.a*x + m.b*y + m.c, m.d*x + m.e*y + m.f} }

func (m affine) inverse() affine {
	k := 1 / (m.a*m.e - m.b*m.d)
	a, b, d, e := m.e*k, -m.b*k, -m.d*k, m.a*k
	return affine{a, b, -(a*m.c + b*m.f), d, e, -(d*m.c + e*m.f)}
}

// corner is the upper left corner of the picture in UTM, whole pixels.
func corner() (e, n float64) {
	e, n = utm(utmZone).forward(lon0, lat0)
	return math.Round(e) - outW*outPixel/2, math.Round(n) + outH*outPixel/2
}

// toFrame takes UTM coordinates to the site's frame.
func toFrame(e, n float64) pt {
	lon, lat := utm(utmZone).inverse(e, n)
	x, y := siteGrid(lon0, lat0).forward(lon, lat)
	return unplace(pt{x, y})
}

func newCanvas() *canvas {
	c := &canvas{}
	n := gridW * gridH
	c.height, c.facing = make([]float32, n), make([]float32, n)
	c.dark, c.worn = make([]float32, n), make([]float32, n)
	c.leafy = make([]bool, n)
	for i := range c.albedo {
		c.albedo[i] = make([]float32, n)
	}
	for i := range c.facing {
		c.facing[i] = -1
	}
	e0, n0 := corner()
	o := toFrame(e0, n0)
	w, h := float64(gridW), float64(gridH)
	x := toFrame(e0+w*pixel, n0).sub(o).mul(1 / w)
	y := toFrame(e0, n0-h*pixel).sub(o).mul(1 / h)
	c.frame = affine{x.x, y.x, o.x + (x.x+y.x)/2, x.y, y.y, o.y + (x.y+y.y)/2}
	c.back = c.frame.inverse()
	return c
}

// rows runs f for every row, shared among the processors.
func rows(n int, f func(j int)) {
	var wg sync.WaitGroup
	next := make(chan int, n)
	for j := range n {
		next <- j
	}
	close(next)
	for range runtime.NumCPU() {
		wg.Go(func() {
			for j := range next {
				f(j)
			}
		})
	}
	wg.Wait()
}

// each runs f for every paint pixel whose middle lies within reach of a box in
// the site's frame.
func (c *canvas) each(b box, f func(i int, q pt)) {
	var ps []pt
	for _, q := range []pt{{b.x0, b.y0}, {b.x1, b.y0}, {b.x0, b.y1}, {b.x1, b.y1}} {
		ps = append(ps, c.back.at(q.x, q.y))
	}
	g := boxOf(ps, 1)
	for j := max(0, int(g.y0)); j < min(gridH, int(g.y1)+1); j++ {
		for i := max(0, int(g.x0)); i < min(gridW, int(g.x1)+1); i++ {
			f(j*gridW+i, c.frame.at(float64(i), float64(j)))
		}
	}
}

func (c *canvas) set(i int, v rgb) {
	for k := range v {
		c.albedo[k][i] = float32(v[k])
	}
}

// stroke wears a line of the given width into one of the maps, unevenly.
func (c *canvas) stroke(on []float32, l line, width, strength float64, seed uint32) {
	for i := 1; i < len(l); i++ {
		a, b := l[i-1], l[i]
		c.each(boxOf([]pt{a, b}, 1.4*width+1), func(k int, q pt) {
			w := pt{q.x + 0.35*noise(q.x/7, q.y/7, seed), q.y + 0.35*noise(q.x/7, q.y/7, seed+1)}
			d2, _ := segDist2(w, a, b)
			d := math.Sqrt(d2) / clamp(1+0.45*noise(q.x/13, q.y/13, seed+4), 0.6, 1.4)
			if d > width {
				return
			}
			v := strength * smooth(width, width*0.3, d) * clamp(0.75+0.8*noise(q.x/5, q.y/5, seed+2)+0.5*noise(q.x/1.1, q.y/1.1, seed+3), 0, 1.3)
			on[k] = max(on[k], float32(v))
		})
	}
}
