package panel

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/trial"
)

// readingKinds are what is read on site, in words.
var readingKinds = []Option{{"signal", "signal level"}, {"walk-test", "walk test"}, {"soak", "soak test"}, {"as-fitted", "as fitted"}}

// readingField is what a reading may state.
type readingField struct {
	p     model.Property
	kinds []string // what is read; none for all
	value bool     // a member of its value; else a property of its own
}

// Limits of what is written down, chosen: wide enough for any equipment of the trade,
// narrow enough to catch a slip of the sign.
const (
	leastLevel, mostLevel = -180, 20 // dBm
	mostTrials            = 10000
	mostDays              = 3650
)

// readingFields are the fields of the form, in its order.
var readingFields = func() []readingField {
	whole := func(name, label string, least, most float64, help string) model.Property {
		return model.Property{Name: name, Label: label, Type: model.Whole, Min: least, Max: most, Bounded: true, Help: help}
	}
	of := func(kind model.Kind, name string) model.Property {
		info, _ := model.Info(kind)
		p, ok := info.Property(name)
		if !ok {
			panic("no property " + name + " of a " + string(kind))
		}
		p.Required, p.Default = false, nil
		return p
	}
	signal, walk, soak, fitted := []string{"signal"}, []string{"walk-test"}, []string{"soak"}, []string{"as-fitted"}
	out := []readingField{
		{askedFor("level", "Level read", "dBm", leastLevel, mostLevel, "best the median of ten packets or more, with nobody within 2 m"), signal, true},
		{whole("trials", "Walks", 1, mostTrials, "all of one manner: another posture, direction or speed is another walk test"), walk, true},
		{whole("detected", "Of these detected", 0, mostTrials, "at most as many as were walked"), walk, true},
		{askedFor("days", "Days", "", 0.01, mostDays, "for how long the alarms were counted"), soak, true},
		{whole("alarms", "Alarms nobody caused", 0, mostTrials, "counted in these days"), soak, true},
	}
	for _, name := range []string{"mount_height_m", "bearing_deg", "tilt_deg", "antenna_height_m", "address"} {
		out = append(out, readingField{of(model.KindSensor, name), fitted, true})
	}
	out = append(out,
		readingField{p: model.Property{Name: "day", Label: "Day", Type: model.Day, Help: "on which it was read"}},
		readingField{p: model.Property{Name: "time", Label: "Time", Type: model.Text}},
		readingField{p: model.Property{Name: "by", Label: "By", Type: model.Text, Help: "who read it"}})
	for _, name := range []string{"leaf_state", "sender_height_m", "reader_height_m", "attenuator_db"} {
		out = append(out, readingField{p: of(model.KindReading, name), kinds: signal})
	}
	for _, name := range []string{"distance_m", "speed_m_s", "heading_deg", "air_c", "background_c", "clothing"} {
		out = append(out, readingField{p: of(model.KindReading, name), kinds: walk})
	}
	return out
}()

// fits reports whether a field goes with what is read; of a device other than a
// sensor only its antenna and its address are fitted.
func (f readingField) fits(what string, sensor bool) bool {
	if f.value && what == "as-fitted" && !sensor {
		return f.p.Name == "antenna_height_m" || f.p.Name == "address"
	}
	return f.kinds == nil || slices.Contains(f.kinds, what)
}

// draft is a reading as it stands in the form.
type draft struct {
	base *model.Feature // that is corrected; nil for a new one
	what string
	of   []string
	vals map[string]any  // by field
	new  map[string]bool // fields that were typed into, and "of"
	kept []string        // what of the base the form cannot show and keeps
}

func newDraft() *draft { return &draft{vals: map[string]any{}, new: map[string]bool{}} }

// set takes what was typed, nil for nothing.
func (d *draft) set(name string, v any) {
	d.new[name] = true
	if v == nil {
		delete(d.vals, name)
		return
	}
	d.vals[name] = v
}

// draftOf is a reading of the plan as it is corrected; times are told in zone.
func draftOf(f *model.Feature, zone *time.Location) *draft {
	d := newDraft()
	d.base = f
	d.what = textOf(f, "what")
	if raw, ok := f.Property("of"); ok {
		_ = json.Unmarshal(raw, &d.of) // what is no list of ids is chosen anew
	}
	raw, stated := f.Property("value")
	if stated {
		if members, ok := valueMembers(f, d.what, raw); ok {
			for name, v := range members {
				d.vals[name] = v
			}
		} else {
			d.kept = append(d.kept, "its value "+strings.TrimSpace(RawWords(raw)+" "+textOf(f, "unit")))
		}
	}
	if at := textOf(f, "at"); at != "" {
		if t, err := time.Parse(time.RFC3339, at); err == nil {
			t = t.In(zone)
			d.vals["day"], d.vals["time"] = t.Format(time.DateOnly), t.Format(clockForm)
		} else {
			d.kept = append(d.kept, "its time "+at)
		}
	}
	for _, r := range readingFields {
		if r.value || r.p.Name == "day" || r.p.Name == "time" {
			continue
		}
		if raw, ok := f.Property(r.p.Name); ok {
			if v, ok := fieldValue(r.p, raw); ok {
				d.vals[r.p.Name] = v
			} else {
				d.kept = append(d.kept, strings.ToLower(r.p.Label)+" "+RawWords(raw))
			}
		}
	}
	return d
}

// textOf is a text property as it stands in the plan, "" for none.
func textOf(f *model.Feature, name string) (s string) {
	raw, _ := f.Property(name)
	_ = json.Unmarshal(raw, &s)
	return s
}

// fieldValue reads a value that its property allows.
func fieldValue(p model.Property, raw json.RawMessage) (any, bool) {
	switch p.Type {
	case model.Number, model.Whole:
		var v float64
		if json.Unmarshal(raw, &v) != nil || !p.Allows(v) {
			return nil, false
		}
		if p.Type == model.Whole {
			return int(v), true
		}
		return v, true
	}
	var s string
	if json.Unmarshal(raw, &s) != nil || p.Type == model.Choice && !slices.Contains(p.Choices, s) {
		return nil, false
	}
	return s, true
}

// valueMembers takes the value of a reading apart; false where it is not written as
// the form writes it.
func valueMembers(f *model.Feature, what string, raw json.RawMessage) (map[string]any, bool) {
	out := map[string]any{}
	if what == "signal" {
		unit := textOf(f, "unit")
		v, ok := fieldValue(readingFields[0].p, raw)
		if !ok || unit != "" && unit != "dBm" {
			return nil, false
		}
		out["level"] = v
		return out, true
	}
	o, err := model.ParseObject(raw)
	if err != nil {
		return nil, false
	}
	for _, r := range readingFields {
		if !r.value || !r.fits(what, true) {
			continue
		}
		if m, ok := o.Get(r.p.Name); ok {
			v, ok := fieldValue(r.p, m)
			if !ok {
				return nil, false
			}
			out[r.p.Name] = v
		}
	}
	return out, true
}

// clockForm is how a time of day is written.
const clockForm = "15:04"

// fieldError is what is wrong, and in which field.
type fieldError struct {
	field string
	err   error
}

func (e fieldError) Error() string { return e.err.Error() }

func wrong(field, format string, args ...any) error {
	return fieldError{field, fmt.Errorf(format, args...)}
}

// edit is the step that writes the reading down, or corrects it: nil where nothing
// is changed. The error is a fieldError.
func (d *draft) edit(id string, zone *time.Location) (model.Edit, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	at, err := d.at(zone)
	if err != nil {
		return nil, err
	}
	var vs []model.Value
	state := func(name string, v any) { vs = append(vs, model.Value{Property: name, Value: v}) }
	if d.base == nil || d.new["of"] {
		state("of", d.of)
	}
	if d.base == nil || d.new["what"] {
		state("what", d.what)
	}
	if v, some := d.value(); some {
		state("value", v)
		if d.what == "signal" && v != nil {
			state("unit", "dBm")
		}
	}
	if at != "" {
		state("at", at)
	}
	for _, r := range readingFields {
		if n := r.p.Name; !r.value && n != "day" && n != "time" && r.fits(d.what, true) && d.new[n] {
			state(n, d.vals[n])
		}
	}
	if d.base == nil {
		var props []model.Member
		for _, v := range vs {
			if v.Value != nil {
				props = append(props, model.Prop(v.Property, v.Value))
			}
		}
		return model.Add{Features: []*model.Feature{model.NewFeature(model.KindReading, id, nil, props...)}}, nil
	}
	vs = slices.DeleteFunc(vs, func(v model.Value) bool {
		was, stated := d.base.Property(v.Property)
		return v.Value == nil && !stated || v.Value != nil && string(was) == string(model.Prop(v.Property, v.Value).Value)
	})
	if len(vs) == 0 {
		return nil, nil
	}
	return model.Set{ID: d.base.ID, Values: vs, Name: "correct reading " + d.base.ID}, nil
}

// check holds what belongs together against each other.
func (d *draft) check() error {
	if d.what == "" {
		return wrong("what", "what was read is needed")
	}
	if d.base == nil || d.new["of"] {
		switch {
		case d.what == "signal" && (len(d.of) != 2 || d.of[0] == "" || d.of[1] == ""):
			return wrong("of", "both devices are needed: the one that sent and the one that read")
		case d.what == "signal" && d.of[0] == d.of[1]:
			return wrong("of", "%s cannot read itself: choose two devices", d.of[0])
		case len(d.of) == 0 || d.of[0] == "":
			return wrong("of", "the device it is of is needed")
		}
	}
	if d.base == nil && d.what == "signal" && d.vals["level"] == nil {
		return wrong("level", "the level is needed: between %d and %d dBm", leastLevel, mostLevel)
	}
	if n, k := d.vals["trials"], d.vals["detected"]; d.what == "walk-test" {
		switch {
		case n == nil && k != nil:
			return wrong("trials", "how often it was walked is needed, beside how often it was detected")
		case n != nil && k == nil:
			return wrong("detected", "how many walks were detected is needed: 0 to %d", n)
		case n != nil && k.(int) > n.(int):
			return wrong("detected", "%d of %d cannot be: at most as many are detected as were walked", k, n)
		}
	}
	if n, k := d.vals["days"], d.vals["alarms"]; d.what == "soak" {
		switch {
		case n == nil && k != nil:
			return wrong("days", "for how many days is needed")
		case n != nil && k == nil:
			return wrong("alarms", "how many alarms is needed: 0 where there was none")
		}
	}
	return nil
}

// at is when it was read, as RFC 3339 writes it; "" to leave it as it stands.
func (d *draft) at(zone *time.Location) (string, error) {
	if d.base != nil && !d.new["day"] && !d.new["time"] {
		return "", nil
	}
	day, _ := d.vals["day"].(string)
	clock, _ := d.vals["time"].(string)
	switch {
	case day == "":
		return "", wrong("day", "the day is needed, such as 2027-04-30")
	case clock == "":
		return "", wrong("time", "the time is needed, such as 14:30: leaves, damp and heat change within a day")
	}
	t, err := time.ParseInLocation(time.DateOnly+" "+clockForm, day+" "+clock, zone)
	if err != nil {
		return "", wrong("time", "%s %s is no time", day, clock)
	}
	return t.Format(time.RFC3339), nil
}

// value is the value as it is written; some is false where it stays as it is.
func (d *draft) value() (v any, some bool) {
	if d.what == "signal" {
		level, ok := d.vals["level"]
		return level, d.new["level"] || d.base == nil && ok
	}
	var o model.Object
	if d.base != nil {
		raw, _ := d.base.Property("value")
		o, _ = model.ParseObject(raw) // what is none is replaced once something is typed
	}
	for _, r := range readingFields {
		if n := r.p.Name; r.value && r.fits(d.what, true) && d.new[n] {
			some = true
			if m, ok := d.vals[n]; ok {
				o = o.With(n, model.Prop(n, m).Value)
			} else {
				o = o.Without(n)
			}
		}
	}
	if len(o) == 0 {
		return nil, some
	}
	return json.RawMessage(o.AppendJSON(nil)), some
}

// typedTime reads a time of day.
func typedTime(text string) (any, error) {
	text = strings.ReplaceAll(text, ".", ":")
	for _, form := range []string{clockForm, "15:4", "1504"} {
		if t, err := time.Parse(form, text); err == nil {
			return t.Format(clockForm), nil
		}
	}
	return nil, fmt.Errorf("%s cannot be %s: it must be between 00:00 and 23:59, such as 14:30", "Time", text)
}

// proves says what a walk test or a soak test proves, "" for nothing.
func (d *draft) proves() string {
	switch d.what {
	case "walk-test":
		n, ok := d.vals["trials"].(int)
		k, both := d.vals["detected"].(int)
		if !ok || !both || k > n {
			return ""
		}
		p, err := trial.LowerBound(n, k, trial.Confidence)
		if err != nil {
			return Sentence(err.Error())
		}
		return fmt.Sprintf("%d of %d proves a probability of detection of %.2f, with %.0f %% confidence (one-sided Clopper-Pearson bound).", k, n, math.Floor(p*100+1e-9)/100, 100*trial.Confidence)
	case "soak":
		days, ok := d.vals["days"].(float64)
		n, both := d.vals["alarms"].(int)
		if !ok || !both {
			return ""
		}
		most, err := trial.UpperCount(n, trial.Confidence)
		if err != nil {
			return Sentence(err.Error())
		}
		return fmt.Sprintf("This proves at most %.2f such alarms a day, with %.0f %% confidence (Poisson bound).", math.Ceil(most/days*100-1e-9)/100, 100*trial.Confidence)
	}
	return ""
}

// readingWords says in a line what a reading says, without its id.
func readingWords(f *model.Feature) string {
	what := textOf(f, "what")
	words := what
	for _, o := range readingKinds {
		if o.Value == what {
			words = o.Label
		}
	}
	var of []string
	if raw, ok := f.Property("of"); ok && json.Unmarshal(raw, &of) == nil && len(of) > 0 {
		words += " of " + strings.Join(of, ", ")
		if what == "signal" && len(of) == 2 {
			words = "signal, " + of[0] + " to " + of[1]
		}
	}
	if v := readingValue(f); v != "" {
		words += ": " + v
	}
	return strings.TrimSpace(words)
}

// readingValue is the value of a reading in words, "" for none.
func readingValue(f *model.Feature) string {
	raw, ok := f.Property("value")
	if !ok {
		return ""
	}
	what := textOf(f, "what")
	m, ok := valueMembers(f, what, raw)
	_, object := m["level"]
	switch {
	case !ok || object:
		return strings.TrimSpace(RawWords(raw) + " " + textOf(f, "unit"))
	case what == "walk-test" && m["trials"] != nil && m["detected"] != nil:
		return fmt.Sprintf("%d of %d detected", m["detected"], m["trials"])
	case what == "soak" && m["days"] != nil && m["alarms"] != nil:
		return fmt.Sprintf("%d alarms in %s days", m["alarms"], number(m["days"].(float64)))
	}
	var parts []string
	for _, r := range readingFields {
		if v, ok := m[r.p.Name]; ok {
			parts = append(parts, strings.ToLower(r.p.Label)+" "+fieldWords(r.p, v))
		}
	}
	return strings.Join(parts, ", ")
}

// asksFor reports whether a property goes with one of these readings, or is stated by
// one.
func asksFor(fs []*model.Feature, name string) bool {
	for _, r := range readingFields {
		if r.p.Name == name && !r.value {
			return slices.ContainsFunc(fs, func(f *model.Feature) bool {
				_, stated := f.Property(name)
				return stated || r.fits(textOf(f, "what"), true)
			})
		}
	}
	return true
}

// readingFacts say what a reading is of, and what the result makes of it.
func readingFacts(r *analysis.Result, f *model.Feature) []fact {
	d := draftOf(f, time.UTC)
	out := []fact{{"Of", strings.Join(d.of, ", ")}, {"Value", readingValue(f)}}
	held, aside := r.Calibration.ByReading()
	if x, ok := held[f.ID]; ok {
		out = append(out, fact{"Predicted", level(x.PredictedDBm)})
		if aside[f.ID] != "" {
			out = append(out, fact{"Set aside", "see the levels read on site"})
		} else {
			out = append(out, fact{"Class of link", x.Class})
		}
	}
	return slices.DeleteFunc(out, func(x fact) bool { return x.value == "" })
}

// fieldWords is a value with its unit.
func fieldWords(p model.Property, v any) string {
	s := shownValue(v)
	switch {
	case p.Unit == "":
		return s
	case p.Unit == "°":
		return s + p.Unit
	}
	return s + " " + p.Unit
}

// shownValue is a value as a field shows it.
func shownValue(v any) string {
	if x, ok := v.(float64); ok {
		return number(x)
	}
	return fmt.Sprint(v)
}

// fieldOf is the field an error is about, "" for none.
func fieldOf(err error) string {
	var f fieldError
	if errors.As(err, &f) {
		return f.field
	}
	return ""
}
