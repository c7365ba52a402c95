// Package sitegrid turns longitude and latitude into metres on the site grid
// and back.
//
// The site grid is a transverse Mercator projection of the WGS 84 ellipsoid with
// scale 1 on its central meridian and its origin at a given longitude and
// latitude: x east, y north, in metres. Within 1 km of the origin its scale is
// right to 1.3e-8, which is 0.013 mm.
package sitegrid

import (
	"math"

	"github.com/paulmach/orb"
)

// WGS 84 ellipsoid, from the defining parameters of NGA.STND.0036.
const (
	semiMajor  = 6378137.0
	flattening = 1 / 298.257223563
)

// Grid is a site grid. The zero value has its origin at longitude and latitude 0.
type Grid struct {
	Lon0, Lat0 float64 // degrees
	y0         float64 // northing of the origin from the equator, metres
}

// New returns the site grid with its origin at lon0, lat0 in degrees.
func New(lon0, lat0 float64) Grid {
	g := Grid{Lon0: lon0, Lat0: lat0}
	_, g.y0 = forward(0, lat0*math.Pi/180)
	return g
}

// Series of Krüger (1912) to the sixth order in the third flattening n, as
// printed by Karney, "Transverse Mercator with an accuracy of a few nanometers",
// Journal of Geodesy 85 (2011) 475-485, equations 35 and 36.
var (
	n     = flattening / (2 - flattening)
	ecc   = math.Sqrt(flattening * (2 - flattening))
	meanA = semiMajor / (1 + n) * (1 + n*n/4 + n*n*n*n/64 + n*n*n*n*n*n/256)
	alpha = series([6][]float64{
		{1.0 / 2, -2.0 / 3, 5.0 / 16, 41.0 / 180, -127.0 / 288, 7891.0 / 37800},
		{13.0 / 48, -3.0 / 5, 557.0 / 1440, 281.0 / 630, -1983433.0 / 1935360},
		{61.0 / 240, -103.0 / 140, 15061.0 / 26880, 167603.0 / 181440},
		{49561.0 / 161280, -179.0 / 168, 6601661.0 / 7257600},
		{34729.0 / 80640, -3418889.0 / 1995840},
		{212378941.0 / 319334400},
	})
	beta = series([6][]float64{
		{1.0 / 2, -2.0 / 3, 37.0 / 96, -1.0 / 360, -81.0 / 512, 96199.0 / 604800},
		{1.0 / 48, 1.0 / 15, -437.0 / 1440, 46.0 / 105, -1118711.0 / 3870720},
		{17.0 / 480, -37.0 / 840, -209.0 / 4480, 5569.0 / 90720},
		{4397.0 / 161280, -11.0 / 504, -830251.0 / 7257600},
		{4583.0 / 161280, -108847.0 / 3991680},
		{20648693.0 / 638668800},
	})
)

// series evaluates the coefficients: the j-th (from 0) is n^(j+1) times a
// polynomial in n.
func series(c [6][]float64) (out [6]float64) {
	for j := range c {
		for k := len(c[j]) - 1; k >= 0; k-- {
			out[j] = out[j]*n + c[j][k]
		}
		out[j] *= math.Pow(n, float64(j+1))
	}
	return out
}

// forward projects a longitude difference and a latitude in radians to metres
// from the central meridian and the equator.
func forward(dlon, lat float64) (x, y float64) {
	tau := math.Tan(lat)
	sigma := math.Sinh(ecc * math.Atanh(ecc*tau/math.Hypot(1, tau)))
	taup := tau*math.Hypot(1, sigma) - sigma*math.Hypot(1, tau)
	sin, cos := math.Sincos(dlon)
	xi := math.Atan2(taup, cos)
	eta := math.Asinh(sin / math.Hypot(taup, cos))
	x, y = eta, xi
	for j := range alpha {
		k := float64(2 * (j + 1))
		s, c := math.Sincos(k * xi)
		x += alpha[j] * c * math.Sinh(k*eta)
		y += alpha[j] * s * math.Cosh(k*eta)
	}
	return meanA * x, meanA * y
}

// inverse is the reverse of forward.
func inverse(x, y float64) (dlon, lat float64) {
	xi, eta := y/meanA, x/meanA
	xip, etap := xi, eta
	for j := range beta {
		k := float64(2 * (j + 1))
		s, c := math.Sincos(k * xi)
		xip -= beta[j] * s * math.Cosh(k*eta)
		etap -= beta[j] * c * math.Sinh(k*eta)
	}
	sinh := math.Sinh(etap)
	sin, cos := math.Sincos(xip)
	taup := sin / math.Hypot(sinh, cos)
	dlon = math.Atan2(sinh, cos)
	// Newton's method on the conformal latitude (Karney 2011, equations 19-21).
	tau := taup / (1 - ecc*ecc)
	for range 5 {
		h := math.Hypot(1, tau)
		sigma := math.Sinh(ecc * math.Atanh(ecc*tau/h))
		t := tau*math.Hypot(1, sigma) - sigma*h
		d := (taup - t) / math.Hypot(1, t) * (1 + (1-ecc*ecc)*tau*tau) / ((1 - ecc*ecc) * h)
		tau += d
		if math.Abs(d) < 1e-15*math.Max(1, math.Abs(tau)) {
			break
		}
	}
	return dlon, math.Atan(tau)
}

// ToSite returns metres east and north of the origin for a longitude and
// latitude in degrees.
func (g Grid) ToSite(p orb.Point) orb.Point {
	d := math.Remainder(p[0]-g.Lon0, 360)
	x, y := forward(d*math.Pi/180, p[1]*math.Pi/180)
	return orb.Point{x, y - g.y0}
}

// ToLonLat returns longitude and latitude in degrees for metres east and north
// of the origin.
func (g Grid) ToLonLat(p orb.Point) orb.Point {
	d, lat := inverse(p[0], p[1]+g.y0)
	return orb.Point{math.Remainder(g.Lon0+d*180/math.Pi, 360), lat * 180 / math.Pi}
}

// Convergence returns the angle in degrees, clockwise positive, from true north
// to grid north at a place on the site grid: 0 on the origin's meridian, and at
// most 0.02 degrees within 1 km of it below latitude 65.
func (g Grid) Convergence(p orb.Point) float64 {
	ll := g.ToLonLat(p)
	d := math.Remainder(ll[0]-g.Lon0, 360) * math.Pi / 180
	return math.Atan(math.Tan(d)*math.Sin(ll[1]*math.Pi/180)) * 180 / math.Pi
}

// Lines, rings and polygons to metres.

// Line returns a line on the site grid.
func (g Grid) Line(l orb.LineString) orb.LineString {
	out := make(orb.LineString, len(l))
	for i, p := range l {
		out[i] = g.ToSite(p)
	}
	return out
}

// Polygon returns a polygon on the site grid.
func (g Grid) Polygon(p orb.Polygon) orb.Polygon {
	out := make(orb.Polygon, len(p))
	for i, r := range p {
		out[i] = orb.Ring(g.Line(orb.LineString(r)))
	}
	return out
}

// Geometry returns a point, line or polygon on the site grid; nil for nil.
func (g Grid) Geometry(geo orb.Geometry) orb.Geometry {
	switch geo := geo.(type) {
	case orb.Point:
		return g.ToSite(geo)
	case orb.LineString:
		return g.Line(geo)
	case orb.Polygon:
		return g.Polygon(geo)
	}
	return nil
}

// Back returns a geometry on the site grid as longitude and latitude.
func (g Grid) Back(geo orb.Geometry) orb.Geometry {
	line := func(l orb.LineString) orb.LineString {
		out := make(orb.LineString, len(l))
		for i, p := range l {
			out[i] = g.ToLonLat(p)
		}
		return out
	}
	polygon := func(p orb.Polygon) orb.Polygon {
		out := make(orb.Polygon, len(p))
		for i, r := range p {
			out[i] = orb.Ring(line(orb.LineString(r)))
		}
		return out
	}
	switch geo := geo.(type) {
	case orb.Point:
		return g.ToLonLat(geo)
	case orb.LineString:
		return line(geo)
	case orb.Polygon:
		return polygon(geo)
	case orb.MultiPolygon:
		out := make(orb.MultiPolygon, len(geo))
		for i, p := range geo {
			out[i] = polygon(p)
		}
		return out
	}
	return nil
}
