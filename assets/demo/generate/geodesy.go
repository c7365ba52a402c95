package main

import "math"

// WGS 84 ellipsoid: semi-major axis in metres and flattening.
// Source: NGA.STND.0036, table 3.1.
const (
	semiMajor  = 6378137.0
	flattening = 1 / 298.257223563
)

// mercator is a transverse Mercator projection of the WGS 84 ellipsoid.
//
// Source: Krüger's series in the third flattening n to its fourth order, as in
// Karney, "Transverse Mercator with an accuracy of a few nanometers" (2011).
// Over the few kilometres used here its error is far below a millimetre.
type mercator struct {
	lon0, scale    float64 // degrees; scale on the central meridian
	falseE, falseN float64 // metres
}

// utm returns the projection of a northern UTM zone (1 to 60).
func utm(zone int) mercator {
	return mercator{lon0: float64(zone)*6 - 183, scale: 0.9996, falseE: 500000}
}

// siteGrid returns the projection with scale 1 whose point (lon, lat), in
// degrees, is the origin (0, 0).
func siteGrid(lon, lat float64) mercator {
	m := mercator{lon0: lon, scale: 1}
	_, n := m.forward(lon, lat)
	m.falseN = -n
	return m
}

// Coefficients of the series, for n of WGS 84.
var (
	third = flattening / (2 - flattening)
	ecc   = math.Sqrt(flattening * (2 - flattening))
	rectA = semiMajor / (1 + third) * (1 + math.Pow(third, 2)/4 + math.Pow(third, 4)/64)
	alpha = [4]float64{
		third/2 - 2*thirdTo(2)/3 + 5*thirdTo(3)/16 + 41*thirdTo(4)/180,
		13*thirdTo(2)/48 - 3*thirdTo(3)/5 + 557*thirdTo(4)/1440,
		61*thirdTo(3)/240 - 103*thirdTo(4)/140,
		49561 * thirdTo(4) / 161280,
	}
	beta = [4]float64{
		third/2 - 2*thirdTo(2)/3 + 37*thirdTo(3)/96 - thirdTo(4)/360,
		thirdTo(2)/48 + thirdTo(3)/15 - 437*thirdTo(4)/1440,
		17*thirdTo(3)/480 - 37*thirdTo(4)/840,
		4397 * thirdTo(4) / 161280,
	}
)

// thirdTo returns a power of the third flattening.
func thirdTo(k float64) float64 { return math.Pow(third, k) }

// forward returns easting and northing in metres of a point in degrees.
func (m mercator) forward(lon, lat float64) (e, n float64) {
	lam := (lon - m.lon0) * math.Pi / 180
	phi := lat * math.Pi / 180
	tau := math.Tan(phi)
	sigma := math.Sinh(ecc * math.Atanh(ecc*tau/math.Hypot(1, tau)))
	t := tau*math.Hypot(1, sigma) - sigma*math.Hypot(1, tau)
	xi := math.Atan2(t, math.Cos(lam))
	eta := math.Asinh(math.Sin(lam) / math.Hypot(t, math.Cos(lam)))
	x, y := eta, xi
	for i, a := range alpha {
		k := 2 * float64(i+1)
		x += a * math.Cos(k*xi) * math.Sinh(k*eta)
		y += a * math.Sin(k*xi) * math.Cosh(k*eta)
	}
	return m.falseE + m.scale*rectA*x, m.falseN + m.scale*rectA*y
}

// inverse returns longitude and latitude in degrees of a point in metres.
func (m mercator) inverse(e, n float64) (lon, lat float64) {
	eta := (e - m.falseE) / (m.scale * rectA)
	xi := (n - m.falseN) / (m.scale * rectA)
	x, y := eta, xi
	for i, b := range beta {
		k := 2 * float64(i+1)
		x -= b * math.Cos(k*xi) * math.Sinh(k*eta)
		y -= b * math.Sin(k*xi) * math.Cosh(k*eta)
	}
	t := math.Sin(y) / math.Hypot(math.Sinh(x), math.Cos(y))
	lam := math.Atan2(math.Sinh(x), math.Cos(y))
	tau := t
	for range 5 { // Newton; two rounds reach the last bit
		sigma := math.Sinh(ecc * math.Atanh(ecc*tau/math.Hypot(1, tau)))
		ti := tau*math.Hypot(1, sigma) - sigma*math.Hypot(1, tau)
		tau += (t - ti) / math.Hypot(1, ti) * (1 + (1-ecc*ecc)*tau*tau) / ((1 - ecc*ecc) * math.Hypot(1, tau))
	}
	return m.lon0 + lam*180/math.Pi, math.Atan(tau) * 180 / math.Pi
}
