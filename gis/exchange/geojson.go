// Package exchange makes a plan's features of what other programs wrote. GeoJSON
// is read here without the geodata library, so that nothing a file says leads
// to another file or a server.
package exchange

import (
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/paulmach/orb"

	"pleach/gis/gdal"
	"pleach/gis/planfile"
	"pleach/model"
)

// A source is one feature of a file, or one part of a Multi geometry.
type source struct {
	place string // "features[3] (osm_id 17), part 2"
	id    json.RawMessage
	props model.Object
	shape orb.Geometry // Point, LineString or Polygon, in crs
	crs   gdal.CRS
	err   error // why it cannot be used
}

// readGeoJSON returns the features of a GeoJSON file in longitude and latitude,
// Multi geometries and collections taken apart. A feature that cannot be read
// comes back with its error; the error of the file itself names it and says
// what is wrong where.
func readGeoJSON(path string) ([]source, error) {
	data, err := planfile.Load(path)
	if err != nil {
		return nil, err
	}
	out, err := parseGeoJSON(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return out, nil
}

func parseGeoJSON(data []byte) ([]source, error) {
	text, err := planfile.Text(data)
	if err != nil {
		return nil, err
	}
	top, err := model.ParseObject(text)
	if err != nil {
		return nil, fmt.Errorf("is not a GeoJSON object: %w", err)
	}
	r := geoReader{crs: gdal.WGS84}
	switch typ := typeOf(top); typ {
	case "FeatureCollection":
		if err := r.enter(top); err != nil {
			return nil, err
		}
		list, ok := top.Get("features")
		if !ok {
			return nil, errors.New("the member \"features\" is missing")
		}
		var features []json.RawMessage
		if json.Unmarshal(list, &features) != nil {
			return nil, errors.New("features is not a list")
		}
		for i, raw := range features {
			if err := r.feature(raw, fmt.Sprintf("features[%d]", i)); err != nil {
				return nil, err
			}
		}
	case "Feature":
		if err := r.feature(text, "the feature"); err != nil {
			return nil, err
		}
	case "":
		return nil, errors.New("has no type: it is not GeoJSON")
	default:
		if err := r.geometry(source{place: "the geometry", crs: r.crs}, text, 0); err != nil {
			return nil, err
		}
	}
	r.toLonLat()
	return r.out, r.wrongSystem()
}

func typeOf(o model.Object) (s string) {
	if raw, ok := o.Get("type"); ok {
		_ = json.Unmarshal(raw, &s)
	}
	return s
}

type geoReader struct {
	out  []source
	crs  gdal.CRS
	said bool // the file names its coordinate reference system
}

// enter takes over the coordinate reference system an object names.
func (r *geoReader) enter(o model.Object) error {
	raw, ok := o.Get("crs")
	if !ok {
		return nil
	}
	c, err := readCRS(raw)
	if err != nil {
		return err
	}
	r.crs, r.said = c, true
	return nil
}

// epsgName matches the spellings of an EPSG code: EPSG:3067,
// urn:ogc:def:crs:EPSG::3067, http://www.opengis.net/def/crs/EPSG/0/3067.
var epsgName = regexp.MustCompile(`(?i)^(?:epsg:|urn:(?:ogc|x-ogc):def:crs:epsg:[0-9.]*:|https?://www\.opengis\.net/def/crs/epsg/[0-9.]+/)([0-9]{1,7})$`)

// crs84Name matches the spellings of WGS 84 in longitude, latitude.
var crs84Name = regexp.MustCompile(`(?i)^(?:urn:(?:ogc|x-ogc):def:crs:ogc:[0-9.]*:crs84|ogc:crs84|https?://www\.opengis\.net/def/crs/ogc/[0-9.]+/crs84)$`)

// readCRS reads the old GeoJSON member "crs". Only a name that carries an EPSG
// code, or says WGS 84, is understood; a link is never followed.
func readCRS(raw json.RawMessage) (gdal.CRS, error) {
	const remedy = "name it by its EPSG code, or save the file in WGS 84 longitude and latitude"
	o, err := model.ParseObject(raw)
	if err != nil {
		return gdal.CRS{}, fmt.Errorf("crs %s is not understood: %s", brief(raw), remedy)
	}
	if typ := typeOf(o); typ != "name" {
		return gdal.CRS{}, fmt.Errorf("crs of type %q is not followed: %s", typ, remedy)
	}
	var name string
	if p, ok := o.Get("properties"); ok {
		if props, err := model.ParseObject(p); err == nil {
			if n, ok := props.Get("name"); ok {
				_ = json.Unmarshal(n, &name)
			}
		}
	}
	name = strings.TrimSpace(name)
	if crs84Name.MatchString(name) {
		return gdal.WGS84, nil
	}
	m := epsgName.FindStringSubmatch(name)
	if m == nil {
		return gdal.CRS{}, fmt.Errorf("crs %q is not understood: %s", name, remedy)
	}
	c, err := gdal.ParseCRS("EPSG:" + m[1])
	if err != nil {
		return gdal.CRS{}, fmt.Errorf("crs %q: %w", name, err)
	}
	return c, nil
}

// feature reads one feature. Its error is one of the whole file.
func (r *geoReader) feature(raw json.RawMessage, place string) error {
	outer, said := r.crs, r.said
	defer func() { r.crs, r.said = outer, said || r.said }()
	o, err := model.ParseObject(raw)
	if err != nil {
		r.out = append(r.out, source{place: place, err: fmt.Errorf("is no feature: %w", err)})
		return nil
	}
	if err := r.enter(o); err != nil {
		return fmt.Errorf("%s: %w", place, err)
	}
	s := source{place: place, crs: r.crs}
	s.id, _ = o.Get("id")
	if p, ok := o.Get("properties"); ok {
		if s.props, err = model.ParseObject(p); err != nil {
			s.err = fmt.Errorf("properties %w", err)
		}
	}
	s.place += called(s)
	g, ok := o.Get("geometry")
	switch {
	case s.err != nil:
	case typeOf(o) != "Feature":
		s.err = errors.New("its type is not \"Feature\"")
	case !ok:
		s.err = errors.New("has no geometry")
	default:
		return r.geometry(s, g, 0)
	}
	r.out = append(r.out, s)
	return nil
}

// called names a feature by what its own program calls it.
func called(s source) string {
	if s.id != nil {
		return " (id " + brief(s.id) + ")"
	}
	for _, key := range []string{"osm_id", "osm_way_id", "id", "fid", "name"} {
		if v, ok := s.props.Get(key); ok {
			return " (" + key + " " + strings.Trim(brief(v), `"`) + ")"
		}
	}
	return ""
}

// maxNesting is how deep collections of geometries may stand in one another.
const maxNesting = 8

// geometry appends s with each part of a geometry. Its error is one of the
// whole file.
func (r *geoReader) geometry(s source, raw json.RawMessage, depth int) error {
	fail := func(format string, args ...any) error {
		s.err = fmt.Errorf(format, args...)
		r.out = append(r.out, s)
		return nil
	}
	o, err := model.ParseObject(raw)
	if err != nil {
		return fail("geometry %w", err)
	}
	if _, ok := o.Get("crs"); ok {
		if err := r.enter(o); err != nil {
			return fmt.Errorf("%s: %w", s.place, err)
		}
		s.crs = r.crs
	}
	typ := typeOf(o)
	coordinates, _ := o.Get("coordinates")
	parts := func(name string, list json.RawMessage, wrap bool) error {
		var items []json.RawMessage
		if json.Unmarshal(list, &items) != nil {
			return fail("%s is not a list", name)
		}
		if len(items) == 0 {
			return fail("is an empty %s", typ)
		}
		if depth >= maxNesting {
			return fail("its geometries are nested more than %d deep", maxNesting)
		}
		for i, item := range items {
			part := s
			if len(items) > 1 {
				part.place = fmt.Sprintf("%s, part %d", s.place, i+1)
			}
			if wrap {
				item = json.RawMessage(`{"type": "` + strings.TrimPrefix(typ, "Multi") + `", "coordinates": ` + string(item) + `}`)
			}
			if err := r.geometry(part, item, depth+1); err != nil {
				return err
			}
		}
		return nil
	}
	switch typ {
	case "MultiPoint", "MultiLineString", "MultiPolygon":
		return parts("coordinates", coordinates, true)
	case "GeometryCollection":
		list, _ := o.Get("geometries")
		return parts("geometries", list, false)
	case "Point":
		var p orb.Point
		if p, err = position(coordinates); err == nil {
			s.shape = p
		}
	case "LineString":
		var l orb.LineString
		if l, err = line(coordinates); err == nil {
			s.shape = l
		}
	case "Polygon":
		var rings []json.RawMessage
		if json.Unmarshal(coordinates, &rings) != nil || len(rings) == 0 {
			return fail("coordinates %s are not a list of rings", brief(coordinates))
		}
		var poly orb.Polygon
		for _, raw := range rings {
			l, err := line(raw)
			if err != nil {
				return fail("%w", err)
			}
			poly = append(poly, orb.Ring(l))
		}
		s.shape = poly
	case "":
		return fail("its geometry has no type")
	default:
		return fail("is a %s: use a Point, a LineString or a Polygon", typ)
	}
	s.err = err
	r.out = append(r.out, s)
	return nil
}

func line(raw json.RawMessage) (orb.LineString, error) {
	var items []json.RawMessage
	if json.Unmarshal(raw, &items) != nil {
		return nil, fmt.Errorf("coordinates %s are not a list of positions", brief(raw))
	}
	l := make(orb.LineString, len(items))
	for i, item := range items {
		var err error
		if l[i], err = position(item); err != nil {
			return nil, err
		}
	}
	return l, nil
}

func position(raw json.RawMessage) (orb.Point, error) {
	var v []float64
	if json.Unmarshal(raw, &v) != nil || len(v) < 2 {
		return orb.Point{}, fmt.Errorf("%s is not a position of two numbers", brief(raw))
	}
	return orb.Point{v[0], v[1]}, nil
}

// toLonLat takes every shape to longitude and latitude.
func (r *geoReader) toLonLat() {
	byCRS := map[gdal.CRS][]int{}
	for i, s := range r.out {
		if s.err == nil && s.crs != gdal.WGS84 {
			byCRS[s.crs] = append(byCRS[s.crs], i)
		}
	}
	for crs, members := range byCRS {
		t := gdal.Transformer{From: crs, To: gdal.WGS84}
		var all []orb.Point
		for _, i := range members {
			all = append(all, points(r.out[i].shape)...)
		}
		moved, err := t.Points(all)
		for _, i := range members {
			s := &r.out[i]
			own := points(s.shape)
			var to []orb.Point
			if err == nil {
				to, moved = moved[:len(own)], moved[len(own):]
			} else if to, s.err = t.Points(own); s.err != nil {
				continue
			}
			s.shape = withPoints(s.shape, to)
		}
	}
}

// points lists the positions of a shape in order.
func points(g orb.Geometry) []orb.Point {
	switch g := g.(type) {
	case orb.Point:
		return []orb.Point{g}
	case orb.LineString:
		return g
	case orb.Polygon:
		var out []orb.Point
		for _, r := range g {
			out = append(out, r...)
		}
		return out
	}
	return nil
}

// withPoints returns a shape like g with the positions p.
func withPoints(g orb.Geometry, p []orb.Point) orb.Geometry {
	switch g := g.(type) {
	case orb.LineString:
		return orb.LineString(p)
	case orb.Polygon:
		var out orb.Polygon
		for _, r := range g {
			out = append(out, orb.Ring(p[:len(r):len(r)]))
			p = p[len(r):]
		}
		return out
	}
	return p[0]
}

// wrongSystem reports a file that names no coordinate reference system and
// whose coordinates are not longitudes and latitudes.
func (r *geoReader) wrongSystem() error {
	if r.said {
		return nil
	}
	var first *orb.Point
	for _, s := range r.out {
		if s.err != nil {
			continue
		}
		for _, p := range points(s.shape) {
			if p[0] >= -180 && p[0] <= 180 && p[1] >= -90 && p[1] <= 90 {
				return nil
			}
			if first == nil {
				first = &p
			}
		}
	}
	if first == nil {
		return nil
	}
	return fmt.Errorf("its coordinates, such as %.7g, %.7g, are not longitude and latitude, and it names no crs: save it in WGS 84 (EPSG:4326), or add its crs by EPSG code", first[0], first[1])
}

// brief returns raw cut to what fits on a line of an error message.
func brief(raw []byte) string {
	r := []rune(strings.Join(strings.Fields(string(raw)), " "))
	if len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return string(r)
}
