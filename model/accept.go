package model

import (
	"encoding/json"
	"fmt"
	"slices"
)

// Accept writes that someone accepts a finding into the plan's list of what is
// accepted. A finding of a stretch is accepted for its chainage, one of a posture
// for that posture alone.
type Accept struct {
	Finding Finding
	Reason  string
	By      string
	At      string // the day, or day and time (RFC 3339)
}

// Label names the step.
func (e Accept) Label() string { return "accept a finding of " + e.Finding.Rule }

// Apply adds the entry behind those there are.
func (e Accept) Apply(p *Plan) (*Plan, error) {
	f := e.Finding
	subject := f.Subject
	if subject == nil {
		subject = []string{}
	}
	o := Object{}.With("rule", encode(f.Rule)).With("subject", encode(subject))
	if f.From != nil && f.To != nil {
		o = o.With("from_m", encode(*f.From)).With("to_m", encode(*f.To))
	}
	for _, m := range []struct{ name, text string }{{"posture", f.Posture}, {"reason", e.Reason}, {"by", e.By}, {"at", e.At}} {
		if m.text != "" {
			o = o.With(m.name, encode(m.text))
		}
	}
	list, err := p.acceptedList()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", e.Label(), err)
	}
	return Change{Path: "accepted", Value: append(list, o.AppendJSON(nil)), Name: e.Label()}.Apply(p)
}

// Withdraw takes an entry out of the list of what is accepted.
type Withdraw struct{ Accepted Accepted }

// Label names the step.
func (e Withdraw) Label() string { return "no longer accept a finding of " + e.Accepted.Rule }

// Apply takes out the first entry that says the same. The list goes with its last.
func (e Withdraw) Apply(p *Plan) (*Plan, error) {
	list, err := p.acceptedList()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", e.Label(), err)
	}
	n := 0 // of the settings' entries, which are those that are objects
	for i, raw := range list {
		if _, err := ParseObject(raw); err != nil {
			continue
		}
		if n < len(p.Settings.Accepted) && p.Settings.Accepted[n].equal(e.Accepted) {
			if list = slices.Delete(list, i, i+1); len(list) == 0 {
				return Change{Path: "accepted", Name: e.Label()}.Apply(p)
			}
			return Change{Path: "accepted", Value: list, Name: e.Label()}.Apply(p)
		}
		n++
	}
	return nil, fmt.Errorf("%s: the plan's list of what is accepted does not have it", e.Label())
}

// acceptedList returns the list as it stands in the file.
func (p *Plan) acceptedList() (list []json.RawMessage, err error) {
	if raw, ok := p.pleach.Get("accepted"); ok {
		err = json.Unmarshal(raw, &list)
	}
	return list, err
}

func (a Accepted) equal(b Accepted) bool {
	same := func(a, b *float64) bool { return a == b || a != nil && b != nil && *a == *b }
	return a.Rule == b.Rule && slices.Equal(a.Subject, b.Subject) && same(a.From, b.From) && same(a.To, b.To) &&
		a.Posture == b.Posture && a.Reason == b.Reason && a.By == b.By && a.At == b.At
}
