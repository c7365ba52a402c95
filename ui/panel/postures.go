package panel

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"

	"pleach/model"
	"pleach/ui/editor"
)

const posturesPath = "postures"

// postureEntry is a further target as it is begun in a plan.
type postureEntry struct {
	Name   string  `json:"name"`
	Height float64 `json:"height_m"`
}

// posturesForm lists the further targets of a plan, with a row to begin another.
type posturesForm struct {
	object *fyne.Container

	ed    func() *editor.Editor
	form  *form
	shown string // for what there are rows
	rows  inner  // all of them, to be shown
}

func newPosturesForm(ed func() *editor.Editor, f *form) *posturesForm {
	return &posturesForm{object: VBox(0), ed: ed, form: f}
}

// posture is what a property of a further target takes.
func posture(name string) model.Property {
	if name == "name" {
		return model.Property{Name: name, Label: "Name", Type: model.Text, Help: "such as crawl: menus, findings and reports call it so"}
	}
	p := model.SettingInfo("target." + name).Property
	if p.Name == "height_m" {
		p.Label, p.Required, p.Default = "Height", true, nil
		return p
	}
	p.Label, p.Default, p.Chosen = "Part that must be seen", nil, false
	p.Help = "as of the target, unless stated"
	return p
}

// count is how many further targets the plan lists: one it does not state itself, by
// default.
func (f *posturesForm) count() int {
	if p := f.ed().Plan(); p.Stated(posturesPath) {
		return p.Entries(posturesPath)
	}
	return 1
}

// own are the edits before one inside the list: the default becomes the plan's own.
func (f *posturesForm) own() []model.Edit {
	if f.ed().Settled().Stated(posturesPath) {
		return nil
	}
	d := model.DefaultPosture
	return []model.Edit{model.Change{Path: posturesPath, Value: []postureEntry{{d.Name, d.Height}}}}
}

// says is a property of a further target in words.
func (f *posturesForm) says(i int, name string) (text string, soft bool) {
	p := f.ed().Plan()
	if p.Stated(posturesPath) {
		if text, ok := p.Entry(posturesPath, i, name); ok {
			return text, false
		}
		if name == "min_visible" {
			return number(p.Settings.Target.MinVisible), true
		}
		return "", true
	}
	switch d := model.DefaultPosture; name {
	case "name":
		return d.Name, true
	case "height_m":
		return number(d.Height), true
	}
	return number(p.Settings.Target.MinVisible), true
}

// update brings the rows into line; it reports whether there are others than before.
func (f *posturesForm) update() bool {
	n := f.count()
	key := fmt.Sprint(n)
	for i := range n {
		name, _ := f.says(i, "name")
		key += "\n" + name
	}
	built := key != f.shown
	if built {
		f.shown = key
		f.build(n)
	}
	f.rows.show()
	return built
}

func (f *posturesForm) build(n int) {
	f.rows.shows = nil
	f.object.RemoveAll()
	f.object.Add(Inset(NewLine("Further targets", "", "").Strong(), 0, 10, 0, 2))
	for i := range n {
		name, _ := f.says(i, "name")
		if name == "" {
			name = strconv.Itoa(i + 1)
		}
		entry := &inner{form: f.form, ed: f.ed, who: func() string { return "further target " + name }, edit: func(path string, v any) []model.Edit {
			return append(f.own(), model.Change{Path: join(posturesPath, strconv.Itoa(i)+"."+path), Value: v})
		}}
		if i > 0 {
			f.object.Add(Inset(Rule(), 0, 2, 0, 2))
		}
		p := posture("name")
		p.Required = true
		f.object.Add(FormRow(p.Label, entry.value(p, p.Name, func(text string) (any, error) {
			v, err := Typed(p, text)
			if err == nil {
				err = f.free(text, i)
			}
			return v, err
		}, func() (string, bool) { return f.says(i, p.Name) })))
		for _, of := range []string{"height_m", "min_visible"} {
			f.object.Add(entry.row(posture(of), of, func() (string, bool) { return f.says(i, of) }))
		}
		f.object.Add(action("Take "+name+" away", func() {
			if err := f.take(i, entry.who()); err != nil {
				f.form.failed(err)
			}
		}))
		f.rows.shows = append(f.rows.shows, entry.show)
	}
	f.object.Add(f.another(n))
	f.object.Refresh()
}

// another is the row that begins a further target, as high as the target until its
// height is typed.
func (f *posturesForm) another(n int) fyne.CanvasObject {
	p := posture("name")
	v := NewValue("")
	f.form.serve(v, p)
	v.Commit = func(text string) error {
		if text == "" {
			return nil
		}
		if err := f.free(text, -1); err != nil {
			return err
		}
		f.form.left()
		value := postureEntry{text, f.ed().Settled().Settings.Target.Height}
		return f.ed().Do(model.Together{Name: "add further target " + text, Edits: append(f.own(), model.Change{Path: join(posturesPath, strconv.Itoa(n)), Value: value})})
	}
	return FormRow("Another: name", v)
}

// free is an error where another further target than i has the name, or the target.
func (f *posturesForm) free(name string, i int) error {
	if strings.EqualFold(name, f.ed().Settled().Settings.Target.Name) {
		return errors.New("name cannot be " + name + ": so the target itself is called")
	}
	for k := range f.count() {
		if other, _ := f.says(k, "name"); k != i && strings.EqualFold(other, name) {
			return fmt.Errorf("name cannot be %s: another further target has it; names must differ", name)
		}
	}
	return nil
}

// take takes a further target away. After the last the plan states an empty list, or
// the default would come back.
func (f *posturesForm) take(i int, who string) error {
	edits := append(f.own(), model.Change{Path: join(posturesPath, strconv.Itoa(i))})
	if f.count() == 1 {
		edits = []model.Edit{model.Change{Path: posturesPath, Value: []any{}}}
	}
	return f.ed().Do(model.Together{Name: "take away " + who, Edits: edits})
}
