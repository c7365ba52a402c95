package model

import (
	"encoding/json"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// Feature is one feature of a plan. It is never changed once made.
type Feature struct {
	ID       string
	Kind     Kind // "" for a feature of no known kind
	Name     string
	Geometry orb.Geometry // longitude, latitude in degrees; nil for none
	Value    any          // *Sensor, *Building, … by kind; nil when flawed or of no known kind
	Assumed  []string     // properties the program filled in on import
	Flaws    []Flaw

	raw   []byte // the whole feature as the file spells it, nil once edited
	whole Object // its members
	props Object // members of properties
}

// Sound reports whether the feature is of a known kind and without flaw.
func (f *Feature) Sound() bool { return f.Kind != "" && f.Value != nil && len(f.Flaws) == 0 }

// Title returns the feature's name, or its id where it has none.
func (f *Feature) Title() string {
	if f.Name != "" {
		return f.Name
	}
	return f.ID
}

// Who names the feature in an error: "sensor S12".
func (f *Feature) Who() string { return who(f.Kind, f.ID) }

func who(k Kind, id string) string {
	switch {
	case k == "" && id == "":
		return "feature"
	case k == "":
		return "feature " + id
	case id == "":
		return string(k)
	}
	return string(k) + " " + id
}

// Property returns the raw value of a property as the file has it.
func (f *Feature) Property(name string) (json.RawMessage, bool) { return f.props.Get(name) }

// Number returns a numeric property, or its default; ok is false where there is
// neither.
func (f *Feature) Number(name string) (v float64, ok bool) {
	if raw, has := f.props.Get(name); has {
		if v, err := parseNumber(raw); err == nil {
			return v, true
		}
	}
	if info, has := Info(f.Kind); has {
		if p, has := info.Property(name); has {
			if v, has := p.Default.(float64); has {
				return v, true
			}
		}
	}
	return 0, false
}

// JSON returns the feature as JSON: the bytes that were read where it was not
// edited.
func (f *Feature) JSON() []byte {
	if f.raw != nil {
		return f.raw
	}
	return f.whole.AppendJSON(nil)
}

// ReadFeature reads one feature of a FeatureCollection. index is its place in
// the list, from 0, to name it by where it has no id. It returns an error where
// raw is not an object; all else that is wrong is a flaw of the feature.
func ReadFeature(raw []byte, index int) (*Feature, error) {
	whole, err := ParseObject(raw)
	if err != nil {
		return nil, fmt.Errorf("features[%d]: %v", index, err)
	}
	f := &Feature{raw: raw, whole: whole}
	place := fmt.Sprintf("features[%d]", index)
	if p, ok := whole.Get("properties"); ok {
		f.props, err = ParseObject(p)
		if err != nil {
			f.Flaws = append(f.Flaws, Flaw{Feature: place, Property: "properties", Text: err.Error()})
		}
	}
	if k, ok := f.props.Get("kind"); ok {
		var s string
		if json.Unmarshal(k, &s) == nil {
			if _, known := Info(Kind(s)); known {
				f.Kind = Kind(s)
			}
		}
	}
	if id, ok := whole.Get("id"); ok {
		if json.Unmarshal(id, &f.ID) != nil && f.Kind != "" {
			f.Flaws = append(f.Flaws, Flaw{Feature: place + " (" + string(f.Kind) + ")", Property: "id",
				Text: brief(id) + " is not text: write it in quotes, unique in the plan"})
		}
	}
	if f.ID == "" && f.Kind != "" && len(f.Flaws) == 0 {
		f.Flaws = append(f.Flaws, Flaw{Feature: place + " (" + string(f.Kind) + ")", Property: "id",
			Text: "is missing: every feature of a plan has a text id, unique in the plan"})
	}
	f.decode()
	return f, nil
}

// NewFeature makes a feature of kind k with the given id, geometry and
// properties in order. Values that are out of range become flaws.
func NewFeature(k Kind, id string, g orb.Geometry, props ...Member) *Feature {
	f := &Feature{Kind: k, ID: id}
	f.props = append(Object{{"kind", encode(string(k))}}, props...)
	f.whole = Object{
		{"type", json.RawMessage(`"Feature"`)},
		{"id", encode(id)},
		{"properties", nil},
		{"geometry", encodeGeometry(g, nil)},
	}
	f.whole = f.whole.With("properties", f.props.AppendJSON(nil))
	f.decode()
	return f
}

// Prop makes a property from any value with a JSON form.
func Prop(name string, v any) Member { return Member{name, encode(v)} }

// WithGeometry returns a copy of f standing elsewhere. Heights and other values
// beyond the second of a position are kept for the positions that stay and for
// all of them where only their places changed.
func (f *Feature) WithGeometry(g orb.Geometry) *Feature {
	old, _ := f.whole.Get("geometry")
	return f.with(f.whole.With("geometry", encodeGeometry(g, old)), f.props)
}

// WithProperty returns a copy of f in which the property has the value v; a nil
// v takes the property away. A property that is set by hand is no longer listed
// as assumed.
func (f *Feature) WithProperty(name string, v any) *Feature {
	props := f.props
	if v == nil {
		props = props.Without(name)
	} else {
		props = props.With(name, encode(v))
	}
	if raw, ok := props.Get("assumed"); ok {
		var names []string
		if json.Unmarshal(raw, &names) == nil {
			kept := []string{}
			for _, n := range names {
				if n != name {
					kept = append(kept, n)
				}
			}
			switch {
			case len(kept) == 0:
				props = props.Without("assumed")
			case len(kept) < len(names):
				props = props.With("assumed", encode(kept))
			}
		}
	}
	return f.with(f.whole.With("properties", props.AppendJSON(nil)), props)
}

// WithID returns a copy of f under another id.
func (f *Feature) WithID(id string) *Feature {
	return f.with(f.whole.With("id", encode(id)), f.props)
}

func (f *Feature) with(whole, props Object) *Feature {
	n := &Feature{ID: f.ID, Kind: f.Kind, whole: whole, props: props}
	if id, ok := whole.Get("id"); ok {
		_ = json.Unmarshal(id, &n.ID)
	}
	n.decode()
	return n
}

// decode fills in what is understood of the raw members.
func (f *Feature) decode() {
	r := reader{o: f.props, who: f.Who(), id: f.ID, flaws: &f.Flaws}
	raw, ok := f.whole.Get("geometry")
	if ok {
		g, err := decodeGeometry(raw)
		switch {
		case err == nil:
			f.Geometry = g
		case f.Kind != "":
			r.flaw("geometry", "%v", err)
		}
	}
	if f.Kind == "" {
		return
	}
	info, _ := Info(f.Kind)
	if err := checkShape(f.Geometry, info); err != nil && len(f.Flaws) == 0 {
		r.flaw("geometry", "%v", err)
	}
	f.Name = r.text("name", f.Kind == KindView)
	f.Assumed = r.texts("assumed")
	f.Value = r.value(info)
	if len(f.Flaws) > 0 {
		f.Value = nil
	}
}

// value decodes the properties of a kind.
func (r reader) value(info KindInfo) any {
	p := func(name string) Property {
		p, ok := info.Property(name)
		if !ok {
			panic("no property " + name + " of " + string(info.Kind))
		}
		return p
	}
	flag := func(name string) bool {
		def, _ := p(name).Default.(bool)
		return r.flag(name, def)
	}
	choice := func(name string) string {
		def, _ := p(name).Default.(string)
		return r.choice(name, def, p(name).Choices)
	}
	maybe := func(name string) *float64 { return r.maybe(p(name)) }
	switch info.Kind {
	case KindBoundary:
		return &Boundary{Height: r.number(p("height_m"))}
	case KindExcluded:
		return &Excluded{Reason: r.text("reason", true)}
	case KindGate:
		return &Gate{Width: r.number(p("width_m"))}
	case KindPremises, KindAsset, KindNeighbour:
		return &Place{}
	case KindRoad, KindFootpath:
		return &Way{Width: r.number(p("width_m")), Private: flag("private")}
	case KindBuilding:
		return &Building{Height: r.number(p("height_m")), Material: r.text("material", false)}
	case KindFoliage:
		return &Foliage{Height: r.number(p("height_m")), Density: choice("density"), InLeaf: flag("in_leaf")}
	case KindObstacle:
		return &Obstacle{Height: r.number(p("height_m")), SeeThrough: flag("see_through"), Impassable: flag("impassable"), Delay: r.number(p("delay_s"))}
	case KindHazard:
		return &Hazard{What: r.text("what", true)}
	case KindView:
		return &View{Preset: r.label("preset")}
	case KindSensor:
		s := &Sensor{Model: r.text("model", true), MountHeight: r.number(p("mount_height_m")), Tilt: r.number(p("tilt_deg")),
			Zone: r.label("zone"), Mount: r.text("mount", false), Note: r.text("note", false), Address: r.whole(p("address")), Radio: r.radio()}
		s.Bearing = math.Mod(r.number(p("bearing_deg")), 360)
		if s.Bearing < 0 {
			s.Bearing += 360
		}
		s.Antenna = s.MountHeight
		if a := r.maybe(p("antenna_height_m")); a != nil {
			s.Antenna = *a
		}
		finite := Property{Type: Number, Required: true}
		masks, _ := r.list("masked")
		for _, m := range masks {
			finite.Name = "from_deg"
			from := m.number(finite)
			finite.Name = "to_deg"
			s.Masked = append(s.Masked, Sector{from, m.number(finite)})
		}
		return s
	case KindRepeater:
		return &Repeater{Antenna: r.number(p("antenna_height_m")), Address: r.whole(p("address")), Radio: r.radio(), Supply: r.supply(), Note: r.text("note", false)}
	case KindReceiver:
		rx := &Receiver{Antenna: r.number(p("antenna_height_m")), Radio: r.radio(), Note: r.text("note", false)}
		outs, _ := r.list("outputs")
		for _, o := range outs {
			rx.Outputs = append(rx.Outputs, Output{Zone: o.label("zone"), Type: o.choice("type", "", OutputTypes),
				Number: o.label("number"), Input: o.label("input"), Preset: o.label("preset")})
		}
		return rx
	case KindReading:
		return &Reading{Of: r.texts("of"), What: choice("what"), Unit: r.text("unit", false), At: r.text("at", false), By: r.text("by", false),
			Distance: maybe("distance_m"), Speed: maybe("speed_m_s"), Heading: maybe("heading_deg"), Air: maybe("air_c"), Background: maybe("background_c"), Clothing: maybe("clothing"),
			LeafState: choice("leaf_state"), SenderHeight: maybe("sender_height_m"), ReaderHeight: maybe("reader_height_m"), Attenuator: maybe("attenuator_db")}
	}
	panic("no noun for kind " + string(info.Kind))
}

func (r reader) whole(p Property) *int {
	v := r.maybe(p)
	if v == nil {
		return nil
	}
	n := int(*v)
	return &n
}

// Limits of the figures of a radio. The contract states none for these: chosen,
// wide enough for any equipment of the band and narrow enough to catch a slip
// of units.
var (
	erpProp          = num("erp_dbm", "Radiated power", "dBm", -60, 60)
	sensitivityProp  = num("sensitivity_dbm", "Sensitivity", "dBm", -180, 0)
	gainProp         = num("antenna_gain_dbi", "Antenna gain", "dBi", -60, 60)
	feederProp       = num("feeder_loss_db", "Feeder loss", "dB", 0, 100)
	installationProp = num("installation_loss_db", "Installation loss", "dB", 0, 100)
)

func (r reader) radio() (out Radio) {
	sub, ok := r.sub("radio")
	if !ok {
		return out
	}
	out.ERP = sub.maybe(erpProp)
	out.Sensitivity = sub.maybe(sensitivityProp)
	for _, m := range sub.o {
		if m.Name == "sensitivity_dbm" {
			out.TransmitOnly = string(m.Value) == "null"
		}
	}
	out.AntennaGain = sub.maybe(gainProp)
	out.FeederLoss = sub.maybe(feederProp)
	out.Installation, out.Terms = sub.installation()
	return out
}
