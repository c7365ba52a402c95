package model

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
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
// "radio.max_hops" or "title"; a nil value takes it away.
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
	pleach, err := setPath(p.pleach, strings.Split(e.Path, "."), e.Value)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", e.Label(), err)
	}
	n := build(p.members, pleach, p.Features)
	return n, nil
}

func setPath(o Object, path []string, v any) (Object, error) {
	if len(path) == 1 {
		if v == nil {
			return o.Without(path[0]), nil
		}
		return o.With(path[0], encode(v)), nil
	}
	var sub Object
	if raw, ok := o.Get(path[0]); ok {
		var err error
		if sub, err = ParseObject(raw); err != nil {
			return nil, fmt.Errorf("%s: %w", path[0], err)
		}
	}
	sub, err := setPath(sub, path[1:], v)
	if err != nil {
		return nil, err
	}
	if len(sub) == 0 {
		return o.Without(path[0]), nil
	}
	return o.With(path[0], json.RawMessage(sub.AppendJSON(nil))), nil
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
