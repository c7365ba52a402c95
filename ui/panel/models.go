package panel

import (
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"pleach/model"
	"pleach/ui/editor"
)

// Models shows the sensor models, and edits those of the plan's own.
type Models struct {
	Object fyne.CanvasObject

	ed     func() *editor.Editor
	form   form
	pick   *Pick
	about  *Para
	warn   *Para // what is wrong with it
	do     *fyne.Container
	rows   *fyne.Container
	n      inner
	lobes  *fyne.Container
	cells  []func(model.Lobe)
	inside *fyne.Container
	id     string // shown
	at     int    // its place among the plan's own, -1 for a built-in one
	sel    string // the sensors selected then
	plan   *model.Plan
	key    string // what there are rows for
}

// NewModels makes the form.
func NewModels(ed func() *editor.Editor) *Models {
	m := &Models{ed: ed, about: NewPara("", ColorSoft, SizeNameSmall), warn: NewPara("", "", SizeNameSmall), do: VBox(0), rows: VBox(0), lobes: VBox(0), key: "\x00"}
	m.form.help = NewPara("", ColorSoft, SizeNameSmall)
	m.pick = NewPick()
	m.pick.Whole = m.form.whole
	m.pick.Focused = m.form.focused(model.Property{Label: "Sensor model", Help: "built-in ones are shown and copied; those of the plan's own are edited"})
	m.pick.Commit = func(v any) error { m.Show(v.(string)); return nil }
	m.warn.Bold = true
	m.inside = VBox(0, FormRow("Sensor model", m.pick), Inset(m.about, 0, 4, 0, 0), m.warn, m.do, m.rows)
	m.Object = pinned(m.inside, &m.form)
	return m
}

// Show shows another model.
func (m *Models) Show(id string) {
	m.id = id
	m.plan = nil
	m.form.left()
	m.Update()
}

// Update shows the models of the plan: that of a sensor once it is selected.
func (m *Models) Update() {
	p := m.ed().Plan()
	ids := m.selected()
	if sel := strings.Join(ids, "\n"); sel != m.sel {
		m.sel, m.plan = sel, nil
		if len(ids) > 0 {
			if s, ok := p.Feature(ids[0]).Value.(*model.Sensor); ok {
				m.id = s.Model
			}
		}
	}
	if p == m.plan {
		return
	}
	m.plan = p
	m.form.left()
	m.pick.Options = nil
	ours := map[string]bool{}
	for _, x := range p.Settings.Models {
		ours[x.ID] = true
	}
	for _, x := range p.Models() {
		label := x.ID
		if ours[x.ID] {
			label += ", of the plan"
		}
		m.pick.Options = append(m.pick.Options, Option{x.ID, label})
	}
	x := m.model(p)
	m.id = x.ID
	m.pick.Set(nil, m.id, false) // the words of its option are for the list
	i, own := p.ModelIndex(m.id)
	if m.at = i; !own {
		m.at = -1
	}
	m.tell(p, x, own)
	key := fmt.Sprint(m.id, own, i, len(x.Lobes))
	if key != m.key {
		m.key = key
		m.build(x, own)
	}
	m.n.show()
	for k, c := range m.cells {
		c(x.Lobes[k/len(model.LobeProperties)])
	}
	m.inside.Refresh()
}

// model is the model that is shown: where the plan has it no more, the one in its
// place, that of the sensor selected, or the first.
func (m *Models) model(p *model.Plan) model.SensorModel {
	if x, ok := p.Model(m.id); ok {
		return x
	}
	if own := p.Settings.Models; m.at >= 0 && m.at < len(own) {
		return own[m.at]
	}
	if ids := m.selected(); len(ids) > 0 {
		if s, ok := p.Feature(ids[0]).Value.(*model.Sensor); ok {
			if x, ok := p.Model(s.Model); ok {
				return x
			}
		}
	}
	return p.Models()[0]
}

// tell says whose the model is and what uses it, and offers what can be done.
func (m *Models) tell(p *model.Plan, x model.SensorModel, own bool) {
	users := p.SensorsOf(x.ID)
	use := "No sensor is of this model."
	switch n := len(users); {
	case n == 1:
		use = users[0] + " is of this model."
	case n > 6:
		use = fmt.Sprintf("%d sensors are of this model.", n)
	case n > 1:
		use = strings.Join(users, ", ") + " are of this model."
	}
	built := "Built-in: nobody's product. Copy it to edit its figures. "
	if own {
		built = ""
		for _, b := range model.Builtin() {
			if b.ID == x.ID {
				built = "In the plan in place of the built-in one of this id. "
			}
		}
	}
	m.about.SetText(built + use)
	var wrong []string
	for _, f := range p.Flaws {
		if f.Feature == "sensor model "+x.ID {
			wrong = append(wrong, Sentence(f.Property+" "+f.Text))
		}
	}
	m.warn.SetText(strings.Join(wrong, "\n"))
	m.warn.Hidden = len(wrong) == 0
	m.do.RemoveAll()
	add := func(words string, do func() error) {
		m.do.Add(action(words, func() {
			if err := do(); err != nil {
				m.form.failed(err)
			}
		}))
	}
	add("Copy under a new id", func() error {
		id := m.ed().Settled().NewModelID(x.ID)
		shown := m.id
		m.id = id
		if err := sound(m.ed(), model.CopyModel{From: x.ID, To: id}); err != nil {
			m.id = shown
			return err
		}
		m.Update()
		return nil
	})
	if sensors := slices.DeleteFunc(m.selected(), func(id string) bool { return slices.Contains(users, id) }); len(sensors) > 0 {
		who := strings.Join(sensors, ", ")
		if len(sensors) > 3 {
			who = fmt.Sprintf("the %d sensors selected", len(sensors))
		}
		add("Give it to "+who, func() error {
			var steps []model.Edit
			for _, id := range sensors {
				steps = append(steps, model.Set{ID: id, Values: []model.Value{{Property: "model", Value: x.ID}}})
			}
			return sound(m.ed(), model.Together{Name: "give " + x.ID + " to sensors", Edits: steps})
		})
	}
	if own && len(users) == 0 {
		add("Take it out of the plan", func() error {
			i, ok := m.ed().Settled().ModelIndex(x.ID)
			if !ok {
				return nil
			}
			return sound(m.ed(), model.Change{Path: fmt.Sprintf("models.%d", i), Name: "take out sensor model " + x.ID})
		})
	}
}

// selected are the sensors that are selected.
func (m *Models) selected() (ids []string) {
	for _, id := range m.ed().Selected() {
		if f := m.ed().Plan().Feature(id); f != nil && f.Kind == model.KindSensor {
			ids = append(ids, id)
		}
	}
	return ids
}

func (m *Models) build(x model.SensorModel, own bool) {
	m.rows.RemoveAll()
	m.lobes.RemoveAll()
	m.cells = nil
	path := func() string {
		i, _ := m.ed().Settled().ModelIndex(m.id)
		return fmt.Sprintf("models.%d", i)
	}
	m.n = inner{form: &m.form, ed: m.ed, who: func() string { return "sensor model " + m.id }, edit: inSettings(path)}
	of := func() model.SensorModel { x, _ := m.ed().Plan().Model(m.id); return x }
	add := func(n *inner, p model.Property, path string, says func() (string, bool)) {
		if own {
			m.rows.Add(n.row(p, path, says))
			return
		}
		m.rows.Add(shownRow(n, p, says))
	}
	if own {
		p := model.Property{Name: "id", Label: "Id", Required: true, Type: model.Text, Help: "sensors name it; they follow when it changes"}
		v := NewValue("")
		v.Commit = func(text string) error {
			if _, err := Typed(p, text); err != nil {
				return err
			}
			was := m.id
			m.id = text
			if err := sound(m.ed(), model.RenameModel{From: was, To: text}); err != nil {
				m.id = was
				return err
			}
			m.form.left()
			return nil
		}
		m.form.serve(v, p)
		m.n.shows = append(m.n.shows, func() { v.Set(m.id, false) })
		m.rows.Add(FormRow(p.Label, v))
	}
	for _, p := range model.ModelProperties {
		add(&m.n, p, p.Name, func() (string, bool) {
			switch x := of(); p.Name {
			case "name":
				return x.Name, x.Name == ""
			case "mount_min_m":
				return number(x.MountMin), false
			default:
				return number(x.MountMax), false
			}
		})
	}
	m.rows.Add(subhead("Lobes, in degrees and metres"))
	m.rows.Add(m.lobeTable(len(x.Lobes), own))
	part := func(title, member string) *inner {
		m.rows.Add(subhead(title))
		n := &inner{form: &m.form, ed: m.ed, who: m.n.who, edit: inSettings(func() string { return path() + "." + member })}
		m.n.shows = append(m.n.shows, n.show)
		return n
	}
	n := part("Radio", "radio")
	radios := func() []radioOf { return []radioOf{{own: of().Radio, kind: model.KindSensor}} }
	if own {
		m.rows.Add(radioForm(n, true, radios))
	} else {
		for _, p := range model.RadioProperties {
			m.rows.Add(shownRow(n, p, func() (string, bool) { return radios()[0].says(p) }))
		}
	}
	n = part("Supply", "supply")
	supplies := func() []*model.Supply { return []*model.Supply{of().Supply} }
	if own {
		m.rows.Add(supplyForm(n, model.KindSensor, supplies))
	} else {
		for _, p := range model.SupplyProperties {
			m.rows.Add(shownRow(n, p, func() (string, bool) { return stated(supplyOf(of().Supply)[p.Name], "not stated") }))
		}
	}
	n = part("Optics, for signals alone", "optics")
	for _, p := range model.OpticsProperties {
		add(n, p, p.Name, func() (string, bool) {
			o := of().Optics
			return stated(map[string]*float64{"zone_width_deg": o.ZoneWidth, "zone_height_deg": o.ZoneHeight, "zone_period_deg": o.ZonePeriod, "low_hz": o.LowHz, "high_hz": o.HighHz}[p.Name], "typical")
		})
	}
}

// shownRow is a row for something that is only shown.
func shownRow(n *inner, p model.Property, says func() (string, bool)) fyne.CanvasObject {
	row, l := n.form.figure(p.Label, "")
	n.shows = append(n.shows, func() {
		text, soft := says()
		if _, err := ParseNumber(text); err == nil && p.Unit != "" {
			text += map[bool]string{true: p.Unit, false: " " + p.Unit}[p.Unit == "°"]
		}
		if l.Color = ""; soft {
			l.Color = ColorSoft
		}
		l.SetText(text)
	})
	return row
}

// lobeHeads are the headings over the columns of the table of lobes.
var lobeHeads = []string{"Azimuth", "Width", "Up", "Down", "Reach"}

// lobeTable lists count lobes, a lobe a row.
func (m *Models) lobeTable(count int, own bool) fyne.CanvasObject {
	heads := container.New(lobeRow{rowHeight() * 0.8})
	for _, h := range lobeHeads {
		heads.Add(Inset(NewLine(h, ColorSoft, SizeNameSmall).Right().Cut(), 0, 2, 6, 0))
	}
	m.lobes.Add(heads)
	for i := range count {
		row := container.New(lobeRow{rowHeight()})
		for k, p := range model.LobeProperties {
			says := func(l model.Lobe) string { return number([]float64{l.Azimuth, l.Width, l.Up, l.Down, l.Range}[k]) }
			if !own {
				l := NewLine("", "", "").Right().Cut()
				m.cells = append(m.cells, func(x model.Lobe) { l.SetText(says(x)) })
				row.Add(Inset(l, 0, 4, 6, 4))
				continue
			}
			help := p
			switch p.Name {
			case "azimuth_deg":
				help.Help = "of its middle, relative to the sensor's bearing"
			case "width_deg":
				help.Help = "all of it, from side to side"
			case "up_deg":
				help.Help = "upper limit above the tilted axis, below 0 for a lobe that looks down"
			case "down_deg":
				help.Help = "lower limit below the tilted axis"
			case "range_m":
				help.Help = "slant"
			}
			v := NewValue("")
			v.Narrow = true
			v.Commit = func(text string) error {
				val, err := Typed(p, text)
				if err != nil {
					return err
				}
				return m.n.do(fmt.Sprintf("set %s of lobe %d of %s", lowerFirst(p.Label), i+1, m.id), m.n.edit(fmt.Sprintf("lobes.%d.%s", i, p.Name), val))
			}
			m.form.serve(v, help)
			m.cells = append(m.cells, func(x model.Lobe) { v.Set(says(x), false) })
			row.Add(v)
		}
		if own {
			cross := NewRow(container.NewCenter(NewLine("×", ColorSoft, "")), func() {
				if err := m.n.do(fmt.Sprintf("take away lobe %d of %s", i+1, m.id), m.n.edit(fmt.Sprintf("lobes.%d", i), nil)); err != nil {
					m.form.failed(err)
				}
			})
			cross.Pad = 0
			row.Add(cross)
		}
		m.lobes.Add(row)
	}
	if own {
		m.lobes.Add(action("Another lobe, like the last one", func() {
			x, ok := m.ed().Settled().Model(m.id)
			if !ok || len(x.Lobes) == 0 {
				return
			}
			if err := m.n.do("add a lobe to "+m.id, m.n.edit(fmt.Sprintf("lobes.%d", len(x.Lobes)), lobeValue(x.Lobes[len(x.Lobes)-1]))); err != nil {
				m.form.failed(err)
			}
		}))
	}
	return m.lobes
}

// lobeValue is a lobe as it stands in the plan file.
func lobeValue(l model.Lobe) any {
	return struct {
		Azimuth float64 `json:"azimuth_deg"`
		Width   float64 `json:"width_deg"`
		Up      float64 `json:"up_deg"`
		Down    float64 `json:"down_deg"`
		Range   float64 `json:"range_m"`
	}{l.Azimuth, l.Width, l.Up, l.Down, l.Range}
}

// lobeRow lays the five figures of a lobe, and at the end what takes it away.
type lobeRow struct{ high float32 }

const crossWidth = 22 // units at text size 1

func (r lobeRow) Layout(os []fyne.CanvasObject, s fyne.Size) {
	cross := crossWidth * rowHeight() / valueHeight
	w := (s.Width - cross) / float32(len(lobeHeads))
	for i, o := range os {
		o.Move(fyne.NewPos(w*float32(i), 0))
		o.Resize(fyne.NewSize(w-4, r.high))
		if i == len(lobeHeads) {
			o.Resize(fyne.NewSize(cross, r.high))
		}
	}
}

func (r lobeRow) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(200, r.high) }
