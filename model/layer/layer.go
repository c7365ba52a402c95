// Package layer holds what a plan hands over to other programs, as layers of
// features for maps and as tables for lists, and writes them in the formats
// that need no library: GeoJSON, KML, GPX, DXF, CSV, XLSX, and the styles of a
// GeoPackage. What is handed over is decided elsewhere; here it is spelled.
//
// The same set and tables give the same bytes.
package layer

import (
	"image/color"
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"
)

// Set is all layers of one plan, from the ground up. Geometry is on the site
// grid, metres, x east, y north.
type Set struct {
	Title      string
	Lon0, Lat0 float64                   // of the site grid's origin, degrees on WGS 84
	LonLat     func(orb.Point) orb.Point // from the site grid to longitude, latitude
	Date       time.Time                 // of the plan, zero where it states none
	Layers     []Layer
}

// Shape is the kind of geometry all features of a layer have.
type Shape uint8

// The shapes.
const (
	Points Shape = iota // orb.Point
	Lines               // orb.LineString
	Areas               // orb.MultiPolygon
)

// Type is the type of a field's values.
type Type uint8

// The types: of each, nil stands for a value that is not known.
const (
	Text  Type = iota // string
	Real              // float64
	Whole             // int
	Flag              // bool
)

// Field is one attribute of a layer's features. Its name carries its unit.
type Field struct {
	Name string
	Type Type
}

// Layer is features of one shape and their attributes. The field "class" tells
// which of the styles a feature is drawn by.
type Layer struct {
	Name     string // a to z and _
	Title    string
	Shape    Shape
	Fields   []Field
	Features []Feature
	Styles   []Style // in the order in which they are drawn and listed
	Hidden   bool    // there to be asked, not drawn at first
}

// Feature is one thing on the map.
type Feature struct {
	Class    string // of Style.Class
	Label    string // what is written beside it, "" for nothing
	Geometry orb.Geometry
	Values   []any // one a field
}

// Mark is the form of a point.
type Mark string

// The marks.
const (
	HalfDisc Mark = "half-disc" // its round side towards the field bearing_deg
	Disc     Mark = "disc"
	Lozenge  Mark = "lozenge"
	Square   Mark = "square"
	Triangle Mark = "triangle"
)

// Style is how features of a class look. Lengths are millimetres on paper.
type Style struct {
	Class, Title string
	Fill, Stroke color.NRGBA
	Width        float64
	Dash         []float64 // on, off, …
	Hatch        float64   // spacing of lines at 45 degrees in the colour Stroke, 0 for none
	Mark         Mark
	Size         float64
}

// Style returns the style of a class, false where there is none.
func (l Layer) Style(class string) (Style, bool) {
	if i := slices.IndexFunc(l.Styles, func(s Style) bool { return s.Class == class }); i >= 0 {
		return l.Styles[i], true
	}
	return Style{}, false
}

// Value returns a feature's value of a field, nil where there is none.
func (l Layer) Value(f Feature, name string) any {
	if i := slices.IndexFunc(l.Fields, func(f Field) bool { return f.Name == name }); i >= 0 && i < len(f.Values) {
		return f.Values[i]
	}
	return nil
}

// Geographic returns a geometry of the set in longitude and latitude on WGS 84,
// outer rings anticlockwise and closed as RFC 7946 asks.
func (s Set) Geographic(g orb.Geometry) orb.Geometry {
	switch g := g.(type) {
	case orb.Point:
		return s.LonLat(g)
	case orb.LineString:
		out := make(orb.LineString, len(g))
		for i, p := range g {
			out[i] = s.LonLat(p)
		}
		return out
	case orb.MultiPolygon:
		out := make(orb.MultiPolygon, len(g))
		for i, poly := range g {
			for k, r := range poly {
				r = turned(r, k == 0)
				for j, p := range r {
					r[j] = s.LonLat(p)
				}
				out[i] = append(out[i], r)
			}
		}
		return out
	}
	return nil
}

// turned returns a closed copy of a ring that runs anticlockwise, or clockwise.
func turned(r orb.Ring, anticlockwise bool) orb.Ring {
	r = slices.Clone(r)
	if n := len(r); n > 0 && r[0] != r[n-1] {
		r = append(r, r[0])
	}
	area := 0.0
	for i := 1; i < len(r); i++ {
		area += (r[i-1][0]-r[0][0])*(r[i][1]-r[0][1]) - (r[i-1][1]-r[0][1])*(r[i][0]-r[0][0])
	}
	if (area > 0) != anticlockwise {
		slices.Reverse(r)
	}
	return r
}

// rounded returns v to a number of decimals, without a negative zero.
func rounded(v float64, decimals int) float64 {
	k := math.Pow10(decimals)
	return math.Round(v*k)/k + 0
}
