package paper

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"pleach/model"
)

// vanSheets is the first page for the van: how to get in, who to ring, in what
// order to go round, what to bring, what to mind.
func (s *sheet) vanSheets(title string) ([]leaf, error) {
	f := s.flow(title, s.opt.Paper == A3)
	p, sc := s.in.Plan, s.in.Scene
	gates := form{s.look, "Ways in", []formColumn{{"Gate", 0.3}, {"Longitude, latitude", 0.3}, {"Wide", 0.1}, {"Key, code, who opens", 0.3}}, nil}
	for _, g := range p.Of(model.KindGate) {
		if !g.Sound() {
			continue
		}
		at := sc.Grid.ToLonLat(sc.Shape(g.ID).Bound().Center())
		gates.rows = append(gates.rows, []string{plainName(p, g.ID), figureAll(at[0], 6) + ", " + figureAll(at[1], 6), metres(g.Value.(*model.Gate).Width), ""})
	}
	f.add(form{s.look, "Contacts", []formColumn{{"Who", 0.3}, {"Name", 0.4}, {"Telephone", 0.3}},
		[][]string{{"On site", "", ""}, {"Receiving centre", "", ""}, {"Designer", p.Settings.Designer, ""}, {"In an emergency", "", ""}}}, gates)
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
	load := table{look: s.look, heading: "To load, with batteries for sensors and repeaters", label: 62}
	for name, n := range counts {
		load.facts = append(load.facts, fact{name, fmt.Sprint(n)})
	}
	slices.SortFunc(load.facts, func(a, b fact) int { return cmp.Compare(a.label, b.label) })
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
		if n := plainName(p, d.Feature.ID); n != v.name {
			v.name += "  " + n
		}
		near := math.Inf(1)
		for i := range sc.Boundaries {
			if c, far := sc.Boundaries[i].Nearest(d.At); far < near {
				near, v.boundary, v.chainage = far, i, c
				v.at = unit(c, 0, "m") + " along, " + metres(far) + " off"
				if len(sc.Boundaries) > 1 {
					v.at += ", " + plainName(p, sc.Boundaries[i].Feature.ID)
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
