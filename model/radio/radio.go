// Package radio computes what a radio link loses on its way over the ground,
// what margin is left at the far end, and which way each sensor's message
// takes to a receiver.
//
// It works on numbers the caller has measured off the site grid and knows
// nothing of plans: a [Profile] of the ground between two antennas goes into
// [Diffract], the ways past what stands on it into [Ways] and [Vegetation],
// losses and the two ends' [Radio] into [Rate], rated links into [Routes].
//
// Basic loss is free space plus the delta-Bullington diffraction loss. The
// latter already contains the reflection from the ground: no two-ray or
// plane-earth term may be added to it.
//
// Distances and heights are metres, frequencies megahertz, losses decibels;
// any other unit is in the name. Every function is pure.
//
// Formulas name their Recommendation by the section numbers that public
// reference implementations give in their comments. The text of the
// Recommendations themselves was not read.
package radio

import "math"

// speedOfLight is the speed of light in vacuum, m/s (exact, SI brochure).
const speedOfLight = 299792458.0

// Wavelength returns the wavelength in metres at freqMHz megahertz.
func Wavelength(freqMHz float64) float64 {
	return speedOfLight / (freqMHz * 1e6)
}

// FreeSpaceLoss returns the basic transmission loss in free space, in
// decibels, at distance metres (antenna to antenna, along the slope) and
// freqMHz megahertz: 20·log10(4πd/λ). It returns 0 at distances under λ/4π,
// where the formula no longer means anything.
//
// Source: IEC 60050-705, term 705-08-05. Recommendation ITU-R P.525 prints the
// same with its constant rounded to 32.4 dB (MHz, km), so its worked values
// lie up to 0.05 dB away.
func FreeSpaceLoss(distance, freqMHz float64) float64 {
	return 20 * math.Log10(math.Max(1, 4*math.Pi*distance/Wavelength(freqMHz)))
}

// FresnelRadius returns the radius in metres of the n-th Fresnel zone at a
// point d1 metres from one antenna and d2 from the other: √(nλd1d2/(d1+d2)).
// It returns 0 at either antenna.
//
// Source: ITU-R P.526 section 2. The Recommendation also prints a rounded form
// with the constant 550 (MHz, km), which comes out 0.5 % larger.
func FresnelRadius(n int, d1, d2, freqMHz float64) float64 {
	if d1 <= 0 || d2 <= 0 {
		return 0
	}
	return math.Sqrt(float64(n) * Wavelength(freqMHz) * d1 * (d2 / (d1 + d2)))
}

// EarthBulge returns how far, in metres, the Earth of effective radius
// radiusKm kilometres stands above the chord between two antennas, at a point
// d1 metres from one and d2 from the other: d1·d2/(2a).
//
// Source: the curvature term of ITU-R P.526-15 section 4.5.
func EarthBulge(d1, d2, radiusKm float64) float64 {
	return d1 * d2 / (2000 * radiusKm)
}

// dipoleGainDBi is the gain of the half-wave dipole that effective radiated
// power is measured against, over the isotropic antenna.
const dipoleGainDBi = 2.15

// ERPToEIRP returns the equivalent isotropic radiated power in dBm of an
// effective radiated power in dBm, 2.15 dB more.
func ERPToEIRP(erpDBm float64) float64 { return erpDBm + dipoleGainDBi }

// DBm returns a power of milliwatts in dBm. The power is above 0.
func DBm(milliwatts float64) float64 { return 10 * math.Log10(milliwatts) }
