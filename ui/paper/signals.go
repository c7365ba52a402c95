package paper

import (
	"fmt"
	"strings"

	"pleach/model/analysis"
	"pleach/model/radio"
	"pleach/ui/drawing"
)

// linksInUse are the links that messages go over.
func (s *sheet) linksInUse() (out []*analysis.Link) {
	if s.in.Result == nil {
		return nil
	}
	for i := range s.in.Result.Links {
		if l := &s.in.Result.Links[i]; l.InUse {
			out = append(out, l)
		}
	}
	return out
}

// signalSheets has a row for each link, with room for what is read on site.
func (s *sheet) signalSheets(title string) ([]leaf, error) {
	f := s.flow(title, true)
	f.add(section{"How to read", prose{s.look, []string{
		"Read each link with the device in its place and closed, and with nobody within 2 m of either antenna. Give the leaf state as in leaf, bare or wet. " +
			"Where a reserve is asked for, put the attenuator in and note that the message still arrives.",
		"Predicted is the level at the receiving end, each direction with its own power and losses; where one end only transmits there is one. " +
			"A reading more than twice the spread below the prediction is told to the designer."}}})
	wave := radio.Wavelength(s.in.Plan.Settings.Frequency)
	f.add(section{"Where a level is low", prose{s.look, []string{fmt.Sprintf(
		"Among reflections one place in ten lies %s or more below those around it, and one in a hundred %s. Move the antenna by a quarter to half a wavelength, %s to %s, and read again; fit it where the level is best.",
		unit(radio.RayleighReserve(0.9), 0, "dB"), unit(radio.RayleighReserve(0.99), 0, "dB"), unit(wave*25, 0, "cm"), unit(wave*50, 0, "cm"))}}})
	t := form{s.look, "Signal readings", []formColumn{{"Link, first → second", 0.14}, {"Predicted at second, at first, dBm", 0.115}, {"Margin there, back", 0.105}, {"Spread dB", 0.055},
		{"Read at second", 0.085}, {"Read at first", 0.085}, {"Antenna heights", 0.1}, {"Leaf state", 0.075}, {"Attenuator in, dB", 0.08}, {"Day and time", 0.09}, {"Initials", 0.07}}, nil}
	for _, l := range s.linksInUse() {
		level, margin := []string{none, none}, []string{none, none}
		for i, d := range []analysis.Direction{l.There, l.Back} {
			if d.Rated {
				level[i], margin[i] = figure(d.Received, 0), unit(d.Margin, 0, "dB")
			}
		}
		words := strings.Join(margin, ", ")
		if !l.Holds() {
			words += ": fails"
		}
		t.rows = append(t.rows, []string{l.From + " → " + l.To, strings.Join(level, ", "), words, figure(l.SD, 0), "", "", "", "", "", "", ""})
	}
	if t.rows == nil {
		f.add(section{"Links", prose{s.look, []string{"No radio link is in use in this plan."}}})
	}
	f.add(t)
	return f.leaves, nil
}

// profileHeight is that of a link's profile, millimetres: three on an A4 page.
const profileHeight = 51.0

var radioColumns = []column{
	{head: "Link", give: 2},
	{head: "Length", unit: "m", right: true},
	{head: "Free space", unit: "dB", right: true},
	{head: "Ground, obstacles", unit: "dB", right: true},
	{head: "Foliage", unit: "dB", right: true},
	{head: "Ways past", unit: "dB", right: true},
	{head: "Path loss", unit: "dB", right: true},
	{head: "Installation", unit: "dB", right: true},
	{head: "Received", unit: "dBm", right: true},
	{head: "Clear", unit: "of the zone", right: true},
	{head: "Required", unit: "dB", right: true},
	{head: "Margin", unit: "dB", right: true},
	{head: "Holds", give: 1},
}

var lossColumns = []column{
	{head: "Device that fails", give: 2},
	{head: "Sensors lost"},
	{head: "Which", give: 5},
}

// radioSheets is the schedule of the links in use and the profile of each.
func (s *sheet) radioSheets(title string) ([]leaf, error) {
	f := s.flow(title, true)
	set := s.in.Plan.Settings
	words := []string{fmt.Sprintf("%s, polarisation %s. Margins are those of the weaker direction, for planning; “clear” is the least clearance as a share of the first Fresnel zone, below 0 where the line is blocked. Path loss is the sum of the four parts before it; the margin takes in installation as well. Ways past is what the ways round and through a building take off the loss over it, below 0.",
		unit(set.Frequency, 3, "MHz"), map[string]string{"V": "vertical", "H": "horizontal"}[set.Polarisation])}
	if s.in.Result != nil {
		lost := "Lost by how the devices are installed:"
		for _, g := range s.in.Result.Installation() {
			lost += " " + g.Words() + "."
		}
		words = append(words, clean(lost+" What the plan does not state is a default, from memory."))
	}
	f.add(section{"Radio", prose{s.look, words}})
	rows := []row{}
	links := s.linksInUse()
	for _, l := range links {
		r := row{strong: !l.Holds()}
		r.cells = []string{clean(l.From + " → " + l.To), figure(l.Distance, 0), figure(l.FreeSpace, 0), figure(l.Diffraction, 0), figure(l.Vegetation, 0), figure(l.Building, 0),
			figure(l.Loss, 0), figure(l.Installation, 0), figure(l.Received, 0), figureAll(l.Clearance, 1), figure(l.Required, 0), figure(l.Margin, 0), "with " + analysis.Percent(l.Probability)}
		if !l.Holds() {
			r.cells[12] = "fails, " + analysis.Percent(l.Probability)
		}
		rows = append(rows, r)
	}
	if len(rows) == 0 {
		f.add(section{"Links", prose{s.look, []string{"No radio link is in use in this plan."}}})
	}
	f.add(schedule{look: s.look, heading: "Links in use", columns: radioColumns, rows: rows, to: len(rows)})
	f.add(s.lost()...)
	f.add(s.levels(f.width())...)
	for _, l := range links {
		v, err := drawing.CutLink(drawing.LinkInput{Scene: s.in.Scene, From: l.From, To: l.To, Width: f.width(), Height: profileHeight}, s.theme)
		if err != nil {
			return nil, fmt.Errorf("link %s to %s: %w", l.From, l.To, err)
		}
		f.add(figureBlock{s.look, "", s.theme, v.List, v.View})
	}
	return f.leaves, nil
}

// lost says which sensors are lost with each repeater and receiver, and which have a
// second route; nothing where the radio net was not studied.
func (s *sheet) lost() []block {
	res := s.in.Result
	if res == nil || res.Study == nil || len(res.Study.Losses) == 0 {
		return nil
	}
	var rows []row
	for _, l := range res.Study.Losses {
		which := none
		switch n := len(l.Sensors); {
		case n == len(res.Sensors):
			which = "all"
		case n > 0:
			which = strings.Join(l.Sensors, ", ")
		}
		name := l.ID
		if f := s.in.Plan.Feature(l.ID); f != nil {
			name = f.Titled()
		}
		rows = append(rows, row{cells: []string{clean(name), fmt.Sprintf("%d of %d", len(l.Sensors), len(res.Sensors)), clean(which)}})
	}
	return []block{section{"If a radio device fails", prose{s.look, []string{clean(res.LossWords() + " " + res.SecondRouteWords())}}},
		schedule{look: s.look, columns: lossColumns, rows: rows, to: len(rows)}}
}
