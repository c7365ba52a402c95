package main

import "math"

// hash2 mixes two lattice coordinates and a seed into 32 well-spread bits.
func hash2(x, y int32, seed uint32) uint32 {
	h := uint32(x)*0x8da6b343 ^ uint32(y)*0xd8163841 ^ seed*0xcb1ab31f
	h ^= h >> 15
	h *= 0x2c1b3c6d
	h ^= h >> 12
	h *= 0x297a2d39
	return h ^ h>>15
}

// rand01 returns a value in [0, 1) fixed by a cell and a seed.
func rand01(x, y int, seed uint32) float64 {
	return float64(hash2(int32(x), int32(y), seed)) / (1 << 32)
}

var gradients = func() (g [64][2]float64) {
	for i := range g {
		g[i][1], g[i][0] = math.Sincos(2 * math.Pi * float64(i) / 64)
	}
	return
}()

// noise returns smooth gradient noise of unit wavelength, about -1 to 1.
func noise(x, y float64, seed uint32) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	ix, iy := int32(fx), int32(fy)
	dx, dy := x-fx, y-fy
	corner := func(i, j int32) float64 {
		g := &gradients[hash2(ix+i, iy+j, seed)&63]
		return g[0]*(dx-float64(i)) + g[1]*(dy-float64(j))
	}
	sx := dx * dx * dx * (dx*(dx*6-15) + 10)
	sy := dy * dy * dy * (dy*(dy*6-15) + 10)
	a, b, c, d := corner(0, 0), corner(1, 0), corner(0, 1), corner(1, 1)
	low := a + sx*(b-a)
	return 1.5 * (low + sy*(c+sx*(d-c)-low))
}

// fbm sums octaves of noise, each half the wavelength and half the strength of
// the one before: about -1 to 1, most of it within ±0.5.
func fbm(x, y float64, octaves int, seed uint32) float64 {
	sum, amp := 0.0, 0.6
	for i := range octaves {
		sum += amp * noise(x, y, seed+uint32(i)*7919)
		// A turn between octaves hides the lattice.
		x, y = 1.6*x+1.2*y+17.3, -1.2*x+1.6*y-5.1
		amp /= 2
	}
	return sum
}

func clamp(x, lo, hi float64) float64 { return math.Min(hi, math.Max(lo, x)) }

func lerp(a, b, t float64) float64 { return a + (b-a)*t }

// smooth rises from 0 at a to 1 at b; with a above b it falls.
func smooth(a, b, x float64) float64 {
	t := clamp((x-a)/(b-a), 0, 1)
	return t * t * (3 - 2*t)
}

// ridge is 1 on the line d = 0 and falls to 0 at the distance w.
func ridge(d, w float64) float64 {
	t := math.Abs(d) / w
	if t >= 1 {
		return 0
	}
	t = 1 - t*t
	return t * t
}

// rgb is a colour as linear light.
type rgb [3]float64

// col reads a colour as a picture shows it (sRGB, 0xRRGGBB) into linear light.
func col(hex uint32) rgb {
	var c rgb
	for i := range c {
		c[i] = toLinear(float64(hex>>(16-8*i)&255) / 255)
	}
	return c
}

func toLinear(s float64) float64 {
	if s <= 0.04045 {
		return s / 12.92
	}
	return math.Pow((s+0.055)/1.055, 2.4)
}

func toSRGB(l float64) float64 {
	if l <= 0.0031308 {
		return 12.92 * math.Max(l, 0)
	}
	return 1.055*math.Pow(l, 1/2.4) - 0.055
}

func mix(a, b rgb, t float64) rgb {
	return rgb{lerp(a[0], b[0], t), lerp(a[1], b[1], t), lerp(a[2], b[2], t)}
}

func (c rgb) times(k float64) rgb { return rgb{c[0] * k, c[1] * k, c[2] * k} }
