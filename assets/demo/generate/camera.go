package main

import (
	"image"
	"math"
	"math/rand/v2"
)

// shoot passes the lit ground through air, lens, film and scanner.
func shoot(light [3][]float32) *image.RGBA {
	// Air and lens: a blur of about 0.4 m, a little different for each colour;
	// then the laboratory's sharpening, which leaves a faint halo at edges.
	const (
		blur    = 1.15 // paint pixels, standard deviation
		halo    = 2.2
		sharpen = 0.5
	)
	for k := range light {
		light[k] = gauss(light[k], gridW, gridH, blur+0.12*float64(k))
		for i, soft := range gauss(light[k], gridW, gridH, halo) {
			light[k][i] += sharpen * (light[k][i] - soft)
		}
	}
	// Light scattered in lens and air over a wide area.
	var veil [3][]float32
	for k := range light {
		veil[k] = boxBlur(boxBlur(light[k], gridW, gridH, 14), gridW, gridH, 14)
	}

	// Grain, faint and of a size between one and three pixels.
	r := rand.New(rand.NewPCG(2025, 616))
	grain := func(sd, size float64) []float32 {
		g := make([]float32, outW*outH)
		for i := range g {
			g[i] = float32(r.NormFloat64())
		}
		g = gauss(g, outW, outH, size)
		k := float32(sd * 2 * math.SqrtPi * size) // the blur shrinks the spread so much
		for i := range g {
			g[i] *= k
		}
		return g
	}
	fine, coarse := grain(0.4, 0.8), grain(0.5, 1.6)
	tint := grain(0.4, 1.2)

	img := image.NewRGBA(image.Rect(0, 0, outW, outH))
	shift := [3]float64{0.28, 0, -0.25} // registration of the colours, paint pixels
	rows(outH, func(j int) {
		for i := range outW {
			o := j*outW + i
			x, y := float64(i)/outW-0.5, float64(j)/outH-0.5
			// Vignette, and the uneven balance of a scanned strip.
			fall := 1 - 0.16*(x*x+y*y) + 0.025*noise(x*2.2+4, y*2.2, 301)
			warm := 0.012*noise(x*1.7, y*1.7+8, 302) + 0.016*x
			// The seam where the next exposure was joined in.
			if x > seam(y) {
				fall *= 0.955
				warm -= 0.024
			}
			var v [3]float64
			for k := range v {
				px := (float64(i)+0.5)*finer - 0.5 + shift[k]*(1+x)
				py := (float64(j)+0.5)*finer - 0.5 + 0.5*shift[k]*(1+y)
				s := bilinear(light[k], px, py)
				v[k] = (0.95*s + 0.05*bilinear(veil[k], px, py)) * fall
			}
			v[0] *= 1 + warm
			v[2] *= 1 - warm
			// Haze, and a film made to show colours stronger than they are.
			haze := [3]float64{0.0060, 0.0105, 0.0125}
			grey := 0.35*v[0] + 0.5*v[1] + 0.15*v[2]
			for k := range v {
				v[k] = 0.96*(grey+1.05*(v[k]-grey)) + haze[k]
			}
			n, t := float64(fine[o]+coarse[o]), float64(tint[o])
			for k := range v {
				s := toSRGB(v[k])
				s += 0.030*math.Sin(2*math.Pi*(s-0.5)) + 0.05*smooth(0.65, 0.95, s) // film's own curve
				e := s*255 + n*(0.75+0.5*(1-s)) + t*float64(k-1)
				img.Pix[o*4+k] = uint8(clamp(math.Round(e), 0, 255))
			}
			img.Pix[o*4+3] = 255
		}
	})
	return img
}

// seam returns where, as a share of the picture's width off its middle, two
// exposures meet at the height y: a cut in straight pieces, well east of the yard.
func seam(y float64) float64 {
	cut := []pt{{-0.5, 0.255}, {-0.22, 0.235}, {-0.02, 0.262}, {0.13, 0.262}, {0.2, 0.225}, {0.5, 0.24}}
	for i := 1; i < len(cut); i++ {
		if a, b := cut[i-1], cut[i]; y <= b.x || i == len(cut)-1 {
			return lerp(a.y, b.y, (y-a.x)/(b.x-a.x))
		}
	}
	return 0
}

// gauss blurs with a Gaussian of the given standard deviation in cells.
func gauss(in []float32, w, h int, sd float64) []float32 {
	r := int(math.Ceil(3 * sd))
	kernel := make([]float32, 2*r+1)
	sum := 0.0
	for i := range kernel {
		sum += math.Exp(-float64((i-r)*(i-r)) / (2 * sd * sd))
	}
	for i := range kernel {
		kernel[i] = float32(math.Exp(-float64((i-r)*(i-r))/(2*sd*sd)) / sum)
	}
	mid, out := make([]float32, len(in)), make([]float32, len(in))
	rows(h, func(j int) {
		row := in[j*w : (j+1)*w]
		for i := range w {
			s := float32(0)
			for k, f := range kernel {
				s += f * row[min(max(i+k-r, 0), w-1)]
			}
			mid[j*w+i] = s
		}
	})
	rows(h, func(j int) {
		dst := out[j*w : (j+1)*w]
		for k, f := range kernel {
			src := mid[min(max(j+k-r, 0), h-1)*w:]
			for i := range dst {
				dst[i] += f * src[i]
			}
		}
	})
	return out
}

func bilinear(in []float32, x, y float64) float64 {
	x, y = clamp(x, 0, float64(gridW)-1.001), clamp(y, 0, float64(gridH)-1.001)
	i, j := int(x), int(y)
	fx, fy := x-float64(i), y-float64(j)
	k := j*gridW + i
	a := lerp(float64(in[k]), float64(in[k+1]), fx)
	b := lerp(float64(in[k+gridW]), float64(in[k+gridW+1]), fx)
	return lerp(a, b, fy)
}
