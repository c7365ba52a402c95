package paper

import (
	"fmt"
	"strconv"
	"strings"

	"pleach/model"
	"pleach/model/report"
)

// settingColumns are the columns of the table of settings.
var settingColumns = []column{
	{head: "Setting", give: 3},
	{head: "Name in the plan", give: 2},
	{head: "Value", give: 2},
	{head: "From where", give: 2},
}

var findingColumns = []column{
	{head: "No", right: true},
	{head: "Severity"},
	{head: "What and where", give: 5},
	{head: "Remedy", give: 4},
}

var acceptedColumns = []column{
	{head: "No", right: true},
	{head: "Severity"},
	{head: "What and where", give: 4},
	{head: "Reason", give: 3},
	{head: "By", give: 1},
	{head: "On"},
}

// noteSheets holds what the drawing rests on: cautions, assumptions, settings,
// sources, and every finding with its remedy or with who accepted it and why.
func (s *sheet) noteSheets(title string) ([]leaf, error) {
	f := s.flow(title, true)
	f.add(section{"Cautions", prose{s.look, []string{
		"A plan says nothing of how likely it is that an intruder is detected: that comes from trials on site, with their number and their bound.",
		"A figure marked as judgement is a choice made for planning. It may be set otherwise in the plan."}}})
	if s.in.Result != nil {
		f.add(section{"Assumptions", prose{s.look, []string{clean(s.assumptions())}}})
	}
	f.add(section{"Sources", prose{s.look, s.sources()}})
	if recalled := s.fromMemory(); recalled != nil {
		f.add(section{"From memory, not checked against a print", prose{s.look, recalled}})
	}
	open, accepted := s.findingRows()
	const most = 12 // lines: no finding is cut
	switch {
	case s.in.Result == nil:
		f.add(section{"Findings", prose{s.look, []string{"The plan was not analysed."}}})
	case len(open) == 0:
		f.add(section{"Findings", prose{s.look, []string{"None that nobody has accepted."}}})
	}
	f.add(schedule{look: s.look, heading: "Findings and what to do about them", columns: findingColumns, rows: open, to: len(open), lines: most},
		schedule{look: s.look, heading: "Accepted findings", columns: acceptedColumns, rows: accepted, to: len(accepted), lines: most})
	revisions := s.revisionRows()
	if revisions == nil {
		f.add(section{"Revisions", prose{s.look, []string{"The plan states none."}}})
	}
	f.add(schedule{look: s.look, heading: "Revisions", columns: revisionColumns, rows: revisions, to: len(revisions), lines: most}, s.changeList)
	rows := s.settingRows()
	f.add(schedule{look: s.look, heading: "Settings in force", columns: settingColumns, rows: rows, to: len(rows)})
	return f.leaves, nil
}

// sources says what the plan and the computation rest on.
func (s *sheet) sources() []string {
	set := s.in.Plan.Settings
	g := s.in.Scene.Grid
	out := []string{fmt.Sprintf("Site grid: transverse Mercator on the WGS 84 ellipsoid, scale 1 at the origin, longitude %s, latitude %s; x east, y north, metres; its north is true north at the origin.",
		angle(g.Lon0, 7), angle(g.Lat0, 7)), s.nationalNote()}
	if m := set.BaseMap; m != nil {
		out = append(out, "Aerial picture: "+m.File+placedBy(m.CRS))
	}
	if t := set.Terrain; t != nil {
		out = append(out, "Heights of the ground: "+t.File+s.in.HeightsUnit+placedBy(t.CRS))
	} else {
		out = append(out, "Heights of the ground: none given, the ground is taken as level.")
	}
	out = append(out, "Radio: free space (ITU-R P.525) and delta-Bullington diffraction (ITU-R P.526), foliage after ITU-R P.833; the margin of a link is that of its weaker direction.")
	if set.DeclinationOn != "" || s.in.Plan.Stated("north.declination_deg") {
		on := ""
		if set.DeclinationOn != "" {
			on = " on " + set.DeclinationOn
		}
		out = append(out, fmt.Sprintf("Magnetic declination: %s%s, as the designer states it, east positive.", angle(set.Declination, 2), on))
	} else {
		out = append(out, "Magnetic declination: none stated; no magnetic bearing is given.")
	}
	for i := range out {
		out[i] = clean(out[i])
	}
	return out
}

func placedBy(crs string) string {
	if crs == "" {
		return "."
	}
	return ", in " + crs + "."
}

// findingRows are the findings nobody has accepted, and those somebody has.
func (s *sheet) findingRows() (open, accepted []row) {
	if s.in.Result == nil {
		return nil, nil
	}
	for i, f := range s.in.Result.Findings {
		n := strconv.Itoa(i + 1)
		if a := f.Accepted; a != nil {
			accepted = append(accepted, row{cells: []string{n, string(f.Severity), clean(f.Text), stated(a.Reason), stated(a.By), stated(a.At)}})
			continue
		}
		open = append(open, row{cells: []string{n, string(f.Severity), clean(f.Text), stated(f.Remedy)}, strong: f.Severity == model.Fault})
	}
	return open, accepted
}

// stated is a text, or a dash where nothing was stated.
func stated(s string) string {
	if s = clean(s); strings.TrimSpace(s) == "" {
		return none
	}
	return s
}

// settingRows are the settings in force, with where each comes from.
func (s *sheet) settingRows() (out []row) {
	p := s.in.Plan
	values := report.SettingValues(p.Settings)
	titled := map[string]bool{"title": true, "reference": true, "customer": true, "designer": true, "revision": true, "date": true}
	for _, d := range model.SettingsTable {
		if titled[d.Path] || model.ForSheets(d.Path) {
			continue // other sheets have them
		}
		value := none
		switch v := values[d.Path].(type) {
		case string:
			value = stated(v)
		case int:
			value = strconv.Itoa(v)
		case float64:
			value = figure(v, 6)
		case *float64:
			if v != nil {
				value = figure(*v, 6)
			}
		}
		if d.Unit != "" && value != none {
			value += string(hardSpace) + d.Unit
		}
		from := "default"
		switch {
		case p.Stated(d.Path):
			from = "stated in the plan"
		case value == none:
			from = "not stated"
		case d.Chosen:
			from = "default by judgement"
		}
		out = append(out, row{cells: []string{d.Label, d.Path, value, from}})
	}
	for _, q := range p.Settings.Postures {
		from := "stated in the plan"
		if !p.Stated("postures") {
			from = "default by judgement"
		}
		out = append(out, row{cells: []string{clean("Posture " + q.Name), "postures", fmt.Sprintf("%s tall, %s of it seen", unit(q.Height, 2, "m"), unit(q.MinVisible*100, 1, "%")), from}})
	}
	return out
}
