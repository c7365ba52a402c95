package model

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// Plan is one site's plan. It is never changed once made: an Edit makes another.
type Plan struct {
	Settings Settings
	Features []*Feature // in file order
	Flaws    []Flaw     // of the settings, and of features as a list: duplicate ids

	members  Object              // top-level members of the file, "features" among them with a nil value
	pleach   Object              // members of "pleach"
	byID     map[string]int      // places in Features
	sound    []*Feature          // without the second of two with one id, in file order
	byKind   map[Kind][]*Feature // the same by kind
	original []byte              // the file's bytes, for a plan as it was read
}

// NewPlan makes an empty plan of contract version 1.
func NewPlan(settings ...Member) *Plan {
	members := Object{{"type", json.RawMessage(`"FeatureCollection"`)}, {"pleach", nil}, {"features", nil}}
	return build(members, append(Object{{"version", json.RawMessage("1")}}, settings...), nil)
}

// ReadPlan makes a plan of a file's top-level members, its features and the
// bytes they came from. It returns an error where the members are not those of
// a plan of version 1: everything else that is wrong becomes a flaw.
func ReadPlan(members Object, features []*Feature, original []byte) (*Plan, error) {
	var typ string
	if raw, ok := members.Get("type"); !ok || json.Unmarshal(raw, &typ) != nil || typ != "FeatureCollection" {
		return nil, fmt.Errorf("type is not \"FeatureCollection\": a plan is a GeoJSON FeatureCollection")
	}
	raw, ok := members.Get("pleach")
	if !ok {
		return nil, fmt.Errorf("the member \"pleach\" is missing: this is GeoJSON but no plan; make one of it with pleach new --boundary FILE -o PLAN")
	}
	pleach, err := ParseObject(raw)
	if err != nil {
		return nil, fmt.Errorf("pleach: %v", err)
	}
	v, ok := pleach.Get("version")
	if !ok {
		return nil, fmt.Errorf("pleach.version is missing: it must be 1")
	}
	if n, err := parseNumber(v); err != nil || n != 1 {
		return nil, fmt.Errorf("pleach.version %s is not 1: this program reads version 1", brief(v))
	}
	if c, ok := members.Get("crs"); ok && !isWGS84(c) {
		return nil, fmt.Errorf("crs %s: a plan is in WGS 84 longitude and latitude (RFC 7946); import the file with pleach new --boundary FILE -o PLAN", brief(c))
	}
	p := build(members, pleach, features)
	p.original = original
	return p, nil
}

// isWGS84 reports whether an old GeoJSON crs member names WGS 84 in longitude,
// latitude.
func isWGS84(raw json.RawMessage) bool {
	var c struct{ Properties struct{ Name string } }
	_ = json.Unmarshal(raw, &c)
	n := strings.ToUpper(c.Properties.Name)
	return strings.HasSuffix(n, "CRS84") || strings.HasSuffix(n, "EPSG:4326") || strings.HasSuffix(n, "EPSG::4326")
}

func build(members, pleach Object, features []*Feature) *Plan {
	p := &Plan{members: members, pleach: pleach, Features: features}
	p.Settings = readSettings(pleach, &p.Flaws)
	p.index()
	return p
}

// index fills byID and the lists of sound features, and notes ids that stand
// twice.
func (p *Plan) index() {
	p.byID = make(map[string]int, len(p.Features))
	for i, f := range p.Features {
		if f.ID == "" {
			continue
		}
		if k, ok := p.byID[f.ID]; ok {
			if o := p.Features[k]; f.Kind != "" || o.Kind != "" {
				p.Flaws = append(p.Flaws, Flaw{Feature: f.Who(), ID: f.ID, Property: "id", Text: fmt.Sprintf("%q is also that of a feature before it (%s): every id is unique in the plan", f.ID, kindOr(o))})
				if o.Kind != "" || f.Kind == "" {
					continue
				}
			}
		}
		p.byID[f.ID] = i
	}
	p.byKind = map[Kind][]*Feature{}
	for i, f := range p.Features {
		if k, ok := p.byID[f.ID]; ok && k == i && f.Sound() {
			p.sound = append(p.sound, f)
			p.byKind[f.Kind] = append(p.byKind[f.Kind], f)
		}
	}
}

func kindOr(f *Feature) string {
	if f.Kind == "" {
		return "of no known kind"
	}
	return string(f.Kind)
}

// with returns a plan with the same members and other features.
func (p *Plan) with(features []*Feature) *Plan {
	n := &Plan{Settings: p.Settings, Features: features, members: p.members, pleach: p.pleach}
	for _, f := range p.Flaws {
		if f.ID == "" {
			n.Flaws = append(n.Flaws, f)
		}
	}
	n.index()
	return n
}

// Feature returns the feature with the given id, or nil.
func (p *Plan) Feature(id string) *Feature {
	if i, ok := p.byID[id]; ok {
		return p.Features[i]
	}
	return nil
}

// Of returns the sound features of the given kinds, in file order: a list to
// read. The second of two features with one id is not among them. Plans that are
// made from one another without changing any of a kind share that kind's list.
func (p *Plan) Of(kinds ...Kind) []*Feature {
	if len(kinds) == 1 {
		return slices.Clip(p.byKind[kinds[0]])
	}
	if len(kinds) == len(Kinds) {
		return slices.Clip(p.sound)
	}
	n := 0
	for _, k := range kinds {
		n += len(p.byKind[k])
	}
	if n == 0 {
		return nil
	}
	out := make([]*Feature, 0, n)
	for _, f := range p.sound {
		if slices.Contains(kinds, f.Kind) {
			out = append(out, f)
		}
	}
	return out
}

// SameList reports whether two lists hold the same features. It is quick where one
// list is the other.
func SameList(a, b []*Feature) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0] || slices.Equal(a, b))
}

// AllFlaws returns what is wrong with the settings and with every feature, in
// file order.
func (p *Plan) AllFlaws() []Flaw {
	out := append([]Flaw(nil), p.Flaws...)
	for _, f := range p.Features {
		out = append(out, f.Flaws...)
	}
	for _, f := range p.Of(KindSensor) {
		s := f.Value.(*Sensor)
		if _, ok := p.Model(s.Model); !ok {
			out = append(out, Flaw{Feature: f.Who(), ID: f.ID, Property: "model",
				Text: fmt.Sprintf("%q is not a sensor model of the plan or a built-in one: use one of %s", s.Model, strings.Join(p.modelIDs(), ", "))})
		}
	}
	return out
}

// Model returns the sensor model called id: the plan's own, else a built-in one.
func (p *Plan) Model(id string) (SensorModel, bool) {
	for _, m := range p.Models() {
		if m.ID == id {
			return m, true
		}
	}
	return SensorModel{}, false
}

// Models returns the built-in models, replaced by the plan's own where ids are
// the same, then the plan's further ones.
func (p *Plan) Models() []SensorModel {
	out := append([]SensorModel(nil), Builtin()...)
next:
	for _, m := range p.Settings.Models {
		for i := range out {
			if out[i].ID == m.ID {
				out[i] = m
				continue next
			}
		}
		out = append(out, m)
	}
	return out
}

func (p *Plan) modelIDs() []string {
	var ids []string
	for _, m := range p.Models() {
		ids = append(ids, m.ID)
	}
	return ids
}

// NewID returns an id for a further feature of kind k: the kind's letter and the
// least number that is free.
func (p *Plan) NewID(k Kind) string {
	info, _ := Info(k)
	for n := 1; ; n++ {
		id := fmt.Sprintf("%s%d", info.Prefix, n)
		if k == KindReceiver && n == 1 {
			id = info.Prefix
		}
		if _, taken := p.byID[id]; !taken {
			return id
		}
	}
}

// Original returns the bytes the plan was read from, nil for a plan that was
// made or edited.
func (p *Plan) Original() []byte { return p.original }

// JSON returns the plan as a file: the bytes that were read where nothing was
// edited; else every untouched feature as it was spelled, one a line. The
// built-in sensor models that the plan uses are written into it.
func (p *Plan) JSON() []byte {
	if p.original != nil {
		return p.original
	}
	pleach := p.pleach
	if models := p.usedModels(); models != nil {
		pleach = pleach.With("models", models)
	}
	b := []byte("{")
	for i, m := range p.members {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, '\n')
		b = append(b, quote(m.Name)...)
		b = append(b, ": "...)
		switch m.Name {
		case "pleach":
			b = append(b, '{')
			for j, s := range pleach {
				if j > 0 {
					b = append(b, ',')
				}
				b = append(b, "\n  "...)
				b = append(b, quote(s.Name)...)
				b = append(b, ": "...)
				b = append(b, s.Value...)
			}
			b = append(b, "\n}"...)
		case "features":
			b = append(b, '[')
			for j, f := range p.Features {
				if j > 0 {
					b = append(b, ',')
				}
				b = append(b, '\n')
				b = append(b, f.JSON()...)
			}
			b = append(b, "\n]"...)
		default:
			b = append(b, m.Value...)
		}
	}
	return append(b, "\n}\n"...)
}

// usedModels returns the member "models" with the built-in models that sensors
// use added, nil where there is nothing to add.
func (p *Plan) usedModels() json.RawMessage {
	own := map[string]bool{}
	for _, m := range p.Settings.Models {
		own[m.ID] = true
	}
	used := map[string]bool{}
	for _, f := range p.Features {
		if s, ok := f.Value.(*Sensor); ok {
			used[s.Model] = true
		}
	}
	var add []json.RawMessage
	for _, m := range Builtin() {
		if used[m.ID] && !own[m.ID] {
			add = append(add, m.JSON())
		}
	}
	if add == nil {
		return nil
	}
	var all []json.RawMessage
	if raw, ok := p.pleach.Get("models"); ok {
		if json.Unmarshal(raw, &all) != nil {
			return nil
		}
	}
	all = append(all, add...)
	b := []byte("[")
	for i, m := range all {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, "\n    "...)
		b = append(b, m...)
	}
	return append(b, ']')
}

// SameSettings reports whether two plans share their settings: one was made
// from the other without changing any.
func SameSettings(a, b *Plan) bool {
	return len(a.pleach) == len(b.pleach) && (len(a.pleach) == 0 || &a.pleach[0] == &b.pleach[0])
}
