package radio

import "math"

// KnifeEdge returns J(ν), the loss in decibels over a single knife edge, by the
// usual approximation; 0 for ν at or under -0.78. ν is positive where the edge
// stands above the direct line:
//
//	ν = h·√(2/λ·(1/d1+1/d2))
//
// Source: ITU-R P.526-15 section 4.1 equation (31). It lies within 0.13 dB of
// [KnifeEdgeExact] for ν from -0.7 to 5.
func KnifeEdge(nu float64) float64 {
	if nu <= -0.78 {
		return 0
	}
	v := nu - 0.1
	return 6.9 + 20*math.Log10(math.Sqrt(v*v+1)+v)
}

// KnifeEdgeExact returns the loss in decibels over a single knife edge from the
// Fresnel integrals; negative where the edge adds to the direct wave. It is the
// reference [KnifeEdge] is held against.
//
// Source: ITU-R P.526-15 section 4.1 equation (30).
func KnifeEdgeExact(nu float64) float64 {
	c, s := fresnel(nu)
	return -20 * math.Log10(math.Hypot(1-c-s, c-s)/2)
}

// fresnel returns the Fresnel integrals C(x) and S(x), of cos and sin of πt²/2
// from 0 to x, to about 1e-8.
//
// Source: Abramowitz and Stegun 7.3.11, 7.3.13 (series), 7.3.9, 7.3.10,
// 7.3.27, 7.3.28 (asymptotic); equation numbers from memory.
func fresnel(x float64) (c, s float64) {
	if x < 0 {
		c, s = fresnel(-x)
		return -c, -s
	}
	if x < 3.5 {
		// Σ (-1)^n (π/2)^k x^(2k+1) / (k!(2k+1)), even k into C, odd into S.
		z := math.Pi / 2 * x * x
		term := x
		for k := 0; k < 200; k++ {
			part := term / float64(2*k+1)
			switch k % 4 {
			case 0:
				c += part
			case 1:
				s += part
			case 2:
				c -= part
			case 3:
				s -= part
			}
			term *= z / float64(k+1)
			if term < 1e-18 {
				break
			}
		}
		return c, s
	}
	u := 1 / (math.Pi * x * x)
	u2 := u * u
	f := (1 - u2*(3-u2*(105-u2*(10395-u2*2027025)))) / (math.Pi * x)
	g := u * (1 - u2*(15-u2*(945-u2*(135135-u2*34459425)))) / (math.Pi * x)
	sin, cos := math.Sincos(math.Pi / 2 * x * x)
	return 0.5 + f*sin - g*cos, 0.5 - f*cos - g*sin
}
