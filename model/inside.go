package model

import (
	"encoding/json"
	"fmt"

	"pleach/model/spectrum"
)

// What forms show of the objects inside a plan: the limits that reading holds them
// to, in the order of the contract.
var (
	// RadioProperties are the figures of a radio. A sensitivity of null is that of a
	// device that only transmits.
	RadioProperties = []Property{erpProp, sensitivityProp, gainProp, feederProp, installationProp}
	// TermProperties are those of one of a radio's installation_terms.
	TermProperties = []Property{text("what", "What").required().help("what the device loses by how it is installed, in both directions"), termProp}
	// SupplyProperties are those of the supply of a sensor model or a repeater.
	SupplyProperties = []Property{supplyCapacity, supplyCell, supplySleep, supplyMessage, supplyEvents, supplyInterval, supplyDischarge}
	// ModelProperties are those of a sensor model that are neither its id nor an object.
	ModelProperties = []Property{nameProp, mountMin, mountMax}
	// LobeProperties are those of a lobe.
	LobeProperties = []Property{lobeAzimuth, lobeWidth, lobeUp, lobeDown, lobeRange}
	// OpticsProperties are those of a sensor model's optics.
	OpticsProperties = []Property{zoneWidth, zoneHeight, zonePeriod, lowHz, highHz}
	// CalibrationProperties are the figures of radio.calibration.
	CalibrationProperties = []Property{calSaturated, calLimit, calLeast}
	// RulesProperties are those of a set of radio rules that is written out, its
	// bands aside.
	RulesProperties = []Property{text("id", "Id").required(), text("name", "Name").required(), text("country", "Country").required(),
		text("date", "Date").required().help("when the figures were taken down: year, month"), text("source", "Source").required()}
	// BandProperties are those of a band of radio rules.
	BandProperties = []Property{
		num("from_mhz", "From", "MHz", 30, 6000).required(),
		num("to_mhz", "To", "MHz", 30, 6000).required().help("not below its beginning"),
		other("except", "Except", "stretches in MHz that are left out, such as 868.6-868.7, 869.2-869.4"),
		num("max_erp_dbm", "Greatest power", "dBm", -50, 60).help("effective radiated; does not hold where a field is stated"),
		other("field_uv_m", "Field at 3 m", "in µV/m, at both ends of the band and on a straight line between, such as 3750, 12500; in place of the power"),
		num("duty", "Duty cycle", "", 0, 1).help("greatest share of an hour on the air; none is no limit"),
		num("supervision_s_per_hour", "Supervision an hour", "s", 0, 3600).help("of messages that are no alarm; none is no limit"),
		num("longest_s", "Longest message", "s", 0, 3600).help("none is no limit"),
		num("max_bandwidth_khz", "Greatest bandwidth", "kHz", 0, 1e6).help("none is no limit"),
		choice("use", "For", spectrum.Any, spectrum.Alarms, spectrum.SocialAlarms, spectrum.Hopping, spectrum.Wide).required(),
		text("condition", "Condition").help("what else is asked, in words"),
		flag("from_memory", "From memory").help("at least one figure is, and has to be looked up"),
		text("source", "Source"),
	}
)

// What is reckoned with where a supply states no such figure. Chosen: a message of
// supervision an hour, and 50 alarms a day. A repeater has no alarms of its own.
const (
	SupposedSupervision = 3600.0 // seconds from one message that is no alarm to the next
	SupposedEvents      = 50.0   // alarms of a sensor on a busy day
)

// Supposed returns what is reckoned with where a device of kind k or its model
// states no such figure of its supply; ok is false where nothing is.
func Supposed(k Kind, supply string) (v float64, ok bool) {
	switch {
	case supply == "supervision_s":
		return SupposedSupervision, true
	case supply == "events_per_day" && k == KindSensor:
		return SupposedEvents, true
	case supply == "events_per_day", supply == "self_discharge_per_year":
		return 0, true
	}
	return 0, false
}

// Term is an installation term as it is written into a plan.
type Term struct {
	What string  `json:"what"`
	DB   float64 `json:"db"`
}

// ModelIndex returns the place of the plan's own sensor model called id in the
// member "models"; ok is false where the plan has none of its own of that id.
func (p *Plan) ModelIndex(id string) (i int, ok bool) {
	for n, raw := range p.entries("models") {
		o, err := ParseObject(raw)
		if err != nil {
			continue
		}
		var its string
		if v, has := o.Get("id"); has && json.Unmarshal(v, &its) == nil && its == id {
			i, ok = n, true // of two with one id the last holds
		}
	}
	return i, ok
}

// CopyModel adds a copy of a sensor model, built-in or the plan's own, to the
// plan's own under another id.
type CopyModel struct{ From, To string }

// Label names the step.
func (e CopyModel) Label() string { return "copy sensor model " + e.From }

// Apply copies the model. An id that is taken, and one that is empty, is an error.
func (e CopyModel) Apply(p *Plan) (*Plan, error) {
	m, ok := p.Model(e.From)
	if !ok {
		return nil, fmt.Errorf("%s: there is no such model", e.Label())
	}
	if err := p.freeModelID(e.To); err != nil {
		return nil, fmt.Errorf("%s: %w", e.Label(), err)
	}
	o := m.raw.With("id", encode(e.To))
	if m.Name != "" {
		o = o.With("name", encode(m.Name+" (copy)"))
	}
	return Change{Path: fmt.Sprintf("models.%d", p.Entries("models")), Value: o.raw()}.Apply(p)
}

func (p *Plan) freeModelID(id string) error {
	if id == "" {
		return fmt.Errorf("a sensor model needs an id")
	}
	if _, taken := p.Model(id); taken {
		return fmt.Errorf("the id %s is that of another sensor model", id)
	}
	return nil
}

// NewModelID returns a free id for a copy of the sensor model called from.
func (p *Plan) NewModelID(from string) string {
	for n := 2; ; n++ {
		id := fmt.Sprintf("%s-copy", from)
		if n > 2 {
			id = fmt.Sprintf("%s-copy-%d", from, n-1)
		}
		if _, taken := p.Model(id); !taken {
			return id
		}
	}
}

// RenameModel gives one of the plan's own sensor models another id, and to the
// sensors that are of it.
type RenameModel struct{ From, To string }

// Label names the step.
func (e RenameModel) Label() string { return "rename sensor model " + e.From }

// Apply renames the model. An id that is taken, and one that is empty, is an error.
func (e RenameModel) Apply(p *Plan) (*Plan, error) {
	i, ok := p.ModelIndex(e.From)
	if !ok {
		return nil, fmt.Errorf("%s: the plan has no such model of its own", e.Label())
	}
	if err := p.freeModelID(e.To); err != nil {
		return nil, fmt.Errorf("%s: %w", e.Label(), err)
	}
	steps := []Edit{Change{Path: fmt.Sprintf("models.%d.id", i), Value: e.To}}
	for _, id := range p.SensorsOf(e.From) {
		steps = append(steps, Set{ID: id, Values: []Value{{"model", e.To}}})
	}
	return Together{Name: e.Label(), Edits: steps}.Apply(p)
}

// SensorsOf returns the ids of the sensors of a model, in file order.
func (p *Plan) SensorsOf(model string) (ids []string) {
	for _, f := range p.Features {
		if f.Kind != KindSensor {
			continue
		}
		var its string
		if raw, ok := f.Property("model"); ok && json.Unmarshal(raw, &its) == nil && its == model && f.ID != "" {
			ids = append(ids, f.ID)
		}
	}
	return ids
}
