package panel

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/ui/editor"
)

// ReadingForm writes down what is read on site, a reading as one step, and corrects
// and removes what was written down before.
type ReadingForm struct {
	Object  fyne.CanvasObject
	Changed func() // another reading is in the form, or none

	ed     func() *editor.Editor
	result func() *analysis.Result
	zone   *time.Location

	d     *draft
	rows  []*readingRow // of the fields
	what  *readingRow
	from  *readingRow
	to    *readingRow
	note  *Para // what of the reading stays as it is
	says  *Para // what it proves, or what is predicted
	title *Line
	done  *Para // what was done last, or why not
	help  *Para // what the field takes that has the focus, or what is wrong
	head  *Line
	box   *fyne.Container   // of the rows
	body  *container.Scroll // all but done and help, which have their room beneath it
	list  *fyne.Container
	plan  *model.Plan // of the list
	shown string      // whose readings the list has
}

// readingRow is a row of the form: a value or a pick. Its label is bold while
// something is wrong with it.
type readingRow struct {
	field readingField
	label *Line
	value *Value
	pick  *Pick
	box   fyne.CanvasObject

	wrong   string // what is wrong, as a sentence
	refused bool   // what was typed there; until it is gone to again
}

// fail marks a row and says what is wrong with it, nil for nothing.
func (f *ReadingForm) fail(r *readingRow, err error) {
	if err == nil && r.wrong == "" {
		return
	}
	was := r.wrong
	r.wrong, r.label.Bold, r.label.Color = "", false, ColorSoft
	if err != nil {
		r.wrong, r.label.Bold, r.label.Color = Sentence(err.Error()), true, ""
		f.helps(r.wrong, true)
	} else if f.help.Text() == was {
		f.helps("", false)
	}
	r.label.Refresh()
}

// helps shows words in the help line, bold where something is wrong.
func (f *ReadingForm) helps(words string, wrong bool) {
	f.help.Color, f.help.Bold = ColorSoft, wrong
	if wrong {
		f.help.Color = ""
	}
	f.help.text = words
	f.help.Refresh()
}

// NewReadingForm makes the form, empty. Times are told in zone, which clock names.
func NewReadingForm(ed func() *editor.Editor, result func() *analysis.Result, clock string, zone *time.Location) *ReadingForm {
	f := &ReadingForm{ed: ed, result: result, zone: zone, d: newDraft()}
	small := func() *Para { return NewPara("", ColorSoft, SizeNameSmall) }
	f.note, f.says, f.help, f.done = small(), NewPara("", "", SizeNameSmall), small(), NewPara("", "", "")
	f.title, f.head = NewLine("", "", "").Strong(), NewLine("", ColorSoft, SizeNameSmall)
	f.list = VBox(0)
	f.done.Least, f.help.Least = 1, 2
	f.what = f.picked(model.Property{Name: "what", Type: model.Text, Label: "What", Help: "what was read on site"}, readingKinds, func(v any) {
		f.d.what = v.(string)
		f.d.new["what"] = true
		f.fit()
	})
	f.from = f.picked(model.Property{Name: "of", Type: model.Text}, nil, func(v any) { f.choose(0, v.(string)) })
	f.to = f.picked(model.Property{Name: "of", Type: model.Text, Label: "Read by", Help: "the device that shows the level"}, nil, func(v any) { f.choose(1, v.(string)) })
	f.box = VBox(0, f.what.box, f.from.box, f.to.box)
	for _, field := range readingFields {
		if field.p.Name == "time" {
			field.p.Help = "in " + clock
		}
		r := f.row(field)
		f.rows = append(f.rows, r)
		f.box.Add(r.box)
	}
	f.body = container.NewVScroll(Inset(VBox(6, f.title, f.box, f.says, f.note, Inset(f.head, 0, 6, 0, 0), f.list), 0, 0, 10, 0))
	f.Object = container.NewBorder(nil, Inset(VBox(2, f.done, f.help), 0, 6, 0, 0), nil, nil, f.body)
	return f
}

// picked makes a row with a pick.
func (f *ReadingForm) picked(p model.Property, options []Option, take func(any)) *readingRow {
	r := &readingRow{field: readingField{p: p}, label: NewLine(p.Label, ColorSoft, "").Cut(), pick: NewPick(options...)}
	r.pick.Commit = func(v any) error {
		f.tell("")
		f.fail(r, nil)
		take(v)
		f.show()
		return nil
	}
	r.pick.Focused = f.helped(r)
	return r.made(r.pick)
}

// row makes the row of a field.
func (f *ReadingForm) row(field readingField) *readingRow {
	p := field.p
	if p.Type == model.Choice {
		options := []Option{{"", "–"}}
		for _, c := range p.Choices {
			options = append(options, Option{c, c})
		}
		r := f.picked(p, options, func(v any) {
			if v == "" {
				v = nil
			}
			f.d.set(p.Name, v)
		})
		r.field = field
		return r
	}
	r := &readingRow{field: field, label: NewLine(p.Label, ColorSoft, "").Cut(), value: NewValue(p.Unit)}
	r.value.Commit = func(text string) error {
		v, err := Typed(p, text)
		if p.Name == "time" && text != "" {
			v, err = typedTime(text)
		}
		if err != nil {
			return err
		}
		f.tell("")
		r.value.Left()
		f.d.set(p.Name, v)
		f.show()
		return nil
	}
	r.value.Sheet = theme.ColorNameOverlayBackground
	r.value.Failed = func(err error) { r.refused = true; f.fail(r, err) }
	r.value.Left = func() { r.refused = false; f.fail(r, nil) }
	help := f.helped(r)
	r.value.Focused = func(in bool) {
		if in {
			r.value.Left()
		}
		help(in)
	}
	return r.made(r.value)
}

func (r *readingRow) made(o fyne.CanvasObject) *readingRow {
	row := FormRow("", o).(*fyne.Container)
	row.Objects[0] = r.label
	r.box = row
	return r
}

// helped shows what a field takes while it has the focus.
func (f *ReadingForm) helped(r *readingRow) func(bool) {
	return func(in bool) {
		if in {
			p := r.field.p
			p.Label = r.label.Text()
			f.helps(Help(p), false)
		}
	}
}

// Fresh begins a new reading of a kind and of devices, on a day that is written as
// 2027-04-30, by someone.
func (f *ReadingForm) Fresh(what string, of []string, day, by string) {
	f.d = newDraft()
	f.d.what, f.d.of = what, slices.Clone(of)
	if day != "" {
		f.d.vals["day"] = day
	}
	if by != "" {
		f.d.set("by", by)
	}
	f.begin()
}

// Load takes a reading of the plan into the form, to be corrected.
func (f *ReadingForm) Load(id string) {
	r := f.ed().Plan().Feature(id)
	if r == nil || r.Kind != model.KindReading {
		return
	}
	f.d = draftOf(r, f.zone)
	f.begin()
}

func (f *ReadingForm) begin() {
	f.tell("")
	f.helps("", false)
	for _, r := range append([]*readingRow{f.what, f.from, f.to}, f.rows...) {
		r.refused = false
		f.fail(r, nil)
	}
	f.title.SetText("A new reading")
	if id := f.Correcting(); id != "" {
		f.title.SetText("Reading " + id)
	}
	f.fit()
	f.show()
	if f.Changed != nil {
		f.Changed()
	}
}

// Correcting is the id of the reading that is corrected, "" for none.
func (f *ReadingForm) Correcting() string {
	if f.d.base == nil {
		return ""
	}
	return f.d.base.ID
}

// By is who reads.
func (f *ReadingForm) By() string {
	by, _ := f.d.vals["by"].(string)
	return by
}

// tell says what was done, or why not.
func (f *ReadingForm) tell(words string) {
	f.done.SetText(words)
	f.Object.Refresh()
}

func hide(o fyne.CanvasObject, hidden bool) {
	if hidden {
		o.Hide()
	} else {
		o.Show()
	}
}

// choose makes a device one of those the reading is of.
func (f *ReadingForm) choose(i int, id string) {
	f.d.new["of"] = true
	if f.d.what != "signal" {
		f.d.of = []string{id}
		return
	}
	f.d.of = append(f.d.of, "", "")[:2]
	f.d.of[i] = id
}

// fit has the devices go with what is read: two of a signal, one of all else.
func (f *ReadingForm) fit() {
	if f.d.base != nil && !f.d.new["what"] {
		return
	}
	switch {
	case f.d.what == "signal" && len(f.d.of) == 1:
		f.d.of = []string{f.d.of[0], hears(f.result(), f.d.of[0])}
	case f.d.what != "signal" && len(f.d.of) > 1:
		f.d.of = f.d.of[:1]
	}
	if f.d.what == "walk-test" || f.d.what == "soak" {
		if len(f.d.of) == 1 && !f.isSensor(f.d.of[0]) {
			f.d.of = nil
		}
	}
}

// hears is the device that hears another one first, by the route in use; "" where
// that is not known.
func hears(r *analysis.Result, id string) string {
	if r == nil {
		return ""
	}
	for _, k := range r.Links {
		if k.InUse && k.From == id {
			return k.To
		}
	}
	return ""
}

func (f *ReadingForm) isSensor(id string) bool {
	x := f.ed().Plan().Feature(id)
	return x != nil && x.Kind == model.KindSensor
}

// devices are what a reading can be of.
func (f *ReadingForm) devices() (out []Option) {
	kinds := []model.Kind{model.KindSensor, model.KindRepeater, model.KindReceiver}
	if f.d.what == "walk-test" || f.d.what == "soak" {
		kinds = kinds[:1]
	}
	for _, x := range f.ed().Plan().Of(kinds...) {
		label := x.ID
		if x.Name != "" && x.Name != x.ID {
			label += "  " + x.Name
		}
		out = append(out, Option{x.ID, label})
	}
	return out
}

// show brings the rows into line with the draft.
func (f *ReadingForm) show() {
	d := f.d
	signal := d.what == "signal"
	f.what.pick.Set(d.what, d.what, false)
	f.what.pick.Open = nil
	if d.base != nil && d.what != "" {
		f.what.pick.Open = func() { // another kind is another reading
			f.fail(f.what, fmt.Errorf("what was read stays: remove %s and add another reading", d.base.ID))
		}
	}
	name, help := "Device", "the device that was fitted"
	switch d.what {
	case "signal":
		name, help = "Sent by", "the device whose signal was read"
	case "walk-test", "soak":
		name, help = "Sensor", "the sensor that was tested"
	}
	f.from.label.SetText(name)
	f.from.field.p.Help = help
	hide(f.to.box, !signal)
	options := f.devices()
	for i, r := range []*readingRow{f.from, f.to} {
		r.pick.Options = options
		id := ""
		if i < len(d.of) {
			id = d.of[i]
		}
		words := id
		if i == 0 && !signal {
			words = strings.Join(d.of, ", ")
			if len(d.of) > 1 {
				id = words
			}
		}
		if words == "" {
			words = "choose"
		}
		r.pick.Set(id, words, id == "")
	}
	sensor := len(d.of) == 0 || f.isSensor(d.of[0])
	for _, r := range f.rows {
		hide(r.box, !r.field.fits(d.what, sensor))
		v, ok := d.vals[r.field.p.Name]
		switch {
		case r.value != nil && ok:
			r.value.Set(shownValue(v), false)
		case r.value != nil:
			r.value.Set("", true)
		case ok:
			r.pick.Set(v, fmt.Sprint(v), false)
		default:
			r.pick.Set("", "–", true)
		}
	}
	f.note.SetText("")
	if len(d.kept) > 0 {
		f.note.SetText("Kept unless it is written anew: " + strings.Join(d.kept, "; ") + ".")
	}
	f.note.Hidden = len(d.kept) == 0
	says := d.proves()
	switch d.what {
	case "signal":
		says = f.predicted()
	case "as-fitted":
		says = f.planned()
	}
	f.says.SetText(says)
	f.says.Hidden = says == ""
	f.showList()
	f.box.Refresh()
	f.body.Refresh()
}

// predicted says what level is predicted, "" where the pair is not rated.
func (f *ReadingForm) predicted() string {
	r := f.result()
	if r == nil || len(f.d.of) != 2 {
		return ""
	}
	for _, k := range r.Links {
		for _, way := range k.Directions() {
			if way.From != f.d.of[0] || way.To != f.d.of[1] {
				continue
			}
			s := level(way.Received) + " is predicted at " + way.To
			if k.Corrected {
				s += ", corrected by the readings"
			}
			if v, ok := f.d.vals["level"].(float64); ok {
				switch off := math.Round(v - way.Received); {
				case off > 0:
					s += fmt.Sprintf("; %s more was read", Decibels(off))
				case off < 0:
					s += fmt.Sprintf("; %s less was read", Decibels(-off))
				default:
					s += ", and was read"
				}
			}
			return s + "."
		}
	}
	return ""
}

// planned says how the device stands in the plan, to be held against how it was
// fitted.
func (f *ReadingForm) planned() string {
	if len(f.d.of) != 1 {
		return ""
	}
	x := f.ed().Plan().Feature(f.d.of[0])
	if x == nil {
		return ""
	}
	var parts []string
	for _, r := range f.rows {
		if !r.field.value || !r.box.Visible() {
			continue
		}
		if raw, ok := x.Property(r.field.p.Name); ok {
			if v, ok := fieldValue(r.field.p, raw); ok {
				parts = append(parts, strings.ToLower(r.field.p.Label)+" "+fieldWords(r.field.p, v))
			}
		}
	}
	if parts == nil {
		return ""
	}
	return "The plan has " + strings.Join(parts, ", ") + "."
}

// showList lists the readings there are of the devices in the form, of all where
// there are none.
func (f *ReadingForm) showList() {
	p := f.ed().Plan()
	key := strings.Join(f.d.of, " ") + "\n" + f.Correcting()
	if p == f.plan && key == f.shown {
		return
	}
	f.plan, f.shown = p, key
	f.list.RemoveAll()
	n, ids := 0, f.about()
	for _, x := range p.Features {
		if x.Kind != model.KindReading || x.ID == "" || !f.concerns(x, ids) {
			continue
		}
		n++
		right := strings.TrimSpace(dayOf(textOf(x, "at")) + "   " + textOf(x, "by"))
		r := NewRow(Inset(container.NewBorder(nil, nil, nil, NewLine(right, ColorSoft, SizeNameSmall).Right(), NewLine(x.ID+"   "+readingWords(x), "", "").Cut()), 0, 3, 0, 3), func() { f.Load(x.ID) })
		r.SetChosen(x.ID == f.Correcting())
		f.list.Add(r)
	}
	of := "the plan"
	if len(ids) > 0 {
		of = strings.Join(ids, " and ")
	}
	switch n {
	case 0:
		f.head.SetText("No reading of " + of + " is written down yet.")
	default:
		f.head.SetText("Written down of " + of + ", to be corrected or removed:")
	}
}

// about are the devices whose readings are listed: sensors before what hears them.
func (f *ReadingForm) about() []string {
	ids := slices.DeleteFunc(slices.Clone(f.d.of), func(s string) bool { return s == "" })
	if sensors := slices.DeleteFunc(slices.Clone(ids), func(s string) bool { return !f.isSensor(s) }); len(sensors) > 0 {
		return sensors
	}
	return ids
}

// concerns reports whether a reading is of all of these devices.
func (f *ReadingForm) concerns(x *model.Feature, ids []string) bool {
	of := draftOf(x, f.zone).of
	return x.ID == f.Correcting() || !slices.ContainsFunc(ids, func(id string) bool { return !slices.Contains(of, id) })
}

// dayOf is the day of a time.
func dayOf(at string) string {
	day, _, _ := strings.Cut(at, "T")
	return day
}

// Write adds the reading to the plan, or corrects it, as one step. Where something is
// missing it marks the field, says so and reports false.
func (f *ReadingForm) Write() bool {
	all := append([]*readingRow{f.what, f.from, f.to}, f.rows...)
	for _, r := range all {
		if r.box.Visible() && r.refused {
			f.tell("")
			f.helps(r.wrong, true)
			return false
		}
	}
	for _, r := range all {
		f.fail(r, nil)
	}
	id := f.ed().Plan().NewID(model.KindReading)
	edit, err := f.d.edit(id, f.zone)
	if err != nil {
		f.tell("")
		for _, r := range all {
			if r.field.p.Name == fieldOf(err) && (r != f.from || !f.to.box.Visible()) {
				f.fail(r, err)
			}
		}
		return false
	}
	said := ""
	if was := f.Correcting(); was != "" {
		id, said = was, was+" is as it was: nothing was changed."
		if edit != nil {
			said = was + " is corrected."
		}
	} else {
		said = id + " is added: " + readingWords(edit.(model.Add).Features[0]) + "."
	}
	if edit != nil {
		if err := f.ed().Do(edit); err != nil {
			f.tell(Sentence(err.Error()))
			return false
		}
	}
	f.next(said)
	return true
}

// Remove takes the reading that is corrected out of the plan.
func (f *ReadingForm) Remove() {
	id := f.Correcting()
	if id == "" {
		return
	}
	if err := f.ed().Do(model.Delete{IDs: []string{id}}); err != nil {
		f.tell(Sentence(err.Error()))
		return
	}
	f.next(id + " is removed; undo brings it back.")
}

// next makes room for another reading of the same devices: the day, who reads and
// the state of the leaves hold on.
func (f *ReadingForm) next(said string) {
	was := f.d
	day, _ := was.vals["day"].(string)
	f.d = newDraft()
	f.d.what, f.d.of = was.what, slices.Clone(was.of)
	if day != "" {
		f.d.vals["day"] = day
	}
	for _, name := range []string{"by", "leaf_state", "air_c", "background_c", "clothing"} {
		if v, ok := was.vals[name]; ok {
			f.d.set(name, v)
		}
	}
	f.begin()
	f.tell(said)
}
