package analysis

import (
	"fmt"
	"slices"
	"strings"

	"pleach/model"
)

// ruleAddress: sensors and repeaters share one space of addresses.
func ruleAddress(r *Result) []model.Finding {
	var told []model.Finding
	if r.since.known() {
		told = r.since.addresses
	}
	if r.since.sameBut(r.Plan, func(old, now *model.Feature) bool {
		a, addressed := addressOf(old)
		b, _ := addressOf(now)
		return !addressed || (a == b || a != nil && b != nil && *a == *b) && !speakOf(told, now.ID)
	}) {
		r.addresses = told
	} else {
		r.addresses = r.addressFindings()
	}
	return r.addresses
}

// speakOf reports whether any of the findings is about a feature.
func speakOf(told []model.Finding, id string) bool {
	return slices.ContainsFunc(told, func(f model.Finding) bool { return slices.Contains(f.Subject, id) })
}

// addressOf returns the address of a sensor or repeater, nil for none; ok is false
// for what has none to give.
func addressOf(f *model.Feature) (a *int, ok bool) {
	switch v := f.Value.(type) {
	case *model.Sensor:
		return v.Address, true
	case *model.Repeater:
		return v.Address, true
	}
	return nil, false
}

// addressFindings says which addresses are of several devices, cannot be set on the
// switches, or are kept for other equipment, and which devices have none. What the
// switches can set is a fault to exceed where the plan states it, and a warning by
// the figures that hold unless stated.
func (r *Result) addressFindings() []model.Finding {
	set := r.Plan.Settings.Addresses
	low, high := set.Range()
	beyond := model.Warning
	if r.Plan.Stated("addresses.switches") || r.Plan.Stated("addresses.base") {
		beyond = model.Fault
	}
	var out, odd []model.Finding
	by := map[int][]string{}
	var order []int
	for _, f := range r.Plan.Of(model.KindSensor, model.KindRepeater) {
		a, _ := addressOf(f)
		if a == nil {
			out = append(out, model.Finding{Rule: "address", Severity: model.Warning, Subject: []string{f.ID}, At: point(f.Geometry),
				Text: fmt.Sprintf("%s has no address.", r.title(f.ID)), Remedy: "Give it one that no other sensor or repeater has."})
			continue
		}
		if by[*a] == nil {
			order = append(order, *a)
		}
		by[*a] = append(by[*a], f.ID)
		switch {
		case *a < low || *a > high:
			odd = append(odd, model.Finding{Rule: "address", Severity: beyond, Subject: []string{f.ID}, At: point(f.Geometry),
				Text:   fmt.Sprintf("%s has address %d; the switches can set %d to %d.", r.title(f.ID), *a, low, high),
				Remedy: "Give it one of these, or state how many switches there are (addresses.switches)."})
		case set.IsReserved(*a):
			odd = append(odd, model.Finding{Rule: "address", Severity: model.Warning, Subject: []string{f.ID}, At: point(f.Geometry),
				Text: fmt.Sprintf("%s has address %d, which is kept for other equipment.", r.title(f.ID), *a), Remedy: "Give it another one."})
		}
	}
	var dup []model.Finding
	for _, a := range order {
		if ids := by[a]; len(ids) > 1 {
			dup = append(dup, model.Finding{Rule: "address", Severity: model.Fault, Subject: ids, At: point(r.Plan.Feature(ids[0]).Geometry),
				Text: fmt.Sprintf("Address %d is that of %s.", a, r.titles(ids)), Remedy: "Give each of them an address of its own."})
		}
	}
	return slices.Concat(dup, odd, out)
}

// words lists names as they are.
func words(names []string) string { return several(names, func(s string) string { return s }) }

// ruleOutputs: zones and outputs are held against each other from both ends.
func ruleOutputs(r *Result) []model.Finding {
	var told []model.Finding
	if r.since.known() {
		told = r.since.wiring
	}
	if r.since.sameBut(r.Plan, func(old, now *model.Feature) bool {
		switch v := now.Value.(type) {
		case *model.Sensor:
			return old.Value.(*model.Sensor).Zone == v.Zone && !speakOf(told, now.ID)
		case *model.Receiver:
			return slices.Equal(old.Value.(*model.Receiver).Outputs, v.Outputs) && !speakOf(told, now.ID)
		}
		return true
	}) {
		r.wiring = told
	} else {
		r.wiring = r.outputFindings()
	}
	return r.wiring
}

func (r *Result) outputFindings() (out []model.Finding) {
	receivers := r.Plan.Of(model.KindReceiver)
	w := r.Plan.Wiring()
	if len(receivers) == 0 || len(w.Zones) == 0 {
		return nil
	}
	add := func(rule, text, remedy string, ids ...string) {
		out = append(out, model.Finding{Rule: rule, Severity: model.Warning, Subject: ids, At: point(r.Plan.Feature(ids[0]).Geometry), Text: text, Remedy: remedy})
	}
	if len(w.Outputs) == 0 {
		var names, ids []string
		for _, z := range w.Zones {
			names = append(names, z.Name)
		}
		for _, f := range receivers {
			ids = append(ids, f.ID)
		}
		zones := "Zone %s leads to no output: no receiver has any."
		if len(names) > 1 {
			zones = "Zones %s lead to no output: no receiver has any."
		}
		add("zone-without-output", fmt.Sprintf(zones, words(names)),
			"State what each zone switches, sends or shows: the outputs of the receiver.", ids...)
		return out
	}
	for _, z := range w.Zones {
		if z.Outputs == nil {
			add("zone-without-output", fmt.Sprintf("Zone %s leads to no output of a receiver; in it: %s.", z.Name, words(z.Sensors)),
				"Give it an output, or put its sensors in a zone that has one.", z.Sensors...)
		}
	}
	for _, id := range w.Loose {
		add("zone-without-output", fmt.Sprintf("%s is in no zone, so no output tells of it.", r.title(id)), "Put it in a zone that has an output.", id)
	}
	told := map[string]bool{}
	for _, o := range w.Outputs {
		what := fmt.Sprintf("%s, %s", r.title(o.Receiver), o.Words())
		switch {
		case o.Zone == "":
			add("output-without-sensor", what+": names no zone.", "Name the zone that leads to it, or take the output away.", o.Receiver)
		case o.Sensors == nil:
			add("output-without-sensor", fmt.Sprintf("%s: no sensor is in its zone %s.", what, o.Zone), "Put a sensor in the zone, correct its name, or take the output away.", o.Receiver)
		}
		key := strings.Join([]string{o.Receiver, o.Type, o.Number}, "\x00")
		if o.Rivals != nil && !told[key] {
			told[key] = true
			add("shared-output", fmt.Sprintf("%s: zones %s lead to it, and whoever sees it cannot tell which.", what, words(append([]string{o.Zone}, o.Rivals...))),
				"Give each zone a number of its own.", o.Receiver)
		}
	}
	return out
}
