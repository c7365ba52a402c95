package model

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// Edit is one step of work on a plan.
type Edit interface {
	// Label names the step for the Undo menu: "move S12".
	Label() string
	// Apply returns the plan after the step; the plan before is left alone.
	Apply(*Plan) (*Plan, error)
}

// Add adds features at the end of the plan.
type Add struct{ Features []*Feature }

// Label names the step.
func (e Add) Label() string {
	if len(e.Features) == 1 {
		return "add " + e.Features[0].Who()
	}
	return fmt.Sprintf("add %d features", len(e.Features))
}

// Apply adds the features; an id that is taken is an error.
func (e Add) Apply(p *Plan) (*Plan, error) {
	for _, f := range e.Features {
		if p.Feature(f.ID) != nil {
			return nil, fmt.Errorf("add %s: the id is taken", f.Who())
		}
	}
	return p.with(append(slices.Clone(p.Features), e.Features...)), nil
}

// Delete takes features out of the plan.
type Delete struct{ IDs []string }

// Label names the step.
func (e Delete) Label() string { return "delete " + some(e.IDs) }

// Apply takes the features out; an id that is not there is an error.
func (e Delete) Apply(p *Plan) (*Plan, error) {
	for _, id := range e.IDs {
		if p.Feature(id) == nil {
			return nil, fmt.Errorf("delete %s: there is no such feature", id)
		}
	}
	var out []*Feature
	for _, f := range p.Features {
		if !slices.Contains(e.IDs, f.ID) || f.ID == "" {
			out = append(out, f)
		}
	}
	return p.with(out), nil
}

func some(ids []string) string {
	if len(ids) > 3 {
		return fmt.Sprintf("%d features", len(ids))
	}
	return strings.Join(ids, ", ")
}

// Reshape gives a feature another geometry: a device moves, an outline gains,
// loses or moves a vertex.
type Reshape struct {
	ID   string
	To   orb.Geometry // longitude, latitude
	Name string       // of the step; "" means "move ID"
}

// Label names the step.
func (e Reshape) Label() string {
	if e.Name != "" {
		return e.Name
	}
	return "move " + e.ID
}

// Apply reshapes the feature.
func (e Reshape) Apply(p *Plan) (*Plan, error) {
	return p.replace(e.Label(), e.ID, func(f *Feature) *Feature { return f.WithGeometry(e.To) })
}

// Set gives properties of a feature new values; a nil value takes the property
// away. Values that the property does not allow make a flawed feature: a form
// asks Property.Allows first.
type Set struct {
	ID     string
	Values []Value
	Name   string // of the step; "" means "change ID"
}

// Value is a property and the value it shall have.
type Value struct {
	Property string
	Value    any // anything with a JSON form; nil to take the property away
}

// Label names the step.
func (e Set) Label() string {
	if e.Name != "" {
		return e.Name
	}
	return "change " + e.ID
}

// Apply sets the properties.
func (e Set) Apply(p *Plan) (*Plan, error) {
	return p.replace(e.Label(), e.ID, func(f *Feature) *Feature {
		for _, v := range e.Values {
			f = f.WithProperty(v.Property, v.Value)
		}
		return f
	})
}

// Change sets a member of the plan's settings by its path, such as
// "radio.max_hops", "title" or "models.2.lobes.0.range_m": members by their
// names, entries of a list by their numbers, the number of them for one more. A
// nil value takes the member or the entry away, and what holds nothing any more
// with it.
type Change struct {
	Path  string
	Value any
	Name  string // of the step; "" means "change " and the path
}

// Label names the step.
func (e Change) Label() string {
	if e.Name != "" {
		return e.Name
	}
	return "change " + e.Path
}

// Apply changes the setting.
func (e Change) Apply(p *Plan) (*Plan, error) {
	raw, err := setInside(p.pleach.raw(), strings.Split(e.Path, "."), e.Value)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", e.Label(), err)
	}
	pleach, err := ParseObject(raw)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", e.Label(), err)
	}
	return build(p.members, pleach, p.Features), nil
}

// SetInside sets a member inside a property of a feature by its path, such as
// "radio.installation_terms.0.db", which reads as that of a [Change]. A nil value
// takes it away.
type SetInside struct {
	ID    string
	Path  string
	Value any
	Name  string // of the step; "" means "change ID"
}

// Label names the step.
func (e SetInside) Label() string { return Set{ID: e.ID, Name: e.Name}.Label() }

// Apply sets the member.
func (e SetInside) Apply(p *Plan) (*Plan, error) {
	f := p.Feature(e.ID)
	if f == nil {
		return nil, fmt.Errorf("%s: there is no feature %s", e.Label(), e.ID)
	}
	path := strings.Split(e.Path, ".")
	raw, _ := f.Property(path[0])
	raw, err := setInside(raw, path[1:], e.Value)
	if err != nil {
		return nil, fmt.Errorf("%s: %s: %w", e.Label(), path[0], err)
	}
	return p.replace(e.Label(), e.ID, func(f *Feature) *Feature {
		if raw == nil {
			return f.WithProperty(path[0], nil)
		}
		return f.WithProperty(path[0], raw)
	})
}

// setInside returns raw, an object, a list or nil for nothing yet, with what
// stands at path inside it set to v; nil where it holds nothing any more. A nil v
// takes away what stands there.
func setInside(raw json.RawMessage, path []string, v any) (json.RawMessage, error) {
	if len(path) == 0 {
		if v == nil {
			return nil, nil
		}
		return encode(v), nil
	}
	if i, err := strconv.Atoi(path[0]); err == nil {
		var entries []json.RawMessage
		if raw != nil && json.Unmarshal(raw, &entries) != nil {
			return nil, fmt.Errorf("%s is not a list", brief(raw))
		}
		if i < 0 || i > len(entries) {
			return nil, fmt.Errorf("there is no entry %d of %d", i+1, len(entries))
		}
		var old json.RawMessage
		if i < len(entries) {
			old = entries[i]
		}
		entry, err := setInside(old, path[1:], v)
		if err != nil {
			return nil, fmt.Errorf("%d: %w", i+1, err)
		}
		out := slices.Clone(entries[:i])
		if entry != nil {
			out = append(out, entry)
		}
		if i < len(entries) {
			out = append(out, entries[i+1:]...)
		}
		return joinList(out, bytes.Contains(raw, []byte("\n"))), nil
	}
	var o Object
	if raw != nil {
		var err error
		if o, err = ParseObject(raw); err != nil {
			return nil, err
		}
	}
	old, _ := o.Get(path[0])
	member, err := setInside(old, path[1:], v)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path[0], err)
	}
	if member == nil {
		o = o.Without(path[0])
	} else {
		o = o.With(path[0], member)
	}
	if len(o) == 0 {
		return nil, nil
	}
	return o.raw(), nil
}

// joinList returns entries as a list, an entry a line or all on one; nil for none.
func joinList(entries []json.RawMessage, lines bool) json.RawMessage {
	if len(entries) == 0 {
		return nil
	}
	b := []byte("[")
	for i, raw := range entries {
		switch {
		case lines && i > 0:
			b = append(b, ",\n    "...)
		case lines:
			b = append(b, "\n    "...)
		case i > 0:
			b = append(b, ", "...)
		}
		b = append(b, raw...)
	}
	return append(b, ']')
}

// Together is several edits as one step.
type Together struct {
	Name  string
	Edits []Edit
}

// Label names the step.
func (e Together) Label() string { return e.Name }

// Apply applies the edits in order.
func (e Together) Apply(p *Plan) (*Plan, error) {
	var err error
	for _, one := range e.Edits {
		if p, err = one.Apply(p); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// replace returns the plan with the feature changed.
func (p *Plan) replace(label, id string, change func(*Feature) *Feature) (*Plan, error) {
	i, ok := p.byID[id]
	if !ok {
		return nil, fmt.Errorf("%s: there is no feature %s", label, id)
	}
	f := p.Features[i]
	g := change(f)
	features := slices.Clone(p.Features)
	features[i] = g
	if g.ID != f.ID || g.Kind != f.Kind || !f.Sound() || !g.Sound() {
		return p.with(features), nil
	}
	n := *p
	n.original = nil
	n.Features, n.sound, n.byKind = features, replaced(p.sound, f, g), maps.Clone(p.byKind)
	n.byKind[f.Kind] = replaced(p.byKind[f.Kind], f, g)
	return &n, nil
}

// replaced returns a copy of a list in which g stands in the place of f.
func replaced(list []*Feature, f, g *Feature) []*Feature {
	out := slices.Clone(list)
	out[slices.Index(out, f)] = g
	return out
}
