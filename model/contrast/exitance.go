// Package contrast compares the signal of one crossing with that of another: how
// much weaker or stronger a passive-infrared sensor sees this target, here, on
// this day, than it saw the one it was walk-tested with.
//
// Only the ratio is told. The threshold, the pulse logic and the noise of a sensor
// are not known, so neither a range in metres nor a probability follows from these
// formulas; both come from trials on site.
//
// Target and background are taken as grey and diffuse, without reflected sky, the
// sensor as a fan of zones read by a pyroelectric element through a first-order
// band-pass.
package contrast

import "math"

// CODATA 2018, exact: the Stefan-Boltzmann constant in W m⁻² K⁻⁴, the second
// radiation constant in m K, and 0 degrees Celsius in kelvin.
const (
	stefanBoltzmann = 5.670374419e-8
	secondRadiation = 0.01438776877
	zeroCelsius     = 273.15
)

// Band is a band of wavelengths, in micrometres, 0 < From < To.
type Band struct{ From, To float64 }

// Thermal is the window of the air that outdoor sensors look through.
var Thermal = Band{8, 14}

// Exitance returns the power per area that a black surface radiates within the
// band, in W/m², at a temperature in degrees Celsius; 0 at absolute zero and below.
//
// Source: Planck's law, integrated as a series (for instance Chang and Rhee,
// International Communications in Heat and Mass Transfer 11, 1984; from memory).
func (b Band) Exitance(celsius float64) float64 {
	T := celsius + zeroCelsius
	if !(T > 0) {
		return 0
	}
	return stefanBoltzmann * T * T * T * T * (belowFraction(b.x(b.To, T)) - belowFraction(b.x(b.From, T)))
}

// Slope returns the change of Exitance with temperature, in W m⁻² K⁻¹.
func (b Band) Slope(celsius float64) float64 {
	T := celsius + zeroCelsius
	if !(T > 0) {
		return 0
	}
	to, from := b.x(b.To, T), b.x(b.From, T)
	// F'(x) = -(15/π⁴) x³/(eˣ-1), and x falls as 1/T.
	edge := func(x float64) float64 {
		return 15 / (math.Pi * math.Pi * math.Pi * math.Pi) * x * x * x * x / math.Expm1(x)
	}
	return stefanBoltzmann * T * T * T * (4*(belowFraction(to)-belowFraction(from)) + edge(to) - edge(from))
}

// x returns c₂/λT.
func (Band) x(micrometres, kelvin float64) float64 {
	return secondRadiation / (micrometres * 1e-6 * kelvin)
}

// belowFraction returns the share of a black body's power radiated at wavelengths
// below c₂/(x·T).
func belowFraction(x float64) float64 {
	const pi4 = math.Pi * math.Pi * math.Pi * math.Pi
	if x < 0.5 { // there the other series needs too many terms
		return 1 - 15/pi4*x*x*x*(1./3-x/8+x*x/60-x*x*x*x/5040+x*x*x*x*x*x/272160-x*x*x*x*x*x*x*x/13305600)
	}
	sum := 0.0
	for n := 1.0; ; n++ {
		term := math.Exp(-n*x) / n * (x*x*x + 3*x*x/n + 6*x/(n*n) + 6/(n*n*n))
		sum += term
		if term <= 1e-17*sum {
			return 15 / pi4 * sum
		}
	}
}

// PeakWavelength returns the wavelength at which a black surface radiates most per
// wavelength, in micrometres: Wien's displacement law. A temperature of absolute
// zero or below has none, and 0 comes back.
//
// Source: CODATA 2018, Wien wavelength displacement law constant.
func PeakWavelength(celsius float64) float64 {
	const wien = 2897.771955 // µm K
	if !(celsius > -zeroCelsius) {
		return 0
	}
	return wien / (celsius + zeroCelsius)
}

// Skin is the temperature of bare skin outdoors, in degrees Celsius. It lies about
// 30 to 35; chosen.
const Skin = 33.0

// Emissivity of skin, cloth, soil and plants within the band: about 0.95, common
// practice.
const Emissivity = 0.95

// Surface returns the temperature of a clothed surface, in degrees Celsius:
// clothing is how far it has gone from that of the body to that of the air, 0 for
// bare skin, 1 for a surface as warm as the air. An illustrative model, chosen.
func Surface(body, air, clothing float64) float64 { return body + clothing*(air-body) }

// Difference returns how much more a target at one temperature radiates within the
// band than its background at another, in W/m²; negative where the background is
// the warmer. Temperatures in degrees Celsius.
func (b Band) Difference(emissivity, target, background float64) float64 {
	return emissivity * (b.Exitance(target) - b.Exitance(background))
}
