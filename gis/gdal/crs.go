package gdal

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	raw "github.com/lukeroth/gdal"
	"github.com/paulmach/orb"
)

// maxWKT bounds a coordinate reference system written out in full, in bytes.
// Chosen: the longest in the EPSG register are under 10 kB.
const maxWKT = 64 << 10

// A CRS is a coordinate reference system that is known to be usable: an EPSG
// code or well-known text. The zero CRS is none. CRSs made from the same text
// are equal.
type CRS struct {
	text string
	name string
}

// WGS84 is longitude and latitude on WGS 84, in degrees: the coordinates of a
// plan.
var WGS84 = CRS{text: "EPSG:4326", name: "WGS 84"}

// String returns "EPSG:n" or the well-known text, "" for none.
func (c CRS) String() string { return c.text }

// Name returns the system's own name, such as "NZGD2000 / New Zealand
// Transverse Mercator 2000", "" for none.
func (c CRS) Name() string { return c.name }

// IsZero reports whether c is no coordinate reference system.
func (c CRS) IsZero() bool { return c.text == "" }

// ParseCRS reads "EPSG:n", n a code of the EPSG register for a geographic or
// projected system, or well-known text (versions 1, 2 and Esri's). Nothing else
// is accepted: no URL, no file name, no PROJ string. Of a compound system the
// horizontal part is used.
func ParseCRS(text string) (CRS, error) {
	var c CRS
	err := locked(func() (err error) {
		c, err = parseCRS(text)
		return err
	})
	return c, err
}

// parseCRS is ParseCRS for a caller that holds the thread.
func parseCRS(text string) (CRS, error) {
	text = strings.TrimSpace(text)
	sr, err := newSR(text)
	if err != nil {
		return CRS{}, err
	}
	defer sr.Destroy()
	if !sr.IsGeographic() && !sr.IsProjected() {
		return CRS{}, fmt.Errorf("%q is not a map's coordinate reference system: name a geographic or projected one", brief(text))
	}
	return CRS{text: canonical(text), name: srName(sr)}, nil
}

// identified returns the EPSG code's own system in place of well-known text
// that carries the code and means the same; else c. The caller holds the thread.
func identified(c CRS) CRS {
	sr, err := newSR(c.text)
	if err != nil {
		return c
	}
	defer sr.Destroy()
	key := "GEOGCS"
	if sr.IsProjected() {
		key = "PROJCS"
	}
	if sr.AuthorityName(key) != "EPSG" {
		return c
	}
	byCode, err := parseCRS("EPSG:" + sr.AuthorityCode(key))
	if err != nil {
		return c
	}
	other, err := newSR(byCode.text)
	if err != nil {
		return c
	}
	defer other.Destroy()
	if !sr.IsSame(other) {
		return c
	}
	return byCode
}

// canonical spells "epsg: 2994" as "EPSG:2994" and leaves well-known text alone.
func canonical(text string) string {
	if n, ok := epsgCode(text); ok {
		return "EPSG:" + strconv.Itoa(n)
	}
	return text
}

// epsgCode reads "EPSG:n", capitals or not.
func epsgCode(text string) (int, bool) {
	head, tail, ok := strings.Cut(text, ":")
	if !ok || !strings.EqualFold(strings.TrimSpace(head), "EPSG") {
		return 0, false
	}
	tail = strings.TrimSpace(tail)
	if tail == "" || strings.Trim(tail, "0123456789") != "" {
		return 0, false
	}
	n, err := strconv.Atoi(tail)
	return n, err == nil && n > 0
}

// wktHeads are the words well-known text for a map may begin with.
var wktHeads = []string{
	"PROJCS[", "GEOGCS[", "COMPD_CS[", "PROJCRS[", "PROJECTEDCRS[", "GEOGCRS[", "GEOGRAPHICCRS[",
	"GEODCRS[", "GEODETICCRS[", "COMPOUNDCRS[", "BOUNDCRS[",
}

// newSR makes a spatial reference from "EPSG:n" or well-known text, east
// (longitude) first. It is the only place where one is made. The caller holds
// the thread and destroys it.
func newSR(text string) (raw.SpatialReference, error) {
	var null raw.SpatialReference
	if strings.TrimSpace(text) == "" {
		return null, errors.New("no coordinate reference system: write EPSG: and its number, such as EPSG:2994")
	}
	if len(text) > maxWKT {
		return null, fmt.Errorf("the coordinate reference system is written in %d bytes, more than the %d allowed", len(text), maxWKT)
	}
	sr := raw.CreateSpatialReference("")
	if n, ok := epsgCode(text); ok {
		if err := sr.FromEPSG(n); err != nil {
			sr.Destroy()
			return null, fmt.Errorf("EPSG:%d is not in the EPSG register of coordinate reference systems", n)
		}
	} else {
		if !looksLikeWKT(text) {
			sr.Destroy()
			return null, fmt.Errorf("%q is not a coordinate reference system: write EPSG: and its number, such as EPSG:2994, or well-known text", brief(text))
		}
		if namesGrid(text) {
			sr.Destroy()
			return null, fmt.Errorf("%q relies on a grid file it names, which is not followed: name the system by its EPSG number", brief(text))
		}
		if err := sr.FromWKT(text); err != nil {
			sr.Destroy()
			return null, failure(fmt.Sprintf("%q is not well-known text of a coordinate reference system", brief(text)))
		}
	}
	stripVertical(sr)
	sr.SetAxisMappingStrategy(raw.OAMS_TraditionalGisOrder)
	return sr, nil
}

// namesGrid reports whether well-known text asks for a file of its choosing to
// be read, which could be a pipe that never ends. "@null" is no file: Web
// Mercator says it.
func namesGrid(text string) bool {
	s := strings.ReplaceAll(strings.ToLower(text), "nadgrids=@null", "")
	return strings.Contains(s, "grids=") || strings.Contains(s, "parameterfile") || strings.Contains(s, "+init=") || strings.Contains(s, "+file")
}

func looksLikeWKT(text string) bool {
	head := strings.ToUpper(strings.Map(func(r rune) rune {
		if r == ' ' || r == '\n' || r == '\r' || r == '\t' {
			return -1
		}
		return r
	}, text[:min(len(text), 64)]))
	for _, h := range wktHeads {
		if strings.HasPrefix(head, h) || strings.HasPrefix(head, strings.Replace(h, "[", "(", 1)) {
			return true
		}
	}
	return false
}

func srName(sr raw.SpatialReference) string {
	for _, key := range []string{"PROJCS", "GEOGCS"} {
		if s, ok := sr.AttrValue(key, 0); ok && s != "" {
			return s
		}
	}
	return ""
}

func brief(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > 60 {
		return string(r[:57]) + "..."
	}
	return s
}

// A SiteGrid is the plane all geometry is computed on: transverse Mercator on
// the WGS 84 ellipsoid, scale 1, origin at Lon0, Lat0 (degrees), x east, y
// north, metres, no false offsets.
type SiteGrid struct{ Lon0, Lat0 float64 }

// CRS returns the site grid as a coordinate reference system, or an error where
// its origin lies outside longitude -180 to 180 or latitude -84 to 84.
func (g SiteGrid) CRS() (CRS, error) {
	if !(g.Lon0 >= -180 && g.Lon0 <= 180) {
		return CRS{}, fmt.Errorf("site grid: longitude %v is not between -180 and 180", g.Lon0)
	}
	if !(g.Lat0 >= -84 && g.Lat0 <= 84) {
		return CRS{}, fmt.Errorf("site grid: latitude %v is not between -84 and 84", g.Lat0)
	}
	num := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	return CRS{name: "site grid", text: `PROJCS["site grid",GEOGCS["WGS 84",DATUM["WGS_1984",` +
		`SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],` +
		`PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4326"]],` +
		`PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",` + num(g.Lat0) +
		`],PARAMETER["central_meridian",` + num(g.Lon0) +
		`],PARAMETER["scale_factor",1],PARAMETER["false_easting",0],PARAMETER["false_northing",0],` +
		`UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Easting",EAST],AXIS["Northing",NORTH]]`}, nil
}

// A Transformer takes points from one coordinate reference system to another.
// Both sides have east (longitude) first, whatever the register says about the
// order of axes; units are each system's own (degrees, metres, feet).
type Transformer struct{ From, To CRS }

// Points returns pts in the system To. A point that cannot be transformed is an
// error that names it; no point is ever returned as zero or infinite instead.
func (t Transformer) Points(pts []orb.Point) ([]orb.Point, error) {
	out := append([]orb.Point(nil), pts...)
	err := locked(func() error {
		ct, err := newTransform(t.From, t.To)
		if err != nil {
			return err
		}
		defer ct.Destroy()
		if i := transform(ct, out); i >= 0 {
			return failure(fmt.Sprintf("point %d (%v, %v) cannot be taken from %s to %s",
				i+1, pts[i][0], pts[i][1], describe(t.From), describe(t.To)))
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// Point is Points for one point.
func (t Transformer) Point(p orb.Point) (orb.Point, error) {
	out, err := t.Points([]orb.Point{p})
	if err != nil {
		return orb.Point{}, err
	}
	return out[0], nil
}

func describe(c CRS) string {
	switch {
	case c.name != "" && strings.HasPrefix(c.text, "EPSG:"):
		return c.text + " (" + c.name + ")"
	case c.name != "":
		return c.name
	}
	return brief(c.text)
}

// newTransform makes a transform; the caller holds the thread and destroys it.
func newTransform(from, to CRS) (raw.CoordinateTransform, error) {
	var null raw.CoordinateTransform
	a, err := newSR(from.text)
	if err != nil {
		return null, err
	}
	defer a.Destroy()
	b, err := newSR(to.text)
	if err != nil {
		return null, err
	}
	defer b.Destroy()
	ct := raw.CreateCoordinateTransform(a, b)
	if ct.IsNull() {
		return null, failure(fmt.Sprintf("no way is known from %s to %s", describe(from), describe(to)))
	}
	return ct, nil
}

// transform replaces pts by their images and returns -1, or the index of the
// first that has none; those without come back as not-a-number.
func transform(ct raw.CoordinateTransform, pts []orb.Point) int {
	const chunk = 1 << 14
	xs, ys, zs := make([]float64, 0, chunk), make([]float64, 0, chunk), make([]float64, 0, chunk)
	failed := -1
	for at := 0; at < len(pts); at += chunk {
		part := pts[at:min(at+chunk, len(pts))]
		xs, ys, zs = xs[:0], ys[:0], zs[:0]
		for _, p := range part {
			if !finite(p[0]) || !finite(p[1]) {
				p = orb.Point{math.MaxFloat64, math.MaxFloat64} // has no image in any system
			}
			xs, ys, zs = append(xs, p[0]), append(ys, p[1]), append(zs, 0)
		}
		ct.Transform(len(part), xs, ys, zs) // a point that fails comes back infinite
		for i := range part {
			if !finite(xs[i]) || !finite(ys[i]) || xs[i] == math.MaxFloat64 {
				xs[i], ys[i] = math.NaN(), math.NaN()
				if failed < 0 {
					failed = at + i
				}
			}
			part[i] = orb.Point{xs[i], ys[i]}
		}
	}
	return failed
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
