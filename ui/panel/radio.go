package panel

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"pleach/model"
	"pleach/model/calibration"
	"pleach/model/spectrum"
	"pleach/ui/editor"
)

// Radio is what the plan says of radio as a whole: what links are reckoned with,
// the rules devices are held against, and whether readings correct the links.
type Radio struct {
	Object fyne.CanvasObject

	ed       func() *editor.Editor
	form     form
	settings *Settings
	rules    *rulesForm
	cal      inner
	inside   *fyne.Container
	plan     *model.Plan // shown last
}

// OfRadio says which settings the radio panel shows.
func OfRadio(path string) bool { return strings.HasPrefix(path, "radio.") }

// NewRadio makes the form.
func NewRadio(ed func() *editor.Editor) *Radio {
	r := &Radio{ed: ed}
	r.form.help = NewPara("", ColorSoft, SizeNameSmall)
	r.settings = newSettings(ed, OfRadio, &r.form)
	r.rules = newRulesForm(ed, &r.form)
	r.inside = VBox(0, r.settings.inside, r.rules.object, r.calibration())
	r.Object = pinned(r.inside, &r.form)
	return r
}

// pinned is a form that scrolls over its help line, which stays in view.
func pinned(inside fyne.CanvasObject, f *form) fyne.CanvasObject {
	return container.NewBorder(nil, Inset(f.help, 12, 2, 12, 8), nil, nil, container.NewVScroll(Inset(inside, 12, 0, 14, 10)))
}

// Update shows what the plan says.
func (r *Radio) Update() {
	r.settings.Update()
	p := r.ed().Plan()
	if p == r.plan {
		return
	}
	r.plan = p
	r.form.left()
	r.rules.show(p)
	r.cal.show()
	r.inside.Refresh()
}

// calibrationPath is where a plan says whether readings correct its links.
const calibrationPath = "radio.calibration"

// calibration makes the switch and its figures. The member is true or false, or an
// object where figures stand beside the switch.
func (r *Radio) calibration() fyne.CanvasObject {
	r.cal = inner{form: &r.form, ed: r.ed, who: func() string { return "the correction by readings" }, edit: func(path string, v any) []model.Edit {
		p := r.ed().Settled()
		raw, _ := p.Raw(calibrationPath)
		if _, err := model.ParseObject(raw); err == nil {
			if path == "use" && v == nil {
				v = false
			}
			return []model.Edit{model.Change{Path: join(calibrationPath, path), Value: v}}
		}
		if path != "use" {
			v = map[string]any{"use": p.Settings.Calibration.Use, path: v}
		}
		return []model.Edit{model.Change{Path: calibrationPath, Value: v}}
	}}
	of := func() model.Calibration { return r.ed().Plan().Settings.Calibration }
	use := model.Property{Name: "use", Label: "Correct the links", Type: model.Flag,
		Help: "what the readings of signal say of each class of links is added to every link of it, and its spread decides the margin asked for"}
	means := NewPara("", ColorSoft, SizeNameSmall)
	box := VBox(0, subhead("Readings of signal"), r.cal.row(use, use.Name, func() (string, bool) { return yes(of().Use), !of().Use }))
	defaults := calibration.Defaults()
	for _, p := range model.CalibrationProperties {
		var def float64
		switch p.Name {
		case "saturated_dbm":
			p.Label, def, p.Help = "Saturated above", *defaults.SaturatedDBm, "readings above it are set aside"
		case "limit_db":
			p.Label, def, p.Help = "Set aside within", *defaults.LimitDB, "readings less than this above the sensitivity of the device that read them"
		case "least":
			p.Label, def, p.Help = "Least of a class", float64(defaults.Least), "readings that a class of links needs for a correction of its own; a class of fewer takes that of all together"
		}
		p.Default, p.Chosen = def, true
		box.Add(r.cal.row(p, p.Name, func() (string, bool) {
			c := of()
			v := map[string]*float64{"saturated_dbm": c.Saturated, "limit_db": c.Limit}[p.Name]
			if n := float64(c.Least); p.Name == "least" && c.Least > 0 {
				v = &n
			}
			return stated(v, figure(def, p.Unit)+", by default")
		}))
	}
	r.cal.shows = append(r.cal.shows, func() {
		if of().Use {
			means.SetText("Every link is rated with what the readings of its class say: the mean of their differences is added to its level, and their spread takes the place of the shadowing.")
		} else {
			means.SetText("The readings are shown against the predictions and change nothing.")
		}
	})
	box.Add(Inset(means, 0, 4, 0, 0))
	return box
}

// rulesPath is where a plan names its radio rules or writes them out.
const rulesPath = "radio.rules"

// rulesForm picks the radio rules and edits those that the plan writes out.
type rulesForm struct {
	object *fyne.Container
	ed     func() *editor.Editor
	n      inner // of the rules written out
	pick   *Pick
	about  *Para
	warn   *Para
	do     *fyne.Container // what can be done with them
	head   *fyne.Container // id, name, … of those written out
	bands  *fyne.Container
	chosen int    // band, -1 for none
	key    string // the bands there are rows for
	rows   inner  // of the chosen band
	lines  [][4]*Line
}

// Values of the pick of rules that name no rule set of the program.
const (
	noRules  = ""
	ownRules = "\x00own"
)

func newRulesForm(ed func() *editor.Editor, f *form) *rulesForm {
	r := &rulesForm{ed: ed, about: NewPara("", ColorSoft, SizeNameSmall), warn: NewPara("", "", SizeNameSmall), do: VBox(0), head: VBox(0), bands: VBox(0), chosen: -1, key: "\x00"}
	r.warn.Bold = true
	r.n = inner{form: f, ed: ed, who: func() string { return "the radio rules" }, edit: inSettings(func() string { return rulesPath })}
	help := model.Property{Label: "Radio rules", Help: "what devices are held against: power, time on the air, bandwidth"}
	r.pick = NewPick()
	f.serve(r.pick, help)
	r.pick.Commit = func(v any) error {
		switch v {
		case ownRules:
			return nil // they are the plan's already
		case noRules:
			return r.n.do("use no radio rules", r.n.edit("", nil))
		}
		return r.n.do("use radio rules "+v.(string), r.n.edit("", v))
	}
	for _, q := range model.RulesProperties {
		r.head.Add(r.n.row(q, q.Name, func() (string, bool) { return r.says(q.Name), false }))
	}
	r.object = VBox(0, subhead("Radio rules"), FormRow("Rule set", r.pick), Inset(r.about, 0, 4, 0, 0), Inset(r.warn, 0, 4, 0, 0), r.do, r.head, r.bands)
	return r
}

// says is a text of the rules in force.
func (r *rulesForm) says(member string) string {
	s := r.ed().Plan().Settings.Rules
	if s == nil {
		return ""
	}
	return map[string]string{"id": s.ID, "name": s.Name, "country": s.Country, "date": s.Date, "source": s.Source}[member]
}

// own reports whether the plan writes its rules out.
func own(p *model.Plan) bool {
	raw, ok := p.Raw(rulesPath)
	return ok && len(raw) > 0 && raw[0] == '{'
}

func (r *rulesForm) show(p *model.Plan) {
	rules, own := p.Settings.Rules, own(p)
	r.pick.Options = []Option{{noRules, "none"}}
	for _, b := range spectrum.Builtin() {
		r.pick.Options = append(r.pick.Options, Option{b.ID, fmt.Sprintf("%s, %s", b.Country, b.Date)})
	}
	switch {
	case own && rules != nil:
		r.pick.Options = append(r.pick.Options, Option{ownRules, "of the plan: " + rules.ID})
		r.pick.Set(ownRules, "", false)
	case own:
		r.pick.Options = append(r.pick.Options, Option{ownRules, "of the plan, flawed"})
		r.pick.Set(ownRules, "", false)
	case rules == nil:
		r.pick.Set(noRules, "", true)
	default:
		r.pick.Set(rules.ID, rules.ID, false)
	}
	r.tell(p, rules, own)
	r.head.Hidden = !own || rules == nil
	if !r.head.Hidden {
		r.n.show()
	}
	r.showBands(rules, own)
	r.object.Refresh()
}

// tell says what the rules are, what has to be checked, and offers what can be done.
func (r *rulesForm) tell(p *model.Plan, rules *spectrum.Rules, own bool) {
	r.do.RemoveAll()
	var about, warn string
	switch {
	case rules == nil && own:
		var flaws []string
		for _, f := range p.Flaws {
			if strings.HasPrefix(f.Property, "pleach."+rulesPath) {
				flaws = append(flaws, Sentence(f.Error()))
			}
		}
		warn = strings.Join(flaws, "\n")
		about = "Another rule set takes their place; undo brings them back."
	case rules == nil:
		about = "Nothing is judged: not the power of a device, nor its time on the air, nor a storm of alarms."
	case !own:
		about = fmt.Sprintf("%s. Taken down %s. Source: %s.", rules.Name, rules.Date, rules.Source)
		r.do.Add(action("Copy into the plan, to be edited", func() {
			copied := *rules
			copied.ID += "-plan"
			if err := r.n.do("copy radio rules "+rules.ID, r.n.edit("", copied)); err != nil {
				r.n.form.failed(err)
			}
		}))
	default:
		about = "The plan writes these rules out."
	}
	if rules != nil {
		n := 0
		for _, b := range rules.Bands {
			if b.FromMemory {
				n++
			}
		}
		if n > 0 {
			warn = fmt.Sprintf("%d of %d bands have figures from memory: check with the local authority.", n, len(rules.Bands))
		}
	}
	r.about.SetText(about)
	r.warn.SetText(warn)
	r.about.Hidden, r.warn.Hidden = about == "", warn == ""
}

// showBands lists the bands of the rules, the fields of the chosen one under it.
func (r *rulesForm) showBands(rules *spectrum.Rules, own bool) {
	n := 0
	if rules != nil {
		n = len(rules.Bands)
	}
	if r.chosen >= n {
		r.chosen = -1
	}
	key := fmt.Sprint(n, own, r.chosen)
	if key != r.key {
		r.key = key
		r.build(n, own)
	}
	for i, l := range r.lines {
		if i < n {
			for k, words := range bandCells(rules.Bands[i]) {
				l[k].SetText(words)
			}
		}
	}
	r.rows.show()
}

// bandCells is a band on a line: its span, greatest power, duty cycle, and what it
// is for.
func bandCells(b spectrum.Band) [4]string {
	c := [4]string{bandSpan(b), figure(round(b.MaxERPDBm, 1), "dBm")}
	if b.FieldUVm != nil {
		c[1] = "by field"
	}
	if b.Duty > 0 {
		c[2] = number(round(b.Duty*100, 4)) + " %"
	}
	var words []string
	if b.Use != spectrum.Any {
		words = append(words, b.Use)
	}
	if b.FromMemory {
		words = append(words, "to check")
	}
	c[3] = strings.Join(words, ", ")
	return c
}

// bandRow lays the cells of a band; a cell gets what the one before leaves.
type bandRow struct{}

var bandShares = [4]float32{0.36, 0.18, 0.13, 0.33}

func (bandRow) Layout(os []fyne.CanvasObject, s fyne.Size) {
	x := float32(0)
	for i, o := range os {
		w := s.Width * bandShares[i]
		gap := float32(0)
		if i == 3 {
			gap = 10
		}
		o.Move(fyne.NewPos(x+gap, 4))
		o.Resize(fyne.NewSize(w-gap, s.Height-8))
		x += w
	}
}

func (bandRow) MinSize(os []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(200, os[0].MinSize().Height+8)
}

func bandSpan(b spectrum.Band) string { return number(b.FromMHz) + "–" + number(b.ToMHz) + " MHz" }

func round(v float64, places int) float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'f', places, 64), 64)
	return r
}

func (r *rulesForm) build(n int, own bool) {
	r.lines, r.rows = nil, inner{}
	r.bands.RemoveAll()
	if n > 0 {
		r.bands.Add(Inset(NewLine("Sub-bands", ColorSoft, SizeNameSmall), 0, 8, 0, 2))
	}
	for i := range n {
		var cells [4]*Line
		for k := range cells {
			cells[k] = NewLine("", "", SizeNameSmall).Cut()
		}
		r.lines = append(r.lines, cells)
		row := NewRow(container.New(bandRow{}, cells[0], cells[1].Right(), cells[2].Right(), cells[3]), func() { r.choose(i) })
		row.Pad = 4
		row.SetChosen(i == r.chosen)
		r.bands.Add(row)
		if i == r.chosen {
			r.bands.Add(Inset(r.band(i, own), 10, 2, 0, 8))
		}
	}
	if own && n > 0 {
		r.bands.Add(action("Another sub-band, like the chosen or the last one", r.another))
	}
}

// choose opens a band, or closes it.
func (r *rulesForm) choose(i int) {
	if i == r.chosen {
		i = -1
	}
	r.chosen = i
	r.show(r.ed().Plan())
}

func (r *rulesForm) another() {
	rules := r.ed().Settled().Settings.Rules
	if rules == nil {
		return
	}
	like := len(rules.Bands) - 1
	if r.chosen >= 0 {
		like = r.chosen
	}
	raw, ok := r.ed().Settled().Raw(rulesPath)
	if !ok {
		return
	}
	var all struct{ Bands []json.RawMessage }
	if json.Unmarshal(raw, &all) != nil || like >= len(all.Bands) {
		return
	}
	if err := r.n.do("add a sub-band", r.n.edit(fmt.Sprintf("bands.%d", len(all.Bands)), all.Bands[like])); err != nil {
		r.n.form.failed(err)
		return
	}
	r.chosen = len(all.Bands)
	r.show(r.ed().Plan())
}

// band is what a band states, in fields where the plan writes the rules out.
func (r *rulesForm) band(i int, own bool) fyne.CanvasObject {
	box := VBox(0)
	r.rows = inner{form: r.n.form, ed: r.ed, who: func() string { return fmt.Sprintf("sub-band %d", i+1) }, edit: inSettings(func() string { return fmt.Sprintf("%s.bands.%d", rulesPath, i) })}
	of := func() (b spectrum.Band) {
		if s := r.ed().Plan().Settings.Rules; s != nil && i < len(s.Bands) {
			b = s.Bands[i]
		}
		return b
	}
	for _, p := range model.BandProperties {
		says := func() (string, bool) { return bandSays(of(), p) }
		if !own {
			text, soft := says()
			if soft {
				continue // what it does not limit
			}
			if p.Type == model.Text {
				box.Add(FormRow(p.Label, Inset(NewPara(text, "", ""), 4, 3, 6, 3)))
				continue
			}
			if p.Unit != "" {
				text += " " + p.Unit
			}
			row, _ := r.n.form.figure(p.Label, text)
			box.Add(row)
			continue
		}
		if p.Type == model.Other {
			box.Add(FormRow(p.Label, r.rows.value(p, p.Name, pairs(p), says)))
			continue
		}
		box.Add(r.rows.row(p, p.Name, says))
	}
	if own {
		box.Add(action("Take this sub-band away", func() {
			if err := r.n.do("take away "+r.rows.who(), r.rows.edit("", nil)); err != nil {
				r.n.form.failed(err)
			}
		}))
	}
	return box
}

// bandSays is what a band states; soft where it states nothing, so that there is no
// limit.
func bandSays(b spectrum.Band, p model.Property) (text string, soft bool) {
	limit := func(v float64) (string, bool) {
		if v == 0 {
			return "no limit", true
		}
		return number(v), false
	}
	switch p.Name {
	case "from_mhz":
		return number(b.FromMHz), false
	case "to_mhz":
		return number(b.ToMHz), false
	case "except":
		var parts []string
		for _, e := range b.Except {
			parts = append(parts, number(e[0])+"-"+number(e[1]))
		}
		return strings.Join(parts, ", "), len(parts) == 0
	case "max_erp_dbm":
		if b.FieldUVm != nil {
			return "by the field", true
		}
		return number(b.MaxERPDBm), false
	case "field_uv_m":
		if b.FieldUVm == nil {
			return "", true
		}
		return number(b.FieldUVm[0]) + ", " + number(b.FieldUVm[1]), false
	case "duty":
		return limit(b.Duty)
	case "supervision_s_per_hour":
		return limit(b.SupervisionS)
	case "longest_s":
		return limit(b.LongestS)
	case "max_bandwidth_khz":
		return limit(b.MaxBandwidthKHz)
	case "use":
		return b.Use, false
	case "condition":
		return b.Condition, b.Condition == ""
	case "from_memory":
		return yes(b.FromMemory), !b.FromMemory
	case "source":
		return b.Source, b.Source == ""
	}
	panic("no member of a band: " + p.Name)
}

// pairs reads what is typed for members of a band that are pairs of numbers:
// stretches such as 868.6-868.7, 869.2-869.4, or the field at both ends.
func pairs(p model.Property) func(string) (any, error) {
	return func(text string) (any, error) {
		if text == "" {
			return nil, nil
		}
		wrong := fmt.Errorf("%s cannot be %s: %s", p.Label, text, p.Help)
		var out [][2]float64
		parts := strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' })
		if p.Name == "field_uv_m" {
			parts = []string{strings.Join(parts, "-")}
		}
		for _, part := range parts {
			ends := strings.FieldsFunc(part, func(r rune) bool { return r == '-' || r == '–' })
			if len(ends) != 2 {
				return nil, wrong
			}
			var pair [2]float64
			for i, e := range ends {
				v, err := ParseNumber(e)
				if err != nil {
					return nil, wrong
				}
				pair[i] = v
			}
			out = append(out, pair)
		}
		if p.Name == "field_uv_m" {
			return out[0], nil
		}
		slices.SortFunc(out, func(a, b [2]float64) int {
			if a[0] < b[0] {
				return -1
			}
			return 1
		})
		return out, nil
	}
}

// subhead is a heading inside a panel.
func subhead(words string) fyne.CanvasObject {
	return Inset(NewLine(words, "", "").Strong().Cut(), 0, 10, 0, 2)
}
