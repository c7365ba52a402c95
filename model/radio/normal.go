package radio

import "math"

// NormalCDF returns the share of a standard normal distribution at or below z.
func NormalCDF(z float64) float64 {
	return math.Erfc(-z/math.Sqrt2) / 2
}

// NormalQuantile returns the z that the share p of a standard normal
// distribution lies at or below; p is above 0 and below 1.
func NormalQuantile(p float64) float64 {
	return -math.Sqrt2 * math.Erfcinv(2*p)
}
