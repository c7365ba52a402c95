package paper

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"pleach/model"
	"pleach/model/order"
)

// vanSheets is the first page for the van: how to get in, who to ring, in what
// order to go round, what to bring, what to mind.
func (s *sheet) vanSheets(heading string) ([]leaf, error) {
	f := s.flow(heading, s.opt.Paper == A3)
	p, sc := s.in.Plan, s.in.Scene
	gates := form{s.look, "Ways in", []formColumn{{"Gate", 0.3}, {"Longitude, latitude", 0.3}, {"Wide", 0.1}, {"Key, code, who opens", 0.3}}, nil}
	for _, g := range p.Of(model.KindGate) {
		if !g.Sound() {
			continue
		}
		at := sc.Grid.ToLonLat(sc.Shape(g.ID).Bound().Center())
		gates.rows = append(gates.rows, []string{title(p, g.ID), figureAll(at[0], 6) + ", " + figureAll(at[1], 6), metres(g.Value.(*model.Gate).Width), ""})
	}
	if people := (beside{[]block{s.contacts()}, []block{s.visit()}, 0.62}); people.height(f.width()) < f.room()/2 {
		f.add(people, gates)
	} else {
		f.add(s.contacts(), s.visit(), gates)
	}
	dangers := prose{s.look, nil}
	for _, h := range p.Of(model.KindHazard) {
		if h.Sound() {
			w := capital(h.Value.(*model.Hazard).What)
			if h.Name != "" && h.Name != h.ID {
				w += ": " + h.Name
			}
			dangers.text = append(dangers.text, clean(w+"."))
		}
	}
	if dangers.text == nil {
		dangers.text = []string{"The plan marks none: look for yourself."}
	}
	highest := 0.0
	counts := map[string]int{}
	for _, d := range sc.Devices {
		switch v := d.Feature.Value.(type) {
		case *model.Sensor:
			name := v.Model
			if m, ok := p.Model(v.Model); ok && m.Name != "" {
				name = m.Name
			}
			counts["Sensor: "+name]++
			highest = math.Max(highest, math.Max(v.MountHeight, v.Antenna))
		case *model.Repeater:
			counts["Repeater"]++
			highest = math.Max(highest, v.Antenna)
		case *model.Receiver:
			counts["Receiver"]++
			highest = math.Max(highest, v.Antenna)
		}
	}
	load := table{look: s.look, heading: "To load", label: 62}
	for name, n := range counts {
		load.facts = append(load.facts, fact{name, fmt.Sprint(n)})
	}
	slices.SortFunc(load.facts, func(a, b fact) int { return cmp.Compare(a.label, b.label) })
	if s.in.Result != nil {
		load.facts = append(load.facts, loads(order.Bill(s.in.Result))...)
	}
	if bare := unpowered(p); bare != nil {
		load.facts = append(load.facts, fact{"Battery not stated in the plan for", clean(strings.Join(bare, ", "))})
	}
	tools := section{"Tools", prose{s.look, []string{clean("Access for work up to " + metres(highest) + " above the ground."),
		"Tape of 50 m, sighting tube or level, compass for a first bearing only, marker for the aim mark.", "Signal meter, attenuator, spare antenna, this set on paper, a pen."}}}
	f.add(beside{[]block{load}, []block{tools, section{"Dangers", dangers}}, 0.5})
	t := form{s.look, "Order of visits, along the boundary", []formColumn{{"No", 0.07}, {"Device", 0.45}, {"Stands at", 0.28}, {"Done", 0.2}}, nil}
	type stop struct {
		name, at string
		boundary int
		chainage float64
	}
	var stops []stop
	for _, d := range sc.Devices {
		v := stop{name: d.Feature.ID, boundary: len(sc.Boundaries)}
		if n := title(p, d.Feature.ID); n != v.name {
			v.name += "  " + n
		}
		near := math.Inf(1)
		for i := range sc.Boundaries {
			if c, far := sc.Boundaries[i].Nearest(d.At); far < near {
				near, v.boundary, v.chainage = far, i, c
				v.at = unit(c, 0, "m") + " along, " + metres(far) + " off"
				if len(sc.Boundaries) > 1 {
					v.at += ", " + title(p, sc.Boundaries[i].Feature.ID)
				}
			}
		}
		stops = append(stops, v)
	}
	slices.SortStableFunc(stops, func(a, b stop) int {
		return cmp.Or(cmp.Compare(a.boundary, b.boundary), cmp.Compare(a.chainage, b.chainage))
	})
	for i, v := range stops {
		t.rows = append(t.rows, []string{fmt.Sprint(i + 1), v.name, v.at, ""})
	}
	f.add(t)
	return f.leaves, nil
}

// roles are those of contacts that every visit asks for; a blank row stands for
// one that the plan does not have.
var roles = []string{"On site", "Receiving centre", "Designer", "In an emergency"}

// contacts is who to ring, with room to write where nobody is stated.
func (s *sheet) contacts() form {
	f := form{s.look, "Contacts", []formColumn{{"Who", 0.24}, {"Name", 0.46}, {"Telephone", 0.3}}, nil}
	set := s.in.Plan.Settings
	had := map[string]bool{}
	for _, c := range set.Contacts {
		name := c.Name
		if c.Note != "" {
			name = strings.TrimPrefix(name+"; "+c.Note, "; ")
		}
		f.rows = append(f.rows, []string{capital(c.Role), name, c.Phone})
		had[strings.ToLower(strings.TrimSpace(c.Role))] = true
	}
	for _, role := range roles {
		if had[strings.ToLower(role)] {
			continue
		}
		name := ""
		if role == "Designer" {
			name = set.Designer
		}
		f.rows = append(f.rows, []string{role, name, ""})
	}
	return f
}

// visit is what to know before driving off, with room to write where the plan
// says nothing.
func (s *sheet) visit() form {
	v := s.in.Plan.Settings.Visit
	return form{s.look, "The visit", []formColumn{{"What", 0.32}, {"Known", 0.68}}, [][]string{
		{"Hours", v.Hours}, {"Keys, codes", v.Keys}, {"Parking", v.Parking}, {"Nearest hospital", v.Hospital}}}
}
