package model

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"pleach/model/spectrum"
)

// Control matches a pixel of the base map to a position.
type Control struct {
	Pixel orb.Point // column, row, from the outer corner of the first pixel
	At    orb.Point // longitude, latitude
}

// BaseMap names the aerial picture.
type BaseMap struct {
	File    string // relative to the plan
	CRS     string
	Control []Control
}

// TerrainFile names the raster of ground heights.
type TerrainFile struct{ File, CRS, Unit string }

// Value returns the setting as it stands in the plan file.
func (b BaseMap) Value() any {
	type control struct {
		Pixel orb.Point `json:"pixel"`
		At    orb.Point `json:"at"`
	}
	v := struct {
		File    string    `json:"file"`
		CRS     string    `json:"crs,omitempty"`
		Control []control `json:"control,omitempty"`
	}{File: b.File, CRS: b.CRS}
	for _, c := range b.Control {
		v.Control = append(v.Control, control(c))
	}
	return v
}

// Value returns the setting as it stands in the plan file.
func (t TerrainFile) Value() any {
	return struct {
		File string `json:"file"`
		CRS  string `json:"crs,omitempty"`
		Unit string `json:"unit,omitempty"`
	}{t.File, t.CRS, t.Unit}
}

// Posture is a target: its height and the fraction of it that must be seen.
type Posture struct {
	Name       string
	Height     float64 // metres
	MinVisible float64 // fraction of Height
}

// Settings are everything the member "pleach" says, with defaults filled in.
type Settings struct {
	Title, Reference, Customer, Designer, Revision, Date string

	TimeZone string         // IANA name, "" where none is stated
	Clock    *time.Location // that of TimeZone, nil where none is stated

	BaseMap  *BaseMap
	Terrain  *TerrainFile
	Models   []SensorModel // the plan's own
	Target   Posture
	Postures []Posture

	CrossingDepth float64 // metres
	MinPath       float64 // metres

	OverspillMinVisible float64 // fraction
	VehicleHeight       float64 // metres
	VehicleRangeFactor  float64

	Frequency       float64 // MHz
	Polarisation    string  // "V" or "H"
	EffectiveRadius float64 // kilometres
	ShadowingSD     *float64
	Reliability     float64
	RequiredMargin  *float64
	MaxHops         int
	Traffic         Traffic
	Rules           *spectrum.Rules // what radio devices are held against, nil where none is stated
	Calibration     Calibration

	Addresses Addresses
	Spares    Spares
	Batteries Batteries

	Declination   float64 // degrees, east positive
	DeclinationOn string

	NationalGrid string // EPSG code or well-known text of the grid places are also given in, "" where none is stated

	WayIn    WayIn
	Response Response

	Accepted []Accepted

	Quotation Quotation
	Visit     Visit
	Contacts  []Contact
	Duties    []Duty
	Revisions []Revision
}

// Traffic is what the rules and the storm of alarms are reckoned with.
type Traffic struct {
	Message     float64  // seconds one transmission lasts
	Copies      int      // transmissions of a message by each device on its way
	Bandwidth   *float64 // kHz, nil where it is not stated
	StormAlarms int      // sensors that alarm at once
	StormWindow float64  // seconds within which they do
}

// Calibration is whether and how links are corrected by the readings of the plan.
type Calibration struct {
	Use       bool     // every link is rated anew; else the readings are told and nothing follows
	Saturated *float64 // dBm, readings above it are set aside; nil for calibration.Options' default
	Limit     *float64 // dB above the sensitivity under which readings are set aside; nil as above
	Least     int      // readings a class needs for a correction of its own; 0 as above
}

// WayIn is what the least-detected way to an asset is reckoned with: a sensor
// detects one crossing of Width metres of its footprint with Probability. That
// is assumed, not established.
type WayIn struct {
	Probability float64
	Width       float64 // metres
}

// Response is what response in time is reckoned with.
type Response struct {
	Time          *float64 // seconds from the alarm until someone stands in the intruder's way; nil: not stated, nothing is reckoned
	SDShare       float64  // standard deviation of every time, as a share of it
	Communication float64  // probability that an alarm is passed on and believed
	Speed         float64  // of the intruder on foot, metres a second
	Task          float64  // seconds of work at the asset, a door for instance
}

// Accepted is a finding someone has accepted.
type Accepted struct {
	Rule     string
	Subject  []string
	From, To *float64 // metres of chainage, for findings of a stretch
	Posture  string   // holds for this posture alone; "" for any
	Reason   string
	By, At   string
}

// Setting describes one member of the plan's settings: where it stands, its
// limits, its default.
type Setting struct {
	Path string // "radio.frequency_mhz"
	Property
}

// SettingsTable lists the settings with a number, a text or a choice, in the
// order of the contract. A default that is marked Chosen is judgement, not a
// standard.
var SettingsTable = []Setting{
	{"title", text("title", "Title")},
	{"reference", text("reference", "Reference")},
	{"customer", text("customer", "Customer")},
	{"designer", text("designer", "Designer")},
	{"revision", text("revision", "Revision")},
	{"date", text("date", "Date")},
	{"time_zone", text("time_zone", "Time zone").help("IANA name such as Europe/London, for the hours of low sun and of low contrast; local mean solar time unless stated")},
	{"target.height_m", num("height_m", "Height of the target", "m", 0, 200).above().def(1.7).chosen()},
	{"target.min_visible", num("min_visible", "Part of the target that must be seen", "", 0, 1).above().def(0.5).chosen()},
	{"crossing.depth_m", num("depth_m", "Depth of the crossing line", "m", 0, 100).above().def(10.0).chosen()},
	{"crossing.min_path_m", num("min_path_m", "Least path inside the pattern", "m", 0, 20).above().def(0.5).chosen()},
	{"overspill.min_visible", num("min_visible", "Part of a target that counts as overspill", "", 0, 1).above().def(0.1).chosen()},
	{"overspill.vehicle_height_m", num("vehicle_height_m", "Height of a vehicle", "m", 0, 200).above().def(4.0).chosen()},
	{"overspill.vehicle_range_factor", num("vehicle_range_factor", "Reach for a vehicle, times", "", 1, 10).def(3.0).chosen()},
	{"radio.frequency_mhz", num("frequency_mhz", "Frequency", "MHz", 30, 6000).def(868.3)},
	{"radio.polarisation", choice("polarisation", "Polarisation", "V", "H").def("V")},
	{"radio.effective_radius_km", num("effective_radius_km", "Effective Earth radius", "km", 0, 1e6).above().def(8500.0)},
	{"radio.shadowing_sd_db", num("shadowing_sd_db", "Shadowing, standard deviation", "dB", 0, 40).above().chosen().help("6 dB in the open, 8 dB where an obstacle cuts 0.6 of the first Fresnel zone or the line runs through foliage, unless stated")},
	{"radio.reliability", num("reliability", "Reliability", "", 0.5, 0.9999).def(0.99).chosen()},
	{"radio.required_margin_db", num("required_margin_db", "Required margin", "dB", -50, 100).help("what shadowing and reliability ask for, unless stated")},
	{"radio.max_hops", Property{Name: "max_hops", Label: "Links in a route, at most", Type: Whole, Min: 1, Max: 8, Bounded: true, Default: 3.0, Chosen: true}},
	{"radio.message_s", num("message_s", "Length of a message on the air", "s", 0, 10).above().def(0.05).chosen().help("for the radio rules and a storm of alarms")},
	{"radio.copies", Property{Name: "copies", Label: "Times a message is sent", Type: Whole, Min: 1, Max: 20, Bounded: true, Default: 1.0, Chosen: true, Help: "by each device on its way"}},
	{"radio.bandwidth_khz", num("bandwidth_khz", "Bandwidth", "kHz", 0, 10000).above().help("not held against the radio rules unless stated")},
	{"radio.storm_alarms", Property{Name: "storm_alarms", Label: "Sensors that alarm in a storm", Type: Whole, Min: 1, Max: 10000, Bounded: true, Default: 10.0, Chosen: true}},
	{"radio.storm_s", num("storm_s", "Time in which they do", "s", 0, 3600).above().def(5.0).chosen()},
	{"addresses.switches", Property{Name: "switches", Label: "Switches that set an address", Type: Whole, Min: 1, Max: 16, Bounded: true, Default: 8.0, Chosen: true}},
	{"addresses.order", choice("order", "Bit that switch 1 sets", HighestFirst, LowestFirst).def(HighestFirst).chosen()},
	{"addresses.base", Property{Name: "base", Label: "Address with all switches off", Type: Whole, Min: 0, Max: 65535, Bounded: true, Default: 0.0, Chosen: true}},
	{"addresses.reserved", text("reserved", "Addresses kept for other equipment").help("addresses and ranges, such as 0, 240-255")},
	{"north.declination_deg", num("declination_deg", "Magnetic declination", "°", -180, 180).def(0.0).help("east positive, as the user states it")},
	{"north.on", text("on", "Declination on")},
	{"national_grid.crs", text("crs", "National grid").help("code of the grid in which places are also given on paper, such as EPSG:27700; UTM unless stated")},
	{"way_in.probability", num("probability", "Detection of one crossing, assumed", "", 0.01, 0.9999).def(0.9).chosen().help("of a crossing as deep as the next figure, in the footprint of one sensor")},
	{"way_in.width_m", num("width_m", "Depth of that crossing", "m", 0.1, 1000).def(10.0).chosen()},
	{"response.time_s", num("time_s", "Response time", "s", 0, 86400).above().help("from the alarm until someone stands in the intruder's way; without it no response in time is reckoned")},
	{"response.sd_share", num("sd_share", "Spread of every time, as a share", "", 0, 1).def(0.3).chosen().help("standard deviation of response, walking and delays")},
	{"response.communication", num("communication", "Probability that an alarm is passed on", "", 0, 1).def(0.95).chosen()},
	{"response.speed_m_s", num("speed_m_s", "Speed of the intruder", "m/s", 0, 10).above().def(3.0).chosen()},
	{"response.task_s", num("task_s", "Work at the asset", "s", 0, 86400).def(0.0).chosen().help("a door to be opened, a lock to be cut")},
	{"quotation.reference", text("reference", "Quotation").help("its number, on the sheet for the customer")},
	{"quotation.valid_until", day("valid_until", "Valid until")},
	{"visit.hours", text("hours", "Hours of the site").help("when someone is there, when work may be done")},
	{"visit.keys", text("keys", "Keys and codes").help("who holds them; no code that must stay secret")},
	{"visit.parking", text("parking", "Where to park")},
	{"visit.hospital", text("hospital", "Nearest hospital").help("with emergency admission, and its address")},
	{"spares.share", num("share", "Spares, as a share", "", 0, 1).def(0.05).chosen().help("of the number of each kind of device and battery, rounded up")},
	{"spares.least", Property{Name: "least", Label: "Spares of each kind, at least", Type: Whole, Min: 0, Max: 100, Bounded: true, Default: 1.0, Chosen: true}},
	{"batteries.usable", num("usable", "Part of a battery that serves", "", 0, 1).above().def(0.7).chosen().help("what cold and the end of its life leave of the nominal capacity")},
	{"batteries.most_years", num("most_years", "Years after which any battery is changed", "", 0, 40).above().def(10.0).chosen()},
}

// ForSheets reports whether the setting at path serves the printed sheets alone.
func ForSheets(path string) bool {
	group, _, _ := strings.Cut(path, ".")
	return group == "quotation" || group == "visit" || group == "spares" || group == "batteries"
}

// SettingInfo returns the description of a setting by its path.
func SettingInfo(path string) Setting {
	for _, s := range SettingsTable {
		if s.Path == path {
			return s
		}
	}
	panic("no setting " + path)
}

// Stated reports whether the plan itself states the setting at path, such as
// "radio.max_hops": the default holds for one it does not.
func (p *Plan) Stated(path string) bool {
	o := p.pleach
	for {
		head, tail, deeper := strings.Cut(path, ".")
		raw, ok := o.Get(head)
		if !ok || !deeper {
			return ok
		}
		var err error
		if o, err = ParseObject(raw); err != nil {
			return false
		}
		path = tail
	}
}

// DefaultPosture is the further target analysed where a plan states none:
// chosen, a person crawling.
var DefaultPosture = Posture{Name: "crawl", Height: 0.35}

// readSettings decodes the member "pleach".
func readSettings(o Object, flaws *[]Flaw) (s Settings) {
	r := reader{o: o, who: "plan", where: "pleach.", flaws: flaws}
	p := func(path string) Property { return SettingInfo(path).Property }
	s.Title, s.Reference, s.Customer = r.text("title", false), r.text("reference", false), r.text("customer", false)
	s.Designer, s.Revision, s.Date = r.text("designer", false), r.label("revision"), r.text("date", false)
	s.TimeZone, s.Clock = r.timeZone("time_zone")

	if b, ok := r.sub("base_map"); ok {
		s.BaseMap = &BaseMap{File: b.text("file", true), CRS: b.text("crs", false)}
		points, _ := b.list("control")
		for i, c := range points {
			var v struct{ Pixel, At []float64 }
			if json.Unmarshal(encode(c.o.raw()), &v) != nil || len(v.Pixel) != 2 || len(v.At) != 2 || v.At[1] < -84 || v.At[1] > 84 || v.At[0] < -180 || v.At[0] > 180 {
				b.flaw("control", "%d is not {\"pixel\": [column, row], \"at\": [longitude, latitude]}", i)
				continue
			}
			s.BaseMap.Control = append(s.BaseMap.Control, Control{orb.Point{v.Pixel[0], v.Pixel[1]}, orb.Point{v.At[0], v.At[1]}})
		}
		if n := len(s.BaseMap.Control); n == 1 {
			b.flaw("control", "has 1 point: give at least 2")
		}
	}
	if t, ok := r.sub("terrain"); ok {
		s.Terrain = &TerrainFile{File: t.text("file", true), CRS: t.text("crs", false), Unit: t.choice("unit", "", []string{"m", "ft"})}
	}
	models, _ := r.list("models")
	for _, m := range models {
		s.Models = append(s.Models, m.model())
	}
	t, _ := r.sub("target")
	s.Target = Posture{Name: "target", Height: t.number(p("target.height_m")), MinVisible: t.number(p("target.min_visible"))}
	if list, ok := r.list("postures"); ok {
		for _, q := range list {
			height, seen := p("target.height_m"), p("target.min_visible")
			height.Required, height.Default = true, nil
			seen.Default = s.Target.MinVisible
			s.Postures = append(s.Postures, Posture{Name: q.text("name", true), Height: q.number(height), MinVisible: q.number(seen)})
		}
	} else {
		d := DefaultPosture
		d.MinVisible = s.Target.MinVisible
		s.Postures = []Posture{d}
	}
	c, _ := r.sub("crossing")
	s.CrossingDepth, s.MinPath = c.number(p("crossing.depth_m")), c.number(p("crossing.min_path_m"))
	o2, _ := r.sub("overspill")
	s.OverspillMinVisible = o2.number(p("overspill.min_visible"))
	s.VehicleHeight = o2.number(p("overspill.vehicle_height_m"))
	s.VehicleRangeFactor = o2.number(p("overspill.vehicle_range_factor"))
	q, _ := r.sub("radio")
	s.Frequency, s.EffectiveRadius = q.number(p("radio.frequency_mhz")), q.number(p("radio.effective_radius_km"))
	s.Polarisation = q.choice("polarisation", "V", []string{"V", "H"})
	s.ShadowingSD, s.RequiredMargin = q.maybe(p("radio.shadowing_sd_db")), q.maybe(p("radio.required_margin_db"))
	s.Reliability, s.MaxHops = q.number(p("radio.reliability")), int(q.number(p("radio.max_hops")))
	s.Traffic = Traffic{Message: q.number(p("radio.message_s")), Copies: int(q.number(p("radio.copies"))), Bandwidth: q.maybe(p("radio.bandwidth_khz")),
		StormAlarms: int(q.number(p("radio.storm_alarms"))), StormWindow: q.number(p("radio.storm_s"))}
	if 2*s.Traffic.Message > s.Traffic.StormWindow {
		q.flaw("storm_s", "%s is not at least twice message_s, %s", short(s.Traffic.StormWindow), short(s.Traffic.Message))
	}
	s.Rules, s.Calibration = q.rules(), q.calibration()
	set, _ := r.sub("addresses")
	s.Addresses = Addresses{Switches: int(set.number(p("addresses.switches"))), Order: set.choice("order", HighestFirst, []string{HighestFirst, LowestFirst}), Base: int(set.number(p("addresses.base")))}
	reserved, err := ParseAddresses(set.label("reserved"))
	if err != nil {
		set.flaw("reserved", "%v", err)
	}
	s.Addresses.Reserved = reserved
	spares, _ := r.sub("spares")
	s.Spares = Spares{spares.number(p("spares.share")), int(spares.number(p("spares.least")))}
	cells, _ := r.sub("batteries")
	s.Batteries = Batteries{cells.number(p("batteries.usable")), cells.number(p("batteries.most_years"))}
	n, _ := r.sub("north")
	s.Declination, s.DeclinationOn = n.number(p("north.declination_deg")), n.text("on", false)
	nat, _ := r.sub("national_grid")
	s.NationalGrid = nat.text("crs", false)
	way, _ := r.sub("way_in")
	s.WayIn = WayIn{way.number(p("way_in.probability")), way.number(p("way_in.width_m"))}
	resp, _ := r.sub("response")
	s.Response = Response{Time: resp.maybe(p("response.time_s")), SDShare: resp.number(p("response.sd_share")), Communication: resp.number(p("response.communication")),
		Speed: resp.number(p("response.speed_m_s")), Task: resp.number(p("response.task_s"))}
	accepted, _ := r.list("accepted")
	for _, a := range accepted {
		chain := Property{Type: Number}
		chain.Name = "from_m"
		from := a.maybe(chain)
		chain.Name = "to_m"
		s.Accepted = append(s.Accepted, Accepted{Rule: a.text("rule", true), Subject: a.texts("subject"), From: from, To: a.maybe(chain),
			Posture: a.text("posture", false), Reason: a.text("reason", false), By: a.text("by", false), At: a.text("at", false)})
	}
	r.records(&s)
	return s
}

// rules returns the radio rules: a built-in rule set by its name, or one written out.
func (r reader) rules() *spectrum.Rules {
	raw, ok := r.o.Get("rules")
	if !ok || string(raw) == "null" {
		return nil
	}
	var name string
	if json.Unmarshal(raw, &name) == nil {
		rules, known := spectrum.Named(name)
		if !known {
			var names []string
			for _, b := range spectrum.Builtin() {
				names = append(names, b.ID)
			}
			r.flaw("rules", "%s is no rule set: it must be one of %s, or a rule set written out", brief(raw), strings.Join(names, ", "))
			return nil
		}
		return &rules
	}
	rules, err := spectrum.Parse(raw)
	if err != nil {
		for _, line := range strings.Split(err.Error(), "\n") {
			r.flaw("rules", "%s", strings.TrimPrefix(line, "rules: "))
		}
		return nil
	}
	return &rules
}

var (
	calSaturated = num("saturated_dbm", "Saturated above", "dBm", -200, 50)
	calLimit     = num("limit_db", "Set aside under", "dB", 0, 50)
	calLeast     = Property{Name: "least", Label: "Readings of a class, at least", Type: Whole, Min: 2, Max: 1000, Bounded: true}
)

// calibration returns how links are corrected: true, false, or an object.
func (r reader) calibration() (c Calibration) {
	raw, ok := r.o.Get("calibration")
	if !ok || string(raw) == "null" || json.Unmarshal(raw, &c.Use) == nil {
		return c
	}
	if len(raw) == 0 || raw[0] != '{' {
		r.flaw("calibration", "%s is not true, false or an object", brief(raw))
		return c
	}
	o, _ := r.sub("calibration")
	c = Calibration{Use: o.flag("use", false), Saturated: o.maybe(calSaturated), Limit: o.maybe(calLimit), Least: int(o.number(calLeast))}
	return c
}

// TimeZone returns the time zone of an IANA name. The error says what is allowed.
func TimeZone(name string) (*time.Location, error) {
	zone, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" { // that of the machine at hand
		return nil, fmt.Errorf("%q is not a time zone: it must be an IANA name such as Europe/London, America/Denver or UTC", name)
	}
	return zone, nil
}

// timeZone returns the time zone called name, nil where it is absent.
func (r reader) timeZone(name string) (string, *time.Location) {
	text := r.text(name, false)
	if text == "" {
		return "", nil
	}
	zone, err := TimeZone(text)
	if err != nil {
		r.flaw(name, "%v", err)
		return "", nil
	}
	return text, zone
}

// raw returns the object as raw JSON.
func (o Object) raw() json.RawMessage { return o.AppendJSON(nil) }

var (
	lobeAzimuth = Property{Name: "azimuth_deg", Label: "Azimuth", Type: Number, Unit: "°", Default: 0.0}
	lobeWidth   = num("width_deg", "Width", "°", 0, 360).above().required()
	lobeUp      = num("up_deg", "Up", "°", -90, 90).required()
	lobeDown    = num("down_deg", "Down", "°", -90, 90).required()
	lobeRange   = num("range_m", "Reach", "m", 0, 500).above().required()
	mountMin    = num("mount_min_m", "Least mount height", "m", 0, 60)
	zoneWidth   = num("zone_width_deg", "Width of a zone", "°", 0, 90).above()
	zoneHeight  = num("zone_height_deg", "Height of a zone", "°", 0, 90).above()
	zonePeriod  = num("zone_period_deg", "From zone to zone", "°", 0, 180).above()
	lowHz       = num("low_hz", "Lower corner", "Hz", 0, 1000).above()
	highHz      = num("high_hz", "Upper corner", "Hz", 0, 1000).above()
	mountMax    = num("mount_max_m", "Greatest mount height", "m", 0, 60)
)

// model decodes a sensor model.
func (r reader) model() SensorModel {
	m := SensorModel{raw: r.o, ID: r.text("id", true), Name: r.text("name", false)}
	if m.ID != "" {
		r.who = "sensor model " + m.ID
		r.where = ""
	}
	m.MountMin, m.MountMax = r.number(mountMin), r.number(mountMax)
	if m.MountMax == 0 {
		m.MountMax = mountMax.Max
	}
	m.Radio, m.Supply = r.radio(), r.supply()
	o, _ := r.sub("optics")
	m.Optics = Optics{o.maybe(zoneWidth), o.maybe(zoneHeight), o.maybe(zonePeriod), o.maybe(lowHz), o.maybe(highHz)}
	if x := m.Optics; x.LowHz != nil && x.HighHz != nil && *x.LowHz >= *x.HighHz {
		o.flaw("low_hz", "%s is not below high_hz, %s", short(*x.LowHz), short(*x.HighHz))
	}
	lobes, _ := r.list("lobes")
	for _, l := range lobes {
		lobe := Lobe{l.number(lobeAzimuth), l.number(lobeWidth), l.number(lobeUp), l.number(lobeDown), l.number(lobeRange)}
		if lobe.Up+lobe.Down <= 0 {
			l.flaw("up_deg", "%s and down_deg %s leave no height: their sum must be above 0", short(lobe.Up), short(lobe.Down))
		}
		m.Lobes = append(m.Lobes, lobe)
	}
	if len(m.Lobes) == 0 {
		r.flaw("lobes", "is missing or empty: a sensor model needs at least one lobe")
	}
	return m
}

// JSON returns the model as JSON, as the file spells it.
func (m SensorModel) JSON() json.RawMessage { return m.raw.raw() }
