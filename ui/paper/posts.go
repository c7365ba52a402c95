package paper

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/aim"
	"pleach/model/analysis"
	"pleach/model/pattern"
	"pleach/model/radio"
	"pleach/model/scene"
	"pleach/ui/drawing"
)

// Limits of the height of a section or a link's profile on a post sheet,
// millimetres: it takes what the page leaves between them. Chosen.
const (
	leastFigure = 38.0
	mostFigure  = 66.0
	// tightFigure is the least where a page would run over for it.
	tightFigure = 26.0
)

// postSheets is a page for each device: where it stands, how it is set and aimed,
// and room for what was fitted.
func (s *sheet) postSheets(title string) ([]leaf, error) {
	f := s.flow(title, s.opt.Paper == A3)
	first := true
	for _, d := range s.in.Scene.Devices {
		if !first {
			f.turn()
		}
		first = false
		f.bare.title = title + " " + d.Feature.ID
		f.page().mark, f.page().title = d.Feature.Title(), f.bare.title
		if err := s.post(f, d); err != nil {
			return nil, err
		}
	}
	if first {
		f.add(section{"Devices", prose{s.look, []string{"The plan has no device."}}})
	}
	return f.leaves, nil
}

// post is the page of one device.
func (s *sheet) post(f *flow, d scene.Device) error {
	p, id := s.in.Plan, d.Feature.ID
	place := s.place(d)
	name := id
	if d.Feature.Name != "" && d.Feature.Name != id {
		name = id + "  " + d.Feature.Name
	}
	var set, link table
	set = table{look: s.look, heading: "Setting", label: 30}
	link = table{look: s.look, heading: "Radio", label: 22}
	var view func(height float64) (block, error)
	var address *int
	kind, check := "", []string{}
	antenna := 0.0
	fit := []blank{{"East, north", figure(d.At[0], 2) + ", " + unit(d.At[1], 2, "m")}}
	var aimed block
	switch v := d.Feature.Value.(type) {
	case *model.Sensor:
		kind, address, antenna = "Sensor", v.Address, v.Antenna
		set.facts = append(set.facts, fact{"Model", v.Model}, fact{"Height", unit(v.MountHeight, 2, "m") + " from the ground to the middle of the lens"})
		a, err := aim.Of(s.in.Scene, id)
		if err != nil {
			break // it has a flaw and is left out: what is stated stands
		}
		if m := a.Model; m.Name != "" && m.Name != v.Model {
			set.facts[0].value = m.Name + " (" + v.Model + ")"
		}
		on := "a post of its own"
		switch {
		case a.Eye.Buried != "":
			on = "it stands inside " + aim.Title(p, a.Eye.Buried) + ", where it sees nothing"
		case a.Eye.Fixed != "":
			on = "the wall of " + aim.Title(p, a.Eye.Fixed)
		}
		if v.Mount != "" {
			on = v.Mount + "; " + on
		}
		bearing := angle(v.Bearing, 1) + " true"
		if a.Stated {
			bearing += ", " + angle(a.Magnetic, 1) + " magnetic"
			if a.DeclinationOn != "" {
				bearing += " (declination of " + a.DeclinationOn + ")"
			}
		} else {
			bearing += "; magnetic: no declination is stated"
		}
		tilt := angle(math.Abs(v.Tilt), 1) + " down"
		if v.Tilt < 0 {
			tilt = angle(-v.Tilt, 1) + " up"
		} else if v.Tilt == 0 {
			tilt = "level"
		}
		set.facts = append(set.facts, fact{"Fixed to", on}, fact{"Bearing", bearing}, fact{"Tilt", tilt}, fact{"Mask", masks(v.Masked)})
		link.facts = append(link.facts, fact{"Zone", stated(v.Zone)})
		if v.Note != "" {
			set.facts = append(set.facts, fact{"Note", v.Note})
		}
		aimed = section{"Aim", prose{s.look, aimWords(s.in.Scene, a)}}
		view = func(height float64) (block, error) {
			cut, err := drawing.Cut(drawing.SectionInput{Scene: s.in.Scene, Sensor: id, Width: f.width(), Height: height}, s.theme)
			if err != nil {
				return nil, err
			}
			return figureBlock{s.look, "Side view along the axis", s.theme, cut.List, cut.View}, nil
		}
		fit = append(fit, blank{"Height", unit(v.MountHeight, 2, "m")}, blank{"Bearing, true", angle(v.Bearing, 1)}, blank{"Tilt", tilt})
		check = []string{"Nothing has grown, been parked or been built in the view since the date of this plan; the lens is clean and its masks are as stated. " +
			"Sight on the mark, not by compass near steel. The cover is closed and the mount tight."}
	case *model.Repeater:
		kind, address, antenna = "Repeater", v.Address, v.Antenna
		if v.Note != "" {
			set.facts = append(set.facts, fact{"Note", v.Note})
		}
	case *model.Receiver:
		kind, antenna = "Receiver", v.Antenna
		for _, o := range v.Outputs {
			set.facts = append(set.facts, fact{"Zone " + o.Zone, o.Words()})
		}
		if v.Note != "" {
			set.facts = append(set.facts, fact{"Note", v.Note})
		}
	}
	link.facts = append(link.facts, fact{"Antenna", unit(antenna, 2, "m") + " above the ground"})
	link.facts = append(link.facts, s.linkFacts(id)...)
	fit = append(fit, blank{"Antenna height", unit(antenna, 2, "m")})
	var setting block
	switch {
	case address != nil:
		setting = switchBlock{s.look, *address, p.Settings.Addresses}
		fit = append(fit, blank{"Address", fmt.Sprint(*address)})
	case kind != "Receiver":
		setting = section{"Address", prose{s.look, []string{"None is given yet: ask the designer before it is switched on."}}}
		fit = append(fit, blank{"Address", "none given"})
	}
	if l := s.outgoing(id); view == nil && l != nil {
		view = func(height float64) (block, error) {
			v, err := drawing.CutLink(drawing.LinkInput{Scene: s.in.Scene, From: l.From, To: l.To, Width: f.width(), Height: height}, s.theme)
			if err != nil {
				return nil, fmt.Errorf("link %s to %s: %w", l.From, l.To, err)
			}
			return figureBlock{s.look, "Profile of its link to " + l.To, s.theme, v.List, v.View}, nil
		}
	}
	if l := s.outgoing(id); l != nil {
		for _, d := range l.Directions() {
			fit = append(fit, blank{"Signal at " + d.To, unit(d.Received, 0, "dBm")})
		}
	} else {
		fit = append(fit, blank{what: "Signal read"})
	}
	for _, what := range []string{"Serial number", "Access", "Ground", "Overhead lines", "Buried services", "Permit needed", "Date, initials"} {
		fit = append(fit, blank{what: what})
	}
	check = append(check, antennaWords(p, d.Feature)+"; the signal is read with nobody within 2 m of it.")
	code, err := s.codeOf("On a map", geoURI(s.in.Scene.Grid.ToLonLat(d.At)))
	if err != nil {
		return err
	}
	if setting == nil {
		setting = section{"Way there", prose{s.look, []string{"The code holds its place: a phone's map opens on it."}}}
	}
	right := []block{coded{setting, code}, link}
	above := []block{banner{s.look, name, kind}, beside{[]block{place, set}, right, 0.56}}
	if aimed != nil {
		above = append(above, aimed)
	}
	below := []block{
		beside{[]block{section{"Before work at height", prose{s.look, s.dangers(d)}}}, []block{section{"What to check", prose{s.look, check}}}, 0.4},
		blanks{s.look, "As fitted, as found", fit},
	}
	pages := len(f.leaves)
	f.bare.title = goesOn(f.bare.title)
	next := func() {
		f.turn()
		f.add(banner{s.look, goesOn(name), kind})
	}
	f.add(above...)
	if view != nil {
		room := f.room() - stackHeight(f.width(), below...) - blockGap - headRow
		least := leastFigure
		if room >= tightFigure && len(f.leaves) == pages {
			least = tightFigure
		}
		b, err := view(min(max(room, least), mostFigure))
		if err != nil {
			return err
		}
		if !f.holds(b) {
			next()
		}
		f.add(b)
	}
	if stackHeight(f.width(), below...) > f.room()+1e-9 {
		next()
	}
	f.add(below...)
	return nil
}

// antennaWords is how the antenna of a device stands by what the plan reckons for its
// mount, and what is better.
func antennaWords(p *model.Plan, f *model.Feature) string {
	out := "The antenna stands upright as planned"
	clear := "clear of steel by half a wavelength, " + metres(halfLight/p.Settings.Frequency)
	for _, t := range analysis.InstallationTerms(p, f) {
		topic, choice, ok := strings.Cut(t.Name, ": ")
		if ok && topic == mountTopic.Name && choice != mountTopic.Choices[0].Name {
			return clean(out + ", " + choice + ": the plan reckons " + unit(t.DB, 1, "dB") + " lost by that. Better: " + clear)
		}
	}
	return clean(out + ", " + clear)
}

// halfLight is half the speed of light, in metres times megahertz (BIPM, SI Brochure,
// 299 792 458 m/s).
const halfLight = 149.896229

// mountTopic is what can be said of a mount, the best first.
var mountTopic = radio.Topics()[0]

// installationWords sums up what a device loses by how it is installed, and names
// what is not as by default.
func installationWords(p *model.Plan, f *model.Feature) string {
	terms := analysis.InstallationTerms(p, f)
	if analysis.TermWords(terms) == "" {
		return ""
	}
	usual := radio.DefaultTerms(analysis.RadioKind(f.Kind))
	var other []radio.Term
	for _, t := range terms {
		if !slices.ContainsFunc(usual, func(u radio.Term) bool { return u.Name == t.Name && u.DB == t.DB }) {
			other = append(other, t)
		}
	}
	sum := unit(radio.TermSum(terms), 1, "dB")
	switch {
	case len(other) == 0 && len(terms) == len(usual):
		return sum + ", as by default"
	case len(other) == 0:
		other = terms
	}
	words := analysis.TermWords(other)
	switch {
	case words == "":
		words = "what is not as by default loses nothing"
	case len(other) < len(terms):
		words += "; else as by default"
	}
	return clean(sum + ": " + words)
}

// place says where a device stands.
func (s *sheet) place(d scene.Device) table {
	t := table{look: s.look, heading: "Position", label: 30}
	ll := s.in.Scene.Grid.ToLonLat(d.At)
	t.facts = append(t.facts,
		fact{"Site grid", "east " + unit(d.At[0], 2, "m") + ", north " + unit(d.At[1], 2, "m")},
		fact{"Longitude, latitude", fmt.Sprintf("%s, %s (WGS 84)", figureAll(ll[0], 7)+"°", figureAll(ll[1], 7)+"°")})
	if text, ok := s.inNational(d.At); ok {
		t.facts = append(t.facts, fact{brief(s.in.National.Name()), text + s.nationalWithin()})
	}
	if s.in.Scene.Terrain != nil {
		t.facts = append(t.facts, fact{"Ground", unit(s.in.Scene.Ground(d.At), 2, "m")})
	}
	offs := offsets(s.in.Scene, d)
	for i, o := range offs {
		label := ""
		if i == 0 {
			label = "Offsets"
		}
		t.facts = append(t.facts, fact{label, o})
	}
	if len(offs) < 2 {
		t.facts = append(t.facts, fact{"", "The plan has too few fixed features near it for two offsets: set it out by its coordinates."})
	}
	return t
}

// figureAll writes v with all its decimals and a true minus.
func figureAll(v float64, decimals int) string {
	return strings.Replace(fmt.Sprintf("%.*f", decimals, v), "-", "−", 1)
}

// farOffset is the longest distance in metres a post is set out over: chosen, the
// length of a long tape twice laid.
const farOffset = 100.0

// offsets gives the distances from two fixed features, which cross at a fair
// angle where there are such.
func offsets(sc *scene.Scene, d scene.Device) []string {
	type mark struct {
		id, text string
		at       orb.Point
		far      float64
	}
	var all []mark
	add := func(id, text string, at orb.Point) {
		if far := math.Hypot(at[0]-d.At[0], at[1]-d.At[1]); far > 0.05 && far <= farOffset {
			all = append(all, mark{id, text, at, far})
		}
	}
	for _, f := range sc.Plan.Features {
		if !f.Sound() {
			continue
		}
		name := aim.Title(sc.Plan, f.ID)
		switch g := sc.Shape(f.ID).(type) {
		case orb.Polygon:
			if f.Kind != model.KindBuilding && f.Kind != model.KindObstacle && f.Kind != model.KindBoundary {
				continue
			}
			middle := g[0].Bound().Center()
			for i, c := range g[0][:len(g[0])-1] {
				if f.Kind == model.KindBoundary {
					add(f.ID, fmt.Sprintf("corner %d of %s", i+1, name), c)
					continue
				}
				add(f.ID, "the "+compassWord(middle, c)+" corner of "+name, c)
			}
		case orb.LineString:
			switch f.Kind {
			case model.KindBoundary, model.KindObstacle:
				for i, c := range g {
					add(f.ID, fmt.Sprintf("point %d of %s", i+1, name), c)
				}
			case model.KindGate:
				add(f.ID, "the middle of gate "+name, g.Bound().Center())
			}
		case orb.Point:
			if f.Kind == model.KindGate {
				add(f.ID, "the middle of gate "+name, g)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b mark) int {
		if c := a.far - b.far; c != 0 {
			return int(math.Copysign(1, c))
		}
		return strings.Compare(a.text, b.text)
	})
	if len(all) == 0 {
		return nil
	}
	bearing := func(m mark) float64 {
		return math.Mod(math.Atan2(d.At[0]-m.at[0], d.At[1]-m.at[1])*180/math.Pi+360, 360)
	}
	say := func(m mark) string {
		return fmt.Sprintf("%s from %s, on a bearing of %s true", unit(m.far, 2, "m"), m.text, angle(bearing(m), 0))
	}
	// Lines that cross at 30 degrees or more fix a place; of another feature if
	// there is one. Chosen.
	best := -1
	for i, m := range all[1:] {
		cross := math.Abs(math.Remainder(bearing(m)-bearing(all[0]), 180))
		if cross < 30 {
			continue
		}
		if m.id != all[0].id {
			best = i + 1
			break
		}
		if best < 0 {
			best = i + 1
		}
	}
	if best < 0 {
		return []string{say(all[0])}
	}
	return []string{say(all[0]), say(all[best])}
}

// compassWord names the direction from one place to another.
func compassWord(from, to orb.Point) string {
	names := [8]string{"north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"}
	return names[(int(math.Round(math.Atan2(to[0]-from[0], to[1]-from[1])*4/math.Pi))+8)%8]
}

// angle writes an angle in degrees.
func angle(v float64, decimals int) string { return figure(v, decimals) + "°" }

// masks says which azimuths of a lens are taken out.
func masks(list []model.Sector) string {
	var out []string
	side := func(v float64) string {
		switch {
		case v < 0:
			return angle(-v, 1) + " left"
		case v > 0:
			return angle(v, 1) + " right"
		}
		return "the axis"
	}
	for _, m := range list {
		out = append(out, "from "+side(m.From)+" to "+side(m.To)+" of the axis")
	}
	if out == nil {
		return "none"
	}
	return strings.ReplaceAll(strings.Join(out, "; "), "the axis of the axis", "the axis")
}

// aimWords says where a sensor points.
func aimWords(sc *scene.Scene, a *aim.Aim) (out []string) {
	p := sc.Plan
	m := a.Axis
	switch m.What {
	case aim.Ground:
		w := "Mark: the axis meets the ground at " + unit(m.Distance, 0, "m")
		if a.Near != nil {
			w += ", " + a.Near.Text
		}
		w += ". East " + unit(m.At[0], 1, "m") + ", north " + unit(m.At[1], 1, "m") + "."
		if b := a.Boundary; b != nil {
			side := "outside"
			if b.Inside {
				side = "inside"
			}
			w += fmt.Sprintf(" It lies %s %s the line, %s along %s.", metres(b.Distance), side, unit(b.Chainage, 0, "m"), aim.Title(p, b.ID))
		}
		out = append(out, w)
	case aim.Wall, aim.Roof:
		word := "the wall"
		if m.What == aim.Roof {
			word = "the top"
		}
		out = append(out, fmt.Sprintf("Mark: the axis meets %s of %s at %s, %s above the ground.", word, aim.Title(p, m.On), unit(m.Distance, 0, "m"), unit(m.Height, 1, "m")))
	default:
		out = append(out, "The axis meets nothing within "+unit(aim.Far, 0, "m")+": sight level on its bearing.")
	}
	var seen []string
	for _, r := range append([]aim.Reach{a.Target}, a.Postures...) {
		name := "a target"
		if r.Name != "" {
			name = r.Name
		}
		dead, ok := r.Dead()
		far, _ := r.Far()
		if ok {
			seen = append(seen, fmt.Sprintf("%s %s tall from %s to %s", name, unit(r.Target.Height, 2, "m"), metres(dead), metres(far)))
		} else {
			seen = append(seen, fmt.Sprintf("%s %s tall nowhere: %s", name, unit(r.Target.Height, 2, "m"), r.Why))
		}
	}
	out = append(out, "Seen along the axis: "+strings.Join(seen, "; ")+".")
	for i := range out {
		out[i] = clean(out[i])
	}
	return out
}

// outgoing is the link in use that a device sends on, nil for none.
func (s *sheet) outgoing(id string) *analysis.Link {
	if s.in.Result == nil {
		return nil
	}
	for i := range s.in.Result.Links {
		if l := &s.in.Result.Links[i]; l.InUse && l.From == id {
			return l
		}
	}
	return nil
}

// linkFacts says how a device is reached.
func (s *sheet) linkFacts(id string) (out []fact) {
	if s.in.Result == nil {
		return nil
	}
	if l := s.outgoing(id); l != nil {
		out = append(out, fact{"Link to", title(s.in.Plan, l.To) + ", " + metres(l.Distance)}, fact{"Margin", marginWords(l)})
		if d := l.Directions(); len(d) > 1 {
			out = append(out, fact{"Each way", unit(d[0].Margin, 0, "dB") + " to " + d[0].To + ", " + unit(d[1].Margin, 0, "dB") + " back"})
		} else if len(d) == 1 {
			out = append(out, fact{"Each way", "only to " + d[0].To})
		}
	}
	if f := s.in.Plan.Feature(id); f != nil {
		if words := installationWords(s.in.Plan, f); words != "" {
			out = append(out, fact{"Installation", words})
		}
	}
	for i := range s.in.Result.Sensors {
		r := &s.in.Result.Sensors[i]
		switch {
		case r.ID != id:
		case r.Route == nil:
			out = append(out, fact{"Route", "none: its messages do not arrive"})
		case len(r.Route) > 2:
			out = append(out, fact{"Route", strings.Join(r.Route, " → ")})
		}
	}
	var from []string
	for _, l := range s.in.Result.Links {
		if l.InUse && l.To == id {
			from = append(from, l.From)
		}
	}
	if from != nil {
		out = append(out, fact{"Hears", strings.Join(from, ", ")})
	}
	return out
}

// marginWords is a link's margin against what is asked of it.
func marginWords(l *analysis.Link) string {
	out := drawing.MarginText(*l) + "; " + unit(l.Required, 0, "dB") + " required"
	if !l.Holds() {
		out += ": fails"
	}
	return out
}

// nearDanger is how near to a post, in metres, a danger is told: chosen, the
// reach of a ladder laid down and of a lifting platform.
const nearDanger = 15.0

// dangers says what to mind at a device.
func (s *sheet) dangers(d scene.Device) (out []string) {
	for _, f := range s.in.Plan.Of(model.KindHazard) {
		if !f.Sound() {
			continue
		}
		far := farFrom(s.in.Scene.Shape(f.ID), d.At)
		if far > nearDanger {
			continue
		}
		what := capital(f.Value.(*model.Hazard).What)
		if f.Name != "" && f.Name != f.ID {
			what += " (" + f.Name + ")"
		}
		out = append(out, clean(what+": "+metres(far)+" from it."))
	}
	if out == nil {
		out = append(out, "The plan marks no danger within "+unit(nearDanger, 0, "m")+" of it. Look for yourself: overhead lines, services, edges, traffic.")
	}
	return append(out, "Work at height as its rules ask; never alone, never off a ladder where a platform can stand.")
}

// farFrom is the distance of a place from a shape, metres; 0 within it.
func farFrom(g orb.Geometry, p orb.Point) float64 {
	switch g := g.(type) {
	case orb.Point:
		return math.Hypot(g[0]-p[0], g[1]-p[1])
	case orb.LineString:
		return distance(g, p)
	case orb.Polygon:
		if pattern.Inside(g, p) {
			return 0
		}
		return distance(orb.LineString(g[0]), p)
	}
	return math.Inf(1)
}
