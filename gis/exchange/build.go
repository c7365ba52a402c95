package exchange

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
)

// Input names the GeoJSON files a plan's features are made of; "" for none.
type Input struct{ Boundary, Buildings, Roads, Foliage string }

// Features returns the features of a plan made of the files: boundaries,
// buildings, roads and footpaths, foliage, with ids of their own. Each source
// feature that cannot be used is left out and named in a line of leftOut. A
// file that cannot be read, and a boundary that cannot be used, is an error.
func Features(in Input) (features []*model.Feature, leftOut []string, err error) {
	b := builder{numbers: map[model.Kind]int{}}
	if in.Boundary != "" {
		if err := b.boundaries(in.Boundary); err != nil {
			return nil, nil, err
		}
	}
	for _, part := range []struct {
		path string
		make func(source) (*model.Feature, error)
	}{{in.Buildings, b.building}, {in.Roads, b.way}, {in.Foliage, b.foliage}} {
		if part.path == "" {
			continue
		}
		if err := b.read(part.path, part.make); err != nil {
			return nil, nil, err
		}
	}
	return b.features, b.leftOut, nil
}

type builder struct {
	features []*model.Feature
	leftOut  []string
	numbers  map[model.Kind]int
}

// boundaries adds every feature of a file as a boundary; one that is none is an
// error.
func (b *builder) boundaries(path string) error {
	sources, err := readGeoJSON(path)
	if err != nil {
		return err
	}
	if len(sources) == 0 {
		return fmt.Errorf("%s: holds no feature: a boundary is a Polygon or a LineString", path)
	}
	for _, s := range sources {
		f, err := b.boundary(s)
		if err != nil {
			return fmt.Errorf("%s: %s: %w", path, s.place, err)
		}
		b.features = append(b.features, f)
	}
	return nil
}

// read adds the features of a file and names those that cannot be used.
func (b *builder) read(path string, make func(source) (*model.Feature, error)) error {
	sources, err := readGeoJSON(path)
	if err != nil {
		return err
	}
	for _, s := range sources {
		f, err := make(s)
		if err != nil {
			b.leftOut = append(b.leftOut, fmt.Sprintf("%s: %s: left out: %v", path, s.place, err))
			continue
		}
		b.features = append(b.features, f)
	}
	return nil
}

func (b *builder) boundary(s source) (*model.Feature, error) {
	if s.err != nil {
		return nil, s.err
	}
	return b.feature(model.KindBoundary, s, s.shape, nil)
}

func (b *builder) building(s source) (*model.Feature, error) {
	area, err := areaOf(s)
	if err != nil {
		return nil, err
	}
	t := tagsOf(s.props)
	h, stated := stated(t, "height_m", "height", "building:height", "building_height")
	if !stated {
		h = model.AssumedBuilding
		if levels, ok := metres(t.first("building:levels", "building_levels", "levels")); ok {
			h = levels * model.AssumedStorey
		}
	}
	return b.feature(model.KindBuilding, s, area, &filled{"height_m", h, !stated})
}

func (b *builder) foliage(s source) (*model.Feature, error) {
	area, err := areaOf(s)
	if err != nil {
		return nil, err
	}
	h, stated := stated(tagsOf(s.props), "height_m", "height")
	if !stated {
		h = model.AssumedFoliage
	}
	return b.feature(model.KindFoliage, s, area, &filled{"height_m", h, !stated})
}

// footpathClasses are the OpenStreetMap classes of ways that are footpaths: the
// values of its key highway. All others are roads.
var footpathClasses = []string{"cycleway", "footway", "path", "pedestrian", "steps", "bridleway", "track"}

func (b *builder) way(s source) (*model.Feature, error) {
	if s.err != nil {
		return nil, s.err
	}
	t := tagsOf(s.props)
	kind := model.KindRoad
	class := strings.ToLower(t.first("highway", "kind", "fclass", "class", "type"))
	// Some extracts grade tracks: track_grade1 to track_grade5.
	if slices.Contains(footpathClasses, class) || strings.HasPrefix(class, "track_") {
		kind = model.KindFootpath
	}
	if area, ok := s.shape.(orb.Polygon); ok {
		return b.feature(kind, s, closeRings(area), nil)
	}
	w, stated := stated(t, "width_m", "width")
	if !stated {
		info, _ := model.Info(kind)
		p, _ := info.Property("width_m")
		w, _ = p.Default.(float64)
	}
	return b.feature(kind, s, s.shape, &filled{"width_m", w, !stated})
}

// stated returns the first of the named lengths that can be read.
func stated(t tags, names ...string) (float64, bool) {
	for _, n := range names {
		if v, ok := metres(t[n]); ok {
			return v, true
		}
	}
	return 0, false
}

// areaOf returns the source's polygon with its rings closed. A closed line is
// taken as the outline of an area.
func areaOf(s source) (orb.Geometry, error) {
	if s.err != nil {
		return nil, s.err
	}
	switch g := s.shape.(type) {
	case orb.Polygon:
		return closeRings(g), nil
	case orb.LineString:
		if len(g) > 3 && g[0] == g[len(g)-1] {
			return orb.Polygon{orb.Ring(g)}, nil
		}
	}
	return nil, fmt.Errorf("is a %s: it must be a Polygon", s.shape.GeoJSONType())
}

// closeRings returns the polygon with every ring's first position at its end.
func closeRings(p orb.Polygon) orb.Polygon {
	out := make(orb.Polygon, len(p))
	for i, r := range p {
		if len(r) > 0 && r[0] != r[len(r)-1] {
			r = append(slices.Clip(r), r[0])
		}
		out[i] = r
	}
	return out
}

// filled is a property that the plan needs: stated by the source or assumed.
type filled struct {
	name    string
	value   float64
	assumed bool
}

// maxRenames bounds the rounds in which source properties make way.
const maxRenames = 64

// feature makes a plan's feature of a source. The source's properties are kept;
// one that has a name of ours and a value we cannot have under it is kept as
// source_ and its name.
func (b *builder) feature(kind model.Kind, s source, g orb.Geometry, fill *filled) (*model.Feature, error) {
	info, _ := model.Info(kind)
	props := s.props
	if s.id != nil {
		props = props.With(freeName(props, "source_id"), s.id)
	}
	for _, ours := range []string{"kind", "assumed"} {
		props = rename(props, ours)
	}
	if raw, ok := props.Get("name"); ok && len(raw) > 0 && raw[0] != '"' && raw[0] != '{' && raw[0] != '[' {
		props = props.With("name", model.Prop("name", string(raw)).Value)
	}
	if fill != nil {
		p, _ := info.Property(fill.name)
		value := math.Round(fill.value*1000) / 1000
		if !p.Allows(value) {
			value, fill.assumed = math.Min(math.Max(value, 0.001), p.Max), true
		}
		if raw, ok := props.Get(fill.name); !ok || !isNumber(raw, fill.value) || value != fill.value {
			props = rename(props, fill.name).With(fill.name, model.Prop("", value).Value)
		}
		if fill.assumed {
			props = props.With("assumed", model.Prop("", []string{fill.name}).Value)
		}
	}
	id := fmt.Sprintf("%s%d", info.Prefix, b.numbers[kind]+1)
	for range maxRenames {
		f := model.NewFeature(kind, id, g, props...)
		if len(f.Flaws) == 0 {
			b.numbers[kind]++
			return f, nil
		}
		flaw := f.Flaws[0]
		if _, ok := props.Get(flaw.Property); !ok {
			return nil, fmt.Errorf("%s %s", flaw.Property, flaw.Text)
		}
		props = rename(props, flaw.Property)
	}
	return nil, fmt.Errorf("has properties that cannot be kept")
}

// isNumber reports whether raw is the JSON number v.
func isNumber(raw json.RawMessage, v float64) bool {
	var n float64
	return json.Unmarshal(raw, &n) == nil && n == v
}

// rename gives the property of that name the name source_ and its name.
func rename(props model.Object, name string) model.Object {
	out := make(model.Object, 0, len(props))
	var kept json.RawMessage
	for _, m := range props {
		if m.Name == name {
			kept = m.Value
			continue
		}
		out = append(out, m)
	}
	if kept == nil {
		return props
	}
	return append(out, model.Member{Name: freeName(out, "source_"+name), Value: kept})
}

// freeName returns name, or name_2, name_3, …, whichever no member has.
func freeName(o model.Object, name string) string {
	taken := func(n string) bool {
		return slices.ContainsFunc(o, func(m model.Member) bool { return m.Name == n })
	}
	free := name
	for i := 2; taken(free); i++ {
		free = fmt.Sprintf("%s_%d", name, i)
	}
	return free
}
