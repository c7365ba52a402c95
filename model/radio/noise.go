package radio

import "math"

const (
	boltzmann    = 1.380649e-23 // joules per kelvin (SI)
	noiseKelvins = 290          // the temperature noise figures are stated for
)

// NoiseFigureDB is what an ordinary receiver adds to the noise of its antenna, in
// decibels: from memory, 6 to 7 dB.
const NoiseFigureDB = 6.0

// NoiseFloor returns the noise in dBm of a receiver bandwidthHz hertz wide, above 0,
// that adds noiseFigureDB decibels of its own. A radio that does not spread its signal
// hears nothing below it; most need 10 dB more.
//
// Source: k·T·B at 290 K, common knowledge.
func NoiseFloor(bandwidthHz, noiseFigureDB float64) float64 {
	return 10*math.Log10(boltzmann*noiseKelvins*bandwidthHz*1000) + noiseFigureDB
}

// RayleighReserve returns by how many decibels a level among many reflections lies
// below its mean power at most, in the share of places given, above 0 and below 1.
//
// Source: the exponential distribution of power of a Rayleigh-fading signal:
// -10·log10(-ln share).
func RayleighReserve(share float64) float64 { return -10 * math.Log10(-math.Log(share)) }
