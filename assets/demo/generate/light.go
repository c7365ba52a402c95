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
				if h > 0.3 { // leaves pass light on
					face = 0.72*math.Max(face, 0) + 0.20
				}
				face = clamp(face/sinE, 0, 1.5)
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
				if over > -0.15 {
					soft := 0.10 + 0.010*t // the sun is a disc
					sun = math.Min(sun, 1-smooth(-soft, soft, over))
					if sun <= 0 {
						break
					}
				}
			}

			// The sky, as far as neighbours leave it open.
			sky := 1 - 0.50*smooth(0.2, 7, float64(wide[k])-h) - 0.35*smooth(0.1, 1.6, float64(close[k])-h)
			direct := 0.80 * face * sun
			bounce := 0.035
			out[0][k] = float32(float64(c.albedo[0][k]) * (1.030*direct + 0.165*sky + bounce))
			out[1][k] = float32(float64(c.albedo[1][k]) * (1.000*direct + 0.185*sky + bounce))
			out[2][k] = float32(float64(c.albedo[2][k]) * (0.945*direct + 0.225*sky + bounce))
		}
	})
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
