package panel

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"

	"pleach/model"
)

// form makes rows for properties and reports to a help line.
type form struct {
	help    *Para // what the focused field takes, or why something was refused
	refused bool  // it is the latter

	over, before string // a value that is told whole, and what was said before it
}

// field is a row of a form that can show another value.
type field struct {
	row  fyne.CanvasObject
	show func(fs []*model.Feature)
}

// focused shows a property's help while its field has the focus.
func (f *form) focused(p model.Property) func(bool) {
	return func(in bool) {
		if in {
			f.help.Color, f.help.Bold, f.refused = ColorSoft, false, false
			f.help.SetText(Help(p))
		}
	}
}

func (f *form) failed(err error) {
	f.help.Color, f.help.Bold, f.refused = "", true, true
	f.help.SetText(Sentence(err.Error()))
}

// serve has a field report to the help line: what it takes, why something was
// refused, and the whole of a value there is no room for.
func (f *form) serve(o fyne.CanvasObject, p model.Property) {
	switch o := o.(type) {
	case *Value:
		o.Failed, o.Focused, o.Left, o.Whole = f.failed, f.focused(p), f.left, f.whole
	case *Pick:
		o.Failed, o.Focused, o.Whole = f.failed, f.focused(p), f.whole
	}
}

// figure is a row of something that is only shown.
func (f *form) figure(label, value string) (fyne.CanvasObject, *Line) {
	s := newShown(value)
	s.whole = f.whole
	return FormRow(label, s), s.line
}

// whole shows the whole of a value that is cut off while the pointer is over it; ""
// puts back what was said before. A refusal stays.
func (f *form) whole(words string) {
	switch {
	case f.refused:
	case words != "":
		f.before = f.help.Text()
		f.over = words
		f.help.SetText(words)
	case f.over != "" && f.help.Text() == f.over:
		f.help.SetText(f.before)
		f.over = ""
	}
}

// warn says what is odd about a value that was taken; "" is nothing.
func (f *form) warn(words string) {
	if words != "" {
		f.failed(errors.New(words))
	}
}

// left takes a refusal away once it is about nothing any more: the value was put
// back, or the plan is another.
func (f *form) left() {
	if f.refused {
		f.help.Color, f.help.Bold, f.refused = ColorSoft, false, false
		f.help.SetText("")
	}
}

// Sentence makes a sentence of an error.
func Sentence(s string) string {
	r := []rune(s)
	if len(r) == 0 {
		return s
	}
	r[0] = []rune(strings.ToUpper(string(r[0])))[0]
	if !strings.ContainsRune(".!?", r[len(r)-1]) {
		r = append(r, '.')
	}
	return string(r)
}

const several = "several"

// property makes the row of one property; set takes its value, nil to take it
// away.
func (f *form) property(p model.Property, set func(any) error) *field {
	switch p.Type {
	case model.Flag:
		pick := NewPick(Option{false, "no"}, Option{true, "yes"})
		return f.pick(p, pick, set)
	case model.Choice:
		var os []Option
		for _, c := range p.Choices {
			os = append(os, Option{c, c})
		}
		return f.pick(p, NewPick(os...), set)
	case model.Other:
		return nil
	}
	v := NewValue(p.Unit)
	v.Commit = func(text string) error {
		val, err := Typed(p, text)
		if err != nil {
			return err
		}
		f.left()
		return set(val)
	}
	f.serve(v, p)
	return &field{FormRow(p.Label, v), func(fs []*model.Feature) {
		text, soft := common(fs, p)
		v.Set(text, soft)
	}}
}

func (f *form) pick(p model.Property, pick *Pick, set func(any) error) *field {
	pick.Commit = set
	f.serve(pick, p)
	return &field{FormRow(p.Label, pick), func(fs []*model.Feature) {
		text, soft := common(fs, p)
		var v any = text
		if p.Type == model.Flag {
			v = text == "yes"
		}
		if text == several {
			v = nil
		}
		pick.Set(v, text, soft)
	}}
}

// common is the value a property has in all features, in words; soft where none
// of them states it.
func common(fs []*model.Feature, p model.Property) (text string, soft bool) {
	for i, f := range fs {
		t, s := Shown(f, p)
		if i > 0 && t != text {
			return several, true
		}
		text, soft = t, s
	}
	return text, soft
}

// Shown is a property of a feature in words; soft where the file does not state
// it, so that a default holds or nothing.
func Shown(f *model.Feature, p model.Property) (text string, soft bool) {
	raw, ok := f.Property(p.Name)
	if !ok {
		switch d := p.Default.(type) {
		case float64:
			return number(d), true
		case bool:
			return yes(d), true
		case string:
			return d, true
		}
		if p.Name == "antenna_height_m" {
			return "at the sensor", true
		}
		return "", true
	}
	return RawWords(raw), false
}

// RawWords is a JSON value as a person writes it.
func RawWords(raw json.RawMessage) string {
	var v any
	if json.Unmarshal(raw, &v) != nil {
		return string(raw)
	}
	switch v := v.(type) {
	case string:
		return v
	case float64:
		return number(v)
	case bool:
		return yes(v)
	case nil:
		return ""
	}
	return string(raw)
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// number prints a number as short as it can be told, with a true minus.
func number(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if math.Abs(v) >= 1e12 {
		s = strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strings.Replace(s, "-", "−", 1)
}

// Words for measures, without false decimals.

// Metres says a length.
func Metres(v float64) string {
	if v < 100 {
		return trim(fmt.Sprintf("%.1f", v)) + " m"
	}
	return group(v) + " m"
}

// Area says an area.
func Area(v float64) string {
	switch {
	case v >= 1e5:
		return trim(fmt.Sprintf("%.1f", v/1e4)) + " ha"
	case v >= 100:
		return group(v) + " m²"
	}
	return trim(fmt.Sprintf("%.1f", v)) + " m²"
}

// Decibels says a margin.
func Decibels(v float64) string {
	return strings.Replace(fmt.Sprintf("%.0f dB", math.Round(v)+0), "-", "−", 1)
}

func trim(s string) string { return strings.TrimSuffix(s, ".0") }

// group writes a whole number with thin gaps between thousands.
func group(v float64) string {
	s := strconv.FormatFloat(math.Round(v), 'f', 0, 64)
	for i := len(s) - 3; i > 0; i -= 3 {
		if s[i-1] == '-' {
			break
		}
		s = s[:i] + "\u00a0" + s[i:]
	}
	return s
}
