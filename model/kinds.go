package model

// Kind tells features apart (properties.kind of the plan file).
type Kind string

// The kinds of feature that a plan knows. A feature of any other kind is kept
// and left alone.
const (
	KindBoundary  Kind = "boundary"
	KindExcluded  Kind = "excluded"
	KindPremises  Kind = "premises"
	KindGate      Kind = "gate"
	KindAsset     Kind = "asset"
	KindRoad      Kind = "road"
	KindFootpath  Kind = "footpath"
	KindNeighbour Kind = "neighbour"
	KindBuilding  Kind = "building"
	KindFoliage   Kind = "foliage"
	KindObstacle  Kind = "obstacle"
	KindHazard    Kind = "hazard"
	KindView      Kind = "view"
	KindSensor    Kind = "sensor"
	KindRepeater  Kind = "repeater"
	KindReceiver  Kind = "receiver"
	KindReading   Kind = "reading"
)

// Kinds lists the known kinds in the order of the contract.
var Kinds = []Kind{
	KindBoundary, KindExcluded, KindPremises, KindGate, KindAsset, KindRoad, KindFootpath, KindNeighbour,
	KindBuilding, KindFoliage, KindObstacle, KindHazard, KindView, KindSensor, KindRepeater, KindReceiver, KindReading,
}

// Shapes is the set of geometry types a kind may have.
type Shapes uint8

// The shapes of a feature.
const (
	Point Shapes = 1 << iota
	Line
	Area
	None // a null geometry
)

// ValueType is the type of a property's value.
type ValueType uint8

// The types of property values.
const (
	Number ValueType = iota
	Whole            // a whole number
	Text
	Flag
	Choice // one of Property.Choices
	Other  // a structured value, described in the contract
	Day    // a text such as 2027-04-30
)

// Property describes one property of a kind: the single source of the limits
// that reading checks, the panel shows and the help lists.
type Property struct {
	Name     string
	Label    string // in words, for the panel
	Type     ValueType
	Unit     string // "m", "°", …, or ""
	Min, Max float64
	Above    bool // the value must be above Min, not only at it
	Bounded  bool // Min and Max hold
	Choices  []string
	Default  any  // nil: absent means "not stated"
	Chosen   bool // the default is judgement, not a standard
	Required bool
	Help     string
}

// KindInfo describes a kind.
type KindInfo struct {
	Kind       Kind
	Label      string // in words
	Prefix     string // of ids the program gives
	Shapes     Shapes
	Properties []Property
}

func num(name, label, unit string, min, max float64) Property {
	return Property{Name: name, Label: label, Type: Number, Unit: unit, Min: min, Max: max, Bounded: true}
}

func (p Property) above() Property        { p.Above = true; return p }
func (p Property) required() Property     { p.Required = true; return p }
func (p Property) def(v any) Property     { p.Default = v; return p }
func (p Property) chosen() Property       { p.Chosen = true; return p }
func (p Property) help(s string) Property { p.Help = s; return p }
func text(name, label string) Property    { return Property{Name: name, Label: label, Type: Text} }
func flag(name, label string) Property {
	return Property{Name: name, Label: label, Type: Flag, Default: false}
}
func other(name, label, h string) Property {
	return Property{Name: name, Label: label, Type: Other, Help: h}
}
func choice(name, label string, c ...string) Property {
	return Property{Name: name, Label: label, Type: Choice, Choices: c}
}

var (
	nameProp    = text("name", "Name")
	mountHeight = num("mount_height_m", "Mount height", "m", 0, 60).above().required().help("optical centre above the ground at the post")
	antHeight   = num("antenna_height_m", "Antenna height", "m", 0, 60).above().help("above the ground at the post")
	tallness    = num("height_m", "Height", "m", 0, 200)
	address     = Property{Name: "address", Label: "Address", Type: Whole, Min: 0, Max: 65535, Bounded: true, Help: "unique over sensors and repeaters"}
	roadWidth   = num("width_m", "Width", "m", 0, 200).above().chosen()
	supplyProp  = other("supply", "Supply", "capacity_mah, cell_v, sleep_ua, message_mj, supervision_s, self_discharge_per_year")
	radioProp   = other("radio", "Radio", "erp_dbm, sensitivity_dbm, antenna_gain_dbi, feeder_loss_db, installation_loss_db, installation_terms")
)

// Catalogue describes every known kind, in the order of Kinds.
var Catalogue = []KindInfo{
	{KindBoundary, "Boundary", "B", Area | Line, []Property{nameProp, tallness.def(2.0).chosen().help("its fence, for drawings")}},
	{KindExcluded, "Excluded stretch", "E", Line, []Property{text("reason", "Reason").required().help("why it needs no detection")}},
	{KindPremises, "Premises", "L", Area, []Property{nameProp}},
	{KindGate, "Gate", "G", Point | Line, []Property{nameProp, num("width_m", "Width", "m", 0, 200).above().def(4.0).chosen()}},
	{KindAsset, "Asset", "A", Point | Area, []Property{nameProp}},
	{KindRoad, "Road", "R", Line | Area, []Property{nameProp, roadWidth.def(6.0), flag("private", "Private")}},
	{KindFootpath, "Footpath", "P", Line | Area, []Property{nameProp, roadWidth.def(2.0), flag("private", "Private")}},
	{KindNeighbour, "Neighbour", "N", Area, []Property{nameProp}},
	{KindBuilding, "Building", "H", Area, []Property{nameProp, tallness.required().help("its level top above the mean ground of its outline"), text("material", "Material")}},
	{KindFoliage, "Foliage", "F", Area, []Property{nameProp, tallness.required(), choice("density", "Density", "light", "medium", "dense").def("medium"),
		{Name: "in_leaf", Label: "In leaf", Type: Flag, Default: true}}},
	{KindObstacle, "Obstacle", "O", Line | Area, []Property{nameProp, tallness.required(), flag("see_through", "See-through").help("mesh: hides nothing"),
		flag("impassable", "Impassable").help("stops a person"), num("delay_s", "Delay", "s", 0, 86400).def(0.0)}},
	{KindHazard, "Hazard", "Z", Point | Line | Area, []Property{nameProp, text("what", "What").required()}},
	{KindView, "Camera view", "V", Area, []Property{text("name", "Name").required(), text("preset", "Preset")}},
	{KindSensor, "Sensor", "S", Point, []Property{nameProp,
		text("model", "Model").required(), mountHeight,
		{Name: "bearing_deg", Label: "Bearing", Type: Number, Unit: "°", Required: true, Help: "clockwise from true north"},
		num("tilt_deg", "Tilt", "°", -45, 89).required().help("depression of the axis below the horizontal"),
		other("masked", "Masked", "sectors relative to the bearing, clockwise from from_deg to to_deg"),
		antHeight, address, radioProp, text("zone", "Zone"), text("mount", "Mount"), text("note", "Note")}},
	{KindRepeater, "Repeater", "RP", Point, []Property{nameProp, antHeight.required(), address, radioProp, supplyProp, text("note", "Note")}},
	{KindReceiver, "Receiver", "RX", Point, []Property{nameProp, antHeight.required(), radioProp, other("outputs", "Outputs", "zone, type, number, input, preset"), text("note", "Note")}},
	{KindReading, "Reading", "M", Point | None, []Property{other("of", "Of", "ids"), choice("what", "What", "signal", "walk-test", "soak", "as-fitted"),
		other("value", "Value", ""), text("unit", "Unit"), text("at", "At"), text("by", "By"),
		num("distance_m", "Distance walked at", "m", 1, 500).help("from the sensor; where the reading was made unless stated"),
		num("speed_m_s", "Speed walked", "m/s", 0.01, 60),
		num("heading_deg", "Direction walked", "°", 0, 180).help("to the line of sight: 90 across it, 0 towards the sensor"),
		num("air_c", "Air at the walk", "°C", -60, 60),
		num("background_c", "Ground at the walk", "°C", -80, 120).help("the surface seen behind the walker"),
		num("clothing", "Clothing at the walk", "", 0, 1).help("0 bare skin, 1 as warm as the air"),
		choice("leaf_state", "Leaf state", "in leaf", "bare", "wet"),
		num("sender_height_m", "Antenna height, sending", "m", 0, 60).above().help("above the ground, as it was at the reading"),
		num("reader_height_m", "Antenna height, reading", "m", 0, 60).above().help("above the ground, as it was at the reading"),
		num("attenuator_db", "Attenuator", "dB", 0, 100).help("put in while messages still arrived; the level is read without it")}},
}

// Info returns the description of kind k; ok is false for a kind that is not known.
func Info(k Kind) (info KindInfo, ok bool) {
	for _, i := range Catalogue {
		if i.Kind == k {
			return i, true
		}
	}
	return KindInfo{}, false
}

// Property returns the description of the property called name.
func (k KindInfo) Property(name string) (p Property, ok bool) {
	for _, p := range k.Properties {
		if p.Name == name {
			return p, true
		}
	}
	return Property{}, false
}
