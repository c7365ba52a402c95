package analysis

import (
	"fmt"
	"slices"
	"strings"

	"pleach/model"
	"pleach/model/spectrum"
)

// busyShare is the share of a day's alarms that come in its busiest hour. Chosen:
// a little over twice an even spread.
const busyShare = 0.1

// stormLeast is the share of messages that has to get through a storm of alarms for
// no warning to be given. Chosen.
const stormLeast = 0.9

// Compliance is what the plan's radio rules say to its devices.
type Compliance struct {
	Rules   spectrum.Rules
	Devices []OnAir // sensors, then repeaters and receivers, in file order
	Storm   spectrum.Storm
	Success float64 // probability that a message of the storm arrives
}

// OnAir is what one device does on the air in a busy hour. A receiver's
// acknowledgements are not counted: only its power is judged.
type OnAir struct {
	ID      string
	Kind    model.Kind
	ERP     float64 // dBm
	Load    spectrum.Load
	Verdict spectrum.Verdict
}

// comply holds the devices against the plan's radio rules; nil without any.
func (r *Result) comply() *Compliance {
	s := r.Plan.Settings
	if s.Rules == nil {
		return nil
	}
	t := s.Traffic
	c := &Compliance{Rules: *s.Rules}
	for _, w := range r.works {
		c.Devices = append(c.Devices, OnAir{ID: w.antenna.feature.ID, Kind: model.KindSensor, ERP: w.antenna.radio.ERPDBm})
	}
	for _, a := range r.net.hubs {
		c.Devices = append(c.Devices, OnAir{ID: a.feature.ID, Kind: a.feature.Kind, ERP: a.radio.ERPDBm})
	}
	longest := 1
	for i := range r.Sensors {
		longest = max(longest, len(r.Sensors[i].Route)-1)
	}
	for i, load := range r.loads(busyShare, t.Message) {
		d := &c.Devices[i]
		use := spectrum.Use{FreqMHz: s.Frequency, ERPDBm: d.ERP, AirtimeS: load.Total(), SupervisionS: load.Supervision}
		if load.Total() > 0 {
			use.LongestS = t.Message
		}
		if t.Bandwidth != nil {
			use.BandwidthKHz = *t.Bandwidth
		}
		d.Load, d.Verdict = load, c.Rules.Judge(use)
	}
	c.Storm = spectrum.Storm{Alarms: min(t.StormAlarms, len(r.Sensors)), Window: t.StormWindow, Airtime: t.Message, Copies: t.Copies, Links: longest}
	c.Success = c.Storm.Success()
	return c
}

// loads returns how long each device is on the air, seconds an hour, sensors
// first, then repeaters and receivers: share of a day's alarms come in that hour,
// and a message lasts airtime seconds.
func (r *Result) loads(share, airtime float64) []spectrum.Load {
	place := map[string]int{}
	var own []spectrum.Traffic
	add := func(a antenna, supply *model.Supply, events float64) {
		if supply == nil {
			supply = new(model.Supply)
		}
		place[a.feature.ID] = len(own)
		own = append(own, spectrum.Traffic{Supervision: 3600 / above(supply.Supervision, model.SupposedSupervision), Alarms: above(supply.Events, events) * share,
			Airtime: airtime, Copies: r.Plan.Settings.Traffic.Copies})
	}
	for _, w := range r.works {
		add(w.antenna, w.model.Supply, model.SupposedEvents)
	}
	for _, a := range r.net.hubs {
		if rp, ok := a.feature.Value.(*model.Repeater); ok {
			add(a, rp.Supply, 0)
			continue
		}
		place[a.feature.ID] = len(own)
		own = append(own, spectrum.Traffic{Airtime: airtime})
	}
	// A repeater's own messages take the rest of a route that passes it: see spectrum.Loads.
	routes := make([][]int, len(own))
	for i := range r.Sensors {
		from, known := place[r.Sensors[i].ID]
		for _, id := range r.Sensors[i].Route {
			if known {
				routes[from] = append(routes[from], place[id])
			}
		}
	}
	return spectrum.Loads(own, routes)
}

// Messages returns how many messages each sensor and repeater sends in an hour, on
// average over a day of as many alarms as its supply states: its own and those it
// forwards, each as often as the plan has it sent. What no supply states is
// chosen: one message of supervision an hour, 50 alarms a day of a sensor.
func (r *Result) Messages() map[string]float64 {
	out := map[string]float64{}
	loads := r.loads(1.0/24, 1) // of one second each: seconds are messages
	for i, w := range r.works {
		out[w.antenna.feature.ID] = loads[i].Total()
	}
	for i, a := range r.net.hubs {
		if a.feature.Kind == model.KindRepeater {
			out[a.feature.ID] = loads[len(r.works)+i].Total()
		}
	}
	return out
}

// above returns a number that is stated and above 0, else def.
func above(v *float64, def float64) float64 {
	if v == nil || *v <= 0 {
		return def
	}
	return *v
}

// ruleRadioRules: what the radio rules do not let the devices do. One finding tells
// of all sensors of one model that go against the same limits.
func ruleRadioRules(r *Result) (out []model.Finding) {
	c := r.Study.Compliance
	if c == nil {
		return nil
	}
	const remedy = "Take figures and conditions from the licence rules in force where the site lies: this rule set is only what the plan was told."
	type key struct{ group, what string }
	at := map[key]int{}
	var of []*OnAir
	var who [][]string
	for i := range c.Devices {
		d := &c.Devices[i]
		if d.Verdict.Allowed {
			continue
		}
		k := key{group: d.ID}
		if i < len(r.works) {
			k.group = "model " + r.works[i].model.ID
		}
		for _, b := range d.Verdict.Breaches {
			k.what += b.What + ";"
		}
		if !d.Verdict.Held {
			k = key{}
		}
		n, known := at[k]
		if !known {
			n = len(who)
			at[k] = n
			of, who = append(of, d), append(who, nil)
		} else if d.Load.Total() > of[n].Load.Total() {
			of[n] = d // the worst of them is quoted
		}
		who[n] = append(who[n], d.ID)
	}
	for n, ids := range who {
		d := of[n]
		f := model.Finding{Rule: "radio-rules", Severity: model.Warning, Subject: ids, At: point(r.Plan.Feature(ids[0]).Geometry), Remedy: remedy}
		if !d.Verdict.Held {
			f.Text = fmt.Sprintf("%g MHz lies in no band that this rule set leaves to intruder alarms: %s (%s, %s).", r.Plan.Settings.Frequency, c.Rules.Name, c.Rules.Country, c.Rules.Date)
		} else {
			var said []string
			for _, b := range d.Verdict.Breaches {
				said = append(said, fmt.Sprintf("%s: %.4g, where %.4g is allowed", b.What, b.Is, b.Limit))
			}
			f.Text = fmt.Sprintf("%s: %s. The rule: %s.", r.titles(ids), strings.Join(said, "; "), c.Rules.Quote(d.Verdict.Breaches[0].Band))
			if d.Load.Sources > 0 {
				f.Text += fmt.Sprintf(" It forwards the messages of %s.", count(d.Load.Sources, "device", "devices"))
				f.Remedy = "Send fewer or shorter messages, let a second repeater carry some of the sensors, or take another sub-band. " + remedy
			}
		}
		out = append(out, f)
	}
	if c.Success < stormLeast {
		subject := []string{}
		for _, f := range r.Plan.Of(model.KindReceiver) {
			subject = append(subject, f.ID)
		}
		out = append(out, model.Finding{Rule: "storm", Severity: model.Warning, Subject: subject, At: point(r.Plan.Feature(subject[0]).Geometry),
			Text: fmt.Sprintf("When %d sensors alarm within %g s, a message gets through with %s: messages of %g s, sent %s on %s, by devices that do not listen first.",
				c.Storm.Alarms, c.Storm.Window, Percent(c.Success), c.Storm.Airtime, times(c.Storm.Copies), count(c.Storm.Links, "link", "links")),
			Remedy: "Send each message more than once, make it shorter, shorten the longest route, or use devices that listen before they talk."})
	}
	return out
}

// times says how often: "once", "3 times".
func times(n int) string {
	if n <= 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// FromMemory reports whether a figure of the rules that a device is held against is
// from memory.
func (c *Compliance) FromMemory() bool {
	return slices.ContainsFunc(c.Devices, func(d OnAir) bool {
		if d.Verdict.Allowed {
			return d.Verdict.By.FromMemory
		}
		return slices.ContainsFunc(d.Verdict.Breaches, func(b spectrum.Breach) bool { return b.Band.FromMemory })
	})
}
