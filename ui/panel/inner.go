package panel

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"pleach/model"
	"pleach/ui/editor"
)

// inner makes the rows of an object inside features or inside the settings.
type inner struct {
	form *form
	ed   func() *editor.Editor
	edit func(path string, v any) []model.Edit // sets what stands at path inside the object
	who  func() string                         // whose it is, in the names of steps: "S1"

	shows []func()
}

// show brings all rows into line.
func (n *inner) show() {
	for _, f := range n.shows {
		f()
	}
}

// set takes the step that sets what stands at path.
func (n *inner) set(label, path string, v any) error {
	return n.do("set "+lowerFirst(label)+" of "+n.who(), n.edit(path, v))
}

// do takes edits as one step, unless something would be wrong that is not yet.
func (n *inner) do(name string, edits []model.Edit) error {
	if err := sound(n.ed(), model.Together{Name: name, Edits: edits}); err != nil {
		return err
	}
	n.form.left()
	return nil
}

// sound takes a step unless it would make a flaw in the plan; the error is then
// that flaw, with what is allowed.
func sound(e *editor.Editor, step model.Edit) error {
	before := e.Settled()
	after, err := step.Apply(before)
	if err != nil {
		return err
	}
	old := before.AllFlaws()
	for _, f := range after.AllFlaws() {
		if !slices.Contains(old, f) {
			return errors.New(f.Property + " " + f.Text)
		}
	}
	return e.Do(step)
}

// row is a row for the member p at path; shown is what it says, soft where it is
// not stated there.
func (n *inner) row(p model.Property, path string, shown func() (text string, soft bool)) fyne.CanvasObject {
	switch p.Type {
	case model.Flag, model.Choice:
		var os []Option
		for _, c := range p.Choices {
			os = append(os, Option{c, c})
		}
		if p.Type == model.Flag {
			os = []Option{{false, "no"}, {true, "yes"}}
		}
		pick := NewPick(os...)
		pick.Commit = func(v any) error {
			if v == false {
				v = nil
			}
			return n.set(p.Label, path, v)
		}
		n.form.serve(pick, p)
		n.shows = append(n.shows, func() {
			text, soft := shown()
			pick.Set(nil, text, soft)
		})
		return FormRow(p.Label, pick)
	}
	v := n.value(p, path, func(text string) (any, error) { return Typed(p, text) }, shown)
	return FormRow(p.Label, v)
}

// value is a field for the member at path; typed makes its value of what was typed.
func (n *inner) value(p model.Property, path string, typed func(string) (any, error), shown func() (text string, soft bool)) *Value {
	v := NewValue(p.Unit)
	v.Commit = func(text string) error {
		val, err := typed(text)
		if err != nil {
			return err
		}
		return n.set(p.Label, path, val)
	}
	n.form.serve(v, p)
	n.shows = append(n.shows, func() { v.Set(shown()) })
	return v
}

// action is something to be done by a click, in words.
func action(words string, do func()) *Row {
	r := NewRow(Inset(container.NewBorder(nil, nil, NewLine("›", ColorSoft, ""), nil, Inset(NewLine(words, "", "").Cut(), 6, 0, 0, 0)), 0, 4, 0, 4), do)
	r.Pad = 0
	return r
}

// figure says a number with its unit.
func figure(v float64, unit string) string {
	switch unit {
	case "":
		return number(v)
	case "°":
		return number(v) + unit
	}
	return number(v) + " " + unit
}

// stated is a number in words, or what is said where there is none.
func stated(v *float64, otherwise string) (text string, soft bool) {
	if v == nil {
		return otherwise, true
	}
	return number(*v), false
}

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// null is the JSON value of that name, which is not the same as nothing.
var null = json.RawMessage("null")

// inSettings makes the edits of an object that stands at path in the settings.
func inSettings(path func() string) func(string, any) []model.Edit {
	return func(inside string, v any) []model.Edit {
		return []model.Edit{model.Change{Path: join(path(), inside), Value: v}}
	}
}

func join(path, inside string) string {
	if inside == "" {
		return path
	}
	return fmt.Sprintf("%s.%s", path, inside)
}
