package sun

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.6f, want %.6f within %g (%s)", what, got, want, tol, source)
	}
}

func TestOutsideSunAmongTheStars(t *testing.T) {
	const meeus = "Meeus, Astronomical Algorithms, 2nd ed., "
	p := apparent(2448908.5)
	for _, r := range []struct {
		what           string
		got, want, tol float64
		source         string
	}{
		{"right ascension", p.ascension, 198.38083, 1e-4, meeus + "example 25.a, 1992 October 13.0 TD"},
		{"declination", p.declination, -7.78507, 1e-4, meeus + "example 25.a"},
		{"distance", p.distance, 0.99766, 1e-5, meeus + "example 25.a"},
		// The full theory, which the lower accuracy should meet to 0.01 degrees.
		{"right ascension, full theory", p.ascension, (13 + 13/60. + 30.749/3600) * 15, 0.01, meeus + "example 25.b"},
		{"declination, full theory", p.declination, -(7 + 47/60. + 1.74/3600), 0.01, meeus + "example 25.b"},
		{"sidereal time", sky(2446895.5).sidereal, (13 + 10/60. + 46.1351/3600) * 15, 5e-4, meeus + "example 12.a, 1987 April 10, 0h UT, apparent"},
	} {
		t.Run(r.what, func(t *testing.T) { near(t, r.what, r.got, r.want, r.tol, r.source) })
	}
}

func TestOutsideHorizontalCoordinates(t *testing.T) {
	// Meeus gives azimuth from the south; north is 180 degrees away.
	const source = "Meeus, Astronomical Algorithms, 2nd ed., example 13.b (Venus from Washington)"
	az, el := horizontal(64.352133*degree, -6.719892*degree, 38.921389*degree)
	near(t, "azimuth", az, 68.0337+180, 1e-4, source)
	near(t, "elevation", el, 15.1249, 1e-4, source)
}

func TestOutsideSunOverAPlace(t *testing.T) {
	const source = "Reda and Andreas, Solar Position Algorithm, NREL/TP-560-34302, appendix A.5"
	p := At(time.Date(2003, 10, 17, 19, 30, 30, 0, time.UTC), -105.1786, 39.742476)
	near(t, "azimuth", p.Azimuth, 194.340241, 0.01, source)
	near(t, "elevation", p.Elevation, 39.872046, 0.005, source)
	// There at 820 hPa, which bends 0.003 degrees less than sea level.
	near(t, "apparent elevation", p.Apparent, 90-50.11162, 0.01, source)
}

func TestOutsideLowSun(t *testing.T) {
	const source = "VSOP87 as in libastro (PyEphem 4.1.4), without refraction"
	for _, r := range []struct {
		name             string
		at               string
		lon, lat, az, el float64
	}{
		{"a summer morning", "2026-06-21T04:30:00Z", -1.5, 53, 56.9972, 5.1171},
		{"a winter noon far north", "2026-12-21T11:20:00Z", 10, 59.9, 180.4500, 6.6598},
		{"a southern evening", "2030-03-01T08:10:00Z", 150, -30, 263.7627, 4.2495},
		{"a midnight sun", "2045-05-05T22:00:00Z", 20, 78, 351.1905, 4.7124},
		{"before a rise near the equator", "1955-09-23T22:15:00Z", 103.8, 1.3, 89.8000, -10.5643},
		{"a southern morning", "1975-01-15T18:40:00Z", 178, -41, 102.8554, 17.8094},
	} {
		t.Run(r.name, func(t *testing.T) {
			at, err := time.Parse(time.RFC3339, r.at)
			if err != nil {
				t.Fatal(err)
			}
			p := At(at, r.lon, r.lat)
			near(t, "azimuth", p.Azimuth, r.az, 0.012, source)
			near(t, "elevation", p.Elevation, r.el, 0.012, source)
		})
	}
}

func TestOutsideRefraction(t *testing.T) {
	for _, r := range []struct {
		elevation, want, tol float64
		source               string
	}{
		// The rise of the upper limb by convention: 34 minutes of arc of refraction.
		{-34. / 60, 34. / 60, 0.02, "Nautical Almanac convention for sunrise, from memory"},
		{10, 5.3 / 60, 0.003, "Nautical Almanac altitude correction at 10 degrees, from memory"},
		{45, 1. / 60, 0.001, "Bessel's mean refraction at 45 degrees, about one minute of arc, from memory"},
		{90, 0, 1e-9, "the zenith is not raised"},
	} {
		t.Run(fmt.Sprintf("%.1f degrees", r.elevation), func(t *testing.T) {
			near(t, "refraction", Refraction(r.elevation), r.want, r.tol, r.source)
		})
	}
}

func TestRefractionHasNoSteps(t *testing.T) {
	for e := -89.0; e < 90; e += 0.001 {
		if d := math.Abs(Refraction(e) - Refraction(e+0.001)); d > 0.001 {
			t.Fatalf("refraction steps by %g degrees at %.3f", d, e)
		}
	}
}

func TestTheSunIsHighestToTheNorthOrToTheSouth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon := rapid.Float64Range(-180, 180).Draw(t, "lon")
		lat := rapid.Float64Range(-65, 65).Draw(t, "lat")
		day := rapid.IntRange(0, 36500).Draw(t, "day")
		midnight := time.Duration(-lon * 240 * float64(time.Second))
		start := time.Date(1950, 1, 1+day, 0, 0, 0, 0, time.UTC).Add(midnight)
		var best Position
		for m := range 1440 {
			p := At(start.Add(time.Duration(m)*time.Minute), lon, lat)
			if m == 0 || p.Elevation > best.Elevation {
				best = p
			}
			if p.Azimuth < 0 || p.Azimuth >= 360 || math.Abs(p.Elevation) > 90 {
				t.Fatalf("no direction: %+v", p)
			}
		}
		off := math.Abs(math.Remainder(best.Azimuth, 180))
		if off*math.Cos(best.Elevation*degree) > 0.3 {
			t.Fatalf("highest at azimuth %.2f, elevation %.2f", best.Azimuth, best.Elevation)
		}
	})
}

func TestTheSkyTurnsWithTheSiteAlongItsParallel(t *testing.T) {
	// Fifteen degrees west an hour later the sun stands the same but for its own
	// movement of about a degree a day.
	rapid.Check(t, func(t *rapid.T) {
		lat := rapid.Float64Range(-60, 60).Draw(t, "lat")
		at := time.Unix(rapid.Int64Range(0, 2_000_000_000).Draw(t, "at"), 0)
		a := At(at, 15, lat)
		b := At(at.Add(time.Hour), 0, lat)
		if math.Abs(a.Elevation-b.Elevation) > 0.03 {
			t.Fatalf("elevation %.3f and %.3f", a.Elevation, b.Elevation)
		}
	})
}
