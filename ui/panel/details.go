package panel

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/coverage"
	"pleach/model/order"
	"pleach/model/scene"
	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// Details shows what is selected, with a field for each property of its kind.
type Details struct {
	Object fyne.CanvasObject
	Said   func(string) // takes what an edit has to say

	Resized func() // Need has changed

	ed      func() *editor.Editor
	result  func() *analysis.Result
	look    *Look
	form    form
	need    float32
	box     *fyne.Container
	scroll  *container.Scroll
	fields  []*field
	key     string
	plan    *model.Plan // shown last
	mark    *Swatch
	head    *Line
	sub     *Line
	flaws   *Para
	assumed *Para
	facts   *fyne.Container
	said    *Para // what the facts rest on
	factOf  string
	battery struct { // of the plan that is settled
		of    string
		facts []fact
	}
	aim    *aimBox      // of a single sensor, else nil
	outs   *outputTable // of a receiver
	links  *linkBox
	empty  *Para
	inside *fyne.Container
}

// NewDetails makes the panel.
func NewDetails(look *Look, ed func() *editor.Editor, result func() *analysis.Result) *Details {
	d := &Details{ed: ed, result: result, look: look}
	d.form.help = NewPara("", ColorSoft, SizeNameSmall)
	d.mark = NewSwatch(look, drawing.None, fyne.NewSize(34, 24))
	d.head = NewLine("", "", "").Strong().Cut()
	d.sub = NewLine("", ColorSoft, SizeNameSmall).Cut()
	d.flaws = NewPara("", "", SizeNameSmall)
	d.flaws.Bold = true
	d.assumed = NewPara("", ColorSoft, SizeNameSmall)
	d.facts = VBox(0)
	d.said = NewPara("", ColorSoft, SizeNameSmall)
	d.box = VBox(0)
	d.empty = NewPara("Nothing is selected. Click on the map or in a list.", ColorSoft, "")
	d.links = newLinkBox(ed, &d.form)
	d.inside = VBox(8, d.empty, d.links.object)
	d.scroll = container.NewVScroll(Inset(d.inside, 12, 2, 14, 12))
	d.Object = container.NewBorder(nil, Inset(d.form.help, 12, 0, 12, 8), nil, nil, d.scroll)
	d.Update()
	return d
}

// Need is the height that shows everything.
func (d *Details) Need() float32 {
	return d.inside.MinSize().Height + 18 + d.form.help.MinSize().Height + 12
}

// Update brings the panel into line with selection, plan and result.
func (d *Details) Update() {
	e := d.ed()
	var fs []*model.Feature
	key := ""
	for _, id := range e.Selected() {
		if f := e.Plan().Feature(id); f != nil {
			fs = append(fs, f)
			key += string(f.Kind) + " " + id + "\n"
			if f.Kind == model.KindReading {
				key += textOf(f, "what") + "\n"
			}
		}
	}
	if len(fs) > 0 && fs[0].Kind == model.KindSensor {
		for _, m := range e.Plan().Models() {
			key += m.ID + " " + m.Name + "\n"
		}
	}
	if e.Plan() != d.plan {
		d.plan = e.Plan()
		d.form.left()
	}
	if key != d.key {
		d.key = key
		d.form.left()
		d.form.help.SetText("")
		d.build(fs)
	}
	if len(fs) > 0 {
		d.title(fs)
		for _, f := range d.fields {
			f.show(fs)
		}
		d.showFlaws(fs)
		d.showAssumed(fs)
		d.showFacts(fs)
		d.showAim(fs)
	}
	if d.links.show(d.result(), fs) {
		d.inside.Refresh()
	}
	_, _, linked := e.Link()
	d.empty.Hidden = linked
	if n := d.Need(); n != d.need {
		d.need = n
		if d.Resized != nil {
			d.Resized()
		}
	}
}

// build makes the rows for what is selected.
func (d *Details) build(fs []*model.Feature) {
	d.fields, d.factOf = nil, ""
	d.box.RemoveAll()
	d.inside.RemoveAll()
	defer d.scroll.ScrollToTop()
	if len(fs) == 0 {
		d.inside.Add(d.empty)
		d.inside.Add(d.links.object)
		d.inside.Refresh()
		return
	}
	d.inside.Add(container.NewBorder(nil, nil, d.mark, nil, Inset(VBox(1, d.head, d.sub), 8, 0, 0, 0)))
	d.flaws.Least, d.assumed.Least = 0, 0
	d.inside.Add(d.flaws)
	d.inside.Add(d.assumed)
	kind := fs[0].Kind
	same := !slices.ContainsFunc(fs, func(f *model.Feature) bool { return f.Kind != kind })
	if same && kind != "" {
		info, _ := model.Info(kind)
		for _, p := range info.Properties {
			if f := d.field(kind, p, fs); f != nil {
				d.fields = append(d.fields, f)
				d.box.Add(f.row)
			}
		}
		d.inside.Add(d.box)
	}
	d.aim = nil
	if same && kind == model.KindSensor && len(fs) == 1 {
		d.aim = newAimBox(d.ed, &d.form)
		d.inside.Add(d.aim.object)
	}
	d.inside.Add(d.facts)
	d.inside.Add(d.said)
	d.inside.Add(d.links.object)
	if same {
		d.radioAndSupply(kind, fs)
	}
	if _, ok := fs[0].Geometry.(orb.Point); ok && len(fs) == 1 && kind != "" {
		// Last, as they are read least.
		where := VBox(0, Inset(NewLine("Place", ColorSoft, SizeNameSmall), 0, 6, 0, 2))
		for i, name := range []string{"Longitude", "Latitude"} {
			f := d.coordinate(fs[0].ID, i, name)
			d.fields = append(d.fields, f)
			where.Add(f.row)
		}
		d.inside.Add(where)
	}
	d.inside.Refresh()
}

// set makes the step that gives all selected features a property.
func (d *Details) set(p model.Property) func(any) error {
	return func(v any) error {
		e := d.ed()
		ids := e.Selected()
		name := fmt.Sprintf("set %s of %s", strings.ToLower(p.Label), strings.Join(ids, ", "))
		if len(ids) > 3 {
			name = fmt.Sprintf("set %s of %d features", strings.ToLower(p.Label), len(ids))
		}
		var steps []model.Edit
		for _, id := range ids {
			steps = append(steps, model.Set{ID: id, Values: []model.Value{{Property: p.Name, Value: v}}, Name: name})
		}
		if len(steps) == 1 {
			return e.Do(steps[0])
		}
		return e.Do(model.Together{Name: name, Edits: steps})
	}
}

func (d *Details) field(kind model.Kind, p model.Property, fs []*model.Feature) *field {
	if kind == model.KindSensor && p.Name == "model" {
		var os []Option
		for _, m := range d.ed().Plan().Models() {
			name := m.Name
			if name == "" {
				name = m.ID
			}
			os = append(os, Option{m.ID, name})
		}
		return d.form.pick(p, NewPick(os...), d.set(p))
	}
	if kind == model.KindSensor && p.Name == "masked" {
		if len(fs) != 1 {
			return nil
		}
		return d.masked(p)
	}
	if kind == model.KindReading && !asksFor(fs, p.Name) {
		return nil
	}
	if kind == model.KindReceiver && p.Name == "outputs" {
		if len(fs) != 1 {
			return nil
		}
		return d.outputs(fs[0].ID)
	}
	if kind == model.KindSensor && p.Name == "bearing_deg" {
		// Written as an engineer reads it: from 0 up to 360.
		set := d.set(p)
		return d.form.property(p, func(v any) error {
			if b, ok := v.(float64); ok {
				if b = math.Mod(b, 360); b < 0 {
					b = math.Mod(b+360, 360)
				}
				v = b
			}
			return set(v)
		})
	}
	return d.form.property(p, d.set(p))
}

// masked shows the masked spans, with a way to take them away.
func (d *Details) masked(p model.Property) *field {
	value := newShown("")
	value.whole = d.form.whole
	words := value.line
	clear := NewRow(container.NewCenter(NewLine("clear", ColorSoft, SizeNameSmall)), func() { _ = d.set(p)(nil) })
	clear.Pad = 4
	row := container.New(&formRow{0.44}, NewLine(p.Label, ColorSoft, "").Cut(), container.NewBorder(nil, nil, nil, clear, value))
	return &field{row, func(fs []*model.Feature) {
		s, ok := fs[0].Value.(*model.Sensor)
		if !ok || len(s.Masked) == 0 {
			words.Color = ColorSoft
			words.SetText("nothing")
			clear.Hide()
			return
		}
		words.Color = ""
		words.SetText(strings.TrimPrefix(editor.MaskWords(s.Masked), "masked "))
		clear.Show()
	}}
}

// coordinate is a row for the longitude (0) or latitude (1) of a point.
func (d *Details) coordinate(id string, axis int, name string) *field {
	limit := 180.0
	if axis == 1 {
		limit = 84
	}
	p := model.Property{Name: name, Label: name, Type: model.Number, Unit: "°", Min: -limit, Max: limit, Bounded: true, Required: true, Help: "WGS 84"}
	v := NewValue("°")
	d.form.serve(v, p)
	v.Commit = func(text string) error {
		val, err := Typed(p, text)
		if err != nil {
			return err
		}
		f := d.ed().Settled().Feature(id)
		at := f.Geometry.(orb.Point)
		at[axis] = val.(float64)
		return d.ed().Do(model.Reshape{ID: id, To: at})
	}
	return &field{FormRow(name, v), func(fs []*model.Feature) {
		if at, ok := fs[0].Geometry.(orb.Point); ok {
			v.Set(strings.Replace(fmt.Sprintf("%.7f", at[axis]), "-", "−", 1), false)
		}
	}}
}

func (d *Details) title(fs []*model.Feature) {
	if len(fs) == 1 {
		f := fs[0]
		info, _ := model.Info(f.Kind)
		word := info.Label
		if f.Kind == "" {
			word = "Feature of no known kind"
		}
		d.mark.Set(markOf(f))
		d.head.SetText(strings.TrimSpace(word + " " + f.ID))
		d.sub.SetText(d.place(f))
		return
	}
	kind := fs[0].Kind
	d.mark.Set(KindMeaning(kind))
	var ids []string
	for _, f := range fs {
		if f.Kind != kind {
			d.mark.Set(drawing.None)
		}
		ids = append(ids, f.ID)
	}
	d.head.SetText(fmt.Sprintf("%d selected", len(fs)))
	d.sub.SetText(strings.Join(ids, ", "))
}

// markOf is the sample beside a feature's name.
func markOf(f *model.Feature) drawing.Meaning {
	if f.Kind == model.KindSensor && !f.Sound() {
		return drawing.SensorFlagged
	}
	if o, ok := f.Value.(*model.Obstacle); ok && o.SeeThrough {
		return drawing.ObstacleMesh
	}
	if w, ok := f.Value.(*model.Way); ok && w.Private {
		return KindMeaning(f.Kind) + 1
	}
	return KindMeaning(f.Kind)
}

// place says where a feature lies along the nearest boundary.
func (d *Details) place(f *model.Feature) string {
	r := d.result()
	if r == nil || f.Geometry == nil || f.Kind == model.KindBoundary {
		return f.Name
	}
	at := r.Scene.Grid.Geometry(f.Geometry).Bound().Center()
	best, s, name := math.Inf(1), 0.0, ""
	for _, b := range r.Scene.Boundaries {
		if c, dist := b.Nearest(at); dist < best {
			best, s, name = dist, c, b.Feature.Title()
		}
	}
	if name == "" {
		return f.Name
	}
	return fmt.Sprintf("%s along %s, %s off it", Metres(math.Round(s)), name, Metres(best))
}

func (d *Details) showFlaws(fs []*model.Feature) {
	var lines []string
	for _, f := range fs {
		for _, fl := range f.Flaws {
			lines = append(lines, Sentence(fl.Error()))
		}
	}
	if len(fs) == 1 {
		for _, fl := range d.ed().Plan().AllFlaws() {
			if fl.ID == fs[0].ID && fl.ID != "" && !slices.Contains(lines, Sentence(fl.Error())) {
				lines = append(lines, Sentence(fl.Error()))
			}
		}
	}
	text := strings.Join(lines, "\n")
	if text != "" {
		text += "\nUntil this is mended it is left out of the analysis."
	}
	keepRoom(d.flaws, text, "That is mended.")
}

// showAssumed names what the program filled in on its own.
func (d *Details) showAssumed(fs []*model.Feature) {
	info, _ := model.Info(fs[0].Kind)
	var names []string
	for _, p := range info.Properties {
		for _, f := range fs {
			if slices.Contains(f.Assumed, p.Name) && !slices.Contains(names, strings.ToLower(p.Label)) {
				names = append(names, strings.ToLower(p.Label))
			}
		}
	}
	text := ""
	if len(names) > 0 {
		text = "Assumed until it is stated: " + strings.Join(names, ", ") + "."
	}
	keepRoom(d.assumed, text, "Nothing is assumed any more.")
}

// keepRoom shows what is to be said of what is selected. Its room stays once it is
// settled, or the fields below would move under the pointer.
func keepRoom(p *Para, text, settled string) {
	if text == "" && p.Least > 0 {
		text = settled
	}
	p.SetText(text)
	p.Hidden = text == ""
	if text != "" {
		p.Least = max(p.Least, len(p.broken()))
	}
}

// fact is one thing the analysis says of what is selected.
type fact struct{ label, value string }

// showFacts lists what the analysis says.
func (d *Details) showFacts(fs []*model.Feature) {
	var facts []fact
	said := ""
	if r := d.result(); r != nil && len(fs) == 1 {
		facts = append(factsOf(r, fs[0]), d.batteryOf(r, fs[0])...)
		if w := r.Way(fs[0].ID); w != nil {
			facts = append(facts, wayFacts(w)...)
			said = wayWords(r, w)
		} else {
			said = sunWords(r, fs[0].ID)
		}
	}
	d.said.SetText(said)
	d.said.Hidden = said == ""
	key := fmt.Sprint(facts, said)
	if key == d.factOf {
		return
	}
	d.factOf = key
	d.facts.RemoveAll()
	if len(facts) > 0 {
		d.facts.Add(Inset(NewLine("Analysis", ColorSoft, SizeNameSmall), 0, 6, 0, 2))
		for _, f := range facts {
			row, _ := d.form.figure(f.label, f.value)
			d.facts.Add(row)
		}
	}
	d.facts.Refresh()
	d.inside.Refresh()
}

// showAim says where a sensor points.
func (d *Details) showAim(fs []*model.Feature) {
	if d.aim == nil {
		return
	}
	before := d.aim.object.MinSize().Height
	d.aim.show(d.result(), fs[0])
	if d.aim.object.MinSize().Height != before {
		d.inside.Refresh()
	}
}

func factsOf(r *analysis.Result, f *model.Feature) []fact {
	switch f.Kind {
	case model.KindSensor:
		for i := range r.Sensors {
			if r.Sensors[i].ID == f.ID {
				return sensorFacts(r, &r.Sensors[i])
			}
		}
	case model.KindReading:
		return readingFacts(r, f)
	case model.KindBoundary:
		for i := range r.Boundaries {
			if r.Boundaries[i].ID == f.ID {
				return boundaryFacts(&r.Boundaries[i])
			}
		}
	case model.KindRepeater, model.KindReceiver:
		in, out := 0, 0
		for _, l := range r.Links {
			if !l.InUse {
				continue
			}
			switch f.ID {
			case l.To:
				in++
			case l.From:
				out++
			}
		}
		return []fact{{"Links in use", fmt.Sprint(in + out)}}
	}
	switch g := r.Scene.Shape(f.ID).(type) {
	case orb.Polygon:
		return []fact{{"Area", Area(math.Abs(scene.SignedArea(g[0])))}}
	case orb.LineString:
		sum := 0.0
		for i := 1; i < len(g); i++ {
			sum += math.Hypot(g[i][0]-g[i-1][0], g[i][1]-g[i-1][1])
		}
		return []fact{{"Length", Metres(sum)}}
	}
	return nil
}

func sensorFacts(r *analysis.Result, s *analysis.Sensor) []fact {
	var out []fact
	out = append(out, fact{"Footprint", Area(s.Area)})
	if s.Near != nil && s.Far != nil {
		out = append(out, fact{"Seen from, to", Metres(*s.Near) + ", " + Metres(*s.Far)})
	}
	if s.Fixed != "" {
		out = append(out, fact{"Fixed to", s.Fixed})
	}
	for _, b := range r.Boundaries {
		for _, sp := range b.Spans {
			if sp.ID != s.ID {
				continue
			}
			sum := 0.0
			for _, x := range sp.Spans {
				sum += spanLength(x, b.Length)
			}
			if sum > 0 {
				out = append(out, fact{"Covers of " + b.ID, Metres(sum)})
			}
		}
	}
	spill := map[string]float64{}
	for _, o := range s.Overspill {
		if o.For == "person" {
			spill[o.Class] += o.Area
		}
	}
	for _, c := range []string{"road", "footpath", "neighbour", "open"} {
		if spill[c] > 0 {
			name := map[string]string{"road": "Spills onto road", "footpath": "Spills onto path", "neighbour": "Spills onto neighbour", "open": "Spills onto open land"}[c]
			out = append(out, fact{name, Area(spill[c])})
		}
	}
	if s.Foliage > 0 {
		out = append(out, fact{"Foliage in pattern", Area(s.Foliage)})
	}
	switch {
	case s.Route == nil:
		out = append(out, fact{"Radio route", "none"})
	default:
		out = append(out, fact{"Radio route", strings.Join(s.Route[1:], ", ")})
		if s.Margin != nil {
			out = append(out, fact{"Radio margin", Decibels(*s.Margin)})
		}
	}
	return out
}

// batteryOf is batteryFacts of the plan that is settled: what a drag does to a
// battery is not reckoned at every step of it.
func (d *Details) batteryOf(r *analysis.Result, f *model.Feature) []fact {
	if f.Kind != model.KindSensor && f.Kind != model.KindRepeater {
		return nil
	}
	if !d.ed().Drafting() || d.battery.of != f.ID {
		d.battery.of, d.battery.facts = f.ID, batteryFacts(r, f.ID)
	}
	return d.battery.facts
}

// batteryFacts say how long the battery of a device lasts and when it is changed.
func batteryFacts(r *analysis.Result, id string) []fact {
	for _, b := range order.Batteries(r) {
		switch {
		case b.Device != id:
		case !b.Known():
			return []fact{{"Battery", b.Remark()}}
		default:
			life := strconv.FormatFloat(b.Life, 'f', 1, 64) + " years"
			if b.Capped {
				life = strconv.FormatFloat(b.Life, 'f', -1, 64) + " years, the latest age"
			}
			out := []fact{{"Battery lasts", life}}
			if !b.Change.IsZero() {
				out = append(out, fact{"Change it by", b.Change.Format("2006-01")})
			}
			return out
		}
	}
	return nil
}

func spanLength(s coverage.Span, whole float64) float64 {
	if s.To < s.From {
		return s.To - s.From + whole
	}
	return s.To - s.From
}

func boundaryFacts(b *analysis.Boundary) []fact {
	out := []fact{{"Length", Metres(b.Length)}}
	if b.Closed > 0 {
		out = append(out, fact{"Needs no detection", Metres(b.Closed)})
	}
	covered := Metres(b.Target.Covered)
	if b.Target.Share != nil {
		covered += fmt.Sprintf(", %.0f %%", math.Floor(*b.Target.Share*100))
	}
	out = append(out, fact{"Covered", covered}, fact{"By two or more", Metres(b.Target.Overlap)})
	sum := 0.0
	for _, g := range b.Target.Gaps {
		sum += g.Length
	}
	switch n := len(b.Target.Gaps); n {
	case 0:
		out = append(out, fact{"Gaps", "none"})
	default:
		out = append(out, fact{"Gaps", fmt.Sprintf("%d, %s together", n, Metres(sum))})
	}
	return out
}

// Rebuild makes all rows anew, for another look.
func (d *Details) Rebuild() {
	d.key = "\x00"
	d.Update()
}
