package paper

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"pleach/model"
	"pleach/model/address"
)

var addressColumns = []column{
	{head: "Address", right: true},
	{head: "Switches"},
	{head: "Device"},
	{head: "Name", give: 2},
	{head: "Kind"},
	{head: "Zone", give: 1},
	{head: "Outputs of the zone", give: 3},
	{head: "To be checked", give: 3},
}

var outputColumns = []column{
	{head: "Receiver"},
	{head: "Output"},
	{head: "Number", give: 1},
	{head: "Input", give: 1},
	{head: "Camera preset", give: 1},
	{head: "Zone", give: 1},
	{head: "Sensors", give: 4},
	{head: "To be checked", give: 3},
}

// addressSheets lists addresses with their zones and outputs, and outputs with
// their zones and sensors: the same table from either end.
func (s *sheet) addressSheets(title string) ([]leaf, error) {
	f := s.flow(title, true)
	a := s.in.Plan.Settings.Addresses
	order := "highest"
	if a.Order == model.LowestFirst {
		order = "lowest"
	}
	low, high := a.Range()
	how := fmt.Sprintf("On %s, read from switch 1, which is the %s bit; 1 is on. All switches off is address %d, all on is %d.", count(a.Switches, "switch"), order, low, high)
	if a.Reserved != nil {
		how += " Kept for other equipment: " + a.ReservedText() + "."
	}
	f.add(section{"How an address is set", prose{s.look, []string{how}}})
	in, out := s.addressRows(), s.outputRows()
	f.add(schedule{look: s.look, heading: "From the device to the output", columns: addressColumns, rows: in, to: len(in), lines: 8},
		schedule{look: s.look, heading: "From the output back to the devices", columns: outputColumns, rows: out, to: len(out), lines: 12})
	if len(in) == 0 {
		f.add(section{"Devices", prose{s.look, []string{"The plan has no device with an address."}}})
	}
	return f.leaves, nil
}

// addressRows are the devices in order of their addresses, those without last.
func (s *sheet) addressRows() []row {
	p := s.in.Plan
	set := p.Settings.Addresses
	type device struct {
		f       *model.Feature
		address *int
		zone    string
	}
	var all []device
	used := map[int]int{}
	w := p.Wiring()
	for _, f := range p.Of(model.KindSensor, model.KindRepeater) {
		d := device{f: f}
		switch v := f.Value.(type) {
		case *model.Sensor:
			d.address, d.zone = v.Address, v.Zone
		case *model.Repeater:
			d.address = v.Address
		}
		if d.address != nil {
			used[*d.address]++
		}
		all = append(all, d)
	}
	key := func(d device) int {
		if d.address == nil {
			return math.MaxInt
		}
		return *d.address
	}
	slices.SortStableFunc(all, func(a, b device) int { return cmp.Compare(key(a), key(b)) })
	var rows []row
	for _, d := range all {
		cells := []string{none, none, clean(d.f.ID), stated(d.f.Name), string(d.f.Kind), stated(d.zone), none, ""}
		if d.f.Name == d.f.ID {
			cells[3] = none
		}
		var check []string
		if d.address == nil {
			check = append(check, "no address")
		} else {
			cells[0] = fmt.Sprint(*d.address)
			if used[*d.address] > 1 {
				check = append(check, "address used more than once")
			}
			if on, ok := address.Switches(*d.address, set); ok {
				cells[1] = address.Digits(on)
			} else {
				check = append(check, "address beyond the switches")
			}
			if set.IsReserved(*d.address) {
				check = append(check, "address kept for other equipment")
			}
		}
		if d.f.Kind == model.KindSensor {
			var outs []string
			for _, o := range w.Outputs {
				if d.zone != "" && o.Zone == d.zone {
					outs = append(outs, o.Receiver+" "+o.Words())
				}
			}
			switch {
			case d.zone == "":
				check = append(check, "no zone")
			case outs == nil:
				check = append(check, "its zone has no output")
			default:
				cells[6] = clean(strings.Join(outs, "; "))
			}
		}
		cells[7] = capital(strings.Join(check, "; "))
		rows = append(rows, row{cells: cells, strong: check != nil})
	}
	return rows
}

// outputRows are the receivers' outputs with what leads to them.
func (s *sheet) outputRows() (rows []row) {
	for _, o := range s.in.Plan.Wiring().Outputs {
		var check []string
		switch {
		case o.Zone == "":
			check = append(check, "no zone leads to it")
		case o.Sensors == nil:
			check = append(check, "no sensor is in this zone")
		}
		if o.Rivals != nil {
			check = append(check, "zone "+clean(strings.Join(o.Rivals, ", "))+" leads to it too")
		}
		rows = append(rows, row{cells: []string{clean(o.Receiver), stated(o.TypeWord()), stated(o.Number), stated(o.Input), stated(o.Preset), stated(o.Zone),
			stated(strings.Join(o.Sensors, ", ")), capital(strings.Join(check, "; "))}, strong: check != nil})
	}
	return rows
}
