package main

import "math"

// The sun of a morning in June, degrees.
const (
	sunAzimuth   = 128.0
	sunElevation = 43.0
)

// light returns the canvas as a picture sees it from above: sun, sky, shadow.
func (c *canvas) light() [3][]float32 {
	var (
		sinA, cosA = math.Sincos(sunAzimuth * math.Pi / 180)
		sinE, cosE = math.Sincos(sunElevation * math.Pi / 180)
		stepX      = sinA // a paint pixel toward the sun; rows run south
		stepY      = -cosA
		rise       = pixel * sinE / cosE
	)
	top := float32(0)
	for _, h := range c.height {
		top = max(top, h)
	}
	wide, close := boxBlur(c.height, gridW, gridH, 26), boxBlur(c.height, gridW, gridH, 4)
	var out [3][]float32
	for k := range out {
		out[k] = make([]float32, len(c.height))
	}
	sample := func(x, y float64) float64 {
		i, j := int(x), int(y)
		if i < 0 || j < 0 || i >= gridW-1 || j >= gridH-1 {
			return 0
		}
		fx, fy := float32(x-float64(i)), float32(y-float64(j))
		k := j*gridW + i
		h := c.height
		a := h[k] + fx*(h[k+1]-h[k])
		b := h[k+gridW] + fx*(h[k+gridW+1]-h[k+gridW])
		return float64(a + fy*(b-a))
	}
	rows(gridH, func(j int) {
		for i := range gridW {
			k := j*gridW + i
			h := float64(c.height[k])

			// How squarely the surface meets the sun, against level ground.
			face := float64(c.facing[k])
			if face < 0 {
				gx := c.slope(k, 1, i > 0, i < gridW-1)
				gy := c.slope(k, gridW, j > 0, j < gridH-1)
				nx, ny := -gx/pixel, -gy/pixel
				face = (nx*cosE*sinA + ny*cosE*-cosA + sinE) / math.Sqrt(1+nx*nx+ny*ny)
				face = clamp(face/sinE, 0, 1.5)
			}
			// Leaves pass light on, and a crown is no sharp edge.
			edge, spread, lead, least := 0.10, 0.010, 1.0, 0.0
			if c.leafy[k] {
				edge, spread, lead, least = 1.5, 0.04, 0.1, 0.14
			}

			// What stands between here and the sun.
			sun := 1.0
			for n := 1; ; n++ {
				z := h + 0.12 + float64(n)*rise
				if z > float64(top) {
					break
				}
				t := float64(n)
				over := sample(float64(i)+stepX*t, float64(j)+stepY*t) - z
				if soft := edge + spread*t; over > -lead*soft { // the sun is a disc
					sun = math.Min(sun, 1-smooth(-lead*soft, soft, over))
					if sun <= 0 {
						break
					}
				}
			}

			// The sky, as far as neighbours leave it open.
			sky := 1 - 0.28*smooth(0.2, 7, float64(wide[k])-h) - 0.18*smooth(0.1, 1.6, float64(close[k])-h)
			direct := 0.76 * face * math.Max(sun, least)
			bounce := 0.03
			out[0][k] = float32(float64(c.albedo[0][k]) * (1.050*direct + 0.178*sky + bounce))
			out[1][k] = float32(float64(c.albedo[1][k]) * (1.000*direct + 0.217*sky + bounce))
			out[2][k] = float32(float64(c.albedo[2][k]) * (0.930*direct + 0.265*sky + bounce))
		}
	})
	return out
}

// The camera's plumb point in the picture, as a share of its width and height,
// and its height above ground: what is tall leans away from that point.
const (
	plumbX, plumbY = 0.30, 0.80
	flight         = 4800.0 // metres
	blocks         = 12     // paint pixels, more than anything leans
)

// lean returns the lit ground as a lens sees it that does not look straight down.
func (c *canvas) lean(light [3][]float32) (out [3][]float32) {
	for k := range out {
		out[k] = make([]float32, len(c.height))
	}
	high := boxMax(c.height, gridW, gridH, blocks)
	rows(gridH, func(j int) {
		for i := range gridW {
			k := j*gridW + i
			dx := (float64(i) - plumbX*float64(gridW)) / flight // paint pixels a metre
			dy := (float64(j) - plumbY*float64(gridH)) / flight
			from, z := k, float64(high[(j/blocks)*(gridW/blocks+1)+i/blocks])
			for ; z > 0; z -= 0.3 {
				x, y := int(math.Round(float64(i)-dx*z)), int(math.Round(float64(j)-dy*z))
				if x < 0 || y < 0 || x >= gridW || y >= gridH {
					continue
				}
				if from = y*gridW + x; float64(c.height[from]) >= z {
					break
				}
				from = k
			}
			tone := float32(1)
			if float64(c.height[from])-z > 1 && !c.leafy[from] && z > 0 {
				tone = 0.62 // a wall
			}
			for n := range out {
				out[n][k] = tone * light[n][from]
			}
		}
	})
	return out
}

// boxMax returns the largest value in each square of n cells and its neighbours.
func boxMax(in []float32, w, h, n int) []float32 {
	bw, bh := w/n+1, h/n+1
	own, out := make([]float32, bw*bh), make([]float32, bw*bh)
	for k, v := range in {
		b := (k/w/n)*bw + k%w/n
		own[b] = max(own[b], v)
	}
	for j := range bh {
		for i := range bw {
			for y := max(j-1, 0); y <= min(j+1, bh-1); y++ {
				for x := max(i-1, 0); x <= min(i+1, bw-1); x++ {
					out[j*bw+i] = max(out[j*bw+i], own[y*bw+x])
				}
			}
		}
	}
	return out
}

// slope returns the rise of height a cell across cell k, leaving out a neighbour
// that belongs to something else.
func (c *canvas) slope(k, step int, before, after bool) float64 {
	const wall = 1.6
	h := c.height[k]
	sum, n := 0.0, 0.0
	if before {
		if d := float64(h - c.height[k-step]); math.Abs(d) < wall {
			sum, n = sum+d, n+1
		}
	}
	if after {
		if d := float64(c.height[k+step] - h); math.Abs(d) < wall {
			sum, n = sum+d, n+1
		}
	}
	if n == 0 {
		return 0
	}
	return sum / n
}

// boxBlur returns the mean over a square of 2r+1 cells, narrower at the edges.
func boxBlur(in []float32, w, h, r int) []float32 {
	mid, out := make([]float32, len(in)), make([]float32, len(in))
	rows(h, func(j int) {
		row, dst := in[j*w:(j+1)*w], mid[j*w:(j+1)*w]
		sum, n := 0.0, 0
		for i := range min(r, w) {
			sum += float64(row[i])
			n++
		}
		for i := range w {
			if i+r < w {
				sum += float64(row[i+r])
				n++
			}
			if i-r-1 >= 0 {
				sum -= float64(row[i-r-1])
				n--
			}
			dst[i] = float32(sum / float64(n))
		}
	})
	const strip = 64
	rows((w+strip-1)/strip, func(s int) {
		a, b := s*strip, min((s+1)*strip, w)
		var sum [strip]float64
		n := 0
		for j := range min(r, h) {
			for i := a; i < b; i++ {
				sum[i-a] += float64(mid[j*w+i])
			}
			n++
		}
		for j := range h {
			if j+r < h {
				for i := a; i < b; i++ {
					sum[i-a] += float64(mid[(j+r)*w+i])
				}
				n++
			}
			if j-r-1 >= 0 {
				for i := a; i < b; i++ {
					sum[i-a] -= float64(mid[(j-r-1)*w+i])
				}
				n--
			}
			for i := a; i < b; i++ {
				out[j*w+i] = float32(sum[i-a] / float64(n))
			}
		}
	})
	return out
}
