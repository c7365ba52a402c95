package model

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Flaw is something wrong in the file: where, which property, the value and
// what is allowed. A flawed feature is kept and left out of the analysis.
type Flaw struct {
	Feature  string // "sensor S12", or "plan" for a setting
	ID       string // of the feature, "" for a setting
	Property string
	Text     string // the rest of the sentence
}

// Error returns the flaw as one line.
func (f Flaw) Error() string {
	if f.Property == "" {
		return f.Feature + ": " + f.Text
	}
	return f.Feature + ": " + f.Property + " " + f.Text
}

// Range returns the allowed values of p in words.
func (p Property) Range() string {
	switch {
	case !p.Bounded:
		return "a finite number"
	case p.Type == Whole:
		return fmt.Sprintf("a whole number from %s to %s", short(p.Min), short(p.Max))
	case p.Above:
		return fmt.Sprintf("above %s and at most %s", short(p.Min), short(p.Max))
	default:
		return fmt.Sprintf("between %s and %s", short(p.Min), short(p.Max))
	}
}

func short(v float64) string {
	if a := math.Abs(v); a >= 1e5 && a < 1e12 {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// Allows reports whether v is within the limits of p.
func (p Property) Allows(v float64) bool {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return false
	}
	if !p.Bounded {
		return true
	}
	return v <= p.Max && (v > p.Min || v == p.Min && !p.Above) && (p.Type != Whole || v == math.Trunc(v))
}

// reader takes values out of an object and gathers the flaws it meets.
type reader struct {
	o     Object
	who   string // "sensor S12"
	id    string
	where string // prefix of the property's name, such as "radio."
	flaws *[]Flaw
}

func (r reader) flaw(name, format string, args ...any) {
	*r.flaws = append(*r.flaws, Flaw{Feature: r.who, ID: r.id, Property: r.where + name, Text: fmt.Sprintf(format, args...)})
}

// number returns the number called p.Name, its default where it is absent.
func (r reader) number(p Property) float64 {
	def, _ := p.Default.(float64)
	if v := r.maybe(p); v != nil {
		return *v
	}
	return def
}

// maybe returns the number called p.Name, or nil where it is absent or wrong.
func (r reader) maybe(p Property) *float64 {
	raw, ok := r.o.Get(p.Name)
	if !ok {
		if p.Required {
			r.flaw(p.Name, "is missing: it must be %s", p.Range())
		}
		return nil
	}
	v, err := parseNumber(raw)
	if err != nil {
		r.flaw(p.Name, "%s is not a number: it must be %s", brief(raw), p.Range())
		return nil
	}
	if !p.Allows(v) {
		r.flaw(p.Name, "%s is not %s", brief(raw), p.Range())
		return nil
	}
	return &v
}

// parseNumber reads a JSON number; one too large for a float64 becomes Inf.
func parseNumber(raw json.RawMessage) (float64, error) {
	s := string(raw)
	if s == "" || !(s[0] == '-' || s[0] >= '0' && s[0] <= '9') {
		return 0, errors.New("not a number")
	}
	v, err := strconv.ParseFloat(s, 64)
	if errors.Is(err, strconv.ErrRange) {
		return v, nil
	}
	return v, err
}

// text returns the text called name, "" where it is absent.
func (r reader) text(name string, required bool) string {
	raw, ok := r.o.Get(name)
	if !ok {
		if required {
			r.flaw(name, "is missing: it must be text")
		}
		return ""
	}
	var s string
	if err := json.Unmarshal(raw, &s); err != nil {
		r.flaw(name, "%s is not text", brief(raw))
		return ""
	}
	if required && strings.TrimSpace(s) == "" {
		r.flaw(name, "is empty: it must be text")
	}
	return s
}

// label returns text, or a number as it is spelled: zones and presets are
// written both ways.
func (r reader) label(name string) string {
	raw, ok := r.o.Get(name)
	if !ok {
		return ""
	}
	if _, err := parseNumber(raw); err == nil {
		return string(raw)
	}
	return r.text(name, false)
}

func (r reader) flag(name string, def bool) bool {
	raw, ok := r.o.Get(name)
	if !ok {
		return def
	}
	var b bool
	if err := json.Unmarshal(raw, &b); err != nil {
		r.flaw(name, "%s is not true or false", brief(raw))
		return def
	}
	return b
}

func (r reader) choice(name, def string, choices []string) string {
	raw, ok := r.o.Get(name)
	if !ok {
		return def
	}
	var s string
	if json.Unmarshal(raw, &s) == nil {
		for _, c := range choices {
			if s == c {
				return s
			}
		}
	}
	r.flaw(name, "%s is not one of %s", brief(raw), strings.Join(choices, ", "))
	return def
}

// sub returns a reader of the object called name; ok is false where it is absent.
func (r reader) sub(name string) (sub reader, ok bool) {
	sub = reader{who: r.who, id: r.id, where: r.where + name + ".", flaws: r.flaws}
	raw, ok := r.o.Get(name)
	if !ok {
		return sub, false
	}
	o, err := ParseObject(raw)
	if err != nil {
		r.flaw(name, "%s is not an object", brief(raw))
		return sub, false
	}
	sub.o = o
	return sub, true
}

// list returns a reader for each object of the list called name; ok is false
// where it is absent.
func (r reader) list(name string) (subs []reader, ok bool) {
	raw, ok := r.o.Get(name)
	if !ok {
		return nil, false
	}
	var items []json.RawMessage
	if err := json.Unmarshal(raw, &items); err != nil {
		r.flaw(name, "%s is not a list", brief(raw))
		return nil, false
	}
	for i, item := range items {
		sub := reader{who: r.who, id: r.id, where: fmt.Sprintf("%s%s[%d].", r.where, name, i), flaws: r.flaws}
		o, err := ParseObject(item)
		if err != nil {
			r.flaw(fmt.Sprintf("%s[%d]", name, i), "%s is not an object", brief(item))
			continue
		}
		sub.o = o
		subs = append(subs, sub)
	}
	return subs, true
}

// texts returns a list of texts.
func (r reader) texts(name string) []string {
	raw, ok := r.o.Get(name)
	if !ok {
		return nil
	}
	var s []string
	if err := json.Unmarshal(raw, &s); err != nil {
		r.flaw(name, "%s is not a list of texts", brief(raw))
	}
	return s
}
