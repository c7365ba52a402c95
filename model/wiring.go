package model

import (
	"encoding/json"
	"fmt"
	"slices"
)

// Wiring is which sensors are in each zone and which outputs a zone leads to,
// from either end.
type Wiring struct {
	Zones   []WiredZone   // those of the sensors in file order, then those that outputs alone name
	Outputs []WiredOutput // of all receivers, in file order
	Loose   []string      // ids of the sensors in no zone
}

// A WiredZone is a zone with what is in it and what it leads to.
type WiredZone struct {
	Name    string
	Sensors []string // ids
	Outputs []int    // places in Wiring.Outputs
}

// A WiredOutput is an output of a receiver with what leads to it.
type WiredOutput struct {
	Receiver string // id
	Output
	Sensors []string // ids of those in its zone
	Rivals  []string // other zones that lead to the same output: same receiver, type and number
}

// Wiring returns the wiring of the plan's sound sensors and receivers. Outputs
// without a number are never the same.
func (p *Plan) Wiring() (w Wiring) {
	zone := func(name string) *WiredZone {
		for i := range w.Zones {
			if w.Zones[i].Name == name {
				return &w.Zones[i]
			}
		}
		w.Zones = append(w.Zones, WiredZone{Name: name})
		return &w.Zones[len(w.Zones)-1]
	}
	for _, f := range p.Of(KindSensor) {
		name := f.Value.(*Sensor).Zone
		if name == "" {
			w.Loose = append(w.Loose, f.ID)
			continue
		}
		z := zone(name)
		z.Sensors = append(z.Sensors, f.ID)
	}
	for _, f := range p.Of(KindReceiver) {
		for _, o := range f.Value.(*Receiver).Outputs {
			out := WiredOutput{Receiver: f.ID, Output: o}
			if o.Zone != "" {
				z := zone(o.Zone)
				z.Outputs = append(z.Outputs, len(w.Outputs))
				out.Sensors = z.Sensors
			}
			w.Outputs = append(w.Outputs, out)
		}
	}
	for i := range w.Outputs {
		o := &w.Outputs[i]
		for _, x := range w.Outputs {
			if o.Number != "" && x.Number == o.Number && x.Type == o.Type && x.Receiver == o.Receiver && x.Zone != o.Zone && !slices.Contains(o.Rivals, x.Zone) {
				o.Rivals = append(o.Rivals, x.Zone)
			}
		}
	}
	return w
}

// Words says what an output is: "relay 3, input 12, camera preset 4".
func (o Output) Words() string {
	s := o.TypeWord()
	if s == "" {
		s = "output"
	}
	if o.Number != "" {
		s += " " + o.Number
	}
	if o.Input != "" {
		s += ", input " + o.Input
	}
	if o.Preset != "" {
		s += ", camera preset " + o.Preset
	}
	return s
}

// TypeWord writes the type of an output as it is read: "relay", "serial", "IP".
func (o Output) TypeWord() string {
	if o.Type == "ip" {
		return "IP"
	}
	return o.Type
}

// OutputTypes are the types an output may have.
var OutputTypes = []string{"relay", "serial", "ip"}

// SetOutput changes one property of an output of a receiver, or adds an output where
// Index is the number of them. An output that says nothing any more is taken away;
// what the program does not know in it is kept.
type SetOutput struct {
	Receiver string // id
	Index    int
	Property string // zone, type, number, input or preset
	Value    any    // nil takes the property away
}

// Label names the step.
func (e SetOutput) Label() string {
	if e.Value == nil {
		return "change an output of " + e.Receiver
	}
	return fmt.Sprintf("set output %d of %s", e.Index+1, e.Receiver)
}

// Apply changes the output. An index beyond the end of the list is an error.
func (e SetOutput) Apply(p *Plan) (*Plan, error) {
	f := p.Feature(e.Receiver)
	if f == nil || f.Kind != KindReceiver {
		return nil, fmt.Errorf("%s: there is no receiver %s", e.Label(), e.Receiver)
	}
	var entries []json.RawMessage
	if raw, ok := f.Property("outputs"); ok {
		if err := json.Unmarshal(raw, &entries); err != nil {
			return nil, fmt.Errorf("%s: outputs is not a list", e.Label())
		}
	}
	list, err := setEntry(entries, e.Index, e.Property, e.Value)
	if err != nil {
		return nil, fmt.Errorf("%s: outputs %w", e.Label(), err)
	}
	var v any
	if list != nil {
		v = list
	}
	return p.replace(e.Label(), e.Receiver, func(f *Feature) *Feature { return f.WithProperty("outputs", v) })
}
