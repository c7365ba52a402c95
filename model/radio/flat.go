package radio

import (
	"math"
	"math/cmplx"
)

// What this file works out is for comparison with a rated loss, of flat open
// ground: it is never added to one, for the diffraction loss contains the ground.

// Breakpoint returns the distance in metres from which the ground's reflection
// always takes away, between antennas h1 and h2 metres above flat ground:
// 4·h1·h2/λ. Nearer than about twice as far, the two rays add or cancel from
// place to place.
//
// Source: ITU-R P.1411-12 section 4.1.2.
func Breakpoint(h1, h2, freqMHz float64) float64 { return 4 * h1 * h2 / Wavelength(freqMHz) }

// PlaneEarthLoss returns the loss in decibels over distance metres of flat open
// ground between antennas h1 and h2 metres high, far beyond the [Breakpoint]:
// 40·log10(d) - 20·log10(h1·h2), whatever the frequency. Twice the distance costs
// 12 dB, one antenna twice as high gains 6 dB. It is never less than free space.
//
// Source: the plane-earth limit of the two-ray model, common knowledge.
func PlaneEarthLoss(distance, h1, h2, freqMHz float64) float64 {
	return math.Max(40*math.Log10(distance)-20*math.Log10(h1*h2), FreeSpaceLoss(math.Hypot(distance, h1-h2), freqMHz))
}

// Soil is flat ground to a radio wave. Its zero value is ground of medium
// moisture, 15 and 0.005 S/m.
type Soil struct {
	Permittivity float64 // relative
	Conductivity float64 // S/m
}

// typicalSoil is of medium moisture (ITU-R P.527, from memory).
var typicalSoil = Soil{15, 0.005}

// TwoRayExcess returns what the ray reflected by flat ground takes of the direct
// one, decibels over free space along the slope, negative where it adds to it,
// over distance metres between antennas h1 and h2 metres high. The field is that
// of isotropic antennas, without a surface wave.
//
// Source: direct and specular ray with Fresnel's coefficients, the ground's
// permittivity ε - j·60·λ·σ.
func TwoRayExcess(distance, h1, h2, freqMHz float64, p Polarisation, s Soil) float64 {
	if s == (Soil{}) {
		s = typicalSoil
	}
	lambda := Wavelength(freqMHz)
	direct, reflected := math.Hypot(distance, h1-h2), math.Hypot(distance, h1+h2)
	sin, cos := (h1+h2)/reflected, distance/reflected
	eps := complex(s.Permittivity, -60*lambda*s.Conductivity)
	root := cmplx.Sqrt(eps - complex(cos*cos, 0))
	up := complex(sin, 0)
	if p == Vertical {
		up *= eps
	}
	r := (up - root) / (up + root) * complex(direct/reflected, 0) * cmplx.Exp(complex(0, -2*math.Pi*(reflected-direct)/lambda))
	return -20 * math.Log10(cmplx.Abs(1+r))
}
