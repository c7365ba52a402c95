package gdal

import (
	"errors"
	"fmt"

	raw "github.com/lukeroth/gdal"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
)

// The functions below work on polygons by GEOS, a library of its own behind
// GDAL. The program works its areas out itself; tests hold them against these.
// Coordinates are plane, in any one unit; an invalid polygon (crossing itself,
// rings that touch along a line) is an error that says where, never a silent
// null. Points and lines in a result are left out.

// Valid returns nil if mp is valid by the rules of OGC Simple Features, else an
// error that says what is wrong and where.
func Valid(mp orb.MultiPolygon) error {
	return locked(func() error {
		g, err := geometry(mp)
		if err != nil {
			return err
		}
		g.Destroy()
		return nil
	})
}

// MakeValid returns mp repaired: a bow-tie becomes two triangles. What was
// inside by the even-odd rule stays inside.
func MakeValid(mp orb.MultiPolygon) (out orb.MultiPolygon, err error) {
	if len(mp) == 0 {
		return nil, nil
	}
	err = locked(func() error {
		g, err := fromOrb(mp)
		if err != nil {
			return err
		}
		defer g.Destroy()
		v := makeValid(g)
		if v.IsNull() {
			return failure("the polygon cannot be repaired")
		}
		defer v.Destroy()
		out, err = toOrb(v)
		return err
	})
	return out, err
}

// Area returns the area of mp in square units.
func Area(mp orb.MultiPolygon) (area float64, err error) {
	err = locked(func() error {
		g, err := geometry(mp)
		if err != nil || g.IsNull() {
			return err
		}
		defer g.Destroy()
		area = g.Area()
		return nil
	})
	return area, err
}

// Intersection returns what lies in both.
func Intersection(a, b orb.MultiPolygon) (orb.MultiPolygon, error) {
	return overlay("intersection", a, b, raw.Geometry.Intersection)
}

// Difference returns what lies in a but not in b.
func Difference(a, b orb.MultiPolygon) (orb.MultiPolygon, error) {
	return overlay("difference", a, b, raw.Geometry.Difference)
}

// SymmetricDifference returns what lies in one of the two but not in both.
func SymmetricDifference(a, b orb.MultiPolygon) (orb.MultiPolygon, error) {
	return overlay("symmetric difference", a, b, raw.Geometry.SymmetricDifference)
}

// Union returns what lies in any of parts.
func Union(parts ...orb.MultiPolygon) (out orb.MultiPolygon, err error) {
	err = locked(func() error {
		all := raw.Create(raw.GT_MultiPolygon)
		defer all.Destroy()
		n := 0
		for i, mp := range parts {
			for j, p := range mp {
				g, err := geometry(orb.MultiPolygon{p})
				if err != nil {
					return fmt.Errorf("union: part %d, polygon %d: %w", i+1, j+1, err)
				}
				// The multi-polygon takes copies of the polygons in it.
				err = all.AddGeometry(g.Geometry(0))
				g.Destroy()
				if err != nil {
					return failure("union: gather the parts")
				}
				n++
			}
		}
		if n == 0 {
			return nil
		}
		u := all.UnionCascaded()
		if u.IsNull() {
			return failure("union")
		}
		defer u.Destroy()
		out, err = toOrb(u)
		return err
	})
	return out, err
}

func overlay(name string, a, b orb.MultiPolygon, op func(a, b raw.Geometry) raw.Geometry) (out orb.MultiPolygon, err error) {
	err = locked(func() error {
		ga, err := geometry(a)
		if err != nil {
			return fmt.Errorf("%s: first operand: %w", name, err)
		}
		defer destroy(ga)
		gb, err := geometry(b)
		if err != nil {
			return fmt.Errorf("%s: second operand: %w", name, err)
		}
		defer destroy(gb)
		if ga.IsNull() {
			ga = raw.Create(raw.GT_MultiPolygon)
			defer ga.Destroy()
		}
		if gb.IsNull() {
			gb = raw.Create(raw.GT_MultiPolygon)
			defer gb.Destroy()
		}
		r := op(ga, gb)
		if r.IsNull() {
			return failure(name)
		}
		defer r.Destroy()
		out, err = toOrb(r)
		return err
	})
	return out, err
}

func destroy(g raw.Geometry) {
	if !g.IsNull() {
		g.Destroy()
	}
}

// geometry is fromOrb for valid polygons only; null for none.
func geometry(mp orb.MultiPolygon) (raw.Geometry, error) {
	var null raw.Geometry
	if len(mp) == 0 {
		return null, nil
	}
	g, err := fromOrb(mp)
	if err != nil {
		return null, err
	}
	if !g.IsValid() {
		g.Destroy()
		return null, failure("not a valid polygon")
	}
	return g, nil
}

// fromOrb hands polygons over. Rings are checked first: the library takes
// anything.
func fromOrb(mp orb.MultiPolygon) (raw.Geometry, error) {
	var null raw.Geometry
	for i, p := range mp {
		if len(p) == 0 {
			return null, fmt.Errorf("polygon %d has no ring", i+1)
		}
		for j, r := range p {
			if len(r) < 4 || r[0] != r[len(r)-1] {
				return null, fmt.Errorf("polygon %d, ring %d: %d points; a ring has at least 4 and ends where it begins", i+1, j+1, len(r))
			}
			for k, q := range r {
				if !finite(q[0]) || !finite(q[1]) {
					return null, fmt.Errorf("polygon %d, ring %d, point %d: %v is not finite", i+1, j+1, k+1, q)
				}
			}
		}
	}
	b, err := wkb.Marshal(mp)
	if err != nil {
		return null, err
	}
	g, err := raw.CreateFromWKB(b, raw.SpatialReference{}, len(b))
	if err != nil || g.IsNull() {
		return null, failure("polygons could not be handed to the overlay library")
	}
	return g, nil
}

// toOrb fetches the polygons of a result, two-dimensional.
func toOrb(g raw.Geometry) (orb.MultiPolygon, error) {
	if g.IsEmpty() {
		return nil, nil
	}
	g.FlattenTo2D()
	b, err := g.ToWKB()
	if err != nil {
		return nil, failure("fetch the result of an overlay")
	}
	geo, err := wkb.Unmarshal(b)
	if err != nil {
		return nil, fmt.Errorf("fetch the result of an overlay: %w", err)
	}
	return polygons(geo)
}

func polygons(g orb.Geometry) (orb.MultiPolygon, error) {
	switch g := g.(type) {
	case orb.Polygon:
		if len(g) == 0 {
			return nil, nil
		}
		return orb.MultiPolygon{g}, nil
	case orb.MultiPolygon:
		return g, nil
	case orb.Collection:
		var out orb.MultiPolygon
		for _, part := range g {
			p, err := polygons(part)
			if err != nil {
				return nil, err
			}
			out = append(out, p...)
		}
		return out, nil
	case orb.Point, orb.MultiPoint, orb.LineString, orb.MultiLineString:
		return nil, nil
	}
	return nil, errors.New("the result of an overlay is of an unknown kind")
}
