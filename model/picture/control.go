package picture

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// An Affine places pixels on the site grid: x = a0 + a1·col + a2·row,
// y = a3 + a4·col + a5·row, in metres; (0,0) is the upper left corner of the
// upper left pixel, rows run down.
type Affine [6]float64

// At returns where the pixel position p lies.
func (a Affine) At(p orb.Point) orb.Point {
	return orb.Point{a[0] + a[1]*p[0] + a[2]*p[1], a[3] + a[4]*p[0] + a[5]*p[1]}
}

// Pixel returns the pixel position that lies at p: At undone. Of a map that
// FitControl returned it always exists.
func (a Affine) Pixel(p orb.Point) orb.Point {
	det := a[1]*a[5] - a[2]*a[4]
	x, y := p[0]-a[0], p[1]-a[3]
	return orb.Point{(x*a[5] - y*a[2]) / det, (y*a[1] - x*a[4]) / det}
}

// Limits of what control points may be. Chosen.
const (
	minPixels = 1.0  // between two control points in the image
	minMetres = 0.01 // between two control points on the ground
	minSpread = 0.02 // breadth of three or more over their length; below it they count as one line
)

// FitControl places an image by matched points: pixels (column and row, as in
// Affine) and at, where each lies on the site grid, in metres. Two points give a
// similarity (turn, scale, shift), three an affine map through all of them, more
// the affine map of least squares. residuals are the distances in metres between
// each point's place and where the map puts it, 0 up to rounding for two and
// three.
//
// It is an error if there are fewer than two, two coincide, three or more lie
// all but in one line (their breadth under 2 % of their length), or the map
// would show the image in a mirror, which means that points are mixed up.
//
// Source: least squares by the normal equations about the centroid; common
// practice.
func FitControl(pixels, at []orb.Point) (a Affine, residuals []float64, err error) {
	if len(pixels) != len(at) {
		return a, nil, fmt.Errorf("%d pixels but %d places for them", len(pixels), len(at))
	}
	if len(at) < 2 {
		return a, nil, fmt.Errorf("%d control points: at least 2 are needed", len(at))
	}
	for i := range pixels {
		for _, v := range []float64{pixels[i][0], pixels[i][1], at[i][0], at[i][1]} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return a, nil, fmt.Errorf("control point %d: pixel %v at %v is not finite", i+1, pixels[i], at[i])
			}
		}
		for j := range i {
			if d := dist(pixels[i], pixels[j]); d < minPixels {
				return a, nil, fmt.Errorf("control points %d and %d are %.2g pixels apart in the image; at least %g are needed: move one", j+1, i+1, d, minPixels)
			}
			if d := dist(at[i], at[j]); d < minMetres {
				return a, nil, fmt.Errorf("control points %d and %d are %.2g m apart on the ground; at least %g m are needed: move one", j+1, i+1, d, minMetres)
			}
		}
	}
	if len(at) == 2 {
		a = similarity(pixels, at)
	} else if a, err = leastSquares(pixels, at); err != nil {
		return a, nil, err
	}
	for i := range pixels {
		residuals = append(residuals, dist(a.At(pixels[i]), at[i]))
	}
	return a, residuals, nil
}

// similarity maps p[0] to q[0] and p[1] to q[1] by a turn, a scale and a shift,
// rows running down.
func similarity(p, q []orb.Point) Affine {
	// As complex numbers, with up = -row: q = c·(col, up) + shift.
	ux, uy := p[1][0]-p[0][0], p[0][1]-p[1][1]
	vx, vy := q[1][0]-q[0][0], q[1][1]-q[0][1]
	n := ux*ux + uy*uy
	re, im := (vx*ux+vy*uy)/n, (vy*ux-vx*uy)/n
	a := Affine{0, re, im, 0, im, -re}
	s := a.At(p[0])
	a[0], a[3] = q[0][0]-s[0], q[0][1]-s[1]
	return a
}

func leastSquares(p, q []orb.Point) (Affine, error) {
	var pc, qc orb.Point
	n := float64(len(p))
	for i := range p {
		pc[0], pc[1] = pc[0]+p[i][0]/n, pc[1]+p[i][1]/n
		qc[0], qc[1] = qc[0]+q[i][0]/n, qc[1]+q[i][1]/n
	}
	if spread(p, pc) < minSpread {
		return Affine{}, errors.New("the control points lie all but in one line in the image: move one away from it, or use two")
	}
	if spread(q, qc) < minSpread {
		return Affine{}, errors.New("the control points lie all but in one line on the ground: move one away from it, or use two")
	}
	var uu, uv, vv, xu, xv, yu, yv float64
	for i := range p {
		u, v := p[i][0]-pc[0], p[i][1]-pc[1]
		x, y := q[i][0]-qc[0], q[i][1]-qc[1]
		uu, uv, vv = uu+u*u, uv+u*v, vv+v*v
		xu, xv, yu, yv = xu+x*u, xv+x*v, yu+y*u, yv+y*v
	}
	det := uu*vv - uv*uv
	a := Affine{0, (xu*vv - xv*uv) / det, (xv*uu - xu*uv) / det, 0, (yu*vv - yv*uv) / det, (yv*uu - yu*uv) / det}
	if a[1]*a[5]-a[2]*a[4] >= 0 {
		return a, errors.New("the control points show the image in a mirror: some of them have changed places")
	}
	s := a.At(pc)
	a[0], a[3] = qc[0]-s[0], qc[1]-s[1]
	return a, nil
}

// spread is the breadth of points over their length, 0 to 1: the ratio of their
// standard deviations across and along their main axis.
func spread(p []orb.Point, c orb.Point) float64 {
	var uu, uv, vv float64
	for _, q := range p {
		u, v := q[0]-c[0], q[1]-c[1]
		uu, uv, vv = uu+u*u, uv+u*v, vv+v*v
	}
	mean, half := (uu+vv)/2, math.Hypot((uu-vv)/2, uv)
	if mean+half == 0 {
		return 0
	}
	return math.Sqrt(max(0, mean-half) / (mean + half))
}

func dist(a, b orb.Point) float64 { return math.Hypot(a[0]-b[0], a[1]-b[1]) }

// PlaceByScale turns what is known of a bare picture into two control points for
// FitControl: the pixels from and to and the places of them. Between the two lie
// distance metres; upBearing is the true bearing, degrees clockwise, that the
// picture's upper edge faces (0: north is up; 90: east is up, north points to the
// left); the pixel anchor lies at anchorAt on the site grid.
//
// It is an error if the pixels are less than 1 apart, distance is not above
// 0.01 m, or a number is not finite.
func PlaceByScale(from, to orb.Point, distance, upBearing float64, anchor, anchorAt orb.Point) (at [2]orb.Point, err error) {
	for _, v := range []float64{from[0], from[1], to[0], to[1], distance, upBearing, anchor[0], anchor[1], anchorAt[0], anchorAt[1]} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return at, errors.New("place by a known distance: a number is not finite")
		}
	}
	n := dist(from, to)
	if n < minPixels {
		return at, fmt.Errorf("the ends of the known distance are %.2g pixels apart in the image; at least %g are needed: choose them farther apart", n, minPixels)
	}
	if distance < minMetres {
		return at, fmt.Errorf("the known distance of %g m is not above %g m", distance, minMetres)
	}
	size := distance / n // metres a pixel
	sin, cos := math.Sincos(upBearing * math.Pi / 180)
	place := func(p orb.Point) orb.Point {
		right, up := (p[0]-anchor[0])*size, (anchor[1]-p[1])*size
		// Up faces (sin, cos); right faces 90 degrees clockwise of it.
		return orb.Point{anchorAt[0] + up*sin + right*cos, anchorAt[1] + up*cos - right*sin}
	}
	return [2]orb.Point{place(from), place(to)}, nil
}
