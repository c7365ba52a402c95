package model

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Contact is someone to ring or to ask.
type Contact struct{ Name, Role, Phone, Note string }

// Quotation is the offer that the sheet for the customer belongs to.
type Quotation struct {
	Reference  string
	ValidUntil string // a day, 2027-04-30
}

// Duty is what the customer has to see to, beyond what follows from the plan.
type Duty struct {
	What string
	From string // a day, 2027-04-30
}

// Visit is what whoever drives to the site has to know.
type Visit struct{ Hours, Keys, Parking, Hospital string }

// Revision is one line of the revision table of the drawing.
type Revision struct {
	Revision string
	Date     string // a day, 2027-04-30
	By, What string
}

// ListInfo describes a member of "pleach" that is a list of entries for the
// sheets. The first property of an entry is the one it begins with.
type ListInfo struct {
	Path       string // "contacts"
	Label      string // in words
	One        string // an entry in words: "contact"
	Properties []Property
}

// Lists are the lists of entries for the sheets.
var Lists = []ListInfo{
	{"contacts", "Contacts", "contact", []Property{text("role", "Role").help("what for: on site, keys, receiving centre"), text("name", "Name"), text("phone", "Telephone"), text("note", "Note")}},
	{"duties", "Duties of the customer", "duty", []Property{text("what", "What").required().help("what the customer sees to"), day("from", "From")}},
	{"revisions", "Revisions", "revision", []Property{text("revision", "Revision").required().help("its letter or number"), day("date", "Date"), text("by", "By"), text("what", "What changed")}},
}

// List returns the description of a list by its path.
func List(path string) ListInfo {
	for _, l := range Lists {
		if l.Path == path {
			return l
		}
	}
	panic("no list " + path)
}

func day(name, label string) Property { return Property{Name: name, Label: label, Type: Day} }

// DayForm says how a day is written.
const DayForm = "a day written as year, month and day, such as 2027-04-30"

// ParseDay reads a day. The error says how one is written.
func ParseDay(s string) (time.Time, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return t, fmt.Errorf("%q is not %s", s, DayForm)
	}
	return t, nil
}

// day returns a day as it is written, "" where it is absent or no day.
func (r reader) day(name string) string {
	s := r.text(name, false)
	if s == "" {
		return ""
	}
	if _, err := ParseDay(s); err != nil {
		r.flaw(name, "%v", err)
		return ""
	}
	return s
}

// records decodes what the sheets tell people.
func (r reader) records(s *Settings) {
	q, _ := r.sub("quotation")
	s.Quotation = Quotation{q.label("reference"), q.day("valid_until")}
	v, _ := r.sub("visit")
	s.Visit = Visit{v.text("hours", false), v.text("keys", false), v.text("parking", false), v.text("hospital", false)}
	contacts, _ := r.list("contacts")
	for _, c := range contacts {
		s.Contacts = append(s.Contacts, Contact{c.text("name", false), c.text("role", false), c.label("phone"), c.text("note", false)})
	}
	duties, _ := r.list("duties")
	for _, d := range duties {
		s.Duties = append(s.Duties, Duty{d.text("what", true), d.day("from")})
	}
	revisions, _ := r.list("revisions")
	for _, v := range revisions {
		rev := Revision{Revision: v.label("revision"), Date: v.day("date"), By: v.text("by", false), What: v.text("what", false)}
		if _, ok := v.o.Get("revision"); !ok {
			v.flaw("revision", "is missing: it must be text, such as A")
		}
		s.Revisions = append(s.Revisions, rev)
	}
}

// Entry returns what entry i of a list says for a property, in the words of the
// file; ok is false where it says nothing.
func (p *Plan) Entry(list string, i int, property string) (text string, ok bool) {
	entries := p.entries(list)
	if i < 0 || i >= len(entries) {
		return "", false
	}
	o, err := ParseObject(entries[i])
	if err != nil {
		return "", false
	}
	raw, ok := o.Get(property)
	if !ok {
		return "", false
	}
	if json.Unmarshal(raw, &text) != nil {
		text = string(raw)
	}
	return text, true
}

// Entries is the number of entries of a list.
func (p *Plan) Entries(list string) int { return len(p.entries(list)) }

func (p *Plan) entries(list string) (out []json.RawMessage) {
	if raw, ok := p.pleach.Get(list); ok {
		_ = json.Unmarshal(raw, &out)
	}
	return out
}

// Raw returns the setting at path, such as "radio.max_hops", as the plan spells
// it; ok is false where the plan does not state it.
func (p *Plan) Raw(path string) (raw json.RawMessage, ok bool) {
	o := p.pleach
	for {
		head, tail, deeper := strings.Cut(path, ".")
		raw, ok := o.Get(head)
		if !ok || !deeper {
			return raw, ok
		}
		var err error
		if o, err = ParseObject(raw); err != nil {
			return nil, false
		}
		path = tail
	}
}

// SetEntry changes one property of an entry of a list, or adds an entry where
// Index is the number of entries. An entry that says nothing any more is taken
// away; what the program does not know in it is kept.
type SetEntry struct {
	List     string // a path of Lists
	Index    int
	Property string
	Value    any // nil takes the property away
}

// Label names the step.
func (e SetEntry) Label() string {
	l := List(e.List)
	switch {
	case e.Value == nil:
		return "change a " + l.One
	}
	return fmt.Sprintf("set %s %d", l.One, e.Index+1)
}

// Apply changes the entry. An index beyond the end of the list is an error.
func (e SetEntry) Apply(p *Plan) (*Plan, error) {
	list, err := setEntry(p.entries(e.List), e.Index, e.Property, e.Value)
	if err != nil {
		return nil, fmt.Errorf("%s: %s %w", e.Label(), e.List, err)
	}
	pleach := p.pleach.Without(e.List)
	if list != nil {
		pleach = p.pleach.With(e.List, list)
	}
	return build(p.members, pleach, p.Features), nil
}

// setEntry returns the list with a property of its entry i changed, nil for a list
// of no entries. An entry that says nothing any more is taken away; i may be the
// number of entries, for one more.
func setEntry(entries []json.RawMessage, i int, property string, value any) (json.RawMessage, error) {
	if i < 0 || i > len(entries) {
		return nil, fmt.Errorf("has %d entries", len(entries))
	}
	var old json.RawMessage
	if i < len(entries) {
		old = entries[i]
	}
	entry, err := setInside(old, []string{property}, value)
	if err != nil {
		return nil, fmt.Errorf("entry %d: %w", i+1, err)
	}
	out := slices.Clone(entries[:i])
	if entry != nil {
		out = append(out, entry)
	}
	if i < len(entries) {
		out = append(out, entries[i+1:]...)
	}
	return joinList(out, true), nil
}
