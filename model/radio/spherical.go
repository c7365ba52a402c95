package radio

import "math"

// spherical returns the diffraction loss in decibels over a smooth Earth on a
// path of d kilometres between antennas hte and hre metres above it, at least 0.
// Within the radio horizon the loss is that of a smaller Earth, of which the
// antennas would just see each other, scaled by how far the first Fresnel zone
// is cut.
//
// Source: ITU-R P.526-15 section 3.2.
func spherical(d, hte, hre, lambda float64, c Conditions) float64 {
	ae := c.EffectiveRadiusKm
	roots := math.Sqrt(hte) + math.Sqrt(hre)
	if d >= math.Sqrt(0.002*ae)*roots {
		return math.Max(0, firstTerm(d, hte, hre, ae, c))
	}
	// The point of least clearance. The Recommendation writes b with
	// cos(π/3 + acos(x)/3), which is sin(asin(x)/3) and keeps its digits for
	// small m in the latter form.
	ratio := (hte - hre) / (hte + hre)
	m := 250 * d * d / (ae * (hte + hre))
	x := 1.5 * ratio * math.Sqrt(3*m/((m+1)*(m+1)*(m+1)))
	b := 2 * math.Sqrt((m+1)/(3*m)) * math.Sin(math.Asin(max(-1, min(1, x)))/3)
	d1 := d / 2 * (1 + b)
	d2 := d - d1
	clear := ((hte-500*d1*d1/ae)*d2 + (hre-500*d2*d2/ae)*d1) / d
	needed := 17.456 * math.Sqrt(d1*d2*lambda/d)
	if clear > needed {
		return 0
	}
	aem := 500 * (d / roots) * (d / roots)
	return math.Max(0, (1-clear/needed)*firstTerm(d, hte, hre, aem, c))
}

// A surface is what the ground is to a radio wave.
type surface struct {
	permittivity float64 // relative
	conductivity float64 // S/m
}

// Source: the land and sea constants of ITU-R P.452 and P.1812 section 4.3.3.
var (
	land = surface{22, 0.003}
	sea  = surface{80, 5}
)

// firstTerm returns the first term of the residue series for the loss in
// decibels over an Earth of radius a kilometres, weighted by the share of sea.
// It may be negative well within the horizon.
//
// Source: ITU-R P.526-15 section 3.1.
func firstTerm(d, hte, hre, a float64, c Conditions) float64 {
	var loss float64
	if c.SeaFraction < 1 {
		loss += (1 - c.SeaFraction) * land.firstTerm(d, hte, hre, a, c)
	}
	if c.SeaFraction > 0 {
		loss += c.SeaFraction * sea.firstTerm(d, hte, hre, a, c)
	}
	return loss
}

func (s surface) firstTerm(d, hte, hre, a float64, c Conditions) float64 {
	f := c.FreqMHz / 1000
	er, loss := s.permittivity, 18*s.conductivity/f
	k := 0.036 / (math.Cbrt(a*f) * math.Sqrt(math.Hypot(er-1, loss)))
	if c.Polarisation == Vertical {
		k *= math.Hypot(er, loss)
	}
	k2 := k * k
	beta := (1 + 1.6*k2 + 0.67*k2*k2) / (1 + 4.5*k2 + 1.53*k2*k2)
	x := 21.88 * beta * math.Cbrt(f/(a*a)) * d
	y := 0.9575 * beta * math.Cbrt(f*f/a)
	return -distanceTerm(x) - heightGain(beta*y*hte, k) - heightGain(beta*y*hre, k)
}

// distanceTerm returns F(X) in decibels.
func distanceTerm(x float64) float64 {
	if x >= 1.6 {
		return 11 + 10*math.Log10(x) - 17.6*x
	}
	return -20*math.Log10(x) - 5.6488*math.Pow(x, 1.425)
}

// heightGain returns G in decibels of an antenna at normalised height b = β·Y
// over ground of normalised admittance k.
func heightGain(b, k float64) float64 {
	var g float64
	if b > 2 {
		g = 17.6*math.Sqrt(b-1.1) - 5*math.Log10(b-1.1) - 8
	} else {
		g = 20 * math.Log10(b+0.1*b*b*b)
	}
	return max(g, 2+20*math.Log10(k))
}
