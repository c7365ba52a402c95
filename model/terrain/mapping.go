package terrain

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// A Mapping takes places on the site grid to columns and rows of a raster.
// Whole numbers are cell centres: (0, 0) is the centre of the first cell, rows
// run as the raster has them. It is a bivariate cubic in the place relative to
// Origin in units of Unit metres:
//
//	1, u, v, u², uv, v², u³, u²v, uv², v³
//
// which over a site of a few kilometres follows any map projection or datum
// shift to far better than a thousandth of a cell. Beyond the area it was fitted
// on it runs on as a polynomial does.
type Mapping struct {
	Origin   orb.Point // metres on the site grid
	Unit     float64   // metres, above 0
	Col, Row [10]float64
}

// Affine returns the mapping col = c0 + c1·x + c2·y, row = r0 + r1·x + r2·y of
// metres on the site grid.
func Affine(c, r [3]float64) Mapping {
	m := Mapping{Unit: 1}
	copy(m.Col[:], c[:])
	copy(m.Row[:], r[:])
	return m
}

func terms(u, v float64) [10]float64 {
	uu, uv, vv := u*u, u*v, v*v
	return [10]float64{1, u, v, uu, uv, vv, uu * u, uu * v, u * vv, vv * v}
}

func cubic(c *[10]float64, u, v float64) float64 {
	return c[0] + u*(c[1]+u*(c[3]+u*c[6])) + v*(c[2]+u*(c[4]+u*c[7])+v*(c[5]+u*c[8]+v*c[9]))
}

// At returns the column and row of a place on the site grid.
func (m *Mapping) At(p orb.Point) (col, row float64) {
	u, v := (p[0]-m.Origin[0])/m.Unit, (p[1]-m.Origin[1])/m.Unit
	return cubic(&m.Col, u, v), cubic(&m.Row, u, v)
}

// A path is a coordinate along a line: p[0] + p[1]·t + p[2]·t² + p[3]·t³.
type path [4]float64

func (p *path) at(t float64) float64 { return p[0] + t*(p[1]+t*(p[2]+t*p[3])) }

// bend is the greatest second derivative for t from 0 to length.
func (p *path) bend(length float64) float64 {
	return math.Max(math.Abs(2*p[2]), math.Abs(2*p[2]+6*p[3]*length))
}

// along returns column and row t metres from a place in the direction (sin, cos),
// which is exact: a cubic along a line is a cubic.
func (m *Mapping) along(from orb.Point, sin, cos float64) (col, row path) {
	u, v := (from[0]-m.Origin[0])/m.Unit, (from[1]-m.Origin[1])/m.Unit
	return restrict(&m.Col, u, v, sin/m.Unit, cos/m.Unit), restrict(&m.Row, u, v, sin/m.Unit, cos/m.Unit)
}

// restrict returns the cubic on the line (u + a·t, v + b·t).
func restrict(c *[10]float64, u, v, a, b float64) path {
	return path{
		cubic(c, u, v),
		a*(c[1]+2*c[3]*u+c[4]*v+3*c[6]*u*u+2*c[7]*u*v+c[8]*v*v) +
			b*(c[2]+c[4]*u+2*c[5]*v+c[7]*u*u+2*c[8]*u*v+3*c[9]*v*v),
		a*a*(c[3]+3*c[6]*u+c[7]*v) + a*b*(c[4]+2*c[7]*u+2*c[8]*v) + b*b*(c[5]+c[8]*u+3*c[9]*v),
		a*(a*(a*c[6]+b*c[7])+b*b*c[8]) + b*b*b*c[9],
	}
}

// jacobian returns the steps of column and row for a metre east and a metre
// north at a place.
func (m *Mapping) jacobian(p orb.Point) (colX, colY, rowX, rowY float64) {
	c, r := m.along(p, 1, 0)
	d, s := m.along(p, 0, 1)
	return c[1], d[1], r[1], s[1]
}

// cell returns the sides of a cell in metres near a place: the step on the
// ground from one column to the next, and from one row to the next.
func (m *Mapping) cell(p orb.Point) (col, row float64) {
	a, b, c, d := m.jacobian(p)
	det := a*d - b*c
	return math.Hypot(d, c) / math.Abs(det), math.Hypot(a, b) / math.Abs(det)
}

// sound reports what is wrong with a mapping, nil if nothing is.
func (m *Mapping) sound() error {
	for _, list := range [][10]float64{m.Col, m.Row} {
		for _, v := range list {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return errors.New("terrain: a coefficient of the mapping is not a finite number")
			}
		}
	}
	if !(m.Unit > 0) || math.IsInf(m.Unit, 0) {
		return fmt.Errorf("terrain: the mapping's unit of %v m is not above 0", m.Unit)
	}
	a, b, c, d := m.jacobian(m.Origin)
	if det := a*d - b*c; !(math.Abs(det) > 1e-9*(math.Abs(a)+math.Abs(b))*(math.Abs(c)+math.Abs(d))) {
		return errors.New("terrain: a cell has no area on the ground")
	}
	return nil
}

// Fit returns the mapping that takes the places at, metres on the site grid,
// to the columns and rows given with the least sum of squares, and the greatest
// distance in cells by which it misses one of them. The places should be spread
// over the area the mapping is for; it takes ten that are not on one cubic.
func Fit(at, cells []orb.Point) (m Mapping, worst float64, err error) {
	if len(at) != len(cells) {
		panic(fmt.Sprintf("terrain: %d places and %d cells", len(at), len(cells)))
	}
	if len(at) < 10 {
		return m, 0, fmt.Errorf("terrain: %d places are too few to fit a mapping on", len(at))
	}
	box := orb.MultiPoint(at).Bound()
	m.Origin = box.Center()
	m.Unit = math.Max(box.Max[0]-box.Min[0], box.Max[1]-box.Min[1]) / 2
	if !(m.Unit > 0) {
		return m, 0, errors.New("terrain: the places to fit a mapping on are one")
	}
	rows := make([][10]float64, len(at))
	var n [10][10]float64
	for i, p := range at {
		rows[i] = terms((p[0]-m.Origin[0])/m.Unit, (p[1]-m.Origin[1])/m.Unit)
		for j := range 10 {
			for k := range 10 {
				n[j][k] += rows[i][j] * rows[i][k]
			}
		}
	}
	l, ok := cholesky(n)
	if !ok {
		return m, 0, errors.New("terrain: the places to fit a mapping on are not spread over an area")
	}
	// Each round fits what the last one left: the square of the condition
	// number, which the normal equations bring in, is undone by that.
	for range 3 {
		var bc, br [10]float64
		for i, t := range rows {
			dc, dr := cells[i][0]-dot(&m.Col, &t), cells[i][1]-dot(&m.Row, &t)
			for j := range 10 {
				bc[j] += t[j] * dc
				br[j] += t[j] * dr
			}
		}
		for j, d := range solve(&l, bc) {
			m.Col[j] += d
		}
		for j, d := range solve(&l, br) {
			m.Row[j] += d
		}
	}
	return m, m.Misses(at, cells), m.sound()
}

// Misses returns the greatest distance in cells by which the mapping misses.
func (m *Mapping) Misses(at, cells []orb.Point) (worst float64) {
	for i, p := range at {
		c, r := m.At(p)
		d := math.Hypot(c-cells[i][0], r-cells[i][1])
		if !(d <= worst) {
			worst = d
		}
	}
	return worst
}

func dot(c, t *[10]float64) (s float64) {
	for i := range 10 {
		s += c[i] * t[i]
	}
	return s
}

// cholesky returns the lower triangle l with l·lᵀ = a, and whether a is
// positive definite.
func cholesky(a [10][10]float64) (l [10][10]float64, ok bool) {
	for i := range 10 {
		for j := range i + 1 {
			s := a[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i == j {
				if !(s > 1e-12*a[i][i]) {
					return l, false
				}
				l[i][i] = math.Sqrt(s)
			} else {
				l[i][j] = s / l[j][j]
			}
		}
	}
	return l, true
}

func solve(l *[10][10]float64, b [10]float64) [10]float64 {
	for i := range 10 {
		for k := range i {
			b[i] -= l[i][k] * b[k]
		}
		b[i] /= l[i][i]
	}
	for i := 9; i >= 0; i-- {
		for k := i + 1; k < 10; k++ {
			b[i] -= l[k][i] * b[k]
		}
		b[i] /= l[i][i]
	}
	return b
}

// CellSize returns the sides of a cell in metres at the mapping's origin: the
// step on the ground from one column to the next, and from one row to the next.
func (m *Mapping) CellSize() (col, row float64) { return m.cell(m.Origin) }
