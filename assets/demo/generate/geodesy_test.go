package main

import (
	"math"
	"testing"
)

// The wanted values are those of PROJ 9.1.1 by way of gdaltransform 3.6.2:
// EPSG:4326 to EPSG:32630, and to +proj=tmerc +k=1 about the site's origin.
func TestOutsideBothProjectionsAgreeWithProj(t *testing.T) {
	zone, site := utm(30), siteGrid(-2.943, 52.861)
	for _, row := range []struct {
		name     string
		m        mercator
		lon, lat float64
		e, n     float64
	}{
		{"UTM 30 at the origin", zone, -2.943, 52.861, 503837.564862319, 5856809.62729899},
		{"UTM 30 in the north-east", zone, -2.9345, 52.8655, 504409.3770444, 5857310.69120057},
		{"UTM 30 in the south-west", zone, -2.9515, 52.8565, 503265.634234156, 5856308.63141734},
		{"site grid in the north-east", site, -2.9345, 52.8655, 572.438243179408, 500.810470509342},
		{"site grid in the south-west", site, -2.9515, 52.8565, -572.556689843333, -500.742383440164},
		{"site grid near by", site, -2.94, 52.8615, 202.055607670466, 55.6460446597018},
	} {
		t.Run(row.name, func(t *testing.T) {
			e, n := row.m.forward(row.lon, row.lat)
			if d := math.Hypot(e-row.e, n-row.n); !(d < 1e-4) {
				t.Errorf("forward(%v, %v) = %.6f, %.6f; want %.6f, %.6f within 0.1 mm (PROJ 9.1.1)", row.lon, row.lat, e, n, row.e, row.n)
			}
			lon, lat := row.m.inverse(row.e, row.n)
			if d := math.Hypot(lon-row.lon, lat-row.lat); !(d < 1e-9) {
				t.Errorf("inverse(%v, %v) = %.10f, %.10f; want %v, %v within 1e-9 degrees (PROJ 9.1.1)", row.e, row.n, lon, lat, row.lon, row.lat)
			}
		})
	}
}

// The painter takes one affine map from pixels to the site's frame; over the
// whole picture that must agree with the two projections.
func TestThePictureLiesOnThePlanToAMillimetre(t *testing.T) {
	c := newCanvas()
	e0, n0 := corner()
	for _, px := range []pt{{0, 0}, {float64(gridW), 0}, {0, float64(gridH)}, {float64(gridW), float64(gridH)}, {1234, 2345}} {
		want := toFrame(e0+px.x*pixel, n0-px.y*pixel)
		got := c.frame.at(px.x-0.5, px.y-0.5)
		if d := got.sub(want).len(); d > 1e-3 {
			t.Errorf("paint pixel corner %v: %v, want %v", px, got, want)
		}
	}
	if q := unplace(place(pt{12, -34})); q.sub(pt{12, -34}).len() > 1e-9 {
		t.Errorf("unplace does not undo place: %v", q)
	}
}

// The site grid of a plan has its origin in the middle of the boundary's
// bounding box in longitude and latitude.
func TestTheSiteGridsOriginIsTheMiddleOfTheFence(t *testing.T) {
	b := boxOf(nil, 0)
	for _, q := range fence {
		g := place(q)
		lon, lat := siteGrid(lon0, lat0).inverse(g.x, g.y)
		b = box{math.Min(b.x0, lon), math.Min(b.y0, lat), math.Max(b.x1, lon), math.Max(b.y1, lat)}
	}
	if math.Abs((b.x0+b.x1)/2-lon0) > 1e-7 || math.Abs((b.y0+b.y1)/2-lat0) > 1e-7 {
		t.Errorf("middle of the fence %v, want %v, %v", b, lon0, lat0)
	}
}
