package panel

import (
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/radio"
)

// radioOf is what is said of a radio: by whose it is, by the model of that sensor,
// and by default.
type radioOf struct {
	own, model model.Radio
	kind       model.Kind // sensor for a sensor model
}

// radioFor is the radio of a device; ok is false for a flawed one, of which it is
// not known, and for no device.
func radioFor(p *model.Plan, f *model.Feature) (r radioOf, ok bool) {
	r.kind = f.Kind
	switch v := f.Value.(type) {
	case *model.Sensor:
		m, _ := p.Model(v.Model)
		r.own, r.model = v.Radio, m.Radio
	case *model.Repeater:
		r.own = v.Radio
	case *model.Receiver:
		r.own = v.Radio
	default:
		return r, false
	}
	return r, true
}

// says is a figure of a radio in words; soft where it is not stated by whose it
// is: then with what says it.
func (r radioOf) says(p model.Property) (text string, soft bool) {
	def := model.RadioDefaults(r.kind)
	var own, of *float64
	var otherwise float64
	switch p.Name {
	case "erp_dbm":
		own, of, otherwise = r.own.ERP, r.model.ERP, def.ERP
	case "sensitivity_dbm":
		own, of, otherwise = r.own.Sensitivity, r.model.Sensitivity, def.Sensitivity
		switch {
		case r.own.TransmitOnly:
			return transmits, false
		case own == nil && r.model.TransmitOnly:
			return transmits + ", by its model", true
		}
	case "antenna_gain_dbi":
		own, of, otherwise = r.own.AntennaGain, r.model.AntennaGain, def.AntennaGain
	case "feeder_loss_db":
		own, of, otherwise = r.own.FeederLoss, r.model.FeederLoss, def.FeederLoss
	case "installation_loss_db":
		own, of, otherwise = r.own.Installation, r.model.Installation, def.Installation
		if r.own.Terms != nil {
			return figure(*own, p.Unit) + ", the sum below", true
		}
	}
	switch {
	case own != nil:
		return number(*own), false
	case of != nil:
		return figure(*of, p.Unit) + ", by its model", true
	}
	return figure(otherwise, p.Unit) + ", by default", true
}

// transmits is what is shown, and typed, for a radio that hears nothing.
const transmits = "only transmits"

// typed makes a figure of a radio of what was typed.
func (r radioOf) typed(p model.Property, text string) (any, error) {
	low := strings.ToLower(text)
	switch {
	case p.Name == "sensitivity_dbm" && (low == transmits || low == "none" || low == "null"):
		if r.kind == model.KindReceiver {
			return nil, fmt.Errorf("a receiver has to hear: its sensitivity must be %s", allowed(p))
		}
		return null, nil
	case p.Name == "installation_loss_db" && r.own.Terms != nil && text != "":
		return nil, fmt.Errorf("the installation terms add up to %s: change them, or take them away first", figure(*r.own.Installation, p.Unit))
	}
	v, err := Typed(p, text)
	if err != nil && p.Name == "sensitivity_dbm" && r.kind != model.KindReceiver {
		err = fmt.Errorf("%w, or none for a device that only transmits", err)
	}
	return v, err
}

// inForce is the terms a further one joins: those stated, or those of the defaults.
func (r radioOf) inForce() []radio.Term {
	terms := r.own.Terms
	if terms == nil && r.own.Installation == nil {
		terms = r.model.Terms
	}
	if terms == nil {
		return radio.DefaultTerms(analysis.RadioKind(r.kind))
	}
	out := []radio.Term{}
	for _, t := range terms {
		out = append(out, radio.Term{Name: t.What, DB: t.DB})
	}
	return out
}

// radioForm is the fields of a radio. With terms it lists the installation terms;
// without, it is of several devices.
func radioForm(n *inner, terms bool, of func() []radioOf) fyne.CanvasObject {
	box := VBox(0)
	for _, p := range model.RadioProperties {
		switch p.Name {
		case "sensitivity_dbm":
			p.Help = "\"none\" for a device that only transmits"
		case "installation_loss_db":
			p.Help = "in both directions; the sum of the terms where those are listed"
		}
		typed := func(text string) (v any, err error) {
			for _, r := range of() {
				if v, err = r.typed(p, text); err != nil {
					break
				}
			}
			return v, err
		}
		box.Add(FormRow(p.Label, n.value(p, p.Name, typed, func() (text string, soft bool) {
			for i, r := range of() {
				t, s := r.says(p)
				if i > 0 && t != text {
					return several, true
				}
				text, soft = t, s
			}
			return text, soft
		})))
	}
	if terms {
		box.Add(newTermTable(n, func() radioOf { return of()[0] }).object)
	}
	return box
}

// termTable lists the installation terms of one radio, and picks another.
type termTable struct {
	object *fyne.Container
	n      *inner
	of     func() radioOf
	rows   *fyne.Container
	said   *Para // those in force where none are stated
	key    string
	shows  []func(model.InstallationTerm, int)
	more   *Pick
	own    *Value
}

const (
	termsPath = "installation_terms"
	takeAway  = "Take this term away"
)

func newTermTable(n *inner, of func() radioOf) *termTable {
	t := &termTable{n: n, of: of, rows: VBox(0), said: NewPara("", ColorSoft, SizeNameSmall), key: "\x00"}
	help := model.Property{Label: "Installation terms", Help: "what the device loses by how it is installed; one of the list takes the place of the one on the same topic, and the first begins with those that hold now"}
	var os []Option
	for _, topic := range radio.Topics() {
		for _, c := range topic.Choices {
			term := radio.Term{Name: topic.Name + ": " + c.Name, DB: c.DB}
			os = append(os, Option{term, termWords(Capital(term.Name), term.DB)})
		}
	}
	t.more = NewPick(os...)
	t.more.Set(nil, "choose", true)
	t.more.Commit = func(v any) error { return t.add(v.(radio.Term)) }
	n.form.serve(t.more, help)
	t.own = NewValue("")
	what := model.TermProperties[0]
	what.Required = false
	t.own.Commit = func(text string) error {
		if text == "" {
			return nil
		}
		return t.add(radio.Term{Name: text})
	}
	n.form.serve(t.own, what)
	t.object = VBox(0, Inset(NewLine("Installation terms", ColorSoft, "").Cut(), 0, 6, 0, 0), t.rows, t.said,
		FormRow("Another term", t.more), FormRow("In own words", t.own))
	n.shows = append(n.shows, t.show)
	return t
}

func termWords(name string, db float64) string { return name + ", " + figure(db, "dB") }

// topic is which of the topics a term is about, -1 for none.
func topic(what string) int {
	for i, t := range radio.Topics() {
		if strings.HasPrefix(what, t.Name+": ") {
			return i
		}
	}
	return -1
}

// add takes the step that adds a term, or puts it in the place of the one on its
// topic. The sum holds from then on: a loss stated beside it goes.
func (t *termTable) add(term radio.Term) error {
	r := t.of()
	same := func(name string) bool { return topic(term.Name) >= 0 && topic(name) == topic(term.Name) }
	var edits []model.Edit
	if r.own.Terms == nil {
		var list []model.Term
		put := false
		for _, x := range r.inForce() {
			if same(x.Name) {
				x, put = term, true
			}
			list = append(list, model.Term{What: x.Name, DB: x.DB})
		}
		if !put {
			list = append(list, model.Term{What: term.Name, DB: term.DB})
		}
		edits = t.n.edit(termsPath, list)
	} else {
		at := len(r.own.Terms)
		for i, x := range r.own.Terms {
			if same(x.What) {
				at = i
			}
		}
		edits = append(t.n.edit(fmt.Sprintf("%s.%d.what", termsPath, at), term.Name), t.n.edit(fmt.Sprintf("%s.%d.db", termsPath, at), term.DB)...)
	}
	return t.n.do("set installation terms of "+t.n.who(), append(edits, t.n.edit("installation_loss_db", nil)...))
}

// change takes the step that changes term i; path is inside it, "" for all of it.
func (t *termTable) change(i int, path string, v any) error {
	edits := t.n.edit(join(fmt.Sprintf("%s.%d", termsPath, i), path), v)
	return t.n.do("set installation terms of "+t.n.who(), append(edits, t.n.edit("installation_loss_db", nil)...))
}

func (t *termTable) show() {
	r := t.of()
	key := ""
	for _, x := range r.own.Terms {
		key += fmt.Sprint(topic(x.What), " ")
	}
	if key != t.key {
		t.key, t.shows = key, nil
		t.rows.RemoveAll()
		for i, x := range r.own.Terms {
			t.rows.Add(t.row(i, topic(x.What)))
		}
		t.rows.Refresh()
	}
	for i, x := range r.own.Terms {
		t.shows[i](x, i)
	}
	t.said.SetText("")
	if r.own.Terms == nil {
		text := "None stated: the loss is a single figure."
		if r.own.Installation == nil {
			by := "By default"
			if r.model.Terms != nil {
				by = "By its model"
			}
			text = by + ": " + analysis.TermWords(r.inForce()) + "."
			if radio.TermSum(r.inForce()) == 0 {
				text = by + " none."
			}
			if r.model.Terms == nil && r.model.Installation != nil {
				text = "None stated: its model gives a single figure."
			}
		}
		t.said.SetText(text)
	}
	t.said.Hidden = t.said.text == ""
}

// row is the row of term i, picked where it is on a topic and typed where not.
func (t *termTable) row(i, about int) fyne.CanvasObject {
	what, db := model.TermProperties[0], model.TermProperties[1]
	loss := NewValue(db.Unit)
	loss.Commit = func(text string) error {
		v, err := Typed(db, text)
		if err != nil {
			return err
		}
		return t.change(i, "db", v)
	}
	t.n.form.serve(loss, db)
	if about < 0 {
		words := NewValue("")
		words.face.text.Align = fyne.TextAlignLeading // as those above and below
		words.Commit = func(text string) error {
			if text == "" {
				return t.change(i, "", nil)
			}
			return t.change(i, "what", text)
		}
		what.Help += "; empty takes it away"
		t.n.form.serve(words, what)
		t.shows = append(t.shows, func(x model.InstallationTerm, _ int) {
			words.Set(x.What, false)
			loss.Set(number(x.DB), false)
		})
		return container.New(termRow{}, words, loss)
	}
	of := radio.Topics()[about]
	pick := NewPick()
	pick.Wrap = true
	for _, c := range of.Choices {
		term := radio.Term{Name: of.Name + ": " + c.Name, DB: c.DB}
		pick.Options = append(pick.Options, Option{term, termWords(Capital(c.Name), c.DB)})
	}
	pick.Options = append(pick.Options, Option{nil, takeAway})
	pick.Commit = func(v any) error {
		if v == nil {
			return t.change(i, "", nil)
		}
		return t.add(v.(radio.Term))
	}
	t.n.form.serve(pick, what)
	t.shows = append(t.shows, func(x model.InstallationTerm, _ int) {
		pick.Set("", Capital(x.What), false)
		loss.Set(number(x.DB), false)
	})
	return container.New(termRow{}, pick, loss)
}

// termRow lays what a term is at the left and its decibels at the right, as high
// as the words are.
type termRow struct{}

const decibelShare = 0.27 // of the width

func (termRow) Layout(os []fyne.CanvasObject, s fyne.Size) {
	w := s.Width * (1 - decibelShare)
	os[0].Move(fyne.NewPos(0, 0))
	os[0].Resize(fyne.NewSize(w-4, s.Height))
	os[1].Move(fyne.NewPos(w, s.Height-rowHeight()))
	os[1].Resize(fyne.NewSize(s.Width-w, rowHeight()))
}

func (termRow) MinSize(os []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(160, max(rowHeight(), os[0].MinSize().Height))
}

// supplyOf is a supply's figures by name, nil where they are not stated.
func supplyOf(s *model.Supply) map[string]*float64 {
	if s == nil {
		return nil
	}
	return map[string]*float64{"capacity_mah": s.Capacity, "cell_v": s.Cell, "sleep_ua": s.Sleep, "message_mj": s.Message,
		"events_per_day": s.Events, "supervision_s": s.Supervision, "self_discharge_per_year": s.SelfDischarge}
}

// supplyForm is the fields of the supply of a sensor model, or of repeaters.
func supplyForm(n *inner, kind model.Kind, of func() []*model.Supply) fyne.CanvasObject {
	box := VBox(0)
	for _, p := range model.SupplyProperties {
		supposed, assumed := model.Supposed(kind, p.Name)
		switch {
		case !assumed:
			p.Help = "without it the life of the battery is not reckoned"
		case p.Name == "self_discharge_per_year":
			p.Help = "as a share of the charge"
		}
		if kind == model.KindRepeater && p.Name == "events_per_day" {
			p.Help = "of its own; what it passes on is counted by its links"
		}
		box.Add(n.row(p, p.Name, func() (text string, soft bool) {
			otherwise := "not stated"
			if assumed {
				otherwise = figure(supposed, p.Unit) + ", by default"
			}
			for i, s := range of() {
				t, soft2 := stated(supplyOf(s)[p.Name], otherwise)
				if i > 0 && t != text {
					return several, true
				}
				text, soft = t, soft2
			}
			return text, soft
		}))
	}
	return box
}

// radioAndSupply adds the fields of the radio of devices, and of the supply of
// repeaters.
func (d *Details) radioAndSupply(kind model.Kind, fs []*model.Feature) {
	if !isDevice(fs[0]) {
		return
	}
	var ids []string
	for _, f := range fs {
		ids = append(ids, f.ID)
	}
	who := strings.Join(ids, ", ")
	if len(ids) > 3 {
		who = fmt.Sprintf("%d features", len(ids))
	}
	add := func(title, property string, body func(*inner) fyne.CanvasObject) {
		n := &inner{form: &d.form, ed: d.ed, who: func() string { return who }, edit: func(path string, v any) (out []model.Edit) {
			for _, id := range ids {
				out = append(out, model.SetInside{ID: id, Path: join(property, path), Value: v})
			}
			return out
		}}
		box := VBox(0, heading(title), body(n))
		d.inside.Add(box)
		d.fields = append(d.fields, &field{box, func(fs []*model.Feature) {
			// What a flawed device says is not known.
			box.Hidden = slices.ContainsFunc(fs, func(f *model.Feature) bool { return f.Value == nil })
			if !box.Hidden {
				n.show()
			}
		}})
	}
	features := func() (out []*model.Feature) {
		for _, id := range ids {
			if f := d.ed().Plan().Feature(id); f != nil {
				out = append(out, f)
			}
		}
		return out
	}
	add("Radio", "radio", func(n *inner) fyne.CanvasObject {
		return radioForm(n, len(ids) == 1, func() (out []radioOf) {
			for _, f := range features() {
				r, _ := radioFor(d.ed().Plan(), f)
				out = append(out, r)
			}
			return out
		})
	})
	if kind == model.KindRepeater {
		add("Supply", "supply", func(n *inner) fyne.CanvasObject {
			return supplyForm(n, kind, func() (out []*model.Supply) {
				for _, f := range features() {
					if v, ok := f.Value.(*model.Repeater); ok {
						out = append(out, v.Supply)
					}
				}
				return out
			})
		})
	}
}
