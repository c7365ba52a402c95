package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/scene"
)

// Caution is what every report says of its own worth.
const Caution = "Coverage and radio margins are predictions, made for planning. The system is proved on site, by walk tests and signal readings. " +
	"Local codes, the conditions of the radio licence, the rules for work at height and the judgement of the accredited installer come before this report."

// Width is the usual width of the report in characters.
const Width = 100

// minWidth is the least width that is kept to.
const minWidth = 40

// many is from how many findings of one rule on only the first few are printed
// in full; faults always are.
const (
	many  = 30
	shown = 25
)

// Text writes the report of the plan called name as text for a person, in lines
// of at most width characters where words and tables allow it.
func Text(w io.Writer, name string, r *analysis.Result, width int) error {
	t := textReport{r: r, name: name, width: max(width, minWidth)}
	t.title()
	t.summary()
	for _, b := range r.Boundaries {
		t.boundary(b)
	}
	if len(r.Sensors) == 0 {
		t.lengthBound()
	}
	t.sensors()
	t.lowSun()
	t.links()
	t.losses()
	t.radioRules()
	t.calibration()
	t.waysIn()
	t.findings()
	t.settings()
	t.line("")
	t.wrapped(Caution, "")
	_, err := io.WriteString(w, t.b.String())
	return err
}

type textReport struct {
	ways  map[[2]string]string // what would end it, by rule and sensor
	r     *analysis.Result
	name  string
	width int
	b     strings.Builder
}

func (t *textReport) line(format string, args ...any) {
	if len(args) > 0 {
		format = fmt.Sprintf(format, args...)
	}
	t.b.WriteString(format)
	t.b.WriteByte('\n')
}

func (t *textReport) lines(ls []string) {
	for _, l := range ls {
		t.b.WriteString(l)
		t.b.WriteByte('\n')
	}
}

func (t *textReport) wrapped(text, indent string) { t.lines(wrap(text, t.width, indent, indent)) }

// heading starts a section.
func (t *textReport) heading(text string) {
	t.line("")
	t.b.WriteString(text + "\n" + strings.Repeat("-", min(t.width, utf8.RuneCountInString(text))) + "\n")
}

func (t *textReport) title() {
	s := t.r.Plan.Settings
	title := model.Shown(s.Title)
	if title == "" {
		title = model.Shown(t.name)
	}
	t.b.WriteString(title + "\n" + strings.Repeat("=", min(t.width, utf8.RuneCountInString(title))) + "\n")
	var block []string
	for _, m := range []struct{ label, text string }{{"Plan", t.name}, {"Reference", s.Reference}, {"Customer", s.Customer},
		{"Designer", s.Designer}, {"Revision", s.Revision}, {"Date", s.Date}} {
		if text := model.Shown(m.text); text != "" && text != title {
			block = append(block, m.label+": "+text)
		}
	}
	if block != nil {
		t.wrapped(strings.Join(block, "; "), "")
	}
	t.line("")
}

// counted are the kinds the report counts, in words.
var counted = []struct {
	kind      model.Kind
	one, many string
}{
	{model.KindBoundary, "boundary", "boundaries"}, {model.KindSensor, "sensor", "sensors"}, {model.KindRepeater, "repeater", "repeaters"},
	{model.KindReceiver, "receiver", "receivers"}, {model.KindBuilding, "building", "buildings"}, {model.KindObstacle, "obstacle", "obstacles"},
	{model.KindFoliage, "stand of foliage", "stands of foliage"}, {model.KindRoad, "road", "roads"}, {model.KindFootpath, "footpath", "footpaths"},
	{model.KindNeighbour, "neighbour", "neighbours"}, {model.KindGate, "gate", "gates"}, {model.KindAsset, "asset", "assets"},
}

func (t *textReport) summary() {
	p := t.r.Plan
	var parts []string
	for _, c := range counted {
		if n := len(p.Of(c.kind)); n > 0 {
			parts = append(parts, count(n, c.one, c.many))
		}
	}
	if parts == nil {
		parts = []string{"nothing: the plan has no boundary and no device"}
	}
	t.wrapped("Checked: "+strings.Join(parts, ", ")+".", "")
	s := p.Settings
	target := fmt.Sprintf("To detect: a person %s m tall, %s in the pattern and in sight", number(s.Target.Height), visible(s.Target.MinVisible))
	for _, q := range s.Postures {
		target += fmt.Sprintf("; further posture: %s, %s m tall", q.Name, number(q.Height))
		if q.MinVisible != s.Target.MinVisible {
			target += ", " + visible(q.MinVisible)
		}
	}
	t.wrapped(target+".", "")
	n := map[model.Severity]int{}
	accepted := 0
	for _, f := range t.r.Findings {
		if f.Accepted != nil {
			accepted++
			continue
		}
		n[f.Severity]++
	}
	found := fmt.Sprintf("Found: %s, %s, %s", count(n[model.Fault], "fault", "faults"), count(n[model.Warning], "warning", "warnings"), count(n[model.Note], "note", "notes"))
	if accepted > 0 {
		found += fmt.Sprintf(", and %d accepted", accepted)
	}
	t.wrapped(found+".", "")
}

func (t *textReport) boundary(b analysis.Boundary) {
	p := t.r.Plan
	t.heading("Boundary " + named(p, []string{b.ID}))
	length := metres(b.Length) + " long"
	for _, on := range t.r.Scene.Boundaries {
		if on.Feature.ID == b.ID && on.Closed {
			length = metres(b.Length) + " round, " + area(math.Abs(scene.SignedArea(orb.Ring(on.Line))))
		}
	}
	if b.Closed > 0 {
		length += "; " + metres(b.Closed) + " need no detection (buildings, excluded stretches)"
	}
	t.wrapped(length+".", "  ")
	open := b.Length - b.Closed
	rows := table{head: []string{"", "covered", "of", "", "twice or more", "gaps"}, right: []bool{false, true, true, true, true, true}}
	for _, c := range append([]analysis.Coverage{b.Target}, b.Postures...) {
		of := "all closed"
		if c.Share != nil {
			of = share(*c.Share)
		}
		name := c.Name
		if name == b.Target.Name || name == "" {
			name = "person"
		}
		rows.add(name, metres(c.Covered), metres(open), of, metres(c.Overlap), strconv.Itoa(len(c.Gaps)))
	}
	t.lines(rows.lines("  "))
	t.gaps(b.ID, "", b.Target.Gaps)
	for _, c := range b.Postures {
		t.gaps(b.ID, c.Name, c.Gaps)
	}
}

// area says a site's area, in hectares where it is large.
func area(v float64) string {
	if v >= 10_000 {
		return strconv.FormatFloat(round(v/10_000, 1), 'f', -1, 64) + " ha"
	}
	return squareMetres(v)
}

// gaps prints the gaps of one target. Those of a posture that are gaps of the
// target too are not printed again.
func (t *textReport) gaps(boundary, posture string, gaps []analysis.Gap) {
	if len(gaps) == 0 {
		return
	}
	if posture != "" {
		t.line("")
		t.line("  Further gaps for %s are among the findings.", posture)
		return
	}
	t.line("")
	t.line("  Gaps")
	rows := table{head: []string{"no", "from, to", "length", "cause"}, right: []bool{true, false, true, false}}
	for i, g := range gaps {
		rows.add(strconv.Itoa(i+1), chainage(g.From, g.To, g.Length), metres(g.Length), why(t.r.Plan, g.Cause, g.By))
	}
	for i, l := range rows.lines("    ") {
		t.line("%s", l)
		if i == 0 {
			continue
		}
		// Gaps in a row with one remedy are told it once.
		remedy := t.remedy(boundary, gaps[i-1])
		if remedy != "" && (i == len(gaps) || t.remedy(boundary, gaps[i]) != remedy) {
			t.wrapped(remedy, "      ")
		}
	}
}

// remedy returns what the finding about a gap advises.
func (t *textReport) remedy(boundary string, g analysis.Gap) string {
	for _, f := range t.r.Findings {
		if f.Rule == "gap" && f.Posture == "" && slices.Contains(f.Subject, boundary) && f.From != nil && *f.From == g.From {
			return f.Remedy
		}
	}
	return ""
}

func (t *textReport) sensors() {
	if len(t.r.Sensors) == 0 {
		return
	}
	t.heading("Sensors")
	rows := table{head: []string{"id", "model", "mount", "bearing", "tilt", "sees from, to", "area", "outside", "foliage", "route", "margin"},
		right: []bool{false, false, true, true, true, true, true, true, true, false, true}}
	for _, s := range t.r.Sensors {
		v, ok := t.sensor(s.ID)
		if !ok {
			continue
		}
		reach, seen := "sees nothing", "-"
		if s.Near != nil && s.Far != nil {
			reach = fmt.Sprintf("%s to %s m", strings.TrimSuffix(metres(*s.Near), " m"), strings.TrimSuffix(metres(*s.Far), " m"))
			seen = squareMetres(s.Area)
		}
		route, margin := "no route", "-"
		if s.Route != nil {
			route = strings.Join(s.Route[1:], ", ")
		}
		if s.Margin != nil {
			margin = decibels(*s.Margin)
		}
		rows.add(s.ID, v.Model, number(v.MountHeight)+" m", degrees(v.Bearing), degrees(v.Tilt), reach, seen, outside(s), orDash(s.Foliage), route, margin)
	}
	t.lines(rows.lines("  "))
	t.wrapped("Outside: the area beyond the line, or on public ways, in which a person would be seen too.", "  ")
}

// lengthBound says what a plan without sensors can be told.
func (t *textReport) lengthBound() {
	length, bounds := analysis.LengthBound(t.r)
	if length <= 0 {
		return
	}
	t.heading("Sensors the length alone asks for, at least")
	rows := table{head: []string{"model", "sees at most", "sensors"}, right: []bool{false, true, true}}
	for _, b := range bounds {
		if b.Chord > 0 {
			rows.add(b.Model.ID, metres(b.Chord)+" of a line", strconv.Itoa(b.Count))
		} else {
			rows.add(b.Model.ID, "nothing", "-")
		}
	}
	t.lines(rows.lines("  "))
	t.wrapped("For a straight line of "+metres(length)+", mounted at 3 m with a level axis: corners, buildings, overlap and the ground under each mount ask for more.", "  ")
}

func (t *textReport) sensor(id string) (*model.Sensor, bool) {
	f := t.r.Plan.Feature(id)
	if f == nil {
		return nil, false
	}
	v, ok := f.Value.(*model.Sensor)
	return v, ok
}

func orDash(area float64) string {
	if area == 0 {
		return "-"
	}
	return squareMetres(area)
}

// outside says the area a sensor sees a person in where it should not.
func outside(s analysis.Sensor) string {
	sum := 0.0
	for _, o := range s.Overspill {
		if o.For == "person" {
			sum += o.Area
		}
	}
	return orDash(sum)
}

func (t *textReport) links() {
	if len(t.r.Links) == 0 {
		return
	}
	t.heading("Radio links in use")
	rows := table{head: []string{"from", "to", "distance", "path loss", "margin", "required", "works", "direct line"},
		right: []bool{false, false, true, true, true, true, true, false, false}}
	if t.r.Study != nil {
		rows.head = append(rows.head, "worst case")
	}
	rest := 0
	for i, l := range t.r.Links {
		if !l.InUse {
			rest++
			continue
		}
		cells := []string{l.From, l.To, metres(l.Distance), decibels(l.Loss), decibels(l.Margin), decibels(l.Required), analysis.Percent(l.Probability), clear(l.Clearance)}
		if t.r.Study != nil {
			cells = append(cells, t.worstWords(i))
		}
		rows.add(cells...)
	}
	if len(rows.rows) == 0 {
		t.line("  none")
	} else {
		t.lines(rows.lines("  "))
	}
	for _, l := range t.r.Links {
		if words := t.r.PastWords(l); l.InUse && words != "" {
			t.wrapped(fmt.Sprintf("%s to %s: %s.", l.From, l.To, words), "  ")
		}
	}
	t.wrapped("Path loss is without what is lost by how the devices are installed; the margin is the weaker direction's and takes in both. Installation: "+t.installation()+".", "  ")
	if rest > 0 {
		t.wrapped(fmt.Sprintf("%s not in use: see --json.", count(rest, "further link", "further links")), "  ")
	}
}

// installation lists what the devices lose by how they are installed.
func (t *textReport) installation() string {
	var out []string
	for _, g := range t.r.Installation() {
		out = append(out, g.Words())
	}
	return strings.Join(out, ". ")
}

// clear says how free the direct line is, by its smallest clearance in first
// Fresnel zones.
func clear(v float64) string {
	switch {
	case v < 0:
		return "blocked"
	case v < 0.05:
		return "grazing"
	case v < 0.6:
		return fmt.Sprintf("grazing, %.1f of the Fresnel zone free", v)
	}
	return "free"
}

var severities = []struct {
	severity model.Severity
	heading  string
}{{model.Fault, "Faults: the design does not do its job"}, {model.Warning, "Warnings: it may not"}, {model.Note, "Notes"}}

func (t *textReport) findings() {
	for _, s := range severities {
		var group, accepted []model.Finding
		for _, f := range t.r.Findings {
			switch {
			case f.Severity != s.severity:
			case f.Accepted != nil:
				accepted = append(accepted, f)
			default:
				group = append(group, f)
			}
		}
		if len(group)+len(accepted) == 0 {
			continue
		}
		t.heading(s.heading)
		ofRule := map[string]int{}
		for _, f := range group {
			ofRule[f.Rule]++
		}
		printed := map[string]int{}
		// Findings in a row with one remedy are told it once.
		remedy := ""
		advise := func() {
			if remedy != "" {
				t.wrapped(remedy, "    ")
			}
			remedy = ""
		}
		for _, f := range group {
			n := ofRule[f.Rule]
			short := s.severity != model.Fault && n > many
			switch printed[f.Rule]++; {
			case !short || printed[f.Rule] <= shown:
				own := t.whatToDo(f)
				if own != remedy {
					advise()
				}
				t.finding(f)
				remedy = own
			case printed[f.Rule] == shown+1:
				advise()
				t.wrapped(fmt.Sprintf("… and %d more like these (%s): see --json.", n-shown, f.Rule), "    ")
			}
		}
		advise()
		for _, f := range accepted {
			t.finding(f)
			t.wrapped(acceptance(*f.Accepted), "    ")
		}
	}
}

// soughtMost is for how many sensors a way to end their overspill or to keep
// foliage out is looked for.
const soughtMost = 30

// whatToDo returns what to do about a finding; for overspill and foliage the
// smallest turn, tilt or mask that would end it, where one is found.
func (t *textReport) whatToDo(f model.Finding) string {
	find, sought := map[string]func(string) string{"overspill": t.r.EndOverspill, "foliage": t.r.EndFoliage}[f.Rule]
	if !sought || f.Severity == model.Note {
		return f.Remedy
	}
	key := [2]string{f.Rule, f.Subject[0]}
	if t.ways == nil {
		t.ways = map[[2]string]string{}
	}
	way, known := t.ways[key]
	if !known && len(t.ways) < soughtMost {
		way = find(f.Subject[0])
		t.ways[key] = way
	}
	switch {
	case way == "":
		return f.Remedy
	case f.Rule == "foliage": // cutting is the first thing to do all the same
		return "Have it cut and kept cut, the nearest first. Or: " + strings.ToLower(way[:1]) + way[1:]
	}
	return way
}

func (t *textReport) finding(f model.Finding) {
	t.lines(wrap(f.Text, t.width, "  "+f.Rule+": ", "    "))
}

func acceptance(a model.Accepted) string {
	s := "Accepted"
	if a.By != "" {
		s += " by " + a.By
	}
	if a.At != "" {
		s += ", " + a.At
	}
	if a.Reason != "" {
		s += ": " + a.Reason
	}
	return s + "."
}

// settings prints what the figures rest on.
func (t *textReport) settings() {
	t.heading("Settings in force")
	p := t.r.Plan
	values := SettingValues(p.Settings)
	rows := table{head: []string{"setting", "value", ""}, right: []bool{false, true, false}}
	mark := func(path string, chosen bool) string {
		switch {
		case p.Stated(path):
			return "of the plan"
		case chosen:
			return "chosen"
		}
		return ""
	}
	var byRule []string
	for _, row := range model.SettingsTable {
		if !strings.Contains(row.Path, ".") {
			continue // the title block
		}
		if group, _, _ := strings.Cut(row.Path, "."); (group == "way_in" || group == "response") && len(p.Of(model.KindAsset)) == 0 {
			continue // nothing to come in to
		}
		if p.Settings.Rules == nil && slices.Contains(forRules, row.Path) {
			continue // nothing is reckoned with them
		}
		if strings.HasPrefix(row.Path, "addresses.") || model.ForSheets(row.Path) {
			continue // nothing here is reckoned with them
		}
		value := ""
		switch v := values[row.Path].(type) {
		case string:
			value = v
		case int:
			value = strconv.Itoa(v)
		case float64:
			value = measure(v, row.Unit)
		case *float64:
			if v != nil {
				value = measure(*v, row.Unit)
				break
			}
			if row.Path == "response.time_s" || row.Path == "radio.bandwidth_khz" {
				value = "not stated"
				break
			}
			value = "by rule"
			byRule = append(byRule, row.Label+" by rule: "+row.Help+".")
		}
		if value != "" {
			rows.add(row.Label, value, mark(row.Path, row.Chosen))
		}
	}
	for _, q := range p.Settings.Postures {
		rows.add("Further posture: "+q.Name, measure(q.Height, "m"), mark("postures", true))
	}
	t.lines(rows.lines("  "))
	t.wrapped("Chosen: our judgement and no standard; the plan may state another figure.", "  ")
	for _, rule := range byRule {
		t.wrapped(rule, "  ")
	}
}

// forRules are the settings that only the radio rules ask for.
var forRules = []string{"radio.message_s", "radio.copies", "radio.bandwidth_khz", "radio.storm_alarms", "radio.storm_s"}

// measure says a figure with its unit.
func measure(v float64, unit string) string {
	if unit == "" || unit == "°" {
		return number(v) + unit
	}
	return number(v) + " " + unit
}
