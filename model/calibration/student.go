package calibration

import "math"

// StudentCDF returns the share of Student's t distribution with freedom degrees
// of freedom (at least 1) that lies at or below t.
//
// Source: Abramowitz and Stegun 26.7.3 and 26.7.4, finite sums for whole degrees
// of freedom (equation numbers from memory).
func StudentCDF(t float64, freedom int) float64 {
	return (1 + within(math.Atan(t/math.Sqrt(float64(freedom))), freedom)) / 2
}

// within returns the share between -t and t, where t is √freedom·tan(theta);
// negative where theta is.
func within(theta float64, freedom int) float64 {
	sin, cos := math.Sincos(theta)
	if freedom == 1 {
		return 2 * theta / math.Pi
	}
	// Terms of cos, from 1 (even) or cos (odd) on; k is the power reached.
	term, k := 1.0, 0
	if freedom%2 == 1 {
		term, k = cos, 1
	}
	sum := term
	for ; k < freedom-2; k += 2 {
		term *= cos * cos * float64(k+1) / float64(k+2)
		sum += term
	}
	if freedom%2 == 0 {
		return sin * sum
	}
	return 2 / math.Pi * (theta + sin*sum)
}

// StudentQuantile returns the t that the share p (above 0, below 1) of Student's
// t distribution with freedom degrees of freedom (at least 1) lies at or below.
func StudentQuantile(p float64, freedom int) float64 {
	if p < 0.5 {
		return -StudentQuantile(1-p, freedom)
	}
	low, high := 0.0, math.Pi/2
	for range 200 {
		theta := (low + high) / 2
		if theta == low || theta == high {
			break
		}
		if (1+within(theta, freedom))/2 < p {
			low = theta
		} else {
			high = theta
		}
	}
	return math.Sqrt(float64(freedom)) * math.Tan((low+high)/2)
}
